"""The stand while others are at the box file.

A deck that goes, a file that is held, written to for long, damaged or on a full disk: the day goes
on, says so, and no grade is lost.
"""

from __future__ import annotations

import os
import select
import signal
import sqlite3
import sys
import time
from contextlib import asynccontextmanager, closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.app import DrillboxApp
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.today import Today
from drillbox.app.screens.wrapup import WrapUp
from drillbox.app.unsaved import Unsaved
from drillbox.box import Box
from drillbox.cli.main import run
from drillbox.deckfile import parse_deck
from drillbox.errors import BoxDamagedError, BoxError
from drillbox.memory import Grade
from drillbox.store.second_place import SecondPlace

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import WHOLE_TAKE, make_app, play, press, said, screen_text, settle, shows

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable, Iterator

    from textual.pilot import Pilot

    from drillbox.app.desk import Desk
    from drillbox.base.clock import ManualClock
    from drillbox.deckfile import Deck

PATIENCE_SECONDS = 120.0
ONE_CARD = """\
[deck]
id = "{0}"
title = "Deck {0}"
edition = 1
goal = 90

[groove]
snare = ">2 >4"

[[card]]
id = "only"
title = "{1} of every beat"
snare = "({1})"
"""
SMALLEST_DISK = 16_384
"""Bytes a file may have on the full disk: less than the box, more than a few takes as text."""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where the box is."""
    return tmp_path / "player.box"


@pytest.fixture
def filed(
    path: Path, clock: ManualClock, new_id: Callable[[], str], small_deck: Deck
) -> Iterator[Box]:
    """Return a box on disk that waits for others as briefly as at the stand."""
    with Box.open(path, clock=clock, new_id=new_id) as box:
        box.put_deck(small_deck, at=clock.now())
        box.wait_for_others(0.01)
        yield box


@pytest.fixture
def second_place(tmp_path: Path, path: Path) -> SecondPlace:
    """Return a second place for unsaved takes."""
    return SecondPlace([tmp_path / "state"], path, owner="here")


@contextmanager
def held(path: Path, how: str) -> Iterator[None]:
    """Hold the file as another program would: `EXCLUSIVE` bars readers, `IMMEDIATE` writers."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute(f"BEGIN {how}")
        yield
        other.execute("ROLLBACK")


def elsewhere(path: Path, clock: ManualClock) -> Box:
    """Open the box in another window."""
    return Box.open(path, clock=clock)


def in_the_log(path: Path, clock: ManualClock) -> list[str]:
    """Return the grades in the log, as another window reads them."""
    with elsewhere(path, clock) as box:
        return [Grade(take.grade).label for take in box.archive.takes()]


@asynccontextmanager
async def at_the_stand(
    box: Box, clock: ManualClock, *, second_place: SecondPlace | None = None
) -> AsyncIterator[Pilot[int]]:
    """Open the app and go to the stand."""
    async with make_app(box, clock, second_place=second_place).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        yield pilot


@pytest.mark.parametrize("how", ["removed", "put away"])
async def test_a_deck_that_goes_takes_its_card_off_the_stand(
    filed: Box, path: Path, clock: ManualClock, how: str
) -> None:
    """Another window takes the deck out: the card slides off with a word, and the day is over."""
    async with at_the_stand(filed, clock) as pilot:
        app = pilot.app
        assert isinstance(app.screen, Stand)
        with elsewhere(path, clock) as other:
            if how == "removed":
                other.remove_deck("first-ghosts")
            else:
                other.archive_deck("first-ghosts", archived=True)
        assert await shows(pilot, "Wrap-up")

        assert isinstance(app.screen, WrapUp)
        await press(pilot, "enter")
        assert isinstance(app.screen, Today)


