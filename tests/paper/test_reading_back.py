"""Files of other programs become rhythms; our own come back as what they were."""

from __future__ import annotations

import io
import random
import re
from fractions import Fraction
from itertools import pairwise, product

import mido
import pytest
from examples import examples
from hypothesis import HealthCheck, assume, given
from hypothesis import strategies as st
from starters import NAMES, all_cards
from strategies import patterns

from drillbox.deckfile import draft_text, parse_deck
from drillbox.errors import DrillboxError, ExchangeError, UsageError
from drillbox.paper import (
    Collection,
    Exercise,
    midi_file,
    midi_reading,
    musicxml,
    read_music,
    transcribed,
    xml_tree,
)
from drillbox.paper.midi_reading import read_midi
from drillbox.paper.musicxml_bar import SWUNG
from drillbox.paper.smf import Timed, file_bytes, meta, note, track_bytes
from drillbox.paper.velocities import clusters
from drillbox.paper.xml_tree import tree_of
from drillbox.rhythm import EMBELLISHMENTS, Level, Pattern, Voice, fingerprint, parse, spell
from drillbox.rhythm.striking import partial_length

GROOVE = parse("hat: beat &\nsnare: (e) >2 >4\nbass: 1 3")
FILL = parse("grid: 8t\nsnare: >1 t l 2 >3\nbass: 4\ncrash: 4")


def one(pattern: Pattern, bpm: float = 90) -> Collection:
    """Return a collection of one pattern."""
    return Collection("a title", (Exercise("a title", pattern, bpm),))


def back(data: bytes, name: str) -> list[str]:
    """Return the fingerprints of what is read."""
    return [fingerprint(found.pattern) for found in transcribed(read_music(data, name)).found]


def crowded(pattern: Pattern) -> bool:
    """Whether a stroke falls into another's time, or close before one with graces."""
    by_voice: dict[Voice, list[tuple[Fraction, Fraction, int]]] = {}
    for stroke in pattern.strokes:
        row = EMBELLISHMENTS[stroke.ornament]
        long = partial_length(pattern, stroke) if row.bounces or row.even > 1 else Fraction(0)
        by_voice.setdefault(stroke.voice, []).append((stroke.at, stroke.at + long, row.graces))
    return any(
        after[0] < before[1] or (after[2] and after[0] - before[1] < Fraction(1, 6))
        for strokes in by_voice.values()
        for before, after in pairwise(strokes)
    )


def played(
    pattern: Pattern, *, seed: int, passes: int = 4, bpm: float = 90, ms: float = 8
) -> bytes:
    """Return a pattern as an uneven player's file: times and velocities stray, nothing is said."""
    chance = random.Random(seed)
    data = midi_file(one(pattern, bpm), passes=passes)
    file = mido.MidiFile(file=io.BytesIO(data))
    hits = []
    tick = 0
    for message in file.tracks[1]:
        tick += message.time
        if message.type == "note_on":
            late = round(chance.gauss(0, ms / 1000) * bpm / 60 * 480)
            velocity = min(127, max(1, round(chance.gauss(message.velocity, 4))))
            hits.append((max(0, tick + late), message.note, velocity))
    events = [Timed(at, 2, note(key, velocity, 10)) for at, key, velocity in hits]
    micros = round(60_000_000 / bpm).to_bytes(3, "big")
    conductor = [Timed(0, 0, meta(0x51, micros))]
    end = passes * pattern.bars * 1920
    last = max(end, *(at for at, *_ in hits))
    return file_bytes([track_bytes(conductor, end), track_bytes(events, last)], 480)


@pytest.mark.parametrize("name", NAMES)
def test_starter_cards_come_back_through_both(name: str) -> None:
    """The same rhythm, by its fingerprint, of one card in thirteen.

    All cards in tests/bench/sweep_exchange.py.
    """
    for card in all_cards()[::13]:
        if card.deck_id == name:
            written = Collection(card.title, (Exercise(card.title, card.pattern, card.goal_bpm),))
            rhythm = [fingerprint(card.pattern)]

            assert rhythm == back(musicxml(written), "x.musicxml"), card.slug
            assert rhythm == back(midi_file(written), "x.mid"), card.slug
            looped = midi_file(written, passes=3, click=True, count_in_bars=1)
            assert rhythm == back(looped, "x.mid"), card.slug


