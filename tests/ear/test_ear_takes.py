"""Whole takes, measured beside their truth."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from made_takes import RATE, heard, maker

from drillbox.ear import Measurement, remarks, take_picture, take_values
from drillbox.errors import UsageError
from drillbox.rhythm import Voice, parse

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture(scope="session")
def make_take() -> Callable[..., Any]:
    """Return the benchmark's maker of takes."""
    return maker()


@pytest.fixture(scope="session")
def easy(make_take: Callable[..., Any]) -> Any:
    """Return an easy take."""
    return make_take(1, "easy", seconds=11.0)


@pytest.fixture(scope="session")
def kit(make_take: Callable[..., Any]) -> Any:
    """Return a take of a whole kit, click bleeding in, an eighth of its ghosts left out."""
    return make_take(303, "hard", missing=0.12, seconds=11.0)


@pytest.fixture(scope="session")
def gappy(make_take: Callable[..., Any]) -> Any:
    """Return a realistic take with a fifth of its ghosts left out."""
    return make_take(303, "realistic", missing=0.2, seconds=16.0)


@pytest.fixture(scope="module")
def plain(easy: Any) -> Measurement:
    """Return the easy take, measured."""
    return heard(easy)


@pytest.fixture(scope="module")
def of_the_kit(kit: Any) -> Measurement:
    """Return the take of a whole kit, measured."""
    return heard(kit)


@pytest.fixture(scope="module")
def of_the_gaps(gappy: Any) -> Measurement:
    """Return the take with ghosts left out, measured."""
    return heard(gappy)


def off_ms(take: Any, found: Measurement) -> np.ndarray:
    """Return how far each timed stroke's time lies from its truth, the constant taken out."""
    off = np.array([f.at - take.strokes[f.expected.index].at for f in found.facts if f.timed])
    return np.asarray(1000 * (off - np.median(off)))


def test_an_easy_take_is_heard_whole_and_to_a_fraction_of_a_millisecond(
    easy: Any, plain: Measurement
) -> None:
    """Every stroke within 30 ms, half of them within a tenth of a millisecond."""
    assert len(easy.strokes) == plain.numbers.heard
    assert 0 == plain.numbers.missed + plain.numbers.unheard + plain.numbers.extra
    assert 0.1 > np.median(np.abs(off_ms(easy, plain)))
    assert 1.0 > np.max(np.abs(off_ms(easy, plain)))


def test_an_independent_measure_agrees(kit: Any, of_the_kit: Measurement) -> None:
    """mir_eval's onset F-measure (Raffel et al. 2014, ISMIR) on the same strokes, within 30 ms."""
    mir_eval = pytest.importorskip("mir_eval")
    facts = of_the_kit.facts
    ours = np.sort([f.at for f in facts if f.at is not None])
    truth = np.sort([s.at for s in kit.strokes if s.played])
    _, precision, recall = mir_eval.onset.f_measure(truth, ours, window=0.03)
    right = sum(
        abs(f.at - kit.strokes[f.expected.index].at) < 0.03 for f in facts if f.at is not None
    )

    assert right / len(ours) == pytest.approx(precision, abs=0.03)
    assert right / len(truth) == pytest.approx(recall, abs=0.03)


def test_ghosts_left_out_are_missed_and_no_others(gappy: Any, of_the_gaps: Measurement) -> None:
    """What was not played is missed, what was played is not."""
    missed = [f.expected.index for f in of_the_gaps.facts if f.state == "missed"]

    assert [s.index for s in gappy.strokes if not s.played] == missed


def test_a_whole_kit_under_a_click_in_a_wet_room(kit: Any, of_the_kit: Measurement) -> None:
    """Nineteen of twenty strokes said to be heard were played there; few played ones are missed."""
    facts = of_the_kit.facts
    said = [f for f in facts if f.at is not None]
    right = [f for f in said if abs(f.at - kit.strokes[f.expected.index].at) < 0.03]
    wrong = [f for f in facts if f.state == "missed" and kit.strokes[f.expected.index].played]

    assert 0.95 * len(said) < len(right)
    assert 0.03 * len(facts) > len(wrong)


def test_worse_recordings_give_the_same_numbers(easy: Any, plain: Measurement) -> None:
    """Clipped, quiet, shifted, hummed over, or told the wrong tempo: the same take."""
    peak = np.max(np.abs(easy.samples))
    hum = 0.02 * peak * np.sin(2 * np.pi * 50 * np.arange(easy.samples.size) / RATE)
    clipped = heard(easy, 0.05 * np.clip(easy.samples, -0.7 * peak, 0.7 * peak) + 0.2)
    assert plain.numbers.spread_ms == pytest.approx(clipped.numbers.spread_ms, abs=0.3)
    for found in (
        heard(easy, easy.samples + hum),
        heard(easy, start=easy.start + 0.12, bpm=easy.bpm * 1.02),
    ):
        assert plain.numbers.heard == found.numbers.heard
        assert plain.numbers.spread_ms == pytest.approx(found.numbers.spread_ms, abs=0.3)
        assert plain.numbers.contrast_db == pytest.approx(found.numbers.contrast_db, abs=1.5)


