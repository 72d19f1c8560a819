"""The small words and orders of the app: boundary values of what turns numbers into words."""

from __future__ import annotations

from datetime import UTC, date, datetime
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.binding import Binding

from drillbox.app.accompaniment import next_of
from drillbox.app.grade_signs import GRADE_LEGEND, GRADE_SIGNS
from drillbox.app.keymap import _is_key, checked_keymap
from drillbox.app.listening import CLIPPED
from drillbox.app.palette import _score, begun_words
from drillbox.app.screens.shelf_screen import ORDERS, WIDE, WIDEST_BAR, Shelf
from drillbox.app.screens.sound_check import (
    GOOD,
    PLAY_LOUD,
    QUIET,
    TOO_LOUD,
    _advice,
    _db,
)
from drillbox.app.screens.take_list import _row
from drillbox.app.stand_words import meter_words
from drillbox.app.widgets.grade_zones import GRADE_KEYS, PART_KEYS, PARTS, way_word
from drillbox.app.widgets.row_table import MadeInView, _set
from drillbox.app.widgets.stand_panes import MOST_PASS_SIGNS, pass_words
from drillbox.app.widgets.tempo_bar import WIDTH
from drillbox.app.words import day_words, minutes_seconds
from drillbox.base.wording import bpm_words
from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.box.take_views import TakeView
    from drillbox.box.views import CardView

TODAY = date(2026, 3, 2).toordinal()


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [(0, "0:00"), (59.4, "0:59"), (59.6, "1:00"), (60, "1:00"), (605, "10:05"), (3600, "60:00")],
)
def test_a_length_is_minutes_and_two_digits_of_seconds(seconds: float, expected: str) -> None:
    """Seconds are rounded before they are split, so that there is never a ``0:60``."""
    assert expected == minutes_seconds(seconds)


def test_a_tempo_is_a_whole_number_or_a_dash() -> None:
    """A tempo that nobody knows is not nought."""
    assert ["–", "73", "0"] == [bpm_words(bpm) for bpm in (None, 72.6, 0.0)]


@pytest.mark.parametrize(
    ("ahead", "expected"),
    [
        (0, "today"),
        (1, "tomorrow"),
        (-1, "yesterday"),
        (2, "in 2 d"),
        (99, "in 99 d"),
        (100, "3 months"),
        (304, "10 months"),
        (729, "24 months"),
        (730, "years"),
        (-2, "2 d ago"),
        (-99, "99 d ago"),
        (-100, "Nov 2025"),
        (-500, "Oct 2024"),
    ],
)
def test_a_day_is_told_the_rougher_the_farther_it_is(ahead: int, expected: str) -> None:
    """Single days up to a hundred, months to two years ahead, the month's name far back."""
    assert expected == day_words(TODAY + ahead, TODAY)


@given(st.integers(-4_000, 4_000))
def test_a_day_fits_its_column(ahead: int) -> None:
    """Nine columns hold any day, known or not."""
    assert 9 >= len(day_words(TODAY + ahead, TODAY))
    assert "–" == day_words(None, TODAY)


def test_the_way_of_the_metronome_is_seen_from_the_tempo_now() -> None:
    """Faster is up, slower is down, the same is to stay."""
    assert ["up", "stay", "down"] == [way_word(bpm, 60) for bpm in (61, 60, 59)]


@given(st.integers(1, 40), st.data())
def test_the_passes_have_a_sign_each_while_there_is_room(of: int, data: st.DataObject) -> None:
    """Those begun are full; passes are counted from one; with too many there are no signs."""
    done = data.draw(st.integers(0, of - 1))
    told = pass_words(done, of)

    assert told.startswith(f"pass {done + 1} of {of}")
    signs = (done + 1, of - done - 1) if of <= MOST_PASS_SIGNS else (0, 0)
    assert signs == (told.count("■"), told.count("□"))
    assert told == told.strip()


@pytest.mark.parametrize("bars", [0, 3, 8])
def test_a_level_is_as_many_full_signs(bars: int) -> None:
    """The meter is as long at every level; one that clips has words in its place."""
    told = meter_words(bars, 8, clipped=False)

    assert (bars, 8 - bars) == (told.count("■"), told.count("□"))
    assert "■" not in meter_words(bars, 8, clipped=True)


