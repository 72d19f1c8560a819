"""What screens decide by themselves, asked without a window: shares of rows, cursors, offers."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app.file_check import _tell
from drillbox.app.screens import card, shelf_screen, studio, take_list, today, vocabulary_map
from drillbox.app.screens.preview import _line
from drillbox.app.screens.today import Today
from drillbox.app.screens.vocabulary_map import FIXED, VocabularyMap
from drillbox.app.screens.welcome import GOAL_STEP, DeckChoice
from drillbox.app.screens.year_screen import SPANS, Year
from drillbox.app.styled import StyledApp
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.stand_face import StandFace
from drillbox.base.tempi import FIRST_GOAL
from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.app.heard_marks import HeardMarks


def size(width: int, height: int) -> object:
    """Return the size of a window or a widget."""
    return SimpleNamespace(width=width, height=height)


def test_a_window_is_wide_or_tall_for_styles_as_for_what_screens_decide() -> None:
    """Wide from 120 columns on, tall from 30 rows, the year's two plots from 40."""
    assert {"-narrow": 0, "-wide": today.WIDE} == {
        name: first for first, name in StyledApp.HORIZONTAL_BREAKPOINTS
    }
    assert 120 == today.WIDE == studio.WIDE
    assert Year.HORIZONTAL_BREAKPOINTS == StyledApp.HORIZONTAL_BREAKPOINTS
    assert {"-short": 0, "-tall": card.TALL_ROWS} == {
        name: first for first, name in StyledApp.VERTICAL_BREAKPOINTS
    }
    assert 30 == card.TALL_ROWS == shelf_screen.TALL == vocabulary_map.TALL
    assert [(0, "-short"), (40, "-tall")] == Year.VERTICAL_BREAKPOINTS


class Settled:
    """A drawing that notes the place it is given."""

    def __init__(self) -> None:
        self.places: list[tuple[int, int]] = []

    def settle(self, *, width: int, most: int) -> None:
        """Note a place."""
        self.places.append((width, most))


@pytest.mark.parametrize(
    ("width", "height", "expected"),
    [(80, 24, (78, 9)), (80, 12, (78, 6)), (119, 50, (117, 19)), (120, 30, (56, 18))],
)
def test_today_gives_its_drawing_a_share_of_the_window(
    width: int, height: int, expected: tuple[int, int]
) -> None:
    """Under the plan 38 in a hundred rows and six at least; in a wide window half of the width."""
    view = Settled()
    screen = SimpleNamespace(size=size(width, height))
    screen._rows_for_drawing = cast("Any", Today._rows_for_drawing).fget(screen)
    Today._share_rows(cast("Today", screen), cast("PatternView", view))

    assert [expected] == view.places


@pytest.mark.parametrize(
    ("height", "expected"), [(0, []), (1, [(78, -7)]), (12, [(78, 4)]), (41, [(78, 26)])]
)
def test_the_stand_keeps_rows_for_what_stands_under_the_pattern(
    height: int, expected: list[tuple[int, int]]
) -> None:
    """Seven at least, 36 in a hundred of a tall window; nothing before there is a window."""
    view = Settled()
    face = SimpleNamespace(size=size(80, height), query_one=lambda _: view)
    StandFace._share_rows(cast("StandFace", face))

    assert expected == view.places


@pytest.mark.parametrize(("height", "expected"), [(11, 2), (12, 3), (6, 0), (4, 0)])
def test_a_pattern_stands_in_the_middle_of_a_taller_place(height: int, expected: int) -> None:
    """An odd row goes below; what is too long begins at the top."""
    view = SimpleNamespace(size=size(80, height), _page=SimpleNamespace(height=6))

    assert expected == cast("Any", PatternView._top).fget(view)
    assert 0 == cast("Any", PatternView._top).fget(SimpleNamespace(_page=None))


@pytest.mark.parametrize(("most", "rows"), [(9, 7), (7, 7), (4, 4), (0, 1), (-3, 1)])
def test_a_drawing_takes_no_more_rows_than_it_needs(most: int, rows: int) -> None:
    """Nor than it is given, and one at least; before there is a pattern it takes none."""
    later: list[object] = []
    view = SimpleNamespace(
        _pattern=None,
        _relay=None,
        _laid_out=lambda width, most: SimpleNamespace(height=7),
        styles=SimpleNamespace(height=None),
        call_after_refresh=later.append,
    )
    PatternView.settle(cast("PatternView", view), width=40, most=most)
    before = view.styles.height
    view._pattern = "a pattern"
    PatternView.settle(cast("PatternView", view), width=40, most=most)

    assert (None, rows, [None]) == (before, view.styles.height, later)


# choices


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [(0, FIXED, "a"), (1, FIXED + 1, "d"), (0, FIXED - 1, ""), (2, FIXED, ""), (0, FIXED + 1, "b")],
)
def test_the_map_knows_the_card_under_its_cursor(row: int, column: int, expected: str) -> None:
    """The first columns name the row; below the last row there is no card."""
    table = SimpleNamespace(cursor_coordinate=(row, column))
    page = SimpleNamespace(_cards=[("a", "b"), ("c", "d")], query_one=lambda _: table)

    assert expected == VocabularyMap._chosen(cast("VocabularyMap", page))


