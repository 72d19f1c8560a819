"""The box file as the rest of drillbox sees it: rows in, rows out, nothing of SQL.

`Archive` is a list of one-line delegations, in three files: the open file (`archive_file`), its
take log (`archive_log`), and here what else it keeps. The work is in `takelog`, `decks_and_wishes`,
`belief_cache`, `features` and `backups`. What returns without an error is on disk. Reading never
writes to the file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.store import belief_cache, decks_and_wishes, features
from drillbox.store.archive_log import ArchiveLog
from drillbox.store.rows import BeliefCache, BeliefRow, CardRow, DeckRow, Setting, Standing, Wish

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import datetime

    from drillbox.store.guard import Unusable


class Archive(ArchiveLog):
    """An open box file. Make one with `Archive.open`; one per thread."""

    # Decks, wishes, settings

    def put_deck(self, deck: DeckRow, cards: Sequence[CardRow]) -> None:
        """Put a deck and its cards in the place of the deck with this id."""
        decks_and_wishes.check_deck(deck, cards)
        with self._writing() as db:
            decks_and_wishes.put_deck(db, deck, cards)

    def remove_deck(self, deck_id: str) -> None:
        """Take a deck and its cards out; the takes stay."""
        with self._writing() as db:
            decks_and_wishes.remove_deck(db, deck_id)

    def archive_deck(self, deck_id: str, *, archived: bool) -> None:
        """Put a deck away, or take it out again; its cards and takes stay."""
        with self._writing() as db:
            decks_and_wishes.archive_deck(db, deck_id, archived=archived)

    def archived_decks(self) -> frozenset[str]:
        """Return the decks that are put away."""
        with self._box.reading() as db:
            return decks_and_wishes.archived_decks(db)

    def decks(self) -> list[DeckRow]:
        """Return the decks in the order they were added."""
        with self._box.reading() as db:
            return decks_and_wishes.decks(db)

    def cards(self) -> list[CardRow]:
        """Return the cards of all decks, in their decks' order."""
        with self._box.reading() as db:
            return decks_and_wishes.cards(db)

    def shelf(self) -> tuple[list[DeckRow], list[CardRow], list[Unusable]]:
        """Return all decks, all their cards, and which rows of either are passed over."""
        with self._box.reading() as db:
            return decks_and_wishes.shelf(db)

    def unusable_rows(self) -> list[Unusable]:
        """Return the rows of decks, cards, wishes and settings that cannot be used."""
        with self._box.reading() as db:
            return decks_and_wishes.unusable(db)

    def take_out_unusable(self, *, reads: Callable[[str], bool]) -> tuple[int, list[str]]:
        """Take those rows out; return how many, and the texts of decks to be put in again.

        Decks and their cards only where `reads` says that the deck's text can be read.
        """
        with self._writing() as db:
            return decks_and_wishes.take_out_unusable(db, reads=reads)

    def drop_settings(self, keys: Sequence[str]) -> None:
        """Take settings out, so that what is usual holds."""
        with self._writing() as db:
            decks_and_wishes.drop_settings(db, keys)

    def put_wish(self, wish: Wish) -> None:
        """Put a wish in the place of the card's earlier one, and date it after that one."""
        with self._writing() as db:
            decks_and_wishes.change_wish(db, wish)

    def wishes(self) -> dict[str, Wish]:
        """Return the player's wishes by card id."""
        with self._box.reading() as db:
            return decks_and_wishes.wishes(db)

    def put_setting(self, key: str, value: Any, at: datetime) -> None:
        """Store a setting, any JSON value, and date it after the one before."""
        setting = Setting(key, value, at)
        with self._writing() as db:
            decks_and_wishes.change_setting(db, setting)

    def setting(self, key: str) -> Any:
        """Return the value of a setting, or None."""
        found = self.settings().get(key)
        return None if found is None else found.value

    def settings(self) -> dict[str, Setting]:
        """Return the settings by key."""
        with self._box.reading() as db:
            return decks_and_wishes.settings(db)

    # The cache of what follows from the log

    def beliefs(self, version: str) -> BeliefCache | None:
        """Return what was stored by these premises; by others, None."""
        with self._box.reading() as db:
            return belief_cache.read(db, version)

    def courses(self, card_id: str | None = None) -> dict[str, bytes]:
        """Return the stored days of all cards, or of one, by card id."""
        with self._box.reading() as db:
            return belief_cache.courses(db, card_id)

    def put_beliefs(
        self, rows: Iterable[BeliefRow], *, since: Standing | None, now: Standing
    ) -> None:
        """Store what follows for the cards that changed after `since`; None for all there are.

        It is stored only where it completes the cache: if that stands at `since`, or of all cards.
        """
        with self._caching() as db:
            belief_cache.put(db, rows, since=since, now=now)

    def drop_beliefs(self) -> None:
        """Throw the cache of beliefs away."""
        with self._caching() as db:
            belief_cache.drop(db)

    # What is counted in each rhythm

    def features(self, version: str) -> dict[str, tuple[float, ...]]:
        """Return what was counted in each rhythm by these rules, by card id."""
        with self._box.reading() as db:
            return features.read(db, version)

    def put_features(self, found: Mapping[str, tuple[float, ...]], *, version: str) -> None:
        """Store what was counted in rhythms."""
        with self._caching() as db:
            features.put(db, found, version=version)

    def drop_features(self) -> None:
        """Throw away what was counted in rhythms."""
        with self._caching() as db:
            features.drop(db)
