"""Plans for a practice day, made from the box's cards, beliefs, takes and settings.

Conventions: moments are aware datetimes, lengths seconds unless the name says minutes.
"""

from __future__ import annotations

from dataclasses import replace
from math import floor
from typing import TYPE_CHECKING

from drillbox.base.practice_days import EVERY_DAY, read_practice_days
from drillbox.box.kept_at_goal import keeps, top_of
from drillbox.box.setting_kinds import ANY
from drillbox.box.settings import Settings
from drillbox.memory import Grade
from drillbox.plan import Candidate, Day, Done, Item, Part, Plan, take_shape
from drillbox.plan.takes import CHANGE_SECONDS, nearest_mark, visit_bpm
from drillbox.plan.why import TIMES

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from drillbox.base.now import Now
    from drillbox.box.beliefs import Beliefs
    from drillbox.box.catalogue import Catalogue, Entry
    from drillbox.box.diary import Diary
    from drillbox.box.dues import Due
    from drillbox.box.first_tempi import FirstTempi
    from drillbox.memory import Belief
    from drillbox.store import Archive

CHECK_STEPS = {Grade.CLEAN: 10, Grade.AUTOMATIC: 20}
"""How far a tempo check goes up after an easy take, in bpm."""
CHECK_TAKES = 4
"""Takes of one card in a tempo check."""
WRAP_UP_SECONDS = 20.0
"""Kept free at the end of the day's minutes.

To read the wrap-up, and for grades that took longer than planned.
"""


TAKES_CHOSEN = 3
"""Takes of a card that the player chose, unless it holds: then one tells."""


def checked_bpm(bpm: float, grade: Grade) -> int:
    """Return the tempo of a tempo check's next take of the same card, before its ceiling."""
    return nearest_mark(bpm + CHECK_STEPS.get(grade, 0))


def settings_of(archive: Archive) -> Settings:
    """Return the settings that a box keeps."""
    return Settings.read({key: setting.value for key, setting in archive.settings().items()})


def next_practice_day(day: int, settings: Settings) -> int:
    """Return the first practice day after a day."""
    if settings.days == EVERY_DAY and not settings.holidays:
        return day + 1
    return read_practice_days(settings.days, settings.holidays).next_after(day)


def by_card(items: Iterable[Item]) -> tuple[Item, ...]:
    """Return all the visits to each card as one: where it begins, and all its takes and time."""
    visits: dict[str, Item] = {}
    for item in items:
        first = visits.setdefault(item.card_id, item)
        if first is not item:
            takes, seconds = first.takes + item.takes, first.seconds + item.seconds
            visits[item.card_id] = replace(first, takes=takes, seconds=seconds)
    return tuple(visits.values())


