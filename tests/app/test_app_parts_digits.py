"""Digits and lamps that are read from across the room, drawn without a window."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.app.big_digits import _QUARTERS, _distance, big, carved, rows_that_fit
from drillbox.app.widgets.beat_lamps import BeatLamps, _lamp

DIGITS = """\
  ▗▄███▄▖        ▄██▄       ▄▟███▙▄     ▗▄▟███▄▄         ▟██▖
 ▗███████▖     ▄█████     ▗███▛▀▜███▖  ▗███▛▀████       ▟██▛
▗███▘ ▝███▖   ▐██████     ▜██▌   ▐███  ▝▀▀▘   ▜██▌     ▟██▛
▐██▛   ▜██▌      ▐███           ▗▟██▛      ▗▄▄███▘    ▟██▛▟█▙
███▌   ▐███      ▐███          ▄███▀      ▝█████▌    ▟██▛ ███
▐██▙   ▟██▌      ▐███        ▗▟██▛▘         ▀▀███▖  ▟███▄▄███▄▄
▝███▖ ▗███▘      ▐███       ▟███▀      ▗▄▄▖   ▟██▌  ▜██████████
 ▝███████▘       ▐███     ▗████▙▄▄▄▄▖  ▝███▙▄████         ███
  ▝▀███▀▘        ▝██▀     ▜█████████▛   ▝▀▜███▀▀          ▜█▛
""", """\
 ▟████████▖       ▄██▙    ▟█████████▙    ▗▟███▙▖      ▄▟███▙▄
 ███▀▀▀▀▀▀     ▗▄███▛▘    ▝▀▀▀▀▀▀███▌   ████▀████   ▗████▀████▖
▗███          ▗███▛▘            ▟██▛   ▐███   ███▌  ▟██▛   ▜██▙
▐██████▄▖     ▟███▄▄▄          ▗███▘   ▝███▄▄▄███▘  ▐███▖ ▗███▛
▝████████▙   ▐████████▄        ▟██▌     ▐███████▌    ▀████████▌
       ███▌  ▟███▘ ▝███▌      ▐██▛     ▗███▀▀▀███▖     ▀▀▀███▛
 ▄▄▖   ▟██▌  ▜██▙   ▟██▛     ▗███▘     ▜██▙   ▟██▛      ▗▟███▘
▝███▙▄███▛   ▝████▄████▘     ▟██▌      ▝████▄████▘    ▗▟███▀▘
  ▀▜███▀▘      ▀▜███▛▀       ▜█▛         ▀▜███▛▀      ▜██▀
""", """\


                 ▟█▙
 ▄▄▄▄▄▄▄▄▄    ▄▄▄███▄▄▄
▐█████████▌  ▐█████████▌
                 ███
                 ▀▀▀


