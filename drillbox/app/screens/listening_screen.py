"""The part of the stand that listens, and what the player listens to there.

`Stand` says when a take begins and ends; here are the level, the take measured, what was heard, the
card played to the player, and the player's own take heard back.
"""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.accompaniment import listening_program, next_of
from drillbox.app.heard_marks import heard_marks
from drillbox.app.kept_takes import keep
from drillbox.app.listening import CLIPPED, METER_BARS, Listening, meter_bars, opinion_of
from drillbox.app.refusals import says_refusals
from drillbox.app.sitting import Phase
from drillbox.app.stand_words import (
    AS_PLAYED,
    AT_TEMPO,
    HALF_SPEED,
    LISTENING_BACK,
    SLOW_LISTENING,
    heard_words,
    kept_with_grade,
    meter_words,
)
from drillbox.app.widgets.grade_zones import Proposal
from drillbox.app.widgets.stand_face import StandFace

if TYPE_CHECKING:
    from textual.app import App

    from drillbox.app.desk import Desk
    from drillbox.app.hands_free import Rest
    from drillbox.app.listening import Heard, Opinion
    from drillbox.app.sitting import Sitting
    from drillbox.sound import Mix


class Opined(Message):
    """A take has been measured."""

    def __init__(self, heard: Heard, opinion: Opinion) -> None:
        super().__init__()
        self.heard, self.opinion = heard, opinion


