"""What stands under the pattern: before a take, while it runs, after it.

The pattern stays where it is, so that the eyes find it; the rest of the window belongs to one thing
at a time. Before: the tempo, what is next and why. During: the beat and the tempo, as large as they
go. After: the question.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from drillbox.app.widgets.beat_lamps import BeatLamps
from drillbox.app.widgets.big_number import BigNumber
from drillbox.app.widgets.grade_zones import GradeZones, Proposal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from textual.app import ComposeResult

    from drillbox.memory import Grade

MOST_PASS_SIGNS = 24


class ReadyPane(Horizontal):
    """Before a take: the tempo, and in words what to play, why, and what happened last."""

    DEFAULT_CSS = """
    ReadyPane > BigNumber { width: 32%; max-width: 60; color: $accent; }
    ReadyPane > Vertical { width: 1fr; padding: 1 1 0 2; }
    ReadyPane Static { height: auto; }
    ReadyPane #take-line { text-style: bold; }
    ReadyPane #why { color: $foreground 80%; }
    ReadyPane #notice-line { color: $accent; }
    ReadyPane #notice-line.-bad { color: $warning; text-style: bold; }
    ReadyPane #next-line { color: $foreground 65%; }
    """

    def compose(self) -> ComposeResult:
        """Lay the pane out."""
        yield BigNumber("bpm", id="tempo")
        with Vertical():
            for name in ("take-line", "why", "notice-line", "next-line"):
                yield Static("", id=name, markup=False)

    def show(self, bpm: int, *, take: str, why: str, following: str) -> None:
        """Show a take that waits to be played."""
        self.query_one(BigNumber).show(str(bpm))
        for name, text in (("take-line", take), ("why", why), ("next-line", following)):
            self.query_one(f"#{name}", Static).update(text)

    def say_take(self, words: str) -> None:
        """Change what is said of the take."""
        self.query_one("#take-line", Static).update(words)

    def note(self, words: str, *, bad: bool = False) -> None:
        """Say what just happened; trouble stands out."""
        line = self.query_one("#notice-line", Static)
        line.update(words)
        line.set_class(bad, "-bad")
        line.display = bool(words)


class PlayPane(Vertical):
    """While a take runs: the beat, the tempo, the pass, and nothing else."""

    DEFAULT_CSS = """
    PlayPane > Horizontal { height: 1fr; margin: 0 1; }
    PlayPane BeatLamps { width: 2fr; height: 1fr; max-height: 22; }
    PlayPane BigNumber { width: 1fr; height: 1fr; max-height: 22; color: $accent; }
    PlayPane #pass-line { height: 1; margin: 0 1; color: $foreground 80%; }
    """

    def compose(self) -> ComposeResult:
        """Lay the pane out."""
        with Horizontal():
            yield BeatLamps(id="lamps")
            yield BigNumber(id="tempo-now")
        yield Static("", id="pass-line", markup=False)

    def begin(self, bpm: int, groups: Sequence[int]) -> None:
        """Show a take before its first beat."""
        self.query_one(BigNumber).show(str(bpm))
        self.query_one(BeatLamps).show(groups)
        self.say("")

    def beat(self, number: int, bpm: float) -> None:
        """Light the beat that sounds, counted from 0, and show the tempo it is at."""
        self.query_one(BeatLamps).light(number)
        self.query_one(BigNumber).show(f"{bpm:.0f}")

    def say(self, words: str) -> None:
        """Show the pass, or what is going on."""
        self.query_one("#pass-line", Static).update(words, layout=False)


class GradePane(Vertical):
    """After a take: where should the metronome go next."""

    DEFAULT_CSS = """
    GradePane > #question { height: auto; max-height: 3; margin: 0 1; }
    GradePane > #question { text-align: center; text-style: bold; }
    GradePane > #heard { height: auto; max-height: 4; margin: 0 1; display: none; }
    GradePane > #heard.-shown { display: block; }
    """

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._asked: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay the pane out."""
        yield Static("", id="question", markup=False)
        yield Static("", id="heard", markup=False)
        yield GradeZones()

    def hear(self, words: str) -> None:
        """Show what was heard of the take; an empty text takes it away."""
        line = self.query_one("#heard", Static)
        line.update(words)
        line.set_class(bool(words), "-shown")

    def ask(
        self,
        question: str,
        tempi: Mapping[Grade, int],
        proposal: Proposal | None = None,
        *,
        by_parts: bool,
    ) -> None:
        """Ask for a grade; `GradeZones.ask` says what the zones show."""
        if (question, tempi, proposal, by_parts) == self._asked:
            return
        self._asked = (question, dict(tempi), proposal, by_parts)
        self.query_one("#question", Static).update(question)
        self.query_one(GradeZones).ask(tempi, proposal, by_parts=by_parts)


def pass_words(done: int, of: int) -> str:
    """Return ``pass 3 of 7`` with a sign for each pass, full where it is begun."""
    signs = "■" * (done + 1) + "□" * (of - done - 1) if of <= MOST_PASS_SIGNS else ""
    return f"pass {done + 1} of {of}  {signs}".rstrip()
