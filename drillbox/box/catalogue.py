"""Which cards the box holds, once each: the decks' rows under the player's own wishes.

The same rhythm in two decks is one card with one history. The deck that was added first names it,
the highest of the decks' goals and importances holds for it, and the player's own stand above every
deck's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from drillbox.base.wording import did_you_mean, listed
from drillbox.box.dues import Due
from drillbox.box.legible import Legible
from drillbox.box.setting_kinds import REPLY
from drillbox.errors import UnknownCardError
from drillbox.store import Wish

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from datetime import datetime

    from drillbox.box.views import DeckChange
    from drillbox.deckfile import Deck
    from drillbox.store import Archive, CardRow
    from drillbox.studio.reply_files import Reply, Wanted

ASSIGNMENT = "assignment"
"""A deck text without this word asks for nothing by any day."""
_PACE = re.compile(r"^[ \t]*pace[ \t]*=[ \t]*([0-9]{1,2})\b", re.MULTILINE)
_KEEP = re.compile(r"^[ \t]*keep[ \t]*=[ \t]*true\b", re.MULTILINE)
SHORTEST_START = 4
"""So many letters of a card's id are enough to mean it."""
_MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Entry:
    """One card of the box."""

    row: CardRow
    order: int
    deck_ids: tuple[str, ...]
    slugs: tuple[str, ...]
    goal_bpm: float
    deck_goal_bpm: float
    importance: float
    resting: bool
    pace: int | None = None
    """New cards a day that its decks ask for, the fewest; None where none says."""

    keeping: frozenset[str] = frozenset()
    """Those of its decks that say that their cards are to be kept at their goals."""

    @property
    def places(self) -> tuple[str, ...]:
        """Where it stands, as ``deck/slug``."""
        return tuple(f"{d}/{s}" for d, s in zip(self.deck_ids, self.slugs, strict=True))

    @property
    def names(self) -> frozenset[str]:
        """All it may be called by, in lower case."""
        return frozenset((self.row.card_id, self.row.title.casefold(), *self.slugs, *self.places))


