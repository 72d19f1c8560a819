"""The way back from the studio: a teacher writes a reply, a student takes it in."""

from __future__ import annotations

import re
from datetime import UTC, date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drillbox.base.files import content_of, opened, there, written_whole
from drillbox.base.now import Now
from drillbox.cli.output import say
from drillbox.cli.wiring import clock
from drillbox.errors import ReplyError, UnknownCardError, UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.studio import CardProgress, Reply, StudentFigures

_WITH_BPM = re.compile(r"(.+)=(\d{1,3}(?:\.\d+)?)")


@click.command("reply")
@click.argument("sources", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--to", "student", required=True, help="The student, as the studio names them.")
@click.option("--note", default="", help="A word; it stands on the student's Today.")
@click.option("--want", "wanted", multiple=True, help="A card, or CARD=BPM, wanted by --by.")
@click.option("--next", "ask_next", is_flag=True, help="Want the cards that the studio proposes.")
@click.option(
    "--by",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="DAY",
    help="The day by which cards are wanted.",
)
@click.option("--goal", "goals", multiple=True, help="Another goal: CARD=BPM.")
@click.option("--from", "teacher", default="", help="Who writes; your name.")
@click.option("-o", "--out", type=click.Path(dir_okay=False, path_type=Path), help="The file.")
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
    from drillbox.studio import Goal, Reply, Wanted, look_at, next_up

    now = clock().now()
    files, groups = read_class(sources)
    one = _student(look_at(files, today=date.fromordinal(Now.of(now).day), groups=groups), student)
    cards = one.progress.cards
    asked = [_card_and_bpm(cards, text) for text in wanted]
    asked += [(card, None) for card in next_up(one).cards] if ask_next else []
    if asked and by is None:
        raise UsageError("say by when the cards are wanted", fix="give --by such as 2026-12-10")
    changed = [_card_and_bpm(cards, text) for text in goals]
    if missing := [card.title for card, bpm in changed if bpm is None]:
        raise UsageError(f"no goal for {missing[0]!r}", fix="write it as --goal 'CARD=96'")
    if not (note.strip() or asked or changed):
        raise UsageError("the reply says nothing", fix="give --note, --want, --next or --goal")
    day = by.date() if by else None
    reply = Reply(
        id="",
        student=one.progress.student,
        teacher=teacher.strip(),
        written=now.astimezone(UTC).replace(microsecond=0),
        note=note.strip(),
        wanted=tuple(Wanted(card.rhythm, day, bpm) for card, bpm in asked if day),
        goals=tuple(Goal(card.rhythm, bpm) for card, bpm in changed if bpm is not None),
    )
    _write(reply, out or Path(f"{_file_name(one.label)}-{day_stem(now)}.reply"))
    for line in reply_lines(reply, {card.rhythm: card.title for card in cards}):
        say(line)


def take_in(box: Box, path: Path) -> None:
    """Take a reply in and say what it says."""
    from drillbox.studio import read_reply
    from drillbox.studio.replies import MOST_BYTES

    content = content_of(path, most=MOST_BYTES, error=ReplyError, what="the reply")
    reply = read_reply(content, str(path))
    new = box.take_in(reply, at=clock().now())
    say("A reply from your teacher:" if new else "This reply was taken in already:")
    titles = {card.card_id: card.title for card in box.cards(at=clock().now())}
    for line in reply_lines(reply, titles):
        say(f"  {line}")


def names_reply(name: str) -> bool:
    """Return whether a name that was typed is the path of a reply file."""
    from drillbox.studio import is_reply

    path = Path(name).expanduser()
    if path.suffix in {".toml", ".zip"} or not there(path) or path.is_dir():
        return False
    try:
        with opened(path, error=ReplyError) as source:
            return is_reply(source, name)
    except ReplyError:
        return False


def reply_lines(reply: Reply, titles: dict[str, str]) -> list[str]:
    """Return what a reply says, a line each."""
    lines = [reply.note] if reply.note else []
    for one in reply.wanted:
        tempo = "its goal" if one.goal_bpm is None else f"{one.goal_bpm:g}"
        lines.append(f"wanted by {one.by}: {_title(one.rhythm, titles)} at {tempo}")
    lines += [f"goal of {_title(one.rhythm, titles)}: {one.goal_bpm:g}" for one in reply.goals]
    return lines


def day_stem(now: datetime) -> str:
    """Return the day as names of files have it."""
    return f"{now:%Y-%m-%d}"


def _title(rhythm: str, titles: dict[str, str]) -> str:
    return titles.get(rhythm, f"a card that is in none of your decks ({rhythm})")


def _write(reply: Reply, path: Path) -> None:
    from io import BytesIO

    from drillbox.studio import read_reply, write_reply

    made = BytesIO()
    write_reply(reply, made)
    # What a student's box would refuse is refused here, before it is sent.
    read_reply(made.getvalue(), str(path))
    with written_whole(path) as out:
        out.write(made.getvalue())
    say(f"Written: {path}")


def _student(students: Sequence[StudentFigures], wanted: str) -> StudentFigures:
    text = wanted.strip().casefold()
    found = [one for one in students if one.label.casefold() == text]
    found = found or [one for one in students if one.progress.name.casefold() == text]
    if not found and len(text) >= 4:
        found = [one for one in students if one.progress.student.startswith(text)]
    if len(found) == 1:
        return found[0]
    names = ", ".join(one.label for one in (found or students)[:8])
    what = f"{wanted!r} is more than one student" if found else f"no student {wanted!r}"
    raise UnknownCardError(what, fix=f"say which: {names}")


def _card_and_bpm(cards: Sequence[CardProgress], text: str) -> tuple[CardProgress, float | None]:
    """Return the card that a text means, and the tempo after its last equals sign, if any."""
    match = _WITH_BPM.fullmatch(text.strip())
    name, bpm = (match[1], float(match[2])) if match else (text.strip(), None)
    wanted = name.strip().casefold()
    found = [card for card in cards if wanted in {card.title.casefold(), card.rhythm}]
    found = found or [card for card in cards if wanted in card.title.casefold()]
    if len(found) == 1:
        return found[0], bpm
    if found:
        titles = "; ".join(card.title for card in found[:4])
        raise UnknownCardError(f"{name!r} is more than one card", fix=f"say which: {titles}")
    raise UnknownCardError(f"no card {name!r} in this student's file", fix="see the studio")


def _file_name(label: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", label.casefold()).strip("-") or "reply"
