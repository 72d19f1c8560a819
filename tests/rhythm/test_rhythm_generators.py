"""Generators.

Exactly as many as mathematics says, each once, and a reason for whatever is left out.

Outside checks, all elementary combinatorics: 2^n - 1 non-empty sets, C(n, k) of size k, (m + 1)^n -
1 ways to give m articulations to n partials; necklaces by Burnside's lemma, (1/n) sum over d | n of
phi(d) 2^(n/d), with the values of OEIS A000031 (value from memory): 4, 6, 14, 36 for n = 3, 4, 6,
8.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import comb, gcd

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import patterns

from drillbox.errors import UsageError
from drillbox.rhythm import (
    Level,
    Meter,
    Ornament,
    Pattern,
    Voice,
    draw,
    fingerprint,
    overlay,
    parse,
    repeated,
    spell,
)
from drillbox.rhythm.generators import (
    STOCK_GROOVES,
    Blend,
    Figure,
    Reason,
    Sieve,
    bar_of,
    blend,
    covering,
    displaced,
    displacements,
    figure_slug,
    figures,
    lay,
    partial_sets,
    stock_groove,
)

FOUR = Meter(4, 4)
SIZES = (1, 2, 3, 4, 6, 8)


@pytest.mark.parametrize("n", SIZES)
def test_all_sets_of_partials(n: int) -> None:
    """2^n - 1 sets, C(n, k) of each size, no two alike, singles first.

    The same as counting in binary.
    """
    sets = list(partial_sets(range(n)))
    binary = {
        tuple(i for i in range(n) if bits[i])
        for bits in product((False, True), repeat=n)
        if any(bits)
    }

    assert 2**n - 1 == len(sets) == len(set(sets))
    assert binary == set(sets)
    assert [comb(n, k) for k in range(1, n + 1)] == [
        sum(len(chosen) == k for chosen in sets) for k in range(1, n + 1)
    ]
    assert sorted(sets, key=len) == sets


@pytest.mark.parametrize("n", [3, 4, 6])
def test_embellished_sets(n: int) -> None:
    """With one ornament besides the plain ghost there are 3^n - 1 in all: 7, 26, 80, 728."""
    plain = list(figures(n))
    some = list(figures(n, ornament=Ornament.DOUBLE, which="some"))
    one = list(figures(n, ornament=Ornament.DOUBLE, which="one"))
    every = list(figures(n, ornament=Ornament.DOUBLE))

    assert 3**n - 1 == len({*plain, *some})
    assert n * 2 ** (n - 1) == len(set(one))
    assert 2**n - 1 == len(set(every))


@pytest.mark.parametrize(("slots", "grid"), [(3, "8t"), (4, "16"), (6, "16t"), (8, "32")])
def test_every_set_around_the_backbeats_is_a_rhythm(slots: int, grid: str) -> None:
    """Laid over a groove, all 2^n - 1 sets are different rhythms, as the notation has them."""
    base = stock_groove("quarter hat")
    laid = [lay(base, [figure]) for figure in figures(slots)]
    rhythms = {fingerprint(one.pattern) for one in laid if one.pattern}
    names = {3: ["beat", "t", "l"], 4: ["beat", "e", "&", "a"]}.get(slots)

    assert 2**slots - 1 == len(rhythms)
    if names:
        written = {
            fingerprint(overlay(base, parse(f"grid: {grid}\nsnare: {ghosts}")))
            for k in range(1, slots + 1)
            for chosen in partial_sets(range(slots), {k})
            for ghosts in [" ".join(f"({names[i]})" for i in chosen)]
        }  # fmt: skip
        assert written == rhythms


@pytest.mark.parametrize(
    ("slots", "cell", "expected"),
    [(4, 2, 127), (3, 2, 31), (6, 1, 63), (3, 4, 1023)],
)
def test_no_ghost_is_hidden_by_a_backbeat(slots: int, cell: int, expected: int) -> None:
    """Where the backbeats take places, 2^(free places) - 1 sets are left, others are refused."""
    base = parse("snare: >2 >4") if cell > 1 else parse("snare: >2")
    laid = [lay(base, [figure]) for figure in figures(slots, cell=cell)]
    kept = [one.pattern for one in laid if one.pattern]

    assert expected == len({fingerprint(pattern) for pattern in kept}) == len(kept)
    assert all("falls on a louder snare" in one.reason for one in laid if one.pattern is None)


@pytest.mark.parametrize(("n", "expected"), [(3, 4), (4, 6), (6, 14), (8, 36)])
def test_up_to_rotation_there_are_as_many_as_necklaces(n: int, expected: int) -> None:
    """Displacing a beat's set by partials meets every set of its necklace.

    Burnside's lemma counts the necklaces.
    """
    beat = Meter(1, 4)
    classes = set()
    for figure in figures(n):
        bar = bar_of(beat, [figure])
        orbit = [bar, *(moved for _, moved in displacements(bar, n))]
        assert n % len(orbit) == 0
        classes.add(min(spell(one) for one in orbit))
    totient = [sum(gcd(k, d) == 1 for k in range(1, d + 1)) for d in range(n + 1)]
    burnside = sum(totient[d] * 2 ** (n // d) for d in range(1, n + 1) if n % d == 0) // n

    assert expected == burnside == len(classes) + 1


@pytest.mark.parametrize("figure", [Figure(4, (1,)), Figure(4, (1, 6), cell=2, cells=(1,))])
def test_figures_come_in_every_bar_of_a_groove(figure: Figure) -> None:
    """Over a groove of two bars they are what they are over one, written out twice."""
    base = stock_groove("backbeats")
    once = lay(base, [figure]).pattern
    assert once is not None
    assert repeated(once, 2) == lay(repeated(base, 2), [figure]).pattern


def test_what_no_grid_holds_is_left_out_with_its_reason() -> None:
    """The e of a sixteenth stands on no grid with the hat's triplets."""
    laid = lay(parse("grid: 8t\nhat: beat t l\nsnare: >2 >4"), [Figure(4, (1,))])
    assert laid.pattern is None
    assert laid.reason.startswith("no grid holds all strokes of beat 1; do not mix triplets")


