"""What the stand shows: the card, the running take, the question after it, and what is said.

It has two faces. While a take runs there is the pattern, the beat and the tempo, as large as the
window lets them be; after it there is one question and five places to answer it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Static

from drillbox.app.screens.listening_screen import ListeningScreen
from drillbox.app.sitting import Phase
from drillbox.app.stand_words import (
    FIRST_WORDS,
    PLAY_FIRST,
    QUESTION,
    heard_question,
    listening_line,
    moved_line,
    own_tempo,
    paused_question,
    take_line,
)
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.stand_face import StandFace
from drillbox.app.words import minutes_seconds
from drillbox.base.wording import counted
from drillbox.memory import Grade
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.app.widgets.grade_zones import Proposal
    from drillbox.sound import Position


class StandDisplay(ListeningScreen):
    """The stand as far as it draws; `Stand` says when."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._hint_until = 0.0
        self._shown_second = -1
        self._gaps = 0

    def compose(self) -> ComposeResult:
        """Lay the stand out."""
        yield headline("", Static("", id="meter", markup=False))
        yield StandFace()
        yield FitFooter()

    def _first_words(self) -> str:
        """Return what the letters under the pattern mean, to one who has never played here."""
        return FIRST_WORDS if self._sitting.is_first else ""

    def _show_clock(self) -> None:
        second = int(self._sitting.seconds_left)
        if second != self._shown_second:
            self._shown_second = second
            self.query_one("#clock", Static).update(f"{minutes_seconds(second)} left")
        metronome = self._desk.metronome
        if metronome.underruns != self._gaps or metronome.fault:
            self._gaps = metronome.underruns
            self._notice(metronome.fault or f"sound: {counted(self._gaps, 'gap')} so far")

    def _show_card(self) -> None:
        sitting = self._sitting
        if sitting.phase is Phase.OVER or sitting.visit is None:
            self._stop_sound()
            self.dismiss(True)
            return
        card = sitting.card
        self.query_one("#title", Static).update(card.title)
        self._face.hear("")
        self._face.put_up(card.pattern, leading=Hand(self._settings.leading))
        self._show_phase()
        self._desk.puts_up(card.card_id)

    def _follow(self, position: Position) -> None:
        instead = listening_line(self._listening) if self._listening else ""
        if self._desk.clock.seconds() < self._hint_until:
            instead = PLAY_FIRST
        self._face.follow(position, passes=self._sitting.shape.passes, instead=instead)

    def _show_phase(self) -> None:
        sitting = self._sitting
        if sitting.visit is None:
            return
        running = sitting.phase is Phase.PLAYING or bool(self._listening)
        self.query_one(FitFooter).visible = not running
        if running and self._mirrors:
            self._show_mirror()
        elif running:
            self._face.begin(sitting.bpm, sitting.card.pattern)
        elif sitting.can_grade:
            self._ask(self._question(), self._proposal())
            self._show_heard()
        else:
            self._show_ready()
        self._notice("")
        self.refresh_bindings()

    def _ask(self, question: str, proposal: Proposal | None = None) -> None:
        sitting = self._sitting
        tempi = {grade: sitting.tempo_after(grade) for grade in Grade}
        paused = sitting.phase is Phase.PAUSED
        self._face.ask(question, tempi, proposal, by_parts=not paused)

    def _question(self) -> str:
        if self._sitting.phase is Phase.PAUSED:
            return paused_question(self._sitting.passes_heard)
        return QUESTION if self._ear.opinion is None else heard_question(self._ear.opinion)

    def _show_ready(self) -> None:
        sitting, visit = self._sitting, self._sitting.visit
        if visit is None:
            return
        paused = sitting.phase is Phase.PAUSED
        last = sitting.last_grade
        following = sitting.following
        asked = sitting.asked_bpm
        why = visit.item.why if last is None else moved_line(last, asked, sitting.bpm_before)
        self._face.ready(
            sitting.bpm,
            take=take_line(sitting.take_number, sitting.takes, paused=paused),
            why=own_tempo(why, sitting.bpm, asked),
            following=f"next: {following.card.title if following else 'wrap-up'}",
        )

    def _notice(self, sentence: str) -> None:
        """Say what just happened; what is not saved is said until it is."""
        unsaved = self._desk.unsaved.sentence()
        words = " ".join(part for part in (unsaved, sentence) if part)
        self._face.note(words, bad=bool(unsaved))
        if self._sitting.can_grade and self._sitting.phase is not Phase.PLAYING:
            self._ask(f"{words} {self._question()}".lstrip(), self._proposal())
