"""What a plot over days draws of a picture: its reach, its axes, its lines and its signs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.geometry import Size

from drillbox.app.widgets.dated_plot import (
    LINE_COLOURS,
    TICK_WIDTH,
    Curve,
    DatedPlot,
    Marks,
    Picture,
    _DayAxis,
    _reach,
    _TempoAxis,
)
from drillbox.base.day_axis import tick_name

if TYPE_CHECKING:
    from collections.abc import Sequence

TODAY = date(2026, 3, 2).toordinal()


def picture(values: list[float], **others: Any) -> Picture:
    """Return a picture of one curve."""
    curves = (Curve([TODAY - 1.0, TODAY], values),) if values else ()
    return replace(Picture(TODAY - 1, TODAY, TODAY, curves), **others)


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (picture([]), (56.8, 103.2)),
        (picture([80.0, 100.0]), (78.0, 102.0)),
        (picture([80.0, 130.0]), (76.0, 134.0)),
        (picture([80.0, 100.0], goal=130.0), (76.0, 134.0)),
        (picture([80.0, 80.0]), (78.0, 82.0)),
        (picture([3.0, 20.0], from_zero=True), (0.0, 21.0)),
        (picture([0.0, 0.0], from_zero=True), (0.0, 1.05)),
    ],
)
def test_an_axis_leaves_room_around_what_is_drawn(
    shown: Picture, expected: tuple[float, float]
) -> None:
    """Eight hundredths on both sides, two bpm at least, the goal within; counts from 0."""
    assert expected == pytest.approx(_reach(shown))


@given(st.integers(1, 4_000), st.integers(20, 200))
def test_the_days_axis_names_today_and_nothing_that_would_run_into_it(
    span: int, columns: int
) -> None:
    """Today is there always; no other name is within its width of it; there are never too many."""
    first = TODAY - span
    axis = _DayAxis(Picture(first, TODAY, TODAY), TODAY + 3, columns)
    ticks = axis.get_ticks(0.0, 0.0)
    labels = axis.get_labels_for_ticks(ticks)

    assert (TODAY, "today") == (ticks[-1], labels[-1])
    assert max(columns // TICK_WIDTH, 1) + 1 >= len(ticks)
    a_column = (TODAY + 3 - first) / columns
    assert all(abs(TODAY - tick) / a_column > TICK_WIDTH for tick in ticks[:-1])


@pytest.mark.parametrize(("columns", "names"), [(22, 2), (44, 4), (88, 6), (176, 12)])
def test_the_days_axis_names_what_there_is_room_for(columns: int, names: int) -> None:
    """Of a year that ended yesterday: today, and in a wider plot more months besides."""
    first = TODAY - 365
    ticks = _DayAxis(Picture(first, TODAY, TODAY), TODAY, columns).get_ticks(0.0, 0.0)

    assert names == len(ticks)


def test_the_days_axis_says_the_year_where_it_has_to() -> None:
    """Within one year at the first tick only; over a new year at each."""
    march, april = date(2026, 3, 1).toordinal(), date(2026, 4, 1).toordinal()
    last = date(2026, 12, 1).toordinal()
    for first, years in ((march, (True, False)), (march - 365, (True, True))):
        axis = _DayAxis(Picture(first, last, last), last, 80)
        expected = [tick_name(day, year=y) for day, y in zip((march, april), years, strict=True)]
        assert [*expected, "today"] == axis.get_labels_for_ticks([march, april, last])


@given(st.floats(41, 199), st.integers(5, 30))
def test_the_goal_has_its_number_at_the_axis_and_room_around_it(goal: float, rows: int) -> None:
    """Whole numbers else, none within a row and a half of it."""
    row = 160.0 / rows
    ticks = _TempoAxis(goal, row).get_ticks(40.0, 200.0)
    labels = _TempoAxis(goal, row).get_labels_for_ticks(ticks)

    assert (goal, f"goal {goal:.0f}") == (ticks[-1], labels[-1])
    assert all(tick == int(tick) and abs(tick - goal) > 1.5 * row for tick in ticks[:-1])
    assert [f"{tick:.0f}" for tick in ticks[:-1]] == labels[:-1]


class Drawn(DatedPlot):
    """A plot of some size that notes what it is asked to draw.

    Attributes
    ----------
    points
        Days, values, sign and style of what was drawn by single points.
    lines
        The days of lines from top to bottom.
    curves
        Days, values and style of the lines.
    across, up
        The ends of both axes.
    """

    window, is_mounted = (80, 14), False
    across, up = (0.0, 0.0), (0.0, 0.0)

    def __init__(self) -> None:
        super().__init__()
        self.clear()

    @property
    def size(self) -> Size:
        """Its size in columns and rows."""
        return Size(*self.window)

    def clear(self) -> None:
        """Forget what was drawn."""
        self.points: list[tuple[list[float], list[float], str, str]] = []
        self.lines: list[float] = []
        self.curves: list[tuple[Sequence[float], Sequence[float], str]] = []

    def plot(self, x: Any, y: Any, line_style: str = "", **others: Any) -> None:  # type: ignore[override]
        """Note a line."""
        self.curves.append((x, y, line_style))

    def scatter(  # type: ignore[override]
        self, x: Any, y: Any, *, marker: str = "", marker_style: str = "", **others: Any
    ) -> None:
        """Note points."""
        self.points.append((list(x), list(y), marker, marker_style))

    def add_v_line(self, x: float, *args: Any, **others: Any) -> None:
        """Note a line from top to bottom."""
        self.lines.append(x)

    def set_xlimits(self, xmin: float | None = None, xmax: float | None = None) -> None:
        """Note the ends of the axis of days."""
        self.across = xmin or 0.0, xmax or 0.0

    def set_ylimits(self, ymin: float | None = None, ymax: float | None = None) -> None:
        """Note the ends of the other axis."""
        self.up = ymin or 0.0, ymax or 0.0

    def refresh(self, *args: Any, **others: Any) -> Any:
        """Draw nothing."""

    def _rerender(self) -> None:
        """Draw nothing."""

    def _update_margin_sizes(self) -> None:
        """There is nothing around it."""

    def names(self) -> tuple[list[str], list[str]]:
        """Return what stands at the axis of days and at the other one."""
        told = []
        for axis, ends in ((self._x_formatter, self.across), (self._y_formatter, self.up)):
            told.append(axis.get_labels_for_ticks(axis.get_ticks(*ends)))
        return told[0], told[1]

    def _colour(self, name: str) -> str:
        return name


def test_the_signs_of_curves_that_end_on_one_row_stand_abreast() -> None:
    """A column behind the end, the next one two columns further; a curve without one has none."""
    ends = [("a", 80.0), ("b", 80.4), ("c", 95.0), ("", 80.0), ("d", 79.8)]
    curves = tuple(Curve([TODAY - 5.0, TODAY], [70.0, value], sign) for sign, value in ends)
    plot = Drawn()
    plot._draw_curves(Picture(TODAY - 5, TODAY, TODAY, (*curves, Curve([], [], "e"))), 2.0, 4.0)

    places = {sign: x[0] - TODAY for x, _, sign, _ in plot.points}
    assert {"a": 2.0, "b": 6.0, "c": 2.0, "d": 10.0} == places
    assert [80.0, 80.4, 95.0, 79.8] == [y[0] for _, y, *_ in plot.points]


def test_the_goal_goes_across_and_today_down() -> None:
    """Two signs a column, from edge to edge; today is no line where the picture begins with it."""
    plot = Drawn()
    plot._draw_lines(Picture(TODAY - 10, TODAY, TODAY, goal=90.0), 0.5, 20)
    ((days, tempos, *_),) = plot.points

    assert (TODAY - 10, TODAY, 41) == (days[0], days[-1], len(days))
    assert [0.25] * 40 == pytest.approx(np.diff(days).tolist())
    assert {90.0} == set(tempos)
    assert [TODAY] == plot.lines
    plot._draw_lines(Picture(TODAY, TODAY + 5, TODAY), 0.5, 20)
    assert ([TODAY], 1) == (plot.lines, len(plot.points))


@given(st.integers(1, 900), st.integers(0, 30), st.integers(6, 40), st.integers(24, 200))
def test_a_picture_stands_within_its_axes(span: int, ahead: int, rows: int, columns: int) -> None:
    """All that is drawn is; right of today there is room for signs; the goal's name has its rows.

    A row is a part of the height that the names of the days and the frame leave.
    """
    plot = Drawn()
    plot.window = columns, rows
    days, tempos = [TODAY - float(span), TODAY], [83.0, 131.0]
    shown = Picture(TODAY - span, TODAY + ahead, TODAY, (Curve(days, tempos, "a"),), goal=104.0)
    plot.show(shown)
    (first, last), (low, high) = plot.across, plot.up
    row = (high - low) / max(rows - 3, 1)
    ticks = plot._y_formatter.get_ticks(low, high)

    assert (first, [TODAY]) == (shown.first, plot.lines)
    assert last == max(TODAY + ahead, TODAY + round(0.06 * span) + 1)
    assert low < 83.0
    assert high > 131.0
    assert [104.0] == [tick for tick in ticks if abs(tick - 104.0) <= 1.5 * row]
    assert [(days, tempos, LINE_COLOURS[0])] == plot.curves


@pytest.mark.parametrize("columns", [30, 80, 170])
def test_a_sign_stands_a_column_behind_its_curve_whatever_the_width(columns: int) -> None:
    """Nine columns are the names' and two the frame's; the goal's line has two points in each."""
    plot = Drawn()
    plot.window = columns, 14
    curve = Curve([TODAY - 99.0, TODAY], [83.0, 131.0], "a")
    plot.show(Picture(TODAY - 100, TODAY, TODAY, (curve,), goal=104.0))
    first, last = plot.across
    goal, sign = plot.points
    column = (last - first) / (columns - 11)

    assert ("╌", 2 * (columns - 11) + 1) == (goal[2], len(goal[0]))
    assert ("a", [131.0]) == (sign[2], sign[1])
    assert [TODAY + column] == pytest.approx(sign[0])


