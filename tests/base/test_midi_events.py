"""Standard MIDI Files by their bytes, written out here after the standard (SMF 1.1).

The variable-length numbers are the standard's own table (page 2, "Variable Length Quantity").
"""

from __future__ import annotations

import struct

import pytest

from drillbox.base import midi_events
from drillbox.base.midi_events import MAX_EVENTS, Event, SmfFile, read_smf
from drillbox.errors import ExchangeError

END = b"\x00\xff\x2f\x00"
NOTE = b"\x00\x99\x26\x40"
"""A snare drum at a middle velocity on channel 10 (General MIDI 1)."""


def smf(*tracks: bytes, form: int = 1, division: int = 480) -> bytes:
    """Return a file with these tracks."""
    head = b"MThd" + struct.pack(">IHHH", 6, form, len(tracks), division)
    return head + b"".join(b"MTrk" + struct.pack(">I", len(track)) + track for track in tracks)


def read(data: bytes, *, lenient: bool = False) -> SmfFile:
    """Read a file, with errors of an exchange."""
    return read_smf(data, refused=ExchangeError, lenient=lenient)


def told(data: bytes, *, lenient: bool = False) -> str:
    """Return what is said of a file that is refused."""
    with pytest.raises(ExchangeError) as caught:
        read(data, lenient=lenient)
    return str(caught.value)


@pytest.mark.parametrize(
    ("written", "number"),
    [
        (b"\x00", 0x00),
        (b"\x40", 0x40),
        (b"\x7f", 0x7F),
        (b"\x81\x00", 0x80),
        (b"\xc0\x00", 0x2000),
        (b"\xff\x7f", 0x3FFF),
        (b"\x81\x80\x00", 0x4000),
        (b"\xc0\x80\x00", 0x100000),
        (b"\xff\xff\x7f", 0x1FFFFF),
        (b"\x81\x80\x80\x00", 0x200000),
        (b"\xc0\x80\x80\x00", 0x8000000),
        (b"\xff\xff\xff\x7f", 0xFFFFFFF),
    ],
)
def test_numbers_of_variable_length_are_the_standards(written: bytes, number: int) -> None:
    """Every row of the standard's table, as the time before a note."""
    found = read(smf(written + NOTE[1:] + END))

    assert number == found.events[0].tick == found.end


def test_a_number_of_five_bytes_is_refused() -> None:
    """Four are the most (SMF 1.1)."""
    assert "track 1 has a number of more than four bytes, at byte 4" in told(
        smf(b"\x81\x80\x80\x80\x00" + NOTE[1:] + END)
    )


def test_a_status_runs_on_until_another_event() -> None:
    """Notes may leave it out; a meta or a system exclusive event ends it."""
    running = b"\x00\x99\x26\x40\x0a\x26\x00\x00\x2a\x50"
    (first, second, third, _) = read(smf(running + END)).events

    assert Event(0, 0x90, 10, b"\x26\x40") == first
    assert Event(10, 0x90, 10, b"\x26\x00") == second
    assert Event(10, 0x90, 10, b"\x2a\x50") == third
    for between in (b"\x00\xff\x01\x01x", b"\x00\xf0\x01\xf7", b"\x00\xf7\x01\x01"):
        assert "begins an event with data that belong to none" in told(
            smf(NOTE + between + b"\x00\x26\x40" + END)
        )


VOICE_MESSAGES = [
    (0x80, 2), (0x9F, 2), (0xA0, 2), (0xB9, 2), (0xC0, 1), (0xD0, 1), (0xE9, 2),
]  # fmt: skip


@pytest.mark.parametrize(("status", "count"), VOICE_MESSAGES)
def test_each_message_has_its_number_of_data_bytes(status: int, count: int) -> None:
    """MIDI 1.0, table of channel voice messages: program and pressure have one, the rest two."""
    data = bytes([0, status, *[0x7F] * count])
    first, second, _ = read(smf(data + NOTE + END)).events

    assert Event(0, status & 0xF0, (status & 0x0F) + 1, b"\x7f" * count) == first
    assert 0x90 == second.status
    assert "has a status where data should be" in told(
        smf(bytes([0, status, *[0x80] * count]) + END)
    )


