"""Takes of notes: what is a repeat, which note is whose, what nobody asked for, film and tempo."""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.ear import AskedTake, PadNote, PadVoices, measure_notes, read_midi
from drillbox.ear.expected import expected_strokes
from drillbox.ear.pad_voices import USUAL_KEYS
from drillbox.ear.pads import velocity_db, without_retriggers
from drillbox.errors import RecordingError, UsageError
from drillbox.rhythm import Hand, Level, Part, Pattern, Voice, parse

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.ear import Measurement

GROOVE = parse("hat: beat &\nbass: 1 3\nsnare: >2 >4 (1a) (3e)\n")
SNARE = parse("snare: >2 >4 (1a) (3e)\n")
KEYS = {Voice.HAT: 42, Voice.BASS: 36, Voice.SNARE: 38}
BEAT = 60 / 92


def notes_of(pattern: Pattern, *, passes: int = 6, start: float = 1.0) -> list[PadNote]:
    """Return a perfect take, each level at its own velocity."""
    return [
        PadNote(start + s.seconds, KEYS[s.voice], s.level.velocity)
        for s in expected_strokes(pattern, 92, passes)
    ]


def heard(notes: list[PadNote], pattern: Pattern = SNARE, passes: int = 6) -> Measurement:
    """Return what is measured of notes at 92 from the first second on."""
    return measure_notes(notes, AskedTake(pattern, 92, passes, 1.0))


@pytest.mark.parametrize(
    ("gap", "velocity", "kept"),
    [(0.0199, 49, False), (0.0201, 49, True), (0.0199, 50, True), (0.0, 49, False)],
)
def test_a_repeat_is_sooner_than_20_ms_and_softer_than_half(
    gap: float, velocity: int, *, kept: bool
) -> None:
    """Both, on the same key; on another it is a stroke."""
    first, again = PadNote(1.0, 38, 100), PadNote(1.0 + gap, 38, velocity)

    assert kept == (again in without_retriggers([again, first]))
    assert 2 == len(without_retriggers([first, again._replace(key=40)]))


def test_a_repeat_of_a_repeat_is_one_as_well() -> None:
    """What was dropped is not what the next is set against."""
    first, second, third = PadNote(1, 38, 100), PadNote(1.015, 38, 30), PadNote(1.025, 38, 20)

    assert (first, third) == without_retriggers([first, second, third])
    assert (first,) == without_retriggers([first, second, third._replace(seconds=1.019)])


@given(st.integers(0, 127))
def test_velocity_in_decibels_is_forty_logarithms(velocity: int) -> None:
    """General MIDI's curve (value from memory): half the velocity is 12 dB down, nought is one."""
    found = velocity_db(velocity)

    assert 40 * np.log10(max(velocity, 1) / 127) == pytest.approx(found)
    assert 0.0 == velocity_db(127)
    assert -12.04 == pytest.approx(velocity_db(50) - velocity_db(100), abs=0.01)


@examples(20)
@given(st.floats(-0.03, 0.03), st.integers(0, 99))
def test_each_note_is_measured_where_it_was_struck(late: float, seed: int) -> None:
    """Time and level of a stroke are its note's, whatever the others do."""
    rng = np.random.default_rng(seed)
    notes = [
        n._replace(seconds=n.seconds + late + float(rng.normal(0, 0.006))) for n in notes_of(SNARE)
    ]
    found = heard(notes)

    assert [n.seconds for n in notes] == [f.at for f in found.facts]
    assert [velocity_db(n.velocity) for n in notes] == [f.level_db for f in found.facts]
    nominal = [n.seconds for n in notes_of(SNARE)]
    offsets = [1000 * (n.seconds - at) for n, at in zip(notes, nominal, strict=True)]
    assert offsets == pytest.approx([f.offset_ms for f in found.facts], abs=1e-6)
    assert float(np.mean(offsets)) == pytest.approx(found.numbers.mean_ms)


