"""The stand without a window: its keys, the course of its takes, and what it has its face show.

`Stand` decides and `StandFace` draws. Here the face notes what it is told and no app runs, so a
whole take costs a few milliseconds.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

from bare_screen import Bare

from drillbox.app.desk import Desk, Devices
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.stand_takes import DEAF_SECONDS
from drillbox.app.widgets.grade_zones import Graded
from drillbox.memory import Grade
from drillbox.sound import Metronome, SilentClock

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from drillbox.app.sitting import Sitting
    from drillbox.app.widgets.stand_face import StandFace
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.rhythm import Hand, Pattern
    from drillbox.sound import Mix, Position
    from drillbox.sound.devices import Device
    from drillbox.sound.pad_input import Pads


class NotedFace:
    """A face that notes what it was told last, by the name of the call.

    Attributes
    ----------
    pane
        What is under the pattern: ``ready``, ``play`` or ``grade``.
    """

    def __init__(self) -> None:
        self.pane = ""
        self.put_up_last: tuple[Pattern, Hand] | None = None
        self.ready_last = SimpleNamespace(bpm=0, take="", why="", following="")
        self.begun_last: tuple[int, Pattern] | None = None
        self.asked_last = SimpleNamespace(question="", tempi={}, proposal=None, by_parts=True)
        self.heard_last: tuple[str, object] = ("", None)
        self.followed_last = SimpleNamespace(position=None, passes=0, instead="")
        self.noted_last = ("", False)

    @property
    def leading(self) -> Hand | None:
        """The leading hand of the pattern that was put up last; None since that was forgotten."""
        return None if self.put_up_last is None else self.put_up_last[1]

    def forget(self) -> None:
        """Forget which pattern was put up."""
        self.put_up_last = None

    def put_up(self, pattern: Pattern, *, leading: Hand) -> None:
        """Note another pattern."""
        self.put_up_last = (pattern, leading)

    def ready(self, bpm: int, *, take: str, why: str, following: str) -> None:
        """Note a take that waits."""
        self.pane = "ready"
        self.ready_last = SimpleNamespace(bpm=bpm, take=take, why=why, following=following)

    def say_take(self, words: str) -> None:
        """Note what is said of the take that waits."""
        self.ready_last.take = words

    def begin(self, bpm: int, pattern: Pattern) -> None:
        """Note a take before its first beat."""
        self.pane = "play"
        self.begun_last = (bpm, pattern)

    def ask(
        self,
        question: str,
        tempi: Mapping[Grade, int],
        proposal: object = None,
        *,
        by_parts: bool = True,
    ) -> None:
        """Note a question."""
        self.pane = "grade"
        self.asked_last = SimpleNamespace(
            question=question, tempi=tempi, proposal=proposal, by_parts=by_parts
        )

    def hear(self, words: str, marks: object = None) -> None:
        """Note what was heard."""
        self.heard_last = (words, marks)

    def follow(self, position: Position, *, passes: int, instead: str = "") -> None:
        """Note where the music is."""
        self.followed_last = SimpleNamespace(position=position, passes=passes, instead=instead)

    def note(self, words: str, *, bad: bool = False) -> None:
        """Note what just happened."""
        self.noted_last = (words, bad)


class BareStand(Bare, Stand):
    """A stand in no app.

    Attributes
    ----------
    face
        What it has its face show.
    """

    def __init__(
        self, desk: Desk, *, tempo_check: bool = False, first: str = "", undoes: bool = False
    ) -> None:
        super().__init__(desk, tempo_check=tempo_check, first=first, undoes=undoes)
        self.face = NotedFace()
        self.on_mount()

    @property
    def _face(self) -> StandFace:
        return cast("StandFace", self.face)

    # what a player does and sees

    @property
    def sitting(self) -> Sitting:
        """The day that is played here."""
        return self._sitting

    @property
    def said(self) -> str:
        """What just happened, in words."""
        return self.face.noted_last[0]

    def later(self, seconds: float) -> None:
        """Let time pass, and draw the next frame."""
        self.wait(cast("ManualClock", self._desk.clock), seconds, "_frame")

    def play_whole(self) -> None:
        """Play the take on the stand to its end."""
        self.play_passes(self._sitting.shape.passes)

    def play_passes(self, passes: float) -> None:
        """Start the take, and play so many passes of it."""
        self.action_play()
        shape, pattern = self._sitting.shape, self._sitting.card.pattern
        bars = shape.count_in_bars + passes * pattern.bars
        self.later(bars * pattern.seconds(self._sitting.bpm) / pattern.bars + 0.01)

    def grade_whole(self, key: str = "d") -> None:
        """Play the take on the stand, and grade it."""
        self.play_whole()
        self.action_grade(key)
        self.later(DEAF_SECONDS)


class NotingMetronome(Metronome):
    """A metronome that notes what it was given to play."""

    def __init__(self, device: Device) -> None:
        super().__init__(device)
        self.given: list[Mix] = []
        self.recorded = False

    @property
    def sounds(self) -> Mix | None:
        """What it plays; None while it is quiet."""
        return cast("Mix | None", self._transport.request.program)

    def start(self, program: Any, *, record: bool = False) -> None:
        """Play, and note it."""
        self.given.append(program)
        self.recorded = record
        super().start(program, record=record)


def bare_stand(
    box: Box,
    clock: ManualClock,
    *,
    pads: Callable[[], Pads] | None = None,
    tempo_check: bool = False,
    first: str = "",
    undoes: bool = False,
) -> BareStand:
    """Return a stand over a box, its metronome driven by the still clock."""
    devices = Devices() if pads is None else Devices(open_pads=pads)
    desk = Desk(box, clock, lambda: NotingMetronome(SilentClock(clock.seconds)), devices)
    return BareStand(desk, tempo_check=tempo_check, first=first, undoes=undoes)


def grades(box: Box, clock: ManualClock) -> list[str]:
    """Return what was graded today."""
    return [Grade(take.grade).label for take in box.day(clock.now()).takes]


def metronome(stand: BareStand) -> NotingMetronome:
    """Return the stand's metronome."""
    found = stand._desk.metronome
    assert isinstance(found, NotingMetronome)
    return found


KEYS: dict[str, Callable[[BareStand], None]] = {
    "play": BareStand.action_play,
    "grade": lambda stand: stand.action_grade("f"),
    "part": lambda stand: stand.action_part("right"),
    "zone": lambda stand: stand.on_graded(Graded(Grade.CLEAN)),
    "pedal": BareStand.action_pedal,
    "undo": BareStand.action_undo,
    "take back": BareStand.action_take_back,
    "skip": BareStand.action_skip,
    "ramp": BareStand.action_ramp,
    "click": BareStand.action_click,
    "backing": BareStand.action_backing,
    "hands-free": BareStand.action_hands_free,
    "listen": BareStand.action_listen,
}
"""What a player presses, by names of their own."""
