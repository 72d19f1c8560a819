"""The stand: one card at a time, large, with its click, its grade and the day's time left.

Here are its keys; the course of a take is in `stand_takes`, what it shows in `stand_display`, how
it listens in `listening_screen`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from drillbox.app.accompaniment import next_of
from drillbox.app.refusals import say_over, says_refusals
from drillbox.app.screens.stand_takes import StandTakes
from drillbox.app.sitting import Phase
from drillbox.app.stand_keys import BEFORE_A_TAKE, STAND_KEYS
from drillbox.app.stand_words import (
    ALL_SAVED,
    DEVICE_CHANGED,
    HANDS_FREE_OFF,
    HANDS_FREE_ON,
    NOTHING_TO_UNDO,
    RAMP_OFF,
    RAMP_ON,
    UNGRADED,
    put_off,
    would_be,
)
from drillbox.app.widgets.grade_zones import GRADE_KEYS, PARTS, Graded
from drillbox.app.widgets.pattern_view import FRAMES_PER_SECOND
from drillbox.box.setting_kinds import BACKINGS, CLICKS
from drillbox.errors import DrillboxError

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.memory import Grade

LOOK_AROUND_SECONDS = 1.0
HINT_SECONDS = 3.0


class Stand(StandTakes):
    """Play, grade, next; closes with True when the day's minutes are used, with False when left.

    Parameters
    ----------
    desk, tempo_check, first
        What is played from, whether the day begins with a tempo check, and the card to begin with.
    undoes
        Begin by taking today's last grade back, which is asked for again.
    """

    BINDINGS: ClassVar = list(STAND_KEYS)

    def __init__(
        self, desk: Desk, *, tempo_check: bool = False, first: str = "", undoes: bool = False
    ) -> None:
        super().__init__(desk, tempo_check=tempo_check, first=first)
        self._undoes = undoes

    def on_mount(self) -> None:
        """Put the first card up and start the frame timer."""
        if self._undoes:
            self._begin_by_undoing()
        else:
            self._show_card()
            self._notice(self._desk.metronome.notice or self._ear.trouble or self._first_words())
        self.set_interval(1 / FRAMES_PER_SECOND, self._frame)
        self.set_interval(LOOK_AROUND_SECONDS, self._look_around)

    def say_refusal(self, sentence: str) -> None:
        """Say why something was not done; over a take, where nothing else is said, as a notice."""
        if self._sitting.phase is Phase.PLAYING:
            say_over(self, sentence)
        else:
            self._notice(sentence)

    def on_screen_resume(self) -> None:
        """Take up what was changed in the setup meanwhile; a running take goes on as it began."""
        if self._sitting.phase is Phase.PLAYING:
            if self._desk.metronome.position() is None:
                self._sitting.pause()
                self._ear.drop()
                self._show_phase()
                self._notice(DEVICE_CHANGED)
        elif self._take_up_settings():
            (self._show_phase if self._sitting.can_grade else self._show_card)()
            self._notice(self._ear.trouble)

    def on_unmount(self) -> None:
        """Silence the stream when the stand goes; where the app goes too, a take is still open."""
        if self._sitting.phase is Phase.GRADING:
            self._desk.parting_word = UNGRADED
        self._desk.metronome.stop()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what the phase allows: after a take, every key is a grade but a few."""
        del parameters
        grading, resting = self._sitting.phase is Phase.GRADING, self._rest is not None
        if action in BEFORE_A_TAKE:
            return not grading
        answers = {
            "retry": self._desk.unsaved.may_retry,
            "part": grading and not resting,
            "take_back": grading,
            "keep": not grading and self._can_be_heard_back,
            "mirror": not grading and self._can_be_heard_back,
            "accept": grading and not resting and self._proposal() is not None,
            "play": not grading or resting,
            "pedal": not grading or resting,
        }
        return answers.get(action, True)

    # keys

    def action_play(self) -> None:
        """Start the take; while it runs, pause; after a pause, start again."""
        if self._deaf():
            return
        if self._rest is not None:
            self.action_pedal()
        elif self._sitting.phase is Phase.PLAYING:
            self._sitting.pause()
            self._desk.metronome.stop()
            self._ear.finish(self._sitting.passes_heard)
            self._show_phase()
        elif self._sitting.phase in {Phase.READY, Phase.PAUSED}:
            self._start_take()

    def action_grade(self, key: str) -> None:
        """Grade the take by its letter."""
        self._grade_if_it_may_be(GRADE_KEYS[key])

    def action_part(self, part: str) -> None:
        """Grade the take by a part of the keyboard."""
        stray = part == "middle" and self._desk.clock.seconds() < self._stray_until
        if not stray:
            self._grade_if_it_may_be(PARTS[part])

    def on_graded(self, event: Graded) -> None:
        """Grade the take by a click or a touch."""
        self._grade_if_it_may_be(event.grade)

    def _grade_if_it_may_be(self, grade: Grade) -> None:
        if self._deaf():
            return
        if self._sitting.can_grade:
            self.give_grade(grade)
        elif self._sitting.phase is Phase.PLAYING:
            self._hint_until = self._desk.clock.seconds() + HINT_SECONDS
        else:
            bpm = self._sitting.tempo_after(grade)
            self._notice(would_be(grade, bpm, self._sitting.bpm))

    def action_accept(self) -> None:
        """Take the grade that was heard."""
        opinion = self._ear.opinion
        if opinion is not None and opinion.grade is not None and not self._deaf():
            self.give_grade(opinion.grade, as_heard=True)

    def action_pedal(self) -> None:
        """Count a tap of the foot in a hands-free rest; otherwise start the take."""
        if self._deaf():
            return
        if self._rest is not None:
            self._sitting.touch()
            self._rest.tap()
        elif self._sitting.phase in {Phase.READY, Phase.PAUSED}:
            self._start_take()

    @says_refusals
    def action_undo(self) -> None:
        """Take back what was done last: a grade, or a card put off."""
        if self._deaf():
            return
        done = self._sitting.undo()
        if done:
            self._show_undone(done)
        else:
            self._notice(NOTHING_TO_UNDO)

    def _begin_by_undoing(self) -> None:
        """Ask for today's last grade again; where there is none on a day that is over, leave."""
        try:
            done = self._sitting.undo() or NOTHING_TO_UNDO
        except DrillboxError as refusal:
            done = refusal.sentence()
        if self._sitting.visit is None:
            self._desk.parting_word = done
            self.dismiss(False)
        else:
            self._show_undone(done)

    def _show_undone(self, done: str) -> None:
        self._stop_sound()
        if self._sitting.can_grade:
            self._ear.ask_again(self._sitting.card.card_id, self._sitting.bpm)
        self._not_saved = len(self._desk.unsaved.takes)
        self._show_card()
        self._notice(done)

    def action_take_back(self) -> None:
        """Take back the grade before, where every letter is a grade."""
        self.action_undo()

    def action_skip(self) -> None:
        """Leave this card for today."""
        if self._deaf():
            return
        self._stop_sound()
        title = self._sitting.card.title
        self._sitting.skip()
        self._show_card()
        self._notice(put_off(title))

    def action_nudge(self, step: int) -> None:
        """Move the tempo by one."""
        self._sitting.nudge(step)
        self._show_phase()

    def action_ramp(self) -> None:
        """Let the next takes climb, or hold their tempo again."""
        if self._deaf():
            return
        self._ramp = not self._ramp
        self._notice(RAMP_ON if self._ramp else RAMP_OFF)

    @says_refusals
    def action_click(self) -> None:
        """Go on to the next click."""
        if not self._deaf():
            self._change(click=next_of(CLICKS, self._settings.click))
            self._notice(f"click: {self._settings.click}")

    @says_refusals
    def action_backing(self) -> None:
        """Go on to the next backing."""
        if not self._deaf():
            self._change(backing=next_of(BACKINGS, self._settings.backing))
            self._notice(f"backing: {self._settings.backing}")

    @says_refusals
    def action_hands_free(self) -> None:
        """Let the day run itself, or not."""
        if self._deaf():
            return
        self._change(hands_free=not self._settings.hands_free)
        self._rest = None
        self._show_phase()
        self._notice(HANDS_FREE_ON if self._settings.hands_free else HANDS_FREE_OFF)

    def action_retry(self) -> None:
        """Try again to save."""
        self._after_saving(said=ALL_SAVED if self._desk.unsaved.retry() else "")

    def action_leave(self) -> None:
        """Go back to today; what is graded is on disk, and the day goes on from there."""
        self._desk.parting_word = UNGRADED if self._sitting.can_grade else ""
        self._sitting.pause()
        self._stop_sound()
        if self._sitting.visit is not None:
            self._desk.left_at = self._sitting.card.card_id
        self.dismiss(False)
