"""The beats of the bar as lamps that fill their place: without sound they are the click.

The lit lamp is a full block with its number cut out; a group's first beat stands taller. So it is
read from the corner of the eye, with or without colour. A beat redraws its own lamp and the one
before, and nothing else.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from drillbox.app.big_digits import big, carved, rows_that_fit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.app.big_digits import Rows

_SHORTER = 0.2
"""Share of the height by which a beat inside a group is lower than the group's first."""


class BeatLamps(Widget):
    """One lamp a beat; at most one is lit."""

    DEFAULT_CSS = """
    BeatLamps > .lamps--lit { color: $accent; }
    BeatLamps > .lamps--dark { color: $foreground 45%; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"lamps--lit", "lamps--dark"}

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._firsts: tuple[bool, ...] = (True,)
        self._lit: int | None = None

    def show(self, groups: Sequence[int]) -> None:
        """Take the beats of a meter, such as ``(4,)`` or ``(2, 2, 3)``; all lamps dark."""
        self._firsts = tuple(beat == 0 for group in groups for beat in range(group))
        self._lit = None
        self.refresh()

    def light(self, beat: int | None) -> None:
        """Light one lamp, counted from 0, or none."""
        if beat == self._lit:
            return
        before, self._lit = self._lit, beat
        for lamp in (before, beat):
            if lamp is not None and lamp < len(self._firsts):
                x, width = self._place(lamp)
                self.refresh(Region(x, 0, width, self.size.height))

    def _place(self, lamp: int) -> tuple[int, int]:
        """Return where a lamp begins and how wide it is; one dark column parts two lamps."""
        count = len(self._firsts)
        start, end = (self.size.width * n // count for n in (lamp, lamp + 1))
        return start, max(end - start, 1)

    def render_line(self, y: int) -> Strip:
        """Draw one row."""
        segments = []
        for lamp, first in enumerate(self._firsts):
            _, width = self._place(lamp)
            lit = lamp == self._lit
            style = self.get_component_rich_style("lamps--lit" if lit else "lamps--dark")
            rows = _lamp(lamp + 1, width, self.size.height, first=first, lit=lit)
            segments.append(Segment(rows[y] if y < len(rows) else " " * width, style))
        return Strip(segments, self.size.width)


@lru_cache(maxsize=256)
def _lamp(number: int, width: int, height: int, *, first: bool, lit: bool) -> Rows:
    """Return the rows of one lamp."""
    inside = max(width - 1, 1)
    above = 0 if first or height < 3 else max(1, round(height * _SHORTER))
    block = height - above
    digits = rows_that_fit(str(number), inside - 2, block - 2)
    drawn = big(str(number), digits) if digits else (str(number),)
    if lit:
        drawn = carved(drawn) if digits else drawn
        full = "█" * inside
        around = "█"
    else:
        full, around = " " * inside, " "
    top = (block - len(drawn)) // 2
    rows = [full] * top
    rows += [row.center(inside, around)[:inside] for row in drawn]
    rows += [full] * (block - len(rows))
    if not lit:
        rows[-1] = "▁" * inside
    return tuple(f"{row} " if width > 1 else row for row in [" " * inside] * above + rows)
