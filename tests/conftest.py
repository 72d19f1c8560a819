"""Fixtures of the whole suite.

A still clock, counted ids, a box with a small deck, a clean environment.
"""

from __future__ import annotations

import asyncio
import gc
import os
import shutil
import signal
import sys
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pytest
from examples import AT_LENGTH, QUICKLY
from hypothesis import HealthCheck, Phase, settings

from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.deckfile import Deck, parse_deck
from drillbox.store import Archive

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from cli_kit import Player, Say

# Helpers whose asserts say what they found, as those of the tests do.
pytest.register_assert_rewrite(
    *("bare_screen", "bare_stand", "claims_kit", "cli_kit", "hands_on", "heard_takes", "sounding")
)

# A busy machine is no failure, neither in a law nor in what it draws, and every run tries the same
# examples: what passed passes again.
# tests/bench/fresh_seeds.py tries others.
BUSY: dict[str, Any] = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("quick", **BUSY, derandomize=True, max_examples=QUICKLY)
settings.register_profile("full", **BUSY, derandomize=True, max_examples=AT_LENGTH)
settings.register_profile("fresh", **BUSY, print_blob=True, max_examples=AT_LENGTH)
settings.register_profile(  # for who asks only whether a test fails: tests/bench/bench_mutations.py
    "unshrunk",
    **BUSY,
    derandomize=True,
    max_examples=AT_LENGTH,
    phases=[Phase.explicit, Phase.generate],
)
settings.load_profile("quick")

MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=ZoneInfo("Europe/Zurich"))
PILOT_TURNS, NO_TIME = 6, 0.001
MEMORY_DISK, ROOM_FOR_TESTS = Path("/dev/shm"), 2**30  # noqa: S108 - pytest makes folders of its own
RARELY = 10_000, 20, 10
"""How much is new before the garbage collector looks; whatever it finds, it finds later."""
SMALL_DECK = """\
[deck]
id = "first-ghosts"
title = "First ghosts"
edition = 1
author = "a teacher"
licence = "CC0-1.0"
about = "Four cards for tests."
goal = 90

[groove]
hat = "beat &"
snare = ">2 >4"
bass = "1 3"

[[card]]
id = "e"
title = "e of every beat"
snare = "(e)"

[[card]]
id = "a"
title = "a of every beat"
snare = "(a)"

[[card]]
id = "e-a"
title = "e and a of every beat"
snare = "(e) (a)"
after = ["e", "a"]

[[card]]
id = "a-doubled"
title = "a of every beat, doubled"
snare = "(/a)"
goal = 80
importance = 2.0
"""


def pytest_configure() -> None:
    """Let Ctrl-C reach the programs that tests start, and nobody wait for disks or old garbage.

    A shell starts what runs in the background deaf to Ctrl-C, and every child inherits that. A take
    is on the disk before it is called saved, so a test that waits for a disk waits thousands of
    times; what a killed program leaves behind is the same on a disk that is memory.
    """
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    gc.set_threshold(*RARELY)
    if MEMORY_DISK.is_dir() and shutil.disk_usage(MEMORY_DISK).free > ROOM_FOR_TESTS:
        os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY_DISK))


