"""A measured take in words, as a row and as values: three ways to say the same numbers."""

from __future__ import annotations

import io
import re
from contextlib import redirect_stdout
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.cli import measure_takes
from drillbox.ear import AskedTake, Measurement, PadNote, PadVoices, measure_notes, table_row
from drillbox.ear.plain_values import TABLE, take_values
from drillbox.errors import UsageError
from drillbox.rhythm import Hand, parse

if TYPE_CHECKING:
    from collections.abc import Callable

SNARE = 38
"""A snare drum's key (General MIDI 1, percussion key map)."""
MILLISECONDS = st.none() | st.floats(-60, 60)


def played(lines: str, bpm: float, passes: int, *, start: float = 0.0) -> list[PadNote]:
    """Return the notes of somebody who strikes every stroke of a snare line on its moment."""
    pattern = parse(lines)
    beat, whole = pattern.meter.beat_seconds(bpm), pattern.seconds(bpm)
    return [
        PadNote(start + turn * whole + float(stroke.at) * beat, SNARE, 80)
        for turn in range(passes)
        for stroke in pattern.strokes
    ]


@cache
def measured() -> Measurement:
    """Return a take of four bars with ghosts, measured from a pad's notes."""
    lines = "snare: >2 >4 (e) (3a)\n"
    asked = AskedTake(parse(lines), 90.0, 4, 0.0, Hand.RIGHT)
    return measure_notes(played(lines, 90.0, 4), asked, PadVoices.read(""))


@st.composite
def measurements(draw: st.DrawFn) -> Measurement:
    """Return the take with other numbers, any of which may be lacking."""
    take = measured()
    total = len(take.facts)
    heard = draw(st.integers(0, total))
    missed = draw(st.integers(0, total - heard))
    partials = tuple(
        replace(partial, mean_ms=draw(MILLISECONDS), spread_ms=draw(MILLISECONDS))
        for partial in take.numbers.partials
    )
    numbers = replace(
        take.numbers,
        mean_ms=draw(MILLISECONDS),
        spread_ms=draw(st.none() | st.floats(0, 60)),
        ghosts_ms=draw(MILLISECONDS),
        contrast_db=draw(st.none() | st.floats(0, 40)),
        heard=heard,
        missed=missed,
        unheard=total - heard - missed,
        extra=draw(st.integers(0, 9)),
        partials=partials,
    )
    grade = draw(st.none() | st.integers(-2, 2))
    proposal = replace(take.proposal, grade=grade, sure=draw(st.floats(0, 1)))
    left_out = draw(st.lists(st.sampled_from(["it is too soft", "is that a pad?"]), max_size=2))
    return replace(take, numbers=numbers, proposal=proposal, left_out=tuple(left_out))


def printed(say: Callable[[Any], None], what: Any) -> str:
    """Return what is printed of something."""
    out = io.StringIO()
    with redirect_stdout(out):
        say(what)
    return out.getvalue()


def one(shape: str, text: str) -> Any:
    """Return the numbers of the one line of this shape; None where there is no such line."""
    found = re.findall(rf"^{shape}$", text, re.MULTILINE)
    assert len(found) <= 1
    return tuple(map(float, found[0] if isinstance(found[0], tuple) else found)) if found else None


def about(*values: float | None, places: int = 1) -> Any:
    """Return values as they may be printed; None where one of them is lacking."""
    return None if None in values else pytest.approx(values, abs=0.5001 * 10**-places)


@given(measurements())
@examples(60)
def test_what_is_said_in_words_are_the_values(take: Measurement) -> None:
    """Each number once, to its place, with its sign where it may come early; none is made up."""
    said, values, numbers = printed(measure_takes._say_take, take), take_values(take), take.numbers
    total = len(take.facts)
    counts = one(r"(\d+) of (\d+) strokes? heard, (\d+) missed.*; (\d+) extra", said)

    assert (numbers.heard, total, numbers.missed, numbers.extra) == counts
    told = re.search(r"missed, (\d+) not to be told from this recording; ", said)
    assert numbers.unheard == (int(told[1]) if told else 0)
    mean = r"spread ([\d.]+) ms; mean ([+-][\d.]+) ms, latency included"
    assert about(values["spread_ms"], values["mean_ms"]) == one(mean, said)
    ghosts = r"ghosts against accents ([+-][\d.]+) ms"
    assert about(values["ghosts_ms"]) == one(ghosts, said)
    assert about(values["contrast_db"]) == one(r"accents over ghosts ([\d.]+) dB", said)
    assert about(values["played_bpm"]) == one(r"tempo played ([\d.]+) bpm", said)
    proposed = re.search(r"^Proposed grade: ([a-z ]+) \((\d+)% sure\)$", said, re.MULTILINE)
    assert values["grade"] == (proposed and proposed[1])
    assert proposed is None or about(100 * values["sure"], places=0) == (float(proposed[2]),)
    assert [f"Left out: {why}{'' if why[-1] == '?' else '.'}" for why in values["left_out"]] == [
        line for line in said.splitlines() if line.startswith("Left out")
    ]


