"""What is told of a file that was read, sentence by sentence, and where it is cut into rhythms."""

from __future__ import annotations

from fractions import Fraction

import pytest

from drillbox.paper.music_in_file import BarFrame, Cluster, MusicInFile, StrokeInFile
from drillbox.paper.transcript import transcribed
from drillbox.rhythm import Level, Voice, parse_meter
from drillbox.rhythm.swing import Swing

FOUR = parse_meter("4/4")
Told = dict[str, int]


def music(
    *bars: str,
    titles: dict[int, str] | None = None,
    bpm: float | None = 60,
    clicked: bool = False,
    clusters: tuple[Cluster, ...] = (),
    left_out: Told | None = None,
    remarks: tuple[str, ...] = (),
    meters: dict[int, str] | None = None,
    swings: dict[int, Swing] | None = None,
) -> MusicInFile:
    """Return a file of bars, each the quarters at which the snare is struck; bars count from 0."""
    frames, strokes, start = [], [], Fraction(0)
    for number, bar in enumerate(bars):
        meter = parse_meter((meters or {}).get(number, "4/4"))
        title = (titles or {}).get(number)
        frames.append(BarFrame(meter, start, title, (swings or {}).get(number)))
        strokes += [StrokeInFile(start + Fraction(at), Voice.SNARE) for at in bar.split()]
        start = frames[-1].end
    said = (tuple(frames), tuple(strokes), bpm, clusters, left_out or {})
    return MusicInFile(*said, clicked=clicked, remarks=remarks)


def cut(read: MusicInFile, bars: int | None = None) -> list[tuple[str, int, tuple[int, ...]]]:
    """Return title, bars and places of every rhythm that is found."""
    found = transcribed(read, bars=bars).found
    return [(each.title, each.pattern.bars, each.bars) for each in found]


def report(read: MusicInFile) -> tuple[str, ...]:
    """Return what is told of a file."""
    return transcribed(read).report


A, B, EMPTY = "0 1", "0 2", ""


def test_without_a_mark_every_bar_is_a_rhythm() -> None:
    """Named by where it stands first; one that comes again is found once, with all its places."""
    assert [("bar 1", 1, (1, 3)), ("bar 2", 1, (2,))] == cut(music(A, B, A))
    assert [("bar 2", 1, (2,))] == cut(music(EMPTY, A, EMPTY))


def test_a_section_is_its_shortest_period() -> None:
    """A A is one bar twice, A B A B two bars twice, A B A three; eight bars are kept, nine cut."""
    marked = {0: "s"}
    assert [("s", 1, (1, 2))] == cut(music(A, A, titles=marked))
    assert [("s", 2, (1, 3))] == cut(music(A, B, A, B, titles=marked))
    assert [("s", 3, (1,))] == cut(music(A, B, A, titles=marked))
    assert [("s", 4, (1,))] == cut(music(A, A, A, B, titles=marked))
    different = [f"{n}/4" for n in range(9)]
    assert [("s", 8, (1,))] == cut(music(*different[:8], titles=marked))
    nine = cut(music(*different, titles=marked))
    assert [(f"bar {n}", 1, (n,)) for n in range(1, 10)] == nine


def test_sections_begin_where_they_are_marked() -> None:
    """What stands before the first mark is cut into bars; a section that comes again is found once.

    Under its first name.
    """
    read = music(A, B, A, B, B, A, B, titles={1: "one", 3: "two", 5: "three"})
    assert [("bar 1", 1, (1,)), ("one", 2, (2,)), ("two", 1, (4, 5)), ("three", 2, (6,))] == cut(
        read
    )
    again = music(A, B, A, B, titles={0: "first", 2: "second"})
    assert [("first", 2, (1, 3))] == cut(again)


def test_so_many_bars_are_cut_when_they_are_asked_for() -> None:
    """From every section's beginning, the rest of it shorter; titles are then those of bars."""
    read = music(A, B, A, B, B, titles={0: "one", 3: "two"})
    assert [("bar 1", 1, (1, 3)), ("bar 2", 1, (2, 4, 5))] == cut(read, bars=1)
    assert [("bar 1", 2, (1,)), ("bar 3", 1, (3,)), ("bar 4", 2, (4,))] == cut(read, bars=2)


