"""A measured take as plain values for programs: one JSON object, or one row of a table.

The names are those that `drillbox measure` prints and docs/ear.md explains.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.ear.saying import place_name, remarks

if TYPE_CHECKING:
    from drillbox.ear.measuring import Measurement
    from drillbox.ear.verdict import HandFact, PartialFact, StrokeFact

GRADE_NAMES = {2: "automatic", 1: "clean", 0: "steady", -1: "shaky", -2: "fell apart"}
TABLE = (
    "file",
    "bpm",
    "played_bpm",
    "passes",
    "expected",
    "heard",
    "missed",
    "unheard",
    "extra",
    "mean_ms",
    "spread_ms",
    "ghosts_ms",
    "contrast_db",
    "grade",
    "sure",
    "left_out",
)
"""Columns of the table."""


def take_values(measured: Measurement) -> dict[str, Any]:
    """Return everything about a take as JSON values."""
    numbers, proposal = measured.numbers, measured.proposal
    return {
        "start": _rounded(measured.asked.start, 4),
        "bpm": measured.asked.bpm,
        "passes": measured.asked.passes,
        "strokes": sorted(
            [_heard(fact) for fact in measured.facts if fact.at is not None]
            + [_extra(each.at, each.level_db) for each in measured.extra],
            key=lambda stroke: stroke["at"],
        ),
        "expected": [_expected(measured, fact) for fact in measured.facts],
        "missed": [f.expected.index for f in measured.facts if f.state == "missed"],
        "unheard": [f.expected.index for f in measured.facts if f.state == "unheard"],
        "extra": numbers.extra,
        "mean_ms": _rounded(numbers.mean_ms, 2),
        "spread_ms": _rounded(numbers.spread_ms, 2),
        "ghosts_ms": _rounded(numbers.ghosts_ms, 2),
        "contrast_db": _rounded(numbers.contrast_db, 1),
        "played_bpm": _rounded(numbers.bpm, 2),
        "bpm_by_bar": [_rounded(bpm, 2) for bpm in numbers.bpm_by_bar],
        "wander_ms": _rounded(numbers.wander_ms, 2),
        "beats_ms": [_rounded(ms, 2) for ms in numbers.beats_ms],
        "partials": [_partial(measured, partial) for partial in numbers.partials],
        "hands": [_hand(hand) for hand in numbers.hands],
        "grade": None if proposal.grade is None else GRADE_NAMES[proposal.grade],
        "sure": round(proposal.sure, 3),
        "because": proposal.because,
        "left_out": list(measured.left_out),
        "remarks": list(remarks(measured)),
    }


def table_row(name: str, measured: Measurement) -> dict[str, Any]:
    """Return a take as one row of `TABLE`."""
    values = take_values(measured)
    row = {key: values[key] for key in TABLE if key in values}
    row.update(
        file=name,
        expected=len(values["expected"]),
        heard=measured.numbers.heard,
        missed=len(values["missed"]),
        unheard=len(values["unheard"]),
        grade=values["grade"] or "",
        left_out="; ".join(values["left_out"]),
    )
    return {key: row[key] for key in TABLE}


def _expected(measured: Measurement, fact: StrokeFact) -> dict[str, Any]:
    stroke = fact.expected
    return {
        "index": stroke.index,
        "at": _rounded(measured.asked.start + stroke.seconds, 4),
        "place": place_name(measured.asked.pattern, stroke.place),
        "voice": stroke.voice.value,
        "level": stroke.level.value,
        "part": stroke.part.value,
        "state": fact.state,
    }


def _partial(measured: Measurement, partial: PartialFact) -> dict[str, Any]:
    return {
        "place": place_name(measured.asked.pattern, partial.place),
        "voice": partial.voice.value,
        "level": partial.level.value,
        "mean_ms": _rounded(partial.mean_ms, 2),
        "spread_ms": _rounded(partial.spread_ms, 2),
        "heard": partial.heard,
        "missed": partial.missed,
        "unheard": partial.unheard,
    }


def _hand(hand: HandFact) -> dict[str, Any]:
    return {
        "hand": hand.hand.value,
        "strokes": hand.strokes,
        "spread_ms": _rounded(hand.spread_ms, 2),
        "ghosts_spread_db": _rounded(hand.ghosts_spread_db, 1),
    }


def _heard(fact: StrokeFact) -> dict[str, Any]:
    return {
        "at": _rounded(fact.at, 5),
        "level_db": _rounded(fact.level_db, 1),
        "voice": fact.expected.voice.value,
        "expected": fact.expected.index,
        "offset_ms": _rounded(fact.offset_ms, 2),
        "timed": fact.timed,
    }


def _extra(at: float, level_db: float) -> dict[str, Any]:
    return {
        "at": _rounded(at, 5),
        "level_db": _rounded(level_db, 1),
        "voice": None,
        "expected": None,
        "offset_ms": None,
        "timed": False,
    }


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(float(value), places)
