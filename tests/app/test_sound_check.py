"""The sound check without a window: what it says of a level, of the click and of pads."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

import drillbox.ear
from drillbox.app.desk import Desk, Devices
from drillbox.app.screens.sound_check import (
    BEFORE_CLICK,
    CLICKING,
    GOOD,
    NO_CLICK,
    NOBODY,
    PLAY_LOUD,
    QUIET,
    TOO_LOUD,
    SoundCheck,
)
from drillbox.box.setting_kinds import LATENCY_MOST
from drillbox.rhythm import Voice
from drillbox.sound import PadHit

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare
from rehearsal import HitPads

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.sound import Metronome, Mix
    from drillbox.sound.pad_input import Pads


class BareCheck(Bare, SoundCheck):
    """The sound check in no app."""

    def says(self, where: str) -> str:
        """Return one of its lines."""
        return self.line(f"#check-{where}")

    def look(self) -> None:
        """Look at what comes in."""
        self.timers["_look"].callback()


class Ear:
    """A metronome of which only the microphone matters: what it hears is what a test says.

    Attributes
    ----------
    peak
        The loudest since it was last asked.
    whole
        Whether all of what is recorded has come in.
    """

    def __init__(self) -> None:
        self.listens, self.notice, self.peak, self.whole = True, "", 0.0, False
        self.recorder: Any = None
        self.sounds: Mix | None = None

    def take_peak(self) -> float:
        """Return the loudest, and forget it."""
        peak, self.peak = self.peak, 0.0
        return peak

    def start(self, program: Mix, *, record: bool = False) -> None:
        """Note what is played and recorded."""
        assert record
        self.sounds = program
        self.recorder = SimpleNamespace(whole=False, samples=lambda: [0.0] * 100)

    def position(self) -> object:
        """Return something while it plays."""
        return self.sounds

    def stop(self) -> None:
        """Fall silent."""
        self.sounds = None

    def close(self) -> None:
        """Do nothing."""


@pytest.fixture
def ear() -> Ear:
    """Return a microphone."""
    return Ear()


@pytest.fixture
def pads(clock: ManualClock) -> HitPads:
    """Return pads."""
    return HitPads(clock.seconds)


def check(box: Box, clock: ManualClock, ear: Ear, pads: HitPads, listening: str) -> BareCheck:
    """Return a sound check that has come up."""
    box.change_settings(at=clock.now(), listening=listening)
    devices = Devices(open_pads=lambda: cast("Pads", pads))
    page = BareCheck(Desk(box, clock, lambda: cast("Metronome", ear), devices))
    page.on_mount()
    return page


@pytest.fixture
def by_ear(box: Box, clock: ManualClock, ear: Ear, pads: HitPads) -> BareCheck:
    """Return a sound check of the microphone."""
    return check(box, clock, ear, pads, "microphone")


@pytest.fixture
def by_pads(box: Box, clock: ManualClock, ear: Ear, pads: HitPads) -> BareCheck:
    """Return a sound check of pads."""
    return check(box, clock, ear, pads, "pads")


# who listens


def test_the_check_says_who_listens_and_offers_its_keys(
    box: Box, clock: ManualClock, ear: Ear, pads: HitPads
) -> None:
    """A microphone has a click to measure, pads are learned, and each only where it is there."""
    told = {}
    for listening in ("microphone", "pads", "off"):
        for there in (True, False):
            ear.listens = pads.listens = there
            ear.notice, pads.notice = "no microphone", "no pads"
            page = check(box, clock, ear, pads, listening)
            offers = [page.offers(key) for key in ("click", "learn", "forget", "close")]
            told[listening, there] = (page.says("who"), offers, page.part("OptionList").display)
            assert 1 / 20 == page.timers["_look"].seconds
            assert page.says("keys").endswith("esc: done")
            page.look()

    assert {
        ("microphone", True): (
            "Microphone: the system's own", [True, False, False, True], False,
        ),
        ("microphone", False): ("no microphone", [False, False, False, True], False),
        ("pads", True): ("Pads: Test pads", [False, True, True, True], True),
        ("pads", False): ("no pads", [False, False, False, True], False),
        ("off", True): (NOBODY, [False, False, False, True], False),
        ("off", False): (NOBODY, [False, False, False, True], False),
    } == told  # fmt: skip
    ear.notice = ""
    assert NOBODY == check(box, clock, ear, pads, "microphone").says("who")


def test_a_chosen_microphone_is_named_with_the_caution(
    box: Box, clock: ManualClock, ear: Ear, pads: HitPads
) -> None:
    """Its own name, what headphones are for, and what loudness does to ears."""
    box.change_settings(at=clock.now(), microphone="USB")
    page = check(box, clock, ear, pads, "microphone")

    assert "Microphone: USB" == page.says("who")
    assert (PLAY_LOUD, BEFORE_CLICK) == (page.says("advice"), page.says("trip"))
    assert "headphones" in page.says("caution")


def test_a_check_that_closes_leaves_no_click_behind(by_ear: BareCheck, ear: Ear) -> None:
    """Closed in the middle of it, too."""
    by_ear.action_click()
    by_ear.action_close()
    by_ear.on_unmount()

    assert ([None], None) == (by_ear.closed_with, ear.sounds)


# the level


@pytest.mark.parametrize(
    ("loudest", "advice"),
    [
        (0.0, PLAY_LOUD),
        (0.00149, PLAY_LOUD),
        (0.0015, QUIET),
        (0.0316, QUIET),
        (0.0317, GOOD),
        (0.989, GOOD),
        (0.99, TOO_LOUD),
        (1.0, TOO_LOUD),
    ],
)
def test_the_loudest_so_far_says_what_to_do(
    by_ear: BareCheck, ear: Ear, loudest: float, advice: str
) -> None:
    """Under 30 dB below full scale it is quiet, at 0.99 too loud; near silence nothing came."""
    ear.peak = loudest
    by_ear.look()
    ear.peak = 0.0
    by_ear.look()

    assert advice == by_ear.says("advice")


@pytest.mark.parametrize(
    ("level", "filled", "decibels"),
    [(1.0, 40, "   0 dB"), (0.1, 27, " -20 dB"), (0.001, 0, " -60 dB"), (0.0, 0, " -60 dB")],
)
def test_the_meter_shows_sixty_decibels_in_forty_cells(
    by_ear: BareCheck, ear: Ear, level: float, filled: int, decibels: str
) -> None:
    """Full scale fills it; 60 dB under that, and silence, leave it empty."""
    ear.peak = level
    by_ear.look()

    assert f"{'■' * filled}{'□' * (40 - filled)} {decibels}, loudest {decibels.strip()}" == (
        by_ear.says("level")
    )


def test_the_meter_falls_slowly_and_the_loudest_stays(by_ear: BareCheck, ear: Ear) -> None:
    """A tenth of the level is lost at each look; a softer peak changes nothing."""
    ear.peak = 1.0
    by_ear.look()
    ear.peak = 0.2
    by_ear.look()
    fallen = by_ear.says("level")
    for _ in range(30):
        by_ear.look()

    assert "  -1 dB, loudest 0 dB" in fallen
    assert by_ear.says("level").endswith("-28 dB, loudest 0 dB")


# the click


def heard_late(monkeypatch: pytest.MonkeyPatch, seconds: float | None) -> list[list[float]]:
    """Let the click be heard so late; return where clicks were looked for."""
    looked: list[list[float]] = []

    def round_trip(played: Any, heard: Any, clicks: list[float], rate: int) -> float | None:
        assert (len(heard), 48_000) == (len(played), rate)
        looked.append(clicks)
        return seconds

    monkeypatch.setattr(drillbox.ear, "round_trip", round_trip)
    return looked


@pytest.mark.parametrize(
    ("late", "kept"),
    [(0.0434, 43), (0.0, 1), (-0.02, 1), (9.0, LATENCY_MOST)],
)
def test_how_late_the_click_is_heard_is_kept_and_said(
    by_ear: BareCheck, ear: Ear, monkeypatch: pytest.MonkeyPatch, late: float, kept: int
) -> None:
    """In whole ms, one at least, for nought is what nobody measured; eight clicks are played."""
    looked, box = heard_late(monkeypatch, late), by_ear._desk.box
    by_ear.action_click()
    ear.peak = 1.0
    by_ear.look()
    running = (by_ear.says("trip"), by_ear.offers("click"), by_ear.says("advice"), len(looked))
    ear.recorder.whole = True
    by_ear.look()

    assert (CLICKING, False, PLAY_LOUD, 0) == running
    assert [[n * 0.5 for n in range(8)]] == looked
    assert kept == box.settings.round_trip_ms
    assert f"The click is heard {kept} ms late; takes are measured with that." == by_ear.says(
        "trip"
    )
    assert by_ear.offers("click")
    assert ear.sounds is None
    assert "loudest -60 dB" in by_ear.says("level")  # the click is not the player


@pytest.mark.parametrize("ends", ["silent", "no recorder", "gone"])
def test_a_click_that_is_not_heard_says_what_to_try(
    by_ear: BareCheck, ear: Ear, box: Box, monkeypatch: pytest.MonkeyPatch, ends: str
) -> None:
    """Whether nothing came, the microphone went away, or nothing could be recorded."""
    looked = heard_late(monkeypatch, None)
    by_ear.action_click()
    if ends == "silent":
        ear.sounds = None
    elif ends == "no recorder":
        ear.recorder = None
    else:
        ear.listens = False
    by_ear.look()
    ear.listens = True

    assert NO_CLICK == by_ear.says("trip")
    assert 0 == box.settings.round_trip_ms
    assert len(looked) == (ends != "no recorder")


def test_eight_clicks_are_four_seconds(by_ear: BareCheck, ear: Ear) -> None:
    """Two bars of four at 120, without a count-in: no more than must be heard."""
    by_ear.action_click()
    assert ear.sounds is not None
    timeline = ear.sounds.timeline

    assert (2, 0) == (timeline.bars, timeline.count_in_bars)
    assert [120] == [int(tempo.bpm) for tempo in timeline.tempi]
    assert 4.0 == float(timeline.seconds_total or 0)


# the pads


def test_a_hit_says_which_voice_it_is(
    by_pads: BareCheck, pads: HitPads, clock: ManualClock
) -> None:
    """Of several at once the last; a key that nobody named has none yet; no hit, no word."""
    by_pads.look()
    assert "" == by_pads.says("level")
    pads.hits = [PadHit(clock.seconds(), 31, 90), PadHit(clock.seconds(), 38, 77)]
    by_pads.look()
    assert "key 38, velocity 77: the snare" == by_pads.says("level")
    pads.hits = [PadHit(clock.seconds(), 5, 12)]
    by_pads.look()

    assert "key 5, velocity 12: no voice yet" == by_pads.says("level")


def test_one_hit_teaches_the_chosen_voice(
    by_pads: BareCheck, pads: HitPads, clock: ManualClock, box: Box
) -> None:
    """The first of several hits; once; the list names its key, and the cursor stays."""
    rows = by_pads.part("OptionList")
    index = list(Voice).index(Voice.SNARE)
    assert (0, True) == (rows.highlighted, rows.has_keys)
    rows.highlighted = index
    by_pads.action_learn()
    asked = by_pads.says("advice")
    pads.hits = [PadHit(clock.seconds(), 31, 90), PadHit(clock.seconds(), 5, 9)]
    by_pads.look()
    learned, said = box.settings.pad_keys, by_pads.says("advice")
    pads.hits = [PadHit(clock.seconds(), 7, 9)]
    by_pads.look()

    assert "Hit the pad that is the snare now." == asked
    assert ("31=snare", "Key 31 is the snare from now on.") == (learned, said)
    assert "31=snare" == box.settings.pad_keys
    assert index == rows.highlighted
    assert list(Voice) == [option.id for option in rows.options]
    assert "keys 31, 38" in str(rows.options[index].prompt)


def test_what_was_learned_is_forgotten_by_one_key(
    by_pads: BareCheck, pads: HitPads, clock: ManualClock, box: Box
) -> None:
    """It says how many; General MIDI's keys remain; with nothing chosen nothing is learned."""
    rows = by_pads.part("OptionList")
    for key in (31, 33):
        by_pads.action_learn()
        pads.hits = [PadHit(clock.seconds(), key, 90)]
        by_pads.look()
    by_pads.action_forget()
    forgotten = by_pads.says("advice")
    rows.highlighted = None
    by_pads.action_learn()
    pads.hits = [PadHit(clock.seconds(), 40, 90)]
    by_pads.look()

    assert "Forgotten: 2 pads. General MIDI's keys remain." == forgotten
    assert "" == box.settings.pad_keys
    assert "key 40" in by_pads.says("level")
