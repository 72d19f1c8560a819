"""Parts, bars, instruments and feels of a MusicXML file that another program wrote.

The elements are those of MusicXML 4.0 (W3C Music Notation Community Group), written out by hand.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from scores_by_hand import note, score

from drillbox.errors import ExchangeError
from drillbox.paper.musicxml_reading import read_musicxml
from drillbox.rhythm import Hand, Level, Ornament, Voice

if TYPE_CHECKING:
    from drillbox.paper.music_in_file import MusicInFile


def bars(*inside: str, listed: str = "", name: str = "x.xml", **how: object) -> MusicInFile:
    """Read a score of some bars."""
    return read_musicxml(score(*inside, listed=listed), name=name, **how)  # type: ignore[arg-type]


def time(beats: str, unit: str) -> str:
    """Return a time signature."""
    told = f"<beats>{beats}</beats><beat-type>{unit}</beat-type>"
    return f"<attributes><time>{told}</time></attributes>"


REST = "<note><rest/><duration>2</duration></note>"


def test_a_bar_is_as_long_as_its_meter_says() -> None:
    """However much stands in it; the next begins there, and a meter holds until another."""
    music = bars(note(), time("3", "4") + note(), note(), time("6", "8") + note(), note())
    assert [0, 4, 7, 10, 13] == [bar.start for bar in music.bars]
    assert [0, 4, 7, 10, 13] == [stroke.at for stroke in music.strokes]
    assert ["4/4", "3/4", "3/4", "6/8", "6/8"] == [str(bar.meter) for bar in music.bars]


@pytest.mark.parametrize(
    ("beats", "unit", "told"),
    [("2", "2", "4/4"), ("3", "2", "6/4"), (" 4 ", " 4 ", "4/4"), ("3+2+2", "8", "3+2+2/8")],
)
def test_a_meter_is_read_as_it_is_counted(beats: str, unit: str, told: str) -> None:
    """In halves as twice as many quarters; sums of eighths as they are grouped."""
    assert told == str(bars(time(beats, unit) + note()).bars[0].meter)


@pytest.mark.parametrize(
    ("beats", "unit"), [("1+1", "2"), ("0", "2"), ("", "2"), ("4", "1"), ("4", "16"), ("x", "4")]
)
def test_other_meters_are_refused(beats: str, unit: str) -> None:
    """With what they are and what can be."""
    with pytest.raises(ExchangeError, match="cannot be written; use beats of a half") as refused:
        bars(time(beats, unit) + note())
    assert f"a meter of {'0' if beats == '0' and unit == '2' else beats}/" in str(refused.value)


def test_attributes_without_a_time_change_nothing() -> None:
    """A clef, a time that is hidden, no divisions or none that make sense."""
    music = bars(
        time("3", "4") + note(), "<attributes><clef/></attributes>" + note(),
        "<attributes><time><senza-misura/></time></attributes>" + note(),
        "<attributes><divisions>0</divisions></attributes>" + note() + note(),
        "<attributes><divisions>x</divisions></attributes>" + note() + note(),
        "<attributes><divisions>4</divisions></attributes>" + note() + note(),
    )  # fmt: skip
    assert {"3/4"} == {str(bar.meter) for bar in music.bars}
    at = [stroke.at for stroke in music.strokes]
    assert [0, 3, 6, 9, 10, 12, 13, 15, Fraction(31, 2)] == at


def test_a_chord_is_struck_together_and_takes_its_time_once() -> None:
    """Its later notes stand where its first does, also where the first is a rest's neighbour."""
    chord = note("<chord/>", place="G5")
    music = bars(REST + note() + chord + note(place="F4") + REST)
    assert [(1, Voice.SNARE), (2, Voice.BASS)] == [
        (int(s.at), s.voice) for s in music.strokes if s.voice is not Voice.HAT
    ]
    # G5 with an ordinary head is nothing in the kit: it is told, and takes no time.
    assert {"notes on G5: not in the kit": 1} == music.left_out


def grace(place: str = "C5") -> str:
    """Return a grace note."""
    return note("<grace/>", place=place, eighths=0)


def test_graces_belong_to_the_next_note_of_their_voice() -> None:
    """To no later one, and of a chord to the note of their own voice alone."""
    music = bars(
        grace() + note() + note() + grace() + grace() + note(place="E5")
        + note("<chord/>", place="C5")
    )  # fmt: skip
    told = [(int(s.at), s.voice, s.ornament) for s in music.strokes]
    assert [
        (0, Voice.SNARE, Ornament.FLAM), (1, Voice.SNARE, Ornament.NONE),
        (2, Voice.SNARE, Ornament.DRAG), (2, Voice.TOM, Ornament.NONE),
    ] == sorted(told)  # fmt: skip
    over = bars(grace() + note(), note())
    assert [Ornament.FLAM, Ornament.NONE] == [s.ornament for s in over.strokes]


