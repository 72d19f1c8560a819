"""Where commands and the app meet the real world: paths, clock, box, devices, the terminal."""

from __future__ import annotations

import gc
import os
import sqlite3
import sys
import warnings
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from cli_kit import Player

from drillbox.base.clock import SystemClock
from drillbox.box import Box
from drillbox.cli import second_places, wiring
from drillbox.cli.main import run
from drillbox.errors import BoxDamagedError, BoxError, NotSavedError, UnknownCardError, UsageError
from drillbox.memory import Grade
from drillbox.store import list_backups

if TYPE_CHECKING:
    from drillbox.app.desk import Desk


def test_the_box_is_as_asked_else_as_the_environment_says_else_the_users(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The XDG data folder (XDG Base Directory Specification 0.8) where nothing else is said."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert tmp_path / "data" / "drillbox" / "player.box" == wiring.box_path(None)
    monkeypatch.setenv("DRILLBOX_BOX", "~/mine.box")
    assert tmp_path / "mine.box" == wiring.box_path(None) == wiring.box_path("")
    assert Path("other.box") == wiring.box_path("other.box")
    assert tmp_path / "other.box" == wiring.box_path("~/other.box")


@pytest.mark.parametrize("pace", ["1", "0.5", "1000", "1e3"])
def test_a_pace_is_a_number_up_to_a_thousand(pace: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """So many seconds go by in one."""
    monkeypatch.setenv("DRILLBOX_PACE", pace)
    now = 100.0
    monkeypatch.setattr("drillbox.base.clock.time.monotonic", lambda: now)
    clock = wiring.clock()
    assert clock.seconds() == 0.0
    now = 102.0
    assert clock.seconds() == 2 * float(pace)


@pytest.mark.parametrize("pace", ["0", "-1", "1000.5", "nan", "fast", ""])
def test_what_is_no_pace_is_refused(pace: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With its variable, and what it may be."""
    monkeypatch.setenv("DRILLBOX_PACE", pace)
    with pytest.raises(UsageError, match="is no pace; use 1 to 1000") as caught:
        wiring.clock()
    assert "DRILLBOX_PACE" == caught.value.where


def test_life_goes_at_its_own_pace(monkeypatch: pytest.MonkeyPatch) -> None:
    """Unless the environment says otherwise."""
    now = 100.0
    monkeypatch.setattr("drillbox.base.clock.time.monotonic", lambda: now)
    clock = wiring.clock()
    now = 101.0
    assert 1.0 == clock.seconds()


# The box of a command


def test_who_reads_makes_no_box_and_who_writes_does(tmp_path: Path) -> None:
    """Unless it is said otherwise; a reader of nothing has an empty box for the while."""
    path = tmp_path / "new" / "player.box"
    with wiring.open_box(str(path), only_reads=True) as box:
        assert () == box.decks(at=SystemClock().now())
    assert not path.parent.exists()
    with wiring.open_box(str(path), makes=False) as box:
        assert box.archive.path is None
    assert not path.parent.exists()
    with wiring.open_box(str(path), only_reads=True, makes=True):
        assert path.exists()
    path.unlink()
    with wiring.open_box(str(path)) as box:
        assert path == box.archive.path
    with pytest.raises(BoxError, match=r"Cannot operate on a closed database\.$"):
        box.archive.mark()


def test_a_box_that_is_gone_is_not_taken_for_a_new_one(player: Player) -> None:
    """Its backups stand beside it: who reads is told, too."""
    with player.box() as box:
        box.archive.back_up(player.clock.now())
    player.path.unlink()
    for words in (("cards",), ("record", "e", "80", "clean")):
        said = player(*words)
        assert BoxError.exit_code == said.code
        assert "the box file is gone" in said.err
        assert not player.path.exists()


def damaged(player: Player) -> bytes:
    """Damage a box so that it is known at its opening, and return its bytes."""
    content = player.path.read_bytes()
    content = content[:-4096]
    player.path.write_bytes(content)
    return content


def test_a_damaged_box_is_read_with_a_word_and_never_written(player: Player) -> None:
    """One line that says so and that it is read only; the file stays as it is."""
    content = damaged(player)
    said = player("set")
    assert 0 == said.code
    assert 1 == len(said.err.splitlines())
    assert said.err.startswith(f"drillbox: {player.path}: the box is damaged; ")
    assert said.err.endswith(" Opened for reading only.\n")
    refused = player("set", "minutes", "20")
    assert BoxDamagedError.exit_code == refused.code
    assert "reading only" not in refused.err
    assert content == player.path.read_bytes()


def test_a_reader_is_told_after_it_has_read(player: Player) -> None:
    """The check of the whole file comes last: the answer stands, then the word on the damage."""
    with player.box() as box:
        box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=player.clock.now(), seconds=40)
    with closing(sqlite3.connect(player.path)) as db:
        db.execute("PRAGMA writable_schema = ON")
        db.execute("DELETE FROM sqlite_schema WHERE name = 'take_by_time'")
        db.commit()
    said = player("set", "minutes")
    assert (0, "15\n") == (said.code, said.out)
    assert said.err.startswith(f"drillbox: {player.path}: the box is damaged; ")
    assert "reading only" not in said.err
    assert 6 == player("set", "minutes", "20").code


# The app


class App:
    """An app that opens its desk, does something at it, and ends."""

    def __init__(self, at_the_desk: Callable[[Desk], None], *, code: int | None) -> None:
        self.return_code, self.refusal = code, None
        self._at_the_desk = at_the_desk

    def __call__(self, open_desk: Callable[[], Desk]) -> App:
        """Be made, as the app's class is."""
        self._open_desk = open_desk
        return self

    def run(self) -> None:
        """Run."""
        self._at_the_desk(self._open_desk())


Start = Callable[..., tuple[int, str]]


def starting(player: Player, patch: pytest.MonkeyPatch) -> Start:
    """Return what starts the app at a terminal and gives its exit code and standard error."""

    def call(at_the_desk: Callable[[Desk], None], *, code: int | None = 0) -> tuple[int, str]:
        player.types("")
        player.looks(columns=400)
        # The app drops what a shell exported of the size: the terminal knows its own.
        patch.setattr("shutil.get_terminal_size", lambda *_: os.terminal_size((400, 24)))
        patch.setattr("drillbox.app.app.DrillboxApp", App(at_the_desk, code=code))
        said = player()
        return said.code, said.err

    return call


@pytest.fixture
def start(player: Player, monkeypatch: pytest.MonkeyPatch) -> Start:
    """Return what starts the app on the player's box."""
    return starting(player, monkeypatch)


def test_the_app_works_at_the_players_own_desk(
    player: Player, start: Start, tmp_path: Path
) -> None:
    """Its box, its keys, its folder of takes beside the box; the garbage collector runs again."""
    keys = Path(os.environ["XDG_CONFIG_HOME"]) / "drillbox" / "keys.toml"
    assert keys == wiring.keymap_path()
    keys.parent.mkdir(parents=True)
    keys.write_text('"stand.play" = "p"\n"no.such" = "x"\n', encoding="utf-8")
    seen: list[Any] = []

    def look(desk: Desk) -> None:
        (waits,) = desk.box.archive._box.connection.execute("PRAGMA busy_timeout").fetchone()
        seen.extend([desk.box.archive.path, desk.kept_takes, dict(desk.keymap), waits,
                     gc.isenabled(), desk.second_place is not None, desk.news])  # fmt: skip

    gc.disable()
    try:
        assert (0, "") == start(look)
    finally:
        gc.enable()
    path, kept, keymap, waits, collects, has_second_place, news = seen
    assert (player.path, tmp_path / "player.box.takes") == (path, kept)
    assert ({"stand.play": "p"}, 100, True, True) == (keymap, waits, collects, has_second_place)
    assert "no.such" in news


def test_the_apps_code_is_the_commands(start: Start) -> None:
    """None is none."""
    assert [0, 3, 0] == [start(lambda _: None, code=code)[0] for code in (0, 3, None)]


def test_a_desk_that_cannot_be_opened_is_said(
    player: Player, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the app kept for the end is told as any command's error."""
    player.types("")
    player.looks()
    app = App(lambda _: None, code=5)
    app.refusal = UnknownCardError("nothing there")  # type: ignore[assignment]
    monkeypatch.setattr("drillbox.app.app.DrillboxApp", app)
    monkeypatch.setattr(app, "run", lambda: None)
    assert (5, "", "drillbox: nothing there.\n") == player()


def test_damage_and_kept_takes_are_news_of_the_first_screen(player: Player, start: Start) -> None:
    """Takes of an earlier program that the box refused are saved; damage is said there too."""
    with player.box() as box:
        card = box.find("e")

    def refused(desk: Desk) -> None:
        desk.box.close()
        desk.unsaved.save(card, bpm=81, grade=Grade.CLEAN, at=player.clock.now(), seconds=40)
        kept = desk.unsaved.kept_in
        assert kept is not None
        assert Path(os.environ["XDG_STATE_HOME"]) / "drillbox" / "unsaved" == kept.parent

    news: list[str] = []
    start(refused)
    assert (0, "") == start(lambda desk: news.append(desk.news))
    assert ["1 take kept from last time: saved now."] == news
    assert [81.0] == [take.bpm for take in player.box().archive.takes()]
    damaged(player)
    assert 0 == start(lambda desk: news.append(desk.news))[0]
    assert "the box is damaged" in news[-1]
    assert "Opened for reading only." in news[-1]


def hold(player: Player) -> sqlite3.Connection:
    """Hold the box as another program does."""
    db = sqlite3.connect(player.path, isolation_level=None)
    db.execute("BEGIN EXCLUSIVE")
    return db


def test_devices_open_while_the_box_refuses(player: Player, start: Start) -> None:
    """By the settings that were read last: the stand opens them at the worst moment there is."""
    opened: list[str] = []

    def at_a_held_box(desk: Desk) -> None:
        assert desk.settings.minutes
        holder = hold(player)
        opened.extend([desk.metronome.notice, desk.pads.notice])
        holder.close()

    assert (0, "") == start(at_a_held_box)
    assert 2 == len(opened)


def test_takes_that_the_box_never_took_are_told_at_the_end(
    player: Player, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where they are kept; or, where nowhere would have them, how to enter them by hand."""
    monkeypatch.setattr(wiring, "AT_THE_STAND_SECONDS", 0.01)
    monkeypatch.setattr(wiring, "AT_THE_END_SECONDS", 0.02)
    with player.box() as box:
        card = box.find("e")
    waits: list[float] = []
    wait = Box.wait_for_others

    def waiting(box: Box, seconds: float) -> None:
        waits.append(seconds)
        wait(box, seconds)

    monkeypatch.setattr(Box, "wait_for_others", waiting)
    holders: list[sqlite3.Connection] = []

    def refused(desk: Desk) -> None:
        holders.append(hold(player))
        for bpm, grade in ((81, Grade.FELL_APART), (82.5, Grade.CLEAN)):
            desk.unsaved.save(card, bpm=bpm, grade=grade, at=player.clock.now(), seconds=40.5)

    code, err = start(refused)
    holders.pop().close()
    first, helps, kept = err.splitlines()
    assert NotSavedError.exit_code == code
    assert first.startswith("drillbox: NOT SAVED yet, 2 takes: another program holds the box.")
    assert "What helps: wait for it to finish and try again." == helps
    assert kept.startswith("The next start saves them from ")
    assert [0.01, 0.02] == waits

    monkeypatch.setattr(second_places, "second_place", lambda _: None)
    code, err = start(refused)
    holders.pop().close()
    assert NotSavedError.exit_code == code
    assert [
        "Once the box takes them, enter them by hand:",
        f"  drillbox record {card} 81 fell-apart --seconds 40.5",
        f"  drillbox record {card} 82.5 clean --seconds 40.5",
    ] == err.splitlines()[2:]
    for line in err.splitlines()[3:]:
        assert 0 == player(*line.split()[1:], "--sure").code


def test_the_app_starts_where_every_disk_is_full(
    player: Player, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Python finds no folder for files of a while; the day's backup that fails is told after."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile._get_default_tempdir", full)
    monkeypatch.setattr("tempfile.tempdir", None)
    monkeypatch.delenv("XDG_RUNTIME_DIR", raising=False)
    monkeypatch.setattr("drillbox.store.backups._copy", full)
    player.clock.forward(days=1)

    def record(desk: Desk) -> None:
        at = player.clock.now()
        desk.box.record(desk.box.find("e"), bpm=80, grade=Grade.CLEAN, at=at, seconds=40)

    code, err = start(record)

    assert 0 == code
    assert err.startswith("drillbox: no backup could be made today: ")
    assert "No space left on device" in err
    with player.box() as box:
        assert 1 == len(box.history(box.find("e")))


def test_a_box_in_memory_has_no_places_beside_it() -> None:
    """Neither for takes that are kept nor for takes that were refused."""
    assert wiring._kept_takes(Path(":memory:")) is None
    assert second_places.second_place(Path(":memory:")) is None


def test_a_session_without_a_folder_of_its_own_is_nothing_to_warn_of(
    player: Player, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over ssh many a session has none: what stands in for it is used, and nobody reads of it.

    It is the second choice: where the state folder takes a file, takes go there.
    """
    state, session = tmp_path / "state", tmp_path / "session"

    def stand_in(*_: object, **__: object) -> str:
        warnings.warn("XDG_RUNTIME_DIR is not set", stacklevel=2)
        return str(session)

    monkeypatch.setattr("platformdirs.user_state_dir", lambda *_, **__: str(state))
    monkeypatch.setattr("platformdirs.user_runtime_dir", stand_in)
    with warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        place = second_places.second_place(player.path)
    assert [] == warned
    assert place is not None
    assert 0 == player("record", "e", "80", "clean").code
    with player.box() as box:
        takes = list(box.archive.takes())
    assert state / "unsaved" == (place.hold(takes) or tmp_path).parent
    place.hold([])
    (state / "unsaved").rmdir()
    (state / "unsaved").write_text("no folder", encoding="utf-8")
    assert session / "unsaved" == (place.hold(takes) or tmp_path).parent


def test_devices_are_asked_for_as_the_settings_say(
    player: Player, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Output and latency; the microphone only where it listens; a rehearsal is silent."""
    asked: list[dict[str, Any]] = []
    for name in ("outputs", "microphones", "pad_names"):
        monkeypatch.setattr(f"drillbox.sound.{name}", lambda name=name: (name,))
    monkeypatch.setattr("drillbox.sound.open_metronome", lambda **named: asked.append(named))
    monkeypatch.setattr("drillbox.sound.open_pads", lambda pads, clock: (pads, clock))
    player("set", "latency-ms", "35")
    player("set", "pads", "TD-17")
    player("set", "microphone", "USB")
    seen: list[Any] = []

    def look(desk: Desk) -> None:
        desk.open_metronome()
        desk.box.change_settings(at=player.clock.now(), listening="microphone")
        desk.open_metronome()
        monkeypatch.setenv("DRILLBOX_PACE", "20")
        desk.open_metronome()
        monkeypatch.delenv("DRILLBOX_PACE")
        devices = desk.devices
        seen.extend([devices.outputs(), devices.microphones(), devices.pad_names()])
        (pads, seconds), own = devices.open_pads(), asked[0]["clock"]  # type: ignore[misc]
        seen.extend([pads, seconds == own == desk.clock.seconds])  # type: ignore[has-type]

    assert (0, "") == start(look)
    assert [("outputs",), ("microphones",), ("pad_names",), "TD-17", True] == seen
    output = player.box().settings.output
    assert [
        ("auto", output, None, 35), ("auto", output, "USB", 35), ("silent", output, "USB", 35),
    ] == [(a["prefer"], a["output"], a["microphone"], a["latency_ms"]) for a in asked]  # fmt: skip


@pytest.mark.parametrize(("reads", "shows"), [(False, True), (True, False), (False, False)])
def test_screens_need_a_terminal_on_both_sides(
    player: Player, monkeypatch: pytest.MonkeyPatch, *, reads: bool, shows: bool
) -> None:
    """The app, the studio's screen and the preview: one sentence, and nothing is made."""
    monkeypatch.setattr(sys.stdin, "isatty", lambda: reads)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: shows)
    deck = player.path.with_name("d.toml")
    player("decks", "new", str(deck))
    player("progress", "export", str(deck.with_suffix(".jsonl")), "--yes")
    said = "drillbox: the app needs a terminal; run 'drillbox today' for today's plan as text.\n"
    file = str(deck.with_suffix(".jsonl"))
    for words in ((), ("decks", "watch", str(deck), "--screen"), ("studio", file, "--screen")):
        assert (2, "", said) == player(*words)


def test_the_other_screens_are_run_with_what_they_show(
    player: Player, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The preview follows the file, the studio has the students; their codes are the command's."""
    deck = player.path.with_name("d.toml")
    player("decks", "new", str(deck))
    file = deck.with_suffix(".jsonl")
    player("progress", "export", str(file), "--yes", "--name", "Mia")
    player.types("")
    player.looks()
    made: list[tuple[Any, ...]] = []

    class Screen:
        """A screen that ends at once."""

        return_code = 4

        def __init__(self, *given: Any, **named: Any) -> None:
            made.append((*given, *named))

        def run(self) -> None:
            """Run."""
            made.append((gc.isenabled(),))

    monkeypatch.setattr("drillbox.app.screens.preview.PreviewApp", Screen)
    monkeypatch.setattr("drillbox.app.screens.studio.StudioApp", Screen)
    gc.disable()
    try:
        assert 4 == player("decks", "watch", str(deck), "--screen").code
        gc.disable()
        assert 4 == player("studio", str(file), "--screen").code
    finally:
        gc.enable()
    (follower, _), collects, (students, clock), collects_too = made
    assert deck == follower.path
    assert ["Mia"] == [one.label for one in students]
    assert (("clock",), (True,), (True,)) == ((clock,), collects, collects_too)
    assert 4 == run(["decks", "watch", str(deck.with_name("none.toml")), "--screen"])


@pytest.mark.parametrize(("code", "tells"), [(0, False), (1, True), (2, False)])
def test_a_crash_of_a_screen_leaves_what_it_said_in_a_report(
    small_box: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *,
    code: int, tells: bool,
) -> None:  # fmt: skip
    """What libraries write past the screen is kept off it; in a crash it is the report."""

    def noise(_: Desk) -> None:
        os.write(2, b"library noise")
        assert sys.__stderr__ is not None
        sys.__stderr__.write("the screen")

    shown = sys.__stderr__
    told, err = starting(Player(small_box, capfd, monkeypatch), monkeypatch)(noise, code=code)
    os.write(2, b"after")
    reports = list((Path(os.environ["XDG_DATA_HOME"]) / "drillbox").glob("crash-*.txt"))

    assert (code, tells) == (told, "stopped on an error of its own" in err)
    assert shown is sys.__stderr__
    assert ["library noise"] * tells == [path.read_text() for path in reports]
    assert "library noise" not in err
    assert err.startswith("the screen")
    assert "after" == capfd.readouterr().err


def test_a_backup_is_made_before_the_days_first_take_only(player: Player) -> None:
    """By commands too: reading makes none."""
    player.clock.forward(seconds=timedelta(days=1).total_seconds())
    player("cards")
    assert () == list_backups(player.path)
    player("record", "e", "80", "clean")
    player("record", "e", "80", "clean")
    assert 1 == len(list_backups(player.path))


def test_a_box_is_opened_as_box_opens_it(player: Player) -> None:
    """The clock of the machine dates what is done."""
    player("set", "minutes", "20")
    with Box.open(player.path, clock=player.clock) as box:
        assert player.clock.now() == box.archive.settings()["minutes"].at
