"""Written music by worked examples: note values, beams, velocities, grids, MIDI bytes.

Notes are told as ``value@start+length`` in 24ths of a quarter, rests with an ``r`` in front, dots
after the value, a triplet's partial after a slash and its ends in brackets.
"""

from __future__ import annotations

import struct
from fractions import Fraction

import pytest

from drillbox.base.midi_events import read_smf
from drillbox.errors import ExchangeError
from drillbox.paper.beaming import beams
from drillbox.paper.instruments import KIT, key_of, rings, voice_of_key
from drillbox.paper.music_in_file import BarFrame, StrokeInFile
from drillbox.paper.note_values import bar_divisions, beam_groups, write_bar
from drillbox.paper.quantising import written_bars
from drillbox.paper.smf import Timed, file_bytes, meta, note, track_bytes, variable_length
from drillbox.paper.velocities import clusters, level_of
from drillbox.rhythm import Level, Ornament, Voice, parse, parse_meter


def written(text: str, *, bar: int = 0, feet: bool = False) -> str:
    """Return a bar of hands or feet as one writes it down."""
    told = []
    for event in write_bar(parse(text), bar, feet=feet):
        slot = f"/{event.slot}" if event.slot else ""
        ends = ("[" if event.opens else "") + ("]" if event.closes else "")
        name = ("" if event.strokes else "r") + event.value + "." * event.dots
        told.append(f"{name}@{event.at}+{event.length}{slot}{ends}")
    return " ".join(told)


HANDS = {
    "snare: 1": "quarter@0+24 rquarter@24+24 rhalf@48+48",
    "snare: 1 3": "quarter@0+24 rquarter@24+24 quarter@48+24 rquarter@72+24",
    "snare: 1 1a 2e": "eighth.@0+18 16th@18+6 r16th@24+6 eighth.@30+18 rhalf@48+48",
    "snare: 1e": "r16th@0+6 eighth.@6+18 rquarter@24+24 rhalf@48+48",
    "snare: (1e)": "r16th@0+6 eighth@6+12 r16th@18+6 rquarter@24+24 rhalf@48+48",
    "snare: 1 2&": "quarter@0+24 reighth@24+12 eighth@36+12 rhalf@48+48",
    "grid: 8t\nsnare: 1 1t 1l 2l": (
        "eighth@0+8/8[ eighth@8+8/8 eighth@16+8/8] rquarter@24+16/8[ eighth@40+8/8] rhalf@48+48"
    ),
    "grid: 8t\nsnare: 1t 3 3l": (
        "reighth@0+8/8[ quarter@8+16/8] rquarter@24+24 quarter@48+16/8[ eighth@64+8/8]"
        " rquarter@72+24"
    ),
    "grid: 16t\nsnare: 1 1t 1l 1& 1&t 1&l 2t 2&": (
        "16th@0+4/4[ 16th@4+4/4 16th@8+4/4] 16th@12+4/4[ 16th@16+4/4 16th@20+4/4]"
        " r16th@24+4/4[ eighth@28+8/4] eighth@36+12 rhalf@48+48"
    ),
    "grid: 16t\nsnare: 1 1& 2l": (
        "eighth@0+12 eighth@12+12 reighth@24+8/8[ quarter@32+16/8] rhalf@48+48"
    ),
    "grid: 32\nsnare: 1 1. 1e 2.": (
        "32nd@0+3 32nd@3+3 eighth.@6+18 r32nd@24+3 eighth.@27+18 r32nd@45+3 rhalf@48+48"
    ),
    "meter: 6/8\nsnare: 1 2 3 4 6": (
        "eighth@0+12 eighth@12+12 eighth@24+12 quarter@36+24 eighth@60+12"
    ),
    "meter: 6/8\nsnare: 1 4&": "quarter.@0+36 r16th@36+6 quarter@42+24 r16th@66+6",
    "meter: 6/8\nsnare: (1)": "quarter@0+24 reighth@24+12 rquarter.@36+36",
    "meter: 7/8\nsnare: 1 3 5 7": "quarter@0+24 quarter@24+24 quarter@48+24 eighth@72+12",
    "meter: 3/4\nsnare: 2": "rquarter@0+24 quarter@24+24 rquarter@48+24",
    "snare: /1 z2 /3e": (
        "16th@0+6 r16th@6+6 reighth@12+12 16th@24+6 r16th@30+6 reighth@36+12 r16th@48+6 16th@54+6"
        " reighth@60+12 rquarter@72+24"
    ),
    "bass: 1": "rmeasure@0+96",
    "meter: 12/8\nhat: 1 2 3 5 6": (
        "eighth@0+12 eighth@12+12 eighth@24+12 reighth@36+12 eighth@48+12 eighth@60+12"
        " rquarter.@72+36 rquarter.@108+36"
    ),
}


