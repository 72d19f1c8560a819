"""Sound files: read back by readers that are not ours, and the row of cards in them."""

from __future__ import annotations

import errno
import hashlib
import wave
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.io import wavfile
from sounding import onsets, render

from drillbox.errors import NotSavedError, UsageError
from drillbox.rhythm import parse
from drillbox.sound import (
    Timeline,
    click_program,
    listen_first,
    play_along,
    practice_track,
    write_wav,
)
from drillbox.sound.export import REST_SECONDS, Chain, Recorded, announcement

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.sound.tones import Samples

GROOVE = parse("hat: 1 &\nbass: 1 3\nsnare: >2 >4 (1a)\n")


def test_two_readers_agree_on_the_file(tmp_path: Path) -> None:
    """The standard library's reader and scipy's see mono, 16 bits, 48 kHz.

    And the samples that were meant.
    """
    path = tmp_path / "take.wav"
    program = play_along(GROOVE, Timeline.steady(GROOVE.meter, 111, bars=2, count_in_bars=1))
    write_wav(path, program)
    total = program.frames_total
    assert total is not None
    with wave.open(str(path)) as file:
        assert (1, 2, 48_000, total + program.ring) == (
            file.getnchannels(),
            file.getsampwidth(),
            file.getframerate(),
            file.getnframes(),
        )
    rate, samples = wavfile.read(path)
    assert (48_000, np.int16) == (rate, samples.dtype)
    assert np.array_equal(np.rint(render(program) * 32767), samples[:total])
    assert np.abs(samples[-48:]).max() <= 1


def test_the_same_take_gives_the_same_bytes(tmp_path: Path) -> None:
    """Offline rendering is deterministic to the sample."""
    digests = []
    for name in ("one.wav", "two.wav"):
        write_wav(tmp_path / name, listen_first(GROOVE, 97, passes=3))
        digests.append(hashlib.sha256((tmp_path / name).read_bytes()).hexdigest())
    assert digests[0] == digests[1]


def test_a_take_without_an_end_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    """A metronome that goes on for ever is no file, and leaves none behind."""
    path = tmp_path / "endless.wav"
    with pytest.raises(UsageError, match="without an end"):
        write_wav(path, click_program(GROOVE.meter, 90))
    assert not path.exists()


def test_a_file_that_cannot_be_written_leaves_the_old_one_whole(tmp_path: Path) -> None:
    """The disk fills up in the middle.

    One sentence with the place, the old track as it was, no rest left over.
    """

    class Filling(Recorded):
        """A sound at whose second block the disk is full."""

        def block(self, start: int, frames: int) -> Samples:
            """Raise what a full disk raises."""
            if start:
                raise OSError(errno.ENOSPC, "No space left on device")
            return super().block(start, frames)

    path = tmp_path / "day.wav"
    path.write_bytes(b"yesterday's")
    sentence = r"day\.wav: not written: No space"
    with pytest.raises(NotSavedError, match=sentence):
        write_wav(path, Filling(np.zeros(200_000, dtype=np.float32)), over=True)
    assert path.read_bytes() == b"yesterday's"
    assert [path] == list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("number", "long", "short"), [(1, 0, 1), (4, 0, 4), (10, 1, 0), (23, 2, 3)]
)
def test_a_number_is_counted_in_tens_and_ones(number: int, long: int, short: int) -> None:
    """A long low tone for each ten, a short one for each one, then a breath."""
    samples = announcement(number).samples
    begins = onsets(samples, silence=2000)
    lengths = [int(np.flatnonzero(samples[begin : begin + 28_000])[-1]) for begin in begins[:long]]
    assert long + short == len(begins)
    assert all(length > 0.35 * 48_000 or short for length in lengths)
    assert round((0.6 * long + 0.25 * short + 0.75) * 48_000) == len(samples)


def test_a_practice_track_holds_every_take_where_it_should() -> None:
    """Announcement, take, rest, for each card.

    Takes begin at the frame after their announcement.
    """
    takes = [click_program(GROOVE.meter, bpm, bars=1) for bpm in (120, 100)]
    track = practice_track(takes)
    rest = round(REST_SECONDS * 48_000)
    starts = [len(announcement(1).samples)]
    starts.append(starts[0] + 192_000 + rest + len(announcement(2).samples))
    assert starts[1] + 230_400 + rest == track.frames_total
    for start, take in zip(starts, takes, strict=True):
        assert np.array_equal(take.block(0, 150_000), track.block(start, 150_000))


def test_a_row_is_the_same_in_blocks_of_any_size() -> None:
    """Asked for piece by piece or at once, ring included."""
    row = practice_track(
        [listen_first(GROOVE, 140, passes=1), click_program(GROOVE.meter, 200, bars=1)]
    )
    assert np.array_equal(render(row), render(row, [4096]))
    assert np.array_equal(render(row), render(row, [1733, 64, 9001]))


def test_what_rings_rings_on_into_the_next_part() -> None:
    """A take's last stroke is not cut off where its time ends."""
    ringing = listen_first(parse("crash: 4a\n"), 120, passes=1)
    row = Chain([ringing, Recorded(np.zeros(60_000, dtype=np.float32))])
    assert np.array_equal(ringing.block(96_000, 60_000), row.block(96_000, 60_000))
    assert row.block(96_000, 100).any()