@examples(50)
@given(patterns())
def test_any_rhythm_comes_back_through_musicxml(pattern: Pattern) -> None:
    """Whatever meter, grid, embellishment and hand.

    Only silence is no percussion to a reader, and a swing of other pairs than eighths or sixteenths
    has no word in the format.
    """
    assume(pattern.strokes)
    swing = pattern.swing
    assume(swing is None or swing.pair * 4 / pattern.meter.unit in SWUNG)

    assert [fingerprint(pattern)] == back(musicxml(one(pattern)), "x.musicxml")


@examples(50, suppress_health_check=[HealthCheck.filter_too_much])
@given(patterns())
def test_any_rhythm_comes_back_through_midi(pattern: Pattern) -> None:
    """Velocities say the levels, words the embellishments, lyrics the hands.

    What the file cannot carry: how beats are grouped in a meter; two notes of one key at once, or a
    stroke inside the partial of another that is doubled or buzzed.
    """
    assume(pattern.strokes)
    assume("+" not in str(pattern.meter))
    assume(not crowded(pattern))

    assert [fingerprint(pattern)] == back(midi_file(one(pattern)), "x.mid")


@pytest.mark.parametrize(
    "bars", ["".join(p) for n in (1, 2, 3, 4) for p in product("AB", repeat=n)]
)
def test_bars_in_any_order_come_back_as_one_rhythm(bars: str) -> None:
    """A section is one rhythm, A B A as well: what comes round before its end is no repeat."""
    line = {"A": "1 3", "B": "1 2&"}
    pattern = parse(f"hat: beat &\nbass: {' | '.join(line[bar] for bar in bars)}")
    assert [fingerprint(pattern)] == back(musicxml(one(pattern)), "x.musicxml")
    assert [fingerprint(pattern)] == back(midi_file(one(pattern), passes=1), "x.mid")


@pytest.mark.parametrize("count_in", [1, 2])
@pytest.mark.parametrize("passes", [1, 3])
def test_what_a_click_counts_in_is_no_part_of_what_is_played(count_in: int, passes: int) -> None:
    """Silent bars before each exercise are its count-in: each comes back under its title, alone."""
    both = Collection("x", (Exercise("one", GROOVE, 90), Exercise("two", FILL, 70)))
    data = midi_file(both, passes=passes, click=True, count_in_bars=count_in)
    found = transcribed(read_music(data, "x.mid")).found
    assert [("one", fingerprint(GROOVE)), ("two", fingerprint(FILL))] == [
        (each.title, fingerprint(each.pattern)) for each in found
    ]


