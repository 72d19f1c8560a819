"""Standard MIDI Files: the bytes of the standard, and what another reader hears in them."""

from __future__ import annotations

import io
from fractions import Fraction

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.deckfile import read_starter_decks
from drillbox.paper import Collection, Exercise, midi_file
from drillbox.paper.instruments import KIT, key_of
from drillbox.paper.smf import MAX_NUMBER, variable_length
from drillbox.rhythm import EMBELLISHMENTS, Level, Ornament, Pattern, Stroke, Voice, parse, strikes

GROOVE = parse("hat: beat &\nsnare: (e) >2 >4\nbass: 1 3")


def file_of(pattern: Pattern, bpm: float = 80, **how: int) -> bytes:
    """Return one pattern as a file."""
    return midi_file(Collection("a title", (Exercise("a title", pattern, bpm),)), **how)  # type: ignore[arg-type]


def heard(data: bytes) -> list[tuple[int, int, int]]:
    """Return tick, key and velocity of every note that mido hears on channel 10."""
    found = []
    for track in mido.MidiFile(file=io.BytesIO(data)).tracks:
        tick = 0
        for message in track:
            tick += message.time
            if message.type == "note_on" and message.velocity:
                assert 9 == message.channel
                found.append((tick, message.note, message.velocity))
    return sorted(found)


@pytest.mark.parametrize(
    ("number", "written"),
    [
        (0x00000000, "00"),
        (0x00000040, "40"),
        (0x0000007F, "7f"),
        (0x00000080, "8100"),
        (0x00002000, "c000"),
        (0x00003FFF, "ff7f"),
        (0x00004000, "818000"),
        (0x00100000, "c08000"),
        (0x001FFFFF, "ffff7f"),
        (0x00200000, "81808000"),
        (0x08000000, "c0808000"),
        (0x0FFFFFFF, "ffffff7f"),
    ],
)
def test_numbers_are_written_as_the_standard_shows(number: int, written: str) -> None:
    """The twelve examples of the Standard MIDI Files specification 1.1."""
    assert bytes.fromhex(written) == variable_length(number)


@given(st.integers(0, MAX_NUMBER))
def test_numbers_read_back(number: int) -> None:
    """Seven bits a byte, all but the last with the high bit set (Standard MIDI Files 1.1)."""
    written = variable_length(number)
    read = 0
    for byte in written:
        read = read << 7 | byte & 0x7F

    assert number == read
    assert [True] * (len(written) - 1) + [False] == [byte > 0x7F for byte in written]


def test_golden_bytes() -> None:
    """A kick on one and a ghost on the e of four at 80 bpm, byte for byte.

    Header, tempo (750,000 us), meter and their layout: Standard MIDI Files 1.1; keys: General MIDI.
    """
    expected = bytes.fromhex(
        "4d546864 00000006 0001 0002 01e0"
        "4d54726b 0000002a 00ff0108 6472696c6c626f78 00ff0301 78 00ff0601 78"
        "00ff5103 0b71b0 00ff5804 04021808 8f00ff2f00"
    )
    tail = bytes.fromhex(
        "4d54726b 0000001f 00ff0305 6472756d7300992448 3c892400 8b5c99261c 3c892600 822cff2f00"
    )
    one = Exercise("x", parse("snare: (4e)\nbass: 1"), 80)
    found = midi_file(Collection("x", (one,)))

    assert expected + tail == found


@pytest.mark.parametrize("bpm", [60, 72, 80, 97, 120])
def test_tempo_meter_and_length_read_back(bpm: int) -> None:
    """To a ten-thousandth, since the file holds whole microseconds (Standard MIDI Files 1.1)."""
    read = mido.MidiFile(file=io.BytesIO(file_of(GROOVE, bpm)))
    tempo = next(m for m in read.tracks[0] if m.type == "set_tempo")
    meter = next(m for m in read.tracks[0] if m.type == "time_signature")

    assert (1, 480) == (read.type, read.ticks_per_beat)
    assert pytest.approx(bpm, abs=1e-4) == mido.tempo2bpm(tempo.tempo)
    assert (4, 4) == (meter.numerator, meter.denominator)
    assert pytest.approx(240 / bpm, rel=1e-5) == read.length


def test_six_eight_is_felt_in_dotted_quarters() -> None:
    """60 pulses a minute in 6/8 are 90 quarters, and the metronome clicks every 36 MIDI clocks."""
    read = mido.MidiFile(file=io.BytesIO(file_of(parse("meter: 6/8\nhat: beat"), 60)))
    tempo = next(m for m in read.tracks[0] if m.type == "set_tempo")
    meter = next(m for m in read.tracks[0] if m.type == "time_signature")

    assert pytest.approx(90, abs=1e-4) == mido.tempo2bpm(tempo.tempo)
    assert (6, 8, 36) == (meter.numerator, meter.denominator, meter.clocks_per_click)


def test_plain_strokes_are_notes_at_their_ticks() -> None:
    """120 ticks a sixteenth, General MIDI keys, three velocities."""
    said = sorted(
        (int(stroke.at * 480), KIT[stroke.voice].key, stroke.level.velocity)
        for stroke in GROOVE.strokes
    )

    assert said == heard(file_of(GROOVE))


