"""Commands of the practice day: today, record, undo, why."""

from __future__ import annotations

import sys
from datetime import UTC, timedelta
from math import ceil
from typing import TYPE_CHECKING, Any

import click

from drillbox.base.now import coming_day, day_name
from drillbox.base.wording import NOTHING_TO_PLAY, counted, day_is_over, day_off, open_minutes
from drillbox.cli.completions import card_names
from drillbox.cli.number_options import Whole, Within
from drillbox.cli.output import json_option, no_card, say, say_json, say_table, take_object
from drillbox.cli.plain import plain_option, say_plan
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.box.replies import TeacherNote
    from drillbox.plan import Item, Plan


MOST_MINUTES, MORE_MINUTES = 240, 5


@click.command("today")
@click.option("--minutes", type=Whole(1, MOST_MINUTES), help="Length of the day's practice.")
@json_option
@plain_option
@click.pass_obj
def today_command(box_path: str | None, minutes: int | None, as_json: bool, plain: bool) -> None:
    """Print what to play in what is left of today's minutes, and why.

    For example:
      drillbox today
      drillbox today --minutes 10
      drillbox today --json
    """
    from drillbox.report.time_away import after_time_away

    with open_box(box_path, only_reads=True) as box:
        at = clock().now()
        length = minutes or box.minutes_today(at=at)
        plan = box.plan(at=at, minutes=length)
        if as_json:
            say_json(
                {
                    "minutes": length,
                    "seconds_left": round(plan.left_seconds),
                    "notes": [_note(note) for note in box.notes(at=at)],
                    "items": [_item(item, box.title(item.card_id)) for item in plan.items],
                }
            )
            return
        for note in box.notes(at=at):
            say(f"{note.heading}: {note.text}")
        left_out = box.left_out(at=at).sentence
        if left_out:
            say(left_out)
        if not box.cards_in_box:
            if not left_out:
                say(no_card(box))
            return
        if not plan.items:
            next_day = coming_day(box.next_day(at=at), box.now(at).day)
            say(_nothing_left(box.day(at).seconds / 60.0, length, day_is_over(next_day)))
            return
        played, off = box.day(at), box.off_until(at=at)
        first = [] if off is None else [day_off(day_name(off))]
        first += [] if played.takes else [after_time_away(box, at=at)]
        for sentence in filter(None, first):
            say(f"{sentence}\n")
        _say_plan(box, plan, left=length * 60.0 - played.seconds, plain=plain)


def _say_plan(box: Box, plan: Plan, *, left: float, plain: bool) -> None:
    """Say a plan, why each card is in it, and what becomes of the seconds that it leaves open."""
    from drillbox.box.practice import by_card

    items, gap = by_card(plan.items), open_minutes(left, plan.seconds)
    if plain:
        say_plan(box, items)
    else:
        _say_rows(box, items)
    if gap:
        say(gap if plain else f"\n{gap}")


def _say_rows(box: Box, items: Sequence[Item]) -> None:
    """Say what to play as a table, and under it why."""
    rows = [
        (
            box.title(item.card_id),
            str(item.bpm),
            str(item.takes),
            f"{round(item.seconds) // 60}:{round(item.seconds) % 60:02}",
        )
        for item in items
    ]
    say_table(("card", "bpm", "takes", "time"), rows)
    say()
    for item in items:
        say(f"{box.title(item.card_id)}: {item.why}")


def _nothing_left(played: float, length: int, is_over: str) -> str:
    """Return why there is nothing to play; after a day's practice also how to play on."""
    if not played:
        return NOTHING_TO_PLAY
    longer = max(length, ceil(played)) + MORE_MINUTES
    if longer > MOST_MINUTES:
        return f"{is_over}."
    return f"{is_over}, or 'drillbox today --minutes {longer}' lists five minutes more."


def _item(item: Item, title: str) -> dict[str, str | int]:
    """Return a visit of the plan as JSON values."""
    return {
        "card_id": item.card_id,
        "title": title,
        "part": item.part.value,
        "bpm": item.bpm,
        "takes": item.takes,
        "seconds": round(item.seconds),
        "why": item.why,
    }


