"""Takes from pads: notes with velocities in place of sound."""

from __future__ import annotations

from dataclasses import replace

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.ear import AskedTake, PadNote, PadVoices, measure_notes
from drillbox.ear.expected import expected_strokes
from drillbox.ear.pad_voices import USUAL_KEYS
from drillbox.ear.pads import velocity_db, without_retriggers
from drillbox.errors import UsageError
from drillbox.rhythm import Level, Pattern, Voice, parse

GROOVE = parse("hat: beat &\nbass: 1 3\nsnare: >2 >4 (1a) (3e)\n")
SNARE = parse("snare: >2 >4 (1a) (3e)\n")
KEYS = {Voice.HAT: 42, Voice.BASS: 36, Voice.SNARE: 38}
VELOCITIES = {Level.GHOST: 25, Level.PLAIN: 70, Level.ACCENT: 112}


def played(pattern: Pattern, *, late: float = 0.0, passes: int = 6) -> list[PadNote]:
    """Return a perfect take, so many seconds late."""
    return [
        PadNote(1.0 + s.seconds + late, KEYS[s.voice], VELOCITIES[s.level])
        for s in expected_strokes(pattern, 92, passes)
    ]


ASKED = AskedTake(GROOVE, 92, 6, 1.0)


def test_a_perfect_take_is_automatic() -> None:
    """Nothing off, nothing missed, contrast by the General MIDI curve."""
    found = measure_notes(played(GROOVE), ASKED)

    assert 0 == pytest.approx(found.numbers.spread_ms, abs=1e-6)
    assert 0 == found.numbers.missed + found.numbers.extra + found.numbers.unheard
    assert velocity_db(112) - velocity_db(25) == pytest.approx(found.numbers.contrast_db)
    assert 2 == found.proposal.grade


@examples(25)
@given(st.floats(-0.1, 0.1), st.floats(-0.02, 0.02), st.sets(st.integers(0, 60), max_size=8))
def test_offset_and_tempo_are_taken_out_and_what_is_left_out_is_missed(
    late: float, faster: float, gone: set[int]
) -> None:
    """A pad knows: exactly the strokes that were not struck are missed."""
    notes = [
        replace_time(note, 1 + (note.seconds - 1) * (1 + faster))
        for note in played(GROOVE, late=late)
    ]
    left = [note for index, note in enumerate(notes) if index not in gone]
    found = measure_notes(left, ASKED)

    assert sorted(gone) == [f.expected.index for f in found.facts if f.state == "missed"]
    assert 0 == pytest.approx(found.numbers.spread_ms, abs=0.5)
    assert 92 / (1 + faster) == pytest.approx(found.numbers.bpm, rel=2e-3)


def replace_time(note: PadNote, seconds: float) -> PadNote:
    """Return a note at another time."""
    return note._replace(seconds=seconds)


def test_retriggers_are_dropped_and_doubles_kept() -> None:
    """A weak repeat within 20 ms is the pad's; an even one 60 ms later is a stroke."""
    stroke, weak, strong = PadNote(1, 38, 100), PadNote(1.012, 38, 20), PadNote(1.06, 38, 95)

    assert (stroke, strong) == without_retriggers([strong, weak, stroke])
    assert () == without_retriggers([PadNote(1, 38, 0)])


def test_a_stroke_too_many_is_extra() -> None:
    """A note nobody asked for is counted."""
    found = measure_notes([*played(GROOVE), PadNote(2.2, 38, 90)], ASKED)

    assert [2.2] == [extra.at for extra in found.extra]


def test_any_one_key_does_for_a_pattern_of_one_voice() -> None:
    """A practice pad on key 60 plays the snare."""
    notes = [note._replace(key=60) for note in played(SNARE)]

    assert 0 == measure_notes(notes, replace(ASKED, pattern=SNARE)).numbers.missed


def test_a_pad_is_learned_by_hitting_it_once() -> None:
    """Two keys may play one voice, and what was learned goes before what is usual."""
    learned = PadVoices().with_hit(60, Voice.SNARE)
    notes = [
        note._replace(key=60) if note.key == 38 and index % 2 else note
        for index, note in enumerate(played(GROOVE))
    ]

    assert Voice.SNARE is learned.voice(60)
    assert Voice.SNARE is learned.voice(38)
    assert Voice.TOM is learned.with_hit(60, Voice.TOM).voice(60)
    assert 0 == measure_notes(notes, ASKED, learned).numbers.missed


def test_a_voice_nobody_plays_is_left_out() -> None:
    """Hat and bass on a card, one pad under the sticks: the snare alone is judged."""
    found = measure_notes([n for n in played(GROOVE) if n.key == 38], ASKED)

    assert 0 == found.numbers.missed
    assert {"hat", "bass"} == {word for word in ("hat", "bass") if word in str(found.left_out)}
    with pytest.raises(UsageError, match="no note"):
        measure_notes([PadNote(1.0, 90, 9), PadNote(1.0, 91, 9)], ASKED)


def test_general_midi_keys() -> None:
    """The percussion key map of General MIDI Level 1 (MIDI Association, RP-003; from memory)."""
    for key, voice in ((36, "bass"), (38, "snare"), (42, "hat"), (49, "crash"), (51, "ride")):
        assert voice == USUAL_KEYS[key]
