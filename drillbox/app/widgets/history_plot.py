"""A card's history.

Tempo over days, one sign a take, the goal as a line. Drawn in plain characters.

The sign is the grade's initial step: ``=`` steady, ``+`` clean, ``#`` automatic, ``-`` shaky, ``v``
fell apart; the day's first, cold take stands out in bold.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text
from textual.widget import Widget

from drillbox.app.grade_signs import GRADE_LEGEND, GRADE_SIGNS
from drillbox.base.now import day_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.box.take_views import TakeView

LEGEND = f"{GRADE_LEGEND}  · expected, cold  ┄ goal"
_AXIS = 5


class HistoryPlot(Widget):
    """The plot of one card."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._takes: tuple[TakeView, ...] = ()
        self._goal = 0.0
        self._today = 0
        self._slipping: tuple[float, ...] = ()

    def show(
        self,
        takes: Sequence[TakeView],
        *,
        goal_bpm: float,
        today: int,
        slipping: Sequence[float] = (),
    ) -> None:
        """Draw these takes, oldest first, and the cold tempo expected from today on."""
        self._takes, self._goal, self._today = tuple(takes), goal_bpm, today
        self._slipping = tuple(slipping)
        self.refresh()

    def render(self) -> Text:
        """Draw the plot for the present size."""
        if not self._takes:
            return Text("No take yet: its history will stand here.")
        width, height = self.size.width - _AXIS, max(self.size.height - 2, 3)
        rows = plot(
            self._takes,
            self._slipping,
            goal=self._goal,
            today=self._today,
            width=width,
            height=height,
        )
        return Text("\n").join(rows)


def plot(
    takes: Sequence[TakeView],
    slipping: Sequence[float],
    *,
    goal: float,
    today: int,
    width: int,
    height: int,
) -> list[Text]:
    """Return the rows of the plot: `height` rows of tempo, then the days, then the legend."""
    tempos = [take.bpm for take in takes] + list(slipping)
    low, high = min(*tempos, goal) - 2, max(*tempos, goal) + 2
    first = takes[0].day
    last = today + max(len(slipping) - 1, 0)
    span = max(last - first, 1)

    def row_of(bpm: float) -> int:
        return round((high - bpm) / (high - low) * (height - 1))

    grid = [[" "] * width for _ in range(height)]
    bold: set[tuple[int, int]] = set()
    grid[row_of(goal)] = ["┄"] * width
    for ahead, bpm in enumerate(slipping):
        grid[row_of(bpm)][round((today + ahead - first) / span * (width - 1))] = "·"
    edge = 0
    for take in takes:
        x = round((take.day - first) / span * (width - 1))
        # Takes of one day stand side by side as far as there is room, in the order they were
        # played.
        edge = x = min(max(x, edge + 1 if edge >= x and not take.cold else x), width - 1)
        y = row_of(take.bpm)
        grid[y][x] = GRADE_SIGNS[take.grade]
        if take.cold:
            bold.add((y, x))
    rows = []
    for y, cells in enumerate(grid):
        bpm = high - y / (height - 1) * (high - low)
        named = goal if y == row_of(goal) else bpm
        row = Text(f"{named:4.0f} " if y % 2 == 0 or y == row_of(goal) else "     ")
        for x, cell in enumerate(cells):
            row.append(cell, style="bold" if (y, x) in bold else "")
        rows.append(row)
    left, right = day_name(first), day_name(last)
    rows.append(Text(" " * _AXIS + left + " " * max(width - len(left) - len(right), 1) + right))
    rows.append(Text(" " * _AXIS + LEGEND))
    return rows
