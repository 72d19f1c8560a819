"""First tempi of cards never played, guessed from those that were; and the tempo check.

What is counted in a rhythm (`drillbox.rhythm.facts`) places it among the others; the memory guesses
from there (`drillbox.memory.relatives`). Counting takes longer than reading, so the numbers are
kept in the box.

A guess holds until the card's first take. It is written into that take's measures, so a replay of
the log starts the card from the same expectation on any machine.
"""

from __future__ import annotations

from contextlib import suppress
from math import isclose
from typing import TYPE_CHECKING

from drillbox.box.legible import PLACED, RULES, counted_before, text_mark
from drillbox.errors import BoxError, NotSavedError
from drillbox.store import EXPECTED_BPM, EXPECTED_SD

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.box.beliefs import Beliefs
    from drillbox.box.catalogue import Catalogue
    from drillbox.memory.relatives import Guess
    from drillbox.store import Archive

CHECKED_CARDS = 12
"""A dozen cards fit a first day, and leave a mean error of about 15 % (docs/evidence.md)."""
RATE = 3
"""The place of half the strokes a second among the numbers of a rhythm."""
_CHUNK = 500

Numbers = tuple[float, ...]


class FirstTempi:
    """First tempi of unplayed cards, by what was played so far."""

    def __init__(self, archive: Archive, catalogue: Catalogue, beliefs: Beliefs) -> None:
        self._archive = archive
        self._catalogue = catalogue
        self._beliefs = beliefs
        self._numbers: dict[str, Numbers] = {}

    def guesses(self, wanted: Iterable[str]) -> dict[str, Guess]:
        """Return the first tempi to expect of these unplayed cards.

        None before anything was played.
        """
        import numpy as np  # noqa: PLC0415 - with the first plan, not before

        from drillbox.memory.relatives import guess_first_tempi  # noqa: PLC0415 - loads numpy

        wanted = list(wanted)
        if not wanted:
            return {}
        beliefs = {card: self._beliefs.of(card) for card in self._catalogue.entries()}
        played = [card for card, b in beliefs.items() if b.takes]
        if not played:
            return {}
        numbers = self._numbers_of((*played, *wanted))
        known = [beliefs[card] for card in played]
        at = np.array([numbers[card][:PLACED] for card in played])
        found: dict[str, Guess] = {}
        for first in range(0, len(wanted), _CHUNK):
            some = wanted[first : first + _CHUNK]
            new = np.array([numbers[card][:PLACED] for card in some])
            guessed = guess_first_tempi(known, at, new, self._beliefs.parameters)
            found.update(zip(some, guessed, strict=True))
        return found

    def strokes(self, wanted: Iterable[str]) -> dict[str, float]:
        """Return the strokes a second of each card's busier hand where it is busiest, at 80 bpm."""
        wanted = list(wanted)
        numbers = self._numbers_of(wanted)
        return {card: 2.0 * numbers[card][RATE] for card in wanted}

    def looks(self, wanted: Iterable[str]) -> dict[str, int]:
        """Return a number for all cards with ghosts at the same places; 0 where there are none."""
        wanted = list(wanted)
        numbers = self._numbers_of(wanted)
        return {card: int(numbers[card][PLACED]) for card in wanted}

    def expected(self, card_id: str) -> dict[str, float] | None:
        """Return what a card's first take writes down of what was expected.

        None for a card played before.

        Nothing is expected where the box cannot be read: whether the take is saved is for the log
        to say.
        """
        if self._beliefs.of(card_id).takes:
            return None
        guess = None
        with suppress(BoxError):
            guess = self.guesses([card_id]).get(card_id)
        return None if guess is None else {EXPECTED_BPM: guess.bpm, EXPECTED_SD: guess.sd}

    def most_telling(self) -> list[str]:
        """Return the cards whose first takes tell most about all the others, most telling first."""
        import numpy as np  # noqa: PLC0415 - with the first plan, not before

        from drillbox.memory.relatives import most_telling  # noqa: PLC0415 - loads numpy

        cards = [card for card, entry in self._catalogue.entries().items() if not entry.resting]
        if not cards:
            return []
        numbers = self._numbers_of(cards)
        chosen = most_telling(np.array([numbers[card][:PLACED] for card in cards]), CHECKED_CARDS)
        return [cards[index] for index in chosen]

    def wrong(self) -> tuple[str, ...]:
        """Return where the cards stand whose kept numbers are not what their rhythms count to."""
        kept = self._archive.features(RULES)
        return tuple(
            entry.places[0]
            for card_id, entry in self._catalogue.entries().items()
            if card_id in kept and not _same(kept[card_id], self._count(card_id))
        )

    def forget(self) -> None:
        """Throw away what was counted."""
        self._archive.drop_features()
        self._numbers = {}

    def _numbers_of(self, cards: Iterable[str]) -> dict[str, Numbers]:
        wanted = set(cards)
        if not wanted <= self._numbers.keys():
            self._numbers |= counted_before(self._archive)
        missing = {card: self._count(card) for card in wanted - self._numbers.keys()}
        if missing:
            self._numbers |= missing
            # Only a cache: a disk that refuses it must not keep anyone from practising.
            with suppress(NotSavedError):
                self._archive.put_features(missing, version=RULES)
        return self._numbers

    def _count(self, card_id: str) -> Numbers:
        """Return a rhythm's place among the others, the places of its ghosts, its text's mark.

        One unit is about what a player would notice (assumption).
        """
        # Only for cards not counted yet.
        from drillbox.rhythm import facts, parse, quiet_places  # noqa: PLC0415

        text = self._catalogue.entry(card_id).row.pattern
        pattern = parse(text)
        counted = facts(pattern)
        return (
            2.0 * counted.drums,
            2.0 * counted.off_time,
            counted.turns,
            3.5 * counted.load,
            counted.limb_sets / 2.0,
            float(counted.beats),
            counted.grid_changes,
            2.0 * counted.ornaments,
            sum(pattern.grids) / len(pattern.grids) / 2.0,
            float(sum(1 << tick for tick in quiet_places(pattern))),
            text_mark(text),
        )


def _same(kept: Numbers, counted: Numbers) -> bool:
    """Whether two counts of a rhythm agree.

    Two machines may round the last bits differently; the same rhythm may be spelt in two ways, so
    the mark of the text may differ.
    """
    return (
        len(kept) == len(counted)
        and kept[PLACED] == counted[PLACED]
        and all(
            isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)
            for one, other in zip(kept[:PLACED], counted[:PLACED], strict=True)
        )
    )
