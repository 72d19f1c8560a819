"""The written pattern, as large as the place allows, with a playhead over the counts.

The playhead moves many times a second, so it redraws only the count row's two cells that change
(Line API), and never lays out.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual.geometry import Region, Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from drillbox.app.glyphs import loudness
from drillbox.app.heard_marks import MARKS
from drillbox.app.pattern_layout import PatternLayout, System, lay_out
from drillbox.rhythm import Chart, Hand, Pattern, chart, for_player, hands, movement

if TYPE_CHECKING:
    from fractions import Fraction

    from rich.style import Style

    from drillbox.app.heard_marks import HeardMarks

FRAMES_PER_SECOND = 30
"""How often a playhead is moved."""


class PatternView(ScrollView):
    """A pattern drawn for an arm's length."""

    DEFAULT_CSS = """
    PatternView { height: 1fr; min-height: 5; margin: 1 1 0 1; background: $background; }
    PatternView { scrollbar-size-vertical: 1; overflow-x: hidden; }
    PatternView > .pattern--count { color: $foreground 55%; }
    PatternView > .pattern--beat { color: $foreground; text-style: bold; }
    PatternView > .pattern--head { color: $background; background: $accent; text-style: bold; }
    PatternView > .pattern--label { color: $foreground 65%; }
    PatternView > .pattern--accent { color: $accent; text-style: bold; }
    PatternView > .pattern--plain { color: $foreground; }
    PatternView > .pattern--ghost { color: $secondary; }
    PatternView > .pattern--rest { color: $foreground 30%; }
    PatternView > .pattern--hand { color: $foreground 65%; }
    PatternView > .pattern--off { color: $warning; text-style: bold; }
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "pattern--count",
        "pattern--beat",
        "pattern--head",
        "pattern--label",
        "pattern--accent",
        "pattern--plain",
        "pattern--ghost",
        "pattern--rest",
        "pattern--hand",
        "pattern--off",
    }

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self.can_focus = False
        self._shown: Pattern | None = None
        self._pattern: Pattern | None = None
        self._leading = Hand.RIGHT
        self._marks: HeardMarks | None = None
        self._page: PatternLayout | None = None
        self._laid_for = Size(0, 0)
        self._beat: float | None = None
        self._playhead: tuple[int, int] | None = None

    def show(self, pattern: Pattern, *, leading: Hand = Hand.RIGHT) -> None:
        """Draw another pattern."""
        if (pattern, leading) == (self._shown, self._leading):
            return
        self._shown, self._leading = pattern, leading
        self._pattern = for_player(pattern, leading)
        self._beat = None
        self._relay()

    def mark(self, marks: HeardMarks | None) -> bool:
        """Mark what was heard of a take, or take the marks away; return whether that is new."""
        if marks is self._marks:
            return False
        self._marks = marks
        self._relay()
        return True

    def settle(self, *, width: int, most: int) -> None:
        """Take the rows of the largest drawing that fits into `most`, and leave the others free."""
        if self._pattern is not None:
            height = self._laid_out(width, most).height
            self.styles.height = min(height, max(most, 1))
            self.call_after_refresh(self._relay)

    def point_at(self, beat: float | None) -> None:
        """Move the playhead to a position in beats from the pattern's start, or take it away."""
        self._beat = beat
        place = self._place_of(beat)
        if place == self._playhead:
            return
        before, self._playhead = self._playhead, place
        self._turn_to(0 if place is None else place[0])
        for stale in (before, place):
            if stale is not None:
                self._refresh_count(*stale)

    def on_resize(self) -> None:
        """Lay out for the new size."""
        self._relay()

    def _turn_to(self, system: int) -> None:
        """Bring a line of a pattern too long for its place into view, as one turns a page."""
        if self._page is None or self._page.height <= self.size.height:
            return
        first = system * (self._page.system_height + 1)
        shown = self.scroll_offset.y
        if not shown <= first <= shown + self.size.height - self._page.system_height:
            self.scroll_to(y=first, animate=False)

    def _relay(self) -> None:
        if self._pattern is None or not self.size.width:
            return
        self.virtual_size = Size(self.size.width, self._lay().height)
        self.refresh()

    def _lay(self) -> PatternLayout:
        self._laid_for = self.size
        self._page = self._laid_out(self.size.width, self.size.height)
        self._playhead = self._place_of(self._beat)
        return self._page

    def _laid_out(self, width: int, height: int) -> PatternLayout:
        if self._pattern is None:
            raise LookupError("no pattern yet")
        drawn = chart(self._pattern, leading=self._leading)
        if self._marks is None:
            under = under_rows(self._pattern, self._leading)
            return lay_out(drawn, under, width=width, height=height)
        marked = _marked(drawn, self._marks)
        short = lay_out(marked, self._marks.under, width=width, height=height)
        rows = {**self._marks.under, **self._marks.passes}
        tall = lay_out(marked, rows, width=width, height=height)
        # Every pass has its row where that makes no sign smaller.
        return tall if tall.height <= height and tall.size is short.size else short

    @property
    def _top(self) -> int:
        """Blank rows above the page: it stands in the middle of a taller place."""
        return max(0, (self.size.height - self._page.height) // 2) if self._page else 0

    def _place_of(self, beat: float | None) -> tuple[int, int] | None:
        if beat is None or self._page is None:
            return None
        for index, system in enumerate(self._page.systems):
            cell = system.cell_at(beat)
            if cell is not None:
                return index, cell
        return None

    def _refresh_count(self, system: int, cell: int) -> None:
        if self._page is None:
            return
        place = self._page.systems[system].cells[cell]
        row = self._top + system * (self._page.system_height + 1) - self.scroll_offset.y
        self.refresh(Region(place.x, row, self._page.size.columns, 1))

    def render_line(self, y: int) -> Strip:
        """Draw one row."""
        if self._pattern is not None and self._laid_for != self.size:
            self._lay()
        page = self._page
        row = y + self.scroll_offset.y - self._top
        base = self.rich_style
        if page is None or not 0 <= row < page.height:
            return Strip.blank(self.size.width, base)
        index, inner = divmod(row, page.system_height + 1)
        line = _Line(self.size.width, base)
        if inner < page.system_height:
            self._fill(line, page, index, inner)
        return line.strip()

    def _fill(self, line: _Line, page: PatternLayout, index: int, inner: int) -> None:
        system = page.systems[index]
        if inner == 0:
            self._counts(line, page, index)
        elif inner <= len(page.labels) * page.voice_height:
            voice, within = divmod(inner - 1, page.voice_height)
            self._voice(line, page, system, voice, within)
        else:
            row = inner - 1 - len(page.labels) * page.voice_height
            line.put(0, page.under[row], self._style("label"))
            for cell in system.cells:
                line.put(cell.x, cell.under[row].center(page.size.columns), self._style("hand"))

    def _counts(self, line: _Line, page: PatternLayout, index: int) -> None:
        for number, cell in enumerate(page.systems[index].cells):
            at_head = self._playhead == (index, number)
            name = "head" if at_head else ("beat" if cell.is_beat else "count")
            line.put(cell.x, cell.count.center(page.size.columns), self._style(name))

    def _voice(
        self, line: _Line, page: PatternLayout, system: System, voice: int, within: int
    ) -> None:
        middle = page.size.rows // 2
        if within == middle:
            line.put(0, page.labels[voice], self._style("label"))
        for x in system.bar_lines:
            line.put(x, "│", self._style("rest"))
        if within >= page.size.rows:
            return
        for cell in system.cells:
            sign = cell.signs[voice]
            if sign:
                style = "off" if MARKS.intersection(sign) else loudness(sign)
                line.put(cell.x, page.size.draw(sign)[within], self._style(style))
            elif within == middle:
                rest = ("┊" if cell.is_beat else "·").center(page.size.columns)
                line.put(cell.x, rest, self._style("rest"))

    def _style(self, part: str) -> Style:
        return self.get_component_rich_style(f"pattern--{part}")


def under_rows(pattern: Pattern, leading: Hand) -> dict[str, dict[Fraction, str]]:
    """Return which hand plays at each position, and what each hand's stick does there.

    Nothing for feet alone.
    """
    played: dict[Fraction, dict[Hand, str]] = {}
    signs = movement(pattern, leading=leading).signs
    for stroke, hand, sign in zip(
        pattern.strokes, hands(pattern, leading=leading), signs, strict=True
    ):
        if hand is not None:
            played.setdefault(stroke.at, {})[hand] = sign
    if not played:
        return {}
    both = {
        at: [(hand, found[hand]) for hand in Hand if hand in found] for at, found in played.items()
    }
    return {
        "hand": {at: "".join(hand for hand, _ in found) for at, found in both.items()},
        "stroke": {at: "".join(sign for _, sign in found) for at, found in both.items()},
    }


def _marked(drawn: Chart, marks: HeardMarks) -> Chart:
    """Return a chart with what was heard in place of the heads it concerns."""
    bars = []
    for bar in drawn.bars:
        rows = tuple(
            replace(
                row,
                signs=tuple(
                    _with_head(sign, marks.heads.get((column.at, row.voice), ""))
                    for sign, column in zip(row.signs, bar.columns, strict=True)
                ),
            )
            for row in bar.rows
        )
        bars.append(replace(bar, rows=rows))
    return replace(drawn, bars=tuple(bars))


def _with_head(sign: str, mark: str) -> str:
    head = sign.strip("(>_)")
    return sign.replace(head, mark) if sign and mark else sign


class _Line:
    """One row under construction: text put at columns over a blank ground."""

    def __init__(self, width: int, ground: Style) -> None:
        self._text = [" "] * width
        self._styles = [ground] * width
        self._ground = ground

    def put(self, x: int, text: str, style: Style) -> None:
        for offset, letter in enumerate(text):
            if 0 <= x + offset < len(self._text):
                self._text[x + offset] = letter
                self._styles[x + offset] = style

    def strip(self) -> Strip:
        segments: list[Segment] = []
        run = ""
        for letter, style, following in zip(
            self._text, self._styles, [*self._styles[1:], None], strict=True
        ):
            run += letter
            if style is not following:
                segments.append(Segment(run, style))
                run = ""
        return Strip(segments, len(self._text))
