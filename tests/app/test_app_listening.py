"""The stand listens: a take played, measured, proposed, graded, and in the log with its numbers."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

import pytest
from textual.widgets import Static

from drillbox.app.app import DrillboxApp
from drillbox.app.desk import Desk, Devices
from drillbox.app.hands_free import REST_SECONDS, Rest
from drillbox.app.listening import (
    KIT_ALONG,
    MICROPHONE_GONE,
    RAMPED,
    SILENT_INPUT,
    meter_bars,
    opinion_of,
)
from drillbox.app.screens import listening_screen
from drillbox.app.screens.sound_check import NO_CLICK
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.stand_takes import DEAF_SECONDS
from drillbox.app.screens.wrapup import WrapUp
from drillbox.app.sitting import Phase
from drillbox.app.stand_words import DEVICE_CHANGED, QUESTION
from drillbox.ear import AskedTake, measure, open_recording
from drillbox.ear.log_values import read_logged
from drillbox.memory import Grade
from drillbox.rhythm import Hand
from drillbox.sound import Metronome, NoPads, PadHit

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import WHOLE_TAKE, press, said, screen_text, settle, shows
from rehearsal import Drummer, HitPads, Rehearsal
from still_desk import still_desk

if TYPE_CHECKING:
    from textual.pilot import Pilot
    from textual.screen import Screen

    from drillbox.app.listening import Heard, Opinion
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

SHORT_PLAY = 17.0
"""Seconds of a take: four bars at the slowest tempo, so that a grade is proposed."""


@pytest.fixture(autouse=True)
def _short_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half the usual length: what is synthesised and measured takes time."""
    monkeypatch.setattr("drillbox.plan.takes.PLAY_SECONDS", SHORT_PLAY)


def at_the_microphone(
    box: Box, clock: ManualClock, drummer: Drummer, *, folder: Path | None = None
) -> tuple[DrillboxApp, Rehearsal]:
    """Return the app with a drummer at its microphone, and the device he plays by."""
    box.change_settings(at=clock.now(), listening="microphone")
    device = Rehearsal(clock.seconds, drummer)
    desk = Desk(box, clock, lambda: Metronome(device), kept_takes=folder)
    return DrillboxApp(lambda: desk), device


def at_the_pads(box: Box, clock: ManualClock) -> tuple[DrillboxApp, HitPads]:
    """Return the app with pads to hit."""
    box.change_settings(at=clock.now(), listening="pads")
    pads = HitPads(clock.seconds)
    desk = still_desk(box, clock, devices=Devices(open_pads=lambda: pads))
    return DrillboxApp(lambda: desk), pads


async def play_take(pilot: Pilot[int], clock: ManualClock) -> None:
    """Play the take on the stand to its end, and let it be measured."""
    await press(pilot, "space")
    clock.forward(seconds=WHOLE_TAKE)
    await measured(pilot)


async def measured(pilot: Pilot[int]) -> None:
    """Wait until the take is over, and what was heard of it is shown."""
    stand = pilot.app.screen
    assert isinstance(stand, Stand)
    for _ in range(400):
        await pilot.pause(0.05)
        if stand._sitting.phase is not Phase.PLAYING and not stand._ear.busy:
            break
    else:
        pytest.fail("nothing was heard of the take")
    await settle(pilot)


async def hit_take(pilot: Pilot[int], clock: ManualClock, pads: HitPads) -> None:
    """Play the take on the stand on pads, with the take already started, and let it be measured."""
    await hit_notes(pilot, clock, pads)
    await measured(pilot)


async def hit_notes(pilot: Pilot[int], clock: ManualClock, pads: HitPads) -> None:
    """Play the take on the stand on pads to its end, with the take already started."""
    hands_at(pads, pilot.app.screen, clock)
    for _ in range(6):
        clock.forward(seconds=WHOLE_TAKE / 12)
        await settle(pilot)