class Catalogue:
    """The cards by id, read when first needed and again after `forget`."""

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        self._legible = Legible(archive)
        self._unreadable: dict[str, str] = {}
        self._passed_over: tuple[str, ...] = ()
        self._entries: dict[str, Entry] | None = None
        self._dues: dict[str, tuple[Due, ...]] | None = None
        self._seen = archive.changes_elsewhere()

    def entries(self) -> dict[str, Entry]:
        """Return every card by its id, in deck order."""
        seen = self._archive.changes_elsewhere()
        if self._entries is None or seen != self._seen:
            self._entries, self._dues, self._seen = self._read(), None, seen
        return self._entries

    def unreadable(self) -> dict[str, str]:
        """Return why the rhythms of the cards that are passed over cannot be read, by place."""
        self.entries()
        return self._unreadable

    def passed_over(self) -> tuple[str, ...]:
        """Return the decks and cards whose rows make no sense, each by its table and name there."""
        self.entries()
        return self._passed_over

    def forget(self) -> None:
        """Read again at the next question."""
        self._entries = None

    def due(self, card_id: str, *, day: int) -> Due | None:
        """Return what is asked of a card next: the nearest day that has not passed, or None.

        Parameters
        ----------
        card_id
            The card.
        day
            Today's practice day.
        """
        return self.asked(day).get(card_id)

    def asked(self, day: int) -> dict[str, Due]:
        """Return what is asked next of every card of which anything is asked, by card id."""
        entries = self.entries()
        if self._dues is None:
            self._dues = self._read_dues(entries)
        ahead = {
            card_id: [due for due in dues if due.by.toordinal() >= day]
            for card_id, dues in self._dues.items()
        }
        return {
            card_id: min(dues, key=lambda due: (due.by, -due.goal_bpm))
            for card_id, dues in ahead.items()
            if dues
        }

    def entry(self, card_id: str) -> Entry:
        """Return one card."""
        try:
            return self.entries()[card_id]
        except KeyError:
            raise UnknownCardError(
                f"no card {card_id!r} in the box", fix="'drillbox cards' lists the cards"
            ) from None

    def find(self, text: str) -> str:
        """Return the id of the one card that `text` means: an id or its start, a slug, or a title.

        Raises
        ------
        UnknownCardError
            If no card, or more than one, is meant.
        """
        wanted = text.strip().casefold()
        entries = self.entries()
        found = [card_id for card_id, entry in entries.items() if wanted in entry.names]
        if not found and len(wanted) >= SHORTEST_START:
            found = [card_id for card_id in entries if card_id.startswith(wanted)]
        if len(found) == 1:
            return found[0]
        if found:
            places = ", ".join(entries[card_id].places[0] for card_id in found[:4])
            raise UnknownCardError(f"{text!r} is more than one card", fix=f"say which: {places}")
        for place in self._unreadable:
            if wanted in {place.casefold(), place.casefold().rpartition("/")[2]}:
                fix = "'drillbox checkup' tells more"
                raise UnknownCardError(f"the rhythm of {place} cannot be read", fix=fix)
        raise UnknownCardError(f"no card {text!r} in the box", fix=_hint(wanted, entries.values()))

    def wish(
        self,
        card_id: str,
        at: datetime,
        *,
        goal_bpm: float | None = None,
        resting: bool | None = None,
    ) -> None:
        """Store what the player wants of a card; None leaves a wish as it was."""
        self.entry(card_id)
        old = self._archive.wishes().get(card_id) or Wish(card_id, None, None, resting=False, at=at)
        self._archive.put_wish(
            replace(
                old,
                goal_bpm=self._goal_wished(card_id, old) if goal_bpm is None else goal_bpm,
                resting=old.resting if resting is None else resting,
                at=at,
            )
        )
        self.forget()

    def take_in(self, reply: Reply, at: datetime) -> bool:
        """Keep a teacher's reply; return whether it is new."""
        from drillbox.box.replies import take_in  # noqa: PLC0415 - few boxes have any

        new = take_in(self._archive, reply, at)
        self.forget()
        return new

    def replies(self) -> tuple[Reply, ...]:
        """Return the teachers' replies, the latest last."""
        settings = self._archive.settings()
        if not any(key.startswith(REPLY) for key in settings):
            return ()
        from drillbox.box.replies import replies_in  # noqa: PLC0415 - few boxes have any

        return replies_in(settings)

    def asked_ever(self, deck_ids: Collection[str]) -> dict[str, tuple[Due, ...]]:
        """Return all that some decks, and replies, ever asked of cards, by card id."""
        return self._read_dues(self.entries(), deck_ids)

    def wish_goal(self, card_id: str, at: datetime, *, goal_bpm: float | None) -> None:
        """Store the player's own goal for a card; None takes up the deck's again."""
        self.entry(card_id)
        old = self._archive.wishes().get(card_id) or Wish(card_id, None, None, resting=False, at=at)
        self._archive.put_wish(replace(old, goal_bpm=goal_bpm, at=at))
        self.forget()

    def put_deck(self, deck: Deck, at: datetime, *, older: bool) -> DeckChange:
        """Add a deck or its new edition; say which goals of other decks' cards it raises."""
        from drillbox.box.editions import put_edition  # noqa: PLC0415 - a plan changes no deck
        from drillbox.box.goals import GoalChange  # noqa: PLC0415

        others = {key: one for key, one in self.entries().items() if deck.id not in one.deck_ids}
        change = put_edition(self._archive, deck, at, older=older)
        self.forget()
        now = self.entries()
        raised = tuple(
            GoalChange(key, one.row.title, one.goal_bpm, now[key].goal_bpm)
            for key, one in others.items()
            if key in now and now[key].goal_bpm > one.goal_bpm
        )
        return replace(change, raised=raised)

    def archive_deck(self, deck_id: str, *, archived: bool) -> None:
        """Put a deck away, or take it out again."""
        self._archive.archive_deck(deck_id, archived=archived)
        self.forget()

    def remove_deck(self, deck_id: str) -> None:
        """Take a deck out."""
        self._archive.remove_deck(deck_id)
        self.forget()

    def _read(self) -> dict[str, Entry]:
        wishes = self._archive.wishes()
        given = _given(self.replies())
        rows: dict[str, list[CardRow]] = {}
        away = self._archive.archived_decks()
        decks, cards, wrong = self._archive.shelf()
        self._passed_over = tuple(f"{row.table} {row.key}" for row in wrong)
        here = [row for row in cards if row.deck_id not in away]
        legible, self._unreadable = self._legible.rows(here)
        for row in legible:
            rows.setdefault(row.card_id, []).append(row)
        heads = {deck.id: deck.text.partition("\n[[")[0] for deck in decks}
        paces, keeping = _paces(heads), _keeping(heads)
        entries = {}
        for order, (card_id, same) in enumerate(rows.items()):
            first, wish = same[0], wishes.get(card_id)
            entries[card_id] = Entry(
                row=first,
                order=order,
                deck_ids=tuple(row.deck_id for row in same),
                slugs=tuple(row.slug for row in same),
                goal_bpm=_goal(wish, given.get(card_id)) or max(row.goal_bpm for row in same),
                deck_goal_bpm=max(row.goal_bpm for row in same),
                importance=(wish and wish.importance) or max(row.importance for row in same),
                resting=bool(wish and wish.resting),
                pace=min((paces[r.deck_id] for r in same if r.deck_id in paces), default=None),
                keeping=keeping.intersection(row.deck_id for row in same),
            )
        return entries

    def _read_dues(
        self, entries: dict[str, Entry], deck_ids: Collection[str] | None = None
    ) -> dict[str, tuple[Due, ...]]:
        """Return what is asked of each card by some decks, or by all, and by replies."""
        decks = [d for d in self._archive.decks() if deck_ids is None or d.id in deck_ids]
        asking = {deck.id: deck.text for deck in decks if ASSIGNMENT in deck.text}
        wanted = _wanted(self.replies())
        if not asking and not wanted:
            return {}
        from drillbox.deckfile import assignments_in  # noqa: PLC0415 - few decks have any

        asked = {deck_id: assignments_in(text) for deck_id, text in asking.items()}
        wishes = self._archive.wishes()
        found = {}
        for card_id, entry in entries.items():
            wish = wishes.get(card_id)
            own = wish.goal_bpm if wish else None
            dues = [
                Due(one.by, own or one.goal_bpm or entry.goal_bpm)
                for deck_id, slug in zip(entry.deck_ids, entry.slugs, strict=True)
                for one in asked.get(deck_id, ())
                if one.means(slug)
            ]
            dues += [
                Due(one.by, one.goal_bpm or entry.goal_bpm, at)
                for one, at in wanted.get(card_id, ())
            ]
            found[card_id] = tuple(dues)
        return found

    def _goal_wished(self, card_id: str, old: Wish) -> float | None:
        """Return the goal to keep when something else of a wish changes.

        A teacher's goal that stands over the player's own is written down, for the wish is dated
        anew.
        """
        return _goal(old, _given(self.replies()).get(card_id))


