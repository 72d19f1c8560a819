"""A card's history by practice days: what looking back needs of it, kept beside the beliefs.

A row sums up the takes of one card on one day, and what was believed after them, so that a year can
be drawn without a replay. Rows follow from the history alone, in its order. Of a card that took
another rhythm's place, the rows of that rhythm up to then come first.

A row is plain doubles, kept as little-endian IEEE 754; `DayRow` names them in their order. NaN
stands where there is nothing to say.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from datetime import date
from math import isfinite, isinf, nan
from typing import TYPE_CHECKING, Any, NamedTuple

from drillbox.memory import outlook

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import numpy as np
    from numpy.typing import NDArray

    from drillbox.box.history import Step
    from drillbox.memory import Parameters

    Floats = NDArray[np.float64]
    Numbers = NDArray[np.float64] | NDArray[np.int64]


class DayRow(NamedTuple):
    """One practice day of one card.

    Parameters
    ----------
    day
        The practice day, an ordinal.
    own
        1 if this rhythm was played, 0 if one whose place it took later; each has rows of its own.
    takes, seconds
        How many takes, and how long they were together.
    at
        The moment of the last of them, days since the epoch.
    mu, ln_s
        What was believed after it: peak cold tempo in octaves, logarithm of the stability.
    apart
        The chance that the card had still not come together after it, so that it had no tempo.
    cold_bpm, cold_grade
        The day's first take, where it was cold.
    told
        The chance of at least steady that was believed before that take; NaN for a card's very
        first.
    """

    day: float
    own: float
    takes: float
    seconds: float
    at: float
    mu: float
    ln_s: float
    apart: float
    cold_bpm: float = nan
    cold_grade: float = nan
    told: float = nan


class DayColumns(NamedTuple):
    """Rows as columns; see `DayRow`."""

    day: Numbers
    own: Floats
    takes: Numbers
    seconds: Floats
    at: Floats
    mu: Floats
    ln_s: Floats
    apart: Floats
    cold_bpm: Floats
    cold_grade: Floats
    told: Floats


LAYOUT = "2"
"""Raised with every change of what a row holds: rows of another layout are computed anew."""
WIDTH = len(DayRow._fields)
_BYTES = 8 * WIDTH
_TOLD_OF_ALL = DayRow._fields.index("cold_bpm")
"""So many columns are told of every day; the others may be NaN."""
LAST_DAY = date.max.toordinal()
"""31 December 9999, the last day that has a date."""
FEW = 12
"""So many cards' rows are looked at one by one, without loading numpy, and more in columns."""


def rows_of(steps: Iterable[Step], card_id: str, parameters: Parameters) -> list[DayRow]:
    """Return the rows of a card's history, its ancestors' steps included."""
    rows: list[DayRow] = []
    before = None
    for step in steps:
        now = (step.take.card_id, step.seen.day)
        if now == before:
            rows[-1] = _longer(rows[-1], step)
        else:
            rows.append(_new(step, float(step.take.card_id == card_id), parameters))
        before = now
    return rows


def with_step(body: bytes, step: Step, parameters: Parameters) -> bytes:
    """Return a card's packed rows after one more take of its own."""
    last = unpacked(body[-_BYTES:])
    if last and (last[0].day, last[0].own) == (step.seen.day, 1.0):
        return body[:-_BYTES] + packed([_longer(last[0], step)])
    return body + packed([_new(step, 1.0, parameters)])


def packed(rows: Iterable[DayRow]) -> bytes:
    """Return rows as bytes."""
    return b"".join(struct.pack(f"<{WIDTH}d", *row) for row in rows)


def unpacked(body: bytes) -> list[DayRow]:
    """Return the rows that `packed` wrote."""
    return [DayRow(*numbers) for numbers in struct.iter_unpack(f"<{WIDTH}d", body)]


@dataclass(frozen=True, slots=True)
class Days:
    """The days of many cards, as columns: card by card, and of a card in order of time.

    Parameters
    ----------
    cards
        The card ids.
    card
        For each row, the index of its card.
    rows
        The columns of the rows.
    """

    cards: tuple[str, ...]
    card: NDArray[np.int64]
    rows: DayColumns

    @classmethod
    def of(cls, bodies: Mapping[str, bytes]) -> Days:
        """Return the packed rows of some cards as columns."""
        import numpy as np  # noqa: PLC0415 - only for looking back

        lengths = [len(body) // _BYTES for body in bodies.values()]
        numbers = np.frombuffer(b"".join(bodies.values()), "<f8").reshape(-1, WIDTH)
        columns = [np.ascontiguousarray(column) for column in numbers.T]
        return cls(tuple(bodies), np.repeat(np.arange(len(lengths)), lengths), DayColumns(*columns))

    def together(self) -> Days:
        """Return the days after which a card had come together; before them it has no tempo."""
        chosen = self.rows.apart == 0.0
        columns: list[Any] = [column[chosen] for column in self.rows]
        return Days(self.cards, self.card[chosen], DayColumns(*columns))

    def between(self, start: int, end: int) -> DayColumns:
        """Return some of the rows, those of one card for example."""
        columns: list[Any] = [column[start:end] for column in self.rows]
        return DayColumns(*columns)


def is_sound(body: bytes) -> bool:
    """Return whether bytes can be packed rows: whole ones, of days there are, with finite numbers.

    They may have been changed by another program.
    """
    if len(body) % _BYTES:
        return False
    return all(
        1 <= row.day <= LAST_DAY
        and all(map(isfinite, row[:_TOLD_OF_ALL]))
        and not any(map(isinf, row[_TOLD_OF_ALL:]))
        for row in unpacked(body)
    )


def unsound(bodies: Mapping[str, bytes]) -> frozenset[str]:
    """Return the cards whose bytes cannot be packed rows, as `is_sound` says of one."""
    if len(bodies) <= FEW:
        return frozenset(card_id for card_id, body in bodies.items() if not is_sound(body))
    import numpy as np  # noqa: PLC0415 - only for looking back

    whole = {card_id: body for card_id, body in bodies.items() if not len(body) % _BYTES}
    rows = np.frombuffer(b"".join(whole.values()), "<f8").reshape(-1, WIDTH)
    right = (rows[:, 0] >= 1) & (rows[:, 0] <= LAST_DAY)
    right &= np.isfinite(rows[:, :_TOLD_OF_ALL]).all(axis=1)
    right &= ~np.isinf(rows[:, _TOLD_OF_ALL:]).any(axis=1)
    wrong = np.flatnonzero(~right)
    ends = np.cumsum([len(body) // _BYTES for body in whole.values()])
    named = list(whole)
    of = {named[place] for place in np.searchsorted(ends, wrong, "right").tolist()}
    return frozenset(bodies.keys() - whole.keys() | of)


def _longer(row: DayRow, step: Step) -> DayRow:
    return row._replace(
        takes=row.takes + 1,
        seconds=row.seconds + step.take.seconds,
        at=step.seen.at,
        mu=step.after.mu,
        ln_s=step.after.ln_s,
        apart=step.after.apart,
    )


def _new(step: Step, own: float, parameters: Parameters) -> DayRow:
    seen, after = step.seen, step.after
    row = DayRow(seen.day, own, 1, step.take.seconds, seen.at, after.mu, after.ln_s, after.apart)
    if not step.cold:
        return row
    row = row._replace(cold_bpm=seen.bpm, cold_grade=float(seen.grade))
    if not step.before.takes:
        return row
    told = outlook(step.before, seen.at, parameters, hold_bpm=seen.bpm).p_hold
    return row._replace(told=told)
