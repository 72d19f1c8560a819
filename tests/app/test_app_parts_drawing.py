"""What the app draws with signs, without a window: signs, pages, bars, marks."""

from __future__ import annotations

from fractions import Fraction
from functools import partial
from itertools import pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.style import Style

from drillbox.app.glyphs import FLAT, GRAND, SIZES, TALL, loudness
from drillbox.app.heard_marks import (
    EARLY,
    IN_PLACE,
    LATE,
    MISSING,
    UNTOLD,
    _mark,
    _signed,
    _worst,
)
from drillbox.app.pattern_layout import LABEL_WIDTH, _beats_per_line, lay_out
from drillbox.app.widgets.pattern_view import PatternView, _Line, _with_head, under_rows
from drillbox.app.widgets.tempo_bar import tempo_bar
from drillbox.rhythm import Hand, Part, chart, parse

if TYPE_CHECKING:
    from drillbox.app.glyphs import Size
    from drillbox.ear import StrokeFact
    from drillbox.rhythm import Pattern

# signs

HEADS = ("o", "x", "/", "z", "f", "d")
SIGNS = ["O", "+", *(sign.format(head) for head in HEADS for sign in ("{}", "({})", "_{}", ">{}"))]


@pytest.mark.parametrize("size", SIZES)
def test_every_sign_fills_its_cell_and_looks_like_no_other(size: Size) -> None:
    """As many rows and columns as the size says, whatever is played and however loud."""
    drawn = {sign: size.draw(sign) for sign in SIGNS}

    assert {size.rows} == {len(rows) for rows in drawn.values()}
    assert {size.columns} == {len(row) for rows in drawn.values() for row in rows}
    assert len(SIGNS) == len(set(drawn.values()))


@pytest.mark.parametrize(
    ("sign", "tall"),
    [
        ("(o)", ("╭ ╮", "│o│", "╰ ╯")),
        ("(/)", ("╭ ╮", "│/│", "╰ ╯")),
        ("z", ("┌─┐", "│z│", "└─┘")),
        ("_z", ("   ", "│z│", "└─┘")),
        (">z", (" > ", "│z│", "└─┘")),
    ],
)
def test_the_frame_says_how_loud_and_the_middle_what(sign: str, tall: tuple[str, ...]) -> None:
    """Round and open for a ghost, square plain, a mark on top for an accent, open for a tap."""
    grand = GRAND.draw(sign)

    assert tall == TALL.draw(sign)
    assert sign.center(3) == FLAT.draw(sign)[0]
    assert sign.strip("(>_)") == grand[2][2]
    assert ["│   │"] * 2 == [grand[1], grand[3]]
    assert tall[2][0] == grand[4][0]


def test_a_sign_is_as_loud_as_it_is_played() -> None:
    """A tap is drawn as a ghost is; what has no sign of loudness is plain."""
    told = {sign: loudness(sign) for sign in ("(o)", "_o", ">o", "o", "x", "O", "+", ">/", "(z)")}

    assert ["ghost", "ghost", "accent", *["plain"] * 4, "accent", "ghost"] == list(told.values())


# pages


@pytest.mark.parametrize(
    ("total", "bar", "most", "expected"),
    [
        (8, 4, 9, 8),
        (8, 4, 8, 8),
        (8, 4, 7, 4),
        (8, 4, 4, 4),
        (8, 4, 3, 2),
        (8, 4, 2, 2),
        (8, 4, 1, 1),
        (4, 4, 12, 4),
        (7, 7, 5, 4),
        (7, 7, 3, 3),
        (5, 5, 3, 3),
        (12, 4, 0, 0),
    ],
)
def test_a_line_has_whole_bars_else_half_a_bar_else_what_fits(
    total: int, bar: int, most: int, expected: int
) -> None:
    """Seven beats are halved as four and three, and five as three and two."""
    assert expected == _beats_per_line(total, bar, most)


PATTERNS = [
    parse("snare: >2 >4 (e) (a)\nhat: beat &\nbass: 1 3\n"),
    parse("snare: (beat) | (e) | (&) | >2 (a)"),
    parse("grid: 8t\nsnare: (1t) >2 (2l) >4\n"),
]


@given(st.sampled_from(PATTERNS), st.integers(30, 200), st.integers(3, 60))
def test_a_page_stays_in_its_place_and_its_signs_apart(
    pattern: Pattern, width: int, height: int
) -> None:
    """No cell runs into the next, none over the edge; beats are equally wide; all is drawn once."""
    drawn, under = chart(pattern), under_rows(pattern, Hand.RIGHT)
    page = lay_out(drawn, under, width=width, height=height)
    cells = [cell for system in page.systems for cell in system.cells]

    assert page.size is FLAT or page.height <= height
    assert [c.at for bar in drawn.bars for c in bar.columns] == [cell.at for cell in cells]
    assert pattern.bars == sum(len(system.bar_lines) for system in page.systems)
    for system in page.systems:
        xs = [cell.x for cell in system.cells]
        beats = [cell.x for cell in system.cells if cell.is_beat]
        assert LABEL_WIDTH == xs[0]
        assert len({b - a for a, b in pairwise(beats)}) <= 1
        if page.size is not FLAT:
            assert xs[-1] + page.size.columns <= width
            assert all(b - a >= page.size.columns for a, b in pairwise(xs))