@pytest.mark.parametrize(("deep", "many"), [(64, 64), (65, 65), (2, 71), (2, 70)])
def test_a_tree_is_as_deep_and_as_large_as_it_may_be(
    deep: int, many: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """64 elements within each other, and as many in all as are allowed: one more is refused."""
    monkeypatch.setattr(xml_tree, "_MOST_ELEMENTS", 70)
    inside = "<b/>" * (many - deep)
    data = ("<a>" * deep + inside + "</a>" * deep).encode()
    if deep > 64 or many > 70:
        wrong = "nested more than 64 deep" if deep > 64 else "more than 70 elements"
        with pytest.raises(ExchangeError, match=wrong):
            tree_of(data, name="x")
    else:
        assert many == len(list(tree_of(data, name="x").iter()))


def test_a_deck_comes_back_card_by_card_with_its_titles() -> None:
    """Sections are what repeats or markers begin."""
    cards = all_cards()[60:72]
    exercises = tuple(Exercise(card.title, card.pattern, card.goal_bpm) for card in cards)
    collection = Collection("cards", exercises)
    for data, name in ((musicxml(collection), "x.xml"), (midi_file(collection), "x.mid")):
        found = transcribed(read_music(data, name)).found

        assert [(c.title, c.card_id) for c in cards] == [
            (each.title, fingerprint(each.pattern)) for each in found
        ]


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("pattern", [GROOVE, FILL], ids=["sixteenths", "triplets"])
def test_an_uneven_player_is_understood(pattern: Pattern, seed: int) -> None:
    """8 ms of spread at 90 bpm, velocities with a spread of 4: the bar is found, once."""
    read = transcribed(read_midi(played(pattern, seed=seed), name="x.mid"))
    main = max(read.found, key=lambda found: len(found.bars))

    assert spell(pattern) == spell(main.pattern)
    assert len(main.bars) >= 3


@pytest.mark.parametrize("text", ["made by another program", "drillbox 2", "Drillbox"])
def test_only_our_own_word_says_that_all_is_said(text: str) -> None:
    """In another program's file doubles and buzzes are told by their notes, whatever its texts."""
    data = played(parse("hat: beat &\nsnare: >2 >4 (/1e) (z3a)\nbass: 1 3"), seed=3, ms=2)
    file = mido.MidiFile(file=io.BytesIO(data))
    file.tracks[0].insert(0, mido.MetaMessage("text", text=text))
    out = io.BytesIO()
    file.save(file=out)
    silent, told = (
        [spell(each.pattern) for each in transcribed(read_music(one, "x.mid")).found]
        for one in (data, out.getvalue())
    )
    assert silent == told
    assert "/" in silent[0]


def test_one_velocity_is_told_as_one() -> None:
    """And several as from the least to the most, with how many strokes."""

    def told(pattern: Pattern, ms: float) -> str:
        data = played(pattern, seed=1, ms=ms) if ms else midi_file(one(pattern))
        report = transcribed(read_music(data, "x.mid")).report
        return next(line for line in report if line.startswith("Velocities: "))

    assert re.fullmatch(r"Velocities: plain \d+ \(4 strokes\)\.", told(parse("snare: 1 2 3 4"), 0))
    assert re.search(r"ghost \d+ to \d+ \(16 strokes\)", told(GROOVE, 4))


def test_the_report_says_what_was_done() -> None:
    """Bars, grids, how many strokes were moved and how far, what each velocity was taken for."""
    read = transcribed(read_midi(played(GROOVE, seed=3, ms=5), name="x.mid"))
    report = "\n".join(read.report)

    assert report.startswith("4 bars, 1 different rhythm.")
    assert "Grids: 16 in 16 beats." in report
    assert " strokes moved, " in report
    assert " ms on average, " in report
    for level in ("ghost", "plain", "accent"):
        assert f"{level} " in report
    assert read.bpm == pytest.approx(90, abs=1e-3)


def test_embellishments_are_told_by_their_notes() -> None:
    """A falling run is a buzz, soft notes just before are graces, pairs of 32nds doubles."""
    pattern = parse("hat: beat &\nsnare: >f2 (/1a) z3 >d4\nbass: 1 3")
    file = mido.MidiFile(file=io.BytesIO(midi_file(one(pattern))))
    for track in file.tracks:
        for index, message in enumerate(track):
            if message.type == "text":
                track[index] = mido.MetaMessage("cue_marker", text="x", time=message.time)
    out = io.BytesIO()
    file.save(file=out)

    assert [fingerprint(pattern)] == back(out.getvalue(), "x.mid")


def test_a_long_file_is_cut_into_bars_and_repeats_are_found_once() -> None:
    """A song of one groove with a fill every fourth bar is two cards."""
    bars = [GROOVE, GROOVE, GROOVE, FILL] * 4
    events = []
    for number, pattern in enumerate(bars):
        for stroke in pattern.strokes:
            key = {"hat": 42, "snare": 38, "bass": 36, "crash": 49}[stroke.voice]
            at = 1920 * number + int(stroke.at * 480)
            events.append(Timed(at, 2, note(key, stroke.level.velocity, 10)))
    data = file_bytes([track_bytes(events, 1920 * len(bars))], 480)
    first, second = transcribed(read_midi(data, name="x.mid")).found

    assert (1, 2, 3, 5, 6, 7, 9, 10, 11, 13, 14, 15) == first.bars
    assert (4, 8, 12, 16) == second.bars
    assert [spell(GROOVE), spell(FILL)] == [spell(first.pattern), spell(second.pattern)]
    (both,) = transcribed(read_midi(data, name="x.mid"), bars=4).found
    assert 4 == both.pattern.bars


def test_what_is_not_in_the_kit_is_left_out_and_said() -> None:
    """Other channels, other keys, two notes of one voice at once; a table says what a key is."""
    hits = [(0, 36, 10), (480, 39, 10), (960, 39, 10), (0, 60, 1), (480, 76, 10), (0, 35, 10)]
    events = [Timed(at, 2, note(key, 80, channel)) for at, key, channel in hits]
    data = file_bytes([track_bytes(events, 1920)], 480)
    read = read_midi(data, name="x.mid")
    taken = read_midi(data, name="x.mid", keys={39: Voice.SNARE, 35: None})

    assert {
        "notes of other channels than 10": 1,
        "notes of key 39: not in the kit": 2,
        "notes of key 76: click": 1,
        "notes of the bass at the same tick as another": 1,
    } == read.left_out
    assert [Voice.BASS, Voice.SNARE, Voice.SNARE] == [heard.voice for heard in taken.strokes]


def test_drums_on_another_channel_are_read_and_said() -> None:
    """Some sequencers forget channel 10."""
    data = file_bytes([track_bytes([Timed(0, 2, note(36, 80, 1))], 1920)], 480)
    read = read_midi(data, name="x.mid")

    assert 1 == len(read.strokes)
    assert ("no note is on channel 10, so all channels were read as drums",) == read.remarks


def test_running_status_and_system_messages_are_read() -> None:
    """As Standard MIDI Files 1.1 allows: a status once for many notes, sysex passed over."""
    body = bytes.fromhex("00 99 2450 8170 2400 00 f0 03 010203 8170 99 2650 00ff2f00")
    data = file_bytes([], 480)[:10] + b"\x00\x01\x01\xe0"
    data += b"junk\x00\x00\x00\x02hi" + b"MTrk" + len(body).to_bytes(4, "big") + body
    read = read_midi(data, name="x.mid")

    assert [(Fraction(0), Voice.BASS), (Fraction(1), Voice.SNARE)] == [
        (heard.at, heard.voice) for heard in read.strokes
    ]


@pytest.mark.parametrize(
    ("velocities", "levels"),
    [
        ([28, 72, 112], [Level.GHOST, Level.PLAIN, Level.ACCENT]),
        ([112, 112], [Level.ACCENT]),
        ([100, 99, 101], [Level.PLAIN]),
        ([30, 33], [Level.GHOST]),
        ([25, 30, 70, 74, 120, 127], [Level.GHOST, Level.PLAIN, Level.ACCENT]),
        ([20, 22, 118, 121], [Level.GHOST, Level.ACCENT]),
        ([20, 22, 80], [Level.GHOST, Level.PLAIN]),
        ([64, 66, 120], [Level.PLAIN, Level.ACCENT]),
        ([10, 40, 70, 127], [Level.GHOST, Level.PLAIN, Level.ACCENT]),
    ],
)
def test_velocities_fall_into_clusters(velocities: list[int], levels: list[Level]) -> None:
    """Two or three, named from soft to loud; every stroke is in one."""
    found = clusters(velocities)

    assert levels == [cluster.level for cluster in found]
    assert len(velocities) == sum(cluster.strokes for cluster in found)


def test_what_was_read_becomes_a_deck() -> None:
    """A draft that the deck reader takes, with the same rhythms, whatever the titles."""
    cards = [('a "b" \\ c', GROOVE, "n"), ("a b c", FILL, ""), ("x" * 90, parse("snare: 1"), "")]
    deck = parse_deck(draft_text("My Fills!", cards, goal_bpm=88, about="x"), name="x.toml")

    assert "my-fills" == deck.id
    assert [fingerprint(pattern) for _, pattern, _ in cards] == [c.card_id for c in deck.cards]
    assert 3 == len({card.slug for card in deck.cards})
    assert all(len(card.title) <= 44 for card in deck.cards)


HEADER = "4d546864 00000006 0000 0001 01e0"
TRACK = "4d54726b"


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "this is no MIDI file"),
        (b"RIFF" + bytes(40), "this is no MIDI file"),
        (bytes.fromhex("4d546864 00000006 0002 0001 01e0"), "format is 2"),
        (bytes.fromhex("4d546864 00000006 0001 0001 e728"), "frames of film"),
        (bytes.fromhex("4d546864 00000006 0001 0001 0000"), "frames of film"),
        (bytes.fromhex(HEADER), "it has no track"),
        (bytes.fromhex(f"{HEADER} {TRACK} 00001000 00992450"), "says 4,096 bytes, but only 4"),
        (bytes.fromhex(f"{HEADER} {TRACK} 00000003 009924"), "track 1 ends inside an event"),
        (bytes.fromhex(f"{HEADER} {TRACK} 00000003 002450"), "data that belong to none"),
        (bytes.fromhex(f"{HEADER} {TRACK} 00000006 8080808000 99"), "more than four bytes"),
        (bytes.fromhex(f"{HEADER} {TRACK} 00000004 00998450"), "status where data should be"),
        (bytes.fromhex(f"{HEADER} {TRACK} 00000002 00f4"), "event 0xf4"),
        (bytes.fromhex(f"{HEADER} {TRACK} 00000004 00ff2f00"), "no note of a drum"),
        (
            bytes.fromhex(f"{HEADER} {TRACK} 0000000a ffffff7f 992450 00ff2f"),
            "ends inside an event",
        ),
        (
            bytes.fromhex(f"{HEADER} {TRACK} 0000000b ffffff7f 992450 00ff2f00"),
            "longer than 2,000 bars",
        ),
        (
            bytes.fromhex(f"{HEADER} {TRACK} 00000010 00ff580404050808 00992450 00ff2f00"),
            "meter of 4/32",
        ),
    ],
)
def test_a_broken_midi_file_is_one_sentence(data: bytes, sentence: str) -> None:
    """What is wrong and what to do; no traceback, no endless bar."""
    with pytest.raises(ExchangeError, match=sentence) as refusal:
        transcribed(read_music(data, "x.mid"))
    assert "x.mid: " in str(refusal.value)


