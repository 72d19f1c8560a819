"""Never lose a take.

Two programs record into one box, are killed 200 times, on wandering clocks and a full disk.

Run: ``python tests/bench/bench_soak.py [KILLS] [SEED]``; about two minutes. Two children at a time
open the same box and record, take back, look at the plan and merge, as fast as they can; each is
killed by SIGKILL at a random moment. Their clocks jump by up to forty days, to and fro, so that
backups are made all the time. One child in five meets a full disk (RLIMIT_FSIZE,
https://man7.org/linux/man-pages/man2/setrlimit.2.html), keeps what was refused, and tries again
later.

A child writes down every id before it is used and every take after it was called saved. At the end:
each take that was called saved is in the log once, nothing else is, what was taken back does not
count, the file passes SQLite's full check, the beliefs equal a replay, and a checkup finds nothing.
Ends with 1 if any of that does not hold.
"""

from __future__ import annotations

import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4

from big_box import GROOVE

import drillbox
from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.errors import BoxError, NotSavedError
from drillbox.memory import Grade
from drillbox.report.checkup import look
from drillbox.store import TakeRow

START = datetime(2026, 3, 12, 18, 30, tzinfo=UTC)
DECK = GROOVE + "".join(
    f'[[card]]\nid = "c{n}"\ntitle = "card {n}"\nsnare = "({n % 4 + 1}{slot})"\n'
    for n, slot in enumerate(["e", "&", "a", "e", "&", "a", "e"])
)
LONGEST_LIFE = 0.6  # seconds from the first take to the kill
ROOM = (0, 2_000, 9_000)  # bytes by which a box may still grow on a full disk


class Child:
    """What one child does until it is killed."""

    def __init__(self, folder: Path, seed: int, *, cramped: bool) -> None:
        self.path = folder / "player.box"
        self.chance = random.Random(seed)
        self.said = os.open(folder / f"said-{seed}", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        self.clock = ManualClock(START + timedelta(days=self.chance.uniform(-20, 20)))
        self.cramped = cramped
        self.refused: list[tuple[str, float, Grade, datetime]] = []

    def tell(self, word: str, key: str) -> str:
        """Write a line down, past any buffer of ours; a kill does not undo it."""
        os.write(self.said, f"{word} {key}\n".encode())
        return key

    def new_id(self) -> str:
        """Return an id that was written down before its use."""
        return self.tell("meant", uuid4().hex)

    def run(self) -> None:
        """Do one thing after another, for as long as there is life."""
        with Box.open(self.path, clock=self.clock, new_id=self.new_id) as box:
            cards = [card.card_id for card in box.cards(at=self.clock.now())]
            print("ready", flush=True)
            steps = 0
            while True:
                steps += 1
                if self.cramped and steps % 6 == 1:
                    self.fill_disk(full=steps % 12 == 1)
                self.clock.forward(seconds=self.chance.choice([1, 30, 3_600]))
                if self.chance.random() < 0.1:
                    jump = timedelta(days=self.chance.uniform(-40, 40))
                    self.clock.set(self.clock.now() + jump)
                self.step(box, self.chance.choice(cards))

    def fill_disk(self, *, full: bool) -> None:
        """Let the box grow no more, or let it again."""
        room = self.path.stat().st_size + self.chance.choice(ROOM)
        most = room if full else resource.RLIM_INFINITY
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))

    def step(self, box: Box, card: str) -> None:
        """Record a take, and now and then do something else."""
        what = self.chance.random()
        bpm, grade, at = (
            self.chance.uniform(40, 160),
            self.chance.choice(list(Grade)),
            self.clock.now(),
        )
        try:
            for waiting in list(self.refused):
                self.record(box, *waiting)
                self.refused.remove(waiting)
            if what < 0.1:
                taken = box.undo(at=at)
                if taken is not None:
                    self.tell("back", taken.take_id)
            elif what < 0.2:
                row = TakeRow(self.new_id(), card, bpm, 0, at, "+00:00", 30.0, "self")
                box.merge([row])
                self.tell("saved", row.id)
            elif what < 0.25:
                box.plan(at=at)
            elif what < 0.3:
                box.set_goal(card, bpm=bpm, at=at)
            else:
                self.record(box, card, bpm, grade, at)
        except BoxError as refusal:
            # Even reading needs the disk, to undo what a killed child left half-written.
            self.tell("refused", refusal.what)
            if what >= 0.3 and isinstance(refusal, NotSavedError):
                self.refused.append((card, bpm, grade, at))
            elif what >= 0.3:
                raise

    def record(self, box: Box, card: str, bpm: float, grade: Grade, at: datetime) -> None:
        """Record a take; what is called saved is written down as saved."""
        take = box.record(card, bpm=bpm, grade=grade, at=at, seconds=30)
        self.tell("saved", take.take_id)


