"""A box looked over from top to bottom.

What is wrong with it, in a sentence each, and what can be done about it.

Looking changes nothing. A repair overwrites nothing: damaged files are set aside by dated names,
the log only gains, and what is computed is computed again.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING

from drillbox.base.files import may_be_written, there
from drillbox.base.wording import counted, listed
from drillbox.box import Box
from drillbox.box.let_in import nonsense
from drillbox.box.setting_kinds import fits
from drillbox.box.settings import Settings
from drillbox.errors import DeckError
from drillbox.store import checks
from drillbox.store.inspection import entries_of, look_over
from drillbox.store.takelog import USED_UP

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from drillbox.base.clock import Clock
    from drillbox.box.take_views import TakeView
    from drillbox.store import Setting
    from drillbox.store.guard import Unusable
    from drillbox.store.inspection import FileState

MOST_SHOWN = 60
MOST_NAMED = 20
"""So many entries of one kind are named one by one."""


class Repair(Enum):
    """What can be done about a finding, in the order in which it is done."""

    BACKUPS = "damaged backups are set aside, so that none is restored"
    BOX = "the newest good backup, with all that the damaged file still says, takes its place"
    LOG = "they are brought back into the log"
    WAITING = "they are saved now"
    TAKES = "they are taken back, or set aside where nothing can name them, and rest for good"
    ROWS = (
        "after a backup they are taken out; decks and their cards are built again from the deck's"
        " own text, and what is usual holds for settings"
    )
    BELIEFS = "they are computed again from the log"
    COUNTS = "they are counted again from the rhythms"
    BACK_UP = "a backup is made now"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as it should be, in one sentence, and what a repair does.

    None where nothing helps.
    """

    sentence: str
    repair: Repair | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """What a look at a box brought: what is well, and what is not."""

    well: tuple[str, ...]
    findings: tuple[Finding, ...]


def look(
    path: Path,
    *,
    clock: Clock,
    tell: Callable[[str], None] = lambda _: None,
    waiting: Sequence[str] = (),
) -> Report:
    """Look a box over; it may be in use.

    Parameters
    ----------
    path
        The box.
    clock
        Says how late it is.
    tell
        Is told what is looked at next.
    waiting
        A clause for each file elsewhere in which takes wait that the box could not save.

    Raises
    ------
    BoxForeignError
        If the file is not ours to judge.
    BoxError
        If there is no such box.
    """
    well: list[str] = []
    contents: list[Finding] = []

    def look_inside() -> None:
        with Box.open(path, clock=clock, read_only=True) as box:
            contents.extend(_of_contents(box, clock.now(), tell))
            well.append(f"decks: {len(box.archive.decks())}, cards: {box.cards_in_box}")

    only_read = there(path) and not may_be_written(path)  # before the box is open
    tell("the file and its backups")
    state = look_over(path, now=clock.now(), meanwhile=look_inside)
    findings = list(_of_file(state))
    if state.damage:
        well = []
    else:
        findings += contents
        whole = "the file is whole, by SQLite's full check"
        well = [whole, f"the log can be read, entries: {state.entries}", *well]
    if only_read:
        findings.append(
            Finding(
                "the box may only be read, so that no take can be saved; make the file writable"
            )
        )
    findings += [Finding(clause, Repair.WAITING) for clause in waiting]
    newest = f", the newest of {state.good[0].day}" if state.good else ""
    well.append(f"good backups: {len(state.good)}{newest}")
    return Report(tuple(well), tuple(findings))


def mend(
    path: Path, report: Report, *, clock: Clock, take_up: Callable[[], str] = str
) -> Iterator[str]:
    """Do what can be done about the findings; give a sentence on each thing that was done.

    `take_up` saves the takes that wait elsewhere, and says what came of it.
    """
    wanted = {finding.repair for finding in report.findings}
    for repair in Repair:
        if repair in wanted:
            yield take_up() if repair is Repair.WAITING else _DO[repair](path, clock)


