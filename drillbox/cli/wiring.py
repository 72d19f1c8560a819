"""The one place that meets the real world.

Paths, the environment, the clock, the sound device, the terminal.

``DRILLBOX_BOX`` names the box file, ``DRILLBOX_PACE`` lets a rehearsal run faster than life
(docs/design.md).
"""

from __future__ import annotations

import gc
import os
import sys
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING

from drillbox.cli import second_places
from drillbox.cli.problems import narrate, tell_of_crash
from drillbox.errors import BoxDamagedError, NotSavedError, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Sequence

    from textual.app import App

    from drillbox.app.desk import Desk, Devices
    from drillbox.app.unsaved import Unsaved
    from drillbox.base.clock import SystemClock
    from drillbox.box import Box
    from drillbox.box.settings import Settings
    from drillbox.sound import Metronome, Pads
    from drillbox.studio import StudentFigures

BOX_VARIABLE = "DRILLBOX_BOX"
PACE_VARIABLE = "DRILLBOX_PACE"
FASTEST_PACE = 1000.0
AT_THE_STAND_SECONDS, AT_THE_END_SECONDS = 0.1, 5.0
"""How long a write waits for another program: on a screen it stops all, so it is tried again."""
ANSWERS_REST_ON = ("deck", "card", "take")
"""Tables without which a box answers as if it were empty."""
_CRASHED = 1


def box_path(asked: str | None) -> Path:
    """Return where the box is: as asked, else as the environment says, else in the data folder."""
    named = asked or os.environ.get(BOX_VARIABLE)
    if named:
        from drillbox.base.files import at_home

        return at_home(named)
    from drillbox.cli.crash import data_folder

    return data_folder() / "player.box"


def clock() -> SystemClock:
    """Return the machine's clock, at the pace the environment asks for."""
    from drillbox.base.clock import SystemClock

    asked = os.environ.get(PACE_VARIABLE, "1")
    try:
        pace = float(asked)
    except ValueError:
        pace = 0.0
    if not 0.0 < pace <= FASTEST_PACE:
        raise UsageError(
            f"{asked!r} is no pace", where=PACE_VARIABLE, fix=f"use 1 to {FASTEST_PACE:.0f}"
        )
    return SystemClock(pace=pace)


@contextmanager
def open_box(
    asked: str | None,
    *,
    only_reads: bool = False,
    makes: bool | None = None,
    needs: Collection[str] = ANSWERS_REST_ON,
) -> Iterator[Box]:
    """Open the box for one command and let it go after.

    A damaged box is opened for reading, and said to be damaged, where that is enough for the
    command: not where a table is gone that it `needs`, since it would answer as from an empty box.
    Unless `makes` says otherwise, a command that only reads makes no box: where there is
    none, it reads an empty one. Nor does one that can only change what is there. The check of the
    whole file keeps no reader waiting: it comes last.

    Takes that an earlier program could not save come into a box that is written to before anything
    else; a reader only says that they wait, since what it prints is without them.
    """
    box = _opened(asked, only_reads=only_reads, makes=makes, tell=_narrate_damage, needs=needs)
    try:
        _mind_kept_takes(box, asked, only_reads=only_reads)
        yield box
        if only_reads:
            try:
                box.check()
            except BoxDamagedError as damage:
                narrate(f"drillbox: {damage.sentence()}")
        _tell_of_no_backup(box)
    finally:
        box.close()


def _opened(
    asked: str | None,
    *,
    only_reads: bool,
    makes: bool | None,
    tell: Callable[[str], None],
    needs: Collection[str] = ANSWERS_REST_ON,
) -> Box:
    """Open the box, and tell of damage that only lets it be read."""
    from drillbox.base.files import missing
    from drillbox.box import Box

    place = box_path(asked)
    path: Path | str = place
    may_make = makes if makes is not None else not only_reads
    if not may_make and missing(place) and not _has_backups(place):
        path = ":memory:"
    try:
        return Box.open(path, clock=clock(), checks_first=not only_reads)
    except BoxDamagedError as damage:
        if not only_reads:
            raise
        box = Box.open(path, clock=clock(), read_only=True)
        lost = [table for table in box.archive.lost if table in needs]
        if lost:
            box.close()
            gone = f"{damage.what}: its table {lost[0]}, or some of the columns, is gone"
            raise BoxDamagedError(gone, where=damage.where, fix=damage.fix) from None
        tell(f"{damage.sentence()} Opened for reading only.")
        return box