def pytest_collection_finish() -> None:
    """Spare the garbage collector what stays to the end: thousands of tests, and every import.

    It looked through all of that again and again, a fifth of what the tests of the screens took.
    """
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Return new folders one after another.

    Not by `mktemp`, which looks through all that were made before: with four for each test that
    took longer than most tests do.
    """
    root = tmp_path_factory.mktemp("homes")
    return (root / str(number) for number in count())


@pytest.fixture(autouse=True)
def clean_environment(monkeypatch: pytest.MonkeyPatch, homes: Iterator[Path]) -> None:
    """Keep the developer's own box, pace, colours and data folder out of every test."""
    for name in ("DRILLBOX_BOX", "DRILLBOX_PACE", "NO_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    home = next(homes)
    for name in ("DATA_HOME", "CONFIG_HOME", "STATE_HOME", "RUNTIME_DIR"):
        folder = home / name.lower()
        folder.mkdir(mode=0o700, parents=True)
        monkeypatch.setenv(f"XDG_{name}", str(folder))
    monkeypatch.setenv("TEXTUAL_ANIMATIONS", "none")


@pytest.fixture(autouse=True)
def pilots_wait_for_the_app(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a pilot's keys wait for some turns of the event loop, where a test drives the app.

    Textual's own way waits until the process is idle, up to a second at each key: on the stand,
    which draws thirty times a second, it never is. `hands_on.settle` waits for the screen.
    """

    async def turns(min_sleep: float = 0.0, max_sleep: float = 1.0) -> None:
        del min_sleep, max_sleep
        for _ in range(PILOT_TURNS):
            await asyncio.sleep(0)

    for name in ("textual.app", "textual.pilot"):
        if name in sys.modules:
            monkeypatch.setattr(sys.modules[name], "wait_for_idle", turns)
    if today := sys.modules.get("drillbox.app.screens.today"):
        monkeypatch.setattr(today, "FRAME_FIRST_SECONDS", NO_TIME)


@pytest.fixture(scope="session")
def style_rules() -> dict[Any, Any]:
    """Return the rules of style sheets that some test has read, by all that they come from."""
    return {}


@pytest.fixture(autouse=True)
def styles_are_read_once(monkeypatch: pytest.MonkeyPatch, style_rules: dict[Any, Any]) -> None:
    """Read each style sheet once for all apps, where a test starts one: they never change.

    Every start of an app reads some thirty of them, a fifteenth of what the tests of the screens
    took.
    """
    if sheets := sys.modules.get("textual.css.stylesheet"):
        read = sheets.Stylesheet._parse_rules

        def read_once(sheet: Any, *given: Any, **named: Any) -> Any:
            source = frozenset(sheet._variables.items()), given, frozenset(named.items())
            if source not in style_rules:
                style_rules[source] = read(sheet, *given, **named)
            return style_rules[source]

        monkeypatch.setattr(sheets.Stylesheet, "_parse_rules", read_once)


@pytest.fixture(autouse=True)
def closed_boxes(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Close at a test's end every box that it opened: Python 3.13 warns of what is left open.

    A box whose opening fails is not in this list: that it leaves nothing open is the store's own.
    """
    opened: list[Archive] = []
    to_open = Archive.open.__func__  # type: ignore[attr-defined]

    def noted(cls: type[Archive], *given: Any, **named: Any) -> Archive:
        opened.append(to_open(cls, *given, **named))
        return opened[-1]

    monkeypatch.setattr(Archive, "open", classmethod(noted))
    yield
    for archive in opened:
        archive.close()


@pytest.fixture
def clock() -> ManualClock:
    """Return a clock that stands at nine in the morning of a Monday."""
    return ManualClock(MORNING)


@pytest.fixture
def new_id() -> Callable[[], str]:
    """Return a maker of ids that counts."""
    numbers = count(1)
    return lambda: f"{next(numbers):032x}"


@pytest.fixture(scope="session")
def small_deck() -> Deck:
    """Return a deck of four cards, which is frozen: read once."""
    return parse_deck(SMALL_DECK, name="first-ghosts.toml")


@pytest.fixture
def box(clock: ManualClock, new_id: Callable[[], str], small_deck: Deck) -> Iterator[Box]:
    """Return a box in memory with the small deck in it."""
    with Box.open(":memory:", clock=clock, new_id=new_id) as opened:
        opened.put_deck(small_deck, at=clock.now())
        yield opened


@pytest.fixture(scope="session")
def box_at_rest(tmp_path_factory: pytest.TempPathFactory, small_deck: Deck) -> Path:
    """Return the file of a box with the small deck, put away at nine in the morning: to be copied.

    To make it takes ten times as long.
    """
    path = tmp_path_factory.mktemp("at-rest") / "player.box"
    with Box.open(path, clock=ManualClock(MORNING)) as box:
        box.put_deck(small_deck, at=MORNING)
    return path


@pytest.fixture
def small_box(box_at_rest: Path, tmp_path: Path) -> Path:
    """Return the file of a box with the small deck, with all that lies beside it."""
    shutil.copytree(box_at_rest.parent, tmp_path, dirs_exist_ok=True)
    return tmp_path / box_at_rest.name


@pytest.fixture
def player(
    small_box: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Player:
    """Return a player at a command line, with the small deck: for the tests in tests/cli.

    This and the next stand here since a conftest.py of theirs would take this one's name for those
    that import from it.
    """
    from cli_kit import Player

    return Player(small_box, capsys, monkeypatch)


@pytest.fixture
def say(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> Say:
    """Return a caller of commands, on the real clock and a box that is not there yet."""
    from cli_kit import say_on

    return say_on(tmp_path / "player.box", capfd)