def test_a_page_grows_with_its_place_and_says_how_high_it_is() -> None:
    """The largest signs that fit, then a blank row after each voice where there is room for it.

    Counts, three voices, two rows under them: 21 rows are needed for the largest with blank rows,
    18 without, 15 and 12 for the next size, and for the flat one there are always enough.
    """
    pattern = PATTERNS[0]
    drawn, under = chart(pattern), under_rows(pattern, Hand.RIGHT)
    heights = (40, 21, 20, 18, 17, 15, 14, 12, 11, 2)
    pages = [lay_out(drawn, under, width=200, height=height) for height in heights]
    long = lay_out(drawn, under, width=60, height=40)

    assert [21, 21, 18, 18, 15, 15, 12, 12, 6, 6] == [page.height for page in pages]
    assert [6, 5, 4, 3, 1] == [page.voice_height for page in pages[::2]]
    assert (2, 18, 37) == (len(long.systems), long.system_height, long.height)


def test_a_beat_falls_into_the_cell_that_began_last() -> None:
    """From the cell's own moment on; outside of the line there is no cell."""
    page = lay_out(chart(PATTERNS[1]), {}, width=40, height=9)
    second = page.systems[1]

    assert second.cell_at(second.first - 0.01) is None
    assert 0 == second.cell_at(float(second.first))
    assert second.cell_at(float(second.last)) is None
    for index, cell in enumerate(second.cells):
        assert index == second.cell_at(float(cell.at)) == second.cell_at(float(cell.at) + 0.01)


def test_which_hand_plays_stands_under_its_count() -> None:
    """Single sticking from the leading hand; feet alone have no hands."""
    right, left = (under_rows(parse("snare: 1 (1e) 2\n"), hand) for hand in Hand)

    assert right["hand"].keys() == right["stroke"].keys() == {0, Fraction(1, 4), 1}
    assert {"R", "L"} == set(right["hand"].values())
    assert [{"R": "L", "L": "R"}[hand] for hand in right["hand"].values()] == [
        *left["hand"].values()
    ]
    assert {} == under_rows(parse("bass: 1 3\n"), Hand.RIGHT)


FLAT_PAGE = """\
        1  e  &  a   2  e  &  a   3  e  &  a   4  e  &  a
snare │ ┊ (o) ·  ·   >o ·  ·  ·   ┊  ·  ·  ·   >o ·  ·  ·
bass  │ o  ·  ·  ·   ┊  ·  ·  ·   o  ·  ·  ·   ┊  ·  ·  ·
hand       R         L                         R
stroke     U         F                         D
"""
TALL_PAGE = """\
        1  e  &  a   2  e  &  a   3  e  &  a   4  e  &  a
      │   ╭ ╮        >                         >
snare │ ┊ │o│ ·  ·  ▗█▖ ·  ·  ·   ┊  ·  ·  ·  ▗█▖ ·  ·  ·
      │   ╰ ╯       ▝█▘                       ▝█▘
      │
      │
bass  │▗█▖ ·  ·  ·   ┊  ·  ·  ·  ▗█▖ ·  ·  ·   ┊  ·  ·  ·
      │▝█▘                       ▝█▘
      │
hand       R         L                         R
stroke     U         F                         D
"""


@pytest.mark.parametrize(("height", "expected"), [(6, FLAT_PAGE), (12, TALL_PAGE)])
def test_a_page_is_drawn_with_each_sign_under_its_count(height: int, expected: str) -> None:
    """Names at the left in the middle of their voice, a bar line, signs, rests, hands, strokes."""
    pattern = parse("snare: >2 >4 (1e)\nbass: 1 3\n")
    page = lay_out(chart(pattern), under_rows(pattern, Hand.RIGHT), width=60, height=height)
    fake = SimpleNamespace(_style=lambda _: Style(), _playhead=None)
    view = cast("PatternView", fake)
    fake._counts = partial(PatternView._counts, view)
    fake._voice = partial(PatternView._voice, view)
    rows = []
    for inner in range(page.system_height):
        line = _Line(60, Style())
        PatternView._fill(view, line, page, 0, inner)
        rows.append(line.strip().text.rstrip())

    assert expected.splitlines() == rows


def test_the_playhead_stands_over_one_count_and_beats_stand_out() -> None:
    """The place being played has a style of its own, and only while it is played."""
    page = lay_out(chart(parse("snare: 1 (2&)\n")), {}, width=100, height=4)
    styles = {name: Style(meta={"name": name}) for name in ("head", "beat", "count")}
    told = []
    for playhead in (None, (0, 2), (0, 0)):
        view = SimpleNamespace(_style=styles.__getitem__, _playhead=playhead)
        line = _Line(100, Style())
        PatternView._counts(cast("PatternView", view), line, page, 0)
        found = [segment.style.meta.get("name", "") for segment in line.strip() if segment.style]
        told.append([name for name in found if name])

    plain = ["beat" if cell.is_beat else "count" for cell in page.systems[0].cells]
    assert [plain, [*plain[:2], "head", *plain[3:]], ["head", *plain[1:]]] == told


