"""Where should the metronome go next: five zones over the whole width, slow to fast.

A zone answers to its letter, to a click or a touch, and to its part of the keyboard, which a stick
or a fist can hit without anyone looking. Whoever else has an opinion (a foot, a measured take) may
have it marked; the player's word is the one that counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Static

from drillbox.app.big_digits import big, rows_that_fit
from drillbox.memory import Grade

if TYPE_CHECKING:
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
    Grade.FELL_APART: "↓",
    Grade.SHAKY: "← left",
    Grade.STEADY: "space",
    Grade.CLEAN: "right →",
    Grade.AUTOMATIC: "↑",
}
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
    GradeZones { height: 1fr; }
    """

    def compose(self) -> ComposeResult:
        """Lay the five zones out."""
        for key, grade in GRADE_KEYS.items():
            yield Zone(key, grade)

    def ask(self, proposal: Proposal | None = None) -> None:
        """Ask for a grade; mark what is proposed."""
        for zone in self.query(Zone):
            zone.mark(proposal.who if proposal and proposal.grade is zone.grade else "")


class Zone(Static):
    """One grade."""

    DEFAULT_CSS = """
    Zone {
      width: 1fr; height: 1fr; content-align: center middle; text-align: center;
      border: round $foreground 45%; border-title-color: $accent; border-title-style: bold;
      border-subtitle-color: $foreground 65%; border-subtitle-align: center; pointer: pointer;
    }
    Zone:hover { background: $panel; border: heavy $accent; }
    Zone.-proposed { border: double $accent; text-style: bold; }
    """

    def __init__(self, key: str, grade: Grade) -> None:
        super().__init__(markup=False)
        self.grade = grade
        self._proposed_by = ""
        self.border_title = key
        self.border_subtitle = _WHERE[grade]
        self.tooltip = f"{grade.label}: {step_words(grade)}"

    def mark(self, who: str) -> None:
        """Say who proposes this grade; an empty text takes the mark away."""
        self._proposed_by = who
        self.set_class(bool(who), "-proposed")
        self.border_title = f"{self._key} {who}".strip()

    @property
    def _key(self) -> str:
        return next(key for key, grade in GRADE_KEYS.items() if grade is self.grade)

    def on_resize(self) -> None:
        """Draw for the new size."""
        width, height = self.content_size
        label, step, sign = self.grade.label, step_words(self.grade), _SIGNS[self.grade]
        number = str(abs(self.grade.step_bpm)) if self.grade.step_bpm else "0"
        rows = min(rows_that_fit(number, width - 2, height - 5), 9)
        lines = [sign, *([""] if rows else []), *(big(number, rows) if rows else ()), label, step]
        self.update("\n".join(line.center(width) for line in lines[-max(height, 1) :]))

    def on_click(self, event: events.Click) -> None:
        """Grade."""
        event.stop()
        self.post_message(Graded(self.grade))


def step_words(grade: Grade) -> str:
    """Return where the grade sends the metronome, in words."""
    step = grade.step_bpm
    if step == 0:
        return "stay"
    return f"{'up' if step > 0 else 'down'} {abs(step)}"
