"""Five targets in a row, slow to fast: where should the metronome go next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal
from textual.widgets import Static

from drillbox.memory import Grade

if TYPE_CHECKING:
    from textual.app import ComposeResult

GRADE_KEYS: dict[str, Grade] = dict(zip("asdfg", sorted(Grade), strict=True))


class GradeBar(Horizontal):
    """The five grades with their keys; dim while there is nothing to grade."""

    DEFAULT_CSS = """
    GradeBar { height: 4; margin: 0 1; }
    GradeBar .grade {
      width: 1fr; height: 4; content-align: center middle; text-align: center;
      border: round $panel-lighten-2; color: $foreground 45%;
    }
    GradeBar.-awaited .grade { border: heavy $accent; color: $foreground; text-style: bold; }
    """

    def compose(self) -> ComposeResult:
        """Lay the five targets out."""
        for key, grade in GRADE_KEYS.items():
            target = Static(f"{grade.label}\n{step_words(grade)}", classes="grade")
            target.border_title = key
            yield target

    def open_for(self, *, grading: bool) -> None:
        """Show whether a grade is awaited."""
        self.set_class(grading, "-awaited")


def step_words(grade: Grade) -> str:
    """Return where the grade sends the metronome, in words."""
    step = grade.step_bpm
    if step == 0:
        return "stay"
    return f"{'up' if step > 0 else 'down'} {abs(step)}"
