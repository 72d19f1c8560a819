"""The numbers of a Standard MIDI File are those that mido, another library, writes."""

from __future__ import annotations

import mido
import pytest

from drillbox.base import midi_codes


@pytest.mark.parametrize(
    ("ours", "name"),
    [
        (midi_codes.TEXT, "text"),
        (midi_codes.TRACK_NAME, "track_name"),
        (midi_codes.LYRIC, "lyrics"),
        (midi_codes.MARKER, "marker"),
        (midi_codes.END_OF_TRACK, "end_of_track"),
        (midi_codes.TEMPO, "set_tempo"),
        (midi_codes.METER, "time_signature"),
    ],
)
def test_a_meta_event_has_the_code_that_is_written_for_it(ours: int, name: str) -> None:
    """The byte that says it is one, and then its kind."""
    assert [midi_codes.META, ours] == mido.MetaMessage(name).bytes()[:2]


def test_a_note_begins_and_ends_with_its_status() -> None:
    """On the first channel, whose number is nought."""
    notes = [mido.Message(name).bytes()[0] for name in ("note_on", "note_off")]
    assert [midi_codes.NOTE_ON, midi_codes.NOTE_OFF] == notes


def test_where_no_tempo_is_named_it_is_two_quarters_a_second() -> None:
    """In microseconds a quarter."""
    assert midi_codes.USUAL_TEMPO == mido.MetaMessage("set_tempo").tempo
    assert mido.bpm2tempo(120) == midi_codes.USUAL_TEMPO
