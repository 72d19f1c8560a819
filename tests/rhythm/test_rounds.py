"""How a line goes down the kit: with alternating hands no arm crosses the other."""

from __future__ import annotations

import pytest

from drillbox.rhythm import Voice
from drillbox.rhythm.rounds import down_the_drums

KIT = (Voice.SNARE, Voice.TOM, Voice.FLOOR)
LETTERS = {Voice.SNARE: "s", Voice.TOM: "t", Voice.FLOOR: "f"}


@pytest.mark.parametrize(
    ("strokes", "line"),
    [
        (0, ""), (1, "s"), (2, "st"), (3, "stf"), (4, "sstt"), (5, "ssttf"), (6, "ssttff"),
        (7, "ssssttf"), (8, "ssssttff"), (9, "ssssssttf"), (16, "ssssssssssssttff"),
    ],
)  # fmt: skip
def test_a_stroke_to_a_drum_then_two(strokes: int, line: str) -> None:
    """Two where there are more strokes than drums; pairs that are over are the snare's."""
    assert line == "".join(LETTERS[voice] for voice in down_the_drums(KIT, strokes))


@pytest.mark.parametrize("drums", [KIT, KIT[1:], KIT[:1]])
@pytest.mark.parametrize("strokes", range(24))
def test_the_right_hand_is_first_on_every_drum(drums: tuple[Voice, ...], strokes: int) -> None:
    """Where hands alternate; nothing is lost and no drum is come back to."""
    line = down_the_drums(drums, strokes)
    found = [drums.index(voice) for voice in line]

    assert strokes == len(line)
    assert sorted(found) == found
    if strokes > len(drums):
        assert all(line.index(voice) % 2 == 0 for voice in {*line})