def test_marks_that_count_stand_out() -> None:
    """Bold and in the accent's colour; the others as any text. Seven curves have six colours."""
    marks = (Marks([TODAY], [80.0], "+", strong=False), Marks([TODAY], [90.0], "=", strong=True))
    curves = tuple(Curve([TODAY - 1.0, TODAY], [80.0, 90.0]) for _ in range(7))
    plot = Drawn()
    plot.show(Picture(TODAY - 9, TODAY, TODAY, curves, marks))

    assert [
        ([TODAY], [80.0], "+", "foreground"),
        ([TODAY], [90.0], "=", "bold text-accent"),
    ] == plot.points
    assert [*LINE_COLOURS, LINE_COLOURS[0]] == [style for *_, style in plot.curves]


def test_a_picture_takes_the_place_of_the_one_before() -> None:
    """Nothing of it stays; before there is a window, or a picture, nothing is drawn."""
    plot = Drawn()
    plot.on_resize()
    assert (0.0, 0.0) == plot.across
    plot.window = 0, 0
    plot.show(picture([80.0, 90.0]))
    assert [] == plot.curves
    plot.window = 80, 14
    plot.on_resize()
    plot.show(picture([95.0, 96.0]))

    assert [[95.0, 96.0]] == [list(values) for _, values, _ in plot.curves]
    assert [[TODAY - 1.0, TODAY]] == [list(days) for days, *_ in plot.curves]
    assert "today" == plot.names()[0][-1]


def test_another_theme_has_everything_drawn_in_its_colours() -> None:
    """Once there is a window to draw in."""
    plot = Drawn()
    plot.show(picture([80.0, 90.0]))
    seen = []
    for plot.is_mounted in (False, True):
        plot.clear()
        plot.notify_style_update()
        seen.append(len(plot.curves))

    assert [0, 1] == seen


def test_the_wheel_scrolls_the_page_around_a_plot_at_once() -> None:
    """Without a glide, which a slow line would draw row by row."""
    told: list[tuple[str, bool]] = []
    page = SimpleNamespace(
        scroll_down=lambda *, animate: told.append(("down", animate)),
        scroll_up=lambda *, animate: told.append(("up", animate)),
    )
    plot = cast("DatedPlot", SimpleNamespace(_page=lambda: page))
    DatedPlot.on_mouse_scroll_down(plot)
    DatedPlot.on_mouse_scroll_up(plot)

    assert [("down", False), ("up", False)] == told