BOMB = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">' + "".join(
    f'<!ENTITY {after} "{f"&{before};" * 10}">' for before, after in pairwise("abcdefghi")
)
SNARE = "<unpitched><display-step>C</display-step><display-octave>5</display-octave></unpitched>"


def score(attributes: str) -> bytes:
    """Return a score of one bar with one note of the snare."""
    note_ = f"<note>{SNARE}<duration>4</duration></note>"
    measure = f"<measure><attributes>{attributes}</attributes>{note_}</measure>"
    return f"<score-partwise><part>{measure}</part></score-partwise>".encode()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "this is no XML"),
        ("MThd", "this is no XML"),
        ("<a><b></a>", "this is no XML"),
        (f"{BOMB}]><score-partwise>&i;</score-partwise>", "declares entities"),
        ('<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]><x>&e;</x>', "declares entities"),
        ('<!DOCTYPE x [<!ENTITY % p SYSTEM "http://x.invalid/">%p;]><x/>', "declares entities"),
        ("<a>" * 70 + "</a>" * 70, "nested more than 64 deep"),
        ("<a>" * 100_000, "nested more than 64 deep"),
        ("<score-timewise/>", "not a partwise score"),
        ("<score-partwise/>", "it has no percussion"),
        ('<?xml version="1.0" encoding="x-none"?><a/>', "this is no XML"),
    ],
)
def test_hostile_xml_is_one_sentence(text: str, sentence: str) -> None:
    """Nothing is expanded, nothing is loaded, nothing is followed."""
    with pytest.raises(ExchangeError, match=sentence):
        read_music(text.encode(), "x.musicxml")


