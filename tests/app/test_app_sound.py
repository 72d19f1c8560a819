"""What the stand sounds: listening first, backings, clicks, the ramp, a day that runs itself."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.accompaniment import take_program
from drillbox.app.app import DrillboxApp
from drillbox.app.desk import Desk
from drillbox.app.hands_free import REST_SECONDS, Rest
from drillbox.box.setting_kinds import BACKINGS, CLICKS
from drillbox.box.settings import Settings
from drillbox.memory import Grade
from drillbox.plan import take_shape
from drillbox.rhythm import parse
from drillbox.sound import ManualDevice, Metronome

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, press, screen_text, settle, shows, to_the_question

if TYPE_CHECKING:
    import numpy as np

    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

RATE = 48_000
PATTERN = parse("hat: beat &\nsnare: >2 >4 (1e)\nbass: 1 3")
SHAPE = take_shape(PATTERN.seconds(60.0), PATTERN.bars, 90)


async def test_listening_goes_slow_then_at_tempo_then_quiet(box: Box, clock: ManualClock) -> None:
    """One key.

    The pattern alone at two thirds, then at its tempo; the playhead moves; no take begins.
    """
    device = ManualDevice()
    app = DrillboxApp(lambda: Desk(box, clock, lambda: Metronome(device)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "l")
        slow = device.pump(RATE * 2, block=512)
        await settle(pilot)
        assert await shows(pilot, "listening, slow")
        await press(pilot, "l")
        fast = device.pump(RATE * 2, block=512)
        await settle(pilot)
        assert await shows(pilot, "listening, at tempo")
        await press(pilot, "l")
        device.pump(RATE // 4, block=512)
        quiet = device.pump(RATE, block=512)
        await settle(pilot)

        assert min(abs(slow).max(), abs(fast).max()) > 0.05
        assert 0.0 == abs(quiet).max()
        assert await shows(pilot, "space or enter starts it")
        assert () == box.day(clock.now()).takes


@pytest.mark.parametrize("backing", BACKINGS)
def test_a_backing_sounds_what_it_says(backing: str) -> None:
    """The kit's own sounds, the snare and the click are each there or not, as chosen."""

    def sound(name: str) -> np.ndarray:
        program = take_program(
            PATTERN, 90, SHAPE, Settings(backing=name, click="pulse"), ramp=False
        )
        return program.block((program.frames_total or 0) - 4 * RATE, 2 * RATE)

    ours = sound(backing)
    others = [sound(name) for name in BACKINGS if name != backing]

    assert abs(ours).max() > 0.01
    assert all(abs(ours - other).max() > 0.01 for other in others)


@pytest.mark.parametrize("click", CLICKS)
def test_every_click_of_the_list_makes_a_program(click: str) -> None:
    """Each name is a click of its own, and every take starts with its count-in."""
    program = take_program(PATTERN, 90, SHAPE, Settings(click=click), ramp=False)
    bar = PATTERN.seconds(90) * RATE

    assert abs(program.block(0, RATE // 10)).max() > 0.05
    assert round(bar * (SHAPE.count_in_bars + SHAPE.passes)) == program.frames_total


def test_a_ramp_climbs_by_five_and_keeps_its_bars() -> None:
    """At the first bar line of a pass after about eight seconds: 90, 95, 100 and so on."""
    program = take_program(PATTERN, 90, SHAPE, Settings(), ramp=True)
    total = program.frames_total or 0
    tempos = {program.position(frame).bpm for frame in range(0, total, RATE)}

    assert {90.0, 95.0, 100.0, 105.0} == tempos
    assert SHAPE.passes - 1 == program.position(total - 10).pass_number


async def test_a_hands_free_day_plays_to_the_wrap_up(box: Box, clock: ManualClock) -> None:
    """After h and one space nobody touches a key.

    Takes, rests and cards follow each other, graded steady.
    """
    box.change_settings(at=clock.now(), minutes=5)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "h", "space")
        for _ in range(60):
            clock.forward(seconds=REST_SECONDS + 1)
            await settle(pilot)
            if "Wrap-up" in screen_text(app):
                break
        day = box.day(clock.now())

        assert "Wrap-up" in screen_text(app)
        assert len(day.takes) >= 4
        assert {Grade.STEADY} == {take.grade for take in day.takes}
        assert day.seconds <= 5 * 60


async def test_a_foot_grades_in_the_rest(box: Box, clock: ManualClock) -> None:
    """Two taps of a pedal in the rest: shaky, and the next take begins by itself five lower."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "h")
        await to_the_question(pilot, clock)
        assert "In 8 s: steady" in screen_text(app)
        await press(pilot, "pagedown", "enter")
        assert "s: shaky" in screen_text(app)
        clock.forward(seconds=REST_SECONDS)
        await settle(pilot)
        (take,) = box.day(clock.now()).takes

        assert Grade.SHAKY == take.grade
        clock.forward(seconds=1)
        await settle(pilot)
        assert "count-in" in screen_text(app)


def test_taps_go_round() -> None:
    """None steady, one clean, two shaky, three fell apart, a fourth takes it all back."""
    rest = Rest(100.0)
    said = [rest.verdict]
    for _ in range(4):
        rest.tap()
        said.append(rest.verdict)

    assert [Grade.STEADY, Grade.CLEAN, Grade.SHAKY, Grade.FELL_APART, Grade.STEADY] == said
    assert (8.0, 0.0) == (rest.seconds_left(100.0), rest.seconds_left(200.0))
