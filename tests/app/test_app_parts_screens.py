"""What screens decide by themselves, asked without a window: shares of rows, cursors, offers."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app import next_steps
from drillbox.app.day_sheet import DONE_COLUMNS, MOST_NAMED, coming_words, done_rows
from drillbox.app.listening import Listening
from drillbox.app.next_steps import ENOUGH_SECONDS, NextSteps
from drillbox.app.screens import shelf_screen, studio, take_list, today
from drillbox.app.screens.preview import _line
from drillbox.app.screens.today import Today
from drillbox.app.screens.vocabulary_map import FIXED, VocabularyMap
from drillbox.app.screens.welcome import GOAL_STEP, DeckChoice
from drillbox.app.screens.wrapup import _over
from drillbox.app.screens.year_screen import SPANS, Year
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.row_table import RowTable
from drillbox.app.widgets.stand_face import StandFace
from drillbox.base.tempi import FIRST_GOAL
from drillbox.box.settings import Settings
from drillbox.memory import Grade
from drillbox.plan import Item, Part

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.app.desk import Desk
    from drillbox.app.heard_marks import HeardMarks
    from drillbox.app.listening import Heard, Opinion
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.sound import Mix


def size(width: int, height: int) -> object:
    """Return the size of a window or a widget."""
    return SimpleNamespace(width=width, height=height)


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


# a table's cursor


class Table:
    """What a table's methods look at, with a note of what they ask for."""

    def __init__(self, cursor: int = 0, *, first: int = 0, height: int = 6, rows: int = 20) -> None:
        self.cursor_row, self._records = cursor, [("",)] * rows
        self.size, self.scroll_offset = size(40, height), SimpleNamespace(y=first)
        self.moved: list[int] = []
        self.scrolled: list[int] = []
        self.posted: list[str] = []

    def scroll_to(self, *, y: int, **_: object) -> None:
        """Note where to."""
        self.scrolled.append(y)

    def move_to(self, row: int) -> None:
        """Note which row."""
        self.moved.append(row)

    def Opened(self, _: object) -> str:  # noqa: N802 - a message of the table
        """Return a message."""
        return "opened"

    def post_message(self, message: str) -> None:
        """Note a message."""
        self.posted.append(message)


@pytest.mark.parametrize(
    ("cursor", "height", "expected"),
    [(3, 6, []), (7, 6, []), (8, 6, [4]), (2, 6, [2]), (19, 6, [15]), (2, 1, [])],
)
def test_the_cursor_is_brought_into_view_by_the_least_move(
    cursor: int, height: int, expected: list[int]
) -> None:
    """Five rows under the head, from the fourth on: above it comes first, below it comes last."""
    table = Table(cursor, first=3, height=height)
    RowTable._show_cursor(cast("RowTable", table))

    assert expected == table.scrolled


def test_the_keys_move_by_a_row_by_what_is_in_view_and_to_the_ends() -> None:
    """A page is the height without the head, one row at least."""
    table = Table(10)
    as_table = cast("RowTable", table)
    for by in (-1, 1):
        RowTable.action_move(as_table, by)
        RowTable.action_page(as_table, by)
    RowTable.action_end(as_table, 0)
    RowTable.action_end(as_table, 1)
    low = Table(10, height=1)
    RowTable.action_page(cast("RowTable", low), 1)

    assert [9, 5, 11, 15, 0, 20] == table.moved
    assert [11] == low.moved


def test_a_moved_cursor_draws_two_rows_and_is_told() -> None:
    """The row it left and the row it came to, as they stand in view; it stays among the rows."""
    table = Table(5, first=3)
    drawn: list[tuple[int, int, int, int]] = []
    seen = SimpleNamespace(_show_cursor=lambda: drawn.append((0, 0, 0, 0)), refresh=drawn.append)
    seen.__dict__.update(vars(table), post_message=table.post_message)
    seen.Highlighted = lambda at: f"at {at.cursor_row}"
    for row in (6, 99, -4):
        RowTable.move_to(cast("RowTable", seen), row)

    assert ["at 6", "at 19", "at 0"] == table.posted
    assert [(0, 3, 40, 1), (0, 4, 40, 1), (0, 0, 0, 0)] == drawn[:3]
    seen._records = []
    RowTable.move_to(cast("RowTable", seen), 2)
    assert 0 == seen.cursor_row