@pytest.mark.parametrize("text", HANDS)
def test_notes_and_rests_are_written_as_a_copyist_would(text: str) -> None:
    """A note to the next one or the beat's end, rests on multiples of themselves, no dotted ghost.

    Common practice, no source.
    """
    assert HANDS[text] == written(text)


def test_hands_and_feet_are_written_apart() -> None:
    """Each has its own notes and rests, each bar by itself."""
    groove = "hat: 1 | 3\nbass: 1 3 | 2"
    assert "quarter@0+24 rquarter@24+24 quarter@48+24 rquarter@72+24" == written(groove, feet=True)
    assert "rquarter@0+24 quarter@24+24 rhalf@48+48" == written(groove, bar=1, feet=True)
    assert "rhalf@0+48 quarter@48+24 rquarter@72+24" == written(groove, bar=1)


@pytest.mark.parametrize(
    ("meter", "groups", "length"),
    [
        ("4/4", (0, 24, 48, 72), 96), ("3/4", (0, 24, 48), 72), ("6/8", (0, 36), 72),
        ("7/8", (0, 24, 48), 84), ("12/8", (0, 36, 72, 108), 144), ("3/8", (0,), 36),
    ],
)  # fmt: skip
def test_beams_begin_with_the_beat(meter: str, groups: tuple[int, ...], length: int) -> None:
    """In quarters at each, in eighths at each group felt together; 24 divisions a quarter."""
    assert (groups, length) == (beam_groups(parse_meter(meter)), bar_divisions(parse_meter(meter)))


B, C, E = "begin", "continue", "end"
F, H = "forward hook", "backward hook"
BEAMED: dict[str, dict[int, tuple[str, ...]]] = {
    "snare: 1 1a": {0: (B,), 1: (E, H)},
    "snare: 1 1e": {0: (B, F), 1: (E,)},
    "snare: 1 1e 1a": {0: (B, F), 1: (C,), 2: (E, H)},
    "snare: 1e 1& 1a": {1: (B, B), 2: (C, C), 3: (E, E)},
    "snare: 1 1& 1a": {0: (B,), 1: (C, B), 2: (E, E)},
    "snare: 1 2": {},
    "snare: 1& 2": {},
    "grid: 32\nsnare: 1 1. 1e": {0: (B, B, B), 1: (C, E, E), 2: (E,)},
    "grid: 8t\nsnare: 1 1t 1l": {0: (B,), 1: (C,), 2: (E,)},
    "grid: 16t\nsnare: 1 1t 1l 1& 1&t 1&l": {
        0: (B, B), 1: (C, C), 2: (C, E), 3: (C, B), 4: (C, C), 5: (E, E),
    },
    "meter: 6/8\nsnare: 1 2 3 5 6": {0: (B,), 1: (C,), 2: (E,), 4: (B,), 5: (E,)},
}  # fmt: skip


@pytest.mark.parametrize("text", BEAMED)
def test_a_beam_joins_the_notes_of_one_beat(text: str) -> None:
    """Hooks point into the beat; fine beams break at its half; nothing hangs alone."""
    pattern = parse(text)
    assert BEAMED[text] == beams(write_bar(pattern, 0, feet=False), pattern.meter)