def test_tracks_are_one_row_of_events_by_time() -> None:
    """What stands after a track's end is passed over, and unknown chunks are."""
    late = b"\x60\x99\x26\x40" + END + NOTE
    alien = b"XXXX" + struct.pack(">I", 3) + b"abc"
    found = read(smf(late, NOTE + END) + alien)

    assert [0, 0, 96, 96] == [event.tick for event in found.events]
    assert (480, 96, False) == (found.division, found.end, found.counts_frames)


@pytest.mark.parametrize(
    ("data", "sentence", "also_lenient"),
    [
        (b"RIFF" + b"\0" * 20, "this is no MIDI file", True),
        (smf(NOTE + END)[:13], "this is no MIDI file", True),
        (smf(NOTE + END, form=2), "its format is 2", False),
        (smf(NOTE + END, form=7), "its format is 7", False),
        (smf(NOTE + END, division=0), "counted in frames of film", True),
        (smf(NOTE + END, division=0xE728), "counted in frames of film", False),
        (smf(NOTE + END)[:-1], "chunk at byte 14 says 8 bytes, but only 7 follow", True),
        (smf(NOTE + END)[:18] + b"\xff" * 4 + NOTE, "says 4,294,967,295 bytes, but only 4", True),
        (
            smf(NOTE + END, NOTE + END)[:30],
            "its head says 2 tracks, and 1 are there, up to byte 30",
            True,
        ),
        (
            smf(NOTE + END)[:10] + b"\xff\xff" + smf(NOTE + END)[12:],
            "its head says 65,535 tracks, and 1 are there",
            True,
        ),
        (smf(), "it has no track", True),
        (smf(NOTE[:-1]), "track 1 ends inside an event, at byte 2", True),
        (smf(b"\x00\xf1" + END), "has an event 0xf1 that no file may hold", True),
    ],
)
def test_what_is_no_such_file_is_refused(data: bytes, sentence: str, *, also_lenient: bool) -> None:
    """A recording may count frames or hold patterns; nothing else is let through."""
    assert sentence in told(data)
    if also_lenient:
        assert sentence in told(data, lenient=True)
    else:
        assert read(data, lenient=True).division


def test_frames_of_film_are_known_as_such() -> None:
    """25 frames a second are written as -25, 0xE7 (SMF 1.1, division)."""
    assert read(smf(NOTE + END, division=0xE728), lenient=True).counts_frames


def test_an_odd_number_of_ticks_a_quarter_counts_beats() -> None:
    """Only the highest of the sixteen bits says that frames are counted (SMF 1.1, division)."""
    for division in (1, 481, 0x7FFF):
        found = read(smf(NOTE + END, division=division))
        assert (division, False) == (found.division, found.counts_frames)


@pytest.mark.parametrize("form", [0, 1])
def test_one_track_and_several_at_once_are_read(form: int) -> None:
    """Formats 0 and 1 (SMF 1.1); a track may be empty, or lack its end, before another one."""
    assert (0, ()) == (read(smf(b"", form=form)).end, read(smf(b"", form=form)).events)
    assert [0, 0, 0] == [event.tick for event in read(smf(NOTE, NOTE + END, form=form)).events]


def test_a_message_to_the_device_is_passed_over_whole() -> None:
    """General MIDI 1, "GM System On": F0 7E 7F 09 01 F7, after its length; then time goes on."""
    system_on = b"\x10\xf0\x05\x7e\x7f\x09\x01\xf7"
    found = read(smf(system_on + b"\x10" + NOTE[1:] + b"\x40" + END[1:]))

    assert [(32, 0x90), (96, 0xFF)] == [(event.tick, event.status) for event in found.events]
    assert 96 == found.end


def test_who_does_not_ask_for_recordings_gets_none() -> None:
    """A reader of exchange files is strict without saying so."""
    with pytest.raises(ExchangeError, match="its format is 2"):
        read_smf(smf(NOTE + END, form=2), refused=ExchangeError)


def test_so_many_events_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of a few megabytes can hold more notes than anybody plays."""
    assert 500_000 == MAX_EVENTS
    monkeypatch.setattr(midi_events, "MAX_EVENTS", 1000)
    notes = b"\x00\x99\x26\x40" + b"\x00\x26\x40" * 998

    assert 1000 == len(read(smf(notes + END)).events)
    assert "more than 1,000 events" in told(smf(notes + b"\x00\x26\x40" + END))
    assert "more than 1,000 events" in told(smf(notes, NOTE + END, NOTE))
