"""The way back from the studio: a teacher writes a reply, a student takes it in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from drillbox.base.files import at_home, opened, there, written_whole
from drillbox.base.now import Now
from drillbox.cli.output import say
from drillbox.cli.path_kinds import FILE, FILE_OR_FOLDER
from drillbox.cli.problems import LeftOut, narrate
from drillbox.cli.wiring import clock
from drillbox.errors import ReplyError

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box import Box


@click.command("reply")
@click.argument("sources", nargs=-1, required=True, type=FILE_OR_FOLDER)
@click.option("--to", "student", required=True, help="The student, as the studio names them.")
@click.option("--note", default="", help="A word; it stands on the student's Today.")
@click.option("--want", "wanted", multiple=True, help="A card, or CARD=BPM, wanted by --by.")
@click.option("--next", "ask_next", is_flag=True, help="Ask for what the studio proposes.")
@click.option(
    "--by",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="DAY",
    help="The day by which cards are wanted, such as 2026-12-10.",
)
@click.option("--goal", "goals", multiple=True, help="Another goal: CARD=BPM.")
@click.option("--from", "teacher", default="", help="Who writes; your name.")
@click.option("-o", "--out", type=FILE, help="The file.")
def reply_command(
    sources: tuple[Path, ...],
    student: str,
    note: str,
    wanted: tuple[str, ...],
    ask_next: bool,
    by: datetime | None,
    goals: tuple[str, ...],
    teacher: str,
    out: Path | None,
) -> None:
    """Write a reply to one student of the progress files SOURCES: a word, dates, goals.

    The file is small and plain. The student takes it in with 'drillbox decks add FILE'; no other
    student's box takes it. Cards are named by their title, or a part of it that no other has.

    For example:
      drillbox reply handed-in/ --to Mia --note "Lower." --next --by 2026-12-10
      drillbox reply handed-in/ --to Mia --want "e of 2=84" --by 2026-12-10
      drillbox reply handed-in/ --to Mia --goal "a of 2=96" -o mia.reply
    """
    from drillbox.cli.teaching import read_class
    from drillbox.studio import look_at
    from drillbox.studio.reply_doubts import reply_doubts
    from drillbox.studio.reply_writing import (
        proposed,
        proposed_goals,
        reply_content,
        reply_file_name,
        reply_for,
        reply_lines,
        student_named,
    )

    now = clock().now()
    today = Now.of(now).today
    one = student_named(look_at(read_class(sources, today, LeftOut()), today=today), student)
    reply = reply_for(
        one,
        note=note,
        wanted=[*wanted, *(proposed(one) if ask_next else ())],
        by=by.date() if by else None,
        goals=[*goals, *(proposed_goals(one) if ask_next else ())],
        teacher=teacher,
        now=now,
    )
    path = out or Path(reply_file_name(one, now))
    with written_whole(path) as file:
        file.write(reply_content(reply))
    say(f"Written: {path}")
    for line in reply_lines(reply, {card.rhythm: card.title for card in one.progress.cards}):
        say(line)
    for doubt in reply_doubts(reply, one):
        narrate(doubt)


def take_in(box: Box, path: Path) -> None:
    """Take a reply in and say what it says."""
    from drillbox.report.reply_file import take_in_file

    for line in take_in_file(box, path, at=clock().now()):
        say(line)


def names_reply(name: str) -> bool:
    """Return whether a name that was typed is the path of a reply file."""
    from drillbox.studio import is_reply

    path = at_home(name)
    if path.suffix in {".toml", ".zip"} or not there(path) or path.is_dir():
        return False
    try:
        with opened(path, error=ReplyError) as source:
            return is_reply(source, name)
    except ReplyError:
        return False