async def test_a_card_that_left_in_mid_take_is_graded_and_then_slides_off(
    path: Path, clock: ManualClock
) -> None:
    """The running take is played to its end and saved; then the next card is up, with a word."""
    with Box.open(path, clock=clock) as box:
        for name, position in (("one", "e"), ("two", "a")):
            box.put_deck(parse_deck(ONE_CARD.format(name, position), name=name), at=clock.now())
        async with at_the_stand(box, clock) as pilot:
            app = pilot.app
            up = box.card(box.plan(at=clock.now()).items[0].card_id, at=clock.now())
            await press(pilot, "space")
            with elsewhere(path, clock) as other:
                other.remove_deck(up.deck_ids[0])
            clock.forward(seconds=WHOLE_TAKE)
            await settle(pilot)
            await press(pilot, "f")
            text = " ".join(screen_text(app).split())

            assert isinstance(app.screen, Stand)
            assert not text.startswith(up.title)
            assert f"“{up.title}” has left the box" in said(app)
    assert ["clean"] == in_the_log(path, clock)


@pytest.mark.parametrize("how", ["EXCLUSIVE", "IMMEDIATE"])
async def test_a_file_that_others_hold_keeps_no_one_from_playing(
    filed: Box, path: Path, clock: ManualClock, second_place: SecondPlace, how: str
) -> None:
    """Two takes while another program holds the file: said, kept on disk, saved when it lets go."""
    async with at_the_stand(filed, clock, second_place=second_place) as pilot:
        app = pilot.app
        with held(path, how):
            await play(pilot, clock, "f")
            refused = said(app)
            await play(pilot, clock, "s")
            left = SecondPlace([path.parent / "state"], path, owner="other").left_behind()
        assert isinstance(app.screen, Stand)
        assert "NOT SAVED yet, 1 take: another program holds the box" in refused
        assert [1, -1] == [take.grade for one in left for take in one.takes]
        clock.forward(seconds=40)
        await settle(pilot)
        for _ in range(100):
            if "all takes saved" in said(app):
                break
            await pilot.pause(0.1)
        assert "all takes saved" in said(app)

    assert ["clean", "shaky"] == in_the_log(path, clock)
    assert [] == list((path.parent / "state").iterdir())


async def test_today_says_that_a_take_is_saved_as_soon_as_it_is(
    filed: Box, path: Path, clock: ManualClock, second_place: SecondPlace
) -> None:
    """The stand was left while another program held the file; the good news wants no key."""
    async with at_the_stand(filed, clock, second_place=second_place) as pilot:
        app = pilot.app
        with held(path, "IMMEDIATE"):
            await play(pilot, clock, "f")
            await press(pilot, "escape")
            assert await shows(pilot, "NOT SAVED yet, 1 take")
        clock.forward(seconds=40)
        assert await shows(pilot, "All is saved.")
        assert "NOT SAVED" not in screen_text(app)

    assert ["clean"] == in_the_log(path, clock)


async def test_every_screen_waits_for_a_file_that_is_held(
    filed: Box, path: Path, clock: ManualClock
) -> None:
    """All screens are opened while nobody may read the box: none ends the app."""
    app = make_app(filed, clock)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        with held(path, "EXCLUSIVE"):
            for keys in (("s", "enter", "x", "escape", "escape"), ("y", "escape"), ("t", "escape")):
                await press(pilot, *keys)
            await press(pilot, "enter", "escape", "right")
            assert await shows(pilot, "holds")  # a notice wraps where it may
        assert isinstance(app.screen, Today)


@pytest.mark.parametrize("page", [0, 1])
async def test_a_file_damaged_under_the_stand_ends_nothing(
    filed: Box, path: Path, clock: ManualClock, second_place: SecondPlace, page: int
) -> None:
    """Other bytes are in the file: the day is played on, every take is in the second place."""
    filed.change_settings(at=clock.now(), minutes=5)
    async with at_the_stand(filed, clock, second_place=second_place) as pilot:
        app = pilot.app
        with path.open("r+b") as file:
            file.seek(24)
            file.write(b"\xa5" * 4)  # the change counter, so that nothing cached is trusted
            file.seek(page * 4096 + (40 if page == 0 else 0))
            file.write(b"\xa5" * 4096 * 40)
        played = 0
        while isinstance(app.screen, Stand) and played < 40:
            await play(pilot, clock, "f")
            played += 1
        await press(pilot, "enter", "s", "escape", "y", "escape")
    left = SecondPlace([path.parent / "state"], path, owner="other").left_behind()

    assert played >= 3
    assert app.return_code in {0, None}
    assert played == sum(len(one.takes) for one in left)