"""  # fmt: skip


@pytest.mark.parametrize(("text", "picture"), [*zip(("01234", "56789", "-+"), DIGITS, strict=True)])
def test_the_digits_are_round_and_read_as_what_they_are(text: str, picture: str) -> None:
    """At nine rows: a picture, so that whoever changes a stroke has to look at it."""
    assert picture.splitlines() == [row.rstrip() for row in big(text, 9)]


def ink(rows: int) -> float:
    """Return the share of quarters of cells that are filled, over all digits."""
    drawn = "".join(big("0123456789", rows))
    return sum(_QUARTERS.index(cell).bit_count() for cell in drawn) / (4 * len(drawn))


def test_the_smallest_digits_have_thicker_strokes() -> None:
    """A stroke thinner than a quarter of a cell would fall between the cells; larger ones agree."""
    assert ink(3) > 1.1 * ink(20)
    assert [ink(20)] * 3 == pytest.approx([ink(rows) for rows in (4, 9, 14)], rel=0.05)


MIRRORED = str.maketrans("▘▝▖▗▌▐▛▜▙▟▚▞", "▝▘▗▖▐▌▜▛▟▙▞▚")


@pytest.mark.parametrize("rows", [3, 5, 8, 13, 20])
def test_nought_eight_and_the_minus_are_the_same_in_a_mirror(rows: int) -> None:
    """Left and right are alike at every size."""
    for digit in "08-":
        drawn = big(digit, rows)

        assert [row[::-1].translate(MIRRORED) for row in drawn] == list(drawn)


@given(st.text("0123456789", min_size=1, max_size=3), st.integers(1, 120), st.integers(1, 40))
def test_digits_that_fit_are_no_wider_and_no_higher_than_their_place(
    text: str, width: int, height: int
) -> None:
    """A digit of a tempo that is cut is a wrong tempo; one more row would not fit."""
    rows = rows_that_fit(text, width, height)

    assert rows <= height
    assert not 0 < rows < 3
    if rows:
        assert len(big(text, rows)[0]) <= width
    if 3 <= height > rows:
        assert len(big(text, max(rows + 1, 3))[0]) > width


@pytest.mark.parametrize(
    ("text", "width", "height", "expected"),
    [
        ("8", 3, 9, 0),
        ("8", 4, 9, 3),
        ("8", 40, 2, 0),
        ("120", 13, 9, 0),
        ("120", 14, 9, 3),
        ("120", 28, 9, 7),
        ("120", 60, 20, 14),
        ("", 40, 5, 5),
    ],
)
def test_digits_have_as_many_rows_as_the_tighter_side_allows(
    text: str, width: int, height: int, expected: int
) -> None:
    """A digit is 1 wide and 1.7 high, a gap 0.2; cells are twice as high as wide."""
    assert expected == rows_that_fit(text, width, height)


def test_a_sign_that_is_no_digit_is_a_blank_of_its_width() -> None:
    """Nothing stands in for what cannot be drawn; nothing at all is as many empty rows."""
    assert len(big("8", 5)[0]) == len(big("x", 5)[0])
    assert {" " * len(big("8", 5)[0])} == set(big("x", 5))
    assert ("",) * 4 == big("", 4)


def test_what_is_carved_is_full_where_nothing_was_drawn() -> None:
    """Each quarter is filled in one of the two drawings only."""
    assert ("█ ▟▖▌",) == carved((" █▘▜▐",))


@pytest.mark.parametrize(
    ("point", "one", "other", "expected"),
    [
        ((1.0, 1.0), (0.0, 0.0), (2.0, 0.0), 1.0),
        ((3.0, 0.0), (0.0, 0.0), (2.0, 0.0), 1.0),
        ((-2.0, 0.0), (0.0, 0.0), (2.0, 0.0), 2.0),
        ((3.0, 4.0), (0.0, 0.0), (0.0, 0.0), 5.0),
        ((0.0, 2.0), (0.0, 0.0), (2.0, 2.0), 2.0**0.5),
        ((5.0, 8.0), (1.0, 1.0), (3.0, 5.0), 13.0**0.5),
    ],
)
def test_the_distance_from_a_stroke(
    point: tuple[float, float],
    one: tuple[float, float],
    other: tuple[float, float],
    expected: float,
) -> None:
    """Beside it at a right angle, beyond an end from that end (plane geometry)."""
    assert pytest.approx(expected) == _distance(*point, one, other)
    assert pytest.approx(expected) == _distance(*point, other, one)


# the lamps of the beats


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("lit", [True, False])
@given(width=st.integers(2, 40), height=st.integers(1, 24), number=st.integers(1, 12))
def test_a_lamp_fills_its_place(
    width: int, height: int, number: int, *, first: bool, lit: bool
) -> None:
    """All rows as wide as the place, dark at the right; a lit one is full, others have a base."""
    rows = _lamp(number, width, height, first=first, lit=lit)
    above = [row for row in rows if not row.strip()] if lit else []

    assert height == len(rows)
    assert {width} == {len(row) for row in rows}
    assert {" "} == {row[-1] for row in rows}
    assert lit or {"▁"} == set(rows[-1][:-1])
    if lit:
        assert (0 if first or height < 3 else max(1, round(height / 5))) == len(above)
        if height - len(above) > 2:
            assert "█" * (width - 1) + " " == rows[len(above)] == rows[-1]


def test_a_groups_first_lamp_stands_taller() -> None:
    """By a fifth of the height; its number stands in the middle."""
    tall = _lamp(1, 6, 10, first=True, lit=True)
    short = _lamp(2, 6, 10, first=False, lit=True)

    assert [0, 2] == [sum(not row.strip() for row in rows) for rows in (tall, short)]
    assert "█" == _lamp(7, 4, 1, first=True, lit=True)[0][0]
    assert [0, 0] == [sum(not r.strip() for r in _lamp(2, 6, 2, first=f, lit=True)) for f in (0, 1)]


@given(st.lists(st.integers(1, 4), min_size=1, max_size=5), st.integers(20, 160))
def test_the_lamps_stand_side_by_side_over_the_whole_width(groups: list[int], width: int) -> None:
    """Each begins where the one before ends; none is wider than another by more than a column."""
    beats = sum(groups)
    lamps = cast(
        "BeatLamps", SimpleNamespace(size=SimpleNamespace(width=width), _firsts=(True,) * beats)
    )
    places = [BeatLamps._place(lamps, lamp) for lamp in range(beats)]

    assert 0 == places[0][0]
    assert [start + wide for start, wide in places] == [start for start, _ in places[1:]] + [width]
    assert 1 >= max(wide for _, wide in places) - min(wide for _, wide in places)


def test_a_meter_of_groups_has_its_tall_lamps_where_they_begin() -> None:
    """Seven eighths as two, two and three: the first, the third and the fifth."""
    lamps = BeatLamps()
    lamps.show((2, 2, 3))

    assert (True, False, True, False, True, False, False) == lamps._firsts
