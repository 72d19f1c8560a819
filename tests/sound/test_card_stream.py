"""What goes to the sound card and comes back from it, block by block, without a card."""

from __future__ import annotations

import numpy as np
import pytest

from drillbox.sound import RATE
from drillbox.sound.transport import Request

pytest.importorskip("miniaudio")

from drillbox.sound.miniaudio_device import (
    MiniaudioDevice,
    MiniaudioDuplex,
    MiniaudioError,
    NullMiniaudio,
    _chosen,
    _duplex_stream,
    _stream,
)


class Feed:
    """Gives rising numbers, and keeps what it is told was heard."""

    def __init__(self) -> None:
        self.heard: list[list[float]] = []
        self.asked: list[int] = []

    def pull(self, frames: int) -> np.ndarray:
        """Return so many samples."""
        self.asked.append(frames)
        return np.arange(frames, dtype=np.float32)

    def skip(self, frames: int) -> None:
        """Do nothing."""

    def hear(self, samples: np.ndarray) -> None:
        """Keep them."""
        self.heard.append(samples.tolist())


def test_a_card_is_asked_for_three_periods_of_twenty_milliseconds() -> None:
    """Sixty milliseconds are held ahead, forty of them taken for the latency."""
    assert (2880, 1920) == (MiniaudioDevice.buffer_frames, MiniaudioDevice.latency_frames)
    assert 0.06 * RATE == MiniaudioDevice.buffer_frames
    assert [False, True] == [MiniaudioDevice.listens, MiniaudioDuplex.listens]
    assert [True, False] == [MiniaudioDevice.audible, NullMiniaudio.audible]


def test_the_stream_gives_as_many_frames_as_are_asked_for() -> None:
    """The first step only begins it; each later one is a block."""
    feed = Feed()
    stream = _stream(feed)
    assert b"" == next(stream)
    assert [0.0, 1.0, 2.0] == stream.send(3).tolist()  # type: ignore[union-attr]
    assert [0.0] == stream.send(1).tolist()  # type: ignore[union-attr]
    assert [3, 1] == feed.asked


def test_what_comes_in_with_a_block_is_heard_and_answered() -> None:
    """As many samples go out as came in, and those that came in are handed over, once."""
    feed = Feed()
    stream = _duplex_stream(feed)
    assert b"" == next(stream)
    said = np.array([0.5, -0.25], np.float32)
    assert np.arange(2, dtype=np.float32).tobytes() == stream.send(said.tobytes())
    assert [[0.5, -0.25]] == feed.heard
    assert [2] == feed.asked


def test_a_device_is_meant_by_its_name() -> None:
    """No name is the system's own choice; one that is not there is an error that names it."""
    known: dict[str, object] = {"Headphones": "id 7"}
    assert _chosen("", lambda _: known, ()) is None
    assert "id 7" == _chosen("Headphones", lambda _: known, ())
    with pytest.raises(MiniaudioError, match="no device called Radio"):
        _chosen("Radio", lambda _: known, ())


def test_nothing_requested_for_sounds_nothing() -> None:
    """A first request has no program; paused it sounds no more than without one."""
    request = Request()
    assert (None, 0, False) == (request.program, request.take, request.paused)
    assert not request.sounding
