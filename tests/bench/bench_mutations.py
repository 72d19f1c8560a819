"""How many small wrong changes the tests of each room catch.

A sample of one-place changes (a comparison turned, a number off by one, a condition negated, a call
left out ...) is drawn from a room's source with a fixed seed. Each is made in a copy of the tree,
where the tests of that room alone are run, and of them those that come by the changed line, the
quickest first: a change that they let pass is a survivor, and is printed. Not every survivor is a
hole: some changes alter nothing that anyone can see. Needs pytest-cov, which nothing else here
does.

    python tests/bench/bench_mutations.py                    # every room, 20 changes each
    python tests/bench/bench_mutations.py plan box -n 40     # these rooms, 40 changes each
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from coverage import CoverageData

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("drillbox", "tests", "decks", "docs", "pyproject.toml", "README.md", "DEVELOPERS.md")
ROOMS = (
    "base", "rhythm", "memory", "plan", "store", "deckfile", "sound", "ear", "paper", "studio",
    "box", "report", "app", "cli",
)  # fmt: skip
ALSO = {
    "report": (
        "tests/studio/test_studio_class.py",
        "tests/box/test_replies.py",
        "tests/cli/test_cli_sheets.py",
    ),
    "store": ("tests/report/test_checkup.py",),
}
"""Tests of a room that stand with those who ask it: what it says is read off there."""
BAR = 0.85
TIMES_LONGER, SECONDS_MORE = 3, 60
"""A run is without end after so many times what the room's tests take unchanged, and so much."""
TURNED: dict[type[ast.cmpop], tuple[str, str]] = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"),
    ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"),
}
SWAPPED: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "/"),
    ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "*"),
    ast.Mod: ("%", "*"),
}
EXCHANGED = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True, slots=True)
class Change:
    """One small wrong change: a stretch of a file's bytes and what takes its place."""

    path: Path
    line: int
    start: int
    end: int
    text: str
    was: str
    at_import: bool

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.line}: {self.was!r} -> {self.text!r}"


