"""The shelf: every card and deck of the box as it stands at a moment, for those who look at it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.base.now import in_zone, practice_day
from drillbox.box.views import CardOutlook, CardView, DeckView, Lately
from drillbox.memory import Grade, State, outlook, state

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.base.now import Now
    from drillbox.box.beliefs import Beliefs
    from drillbox.box.catalogue import Catalogue, Entry
    from drillbox.box.dues import Due
    from drillbox.store import Archive, TakeRow

GRADES_SHOWN = 4
"""So many grades of a card are shown beside it."""


@dataclass(frozen=True, slots=True)
class _Seen:
    """The cards as they stood at a moment, and what that was read from."""

    now: Now
    entries: Mapping[str, Entry]
    changes: int
    cards: tuple[CardView, ...]


class Shelf:
    """Cards and decks as views."""

    def __init__(self, archive: Archive, catalogue: Catalogue, beliefs: Beliefs) -> None:
        self._archive = archive
        self._catalogue = catalogue
        self._beliefs = beliefs
        self._seen: _Seen | None = None

    def cards(self, now: Now) -> tuple[CardView, ...]:
        """Return every card, in deck order.

        A page asks for them several times at one moment; they are the same as long as neither the
        cards of the box nor what is believed of them were read anew.
        """
        self._beliefs.refresh()
        entries, changes, seen = self._catalogue.entries(), self._beliefs.changes, self._seen
        if (
            seen is None
            or (seen.now, seen.changes) != (now, changes)
            or seen.entries is not entries
        ):
            seen = self._seen = _Seen(now, entries, changes, self._views(now, entries))
        return seen.cards

    def _views(self, now: Now, entries: Mapping[str, Entry]) -> tuple[CardView, ...]:
        last = self._archive.last_takes(until=self._beliefs.until)
        asked = self._catalogue.asked(now.day)
        return tuple(
            self._view(entry, now, last.get(card_id), asked.get(card_id))
            for card_id, entry in entries.items()
        )

    def card(self, card_id: str, now: Now) -> CardView:
        """Return one card."""
        self._beliefs.refresh()
        last = self._archive.takes(card_id=card_id, until=self._beliefs.until, newest=1)
        due = self._catalogue.due(card_id, day=now.day)
        return self._view(self._catalogue.entry(card_id), now, next(iter(last), None), due)

    def still_asked(self, now: Now) -> tuple[Due, ...]:
        """Return what is asked of each card next, and is not met yet."""
        self._beliefs.refresh()
        views = (
            self._view(self._catalogue.entry(card_id), now, None, due)
            for card_id, due in self._catalogue.asked(now.day).items()
        )
        return tuple(view.due for view in views if view.due is not None and not view.due_met)

    def lately(self, card_id: str) -> Lately:
        """Return what was last heard of a card."""
        takes = self._archive.takes(card_id=card_id, until=self._beliefs.until, newest=GRADES_SHOWN)
        grades = tuple(Grade(take.grade) for take in takes)
        return Lately(grades, self._beliefs.best_cold(card_id))

    def outlook(self, card_id: str, now: Now) -> CardOutlook:
        """Return what is expected of a card."""
        self._beliefs.refresh()
        belief, goal = self._beliefs.of(card_id), self._catalogue.entry(card_id).goal_bpm
        seen = outlook(belief, now.epoch_days, self._beliefs.parameters, hold_bpm=goal)
        until = seen.holds_until
        never_held = until is None or belief.at is None or until <= belief.at
        return CardOutlook(
            cold_bpm=seen.cold_bpm,
            low_bpm=seen.low_bpm,
            high_bpm=seen.high_bpm,
            sd=seen.sd,
            p_hold=seen.p_hold,
            holds_until=None if until is None or never_held else now.moment(until),
        )

    def decks(self, now: Now) -> tuple[DeckView, ...]:
        """Return the decks in the order they were added."""
        cards = self.cards(now)
        return tuple(
            DeckView(
                deck_id=deck.id,
                title=deck.title,
                edition=deck.edition,
                author=deck.author,
                licence=deck.licence,
                about=deck.about,
                cards=sum(deck.id in card.deck_ids for card in cards),
                holding=sum(deck.id in card.deck_ids and card.holds for card in cards),
                archived=deck.archived,
            )
            for deck in self._archive.decks()
        )

    def _view(self, entry: Entry, now: Now, last: TakeRow | None, due: Due | None) -> CardView:
        row, moment = entry.row, now.epoch_days
        belief, parameters = self._beliefs.of(row.card_id), self._beliefs.parameters
        seen = outlook(belief, moment, parameters, hold_bpm=entry.goal_bpm)
        # What has not come together once has no tempo that could be told.
        met = belief.takes > 0 and not belief.apart
        stands = state(belief, moment, parameters, goal_bpm=entry.goal_bpm, rested=entry.resting)
        until = seen.holds_until if stands in {State.HOLDING, State.FADING} else None
        played = in_zone(last.at, last.zone) if last else None
        return CardView(
            card_id=row.card_id,
            title=row.title,
            notation=row.pattern,
            goal_bpm=entry.goal_bpm,
            importance=entry.importance,
            state=stands,
            deck_ids=entry.deck_ids,
            places=entry.places,
            family=row.family,
            note=row.note,
            takes=belief.takes,
            last_played=played,
            last_bpm=last.bpm if last else None,
            cold_bpm=seen.cold_bpm if met else None,
            low_bpm=seen.low_bpm if met else None,
            high_bpm=seen.high_bpm if met else None,
            returns=None if until is None else now.moment(until),
            last_day=None if played is None else practice_day(played, now.day_ends_at),
            returns_on=None if until is None else now.day_of(until),
            due=due,
        )
