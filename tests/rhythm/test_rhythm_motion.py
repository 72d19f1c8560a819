"""Motion: heights, turns, rates, and the tempo at which a hand gives out.

Outside check: ordinary people's single hands reach 5 to 7 strokes a second (Fujii, Kudo, Ohtsuki
and Oda 2009, Neuroscience Letters 459:69-73); in sixteenths of one hand, 15 times that in bpm: 75
as they go on, 105 for three in a row. RRLL in thirty-seconds at 120 bpm is 8 strokes a second a
hand, 16 within a pair and 4 motions of the wrist (arithmetic).
"""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest
from examples import examples
from hypothesis import example, given
from strategies import patterns

from drillbox import rhythm
from drillbox.rhythm import (
    BURST_LIMIT,
    STREAM_LIMIT,
    Hand,
    Motion,
    Pattern,
    Sticking,
    for_player,
    hands,
    mirrored,
    movement,
    movement_words,
    parse,
    repeated,
    with_hands,
)

ROCK = "hat: beat &\nbass: 1 3\nsnare: "


def motions(text: str) -> str:
    """Return one letter for each stroke, a dot for feet."""
    return "".join(m.sign if m else "." for m in movement(parse(text)).of_strokes)


def test_a_ghost_before_a_backbeat_rises_and_the_backbeat_is_stopped_low() -> None:
    """The hand that ghosts the a of one and plays the backbeat: up, down, up, down."""
    assert "TUTDTUTD" == motions("hat: beat\nsnare: (1a) >2 (3a) >4")


def test_the_hat_hand_taps_its_time_and_the_feet_have_no_hands() -> None:
    """Equal strokes on a cymbal and ghosts in a row are taps; an accented hat comes down."""
    assert "T.T" == motions("meter: 1/4\nhat: 1\nbass: 1\nsnare: (1e)")
    assert "DUDU" == motions("meter: 2/4\nhat: >1 1& >2 2&")
    assert "FF" == motions("meter: 1/4\nhat: >1 >1&")


def test_there_are_four_heights() -> None:
    """Ghost, tap, plain, accent: each is below the next, and equal ones are taps below plain."""
    assert "UUUD" == motions("snare: (R1) _R2 R3 >R4")
    assert "TTTT" == motions("snare: _R1 _R2 _R3 _R4")
    assert "TTTT" == motions("snare: (R1) (R2) (R3) (R4)")
    assert "FFFF" == motions("snare: >R1 >R2 >R3 >R4")


def test_plain_strokes_under_accents_are_taps_and_without_them_full() -> None:
    """How high a plain stroke is depends on what stands above it on the same drum."""
    assert "FFFF" == motions("snare: R1 R2 R3 R4")
    assert "DTTU" == motions("snare: >R1 R2 R3 R4")


def test_turns_are_timed_at_a_tempo() -> None:
    """At 100 bpm a sixteenth is 150 ms and an eighth is 300."""
    moved = movement(parse(ROCK + ">2 (2&) (3a) >4"))

    assert (300.0, 150.0) == moved.turnarounds_ms(100)
    assert (600.0, 300.0) == moved.turnarounds_ms(50)
    assert (None, None) == movement(parse("hat: beat")).turnarounds_ms(100)


@pytest.mark.parametrize("figure", [">d2 >d4", ">f2", ">d2 (2e)", "fbeat d&"])
def test_no_hand_is_said_to_turn_in_no_time(figure: str) -> None:
    """A drag under a hat stroke asks for a third hand; that is told by the deck, not as 0 ms."""
    moved = movement(parse(f"hat: beat &\nsnare: {figure}"))

    assert all(gap is None or gap > 0 for gap in moved.turnarounds_ms(90))
    assert " 0 ms" not in movement_words(moved, 90)