@given(measurements())
@examples(30)
def test_every_place_of_the_pattern_is_a_row(take: Measurement) -> None:
    """After an empty line and a head; what too few strokes tell is a dash."""
    *_, table = printed(measure_takes._say_take, take).split("\n\n")
    head, *rows = [re.split(r" {2,}", line.strip()) for line in table.splitlines()]

    assert ["stroke", "level", "late ms", "spread", "heard", "missed", "not told"] == head
    partials = take_values(take)["partials"]
    assert len(partials) == len(rows)
    for partial, row in zip(partials, rows, strict=True):
        name, level, late, spread, *counts = row
        assert (f"{partial['voice']} {partial['place']}", partial["level"]) == (name, level)
        for value, cell, sign in (
            (partial["mean_ms"], late, "+-"),
            (partial["spread_ms"], spread, "0123456789-"),
        ):
            assert (value is None) == (cell == "–")
            assert value is None or about(value) == (float(cell),)
            assert value is None or cell[0] in sign
        assert [partial[name] for name in ("heard", "missed", "unheard")] == list(map(int, counts))


@given(st.lists(measurements(), min_size=1, max_size=3))
@examples(30)
def test_takes_are_rows_with_a_dash_where_nothing_is_known(takes: list[Measurement]) -> None:
    """Nought is a number, and is said; the table for spreadsheets has every column."""
    rows = [table_row(f"take-{number}.mid", take) for number, take in enumerate(takes)]
    head, *lines = printed(measure_takes._say_takes, rows).splitlines()

    names = ["file", "heard", "missed", "unheard", "spread_ms", "ghosts_ms", "contrast_db", "grade"]
    for row, line in zip(rows, lines, strict=True):
        cells = ["–" if row[name] in {None, ""} else str(row[name]) for name in names]
        assert cells == re.split(r" {2,}", line.strip())
    assert head.split()[:3] == ["take", "heard", "missed"]
    first, *others = printed(measure_takes._say_csv, rows).splitlines()
    assert (list(TABLE), len(rows)) == (first.split(","), len(others))


@given(
    lines=st.sampled_from(
        [
            "snare: 1\n",
            "snare: >1 (4a)\n",
            "snare: >2 >4 (e)\n",
            "snare: 4a\n",
            "meter: 7/8\nsnare: 1 2 7\n",
        ]
    ),
    bpm=st.integers(40, 200),
    passes=st.integers(1, 9),
    start=st.floats(0, 30),
    says_start=st.booleans(),
    says_passes=st.booleans(),
)
@examples(60)
def test_as_many_passes_are_measured_as_were_played(
    *, lines: str, bpm: int, passes: int, start: float, says_start: bool, says_passes: bool
) -> None:
    """Wherever the pattern's last stroke stands; without a start the first note is the first one.

    A take whose first stroke is not on the first beat needs its start to be said.
    """
    pattern = parse(lines)
    first = float(min(stroke.at for stroke in pattern.strokes))
    notes = played(lines, bpm, passes, start=start)
    how = measure_takes._How(
        pattern, bpm, start if says_start or first else None, passes if says_passes else None,
        Hand.LEFT, PadVoices.read(""), (1.0, 2.0, 3.0, 4.0),
    )  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("drillbox.ear.read_midi", lambda _: notes)
        found = how.measure(Path("take.MID"))

    assert ([], passes) == (how.remarks, found.asked.passes)
    assert start == pytest.approx(found.asked.start)
    assert (float(bpm), Hand.LEFT) == (found.asked.bpm, found.asked.leading)
    assert (len(notes), 0, 0) == (found.numbers.heard, found.numbers.missed, found.numbers.extra)


def test_a_file_without_a_note_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """One sentence with its place: nothing can be measured."""
    monkeypatch.setattr("drillbox.ear.read_midi", lambda _: list[PadNote]())
    how = measure_takes._How(
        parse("snare: 1\n"), 90.0, None, None, Hand.RIGHT, PadVoices.read(""), (1.0,)
    )

    with pytest.raises(UsageError, match=r"no note is struck in this file; record again"):
        how.measure(Path("take.midi"))