def _of_file(state: FileState) -> Iterator[Finding]:
    if state.bad:
        yield Finding(
            f"backups that do not pass the full check: "
            f"{', '.join(backup.path.name for backup in state.bad)}",
            Repair.BACKUPS,
        )
    if state.unread:
        yield Finding(
            "backups that may not be read: "
            f"{listed([path.name for path in state.unread], MOST_NAMED)}; make them readable"
        )
    if state.damage:
        sentence = f"the file cannot be followed: {state.damage[0]}"
        if state.unread and not state.good:
            # What would be built without them would stand in the place of what they hold.
            from drillbox.store.repair import READABLE_FIRST  # noqa: PLC0415 - seldom needed

            yield Finding(f"{sentence}; {READABLE_FIRST}")
        else:
            yield Finding(sentence, Repair.BOX)
    if state.altered:
        yield Finding(
            f"another program has changed the tables ({', '.join(state.altered)}); "
            "export the log and import it into a new box"
        )
    if state.used_up:
        yield Finding(
            f"{USED_UP}, so that no take can be saved; export the log and import it into a new box"
        )
    elif state.gaps:
        yield Finding(
            "another program took entries out of the log or put some in; "
            f"numbers missing or wrong: {state.gaps}"
        )
    if state.only_in_backups:
        yield Finding(
            f"the backups hold entries that the log lacks: {state.only_in_backups}", Repair.LOG
        )
    if state.entries and not (state.good or state.unread):
        yield Finding("there is no good backup", Repair.BACK_UP)


def _of_contents(box: Box, now: datetime, tell: Callable[[str], None]) -> Iterator[Finding]:
    tell("the log")
    log = box.whole_log()
    yield from _of_entries(log.unusable)
    left_out = box.left_out(at=now)
    yield from _of_waiting(left_out.waiting)
    tell("what is believed, against a replay of the log")
    wrong = box.wrong_beliefs(log)
    if wrong:
        yield Finding(
            f"cards believed otherwise than their takes say: {len(wrong)}", Repair.BELIEFS
        )
    tell("what is counted in the rhythms")
    yield from _of_counts(box.wrong_counts())
    tell("decks and settings")
    for row in box.archive.unusable_rows():
        sentence = f"a {row.table} makes no sense and is passed over ({row.key}): {row.why}"
        if row.table not in {"deck", "card"} or _reads(row.text):
            yield Finding(sentence, Repair.ROWS)
        else:
            yield Finding(f"{sentence}; take its deck out and add it again")
    for place, why in left_out.unreadable.items():
        yield Finding(
            f"the rhythm of {place} cannot be read and is passed over: {why}; take its deck out and"
            " add it again"
        )
    yield from _of_settings(box)
    yield from _of_decks(box)


def _of_entries(wrong: Sequence[Unusable]) -> Iterator[Finding]:
    for row in wrong[:MOST_NAMED]:
        sentence = f"a {row.table} of the log makes no sense and is passed over ({row.key})"
        yield Finding(f"{sentence}: {row.why}", Repair.TAKES)
    if wrong[MOST_NAMED:]:
        more = counted(len(wrong) - MOST_NAMED, "more entry", "more entries")
        yield Finding(f"{more} of the log that make no sense", Repair.TAKES)


def _of_counts(wrong: Sequence[str]) -> Iterator[Finding]:
    if wrong:
        named = listed(wrong, MOST_NAMED)
        yield Finding(
            f"what the box keeps of these rhythms is not what they count to: {named}",
            Repair.COUNTS,
        )


def _of_waiting(waiting: Sequence[TakeView]) -> Iterator[Finding]:
    for take in waiting[:MOST_NAMED]:
        yield Finding(
            f"a take is dated {take.at:%Y-%m-%d %H:%M}, later than now, and waits until then; "
            f"'drillbox undo {take.short_id}' takes it back"
        )
    if waiting[MOST_NAMED:]:
        yield Finding(f"{counted(len(waiting) - MOST_NAMED, 'more take')} dated later than now")


def _of_settings(box: Box) -> Iterator[Finding]:
    usual = asdict(Settings())
    for name, setting in _wrong_settings(box).items():
        shown = checks.shown(setting.value)
        yield Finding(
            f"the setting {name.replace('_', '-')} makes no sense ({shown}); "
            f"{usual[name]!r} holds until you set it",
            Repair.ROWS,
        )
    for key, what in _kept_nonsense(box).items():
        shown = ascii(key)[:MOST_SHOWN]
        yield Finding(f"{what} makes no sense and is passed over ({shown})", Repair.ROWS)


def _wrong_settings(box: Box) -> dict[str, Setting]:
    stored = box.archive.settings()
    return {
        name: stored[name]
        for name in asdict(Settings())
        if name in stored and not fits(name, stored[name].value)
    }


def _kept_nonsense(box: Box) -> dict[str, str]:
    """Return what is kept beside the settings and makes no sense, by its key."""
    found = {key: nonsense(one) for key, one in box.archive.settings().items()}
    return {key: what for key, what in found.items() if what}


