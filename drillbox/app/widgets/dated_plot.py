"""A plot over days: real dates below, tempos or counts at the left, a goal line and today marked.

Loaded when a plot is to be shown, not before: the plotting library takes a tenth of a second. Lines
are told apart by the numbers at their ends, so nothing hangs on colour.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from textual.color import Color
from textual.containers import Grid, ScrollableContainer
from textual.reactive import reactive
from textual.strip import Strip
from textual_hires_canvas import Canvas, HiResMode
from textual_plot import PlotWidget
from textual_plot.axis_formatter import NumericAxisFormatter
from textual_plot.plot_widget import Legend

from drillbox.base.day_axis import day_ticks, tick_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.widget import Widget

__all__ = ["Curve", "DatedPlot", "Marks", "Picture"]

LINE_COLOURS = ("primary", "success", "warning", "accent", "error", "secondary")
BEYOND = 0.06
"""So much of the span is left free right of today, if nothing is drawn there."""
TICK_WIDTH = 11
"""Columns for a day with its year, and a gap."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A line through days; `sign` stands at its end, empty for none."""

    days: Sequence[float]
    values: Sequence[float]
    sign: str = ""

    def since(self, first: float) -> Curve:
        """Return the part from a day on, begun at the height that it had there."""
        begin = bisect_left(self.days, first)
        days, values = list(self.days[begin:]), list(self.values[begin:])
        if begin and days[:1] != [first]:
            days, values = [first, *days], [self.values[begin - 1], *values]
        return Curve(days, values, self.sign)


@dataclass(frozen=True, slots=True)
class Marks:
    """Single points, all with one sign; strong ones stand out."""

    days: Sequence[float]
    values: Sequence[float]
    sign: str
    strong: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """What a plot shows.

    Parameters
    ----------
    first, last
        The days at its ends, as ordinals.
    today
        The day that is marked.
    curves, marks
        What is drawn.
    goal
        A tempo drawn as a line with its number at the axis, or None.
    from_zero
        Whether the axis begins at nothing, as for counts.
    """

    first: int
    last: int
    today: int
    curves: tuple[Curve, ...] = ()
    marks: tuple[Marks, ...] = ()
    goal: float | None = None
    from_zero: bool = False


class Ground(Canvas):
    """A canvas that is filled where nothing is drawn yet.

    The library leaves such rows without a style, which a terminal without colours does not bear.
    """

    def render_line(self, y: int) -> Strip:
        """Return a row of the canvas."""
        strip = super().render_line(y)
        if any(segment.style is None for segment in strip):
            return Strip.blank(self.size.width, self.rich_style)
        return strip


