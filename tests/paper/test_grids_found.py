"""Strokes at any time on their grids: what is moved and by how much, what is a double, how loud."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from drillbox.paper.beaming import beams
from drillbox.paper.music_in_file import BarFrame, StrokeInFile, embellished
from drillbox.paper.note_values import write_bar
from drillbox.paper.quantising import WrittenBar, written_bars
from drillbox.paper.velocities import clusters, level_of
from drillbox.rhythm import EMBELLISHMENTS, Ornament, Voice, parse, parse_meter


def written(
    *at: float | str, bpm: float | None = 100, doubles: bool = False, meter: str = "4/4"
) -> WrittenBar:
    """Return a bar of the snare's strokes at quarters from the start."""
    frame = BarFrame(parse_meter(meter), Fraction(0))
    strokes = [StrokeInFile(Fraction(one), Voice.SNARE) for one in at]
    (bar,) = written_bars([frame], strokes, bpm=bpm, tell_doubles=doubles)
    return bar


def test_a_written_file_is_taken_by_its_letter() -> None:
    """Nine strokes of ten on parts of a quarter: then a small distance tells another grid."""
    on = [str(Fraction(n, 4)) for n in range(4, 13)]
    near = "0.30"
    assert 3 == written(near, *on).grids[0]
    assert 4 == written("0.27", *on, bpm=100).grids[0]


def test_a_tick_of_rounding_is_no_move() -> None:
    """A four hundredth of a beat is as near as files can be; more is told."""
    assert () == written("0", "1.0025").moved
    assert 1 == len(written("0", "1.0026").moved)
    assert () == written("0", str(Fraction(1) - Fraction(1, 400))).moved


def test_what_is_moved_goes_to_the_nearest_place() -> None:
    """By as far as it stood away, in beats, early or late; eighths are beats in six eight."""
    bar = written("0", "0.26", "0.98", "1.51")
    assert [Fraction(-1, 100), Fraction(1, 50), Fraction(-1, 100)] == [m.by for m in bar.moved]
    assert [(1, 1), (1, 2), (1, 2)] == [(m.bar, m.beat) for m in bar.moved]
    assert [0, Fraction(1, 4), 1, Fraction(3, 2)] == [s.at for s in bar.strokes]
    six = written("0", "0.51", "1.02", meter="6/8")
    assert [Fraction(-1, 50), Fraction(-1, 25)] == [m.by for m in six.moved]
    assert [0, 1, 2] == [s.at for s in six.strokes]


@pytest.mark.parametrize(
    ("second", "doubled"), [("1/8", True), ("0.12", True), ("0.13", True), ("0.2", False)]
)
def test_half_a_partial_later_is_the_second_of_a_double(second: str, doubled: bool) -> None:  # noqa: FBT001
    """Where nothing else is finer; nearer to the next place it is a stroke of its own."""
    bar = written("0", second, "1/4", "1/2", "3/4", doubles=True)
    ornaments = [stroke.ornament for stroke in bar.strokes]
    if doubled:
        assert [Ornament.DOUBLE, *[Ornament.NONE] * 3] == ornaments
    else:
        assert Ornament.DOUBLE not in ornaments


def test_the_levels_of_velocities_are_in_order() -> None:
    """Whatever they are: clusters rise, do not overlap, hold each velocity, are three at most."""
    for step in range(1, 40):
        velocities = [1 + (n * step * 7) % 127 for n in range(step % 9 + 1)]
        found = clusters(velocities)
        assert 1 <= len(found) <= 3
        assert all(one.high < other.low for one, other in pairwise(found))
        assert len(velocities) == sum(one.strokes for one in found)
        for velocity in velocities:
            (mine,) = (one for one in found if one.low <= velocity <= one.high)
            assert mine.level is level_of(found, velocity)
        loud = [one.level.loudness for one in found]
        assert sorted(set(loud)) == loud


def test_every_embellishment_is_known_by_how_it_is_struck() -> None:
    """By graces, even strokes, bounces and ringing, all four; nothing else is one."""
    for ornament, row in EMBELLISHMENTS.items():
        found = embellished(graces=row.graces, even=row.even, bounces=row.bounces, rings=row.rings)
        assert ornament is found
    assert embellished() is Ornament.NONE
    assert embellished(graces=9) is None
    assert embellished(even=3) is None
    assert embellished(bounces=True, rings=True) is None


@pytest.mark.parametrize(
    ("at", "others", "bpm", "grid"),
    [
        # Three beats four from about 0.294 on at 60, 0.299 at 100, 0.315 at 180.
        ("0.292", ("22/7",), 60, 4), ("0.296", ("22/7",), 60, 3), ("0.296", ("22/7",), 100, 4),
        ("0.302", ("22/7",), 100, 3), ("0.296", ("22/7",), None, 4), ("0.302", ("22/7",), None, 3),
        ("0.307", ("22/7",), 180, 4), ("0.319", ("22/7",), 180, 3),
        ("0.295", tuple(str(Fraction(n, 4)) for n in range(4, 13)), 100, 3),
        ("0.295", tuple(str(Fraction(n, 4)) for n in range(4, 12)), 100, 4),
    ],
)  # fmt: skip
def test_an_uneven_player_is_given_more_room(
    at: str, others: tuple[str, ...], bpm: float | None, grid: int
) -> None:
    """12 ms of unevenness at the tempo, 100 where none is said; with nine of ten on parts, little.

    A place between a quarter and a third of the beat is a triplet's the sooner the evener.
    """
    assert grid == written(at, *others, bpm=bpm).grids[0]


@pytest.mark.parametrize(
    ("text", "hook"), [("snare: 1 /2 3", "forward hook"), ("snare: 1 2& 3", "backward hook")]
)
def test_a_short_note_between_two_longer_ones_points_into_its_eighth(text: str, hook: str) -> None:
    """On the eighth its second beam points on, off it back."""
    pattern = parse(f"meter: 6/8\n{text}")
    told = beams(write_bar(pattern, 0, feet=False), pattern.meter)
    assert ("continue", hook) in told.values()