def read_bytes(path: Path) -> bytes:
    """Return what a file holds."""
    return path.read_bytes()


def spoil(path: Path) -> bytes:
    """Put noise in the place of a file's last page; return what it then holds."""
    content = path.read_bytes()
    spoiled = content[: (len(content) // 4096 - 1) * 4096] + b"\xa5" * 4096
    path.write_bytes(spoiled)
    return spoiled


async def test_damage_found_after_the_first_frame_is_said_and_stops_every_write(
    path: Path, clock: ManualClock, new_id: Callable[[], str], small_deck: Deck
) -> None:
    """The check runs behind the first screens; Today says what it found, and what it means."""
    with Box.open(path, clock=clock, new_id=new_id) as box:
        box.put_deck(small_deck, at=clock.now())
        for number in range(300):
            take = {"bpm": 60 + number % 40, "grade": Grade.STEADY, "seconds": 40}
            box.record(box.find("e"), at=clock.now(), **take)  # type: ignore[arg-type]
            clock.forward(seconds=60)
    spoiled = spoil(path)
    with Box.open(path, clock=clock, new_id=new_id, checks_first=False) as box:
        app = make_app(box, clock)
        async with app.run_test(size=(120, 40)) as pilot:
            assert await shows(pilot, "Nothing is written to it any more")
            await press(pilot, "right")
        with pytest.raises(BoxDamagedError):
            box.record(box.find("e"), bpm=60, grade=Grade.STEADY, at=clock.now(), seconds=40)

    assert spoiled == read_bytes(path)


async def test_a_box_that_cannot_be_opened_ends_the_app_with_its_sentence() -> None:
    """The first frame stands before the box is asked for; what refuses then is told after it."""

    def open_desk() -> Desk:
        raise BoxError("another program holds the box", fix="wait for it")

    app = DrillboxApp(open_desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)

    assert BoxError.exit_code == app.return_code
    assert "another program holds the box; wait for it." == str(app.refusal)


async def test_an_unsaved_take_that_is_taken_back_does_not_come_up_again(
    filed: Box, path: Path, clock: ManualClock, second_place: SecondPlace
) -> None:
    """Undo of a take that waits removes it from the second place as well."""
    async with at_the_stand(filed, clock, second_place=second_place) as pilot:
        app = pilot.app
        with held(path, "IMMEDIATE"):
            await play(pilot, clock, "f")
            await press(pilot, "u")
            again = screen_text(app)
    left = SecondPlace([path.parent / "state"], path, owner="other").left_behind()

    assert "Took back clean" in again
    assert [] == [take for one in left for take in one.takes]
    assert [] == in_the_log(path, clock)


def test_takes_left_behind_are_saved_once_at_the_next_start(
    filed: Box, path: Path, clock: ManualClock, tmp_path: Path
) -> None:
    """Of two programs that died with the same takes unsaved, each take comes into the log once.

    A take of a card that is in no deck any more as well.
    """
    folder, card = tmp_path / "state", filed.find("e")
    with held(path, "IMMEDIATE"):
        unsaved = Unsaved(filed, clock, second_place=SecondPlace([folder], path, owner="one"))
        for grade in (Grade.CLEAN, Grade.SHAKY):
            clock.forward(seconds=60)
            assert not unsaved.save(card, bpm=80, grade=grade, at=clock.now(), seconds=40)
        takes = unsaved.takes
    SecondPlace([folder], path, owner="two").hold(takes)
    filed.remove_deck("first-ghosts")
    clock.forward(days=1)
    next_start = Unsaved(filed, clock, second_place=SecondPlace([folder], path, owner="three"))

    assert "4 takes kept from last time: saved now." == next_start.take_up()
    assert ["clean", "shaky"] == in_the_log(path, clock)
    assert [] == list(folder.iterdir())
    assert "" == next_start.take_up()


def test_a_file_left_behind_that_is_cut_is_named_and_kept(
    filed: Box, path: Path, clock: ManualClock, tmp_path: Path
) -> None:
    """Half a file from a broken disk: its place and line are said once, and it stays."""
    folder, card = tmp_path / "state", filed.find("e")
    with held(path, "IMMEDIATE"):
        unsaved = Unsaved(filed, clock, second_place=SecondPlace([folder], path, owner="one"))
        unsaved.save(card, bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    (file,) = folder.iterdir()
    file.write_bytes(file.read_bytes()[:-30])
    said = Unsaved(filed, clock, second_place=SecondPlace([folder], path, owner="two")).take_up()

    (kept,) = folder.iterdir()
    assert f"{file}:2" in said
    assert str(kept) in said
    later = SecondPlace([folder], path, owner="three")
    assert "" == Unsaved(filed, clock, second_place=later).take_up()


def test_the_next_folder_is_taken_where_the_first_one_refuses(
    filed: Box, path: Path, clock: ManualClock, tmp_path: Path
) -> None:
    """The state folder is a file, or on the full disk too: the session's folder keeps the takes."""
    (tmp_path / "state").write_text("no folder")
    place = SecondPlace([tmp_path / "state", tmp_path / "session"], path, owner="one")
    with held(path, "IMMEDIATE"):
        unsaved = Unsaved(filed, clock, second_place=place)
        unsaved.save(filed.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)

    assert unsaved.kept_in is not None
    assert tmp_path / "session" == unsaved.kept_in.parent
    assert unsaved.retry()
    assert [] == list((tmp_path / "session").iterdir())


@pytest.mark.skipif(sys.platform != "linux", reason="needs pseudo-terminals and RLIMIT_FSIZE")
def test_a_closed_terminal_on_a_full_disk_loses_no_take(tmp_path: Path) -> None:
    """The disk is full, a take is graded, the terminal closes: the next start has the take."""
    box, state = tmp_path / "player.box", tmp_path / "state"
    environment = os.environ | {
        "COLUMNS": "80",
        "LINES": "24",
        "DRILLBOX_BOX": str(box),
        "DRILLBOX_PACE": "30",
        "XDG_STATE_HOME": str(state),
        "TERM": "xterm-256color",
        # Python on a full disk cuts the bytecode that it keeps, and fails on it at the next start.
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    program = [sys.executable, "-m", "drillbox"]
    for words in (("decks", "add", "sixteenth-ghosts"), ("today",)):
        assert 0 == run(["--box", str(box), *words])

    _in_a_terminal(program, environment, full_disk=True)
    (kept,) = (state / "drillbox" / "unsaved").iterdir()
    assert kept.stat().st_size > 100
    news = _in_a_terminal(program, environment, full_disk=False)

    assert "1 take kept from last time" in news
    with Box.open(box) as opened:
        assert 1 == len(opened.archive.takes())


def _in_a_terminal(program: list[str], environment: dict[str, str], *, full_disk: bool) -> str:
    """Run the app, on the full disk grade a take, close the terminal; return what it drew."""
    import pty
    import resource

    pid, terminal = pty.fork()
    if pid == 0:
        if full_disk:
            resource.setrlimit(resource.RLIMIT_FSIZE, (SMALLEST_DISK, resource.RLIM_INFINITY))
        os.execve(program[0], program, environment)  # noqa: S606 - our own program
    drawn, seen = b"", 0
    end = time.monotonic() + PATIENCE_SECONDS

    def wait_for(sign: bytes) -> None:
        nonlocal drawn, seen
        while sign not in drawn[seen:] and time.monotonic() < end:
            if select.select([terminal], [], [], 0.05)[0]:
                drawn += os.read(terminal, 65536)
        seen = drawn.find(sign, seen) + len(sign)

    wait_for(b"stroke" if full_disk else b"saved now")
    if full_disk:
        for key, sign in ((b"\r", b"enter starts"), (b" ", b"go next"), (b"f", b"SAVED")):
            os.write(terminal, key)
            wait_for(sign)
    os.kill(pid, signal.SIGHUP)
    os.close(terminal)
    os.waitpid(pid, 0)
    return drawn.decode(errors="replace")
