"""Recordings and MIDI files: every kind, beside independent readers, and hostile ones."""

from __future__ import annotations

import io
import os
import random
import struct
import tracemalloc
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.io import wavfile
from wav_bytes import chunk, fmt, riff

from drillbox.ear import find_start, open_recording, read_midi
from drillbox.ear.recordings import mono
from drillbox.errors import DrillboxError, MissingExtraError, RecordingError
from drillbox.rhythm import parse

if TYPE_CHECKING:
    from pathlib import Path

soundfile = pytest.importorskip("soundfile")
mido = pytest.importorskip("mido")
TONE = 0.5 * np.sin(np.arange(44100) / 20)


def same_sound(expected: np.ndarray, found: np.ndarray, *, within: float) -> None:
    """Compare two sounds sample by sample, in one step for all of them."""
    np.testing.assert_allclose(found, expected, rtol=0, atol=within)


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
@pytest.mark.parametrize("form", ["WAV", "WAVEX", "RF64"])
@pytest.mark.parametrize(("channels", "rate"), [(1, 44100), (2, 96000)])
def test_every_wav_reads_as_an_independent_reader_reads_it(
    tmp_path: Path, subtype: str, form: str, channels: int, rate: int
) -> None:
    """Beside libsndfile: the same samples from every depth, format, count of channels and rate."""
    path = tmp_path / "take.wav"
    sound = np.stack([TONE * (1 - 0.1 * i) for i in range(channels)], axis=1)
    soundfile.write(path, sound, rate, subtype=subtype, format=form)
    found = open_recording(path)
    theirs, their_rate = soundfile.read(path, dtype="float32", always_2d=True)

    assert (their_rate, len(theirs), channels) == (found.rate, found.frames, found.channels)
    same_sound(mono(theirs), found.part(), within=1e-6)
    same_sound(mono(theirs)[1600:3200], found.part(1600 / rate, 3200 / rate), within=1e-6)


def test_a_wav_reads_as_scipy_reads_it(tmp_path: Path) -> None:
    """A second independent reader and writer."""
    wavfile.write(tmp_path / "take.wav", 48000, (TONE * 32767).astype(np.int16))

    same_sound(TONE, open_recording(tmp_path / "take.wav").part(), within=1e-4)


@pytest.mark.parametrize("kind", ["flac", "ogg"])
def test_flac_and_ogg_are_read_by_the_library(tmp_path: Path, kind: str) -> None:
    """The extra's library opens what is no WAV, in parts."""
    path = tmp_path / f"take.{kind}"
    soundfile.write(path, TONE, 44100)
    found = open_recording(path)

    assert 1.0 == pytest.approx(found.seconds, abs=0.1)
    assert 4410 == found.part(0.2, 0.3).size


