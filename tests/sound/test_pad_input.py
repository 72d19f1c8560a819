"""Pads played live, from a port of the library's shape."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from types import ModuleType
from typing import TYPE_CHECKING, Any

import mido
import pytest

from drillbox.sound import PadHit, open_pads, pad_names
from drillbox.sound.pad_input import NO_PAD_LIBRARY, NO_PADS, OTHER_PADS, MidiPads

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass
class Port:
    """A port that a test plays on."""

    name: str
    callback: Callable[[Any], None]
    closed: list[bool] = field(default_factory=list)

    def close(self) -> None:
        """Note that it was closed."""
        self.closed.append(True)


@pytest.fixture(autouse=True)
def _way_to_the_system(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the library's own way to the system be there or not: no test needs it."""
    monkeypatch.setitem(sys.modules, "rtmidi", ModuleType("rtmidi"))


def test_hits_are_stamped_by_the_metronomes_clock() -> None:
    """A note that is struck counts; its release, a note of velocity 0 and a pedal do not."""
    times = iter([1.0, 1.5])
    pads = MidiPads("Kit", Port, lambda: next(times))
    for message in (
        mido.Message("note_on", note=38, velocity=100),
        mido.Message("note_off", note=38),
        mido.Message("note_on", note=38, velocity=0),
        mido.Message("control_change", control=4, value=90),
        mido.Message("note_on", note=31, velocity=20),
    ):
        pads._port.callback(message)

    assert (PadHit(1.0, 38, 100), PadHit(1.5, 31, 20)) == pads.take()
    assert () == pads.take()
    pads.close()
    assert [True] == pads._port.closed


def test_the_chosen_pads_open_or_the_first_there_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """The name that was chosen; where it is gone, the first, and one sentence says so."""
    monkeypatch.setattr(mido, "get_input_names", lambda: ["Kit", "Keys", "Kit"])
    monkeypatch.setattr(mido, "open_input", Port)

    assert ("Kit", "Keys") == pad_names()
    assert ("Keys", "") == (open_pads("Keys").name, open_pads("Keys").notice)
    assert ("Kit", "") == (open_pads().name, open_pads().notice)
    assert OTHER_PADS.format("Moon", "Kit") == open_pads("Moon").notice


def _no_midi() -> list[str]:
    raise OSError("no MIDI system")


def _busy(*_: object, **__: object) -> None:
    raise OSError("busy")


def test_no_pads_is_a_sentence_and_not_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """No MIDI system, no input, a busy one, no library: nobody listens, and the remedy is said."""
    monkeypatch.setattr(mido, "get_input_names", _no_midi)
    said = [open_pads().notice]
    monkeypatch.setattr(mido, "get_input_names", list)
    said.append(open_pads().notice)
    monkeypatch.setattr(mido, "get_input_names", lambda: ["Kit"])
    monkeypatch.setattr(mido, "open_input", _busy)
    said.append(open_pads().notice)
    monkeypatch.setitem(sys.modules, "mido", None)
    said.append(open_pads().notice)

    assert [NO_PADS] * 3 + [NO_PAD_LIBRARY] == said
    assert (False, ()) == (open_pads().listens, open_pads().take())