def test_five_keys_side_by_side_grade_from_slow_to_fast() -> None:
    """Left to right the metronome goes from far down to far up, as on the screen."""
    assert list(Grade) == sorted(Grade) == list(GRADE_KEYS.values())
    assert "asdfg" == "".join(GRADE_KEYS)


def test_no_key_of_the_keyboards_parts_means_two_things() -> None:
    """Each part has keys, no key is in two parts or is a grade's own letter; each grade a part."""
    keys = [key for part in PART_KEYS.values() for key in part.split(",")]

    assert len(keys) == len(set(keys))
    assert not set(keys) & set(GRADE_KEYS)
    assert set(PARTS) == set(PART_KEYS)
    assert set(Grade) == set(PARTS.values())
    assert PARTS["lowest"] < PARTS["left"] < PARTS["middle"] < PARTS["right"] < PARTS["highest"]


def test_the_legend_explains_every_sign_of_a_grade() -> None:
    """Each grade has a sign of one column, no two the same, with its own label beside it."""
    assert [f"{GRADE_SIGNS[grade]} {grade.label}" for grade in sorted(Grade)] == (
        GRADE_LEGEND.split("  ")
    )
    assert [1] * 5 == [len(sign) for sign in set(GRADE_SIGNS.values())]


def test_names_go_round_and_round_both_ways() -> None:
    """After the last comes the first; who stands nowhere begins at the start of the list."""
    names = ("one", "two", "three")

    assert ["two", "three", "one"] == [next_of(names, name) for name in names]
    assert ["three", "one", "two"] == [next_of(names, name, -1) for name in names]
    assert ("two", "three") == (next_of(names, "none"), next_of(names, "none", -1))


@pytest.mark.parametrize(
    ("key", "is_key"),
    [
        ("p", True),
        ("ä", True),
        ("?", True),
        ("pp", False),
        ("", False),
        ("\n", False),
        ("space", True),
        ("f24", True),
        ("f25", False),
        ("ctrl+p", True),
        ("alt+left", True),
        ("shift+f5", True),
        ("super+p", False),
        ("ctrl+", False),
        ("ctrl+spcae", False),
    ],
)
def test_a_key_is_one_sign_or_a_known_name(key: str, *, is_key: bool) -> None:
    """Nothing else is, since the app would wait for it in vain."""
    assert is_key == _is_key(key)


def test_a_key_may_do_different_things_on_different_screens() -> None:
    """Two bindings of one screen cannot share a key, of two screens they can."""
    here = [Binding("a", "go", id="here.go"), Binding("b", "stop", id="here.stop")]
    there = [Binding("p", "play", id="there.play"), Binding("c,d", "call", id="there.call")]
    screens = {"Here": here, "There": there}

    assert ({"here.go": "p,x"}, []) == checked_keymap({"here.go": " p, x "}, screens)
    keymap, problems = checked_keymap({"there.play": "x,d"}, screens)
    assert ({}, 1) == (keymap, len(problems))
    swapped = {"here.go": "b", "here.stop": "a"}
    assert (swapped, []) == checked_keymap(swapped, screens)


def test_a_part_of_the_keyboard_gives_way_to_a_players_own_key() -> None:
    """The parts cover most of the keyboard: a key of theirs may be given away."""
    bindings = [
        Binding("a", "go", id="stand.go"),
        Binding("q,w", "part('left')", id="stand.part.left"),
    ]

    assert ({"stand.go": "q"}, []) == checked_keymap({"stand.go": "q"}, {"Stand": bindings})


def test_what_was_typed_is_found_where_its_words_begin() -> None:
    """In any order, in capitals or not, whole words or beginnings; each with its own place."""
    assert [(5, 8), (11, 15)] == begun_words("eve BEAT", "e of Every beat")
    assert [(11, 15), (2, 4)] == begun_words("beat of", "e of every beat")
    assert [] == begun_words("very", "e of every beat")
    assert [] == begun_words("beat rock", "e of every beat")
    assert _score([(0, 2)]) > _score([(3, 5)]) > _score([]) > 0


