"""Charts in plain characters.

One function a chart, text in and out, the same on the screen and in a pipe.

Meaning hangs on shape and number, never on colour. `width` and `height` are in characters, axes
included.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

BLOCKS = " ▁▂▃▄▅▆▇█"
LEAST_HALVED = 4
"""From here the middle of the scale is labelled too.

Below, it would round to what stands above it.
"""
DAYS_A_WEEK = 7
_AXIS = 6
_WEEKDAYS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")


def columns(
    values: Sequence[float],
    *,
    width: int,
    height: int,
    left: str,
    right: str,
    top: float = 1.0,
) -> str:
    """Draw values as columns of blocks, oldest at the left, under a scale that starts at zero.

    Parameters
    ----------
    values
        One a day or so, none negative; more of them than there are columns are thinned to the last
        of each group.
    width, height
        Size of the chart.
    left, right
        What stands under the first and the last column.
    top
        The least value that the scale reaches, so that charts can be compared.
    """
    room, rows = max(width - _AXIS, 4), max(height - 1, 1)
    shown = _thinned(values, room)
    top = max([*shown, top, 1.0])
    lines = []
    for row in range(rows, 0, -1):
        cells = "".join(_block(value / top * rows - (row - 1)) for value in shown)
        scaled = row == rows or (row == (rows + 1) // 2 and top >= LEAST_HALVED)
        label = f"{top * row / rows:4.0f} " if scaled else " " * 5
        lines.append(f"{label}│{cells}".rstrip())
    gap = " " * max(len(shown) - len(left) - len(right), 1)
    lines.append(f"{' ' * _AXIS}{left}{gap}{right}")
    return "\n".join(lines)


def _thinned(values: Sequence[float], room: int) -> list[float]:
    if len(values) <= room:
        stretch = room // max(len(values), 1)
        return [value for value in values for _ in range(max(stretch, 1))]
    return [values[(n + 1) * len(values) // room - 1] for n in range(room)]


def _block(filled: float) -> str:
    return BLOCKS[round(min(max(filled, 0.0), 1.0) * (len(BLOCKS) - 1))]


def calendar(minutes: Mapping[int, float], *, last: int, weeks: int) -> str:
    """Draw a practice calendar: one column a week, one row a weekday, whole minutes in each cell.

    Parameters
    ----------
    minutes
        Minutes by practice day, a proleptic ordinal as in `datetime.date.toordinal`.
    last
        The newest day shown; its week is the last column.
    weeks
        How many columns.
    """
    monday = last - date.fromordinal(last).weekday()
    mondays = [monday - 7 * back for back in range(weeks - 1, -1, -1)]
    begins = [date.fromordinal(start).day <= DAYS_A_WEEK for start in mondays]
    # The first column is named too, unless the next one is: two names would run together.
    begins[0] = begins[0] or not any(begins[1:2])
    months = "".join(
        f"{date.fromordinal(start):%b}" if named else "   "
        for start, named in zip(mondays, begins, strict=True)
    )
    lines = [f"   {months}".rstrip()]
    for weekday, name in enumerate(_WEEKDAYS):
        cells = "".join(
            _minutes(minutes.get(start + weekday), start + weekday, last) for start in mondays
        )
        lines.append(f"{name} {cells}".rstrip())
    return "\n".join(lines)


def _minutes(value: float | None, day: int, last: int) -> str:
    if day > last:
        return "   "
    return " · " if not value else f"{min(round(value), 99):>2} "


def bars(rows: Sequence[tuple[str, float]], *, width: int) -> str:
    """Draw named values as horizontal bars with their numbers."""
    if not rows:
        return ""
    name_width = max(len(name) for name, _ in rows)
    top = max([1.0, *(value for _, value in rows)])
    room = max(width - name_width - 7, 4)
    return "\n".join(
        f"{name:<{name_width}} {'█' * round(value / top * room)} {value:.0f}"
        for name, value in rows
    )


def month_names(first: int, days: int) -> tuple[str, str]:
    """Return the first and last day of a span in words, for the ends of an axis."""
    start = date.fromordinal(first)
    end = start + timedelta(days=days - 1)
    return f"{start.day} {start:%b}", f"{end.day} {end:%b}"