def test_the_offset_of_a_recording_is_no_fault_of_the_player(easy: Any, plain: Measurement) -> None:
    """A take that starts 40 ms later is as even as it was, and its mean says so."""
    late = heard(easy, np.concatenate([np.zeros(RATE // 25), easy.samples]))

    assert plain.numbers.spread_ms == pytest.approx(late.numbers.spread_ms, abs=0.1)
    assert (plain.numbers.mean_ms or 0) + 40 == pytest.approx(late.numbers.mean_ms, abs=0.5)


def test_a_stroke_too_many_is_extra(easy: Any) -> None:
    """A backbeat once more where nothing is written is told."""
    loud = next(s for s in easy.strokes if s.level == "accent")
    first, length = int((loud.at - 0.002) * RATE), int(0.12 * RATE)
    gap = max(
        zip(easy.strokes, easy.strokes[1:], strict=False), key=lambda pair: pair[1].at - pair[0].at
    )
    place = int((gap[0].at + gap[1].at) / 2 * RATE)
    samples = easy.samples.copy()
    samples[place : place + length] += samples[first : first + length]

    assert [place / RATE] == pytest.approx([e.at for e in heard(easy, samples).extra], abs=0.01)


def test_a_voice_that_is_not_there_is_left_out_not_missed(easy: Any) -> None:
    """A card with hat and bass played on a pad: only the snare is judged, and that is said."""
    lines = f"hat: beat &\nbass: 1 3\n{_snare(easy)}"
    found = heard(easy, pattern=parse(lines))

    assert {Voice.SNARE} == {f.expected.voice for f in found.facts if f.state == "heard"}
    assert 0 == found.numbers.missed
    assert found.proposal.grade is not None
    assert any("hat" in reason for reason in found.left_out)


def test_a_click_in_the_room_is_no_bass_drum(make_take: Callable[..., Any]) -> None:
    """What is left of the click stands on the first beat of each bar, always equally loud.

    It is not taken for the bass of a card that was played on a snare alone.
    """
    take = make_take(42, "realistic", seconds=11.0)
    found = heard(take, pattern=parse(f"hat: beat &\nbass: 1 3\n{_snare(take)}"))

    assert (Voice.BASS, Voice.HAT) == found.absent
    assert 0 == found.numbers.missed
    assert found.proposal.grade is not None


def test_a_voice_that_always_lies_under_another_is_never_called_missed(easy: Any) -> None:
    """A bass drum written only where the snare has its backbeats: it cannot be told from here."""
    accents = [s for s in easy.pattern.strokes if s.level == "accent" and s.at.denominator == 1]
    backbeats = " ".join(str(int(s.at) + 1) for s in accents)
    found = heard(easy, pattern=parse(f"bass: {backbeats}\n{_snare(easy)}"))

    assert all(f.state != "missed" for f in found.facts if f.expected.voice is Voice.BASS)


def _snare(take: Any) -> str:
    from drillbox.rhythm import spell

    return spell(take.pattern)


def test_too_little_gives_no_grade_and_says_why(easy: Any) -> None:
    """Two bars, or another pattern than was played: no proposal, one sentence each."""
    short = heard(easy, passes=2)
    other = heard(easy, pattern=parse("snare: (e) (&) (a) beat\n"))

    assert (None, None) == (short.proposal.grade, other.proposal.grade)
    assert "2 bars cannot be graded" in short.left_out[0]
    assert "found" in " ".join(other.left_out) or "heard" in " ".join(other.left_out)


@pytest.mark.parametrize("samples", [np.zeros(RATE * 20), np.full(RATE * 20, 0.3)])
def test_silence_is_measured_without_a_grade(easy: Any, samples: np.ndarray) -> None:
    """Nothing in a recording is no error: nothing is heard, nothing proposed."""
    found = heard(easy, samples)

    assert 0 == found.numbers.heard
    assert found.proposal.grade is None


def test_what_cannot_be_a_take_is_refused_in_a_sentence(easy: Any) -> None:
    """A recording that ends before the take, a take of hours, a pattern without strokes."""
    with pytest.raises(UsageError, match="ends before"):
        heard(easy, start=500.0)
    with pytest.raises(UsageError, match="too long"):
        heard(easy, passes=5000)


def test_the_values_for_programs_agree_with_the_measurement(plain: Measurement) -> None:
    """The JSON's strokes, missed and expected are those that were measured."""
    values = take_values(plain)

    assert plain.numbers.heard == len(values["strokes"])
    assert values["missed"] == [] == values["unheard"]
    assert [f.expected.index for f in plain.facts] == [e["index"] for e in values["expected"]]
    assert sorted(s["at"] for s in values["strokes"]) == [s["at"] for s in values["strokes"]]
    assert 0 <= values["sure"] <= 1


def test_a_picture_and_remarks_come_of_every_take(of_the_gaps: Measurement) -> None:
    """The picture is well-formed, has a cross a missed stroke, and the remarks name the place."""
    from xml.etree import ElementTree as ET

    drawn = ET.fromstring(take_picture(of_the_gaps, title="a <take>"))

    crosses = [e for e in drawn.iter() if e.get("stroke") == "#b00020"]
    assert of_the_gaps.numbers.missed == len(crosses)
    assert any("missing" in remark for remark in remarks(of_the_gaps))
