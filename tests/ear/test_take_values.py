"""A take for programs, for the log and as a picture: every number where it belongs."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import pytest
from told_takes import DB, START, told

from drillbox.ear import ExtraStroke, sentence, table_row, take_picture, take_values
from drillbox.ear.log_values import LoggedPartial, log_values, read_logged
from drillbox.ear.plain_values import TABLE
from drillbox.ear.saying import noticed_ms
from drillbox.rhythm import Hand, Level, Voice, parse

if TYPE_CHECKING:
    from drillbox.ear import Measurement
    from drillbox.ear.expected import Expected

LINES = parse("hat: 1 3\nsnare: >R2 >L4 (R1a) (L3e) | >R2 >L4 (R1&)\n")
NS = "{http://www.w3.org/2000/svg}"
TWO_THIRDS = 60 / 90


def take(**changes: Any) -> Measurement:
    """Return four passes of two bars: stray, a missed ghost, hats not to be told, one extra."""

    def late(stroke: Expected) -> float:
        return 10 + [5.12345, -6.54321, 14.0, -13.3, 0.777][stroke.index % 5]

    def state(stroke: Expected) -> str:
        if stroke.index == 1:
            return "missed"
        return "unheard" if stroke.voice is Voice.HAT else "heard"

    extra = (ExtraStroke(START + 0.5 * TWO_THIRDS + 0.0123456, -12.345),)
    usual = {"passes": 4, "late": late, "state": state, "extra": extra}
    return told(LINES, **{**usual, **changes})


def test_every_number_of_a_take_is_among_its_values() -> None:
    """Rounded as documented: times to ten microseconds, ms to a hundredth, dB to a tenth."""
    found = take()
    values, numbers = take_values(found), found.numbers

    assert (START, 90, 4, 1) == tuple(values[k] for k in ("start", "bpm", "passes", "extra"))
    for name in ("mean_ms", "spread_ms", "ghosts_ms", "wander_ms"):
        assert round(getattr(numbers, name), 2) == values[name]
    assert round(numbers.contrast_db or 0, 1) == values["contrast_db"]
    assert round(numbers.bpm, 2) == values["played_bpm"]
    assert [round(bpm, 2) for bpm in numbers.bpm_by_bar] == values["bpm_by_bar"]
    assert [None if ms is None else round(ms, 2) for ms in numbers.beats_ms] == values["beats_ms"]
    assert round(found.proposal.sure, 3) == values["sure"]
    assert found.proposal.because == values["because"]
    assert list(found.left_out) == values["left_out"]
    assert values["remarks"]
    assert [1] == values["missed"]
    assert [f.expected.index for f in found.facts if f.state == "unheard"] == values["unheard"]


def test_each_stroke_is_told_by_itself() -> None:
    """Heard ones and extras in order of time; of an extra only when and how loud."""
    found = take(level=lambda stroke: DB[stroke.level] + 0.04)
    strokes = take_values(found)["strokes"]
    (extra,) = [stroke for stroke in strokes if stroke["expected"] is None]
    first = next(stroke for stroke in strokes if stroke["expected"] == 2)

    assert sorted(s["at"] for s in strokes) == [s["at"] for s in strokes]
    assert len(strokes) == found.numbers.heard + 1
    assert {
        "at": round(START + 0.5 * TWO_THIRDS + 0.0123456, 5),
        "level_db": -12.3,
        "voice": None,
        "expected": None,
        "offset_ms": None,
        "timed": False,
    } == extra
    assert {
        "at": round(START + TWO_THIRDS + 0.024, 5),
        "level_db": -14.0,
        "voice": "snare",
        "expected": 2,
        "offset_ms": 24.0,
        "timed": True,
    } == first


def test_what_should_have_come_its_partials_and_hands() -> None:
    """The place in words, the kind of stroke, what became of it; by place and by hand."""
    found = take()
    values = take_values(found)
    numbers = found.numbers

    assert {
        "index": 1,
        "at": round(START + 0.75 * TWO_THIRDS, 4),
        "place": "a of 1 in bar 1",
        "voice": "snare",
        "level": "ghost",
        "part": "stroke",
        "state": "missed",
    } == values["expected"][1]
    assert "& of 1 in bar 2" == values["expected"][7]["place"]
    a = numbers.partials[1]
    assert {
        "place": "a of 1 in bar 1",
        "voice": "snare",
        "level": "ghost",
        "mean_ms": round(a.mean_ms or 0, 2),
        "spread_ms": round(a.spread_ms or 0, 2),
        "heard": 3,
        "missed": 1,
        "unheard": 0,
    } == values["partials"][1]
    assert [
        {
            "hand": hand.hand.value,
            "strokes": hand.strokes,
            "spread_ms": round(hand.spread_ms or 0, 2),
            "ghosts_spread_db": round(hand.ghosts_spread_db or 0, 1),
        }
        for hand in numbers.hands
    ] == values["hands"]
    assert [Hand.RIGHT, Hand.LEFT] == [hand["hand"] for hand in values["hands"]]


def test_a_row_of_the_table_counts_what_the_lists_hold() -> None:
    """The columns in their order; a grade that is withheld is an empty field."""
    found = take(passes=1)
    row = table_row("a.wav", found)

    assert TABLE == tuple(row)
    assert ("a.wav", 11, 6, 1, 4, 1) == tuple(
        row[k] for k in ("file", "expected", "heard", "missed", "unheard", "extra")
    )
    assert "" == row["grade"]
    assert "; ".join(found.left_out) == row["left_out"]
    assert 2 <= len(found.left_out)
    whole = take(state=lambda _: "heard")
    assert take_values(whole)["grade"] == table_row("a.wav", whole)["grade"] != ""


@pytest.mark.parametrize(
    ("stray", "grade"),
    [(0, "automatic"), (11, "clean"), (18, "steady"), (28, "shaky"), (60, "fell apart")],
)
def test_grades_have_their_names(stray: float, grade: str) -> None:
    """Each spread between two limits has the grade of docs/ear.md in words."""
    dense = "snare: >2 >4 (e) (&) (a)"
    found = told(dense, late=lambda s: stray * (-1) ** (s.index // 2), bpm=120)

    assert grade == take_values(found)["grade"]


def test_what_the_log_keeps_reads_back_whole() -> None:
    """Every field, to a hundredth; places by their names."""
    found = take()
    kept = read_logged(log_values(found))
    numbers = found.numbers
    a = numbers.partials[1]

    assert kept is not None
    assert round(numbers.spread_ms or 0, 2) == kept.measures.spread_ms
    assert round(100 * numbers.share_wrong, 2) == kept.measures.wrong_percent
    assert round(numbers.contrast_db or 0, 2) == kept.measures.contrast_db
    assert round(numbers.ghosts_ms or 0, 2) == kept.measures.ghosts_ms
    assert round(16 / 44, 3) == kept.measures.unheard_share
    assert 1 == log_values(found)["version"]
    beats = sorted([0.75, 0.25, 1.0, 0.25, 0.75, 1.0, 0.5, 0.5, 1.0, 1.0, 1.0] * 4)
    assert pytest.approx(1000 * beats[22] * TWO_THIRDS, abs=200) == kept.measures.spacing_ms
    assert round(numbers.bpm, 2) == kept.bpm
    assert found.proposal.grade == kept.proposed
    assert (
        LoggedPartial("a of 1 in bar 1", "snare", round(a.mean_ms or 0, 2), 3, 1)
        == (kept.partials[1])
    )
    assert kept.partials[0].late_ms is None


def test_absent_voices_count_for_nothing_in_the_log() -> None:
    """A hat that is not in the recording widens no spacing and hides no share."""
    kept = read_logged(log_values(take(absent=("hat",))))

    assert kept is not None
    assert 0 == kept.measures.unheard_share


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("bpm", "nan"),
        ("bpm", None),
        ("spread_ms", float("inf")),
        ("version", 0),
        ("proposed", "x"),
        ("partials", [["a of 1", "snare", 1.0, 3]]),
        ("partials", [["a of 1", "snare", float("inf"), 3, 0]]),
        ("partials", 3),
        ("spacing_ms", []),
    ],
)
def test_a_field_that_makes_no_sense_makes_the_whole_no_measure(field: str, value: Any) -> None:
    """And one that is missing does too."""
    values = log_values(take())

    assert read_logged({**values, field: value}) is None
    assert read_logged({k: v for k, v in values.items() if k != field}) is None


def test_fields_that_may_be_empty_may_be_empty() -> None:
    """None where a recording does not say, nought where the bands need a number."""
    values = log_values(take())
    empty = dict.fromkeys(
        ("spread_ms", "wrong_percent", "contrast_db", "ghosts_ms", "spacing_ms", "unheard_share")
    )
    kept = read_logged({**values, **empty, "proposed": None})

    assert kept is not None
    assert (None, 0.0, None, None, 0.0, 0.0) == (
        kept.measures.spread_ms,
        kept.measures.wrong_percent,
        kept.measures.contrast_db,
        kept.measures.ghosts_ms,
        kept.measures.spacing_ms,
        kept.measures.unheard_share,
    )
    assert kept.proposed is None


def drawn(found: Measurement, title: str = "") -> ET.Element:
    """Return a picture's root."""
    return ET.fromstring(take_picture(found, title=title))