def _mind_kept_takes(box: Box, asked: str | None, *, only_reads: bool) -> None:
    """Take in what an earlier program could not save, or say that it waits."""
    path = box_path(asked)
    waiting = second_places.waiting_takes(path)
    if waiting and not only_reads and box.archive.path is not None:
        narrate(f"drillbox: {second_places.taken_up(box, path, clock())}")
        return
    for sentence in waiting:
        narrate(f"drillbox: {sentence}.")


def take_up_waiting(asked: str | None) -> str:
    """Save the takes that wait beside the box; return what came of it, in words."""
    box = _opened(asked, only_reads=False, makes=False, tell=_narrate_damage)
    with closing(box):
        return second_places.taken_up(box, box_path(asked), clock())


def _tell_of_no_backup(box: Box) -> None:
    """Say that the day's backup could not be made, which keeps no take from being saved."""
    problem = box.archive.backup_problem
    if problem is not None:
        narrate(f"drillbox: no backup could be made today: {problem.sentence()}")


def _narrate_damage(sentence: str) -> None:
    narrate(f"drillbox: {sentence}")


def _has_backups(place: Path) -> bool:
    from drillbox.store import list_backups

    return bool(list_backups(place))


def run_app(asked: str | None) -> int:
    """Run the terminal application; returns its exit code.

    The screen stands before the box is opened: the app asks for its desk after the first frame.
    """
    require_terminal()
    from drillbox.app.app import DrillboxApp

    desks: list[Desk] = []
    with ExitStack() as held:

        def open_desk() -> Desk:
            gc.enable()  # off until the first frame stands
            desks.append(_open_desk(asked, held))
            return desks[0]

        app = DrillboxApp(open_desk)
        code = _on_screen(app)
        if app.refusal is not None:
            raise app.refusal
        for desk in desks:
            _tell_of_no_backup(desk.box)
            if desk.parting_word:  # of a stand that was open to the end
                narrate(f"drillbox: {desk.parting_word}")
            desk.box.wait_for_others(AT_THE_END_SECONDS)
            if not desk.unsaved.retry():
                _tell_of_unsaved(desk.unsaved)
                return NotSavedError.exit_code
    return code


def _open_desk(asked: str | None, held: ExitStack) -> Desk:
    """Open all that the app works with; `held` lets it go."""
    from drillbox.app.desk import Desk
    from drillbox.app.keymap import read_keymap

    news: list[str] = []
    box = _opened(asked, only_reads=True, makes=True, tell=news.append)
    held.callback(box.close)
    time = clock()

    def settings() -> Settings:
        return desk.settings  # which goes on where the box refuses, as on a full disk

    def open_metronome() -> Metronome:
        from drillbox.sound import open_metronome

        rehearsal = os.environ.get(PACE_VARIABLE, "1") != "1"
        now = settings()
        return open_metronome(
            prefer="silent" if rehearsal else "auto",
            output=now.output,
            microphone=now.microphone if now.listening == "microphone" else None,
            clock=time.seconds,
            latency_ms=now.latency_ms,
        )

    desk = Desk(
        box,
        time,
        open_metronome,
        _devices(settings, time.seconds),
        second_places.second_place(box_path(asked)),
        kept_takes=_kept_takes(box_path(asked)),
    )
    desk.keymap, wrong_keys = read_keymap(keymap_path())
    desk.news = " ".join(part for part in (*news, desk.unsaved.take_up(), wrong_keys) if part)
    box.wait_for_others(AT_THE_STAND_SECONDS)
    return desk