@pytest.mark.parametrize(
    ("velocities", "expected"),
    [
        ([28, 67, 118], [("ghost", 28, 28), ("plain", 67, 67), ("accent", 118, 118)]),
        ([49], [("ghost", 49, 49)]),
        ([50], [("plain", 50, 50)]),
        ([60, 80], [("plain", 60, 60), ("accent", 80, 80)]),
        ([49, 99], [("ghost", 49, 49), ("plain", 99, 99)]),
        ([49, 100], [("ghost", 49, 49), ("accent", 100, 100)]),
        ([50, 66], [("plain", 50, 50), ("accent", 66, 66)]),
        ([50, 65], [("plain", 50, 65)]),
        ([20, 40, 60, 80, 100], [("ghost", 20, 60), ("plain", 80, 80), ("accent", 100, 100)]),
        ([30, 50, 90, 95, 127], [("ghost", 30, 50), ("plain", 90, 95), ("accent", 127, 127)]),
        ([40, 40, 40, 60], [("ghost", 40, 40), ("plain", 60, 60)]),
    ],
)
def test_velocities_are_cut_at_their_gaps(
    velocities: list[int], expected: list[tuple[str, int, int]]
) -> None:
    """Sixteen apart are two levels, fifteen one; below 50 a ghost, from 100 an accent (judgement).

    Of more than three clusters those that are closest are one.
    """
    found = clusters(velocities)
    assert expected == [(str(one.level), one.low, one.high) for one in found]
    assert len(velocities) == sum(one.strokes for one in found)


def test_a_velocity_between_belongs_to_the_nearer_level() -> None:
    """Between a ghost of 28 and an accent of 118 the middle is 73; of equals the softer."""
    found = clusters([28, 118])
    assert [Level.GHOST, Level.GHOST, Level.ACCENT] == [level_of(found, v) for v in (1, 73, 74)]


def heard(*at: str, level: Level = Level.PLAIN) -> list[StrokeInFile]:
    """Return strokes of the snare at quarters from the start."""
    return [StrokeInFile(Fraction(one), Voice.SNARE, level, Ornament.NONE, None) for one in at]


def frames(count: int = 1, meter: str = "4/4") -> list[BarFrame]:
    """Return bars in order."""
    one = parse_meter(meter)
    quarters = Fraction(one.beats * 4, one.unit)
    return [BarFrame(one, n * quarters, None) for n in range(count)]


@pytest.mark.parametrize(
    ("at", "grid", "places"),
    [
        (("0", "1/4", "1/2"), 4, ("0", "1/4", "1/2")),
        (("0", "1/3", "2/3"), 3, ("0", "1/3", "2/3")),
        (("0", "1/6", "1/3"), 6, ("0", "1/6", "1/3")),
        (("0", "1/8"), 8, ("0", "1/8")),
        (("0.01", "0.26", "0.49"), 4, ("0", "1/4", "1/2")),
        (("0", "0.34", "0.66"), 3, ("0", "1/3", "2/3")),
    ],
)
def test_a_beat_has_the_coarsest_grid_that_explains_it(
    at: tuple[str, ...], grid: int, places: tuple[str, ...]
) -> None:
    """Sixteenths unless triplets, or finer ones, explain it better."""
    (bar,) = written_bars(frames(), heard(*at), bpm=100.0, tell_doubles=False)
    assert (grid, 4, 4, 4) == bar.grids
    assert [Fraction(place) for place in places] == [stroke.at for stroke in bar.strokes]


def test_two_equal_strokes_may_be_one_double() -> None:
    """Half a partial apart and alike they are, where it may be told; louder second ones are not."""
    pair = heard("0", "1/8", "1/4", "3/8")
    (bar,) = written_bars(frames(), pair, bpm=100.0, tell_doubles=True)
    assert [(0, Ornament.DOUBLE), (Fraction(1, 4), Ornament.DOUBLE)] == [
        (s.at, s.ornament) for s in bar.strokes
    ]
    (bar,) = written_bars(frames(), pair, bpm=100.0, tell_doubles=False)
    assert (8, 4) == (bar.grids[0], len(bar.strokes))
    unlike = [pair[0], *heard("1/8", level=Level.ACCENT)]
    (bar,) = written_bars(frames(), unlike, bpm=100.0, tell_doubles=True)
    assert [Ornament.NONE] * 2 == [s.ornament for s in bar.strokes]


