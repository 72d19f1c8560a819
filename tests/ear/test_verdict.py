"""The numbers of a take, from strokes told one by one: exact, beside the standard library's."""

from __future__ import annotations

import statistics
from fractions import Fraction

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from told_takes import DB, START, told

from drillbox.ear import ExtraStroke
from drillbox.ear.aligning import TempoMap
from drillbox.ear.expected import Expected, expected_strokes
from drillbox.ear.verdict import StrokeFact, Verdict, course, verdict
from drillbox.rhythm import Hand, Level, Part, Pattern, Voice, parse

SNARE = parse("snare: >2 >4 (1a) (3e)\n")
KIT = parse("hat: beat &\nbass: 1 3\nsnare: >2 >4 (1a) (3e)\n")
STEADY = TempoMap(START, 1.0, 0.0, 16.0)


def row(
    off: list[float], *, level: Level = Level.ACCENT, db: list[float] | None = None
) -> list[StrokeFact]:
    """Return one stroke after another on the snare, so many milliseconds off the take's course."""
    levels = db or [DB[level]] * len(off)
    return [
        StrokeFact(
            Expected(i, i / 4, Fraction(0), Voice.SNARE, level, Hand.RIGHT, Part.STROKE),
            "heard",
            START + i / 4 + ms / 1000,
            loud,
            offset_ms=ms + 7,
            off_ms=ms,
        )
        for i, (ms, loud) in enumerate(zip(off, levels, strict=True))
    ]


def numbers(facts: list[StrokeFact], extra: int = 0, laid: TempoMap = STEADY) -> Verdict:
    """Return what the verdict says of facts, at 90 in four."""
    return verdict(facts, extra, laid, bpm=90, meter=SNARE.meter)


FEW = examples(20)


@FEW
@given(st.floats(-90, 90), st.integers(0, 9))
def test_a_take_shifted_is_the_same_take_with_another_mean(shift: float, seed: int) -> None:
    """So many milliseconds later: the mean moves by them, and nothing else moves at all."""
    rng = np.random.default_rng(seed)
    stray = rng.normal(0, 6, 24)
    one = told(SNARE, late=lambda s: float(stray[s.index])).numbers
    other = told(SNARE, late=lambda s: float(stray[s.index]) + shift).numbers

    assert float(np.mean(stray)) == pytest.approx(one.mean_ms)
    assert float(np.mean(stray)) + shift == pytest.approx(other.mean_ms)
    assert one.spread_ms == pytest.approx(other.spread_ms, abs=1e-6)
    assert one.ghosts_ms == pytest.approx(other.ghosts_ms, abs=1e-6)
    assert one.wander_ms == pytest.approx(other.wander_ms, abs=1e-6)
    assert one.bpm_by_bar == pytest.approx(other.bpm_by_bar)


@given(st.lists(st.floats(-4, 4), min_size=3, max_size=20))
def test_the_spread_is_the_sample_standard_deviation(off: list[float]) -> None:
    """Beside the standard library's, where nothing lies so far off that it is dropped."""
    found = numbers(row(off))
    kept = [ms for ms in off if _near(ms, off)]

    expected = statistics.stdev(kept) if len(kept) >= 3 else None
    assert expected == (found.spread_ms if expected is None else pytest.approx(found.spread_ms))
    assert statistics.fmean(off) + 7 == pytest.approx(found.mean_ms)


def _near(ms: float, off: list[float]) -> bool:
    middle = statistics.median(off)
    scale = 1.4826 * statistics.median([abs(each - middle) for each in off])
    return abs(ms - middle) <= max(3.5 * scale, 1.0)


@pytest.mark.parametrize(
    ("off", "counts"),
    [
        ([-1.0] * 4 + [0.0] * 3 + [1.0] * 4 + [5.18], True),
        ([-1.0] * 4 + [0.0] * 3 + [1.0] * 4 + [5.20], False),
        ([0.0] * 5 + [1.0], True),
        ([0.0] * 5 + [1.01], False),
        ([0.0, 0.0, -1.0], True),
        ([0.0, 0.0, 0.0, -1.01], False),
    ],
)
def test_one_stroke_far_off_is_another_mistake_than_unevenness(
    off: list[float], *, counts: bool
) -> None:
    """Over 3.5 robust standard deviations, 1.4826 MAD each, or 1 ms where all agree: dropped."""
    kept = off if counts else off[:-1]

    assert statistics.stdev(kept) == pytest.approx(numbers(row(off)).spread_ms, abs=1e-9)