def test_a_mark_takes_the_heads_place() -> None:
    """How loud it was to be is still seen; no mark and no stroke leave the sign as it is."""
    signs = [("(o)", "«"), (">o", "»"), ("/", "Ø"), ("(o)", ""), ("", "«")]

    assert ["(«)", ">»", "Ø", "(o)", ""] == [_with_head(sign, mark) for sign, mark in signs]


def test_text_that_runs_over_an_edge_of_a_row_is_cut() -> None:
    """A row is as wide as it is, whatever is put into it; what comes later stands on top."""
    ground, other = Style(), Style(bold=True)
    line = _Line(6, ground)
    line.put(-1, "abc", other)
    line.put(4, "xyz", other)
    line.put(1, "C", other)
    strip = line.strip()

    assert "bC  xy" == strip.text
    assert [("bC", other), ("  ", ground), ("xy", other)] == [
        (segment.text, segment.style) for segment in strip
    ]


# a tempo against its goal


@pytest.mark.parametrize(
    ("cold", "best", "expected"),
    [
        (45.0, None, "◂     │      "),
        (60.0, None, "━━    │      "),
        (89.4, None, "━━━━━━│      "),
        (89.6, None, "━━━━━━┿      "),
        (110.0, None, "━━━━━━┿━━    "),
        (134.0, None, "━━━━━━┿━━━━━━"),
        (60.0, 80.0, "━━   ◆│      "),
        (60.0, 90.0, "━━    │      "),
        (60.0, 500.0, "━━    │     ◆"),
        (60.0, 30.0, "━━    │      "),
        (500.0, 510.0, "━━━━━━┿━━━━━▸"),
    ],
)
def test_a_tempo_fills_its_bar_to_where_it_stands(
    cold: float, best: float | None, expected: str
) -> None:
    """With a goal of 90: half of it at the left end, half as much again at the right."""
    assert expected == tempo_bar(cold, 90.0, best)


@given(
    st.floats(10, 300), st.floats(10, 300), st.floats(30, 240), st.sampled_from([13, 15, 31, 51])
)
def test_a_faster_tempo_never_has_a_shorter_bar(
    one: float, other: float, goal: float, width: int
) -> None:
    """All bars of a goal are as wide; the goal's sign says whether the tempo has come to it."""
    slow, fast = (tempo_bar(bpm, goal, width=width) for bpm in sorted((one, other)))

    assert width == len(slow) == len(fast)
    assert slow.count("━") <= fast.count("━")
    for bpm, bar in zip(sorted((one, other)), (slow, fast), strict=True):
        assert ("┿" if round(bpm) >= round(goal) else "│") == bar[width // 2]


# marks of what was heard


def facts(states: str, part: Part = Part.STROKE) -> list[StrokeFact]:
    """Return facts by a letter each: h heard, m missed, u not to be told."""
    named = {"h": "heard", "m": "missed", "u": "unheard"}
    return [
        cast(
            "StrokeFact",
            SimpleNamespace(
                state=named[one],
                timed=one == "h",
                off_ms=0.0,
                expected=SimpleNamespace(part=part),
            ),
        )
        for one in states
    ]


@pytest.mark.parametrize(
    ("states", "late", "expected"),
    [
        ("hhhhh", None, IN_PLACE),
        ("hhhhh", 10.0, IN_PLACE),
        ("hhhhh", -10.0, IN_PLACE),
        ("hhhhh", 10.1, LATE),
        ("hhhhh", -10.1, EARLY),
        ("hhhhm", 0.0, IN_PLACE),
        ("hhhmm", 20.0, MISSING),
        ("huh", 20.0, LATE),
        ("hu", 20.0, LATE),
        ("huu", 20.0, UNTOLD),
        ("mu", 20.0, MISSING),
    ],
)
def test_a_stroke_has_the_mark_of_what_is_told_of_it(
    states: str, late: float | None, expected: str
) -> None:
    """Nothing where less than half is told; one in five may be missing; then beyond the noticed."""
    assert expected == _mark(facts(states), late, 10.0)


def test_what_is_struck_together_has_its_gravest_mark() -> None:
    """Missing before early before late before in place; a grace alone says nothing."""
    assert MISSING == _worst(facts("hm"), 10.0)
    assert IN_PLACE == _worst(facts("hu"), 10.0)
    assert UNTOLD == _worst(facts("u"), 10.0)
    assert UNTOLD == _worst(facts("m", Part.GRACE), 10.0)


def test_milliseconds_have_their_sign_but_nought_has_none() -> None:
    """Early is minus, late is plus; what rounds to nothing is nothing."""
    assert ["+4", "-12", "0", "0", "+1"] == [_signed(ms) for ms in (3.6, -12.2, -0.4, 0.4, 0.6)]