class Practice:
    """What to play, when, and what it would bring."""

    def __init__(
        self,
        archive: Archive,
        catalogue: Catalogue,
        beliefs: Beliefs,
        diary: Diary,
        first_tempi: FirstTempi,
    ) -> None:
        self._archive = archive
        self._catalogue = catalogue
        self._beliefs = beliefs
        self._diary = diary
        self._first_tempi = first_tempi

    def plan(
        self,
        now: Now,
        minutes: float = 15,
        *,
        elapsed: float = 0.0,
        without: Collection[str] = (),
    ) -> Plan:
        """Return what to play in what is left of the day's minutes.

        Parameters
        ----------
        now
            The moment.
        minutes
            Length of the whole day's practice; today's takes are taken off it.
        elapsed
            Seconds that have gone since the last take and are in no take yet.
        without
            Cards to leave out today.
        """
        # CPython 3.11 keeps frames in chunks: imported from deeper in the stack, numpy took up to
        # half as long again, as its many small calls fell on the seam of two chunks.
        import numpy  # noqa: F401, ICN001, PLC0415

        from drillbox.plan import make_plan  # noqa: PLC0415 - numpy, only now

        candidates, day = self._scene(now, minutes, elapsed)
        kept = [card for card in candidates if card.card_id not in without]
        return make_plan(kept, day, self._beliefs.parameters)

    def item_for(self, card_id: str, *, bpm: float) -> Item:
        """Return a visit of one take to a card, asked for by the player rather than by the plan."""
        row = self._catalogue.entry(card_id).row
        seconds = take_shape(row.seconds60, row.bars, bpm).seconds
        return Item(card_id, round(bpm), 1, seconds, "You took its grade back.", Part.WORK)

    def chosen(self, card_id: str, now: Now, minutes: float) -> Item:
        """Return a visit to a card that the player wants to play now, planned or not."""
        card, day = self._candidate(card_id, now, minutes)
        parameters = self._beliefs.parameters
        bpm = visit_bpm(card, day.at, parameters)
        cold, _ = card.belief.cold(day.at, parameters)
        holds = card.taught and 2.0**cold >= card.goal_bpm
        takes = 1 if holds else TAKES_CHOSEN
        shape = take_shape(card.seconds60, card.bars, bpm)
        why = f"Chosen by you: {TIMES[takes]}, starting at {bpm}; the day's plan goes on after it."
        seconds = CHANGE_SECONDS + takes * shape.seconds
        return Item(card_id, bpm, takes, seconds, why, Part.WORK, card.ceiling_bpm)

    def why(self, card_id: str, now: Now, minutes: float) -> str:
        """Return one sentence on why a card is, or is not, in today's plan."""
        from drillbox.plan import explain  # noqa: PLC0415 - numpy, only now

        self._catalogue.entry(card_id)
        candidates, day = self._scene(now, minutes, 0.0)
        return explain(card_id, candidates, day, self._beliefs.parameters)

    def next_practice(self, now: Now, minutes: float) -> tuple[int, Plan]:
        """Return the next practice day, and its plan as it stands now, at the same hour."""
        following = next_practice_day(now.day, settings_of(self._archive))
        return following, self.plan(now.on(following), minutes)

    def ahead(self, now: Now, minutes: float, *, days: int) -> tuple[int, ...]:
        """Return how many cards the model expects in hand as each of the next days ends."""
        from drillbox.plan import forecast  # noqa: PLC0415 - numpy, only now

        candidates, today = self._scene(now, minutes, 0.0)
        settings = settings_of(self._archive)
        following, practice = today.day, set()
        while following < today.day + days:
            following = next_practice_day(following, settings)
            practice.add(following)
        whole = replace(today, minutes=minutes - WRAP_UP_SECONDS / 60.0, spent_seconds=0.0, done=())
        resting = [n for n in range(today.day, today.day + days + 1) if n not in practice]
        course = forecast(candidates, whole, self._beliefs.parameters, days=days, rest_days=resting)
        return tuple(day.in_hand for day in course[1:])

    def next_day(self, now: Now) -> int:
        """Return the next practice day."""
        return next_practice_day(now.day, settings_of(self._archive))

    def off_until(self, now: Now) -> int | None:
        """Return the next practice day where today is none; None on a practice day."""
        settings = settings_of(self._archive)
        if next_practice_day(now.day - 1, settings) == now.day:
            return None
        return next_practice_day(now.day, settings)

    def compared(self, card_id: str, now: Now, minutes: float) -> str:
        """Return in one sentence what playing a card today or the next time would come to."""
        from drillbox.plan import compare  # noqa: PLC0415 - for one card only

        candidate, today = self._candidate(card_id, now, minutes)
        return compare(candidate, today, self._beliefs.parameters).sentence

    def tempo_check(
        self, now: Now, minutes: float, *, elapsed: float, without: Collection[str]
    ) -> Plan:
        """Return first takes of the most telling cards not played yet, as far as the minutes go.

        A card that came off easily goes on up before the next one.
        """
        candidates, day = self._scene(now, minutes, elapsed)
        by_id = {candidate.card_id: candidate for candidate in candidates}
        items, left = [], day.left_seconds
        going = self._goes_on(by_id, day)
        for card_id in ([going] if going else []) + self._first_tempi.most_telling():
            item = self._checked(by_id[card_id], day)
            wanted = card_id == going or not by_id[card_id].taught
            if wanted and card_id not in without and item.seconds <= left:
                items.append(item)
                left -= item.seconds
        return Plan(tuple(items), day.left_seconds, upkeep_seconds=0.0, admits=True)

    def _goes_on(self, by_id: dict[str, Candidate], day: Day) -> str | None:
        """Return the card on the stand if its last take was easy and it is to go on up."""
        last = day.done[-1] if day.done else None
        if last is None or last.grade < Grade.CLEAN or last.card_id not in by_id:
            return None
        card = by_id[last.card_id]
        faster = self._checked(card, day).bpm > last.bpm
        return last.card_id if faster and card.played(day.day) < CHECK_TAKES else None

    def _checked(self, candidate: Candidate, day: Day) -> Item:
        last, ceiling = day.done[-1] if day.done else None, floor(candidate.ceiling_bpm)
        if last is not None and last.card_id == candidate.card_id:
            bpm = min(checked_bpm(last.bpm, last.grade), ceiling)
            why = f"Tempo check: that was easy, so {bpm} now."
        else:
            bpm = min(nearest_mark(2.0**candidate.belief.mu), ceiling)
            then = (
                "then up until it is no longer easy" if bpm < ceiling else "its top tempo for now"
            )
            why = f"Tempo check: {bpm} first, {then}."
        seconds = take_shape(candidate.seconds60, candidate.bars, bpm).seconds + CHANGE_SECONDS
        return Item(candidate.card_id, bpm, 1, seconds, why, Part.WORK, candidate.ceiling_bpm)

    def _scene(self, now: Now, minutes: float, elapsed: float) -> tuple[list[Candidate], Day]:
        self._beliefs.refresh()
        entries = self._catalogue.entries().values()
        today, settings = self._diary.of_day(now), settings_of(self._archive)
        day = Day(
            now=now,
            minutes=minutes,
            spent_seconds=today.seconds + elapsed + WRAP_UP_SECONDS,
            next_in_days=float(next_practice_day(now.day, settings) - now.day),
            most_new=None if settings.fresh_rhythms == ANY else int(settings.fresh_rhythms),
            done=tuple(Done(take.card_id, take.bpm, take.grade) for take in today.takes),
        )
        asked = self._catalogue.asked(now.day)
        beliefs = self._believed(entry.row.card_id for entry in entries)
        strokes, looks = self._first_tempi.strokes(beliefs), self._first_tempi.looks(beliefs)
        kept = self._archive.settings()
        return [
            _candidate(
                entry,
                beliefs[entry.row.card_id],
                asked.get(entry.row.card_id),
                climbs=not keeps(entry, kept),
                top_bpm=top_of(entry.row.card_id, strokes[entry.row.card_id], kept),
                look=looks[entry.row.card_id],
            )
            for entry in entries
        ], day

    def _candidate(self, card_id: str, now: Now, minutes: float) -> tuple[Candidate, Day]:
        """Return one card as a plan sees it, with the day."""
        self._catalogue.entry(card_id)
        candidates, day = self._scene(now, minutes, 0.0)
        return next(one for one in candidates if one.card_id == card_id), day

    def _believed(self, card_ids: Iterable[str]) -> dict[str, Belief]:
        """Return what is believed of cards: of one never played, what its relatives let expect."""
        found = {card_id: self._beliefs.of(card_id) for card_id in card_ids}
        guesses = self._first_tempi.guesses(card for card, b in found.items() if not b.takes)
        for card_id, guess in guesses.items():
            found[card_id] = self._beliefs.guessed(bpm=guess.bpm, sd=guess.sd)
        return found


def _candidate(
    entry: Entry, belief: Belief, due: Due | None, *, climbs: bool, top_bpm: float, look: int
) -> Candidate:
    row = entry.row
    return Candidate(
        card_id=row.card_id,
        title=row.title,
        belief=belief,
        goal_bpm=max(entry.goal_bpm, due.goal_bpm) if due else entry.goal_bpm,
        seconds60=row.seconds60,
        bars=row.bars,
        importance=entry.importance,
        family=row.family,
        after=row.after,
        order=entry.order,
        decks=entry.deck_ids,
        pace=entry.pace,
        rested=entry.resting,
        deadline=due.by.toordinal() if due else None,
        wanted_bpm=due.goal_bpm if due else 0.0,
        climbs=climbs,
        top_bpm=top_bpm,
        look=look,
    )
