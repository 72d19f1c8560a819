"""When each note of a written MIDI file begins and ends, as mido reads it; 480 ticks a quarter."""

from __future__ import annotations

import io
from fractions import Fraction
from itertools import pairwise
from typing import Any

import mido
import pytest

from drillbox.paper.exercise import Collection, Exercise
from drillbox.paper.midi_writing import midi_file
from drillbox.rhythm import Level, Pattern, bounces, grace_seconds, parse, strikes


def tracks(*texts: str, bpm: float = 60, **how: Any) -> list[mido.MidiTrack]:
    """Return the tracks of exercises in a file."""
    exercises = tuple(Exercise(f"t{n}", parse(text), bpm) for n, text in enumerate(texts))
    data = midi_file(Collection("all", exercises), **how)
    return list(mido.MidiFile(file=io.BytesIO(data)).tracks)


def sounding(track: mido.MidiTrack) -> list[tuple[int, int, int, int]]:
    """Return begin, end, key and velocity of every note of a track."""
    tick = 0
    begun: dict[int, tuple[int, int]] = {}
    found = []
    for message in track:
        tick += message.time
        if message.type == "note_on" and message.velocity:
            begun[message.note] = tick, message.velocity
        elif message.type in {"note_on", "note_off"}:
            begin, velocity = begun.pop(message.note)
            found.append((begin, tick, message.note, velocity))
    assert {} == begun
    return sorted(found)


def begins(text: str, **how: Any) -> list[int]:
    """Return when the drums of one exercise begin to sound."""
    return [begin for begin, *_ in sounding(tracks(text, **how)[1])]


def said(track: mido.MidiTrack, kind: str) -> list[tuple[int, str]]:
    """Return when what is said in words of a kind."""
    tick, found = 0, []
    for message in track:
        tick += message.time
        if message.type == kind:
            found.append((tick, message.name if kind == "track_name" else message.text))
    return found


def lasts(track: mido.MidiTrack) -> int:
    """Return how many ticks a track has."""
    return sum(message.time for message in track)


def test_a_note_ends_after_sixty_ticks_or_before_the_next() -> None:
    """Of its own key; the last one with the file at the latest; another key does not cut it."""
    doubled = sounding(tracks("grid: 32\nsnare: /1 2 4a.\nbass: 2.")[1])
    snare = [(begin, end) for begin, end, key, _ in doubled if key == 38]
    assert [(0, 30), (30, 90), (480, 540), (1860, 1920)] == snare
    assert [(540, 600)] == [(begin, end) for begin, end, key, _ in doubled if key == 36]
    close = sounding(tracks("grid: 32\nsnare: /4a.")[1])
    assert [(1860, 1890), (1890, 1920)] == [(begin, end) for begin, end, *_ in close]


def test_exercises_follow_each_other_pass_by_pass() -> None:
    """Each as often as asked, after its count-in; every track is as long as all of them."""
    three = "meter: 3/4\nsnare: 1"
    assert [0, 1440, 2880] == begins(three, passes=3)
    assert [1440, 2880] == begins(three, passes=2, count_in_bars=1)
    assert [2880] == begins(three, count_in_bars=2)
    for how, starts, end in (
        ({}, [0, 1920], 3360),
        ({"passes": 2}, [0, 3840], 6720),
        ({"count_in_bars": 1, "passes": 2}, [1920, 7200], 10080),
    ):
        all_tracks = tracks("snare: 1", three, **how)
        assert [(starts[0], "t0"), (starts[1], "t1")] == said(all_tracks[0], "marker")
        assert {end} == {lasts(track) for track in all_tracks}


def test_two_bars_are_passed_as_one() -> None:
    """The second pass begins after both."""
    assert [0, 2400, 3840, 6240] == begins("snare: 1 | 2", passes=2)


def test_tracks_have_names() -> None:
    """The collection's title, then what plays; the click is there where it is asked for."""
    for how, names in (
        ({}, ["all", "drums"]),
        ({"click": True}, ["all", "drums", "click"]),
        ({"count_in_bars": 1}, ["all", "drums", "click"]),
    ):
        found = tracks("snare: 1", **how)
        assert names == [name for track in found for _, name in said(track, "track_name")]
        assert [(0, "drillbox")] == said(found[0], "text")


