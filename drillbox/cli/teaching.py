"""Commands of the studio: a student hands in progress, a teacher looks at everyone's."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO
from typing import TYPE_CHECKING
from uuid import uuid4

import click

from drillbox.base.files import content_of, is_folder, reason, write_anew
from drillbox.base.now import Now
from drillbox.base.wording import counted
from drillbox.cli.output import say, say_json, say_table
from drillbox.cli.path_kinds import FILE, FILE_OR_FOLDER
from drillbox.cli.problems import LeftOut, narrate
from drillbox.cli.wiring import clock, open_box, run_studio
from drillbox.errors import ProgressError, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from drillbox.box import Box
    from drillbox.studio import Progress, StudentFigures


@click.group("progress", invoke_without_command=True)
@click.pass_context
def progress_command(ctx: click.Context) -> None:
    """Hand your progress to a teacher: a file with what you choose, and nothing else.

    For example:
      drillbox progress export mia.jsonl --name Mia
    """
    if ctx.invoked_subcommand is None:
        fix = "write it with 'drillbox progress export FILE'"
        raise UsageError("say what to do with your progress", fix=fix)


@progress_command.command("export", short_help="Write your progress to a file.")
@click.argument("file", required=False, type=FILE)
@click.option("--name", help="What to be called. Default: as the last time, at first no name.")
@click.option("--deck", "decks", multiple=True, help="Show this deck only; may be given again.")
@click.option(
    "--since",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="DAY",
    help="Show no day before this one, such as 2026-09-01.",
)
@click.option("--all-decks", is_flag=True, help="All decks, whatever was shown the last time.")
@click.option("--heard", is_flag=True, help="Also how even your takes were, month by month.")
@click.option("--look", is_flag=True, help="Print the whole file, and write nothing.")
@click.option("--yes", is_flag=True, help="Do not ask before it is written.")
@click.pass_obj
def export_progress_command(
    box_path: str | None,
    file: Path | None,
    name: str | None,
    decks: tuple[str, ...],
    since: datetime | None,
    all_decks: bool,
    heard: bool,
    look: bool,
    yes: bool,
) -> None:
    """Write your progress to FILE: how your cards stand and on which days you practised them.

    No times of day, no grades, no places, no name but the one you choose, and no measurements
    unless you say --heard. What goes into it is said before it is written; --look prints every
    line of it. Without FILE, your last file is written again, with the same decks. Your earlier
    file of that name is replaced; another file is not.

    For example:
      drillbox progress export
      drillbox progress export mia.jsonl --name Mia
      drillbox progress export mia.jsonl --deck week-3 --since 2026-09-01
    """
    from drillbox.report.progress_file import after_whose, hand_in, last_decks, progress_of
    from drillbox.studio import write_progress

    with open_box(box_path, only_reads=look, makes=False) as box:
        at = clock().now()
        shown = decks or (() if all_decks else last_decks(box))
        place = None if look else file or _place_of_the_last(box)
        progress = progress_of(
            box,
            at=at,
            new_id=lambda: uuid4().hex,
            name=name,
            deck_ids=shown,
            since=since.date() if since else None,
            heard=heard,
            tell=(lambda _: None) if look else say,
        )
        if place is None:
            content = BytesIO()
            write_progress(progress, content)
            click.echo(content.getvalue().decode(), nl=False)
            return
        for line in after_whose(progress):
            say(line)
        asked = sys.stdin.isatty() and sys.stdout.isatty() and not yes
        if asked and not click.confirm(f"Write it to {place}?", default=True, err=True):
            say("Nothing was written.")
            return
        hand_in(box, progress, place, shown, at=at)
    called = f"as {progress.name}" if progress.name else "without a name"
    say(f"Written: {place}, {counted(len(progress.cards), 'card')}, {called}.")


def _place_of_the_last(box: Box) -> Path:
    """Return where the last progress file went, or ask for a place."""
    from drillbox.report.progress_file import last_place

    place = last_place(box)
    if place is None:
        raise UsageError("say where to write it", fix="name a file such as mia.jsonl")
    return place


@click.command("studio")
@click.argument("sources", nargs=-1, required=True, type=FILE_OR_FOLDER)
@click.option("--json", "form", flag_value="json", help="Print JSON for programs.")
@click.option("--csv", "form", flag_value="csv", help="Print CSV for spreadsheets.")
@click.option("--screen", "form", flag_value="screen", help="Show it on a screen.")
@click.option("--map", "form", flag_value="map", help="Print cards by students.")
@click.option("--deck", "decks", multiple=True, help="Look at this deck only; may be given again.")
@click.option(
    "--html",
    "page",
    type=FILE,
    help="Write a page to FILE, in the place of an earlier page; of no other file.",
)
@click.option("--parents", "child", metavar="NAME", help="Report on one student to the parents.")
@click.option(
    "-o",
    "--out",
    type=FILE,
    help="Where the report goes, a new file: .pdf, .html, .svg or .txt. Default: printed here.",
)
def studio_command(
    sources: tuple[Path, ...],
    form: str | None,
    decks: tuple[str, ...],
    page: Path | None,
    child: str | None,
    out: Path | None,
) -> int | None:
    """Show how the students of the progress files SOURCES get on; who needs a word stands first.

    SOURCES are files or folders of .jsonl files; several folders are groups. Of each student the
    latest file counts, so old files may stay. What cannot be read is named and left out, and the
    exit code then is 4.

    For example:
      drillbox studio handed-in/
      drillbox studio handed-in/ --screen
      drillbox studio handed-in/ --html studio.html
      drillbox studio handed-in/ --csv > studio.csv
      drillbox studio tuesday/ friday/ --deck week-3 --map
      drillbox studio handed-in/ --parents Mia -o mia.pdf
    """
    from drillbox.studio import (
        as_csv,
        as_objects,
        look_at,
        map_lines,
        studio_page,
    )
    from drillbox.studio.html_page import PAGE_MARK

    today, left_out = Now.of(clock().now()).today, LeftOut()
    students = look_at(read_class(sources, today, left_out), today=today, decks=decks)
    if child is not None or out is not None:
        _report_to_parents(students, child, out)
    elif page is not None:
        write_anew(page, studio_page(students, today=today), mark=PAGE_MARK)
        narrate(f"Written: {page}")
    elif form == "screen":
        return run_studio(students) or left_out.exit_code
    elif form == "json":
        say_json(as_objects(students))
    elif form == "csv":
        click.echo(as_csv(students), nl=False)
    elif form == "map":
        for line in map_lines(students):
            say(line)
    else:
        _print_class(students)
    return left_out.exit_code


def read_class(sources: Sequence[Path], today: date, left_out: LeftOut) -> Iterator[Progress]:
    """Give the progress files of a class one by one; say which are left out, and why.

    One that cannot be read is, and one from after the teacher's `today`: it would hide the right
    ones. Each is filed under its folder, where there are several.
    """
    files = _files_of(sources, left_out)
    any_read = False
    for source, file in files:
        try:
            progress = _read_file(file, today)
        except ProgressError as error:
            if len(files) == len(sources) == 1:
                raise
            left_out.tell(error)
            continue
        any_read = True
        grouped = len(sources) > 1 and is_folder(source)
        yield replace(progress, group=source.name) if grouped else progress
    if not any_read:
        raise ProgressError(
            "there is no progress file that can be read",
            where=", ".join(map(str, sources)),
            fix="students write them with 'drillbox progress export'",
        )


def _files_of(sources: Sequence[Path], left_out: LeftOut) -> list[tuple[Path, Path]]:
    """Return the files of all sources, each with its own; a folder of several may be left out."""
    files: list[tuple[Path, Path]] = []
    for source in sources:
        with left_out.goes_on(alone=len(sources) == 1):
            files += [(source, file) for file in _files(source)]
    return files


def _files(source: Path) -> list[Path]:
    if not is_folder(source):
        return [source]
    try:
        return sorted(path for path in source.iterdir() if path.suffix == ".jsonl")
    except OSError as error:
        what = f"the folder cannot be read: {reason(error)}"
        raise ProgressError(what, where=str(source), fix="check the path") from None


def _read_file(file: Path, today: date) -> Progress:
    from drillbox.studio import read_progress
    from drillbox.studio.progress_files import MOST_BYTES

    content = content_of(file, most=MOST_BYTES, error=ProgressError)
    progress = read_progress(BytesIO(content), str(file))
    # A student east of the teacher may be a day ahead.
    if progress.latest > today + timedelta(days=1):
        raise ProgressError(
            f"it is of the future: it tells of {progress.latest}, and today is {today}",
            where=str(file),
            fix="look at the date of the machine that wrote it, and of this one",
        )
    return progress


def _print_class(students: Sequence[StudentFigures]) -> None:
    """Print what there is to say of all, the table, and each student."""
    from drillbox.studio import TABLE_HEAD, class_lines, student_lines, table_rows

    for line in class_lines(students):
        say(line)
    say()
    say_table(TABLE_HEAD, table_rows(students))
    for one in students:
        say()
        say(one.label)
        for line in student_lines(one):
            say(f"  {line}")


def _report_to_parents(
    students: Sequence[StudentFigures], name: str | None, out: Path | None
) -> None:
    """Write or print the report on one student."""
    from drillbox.paper import Form, SheetForm, form_of, rendered, text_sheet
    from drillbox.paper.formats import write_files
    from drillbox.report.parents import parents_report
    from drillbox.studio.reply_writing import student_named

    if name is None:
        raise UsageError("-o is for a report to parents", fix="give --parents NAME, or --html OUT")
    sheet = parents_report(student_named(students, name))
    if out is None:
        say(text_sheet(sheet).rstrip("\n"))
        return
    form = form_of(str(out))
    if form in {Form.MIDI, Form.MUSICXML}:
        raise UsageError(
            "a report to parents has no music", fix="end the name in .pdf, .html, .svg or .txt"
        )
    for path in write_files(rendered(sheet, form, SheetForm(), at=clock().now()), out):
        say(f"Written: {path}")