def test_the_grid_has_a_row_a_bar_and_a_line_a_place() -> None:
    """Eight bars of sixteen places; beats stronger; the paper as high as its rows and margins."""
    found = take()
    root = drawn(found, "one & <two>")
    lines = [e for e in root.iter(f"{NS}line") if e.get("class")]
    beats = [e for e in lines if e.get("class") == "beat"]
    bars = [e.text for e in root.iter(f"{NS}text") if (e.text or "").startswith("bar ")]

    assert f"0 0 960 {84 + 8 * 46 + 46}" == root.get("viewBox")
    assert ("960", str(84 + 8 * 46 + 46)) == (root.get("width"), root.get("height"))
    assert (8 * 16, 8 * 4) == (len(lines), len(beats))
    assert [f"bar {n}" for n in range(1, 9)] == bars
    assert [70 + 870 * place / 16 for place in range(16)] == pytest.approx(
        [float(e.get("x1") or 0) for e in lines[:16]], abs=0.06
    )
    assert all(e.get("x1") == e.get("x2") for e in lines)
    assert [(84 + 46 * row + 6, 84 + 46 * (row + 1) - 6) for row in range(8)] == [
        (int(e.get("y1") or 0), int(e.get("y2") or 0)) for e in lines[::16]
    ]
    assert [(12, 84 + 46 * row + 27) for row in range(8)] == [
        (int(e.get("x") or 0), int(e.get("y") or 0))
        for e in root.iter(f"{NS}text")
        if (e.text or "").startswith("bar ")
    ]
    assert "one & <two>" == root.findtext(f"{NS}title")
    assert "A measured take" == drawn(found).findtext(f"{NS}title")


