"""What a box tells of its cards: how they stand, how they will if left alone, their goals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.box.lineage import lineage
from drillbox.box.parts import Parts

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from drillbox.box.catalogue import Entry
    from drillbox.box.views import CardOutlook, CardView, Lately


class AboutCards(Parts):
    """Cards: as they stand, as they will if left alone, and what the player wants of them."""

    @property
    def cards_in_box(self) -> int:
        """How many cards there are."""
        return len(self._catalogue.entries())

    @property
    def all_put_away(self) -> bool:
        """Whether there are decks, and every one of them is put away."""
        decks = {deck.id for deck in self.archive.decks()}
        return bool(decks) and decks <= self.archive.archived_decks()

    def entries(self) -> dict[str, Entry]:
        """Return the cards by id, in deck order, under the player's wishes."""
        return self._catalogue.entries()

    def families(self) -> dict[str, str]:
        """Return the family that each card is told under, by card id.

        A card of no family is told under the title of its first deck.
        """
        titles = {deck.id: deck.title for deck in self.archive.decks()}
        return {
            card_id: entry.row.family or titles[entry.deck_ids[0]]
            for card_id, entry in self.entries().items()
        }

    def cards(self, *, at: datetime) -> tuple[CardView, ...]:
        """Return every card, in deck order, as it stands at a moment."""
        return self._shelf.cards(self.now(at))

    def card(self, card_id: str, *, at: datetime) -> CardView:
        """Return one card as it stands at a moment."""
        return self._shelf.card(card_id, self.now(at))

    def lately(self, card_id: str) -> Lately:
        """Return a card's newest grades and its best cold take."""
        return self._shelf.lately(card_id)

    def title(self, card_id: str) -> str:
        """Return a card's title."""
        return self._catalogue.entry(card_id).row.title

    def find(self, text: str) -> str:
        """Return the id of the one card that `text` means.

        An id or its start, a slug, or a title.
        """
        return self._catalogue.find(text)

    def outlook(self, card_id: str, *, at: datetime) -> CardOutlook:
        """Return what is expected of a card at a moment."""
        return self._shelf.outlook(card_id, self.now(at))

    def slipping(self, card_id: str, *, at: datetime, days: int) -> tuple[float, ...]:
        """Return the cold tempo expected today and on each of the next days if it is left alone."""
        self._beliefs.refresh()
        belief, now = self._beliefs.of(card_id), self.now(at)
        moments = (now.on(now.day + day).epoch_days for day in range(days + 1))
        return tuple(2.0 ** belief.cold(one, self._beliefs.parameters)[0] for one in moments)

    def coming(self, *, at: datetime, days: int) -> tuple[CardView, ...]:
        """Return the cards that will slip under their goals within so many days, soonest first."""
        last = self.now(at).day + days
        held = [card for card in self.cards(at=at) if card.holds and card.returns]
        slipping = [card for card in held if card.returns_on and card.returns_on <= last]
        return tuple(sorted(slipping, key=lambda card: (card.returns, card.card_id)))

    def first_tempi(self, card_ids: Iterable[str]) -> dict[str, float]:
        """Return the tempos to expect of cards that were never played; none before any take."""
        guesses = self._first_tempi.guesses(card_ids)
        return {card_id: guess.bpm for card_id, guess in guesses.items()}

    def ancestors(self, card_id: str) -> tuple[str, ...]:
        """Return the rhythms whose place a card took in new editions, the last first."""
        links = lineage(card_id, self._beliefs.premises.links)
        return tuple(link.ancestor for link in links)

    def set_goal(self, card_id: str, *, bpm: float, at: datetime) -> None:
        """Give a card the player's own goal tempo."""
        self._catalogue.wish(card_id, at, goal_bpm=float(bpm))

    def rest(self, card_id: str, *, resting: bool, at: datetime) -> None:
        """Set a card aside, or wake it."""
        self._catalogue.wish(card_id, at, resting=resting)

    def shift_goals(self, deck_id: str, *, by: float, at: datetime) -> None:
        """Move the player's goal of every card of a deck by so many bpm."""
        self.goals.shift(deck_id, by=by, at=at)
