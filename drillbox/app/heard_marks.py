"""A measured take as marks in the drawing of its pattern: early, late, missing, not to be told.

A mark stands in a stroke's head, so that the drawing stays where it is and the eye finds the place:
``«`` comes early, ``»`` late, ``Ø`` is missing, ``?`` cannot be told from this recording; a head
that stays as it was came as it should. Shapes say all of it. What is under the least that
listeners notice (`drillbox.ear.saying`) is no mark.

Conventions: places as written, in beats from the pattern's start; ms, negative early.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.rhythm import Part, Voice, strikes

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from drillbox.ear import Measurement, StrokeFact
    from drillbox.rhythm import Strike

EARLY, LATE, MISSING, UNTOLD, IN_PLACE = "«", "»", "Ø", "?", "•"
MARKS = frozenset({EARLY, LATE, MISSING, UNTOLD})
_OFTEN = 0.2
"""A stroke missing more often than this is marked as missing, as the remarks say it."""


@dataclass(frozen=True, slots=True)
class HeardMarks:
    """What a drawing shows of a take.

    Attributes
    ----------
    heads
        The mark of each stroke that has one, by place and voice.
    under
        Rows that are always shown, by name: how far off in ms, how often missing.
    passes
        Rows for a tall window: every pass, with a mark at each place.
    """

    heads: Mapping[tuple[Fraction, Voice], str]
    under: Mapping[str, Mapping[Fraction, str]]
    passes: Mapping[str, Mapping[Fraction, str]]


def heard_marks(measured: Measurement) -> HeardMarks:
    """Return the marks of a take."""
    from drillbox.ear.saying import noticed_ms  # noqa: PLC0415 - after a measured take only

    noticed, pattern = noticed_ms(measured), measured.asked.pattern
    one_pass = strikes(pattern, leading=measured.asked.leading)
    of_stroke: dict[tuple[Fraction, Voice], list[StrokeFact]] = defaultdict(list)
    of_pass: dict[int, dict[Fraction, list[StrokeFact]]] = defaultdict(lambda: defaultdict(list))
    for fact in measured.facts:
        turn, number = divmod(fact.expected.index, len(one_pass))
        at = pattern.strokes[one_pass[number].stroke].at
        if fact.expected.voice not in measured.absent:
            of_stroke[at, fact.expected.voice].append(fact)
            of_pass[turn][at].append(fact)
    usual = _usually_late(measured, one_pass)
    heads = {key: _mark(facts, usual.get(key), noticed) for key, facts in of_stroke.items()}
    off: dict[Fraction, float] = {}
    missed: dict[Fraction, int] = defaultdict(int)
    for (at, voice), facts in of_stroke.items():
        late = usual.get((at, voice))
        if late is not None and abs(late) >= abs(off.get(at, 0.0)):
            off[at] = late
        missed[at] += sum(fact.state == "missed" for fact in facts)
    under = {
        "off ms": {at: _signed(late) for at, late in off.items()},
        "missed": {at: str(count) for at, count in missed.items() if count},
    }
    return HeardMarks(
        heads={key: mark for key, mark in heads.items() if mark != IN_PLACE},
        under={name: row for name, row in under.items() if row},
        passes={
            f"pass {turn + 1}": {at: _worst(facts, noticed) for at, facts in places.items()}
            for turn, places in sorted(of_pass.items())
        },
    )


def _usually_late(
    measured: Measurement, one_pass: tuple[Strike, ...]
) -> dict[tuple[Fraction, Voice], float]:
    """Return how late each written stroke comes, as the remarks say it; by its first contact."""
    written = measured.asked.pattern.strokes
    known = {
        (partial.place, partial.voice): partial.mean_ms
        for partial in measured.numbers.partials
        if partial.mean_ms is not None
    }
    return {
        (written[strike.stroke].at, strike.voice): known[strike.at, strike.voice]
        for strike in one_pass
        if strike.part in {Part.STROKE, Part.BUZZ} and (strike.at, strike.voice) in known
    }


def _mark(facts: list[StrokeFact], late: float | None, noticed: float) -> str:
    """Return the mark of one stroke over some passes, that comes so late."""
    told = [fact for fact in facts if fact.state != "unheard"]
    if 2 * len(told) < len(facts):
        return UNTOLD
    missing = sum(fact.state == "missed" for fact in told)
    if missing > _OFTEN * len(told):
        return MISSING
    if late is None or abs(late) <= noticed:
        return IN_PLACE
    return EARLY if late < 0 else LATE


def _worst(facts: list[StrokeFact], noticed: float) -> str:
    """Return the gravest mark of what was struck together in one pass."""
    marks = {
        _mark([fact], fact.off_ms if fact.timed else None, noticed)
        for fact in facts
        if fact.expected.part is not Part.GRACE
    }
    return next((m for m in (MISSING, EARLY, LATE, IN_PLACE) if m in marks), UNTOLD)


def _signed(ms: float) -> str:
    return f"{round(ms):+d}" if round(ms) else "0"
