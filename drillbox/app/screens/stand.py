"""The stand: one card at a time, large, with its click, its grade and the day's time left."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Digits, Footer, Static

from drillbox.app.clicks import next_clicks
from drillbox.app.refusals import says_refusals
from drillbox.app.sitting import Phase, Sitting
from drillbox.app.widgets.grade_bar import GRADE_KEYS, GradeBar
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.words import counted, minutes_seconds
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.sound import Position

FRAMES_PER_SECOND = 30


class Stand(Screen[bool]):
    """Play, grade, next; closes with True when the day's minutes are used, with False when left."""

    BINDINGS: ClassVar = [
        Binding("space", "play", "play/pause", id="stand.play", tooltip="Start the take, or pause"),
        *(
            Binding(key, f"grade('{key}')", grade.label, id=f"stand.grade.{key}", show=False)
            for key, grade in GRADE_KEYS.items()
        ),
        Binding("u", "undo", "undo", id="stand.undo", tooltip="Take the last grade back"),
        Binding("n", "skip", "not today", id="stand.skip", tooltip="Leave this card for today"),
        Binding("up", "nudge(1)", "bpm +1", id="stand.faster", show=False),
        Binding("down", "nudge(-1)", "bpm −1", id="stand.slower", show=False),
        Binding("c", "clicks", "clicks", id="stand.clicks", tooltip="How many clicks a beat"),
        Binding("r", "retry", "save again", id="stand.retry", tooltip="Try again to save"),
        Binding(
            "escape", "leave", "leave", id="stand.leave", tooltip="Back; the day goes on later"
        ),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        settings = desk.box.settings
        self._sitting = Sitting(
            desk.box, desk.clock, minutes=settings.minutes, unsaved=desk.unsaved
        )
        self._leading = Hand(settings.leading)
        self._clicks = settings.clicks
        self._shown_second = -1

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

    def on_unmount(self) -> None:
        """Silence the click when the stand goes."""
        self._desk.metronome.stop()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Hide ``save again`` while all is saved."""
        del parameters
        return bool(self._sitting.unsaved) if action == "retry" else True

    # keys

    def action_play(self) -> None:
        """Start the take; while it runs, pause; after a pause, start again."""
        if self._sitting.phase is Phase.PLAYING:
            self._sitting.pause()
            self._desk.metronome.stop()
        elif self._sitting.phase in {Phase.READY, Phase.PAUSED}:
            self._sitting.start()
            self._start_click()
        self._show_phase()

    def action_grade(self, key: str) -> None:
        """Take the grade, save it, put the next take up."""
        phase = self._sitting.phase
        if phase not in {Phase.PLAYING, Phase.GRADING}:
            self._notice("Play the take first: space starts it.")
            return
        self._desk.metronome.stop()
        saved = self._sitting.grade(GRADE_KEYS[key])
        self._after_saving(saved=saved, said=f"{GRADE_KEYS[key].label}: saved")

    @says_refusals
    def action_undo(self) -> None:
        """Take the last grade back."""
        self._desk.metronome.stop()
        if self._sitting.undo():
            self._notice("Grade taken back: grade this take again.")
        else:
            self._notice("No take of today to take back.")
        self._show_card()

    def action_skip(self) -> None:
        """Leave this card for today."""
        self._desk.metronome.stop()
        self._sitting.skip()
        self._show_card()

    def action_nudge(self, step: int) -> None:
        """Move the tempo by one."""
        self._sitting.nudge(step)
        self._show_phase()

    def action_clicks(self) -> None:
        """Go through the clicks a beat that fit the pattern's grids."""
        self._clicks = next_clicks(self._clicks)
        if self._sitting.phase is Phase.PLAYING:
            self._start_click()
        self._notice(f"{counted(self._clicks, 'click')} a beat")

    def action_retry(self) -> None:
        """Try again to save."""
        self._after_saving(saved=self._sitting.retry(), said="all takes saved")

    def action_leave(self) -> None:
        """Go back to today; what is graded is on disk, and the day goes on from there."""
        self._sitting.pause()
        self._desk.metronome.stop()
        self.dismiss(False)

    # drawing

    def _after_saving(self, *, saved: bool, said: str) -> None:
        if saved:
            self._notice(said)
        else:
            kept = counted(len(self._sitting.unsaved), "take")
            self._notice(f"NOT SAVED, kept here: {kept}. Free the disk, then press r.")
        self.refresh_bindings()
        self._show_card()

    def _start_click(self) -> None:
        from drillbox.sound import ClickStyle, click_program  # noqa: PLC0415 - numpy, only now

        pattern, shape = self._sitting.card.pattern, self._sitting.shape
        style = ClickStyle(self._clicks if self._clicks > 1 else None)
        self._desk.metronome.start(
            click_program(
                pattern.meter,
                self._sitting.bpm,
                bars=shape.passes * pattern.bars,
                count_in_bars=shape.count_in_bars,
                pass_bars=pattern.bars,
                style=style,
            )
        )

    def _frame(self) -> None:
        second = int(self._sitting.seconds_left)
        if second != self._shown_second:
            self._shown_second = second
            self.query_one("#clock", Static).update(f"{minutes_seconds(second)} left")
        if self._sitting.rest_if_left_alone():
            self._show_phase()
        if self._sitting.phase is not Phase.PLAYING:
            return
        position = self._desk.metronome.position()
        if position is None:
            return
        if position.done:
            self._sitting.finished_playing()
            self._show_phase()
            return
        self._show_position(position)

    def _show_position(self, position: Position) -> None:
        meter = self._sitting.card.pattern.meter
        view = self.query_one(PatternView)
        if position.counting_in:
            view.point_at(None)
            self._line("take", f"count-in  {_lamps(position.beat, meter.beats)}")
            return
        view.point_at(position.bar_in_pass * meter.beats + position.beat + position.fraction)
        passes = self._sitting.shape.passes
        lamps = _lamps(position.beat, meter.beats)
        self._line("take", f"pass {position.pass_number + 1} of {passes}  {lamps}")

    def _show_card(self) -> None:
        sitting = self._sitting
        if sitting.phase is Phase.OVER or sitting.item is None:
            self._desk.metronome.stop()
            self.dismiss(True)
            return
        card = sitting.card
        self.query_one("#title", Static).update(card.title)
        self.query_one("#why", Static).update(sitting.item.why)
        self.query_one(PatternView).show(card.pattern, leading=self._leading)
        self._show_phase()

    def _show_phase(self) -> None:
        sitting = self._sitting
        if sitting.item is None:
            return
        if sitting.phase is not Phase.PLAYING:
            self.query_one(PatternView).point_at(None)
        self.query_one("#tempo", Digits).update(str(sitting.bpm))
        self.query_one(GradeBar).open_for(grading=sitting.phase is Phase.GRADING)
        take = f"take {sitting.take_number} of {sitting.item.takes}"
        lines = {
            Phase.READY: f"{take}: space starts the count-in",
            Phase.PLAYING: f"{take}",
            Phase.GRADING: "Where should the metronome go next?",
            Phase.PAUSED: "paused, time stopped: space starts the take",
            Phase.OVER: "",
        }
        self._line("take", lines[sitting.phase])
        following = sitting.coming[0] if sitting.coming else None
        self._line(
            "next",
            f"next: {self._desk.box.title(following.card_id)}" if following else "next: wrap-up",
        )

    def _notice(self, sentence: str) -> None:
        self._line("notice", sentence)

    def _line(self, name: str, text: str) -> None:
        self.query_one(f"#{name}-line", Static).update(text, layout=False)


def _lamps(lit: int, count: int) -> str:
    return " ".join(f"[reverse] {n + 1} [/]" if n == lit else f" {n + 1} " for n in range(count))