@pytest.mark.parametrize(
    ("y", "moved", "posted"),
    [(0, [], []), (1, [3], []), (3, [], ["opened"]), (4, [6], []), (None, [], [])],
)
def test_a_click_moves_the_cursor_and_a_second_one_opens(
    y: int | None, moved: list[int], posted: list[str]
) -> None:
    """The head is no row; rows are counted from the first in view; below the last is nothing."""
    table = Table(5, first=3)
    event = cast(
        "Any",
        SimpleNamespace(get_content_offset=lambda _: None if y is None else SimpleNamespace(y=y)),
    )
    RowTable.on_click(cast("RowTable", table), event)
    end = Table(0, rows=3)
    for row in (3, 4):
        click = SimpleNamespace(get_content_offset=lambda _, row=row: SimpleNamespace(y=row))
        RowTable.on_click(cast("RowTable", end), cast("Any", click))

    assert (moved, posted) == (table.moved, table.posted)
    assert [2] == end.moved


@pytest.mark.parametrize(("width", "expected"), [(80, 61), (31, 12), (10, 12), (32, 13)])
def test_the_first_column_takes_what_the_others_leave(width: int, expected: int) -> None:
    """Each column has a blank on both sides; a title is never narrower than twelve."""
    table = SimpleNamespace(
        _columns=(("card", 0), ("state", 8), ("bpm ", 5)),
        scrollable_content_region=SimpleNamespace(width=width),
    )

    assert [expected, 8, 5] == RowTable._widths(cast("RowTable", table))


@pytest.mark.parametrize(
    ("columns", "width"),
    [
        (today.COLUMNS, 80),
        (shelf_screen.COLUMNS, 80),
        (take_list.COLUMNS, 80),
        (studio.COLUMNS, 80),
        (studio.WIDE_COLUMNS, 120),
        (DONE_COLUMNS, 80),
    ],
)
def test_a_table_fits_its_window_and_its_heads_their_columns(
    columns: tuple[tuple[str, int], ...], width: int
) -> None:
    """One column takes what is left, and that is no less than a short title."""
    fixed = [(name, wide) for name, wide in columns if wide]

    assert len(columns) - 1 == len(fixed)
    assert all(len(name.strip()) <= wide for name, wide in fixed)
    assert width - 2 * len(columns) - sum(wide for _, wide in fixed) >= 12


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


# listening to its end


@pytest.mark.parametrize(
    ("seconds", "whole", "running", "expected"),
    [
        (10.53, False, True, True),
        (10.51, False, True, False),
        (0.0, True, True, True),
        (0.0, False, False, True),
    ],
)
def test_a_take_is_waited_for_until_its_last_sound_has_come_round(
    seconds: float, *, whole: bool, running: bool, expected: bool
) -> None:
    """Its length, what the microphone is late by, and 0.4 seconds to ring; or no more will come."""
    recorder = SimpleNamespace(seconds=seconds, whole=whole)
    metronome = SimpleNamespace(listens=True, running=running, recorder=recorder)
    settings = Settings(listening="microphone", round_trip_ms=120)
    listening = Listening(cast("Desk", SimpleNamespace(metronome=metronome)), settings)
    program = cast("Mix", SimpleNamespace(timeline=SimpleNamespace(seconds_total=10.0)))

    assert expected == listening._all_in(program)


def test_what_was_heard_is_kept_for_the_same_take_asked_again_once() -> None:
    """Another card, another tempo, or a second undo is another take."""

    def after(*asked: tuple[str, int]) -> bool:
        listening = Listening(cast("Desk", None), Settings())
        listening.last = cast("Heard", SimpleNamespace(card_id="e", bpm=80))
        for card_id, bpm in asked:
            listening.ask_again(card_id, bpm)
        return listening.last is not None

    told = [after(("e", 80)), after(("a", 80)), after(("e", 85)), after(("e", 80), ("e", 80))]
    assert [True, False, False, False] == told


def test_an_opinion_of_an_earlier_take_is_not_the_last_ones() -> None:
    """It comes too late to be asked about, and leaves the running one alone."""
    make: Callable[[], Any] = SimpleNamespace
    listening = Listening(cast("Desk", None), Settings())
    earlier, listening.last = make(), make()
    late, now = cast("Opinion", make()), cast("Opinion", make())

    assert not listening.told(earlier, late)
    assert listening.opinion is None
    assert listening.told(listening.last, now)
    assert now is listening.opinion