@pytest.mark.parametrize(
    ("meter", "ticks"),
    [
        ("4/4", [0, 480, 960, 1440]), ("3/4", [0, 480, 960]), ("6/8", [0, 720]),
        ("12/8", [0, 720, 1440, 2160]),
    ],
)  # fmt: skip
def test_a_click_is_a_wood_block_a_pulse(meter: str, ticks: list[int]) -> None:
    """The high one of General MIDI, 76, on one and the low one, 77, on the others; as loud."""
    found = sounding(tracks(f"meter: {meter}\nsnare: 1", click=True)[2])
    assert ticks == [begin for begin, *_ in found]
    assert [76] + [77] * (len(ticks) - 1) == [key for *_, key, _ in found]
    assert {(60, 100)} == {(end - begin, velocity) for begin, end, _, velocity in found}
    counted = sounding(tracks(f"meter: {meter}\nsnare: 1", count_in_bars=1, passes=3)[2])
    assert ticks == [begin for begin, *_ in counted]


def early(pattern: Pattern, bpm: int, beat: int) -> list[int]:
    """Return how many ticks graces come before their stroke at a tempo."""
    seconds = Fraction(60, bpm) / pattern.meter.pulse
    return [
        round(grace_seconds(strike.early, strike.length * seconds) / seconds * beat)
        for strike in strikes(pattern)
        if strike.early
    ]


@pytest.mark.parametrize(("bpm", "meter", "beat"), [(60, "4/4", 480), (120, "4/4", 480),
                                                     (60, "6/8", 240)])  # fmt: skip
def test_graces_come_so_many_milliseconds_early(bpm: int, meter: str, beat: int) -> None:
    """Softly, at any tempo; those before a pass's start stand in the pass before, if there is."""
    text = f"meter: {meter}\nsnare: >d3"
    notes = sounding(tracks(text, bpm=bpm)[1])
    before = early(parse(text), bpm, beat)
    assert [2 * beat - away for away in before] == pytest.approx(
        [begin for begin, *_ in notes[:-1]], abs=1
    )
    assert 2 * beat == notes[-1][0]
    assert all(velocity < Level.ACCENT.velocity for *_, velocity in notes[:-1])
    flam = f"meter: {meter}\nsnare: f1"
    first = begins(flam, bpm=bpm, passes=2)
    assert 3 == len(first)
    assert first[0] == 0 < first[1] < first[2]
    assert first[2] - first[1] == pytest.approx(early(parse(flam), bpm, beat)[0], abs=1)


@pytest.mark.parametrize("bpm", [60, 100])
@pytest.mark.parametrize("level", ["", "(", ">"])
def test_a_buzz_bounces_until_its_partial_ends(bpm: int, level: str) -> None:
    """Its bounces fall as those that are heard: half as many decibels of velocity, one at least.

    Velocity is taken for the square root of loudness, 40 decibels a tenth (assumption).
    """
    text = f"snare: {level}z2{')' if level == '(' else ''}"
    pattern = parse(text)
    (strike,) = strikes(pattern)
    seconds = strike.length * 60 / bpm
    first, *notes = sounding(tracks(text, bpm=bpm)[1])
    loud = strike.level.velocity
    assert (480, loud) == (first[0], first[3])
    expected = [
        (float(480 + each.after * bpm / 60 * 480), max(1, round(loud * 10 ** (each.db / 40))))
        for each in bounces(seconds)
    ]
    inside = [each for each in expected if each[0] < 480 + float(strike.length) * 480]
    assert len(inside) > 2
    assert [tick for tick, _ in inside] == pytest.approx([n[0] for n in notes], abs=1)
    assert [force for _, force in inside] == [n[3] for n in notes]
    for one, other in pairwise([first, *notes]):
        assert one[1] <= other[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("snare: /1e", [(120, "snare double 120")]),
        ("grid: 8t\nsnare: /1t", [(160, "snare double 160")]),
        ("meter: 6/8\nhat: beat &\nsnare: /2", [(240, "snare double 120")]),
        ("snare: f2", [(480, "snare flam 120")]),
        ("snare: z2", [(480, "snare buzz 120")]),
        ("hat: o2", []),
        ("snare: >2", []),
    ],
)
def test_a_word_names_what_the_notes_do_not_tell(text: str, words: list[tuple[int, str]]) -> None:
    """And for how many ticks they are its own: those of its partial; an open hat has a key."""
    found = said(tracks(text)[1], "text")
    assert words == found


def test_hands_and_words_stand_in_every_pass() -> None:
    """At the stroke, where a swung one sounds; a letter for each stroke there, from the top."""
    text = "swing: 8 2:1\nhat: R1 1&\nsnare: L1& f2"
    drums = tracks(text, passes=2)[1]
    assert [(0, "R"), (320, "-L"), (1920, "R"), (2240, "-L")] == said(drums, "lyrics")
    ticks = [tick for tick, _ in said(drums, "text")]
    assert [480, 2400] == ticks