def _keeping(heads: Mapping[str, str]) -> frozenset[str]:
    """Return the decks whose head says `keep = true`; read as a pace is."""
    return frozenset(deck_id for deck_id, head in heads.items() if _KEEP.search(head))


def _paces(heads: Mapping[str, str]) -> dict[str, int]:
    """Return the new cards a day of each deck that names a number.

    Its text was read without complaint when the deck was added, so the key stands in the head; the
    whole reader would take longer than the plan.
    """
    found = {deck_id: _PACE.search(head) for deck_id, head in heads.items()}
    return {deck_id: int(pace[1]) for deck_id, pace in found.items() if pace}


def _given(replies: tuple[Reply, ...]) -> dict[str, tuple[float, datetime]]:
    """Return the goals that replies give, and when, by card id."""
    if not replies:
        return {}
    from drillbox.box.replies import goals_of  # noqa: PLC0415 - few boxes have any

    return {card: (goal.goal_bpm, at) for card, (goal, at) in goals_of(replies).items()}


def _wanted(replies: tuple[Reply, ...]) -> dict[str, list[tuple[Wanted, datetime]]]:
    """Return what replies want of cards by a day, and when each was written, by card id."""
    if not replies:
        return {}
    from drillbox.box.replies import wanted_of  # noqa: PLC0415 - few boxes have any

    return wanted_of(replies)


def _goal(wish: Wish | None, given: tuple[float, datetime] | None) -> float | None:
    """Return the later word of player and teacher on a card's goal, or None."""
    own = wish.goal_bpm if wish else None
    if given is None or (own is not None and wish is not None and wish.at > given[1]):
        return own
    return given[0]


def _hint(wanted: str, entries: Collection[Entry]) -> str:
    """Return which cards a text may mean: those with all its words, else one spelt nearly so."""
    words = wanted.split()
    titles = [entry.row.title for entry in entries]
    some = [title for title in titles if words and all(one in title.casefold() for one in words)]
    if len(some) == 1:
        return f"did you mean {some[0]!r}?"
    if some:
        return f"say which: {listed([repr(title) for title in some], _MOST_NAMED)}"
    names = [name for entry in entries for name in entry.names]
    return did_you_mean(wanted, names, otherwise="'drillbox cards' lists the cards")
