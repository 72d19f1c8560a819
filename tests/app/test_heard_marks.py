"""What the drawing says of a measured take, by shape."""

from __future__ import annotations

from fractions import Fraction

import pytest

from drillbox.app.heard_marks import EARLY, LATE, MISSING, HeardMarks, heard_marks
from drillbox.ear import AskedTake, PadNote, measure_notes
from drillbox.ear.expected import expected_strokes
from drillbox.rhythm import Level, Pattern, Voice, parse

SNARE = parse("snare: >2 >4 (1a) (3e)\n")
PASSES, BPM = 6, 92
A, E = Fraction(3, 4), Fraction(9, 4)


def taken(
    pattern: Pattern, *, late_ms: dict[float, float] | None = None, out: tuple[int, ...] = ()
) -> list[PadNote]:
    """Return a take on pads: strokes so late by their place, some left out by their index."""
    keys = {Voice.SNARE: 38, Voice.HAT: 42, Voice.BASS: 36}
    return [
        PadNote(
            1.0 + s.seconds + (late_ms or {}).get(float(s.place), 0.0) / 1000,
            keys[s.voice],
            28 if s.level is Level.GHOST else 112,
        )
        for s in expected_strokes(pattern, BPM, PASSES)
        if s.index not in out
    ]


def marks_of(pattern: Pattern, notes: list[PadNote]) -> HeardMarks:
    """Return the marks of a take."""
    return heard_marks(measure_notes(notes, AskedTake(pattern, BPM, PASSES, 1.0)))


def test_a_take_in_place_has_no_mark() -> None:
    """What came as it should leaves the drawing as it was; every pass has its row all the same."""
    marks = marks_of(SNARE, taken(SNARE))

    assert {} == marks.heads
    assert {"off ms"} == set(marks.under)
    assert [f"pass {n}" for n in range(1, PASSES + 1)] == list(marks.passes)


def test_early_and_late_point_apart_and_numbers_stand_under_them() -> None:
    """The a of 1 comes early, the e of 3 late: two shapes, with their milliseconds."""
    marks = marks_of(SNARE, taken(SNARE, late_ms={0.75: -30.0, 2.25: 30.0}))

    assert {(A, Voice.SNARE): EARLY, (E, Voice.SNARE): LATE} == marks.heads
    assert marks.under["off ms"][A].startswith("-")
    assert marks.under["off ms"][E].startswith("+")


def test_a_stroke_left_out_now_and_then_is_marked_and_counted() -> None:
    """Missing in two passes of six is a hole in the drawing; the passes say which."""
    strokes = expected_strokes(SNARE, BPM, PASSES)
    ghosts = [s.index for s in strokes if s.place == A]
    marks = marks_of(SNARE, taken(SNARE, out=(ghosts[1], ghosts[4])))

    assert {(A, Voice.SNARE): MISSING} == marks.heads
    assert "2" == marks.under["missed"][A]
    holes = [name for name, row in marks.passes.items() if row[A] == MISSING]
    assert ["pass 2", "pass 5"] == holes


def test_a_voice_that_nobody_played_is_not_marked() -> None:
    """A card of the whole kit on a snare pad: the hat stays as it is written."""
    kit = parse("hat: beat &\nsnare: >2 >4 (1a) (3e)\n")
    notes = [note for note in taken(kit) if note.key == 38]

    assert {} == marks_of(kit, notes).heads


@pytest.mark.parametrize("swung", ["swing: 16 2:1\n", ""])
def test_marks_stand_where_the_stroke_is_written(swung: str) -> None:
    """A swung stroke sounds later than it is written, and is marked where it is written."""
    pattern = parse(f"{swung}snare: >2 >4 (1a) (3a)\n")
    strokes = expected_strokes(pattern, BPM, PASSES)
    lost = tuple(s.index for s in strokes if s.level is Level.GHOST and 0 < s.place < 1)
    marks = marks_of(pattern, taken(pattern, out=lost))

    assert {(A, Voice.SNARE): MISSING} == marks.heads
