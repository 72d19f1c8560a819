"""The sound check: what the microphone or the pads give, before a take depends on it.

The microphone: its level, and how late it hears the click, measured by playing that once over the
loudspeaker. The pads: which of them is which voice, learned by hitting each once.
"""

from __future__ import annotations

from math import log10
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillbox.app.listening import CLIPPED, METER_FALLS
from drillbox.app.refusals import says_refusals
from drillbox.app.words import EARS
from drillbox.base.wording import counted
from drillbox.box.setting_kinds import LATENCY_MOST
from drillbox.rhythm import Voice, parse_meter

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.ear import PadVoices
    from drillbox.sound import Mix

LOOKS_PER_SECOND = 20
METER_WIDTH, METER_FLOOR_DB = 40, -60.0
TOO_QUIET_DB = -30.0
CHECK_BPM, CHECK_BARS, CHECK_METER_BEATS = 120, 2, 4
NOBODY = "Nobody listens. Choose microphone or pads under “Listening at the stand” first."
HEADPHONES = (
    "The click on headphones makes a take clean; keep them well under the drum's own level."
)
PLAY_LOUD = "Play your loudest accents."
TOO_LOUD = "Too loud: turn the input down in your system's sound settings, or move it back."
QUIET = "Quiet: turn the input up in your system's sound settings, or move it nearer."
GOOD = "Good: the loudest is heard whole."
BEFORE_CLICK = (
    "c plays eight clicks over the loudspeaker, and measures how late they are heard. Turn the"
    " loudspeaker down first; nobody should wear headphones meanwhile."
)
CLICKING = "Listening to the click…"
NO_CLICK = (
    "The click was not heard. Turn the loudspeaker up a little, or hold the microphone to it, and"
    " press c again; without it a take is measured all the same, but not where it lies as a whole."
)
HIT_IT = "Hit the pad that is the {} now."