def test_what_is_moved_is_told_with_its_place() -> None:
    """A stroke a fiftieth of a beat late in the second bar: bar 2, beat 3, back by a fiftieth.

    What falls on the beat after the last bar begins the first one anew.
    """
    bars = written_bars(frames(2), heard("0", "6.02"), bpm=100.0, tell_doubles=False)
    (moved,) = bars[1].moved
    assert (2, 3, Fraction(-1, 50)) == (moved.bar, moved.beat, moved.by)
    assert [2] == [stroke.at for stroke in bars[1].strokes]
    around = written_bars(frames(), heard("3.99"), bpm=100.0, tell_doubles=False)
    assert [0] == [stroke.at for stroke in around[0].strokes]


def test_of_two_on_one_place_the_louder_one_stays() -> None:
    """And the clash is counted; two voices on one place are none."""
    soft, loud = heard("1.01", level=Level.GHOST), heard("0.99", level=Level.ACCENT)
    (bar,) = written_bars(frames(), [*loud, *soft], bpm=100.0, tell_doubles=False)
    assert ([Level.ACCENT], 1) == ([s.level for s in bar.strokes], bar.clashes)
    other = StrokeInFile(Fraction(1), Voice.BASS, Level.PLAIN, Ornament.NONE, None)
    (bar,) = written_bars(frames(), [*soft, other], bpm=100.0, tell_doubles=False)
    assert (2, 0) == (len(bar.strokes), bar.clashes)


def test_keys_are_those_of_general_midi() -> None:
    """Percussion key map, General MIDI level 1: 35 to 59; an open hat is 46, a closed one 42."""
    keys = {
        35: Voice.BASS, 36: Voice.BASS, 37: Voice.RIM, 38: Voice.SNARE, 40: Voice.SNARE,
        41: Voice.FLOOR, 42: Voice.HAT, 43: Voice.FLOOR, 44: Voice.PEDAL, 45: Voice.TOM,
        46: Voice.HAT, 47: Voice.TOM, 48: Voice.TOM, 49: Voice.CRASH, 50: Voice.TOM, 51: Voice.RIDE,
        52: Voice.CRASH, 53: Voice.RIDE, 55: Voice.CRASH, 57: Voice.CRASH, 59: Voice.RIDE,
        34: None, 39: None, 54: None, 56: None, 58: None, 60: None, 0: None,
    }  # fmt: skip
    assert keys == {key: voice_of_key(key) for key in keys}
    assert (46, 42, 38) == (
        key_of(Voice.HAT, Ornament.OPEN), key_of(Voice.HAT, Ornament.NONE),
        key_of(Voice.SNARE, Ornament.DOUBLE),
    )  # fmt: skip
    assert [True, False, False] == [rings(key) for key in (46, 42, 0)]
    staff = "".join(f"{row.step}{row.octave}" for row in KIT.values())
    assert "G5F5A5C5C5E5A4F4D4" == staff
    assert [v for v in Voice if KIT[v].head == "x"] == [
        Voice.HAT, Voice.RIDE, Voice.CRASH, Voice.RIM, Voice.PEDAL,
    ]  # fmt: skip


def test_events_are_bytes_as_the_standard_has_them() -> None:
    """Standard MIDI Files 1.1: status 9n and 8n, FF type length data, deltas, end of track."""
    assert bytes((0x99, 38, 100)) == note(38, 100, 10)
    assert bytes((0x89, 38, 0)) == note(38, 0, 10)
    assert bytes((0x80, 1, 0)) == note(1, 0, 1)
    assert b"\xff\x03\x02ab" == meta(3, b"ab")
    body = b"\x00A\x81\x00B\x0aC\x05\xff\x2f\x00"
    events = [Timed(138, 0, b"C"), Timed(0, 1, b"A"), Timed(128, 0, b"B")]
    assert b"MTrk" + struct.pack(">I", len(body)) + body == track_bytes(events, 143)
    assert b"MThd\x00\x00\x00\x06\x00\x01\x00\x02\x01\xe0xy" == file_bytes([b"x", b"y"], 480)
    ranked = track_bytes([Timed(5, 2, b"b"), Timed(5, 1, b"a")], 5)
    assert ranked[8:].startswith(b"\x05a\x00b\x00")
    for number in (-1, 0x10000000):
        with pytest.raises(ValueError, match=str(number)):
            variable_length(number)
    assert b"\xff\xff\xff\x7f" == variable_length(0x0FFFFFFF)