def test_a_turn_over_the_repeat_counts() -> None:
    """A ghost on the last a rises to an accent on the first beat of the next pass."""
    assert (None, Fraction(1, 4)) == (
        movement(parse("meter: 2/4\nsnare: >R1 >R2")).up_gap,
        movement(parse("snare: >R1 (R4a)")).up_gap,
    )


@pytest.mark.parametrize(("hz", "bpm"), [(5, 75), (20 / 3, 100), (7, 105)])
def test_sixteenths_of_one_hand(hz: float, bpm: float) -> None:
    """One hand's sixteenths at 15 times the rate in bpm; as they go on, 5 a second is 75 bpm."""
    moved = movement(parse("snare: Rbeat Re R& Ra"))

    assert (hz, hz) == pytest.approx(moved.busiest(bpm))
    assert (hz, 0) == pytest.approx(moved.rates(bpm))
    assert pytest.approx(75.0) == moved.top_bpm == 15 * STREAM_LIMIT


def test_three_in_a_row_may_be_faster_than_four() -> None:
    """A hand that rests after three sixteenths may pass what it could not keep up."""
    three, four = (parse(f"meter: 2/4\nsnare: R1 R1e R1&{more}") for more in ("", " R1a"))

    assert pytest.approx(15 * BURST_LIMIT) == movement(three).top_bpm
    assert pytest.approx(15 * STREAM_LIMIT) == movement(four).top_bpm
    assert pytest.approx(1.0) == movement(three).load(105)


def test_a_bounced_double_is_one_motion_where_the_hand_has_time_after_it() -> None:
    """The roll's hand moves its wrist four times a second; doubles in a row count out."""
    roll = movement(parse("snare: /beat /e /& /a"))
    alone = movement(parse("snare: /Rbeat /R&"))
    crowded = movement(parse("snare: /Rbeat /Re /R& /Ra"))

    assert (8.0, 8.0) == roll.rates(120)
    assert (4.0, 4.0) == roll.busiest(120) == alone.busiest(120)
    assert (16.0, 16.0) == crowded.busiest(120)


def test_hand_to_hand_goes_twice_as_fast() -> None:
    """Alternating hands double the tempo.

    Bounced doubles ask for half of that, and the hat's hand gives out first.
    """
    assert pytest.approx(150.0) == movement(parse("snare: beat e & a")).top_bpm
    assert pytest.approx(300.0) == movement(parse("snare: /beat /&")).top_bpm
    assert pytest.approx(150.0) == movement(parse(ROCK + "(/beat) (/&)")).top_bpm


def test_a_pair_may_be_a_rebound_but_not_where_the_height_changes() -> None:
    """Two ghosts in a row are one push; a ghost before its accent is two."""
    pair = movement(parse("meter: 2/4\nsnare: (L1&) (L1a)"))
    turned = movement(parse("meter: 2/4\nsnare: (L1&) >L1a"))

    assert (Fraction(1), Fraction(4)) == (pair.work[1].burst, turned.work[1].burst)


def test_compound_meters_count_their_own_pulse() -> None:
    """Eighths of one hand in 6/8 at 60 dotted quarters are 3 a second, so 5 a second is 100."""
    moved = movement(parse("meter: 6/8\nsnare: Rbeat"))

    assert (3.0, 3.0) == pytest.approx(moved.busiest(60))
    assert 100.0 == pytest.approx(moved.top_bpm)


def test_three_ways_to_share_strokes() -> None:
    """Time on the hat leaves ghosts to the other hand.

    Two hands on the snare alternate, or keep each partial's hand.
    """
    triplets = parse("meter: 2/4\ngrid: 8t\nsnare: (1t) (1l) >2")
    hat = parse("meter: 1/4\nhat: beat\nsnare: (e) (&)")

    assert "RLR" == "".join(map(str, hands(triplets, way=Sticking.ALTERNATE)))
    assert "LRL" == "".join(map(str, hands(triplets, way=Sticking.NATURAL)))
    assert "RLL" == "".join(map(str, hands(hat, way=Sticking.TIME)))
    assert "RLR" == "".join(map(str, hands(hat, way=Sticking.NATURAL)))


