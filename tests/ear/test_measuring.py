"""From what became of each stroke to a measurement: reasons, lengths, lateness, words."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from told_takes import DB, START, told

from drillbox.ear import AskedTake, ExtraStroke, Measurement, measure
from drillbox.ear.aligning import TempoMap
from drillbox.ear.deciding import HEARD, MISSED, UNHEARD, Findings
from drillbox.ear.expected import expected_strokes
from drillbox.ear.loudness import above_rumble, noise_level, stroke_levels
from drillbox.ear.measuring import (
    LONGEST_SECONDS,
    _fact,
    _levels,
    measures_of,
    on_the_grid,
)
from drillbox.ear.slots import slots_of
from drillbox.ear.verdict import StrokeFact
from drillbox.errors import UsageError
from drillbox.rhythm import Level, Part, Voice, parse

if TYPE_CHECKING:
    from drillbox.ear.expected import Expected

SNARE = parse("snare: >2 >4 (1a) (3e)\n")
FULL = "snare: >2 >4 (1a) (3e) (3a)"
"""Five strokes a bar: twenty in four bars."""


def missing(
    *gone: int, hidden: tuple[int, ...] = (), pattern: str = FULL, passes: int = 4
) -> Measurement:
    """Return a take of which some strokes were missed and some cannot be told."""

    def state(stroke: Expected) -> str:
        if stroke.index in gone:
            return "missed"
        return "unheard" if stroke.index in hidden else "heard"

    return told(pattern, passes=passes, state=state)


def test_four_bars_are_graded_and_three_are_not() -> None:
    """However the bars come: four passes of one, two of two; a pattern of one bar is one bar."""
    two_bars = "snare: >2 >4 (1a) | >2 >4 (1e)"

    assert () == told(FULL, passes=4).left_out == told(two_bars, passes=2).left_out
    assert ("3 bars cannot be graded; play 4 or more",) == told(FULL, passes=3).left_out
    assert "1 bar cannot be graded; play 4 or more" == told(FULL, passes=1).left_out[0]
    assert "2 bars cannot be graded; play 4 or more" == told(two_bars, passes=1).left_out[0]
    assert None is told(FULL, passes=3).proposal.grade
    assert 0.0 == told(FULL, passes=3).proposal.sure
    assert told(FULL, passes=4).proposal.because == told(FULL, passes=3).proposal.because


def test_noise_45_db_under_the_accents_is_the_loudest() -> None:
    """On the limit a grade, a hair above it none and the reason, in whole dB."""
    assert () == told(FULL, noise_db=DB[Level.ACCENT] - 45.0).left_out
    (reason,) = told(FULL, noise_db=DB[Level.ACCENT] - 44.4).left_out

    assert (
        "the room's noise lies only 44 dB under the accents; bring the microphone nearer, or find a"
        " quieter room"
    ) == reason
    assert () == told("snare: 2 4 (1a)", noise_db=DB[Level.PLAIN] - 45.0).left_out
    assert 1 == len(told("snare: 2 4 (1a)", noise_db=DB[Level.PLAIN] - 44.9).left_out)


def test_the_accents_that_noise_is_set_against_are_bare_and_the_median() -> None:
    """One odd accent and those under another stroke do not count; silence is no accent."""
    loud = {1: 0.0, 3: 0.0}

    def level(stroke: Expected) -> float:
        return loud.get(stroke.index, DB[stroke.level])

    limit = DB[Level.ACCENT] - 45.0
    odd = told(SNARE, level=level, noise_db=limit)
    covered = told(SNARE, level=level, covered=lambda s: s.index in loud, noise_db=limit)
    assert () == odd.left_out == covered.left_out
    assert told(SNARE, state=lambda _: "missed", noise_db=-10.0).left_out
    assert not any("noise" in r for r in told(SNARE, state=lambda _: "missed").left_out)


@pytest.mark.parametrize(("hidden", "graded"), [(3, True), (4, False)])
def test_more_than_15_in_a_hundred_not_to_be_told_is_too_many(hidden: int, *, graded: bool) -> None:
    """Three of twenty are graded, four are not."""
    found = missing(hidden=tuple(range(hidden)))

    assert graded == (found.proposal.grade is not None)
    said = (
        f"{hidden} of 20 strokes cannot be heard in this recording; bring the microphone nearer, "
        "and take the click on headphones"
    )
    assert (() if graded else (said,)) == found.left_out


@pytest.mark.parametrize(("gone", "graded"), [(4, True), (5, False)])
def test_fewer_than_80_in_a_hundred_found_are_another_pattern(gone: int, *, graded: bool) -> None:
    """Sixteen of twenty found are graded, fifteen are not."""
    found = missing(*range(gone))

    assert graded == (found.proposal.grade is not None)
    said = (
        f"only {20 - gone} of 20 strokes were found; is it this pattern, at this tempo, "
        "from this start?"
    )
    assert (() if graded else (said,)) == found.left_out


def test_graces_and_covered_strokes_are_not_counted_on() -> None:
    """A take whose hats lie under the snare and whose graces are lost is graded all the same."""
    lines = "hat: 2 4\nsnare: >f2 >4 (1a) (3e)"
    found = told(
        lines,
        covered=lambda s: s.voice is Voice.HAT,
        state=lambda s: "unheard" if s.voice is Voice.HAT or s.part is Part.GRACE else "heard",
    )
    bare = told(lines, state=lambda s: "unheard" if s.voice is Voice.HAT else "heard")

    assert () == found.left_out
    assert "12 of 36 strokes cannot be heard" in bare.left_out[0]


def test_too_few_strokes_say_not_how_even_they_were() -> None:
    """Two strokes in four bars."""
    found = told("snare: >2", passes=4, state=lambda s: "heard" if s.index < 2 else "missed")

    assert found.left_out[-1] == ("too few strokes to say how even they were; play it more often")
    assert "only 2 of 4 strokes were found" in found.left_out[0]


def test_absent_voices_are_named_after_the_reasons() -> None:
    """They are no reason to withhold a grade, and nothing of them is counted."""
    lines = "hat: beat\nbass: 1 3\nsnare: >2 >4 (1a) (3e)"
    found = told(
        lines,
        absent=("bass", "hat"),
        state=lambda s: "heard" if s.voice is Voice.SNARE else "unheard",
    )

    assert (
        "the bass is not in this recording and is left out",
        "the hat is not in this recording and is left out",
    ) == found.left_out
    assert 2 == found.proposal.grade
    assert 24 == found.numbers.heard
    assert 0 == found.numbers.unheard


def test_a_measurement_in_the_time_of_the_whole_recording() -> None:
    """What was measured of a later part lies later; what is judged stays."""
    found = told(
        SNARE, extra=(ExtraStroke(2.0, -9.0),), state=lambda s: "heard" if s.index else "missed"
    )
    later = found.later(7.25)

    assert found is found.later(0.0)
    assert START + 7.25 == later.asked.start
    assert [None if f.at is None else f.at + 7.25 for f in found.facts] == [
        f.at for f in later.facts
    ]
    assert (9.25, -9.0) == (later.extra[0].at, later.extra[0].level_db)
    assert found.numbers == later.numbers


def test_how_long_a_take_is() -> None:
    """Three passes of two bars are six bars and 24 beats."""
    asked = AskedTake(parse("snare: >2 | >3\n"), 90, 3, 0.0)

    assert 6 == asked.bars
    assert 24 * 60 / 90 == pytest.approx(asked.seconds)


def test_on_the_grid_says_both_offsets_and_the_time_of_the_whole() -> None:
    """From the nominal place with the take's own delay, and from its course without."""
    strokes = expected_strokes(SNARE, 90, 4)
    facts = [StrokeFact(s, "heard", 0.5 + s.seconds + 0.04, -20.0) for s in strokes]
    facts[3] = StrokeFact(strokes[3], "missed")
    grid, laid = on_the_grid(facts, AskedTake(SNARE, 90, 4, 99.0), 0.5, back=10.0)

    assert grid[3] == facts[3]
    assert [40.0] * 15 == pytest.approx([f.offset_ms for f in grid if f.at is not None])
    assert [0.0] * 15 == pytest.approx([f.off_ms for f in grid if f.at is not None], abs=1e-6)
    assert [10.54 + s.seconds for s in strokes if s.index != 3] == pytest.approx(
        [f.at for f in grid if f.at is not None]
    )
    assert 10.54 == pytest.approx(laid.offset)
    assert isinstance(laid, TempoMap)


