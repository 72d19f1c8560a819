"""MusicXML element by element: one bar each, as the standard's tutorial for percussion has it.

Source: MusicXML 4.0, W3C Music Notation Community Group: note, time-modification, tuplet, beam,
grace, tremolo, metronome, swing; percussion clef and unpitched notes.
"""

from __future__ import annotations

from xml.etree import ElementTree as ET

from drillbox.paper.exercise import Collection, Exercise
from drillbox.paper.musicxml_writing import musicxml
from drillbox.rhythm import parse


def root_of(*texts: str, bpm: float = 90, **about: str) -> ET.Element:
    """Return exercises as a score."""
    exercises = tuple(Exercise(f"t{n}", parse(text), bpm) for n, text in enumerate(texts))
    return ET.fromstring(musicxml(Collection("Title", exercises, **about)))


def notes(root: ET.Element) -> list[ET.Element]:
    """Return the notes of a score."""
    return list(root.iter("note"))


def told(note: ET.Element) -> str:
    """Return a note in short: what it is, how long, its type with dots, its voice, its stem."""
    kind = (
        "rest"
        if note.find("rest") is not None
        else "grace"
        if note.find("grace") is not None
        else ""
    )
    dots = "." * len(note.findall("dot"))
    parts = [kind, note.findtext("duration", ""), note.findtext("type", "") + dots]
    return " ".join(filter(None, (*parts, note.findtext("voice", ""), note.findtext("stem", ""))))


def test_a_bar_of_two_voices() -> None:
    """Hands up in voice 1, back to the bar's start, feet down in voice 2; rests have no stem."""
    root = root_of("hat: 1 2& 3\nbass: 1 3")
    assert [
        "24 quarter 1 up", "rest 12 eighth 1", "12 eighth 1 up", "24 quarter 1 up",
        "rest 24 quarter 1", "24 quarter 2 down", "rest 24 quarter 2", "24 quarter 2 down",
        "rest 24 quarter 2",
    ] == [told(note) for note in notes(root)]  # fmt: skip
    (measure,) = root.iter("measure")
    order = [child.tag for child in measure]
    assert "backup" == order[order.index("backup")]
    assert 5 == sum(tag == "note" for tag in order[: order.index("backup")])
    assert "96" == measure.findtext("backup/duration")
    assert ["attributes", "barline", "direction", "direction"] == order[:4]
    assert "barline" == order[-1]


def test_hands_alone_have_no_second_voice() -> None:
    """No backup; feet alone leave the hands a rest of the whole bar."""
    assert root_of("snare: 1").find(".//backup") is None
    feet = notes(root_of("bass: 1"))
    assert ("yes", "96", "1") == (
        feet[0].find("rest").get("measure"), feet[0].findtext("duration"),  # type: ignore[union-attr]
        feet[0].findtext("voice"),
    )  # fmt: skip
    assert feet[0].find("type") is None


def test_a_triplet_begins_and_ends_with_rests_too() -> None:
    """Start with a bracket above, stop without; three in the time of two, named where need be."""
    root = root_of("grid: 8t\nsnare: 1t 2 2l")
    found = notes(root)
    tuplets = [[t.attrib for t in note.iter("tuplet")] for note in found[:4]]
    start = {"type": "start", "number": "1", "bracket": "yes", "placement": "above"}
    stop = {"type": "stop", "number": "1"}
    assert [[start], [stop], [start], [stop]] == tuplets
    ratios = [
        [e.text for e in note.find("time-modification") or ()] for note in found[:4]
    ]  # actual, normal, and the type of three where the note is another
    assert [["3", "2"], ["3", "2", "eighth"], ["3", "2", "eighth"], ["3", "2"]] == ratios
    assert ["rest", "", "", ""] == [told(note).split()[0].strip("0123456789") for note in found[:4]]


def test_levels_are_heads_sizes_and_signs() -> None:
    """A ghost in parentheses, a tap of cue size, an accent above; x heads for metal and rim."""
    ghost, tap, plain, accent = notes(root_of("snare: (1) _2 3 >4"))
    assert ["yes", None, None, None] == [
        note.find("notehead").get("parentheses")  # type: ignore[union-attr]
        for note in (ghost, tap, plain, accent)
    ]
    sizes = [found.get("size") for n in (ghost, tap, plain, accent) for found in n.iter("type")]
    assert [None, "cue", None, None] == sizes
    assert [0, 0, 0, 1] == [len(note.findall(".//accent")) for note in (ghost, tap, plain, accent)]
    assert "above" == accent.find(".//accent").get("placement")  # type: ignore[union-attr]
    assert plain.find("notations") is None
    rim, hat = notes(root_of("rim: 1")), notes(root_of("hat: 1"))
    assert ("x", "x", "normal") == (
        rim[0].findtext("notehead"), hat[0].findtext("notehead"), plain.findtext("notehead"),
    )  # fmt: skip


def test_a_chord_shares_what_stands_once() -> None:
    """Later notes say that they are of the chord, and have no beam or letter of their own."""
    root = root_of("hat: 1 1&\nsnare: >1 1&")
    first, second, third, fourth = notes(root)[:4]
    assert [False, True, False, True] == [
        note.find("chord") is not None for note in (first, second, third, fourth)
    ]
    assert ["begin", None, "end", None] == [
        note.findtext("beam") for note in (first, second, third, fourth)
    ]
    assert ["1", None, "&", None] == [
        note.findtext("lyric/text") for note in (first, second, third, fourth)
    ]
    lyric = first.find("lyric")
    assert lyric is not None
    assert ("1", "below", "single") == (
        lyric.get("number"), lyric.get("placement"), lyric.findtext("syllabic"),
    )  # fmt: skip


