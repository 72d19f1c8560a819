"""The stand: one card at a time, large, with its click, its grade and the day's time left."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Digits, Footer, Static

from drillbox.app.accompaniment import (
    listening_program,
    next_of,
    take_program,
)
from drillbox.app.hands_free import Rest
from drillbox.app.refusals import says_refusals
from drillbox.app.sitting import Phase, Sitting
from drillbox.app.widgets.grade_bar import GRADE_KEYS, GradeBar
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.words import minutes_seconds
from drillbox.base.wording import counted
from drillbox.box.setting_kinds import BACKINGS, CLICKS
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.memory import Grade
    from drillbox.sound import Mix, Position

FRAMES_PER_SECOND = 30
LOOK_AROUND_SECONDS = 1.0


class Stand(Screen[bool]):
    """Play, grade, next; closes with True when the day's minutes are used, with False when left."""

    BINDINGS: ClassVar = [
        Binding("r", "retry", "save again", id="stand.retry", tooltip="Try again to save"),
        Binding("space", "play", "play/pause", id="stand.play", tooltip="Start the take, or pause"),
        *(
            Binding(key, f"grade('{key}')", grade.label, id=f"stand.grade.{key}", show=False)
            for key, grade in GRADE_KEYS.items()
        ),
        Binding("l", "listen", "listen", id="stand.listen", tooltip="Hear it: slow, then at tempo"),
        Binding("u", "undo", "undo", id="stand.undo", tooltip="Take the last grade back"),
        Binding("n", "skip", "not today", id="stand.skip", tooltip="Leave this card for today"),
        Binding("c", "click", "click", id="stand.click", tooltip="Another click"),
        Binding("b", "backing", "backing", id="stand.backing", tooltip="Click, kit, or both"),
        Binding("m", "ramp", "ramp", id="stand.ramp", show=False),
        Binding("h", "hands_free", "hands-free", id="stand.hands_free", show=False),
        Binding("up", "nudge(1)", "bpm +1", id="stand.faster", show=False),
        Binding("down", "nudge(-1)", "bpm −1", id="stand.slower", show=False),
        Binding("enter,pageup,pagedown", "pedal", "pedal", id="stand.pedal", show=False),
        Binding("question_mark", "app.keys", "keys", id="stand.keys", key_display="?"),
        Binding(
            "escape", "leave", "leave", id="stand.leave", tooltip="Back; the day goes on later"
        ),
    ]

    def __init__(self, desk: Desk, *, sounding: bool = False) -> None:
        super().__init__()
        self._desk = desk
        self._settings = desk.box.settings
        self._not_saved = len(desk.unsaved.takes)
        self._sitting = Sitting(
            desk.box,
            desk.clock,
            minutes=self._settings.minutes,
            unsaved=desk.unsaved,
            sounding=sounding,
        )
        self._ramp = False
        self._listening = ""
        self._rest: Rest | None = None
        self._shown_second = -1
        self._gaps = 0

    def compose(self) -> ComposeResult:
        """Lay the stand out."""
        with Horizontal(classes="headline"):
            yield Static("", id="title", markup=False)
            yield Static("", id="clock")
        yield Static("", id="why", classes="sentence", markup=False)
        yield PatternView(id="pattern")
        with Horizontal(id="pulse-row"):
            yield Digits("", id="tempo")
            yield Static("bpm", id="tempo-unit")
            with Vertical(id="tempo-side"):
                yield Static("", id="take-line")
                yield Static("", id="next-line", markup=False)
                yield Static("", id="notice-line", markup=False)
        yield GradeBar()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Put the first card up and start the frame timer."""
        self._notice(self._desk.metronome.notice)
        self._show_card()
        self.set_interval(1 / FRAMES_PER_SECOND, self._frame)
        self.set_interval(LOOK_AROUND_SECONDS, self._look_around)

    def on_unmount(self) -> None:
        """Silence the stream when the stand goes."""
        self._desk.metronome.stop()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Hide ``save again`` while all is saved."""
        del parameters
        return bool(self._desk.unsaved.takes) if action == "retry" else True

    # keys

    def action_play(self) -> None:
        """Start the take; while it runs, pause; after a pause, start again."""
        if self._rest is not None:
            self.action_pedal()
        elif self._sitting.phase is Phase.PLAYING:
            self._sitting.pause()
            self._desk.metronome.stop()
            self._show_phase()
        elif self._sitting.phase in {Phase.READY, Phase.PAUSED}:
            self._start_take()

    def action_grade(self, key: str) -> None:
        """Grade the take by key."""
        if self._sitting.phase not in {Phase.PLAYING, Phase.GRADING}:
            self._notice("Play the take first: space starts it.")
            return
        self.give_grade(GRADE_KEYS[key])

    def give_grade(self, grade: Grade) -> None:
        """Take a grade from wherever it comes, save it, and put the next take up."""
        card_id = self._sitting.card.card_id
        self._stop_sound()
        saved = self._sitting.grade(grade)
        self._after_saving(said=f"{grade.label}: saved" if saved else "")
        if self._settings.hands_free and self._sitting.visit is not None:
            if self._sitting.card.card_id == card_id:
                self._start_take()
            else:
                self._rest = Rest(self._desk.clock.seconds())

    def action_pedal(self) -> None:
        """Count a tap of the foot in a hands-free rest."""
        if self._rest is not None:
            self._sitting.touch()
            self._rest.tap()

    def action_listen(self) -> None:
        """Hear the card: slow, at tempo, then quiet again."""
        if self._sitting.phase is not Phase.READY:
            return
        self._sitting.touch()
        self._listening = {"": "slow", "slow": "at tempo", "at tempo": ""}[self._listening]
        if not self._listening:
            self._stop_sound()
        else:
            pattern, slow = self._sitting.card.pattern, self._listening == "slow"
            self._desk.metronome.start(
                listening_program(pattern, self._sitting.bpm, self._settings, slow=slow)
            )
        self._show_phase()

    @says_refusals
    def action_undo(self) -> None:
        """Take the last grade back."""
        self._stop_sound()
        if self._sitting.undo():
            self._notice("Grade taken back: grade this take again.")
        else:
            self._notice("No take of today to take back.")
        self._not_saved = len(self._desk.unsaved.takes)
        self.refresh_bindings()
        self._show_card()

    def action_skip(self) -> None:
        """Leave this card for today."""
        self._stop_sound()
        self._sitting.skip()
        self._show_card()

    def action_nudge(self, step: int) -> None:
        """Move the tempo by one."""
        self._sitting.nudge(step)
        self._show_phase()

    def action_ramp(self) -> None:
        """Let the next takes climb, or hold their tempo again."""
        self._ramp = not self._ramp
        self._notice("ramp: up 5 about every eight seconds" if self._ramp else "steady tempo")

    @says_refusals
    def action_click(self) -> None:
        """Go on to the next click."""
        self._change(click=next_of(CLICKS, self._settings.click))
        self._notice(f"click: {self._settings.click}")

    @says_refusals
    def action_backing(self) -> None:
        """Go on to the next backing."""
        self._change(backing=next_of(BACKINGS, self._settings.backing))
        self._notice(f"backing: {self._settings.backing}")

    @says_refusals
    def action_hands_free(self) -> None:
        """Let the day run itself, or not."""
        self._change(hands_free=not self._settings.hands_free)
        self._rest = None
        self._notice(
            "hands-free: a foot grades in the rest, one tap clean, two shaky, three fell apart"
            if self._settings.hands_free
            else "hands-free off"
        )
        self._show_phase()

    def action_retry(self) -> None:
        """Try again to save."""
        self._after_saving(said="all takes saved" if self._desk.unsaved.retry() else "")

    def action_leave(self) -> None:
        """Go back to today; what is graded is on disk, and the day goes on from there."""
        self._sitting.pause()
        self._stop_sound()
        self.dismiss(False)

    # the course of a take

    def _change(self, **changes: str | bool) -> None:
        self._settings = self._desk.box.change_settings(at=self._desk.clock.now(), **changes)
        if self._sitting.phase is Phase.PLAYING:
            self._desk.metronome.swap(self._program())

    def _program(self) -> Mix:
        sitting = self._sitting
        return take_program(
            sitting.card.pattern, sitting.bpm, sitting.shape, self._settings, ramp=self._ramp
        )

    def _start_take(self) -> None:
        self._listening, self._rest = "", None
        self._sitting.start()
        self._desk.metronome.start(self._program())
        self._show_phase()

    def _stop_sound(self) -> None:
        self._listening, self._rest = "", None
        self._desk.metronome.stop()

    def _after_saving(self, *, said: str) -> None:
        self._not_saved = len(self._desk.unsaved.takes)
        self._notice(_slid_off(self._sitting.left_the_box) or said or self._desk.unsaved.sentence())
        self.refresh_bindings()
        self._show_card()

    def _look_around(self) -> None:
        """See once a second what other windows did, and whether the box took what it refused."""
        self._desk.unsaved.retry_when_due()
        left = len(self._desk.unsaved.takes)
        if left != self._not_saved:
            self._not_saved = left
            self._notice(self._desk.unsaved.sentence() or "all takes saved")
            self.refresh_bindings()
        if not self._listening and self._sitting.look_around():
            self._notice(_slid_off(self._sitting.left_the_box))
            self._show_card()

    def _frame(self) -> None:
        self._show_clock()
        if self._sitting.rest_if_left_alone():
            self._show_phase()
        if self._rest is not None:
            self._show_rest(self._rest)
        position = self._desk.metronome.position()
        if position is None:
            return
        if self._listening and position.done:
            self._stop_sound()
            self._show_phase()
        elif self._listening:
            self._point_at(position)
        elif self._sitting.phase is Phase.PLAYING and position.done:
            self._sitting.finished_playing()
            self._show_phase()
            if self._settings.hands_free:
                self._rest = Rest(self._desk.clock.seconds())
        elif self._sitting.phase is Phase.PLAYING:
            self._show_position(position)

    def _show_rest(self, rest: Rest) -> None:
        left = rest.seconds_left(self._desk.clock.seconds())
        grading = self._sitting.phase is Phase.GRADING
        if left <= 0.0:
            if grading:
                self.give_grade(rest.verdict)
            else:
                self._start_take()
            return
        what = f"then {rest.verdict.label}" if grading else "then the count-in"
        self._line("take", f"rest {left:.0f}, {what}")

    # drawing

    def _show_clock(self) -> None:
        second = int(self._sitting.seconds_left)
        if second != self._shown_second:
            self._shown_second = second
            self.query_one("#clock", Static).update(f"{minutes_seconds(second)} left")
        metronome = self._desk.metronome
        if metronome.underruns != self._gaps or metronome.fault:
            self._gaps = metronome.underruns
            self._notice(metronome.fault or f"sound: {counted(self._gaps, 'gap')} so far")

    def _show_position(self, position: Position) -> None:
        beats = self._sitting.card.pattern.meter.beats
        lamps = _lamps(position.beat, beats)
        if position.counting_in:
            self.query_one(PatternView).point_at(None)
            self._line("take", f"count-in  {lamps}")
            return
        self._point_at(position)
        passes = self._sitting.shape.passes
        tempo = f"{position.bpm:.0f} bpm  " if self._ramp else ""
        self._line("take", f"pass {position.pass_number + 1} of {passes}  {tempo}{lamps}")

    def _point_at(self, position: Position) -> None:
        beats = self._sitting.card.pattern.meter.beats
        beat = position.bar_in_pass * beats + position.beat + position.fraction
        self.query_one(PatternView).point_at(beat)

    def _show_card(self) -> None:
        sitting = self._sitting
        if sitting.phase is Phase.OVER or sitting.visit is None:
            self._stop_sound()
            self.dismiss(True)
            return
        card = sitting.card
        self.query_one("#title", Static).update(card.title)
        self.query_one("#why", Static).update(sitting.visit.item.why)
        self.query_one(PatternView).show(card.pattern, leading=Hand(self._settings.leading))
        self._show_phase()

    def _show_phase(self) -> None:
        sitting = self._sitting
        if sitting.visit is None:
            return
        if sitting.phase is not Phase.PLAYING:
            self.query_one(PatternView).point_at(None)
        self.query_one("#tempo", Digits).update(str(sitting.bpm))
        self.query_one(GradeBar).open_for(grading=sitting.phase is Phase.GRADING)
        take = f"take {sitting.take_number} of {sitting.takes}"
        lines = {
            Phase.READY: f"{take}: space starts the count-in",
            Phase.PLAYING: take,
            Phase.GRADING: "Where should the metronome go next?",
            Phase.PAUSED: "paused, time stopped: space starts the take",
            Phase.OVER: "",
        }
        self._line(
            "take", f"listening, {self._listening}" if self._listening else lines[sitting.phase]
        )
        following = sitting.coming[0] if sitting.coming else None
        after = following.card.title if following else "wrap-up"
        self._line("next", f"next: {after}")

    def _notice(self, sentence: str) -> None:
        self._line("notice", sentence)

    def _line(self, name: str, text: str) -> None:
        self.query_one(f"#{name}-line", Static).update(text, layout=False)


def _slid_off(title: str) -> str:
    return f"“{title}” has left the box in another window, so it is off the stand." if title else ""


def _lamps(lit: int, count: int) -> str:
    return " ".join(f"[reverse] {n + 1} [/]" if n == lit else f" {n + 1} " for n in range(count))