def _devices(settings: Callable[[], Settings], seconds: Callable[[], float]) -> Devices:
    """Return what lists this machine's devices, and opens its pads, when first asked."""
    from drillbox.app.desk import Devices

    def outputs() -> tuple[str, ...]:
        from drillbox.sound import outputs

        return outputs()

    def microphones() -> tuple[str, ...]:
        from drillbox.sound import microphones

        return microphones()

    def pad_names() -> tuple[str, ...]:
        from drillbox.sound import pad_names

        return pad_names()

    def open_pads() -> Pads:
        from drillbox.sound import open_pads

        return open_pads(settings().pads, clock=seconds)

    return Devices(outputs, microphones, pad_names, open_pads)


def _kept_takes(box: Path) -> Path | None:
    """Return the folder beside the box in which the player keeps takes."""
    return None if str(box) == ":memory:" else box.with_name(f"{box.name}.takes")


def keymap_path() -> Path:
    """Return the file of the player's own keys."""
    import platformdirs

    return Path(platformdirs.user_config_dir("drillbox", appauthor=False)) / "keys.toml"


def run_preview(path: Path) -> int:
    """Run the deck writer's preview of a deck file; returns its exit code."""
    require_terminal()
    from drillbox.app.screens.preview import PreviewApp
    from drillbox.deckfile import DeckFollower, read_text
    from drillbox.sound import open_metronome

    read_text(path)
    gc.enable()
    return _on_screen(PreviewApp(DeckFollower(path), open_metronome))


def run_studio(students: Sequence[StudentFigures]) -> int:
    """Run the teacher's studio; returns its exit code."""
    require_terminal()
    from drillbox.app.screens.studio import StudioApp

    gc.enable()
    return _on_screen(StudioApp(students, clock=clock()))


def _on_screen(app: App[int]) -> int:
    """Run an app on the terminal; returns its exit code, and leaves a report where it failed."""
    for told in ("COLUMNS", "LINES"):  # a shell exports them once; the terminal knows its size
        os.environ.pop(told, None)
    with _file_for_a_while() as said:
        with _screen_kept_from_libraries(said.fileno()):
            app.run()
        if app.return_code == _CRASHED:
            said.seek(0)
            tell_of_crash(said.read())
    return app.return_code or 0


def _file_for_a_while() -> IO[bytes]:
    """Open a file without a name; where no disk has room for one, it keeps nothing."""
    from tempfile import TemporaryFile

    try:
        return TemporaryFile()
    except OSError:
        return Path(os.devnull).open("r+b")


def _tell_of_unsaved(unsaved: Unsaved) -> None:
    """Say where the takes are that the box never took, or how to enter them by hand."""
    narrate(f"drillbox: {unsaved.sentence()}")
    if unsaved.trouble is not None and unsaved.trouble.fix:
        fix = unsaved.trouble.fix
        narrate(f"What helps: {fix}.")
    if unsaved.kept_in is not None:
        narrate(f"The next start saves them from {unsaved.kept_in}.")
        return
    from drillbox.memory import Grade

    narrate("Once the box takes them, enter them by hand:")
    for take in unsaved.takes:
        grade = Grade(take.grade).label.replace(" ", "-")
        narrate(f"  drillbox record {take.card_id} {take.bpm:g} {grade} --seconds {take.seconds:g}")


def require_terminal() -> None:
    """Refuse to draw screens into a pipe."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError(
            "the app needs a terminal", fix="run 'drillbox today' for today's plan as text"
        )


@contextmanager
def _screen_kept_from_libraries(instead: int) -> Iterator[None]:
    """Keep what sound libraries and failing code write on file descriptor 2 off the screen.

    Textual draws on ``sys.__stderr__``; that stream moves to a private copy of the descriptor, and
    2 itself points at `instead` until the app has ended.
    """
    shown = sys.__stderr__
    if shown is None:
        yield
        return
    original = os.dup(2)
    screen = os.fdopen(os.dup(2), "w", encoding="utf-8")
    sys.__stderr__ = screen  # type: ignore[misc]
    os.dup2(instead, 2)
    try:
        yield
    finally:
        sys.stderr.flush()
        os.dup2(original, 2)
        os.close(original)
        sys.__stderr__ = shown  # type: ignore[misc]
        screen.close()