def test_without_the_library_one_sentence_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A FLAC without soundfile names the extra; a WAV does not need it."""
    monkeypatch.setitem(__import__("sys").modules, "soundfile", None)
    (tmp_path / "take.flac").write_bytes(b"fLaC" + bytes(100))
    (tmp_path / "take.wav").write_bytes(riff(fmt(rate=44100), chunk(b"data", bytes(44100))))

    with pytest.raises(MissingExtraError, match=r"drillbox\[ear\]"):
        open_recording(tmp_path / "take.flac")
    assert 22050 == open_recording(tmp_path / "take.wav").frames


def test_dead_and_opposed_channels() -> None:
    """A dead channel does not halve the sound; channels that cancel are not added up."""
    silent = np.zeros_like(TONE)

    same_sound(TONE, mono(np.stack([TONE, silent], axis=1)), within=1e-6)
    assert 0.1 < np.abs(mono(np.stack([TONE, -TONE], axis=1))).mean()


HOSTILE = {
    "empty": b"",
    "a word": b"hello, this is no sound",
    "header only": b"RIFF\x24\0\0\0WAVE",
    "no data": riff(fmt(rate=44100)),
    "no format": riff(chunk(b"data", bytes(44100))),
    "no samples": riff(fmt(rate=44100), chunk(b"data", b"")),
    "short format": riff(chunk(b"fmt ", b"\1\0\1\0"), chunk(b"data", bytes(44100))),
    "no channels": riff(fmt(channels=0, rate=44100), chunk(b"data", bytes(44100))),
    "many channels": riff(fmt(channels=60000, bits=8, rate=44100), chunk(b"data", bytes(44100))),
    "odd depth": riff(fmt(bits=13, rate=44100), chunk(b"data", bytes(44100))),
    "law": riff(fmt(tag=6, bits=8, rate=44100), chunk(b"data", bytes(44100))),
    "slow": riff(fmt(rate=3), chunk(b"data", bytes(44100))),
    "fast": riff(fmt(rate=2_000_000_000), chunk(b"data", bytes(44100))),
    "nan": riff(
        fmt(tag=3, bits=32, rate=44100), chunk(b"data", np.full(44100, np.nan, "<f4").tobytes())
    ),
    "chunk of four gigabytes": b"RIFF\xff\xff\xff\xffWAVEfmt \xff\xff\xff\xff" + bytes(200),
}


@pytest.mark.parametrize("raw", HOSTILE.values(), ids=HOSTILE)
def test_hostile_files_get_one_sentence(tmp_path: Path, raw: bytes) -> None:
    """Nothing but a sentence comes of a file that is no take."""
    path = tmp_path / "take.wav"
    path.write_bytes(raw)
    with pytest.raises(RecordingError) as refusal:
        open_recording(path).part()

    assert refusal.value.sentence().endswith(".")
    assert "\n" not in refusal.value.sentence()


def test_a_file_cut_off_is_a_shorter_recording(tmp_path: Path) -> None:
    """A header that promises more than there is is not believed."""
    whole = riff(fmt(rate=44100), chunk(b"data", (TONE * 32767).astype("<i2").tobytes()))
    (tmp_path / "take.wav").write_bytes(whole[: len(whole) // 2 + 1])

    assert 0.5 == pytest.approx(open_recording(tmp_path / "take.wav").seconds, abs=0.01)


def test_eight_hours_are_never_held_in_memory(tmp_path: Path) -> None:
    """A part of a file of eight hours is read in little memory; the whole of it is refused."""
    path = tmp_path / "long.wav"
    size = 8 * 3600 * 44100 * 2
    with path.open("wb") as file:
        head = riff(fmt(rate=44100), chunk(b"data", b""))
        file.write(head[:-4] + struct.pack("<I", size))
        file.truncate(len(head) + size)
    tracemalloc.start()
    found = open_recording(path)
    part = found.part(3600, 3610)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert 8 * 3600 == pytest.approx(found.seconds)
    assert 441_000 == part.size
    assert 20_000_000 > most
    with pytest.raises(RecordingError, match="too long"):
        found.part()


def midi(ticks: int = 480) -> object:
    """Return a MIDI file of two tracks with a change of tempo and odd events."""
    file = mido.MidiFile(ticks_per_beat=ticks)
    conductor, drums = mido.MidiTrack(), mido.MidiTrack()
    conductor.append(mido.MetaMessage("set_tempo", tempo=600_000))
    conductor.append(mido.MetaMessage("set_tempo", tempo=400_000, time=ticks * 2))
    drums.append(mido.MetaMessage("track_name", name="drums"))
    drums.append(mido.Message("program_change", channel=9, program=3))
    drums.append(mido.Message("sysex", data=(1, 2, 3)))
    for beat in range(8):
        drums.append(
            mido.Message("note_on", channel=9, note=38, velocity=20 + beat, time=ticks // 2)
        )
        drums.append(mido.Message("note_on", channel=9, note=38, velocity=0, time=ticks // 4))
        drums.append(mido.Message("pitchwheel", pitch=100))
    file.tracks.extend([conductor, drums])
    return file


@pytest.mark.parametrize("ticks", [96, 480, 960])
def test_midi_reads_as_independent_readers_read_it(tmp_path: Path, ticks: int) -> None:
    """Beside mido and pretty_midi: the same notes at the same seconds, tempo changes too."""
    path = tmp_path / "take.mid"
    midi(ticks).save(path)  # type: ignore[attr-defined]
    theirs, now = [], 0.0
    for message in mido.MidiFile(path):
        now += message.time
        if message.type == "note_on" and message.velocity:
            theirs.append((now, message.note, message.velocity))
    ours = read_midi(path)

    assert [note[1:] for note in theirs] == [note[1:] for note in ours]
    assert [note[0] for note in theirs] == pytest.approx([note[0] for note in ours], abs=1e-6)
    pretty = pytest.importorskip("pretty_midi").PrettyMIDI(str(path))
    starts = sorted(note.start for drums in pretty.instruments for note in drums.notes)
    assert starts == pytest.approx([note.seconds for note in ours], abs=1e-6)


def test_running_status_and_files_cut_anywhere(tmp_path: Path) -> None:
    """Running status is read; a file cut or changed anywhere gives notes or one sentence."""
    track = bytes([0, 0x99, 38, 90, 60, 38, 0, 60, 38, 40, 0, 0xFF, 0x2F, 0])
    raw = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 120) + b"MTrk" + struct.pack(">I", len(track))
    path = tmp_path / "take.mid"
    path.write_bytes(raw + track)

    assert [(0.0, 38, 90), (0.5, 38, 40)] == [tuple(note) for note in read_midi(path)]
    whole = io.BytesIO()
    midi().save(file=whole)  # type: ignore[attr-defined]
    rng = random.Random(1)
    for _ in range(150):
        body = bytearray(whole.getvalue()[: rng.randrange(len(whole.getvalue()))])
        for _ in range(rng.randrange(4)):
            if body:
                body[rng.randrange(len(body))] = rng.randrange(256)
        path.write_bytes(body)
        try:
            read_midi(path)
        except DrillboxError as error:
            assert "\n" not in error.sentence()  # noqa: PT017 - either is right


def test_values_far_above_full_scale_are_refused(tmp_path: Path) -> None:
    """A file of floats may go a little over 1; what squares to no number is told, without noise."""
    loud = (TONE * 16).astype("<f4")
    (tmp_path / "loud.wav").write_bytes(
        riff(fmt(tag=3, bits=32, rate=44100), chunk(b"data", loud.tobytes()))
    )
    huge = np.where(TONE > 0, 3e38, -3e38).astype("<f4")
    (tmp_path / "huge.wav").write_bytes(
        riff(fmt(tag=3, bits=32, rate=44100), chunk(b"data", huge.tobytes()))
    )

    assert 8 == pytest.approx(np.abs(open_recording(tmp_path / "loud.wav").part()).max(), abs=0.1)
    with pytest.raises(RecordingError, match=r"above 1000, where full scale is 1; export it"):
        open_recording(tmp_path / "huge.wav").part()


@pytest.mark.parametrize("name", ["pipe.wav", "pipe.mid"])
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path, name: str) -> None:
    """A pipe nobody writes to would keep a reader for ever."""
    path = tmp_path / name
    os.mkfifo(path)
    with pytest.raises(RecordingError, match="not a plain file; name a file on a disk"):
        (open_recording if name.endswith("wav") else read_midi)(path)


@pytest.mark.parametrize("claimed", [10**6, 0xFFFFFFF0, 0xFFFFFFFF])
def test_a_take_cut_before_its_pattern_ends_gets_one_sentence(tmp_path: Path, claimed: int) -> None:
    """Whatever length the header promises, a second is a second, and no bar at 80."""
    path = tmp_path / "take.wav"
    path.write_bytes(
        riff(fmt(rate=44100), chunk(b"data", b""))[:-4] + struct.pack("<I", claimed) + bytes(88200)
    )
    found = open_recording(path)

    assert 1.0 == pytest.approx(found.seconds)
    with pytest.raises(RecordingError, match=r"1\.0 s long, and the pattern at 80 bpm takes 3\.0"):
        find_start(found.part(), found.rate, parse("snare: >2 >4 (1e)\n"), 80)
    # Cut after the last stroke there is one pass, silent or not.
    assert 0 <= find_start(np.zeros(110_000, np.float32), 44100, parse("snare: >2 >4\n"), 80)
