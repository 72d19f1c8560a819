"""MusicXML: valid by the W3C's schema, bars filled exactly, everything a pattern says written."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from examples import examples
from hypothesis import given
from schema import complaints
from starters import all_cards
from strategies import patterns

from drillbox.paper import Collection, Exercise, Rows, musicxml
from drillbox.paper.instruments import KIT
from drillbox.paper.letter_rows import USUAL_ROWS
from drillbox.rhythm import (
    EMBELLISHMENTS,
    Hand,
    Level,
    Ornament,
    Pattern,
    Stroke,
    Voice,
    for_player,
    parse,
    parse_meter,
)


def written(pattern: Pattern, *, rows: Rows = USUAL_ROWS, leading: Hand = Hand.RIGHT) -> bytes:
    """Return one pattern as a file."""
    one = Exercise("a title", for_player(pattern, leading), 92, "a note")
    return musicxml(
        Collection("a title", (one,), "somebody", "CC0-1.0"), rows=rows, leading=leading
    )


def notes_of(document: bytes) -> list[tuple[Fraction, ET.Element]]:
    """Return the sounding notes with their places in quarters, by a walk of our own."""
    found = []
    start = Fraction(0)
    divisions = 1
    for measure in ET.fromstring(document).iter("measure"):
        at = longest = last = Fraction(0)
        for element in measure:
            if element.tag == "attributes" and element.find("divisions") is not None:
                divisions = int(element.findtext("divisions", ""))
            length = Fraction(int(element.findtext("duration", "0")), divisions)
            if element.tag == "backup":
                at -= length
            elif element.tag == "note":
                if element.find("chord") is None:
                    last, at = at, at + length
                if element.find("rest") is None and element.find("grace") is None:
                    found.append((start + last, element))
                longest = max(longest, at)
        start += longest
    return found


def bar_fillings(document: bytes) -> list[tuple[int, ...]]:
    """Return for every bar how many divisions each of its voices fills."""
    fillings = []
    for measure in ET.fromstring(document).iter("measure"):
        filled: Counter[str] = Counter()
        for note in measure.iter("note"):
            if note.find("chord") is None:
                filled[note.findtext("voice", "")] += int(note.findtext("duration", "0"))
        fillings.append(tuple(filled.values()))
    return fillings


@examples(60)
@given(patterns())
def test_any_pattern_is_valid_and_fills_its_bars(pattern: Pattern) -> None:
    """Whatever the meter, the grids and the strokes: the schema is content, no bar runs over."""
    document = written(pattern, rows=Rows(motions=False))
    bar = int(Fraction(24 * 4 * pattern.meter.beats, pattern.meter.unit))

    assert [] == complaints(document)
    voices = 1 + any(stroke.voice.is_foot for stroke in pattern.strokes)
    assert [(bar,) * voices] * pattern.bars == bar_fillings(document)


@examples(60)
@given(patterns())
def test_every_stroke_is_a_note_at_its_place(pattern: Pattern) -> None:
    """Places, voices, levels and hands of the notes are those of the strokes, and no others."""
    document = written(pattern)
    quarters = Fraction(4, pattern.meter.unit)
    said = sorted(
        (
            stroke.at * quarters,
            f"P1-{stroke.voice}{'-open' * EMBELLISHMENTS[stroke.ornament].rings}",
            stroke.level is Level.GHOST,
            stroke.level is Level.ACCENT,
            stroke.level is Level.TAP,
            stroke.hand or "",
        )
        for stroke in pattern.strokes
    )
    heard = sorted(
        (
            at,
            note.find("instrument").get("id"),  # type: ignore[union-attr]
            note.find("notehead").get("parentheses") == "yes",  # type: ignore[union-attr]
            note.find("notations/articulations/accent") is not None,
            note.find("type").get("size") == "cue",  # type: ignore[union-attr]
            note.findtext("play/other-play", ""),
        )
        for at, note in notes_of(document)
    )

    assert said == heard


@pytest.mark.parametrize("leading", Hand)
def test_starter_cards_are_valid_and_fill_their_bars(leading: Hand) -> None:
    """One in seventeen here, all of them in tests/bench/sweep_exchange.py."""
    for card in all_cards()[::17]:
        document = written(card.pattern, leading=leading)

        assert [] == complaints(document), card.slug
        assert 1 == len({filled for bar in bar_fillings(document) for filled in bar}), card.slug


def test_a_whole_deck_is_one_file() -> None:
    """One part, a new system for every card but the first, title, tempo, repeats, rights."""
    cards = all_cards()[::17][:5]
    exercises = tuple(Exercise(c.title, c.pattern, c.goal_bpm) for c in cards)
    document = musicxml(Collection("Some cards", exercises, "somebody", "CC0-1.0"))
    root = ET.fromstring(document)

    assert [] == complaints(document)
    assert [card.title for card in cards] == [e.text for e in root.iter("words")]
    assert [f"{card.goal_bpm:g}" for card in cards] == [e.text for e in root.iter("per-minute")]
    assert len(cards) - 1 == len(root.findall(".//print[@new-system='yes']"))
    assert ["forward", "backward"] * len(cards) == [r.get("direction") for r in root.iter("repeat")]
    assert "CC0-1.0" == root.findtext("identification/rights")


def test_every_voice_and_every_embellishment_has_its_way_onto_paper() -> None:
    """A new row of the tables in rhythm cannot be forgotten here."""
    meter = parse_meter("4/4")
    for voice in Voice:
        pattern = Pattern(meter, (4,) * 4, (Stroke(Fraction(0), voice),))
        (_, note), *_ = notes_of(written(pattern))
        place = note.findtext("unpitched/display-step"), note.findtext("unpitched/display-octave")

        assert (KIT[voice].step, str(KIT[voice].octave)) == place
    for ornament in Ornament:
        row = EMBELLISHMENTS[ornament]
        voice = row.voices[-1] if Voice.SNARE not in row.voices else Voice.SNARE
        stroke = Stroke(Fraction(1), voice, Level.PLAIN, ornament)
        document = written(Pattern(meter, (4,) * 4, (stroke,)))
        root = ET.fromstring(document)
        tremolo = root.find(".//tremolo")

        assert [] == complaints(document), ornament
        assert row.graces == len(root.findall(".//grace")), ornament
        assert row.rings == (root.find(".//technical/open") is not None), ornament
        strokes = 1 if tremolo is None else 2 ** int(tremolo.text or "")
        assert row.even == strokes, ornament
        kind = None if tremolo is None else tremolo.get("type")
        assert row.bounces == (kind == "unmeasured"), ornament
        assert (row.even > 1) == (kind == "single"), ornament


def test_no_two_voices_look_the_same() -> None:
    """Place and head together tell every voice from every other."""
    looks = [(row.step, row.octave, row.head) for row in KIT.values()]

    assert len(Voice) == len(set(looks)) == len(KIT)
    assert len(KIT) == len({key for row in KIT.values() for key in (row.key,)})


def test_a_double_is_written_as_long_as_it_takes() -> None:
    """A doubled sixteenth before a gap is a sixteenth with one slash, not a longer note."""
    document = written(parse("snare: (/1e) 3\nbass: 1"))
    _, note = next(item for item in notes_of(document) if item[1].find(".//tremolo") is not None)

    assert "16th" == note.findtext("type")
    assert "1" == note.findtext("notations/ornaments/tremolo")


def test_triplets_are_three_in_the_time_of_two() -> None:
    """Eighth triplets with one bracket a beat; sixteenth triplets with two, the & between them."""
    eighths = ET.fromstring(written(parse("grid: 8t\nsnare: beat t l")))
    sixteenths = ET.fromstring(written(parse("grid: 16t\nsnare: beat t l & &t &l")))

    assert 4 == len(eighths.findall(".//tuplet[@type='start']"))
    assert 8 == len(sixteenths.findall(".//tuplet[@type='start']"))
    for root in (eighths, sixteenths):
        ratios = {
            (e.findtext("actual-notes"), e.findtext("normal-notes"))
            for e in root.iter("time-modification")
        }
        assert {("3", "2")} == ratios


def test_eighths_under_triplets_stay_eighths() -> None:
    """The hat's & on a triplet grid divides the beat in halves, and no bracket is needed."""
    root = ET.fromstring(written(parse("grid: 8t\nhat: beat &")))

    assert [] == root.findall(".//tuplet")
    assert {"eighth"} == {e.text for e in root.iter("type")} - {None}