class Places(ast.NodeVisitor):
    """Every place of a file where one small change can be made."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.source = path.read_bytes()
        self.starts = [0]
        for line in self.source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.found: list[Change] = []
        self.at_import = True
        self.visit(ast.parse(self.source))

    def begin(self, node: ast.expr | ast.stmt) -> int:
        """Return where a node begins, in bytes."""
        return self.starts[node.lineno - 1] + node.col_offset

    def end(self, node: ast.expr | ast.stmt) -> int:
        """Return where a node ends, in bytes."""
        return self.starts[(node.end_lineno or 1) - 1] + (node.end_col_offset or 0)

    def put(self, start: int, end: int, text: str) -> None:
        """Note one change."""
        line = self.source[:start].count(b"\n") + 1
        was = self.source[start:end].decode()
        self.found.append(Change(self.path, line, start, end, text, was, self.at_import))

    def between(self, left: ast.expr, right: ast.expr, was: str, text: str) -> None:
        """Note the change of the operator between two operands."""
        start, end = self.end(left), self.begin(right)
        at = self.source[start:end].find(was.encode())
        if at >= 0:
            self.put(start + at, start + at + len(was), text)

    def visit_Compare(self, node: ast.Compare) -> None:
        """Turn a comparison."""
        operands = [node.left, *node.comparators]
        for left, op, right in zip(operands, node.ops, operands[1:], strict=False):
            self.between(left, right, *TURNED[type(op)])
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        """Swap an operator; a text is not added up."""
        texts = isinstance(node.left, ast.JoinedStr) or isinstance(node.right, ast.JoinedStr)
        if type(node.op) in SWAPPED and not texts:
            self.between(node.left, node.right, *SWAPPED[type(node.op)])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        """Swap and with or; leave out a condition."""
        words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        for left, right in zip(node.values, node.values[1:], strict=False):
            self.between(left, right, *words)
            self.put(self.end(left), self.end(right), "")
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        """Leave out a not or a minus."""
        if isinstance(node.op, ast.Not | ast.USub):
            self.put(self.begin(node), self.begin(node.operand), "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        """Flip a truth, move a number by one or by a tenth."""
        value = node.value
        if isinstance(value, bool):
            self.put(self.begin(node), self.end(node), str(not value))
        elif isinstance(value, int):
            self.put(self.begin(node), self.end(node), str(value + 1))
        elif isinstance(value, float):
            self.put(self.begin(node), self.end(node), repr(value * 1.1 + 0.1))

    def visit_Call(self, node: ast.Call) -> None:
        """Exchange min and max, any and all."""
        if isinstance(node.func, ast.Name) and node.func.id in EXCHANGED:
            self.put(self.begin(node.func), self.end(node.func), EXCHANGED[node.func.id])
        self.generic_visit(node)

    def visit_If(self, node: ast.If) -> None:
        """Negate a condition; what only types need is left alone."""
        if ast.unparse(node.test) == "TYPE_CHECKING":
            return
        test = self.source[self.begin(node.test) : self.end(node.test)].decode()
        self.put(self.begin(node.test), self.end(node.test), f"not ({test})")
        self.generic_visit(node)

    def visit_Expr(self, node: ast.Expr) -> None:
        """Leave out a call made for what it does."""
        if isinstance(node.value, ast.Call):
            self.put(self.begin(node), self.end(node), "pass")
            self.generic_visit(node)

    def visit_arg(self, node: ast.arg) -> None:
        """Leave annotations alone."""

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        """Leave decorators alone: that values are frozen is a rule of the house, not of a room."""
        for statement in node.body:
            self.visit(statement)

    def visit_FunctionDef(self, node: ast.FunctionDef | ast.AsyncFunctionDef) -> None:
        """Tell what runs at the import, defaults and decorators, from what runs at a call."""
        for part in (*node.decorator_list, node.args):
            self.visit(part)
        outside, self.at_import = self.at_import, False
        for statement in node.body:
            self.visit(statement)
        self.at_import = outside

    visit_AsyncFunctionDef = visit_FunctionDef  # noqa: N815 - the name that ast looks for

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        """Leave annotations alone."""
        if node.value is not None:
            self.visit(node.value)


def places_of(room: str) -> list[Change]:
    """Return every place of a room where a small change can be made."""
    files = sorted((ROOT / "drillbox" / room).rglob("*.py"))
    return [change for path in files for change in Places(path).found]


class Trial:
    """A copy of the tree, the tests of one room, and which of them come by which line."""

    def __init__(self, tree: Path, room: str) -> None:
        self.tree = tree
        self.tests = [f"tests/{room}", *ALSO.get(room, ())]
        self.lines: dict[str, dict[int, set[str]]] = {}
        self.seconds: dict[str, float] = {}
        self.longest: float | None = None

    def stands(self) -> bool:
        """Return whether tests pass without any change; note how long each takes, and where.

        Those that fail are printed and left out: they could catch nothing.
        """
        data, times = self.tree / ".coverage", self.tree / "times.xml"
        watched = ["--cov=drillbox", "--cov-context=test", "--cov-report=", f"--junitxml={times}"]
        for of_another_room in (data, times):
            of_another_room.unlink(missing_ok=True)
        began = time.monotonic()
        # Only here is bytecode kept: what a wrong change was compiled to must not be met again.
        self._pass([*self.tests, *watched], keep_bytecode=True, to_the_end=True)
        if not (data.exists() and times.exists()):
            return False
        # Measured on this machine as busy as it is, or else a change would pass for caught by that.
        self.longest = TIMES_LONGER * (time.monotonic() - began) + SECONDS_MORE
        seconds: dict[str, float] = {}
        failing: set[str] = set()
        for case in ET.parse(times).iter("testcase"):
            dotted = _without_parameters(f"{case.get('classname')}.{case.get('name')}")
            seconds[dotted] = seconds.get(dotted, 0.0) + float(case.get("time", 0.0))
            if case.find("failure") is not None or case.find("error") is not None:
                failing.add(dotted)
                print(f"  left out, since it fails unchanged: {dotted}")
        found = CoverageData(str(data))
        found.read()
        for name in found.measured_files():
            by_line = {
                line: {_without_parameters(context.split("|")[0]) for context in contexts}
                for line, contexts in found.contexts_by_lineno(name).items()
            }
            self.lines[str(Path(name).relative_to(self.tree))] = {
                line: {test for test in tests if _dotted(test) not in failing}
                for line, tests in by_line.items()
            }
        # Not the tests that come by a line alone: one that holds constants to a page comes by none.
        self.seconds = {
            self._named(dotted): taken for dotted, taken in seconds.items() if dotted not in failing
        }
        # A test that could not be asked for by its name would make every change pass for caught.
        return self._pass(["--collect-only", *self.seconds])

    def _named(self, dotted: str) -> str:
        """Return a test by the name it is asked for by, from that in the report of the times."""
        parts = dotted.split(".")
        inside = next(
            n
            for n in range(len(parts) - 1, 0, -1)
            if Path(self.tree, *parts[: n - 1], f"{parts[n - 1]}.py").exists()
        )
        return "::".join([f"{'/'.join(parts[:inside])}.py", *parts[inside:]])

    def let_pass(self, change: Change) -> bool:
        """Return whether the tests pass with a change; a run without end does not."""
        path = self.tree / change.path.relative_to(ROOT)
        asked = self._asked(change)
        if not asked:
            return True
        source = path.read_bytes()
        path.write_bytes(source[: change.start] + change.text.encode() + source[change.end :])
        try:
            return self._pass(asked)
        finally:
            path.write_bytes(source)

    def _asked(self, change: Change) -> list[str]:
        """Return the tests that a change concerns, those first that are likely to catch it soon."""
        by_line = self.lines.get(str(change.path.relative_to(ROOT)), {})
        coming_by = by_line.get(change.line, set())
        if change.at_import or "" in coming_by:
            # A line that the import comes by concerns them all, also where a module is imported
            # late, in the test that happens to need it first.
            coming_by = set(self.seconds)
        of_the_file = set[str]().union(*by_line.values())
        return sorted(
            coming_by, key=lambda test: (test not in of_the_file, self.seconds[test], test)
        )

    def _pass(
        self, tests: Sequence[str], *, keep_bytecode: bool = False, to_the_end: bool = False
    ) -> bool:
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n", "0"]
        command += [] if to_the_end else ["-x"]
        # With tests shared out, even to nobody, pytest-cov notes no test beside a line.
        command += ["--hypothesis-profile=unshrunk", "--dist=no"]
        environment = {**os.environ, "PYTHONPATH": str(self.tree)}
        environment["PYTHONDONTWRITEBYTECODE"] = "" if keep_bytecode else "1"
        try:
            done = subprocess.run(
                [*command, *tests],
                cwd=self.tree,
                env=environment,
                capture_output=True,
                timeout=self.longest,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return False
        return done.returncode == 0


def _dotted(test: str) -> str:
    """Return a test's name as the report of the times has it."""
    return test.replace(".py::", ".").replace("::", ".").replace("/", ".")


