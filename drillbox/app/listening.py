"""What listens at the stand: a microphone on the click's own clock, or pads.

A take is listened to while it is played and measured when it is over, in a thread of its own; what
comes of it is an `Opinion`: a sentence, the numbers, a proposed grade or why there is none. It may
be overruled by any key, and nothing waits for it. The recording is in memory, until the next take
begins or the player says keep (`drillbox.app.kept_takes`).

Conventions: seconds of the take, from the first frame of its count-in.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import log10
from typing import TYPE_CHECKING, Any

from drillbox.app.stand_words import heard_numbers
from drillbox.errors import BoxError, DrillboxError
from drillbox.memory import Grade
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.box.settings import Settings
    from drillbox.box.views import CardView
    from drillbox.ear import Measurement, PadNote
    from drillbox.ear.energies import Samples
    from drillbox.rhythm import Pattern
    from drillbox.sound import Mix

USUAL_ROUND_TRIP = 0.08
"""Seconds from the program to the microphone where nobody measured them (judgement)."""
LAST_RING_SECONDS = 0.4
"""How long a take is still listened to when its last pass is over and has come round."""
METER_FALLS = 0.9
"""What is left of the meter's last level at the next look: it falls by 20 dB in a second or so."""
METER_BARS, METER_STEP_DB = 8, 6.0
CLIPPED = 0.99
"""From here up a level is too loud: its peaks are cut off."""
MICROPHONE_GONE = "The microphone went away in this take: grade it yourself."
SILENT_INPUT = (
    "The microphone gives silence: is it muted, or may this terminal not use it? See the sound "
    "check in the setup."
)
RAMPED = "A take with a ramp has no one tempo to be measured at: grade it yourself."
KIT_ALONG = (
    "The kit that plays along is in the recording: take it on headphones, quietly, or choose "
    "“click alone” with b."
)
_SILENT = 1e-5
_WITH_KIT = frozenset({"click and kit", "all but the snare", "kit alone"})
_BARS_COMPARED = 4
_FIRST = Fraction(0)


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """A take that was listened to, with what was to be played.

    Attributes
    ----------
    card_id, title, pattern, bpm, passes
        What was played.
    start
        Seconds at which its first beat nominally falls.
    leading
        The player's leading hand.
    samples
        The recording at `drillbox.sound.RATE`; None from pads.
    program
        What was sounded.
    notes
        What the pads gave.
    pad_keys
        Which pad is which voice, as the setting has it.
    with_kit
        Whether a kit was sounded besides the click.
    """

    card_id: str
    title: str
    pattern: Pattern
    bpm: int
    passes: int
    start: float
    leading: Hand
    samples: Samples | None
    program: Mix
    notes: tuple[PadNote, ...] = ()
    pad_keys: str = ""
    with_kit: bool = False

    @property
    def source(self) -> str:
        """What a grade taken from it is said to come from in the log."""
        return "midi" if self.samples is None else "audio"


@dataclass(frozen=True, slots=True, eq=False)
class Opinion:
    """What the ear says of a take.

    Attributes
    ----------
    sentence
        What a teacher would say, or why nothing can be said and what to do.
    numbers
        The few numbers behind it; empty where there are none.
    grade
        The proposed grade, or None where it is withheld.
    sure
        How sure, 0 to 1.
    measured
        The measurement; None where there is none.
    source
        What a grade taken from it is said to come from in the log.
    """

    sentence: str
    numbers: str = ""
    grade: Grade | None = None
    sure: float = 0.0
    measured: Measurement | None = None
    source: str = "audio"

    @property
    def log_values(self) -> dict[str, Any] | None:
        """What the take log keeps of it."""
        from drillbox.ear.log_values import log_values  # noqa: PLC0415 - measured takes only

        return None if self.measured is None else log_values(self.measured)


