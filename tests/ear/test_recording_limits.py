"""Sound files at their edges: what is read to the sample, and from which number on not at all."""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np
import pytest
from wav_bytes import chunk, fmt, riff

from drillbox.ear import Recording, open_recording
from drillbox.ear.recordings import mono
from drillbox.errors import MissingExtraError, RecordingError

if TYPE_CHECKING:
    from pathlib import Path

soundfile = pytest.importorskip("soundfile")


def extensible(tag: int, *, cut: int = 40) -> bytes:
    """Return an extensible format chunk whose real format is a tag, cut to so many bytes."""
    head = struct.pack("<HHIIHH", 0xFFFE, 1, 8000, 16000, 2, 16)
    return chunk(b"fmt ", (head + struct.pack("<HHIH", 22, 16, 4, tag) + bytes(14))[:cut])


NUMBERS = np.arange(-900, 900, dtype="<i2") * 36
SOUND = chunk(b"data", NUMBERS.tobytes())


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where a take lies."""
    return tmp_path / "take.wav"


def opened(path: Path, raw: bytes) -> Recording:
    """Write a file and open it."""
    path.write_bytes(raw)
    return open_recording(path)


def refused(path: Path, raw: bytes) -> str:
    """Return why a file is refused."""
    with pytest.raises(RecordingError) as refusal:
        opened(path, raw).part()
    assert refusal.value.exit_code
    return refusal.value.sentence()


def test_a_part_is_the_whole_cut_to_the_sample(path: Path) -> None:
    """From its first frame to before its last; beyond the ends there is nothing; never before."""
    found = opened(path, riff(fmt(), SOUND))
    whole = found.part()

    assert (8000, 1800, 1, 0.225) == (found.rate, found.frames, found.channels, found.seconds)
    assert list(NUMBERS / 32768) == pytest.approx(list(whole))
    assert list(whole[80:800]) == list(found.part(0.01, 0.1))
    assert list(whole[80:]) == list(found.part(0.01)) == list(found.part(0.01, 9.0))
    assert list(whole[:80]) == list(found.part(-3.0, 0.01))
    assert 0 == found.part(0.1, 0.05).size == found.part(7.0).size


@pytest.mark.parametrize(
    ("bits", "tag", "raw", "value"),
    [
        (8, 1, b"\x00", -1.0),
        (8, 1, b"\x80", 0.0),
        (8, 1, b"\xff", 127 / 128),
        (16, 1, b"\x00\x80", -1.0),
        (16, 1, b"\x01\x02", 0x201 / 2**15),
        (24, 1, b"\x00\x00\x80", -1.0),
        (24, 1, b"\x03\x02\x01", 0x10203 / 2**23),
        (24, 1, b"\xff\xff\xff", -1 / 2**23),
        (32, 1, b"\x00\x00\x00\x80", -1.0),
        (32, 1, b"\x00\x03\x02\x01", 0x1020300 / 2**31),
        (32, 3, struct.pack("<f", -0.75), -0.75),
        (64, 3, struct.pack("<d", 0.3), 0.3),
    ],
)
def test_every_kind_of_number_is_its_share_of_full_scale(
    path: Path, bits: int, tag: int, raw: bytes, value: float
) -> None:
    """Bytes written down by hand: lowest byte first, eight bits without a sign."""
    found = opened(path, riff(fmt(tag, bits=bits), chunk(b"data", raw * 900)))

    assert [value] * 900 == pytest.approx(list(found.part()), rel=1e-6)


def test_chunks_before_the_sound_are_stepped_over_and_after_it_not_read(path: Path) -> None:
    """Odd ones by a byte more; what follows the sound is no sound."""
    found = opened(
        path, riff(chunk(b"LIST", b"odd"), fmt(), chunk(b"fact", bytes(4)), SOUND, SOUND)
    )

    assert 1800 == found.frames
    assert list(NUMBERS / 32768) == pytest.approx(list(found.part()))
    many = [chunk(b"junk", b"")] * 998
    assert 1800 == opened(path, riff(*many, fmt(), SOUND)).frames
    assert "holds no sound" in refused(path, riff(*many, chunk(b"junk", b""), fmt(), SOUND))


def test_a_length_nobody_knows_is_what_is_there(path: Path) -> None:
    """A recorder that was cut off writes ones for the length; RF64 says it elsewhere."""
    raw = riff(fmt(), b"data\xff\xff\xff\xff" + NUMBERS.tobytes())

    assert 1800 == opened(path, raw).frames
    assert 1800 == opened(path, raw.replace(b"RIFF", b"RF64")).frames
    more = riff(fmt(), b"data\xfe\xff\xff\xff" + NUMBERS.tobytes())
    assert 1800 == opened(path, more).frames
    assert 1799 == opened(path, raw[:-1]).frames
    assert 900 == opened(path, riff(fmt(), chunk(b"data", NUMBERS[:900].tobytes()), SOUND)).frames


def test_a_recording_shorter_than_a_tenth_of_a_second_is_none(path: Path) -> None:
    """Eight hundred frames at 8 kHz are one, and a frame less is not."""
    assert 800 == opened(path, riff(fmt(), chunk(b"data", bytes(1600)))).frames
    assert "shorter than a tenth of a second; record it again" in refused(
        path, riff(fmt(), chunk(b"data", bytes(1598)))
    )


@pytest.mark.parametrize(
    ("channels", "rate", "good"),
    [
        (1, 8000, True),
        (1, 7999, False),
        (1, 384_000, True),
        (1, 384_001, False),
        (32, 8000, True),
        (33, 8000, False),
        (0, 8000, False),
    ],
)
def test_channels_and_rates_that_can_be(
    path: Path, channels: int, rate: int, *, good: bool
) -> None:
    """One to 32 channels at 8 to 384 kHz."""
    raw = riff(
        fmt(channels=channels, rate=rate), chunk(b"data", bytes(2 * max(channels, 1) * rate // 10))
    )

    if good:
        assert (channels, rate) == (opened(path, raw).channels, opened(path, raw).rate)
    else:
        assert f"claims {channels} channels at {rate} Hz" in refused(path, raw)


@pytest.mark.parametrize(
    ("form", "reason"),
    [
        (fmt(tag=6, bits=8), "cannot be read (format 6, 8 bits)"),
        (fmt(tag=1, bits=64), "cannot be read (format 1, 64 bits)"),
        (fmt(tag=3, bits=16), "cannot be read (format 3, 16 bits)"),
        (fmt(frame=3), "contradicts itself"),
        (chunk(b"fmt ", bytes(15)), "has no format"),
        (extensible(6), "cannot be read (format 6, 16 bits)"),
        (extensible(1, cut=24), "cannot be read (format 65534, 16 bits)"),
        (chunk(b"junk", bytes(16)), "holds no sound"),
    ],
)
def test_formats_that_cannot_be_read_say_which(path: Path, form: bytes, reason: str) -> None:
    """The number of the format and its bits, or what is wrong with the header."""
    assert reason in refused(path, riff(form, SOUND))


def test_the_least_that_a_header_may_hold_is_enough(path: Path) -> None:
    """Sixteen bytes of format, 26 of an extensible one."""
    assert 1800 == opened(path, riff(fmt(), SOUND)).frames
    assert 1800 == opened(path, riff(extensible(1, cut=26), SOUND)).frames
    assert 1800 == opened(path, riff(extensible(1), SOUND)).frames


def floats(value: float) -> bytes:
    """Return a WAV of floats with one value among silence."""
    samples = np.zeros(900, "<f4")
    samples[450] = value
    return riff(fmt(3, bits=32), chunk(b"data", samples.tobytes()))


@pytest.mark.parametrize("sign", [-1, 1])
def test_a_thousand_times_full_scale_is_the_most(path: Path, sign: int) -> None:
    """Either sign; a number that is none is told as such."""
    assert 1000.0 == sign * opened(path, floats(sign * 1000.0)).part()[450]
    assert "above 1000, where full scale is 1" in refused(path, floats(sign * 1000.5))
    assert "no numbers" in refused(path, floats(sign * float("inf")))


def test_twenty_minutes_at_once_are_the_most(path: Path) -> None:
    """To the frame; the sentence says how long it would be, and what to give."""
    size = 1200 * 8000 + 8000 * 300
    path.write_bytes(riff(fmt(bits=8), chunk(b"data", bytes(size))))
    found = open_recording(path)

    assert 1200 * 8000 == found.part(0.0, 1200.0).size
    with pytest.raises(RecordingError, match=r"^20 minutes are too long to measure at once"):
        found.part(0.0, 1200.01)
    with pytest.raises(RecordingError, match=r"25 minutes .*") as refusal:
        found.part()
    assert "at most 20 minutes" in refusal.value.sentence()


def test_channels_become_one() -> None:
    """Their mean; one 20 dB under the loudest is dead; two that cancel to a tenth are one wired.

    The exact edges: 19.9 dB under counts, 20.1 does not; left over under a tenth of the power the
    louder one is taken.
    """
    wave = np.sin(np.arange(4000) / 7).astype(np.float32)

    def both(other: float) -> np.ndarray:
        return np.asarray(mono(np.stack([wave, other * wave], axis=1)), float)

    assert list(wave * 0.75) == pytest.approx(list(both(0.5)), abs=1e-6)
    assert list(wave * (1 + 10 ** (-19.9 / 20)) / 2) == pytest.approx(
        list(both(10 ** (-19.9 / 20))), abs=1e-6
    )
    assert list(wave) == pytest.approx(list(both(10 ** (-20.1 / 20))), abs=1e-6)
    assert list(-1.2 * wave) == pytest.approx(list(both(-1.2)), abs=1e-6)
    # Half the difference of 1 and .45 has 13 % of their mean power, of 1 and .55 under 8.
    assert list(wave * 0.275) == pytest.approx(list(both(-0.45)), abs=1e-6)
    assert list(wave) == pytest.approx(list(both(-0.55)), abs=1e-6)
    assert list(wave) == list(mono(wave)) == list(mono(wave[:, None]))


def test_what_is_no_sound_is_told_by_its_ending(tmp_path: Path) -> None:
    """An ending that no library reads, an empty file, a sound file that is none."""
    (tmp_path / "a.txt").write_bytes(b"words")
    (tmp_path / "a.flac").write_bytes(b"words")
    (tmp_path / "b.wav").write_bytes(b"")

    for name, reason in (
        ("a.txt", "no sound file that can be measured"),
        ("a.flac", "cannot be read as sound"),
        ("b.wav", "the file is empty"),
    ):
        with pytest.raises(RecordingError) as refusal:
            open_recording(tmp_path / name)
        assert reason in refusal.value.sentence()
    for name in ("a.FLAC", "a.ogg", "a.opus", "a.aiff"):
        (tmp_path / name).write_bytes(b"RIFFxxxxXXXX")
        with pytest.raises(RecordingError, match="cannot be read as sound"):
            open_recording(tmp_path / name)


def test_a_flac_has_the_same_limits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A tenth of a second and 8 kHz; a file that breaks off says so when it is read."""
    wave = np.sin(np.arange(8000) / 7)

    def written(name: str, count: int, rate: int) -> Path:
        soundfile.write(tmp_path / name, wave[:count], rate)
        return tmp_path / name

    assert 800 == open_recording(written("a.flac", 800, 8000)).frames
    for path in (written("b.flac", 799, 8000), written("c.flac", 7999, 7999)):
        with pytest.raises(RecordingError, match="shorter than a tenth of a second"):
            open_recording(path)
    stereo = np.stack([wave, wave / 2], axis=1)
    soundfile.write(tmp_path / "d.flac", stereo, 8000, subtype="PCM_24")
    found = open_recording(tmp_path / "d.flac")
    assert 2 == found.channels
    assert list(0.75 * wave[400:800]) == pytest.approx(list(found.part(0.05, 0.1)), abs=1e-6)
    (tmp_path / "d.flac").unlink()
    with pytest.raises(RecordingError, match="the file breaks off"):
        found.part()
    monkeypatch.setitem(__import__("sys").modules, "soundfile", None)
    with pytest.raises(MissingExtraError):
        open_recording(tmp_path / "a.flac")