def test_a_note_too_far_from_its_place_is_extra_and_its_place_missed() -> None:
    """Half the way to the next stroke of the voice and 10 ms is the farthest, 120 ms at most."""
    for off, there in ((0.117, True), (0.123, False), (-0.117, True), (-0.123, False)):
        notes = notes_of(SNARE)
        notes[10] = notes[10]._replace(seconds=notes[10].seconds + off)  # far from any other
        found = heard(notes)
        assert there == (found.facts[10].state == "heard")
        assert int(not there) == found.numbers.missed == found.numbers.extra
    fast = parse("snare: (beat) (e) (&) (a)\n")
    strokes = notes_of(fast)
    gap = BEAT / 4
    half = 0.5 * gap
    limits = ((half + 0.009, True), (half + 0.011, False))
    for off, there in (*limits, *((-off, there) for off, there in limits)):
        moved = list(strokes)
        moved[10] = moved[10]._replace(seconds=moved[10].seconds + off)
        assert there == (heard(moved, fast).facts[10].state == "heard")


def test_of_two_notes_the_nearer_is_the_stroke_and_the_other_extra() -> None:
    """Whichever comes first; as near, the one about as hard as was meant."""
    for early in (-0.05, 0.05):
        notes = notes_of(SNARE)
        found = heard([*notes, notes[9]._replace(seconds=notes[9].seconds + early)])
        assert notes[9].seconds == found.facts[9].at
        assert [notes[9].seconds + early] == [e.at for e in found.extra]
    notes = notes_of(SNARE)
    ghost = next(i for i, n in enumerate(notes) if i > 8 and n.velocity == Level.GHOST.velocity)
    place = notes.pop(ghost)
    soft = place._replace(seconds=place.seconds - 0.012)
    hard = place._replace(seconds=place.seconds + 0.012, velocity=120)
    found = heard([*notes, soft, hard])
    assert soft.seconds == found.facts[ghost].at
    accent = notes_of(SNARE)[9]
    others = [n for n in notes_of(SNARE) if n != accent]
    soft = accent._replace(seconds=accent.seconds - 0.0119, velocity=25)
    hard = accent._replace(seconds=accent.seconds + 0.012)
    assert hard.seconds == heard([*others, soft, hard]).facts[9].at


@pytest.mark.parametrize("share", [1.0, 0.4])
def test_hard_and_soft_are_meant_as_this_pad_has_them(share: float) -> None:
    """On a pad that gives four tenths of every velocity, the harder of two is the accent still."""
    take = [n._replace(velocity=round(n.velocity * share)) for n in notes_of(SNARE)]
    for place, softer, harder in ((9, 0.3, 1.0), (8, 1.0, 4.0)):
        note = take[place]
        soft = note._replace(
            seconds=note.seconds - 0.0122, velocity=max(round(note.velocity * softer), 1)
        )
        hard = note._replace(seconds=note.seconds + 0.012, velocity=round(note.velocity * harder))
        found = heard([n for n in take if n != note] + [soft, hard])
        wanted = hard if place == 9 else soft
        assert wanted.seconds == found.facts[place].at


def test_a_single_stroke_is_a_take_and_the_softest_note_a_stroke() -> None:
    """One place, one pass, velocity one."""
    found = heard([PadNote(1.0 + BEAT, 38, 1)], parse("snare: >2\n"), passes=1)

    assert ["heard"] == [fact.state for fact in found.facts]


def test_accents_tell_where_an_even_row_begins() -> None:
    """Sixteenths 160 ms late are a take late by as much, not one that began a stroke later."""
    row = parse("snare: >beat (e) (&) (a)\n")
    found = heard(notes_of(row, start=1.16), row)

    assert 160 == pytest.approx(found.numbers.mean_ms)
    assert (0, 0) == (found.numbers.missed, found.numbers.extra)


def test_extra_notes_count_from_a_tenth_before_to_a_tenth_after() -> None:
    """Tapping along before the count-in ends, and packing up, are no strokes too many."""
    take = notes_of(SNARE)
    end = 1.0 + 6 * SNARE.seconds(92)
    for at, counts in (
        (0.895, False),
        (0.905, True),
        (end + 0.095, True),
        (end + 0.105, False),
    ):
        found = heard([*take, PadNote(at, 38, 90)])
        assert int(counts) == found.numbers.extra
    (extra,) = heard([*take, PadNote(1.3, 38, 64)]).extra
    assert (1.3, velocity_db(64)) == (extra.at, extra.level_db)


