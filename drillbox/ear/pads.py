"""A take from a pad or an electronic kit: notes with velocities in place of sound.

Nothing is hidden in a list of notes: what is not there was missed. A pad's velocity is no level,
and its curve is its own, so contrast is *velocity contrast*: 40 log10(velocity / 127) dB, the way
of General MIDI (value from memory).

Conventions: seconds; keys and velocities as MIDI has them, 0 to 127.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.aligning import TEMPO_REACH, TempoMap, coarse_map, fitted_map
from drillbox.ear.bands import USUAL_CUTS
from drillbox.ear.expected import expected_strokes
from drillbox.ear.likeliest_path import Candidate, likeliest
from drillbox.ear.measuring import (
    AskedTake,
    ExtraStroke,
    Measurement,
    judged,
    on_the_grid,
    require_measurable,
)
from drillbox.ear.pad_voices import PadNote, PadVoices
from drillbox.ear.verdict import StrokeFact
from drillbox.errors import UsageError
from drillbox.rhythm import Level, Part

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from drillbox.ear.expected import Expected
    from drillbox.ear.looks import Floats
    from drillbox.rhythm import Voice

RETRIGGER_SECONDS, RETRIGGER_SHARE = 0.020, 0.5
"""A repeat this soon at less than this share of the velocity is the pad's own, no stroke."""
_HOP = 0.00145
_AROUND_SECONDS = 10.0
"""Notes so long before a take and after it still show where it lies."""
_REACH, _APART_SHARE = 0.12, 0.5
_BUZZ_SECONDS = 0.3
_WORTH = 20.0
_ROUNDS = 3


def without_retriggers(notes: Iterable[PadNote]) -> tuple[PadNote, ...]:
    """Return the notes in order of time, without a pad's much weaker repeats of one stroke."""
    kept: list[PadNote] = []
    last: dict[int, PadNote] = {}
    # A repeat may carry the same time as its stroke, in a file of coarse ticks.
    for note in sorted(notes, key=lambda each: (each.seconds, -each.velocity)):
        before = last.get(note.key)
        again = (
            before is not None
            and note.seconds - before.seconds < RETRIGGER_SECONDS
            and note.velocity < RETRIGGER_SHARE * before.velocity
        )
        if note.velocity > 0 and not again:
            kept.append(note)
            last[note.key] = note
    return tuple(kept)


def velocity_db(velocity: int) -> float:
    """Return a velocity in dB relative to the hardest."""
    return float(40 * np.log10(max(velocity, 1) / 127))


def measure_notes(
    notes: Iterable[PadNote],
    asked: AskedTake,
    voices: PadVoices | None = None,
    *,
    cuts: tuple[float, ...] = USUAL_CUTS,
) -> Measurement:
    """Measure a take of notes.

    Parameters
    ----------
    notes
        What was struck, in any order.
    asked
        What was to be played.
    voices
        Which key is which voice. A take of a pattern with one voice may be played on any one key.

    cuts
        The player's own cuts between grades.

    Raises
    ------
    UsageError
        If there is no note, or no key that the pattern has a voice for, or the take would be too
        long.
    """
    require_measurable(asked)
    expected = expected_strokes(asked.pattern, asked.bpm, asked.passes, leading=asked.leading)
    struck = _by_voice(without_retriggers(notes), expected, voices or PadVoices())
    absent = tuple(sorted({s.voice for s in expected} - {v for v, own in struck.items() if own}))
    if len(absent) == len({s.voice for s in expected}):
        raise UsageError(
            "no note of this take is on a key that the pattern has a voice for",
            fix="say which key is which voice, such as --key 31=snare",
        )
    laid = _laid(struck, expected, asked)
    facts, used = _matched(struck, expected, laid)
    grid, course = on_the_grid([facts[s.index] for s in expected], asked, asked.start)
    extra = _extra(struck, used, expected, facts, asked)
    return judged(asked, grid, extra, course, cuts=cuts, absent=absent)


def _by_voice(
    notes: Sequence[PadNote], expected: Sequence[Expected], voices: PadVoices
) -> dict[Voice, list[PadNote]]:
    wanted = {stroke.voice for stroke in expected}
    keys = {note.key for note in notes}
    if len(wanted) == 1 and len(keys) == 1:
        return {next(iter(wanted)): list(notes)}
    struck: dict[Voice, list[PadNote]] = {voice: [] for voice in wanted}
    for note in notes:
        voice = voices.voice(note.key)
        if voice in struck:
            struck[voice].append(note)
    return struck