def test_a_document_type_by_address_is_not_loaded() -> None:
    """Every MusicXML file names one; reading needs no network."""
    root = tree_of(b'<!DOCTYPE a PUBLIC "-//x" "http://x.invalid/a.dtd"><a>b</a>', name="x")

    assert "b" == root.text


@pytest.mark.parametrize("beats", ["<beats>4</beats><beat-type>16</beat-type>", "<beats/>"])
def test_a_meter_that_cannot_be_written_is_refused(beats: str) -> None:
    """In words, with what can be."""
    with pytest.raises(ExchangeError, match="cannot be written"):
        read_music(score(f"<time>{beats}</time>"), "x.xml")


def test_half_notes_are_read_as_twice_as_many_quarters() -> None:
    """2/2 is 4/4 to a drummer who counts to four."""
    time = "<divisions>1</divisions><time><beats>2</beats><beat-type>2</beat-type></time>"
    (found,) = transcribed(read_music(score(time), "x.xml")).found

    assert "snare: 1\n" == spell(found.pattern)


@pytest.mark.parametrize(
    ("name", "kind", "sentence"),
    [
        ("x.mxl", ExchangeError, "compressed MusicXML is not read"),
        ("x.pdf", UsageError, "give a .musicxml, .xml or .mid file"),
    ],
)
def test_other_endings_are_refused(name: str, kind: type[DrillboxError], sentence: str) -> None:
    """By name, before anything is read."""
    with pytest.raises(kind, match=sentence):
        read_music(b"PK", name)