def test_graces_stand_before_their_stroke() -> None:
    """A flam is one slashed eighth, a drag two beamed sixteenths; a slur ties the first to it."""
    flam, main = notes(root_of("snare: f1"))[:2]
    grace = flam.find("grace")
    assert grace is not None
    assert "yes" == grace.get("slash")
    assert ("eighth", "up") == (flam.findtext("type"), flam.findtext("stem"))
    assert [] == flam.findall("beam")
    slur = flam.find("notations/slur")
    assert slur is not None
    assert ("start", "1", "below") == (slur.get("type"), slur.get("number"), slur.get("placement"))
    end = main.find("notations/slur")
    assert end is not None
    assert ("stop", "1") == (end.get("type"), end.get("number"))
    one, two, main = notes(root_of("snare: d1"))[:3]
    assert [["begin"] * 2, ["end"] * 2] == [[b.text for b in n.findall("beam")] for n in (one, two)]
    assert ["1", "2"] == [b.get("number") for b in one.findall("beam")]
    assert ["16th", "16th", "quarter"] == [n.findtext("type") for n in (one, two, main)]
    assert [True, False] == [n.find("notations") is not None for n in (one, two)]
    assert one.find("grace").get("slash") is None  # type: ignore[union-attr]
    foot = notes(root_of("bass: f1"))[1]
    assert ("above", "2", "down") == (
        foot.find(".//slur").get("placement"), foot.findtext("voice"),  # type: ignore[union-attr]
        foot.findtext("stem"),
    )  # fmt: skip


def test_meters_stand_where_they_change() -> None:
    """Divisions and clef once, the time where it changes; each exercise on a line of its own."""
    root = root_of("snare: 1", "snare: 2", "meter: 3+2+2/8\nsnare: 1")
    measures = list(root.iter("measure"))
    assert ["1", "2", "3"] == [m.get("number") for m in measures]
    assert ["24", None, None] == [m.findtext("attributes/divisions") for m in measures]
    assert ["4", None, "3+2+2"] == [m.findtext("attributes/time/beats") for m in measures]
    assert ["4", None, "8"] == [m.findtext("attributes/time/beat-type") for m in measures]
    assert ("percussion", "2") == (
        measures[0].findtext("attributes/clef/sign"), measures[0].findtext("attributes/clef/line"),
    )  # fmt: skip
    assert 1 == len(list(root.iter("clef")))
    assert [None, "yes", "yes"] == [
        None if m.find("print") is None else m.find("print").get("new-system")  # type: ignore[union-attr]
        for m in measures
    ]
    bars = [(b.get("location"), b.findtext("bar-style")) for b in measures[0].findall("barline")]
    assert [("left", "heavy-light"), ("right", "light-heavy")] == bars


def test_a_tempo_counts_its_pulse() -> None:
    """92 dotted quarters of 6/8 sound as 138 quarters; the title stands above in bold."""
    plain, compound = root_of("snare: 1", bpm=92), root_of("meter: 6/8\nsnare: 1", bpm=92)
    for root, dots, sounded in ((plain, 0, "92"), (compound, 1, "138")):
        mark = root.find(".//metronome")
        assert mark is not None
        assert ("quarter", dots, "92") == (
            mark.findtext("beat-unit"), len(mark.findall("beat-unit-dot")),
            mark.findtext("per-minute"),
        )  # fmt: skip
        assert sounded == root.find(".//sound").get("tempo")  # type: ignore[union-attr]
        assert root.find(".//swing/straight") is not None
    words = plain.find(".//words")
    assert words is not None
    assert ("t0", "bold") == (words.text, words.get("font-weight"))
    assert ["above", "above"] == [d.get("placement") for d in plain.iter("direction")]


def test_instruments_are_listed_once_with_their_keys() -> None:
    """MusicXML counts keys from 1, General MIDI from 0: a snare of 38 is 39, an open hat 47."""
    root = root_of("hat: 1 o2\nsnare: 1")
    names = [e.findtext("instrument-name") for e in root.iter("score-instrument")]
    keys = [e.findtext("midi-unpitched") for e in root.iter("midi-instrument")]
    assert dict(zip(names, keys, strict=True)) == {
        "Hi-hat": "43", "Open Hi-hat": "47", "Snare drum": "39",
    }  # fmt: skip
    assert {"10"} == {e.findtext("midi-channel") for e in root.iter("midi-instrument")}
    ids = {e.get("id") for e in root.iter("score-instrument")}
    assert ids == {e.get("id") for e in root.findall(".//note/instrument")}


def test_a_file_says_whose_it_is() -> None:
    """Title, author and licence where there are some; nothing is said of what is not there."""
    full = root_of("snare: 1", author="A. Teacher", licence="CC0-1.0")
    assert ("Title", "A. Teacher", "CC0-1.0") == (
        full.findtext("work/work-title"), full.findtext("identification/creator"),
        full.findtext("identification/rights"),
    )  # fmt: skip
    bare = root_of("snare: 1")
    assert bare.find("identification/creator") is None
    assert bare.find("identification/rights") is None
    assert "drillbox" == bare.findtext("identification/encoding/software")