class ListeningScreen(Screen[bool]):
    """A screen on which takes are played and listened to.

    Parameters
    ----------
    desk
        Box, clock, devices.
    """

    _sitting: Sitting

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._settings = desk.box.settings
        self._ear = Listening(desk, self._settings)
        self._rest: Rest | None = None
        self._listening = ""
        self._deaf_until = 0.0
        self._metered = ""
        self._owed: dict[Heard, str] = {}

    @property
    def _face(self) -> StandFace:
        return self.query_one(StandFace)

    def _show_phase(self) -> None:
        """Draw what the moment needs."""
        raise NotImplementedError

    def _notice(self, sentence: str) -> None:
        """Say what just happened."""
        raise NotImplementedError

    def _show_card(self) -> None:
        """Draw the card that is up, and what the moment needs."""
        raise NotImplementedError

    def _take_up_settings(self) -> bool:
        """Play and listen by the settings as they are now; return whether they are others.

        The palette reaches the setup from here.
        """
        before = self._settings
        self._settings = self._ear.settings = self._desk.settings
        return before != self._settings

    def _deaf(self) -> bool:
        """Whether a key comes so soon after a grade that it is part of the same stroke."""
        return self._desk.clock.seconds() < self._deaf_until

    def _stop_sound(self) -> None:
        self._listening, self._rest = "", None
        self._desk.metronome.stop()
        self._ear.drop()

    # what is listened to by the player

    def action_listen(self) -> None:
        """Hear the card: slow, at tempo, then quiet again."""
        self._listen_to(("", SLOW_LISTENING, AT_TEMPO))

    def action_mirror(self) -> None:
        """Hear the last take against its click: at half speed, as it was, then quiet again."""
        self._listen_to(("", HALF_SPEED, AS_PLAYED))

    def _listen_to(self, round_of: tuple[str, ...]) -> None:
        if self._deaf() or self._sitting.phase is not Phase.READY:
            return
        self._sitting.touch()
        self._listening = next_of(round_of, self._listening)
        if not self._listening:
            self._stop_sound()
            self._show_card()
            return
        sitting, slow = self._sitting, self._listening == SLOW_LISTENING
        self._desk.metronome.start(
            self._heard_back()
            if self._mirrors
            else listening_program(sitting.card.pattern, sitting.bpm, self._settings, slow=slow)
        )
        self._show_phase()

    @property
    def _mirrors(self) -> bool:
        """Whether the player hears a take of their own."""
        return self._listening in {HALF_SPEED, AS_PLAYED}

    @property
    def _can_be_heard_back(self) -> bool:
        """Whether the last take is there as sound."""
        last = self._ear.last
        return last is not None and last.samples is not None

    def _heard_back(self) -> Mix:
        """Return the last take with its click."""
        from drillbox.sound import HALF, heard_back  # noqa: PLC0415 - loads numpy

        last = self._ear.last
        if last is None or last.samples is None:
            raise LookupError("no take to be heard back")
        share = HALF if self._listening == HALF_SPEED else Fraction(1)
        return heard_back(
            last.samples, last.start, last.pattern, last.bpm, passes=last.passes, share=share
        )

    def _show_mirror(self) -> None:
        """Draw the take that is heard back, with its marks: another card may be up by now."""
        last, opinion = self._ear.last, self._ear.opinion
        if last is None:
            return
        self.query_one("#title", Static).update(last.title)
        self._face.put_up(last.pattern, leading=last.leading)
        if opinion is not None and opinion.measured is not None:
            self._face.hear("", heard_marks(opinion.measured))
        self._face.begin(last.bpm, last.pattern)

    @says_refusals
    def action_keep(self) -> None:
        """Keep the recording of the last take in a file."""
        last = self._ear.last
        if last is not None:
            kept = keep(self._desk.kept_takes, last, self._desk.clock.now())
            self._notice(f"Kept: {kept.path}")

    # what listens to the player

    def _listen(self) -> None:
        """Show the level, and have a take measured that has come in whole."""
        level = self._ear.level()
        words = ""
        if level is not None:
            words = meter_words(meter_bars(level), METER_BARS, clipped=level >= CLIPPED)
        if words != self._metered:
            self._metered = words
            meter = self.query_one("#meter", Static)
            meter.set_class(bool(words), "-shown")
            meter.update(words, layout=False)
        if self._sitting.visit is None:
            return
        heard = self._ear.look(self._sitting.card, self._sitting.bpm)
        if heard is not None:
            self._begin_to_measure(heard)

    def _begin_to_measure(self, heard: Heard) -> None:
        cuts, app = self._ear.cuts, self.app
        self.run_worker(lambda: self._measure(heard, cuts, app), thread=True, group="ear")

    def _measure(self, heard: Heard, cuts: tuple[float, ...], app: App[Any]) -> None:
        # In a thread of its own: a message is the way back.
        opinion = opinion_of(heard, cuts)
        if not self.post_message(Opined(heard, opinion)):
            # The stand was left meanwhile; a grade given there still gets its numbers.
            with suppress(RuntimeError):
                app.call_from_thread(self._pay, heard, opinion)

    def _graded_early(self) -> Heard | None:
        """Return the take on the stand if what was heard of it is still to come, else None.

        One that has not come in whole is measured as far as it has.
        """
        if self._ear.opinion is not None:
            return None
        sitting = self._sitting
        if self._ear.last is not None:
            return self._ear.last
        heard = self._ear.hurry(sitting.card, sitting.bpm, sitting.passes_heard)
        if heard is not None:
            self._begin_to_measure(heard)
        return heard

    def _pay(self, heard: Heard, opinion: Opinion) -> bool:
        """Give a take that was graded early the numbers it is owed; return whether it has them."""
        take_id, values = self._owed.pop(heard, ""), opinion.log_values
        if not take_id or values is None:
            return False
        return self._desk.unsaved.add_measures(take_id, values)

    def on_opined(self, event: Opined) -> None:
        """Show what was heard, where its take still waits for its grade."""
        if self._pay(event.heard, event.opinion) and self._sitting.phase is Phase.READY:
            self._notice(kept_with_grade(event.opinion))
        if not self._ear.told(event.heard, event.opinion) or not self._sitting.can_grade:
            return
        grade = event.opinion.grade
        if self._rest is not None and grade is not None:
            self._rest.propose(grade, self._desk.clock.seconds())
        self._show_phase()

    def _proposal(self) -> Proposal | None:
        opinion = self._ear.opinion
        if opinion is None or opinion.grade is None:
            return None
        return Proposal(opinion.grade, "heard")

    def _show_heard(self) -> None:
        opinion = self._ear.opinion
        if opinion is None:
            self._face.hear(LISTENING_BACK if self._ear.busy else "")
        else:
            marks = heard_marks(opinion.measured) if opinion.measured else None
            self._face.hear(heard_words(opinion), marks)
