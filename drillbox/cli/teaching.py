"""Commands of the studio: a student hands in progress, a teacher looks at everyone's."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import click

from drillbox.base.files import content_of, is_folder, opened, reason, written_whole
from drillbox.base.jsonlines import head_of
from drillbox.base.now import Now
from drillbox.base.wording import counted
from drillbox.cli.output import say, say_json, say_table
from drillbox.cli.problems import narrate
from drillbox.cli.wiring import clock, open_box, run_studio
from drillbox.errors import ProgressError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from drillbox.studio import Progress, StudentFigures

MOST_BYTES = 32 << 20
"""A file this large holds decades of practice."""


@click.group("progress")
def progress_command() -> None:
    """Hand your progress to a teacher: a file with what you choose, and nothing else.

    For example:
      drillbox progress export mia.jsonl --name Mia
    """


@progress_command.command("export")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--name", help="What to be called. Default: as the last time, at first no name.")
@click.option("--deck", "decks", multiple=True, help="Show this deck only; may be given again.")
@click.option("--since", type=click.DateTime(["%Y-%m-%d"]), help="Show no day before this one.")
@click.pass_obj
def export_progress_command(
    box_path: str | None,
    file: Path,
    name: str | None,
    decks: tuple[str, ...],
    since: datetime | None,
) -> None:
    """Write your progress to FILE: how your cards stand and on which days you practised them.

    No times of day, no grades, no places, no name but the one you choose. Open FILE in any editor
    to see all of it. Your earlier file of that name is replaced; another file is not.

    For example:
      drillbox progress export mia.jsonl --name Mia
      drillbox progress export mia.jsonl --deck week-3 --since 2026-09-01
    """
    from drillbox.report.progress_file import progress_of
    from drillbox.studio import write_progress

    with open_box(box_path) as box:
        progress = progress_of(
            box,
            at=clock().now(),
            new_id=lambda: uuid4().hex,
            name=name,
            deck_ids=decks,
            since=since.date() if since else None,
        )
    with written_whole(file, over=_is_own(file, progress.student)) as out:
        write_progress(progress, out)
    called = f"as {progress.name}" if progress.name else "without a name"
    say(f"Written: {file}, {len(progress.cards)} cards, {called}.")


@click.command("studio")
@click.argument("sources", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "form", flag_value="json", help="Print JSON for programs.")
@click.option("--csv", "form", flag_value="csv", help="Print CSV for spreadsheets.")
@click.option("--screen", "form", flag_value="screen", help="Show it on a screen.")
@click.option(
    "--html", "page", type=click.Path(dir_okay=False, path_type=Path), help="Write a page to OUT."
)
def studio_command(sources: tuple[Path, ...], form: str | None, page: Path | None) -> int | None:
    """Show how the students of the progress files SOURCES get on; who needs a word stands first.

    SOURCES are files or folders of .jsonl files. Of each student the latest file counts, so old
    files may stay.

    For example:
      drillbox studio handed-in/
      drillbox studio handed-in/ --screen
      drillbox studio handed-in/ --html studio.html
      drillbox studio handed-in/ --csv > studio.csv
    """
    from drillbox.studio import (
        TABLE_HEAD,
        as_csv,
        as_objects,
        look_at,
        studio_page,
        table_rows,
    )

    today = date.fromordinal(Now.of(clock().now()).day)
    students = look_at(_read(sources), today=today)
    if page is not None:
        _write_page(page, studio_page(students, today=today))
        narrate(f"Written: {page}")
    elif form == "screen":
        return run_studio(students, today=today)
    elif form == "json":
        say_json(as_objects(students))
    elif form == "csv":
        click.echo(as_csv(students), nl=False)
    else:
        say_table(TABLE_HEAD, table_rows(students))
        _say_decks(students)
    return None


def _say_decks(students: Iterable[StudentFigures]) -> None:
    for one in students:
        for part in one.decks:
            figures = part.figures
            say()
            say(
                f"{one.label}, {part.deck.title}: {figures.in_hand} of {figures.cards} in hand, "
                f"{counted(figures.minutes, 'minute')}."
            )
            cards = [card for card in one.cards if part.deck.id in card.card.decks]
            for card in cards:
                if card.stuck:
                    say(f"  stuck: {card.card.title}, {card.takes} takes, {card.gain_bpm:+.1f} bpm")
                if card.fading:
                    say(f"  fading: {card.card.title}")


def _read(sources: Iterable[Path]) -> list[Progress]:
    """Read all files that can be read; say which cannot."""
    files = [file for source in sources for file in _files(source)]
    found = []
    for file in files:
        try:
            found.append(_read_file(file))
        except ProgressError as error:
            if len(files) == 1:
                raise
            narrate(f"drillbox: left out: {error.sentence()}")
    if not found:
        raise ProgressError(
            "there is no progress file that can be read",
            where=", ".join(map(str, sources)),
            fix="students write them with 'drillbox progress export'",
        )
    return found


def _files(source: Path) -> list[Path]:
    if not is_folder(source):
        return [source]
    try:
        return sorted(path for path in source.iterdir() if path.suffix == ".jsonl")
    except OSError as error:
        what = f"the folder cannot be read: {reason(error)}"
        raise ProgressError(what, where=str(source), fix="check the path") from None


def _read_file(file: Path) -> Progress:
    from drillbox.studio import read_progress

    content = content_of(file, most=MOST_BYTES, error=ProgressError)
    return read_progress(BytesIO(content), str(file))


def _is_own(file: Path, student: str) -> bool:
    """Return whether a file is an earlier progress file of this student, and may be replaced."""
    from drillbox.studio import FORMAT

    with suppress(ProgressError), opened(file.expanduser(), error=ProgressError) as source:
        head = head_of(source, str(file), error=ProgressError)
        return head.get("format") == FORMAT and head.get("student") == student
    return False


def _write_page(path: Path, text: str) -> None:
    """Write the page in the place of an earlier one: it is made anew each time."""
    with written_whole(path, over=True) as out:
        out.write(text.encode())
