"""A take measured: from samples to strokes, numbers and a proposed grade. A pure function.

Conventions: seconds of the recording, dB of full scale, milliseconds; negative is early.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.wording import counted
from drillbox.ear.absent_voices import absent_voices
from drillbox.ear.bands import (
    LEAST_BARS,
    LEAST_FOUND,
    LOUDEST_NOISE_DB,
    MOST_UNHEARD,
    USUAL_CUTS,
    Measures,
    Proposal,
    propose,
)
from drillbox.ear.clicks import remove_click
from drillbox.ear.deciding import HEARD, MISSED, decide
from drillbox.ear.energies import spectrum
from drillbox.ear.expected import expected_strokes
from drillbox.ear.extras import extra_strokes
from drillbox.ear.fine_timing import fine_times
from drillbox.ear.hearing import hear
from drillbox.ear.loudness import above_rumble, noise_level, stroke_levels
from drillbox.ear.mains import without_hum
from drillbox.ear.slots import kind_of, slots_of
from drillbox.ear.verdict import StrokeFact, Verdict, course, verdict
from drillbox.errors import UsageError
from drillbox.rhythm import Hand, Part

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from drillbox.ear.aligning import TempoMap
    from drillbox.ear.clicks import Declicked
    from drillbox.ear.deciding import Findings
    from drillbox.ear.energies import Samples
    from drillbox.ear.expected import Expected
    from drillbox.ear.looks import Floats
    from drillbox.ear.slots import Slots
    from drillbox.rhythm import Pattern

MARGIN_SECONDS = 1.5
"""Of a recording no more than this is looked at before the first beat and after the last."""
LONGEST_SECONDS = 900.0


@dataclass(frozen=True, slots=True)
class AskedTake:
    """What was to be played.

    Attributes
    ----------
    pattern, bpm, passes
        The pattern, its nominal tempo, how often it is played in a row.
    start
        Seconds of the recording at which its first beat nominally falls.
    leading
        The player's leading hand.
    """

    pattern: Pattern
    bpm: float
    passes: int
    start: float
    leading: Hand = Hand.RIGHT

    @property
    def seconds(self) -> float:
        """How long the take nominally lasts."""
        return self.passes * self.pattern.seconds(self.bpm)

    @property
    def bars(self) -> int:
        """How many bars it has."""
        return self.passes * self.pattern.bars


@dataclass(frozen=True, slots=True)
class ExtraStroke:
    """A stroke that nobody asked for: when, how loud."""

    at: float
    level_db: float


@dataclass(frozen=True, slots=True)
class Measurement:
    """A take measured.

    Attributes
    ----------
    asked
        What was to be played.
    facts
        Of every expected stroke, what became of it.
    extra
        Strokes nobody asked for.
    numbers
        What follows from them.
    proposal
        The proposed grade, or why there is none.
    left_out
        Sentences that say what cannot be said of this recording, and what to do about it.
    absent
        Voices that are not in the recording.
    """

    asked: AskedTake
    facts: tuple[StrokeFact, ...]
    extra: tuple[ExtraStroke, ...]
    numbers: Verdict
    proposal: Proposal
    left_out: tuple[str, ...]
    absent: tuple[str, ...] = ()

    def later(self, seconds: float) -> Measurement:
        """Return the same in the time of a recording of which only a later part was measured."""
        if not seconds:
            return self
        facts = (f if f.at is None else replace(f, at=f.at + seconds) for f in self.facts)
        return replace(
            self,
            asked=replace(self.asked, start=self.asked.start + seconds),
            facts=tuple(facts),
            extra=tuple(replace(e, at=e.at + seconds) for e in self.extra),
        )


def require_measurable(asked: AskedTake) -> None:
    """Refuse a take that is too long: parts of the search grow with the square of its length."""
    if asked.seconds > LONGEST_SECONDS:
        raise UsageError(
            f"a take of {asked.seconds / 60:.0f} minutes is too long to be measured",
            fix=f"measure at most {LONGEST_SECONDS / 60:.0f} minutes at once; give fewer passes",
        )


def measure(
    samples: Samples, rate: int, asked: AskedTake, *, cuts: tuple[float, ...] = USUAL_CUTS
) -> Measurement:
    """Measure a recording.

    Parameters
    ----------
    samples, rate
        Mono, -1 to 1, any rate from 8 kHz.
    asked
        What was to be played.
    cuts
        The player's own cuts between grades, see `drillbox.ear.calibrating`.

    Raises
    ------
    UsageError
        If the take would be too long, or the recording ends before it begins.
    """
    require_measurable(asked)
    first = max(asked.start - MARGIN_SECONDS - 8 * 60 / asked.bpm, 0.0)
    begin = int(first * rate)
    end = ceil((asked.start + asked.seconds * 1.05 + MARGIN_SECONDS) * rate)
    part = np.asarray(samples[begin:end], np.float32)
    if part.size < rate // 2 or asked.start * rate >= samples.size:
        raise UsageError(
            "the recording ends before the take begins", fix="give another --start, in seconds"
        )
    steady = without_hum(part - part.mean(), rate)
    shifted = asked.start - begin / rate
    expected = expected_strokes(asked.pattern, asked.bpm, asked.passes, leading=asked.leading)
    struck = shifted + np.array([stroke.seconds for stroke in expected])
    clean = remove_click(steady, rate, shifted, 60 / asked.bpm, struck, bar=_pulses(asked.pattern))
    high = above_rumble(clean.samples, rate)
    found, extra, absent = _strokes(clean, high, rate, asked, start=shifted, expected=expected)
    back = begin / rate
    facts, laid = on_the_grid(found, asked, shifted, back)
    extra = tuple(ExtraStroke(e.at + back, e.level_db) for e in extra)
    noise = noise_level(high, rate)
    return judged(asked, facts, extra, laid, cuts=cuts, noise_db=noise, absent=absent)


def _pulses(pattern: Pattern) -> int:
    """Return how many pulses of the metronome a bar has; 1 where they do not fill it evenly."""
    pulses = pattern.meter.beats / pattern.meter.pulse
    return int(pulses) if pulses.denominator == 1 else 1


def _strokes(
    clean: Declicked,
    high: Floats,
    rate: int,
    asked: AskedTake,
    *,
    start: float,
    expected: Sequence[Expected],
) -> tuple[list[StrokeFact], tuple[ExtraStroke, ...], tuple[str, ...]]:
    """Find the strokes; a voice that the recording does not hold at all is left out."""
    samples = clean.samples
    if not expected:
        raise UsageError("a pattern without strokes cannot be measured", fix="write some strokes")
    seen = spectrum(samples, rate)
    wanted = list(expected)
    absent: tuple[str, ...] = ()
    slots = slots_of(wanted)
    hearing, view = hear(seen, slots, start, asked.seconds)
    findings = decide(view, slots, hearing, len(expected))
    while gone := absent_voices(
        high, rate, expected=wanted, slots=slots, hearing=hearing, findings=findings
    ):
        # With a voice gone another may stand alone, and show that it is not there either.
        absent = tuple(sorted({*absent, *gone}))
        wanted = [stroke for stroke in wanted if stroke.voice not in gone]
        slots = slots_of(wanted)
        hearing, view = hear(seen, slots, start, asked.seconds)
        findings = decide(view, slots, hearing, len(expected))
    at = _finely(samples, rate, slots, findings)
    levels = _levels(high, rate, slots, findings, at)
    bare = {stroke.voice for stroke in expected if not findings.covered[stroke.index]}
    facts = [_fact(stroke, findings, at, levels, absent=absent, bare=bare) for stroke in expected]
    extra = extra_strokes(
        high,
        rate,
        seen=view,
        slots=slots,
        hearing=hearing,
        findings=findings,
        clicks=clean.at,
    )
    return facts, tuple(ExtraStroke(*each) for each in extra), absent


def _finely(samples: Samples, rate: int, slots: Slots, findings: Findings) -> Floats:
    """Return when each heard stroke began; the strongest of a slot is timed, and each by itself."""
    alike: dict[tuple[int, ...], list[int]] = {}
    for group, kinds in zip(slots.members, slots.of_slot, strict=True):
        for stroke, kind in zip(group, kinds, strict=True):
            timed = findings.state[stroke.index] == HEARD and not findings.covered[stroke.index]
            if timed and stroke.part is not Part.GRACE:
                alike.setdefault((kind, *kinds), []).append(stroke.index)
    coarse = np.nan_to_num(findings.at)
    alone = {kinds[0]: np.array(each) for kinds, each in alike.items() if len(kinds) == 2}
    beside = [
        [alone[kind] for kind in kinds if kind != main and kind in alone] for main, *kinds in alike
    ]
    groups = [np.array(each) for each in alike.values()]
    fine = fine_times(samples, rate, coarse, groups, beside)
    return np.where(findings.state == HEARD, fine, np.nan)


def _levels(high: Floats, rate: int, slots: Slots, findings: Findings, at: Floats) -> Floats:
    """Return levels: of a stroke by itself its peak, of a covered one by its gain over its kind."""
    levels = stroke_levels(high, rate, np.nan_to_num(at))
    for kind in slots.kinds:
        same = [s for g in slots.members for s in g if kind_of(s) == kind]
        heard = [s.index for s in same if findings.state[s.index] == HEARD]
        alone = [i for i in heard if not findings.covered[i]]
        hidden = [i for i in heard if findings.covered[i]]
        if alone and hidden:
            usual = np.median(levels[alone] - 10 * np.log10(findings.gain[alone]))
            levels[hidden] = usual + 10 * np.log10(findings.gain[hidden])
    return levels


def _fact(
    stroke: Expected,
    findings: Findings,
    at: Floats,
    levels: Floats,
    *,
    absent: Collection[str],
    bare: Collection[str],
) -> StrokeFact:
    index = stroke.index
    state, covered = findings.state[index], bool(findings.covered[index])
    # Of a voice that always lies under a louder one nobody can say that it was not played.
    told = state == HEARD or (state == MISSED and stroke.voice in bare)
    if stroke.voice in absent or not told:
        return StrokeFact(stroke, "unheard", covered=covered)
    if state == MISSED:
        return StrokeFact(stroke, "missed", covered=covered)
    return StrokeFact(stroke, "heard", float(at[index]), float(levels[index]), covered)


def on_the_grid(
    facts: Sequence[StrokeFact], asked: AskedTake, start: float, back: float = 0.0
) -> tuple[tuple[StrokeFact, ...], TempoMap]:
    """Say how far off each stroke is, and what the take's steady course was.

    Parameters
    ----------
    facts, asked
        What became of each stroke, and what was to be played.
    start
        Where the first beat nominally falls, in the time that the facts have.
    back
        Seconds by which that time lies after that of the whole recording, which is returned.
    """
    laid = course(facts, start, asked.seconds)
    out = []
    for fact in facts:
        if fact.at is None:
            out.append(fact)
            continue
        nominal = fact.expected.seconds
        off = fact.at - float(laid(np.array([nominal]))[0])
        out.append(
            replace(
                fact,
                at=fact.at + back,
                offset_ms=(fact.at - start - nominal) * 1000,
                off_ms=off * 1000,
            )
        )
    return tuple(out), replace(laid, offset=laid.offset + back)


def judged(
    asked: AskedTake,
    facts: tuple[StrokeFact, ...],
    extra: tuple[ExtraStroke, ...],
    laid: TempoMap,
    *,
    cuts: tuple[float, ...] = USUAL_CUTS,
    noise_db: float | None = None,
    absent: tuple[str, ...] = (),
) -> Measurement:
    """Return the measurement that follows from what became of each stroke."""
    told = tuple(f for f in facts if f.expected.voice not in absent)
    meter = asked.pattern.meter
    numbers = verdict(told, len(extra), laid, bpm=asked.bpm, meter=meter)
    reasons = _reasons(asked, told, numbers, noise_db)
    measures = measures_of(numbers, told)
    proposal = propose(measures, cuts)
    if reasons:
        proposal = Proposal(None, 0.0, proposal.because)
    voices = tuple(f"the {voice} is not in this recording and is left out" for voice in absent)
    return Measurement(asked, facts, extra, numbers, proposal, reasons + voices, absent)


def measures_of(numbers: Verdict, facts: Sequence[StrokeFact]) -> Measures:
    """Return what the bands look at."""
    places = sorted({f.expected.seconds for f in facts if f.expected.part is not Part.GRACE})
    gaps = np.diff(places)
    total = max(numbers.heard + numbers.missed + numbers.unheard, 1)
    return Measures(
        numbers.spread_ms,
        100 * numbers.share_wrong,
        numbers.contrast_db,
        numbers.ghosts_ms,
        float(np.median(gaps) * 1000) if gaps.size else 1000.0,
        numbers.unheard / total,
    )


def _reasons(
    asked: AskedTake, facts: Sequence[StrokeFact], numbers: Verdict, noise_db: float | None
) -> tuple[str, ...]:
    """Say why no grade is proposed; nothing where one is."""
    reasons = []
    sure = [f for f in facts if not f.covered and f.expected.part is not Part.GRACE]
    heard = sum(f.state == "heard" for f in sure)
    hidden = sum(f.state == "unheard" for f in sure)
    top = max((f.expected.level.loudness for f in facts if f.level_db is not None), default=0)
    accents = [
        f.level_db
        for f in facts
        if f.level_db is not None and f.expected.level.loudness == top and not f.covered
    ]
    if asked.bars < LEAST_BARS:
        bars = counted(asked.bars, "bar")
        reasons.append(f"{bars} cannot be graded; play {LEAST_BARS} or more")
    if noise_db is not None and accents and noise_db - np.median(accents) > LOUDEST_NOISE_DB:
        reasons.append(
            f"the room's noise lies only {np.median(accents) - noise_db:.0f} dB under the accents; "
            "bring the microphone nearer, or find a quieter room"
        )
    if hidden > MOST_UNHEARD * len(sure):
        reasons.append(
            f"{hidden} of {counted(len(sure), 'stroke')} cannot be heard in this recording; bring "
            "the microphone nearer, and take the click on headphones"
        )
    elif heard < LEAST_FOUND * len(sure):
        reasons.append(
            f"only {heard} of {counted(len(sure), 'stroke')} were found; is it this pattern, at "
            "this tempo, from this start?"
        )
    if numbers.spread_ms is None:
        reasons.append("too few strokes to say how even they were; play it more often")
    return tuple(reasons)