@pytest.mark.parametrize(
    "figure", [Figure(4, (0,), cell=2), Figure(4, (0,), cells=(3,)), Figure(4, (0,), cells=(0, 4))]
)
def test_cells_fill_the_bar(figure: Figure) -> None:
    """Three beats have no halves and no fourth beat; their third is a beat like the others."""
    with pytest.raises(UsageError, match=r"a bar of 3/4 has no such cells of \d beats"):
        list(figure.places(Meter(3, 4)))
    assert [(2, 0)] == list(Figure(4, (0,), cells=(2,)).places(Meter(3, 4)))


def test_chosen_and_alternating_beats() -> None:
    """On chosen beats only those have ghosts; alternating, two sets take turns.

    15 times 14 pairs of sixteenths.
    """
    chosen = bar_of(FOUR, [Figure(4, (1, 3), cells=(0, 2))])
    pairs = {
        fingerprint(bar_of(FOUR, [Figure(4, a, cells=(0, 2)), Figure(4, b, cells=(1, 3))]))
        for a in partial_sets(range(4))
        for b in partial_sets(range(4))
        if a != b
    }

    assert parse("snare: (1e) (1a) (3e) (3a)") == chosen
    assert 15 * 14 == len(pairs)


def test_accents_are_figures_too() -> None:
    """Over a stream of taps an accent placement raises what is there."""
    stream = parse("meter: 2/4\nsnare: beat e & a")
    laid = lay(stream, [Figure(4, (1,), level=Level.ACCENT)])

    assert parse("meter: 2/4\nsnare: beat >e & a") == laid.pattern


@pytest.mark.parametrize("name", STOCK_GROOVES)
def test_stock_grooves(name: str) -> None:
    """Each is a groove without ghosts that round-trips, fits a page.

    And takes figures on its own grid.
    """
    groove = stock_groove(name)

    assert groove == parse(spell(groove))
    assert all(stroke.level is not Level.GHOST for stroke in groove.strokes)
    assert all(len(line) <= 80 for line in draw(groove).splitlines())
    assert any(lay(groove, [figure]).pattern for figure in figures(groove.grids[0]))


def test_a_groove_that_is_not_there() -> None:
    """The error names those that are."""
    with pytest.raises(UsageError, match="shuffle"):
        stock_groove("polka")


def test_short_names_are_made_of_the_figure_alone() -> None:
    """They stay, however the deck grows."""
    told = {
        (Figure(4, (1, 3)),): "e-a",
        (Figure(4, (0, 1, 2, 3)),): "beat-e-and-a",
        (Figure(4, (1, 3), cells=(0, 2)),): "e-a-on-1-3",
        (Figure(3, (1, 2), ornament=Ornament.DOUBLE, embellished=(1, 2)),): "trip-let-doubled",
        (Figure(3, (1, 2), ornament=Ornament.DOUBLE, embellished=(2,)),): (
            "trip-let-with-let-doubled"
        ),
        (Figure(6, (1, 2, 4)),): "p235",
        (Figure(4, (2,), level=Level.ACCENT),): "and",
        (Figure(4, (1,), cells=(0, 2)), Figure(4, (3,), cells=(1, 3))): "e-then-a",
        (Figure(6, (0, 1, 2), cells=(0, 2)), Figure(6, (5,), cells=(1, 3))): "p123-then-p6",
        (Figure(4, (1, 6), cell=4),): "1e-2and",
    }
    for parts, name in told.items():
        assert name == figure_slug(parts)


