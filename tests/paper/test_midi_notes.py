"""Notes of a MIDI file as other programs write them: what is one stroke, one bar, one section.

The events are those of Standard MIDI Files 1.1, written out by hand; 480 ticks a quarter.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from drillbox.errors import ExchangeError
from drillbox.paper import midi_reading
from drillbox.paper.midi_reading import read_midi
from drillbox.paper.smf import Timed, file_bytes, meta, note, track_bytes
from drillbox.rhythm import Hand, Level, Ornament, Voice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.paper.music_in_file import MusicInFile

TEXT, LYRIC, MARKER, TEMPO, METER = 1, 5, 6, 0x51, 0x58
OURS = (0, TEXT, b"drillbox")
Said = tuple[int, int, bytes]


def read(hits: Sequence[tuple[int, ...]], *said: Said, end: int = 1920) -> MusicInFile:
    """Read a file of notes (tick, velocity, key if not the snare's) and of what is said beside."""
    events = [Timed(tick, 2, note(key[0] if key else 38, force, 10)) for tick, force, *key in hits]
    told = [Timed(tick, 0, meta(kind, data)) for tick, kind, data in said]
    last = max(end, *(event.tick for event in (*events, *told)))
    return read_midi(file_bytes([track_bytes([*told, *events], last)], 480), name="x.mid")


def struck(music: MusicInFile) -> list[tuple[int, Ornament]]:
    """Return when what is struck, in ticks."""
    return [(int(stroke.at * 480), stroke.ornament) for stroke in music.strokes]


NONE, FLAM, DRAG, BUZZ = Ornament.NONE, Ornament.FLAM, Ornament.DRAG, Ornament.BUZZ


@pytest.mark.parametrize(
    ("hits", "expected"),
    [
        ([(0, 40), (40, 100)], [(40, FLAM)]),
        ([(0, 100), (40, 100)], [(40, FLAM)]),
        ([(0, 101), (40, 100)], [(0, NONE), (40, NONE)]),
        ([(0, 40), (20, 40), (40, 100)], [(40, DRAG)]),
        ([(0, 50), (20, 40), (40, 100)], [(40, DRAG)]),
        ([(0, 100), (20, 90), (40, 80)], [(0, BUZZ)]),
        ([(0, 100), (20, 90), (40, 80), (60, 70), (80, 75)], [(0, BUZZ), (80, NONE)]),
        ([(0, 100), (20, 90), (40, 95)], [(0, NONE), (40, FLAM)]),
        ([(0, 90), (20, 90), (40, 80)], [(20, FLAM), (40, NONE)]),
        ([(0, 40), (41, 100)], [(41, FLAM)]),
        ([(0, 40), (42, 100)], [(0, NONE), (42, NONE)]),
        ([(0, 100), (41, 90), (82, 80), (123, 70)], [(0, BUZZ)]),
        ([(0, 100), (20, 90), (100, 80)], [(0, NONE), (20, NONE), (100, NONE)]),
    ],
)
def test_notes_close_together_are_one_stroke(
    hits: list[tuple[int, ...]], expected: list[tuple[int, Ornament]]
) -> None:
    """No louder ones before a note are its graces, three or more that fall are a buzz.

    Close are 42 ms (judgement), at 120 bpm 40 ticks, counted up by one; of voices by themselves.
    """
    assert expected == struck(read(hits))
    apart = [(tick, force, (38, 36)[n % 2]) for n, (tick, force) in enumerate(hits[:2])]
    assert [NONE] * 2 == [ornament for _, ornament in struck(read(apart))]


@pytest.mark.parametrize("micros", [12, 10_000, 250_000, 500_000, 1_000_000, 0])
def test_close_is_close_at_any_tempo(micros: int) -> None:
    """In seconds: at twice the tempo twice the ticks; a tempo of nothing is no division by it."""
    tempo = (0, TEMPO, micros.to_bytes(3, "big"))
    if not micros:
        assert None is read([(0, 40)], tempo).bpm
        return
    close = 42 * 480 * 1000 // micros + 1
    assert [FLAM] == [o for _, o in struck(read([(0, 40), (close, 90)], tempo))]
    assert [NONE, NONE] == [o for _, o in struck(read([(0, 40), (close + 1, 90)], tempo))]
    assert 60_000_000 / micros == read([(0, 40)], tempo).bpm


def test_a_buzz_has_so_many_notes_and_no_more() -> None:
    """Twenty-four are one run; what follows is another."""
    hits: list[tuple[int, ...]] = [(20 * n, 120 - n) for n in range(26)]
    assert [(0, BUZZ), (480, NONE), (500, NONE)] == struck(read(hits))
    assert [(0, BUZZ), (480, NONE)] == struck(read(hits[:25]))
    assert [(0, BUZZ)] == struck(read(hits[:24]))


def test_in_our_own_file_words_alone_say_what_a_stroke_is() -> None:
    """Without a word two close notes are two; with one they are what it names, for so long.

    Words of others mean nothing: of no voice, of no embellishment, at no note, not the whole text.
    """
    close: list[tuple[int, ...]] = [(0, 40), (20, 40), (40, 100), (60, 30), (100, 90)]
    assert [NONE] * 5 == [ornament for _, ornament in struck(read(close, OURS))]
    flam = (40, TEXT, b"snare flam 120")
    assert [(0, NONE), (40, FLAM), (60, NONE), (100, NONE)] == struck(read(close, OURS, flam))
    buzz = (0, TEXT, b"snare buzz 100")
    assert [(0, BUZZ), (100, NONE)] == struck(read(close, OURS, buzz))
    longer = (0, TEXT, b"snare buzz 101")
    assert [(0, BUZZ)] == struck(read(close, OURS, longer))
    for word in (b"lute buzz 100", b"snare hum 100", b"snare buzz 100 x", b"x snare buzz 100"):
        assert [NONE] * 5 == [o for _, o in struck(read(close, OURS, (0, TEXT, word)))]
    assert [NONE] * 5 == [o for _, o in struck(read(close, OURS, (1, TEXT, b"snare buzz 9")))]


def test_our_word_is_a_text_and_nothing_more() -> None:
    """The same letters as a lyric, or within a longer text, are somebody else's."""
    close: list[tuple[int, ...]] = [(0, 40), (40, 100)]
    for kind, data in ((LYRIC, b"drillbox"), (TEXT, b"drillbox 2"), (TEXT, b"my drillbox")):
        music = read(close, (0, kind, data))
        assert not music.says_doubles
        assert [(40, FLAM)] == struck(music)
    assert read(close, OURS).says_doubles


def test_of_two_notes_at_one_tick_the_louder_one_is_heard() -> None:
    """Whichever stands first; of equals one; a closed and an open hat are one voice."""
    for first, second, heard in ((40, 90, 90), (90, 40, 90), (60, 60, 60)):
        music = read([(0, first, 42), (0, second, 46), (480, 1, 42), (960, 127, 42)])
        assert {"notes of the hat at the same tick as another": 1} == music.left_out
        opened = Ornament.OPEN if second > first else NONE
        assert (0, opened) == struck(music)[0]
        assert heard in {c.low for c in music.clusters}


HANDS = {
    b"RL": [Hand.RIGHT, Hand.LEFT, None], b"-L": [None, Hand.LEFT, None], b"R": [None] * 3,
    b"RLR": [None] * 3, b"Rx": [None] * 3, b"la": [None] * 3, b"--": [None] * 3,
}  # fmt: skip


@pytest.mark.parametrize("word", HANDS)
def test_a_lyric_says_hands_where_it_has_a_letter_for_each(word: bytes) -> None:
    """From the top of the kit down, at its own tick alone; other words are sung, not played."""
    music = read([(0, 80, 42), (0, 80, 38), (480, 80, 38)], (0, LYRIC, word))
    assert HANDS[word] == [stroke.hand for stroke in music.strokes]
    elsewhere = read([(0, 80, 42), (0, 80, 38)], (7, LYRIC, word))
    assert [None, None] == [stroke.hand for stroke in elsewhere.strokes]


def test_bars_run_to_the_end_or_a_little_past_the_last_note() -> None:
    """The bar of the last note always; of silent ones as many as there are, four at most.

    A note on a bar's first tick has that bar.
    """
    assert [1, 1, 2, 2] == [len(read([(tick, 80)], end=0).bars) for tick in (0, 1919, 1920, 3839)]
    assert [1, 2, 2, 5, 5, 5] == [
        len(read([(0, 80)], end=end).bars) for end in (1920, 1921, 3840, 9600, 9601, 90_000)
    ]


def test_a_file_of_as_many_bars_as_are_read_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """One bar more, or one note more, is refused."""
    monkeypatch.setattr(midi_reading, "MAX_BARS_READ", 3)
    assert 3 == len(read([(5759, 80)]).bars)
    with pytest.raises(ExchangeError, match="longer than 3 bars"):
        read([(5760, 80)])
    monkeypatch.setattr(midi_reading, "MAX_STROKES", 2)
    assert 2 == len(read([(0, 80), (480, 80)]).strokes)
    with pytest.raises(ExchangeError, match="more than 2 notes"):
        read([(0, 80), (480, 80), (960, 80)])


def meter(tick: int, beats: int, power: int) -> Said:
    """Return a time signature, whose unit is a power of two."""
    return tick, METER, bytes((beats, power, 24, 8))


@pytest.mark.parametrize(
    ("beats", "power", "told"),
    [(3, 2, "3/4"), (6, 3, "6/8"), (2, 1, "4/4"), (3, 1, "6/4"), (7, 3, "2+2+3/8")],
)
def test_a_meter_is_read_with_its_unit(beats: int, power: int, told: str) -> None:
    """Halves become twice as many quarters; a bar is as long as it says."""
    music = read([(0, 80), (4000, 80)], meter(0, beats, power))
    first, second, *_ = music.bars
    assert told.split("/")[1] == str(first.meter).split("/")[1]
    assert first.meter.beats == beats * (2 if power == 1 else 1)
    assert Fraction(beats * 4, 2**power) == second.start


@pytest.mark.parametrize(("beats", "power"), [(4, 0), (4, 4), (4, 5), (4, 200), (0, 2)])
def test_a_meter_that_is_none_of_ours_is_refused(beats: int, power: int) -> None:
    """Whole notes, sixteenths and worse; a bar without a beat."""
    told = f"a meter of {beats}/{2 ** min(power, 9)} cannot be written"
    with pytest.raises(ExchangeError, match=told):
        read([(0, 80)], meter(0, beats, power))


def test_a_meter_changes_with_the_next_bar() -> None:
    """Inside a bar it begins the one after; one byte is no meter."""
    music = read([(0, 80), (6000, 80)], meter(0, 3, 2), meter(1440, 4, 2), meter(1500, 2, 2))
    assert [3, 4, 2, 2, 2] == [bar.meter.beats for bar in music.bars]
    assert [0, 3, 7, 9, 11] == [bar.start for bar in music.bars]
    broken = read([(0, 80)], (0, METER, b"\x03"), end=0)
    assert [4] == [bar.meter.beats for bar in broken.bars]
    short = read([(0, 80)], (0, METER, b"\x03\x02"), end=0)
    assert [3] == [bar.meter.beats for bar in short.bars]


def test_a_section_has_its_first_title_and_its_feel() -> None:
    """The first marker in its bar; the feel that is said in that bar, or straight."""
    music = read(
        [(0, 80), (6000, 80)],
        (10, MARKER, b"one"), (10, MARKER, b"again"), (20, MARKER, b"later"),
        (30, TEXT, b"swing 1 2/3"),
        (1920, MARKER, b"two"), (1930, TEXT, b"a word"),
        (5759, MARKER, b"three"), (5760, TEXT, b"swing 1/2 3/5"),
    )  # fmt: skip
    assert ["one", "two", "three", None] == [bar.title for bar in music.bars]
    feels = [None if bar.swing is None else bar.swing.share for bar in music.bars]
    assert [Fraction(2, 3), None, None, None] == feels
    kept = read([(0, 80), (2000, 80)], (0, MARKER, b"a"), (0, TEXT, b"swing 1 2/3"))
    assert [Fraction(2, 3)] * 2 == [bar.swing.share for bar in kept.bars if bar.swing]


@pytest.mark.parametrize(
    "words",
    [b"swing", b"swing 1", b"swing 1 2/3 4", b"Swing 1 2/3", b"swing 1 x", b"swing 1 1/0",
     b"swing 1 9", b"feel 1 2/3", b""],
)  # fmt: skip
def test_other_words_are_no_feel(words: bytes) -> None:
    """A pair and a share, both numbers that can be."""
    music = read([(0, 80)], (0, MARKER, b"a"), (0, TEXT, words), end=0)
    assert [None] == [bar.swing for bar in music.bars]


def test_a_swung_note_is_written_where_its_partial_is() -> None:
    """At two thirds of a swung beat stands the &, in every bar of the section."""
    said = ((0, MARKER, b"a"), (0, TEXT, b"swing 1 2/3"))
    music = read([(0, 80), (320, 80), (1920, 80), (2240, 80), (2400, 80)], *said)
    assert [0, Fraction(1, 2), 4, Fraction(9, 2), 5] == [stroke.at for stroke in music.strokes]
    eighths = read([(160, 80)], meter(0, 6, 3), *said)
    assert [Fraction(1, 4)] == [stroke.at for stroke in eighths.strokes]
    straight = (1920, MARKER, b"b")
    both = read([(320, 80), (1920, 80), (2240, 80)], *said, straight)
    assert [Fraction(1, 2), 4, Fraction(14, 3)] == [stroke.at for stroke in both.strokes]


@pytest.mark.parametrize(
    ("marker", "title"),
    [(b"x" * 250, "x" * 200), (b" a ", "a"), (b"a\x07b", "a b"), ("é".encode(), "é")],
)
def test_a_marker_is_a_line_of_two_hundred_bytes(marker: bytes, title: str) -> None:
    """Printable, in UTF-8, without spaces at its ends."""
    assert title == read([(0, 80)], (0, MARKER, marker)).bars[0].title


@pytest.mark.parametrize("key", [76, 77])
def test_a_click_is_left_out_unless_a_table_has_it(key: int) -> None:
    """The wood blocks of General MIDI; whoever plays them as drums says so."""
    hits = [Timed(0, 2, note(key, 80, 10)), Timed(480, 2, note(38, 80, 10))]
    data = file_bytes([track_bytes(hits, 1920)], 480)
    music = read_midi(data, name="x.mid")
    assert music.clicked
    assert {f"notes of key {key}: click": 1} == music.left_out
    mapped = read_midi(data, name="x.mid", keys={key: Voice.TOM})
    assert not mapped.clicked
    assert [Voice.TOM, Voice.SNARE] == [stroke.voice for stroke in mapped.strokes]
    dropped = read_midi(data, name="x.mid", keys={key: None})
    assert not dropped.clicked
    assert {f"notes of key {key}: not in the kit": 1} == dropped.left_out


def test_an_open_hat_is_open_unless_a_table_has_its_key() -> None:
    """Key 46 rings; as another voice, or as the hat by the reader's own word, it does not."""
    hits = [Timed(0, 2, note(46, 80, 10))]
    data = file_bytes([track_bytes(hits, 1920)], 480)
    for keys, expected in (({}, Ornament.OPEN), ({46: Voice.HAT}, NONE), ({46: Voice.RIDE}, NONE)):
        (stroke,) = read_midi(data, name="x.mid", keys=keys).strokes
        assert expected is stroke.ornament


def test_a_note_of_no_velocity_is_an_end() -> None:
    """As Standard MIDI Files 1.1 and MIDI 1.0 have it: it begins nothing, on no channel."""
    silent = Timed(0, 2, bytes((0x90, 38, 0)))
    data = file_bytes([track_bytes([silent, Timed(1, 2, note(38, 1, 10))], 9)], 480)
    music = read_midi(data, name="x.mid")
    assert ({}, [Level.GHOST]) == (music.left_out, [stroke.level for stroke in music.strokes])
    only = file_bytes([track_bytes([silent], 9)], 480)
    with pytest.raises(ExchangeError, match="no note of a drum; say what its keys are with --key"):
        read_midi(only, name="x.mid")


def test_a_tempo_counts_the_pulse_of_the_first_meter() -> None:
    """500,000 us a quarter are 120; in six eight 80 dotted quarters; the first tempo is taken."""
    tempo, later = (0, TEMPO, b"\x07\xa1\x20"), (480, TEMPO, b"\x01\x00\x00")
    broken = (0, TEMPO, b"\x01")
    assert pytest.approx(120) == read([(0, 80)], broken, tempo, later).bpm
    assert pytest.approx(80) == read([(0, 80)], tempo, meter(0, 6, 3)).bpm
    assert read([(0, 80)]).bpm is None