def _laid(
    struck: Mapping[Voice, Sequence[PadNote]], expected: Sequence[Expected], asked: AskedTake
) -> TempoMap:
    """Return offset and tempo of the take: coarse over all notes, then stroke by stroke."""
    # Only notes that the take may reach: a stray one hours away is not worth an array of hours.
    begin = max(asked.start - _AROUND_SECONDS, 0.0)
    end = asked.start + asked.seconds * (1 + TEMPO_REACH) + _AROUND_SECONDS
    notes = [n for own in struck.values() for n in own if begin <= n.seconds <= end]
    last = max((note.seconds for note in notes), default=begin)
    columns = int((last - begin + 1) / _HOP) + 2
    flux, loud = np.zeros(columns), np.zeros(columns)
    for note in notes:
        column = int((note.seconds - begin) / _HOP)
        flux[column] = 1.0
        loud[column] += (note.velocity / 127) ** 2
    nominal = np.array([s.seconds for s in expected])
    weight = np.array([(1 + s.level.loudness) / len(Level) for s in expected])
    laid = coarse_map(
        flux,
        loud,
        _HOP,
        nominal=nominal,
        weight=weight,
        start=asked.start - begin,
        length=asked.seconds,
    )
    laid = replace(laid, offset=laid.offset + begin)
    for _ in range(_ROUNDS):
        facts, _ = _matched(struck, expected, laid)
        found = [f for f in facts.values() if f.at is not None]
        laid = fitted_map(
            np.array([f.expected.seconds for f in found]),
            np.array([f.at for f in found], float),
            np.ones(len(found)),
            laid,
        )
    return laid


def _matched(
    struck: Mapping[Voice, Sequence[PadNote]], expected: Sequence[Expected], laid: TempoMap
) -> tuple[dict[int, StrokeFact], set[PadNote]]:
    """Give every expected stroke its note, voice by voice, in order of time."""
    facts: dict[int, StrokeFact] = {}
    used: set[PadNote] = set()
    for voice in {stroke.voice for stroke in expected}:
        own = [s for s in expected if s.voice is voice]
        notes = struck.get(voice, ())
        if not notes:
            facts.update({s.index: StrokeFact(s, "unheard") for s in own})
            continue
        at = np.array([note.seconds for note in notes])
        hard = np.array([velocity_db(note.velocity) for note in notes])
        centre = laid(np.array([s.seconds for s in own]))
        # A pad's curve is its own: levels are compared about their means, not as they stand.
        usual = np.array([velocity_db(s.level.velocity) for s in own])
        meant = usual + float(np.mean(hard) - np.mean(usual))
        rows = [_candidates(at, hard, centre, meant, i) for i in range(len(own))]
        picks = likeliest(rows, np.zeros(len(own)), apart=0.008)
        for stroke, row, pick in zip(own, rows, picks, strict=True):
            if pick < 0:
                facts[stroke.index] = StrokeFact(stroke, "missed")
                continue
            note = notes[row[pick].column]
            used.add(note)
            facts[stroke.index] = StrokeFact(
                stroke, "heard", note.seconds, velocity_db(note.velocity)
            )
    return facts, used


def _candidates(
    at: Floats, hard: Floats, centre: Floats, meant: Floats, number: int
) -> list[Candidate]:
    """Return the notes that a stroke may be, nearer and about as hard as it should be first."""
    here = centre[number]
    near = (
        min(
            _REACH,
            *(
                _APART_SHARE * abs(centre[other] - here) + 0.01
                for other in (number - 1, number + 1)
                if 0 <= other < centre.size
            ),
        )
        if centre.size > 1
        else _REACH
    )
    found = np.flatnonzero(np.abs(at - here) <= near)
    return [
        Candidate(
            float(at[i]),
            float(_WORTH - ((at[i] - here) / 0.03) ** 2 - 0.02 * abs(hard[i] - meant[number])),
            _WORTH,
            1.0,
            int(i),
        )
        for i in found
    ]


def _extra(
    struck: Mapping[Voice, Sequence[PadNote]],
    used: set[PadNote],
    expected: Sequence[Expected],
    facts: Mapping[int, StrokeFact],
    asked: AskedTake,
) -> tuple[ExtraStroke, ...]:
    """Return the notes within the take that no stroke took; a buzz swallows its bounces."""
    buzzes = [(s.voice, facts[s.index].at) for s in expected if s.part is Part.BUZZ]
    first, last = asked.start - 0.1, asked.start + asked.seconds + 0.1
    return tuple(
        ExtraStroke(note.seconds, velocity_db(note.velocity))
        for voice, own in struck.items()
        for note in own
        if note not in used
        and first < note.seconds < last
        and not any(
            of is voice and at is not None and 0 < note.seconds - at < _BUZZ_SECONDS
            for of, at in buzzes
        )
    )