def hands_at(pads: HitPads, stand: Screen[object], clock: ManualClock) -> Stand:
    """Have the take that has just started played on pads while its time goes by."""
    assert isinstance(stand, Stand)
    notes = Drummer().notes(stand._program())
    pads.hits = [PadHit(clock.seconds() + at, 38, velocity) for at, velocity in notes]
    return stand


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Event:
    """Let the ear wait with its opinions until this is set."""
    gate = Event()

    def late(heard: Heard, cuts: tuple[float, ...]) -> Opinion:
        gate.wait(10)
        return opinion_of(heard, cuts)

    monkeypatch.setattr(listening_screen, "opinion_of", late)
    return gate


async def test_a_take_is_heard_accepted_heard_back_and_kept(
    box: Box, clock: ManualClock, tmp_path: Path
) -> None:
    """The whole way.

    Stand, microphone, measure, proposal, one key, a row of the log; then the take at half speed,
    and its sound in a file that can be measured again.
    """
    drummer = Drummer(late_ms={1.25: -24.0}, leaves_out=frozenset({2.25}))
    folder = tmp_path / "player.box.takes"
    app, _ = at_the_microphone(box, clock, drummer, folder=folder)
    async with app.run_test(size=(160, 50)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        card = box.plan(at=clock.now(), minutes=15).items[0].card_id
        await play_take(pilot, clock)
        shown = screen_text(app)
        await press(pilot, "enter")
        (take,) = box.day(clock.now()).takes
        logged = read_logged(take.measured)

        assert "The ghost e of 3 is missing every time; the ghost e of 2 comes" in shown
        assert "left out: bass, hat" in shown
        assert all(sign in shown for sign in ("«", "Ø", "pass 1", "missed", "off ms"))
        assert logged is not None
        assert take.grade == logged.proposed
        assert "audio" == take.source
        assert "as heard: saved" in said(app)

        clock.forward(seconds=DEAF_SECONDS)
        await press(pilot, "k", "y")
        assert "your take, half speed" in screen_text(app)
        (kept,) = folder.iterdir()
        recording = open_recording(kept)
        passes = int(kept.stem.rpartition("-")[2].removesuffix("x"))
        asked = AskedTake(box.card(card, at=clock.now()).pattern, take.bpm, passes, 1.0)
        again = measure(recording.part(), recording.rate, asked)

        await press(pilot, "escape")
        await app.run_action(f"app.card({card!r})")
        await settle(pilot)
        await press(pilot, "y")
        assert "your take, half speed" in screen_text(app)
        await press(pilot, "y", "y")
        assert "quiet" in screen_text(app)

        assert card in kept.name
        assert logged.measures.spread_ms == pytest.approx(again.numbers.spread_ms, abs=0.5)


async def test_nothing_within_the_rest_accepts_what_was_heard(box: Box, clock: ManualClock) -> None:
    """Hands-free on pads: listen, play, measure, next, with no hand on the computer."""
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "h", "space")
        await hit_take(pilot, clock, pads)
        assert ": automatic" in screen_text(app)
        clock.forward(seconds=REST_SECONDS)
        await settle(pilot)
        (take,) = box.day(clock.now()).takes

        assert (Grade.AUTOMATIC, "midi") == (take.grade, take.source)
        assert take.measured is not None


async def test_a_key_of_your_own_overrules_and_keeps_the_numbers(
    box: Box, clock: ManualClock
) -> None:
    """The player's word stands, and beside it what was heard: bands are moved by such takes.

    Taken back, the grade is asked for again with what was heard, and enter takes that.
    """
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        await hit_take(pilot, clock, pads)
        assert "Heard: automatic" in screen_text(app)
        await press(pilot, "s")
        (take,) = box.day(clock.now()).takes
        logged = read_logged(take.measured)

        assert (Grade.SHAKY, "self") == (take.grade, take.source)
        assert logged is not None
        assert Grade.AUTOMATIC == logged.proposed

        clock.forward(seconds=DEAF_SECONDS)
        await press(pilot, "u")
        assert "Heard: automatic" in screen_text(app)
        await press(pilot, "enter")
        (again,) = box.day(clock.now()).takes
        assert (Grade.AUTOMATIC, "midi") == (again.grade, again.source)