def test_three_strokes_are_the_fewest_that_say_something() -> None:
    """Two have no spread, and two ghosts are neither late nor quiet; three are."""
    two, three = row([1.0, 2.0]), row([1.0, 2.0, 3.0])
    few = [*row([0.0] * 3), *row([4.0, 4.0], level=Level.GHOST)]
    enough = [*row([0.0] * 3), *row([4.0] * 3, level=Level.GHOST)]

    assert (None, 1.0) == (numbers(two).spread_ms, numbers(three).spread_ms)
    assert (None, None) == (numbers(few).ghosts_ms, numbers(few).contrast_db)
    assert (4.0, 20.0) == (numbers(enough).ghosts_ms, numbers(enough).contrast_db)
    assert (None, None) == (numbers([]).mean_ms, numbers([]).spread_ms)
    assert (1.0, 8.5) == (numbers(two).mean_ms and 1.0, numbers(two).mean_ms)


def test_ghosts_are_set_against_accents_and_else_against_plain_strokes() -> None:
    """Three accents are enough to be what ghosts are set against; with two the plain ones are."""
    ghosts = row([5.0, 6.0, 7.0], level=Level.GHOST)
    plain = row([1.0, 1.0, 1.0], level=Level.PLAIN)
    two, three = row([-2.0] * 2), row([-2.0] * 3)

    assert (5.0, 16.0) == (
        numbers([*ghosts, *plain, *two]).ghosts_ms,
        numbers([*ghosts, *plain, *two]).contrast_db,
    )
    assert (8.0, 20.0) == (
        numbers([*ghosts, *plain, *three]).ghosts_ms,
        numbers([*ghosts, *plain, *three]).contrast_db,
    )


@given(st.floats(-40, 40), st.floats(0, 30))
def test_contrast_is_a_difference_of_medians(louder: float, apart: float) -> None:
    """A recording louder by so much has the same contrast; one odd stroke does not move it."""
    off = [0.0] * 5
    accents = row(off, db=[louder - 10] * 4 + [louder + 30])
    ghosts = row(off, level=Level.GHOST, db=[louder - 10 - apart] * 4 + [louder - 90])

    assert apart == pytest.approx(numbers([*accents, *ghosts]).contrast_db, abs=1e-9)


def test_only_bare_drum_strokes_tell_the_contrast() -> None:
    """Hat, bass, what lies under another stroke and grace notes have levels of their own."""

    def loud(stroke: Expected) -> float:
        usual = stroke.voice is Voice.SNARE and stroke.part is not Part.GRACE
        return DB[stroke.level] if usual else 0.0

    text = "hat: >1 (2&)\nbass: >1& (4a)\nsnare: >2 >f4 (1a) (3e)\n"
    covered = told(
        SNARE,
        level=lambda s: DB[s.level] if s.index % 4 else 0.0,
        covered=lambda s: s.index % 4 == 0,
    )

    assert 20 == told(text, level=loud).numbers.contrast_db
    assert 20 == covered.numbers.contrast_db


@FEW
@given(st.sets(st.integers(0, 23)), st.sets(st.integers(0, 23)), st.integers(0, 4))
def test_every_stroke_is_counted_once(gone: set[int], hidden: set[int], more: int) -> None:
    """Heard, missed and not to be told add up; what is wrong is a share of what can be told."""

    def state(stroke: Expected) -> str:
        if stroke.index in gone:
            return "missed"
        return "unheard" if stroke.index in hidden else "heard"

    extra = tuple(ExtraStroke(START + 0.1 * each, -20.0) for each in range(more))
    found = told(SNARE, state=state, extra=extra).numbers
    told_of = 24 - len(hidden - gone)

    assert len(gone) == found.missed
    assert len(hidden - gone) == found.unheard
    assert 24 == found.heard + found.missed + found.unheard
    assert more == found.extra
    assert (len(gone) + more) / max(told_of, 1) == pytest.approx(found.share_wrong)


