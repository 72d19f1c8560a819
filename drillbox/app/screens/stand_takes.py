"""The course of a take at the stand: begun, followed to its end, graded and saved.

`Stand` says what each key does; here is what goes on between keys, from frame to frame, and what
other windows do meanwhile.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.app.accompaniment import take_program
from drillbox.app.hands_free import Rest
from drillbox.app.screens.stand_display import StandDisplay
from drillbox.app.sitting import Phase, Sitting
from drillbox.app.stand_words import (
    ALL_SAVED,
    LEFT_ALONE,
    LISTENING_BACK,
    QUESTION,
    graded,
    slid_off,
)
from drillbox.app.widgets.grade_zones import Proposal
from drillbox.errors import BoxError, UnknownCardError

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.memory import Grade
    from drillbox.sound import Mix

DEAF_SECONDS = 0.4
"""A stick or a fist hits several keys: after a grade the others are not meant."""
STRAY_SECONDS = 1.0
"""A space right after the last pass was meant to pause it, and grades nothing."""


class StandTakes(StandDisplay):
    """The stand as far as it plays takes; `Stand` has the keys.

    Parameters
    ----------
    desk, tempo_check, first
        What is played from, whether the day begins with a tempo check, and the card to begin with.
    """

    def __init__(self, desk: Desk, *, tempo_check: bool = False, first: str = "") -> None:
        super().__init__(desk)
        self._not_saved = len(desk.unsaved.takes)
        self._sitting = Sitting(
            desk.box,
            desk.clock,
            minutes=desk.minutes_today(),
            unsaved=desk.unsaved,
            tempo_check=tempo_check,
            first=first,
        )
        self._ramp = False
        self._stray_until = 0.0

    def _change(self, **changes: str | bool) -> None:
        self._settings = self._desk.box.change_settings(at=self._desk.clock.now(), **changes)
        self._ear.settings = self._settings
        if self._sitting.phase is Phase.PLAYING:
            program = self._program()
            self._ear.swap(program)
            self._desk.metronome.swap(program)

    def _program(self) -> Mix:
        sitting = self._sitting
        return take_program(
            sitting.card.pattern, sitting.bpm, sitting.shape, self._settings, ramp=self._ramp
        )

    def _start_take(self) -> None:
        self._listening, self._rest = "", None
        self._take_up_settings()
        self._sitting.start()
        program = self._program()
        self._desk.metronome.start(program, record=self._ear.begin(program))
        self._face.hear("")
        self._notice("")
        self._show_phase()

    def give_grade(self, grade: Grade, *, as_heard: bool = False) -> None:
        """Take a grade from wherever it comes, save it, and put the next take up.

        A grade that only was heard, and that the player let stand, is `as_heard`.
        """
        before, opinion = self._sitting.card, self._ear.opinion
        early = self._graded_early()
        self._stop_sound()
        self._desk.played[before.card_id] = before.title
        saved = self._sitting.grade(
            grade,
            source=opinion.source if opinion and as_heard else "self",
            measured=opinion.log_values if opinion else None,
        )
        if early is not None:
            self._owed[early] = self._desk.unsaved.last_id
        self._deaf_until = self._desk.clock.seconds() + DEAF_SECONDS
        said = self._progress(before.card_id)
        said = graded(grade, self._sitting.in_place_of, said, as_heard=as_heard)
        self._after_saving(said=said if saved else "")
        if self._settings.hands_free and self._sitting.visit is not None:
            if self._sitting.card.card_id == before.card_id:
                self._start_take()
            else:
                self._rest = Rest(self._desk.clock.seconds())

    def _progress(self, card_id: str) -> str:
        """Return what the take made of its card, in one sentence; nothing where the box refuses."""
        from drillbox.report.strides import stride  # noqa: PLC0415 - after the first take

        try:
            return stride(self._desk.box, card_id, at=self._desk.clock.now())
        except (BoxError, UnknownCardError):
            return ""

    def _after_saving(self, *, said: str) -> None:
        self._not_saved = len(self._desk.unsaved.takes)
        self._show_card()
        self._notice(slid_off(self._sitting.left_the_box) or said)

    def _look_around(self) -> None:
        """See what other windows did, and whether the box took what it had refused."""
        self._desk.unsaved.retry_when_due()
        left = len(self._desk.unsaved.takes)
        if left != self._not_saved:
            self._not_saved = left
            self._notice("" if left else ALL_SAVED)
            self.refresh_bindings()
        if not self._listening and self._sitting.look_around():
            self._show_card()
            self._notice(slid_off(self._sitting.left_the_box))

    def _frame(self) -> None:
        left_alone = self._sitting.rest_if_left_alone()
        self._show_clock()  # after the time was given back: the clock and the sentence agree
        if left_alone:
            self._show_phase()
            self._notice(LEFT_ALONE)
        if self._rest is not None:
            self._show_rest(self._rest)
        self._listen()
        position = self._desk.metronome.position()
        if position is None:
            return
        if self._listening and position.done:
            self._stop_sound()
            self._show_card()
        elif self._listening:
            self._follow(position)
        elif self._sitting.phase is Phase.PLAYING and position.done:
            self._sitting.finished_playing()
            self._stray_until = self._desk.clock.seconds() + STRAY_SECONDS
            self._ear.finish(self._sitting.shape.passes)
            if self._settings.hands_free:
                self._rest = Rest(self._desk.clock.seconds())
            self._show_phase()
        elif self._sitting.phase is Phase.PLAYING:
            self._sitting.passes_heard = position.pass_number
            self._follow(position)

    def _show_rest(self, rest: Rest) -> None:
        left = rest.seconds_left(self._desk.clock.seconds())
        grading = self._sitting.phase is Phase.GRADING
        if grading and self._ear.busy:
            self._ask(LISTENING_BACK)
        elif left <= 0.0:
            if grading:
                self.give_grade(rest.verdict, as_heard=rest.as_heard)
            else:
                self._start_take()
        elif grading:
            words = f"{QUESTION} In {left:.0f} s: {rest.verdict.label}."
            who = "heard" if rest.as_heard else "foot"
            self._ask(words, Proposal(rest.verdict, who))
        else:
            self._face.say_take(f"rest {left:.0f}, then the count-in")
