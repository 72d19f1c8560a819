"""What the take log keeps of a measured take: little, versioned, and nothing that replay needs.

The JSON object and its fields are explained in docs/box-file.md. Reading is forgiving: what a later
version or another hand wrote, and what makes no sense, is no measure.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING, Any

from drillbox.ear.bands import Measures
from drillbox.ear.measuring import measures_of
from drillbox.ear.saying import place_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.ear.measuring import Measurement

VERSION = 1
_MOST_PARTIALS = 200


@dataclass(frozen=True, slots=True)
class LoggedPartial:
    """One place of the pattern in one take: how late (None: not timed), how often heard, missed."""

    name: str
    voice: str
    late_ms: float | None
    heard: int
    missed: int


@dataclass(frozen=True, slots=True)
class LoggedTake:
    """What the log holds of a measured take.

    Attributes
    ----------
    measures
        What the bands look at.
    bpm
        The tempo really played.
    proposed
        The grade that was proposed, -2 to 2, or None.
    partials
        Place by place.
    """

    measures: Measures
    bpm: float
    proposed: int | None
    partials: tuple[LoggedPartial, ...]


def log_values(measured: Measurement) -> dict[str, Any]:
    """Return what the log keeps of a take, as a JSON object."""
    numbers = measured.numbers
    told = [f for f in measured.facts if f.expected.voice.value not in measured.absent]
    measures = measures_of(numbers, told)
    return {
        "version": VERSION,
        "bpm": round(numbers.bpm, 2),
        "spread_ms": _rounded(measures.spread_ms),
        "wrong_percent": _rounded(measures.wrong_percent),
        "contrast_db": _rounded(measures.contrast_db),
        "ghosts_ms": _rounded(measures.ghosts_ms),
        "spacing_ms": _rounded(measures.spacing_ms),
        "unheard_share": round(measures.unheard_share, 3),
        "proposed": measured.proposal.grade,
        "partials": [
            [
                place_name(measured.asked.pattern, partial.place),
                partial.voice.value,
                _rounded(partial.mean_ms),
                partial.heard,
                partial.missed,
            ]
            for partial in numbers.partials[:_MOST_PARTIALS]
        ],
    }


def read_logged(value: Any) -> LoggedTake | None:
    """Return what the log holds of a take, or None where it holds nothing that can be read."""
    try:
        if value["version"] != VERSION:
            return None
        measures = Measures(
            _number(value, "spread_ms"),
            _number(value, "wrong_percent") or 0.0,
            _number(value, "contrast_db"),
            _number(value, "ghosts_ms"),
            _number(value, "spacing_ms") or 0.0,
            _number(value, "unheard_share") or 0.0,
        )
        proposed = value["proposed"]
        partials = tuple(
            LoggedPartial(
                str(name),
                str(voice),
                None if late is None else _finite(late),
                int(heard),
                int(missed),
            )
            for name, voice, late, heard, missed in value["partials"]
        )
        bpm = _finite(value["bpm"])
        return LoggedTake(measures, bpm, None if proposed is None else int(proposed), partials)
    except (KeyError, TypeError, ValueError, OverflowError):
        return None


def _number(value: Mapping[str, Any], name: str) -> float | None:
    return None if value[name] is None else _finite(value[name])


def _finite(value: Any) -> float:
    number = float(value)
    if not isfinite(number):
        raise ValueError
    return number


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(float(value), 2)