def test_a_cell_is_as_wide_as_its_column() -> None:
    """Words stand left and are cut with a sign; numbers, of a name with a space, stand right."""
    assert "abc  " == _set("card", "abc", 5)
    assert "abcde" == _set("card", "abcde", 5)
    assert "abcd…" == _set("card", "abcdef", 5)
    assert "   72" == _set("bpm ", "72", 5)


def test_a_record_is_made_once_and_only_when_it_is_looked_at() -> None:
    """Thousands of rows cost what a screenful does; a slice counts as looking."""
    made: list[int] = []

    def make(index: int) -> tuple[str]:
        made.append(index)
        return (str(index),)

    records = MadeInView(5, make)

    assert (5, []) == (len(records), made)
    assert ("3",) == records[3] == records[3]
    assert [("1",), ("3",)] == records[1:5:2]
    assert [3, 1] == made


def card(title: str, cold: float | None = None, goal: float = 90.0) -> CardView:
    """Return what an order looks at of a card."""
    return cast("CardView", SimpleNamespace(title=title, cold_bpm=cold, goal_bpm=goal))


def test_the_orders_of_the_shelf() -> None:
    """By title without regard to capitals; by share of the goal, not by tempo; else as they are."""
    cards = [card("b", 100, 110), card("C"), card("a", 80, 80), card("D", 70, 72)]
    by = dict(ORDERS)

    assert [*"bCaD"] == [one.title for one in sorted(cards, key=by["in deck order"])]
    assert [*"abCD"] == [one.title for one in sorted(cards, key=by["by title"])]
    slowest = sorted(cards, key=by["slowest against goal first"])
    assert [*"bDaC"] == [one.title for one in slowest]


@given(st.integers(20, 400))
def test_the_shelfs_bar_is_odd_and_leaves_room_for_titles(width: int) -> None:
    """An odd width has a middle for the goal; a narrow window has no bar, a wide one a long one."""
    shelf = cast("Shelf", SimpleNamespace(size=SimpleNamespace(width=width)))
    bar = Shelf._bar_width(shelf)

    if width < WIDE:
        assert 0 == bar
    else:
        assert WIDTH <= bar <= WIDEST_BAR
        assert 1 == bar % 2
    others = 2 * 8 + 36 + 6  # padding of eight columns, the fixed ones, the last grades
    if bar > WIDTH:
        assert width - others - bar >= 44


def test_the_level_is_told_by_what_to_do_about_it() -> None:
    """Clipping, silence, too quiet, good: the borders are at 0.99, and at -30 dB full scale."""
    assert [TOO_LOUD, GOOD] == [_advice(level) for level in (CLIPPED, 0.98)]
    assert [GOOD, QUIET] == [_advice(level) for level in (0.0317, 0.0315)]
    assert [QUIET, PLAY_LOUD] == [_advice(level) for level in (0.0016, 0.0014)]


def test_a_level_in_decibels_has_a_floor() -> None:
    """Full scale is nought, a tenth is 20 dB less; silence is the floor of the meter, -60."""
    assert [0.0, -20.0, -60.0, -60.0] == [
        pytest.approx(_db(level)) for level in (1.0, 0.1, 0.001, 0.0)
    ]


def test_a_take_is_one_row_with_when_how_fast_and_how() -> None:
    """The day's first is cold; tempos are whole numbers; after midnight it is the evening's."""
    take = SimpleNamespace(
        day=date(2026, 12, 31).toordinal(),
        at=datetime(2027, 1, 1, 1, 5, tzinfo=UTC),
        bpm=82.4,
        grade=Grade.CLEAN,
        cold=True,
        short_id="ab12",
    )
    row = _row(cast("TakeView", take))
    take.cold = False

    assert ("82", Grade.CLEAN.label, "cold", "ab12") == row[1:]
    assert "Thu 31 Dec 2026, 01:05" == row[0]
    assert "warm" == _row(cast("TakeView", take))[3]