def instrument(name: str, key: str) -> str:
    """Return an instrument of the list with its key, which MusicXML counts from 1."""
    return f'<midi-instrument id="{name}"><midi-unpitched>{key}</midi-unpitched></midi-instrument>'


def by(name: str, place: str = "C5") -> str:
    """Return a note of an instrument."""
    return note(f'<instrument id="{name}"/>', place=place)


@pytest.mark.parametrize(
    ("key", "keys", "voice", "ornament"),
    [
        ("37", {}, Voice.BASS, Ornament.NONE),
        ("43", {}, Voice.HAT, Ornament.NONE),
        ("47", {}, Voice.HAT, Ornament.OPEN),
        ("47", {46: Voice.HAT}, Voice.HAT, Ornament.NONE),
        ("47", {46: Voice.RIDE}, Voice.RIDE, Ornament.NONE),
        ("82", {}, Voice.SNARE, Ornament.NONE),
        ("82", {81: Voice.TOM}, Voice.TOM, Ornament.NONE),
        ("37", {36: None}, None, Ornament.NONE),
        ("x", {}, Voice.SNARE, Ornament.NONE),
        ("-1", {}, Voice.SNARE, Ornament.NONE),
        ("1234567890", {}, Voice.SNARE, Ornament.NONE),
    ],
)
def test_an_instrument_s_key_says_more_than_the_place(
    key: str, keys: dict[int, Voice | None], voice: Voice | None, ornament: Ornament
) -> None:
    """A table of the reader's says more than General MIDI; the place counts where no key is known.

    An open hat's key rings, unless the reader says what it is.
    """
    music = bars(by("I"), note(place="F4"), listed=instrument("I", key), keys=keys)
    *first, last = music.strokes
    assert Voice.BASS is last.voice
    assert ([] if voice is None else [(voice, ornament)]) == [(s.voice, s.ornament) for s in first]
    if voice is None:
        assert {"notes of key 36: not in the kit": 1} == music.left_out


def head(text: str, place: str) -> str:
    """Return a note with a head."""
    return note(f"<notehead>{text}</notehead>", place=place)


@pytest.mark.parametrize(
    ("sign", "place", "voice"),
    [
        ("x", "G5", Voice.HAT), ("circle-x", "G5", Voice.HAT), ("cross", "F5", Voice.RIDE),
        ("diamond", "A5", Voice.CRASH), (" x ", "C5", Voice.RIM), ("normal", "C5", Voice.SNARE),
        ("triangle", "C5", Voice.SNARE), ("normal", "A4", Voice.FLOOR), ("x", "D4", Voice.PEDAL),
    ],
)  # fmt: skip
def test_a_head_and_a_place_are_a_voice(sign: str, place: str, voice: Voice) -> None:
    """All kinds of crosses are one, and all others the ordinary head."""
    assert [voice] == [stroke.voice for stroke in bars(head(sign, place)).strokes]


def test_an_open_hat_has_its_sign() -> None:
    """A circle above, whatever instrument it is."""
    sign = "<notations><technical><open/></technical></notations>"
    (stroke,) = bars(note(sign, "<notehead>x</notehead>", place="G5")).strokes
    assert (Voice.HAT, Ornament.OPEN) == (stroke.voice, stroke.ornament)


@pytest.mark.parametrize(
    ("more", "level"),
    [
        ('<notehead parentheses="yes">normal</notehead>', Level.GHOST),
        ('<notehead parentheses="no">normal</notehead>', Level.PLAIN),
        ('<type size="cue">quarter</type><notehead parentheses="yes">normal</notehead>',
         Level.GHOST),
        (('<type size="cue">quarter</type><notations><articulations><accent/></articulations>'
         "</notations>"), Level.ACCENT),
        ('<type size="full">quarter</type>', Level.PLAIN),
        ("<notations><articulations><staccato/></articulations></notations>", Level.PLAIN),
        ("<notations><articulations><staccato/><accent/></articulations></notations>",
         Level.ACCENT),
        (('<notations><articulations><accent/></articulations></notations>'
         '<notehead parentheses="yes">normal</notehead>'), Level.GHOST),
    ],
)  # fmt: skip
def test_parentheses_say_more_than_accents_and_these_than_size(more: str, level: Level) -> None:
    """A ghost first, then an accent, then a small note, which is a tap."""
    assert [level] == [stroke.level for stroke in bars(note(more)).strokes]