def test_embellishments_sound_as_they_are_struck() -> None:
    """As many notes as strikes, and of a buzz more; the even ones exactly where they fall."""
    for ornament in Ornament:
        row = EMBELLISHMENTS[ornament]
        voice = row.voices[-1] if Voice.SNARE not in row.voices else Voice.SNARE
        stroke = Stroke(Fraction(1), voice, Level.PLAIN, ornament)
        pattern = Pattern(GROOVE.meter, GROOVE.grids, (stroke,))
        notes = heard(file_of(pattern))

        assert (480, key_of(voice, ornament), Level.PLAIN.velocity) in notes
        assert (key_of(voice, ornament) != KIT[voice].key) == row.rings
        if row.bounces:
            assert len(notes) > 3
            assert sorted((velocity for *_, velocity in notes), reverse=True) == [
                velocity for *_, velocity in notes
            ]
        else:
            assert len(strikes(pattern)) == len(notes)
            later = [tick for tick, *_ in notes if tick >= 480]
            assert [480 + turn * 120 // row.even for turn in range(row.even)] == later
            assert row.graces == len([tick for tick, *_ in notes if tick < 480])


def test_the_click_and_the_count_in_come_on_request() -> None:
    """Four clicks before, four through the bar; the pattern moves back by the count-in."""
    plain = heard(file_of(GROOVE))
    clicked = heard(file_of(GROOVE, click=True, count_in_bars=1))
    clicks = [tick for tick, key, _ in clicked if key in {76, 77}]

    assert [480 * beat for beat in range(8)] == clicks
    assert [0, 1920] == [tick for tick, key, _ in clicked if key == 76]
    assert [(tick + 1920, *rest) for tick, *rest in plain] == [
        hit for hit in clicked if hit[1] not in {76, 77}
    ]


def test_a_note_ends_before_its_key_sounds_again() -> None:
    """No note is left sounding, and none is cut by its own follower, in any starter card."""
    cards = [card for deck in read_starter_decks() for card in deck.cards][::9]
    exercises = tuple(Exercise(card.title, card.pattern, card.goal_bpm) for card in cards)
    read = mido.MidiFile(file=io.BytesIO(midi_file(Collection("many", exercises), passes=2)))
    sounding: set[int] = set()
    for message in read.tracks[1]:
        if message.type == "note_on":
            assert message.note not in sounding
            sounding.add(message.note)
        elif message.type == "note_off":
            sounding.remove(message.note)

    assert set() == sounding


def test_a_swung_exercise_is_written_as_it_is_played() -> None:
    """At 3:2 the & comes at three fifths of the beat, and a text says so."""
    swung = parse("swing: 8 3:2\nhat: beat &")
    read = mido.MidiFile(file=io.BytesIO(file_of(swung)))
    texts = [message.text for message in read.tracks[0] if message.type == "text"]

    assert [0, 288, 480, 768] == [tick for tick, *_ in heard(file_of(swung))][:4]
    assert "swing 1 3/5" in texts


def test_written_hands_are_lyrics_and_titles_are_markers() -> None:
    """MIDI knows no hands, so they are words at their places."""
    read = mido.MidiFile(file=io.BytesIO(file_of(parse("hat: R1\nsnare: 1 L2"))))
    words = [message.text for track in read.tracks for message in track if message.type == "lyrics"]
    markers = [m.text for track in read.tracks for m in track if m.type == "marker"]

    assert ["R-", "L"] == words
    assert ["a title"] == markers


def test_a_tempo_and_a_meter_are_written_where_they_change() -> None:
    """Six exercises: the second is as fast as the first, the fourth faster, the fifth in three.

    Quarters a minute; an eighth of six eight at 90 dotted quarters is half of 45 quarters' time.
    """
    three, six = parse("meter: 3/4\nhat: beat"), parse("meter: 6/8\nhat: beat &")
    bars = [(GROOVE, 80), (GROOVE, 80), (GROOVE, 92), (GROOVE, 80), (three, 80), (six, 90)]
    exercises = tuple(Exercise(str(n), pattern, bpm) for n, (pattern, bpm) in enumerate(bars))
    file = mido.MidiFile(file=io.BytesIO(midi_file(Collection("x", exercises))))
    tick, tempi, meters, titles = 0, [], [], {}
    for message in file.tracks[0]:
        tick += message.time
        if message.type == "set_tempo":
            tempi.append((tick, round(mido.tempo2bpm(message.tempo), 2)))
        if message.type == "time_signature":
            meters.append((tick, message.numerator, message.denominator))
        if message.type == "marker":
            titles[message.text] = tick
    quarters = float(six.meter.pulse) * 4 / 8 * 90
    assert [(titles[n], bpm) for n, bpm in (("0", 80.0), ("2", 92.0), ("3", 80.0))] == tempi[:3]
    assert [(titles["5"], quarters)] == tempi[3:]
    assert [(titles["0"], 4, 4), (titles["4"], 3, 4), (titles["5"], 6, 8)] == meters
