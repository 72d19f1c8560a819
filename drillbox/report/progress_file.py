"""A student's progress, out of the box and into a file for a teacher: only what the student chose.

The file's student id is made by chance once per box and kept as a setting, with the name last
chosen; so it travels to the student's other machines, and two students of one name stay apart.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox import __version__
from drillbox.base.files import at_home, opened, written_whole
from drillbox.base.jsonlines import head_of
from drillbox.base.now import long_day
from drillbox.base.wording import counted
from drillbox.box.setting_kinds import STUDENT
from drillbox.errors import ProgressError, UnknownCardError, UsageError
from drillbox.studio import (
    FORMAT,
    LONGEST_NAME,
    Asked,
    CardProgress,
    DeckInfo,
    HeardMonth,
    Played,
    Progress,
    is_name,
    is_student,
    write_progress,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping
    from datetime import datetime

    from drillbox.base.now import Now
    from drillbox.box import Box
    from drillbox.box.days_played import Days
    from drillbox.box.dues import Due
    from drillbox.box.views import CardView, DeckView

HANDED_IN = "handed_in"
"""The key of where the last progress file went, on this machine, and what it showed."""
MOST_TAKEN_IN = 100
"""Of more replies than this the latest are named."""


def progress_of(
    box: Box,
    *,
    at: datetime,
    new_id: Callable[[], str],
    name: str | None = None,
    deck_ids: Collection[str] = (),
    since: date | None = None,
    heard: bool = False,
    tell: Callable[[str], None] = lambda _: None,
) -> Progress:
    """Return what a progress file of a box holds; the box stays as it is.

    Parameters
    ----------
    box
        The student's box.
    at
        Now.
    new_id
        Makes the student's id where the box has none yet; `hand_in` keeps it.
    name
        What to be called; None for the name chosen the last time.
    deck_ids
        The decks to show; empty for all.
    since
        The first day to show; None for all.
    heard
        Whether to show what was heard, month by month.
    tell
        Is told whose file it will be, and of which decks, before the days are gone through.
    """
    decks = _chosen(box.decks(at), deck_ids)
    shown = {deck.deck_id for deck in decks}
    student, called = _student(box, name, new_id)
    tell(whose(called, decks))
    played, asked = _by_day(box.days()), box.asked_ever(shown)
    now = box.now(at)
    outgrown = {change.card_id for change in box.goals.outgrown(now)}
    return Progress(
        student=student,
        name=called,
        written=at.astimezone(UTC).replace(microsecond=0),
        decks=tuple(DeckInfo(deck.deck_id, deck.title, deck.edition) for deck in decks),
        cards=tuple(
            replace(
                _card(card, played.get(card.card_id, {}), shown, since),
                state="outgrown" if card.card_id in outgrown else card.state.value,
                asked=_asked(asked.get(card.card_id, ()), now),
            )
            for card in box.cards(at=at)
            if shown & set(card.deck_ids)
        ),
        day=now.today,
        program=__version__,
        minutes=box.settings.minutes,
        taken_in=tuple(reply.id for reply in box.replies()[-MOST_TAKEN_IN:]),
        heard=_heard(box, since) if heard else (),
    )


def _chosen(decks: Iterable[DeckView], deck_ids: Collection[str]) -> list[DeckView]:
    chosen = [deck for deck in decks if not deck_ids or deck.deck_id in deck_ids]
    shown = {deck.deck_id for deck in chosen}
    if unknown := [deck_id for deck_id in deck_ids if deck_id not in shown]:
        fix = "'drillbox decks' lists them"
        raise UnknownCardError("no such deck in the box", where=unknown[0], fix=fix)
    return chosen


def last_place(box: Box) -> Path | None:
    """Return where the last progress file went; None where there was none."""
    before = _handed_in(box).get("file")
    return Path(before) if isinstance(before, str) else None


def last_decks(box: Box) -> tuple[str, ...]:
    """Return the decks that the last progress file showed, and that are still there.

    Nothing stands for all.
    """
    there, decks = {deck.id for deck in box.archive.decks()}, _handed_in(box).get("decks")
    return tuple(deck for deck in decks if deck in there) if isinstance(decks, list) else ()


def _handed_in(box: Box) -> Mapping[str, object]:
    kept = box.archive.setting(HANDED_IN)
    return kept if isinstance(kept, dict) else {}


def hand_in(
    box: Box, progress: Progress, file: Path, deck_ids: Collection[str], *, at: datetime
) -> None:
    """Write a progress file, and keep where it went and what it shows for the next one.

    An earlier file of this student is replaced; another file is not. Who the student is is kept
    first: a file whose student the box does not know would be taken for another's.
    """
    keep_student(box, progress, at=at)
    with written_whole(file, over=_is_own(file, progress.student)) as out:
        write_progress(progress, out)
    chosen = {"file": str(at_home(file).absolute()), "decks": list(deck_ids)}
    if box.archive.setting(HANDED_IN) != chosen:
        box.archive.put_setting(HANDED_IN, chosen, at)


def keep_student(box: Box, progress: Progress, *, at: datetime) -> None:
    """Keep the student's id, by which replies find the box, and the name on the last file."""
    student = {"id": progress.student, "name": progress.name}
    if box.archive.setting(STUDENT) != student:
        box.archive.put_setting(STUDENT, student, at)