class DatedPlot(PlotWidget, can_focus=False):
    """A plot that is looked at: keys go to the page around it."""

    DEFAULT_CSS = """
    DatedPlot { height: 14; }
    DatedPlot > .plot--axis { color: $foreground 45%; }
    DatedPlot > .plot--tick { color: $foreground 85%; text-style: none; }
    """

    margin_top, margin_bottom, margin_left = reactive(0), reactive(1), reactive(9)

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id, allow_pan_and_zoom=False)
        self.picture: Picture | None = None

    def compose(self) -> ComposeResult:
        """Lay the plot out as the library does, on grounds of our own."""
        with Grid():
            yield Ground(1, 1, id="margin-top")
            yield Ground(1, 1, id="margin-left")
            yield Ground(1, 1, id="plot")
            yield Ground(1, 1, id="margin-bottom")
        yield Legend(id="legend")

    def show(self, picture: Picture) -> None:
        """Draw a picture in the place of the one before."""
        self.picture = picture
        if self.size:
            self._draw()

    def on_resize(self) -> None:
        """Set ticks for the new width."""
        self._draw()

    def notify_style_update(self) -> None:
        """Draw in the colours of another theme."""
        if self.is_mounted:
            self._draw()
        super().notify_style_update()

    def on_mouse_scroll_down(self) -> None:
        """Scroll the page: the library keeps the wheel for itself."""
        self._page().scroll_down(animate=False)

    def on_mouse_scroll_up(self) -> None:
        """Scroll the page back."""
        self._page().scroll_up(animate=False)

    def _page(self) -> Widget:
        pages = (one for one in self.ancestors if isinstance(one, ScrollableContainer))
        return next(pages, self.screen)

    def _draw(self) -> None:
        shown = self.picture
        if shown is None:
            return
        self.clear()
        columns = max(self.size.width - self.margin_left - 2, TICK_WIDTH)
        rows = max(self.size.height - self.margin_bottom - 2, 1)
        # Right of today there is room for the curves' signs.
        last = max(shown.last, shown.today + round((shown.today - shown.first) * BEYOND) + 1)
        low, high = _reach(shown)
        self.set_xlimits(shown.first, last)
        self.set_ylimits(low, high)
        self.set_x_formatter(_DayAxis(shown, last, columns))
        self.set_y_formatter(_TempoAxis(shown.goal, (high - low) / rows))
        self._draw_lines(shown, (last - shown.first) / columns, columns)
        self._draw_curves(shown, (last - shown.first) / columns, (high - low) / rows)
        for marks in shown.marks:
            style = self._colour("text-accent" if marks.strong else "foreground")
            weight = "bold " if marks.strong else ""
            self.scatter(
                marks.days, marks.values, marker=marks.sign, marker_style=f"{weight}{style}"
            )

    def _draw_lines(self, shown: Picture, column: float, columns: int) -> None:
        """Draw the goal across and today down; `column` is the days of one."""
        if shown.goal is not None:
            days = [shown.first + column * n / 2 for n in range(2 * columns + 1)]
            style = self._colour("text-warning")
            self.scatter(days, [shown.goal] * len(days), marker="╌", marker_style=style)
        if shown.first < shown.today:
            self.add_v_line(shown.today, line_style=self._colour("foreground-muted"))

    def _draw_curves(self, shown: Picture, column: float, row: float) -> None:
        """Draw the curves, each with its sign behind its end; signs of one row stand abreast."""
        taken: dict[int, int] = {}
        for number, curve in enumerate(shown.curves):
            style = self._colour(LINE_COLOURS[number % len(LINE_COLOURS)])
            self.plot(curve.days, curve.values, line_style=style, hires_mode=HiResMode.BRAILLE)
            if not (curve.sign and curve.days):
                continue
            level = round(curve.values[-1] / row)
            taken[level] = taken.get(level, 0) + 1
            place = [curve.days[-1] + column * (2 * taken[level] - 1)]
            bold = f"bold {style}"
            self.scatter(place, [curve.values[-1]], marker=curve.sign, marker_style=bold)

    def _colour(self, name: str) -> str:
        """Return a colour of the theme by its number, as it looks on the ground."""
        variables = self.app.theme_variables
        ground, colour = (Color.parse(variables[one]) for one in ("background", name))
        return ground.blend(colour, colour.a).hex6


def _reach(picture: Picture) -> tuple[float, float]:
    """Return the ends of the axis of tempos: room above and below, and the goal within."""
    values = [value for curve in picture.curves for value in curve.values]
    values += [value for marks in picture.marks for value in marks.values]
    values += [] if picture.goal is None else [picture.goal]
    if picture.from_zero:
        return 0.0, max([*values, 1.0]) * 1.05
    low, high = min(values, default=60.0), max(values, default=100.0)
    spare = max((high - low) * 0.08, 2.0)
    return low - spare, high + spare


class _DayAxis(NumericAxisFormatter):
    """Ticks on the first days of months, or on single days where the span is short, and today."""

    def __init__(self, picture: Picture, last: int, columns: int) -> None:
        self._today, self._columns = picture.today, columns
        self._ends = (picture.first, last)

    def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
        del min_, max_, max_ticks
        first, last = self._ends
        most = max(self._columns // TICK_WIDTH, 1)
        near = (last - first) / self._columns * TICK_WIDTH
        ticks = [day for day in day_ticks(first, last, most) if abs(day - self._today) > near]
        return [float(day) for day in (*ticks, self._today)]

    def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
        years = len({date.fromordinal(end).year for end in self._ends}) > 1
        return [
            "today" if tick == self._today else tick_name(int(tick), year=years or not number)
            for number, tick in enumerate(ticks)
        ]


class _TempoAxis(NumericAxisFormatter):
    """Whole numbers; the goal by its name, and nothing that would run into it."""

    def __init__(self, goal: float | None, row: float) -> None:
        self._goal, self._row = goal, row

    def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
        rows = max(int((max_ - min_) / self._row), 1)
        ticks = super().get_ticks(min_, max_, min(max_ticks, max(rows // 2, 2)))
        ticks = [tick for tick in ticks if tick == int(tick)]
        if self._goal is None:
            return ticks
        return [tick for tick in ticks if abs(tick - self._goal) > 1.5 * self._row] + [self._goal]

    def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
        return [f"goal {t:.0f}" if t == self._goal else f"{t:.0f}" for t in ticks]
