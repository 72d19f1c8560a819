"""What a box tells of its decks and of a teacher's replies, and how both change."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from drillbox.base.clock import SystemClock
from drillbox.base.now import epoch_days, require_moment
from drillbox.box.dues import Kept
from drillbox.box.parts import Parts

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime
    from pathlib import Path

    from drillbox.box.dues import Due
    from drillbox.box.replies import TeacherNote
    from drillbox.box.views import DeckChange, DeckView
    from drillbox.deckfile import Deck
    from drillbox.studio.reply_files import Reply


class AboutDecks(Parts):
    """Adding, changing and putting away decks; taking in replies."""

    def add_deck(
        self, path: str | Path, *, at: datetime | None = None, older: bool = False
    ) -> DeckChange:
        """Add the deck file at `path`, or its new edition, and return what that changed.

        Raises
        ------
        DeckError
            If the file cannot be used, or is an edition older than the one in the box and `older`
            does not ask for it; the box is as it was.
        """
        from drillbox.deckfile import read  # noqa: PLC0415 - a plan needs no deck files

        return self.put_deck(read(path), at=at or SystemClock().now(), older=older)

    def put_deck(self, deck: Deck, *, at: datetime, older: bool = False) -> DeckChange:
        """Add a deck that was read already, or its new edition."""
        return self._catalogue.put_deck(deck, require_moment(at), older=older)

    def remove_deck(self, deck_id: str) -> None:
        """Take a deck out; its takes stay, and count again when the rhythms come back."""
        self._catalogue.remove_deck(deck_id)

    def archive_deck(self, deck_id: str, *, archived: bool) -> None:
        """Put a deck away, its cards on no shelf and in no plan, or take it out again."""
        self._catalogue.archive_deck(deck_id, archived=archived)

    def decks(self, at: datetime) -> tuple[DeckView, ...]:
        """Return the decks in the order they were added."""
        return self._shelf.decks(self.now(at))

    def deck_titles(self) -> dict[str, str]:
        """Return the titles of the decks, by id."""
        return {deck.id: deck.title for deck in self.archive.decks()}

    def take_in(self, reply: Reply, *, at: datetime) -> bool:
        """Take a teacher's reply in; return whether it is new.

        Raises
        ------
        ReplyError
            It is for another student.
        """
        return self._catalogue.take_in(reply, require_moment(at))

    def replies(self) -> tuple[Reply, ...]:
        """Return the replies that were taken in, the latest last."""
        return self._catalogue.replies()

    def notes(self, *, at: datetime) -> tuple[TeacherNote, ...]:
        """Return the teacher's word that stands at a moment, for Today; often none."""
        replies = self.replies()
        if not replies:
            return ()
        from drillbox.box.replies import notes_at  # noqa: PLC0415 - few boxes have any

        return notes_at(replies, self.now(at))

    def still_asked(self, *, at: datetime) -> tuple[Due, ...]:
        """Return what is asked of each card next and is not met yet, in the plan or not."""
        return self._shelf.still_asked(self.now(at))

    def asked_ever(self, deck_ids: Collection[str]) -> dict[str, tuple[Due, ...]]:
        """Return all that some decks, and replies, ever asked of cards, by card id."""
        return self._catalogue.asked_ever(deck_ids)

    def assignments(self, card_id: str, *, at: datetime) -> tuple[Kept, ...]:
        """Return what was ever asked of a card by a day, the earliest first, and what became of it.

        Raises
        ------
        UnknownCardError
            If no deck has the card.
        """
        entry, now = self._catalogue.entry(card_id), self.now(at)
        dues = self.asked_ever(entry.deck_ids).get(card_id, ())
        card = self._shelf.card(card_id, now)
        found = []
        for due in sorted(set(dues), key=lambda due: (due.by, due.goal_bpm)):
            since = now.day_of(epoch_days(due.given)) if due.given else 0
            day = self._beliefs.first_day_at(card_id, due.goal_bpm, since=since)
            reached = None if day is None else date.fromordinal(day)
            found.append(
                Kept.of(due, reached=reached, now=now, stands=card.stands_at(due.goal_bpm))
            )
        return tuple(found)
