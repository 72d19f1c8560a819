"""Where should the metronome go next: five zones over the whole width, slow to fast.

A zone answers to its letter, to a click or a touch, and to its part of the keyboard, which a stick
or a fist can hit without anyone looking. Whoever else has an opinion (a foot, a measured take) may
have it marked; the player's word is the one that counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.text import Text
from textual.containers import Horizontal
from textual.message import Message
from textual.widget import Widget

from drillbox.app.big_digits import big, rows_that_fit
from drillbox.memory import Grade

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual import events
    from textual.app import ComposeResult

GRADE_KEYS: dict[str, Grade] = dict(zip("asdfg", sorted(Grade), strict=True))
PARTS: dict[str, Grade] = {
    "left": Grade.SHAKY,
    "middle": Grade.STEADY,
    "right": Grade.CLEAN,
    "lowest": Grade.FELL_APART,
    "highest": Grade.AUTOMATIC,
}
"""What a part of the keyboard means: its thirds move the metronome a little, up and down much."""
PART_KEYS: dict[str, str] = {
    "left": "left,1,2,3,4,q,w,e,r,z,x,c,v,tab,pageup",
    "middle": "space,enter,5,6,7,t,y,b,n,h",
    "right": "right,8,9,0,minus,u,i,o,p,j,k,l,m,comma,full_stop,slash,semicolon,pagedown",
    "lowest": "down",
    "highest": "up",
}
_WHERE = {
    Grade.FELL_APART: ("↓",),
    Grade.SHAKY: ("← left", "←"),
    Grade.STEADY: ("space", "_"),
    Grade.CLEAN: ("right →", "→"),
    Grade.AUTOMATIC: ("↑",),
}
"""Each part of the keyboard under its zone, in words and in a sign for where they do not fit."""
BORDER_TAKES = 4
"""Columns within a border that its line keeps beside words in it."""
FLAT_BELOW = 5
"""A lower zone has no border: its rows are for the grade and its tempo."""
_SIGNS = {
    Grade.FELL_APART: "▜▛ ▜▛",
    Grade.SHAKY: "▜▛",
    Grade.STEADY: "━━",
    Grade.CLEAN: "▟▙",
    Grade.AUTOMATIC: "▟▙ ▟▙",
}


class Graded(Message):
    """A zone was clicked or touched."""

    def __init__(self, grade: Grade) -> None:
        super().__init__()
        self.grade = grade


@dataclass(frozen=True, slots=True)
class Proposal:
    """What somebody else would say of the take, and who: it is marked in its zone."""

    grade: Grade
    who: str


class GradeZones(Horizontal):
    """The five zones."""

    DEFAULT_CSS = """
    GradeZones { width: 100%; height: 1fr; }
    """

    def compose(self) -> ComposeResult:
        """Lay the five zones out."""
        for key, grade in GRADE_KEYS.items():
            yield Zone(key, grade)

    def on_resize(self) -> None:
        """Give each zone what its word needs where five of the same width would cut the longest."""
        zones = list(self.query(Zone))
        narrow = self.size.width < len(zones) * max(len(zone.grade.label) + 2 for zone in zones)
        for zone in zones:
            zone.styles.width = f"{zone.least_width if narrow else 1}fr"
            zone.set_class(narrow, "-slim")
            zone.set_class(self.size.height < FLAT_BELOW, "-flat")

    def ask(
        self,
        tempi: Mapping[Grade, int],
        proposal: Proposal | None = None,
        *,
        by_parts: bool,
    ) -> None:
        """Ask for a grade.

        Parameters
        ----------
        tempi
            The tempo that each grade leads to.
        proposal
            What somebody else says: its zone is marked.
        by_parts
            Whether parts of the keyboard grade now, which each zone then says.
        """
        for zone in self.query(Zone):
            who = proposal.who if proposal and proposal.grade is zone.grade else ""
            zone.show(tempi[zone.grade], tempi[Grade.STEADY], proposed_by=who, by_parts=by_parts)


class Zone(Widget):
    """One grade."""

    DEFAULT_CSS = """
    Zone {
      width: 1fr; height: 1fr; content-align: center middle; text-align: center;
      border: round $foreground 45%; border-title-color: $accent; border-title-style: bold;
      border-subtitle-color: $foreground 65%; border-subtitle-align: center; pointer: pointer;
    }
    Zone:hover { background: $panel; border: heavy $accent; }
    Zone.-proposed { border: double $accent; text-style: bold; }
    Zone.-flat { content-align: center top; }
    Zone.-flat, Zone.-flat:hover, Zone.-flat.-proposed { border: none; }
    Zone.-flat.-proposed { background: $panel; }
    """

    def __init__(self, key: str, grade: Grade) -> None:
        super().__init__()
        self.grade = grade
        self._bpm = self._now = 0
        self._key, self._proposed_by = key, ""
        self._by_parts = False
        self.border_title = key

    @property
    def least_width(self) -> int:
        """The columns in which each word of its grade fits."""
        return max(len(word) for word in self.grade.label.split()) + 2

    def show(self, bpm: int, now: int, *, proposed_by: str, by_parts: bool) -> None:
        """Show the tempo that the grade leads to, from the tempo now, and who proposes it."""
        self._bpm, self._now = bpm, now
        self.set_class(bool(proposed_by), "-proposed")
        self._by_parts, self._proposed_by = by_parts, proposed_by
        self._say_where()
        self.tooltip = f"{self.grade.label}: {moved_words(bpm, now)} bpm"
        self.refresh()

    def on_resize(self) -> None:
        """Say who proposes it and where it is, in as many words as there is room for."""
        self._say_where()

    def _say_where(self) -> None:
        room = self.size.width - BORDER_TAKES
        title = f"{self._key} {self._proposed_by}".strip()
        self.border_title = title if len(title) <= room else self._key
        words, sign = _WHERE[self.grade][0], _WHERE[self.grade][-1]
        where = words if len(words) <= room else sign
        self.border_subtitle = where if self._by_parts else ""

    def render(self) -> Text:
        """Draw for the size there is, so that its first frame has all of it."""
        width, height = self.content_size
        label, number = self.grade.label, str(self._bpm)
        if self.has_class("-flat"):
            words = [label] if len(label) <= width else label.split()
            lines = [f"{self._key} {number}", *words][: max(height, 1)]
        elif self.has_class("-slim"):
            words = label.split() if " " in label else ["", label]  # so that all stand level
            lines = [_SIGNS[self.grade], *words, number][-max(height, 1) :]
        else:
            rows = min(rows_that_fit(number, width, height - 5), 9)
            drawn = ["", *big(number, rows)] if rows else []
            step = way_word(self._bpm, self._now) if rows else moved_words(self._bpm, self._now)
            step = step if len(step) <= width else number
            lines = [_SIGNS[self.grade], *drawn, label, step][-max(height, 1) :]
        return Text("\n".join(line.center(width) for line in lines))

    def on_click(self, event: events.Click) -> None:
        """Grade."""
        event.stop()
        self.post_message(Graded(self.grade))


def way_word(bpm: int, now: int) -> str:
    """Return which way the metronome goes from the tempo now."""
    return "stay" if bpm == now else "up" if bpm > now else "down"


def moved_words(bpm: int, now: int) -> str:
    """Return where the metronome goes from the tempo now, such as ``up to 65`` or ``stay at 60``.

    How far it goes is not said: to the next mark may be further than the grade asks for.
    """
    return f"{way_word(bpm, now)} {'at' if bpm == now else 'to'} {bpm}"
