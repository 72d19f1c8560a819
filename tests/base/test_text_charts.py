"""Charts in plain characters: each number where it belongs, nothing outside the frame."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.text_charts import bars, calendar, columns, month_names


@given(
    st.lists(st.floats(0, 500), min_size=1, max_size=400), st.integers(20, 160), st.integers(3, 20)
)
def test_columns_stay_in_their_box_and_reach_the_top(
    values: list[float], width: int, height: int
) -> None:
    """The chart is as large as asked, and its highest value fills the top row."""
    lines = columns(values, width=width, height=height, left="a", right="b").splitlines()

    assert height == len(lines)
    assert max(map(len, lines[:-1])) <= width
    if max(values) >= 1 and len(values) <= width - 6:
        assert "█" in lines[0]


def test_columns_as_they_are_drawn() -> None:
    """A chart small enough to check by hand: two, four, eight and none of eight in four rows.

    Each row is worth two: the second value fills two rows, the first one.
    """
    drawn = columns([2.0, 4.0, 8.0, 0.0], width=10, height=5, left="<", right=">")

    assert [
        "   8 │  █",
        "     │  █",
        "   4 │ ██",
        "     │███",
        "      <  >",
    ] == drawn.splitlines()


@pytest.mark.parametrize(("width", "height"), [(0, 0), (10, 1), (10, 2)])
def test_the_smallest_chart_has_four_columns_and_one_row(width: int, height: int) -> None:
    """However little room a terminal gives; what stands under it keeps a space between."""
    assert ["   1 │████", "      a  b"] == columns(
        [1.0], width=width, height=height, left="a", right="b"
    ).splitlines()
    named = columns([1.0], width=width, height=height, left="Monday", right="today")
    assert "      Monday today" == named.splitlines()[-1]
    assert "   1 │" == columns([], width=width, height=height, left="", right="").splitlines()[0]


@given(st.lists(st.integers(0, 8), min_size=4, max_size=12), st.integers(2, 9), st.integers(0, 40))
def test_a_column_has_as_many_eighths_as_its_value(
    eighths: list[int], height: int, room: int
) -> None:
    """Read back from the blocks, which lie in Unicode by eighths from U+2581 to U+2588."""
    rows, width = height - 1, 6 + len(eighths) + room
    lines = columns(
        [rows * each / 8 for each in eighths],
        width=width, height=height, left="", right="", top=float(rows),
    ).splitlines()  # fmt: skip
    cells = [line[6:].ljust(width - 6) for line in lines[:-1]]
    stretch = (width - 6) // len(eighths)

    for place, value in enumerate(eighths):
        for column in range(place * stretch, (place + 1) * stretch):
            assert value * rows == sum(" ▁▂▃▄▅▆▇█".index(row[column]) for row in cells)
    assert not "".join(row[len(eighths) * stretch :] for row in cells).strip()


def test_eighths_of_a_row_have_blocks_of_their_own() -> None:
    """Eight values an eighth apart: the block elements U+2581 to U+2588 (Unicode)."""
    drawn = columns([k / 8 for k in range(9)], width=15, height=2, left="", right="")

    assert " ▁▂▃▄▅▆▇█" == drawn.splitlines()[0][6:]


def test_more_values_than_columns_are_thinned_to_the_last_of_each_group() -> None:
    """The newest value stays at the right end; fewer values are stretched by whole columns."""
    thin = columns([0.0, 1.0] * 8, width=14, height=2, left="", right="").splitlines()[0]
    wide = columns([1.0, 0.0, 1.0], width=14, height=2, left="", right="").splitlines()[0]

    assert "████████" == thin[6:]
    assert "██  ██" == wide[6:]


def test_scales_can_be_made_comparable() -> None:
    """A higher top makes lower columns; a value above the top raises it."""
    halved = columns([4.0], width=10, height=3, left="", right="", top=8.0).splitlines()
    raised = columns([16.0], width=10, height=3, left="", right="", top=8.0).splitlines()

    assert ["   8 │", "   4 │████"] == halved[:2]
    assert ["  16 │████", "   8 │████"] == raised[:2]
    assert "   1 │" == columns([0.0], width=10, height=2, left="", right="").splitlines()[0]


@pytest.mark.parametrize(("top", "labels"), [(3.0, 1), (4.0, 2)])
def test_the_middle_of_a_small_scale_has_no_label(top: float, labels: int) -> None:
    """Below four it would round to what stands above it."""
    lines = columns([0.0], width=10, height=5, left="", right="", top=top).splitlines()

    assert labels == sum(line[:4].strip() != "" for line in lines[:-1])


def test_a_calendar_has_its_days_where_they_belong() -> None:
    """25 November 2026 is a Wednesday (ISO 8601).

    The last column has minutes to that row and no further.
    """
    last = date(2026, 11, 25).toordinal()
    lines = calendar({last: 15.0, last - 7: 9.6, last - 9: 120.0}, last=last, weeks=4).splitlines()

    assert "We  ·  · 10 15" == lines[3]
    assert "Th  ·  ·  ·" == lines[4]
    assert "Mo  ·  · 99  ·" == lines[1]
    assert 8 == len(lines)


@pytest.mark.parametrize(
    ("last", "expected"),
    [
        ("2026-06-28", "   Jun"),
        ("2026-06-21", "      Jun"),
        ("2026-06-14", "   May   Jun"),
        ("2026-06-07", "   May      Jun"),
    ],
)
def test_months_are_named_over_their_first_weeks(last: str, expected: str) -> None:
    """The weeks of four columns; the first is named too, unless two names would run together.

    1 June 2026 is a Monday (ISO 8601).
    """
    day = date.fromisoformat(last).toordinal()

    assert expected == calendar({}, last=day, weeks=4).splitlines()[0]


def test_bars_carry_their_numbers() -> None:
    """Length is relative to the longest; the number is printed; names stand under each other."""
    lines = bars([("one", 50.0), ("three", 100.0)], width=40).splitlines()

    assert lines[0].count("█") * 2 == lines[1].count("█")
    assert ["one   ██████████████ 50", f"three {'█' * 28} 100"] == lines
    assert "" == bars([], width=40)
    assert "a  0" == bars([("a", 0.0)], width=40)
    assert f"a {'█' * 4} 1" == bars([("a", 1.0)], width=5)


def test_the_ends_of_a_span_in_words() -> None:
    """A span of a day begins and ends on it; February 2028 has 29 days (Gregorian calendar)."""
    first = date(2028, 2, 1).toordinal()

    assert ("1 Feb", "1 Feb") == month_names(first, 1)
    assert ("1 Feb", "29 Feb") == month_names(first, 29)
    assert ("1 Feb", "1 Mar") == month_names(first, 30)