def test_where_nothing_can_be_told_every_extra_stroke_counts_whole() -> None:
    """Two strokes nobody asked for over none that could be told are two, not a division."""
    extra = (ExtraStroke(START, -20.0), ExtraStroke(START + 1, -20.0))

    assert 2 == told(SNARE, state=lambda _: "unheard", extra=extra).numbers.share_wrong


@FEW
@given(st.floats(-12, 12))
def test_ghosts_delayed_are_ghosts_late(late: float) -> None:
    """Every ghost so many milliseconds later: ghosts lie that much farther from the accents.

    To a five-hundredth: the steady course of the take leans on all strokes, and takes that much.
    """
    found = told(SNARE, late=lambda s: late if s.level is Level.GHOST else 0.0).numbers
    places = {partial.place: partial.mean_ms for partial in found.partials}

    assert late == pytest.approx(found.ghosts_ms, rel=0.002, abs=0.002)
    assert late == pytest.approx(
        (places[Fraction(3, 4)] or 0) - (places[Fraction(1)] or 0), abs=0.1
    )


def test_grace_notes_and_covered_strokes_are_counted_and_not_timed() -> None:
    """A flam's grace 30 ms off and a hat under the snare 50 ms off change no time."""
    pattern = parse("hat: beat\nsnare: >f2 >4 (1a) (3e)\n")

    def late(stroke: Expected) -> float:
        if stroke.part is Part.GRACE:
            return 30.0
        return 50.0 if stroke.voice is Voice.HAT and stroke.place in {1, 3} else 0.0

    found = told(pattern, late=late, covered=lambda s: s.voice is Voice.HAT and s.place in {1, 3})
    graces = [f for f in found.facts if f.expected.part is Part.GRACE]

    assert (0.0, 0.0) == pytest.approx((found.numbers.spread_ms, found.numbers.mean_ms), abs=1e-6)
    assert len(found.facts) == found.numbers.heard
    assert not any(fact.timed for fact in graces)
    assert all(fact.off_ms == pytest.approx(30.0, abs=1e-6) for fact in graces)