def _is_own(file: Path, student: str) -> bool:
    """Return whether a file is an earlier progress file of this student, and may be replaced."""
    with suppress(ProgressError), opened(at_home(file), error=ProgressError) as source:
        head = head_of(source, str(file), error=ProgressError)
        return head.get("format") == FORMAT and head.get("student") == student
    return False


def whose(name: str, decks: Iterable[DeckInfo | DeckView]) -> str:
    """Return in a line whose file it is and which decks it shows."""
    titles = ", ".join(deck.title for deck in decks) or "none"
    return f"The file says: {name or 'no name'}; decks: {titles}."


def contents(progress: Progress) -> tuple[str, ...]:
    """Return what a progress file tells a teacher, a line each."""
    return (whose(progress.name, progress.decks), *after_whose(progress))


def after_whose(progress: Progress) -> tuple[str, ...]:
    """Return the lines of `contents` after the first."""
    days = [played.day for card in progress.cards for played in card.days]
    seconds = sum(played.seconds for card in progress.cards for played in card.days)
    spell = ""
    if days:
        first, last = (long_day(day.toordinal()) for day in (min(days), max(days)))
        spell = f", from {first} to {last}"
    measured = "" if progress.heard else "measurements, "
    return (
        (
            f"How {counted(len(progress.cards), 'card')} stand and at what tempo each was played "
            f"last, and {counted(len(set(days)), 'day')} of practice{spell}, "
            f"{counted(seconds / 60, 'minute')}."
        ),
        *_heard_told(progress),
        f"Not in it: times of day, grades, {measured}places, other decks.",
    )


def _heard(box: Box, since: date | None) -> tuple[HeardMonth, ...]:
    """Return what was heard, month by month, of all cards."""
    from drillbox.report.measured_trends import (  # noqa: PLC0415 - where the student chose so
        measured_takes,
        months_of,
    )

    takes = [take for take in measured_takes(box) if since is None or take.day >= since.toordinal()]
    return tuple(
        HeardMonth(one.month, one.takes, one.spread_ms, one.contrast_db) for one in months_of(takes)
    )


def _heard_told(progress: Progress) -> tuple[str, ...]:
    if not progress.heard:
        return ()
    months = counted(len(progress.heard), "month")
    return (f"How even your takes were and how far ghosts lay under accents, over {months}.",)


def _student(box: Box, name: str | None, new_id: Callable[[], str]) -> tuple[str, str]:
    """Return the student's id and name."""
    if name is not None and not is_name(name):
        fix = f"use one line of at most {LONGEST_NAME} characters"
        raise UsageError("this cannot be a name", where="--name", fix=fix)
    kept = box.archive.setting(STUDENT)
    known = kept if isinstance(kept, dict) else {}
    student = known["id"] if is_student(known.get("id")) else new_id()
    before = known.get("name")
    return student, name.strip() if name is not None else before if is_name(before) else ""


def _card(
    card: CardView, played: Mapping[int, Played], shown: Collection[str], since: date | None
) -> CardProgress:
    return CardProgress(
        rhythm=card.card_id,
        title=card.title,
        decks=tuple(deck_id for deck_id in card.deck_ids if deck_id in shown),
        goal_bpm=card.goal_bpm,
        state=card.state.value,
        cold_bpm=card.cold_bpm,
        days=tuple(day for _, day in sorted(played.items()) if since is None or day.day >= since),
        low_bpm=card.low_bpm,
        high_bpm=card.high_bpm,
        last_bpm=card.last_bpm,
    )


def _asked(dues: Iterable[Due], now: Now) -> tuple[Asked, ...]:
    return tuple(Asked(due.by, due.goal_bpm, due.given and now.date_of(due.given)) for due in dues)


def _by_day(days: Days) -> dict[str, dict[int, Played]]:
    """Return the practice days of each card, each with the cold tempo expected after it."""
    by_card: list[dict[int, Played]] = [{} for _ in days.cards]
    rows = days.rows
    ordinals, takes = rows.day.astype(int).tolist(), rows.takes.astype(int).tolist()
    dates = {ordinal: date.fromordinal(ordinal) for ordinal in set(ordinals)}
    columns = (ordinals, takes, rows.seconds.tolist(), (2.0**rows.mu).tolist())
    for card, ordinal, count, seconds, tempo in zip(days.card.tolist(), *columns, strict=True):
        mine, played = by_card[card], Played(dates[ordinal], count, seconds, tempo)
        before = mine.get(ordinal)
        if before is not None:  # it was played that day before and after it took another's place
            together = before.takes + count, before.seconds + seconds
            played = Played(played.day, *together, tempo)
        mine[ordinal] = played
    return dict(zip(days.cards, by_card, strict=True))