def _note(note: TeacherNote) -> dict[str, str | None]:
    """Return a teacher's word as JSON values."""
    return {
        "text": note.text,
        "from": note.teacher,
        "day": note.day.isoformat(),
        "by": note.by.isoformat() if note.by else None,
    }


@click.command("record")
@click.argument("takes", nargs=-1, required=True, shell_complete=card_names)
@click.option("--sure", is_flag=True, help="Save also what looks like a mistake, unasked.")
@click.option(
    "--seconds",
    type=Within(0, 3600),
    default=45.0,
    show_default=True,
    help="The length of each.",
)
@click.option("--at", "when", metavar="WHEN", help="When it was played, if not just now.")
@json_option
@click.pass_obj
def record_command(box_path: str | None, /, takes: tuple[str, ...], **how: Any) -> None:
    """Record takes: CARD BPM GRADE, and after a comma the next.

    CARD is a card's name in its deck, its title, or its id. GRADE says where the metronome should
    go next: 'fell apart' (down 10), 'shaky' (down 5), 'steady' (stay), 'clean' (up 5), 'automatic'
    (up 10), each to the metronome's next mark from there: fives from 60 up, twos below. Its first
    letters do. Either all takes of the line are understood, or none is saved.
    A take that looks like a mistake, far from the tempo expected, too short for a pass or by a
    wrong clock, is asked about; where nobody can answer it is refused unless --sure is given.

    WHEN is a time of today, or a day and a time: '18:30', 'yesterday 18:30', '2026-11-25 18:30'.
    A day alone means this time of that day. The takes of a line follow each other from then on.

    For example:
      drillbox record e-and-a 92 steady
      drillbox record sixteenth-ghosts/e 96 fell apart --seconds 30
      drillbox record e-and-a 92 clean, a-doubled 80 sh, e 96 automatic
      drillbox record e-and-a 92 steady --at 'yesterday 18:30'
    """
    from drillbox.cli.take_line import read_takes

    wanted, seconds = read_takes(takes), how["seconds"]
    with open_box(box_path, makes=False) as box:
        found = [(box.find(take.card), take) for take in wanted]
        moments = _moments_played(box, how["when"], len(found), seconds)
        if not how["sure"]:
            for (card_id, take), at in zip(found, moments, strict=True):
                _ask_about(box, card_id, take.bpm, at, seconds)
        saved, lines = [], []
        for (card_id, take), at in zip(found, moments, strict=True):
            now = clock().now()
            one = box.record(
                card_id,
                bpm=take.bpm,
                grade=take.grade,
                at=at or now,
                seconds=seconds,
                entered=now if at else None,
            )
            saved.append(one)
            said = f"Saved: {box.title(card_id)}, {take.bpm:g} bpm, {take.grade.label}"
            late = f", played {one.at:%Y-%m-%d %H:%M}; 'drillbox undo {one.short_id}' takes it back"
            lines += [f"{said}{late if at else ''}.", box.why(card_id, at=now)]
        # Said once all are saved: a full disk may refuse the first line.
        if how["as_json"]:
            objects = [take_object(take) for take in saved]
            say_json(objects if len(objects) > 1 else objects[0])
            return
        for line in lines:
            say(line)


def _moments_played(
    box: Box, when: str | None, takes: int, seconds: float
) -> Sequence[datetime | None]:
    """Return when each take of a line was played, one after the other; None for just now."""
    if when is None:
        return [None] * takes
    from drillbox.cli.when_played import read_when

    now = box.now(clock().now())
    first = read_when(when, now).astimezone(UTC)
    moments = [first + timedelta(seconds=number * seconds) for number in range(takes)]
    if moments[-1] > now.at:
        raise UsageError(
            f"from {when!r} on, the last of {counted(takes, 'take')} ends later than now",
            where="--at",
            fix="say an earlier time",
        )
    return [moment.astimezone(now.at.tzinfo) for moment in moments]