def test_partials_are_the_places_of_the_pattern_from_hat_to_bass() -> None:
    """Each place, voice and grace apart, in order; how late, how even, how often."""
    pattern = parse("hat: 1\nbass: 1\nsnare: >f2 (1a)\n")

    def late(stroke: Expected) -> float:
        return [-1.0, 0.0, 1.0][stroke.index // 5 % 3] if stroke.place == Fraction(3, 4) else 0.0

    def state(stroke: Expected) -> str:
        turn = stroke.index // 5
        if stroke.voice is Voice.BASS:
            return "heard" if turn < 2 else "missed"
        return "unheard" if stroke.voice is Voice.HAT and turn == 5 else "heard"

    measured = told(pattern, late=late, state=state)
    found = measured.numbers.partials
    a = [f.off_ms for f in measured.facts if f.expected.place == Fraction(3, 4) if f.off_ms]

    assert [
        (Fraction(0), "hat", "plain", 5, 0, 1),
        (Fraction(0), "bass", "plain", 2, 4, 0),
        (Fraction(3, 4), "snare", "ghost", 6, 0, 0),
        (Fraction(1), "snare", "ghost", 6, 0, 0),
        (Fraction(1), "snare", "accent", 6, 0, 0),
    ] == [(p.place, p.voice, p.level, p.heard, p.missed, p.unheard) for p in found]
    assert (None, None) == (found[1].mean_ms, found[1].spread_ms)
    assert (None, None) == (found[3].mean_ms, found[3].spread_ms)
    assert statistics.fmean(a) == pytest.approx(found[2].mean_ms)
    assert statistics.stdev(a) == pytest.approx(found[2].spread_ms)
    assert 0 == pytest.approx(found[4].mean_ms, abs=0.1)


def test_each_hand_is_judged_by_itself() -> None:
    """The right hand scatters and its ghosts are uneven; the left does neither; feet have none."""
    pattern = parse("bass: 1 3\nsnare: >R1 >L2 (R1&) (L2&) >R3 >L4\n")
    stray = {Hand.RIGHT: 6.0, Hand.LEFT: 1.0}

    def late(stroke: Expected) -> float:
        way = 1 if stroke.index // 8 % 2 else -1
        return way * stray[stroke.hand] if stroke.hand else 0.0

    def level(stroke: Expected) -> float:
        uneven = stroke.hand is Hand.RIGHT and stroke.level is Level.GHOST
        return DB[stroke.level] + (4 * (-1) ** (stroke.index // 8) if uneven else 0)

    found = told(pattern, late=late, level=level, passes=8)
    hands = {hand.hand: hand for hand in found.numbers.hands}
    own = [f.off_ms for f in found.facts if f.expected.hand is Hand.RIGHT and f.off_ms is not None]

    assert [Hand.RIGHT, Hand.LEFT] == [hand.hand for hand in found.numbers.hands]
    assert 24 == hands[Hand.RIGHT].strokes == hands[Hand.LEFT].strokes
    assert statistics.stdev(own) == pytest.approx(hands[Hand.RIGHT].spread_ms)
    assert 2 > (hands[Hand.LEFT].spread_ms or 9)
    ghosts = [4.0 * (-1) ** turn for turn in range(8)]
    assert statistics.stdev(ghosts) == pytest.approx(hands[Hand.RIGHT].ghosts_spread_db)
    assert 0 == pytest.approx(hands[Hand.LEFT].ghosts_spread_db)
    assert (Hand.RIGHT,) == tuple(
        hand.hand
        for hand in told(
            pattern, state=lambda s: "missed" if s.hand is Hand.LEFT else "heard"
        ).numbers.hands
    )


def test_a_hands_ghosts_are_heard_missed_or_under_another_stroke() -> None:
    """A missed ghost and a covered one have no loudness of their own."""
    one = row([0.0] * 4, level=Level.GHOST, db=[-30.0, -32.0, -34.0, 0.0])
    covered = [*one[:3], StrokeFact(one[3].expected, "heard", START, 0.0, covered=True)]
    (hand,) = numbers(covered).hands

    assert 4 == hand.strokes
    assert 2.0 == pytest.approx(hand.ghosts_spread_db)


def test_every_beat_of_the_bar_has_its_mean_over_all_bars() -> None:
    """The second bar's beats are the first's again; a beat with nothing timed says nothing."""
    pattern = parse("snare: >1 (1a) >2 >4 | >1 (1&) >2 >4\n")

    def late(stroke: Expected) -> float:
        return {0: -2.0, 1: 1.0, 3: 2.0}[int(stroke.place) % 4]

    found = told(pattern, late=late, passes=4)
    mean = found.numbers.mean_ms or 0

    assert 4 == len(found.numbers.beats_ms)
    assert found.numbers.beats_ms[2] is None
    assert [-2 - mean, 1 - mean, 2 - mean] == pytest.approx(
        [ms for ms in found.numbers.beats_ms if ms is not None], abs=0.3
    )


@FEW
@given(st.floats(-0.03, 0.03))
def test_a_take_played_slower_is_as_even_and_has_its_own_tempo(slower: float) -> None:
    """A steady 2 % slower is no unevenness: the tempo says it, bar by bar."""
    found = told(KIT, late=lambda s: slower * s.seconds * 1000).numbers

    assert 90 / (1 + slower) == pytest.approx(found.bpm, rel=1e-6)
    assert [90 / (1 + slower)] * 6 == pytest.approx(found.bpm_by_bar, rel=1e-6)
    assert (0.0, 0.0) == pytest.approx((found.spread_ms, found.wander_ms), abs=1e-3)


def bar_facts(pattern: Pattern, laid: TempoMap, stray: np.ndarray) -> list[StrokeFact]:
    """Return strokes on a map of tempo, each off by its own milliseconds."""
    strokes = expected_strokes(pattern, 90, 4)
    on = laid(np.array([stroke.seconds for stroke in strokes]))
    return [
        StrokeFact(stroke, "heard", at + off / 1000, -20.0, offset_ms=0.0, off_ms=float(off))
        for stroke, at, off in zip(strokes, on, stray, strict=True)
    ]


def test_a_bars_tempo_is_a_line_through_its_strokes_pulled_to_the_course() -> None:
    """Beside numpy's least squares, the course as two more points a fifth of a bar² a stroke off.

    Strokes count up to half a bar beside their bar; fewer than six leave the course's tempo.
    """
    bar, length = 60 / 90 * 4, 4 * 60 / 90 * 4
    laid = TempoMap(START, 1.01, 2e-4, length)
    rng = np.random.default_rng(2)
    facts = bar_facts(KIT, laid, rng.normal(0, 8, 4 * 14))
    found = numbers(facts, laid=laid).bpm_by_bar

    assert 4 == len(found)
    for number, bpm in enumerate(found):
        middle = (number + 0.5) * bar
        near = [f for f in facts if abs(f.expected.seconds - middle) < bar]
        x = np.array([f.expected.seconds for f in near])
        y = np.array([f.at for f in near], float)
        course_slope = 1.01 + 2e-4 * (2 * middle - length)
        reach = np.sqrt(0.2 * bar**2 * len(near) / 2)
        x_all = np.array([*(x - x.mean()), reach, -reach])
        y_all = np.array([*(y - y.mean()), reach * course_slope, -reach * course_slope])
        assert 90 / np.polyfit(x_all, y_all, 1)[0] == pytest.approx(bpm, rel=1e-9)
    few = numbers(facts[:5], laid=laid).bpm_by_bar
    assert 90 / (1.01 + 2e-4 * (bar - length)) == pytest.approx(few[0])
    six = numbers(facts[:6], laid=laid).bpm_by_bar
    assert few[0] != pytest.approx(six[0], rel=1e-6)
    assert 1 == len(numbers(facts, laid=TempoMap(START, 1.0, 0.0, 0.4)).bpm_by_bar)


def test_wander_is_what_running_means_over_two_seconds_stray_from_an_even_tempo() -> None:
    """Beside the same in plain words; fewer than twelve strokes wander not."""
    length = 4 * 60 / 90 * 4
    rng = np.random.default_rng(4)
    facts = bar_facts(KIT, TempoMap(START, 1.0, 0.0, length), rng.normal(0, 9, 4 * 14))
    x = [f.expected.seconds for f in facts]
    y = [f.at or 0.0 for f in facts]
    slope, level = statistics.linear_regression(x, y)
    off = [at - level - slope * nominal for nominal, at in zip(x, y, strict=True)]
    means = [
        statistics.fmean(ms for ms, there in zip(off, x, strict=True) if abs(there - here) < 1)
        for here in x
    ]

    assert 1000 * statistics.pstdev(means) == pytest.approx(numbers(facts).wander_ms, rel=1e-6)
    assert numbers(facts[:11]).wander_ms is None
    assert numbers(facts[:12]).wander_ms is not None


def test_a_course_needs_four_strokes_and_else_is_where_the_middle_one_lies() -> None:
    """Three strokes 10, 20 and 90 ms late are a take 20 ms late; none, one that starts in time."""
    facts = [
        StrokeFact(s, "heard", START + s.seconds + late, -20.0)
        for s, late in zip(expected_strokes(SNARE, 90, 1), (0.01, 0.02, 0.09), strict=False)
    ]
    found, none = course(facts, START, 3.0), course([], START, 3.0)

    assert (START + 0.02, 1.0, 0.0, 3.0) == pytest.approx(
        (found.offset, found.stretch, found.bend, found.length)
    )
    assert TempoMap(START, 1.0, 0.0, 3.0) == none
    assert 90 == pytest.approx(numbers(facts, laid=found).bpm)


def test_the_course_is_laid_through_what_is_timed_alone() -> None:
    """Graces and covered strokes 60 ms off do not bend it."""
    pattern = parse("hat: beat\nsnare: >f2 >f4 (1a) (3e)\n")
    found = told(
        pattern,
        late=lambda s: 60.0 if s.part is Part.GRACE or s.voice is Voice.HAT else 0.0,
        covered=lambda s: s.voice is Voice.HAT,
    )
    timed = [f.off_ms for f in found.facts if f.timed]

    assert [0.0] * len(timed) == pytest.approx(timed, abs=1e-6)