@pytest.mark.parametrize(
    ("first", "direction", "shift"),
    [
        (FIRST_GOAL.least + GOAL_STEP, -1, -GOAL_STEP),
        (FIRST_GOAL.least + GOAL_STEP - 1, -1, 0),
        (FIRST_GOAL.most - GOAL_STEP, 1, GOAL_STEP),
        (FIRST_GOAL.most - GOAL_STEP + 1, 1, 0),
    ],
)
def test_a_first_goal_moves_by_steps_within_its_range(
    first: float, direction: int, shift: float
) -> None:
    """Both ends can be reached, and not passed."""
    shown: list[bool] = []
    page = SimpleNamespace(
        _goals=lambda: [first, first + 50], _shift=0, _show_goal=lambda: shown.append(True)
    )
    DeckChoice.action_goal(cast("DeckChoice", page), direction)

    assert (shift, bool(shift)) == (page._shift, bool(shown))


def test_the_spans_of_the_year_end_at_the_shortest_and_the_longest() -> None:
    """They do not go round: who holds the key stays at the end."""
    page = SimpleNamespace(_span=1, _show_span=lambda: None)
    seen = []
    for step in (-1, -1, 1, 1, 1):
        Year.action_span(cast("Year", page), step)
        seen.append(page._span)

    assert [0, 0, 1, 2, 2] == seen
    assert sorted(days for _, days in SPANS) == [days for _, days in SPANS]


@pytest.mark.parametrize(
    ("where", "expected"),
    [("week-3.toml:20:11", 20), ("C:/week.toml:7:1", 7), ("week-3.toml", 0), ("a:b:c", 0), ("", 0)],
)
def test_a_place_in_a_file_names_its_line(where: str, expected: int) -> None:
    """The last two numbers are line and column; a place without them names no line."""
    assert expected == _line(where)


def test_a_take_is_taken_back_when_it_is_asked_for_twice() -> None:
    """The first time asks, the second does it and shows what is left; no take, nothing to ask."""
    done: list[object] = []
    take = SimpleNamespace(
        take_id="abc",
        bpm=80.0,
        grade=Grade.CLEAN,
        day=739_000,
        at=datetime(2024, 4, 23, tzinfo=UTC),
    )
    chosen: list[object] = [None, take, take, take]
    page = SimpleNamespace(
        query_one=lambda _: SimpleNamespace(cursor_row=0),
        _chosen=lambda _: chosen.pop(0),
        _asked=None,
        _say=lambda _: done.append("said"),
        draw=lambda: done.append("drawn"),
        _desk=SimpleNamespace(
            box=SimpleNamespace(retract=lambda take_id, at: done.append(take_id)),
            clock=SimpleNamespace(now=lambda: None),
        ),
    )
    seen = []
    for _ in range(4):
        take_list.TakeList.action_take_back(cast("take_list.TakeList", page))
        seen.append([*done])
        done.clear()

    assert [[], ["said"], ["abc", "drawn", "said"], ["said"]] == seen


@pytest.mark.parametrize(
    ("system", "shown", "turned"),
    [(0, 0, []), (0, 1, [0]), (1, 0, []), (1, 2, []), (2, 0, [12]), (2, 7, []), (1, 7, [6])],
)
def test_a_page_is_turned_to_a_line_that_is_not_whole_in_view(
    system: int, shown: int, turned: list[int]
) -> None:
    """Lines of five rows with one between, in a place of eleven; a page that fits stays."""
    scrolled: list[int] = []
    view = SimpleNamespace(
        size=size(80, 11),
        _page=SimpleNamespace(height=17, system_height=5),
        scroll_offset=SimpleNamespace(y=shown),
        scroll_to=lambda *, y, animate: scrolled.append(y),
    )
    PatternView._turn_to(cast("PatternView", view), system)
    view._page.height = 11
    PatternView._turn_to(cast("PatternView", view), 9)
    view._page = None
    PatternView._turn_to(cast("PatternView", view), 9)

    assert turned == scrolled


def test_marks_are_new_once() -> None:
    """The rows are shared out anew only for a drawing that has changed."""
    view = PatternView()
    marks = cast("HeardMarks", SimpleNamespace())

    assert [False, True, False, True] == [view.mark(one) for one in (None, marks, marks, None)]


class ToldToday(Today):
    """Today that notes what it is told for good."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def tell(self, news: str) -> None:
        """Note it."""
        self.told.append(news)


@pytest.mark.parametrize("on_top", [True, False])
def test_damage_is_told_where_the_player_is_and_on_today(*, on_top: bool) -> None:
    """As a notice over any other screen; on Today it stays, whatever stands over that."""
    notices: list[str] = []
    page, other = ToldToday(), object()
    app = SimpleNamespace(
        screen=page if on_top else other,
        screen_stack=[page] if on_top else [page, other],
        notify=lambda news, **_: notices.append(news),
    )
    _tell(cast("Any", app), "Damaged.")

    assert ([] if on_top else ["Damaged."]) == notices
    assert ["Damaged."] == page.told