async def test_a_paused_take_is_heard_as_far_as_it_went(box: Box, clock: ManualClock) -> None:
    """Three whole passes, then a pause: those are measured, and space would play it again."""
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        stand = hands_at(pads, app.screen, clock)
        bar = 4 * 60 / stand._sitting.bpm
        clock.forward(seconds=4 * bar)
        await settle(pilot)
        await press(pilot, "space")
        await measured(pilot)

        assert "Paused: a s d f g grade 3 passes" in screen_text(app)
        assert "heard, 0 missed" in screen_text(app)
        assert stand._ear.last is not None
        assert stand._sitting.passes_heard == stand._ear.last.passes


@pytest.mark.parametrize(
    ("drummer", "settings", "why"),
    [
        (Drummer(voices=frozenset(), noise=0.0), {}, SILENT_INPUT),
        (Drummer(voices=frozenset(), bleed=0.3), {"backing": "click and kit"}, KIT_ALONG),
    ],
    ids=["silent", "kit overheard"],
)
async def test_what_cannot_be_measured_is_said_with_what_to_do(
    box: Box, clock: ManualClock, drummer: Drummer, settings: dict[str, str], why: str
) -> None:
    """A dead input, or the kit that plays along in the recording: no proposal, and the remedy."""
    box.change_settings(at=clock.now(), **settings)
    app, _ = at_the_microphone(box, clock, drummer)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await play_take(pilot, clock)

        assert await shows(pilot, why)
        assert QUESTION in screen_text(app)
        clock.forward(seconds=1)
        await press(pilot, "enter")
        (take,) = box.day(clock.now()).takes
        assert (Grade.STEADY, "self", None) == (take.grade, take.source, take.measured)


async def test_a_ramp_is_graded_by_the_player(box: Box, clock: ManualClock) -> None:
    """A take that climbs has no one tempo; the stand says so, and asks as ever."""
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "m", "space")
        await hit_take(pilot, clock, pads)

        assert await shows(pilot, RAMPED)


async def test_a_microphone_pulled_out_loses_nothing(box: Box, clock: ManualClock) -> None:
    """The click goes on as a picture, the take is graded by hand, and one sentence says why."""
    app, device = at_the_microphone(box, clock, Drummer())
    device.buffer_frames = 2880
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        device.gone_after = clock.seconds() - device._began + 5.0
        stand = app.screen
        assert isinstance(stand, Stand)
        for _ in range(60):
            clock.forward(seconds=0.5)
            await settle(pilot)
            if stand._sitting.phase is Phase.GRADING:
                break
        await measured(pilot)

        assert await shows(pilot, MICROPHONE_GONE)
        await press(pilot, "f")
        (take,) = box.day(clock.now()).takes
        assert Grade.CLEAN == take.grade


async def test_without_pads_one_sentence_says_so(box: Box, clock: ManualClock) -> None:
    """The stand plays as ever; what is missing is said once, with the remedy."""
    box.change_settings(at=clock.now(), listening="pads")
    desk = still_desk(
        box, clock, devices=Devices(open_pads=lambda: NoPads("No MIDI input is there."))
    )
    app = DrillboxApp(lambda: desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        assert "No MIDI input is there." in screen_text(app)
        await press(pilot, "space")
        clock.forward(seconds=WHOLE_TAKE)
        await measured(pilot)

        assert QUESTION in screen_text(app)


@pytest.mark.parametrize(
    ("bleed", "ms", "words"),
    [(0.3, 43, "heard 43 ms late"), (0.0, 0, NO_CLICK)],
    ids=["heard", "not heard"],
)
async def test_the_sound_check_measures_how_late_the_click_is_heard(
    box: Box, clock: ManualClock, bleed: float, ms: int, words: str
) -> None:
    """The click once over the loudspeaker; a room that does not let it through is told."""
    drummer = Drummer(voices=frozenset(), bleed=bleed, way_ms=43.0)
    app, _ = at_the_microphone(box, clock, drummer)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "t", "s")
        assert "Microphone: the system's own" in screen_text(app)
        caution = str(app.screen.query_one("#check-caution", Static).content)
        assert "well under the drum's own level" in caution
        await press(pilot, "c")
        clock.forward(seconds=6)
        await pilot.pause(0.3)

        assert words in str(app.screen.query_one("#check-trip", Static).content)
        assert ms == box.settings.round_trip_ms