def test_a_fill_has_the_same_strokes_on_every_drum() -> None:
    """Plain strokes are free ones on snare and toms alike, whatever accents other beats have."""
    groove = "crash: 1\nhat: 1& 2 2& 3 3&\nsnare: >2 4 4a\ntom: 4e\nfloor: 4&"
    pattern = parse(groove)
    fill = [
        motion.sign
        for stroke, motion in zip(pattern.strokes, movement(pattern).of_strokes, strict=True)
        if motion is not None and stroke.at >= 3 and not stroke.voice.is_cymbal
    ]

    assert ["F", "F", "F", "U"] == fill


def test_written_out_sticking_is_kept() -> None:
    """Once hands are written, every way gives them back.

    And a left-handed player gets the mirror image.
    """
    pattern = with_hands(parse("snare: beat e"), Sticking.NATURAL)

    assert set(Hand) == {stroke.hand for stroke in pattern.strokes}
    assert hands(pattern) == hands(pattern, way=Sticking.ALTERNATE)
    assert pattern == for_player(pattern, Hand.RIGHT) == mirrored(for_player(pattern, Hand.LEFT))


@examples(60)
@given(patterns())
def test_mirrored_twice_is_what_it_was(pattern: Pattern) -> None:
    """Turning hands round is its own inverse."""
    assert pattern == mirrored(mirrored(pattern))


@examples(60)
@given(patterns())
def test_the_mirror_image_moves_as_the_image_of_the_motion(pattern: Pattern) -> None:
    """In every way of sticking: the same motions, the same turns, the hands exchanged."""
    for way in Sticking:
        right = movement(pattern, way=way)
        left = movement(mirrored(pattern), leading=Hand.LEFT, way=way)

        assert right.of_strokes == left.of_strokes
        assert (right.down_gap, right.up_gap) == (left.down_gap, left.up_gap)
        assert [work.strokes for work in right.work] == [work.strokes for work in left.work[::-1]]
        assert right.top_bpm == left.top_bpm


@examples(60)
@given(patterns(max_bars=1))
@example(parse("grid: 8t\nswing: 8 3:1\nhat: 1 (/4&)"))
def test_playing_it_twice_changes_no_motion(pattern: Pattern) -> None:
    """The repeat counts as the next bar does.

    Written out, the motions come again, and no hand gets busier.
    """
    way = Sticking.NATURAL
    once, twice = movement(pattern, way=way), movement(repeated(pattern, 2), way=way)

    assert once.of_strokes * 2 == twice.of_strokes
    assert [work.per_beat for work in once.work] == [work.per_beat for work in twice.work]


@examples(60)
@given(patterns())
def test_ups_and_downs_are_even(pattern: Pattern) -> None:
    """A hand that goes round must come back: as soon as it rises somewhere it falls somewhere."""
    moved = movement(pattern)
    for hand in Hand:
        mine = [blow.motion for blow in moved.blows if blow.hand is hand]
        assert (Motion.UP in mine) == (Motion.DOWN in mine)


def test_what_is_not_always_needed_loads_late() -> None:
    """Reading and drawing a pattern loads neither motion nor generators.

    Asking for a name loads its module.
    """
    script = (
        "import sys, drillbox.rhythm as r\n"
        "late = [f'drillbox.rhythm.{m}' for m in ('motion', 'weighing', 'generators')]\n"
        "print(*[m in sys.modules for m in late])\n"
        "r.movement, r.difficulty\n"
        "print(*[m in sys.modules for m in late])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )

    assert ["False False False", "True True False"] == done.stdout.splitlines()
    with pytest.raises(AttributeError, match="no attribute 'motions'"):
        rhythm.motions  # noqa: B018 - the asking is the test