def start(folder: Path, seed: int, *, cramped: bool) -> subprocess.Popen[str]:
    """Start a child."""
    places = (Path(drillbox.__file__).parent.parent, Path(__file__).parent)
    return subprocess.Popen(
        [sys.executable, __file__, "child", str(folder), str(seed), str(int(cramped))],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(map(str, places))},
    )


def kill_pair(folder: Path, seeds: tuple[int, int], chance: random.Random) -> None:
    """Let two children work on one box and kill each at a random moment."""
    pair = [start(folder, seed, cramped=chance.random() < 0.2) for seed in seeds]
    for child in pair:
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n", "a child could not open the box"
    began = time.monotonic()
    for child in pair:
        life = chance.uniform(0, LONGEST_LIFE)
        time.sleep(max(0.0, began + life - time.monotonic()))
        assert child.poll() is None, "a child ended by itself"
        child.kill()
    for child in pair:
        child.communicate()


def told(folder: Path) -> dict[str, Counter[str]]:
    """Return what the children wrote down, by word."""
    words: dict[str, Counter[str]] = {w: Counter() for w in ("meant", "saved", "back", "refused")}
    for file in folder.glob("said-*"):
        for line in file.read_text(encoding="utf-8").splitlines():
            word, _, key = line.partition(" ")
            words[word][key] += 1
    return words


def verdicts(folder: Path) -> dict[str, bool]:
    """Return what must hold at the end, and whether it does."""
    clock = ManualClock(START)
    words, path = told(folder), folder / "player.box"
    report = look(path, clock=clock)
    with Box.open(path, clock=clock, read_only=True) as box:
        log = Counter(entry.id for entry in box.log())
        counted = {take.id for take in box.archive.takes()}
        wrong = box.wrong_beliefs()
    for finding in report.findings:
        print(f"  not well: {finding.sentence}")
    return {
        "every take that was called saved is in the log": words["saved"].keys() <= log.keys(),
        "each is there once": set(log.values()) == {1},
        "nothing is there that nobody meant": log.keys() <= words["meant"].keys(),
        "what was taken back does not count": not words["back"].keys() & counted,
        "what was not taken back counts": words["saved"].keys() - counted <= retracted(path),
        "beliefs equal a replay": not wrong,
        "a checkup finds nothing": not report.findings,
        "a full disk was met": bool(words["refused"]),
    }


def retracted(path: Path) -> set[str]:
    """Return the takes that a retraction in the log names.

    A kill may have come before its writing down.
    """
    with Box.open(path, clock=ManualClock(START), read_only=True) as box:
        return {entry.take_id for entry in box.log() if not isinstance(entry, TakeRow)}


def main() -> int:
    """Kill, look, and say."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    chance, began = random.Random(seed), time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with Box.open(folder / "player.box", clock=ManualClock(START)) as box:
            box.put_deck(parse_deck(DECK, name="soak"), at=START)
        for done in range(0, kills, 2):
            kill_pair(folder, (done, done + 1), chance)
            if sys.stderr.isatty() or done % 20 == 18:
                saved = told(folder)["saved"].total()
                print(
                    f"{done + 2} of {kills} kills, {saved} takes saved,"
                    f" {time.monotonic() - began:.0f} s",
                    file=sys.stderr,
                )
        words, held = told(folder), verdicts(folder)
        left = [file.name for file in folder.rglob(".*")]
        size = (folder / "player.box").stat().st_size
    print(
        f"{kills} kills in {time.monotonic() - began:.0f} s: {words['saved'].total()} takes saved, "
        f"{words['back'].total()} taken back, {words['refused'].total()} refusals "
        f"({', '.join(words['refused'])}), {size / 1e6:.1f} MB, {len(left)} unfinished backups left"
    )
    for sentence, holds in held.items():
        print(f"{'yes' if holds else 'NO '} {sentence}")
    return int(not all(held.values()))


if __name__ == "__main__":
    if sys.argv[1:2] == ["child"]:
        Child(Path(sys.argv[2]), int(sys.argv[3]), cramped=sys.argv[4] == "1").run()
    sys.exit(main())