async def test_a_pad_is_learned_by_hitting_it_once(box: Box, clock: ManualClock) -> None:
    """Choose a voice, enter, one hit: the setting knows the key from then on."""
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "t", "s")
        assert "Pads: Test pads" in screen_text(app)
        pads.hits = [PadHit(clock.seconds(), 31, 90)]
        await pilot.pause(0.15)
        assert "key 31, velocity 90: no voice yet" in screen_text(app)
        await press(pilot, "enter")
        pads.hits = [PadHit(clock.seconds(), 31, 90)]
        await pilot.pause(0.15)
        (learned,) = box.settings.pad_keys.split()

        assert learned.startswith("31=")
        assert "Key 31 is the" in screen_text(app)
        await press(pilot, "f")
        assert "" == box.settings.pad_keys


def test_the_meter_fills_by_six_decibels() -> None:
    """Full at full scale, empty in silence, a bar for each halving."""
    assert [8, 7, 6, 0, 0] == [meter_bars(level) for level in (1.0, 0.45, 0.24, 0.003, 0.0)]


def test_a_rest_stands_by_what_was_heard_until_a_foot_says_otherwise() -> None:
    """A proposal is the verdict; a tap is the player's own; four taps give it back."""
    rest = Rest(100.0)
    rest.propose(Grade.CLEAN, 107.0)
    said_of = [(rest.verdict, rest.as_heard)]
    for _ in range(4):
        rest.tap()
        said_of.append((rest.verdict, rest.as_heard))

    assert [
        (Grade.CLEAN, True),
        (Grade.CLEAN, False),
        (Grade.SHAKY, False),
        (Grade.FELL_APART, False),
        (Grade.CLEAN, True),
    ] == said_of
    assert 4.0 == rest.seconds_left(107.0)


async def test_a_grade_given_before_the_measure_gets_its_numbers_later(
    box: Box, clock: ManualClock, gate: Event
) -> None:
    """The take is saved at once; when it was measured, it stands in the log with what was heard.

    One take, of the same moment, grade and length; what memory believes of its card is unchanged.
    """
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        await hit_notes(pilot, clock, pads)
        assert QUESTION in screen_text(app)
        await press(pilot, "s")
        (bare,) = box.day(clock.now()).takes
        believed = box.outlook(bare.card_id, at=clock.now())
        gate.set()
        assert await shows(pilot, "Heard, and kept with your grade:")
        (take,) = box.day(clock.now()).takes

        assert bare.measured is None
        assert read_logged(take.measured) is not None
        assert replace(bare, measured=take.measured, take_id=take.take_id) == take
        assert believed == box.outlook(take.card_id, at=clock.now())
        clock.forward(seconds=DEAF_SECONDS)
        await press(pilot, "u")
        assert () == box.day(clock.now()).takes
        assert "Heard: automatic" in screen_text(app)


async def test_a_grade_in_the_middle_of_a_take_has_the_passes_that_were_played(
    box: Box, clock: ManualClock
) -> None:
    """Three passes in, a key: the take ends, and those three are in the log with it."""
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        stand = hands_at(pads, app.screen, clock)
        for _ in range(40):
            clock.forward(seconds=1)
            await settle(pilot)
            if stand._sitting.passes_heard == 3:
                break
        await press(pilot, "f")
        assert await shows(pilot, "Heard, and kept with your grade:"), screen_text(app)
        (take,) = box.day(clock.now()).takes
        logged = read_logged(take.measured)

        assert logged is not None
        assert {3} == {partial.heard for partial in logged.partials if partial.voice == "snare"}