@examples(150)
@given(st.data())
def test_damage_never_ends_in_a_traceback(data: st.DataObject) -> None:
    """Bytes of good files changed, cut and doubled: rhythms, or one sentence."""
    name = data.draw(st.sampled_from(["x.mid", "x.musicxml"]))
    good = midi_file(one(GROOVE)) if name == "x.mid" else musicxml(one(GROOVE))
    cut = data.draw(st.integers(0, len(good)))
    bad = bytearray(good[:cut] + good[data.draw(st.integers(0, cut)) :])
    for at, byte in data.draw(
        st.lists(st.tuples(st.integers(0, max(len(bad) - 1, 0)), st.integers(0, 255)), max_size=8)
    ):
        if bad:
            bad[at] = byte
    try:
        found = transcribed(read_music(bytes(bad), name)).found
    except DrillboxError as refusal:
        assert "\n" not in str(refusal)  # noqa: PT017 - either is right
    else:
        assert all(isinstance(each.pattern, Pattern) for each in found)


def test_a_crowd_of_notes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Notes a tick apart are read, as many as a file may have; more are refused in a sentence."""
    events = [Timed(tick, 2, note(38, 80, 10)) for tick in range(600)]
    data = file_bytes([track_bytes(events, 600)], 480)
    assert transcribed(read_midi(data, name="x.mid")).found
    monkeypatch.setattr(midi_reading, "MAX_STROKES", 599)
    with pytest.raises(ExchangeError, match="more than 599 notes"):
        read_midi(data, name="x.mid")


def test_the_title_of_a_section_is_one_line_of_plain_text() -> None:
    """Markers come from strangers too: no control signs, no end of line."""
    events = [Timed(0, 0, meta(0x06, b"a\x1b[31m\nb\xff")), Timed(0, 2, note(36, 80, 10))]
    data = file_bytes([track_bytes(events, 1920)], 480)
    (found,) = transcribed(read_midi(data, name="x.mid")).found

    assert "a [31m b\ufffd" == found.title


def test_the_strokes_of_two_meters_stay_apart() -> None:
    """A change of meter cuts a section."""
    events = [
        Timed(0, 0, meta(0x58, bytes((4, 2, 24, 8)))),
        Timed(1920, 0, meta(0x58, bytes((3, 2, 24, 8)))),
        Timed(0, 2, note(36, 80, 10)),
        Timed(1920, 2, note(36, 80, 10)),
    ]
    data = file_bytes([track_bytes(events, 3360)], 480)
    first, second = transcribed(read_midi(data, name="x.mid"), bars=2).found

    assert ("4/4", "3/4") == (str(first.pattern.meter), str(second.pattern.meter))
    assert Fraction(0) == second.pattern.strokes[0].at
