"""Notes as other programs write them: what of a MusicXML file is read, and what is told of it.

The elements are those of MusicXML 4.0 (W3C Music Notation Community Group), written out by hand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from scores_by_hand import note as plain_note
from scores_by_hand import score

from drillbox.errors import ExchangeError
from drillbox.paper import musicxml_reading
from drillbox.paper.musicxml_reading import read_musicxml
from drillbox.rhythm import Level, Ornament, Voice

if TYPE_CHECKING:
    from drillbox.paper.music_in_file import MusicInFile


def note(*more: str, place: str = "C5", head: str = "normal") -> str:
    """Return a note that says its head, as other programs do."""
    return plain_note(*more, f"<notehead>{head}</notehead>", place=place)


def read(*elements: str, listed: str = "", beside: str = "") -> MusicInFile:
    """Read a score of one bar; `listed` stands in its list of parts, `beside` is another part."""
    data = score("".join(elements), listed=listed, beside=beside)
    return read_musicxml(data, name="x.musicxml")


def struck(music: MusicInFile) -> list[tuple[float, Voice]]:
    """Return when which voice is struck, in quarters."""
    return [(float(stroke.at), stroke.voice) for stroke in music.strokes]


def test_a_tied_note_is_struck_where_the_tie_begins() -> None:
    """Its end is no stroke and takes its time; whoever reads is told of it."""
    begin, end = '<tie type="start"/>', '<tie type="stop"/>'
    music = read(note(begin), note(end), note(begin, end), note())
    assert [(0, Voice.SNARE), (3, Voice.SNARE)] == struck(music)
    assert {"ends of ties": 2} == music.left_out


def test_time_goes_forward_and_back_between_voices() -> None:
    """A second voice begins at the bar's beginning again; a gap in it is skipped."""
    feet = "<backup><duration>4</duration></backup><forward><duration>2</duration></forward>"
    music = read(note(), note(), feet, note(place="F4"))
    assert [(0, Voice.SNARE), (1, Voice.SNARE), (1, Voice.BASS)] == struck(music)


def test_what_the_kit_does_not_have_is_left_out_by_its_name() -> None:
    """Notes with a pitch, places where nothing stands, keys of no drum, parts after the first."""
    pitched = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>2</duration></note>"
    bell = '<midi-instrument id="I9"><midi-unpitched>82</midi-unpitched></midi-instrument>'
    rung = note('<instrument id="I9"/>', place="B6")
    music = read(
        pitched, note(place="B6"), rung, note(), listed=bell, beside="<part><measure/></part>"
    )
    assert [(3, Voice.SNARE)] == struck(music)
    assert {
        "notes with a pitch": 1,
        "notes on B6: not in the kit": 1,
        "notes of key 81: not in the kit": 1,
        "parts besides the first of percussion": 1,
    } == music.left_out


@pytest.mark.parametrize(
    ("sound", "bpm"),
    [
        ('<sound tempo="92"/>', 92.0),
        ('<sound tempo="92.5"/>', 92.5),
        ('<sound tempo="1"/>', 1.0),
        ('<sound tempo="1000"/>', 1000.0),
        ('<sound tempo="0"/>', None),
        ('<sound tempo="1001"/>', None),
        ('<sound tempo="quick"/>', None),
        ("<sound/>", None),
        ("<words>quick</words>", None),
    ],
)
def test_a_tempo_is_a_number_of_quarters(sound: str, bpm: float | None) -> None:
    """The first that makes sense is the file's."""
    later = '<direction><sound tempo="120"/></direction>'
    music = read(f"<direction>{sound}</direction>", note())
    assert bpm == music.bpm
    both = read(f"<direction>{sound}</direction>", later, note())
    assert (120.0 if bpm is None else bpm) == both.bpm


@pytest.mark.parametrize(
    ("more", "head", "level", "ornament"),
    [
        ("", "normal", Level.PLAIN, Ornament.NONE),
        ("<notations><articulations><accent/></articulations></notations>", "normal",
         Level.ACCENT, Ornament.NONE),
        ("<notations><articulations><strong-accent/></articulations></notations>", "normal",
         Level.ACCENT, Ornament.NONE),
        ('<type size="cue">quarter</type>', "normal", Level.TAP, Ornament.NONE),
        ("<notations><ornaments><tremolo>1</tremolo></ornaments></notations>", "normal",
         Level.PLAIN, Ornament.DOUBLE),
        ("<notations><ornaments><tremolo>3</tremolo></ornaments></notations>", "normal",
         Level.PLAIN, Ornament.BUZZ),
        ('<notations><ornaments><tremolo type="unmeasured">0</tremolo></ornaments></notations>',
         "normal", Level.PLAIN, Ornament.BUZZ),
    ],
)  # fmt: skip
def test_signs_say_how_loud_and_how(more: str, head: str, level: Level, ornament: Ornament) -> None:
    """Accents, small notes, slashes through the stem; three of them are a buzz."""
    (stroke,) = read(note(more, head=head)).strokes
    assert (level, ornament) == (stroke.level, stroke.ornament)


def test_what_has_no_sign_of_ours_is_told_and_struck_plainly() -> None:
    """Two slashes are four strokes in the time of one: no embellishment here."""
    more = "<notations><ornaments><tremolo>2</tremolo></ornaments></notations>"
    music = read(note(more))
    assert [Ornament.NONE] == [stroke.ornament for stroke in music.strokes]
    assert {"embellishments that have no sign of ours; the stroke is plain": 1} == music.left_out


def test_a_crowd_of_bars_or_notes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """As many as are allowed are read, and one more is too many."""
    monkeypatch.setattr(musicxml_reading, "MAX_STROKES", 2)
    assert 2 == len(read(note(), note()).strokes)
    with pytest.raises(ExchangeError, match="more than 2 notes; cut it"):
        read(note(), note(), note())
    monkeypatch.setattr(musicxml_reading, "MAX_BARS_READ", 1)
    assert 1 == len(read(note()).bars)
    with pytest.raises(ExchangeError, match="more than 1 bars; cut it"):
        read(note(), f"</measure><measure>{note()}")