def _of_decks(box: Box) -> Iterator[Finding]:
    from drillbox.deckfile import parse_deck  # noqa: PLC0415 - opening reads no decks

    for deck in box.archive.decks():
        try:
            parse_deck(deck.text, name=deck.title)
        except DeckError as error:
            yield Finding(
                f"the text of a deck cannot be read any more ({error.sentence().rstrip('.')}); "
                "its cards still work; add its file again"
            )


def _set_backups_aside(path: Path, clock: Clock) -> str:
    from drillbox.store.repair import set_aside  # noqa: PLC0415 - a look repairs nothing

    names = set_aside(look_over(path, now=clock.now()).bad, now=clock.now())
    return f"Set aside: {', '.join(str(name) for name in names)}."


def _rebuild(path: Path, clock: Clock) -> str:
    from drillbox.store.repair import rebuild  # noqa: PLC0415 - a look repairs nothing

    done = rebuild(path, now=clock.now())
    began = "a new box" if done.backup is None else f"the backup {done.backup.path.name}"
    with Box.open(path, clock=clock) as box:
        decks = _decks_again(box, clock.now())
    lost = ""
    if done.unread:
        held = "" if done.backup is None else " and that the backup lacks"
        lost = f" LOST: takes of the damaged file that can no longer be read{held}."
    return (
        f"The box was built again from {began}. Entries: {done.entries}; of them only the damaged "
        f"file still had: {done.brought_over}.{lost} That file is now {done.aside}.{_named(decks)}"
    )


def _decks_again(box: Box, now: datetime) -> list[str]:
    """Build decks that lack cards again from their texts; return their titles."""
    from drillbox.deckfile import parse_deck  # noqa: PLC0415 - as above

    had = {(card.deck_id, card.slug) for card in box.archive.cards()}
    built = []
    for row in box.archive.decks():
        if not _reads(row.text):
            continue
        deck = parse_deck(row.text, name="deck")
        if any((row.id, card.slug) not in had for card in deck.cards):
            box.put_deck(deck, at=now, older=True)
            built.append(deck.title)
    return built


def _named(decks: list[str]) -> str:
    return f" Decks built again from their texts: {', '.join(decks)}." if decks else ""


def _bring_back(path: Path, clock: Clock) -> str:
    good = look_over(path, now=clock.now()).good
    with Box.open(path, clock=clock) as box:
        known = {entry.id for entry in box.log()}
        back = box.merge(entries_of(good, without=known, now=clock.now()))
    return f"Entries brought back from the backups: {back}."


def _take_back(path: Path, clock: Clock) -> str:
    with Box.open(path, clock=clock) as box:
        taken = box.archive.answer_unusable(clock.now())
    return f"Entries that make no sense taken back or set aside: {taken}."


@lru_cache(maxsize=64)
def _reads(text: str) -> bool:
    """Return whether a deck's text can be read; many rows may be of one deck."""
    from drillbox.deckfile import check  # noqa: PLC0415 - for cards that make no sense

    return not check(text, name="deck")


def _take_out(path: Path, clock: Clock) -> str:
    from drillbox.deckfile import parse_deck  # noqa: PLC0415 - for a repair only

    with Box.open(path, clock=clock) as box:
        now = clock.now()
        box.archive.back_up(now)
        wrong = [*_wrong_settings(box), *_kept_nonsense(box)]
        box.archive.drop_settings(wrong)
        taken, texts = box.archive.take_out_unusable(reads=_reads)
        decks = [parse_deck(text, name="deck") for text in texts]
        for deck in decks:
            box.put_deck(deck, at=now, older=True)
    built = f"; built again: {', '.join(deck.title for deck in decks)}" if decks else ""
    return f"Rows that make no sense taken out: {taken + len(wrong)}{built}."


def _compute_again(path: Path, clock: Clock) -> str:
    with Box.open(path, clock=clock) as box:
        box.forget_beliefs()
    return "What is believed of the cards was computed again."


def _count_again(path: Path, clock: Clock) -> str:
    with Box.open(path, clock=clock) as box:
        box.forget_counts()
    return "What the box keeps of the rhythms was dropped, and is counted again."


def _back_up(path: Path, clock: Clock) -> str:
    with Box.open(path, clock=clock) as box:
        return f"Backup made: {box.archive.back_up(clock.now()).path}."


_DO = {
    Repair.BACKUPS: _set_backups_aside,
    Repair.BOX: _rebuild,
    Repair.LOG: _bring_back,
    Repair.TAKES: _take_back,
    Repair.ROWS: _take_out,
    Repair.BELIEFS: _compute_again,
    Repair.COUNTS: _count_again,
    Repair.BACK_UP: _back_up,
}
