"""The stand's face: the pattern on top, and under it the one thing that the moment needs.

It draws what it is told and asks nobody. `Stand` decides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Vertical
from textual.widgets import ContentSwitcher

from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.stand_panes import GradePane, PlayPane, ReadyPane, pass_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual.app import ComposeResult

    from drillbox.app.heard_marks import HeardMarks
    from drillbox.app.widgets.grade_zones import Proposal
    from drillbox.memory import Grade
    from drillbox.rhythm import Hand, Pattern
    from drillbox.sound import Position

PANE_LEAST, PANE_SHARE = 7, 0.36
"""Rows that the pane under the pattern keeps, and its share of a tall window."""


class StandFace(Vertical):
    """The pattern and the three panes, one of which is shown."""

    DEFAULT_CSS = """
    StandFace { height: 1fr; }
    StandFace #pane { width: 100%; height: 1fr; margin: 1 0 0 0; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._beats = 1
        self._said = ""

    def compose(self) -> ComposeResult:
        """Lay the face out."""
        yield PatternView(id="pattern")
        with ContentSwitcher(initial="ready", id="pane"):
            yield ReadyPane(id="ready")
            yield PlayPane(id="play")
            yield GradePane(id="grade")

    def on_resize(self) -> None:
        """Share the rows out anew."""
        self._share_rows()

    def put_up(self, pattern: Pattern, *, leading: Hand) -> None:
        """Draw another pattern."""
        self._beats = pattern.meter.beats
        self.query_one(PatternView).show(pattern, leading=leading)
        self._share_rows()

    def ready(self, bpm: int, *, take: str, why: str, following: str) -> None:
        """Show a take that waits to be played."""
        self._turn_to("ready")
        self.query_one(ReadyPane).show(bpm, take=take, why=why, following=following)

    def say_take(self, words: str) -> None:
        """Change what is said of the take that waits."""
        self.query_one(ReadyPane).say_take(words)

    def begin(self, bpm: int, pattern: Pattern) -> None:
        """Show a take, or a listening, before its first beat."""
        self._turn_to("play")
        self._said = ""
        self.query_one(PlayPane).begin(bpm, pattern.meter.groups)

    def ask(
        self,
        question: str,
        tempi: Mapping[Grade, int],
        proposal: Proposal | None = None,
        *,
        by_parts: bool = True,
    ) -> None:
        """Ask for a grade, with the tempo that each leads to, and what somebody proposes marked."""
        self._turn_to("grade")
        self.query_one(GradePane).ask(question, tempi, proposal, by_parts=by_parts)

    def hear(self, words: str, marks: HeardMarks | None = None) -> None:
        """Show what was heard of the take, in words and in the drawing; nothing takes it away."""
        self.query_one(GradePane).hear(words)
        if self.query_one(PatternView).mark(marks):
            self._share_rows()

    def follow(self, position: Position, *, passes: int, instead: str = "") -> None:
        """Show where the music is; `instead` of the pass, other words may be said."""
        pane = self.query_one(PlayPane)
        pane.beat(position.beat, position.bpm)
        if position.counting_in:
            words = "count-in"
            self.query_one(PatternView).point_at(None)
        else:
            words = pass_words(position.pass_number, passes)
            beat = position.bar_in_pass * self._beats + position.beat + position.fraction
            self.query_one(PatternView).point_at(beat)
        self.say(instead or words)

    def say(self, words: str) -> None:
        """Say something while a take runs."""
        if words != self._said:
            self._said = words
            self.query_one(PlayPane).say(words)

    def note(self, words: str, *, bad: bool = False) -> None:
        """Say what just happened; trouble stands out."""
        self.query_one(ReadyPane).note(words, bad=bad)

    def _turn_to(self, pane: str) -> None:
        self.query_one(ContentSwitcher).current = pane
        if pane != "play":
            self.query_one(PatternView).point_at(None)

    def _share_rows(self) -> None:
        """Give the pattern the rows of its largest drawing that leaves enough for the pane."""
        rows = self.size.height - 1
        if rows < 0:
            return  # not laid out yet
        pane = max(PANE_LEAST, round(rows * PANE_SHARE))
        self.query_one(PatternView).settle(width=self.size.width - 2, most=rows - pane)
