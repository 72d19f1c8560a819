"""The house rules, held by tests.

What loads, how large files and functions are, that every test tells its law.

The floors themselves are contracts of import-linter in pyproject.toml; a static graph cannot see
what is imported late, so here a bare interpreter is asked what it really loaded.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections import Counter
from graphlib import TopologicalSorter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parent.parent
SOURCES = sorted((ROOT / "drillbox").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("test_*.py"))
LONGEST_FILE = 500
LONGEST_HUB = 250
LONGEST_FUNCTION = 60


def loaded_by(code: str) -> set[str]:
    """Return the top-level modules, and ours in full, that a bare interpreter has after `code`."""
    script = f"{code}\nimport sys\nprint(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT
    )
    return set(done.stdout.splitlines()[-1].split())


def functions_in(text: str) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Yield every function of a module, also those within classes, functions and other blocks.

    Only statements are looked through, which a walk over all of the tree takes far longer for.
    """
    waiting: list[ast.AST] = [ast.parse(text)]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node
        for block in ("body", "orelse", "finalbody", "handlers", "cases"):
            waiting += getattr(node, block, ())


@pytest.mark.parametrize(
    ("code", "never"),
    [
        ("import drillbox", {"click", "numpy", "sqlite3", "textual"}),
        (
            "from drillbox.cli.main import run\nrun(['--help'])",
            {"numpy", "sqlite3", "sqlite_utils", "textual"},
        ),
        ("import drillbox.rhythm", {"numpy", "sqlite3", "textual", "click"}),
        ("import drillbox.memory", {"numpy", "sqlite3", "textual", "click"}),
        ("import drillbox.sound", {"numpy", "miniaudio", "textual"}),
        ("import drillbox.paper", {"verovio", "fpdf", "fontTools", "numpy", "textual", "click"}),
        ("import drillbox.report.sheet_contents", {"verovio", "fpdf", "fontTools", "textual"}),
        ("import drillbox.ear", {"numpy", "soundfile", "textual"}),
        ("import drillbox.ear.measuring", {"soundfile", "scipy", "textual", "miniaudio"}),
        ("import drillbox.box.facade", {"numpy", "sqlite_utils", "textual", "click", "miniaudio"}),
        (
            "from drillbox.cli.main import run\nrun(['--box', ':memory:', 'today'])",
            {"textual", "miniaudio", "scipy"},
        ),
        (
            "import drillbox.app.screens.year_screen",
            {"numpy", "textual_plot", "textual_hires_canvas"},
        ),
        ("import drillbox.app.screens.card", {"numpy", "textual_plot", "textual_hires_canvas"}),
    ],
)
def test_nothing_heavy_loads_before_it_is_used(code: str, never: set[str]) -> None:
    """Each way in loads what it needs and no more: starting is quick, and extras stay extras."""
    assert set() == loaded_by(code) & never


A_DAYS_PLAN = {
    *("base.clock", "base.files", "base.now", "base.practice_days", "base.tempi", "base.wording"),
    *("box.about_cards", "box.about_decks", "box.about_practice", "box.about_takes"),
    *("box.beliefs", "box.catalogue", "box.days_played", "box.diary", "box.kept_for_a_day"),
    *("box.doubts", "box.dues"),
    *(
        "box.facade",
        "box.first_tempi",
        "box.history",
        "box.learned_numbers",
        "box.legible",
        "box.lineage",
    ),
    *("box.kept_at_goal", "box.parts", "box.practice", "box.setting_kinds", "box.settings"),
    *("box.take_views", "memory.belief", "memory.array_maths", "memory.forgetting", "memory.grade"),
    *("memory.level", "memory.mixture", "memory.normal", "memory.outlook", "memory.parameters"),
    *("memory.relatives", "plan.candidate_columns", "plan.candidates"),
    *("plan.choose", "plan.climbing", "plan.order"),
    *("plan.planner", "plan.prices", "plan.table", "plan.takes", "plan.why"),
    *("report.time_away", "store.archive", "store.archive_file", "store.archive_log"),
    *("store.belief_cache", "store.boxfile", "store.checks"),
    *("store.daily_check", "store.decks_and_wishes", "store.features", "store.guard"),
    *("store.opening", "store.rows", "store.schema", "store.takelog"),
}
"""What `drillbox today` may load of drillbox, rooms and the command line aside.

A module more is half a millisecond more that every player waits, every day.
"""