def smf(*bodies: bytes, form: int = 1, division: int = 480) -> bytes:
    """Return a file of tracks with these bytes."""
    tracks = b"".join(b"MTrk" + struct.pack(">I", len(body)) + body for body in bodies)
    return b"MThd" + struct.pack(">IHHH", 6, form, len(bodies), division) + tracks


def refusal(what: str) -> ExchangeError:
    """Return the error of a file that is read."""
    return ExchangeError(what, where="x.mid")


def test_events_are_read_as_the_standard_has_them() -> None:
    """Deltas add up, running status holds until meta or system events, channels count from one."""
    body = b"\x00\x99\x26\x40\x81\x00\x26\x00\x05\xc0\x07"
    body += b"\x00\xf0\x01\xf7\x00\x99\x26\x01\x00\xff\x2f\x00"
    file = read_smf(smf(body), refused=refusal)
    assert [(0, 0x90, 10), (128, 0x90, 10), (133, 0xC0, 1), (133, 0x90, 10), (133, 0xFF, 0x2F)] == [
        event[:3] for event in file.events
    ]
    assert (480, 133, b"\x26\x40") == (file.division, file.end, file.events[0].data)
    two = read_smf(smf(b"\x09\xff\x01\x00", b"\x04\xff\x02\x00", form=0), refused=refusal)
    assert [(4, 2), (9, 1)] == [(event.tick, event.kind) for event in two.events]


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"MThd", "this is no MIDI file"),
        (b"RIFF" + smf(b"")[4:], "this is no MIDI file"),
        (smf(b"\x00\xff\x2f\x00", form=2), "its format is 2"),
        (smf(b"\x00\xff\x2f\x00", division=0), "frames of film"),
        (smf(b"\x00\xff\x2f\x00", division=0x8000), "frames of film"),
        (smf(), "it has no track"),
        (smf(b"\x00\x99\x26\x40")[:-1], "the chunk at byte 14 says 4 bytes, but only 3 follow"),
        (smf(b"\x00\x99\x26"), "track 1 ends inside an event, at byte 2 of it"),
        (smf(b"\x00\x26\x40"), "track 1 begins an event with data that belong to none, at byte 2"),
        (smf(b"\x00\x99\x26\x80"), "track 1 has a status where data should be, at byte 4"),
        (smf(b"\x00\xf1"), "track 1 has an event 0xf1 that no file may hold, at byte 2"),
        (smf(b"\x80\x80\x80\x80\x00"), "has a number of more than four bytes, at byte 4"),
        (smf(b"", b"\x00\xf1"), "track 2 has an event"),
        (smf(b"\x00\x99\x26\x40\x00\xff\x01\x00\x00\x26\x40"), "data that belong to none"),
    ],
)
def test_a_broken_file_says_where_it_breaks(data: bytes, what: str) -> None:
    """One sentence with the track and the byte."""
    with pytest.raises(ExchangeError) as refused:
        read_smf(data, refused=refusal)
    assert what in refused.value.what
    assert "x.mid" in str(refused.value)


def test_the_longest_number_is_four_bytes() -> None:
    """0x0FFFFFFF ticks later is still a tick."""
    file = read_smf(smf(b"\xff\xff\xff\x7f\xff\x01\x00"), refused=refusal)
    assert 0x0FFFFFFF == file.end


def test_a_recording_may_count_frames_and_not_break_off() -> None:
    """Film has its own division; half an event is no end of a track, in a recording too."""
    film = smf(b"\x00\x99\x26\x40", division=0xE728)
    file = read_smf(film, refused=refusal, lenient=True)
    assert file.counts_frames
    assert [b"\x26\x40"] == [event.data for event in file.events]
    with pytest.raises(ExchangeError, match="ends inside an event"):
        read_smf(smf(b"\x00\x99\x26\x40\x10\x26"), refused=refusal, lenient=True)
    assert [] == list(read_smf(smf(b"", form=2), refused=refusal, lenient=True).events)
    with pytest.raises(ExchangeError, match="ends inside an event"):
        read_smf(smf(b"\x00\x99\x26\x40\x10\x26"), refused=refusal)