def test_the_bands_look_at_what_was_told() -> None:
    """Wrong in per cent, unheard as a share; spacing is the median from place to place."""
    found = missing(2, 7, hidden=(5,))
    measures = measures_of(found.numbers, found.facts)
    one = told("snare: >2", passes=1)
    graces = told("snare: f2 >4 (1a) (3e)", bpm=90)
    beats = [0.25, 1.25, 0.75, 1.75] * 6

    assert 100 * 2 / 19 == pytest.approx(measures.wrong_percent)
    assert 1 / 20 == pytest.approx(measures.unheard_share)
    assert (found.numbers.spread_ms, found.numbers.contrast_db, found.numbers.ghosts_ms) == (
        measures.spread_ms,
        measures.contrast_db,
        measures.ghosts_ms,
    )
    assert 1000.0 == measures_of(one.numbers, one.facts).spacing_ms
    assert 1000 * 60 / 90 * float(np.median(beats[:-1])) == pytest.approx(
        measures_of(graces.numbers, graces.facts).spacing_ms
    )
    nothing = replace(found.numbers, heard=0, missed=0, unheard=0)
    assert 0.0 == measures_of(nothing, ()).unheard_share


SECOND = np.zeros(44100, np.float32)


def test_what_cannot_be_a_take_is_refused_in_a_sentence() -> None:
    """Over a quarter of an hour, a start after the end, a recording of less than half a second."""
    long = AskedTake(SNARE, 60, 226, 0.0)

    assert LONGEST_SECONDS == 225 * SNARE.seconds(60)
    with pytest.raises(UsageError, match=r"a take of 15 minutes is too long .* at most 15 minutes"):
        measure(SECOND, 44100, long)
    with pytest.raises(UsageError, match="ends before the take begins; give another --start"):
        measure(np.tile(SECOND, 20), 44100, AskedTake(SNARE, 60, 4, 20.0))
    with pytest.raises(UsageError, match="ends before the take begins"):
        measure(SECOND[:22049], 44100, AskedTake(SNARE, 60, 4, 0.0))
    assert 0 == measure(SECOND[:22050], 44100, AskedTake(SNARE, 60, 4, 0.0)).numbers.heard
    with pytest.raises(UsageError, match="a pattern without strokes cannot be measured; write"):
        measure(SECOND, 44100, AskedTake(replace(SNARE, strokes=()), 60, 1, 0.0))