class Listening:
    """Listens to one take after another.

    Parameters
    ----------
    desk
        Gives the metronome with its microphone, and the pads.
    settings
        The player's settings.

    Attributes
    ----------
    settings
        As they are now; whoever changes them says so here, since no frame asks the box.
    last
        The last take that was listened to, in memory only; None before, and while one is played.
    opinion
        What was heard of it; None until it is measured.
    """

    def __init__(self, desk: Desk, settings: Settings) -> None:
        self._desk = desk
        self.settings = settings
        self.last: Heard | None = None
        self.opinion: Opinion | None = None
        self._program: Mix | None = None
        self._notes: list[PadNote] = []
        self._passes: int | None = None
        self._asked_again = False
        self._meter = 0.0
        self._cuts: tuple[float, ...] | None = None

    @property
    def source(self) -> str:
        """Who listens: ``off``, ``microphone`` or ``pads``, as far as there are any."""
        wanted = self.settings.listening
        if wanted == "microphone" and self._desk.metronome.listens:
            return wanted
        if wanted == "pads" and self._desk.pads.listens:
            return wanted
        return "off"

    @property
    def trouble(self) -> str:
        """Why nobody listens though somebody should; empty if all is well."""
        return self._desk.pads.notice if self.settings.listening == "pads" else ""

    @property
    def busy(self) -> bool:
        """Whether what was heard of the take is still to come."""
        return self._passes is not None or (self.last is not None and self.opinion is None)

    @property
    def cuts(self) -> tuple[float, ...]:
        """The player's own cuts between grades, from the takes graded by hand so far."""
        if self._cuts is None:
            from drillbox.report.own_bands import cuts_of  # noqa: PLC0415 - after a take

            try:
                self._cuts = cuts_of(self._desk.box)
            except BoxError:
                from drillbox.ear import USUAL_CUTS  # noqa: PLC0415 - as above

                return USUAL_CUTS
        return self._cuts

    def level(self) -> float | None:
        """Return the level of the input for a meter, 0 to 1, falling slowly; None without one."""
        if self.source != "microphone":
            return None
        self._meter = max(self._desk.metronome.take_peak(), METER_FALLS * self._meter)
        return self._meter

    def begin(self, program: Mix) -> bool:
        """Listen to a take from its count-in on; return whether it is to be recorded as sound."""
        self.last = self.opinion = None
        self._passes, self._notes, self._asked_again = None, [], False
        source = self.source
        self._program = None if source == "off" else program
        if source == "pads":
            self._desk.pads.take()
        return source == "microphone"

    def swap(self, program: Mix) -> None:
        """Take note that the take goes on with another sound."""
        if self._program is not None:
            self._program = program

    def drop(self) -> None:
        """Forget the take that runs: it begins again, or is left."""
        self._program = self._passes = None

    def ask_again(self, card_id: str, bpm: int) -> None:
        """Take note that a grade is asked for again; what was heard is kept if it is of that take.

        That is the last take listened to, and no take before it.
        """
        last = self.last
        if self._asked_again or last is None or (last.card_id, last.bpm) != (card_id, bpm):
            self.last = self.opinion = None
        self._asked_again = True

    def finish(self, passes: int) -> None:
        """Say that a take is over after so many whole passes."""
        if self._program is not None and passes > 0:
            self._passes = passes

    def look(self, card: CardView, bpm: int) -> Heard | None:
        """Take in what came since the last look; return a finished take, once, to be measured."""
        self._hear_pads()
        program, passes = self._program, self._passes
        if program is None or passes is None or not self._all_in(program):
            return None
        return self._taken(card, bpm, program, passes)

    def hurry(self, card: CardView, bpm: int, passes: int) -> Heard | None:
        """Return the take as far as it has come in, once: it was graded before it had ended.

        None where nothing of it is to be had. `passes` are the whole passes that have sounded.
        """
        self._hear_pads()
        program, passes = self._program, self._passes or passes
        return self._taken(card, bpm, program, passes) if program and passes else None

    def _taken(self, card: CardView, bpm: int, program: Mix, passes: int) -> Heard | None:
        self.drop()
        settings, recorder = self.settings, self._desk.metronome.recorder
        by_ear = settings.listening == "microphone"
        if by_ear and recorder is None:
            return None
        self.last = Heard(
            card_id=card.card_id,
            title=card.title,
            pattern=card.pattern,
            bpm=bpm,
            passes=passes,
            start=float(program.timeline.seconds_at(_FIRST)) + (self._late() if by_ear else 0.0),
            leading=Hand(settings.leading),
            samples=recorder.samples() if by_ear and recorder is not None else None,
            program=program,
            notes=tuple(self._notes),
            pad_keys=settings.pad_keys,
            with_kit=settings.backing in _WITH_KIT,
        )
        return self.last

    def _all_in(self, program: Mix) -> bool:
        """Whether all of a finished take has come in, or no more will come."""
        metronome = self._desk.metronome
        if self.source != "microphone" or not metronome.running:
            return True
        recorder = metronome.recorder
        ended = float(program.timeline.seconds_total or 0) + self._late() + LAST_RING_SECONDS
        return recorder is None or recorder.whole or recorder.seconds >= ended

    def _hear_pads(self) -> None:
        if self._program is None or self.source != "pads":
            return
        from drillbox.ear import PadNote  # noqa: PLC0415 - where there are pads

        metronome = self._desk.metronome
        self._notes += [
            PadNote(metronome.take_seconds(hit.seconds), hit.key, hit.velocity)
            for hit in self._desk.pads.take()
        ]

    def told(self, heard: Heard, opinion: Opinion) -> bool:
        """Take note of what was heard; return whether it is of the last take."""
        if heard is self.last:
            self.opinion = opinion
        return heard is self.last

    def _late(self) -> float:
        """Return how late the microphone hears what is played, as far as anybody knows."""
        settings = self.settings
        if settings.round_trip_ms:
            return settings.round_trip_ms / 1000
        return USUAL_ROUND_TRIP + settings.latency_ms / 1000