def test_a_buzz_swallows_its_bounces_for_three_tenths_of_a_second() -> None:
    """On its own voice, after it; before it and on another voice they are extra."""
    pattern = parse("hat: 1\nsnare: >2 (z3)\n")
    take = notes_of(pattern)
    buzz = next(1 + s.seconds for s in expected_strokes(pattern, 92, 6) if s.part is Part.BUZZ)

    def extras(*notes: PadNote) -> int:
        return heard([*take, *notes], pattern).numbers.extra

    assert 0 == extras(PadNote(buzz + 0.05, 38, 30), PadNote(buzz + 0.29, 38, 20))
    assert 1 == extras(PadNote(buzz + 0.31, 38, 20))
    assert 1 == extras(PadNote(buzz - 0.2, 38, 20))
    assert 1 == extras(PadNote(buzz + 0.05, 42, 30))
    second = buzz + 4 * BEAT
    missed = [n for n in take if abs(n.seconds - second) > 0.01]
    found = heard([*missed, PadNote(second + 0.2, 38, 20)], pattern)
    assert (1, 1) == (found.numbers.missed, found.numbers.extra)


def test_notes_before_the_recording_began_are_no_strokes() -> None:
    """A clock may run before nought; such notes are counted nowhere."""
    found = heard([*notes_of(SNARE), PadNote(-0.5, 38, 90)])

    assert (0, 0) == (found.numbers.missed, found.numbers.extra)


def test_voices_apart_and_one_that_is_not_there() -> None:
    """A hat's note is no snare's; of a voice without notes nothing is missed."""
    take = notes_of(GROOVE)
    hatless = heard([n for n in take if n.key != 42], GROOVE)
    swapped = heard([n._replace(key=42) if n.key == 38 else n for n in take], GROOVE)

    assert ("hat",) == hatless.absent
    assert {"unheard"} == {f.state for f in hatless.facts if f.expected.voice is Voice.HAT}
    assert 0 == hatless.numbers.missed + hatless.numbers.unheard
    assert ("snare",) == swapped.absent
    assert 4 * 6 - 2 * 6 <= swapped.numbers.extra
    with pytest.raises(UsageError, match=r"no note of this take is on a key .*--key 31=snare"):
        heard([PadNote(1.0, 90, 9), PadNote(1.2, 91, 9)])
    with pytest.raises(UsageError, match="no note"):
        heard([])


def test_one_key_is_enough_for_one_voice_and_two_are_looked_up() -> None:
    """A practice pad on any key plays the only voice; of two keys the unknown one plays none."""
    take = [n._replace(key=99) for n in notes_of(SNARE)]

    assert 0 == heard(take).numbers.missed
    two = heard([n._replace(key=38) if i % 4 else n for i, n in enumerate(take)])
    assert (6, 0) == (two.numbers.missed, two.numbers.extra)


def test_a_left_handers_strokes_are_given_to_the_left() -> None:
    """The leading hand is asked for."""
    asked = AskedTake(SNARE, 92, 6, 1.0, Hand.LEFT)
    found = measure_notes(notes_of(SNARE), asked)

    assert [Hand.LEFT, Hand.RIGHT] == [found.facts[i].expected.hand for i in (0, 1)]


def test_what_the_keys_of_a_kit_play() -> None:
    """Learned ones go before General MIDI's; a voice's keys are lowest first."""
    voices = PadVoices.read("0=hat 127=snare 38=tom 0=bass")

    assert "0=bass 38=tom 127=snare" == voices.text
    assert PadVoices.read(voices.text) == voices
    assert (Voice.BASS, Voice.TOM, Voice.SNARE, None) == tuple(map(voices.voice, (0, 38, 127, 126)))
    assert (40, 127) == voices.keys(Voice.SNARE)
    assert (0, 35, 36) == voices.keys(Voice.BASS)
    assert (
        "31=snare 38=tom"
        == PadVoices.read("38=snare").with_hit(31, Voice.SNARE).with_hit(38, Voice.TOM).text
    )
    assert PadVoices() == PadVoices.read("")
    for text in ("128=snare", "-1=snare", "x=snare", "38", "²=snare", "=snare"):
        with pytest.raises(ValueError, match=r"0 to 127|one of"):
            PadVoices.read(text)
    with pytest.raises(ValueError, match="one of: hat, ride, crash, snare, rim, tom, floor"):
        PadVoices.read("38=gong")