def test_the_grid_of_each_beat_is_the_patterns_own() -> None:
    """Triplets in the second bar have three places a beat, bar after bar."""
    pattern = parse("grid: 16 16 16 16 | 8t 8t 8t 16\nsnare: >2 >4 (1a) | >2 >4 (1l) (4e)\n")
    lines = [e for e in drawn(told(pattern, passes=2)).iter(f"{NS}line") if e.get("class")]
    rows = [sum(e.get("y1") == str(84 + 46 * row + 6) for e in lines) for row in range(4)]

    assert [16, 13, 16, 13] == rows


def test_the_head_of_a_picture_says_the_take_in_a_sentence_and_in_numbers() -> None:
    """What is nought is not said."""
    found = take()
    texts = [e.text for e in drawn(found, "mine").iter(f"{NS}text")]
    numbers = found.numbers

    assert ["mine", sentence(found)] == texts[:2]
    assert (
        f"27 heard, 1 missed; 16 cannot be heard; 1 extra; spread {numbers.spread_ms:.1f} ms; "
        f"accents {numbers.contrast_db:.0f} dB over ghosts; {numbers.bpm:.1f} bpm"
    ) == texts[2]
    plain = told("snare: >2 >4")
    assert (
        f"12 heard, 0 missed; spread 0.0 ms; {plain.numbers.bpm:.1f} bpm"
        == ([e.text for e in drawn(plain).iter(f"{NS}text")][2])
    )
    none = told("snare: >2 >4", state=lambda _: "missed")
    assert "0 heard, 12 missed; 90.0 bpm" == [e.text for e in drawn(none).iter(f"{NS}text")][2]
    assert texts[-1] is not None
    assert "5 times as long" in texts[-1]
    assert {24, 44, 62, 84 + 8 * 46 + 46 - 16} == {
        int(e.get("y") or 0) for e in drawn(found).iter(f"{NS}text") if e.get("x") == "70"
    }


