"""What screens decide by themselves, asked without a window: shares of rows, cursors, offers."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app import next_steps
from drillbox.app.day_sheet import MOST_NAMED, coming_words, done_rows
from drillbox.app.file_check import _tell
from drillbox.app.next_steps import ENOUGH_SECONDS, NextSteps
from drillbox.app.screens import card, shelf_screen, studio, take_list, today, vocabulary_map
from drillbox.app.screens.preview import _line
from drillbox.app.screens.today import Today
from drillbox.app.screens.vocabulary_map import FIXED, VocabularyMap
from drillbox.app.screens.welcome import GOAL_STEP, DeckChoice
from drillbox.app.screens.wrapup import _over
from drillbox.app.screens.year_screen import SPANS, Year
from drillbox.app.styled import StyledApp
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.stand_face import StandFace
from drillbox.base.tempi import FIRST_GOAL
from drillbox.memory import Grade
from drillbox.plan import Item, Part

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.app.heard_marks import HeardMarks
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


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


# the day that is over


def test_only_a_day_past_its_minutes_is_explained() -> None:
    """To the second; how many minutes it has is said."""
    assert "" == _over(900.0, 15)
    assert "15 minutes" in _over(900.1, 15)
    assert "1 minute." in _over(61.0, 1)


def test_a_day_that_is_over_has_a_row_for_each_card(box: Box, clock: ManualClock) -> None:
    """In the order they were begun; first and last tempo where they differ; the last grade."""
    for slug, bpm, grade in (
        ("a", 70, Grade.STEADY),
        ("e", 60, Grade.CLEAN),
        ("e", 65, Grade.STEADY),
        ("e", 65, Grade.SHAKY),
    ):
        clock.forward(seconds=40.0)
        box.record(box.find(slug), bpm, grade, clock.now(), 40)
    rows = done_rows(box, at=clock.now())

    assert [("1", "70", "steady"), ("3", "60→65", "shaky")] == [row[1:4] for row in rows]


@pytest.mark.parametrize("cards", [1, MOST_NAMED, MOST_NAMED + 1, MOST_NAMED + 3])
def test_what_comes_next_is_named_up_to_four_and_counted_beyond(cards: int) -> None:
    """Each card once, at the tempo of its first visit; of what slips the first four."""
    items = [Item(f"c{n}", 60 + n, 3, 90.0, "because", Part.WORK) for n in range(cards)]
    again = [Item("c0", 99, 1, 30.0, "because", Part.WRAP_UP)]
    slipping = [SimpleNamespace(title=f"s{n}", returns_on=12 + n) for n in range(cards)]
    box = SimpleNamespace(
        now=lambda _: SimpleNamespace(day=10),
        next_practice=lambda at: (11, SimpleNamespace(items=[*items, *again])),
        title=lambda card_id: card_id,
        coming=lambda at, days: slipping if days == 7 else [],
    )
    first, slips = coming_words(cast("Box", box), at=cast("Any", None)).splitlines()

    assert min(cards, MOST_NAMED) == first.count(" at ")
    assert "c0 at 60" in first
    assert (f"{cards - MOST_NAMED} more" in first) == (cards > MOST_NAMED)
    assert min(cards, MOST_NAMED) == slips.count("in ")
    assert "s0 in 2 d" in slips


@pytest.mark.parametrize(("slips_on", "told"), [(10, "tomorrow"), (11, "tomorrow"), (12, "in 2 d")])
def test_nothing_holds_and_slips_on_one_day(slips_on: int, told: str) -> None:
    """A card that holds now is said to slip by tomorrow at the soonest."""
    box = SimpleNamespace(
        now=lambda _: SimpleNamespace(day=10),
        next_practice=lambda at: (11, SimpleNamespace(items=[])),
        coming=lambda at, days: [SimpleNamespace(title="e of 1", returns_on=slips_on)],
    )

    assert coming_words(cast("Box", box), at=cast("Any", None)).endswith(f": e of 1 {told}.")


@pytest.mark.parametrize(
    ("left", "items", "in_box", "offered"),
    [
        (ENOUGH_SECONDS, (), 3, True),
        (ENOUGH_SECONDS - 0.1, (), 3, False),
        (900.0, ("one",), 3, False),
        (900.0, (), 0, False),
    ],
)
def test_a_deck_is_offered_where_much_of_the_day_is_left_and_nothing_to_play(
    monkeypatch: pytest.MonkeyPatch, left: float, items: object, in_box: int, *, offered: bool
) -> None:
    """Two minutes are much; a box without a card has had no day."""
    deck = SimpleNamespace(title="Next", cards=[SimpleNamespace(title="e")])
    monkeypatch.setattr(next_steps, "_next_deck", lambda *_: deck)
    box = SimpleNamespace(
        now=lambda at: at,
        goals=SimpleNamespace(outgrown=lambda _: ()),
        plan=lambda at, minutes: SimpleNamespace(items=items, left_seconds=left),
        cards_in_box=in_box,
    )
    steps = NextSteps(cast("Desk", SimpleNamespace(box=box, minutes_today=lambda: 15)))
    steps.look(at=cast("Any", None))

    assert offered == (steps.deck is not None)
    assert not steps.may_raise
    assert offered == bool(steps.sentences())


def test_one_key_raises_goals_and_takes_that_back() -> None:
    """The same offer is not made twice at once; with none nothing is changed."""
    done: list[str] = []
    goals = SimpleNamespace(
        make=lambda changes, at: done.append(f"{len(changes)} up"),
        undo=lambda at: done.append("back"),
    )
    desk = SimpleNamespace(box=SimpleNamespace(goals=goals))
    steps = NextSteps(cast("Desk", desk))
    steps.raise_or_take_back(at=cast("Any", None))
    steps.outgrown = cast("Any", ("one", "two", "three"))
    told = [steps.may_raise]
    for _ in range(3):
        steps.raise_or_take_back(at=cast("Any", None))
        steps.outgrown = () if done[-1] != "back" else cast("Any", ("one",))
        told.append(steps.may_raise)

    assert ["3 up", "back", "1 up"] == done
    assert [True] * 4 == told
    assert "" == steps.add_deck(at=cast("Any", None))