class SoundCheck(ModalScreen[None]):
    """What the microphone or the pads give."""

    BINDINGS: ClassVar = [
        Binding("c", "click", "measure the click", id="sound_check.click"),
        Binding("enter", "learn", "learn a pad", id="sound_check.learn", priority=True),
        Binding("f", "forget", "forget the pads", id="sound_check.forget"),
        Binding("escape", "close", "done", id="sound_check.done"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._settings = desk.box.settings
        self._level = self._loudest = 0.0
        self._clicking = False
        self._learning: Voice | None = None

    @property
    def _by_pads(self) -> bool:
        return self._settings.listening == "pads" and self._desk.pads.listens

    @property
    def _by_microphone(self) -> bool:
        return self._settings.listening == "microphone" and self._desk.metronome.listens

    def compose(self) -> ComposeResult:
        """Lay the sheet out."""
        with Vertical(classes="sheet"):
            yield Static("Sound check", classes="sheet-title")
            for name in ("who", "level", "advice", "trip"):
                yield Static("", id=f"check-{name}", markup=False)
            yield OptionList(id="check-pads", markup=False)
            yield Static("", id="check-caution", classes="caution", markup=False)
            yield Static("", id="check-keys", markup=False)

    def on_mount(self) -> None:
        """Say who listens, and begin to look."""
        pads = self.query_one(OptionList)
        pads.display = self._by_pads
        if self._by_pads:
            self._say("who", f"Pads: {self._desk.pads.name}")
            self._say("advice", "up and down choose a voice, enter and one hit teach its pad.")
            self._say("keys", "enter: learn, f: forget all, esc: done")
            self._draw_voices()
            pads.highlighted = 0
            pads.focus()
        elif self._by_microphone:
            name = self._settings.microphone or "the system's own"
            self._say("who", f"Microphone: {name}")
            self._say("advice", PLAY_LOUD)
            self._say("trip", self._trip())
            self._say("caution", f"{HEADPHONES} {EARS}")
            self._say("keys", "c: measure the click, esc: done")
        else:
            missing = self._desk.metronome.notice
            if self._settings.listening == "pads":
                missing = self._desk.pads.notice
            self._say("who", NOBODY if self._settings.listening == "off" else missing or NOBODY)
            self._say("keys", "esc: done")
        self.set_interval(1 / LOOKS_PER_SECOND, self._look)

    def on_unmount(self) -> None:
        """Leave no click behind."""
        self._desk.metronome.stop()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what there is."""
        del parameters
        offered = {
            "click": self._by_microphone and not self._clicking,
            "learn": self._by_pads,
            "forget": self._by_pads,
        }
        return offered.get(action, True)

    def _say(self, where: str, words: str) -> None:
        self.query_one(f"#check-{where}", Static).update(words)

    def _look(self) -> None:
        if self._by_pads:
            self._look_at_pads()
        elif self._by_microphone or self._clicking:  # it may go away within the click
            self._look_at_microphone()

    # the microphone

    def _look_at_microphone(self) -> None:
        metronome = self._desk.metronome
        peak = metronome.take_peak()
        self._level = max(peak, METER_FALLS * self._level)
        if not self._clicking:
            self._loudest = max(self._loudest, peak)
        filled = round(METER_WIDTH * max(0.0, 1 - _db(self._level) / METER_FLOOR_DB))
        self._say(
            "level",
            f"{'■' * filled}{'□' * (METER_WIDTH - filled)} {_db(self._level):4.0f} dB, "
            f"loudest {_db(self._loudest):.0f} dB",
        )
        if self._clicking:
            position = metronome.position()
            recorder = metronome.recorder
            if position is None or recorder is None or recorder.whole or not metronome.listens:
                self._clicked()
        else:
            self._say("advice", _advice(self._loudest))

    def action_click(self) -> None:
        """Play the click once, and measure how late the microphone hears it."""
        self._clicking = True
        self._say("trip", CLICKING)
        self._desk.metronome.start(self._clicks(), record=True)

    def _clicks(self) -> Mix:
        from drillbox.sound import click_program  # noqa: PLC0415 - loads numpy

        meter = parse_meter(f"{CHECK_METER_BEATS}/4")
        return click_program(meter, CHECK_BPM, bars=CHECK_BARS, count_in_bars=0)

    @says_refusals
    def _clicked(self) -> None:
        """Look for the click in what was heard, and keep how late it came."""
        from drillbox.ear import round_trip  # noqa: PLC0415 - loads numpy
        from drillbox.sound import RATE  # noqa: PLC0415 - as above

        self._clicking = False
        metronome = self._desk.metronome
        heard = metronome.recorder.samples() if metronome.recorder is not None else None
        metronome.stop()
        late = None
        if heard is not None:
            played = self._clicks().block(0, len(heard))
            clicks = [n * 60 / CHECK_BPM for n in range(CHECK_BARS * CHECK_METER_BEATS)]
            late = round_trip(played, heard, clicks, RATE)
        if late is None:
            self._say("trip", NO_CLICK)
            return
        ms = min(max(round(late * 1000), 1), LATENCY_MOST)
        self._settings = self._desk.box.change_settings(at=self._desk.clock.now(), round_trip_ms=ms)
        self._say("trip", self._trip())

    def _trip(self) -> str:
        ms = self._settings.round_trip_ms
        return (
            f"The click is heard {ms} ms late; takes are measured with that."
            if ms
            else BEFORE_CLICK
        )

    # the pads

    @property
    def _voices(self) -> PadVoices:
        from drillbox.ear import PadVoices  # noqa: PLC0415 - where there are pads

        return PadVoices.read(self._settings.pad_keys)

    def _draw_voices(self) -> None:
        rows = self.query_one(OptionList)
        chosen = rows.highlighted
        rows.clear_options()
        voices = self._voices
        for voice in Voice:
            keys = ", ".join(str(key) for key in voices.keys(voice))
            rows.add_option(Option(f"{voice:<10}{'keys ' + keys if keys else 'no pad'}", id=voice))
        rows.highlighted = chosen

    def _look_at_pads(self) -> None:
        hits = self._desk.pads.take()
        if not hits:
            return
        last, voices = hits[-1], self._voices
        if self._learning is not None:
            self._learn(hits[0].key, self._learning)
            return
        voice = voices.voice(last.key)
        name = f"the {voice}" if voice else "no voice yet"
        self._say("level", f"key {last.key}, velocity {last.velocity}: {name}")

    def action_learn(self) -> None:
        """Let the next hit say which pad is the chosen voice."""
        rows = self.query_one(OptionList)
        if rows.highlighted is not None:
            self._learning = Voice(rows.get_option_at_index(rows.highlighted).id or "")
            self._say("advice", HIT_IT.format(self._learning))

    @says_refusals
    def _learn(self, key: int, voice: Voice) -> None:
        self._learning = None
        self._keep_pads(self._voices.with_hit(key, voice).text)
        self._say("advice", f"Key {key} is the {voice} from now on.")

    @says_refusals
    def action_forget(self) -> None:
        """Forget what was learned of the pads; General MIDI's keys remain."""
        learned = len(self._voices.learned)
        self._keep_pads("")
        self._say("advice", f"Forgotten: {counted(learned, 'pad')}. General MIDI's keys remain.")

    def _keep_pads(self, keys: str) -> None:
        now = self._desk.clock.now()
        self._settings = self._desk.box.change_settings(at=now, pad_keys=keys)
        self._draw_voices()

    def action_close(self) -> None:
        """Close the sheet."""
        self.dismiss(None)


def _db(level: float) -> float:
    return 20 * log10(max(level, 1e-3))


def _advice(loudest: float) -> str:
    """Return what to do about a level, by the loudest so far."""
    if loudest >= CLIPPED:
        return TOO_LOUD
    if loudest < 10 ** (METER_FLOOR_DB / 20) * 1.5:
        return PLAY_LOUD
    return QUIET if _db(loudest) < TOO_QUIET_DB else GOOD