def place(found: Measurement, index: int) -> tuple[float, float]:
    """Return where a stroke stands nominally: within its bar from left to right, voices apart."""
    stroke = found.facts[index].expected
    bar, within = divmod(stroke.place + 8 * (index // 11), 4)
    return (
        70 + 870 * float(within) / 4,
        84 + 46 * bar + 23 + 2.5 * (stroke.voice.rank - 3),
    )


def test_a_stroke_stands_on_its_place_and_hangs_to_where_it_was_played() -> None:
    """Five times enlarged; a disc in time, triangles left and right, the way they point."""
    found = take()
    noticed = noticed_ms(found)
    heads = [e for e in drawn(found).iter() if e.get("fill") in {"#1d5fa8", "#a84300", "#1f6b35"}]
    bars = [e for e in drawn(found).iter(f"{NS}line") if e.get("stroke") == "#555"]
    heard = [f for f in found.facts if f.state == "heard"]

    assert len(heard) == len(heads) == len(bars)
    for fact, head, bar in zip(heard, heads, bars, strict=True):
        off = fact.off_ms or 0.0
        x, y = place(found, fact.expected.index)
        tip = x + 870 * 5 * off / 1000 / (4 * TWO_THIRDS)
        size = 3.5 if fact.expected.level is Level.GHOST else 6.0
        ends = [float(bar.get(name) or 0) for name in ("x1", "y1", "x2", "y2")]
        assert [x, y, tip, y] == pytest.approx(ends, abs=0.06)
        if abs(off) <= noticed:
            assert "#1f6b35" == head.get("fill")
            circle = [float(head.get(name) or 0) for name in ("cx", "cy", "r")]
            assert [tip, y, size] == pytest.approx(circle, abs=0.06)
        else:
            way = 1 if off > 0 else -1
            assert ("#a84300" if off > 0 else "#1d5fa8") == head.get("fill")
            at = [float(n) for n in re.findall(r"-?\d+\.?\d*", head.get("d") or "")]
            corners = [tip + way * size, y, -way * 2 * size, -size, 2 * size]
            assert corners == pytest.approx(at, abs=0.06)
    assert {"#1d5fa8", "#a84300", "#1f6b35"} == {head.get("fill") for head in heads}


def test_a_stroke_just_as_far_off_as_is_noticed_is_in_time() -> None:
    """On the limit a disc, past it a triangle; what is covered or a grace is in its place."""
    found = take()
    noticed = noticed_ms(found)
    facts = list(found.facts)
    facts[2] = replace(facts[2], off_ms=noticed)
    facts[4] = replace(facts[4], off_ms=-noticed - 0.001)
    facts[5] = replace(facts[5], off_ms=90.0, covered=True)
    root = drawn(replace(found, facts=tuple(facts)))
    heads = [e for e in root.iter() if e.get("fill") in {"#1d5fa8", "#a84300", "#1f6b35"}]
    heard = [f.expected.index for f in facts if f.state == "heard"]

    fills = dict(zip(heard, (e.get("fill") for e in heads), strict=True))
    assert ("#1f6b35", "#1d5fa8", "#1f6b35") == (fills[2], fills[4], fills[5])


def test_crosses_squares_and_stars_stand_where_they_belong() -> None:
    """A cross for a missed ghost, a hollow square for each hat, a star for the extra stroke."""
    found = take()
    root = drawn(found)
    (cross,) = [e for e in root.iter() if e.get("stroke") == "#b00020"]
    squares = [e for e in root.iter(f"{NS}rect") if e.get("fill") == "none"]
    (star,) = [e for e in root.iter(f"{NS}text") if e.text == "*"]
    x, y = place(found, 1)
    at = [float(n) for n in re.findall(r"-?\d+\.?\d*", cross.get("d") or "")]

    assert [x - 3.5, y - 3.5, 7, 7, 0, -7, -7, 7] == pytest.approx(at, abs=0.06)
    assert 16 == len(squares)
    hats = [f.expected.index for f in found.facts if f.state == "unheard"]
    corners = [(float(e.get("x") or 0) + 3, float(e.get("y") or 0) + 3) for e in squares]
    for index, corner in zip(hats, corners, strict=True):
        assert place(found, index) == pytest.approx(corner, abs=0.06)
    assert {("6", "6")} == {(e.get("width"), e.get("height")) for e in squares}
    mean = (found.numbers.mean_ms or 0) / 1000
    seconds = 0.5 * TWO_THIRDS + 0.0123456 - mean
    assert [70 + 870 * seconds / (4 * TWO_THIRDS), 84 + 23 + 5] == pytest.approx(
        [float(star.get("x") or 0), float(star.get("y") or 0)], abs=0.06
    )
    after = take(extra=(ExtraStroke(START + 32 * TWO_THIRDS + 1, -9.0),))
    before = take(extra=(ExtraStroke(START - 0.5, -9.0),))
    first = replace(after, extra=(ExtraStroke(START, -9.0),))
    first = replace(first, numbers=replace(first.numbers, mean_ms=None))
    assert ["70.0"] == [e.get("x") for e in drawn(first).iter() if e.text == "*"]
    assert not [e for e in [*drawn(after).iter(), *drawn(before).iter()] if e.text == "*"]