def test_no_two_figures_of_a_grid_share_a_name() -> None:
    """Short names tell all figures of a grid apart, embellished ones included."""
    for slots in (3, 4, 6):
        every = list(figures(slots)) + list(figures(slots, ornament=Ornament.BUZZ, which="some"))
        assert len(every) == len({figure_slug([f]) for f in every})


def test_blends_take_turns() -> None:
    """Bar by bar one follows the other.

    Half bar by half bar and beat by beat each keeps its own places.
    """
    ones, twos = parse("snare: (e)"), parse("grid: 8t\nsnare: (l)")

    assert parse("grid: 16 | 8t\nsnare: (e) | (l)") == blend(ones, twos, Blend.BARS)
    assert parse("grid: 16 16 8t 8t\nsnare: (e) (l)") == blend(ones, twos, Blend.HALVES)
    assert parse("grid: 16 8t 16 8t\nsnare: (e) (l)") == blend(ones, twos, Blend.BEATS)
    with pytest.raises(UsageError, match="no blend"):
        blend(ones, parse("meter: 3/4\nsnare: 1"), Blend.BARS)
    with pytest.raises(UsageError, match="swung pattern and one that is not make no blend"):
        blend(ones, parse("swing: 8 2:1\nsnare: 1"), Blend.BEATS)


def test_halves_of_odd_bars_break_between_groups() -> None:
    """Five is 3+2, seven eighths are 2+2+3."""
    assert 3 == Blend.HALVES.span(stock_groove("five-four"))
    assert 4 == Blend.HALVES.span(stock_groove("seven-eight"))
    assert [5, 7] == [Blend.BARS.span(stock_groove(n)) for n in ("five-four", "seven-eight")]


@examples(60)
@given(patterns())
def test_a_pattern_blended_with_itself_is_itself(pattern: Pattern) -> None:
    """Whatever the way: the same rhythm comes out."""
    for way in Blend:
        assert fingerprint(pattern) == fingerprint(blend(pattern, pattern, way))


@examples(60)
@given(patterns(max_bars=2))
def test_rotation_by_whole_passes_is_identity(pattern: Pattern) -> None:
    """Displaced by all its bars, a pattern is what it was; by one bar, a pattern of one bar is."""
    assert pattern == displaced(pattern, Fraction(pattern.beats))
    assert pattern == displaced(pattern, Fraction(-2 * pattern.beats))


def test_displacing_leaves_the_other_voices() -> None:
    """The snare moves by a sixteenth, the hat stays.

    After a whole beat of a beat's figure it is home.
    """
    moved = dict(displacements(parse("hat: beat\nsnare: (e)"), 4, Voice.SNARE))

    assert [1, 2, 3] == list(moved)
    assert parse("hat: beat\nsnare: (&)") == moved[1]


@given(st.permutations(range(6)), st.integers(1, 6))
def test_parts_of_a_set_to_embellish(order: list[int], size: int) -> None:
    """All is one choice, one is as many as the set has, some is 2^n - 1."""
    chosen = tuple(sorted(order[:size]))

    assert [chosen] == list(covering(chosen))
    assert [(partial,) for partial in chosen] == list(covering(chosen, "one"))
    assert 2**size - 1 == len(list(covering(chosen, "some")))


def test_the_sieve_gives_its_reasons() -> None:
    """A twin, a third hand, too fast; what is kept is remembered."""
    sieve = Sieve()
    ghost = parse("hat: beat &\nsnare: (e)")
    kept, twin = (
        sieve.judge("e", ghost, bpm=90),
        sieve.judge("two", blend(ghost, ghost, Blend.BARS), bpm=90),
    )
    crowded = sieve.judge("flams", parse("hat: beat\nsnare: fbeat"), bpm=90)
    fast = sieve.judge("fast", parse("hat: beat\nsnare: (e) (&) (a)"), bpm=120)

    assert (None, Reason.TWIN, "e") == (kept.reason, twin.reason, twin.twin)
    assert (Reason.HANDS, "beat 1 needs more than two hands") == (crowded.reason, crowded.detail)
    assert (
        Reason.RATE,
        "6.0 strokes a second in one hand at 120 bpm, more than 5 for four or more in a row",
    ) == (
        fast.reason,
        fast.detail,
    )
    assert None is sieve.judge("slow", parse("hat: beat\nsnare: (e) (&) (a)"), bpm=100).reason