def findings(count: int) -> Findings:
    """Return findings of strokes that were all heard, a second apart."""
    return Findings(
        np.full(count, HEARD),
        np.arange(count, dtype=np.float64) + 0.5,
        np.zeros(count, int),
        np.ones(count),
        np.zeros(count, bool),
    )


def test_what_became_of_a_stroke_in_words() -> None:
    """Missed only of a voice that stands alone somewhere; nothing of one that is not there."""
    strokes = expected_strokes(SNARE, 90, 1)
    found = findings(4)
    found.state[:] = [HEARD, MISSED, MISSED, UNHEARD]
    found.covered[1] = True
    at, levels = found.at, np.array([-1.0, -2.0, -3.0, -4.0])

    def said(
        index: int, *, absent: tuple[str, ...] = (), bare: tuple[str, ...] = ("snare",)
    ) -> StrokeFact:
        return _fact(strokes[index], found, at, levels, absent=absent, bare=bare)

    assert StrokeFact(strokes[0], "heard", 0.5, -1.0) == said(0)
    assert StrokeFact(strokes[1], "missed", covered=True) == said(1)
    assert StrokeFact(strokes[1], "unheard", covered=True) == said(1, bare=())
    assert StrokeFact(strokes[0], "heard", 0.5, -1.0) == said(0, bare=())
    assert StrokeFact(strokes[3], "unheard") == said(3)
    assert StrokeFact(strokes[0], "unheard") == said(0, absent=("snare",))


def test_a_covered_strokes_level_is_its_gain_over_what_is_usual_of_its_kind() -> None:
    """Its own peak is its neighbour's: 6 dB of gain over bare strokes at -20 dB are -14 dB."""
    strokes = expected_strokes(SNARE, 90, 1)
    slots = slots_of(strokes)
    rng = np.random.default_rng(1)
    samples = np.zeros(5 * 44100, np.float32)
    for second, peak in enumerate((0.1, 0.5, 0.2, 0.7)):
        first = int((second + 0.5) * 44100)
        samples[first : first + 200] = peak * rng.choice([-1, 1], 200)
    found = findings(4)
    high = above_rumble(samples, 44100)
    own = stroke_levels(high, 44100, found.at)
    found.covered[2] = True
    found.gain[:] = [10**0.3, 1.0, 10**0.6, 1.0]
    levels = _levels(high, 44100, slots, found, found.at)

    assert own[0] - 3 + 6 == pytest.approx(levels[2])
    assert list(own[[0, 1, 3]]) == pytest.approx(list(levels[[0, 1, 3]]))
    found.state[0] = MISSED
    assert own[2] == pytest.approx(_levels(high, 44100, slots, found, found.at)[2])


@pytest.mark.parametrize("quiet_ms", [45, 60])
def test_what_is_always_there_is_heard_between_the_strokes(quiet_ms: int) -> None:
    """Twice a second the drums are still for a moment: how loud the room is then is its noise.

    As the root of the mean square of that stillness alone, to half a decibel.
    """
    rate, rng = 48_000, np.random.default_rng(4)
    sound = rng.normal(0.0, 0.1, 10 * rate)
    still = rng.normal(0.0, 1e-4, 10 * rate)
    within = np.arange(sound.size) % (rate // 2) < quiet_ms * rate // 1000
    found = noise_level(np.where(within, still, sound), rate)
    assert 20 * np.log10(1e-4) == pytest.approx(found, abs=0.5)
    assert -120.0 == noise_level(np.zeros(3), rate)


def test_a_stroke_that_the_end_cuts_off_has_the_level_of_what_is_there() -> None:
    """At the first and at the last sample, and where a pad's clock runs past the recording."""
    rate = 48_000
    high = np.zeros(rate)
    high[:5], high[-5:] = 0.25, 0.5
    levels = stroke_levels(high, rate, np.array([0.0, (rate - 1) / rate, 1.5]))
    # What rings before is taken to be what the recording begins or ends with.
    expected = [0.25 * 0.55, 0.5, 0.5 * 0.55]
    assert [20 * np.log10(level) for level in expected] == pytest.approx(levels.tolist())