def _without_parameters(test: str) -> str:
    return test.split("[", maxsplit=1)[0]


def try_room(tree: Path, room: str, *, count: int, seed: int) -> tuple[int, int]:
    """Try a sample of changes in a room; print the survivors; return (caught, tried)."""
    began = time.monotonic()
    places = places_of(room)
    trial = Trial(tree, room)
    if not trial.stands():
        print(f"{room}: its tests cannot be run without any change: nothing tried")
        return 0, 0
    chosen = random.Random(f"{seed} {room}").sample(places, min(count, len(places)))
    left = 0
    for change in chosen:
        if trial.let_pass(change):
            left += 1
            print(f"  survived  {change}", flush=True)
    caught, tried = len(chosen) - left, len(chosen)
    share = caught / tried if tried else 1.0
    mark = "" if share >= BAR else f"  under {BAR:.0%}"
    seconds = time.monotonic() - began
    print(
        f"{room:<9} {caught:>3} of {tried:>3} caught, {share:>4.0%} ({seconds:.0f} s){mark}",
        flush=True,
    )
    return caught, tried


def main() -> None:
    """Try every room that was asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("rooms", nargs="*", default=ROOMS)
    parser.add_argument("-n", "--count", type=int, default=20, help="changes a room")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder)
        for name in COPIED:
            source = ROOT / name
            if source.is_dir():
                shutil.copytree(source, tree / name, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(source, tree / name)
        results = [try_room(tree, room, count=asked.count, seed=asked.seed) for room in asked.rooms]
    caught, tried = (sum(column) for column in zip(*results, strict=True))
    print(f"all       {caught:>3} of {tried:>3} caught, {caught / max(tried, 1):.0%}")


if __name__ == "__main__":
    main()