def meter_bars(level: float) -> int:
    """Return how many bars of a meter a level fills: each is 6 dB, all of them full scale."""
    down = -20 * log10(max(level, 1e-6))
    return max(0, min(METER_BARS, METER_BARS - int(down / METER_STEP_DB)))


def opinion_of(heard: Heard, cuts: tuple[float, ...]) -> Opinion:
    """Return what the ear says of a take; never raises. Takes a second or so: call it in a thread.

    Parameters
    ----------
    heard
        The take.
    cuts
        The player's own cuts between grades (`drillbox.ear.player_cuts`).
    """
    if len(heard.program.timeline.tempi) > 1:
        return Opinion(RAMPED)
    try:
        return _too_poor(heard) or _measured(heard, cuts)
    except DrillboxError as refusal:
        return Opinion(f"Nothing can be said of this take: {refusal.what}.")
    except Exception as error:  # noqa: BLE001 - an error of ours must not cost the player the take
        return Opinion(f"The ear failed on this take ({error}): grade it yourself.")


def _measured(heard: Heard, cuts: tuple[float, ...]) -> Opinion:
    from drillbox.ear import AskedTake, PadVoices, measure, measure_notes, sentence  # noqa: PLC0415
    from drillbox.sound import RATE  # noqa: PLC0415 - both load numpy, which the app need not

    asked = AskedTake(heard.pattern, heard.bpm, heard.passes, heard.start, heard.leading)
    if heard.samples is None:
        found = measure_notes(heard.notes, asked, PadVoices.read(heard.pad_keys), cuts=cuts)
    else:
        found = measure(heard.samples, RATE, asked, cuts=cuts)
    grade = found.proposal.grade
    said = sentence(found)
    if grade is None:
        said = f"No grade proposed: {found.left_out[0]}. {said}"
    elif found.absent:
        said = f"{said} Not in this recording, so left out: {', '.join(found.absent)}."
    return Opinion(
        said,
        heard_numbers(found),
        None if grade is None else Grade(grade),
        found.proposal.sure,
        found,
        heard.source,
    )


def _too_poor(heard: Heard) -> Opinion | None:
    """Return why a take cannot be measured at all; None where it can be tried."""
    if heard.samples is None:
        return None if heard.notes else Opinion("No pad was hit in this take: grade it yourself.")
    from drillbox.sound import RATE  # noqa: PLC0415 - loads numpy

    needed = heard.start + heard.passes * heard.pattern.seconds(heard.bpm)
    if len(heard.samples) < (needed - LAST_RING_SECONDS) * RATE:
        return Opinion(MICROPHONE_GONE)
    if not len(heard.samples) or abs(heard.samples).max() < _SILENT:
        return Opinion(SILENT_INPUT)
    return Opinion(KIT_ALONG) if heard.with_kit and _kit_is_heard(heard) else None


def _kit_is_heard(heard: Heard) -> bool:
    """Whether the recording holds the kit that was played along, and not only the player."""
    from drillbox.ear import round_trip  # noqa: PLC0415 - loads numpy
    from drillbox.sound import RATE, Mix, PatternTrack  # noqa: PLC0415 - as above

    tracks = tuple(t for t in heard.program.tracks if isinstance(t, PatternTrack))
    kit = Mix(heard.program.timeline, tracks)
    bars = min(heard.passes * heard.pattern.bars, _BARS_COMPARED)
    struck = sorted({hit.frame for bar in range(bars) for t in tracks for hit in t.hits(bar)})
    if not struck or heard.samples is None:
        return False
    played = kit.block(0, len(heard.samples))
    return round_trip(played, heard.samples, [f / RATE for f in struck], RATE) is not None