def swing(first: str, second: str, kind: str = "eighth") -> str:
    """Return a direction that says a feel."""
    told = f"<first>{first}</first><second>{second}</second><swing-type>{kind}</swing-type>"
    return f"<direction><sound><swing>{told}</swing></sound></direction>"


STRAIGHT = "<direction><sound><swing><straight/></swing></sound></direction>"


@pytest.mark.parametrize(
    ("said", "pair", "share"),
    [
        (swing("2", "1"), 1, "2/3"), (swing("3", "2"), 1, "3/5"), (swing("2", "1", "16th"), "1/2",
         "2/3"), (swing("2", "1", " eighth "), 1, "2/3"),
    ],
)  # fmt: skip
def test_a_feel_holds_until_another(said: str, pair: str, share: str) -> None:
    """From the bar it stands in; straight ends it; a direction without a sound changes nothing."""
    quiet = "<direction><direction-type/></direction>"
    music = bars(note(), said + note(), quiet + note(), STRAIGHT + note())
    feels = [bar.swing for bar in music.bars]
    assert None is feels[0] is feels[3]
    assert [(Fraction(pair), Fraction(share))] * 2 == [(f.pair, f.share) for f in feels[1:3] if f]


@pytest.mark.parametrize(
    "said",
    [swing("1", "1"), swing("1", "2"), swing("", "1"), swing("2", ""), swing("2", "0"),
     swing("2", "1", "quarter")],
)  # fmt: skip
def test_other_feels_are_straight(said: str) -> None:
    """The first is longer, both are numbers, the pair is one of eighths or sixteenths."""
    assert [None] == [bar.swing for bar in bars(said + note()).bars]


def test_hands_are_ours_or_a_letter_for_the_fingers() -> None:
    """Our own element first; of other programs the fingering, where it is a hand's letter."""
    ours = '<play><other-play type="hand">L</other-play></play>'
    other = '<play><other-play type="foot">L</other-play></play>'
    finger = "<notations><technical><fingering> {} </fingering></technical></notations>"
    music = bars(
        note(ours) + note(other) + note(finger.format("R")) + note(finger.format("3")),
        note(ours, finger.format("R")) + note(),
    )
    found = [stroke.hand for stroke in music.strokes]
    assert [Hand.LEFT, None, Hand.RIGHT, None, Hand.LEFT, None] == found


def repeat(direction: str, words: str = "") -> str:
    """Return a bar's beginning: a repeat sign, and words above."""
    line = f'<barline><repeat direction="{direction}"/></barline>'
    told = f"<words>{words}</words>" if words else ""
    return f"{line}<direction><direction-type>{told}</direction-type></direction>"


def test_a_section_begins_with_a_repeat() -> None:
    """Its title is the words there, one line of 200 signs; the end of one begins nothing."""
    end = '<barline><repeat direction="backward"/></barline>'
    music = bars(
        repeat("forward", "one") + note() + end, repeat("backward", "no") + note(),
        repeat("forward") + note(), repeat("forward", " a&#10;b ") + note(),
        repeat("forward", "x" * 300) + note(),
    )  # fmt: skip
    assert ["one", None, "", "a b", "x" * 200] == [bar.title for bar in music.bars]


def test_the_first_part_of_percussion_is_read() -> None:
    """Whatever stands before it or after; how many others there are is told."""
    pitched = "<note><pitch><step>C</step></pitch><duration>1</duration></note>"
    parts = [f"<measure>{inside}</measure>" for inside in (pitched, note(), note(place="F4"))]
    text = "".join(f"<part>{part}</part>" for part in parts)
    music = read_musicxml(f"<score-partwise>{text}</score-partwise>".encode(), name="x")
    assert [Voice.SNARE] == [stroke.voice for stroke in music.strokes]
    assert {"parts besides the first of percussion": 2} == music.left_out
    alone = read_musicxml(
        f"<score-partwise><part>{parts[1]}</part></score-partwise>".encode(), name="x"
    )
    assert {} == alone.left_out
    assert alone.says_doubles


def test_a_tempo_counts_the_pulse_of_its_meter() -> None:
    """120 quarters are 80 dotted quarters of six eight."""
    tempo = '<direction><sound tempo="120"/></direction>'
    assert 80 == bars(time("6", "8") + tempo + note()).bpm
    assert 120 == bars(time("3", "4") + tempo + note()).bpm


def test_strokes_are_in_order_of_time_and_height() -> None:
    """However the voices of the file are written one after another."""
    back = "<backup><duration>4</duration></backup>"
    hat = head("x", "G5")
    music = bars(note(place="F4") + note() + back + hat + hat)
    assert [(0, Voice.HAT), (0, Voice.BASS), (1, Voice.HAT), (1, Voice.SNARE)] == [
        (int(stroke.at), stroke.voice) for stroke in music.strokes
    ]
