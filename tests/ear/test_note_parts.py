"""Files of notes with pauses: one part is the take, and hours of silence cost nothing."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest

from drillbox.ear import AskedTake, PadNote, PadVoices, measure_notes, part_played
from drillbox.ear.aligning import TempoMap, coarse_map
from drillbox.ear.expected import expected_strokes
from drillbox.errors import RecordingError, UsageError
from drillbox.rhythm import parse

BAR = parse("snare: >2 >4 (1a) (3e)\n")
"""One bar of 4/4: at 120 bpm two seconds, so that a pause of more than eight ends a take."""
HOUR = 3600.0


def bars(first: float, count: int) -> list[PadNote]:
    """Return notes on every half second of some bars."""
    return [PadNote(first + n / 2, 38, 90) for n in range(4 * count)]


def test_the_longest_part_is_the_take() -> None:
    """Two bars, an hour later three: the three, and one sentence says so."""
    early, late = bars(1.0, 2), bars(HOUR, 3)
    part = part_played([*early, *late], BAR, 120, start=None)

    assert tuple(late) == part.notes
    assert (
        "nothing is played for 60 minutes: only the longest part is measured, 3600.0 to 3605.5 s."
        == part.remark
    )


def test_from_a_start_on_it_is_the_part_up_to_the_next_pause() -> None:
    """A start that is said means the part there, with a first stroke that comes a little early."""
    early, late = bars(1.0, 2), bars(HOUR, 3)
    part = part_played([*early, *late], BAR, 120, start=1.2)

    assert tuple(early) == part.notes
    assert "only the part up to it is measured, 1.0 to 4.5 s." in part.remark
    assert (tuple(late), "") == part_played([*early, *late], BAR, 120, start=HOUR)
    for start in (100.0, 2 * HOUR):
        with pytest.raises(RecordingError, match=r"no note is struck within 8 s from \d+ s on"):
            part_played([*early, *late], BAR, 120, start=start)


@pytest.mark.parametrize(("pause", "cut"), [(8.0, False), (8.001, True)])
def test_four_bars_without_a_stroke_are_still_one_take(*, pause: float, cut: bool) -> None:
    """Four bars of two seconds, or twice the pattern where that is longer."""
    notes = [PadNote(0.0, 38, 90), PadNote(pause, 38, 90)]
    three = parse("snare: >2 | >2 | >2\n")

    assert cut is bool(part_played(notes, BAR, 120, start=None).remark)
    assert "" == part_played(notes, three, 120, start=None).remark
    assert not part_played([notes[0]] * 3, BAR, 120, start=None).remark


def test_a_stray_hours_away_costs_nothing() -> None:
    """A take two days into a file, and a note hours later: measured as at its beginning."""
    strokes = expected_strokes(BAR, 120, 4)
    notes = [PadNote(s.seconds, 38, s.level.velocity) for s in strokes]
    day = 48 * HOUR
    late = [note._replace(seconds=note.seconds + day) for note in notes]
    stray = PadNote(day + 9 * HOUR, 38, 90)
    here = measure_notes(notes, AskedTake(BAR, 120, 4, 0.0), PadVoices())
    tracemalloc.start()
    there = measure_notes([*late, stray], AskedTake(BAR, 120, 4, day), PadVoices())
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert (here.numbers.heard, 0) == (there.numbers.heard, there.numbers.missed)
    assert here.proposal.grade == there.proposal.grade
    assert 100_000_000 > most


def test_a_take_too_long_is_refused_as_of_sound() -> None:
    """A quarter of an hour is the most, from pads too."""
    with pytest.raises(UsageError, match="a take of 20 minutes is too long"):
        measure_notes(bars(0.0, 600), AskedTake(BAR, 120, 600, 0.0))


def test_a_long_take_is_laid_by_a_share_of_its_strokes() -> None:
    """Over a thousand strokes, late and slow: laid as a short one is."""
    hop = 0.0058
    strokes = expected_strokes(BAR, 120, 300)
    nominal = np.array([s.seconds for s in strokes])
    weight = np.array([[0.2, 1.0][s.level == "accent"] for s in strokes])
    true = TempoMap(1.1, 1.01, 0.0, 600.0)
    loud = np.zeros(int(610 / hop))
    loud[np.round(true(nominal) / hop).astype(int)] = 0.1 + 0.9 * weight
    found = coarse_map(
        np.sign(loud), loud, hop, nominal=nominal, weight=weight, start=1.0, length=600.0
    )

    assert 1200 == nominal.size
    assert true(nominal) == pytest.approx(found(nominal), abs=0.05)