@pytest.mark.parametrize("clicked", [False, True])
def test_silence_at_the_end_is_a_count_in_where_there_was_a_click(*, clicked: bool) -> None:
    """Then it belongs to no rhythm; else it is part of the section."""
    read = music(A, EMPTY, B, titles={0: "one", 2: "two"}, clicked=clicked)
    one = ("one", 1, (1,)) if clicked else ("one", 2, (1,))
    assert [one, ("two", 1, (3,))] == cut(read)
    silent = music(EMPTY, EMPTY, A, titles={0: "none", 2: "two"}, clicked=clicked)
    assert [("two", 1, (3,))] == cut(silent)
    told = report(silent)
    assert "2 bars without a stroke left out." in told


def test_a_change_of_meter_or_feel_cuts_a_rhythm() -> None:
    """What is written in one meter and one feel stays together."""
    waltz = music(A, A, B, titles={0: "s"}, meters={2: "3/4"})
    assert [("s", 2, (1,)), ("s", 1, (3,))] == cut(waltz)
    swung = music(A, B, B, titles={0: "s"}, swings={1: Swing(Fraction(2, 3), Fraction(1))})
    assert [("s", 1, (1,)), ("s", 1, (2,)), ("s", 1, (3,))] == cut(swung)


def test_a_file_that_stands_on_its_grid_is_told_in_three_sentences() -> None:
    """How many bars and rhythms, which grids in beats with a stroke, that nothing was moved."""
    assert (
        "3 bars, 2 different rhythms.", "1 bar without a stroke left out.",
        "Grids: 16 in 3 beats, 8t in 1 beat.", "No stroke was moved.",
    ) == report(music("0 1/4 2", EMPTY, "1 4/3 5/3 2"))  # fmt: skip


@pytest.mark.parametrize(
    ("at", "bpm", "mean", "far"),
    [
        ("0 1.02 2.988", 60.0, "16 ms", "20"),
        ("0 1.02 2.988", 120.0, "8 ms", "10"),
        ("0 1.02 2.988", 1.0, "960 ms", "1200"),
        ("0 1.02 2.988", None, "2 hundredths of a beat", "2"),
        ("0 1.05 2.95", None, "5 hundredths of a beat", "5"),
    ],
)
def test_how_far_strokes_were_moved_is_told_in_time(
    at: str, bpm: float | None, mean: str, far: str
) -> None:
    """In milliseconds where the tempo is known, else in hundredths of a beat, with the farthest.

    Twelve and twenty thousandths of a quarter at 60 bpm are as many milliseconds.
    """
    (told,) = (line for line in report(music("0 1", at, bpm=bpm)) if "moved" in line)
    assert told == (
        f"2 of 5 strokes moved, {mean} on average, {far} at most (bar 2, the snare in beat 2)."
    )


def test_what_was_read_besides_is_told() -> None:
    """Velocities as ranges or as one, what was left out and how often, remarks as sentences."""
    clusters = (
        Cluster(Level.GHOST, 20, 30, 1), Cluster(Level.PLAIN, 70, 70, 2),
        Cluster(Level.ACCENT, 100, 101, 3),
    )  # fmt: skip
    told = report(
        music(A, clusters=clusters, left_out={"notes of key 1": 4}, remarks=("a remark",))
    )
    assert told[3:] == (
        (
            "Velocities: ghost 20 to 30 (1 stroke), plain 70 (2 strokes), accent 100 to 101 "
            "(3 strokes)."
        ),
        "Left out: 4 notes of key 1.",
        "A remark.",
    )
    assert 3 == len(report(music(A)))


def test_strokes_that_fell_together_are_told() -> None:
    """How many were dropped for a louder one, over all bars."""
    told = report(music("0 0.005 1 1.005", "2 2.005", bpm=None))
    assert "3 strokes fell on a place with another of its voice; the louder one stayed." in told
    assert not any("fell on a place" in line for line in report(music(A)))


@pytest.mark.parametrize(("meter", "bpm"), [("4/4", 90.0), ("6/8", 60.0)])
def test_a_tempo_is_handed_on(meter: str, bpm: float) -> None:
    """In pulses a minute, as the file was read; None where it says none."""
    assert bpm == transcribed(music("0", meters={0: meter}, bpm=bpm)).bpm
    assert transcribed(music("0", bpm=None)).bpm is None