def _ask_about(box: Box, card_id: str, bpm: float, at: datetime | None, seconds: float) -> None:
    """Ask about a take that looks like a mistake, or refuse it where nobody can answer."""
    now = clock().now()
    doubt = box.implausible(card_id, bpm, at or now, entered=now if at else None, seconds=seconds)
    if doubt is None:
        return
    if not sys.stdin.isatty():
        told = doubt.rstrip(".?").replace("By the clock", "by the clock")
        told = told.removesuffix(": is the clock right")
        raise UsageError(
            f"not saved: {told}", where=box.title(card_id), fix="say --sure if it is so"
        )
    click.confirm(f"{doubt} Save it?", abort=True, err=True)


@click.command("undo")
@click.argument("take", required=False)
@click.pass_obj
def undo_command(box_path: str | None, take: str | None) -> None:
    """Take back today's last take, or any TAKE. The log keeps both; the take no longer counts.

    The last take is the one entered last, of those played today: once more takes back the one
    before it. TAKE is a take's id or its start, as 'drillbox card CARD' lists it.

    For example:
      drillbox undo
      drillbox undo 3f2a91c0
    """
    with open_box(box_path, makes=False) as box:
        at = clock().now()
        again = take is not None and box.is_taken_back(take, at=at)
        taken = box.undo(at=at) if take is None else box.retract(take, at=at)
        if taken is None:
            say("No take of today to take back.")
            return
        known = taken.card_id in box.entries()
        title = box.title(taken.card_id) if known else f"card {taken.card_id}"
        played = "" if take is None else f", played {taken.at:%Y-%m-%d %H:%M}"
        done = "Nothing to do, it was taken back before" if again else "Taken back"
        say(f"{done}: {title}, {taken.bpm:g} bpm, {taken.grade.label}{played}.")


@click.command("why")
@click.argument("card", shell_complete=card_names)
@json_option
@click.pass_obj
def why_command(box_path: str | None, card: str, as_json: bool) -> None:
    """Say why CARD is, or is not, in today's plan.

    It also says what playing it today or the next time would come to.

    For example:
      drillbox why e-and-a
    """
    with open_box(box_path, only_reads=True) as box:
        card_id, at = box.find(card), clock().now()
        title = box.title(card_id)
        why, compared = box.why(card_id, at=at), box.compared(card_id, at=at)
    if as_json:
        say_json({"card_id": card_id, "why": why, "compared": compared})
        return
    say(title)
    say(why)
    say(compared)


@click.command("learn")
@click.option("--report", is_flag=True, help="Only show how well first takes were foretold.")
@json_option
@click.pass_obj
def learn_command(box_path: str | None, report: bool, as_json: bool) -> None:
    """Learn your own numbers from your takes.

    They say how fast you gain, how much warming up gives and how even you are, and are kept only if
    they predict your first takes of a day better. The app does this by itself every four weeks,
    once there are enough takes. --report draws, for each tenth of the scale, the chance of steady
    that was foretold and the share that came off.

    For example:
      drillbox learn
      drillbox learn --report
    """
    with open_box(box_path, only_reads=report, makes=False) as box:
        if not report:
            at = clock().now()
            if not as_json and (takes := box.learned_from(at=at)):
                say(f"From {counted(takes, 'take')}, your newest:\n")
            lesson = box.learn(at=at)
            if as_json:
                say_json({"changed": lesson.changed, "sentences": list(lesson.sentences)})
            for sentence in () if as_json else lesson.sentences:
                say(sentence)
            return
        from drillbox.report.calibration import calibration, calibration_chart

        tenths = calibration(box)
        if as_json:
            say_json(
                [
                    {"foretold": round(t.said, 3), "came_off": round(t.seen, 3), "takes": t.takes}
                    for t in tenths
                ]
            )
            return
        say(
            calibration_chart(tenths, width=80) if tenths else "No card was played on two days yet."
        )