async def test_a_grade_taken_back_before_its_measure_stays_taken_back(
    box: Box, clock: ManualClock, gate: Event
) -> None:
    """The numbers that come then belong to the question that is asked again."""
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        await hit_notes(pilot, clock, pads)
        await press(pilot, "s")
        clock.forward(seconds=DEAF_SECONDS)
        await press(pilot, "u")
        gate.set()
        assert await shows(pilot, "Heard: automatic")
        assert () == box.day(clock.now()).takes
        await press(pilot, "enter")
        (take,) = box.day(clock.now()).takes

        assert (Grade.AUTOMATIC, "midi") == (take.grade, take.source)
        assert take.measured is not None


async def test_the_stand_left_before_the_measure_keeps_it_all_the_same(
    box: Box, clock: ManualClock, gate: Event
) -> None:
    """A grade and esc at once: the numbers find their take from Today."""
    app, pads = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        await hit_notes(pilot, clock, pads)
        await press(pilot, "s", "escape")
        assert not isinstance(app.screen, Stand)
        gate.set()
        for _ in range(100):
            await pilot.pause(0.02)
            (take,) = box.day(clock.now()).takes
            if take.measured is not None:
                break

        assert read_logged(take.measured) is not None


async def test_what_is_changed_in_the_setup_counts_from_the_next_take_on(
    box: Box, clock: ManualClock
) -> None:
    """From the palette the setup lies over the stand: listening begins without leaving it."""
    app, pads = at_the_pads(box, clock)
    box.change_settings(at=clock.now(), listening="off")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await app.run_action("app.setup")
        await settle(pilot)
        box.change_settings(at=clock.now(), listening="pads", leading="L")
        await press(pilot, "escape", "space")
        stand = app.screen
        assert isinstance(stand, Stand)
        assert "pads" == stand._ear.source
        await hit_take(pilot, clock, pads)

        assert "Heard: automatic" in screen_text(app)
        assert Hand.LEFT is (stand._ear.last and stand._ear.last.leading)


async def test_a_sound_device_changed_in_mid_take_pauses_it(box: Box, clock: ManualClock) -> None:
    """The click is gone with the old device: the take is paused, and space plays it again."""
    app, _ = at_the_pads(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        stand = app.screen
        assert isinstance(stand, Stand)
        await app.run_action("app.setup")
        await settle(pilot)
        stand._desk.reopen_devices()
        await press(pilot, "escape")

        notice, paused = said(app), stand._sitting.phase
        await press(pilot, "space")

        assert DEVICE_CHANGED == notice
        assert [Phase.PAUSED, Phase.PLAYING] == [paused, stand._sitting.phase]


async def test_a_whole_day_by_ear_and_without_hands(box: Box, clock: ManualClock) -> None:
    """Play, be measured, be graded, next, from the first take to the wrap-up: keys only to begin.

    Every take is in the log as it was heard through the microphone, and the day's minutes are kept:
    two and a half of five are left.
    """
    box.choose_minutes_today(5, at=clock.now())
    box.record(box.find("a"), 80, Grade.STEADY, clock.now(), 150)
    app, _ = at_the_microphone(box, clock, Drummer(jitter_ms=12.0))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "h", "space")
        began = clock.seconds()
        for _ in range(60):
            clock.forward(seconds=5)
            await settle(pilot)
            if not isinstance(app.screen, Stand):
                break
            if app.screen._ear.busy and app.screen._ear.last is not None:
                await measured(pilot)  # else it still listens, and only the clock ends that
        takes = box.day(clock.now()).takes[1:]
        minutes = (clock.seconds() - began) / 60

        assert isinstance(app.screen, WrapUp)
        assert 3 <= len(takes)
        assert {"audio"} == {take.source for take in takes}
        assert all(take.measured is not None for take in takes)
        assert [read_logged(take.measured).proposed for take in takes] == [  # type: ignore[union-attr]
            int(take.grade) for take in takes
        ]
        assert 2 <= len({take.card_id for take in takes})
        assert 5 > minutes
