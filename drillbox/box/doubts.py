"""Takes that may be mistakes: asked about before they are saved, found and taken back after.

What counts nowhere is told here as well: entries that make no sense, takes that wait for their
time.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from math import log2, sqrt
from typing import TYPE_CHECKING

from drillbox.base.now import day_name, epoch_days
from drillbox.base.wording import as_sentence, counted, listed
from drillbox.box.diary import take_view
from drillbox.errors import UnknownCardError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.base.now import Now
    from drillbox.box.beliefs import Beliefs
    from drillbox.box.catalogue import Catalogue
    from drillbox.box.first_tempi import FirstTempi
    from drillbox.box.take_views import TakeView
    from drillbox.memory import Belief
    from drillbox.store import Archive

FAR_SDS = 4.0
"""A tempo so many standard deviations off is asked about (assumption)."""
FAR_ABOVE, FAR_BELOW = 0.5, 1.25
"""And that many octaves: slow practice is usual, half the tempo is no mistake (assumption)."""
SET_BACK = timedelta(minutes=1)
"""A clock may be put right by less without a word."""
LONG_AWAY = timedelta(days=3 * 365)
"""More than this after the last take the clock is doubted (assumption)."""
SHORT_SECONDS = 10.0
"""A take that is shorter, and than one pass as well, is asked about (assumption)."""
LONG_FORGOTTEN_DAYS = 30
"""A take entered so many days later is asked about: the date may be mistyped (assumption)."""
FEWEST_LETTERS = 4
"""So much of a take's id is needed to mean it."""


@dataclass(frozen=True, slots=True)
class Uncounted:
    """What of the log counts nowhere.

    Parameters
    ----------
    unusable
        How many entries make no sense.
    waiting
        Takes dated more than a day later than now, which wait for their time.
    unreadable
        Why the rhythms of some cards cannot be read, by ``deck/slug``.
    passed_over
        Decks and cards whose rows make no sense, by their names there.
    """

    unusable: int
    waiting: tuple[TakeView, ...]
    unreadable: Mapping[str, str] = field(default_factory=dict)
    passed_over: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """One line that says so, or nothing where all counts."""
        parts = []
        if self.unusable:
            parts.append(f"{counted(self.unusable, 'entry', 'entries')} of the log cannot be used")
        if self.waiting:
            dated = "is" if len(self.waiting) == 1 else "are"
            parts.append(f"{counted(len(self.waiting), 'take')} {dated} dated later than now")
        if self.unreadable:
            first, *more = self.unreadable
            others = f" and {counted(len(more), 'more card')}" if more else ""
            parts.append(f"the rhythm of {first}{others} cannot be read")
        if self.passed_over:
            parts.append(f"{listed(self.passed_over, 1)} cannot be used")
        said = " and ".join(parts)
        return as_sentence(f"{said}: 'drillbox checkup' tells more") if said else ""


class Doubts:
    """What may be wrong with takes."""

    def __init__(
        self, archive: Archive, beliefs: Beliefs, first_tempi: FirstTempi, catalogue: Catalogue
    ) -> None:
        self._archive = archive
        self._catalogue = catalogue
        self._beliefs = beliefs
        self._first_tempi = first_tempi

    def left_out(self, now: Now) -> Uncounted:
        """Return what counts nowhere."""
        self._beliefs.refresh()
        until = self._beliefs.until
        waiting = [take for take in self._archive.takes(since=until) if take.at > until]
        views = tuple(take_view(take, now.day_ends_at, cold=False) for take in waiting)
        shelf = self._catalogue
        return Uncounted(self._beliefs.unusable, views, shelf.unreadable(), shelf.passed_over())

    def implausible(
        self,
        card_id: str,
        bpm: float,
        at: Now,
        *,
        entered: Now | None = None,
        seconds: float | None = None,
    ) -> str | None:
        """Return why a take to be saved may be a mistake, in a sentence, or None.

        Parameters
        ----------
        card_id, bpm, at
            The take.
        entered
            Now, of a take that was played earlier; None where it has just been played.
        seconds
            Its length, where that is known.
        """
        self._beliefs.refresh()
        odd = self.odd_moment(at) if entered is None else _odd_day(at, entered)
        return odd or self._odd_tempo(card_id, bpm, at) or self._odd_length(card_id, bpm, seconds)

    def _odd_length(self, card_id: str, bpm: float, seconds: float | None) -> str | None:
        one_pass = 60.0 * self._catalogue.entry(card_id).row.seconds60 / bpm
        if seconds is None or seconds >= min(one_pass, SHORT_SECONDS):
            return None
        return f"{seconds:g} s is no whole pass of this card: one lasts {one_pass:.1f} s."

    def odd_moment(self, now: Now) -> str | None:
        """Return why the clock may be wrong, in a sentence, or None."""
        self._beliefs.refresh()
        last = self._archive.last_moment(until=self._beliefs.until)
        if last is None:
            return None
        day = day_name(now.day_of(epoch_days(last)))
        if now.at < last - SET_BACK:
            return f"By the clock it is earlier than your last take, of {day}: is the clock right?"
        if now.at > last + LONG_AWAY:
            years = (now.at - last) // timedelta(days=365)
            return f"By the clock your last take is {years} years ago: is the clock right?"
        return None

    def _odd_tempo(self, card_id: str, bpm: float, now: Now) -> str | None:
        belief = self._expected(card_id)
        parameters = self._beliefs.parameters
        mean, variance = belief.cold(now.epoch_days, parameters)
        off, sd = log2(bpm) - mean, sqrt(variance + parameters.sigma**2)
        far = max(FAR_SDS * sd, FAR_ABOVE if off > 0 else FAR_BELOW)
        if abs(off) <= far:
            return None
        way = "above" if off > 0 else "below"
        return f"{bpm:g} bpm is far {way} the {2.0**mean:.0f} that are expected of this card."

    def _expected(self, card_id: str) -> Belief:
        known = self._beliefs.of(card_id)
        guess = None if known.takes else self._first_tempi.guesses([card_id]).get(card_id)
        if guess is None:
            return known
        return self._beliefs.guessed(bpm=guess.bpm, sd=guess.sd)

    def find(self, take_id: str, now: Now) -> TakeView:
        """Return the one take that an id, or its start, means; one taken back already, too.

        Raises
        ------
        UnknownCardError
            If no take, or more than one, is meant.
        """
        start = take_id.strip().lower()
        known = 0 < len(start) <= 32 and all(sign in "0123456789abcdef" for sign in start)
        found = self._archive.takes_starting(start) if known else []
        fix = "'drillbox card CARD' lists a card's takes with their ids"
        if not found:
            raise UnknownCardError(f"no take {take_id!r} in the box", fix=fix)
        if len(found) > 1 or len(start) < FEWEST_LETTERS:
            raise UnknownCardError(f"{take_id!r} may be more than one take", fix=fix)
        return take_view(found[0], now.day_ends_at, cold=False)


def _odd_day(at: Now, entered: Now) -> str | None:
    ago = entered.day - at.day
    if ago <= LONG_FORGOTTEN_DAYS:
        return None
    return f"{day_name(at.day)} {date.fromordinal(at.day).year} is {ago} days ago."