def test_todays_plan_loads_what_a_plan_needs(tmp_path: Path) -> None:
    """With a box that was used before; cards to look at, goals, exports and paper come later."""
    box = tmp_path / "player.box"
    by_hand = f"from drillbox.cli.main import run\nrun(['--box', {str(box)!r}, *{{}}])"
    loaded_by(by_hand.format(["decks", "add", "first-week"]))
    loaded_by(by_hand.format(["today"]))
    ours = {name.removeprefix("drillbox.") for name in loaded_by(by_hand.format(["today"]))}
    rooms = {"base", "box", "memory", "plan", "report", "store"}

    loaded = {name for name in ours if "." in name and name.split(".")[0] in rooms}
    assert set() == loaded - A_DAYS_PLAN
    assert set() == ours & {"rhythm", "deckfile", "sound", "paper", "studio", "app"}


def test_the_first_frame_stands_before_everything_else() -> None:
    """What the app imports to draw it knows no box, no rhythm, no numbers and no sound."""
    loaded = loaded_by("import drillbox.app.app")
    never = {"numpy", "sqlite3", "miniaudio", "zoneinfo", "textual.widgets._data_table"}
    rooms = {"box", "deckfile", "ear", "memory", "paper", "plan", "report", "rhythm", "sound"}

    assert set() == loaded & (never | {f"drillbox.{room}" for room in (*rooms, "store", "studio")})


def test_the_ear_loads_numpy_and_the_rooms_below_it() -> None:
    """Measuring needs no library but numpy, and no room of ours but rhythm, base and errors."""
    before = loaded_by("import numpy")
    after = loaded_by("import drillbox.ear.measuring, drillbox.ear.pads, drillbox.ear.loopback")
    own = {name.split(".")[1] for name in after if name.startswith("drillbox.")}
    foreign = {name.split(".")[0] for name in after - before} - sys.stdlib_module_names

    assert {"ear", "rhythm", "base", "errors"} == own
    assert {"drillbox"} == foreign - {"numpy"}


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_files_and_functions_stay_small(path: Path) -> None:
    """A file over five hundred lines is two.

    The hub that everything hangs on stays a list of delegations.
    """
    text = path.read_text(encoding="utf-8")
    most = LONGEST_HUB if path.name == "app.py" else LONGEST_FILE
    functions = functions_in(text)

    assert len(text.splitlines()) <= most
    assert [] == [f.name for f in functions if (f.end_lineno or 0) - f.lineno >= LONGEST_FUNCTION]


@pytest.mark.parametrize("path", TESTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_test_tells_its_law_or_story(path: Path) -> None:
    """A test without a docstring does not say what would be lost if it failed."""
    tests = [f for f in functions_in(path.read_text(encoding="utf-8")) if f.name[:5] == "test_"]

    assert [] == [test.name for test in tests if not ast.get_docstring(test)]


def test_the_top_level_is_what_the_design_says() -> None:
    """Three files a reader looks for, and four folders; hidden ones aside."""
    tracked = subprocess.run(
        ["git", "ls-files"],  # noqa: S607 - the developer's own git
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    if tracked.returncode:
        pytest.skip("not a checkout: an unpacked source archive has no list of its files")
    top = {line.split("/")[0] for line in tracked.stdout.splitlines()}

    assert {name for name in top if not name.startswith(".")} == {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "drillbox",
        "tests",
        "decks",
        "docs",
    }


def test_a_file_name_occurs_once_in_the_house() -> None:
    """Whoever reads of `reading.py` need not ask which; and rooms alone stand at the top."""
    modules = [path for path in SOURCES if "__" not in path.name]
    rooms = {path.name for path in (ROOT / "drillbox").glob("*.py")}

    assert [] == [name for name, n in Counter(path.name for path in modules).items() if n > 1]
    assert {"__init__.py", "__main__.py", "errors.py"} == rooms


def test_no_module_imports_in_a_circle() -> None:
    """Not even late, inside a function: only what a type checker alone reads may look both ways."""
    names = {path: ".".join(path.relative_to(ROOT).with_suffix("").parts) for path in SOURCES}
    modules = {name.removesuffix(".__init__") for name in names.values()}
    graph = {
        name.removesuffix(".__init__"): imported_by(path, modules) for path, name in names.items()
    }

    assert len(modules) == len(list(TopologicalSorter(graph).static_order()))


def imported_by(path: Path, modules: set[str]) -> set[str]:
    """Return our modules that a file imports when it runs, or when one of its functions does."""
    found: set[str] = set()
    waiting: list[ast.AST] = [ast.parse(path.read_text(encoding="utf-8"))]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.ImportFrom):
            inside = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= inside & modules or {str(node.module)} & modules
        only_types = isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)
        waiting += [] if only_types else ast.iter_child_nodes(node)
    return found


def test_numbers_in_sql_have_names() -> None:
    """From Python 3.14 on sqlite3 refuses `?1` with a tuple; names say what is meant, too."""
    numbered = re.compile(r"\?\d")
    for path in sorted((ROOT / "drillbox" / "store").glob("*.py")):
        assert not numbered.search(path.read_text(encoding="utf-8")), path