def test_a_swung_exercise_says_so_to_players_of_the_file() -> None:
    """MusicXML 4.0 has the ratio and what is swung; what follows straight says that too."""
    exercises = [
        Exercise("x", parse(f"{feel}hat: beat &"), 90)
        for feel in ("swing: 16 3:2\n", "", "swing: 8 2:1\n")
    ]
    document = musicxml(Collection("x", tuple(exercises)))
    feels = [[child.text for child in feel] for feel in ET.fromstring(document).iter("swing")]

    assert [] == complaints(document)
    assert [["3", "2", "16th"], [None], ["2", "1", "eighth"]] == feels


def test_a_left_handed_player_gets_mirrored_hands() -> None:
    """The letters below the staff turn round with the player."""
    pattern = parse("snare: R1 L1& R2 R2&")
    rows = Rows(counts=False)
    right = [e.text for e in ET.fromstring(written(pattern, rows=rows)).iter("text")]
    left = written(pattern, rows=rows, leading=Hand.LEFT)

    assert ["R", "L", "R", "R"] == right
    assert ["L", "R", "L", "L"] == [e.text for e in ET.fromstring(left).iter("text")]


def test_rows_of_letters_are_those_asked_for() -> None:
    """Counts, hands and motions, each its own row, in this order."""
    pattern = parse("meter: 2/4\nsnare: >R1 L1e R1& R1a >L2 R2e L2& L2a")
    root = ET.fromstring(written(pattern, rows=Rows(motions=True)))
    rows: dict[str, list[str]] = {}
    for lyric in root.iter("lyric"):
        rows.setdefault(lyric.get("number", ""), []).append(lyric.findtext("text", ""))

    assert ["1", "e", "&", "a", "2", "e", "&", "a"] == rows["1"]
    assert list("RLRRLRLL") == rows["2"]
    assert list("DUTTDUTT") == rows["3"]