def test_the_percussion_keys_of_general_midi() -> None:
    """Level 1's map (MIDI Association, RP-003; from memory), hat edges by common practice."""
    names = {
        "bass": (35, 36),
        "snare": (38, 40),
        "rim": (37, 39),
        "hat": (22, 26, 42, 46),
        "pedal": (44,),
        "crash": (49, 52, 55, 57),
        "ride": (51, 53, 59),
        "tom": (45, 47, 48, 50),
        "floor": (41, 43),
    }

    assert {key: name for name, keys in names.items() for key in keys} == dict(USUAL_KEYS)


def midi(events: bytes, division: int, *tracks: bytes) -> bytes:
    """Return a file of one track or more."""
    head = b"MThd" + struct.pack(">IHHH", 6, 1, 1 + len(tracks), division)
    return head + b"".join(
        b"MTrk" + struct.pack(">I", len(each)) + each for each in (events, *tracks)
    )


END = b"\x00\xff\x2f\x00"


@pytest.mark.parametrize(
    ("division", "seconds"),
    [(120, 0.25), (0xE728, 60 / 1000), (0xE250, 60 / 2400), (0xE80A, 60 / 240), (1, 30.0)],
)
def test_time_in_quarters_and_in_frames_of_film(
    tmp_path: Path, division: int, seconds: float
) -> None:
    """Sixty ticks: half a quarter at 120, or 25, 30 or 24 frames of so many ticks each."""
    path = tmp_path / "take.mid"
    path.write_bytes(midi(b"\x3c\x99\x26\x50" + END, division))

    (note,) = read_midi(path)

    assert (38, 80) == note[1:]
    assert seconds == pytest.approx(note.seconds, rel=1e-9)


def test_tempo_changes_apply_from_their_tick_on(tmp_path: Path) -> None:
    """A note on the tick of a change lies at the old tempo's end; tempi of any track count."""
    first = b"\x00\xff\x51\x03\x0f\x42\x40" + b"\x78\xff\x51\x03\x03\xd0\x90" + END
    drums = b"".join(gap + b"\x99\x26\x50" for gap in (b"\x3c", b"\x3c", b"\x3c", b"\x3c")) + END
    path = tmp_path / "take.mid"
    path.write_bytes(midi(first, 120, drums))

    assert [0.5, 1.0, 1.125, 1.25] == pytest.approx([n.seconds for n in read_midi(path)])


def test_notes_at_one_tick_are_by_key_and_notes_off_are_none(tmp_path: Path) -> None:
    """Offs, velocity nought, other events and tempi of a wrong length are passed over."""
    track = (
        b"\x00\x99\x2a\x40\x00\x99\x24\x41\x00\x99\x26\x00\x00\x89\x26\x40"
        b"\x00\xff\x51\x02\x01\x01\x60\x91\x26\x7f" + END
    )
    path = tmp_path / "take.mid"
    path.write_bytes(midi(track, 96))

    assert [(0.0, 36, 65), (0.0, 42, 64), (0.5, 38, 127)] == [tuple(n) for n in read_midi(path)]


def test_files_that_are_no_take(tmp_path: Path) -> None:
    """Frames without ticks, a file over eight megabytes, no MIDI: one sentence each."""
    path = tmp_path / "take.mid"
    path.write_bytes(midi(END, 0xE800))
    with pytest.raises(RecordingError, match="no ticks a frame"):
        read_midi(path)
    path.write_bytes(midi(END, 96) + bytes(8_000_001 - len(midi(END, 96))))
    with pytest.raises(RecordingError, match="too large for a take; export the take alone"):
        read_midi(path)
    path.write_bytes(midi(END, 96) + bytes(8_000_000 - len(midi(END, 96))))
    assert () == read_midi(path)
    path.write_bytes(b"words")
    with pytest.raises(RecordingError, match="no MIDI file; export it once more") as refusal:
        read_midi(path)
    assert str(path) in refusal.value.sentence()
