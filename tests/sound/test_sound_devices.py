"""Real devices: the library's null backend in real time, no device, no library, and the way out."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from unittest.mock import Mock

import miniaudio
import pytest

import drillbox
from drillbox.rhythm import parse_meter
from drillbox.sound import Metronome, click_program, open_metronome, outputs
from drillbox.sound.metronome import NO_DEVICE, NO_LIBRARY, OTHER_DEVICE
from drillbox.sound.miniaudio_device import MiniaudioDevice, NullMiniaudio

ROOT = Path(drillbox.__file__).parents[1]
SCRIPT = """
import sys
from drillbox.rhythm import parse_meter
from drillbox.sound import Metronome, click_program
from drillbox.sound.miniaudio_device import NullMiniaudio
metronome = Metronome(NullMiniaudio())
metronome.start(click_program(parse_meter("4/4"), 120))
"""


def run(script: str, *, timeout: float = 20) -> subprocess.CompletedProcess[str]:
    """Run a script with a fresh interpreter at the project's root."""
    return subprocess.run(
        [sys.executable, "-c", script],
        cwd=ROOT,
        timeout=timeout,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_null_backend_runs_in_real_time() -> None:
    """The whole real engine in CI.

    0.3 s of the take last as long on the wall, or more on a busy machine.
    """
    with Metronome(NullMiniaudio()) as metronome:
        began = time.monotonic()
        metronome.start(click_program(parse_meter("4/4"), 120))
        frames = [0]
        while frames[-1] < 0.3 * 48_000 and time.monotonic() < began + 20:
            time.sleep(1 / 60)
            position = metronome.position()
            assert position is not None
            frames.append(position.frame)
        assert frames == sorted(frames)
        assert frames[-1] >= 0.3 * 48_000
        # What the device holds ahead is handed over at once, so the take may lead by as much and no
        # more.
        assert time.monotonic() - began > 0.3 - 0.06
        assert metronome.fault == ""


@pytest.mark.parametrize("ending", ["raise RuntimeError('boom')", "sys.exit(3)", "pass"])
def test_the_process_ends_while_the_stream_runs(ending: str) -> None:
    """An uncaught exception, an exit or plain falling off the end must not hang.

    And keeps its exit code.
    """
    done = run(f"{SCRIPT}\n{ending}")
    assert {"raise RuntimeError('boom')": 1, "sys.exit(3)": 3, "pass": 0}[ending] == done.returncode
    assert ("boom" in done.stderr) == ("boom" in ending)


def test_no_device_gives_one_sentence_and_a_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """The library is there, the card is not: the click is shown, and the sentence says so."""

    def no_card(**_: object) -> None:
        raise miniaudio.MiniaudioError("failed to init device", -401)

    monkeypatch.setattr(miniaudio, "PlaybackDevice", no_card)
    with open_metronome() as metronome:
        assert NO_DEVICE == metronome.notice
        assert not metronome.audible
        metronome.start(click_program(parse_meter("4/4"), 120))
        assert metronome.position() is not None


def test_looking_for_a_device_prints_nothing_over_the_screen() -> None:
    """Whatever this machine has or has not, its own sound libraries stay quiet on descriptor 2."""
    done = run("from drillbox.sound import open_metronome\nopen_metronome().close()")
    assert ("", "", 0) == (done.stdout, done.stderr, done.returncode)


def test_a_card_that_will_not_start_is_no_card(monkeypatch: pytest.MonkeyPatch) -> None:
    """A device may open and then refuse to run; it is let go again."""
    null = miniaudio.PlaybackDevice(backends=[miniaudio.Backend.NULL])
    closed = []

    def busy(_: object) -> None:
        raise miniaudio.MiniaudioError("failed to start audio device", -16)

    monkeypatch.setattr(null, "start", busy)
    monkeypatch.setattr(null, "close", lambda: closed.append(True))
    monkeypatch.setattr(miniaudio, "PlaybackDevice", lambda **_: null)
    with open_metronome() as metronome:
        assert NO_DEVICE == metronome.notice
    assert [True] == closed
    monkeypatch.undo()
    null.close()


def test_an_output_can_be_chosen_by_name() -> None:
    """A name from the library's own list opens that output; one that is not there is refused."""
    (name,) = (each["name"] for each in miniaudio.Devices([miniaudio.Backend.NULL]).get_playbacks())
    device = MiniaudioDevice(name=name, backends=(miniaudio.Backend.NULL,))
    assert device.backend == "Null"
    device.close()
    with pytest.raises(miniaudio.MiniaudioError, match="no device called Moon"):
        MiniaudioDevice(name="Moon", backends=(miniaudio.Backend.NULL,))


def test_an_output_that_is_not_there_falls_back_to_the_default(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The player's headphones are at home: the system's default plays, and one sentence says so."""
    null = miniaudio.PlaybackDevice
    monkeypatch.setattr(
        miniaudio,
        "PlaybackDevice",
        lambda **how: null(**how | {"backends": [miniaudio.Backend.NULL]}),
    )
    monkeypatch.setattr("drillbox.sound.miniaudio_device._outputs", lambda _: {"Built-in": None})
    with open_metronome(output="Headphones") as metronome:
        assert OTHER_DEVICE.format("Headphones") == metronome.notice
        assert metronome.audible
    with open_metronome(output="Built-in") as metronome:
        assert metronome.notice == ""
    assert outputs() == ("Built-in",)


def test_a_machine_without_the_library_has_no_outputs(monkeypatch: pytest.MonkeyPatch) -> None:
    """The list is empty, not an error; the same where the library finds no sound system."""
    monkeypatch.setattr(
        "drillbox.sound.miniaudio_device._outputs", Mock(side_effect=miniaudio.MiniaudioError("no"))
    )
    assert outputs() == ()
    monkeypatch.delitem(sys.modules, "drillbox.sound.miniaudio_device")
    monkeypatch.setitem(sys.modules, "miniaudio", None)
    assert outputs() == ()


def test_no_library_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the extra everything runs silently, and the sentence holds the command."""
    monkeypatch.setitem(sys.modules, "miniaudio", None)
    with open_metronome() as metronome:
        assert NO_LIBRARY == metronome.notice
        assert "pip install 'drillbox[sound]'" in metronome.notice
        assert not metronome.audible


def test_silence_that_was_asked_for_needs_no_notice() -> None:
    """`prefer="silent"` opens nothing and says nothing."""
    with open_metronome(prefer="silent") as metronome:
        assert ("", False) == (metronome.notice, metronome.audible)


def test_importing_the_room_is_free() -> None:
    """`import drillbox.sound` and the exact times load neither numpy nor the sound library."""
    script = (
        "import sys, drillbox.sound\n"
        "drillbox.sound.Timeline, drillbox.sound.ClickPlan\n"
        "print(sorted({'numpy', 'miniaudio', 'textual'} & set(sys.modules)))"
    )
    assert "[]\n" == run(script).stdout


def test_every_public_name_is_there() -> None:
    """The lazy face has a home for each name it promises, and says so for one it does not."""
    import drillbox.sound

    for name in drillbox.sound.__all__:
        assert getattr(drillbox.sound, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'trumpet'"):
        drillbox.sound.trumpet  # noqa: B018
