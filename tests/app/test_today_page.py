"""What Today says and offers, without a window."""

from __future__ import annotations

import re
import sys
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest
from conftest import SMALL_DECK

from drillbox.app.screens import today as today_screen
from drillbox.app.screens.today import FEWEST_TO_CHECK, Today
from drillbox.app.stand_words import UNGRADED
from drillbox.base.wording import NOTHING_TO_PLAY, open_minutes
from drillbox.box import Box
from drillbox.box.practice import by_card
from drillbox.box.setting_kinds import LONGEST_DAY, SHORTEST_DAY
from drillbox.deckfile import parse_deck, starter_decks
from drillbox.errors import BoxError
from drillbox.memory import Grade
from drillbox.rhythm import Hand

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare, Part
from hands_on import make_app, screen_text, settle
from still_desk import still_desk

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.app.widgets.row_table import RowTable
    from drillbox.base.clock import ManualClock

ASKED_DECK = f"""{SMALL_DECK}
[[assignment]]
by = 2026-03-06
cards = ["e", "a"]
goal = 70
"""


class BareToday(Bare, Today):
    """Today in no app, with a drawing that stands already."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(lambda: desk)
        self._drawing = cast("Any", self.part("drawing"))
        self.draw()

    @property
    def plan(self) -> Part:
        """The table of what is to be played."""
        return self.part("#plan")

    @property
    def summary(self) -> str:
        """What is said above it."""
        return self.line("#summary")


def today(box: Box, clock: ManualClock) -> BareToday:
    """Return Today over a box."""
    return BareToday(still_desk(box, clock))


def play_all(box: Box, clock: ManualClock, seconds: float = 870.0) -> None:
    """Play so long that nothing fits any more."""
    box.record(box.find("e"), bpm=60, grade=Grade.STEADY, at=clock.now(), seconds=seconds)


def test_a_row_for_each_card_in_the_plans_order(box: Box, clock: ManualClock) -> None:
    """Title, first tempo, takes and time of all its visits; the day, and what is left of it."""
    plan = box.plan(at=clock.now(), minutes=15)
    page, cards = today(box, clock), by_card(plan.items)

    assert [(box.title(one.card_id), str(one.bpm), str(one.takes)) for one in cards] == [
        row[:3] for row in page.plan.rows
    ]
    assert [f"{int(one.seconds) // 60}:" for one in cards] == [
        row[3].strip()[:2] for row in page.plan.rows
    ]
    assert ("Today, Mon 2 Mar", "15:00 of 15:00 left") == (
        page.line("#title"), page.line("#clock"),
    )  # fmt: skip
    assert (True, False) == (page.plan.display, page.part("#done").display)
    assert page.looked_at_keys


def test_the_chosen_row_is_drawn_and_says_why(box: Box, clock: ManualClock) -> None:
    """By the player's hand; the cursor of the other table changes nothing of it."""
    box.change_settings(at=clock.now(), leading="L")
    page = today(box, clock)
    items = by_card(box.plan(at=clock.now(), minutes=15).items)
    drawing, why = page.part("drawing"), page.part("#plan-why")
    seen = []
    for table, row in (("plan", 1), ("done", 0), ("plan", 99)):
        told = SimpleNamespace(table=SimpleNamespace(id=table, cursor_row=row))
        page.on_row_table_highlighted(cast("RowTable.Highlighted", told))
        seen.append((drawing.drawn, drawing.display, why.words, why.display))
    pattern = box.card(items[1].card_id, at=clock.now()).pattern

    assert ((pattern, Hand.LEFT), True) == seen[0][:2]
    assert seen[0][2].startswith(items[1].why)
    assert seen[0] == seen[1]
    assert (False, "", False) == seen[2][1:]


@pytest.mark.parametrize(("left_at", "row"), [(1, 1), (None, 0)])
def test_the_cursor_goes_to_where_the_stand_was_left(
    box: Box, clock: ManualClock, left_at: int | None, row: int
) -> None:
    """Once; a card that is not to be played any more leaves it where it was."""
    items = by_card(box.plan(at=clock.now(), minutes=15).items)
    desk = still_desk(box, clock)
    desk.left_at = "0" * 16 if left_at is None else items[left_at].card_id
    page = BareToday(desk)

    assert (row, "") == (page.plan.cursor_row, desk.left_at)


def test_enter_and_a_click_play_the_chosen_card(box: Box, clock: ManualClock) -> None:
    """With no row there is nothing to choose; a click on an empty plan does nothing."""
    page = today(box, clock)
    items = by_card(box.plan(at=clock.now(), minutes=15).items)
    page.plan.move_to(1)
    page.action_play()
    page.on_row_table_opened()
    page.plan.cursor_row = 99
    page.action_play()
    played = [one.card_id for one in page.posted]
    page._items = ()
    page.on_row_table_opened()

    assert [items[1].card_id, items[1].card_id, ""] == played
    assert 3 == len(page.posted)


async def test_other_keys_are_the_apps(box: Box, clock: ManualClock) -> None:
    """Five minutes more, and the tempo check."""
    page = today(box, clock)
    await page.action_play_on()
    await page.action_tempo_check()

    assert ["app.play_on", "app.tempo_check"] == page.ran


# what is offered


OFFERS = ("play", "play_on", "tempo_check", "raise_goals", "add_deck", "quit")


def test_each_day_offers_its_own_keys(box: Box, clock: ManualClock) -> None:
    """A day to play is played, one that is over goes on; a small box has no tempo check."""
    before = [page_offers for page_offers in OFFERS if today(box, clock).offers(page_offers)]
    play_all(box, clock)
    after = [page_offers for page_offers in OFFERS if today(box, clock).offers(page_offers)]

    assert (["play", "quit"], ["play_on", "quit"]) == (before, after)


@pytest.mark.parametrize("cards", [FEWEST_TO_CHECK - 1, FEWEST_TO_CHECK])
def test_a_tempo_check_is_offered_to_who_never_played_and_has_enough_cards(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch, cards: int
) -> None:
    """From 24 cards on, and only before the first take of all."""
    monkeypatch.setattr(Box, "cards_in_box", property(lambda _: cards))
    first = today(box, clock)
    box.record(box.find("e"), bpm=60, grade=Grade.STEADY, at=clock.now(), seconds=40)
    later = today(box, clock)

    assert 24 == FEWEST_TO_CHECK
    assert ((cards == 24), False) == (first.offers("tempo_check"), later.offers("tempo_check"))
    assert (cards == 24) == ("g is a tempo check" in first.summary)
    assert "Your first day: " in first.summary
    assert "first day" not in later.summary


def test_a_goal_that_was_outgrown_is_raised_and_a_deck_added_where_there_is_one(
    box: Box, clock: ManualClock
) -> None:
    """Neither key does anything while there is still something to play."""
    page = today(box, clock)
    page.action_raise_goals()
    page.action_add_deck()
    busy = (page._offers, len(box.decks(clock.now())))
    for card in box.cards(at=clock.now()):
        box.rest(card.card_id, resting=True, at=clock.now())
    page.draw()
    offered = (page.offers("add_deck"), page.offers("raise_goals"), page.summary)
    drawn = page.part("drawing").drawn
    page.action_raise_goals()
    page.action_add_deck()
    added = page.summary
    page.on_screen_suspend()
    page.draw()
    first = starter_decks()[0].read()

    assert (None, 1) == busy
    assert (True, False) == offered[:2]
    assert "Nothing needs you today." in offered[2]
    assert drawn is not None
    assert first.cards[0].pattern == drawn[0]
    assert f"{first.title} is in the box" in added
    assert f"{first.title} is in the box" not in page.summary
    assert 2 == len(box.decks(clock.now()))


# what is said


def test_a_day_begins_goes_on_and_ends(box: Box, clock: ManualClock) -> None:
    """Each has its sentence; over, the table of what was done is up, and what comes next."""
    page = today(box, clock)
    told = [page.summary]
    play_all(box, clock, 60.0)
    page.draw()
    told.append(page.summary)
    left = page.line("#clock")
    play_all(box, clock, 1000.0)
    page.draw()
    told.append(page.summary)
    box.change_settings(at=clock.now(), days="mon thu")
    page.draw()
    told.append(page.summary)
    clock.forward(seconds=86_400.0)
    tomorrow = today(box, clock).summary

    assert "Your first day: 4 cards, " in told[0]
    assert "Enter plays the chosen card." in told[0]
    assert "Go on where you stopped: " in told[1]
    assert "14:00 of 15:00 left" == left
    assert "Done for today. Come back tomorrow, or p plays on for five minutes." in told[2]
    assert "Done for today. Come back on Thu 5 Mar, or p plays on" in told[3]
    assert "0:00 of 15:00 left" == page.line("#clock")
    assert (False, True) == (page.plan.display, page.part("#done").display)
    assert [("2",)] == [row[1:2] for row in page.part("#done").rows]
    assert page.line("#plan-why")
    assert "Ready: " in tomorrow


async def test_a_box_without_a_deck_says_what_to_press(box: Box, clock: ManualClock) -> None:
    """The key that plays adds a deck; where all are put away, that is said."""
    full = today(box, clock)
    box.archive_deck("first-ghosts", archived=True)
    away = today(box, clock)
    with Box.open(":memory:", clock=clock) as empty:
        page = today(empty, clock)
        await page.action_add_first_deck()

        assert "No deck in the box: enter adds a starter deck." == page.summary
        assert ["app.add_deck"] == page.ran
    offers = [[one.offers(key) for key in ("play", "add_first_deck")] for one in (full, page, away)]
    assert [[True, False], [False, True], [False, True]] == offers
    assert away.summary.startswith("Every deck is put away: ")


def test_a_day_that_is_no_practice_day_says_so(box: Box, clock: ManualClock) -> None:
    """By the rule or a holiday, with the next one, and the plan all the same."""
    plain = today(box, clock).summary
    box.change_settings(at=clock.now(), days="wed fri")
    by_rule = today(box, clock)
    box.change_settings(at=clock.now(), days="every day", holidays="2026-03-02..2026-03-06")
    by_holiday = today(box, clock)
    box.change_settings(at=clock.now(), days="mon", holidays="")
    words = "No practice day: the next is {}. What you play today counts all the same."

    assert "No practice day" not in plain + today(box, clock).summary
    assert words.format("Wed 4 Mar") in by_rule.summary
    assert words.format("Sat 7 Mar") in by_holiday.summary
    assert by_rule.plan.rows


def test_a_take_that_was_left_without_a_grade_is_told_until_another_screen_comes_up(
    box: Box, clock: ManualClock
) -> None:
    """However often the page is drawn meanwhile."""
    desk = still_desk(box, clock)
    desk.parting_word = UNGRADED
    page = BareToday(desk)
    page.draw()
    told = page.summary
    page.on_screen_suspend()
    page.draw()

    assert told.startswith(UNGRADED)
    assert UNGRADED not in page.summary


def test_a_day_too_short_for_a_take_says_so(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No deck is offered then: it would not fit either."""
    plan = SimpleNamespace(items=(), left_seconds=30.0, seconds=0.0)
    monkeypatch.setattr(Box, "plan", lambda *_, **__: plan)
    page = today(box, clock)

    assert NOTHING_TO_PLAY in page.summary
    assert "are open" not in page.summary


def test_minutes_that_a_plan_leaves_open_are_told(box: Box, clock: ManualClock) -> None:
    """Four cards do not fill an hour."""
    box.choose_minutes_today(LONGEST_DAY, at=clock.now())
    plan = box.plan(at=clock.now(), minutes=LONGEST_DAY)
    words = open_minutes(LONGEST_DAY * 60.0, plan.seconds)

    assert words != ""
    assert words in today(box, clock).summary


def test_what_a_teacher_asks_is_told_until_it_is_met(clock: ManualClock) -> None:
    """How many cards, by the first day; at the card its own tempo and day."""
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(parse_deck(ASKED_DECK, name="asked"), at=clock.now())
        page = today(box, clock)
        summary, why = page.summary, page.line("#plan-why")
        for slug in ("e", "a"):
            for _ in range(2):
                at = clock.now()
                box.record(box.find(slug), bpm=120, grade=Grade.AUTOMATIC, at=at, seconds=30)
        clock.forward(seconds=86_400.0)
        met = today(box, clock).summary

    assert "2 cards asked for, first by Fri 6 Mar." in summary
    assert "Asked for at 70 by Fri 6 Mar." in why
    assert "asked for" not in met


def test_what_is_asked_is_counted_whether_or_not_it_is_left_in_the_plan(
    clock: ManualClock,
) -> None:
    """When the day is over and its plan is empty, both cards are still asked for."""
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(parse_deck(ASKED_DECK, name="asked"), at=clock.now())
        card, minutes = box.find("e"), box.minutes_today(at=clock.now())
        box.record(card, bpm=50, grade=Grade.SHAKY, at=clock.now(), seconds=60.0 * minutes)
        page = today(box, clock)
        asked = {view.card_id for view in box.cards(at=clock.now()) if view.due is not None}

        assert ([], 2) == (list(page.plan.rows), len(asked))
        assert "2 cards asked for, first by Fri 6 Mar." in page.summary


def test_news_is_said_first_and_for_good(box: Box, clock: ManualClock) -> None:
    """What was done just now, what the start brought, and before any plan what must be known."""
    desk = still_desk(box, clock, news="The news.")
    page = BareToday(desk)
    page.say_done("Just done.")
    both = page.summary
    page.tell("Damaged.")

    assert both.startswith("Just done. The news. ")
    assert "Damaged." == page.summary


# the day's minutes


@pytest.mark.parametrize(
    ("minutes", "direction", "then"),
    [
        (15, 1, 20),
        (15, -1, 10),
        (SHORTEST_DAY, -1, SHORTEST_DAY),
        (LONGEST_DAY, 1, LONGEST_DAY),
        (LONGEST_DAY - 1, 1, LONGEST_DAY),
    ],
)
def test_the_arrows_move_the_day_by_five_minutes(
    box: Box, clock: ManualClock, minutes: int, direction: int, then: int
) -> None:
    """Today's alone, within the shortest and the longest; the plan is made anew."""
    box.choose_minutes_today(minutes, at=clock.now())
    page = today(box, clock)
    page.action_minutes(direction)

    assert then == box.minutes_today(at=clock.now())
    assert f"{then}:00 of {then}:00 left" == page.line("#clock")
    tomorrow = clock.now() + timedelta(days=1)
    assert 15 == box.minutes_today(at=tomorrow)


# coming and going


def test_today_is_planned_anew_when_it_comes_up_again(box: Box, clock: ManualClock) -> None:
    """After a moment, so that the screen stands first; the first time the app says when."""
    page = today(box, clock)
    page.on_screen_resume()
    (again,) = page.timers.values()
    page.timers.clear()
    page._drawing = None
    page.on_screen_resume()
    page.on_resize()

    assert today_screen.FRAME_FIRST_SECONDS == again.seconds
    assert {} == page.timers


def test_a_box_that_refuses_leaves_the_page_as_it_was(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It says so once, and draws as soon as it can."""
    page = today(box, clock)
    before = page.summary

    def refuse(*_: object, **__: object) -> None:
        raise BoxError("another program holds the box", fix="wait for it")

    line = page.part("#refusal")
    with monkeypatch.context() as refusing:
        refusing.setattr(Box, "plan", refuse)
        page.draw()
        hiding = page.timers["_hide_refusal"]
        line.words = ""
        page.draw()  # said once
        again = line.words
        page.action_minutes(1)
        page.say_refusal("Once more.")
    shown = (line.words, line.display, hiding.runs)
    page.timers["_hide_refusal"].callback()
    page.timers["<lambda>"].callback()

    assert ("", "Once more.", True, False) == (again, *shown)
    assert 10.0 == hiding.seconds
    assert not line.display
    assert before.replace("5 minutes", "10 minutes") == page.summary
    assert "20:00 of 20:00 left" == page.line("#clock")


def test_a_wide_window_has_the_rhythm_beside_the_plan(box: Box, clock: ManualClock) -> None:
    """From 120 columns on; a resize shares the rows out anew."""
    page = today(box, clock)
    narrow = page.part("drawing").place
    page.window = (120, 40)
    page.on_resize()

    assert ((78, 9), (56, 28)) == (narrow, page.part("drawing").place)


@pytest.mark.parametrize(
    ("window", "drawn"),
    [((40, 15), ""), ((40, 25), ""), ((40, 26), "yes"), ((80, 19), ""), ((80, 20), "yes")],
)
def test_in_a_small_window_the_plan_comes_before_the_drawing(
    box: Box, clock: ManualClock, window: tuple[int, int], drawn: str
) -> None:
    """What to play is read first; the rhythm stands on the stand as well."""
    page = today(box, clock)
    page.window = window
    page.draw()

    assert bool(drawn) == page.part("drawing").display


async def test_the_smallest_window_shows_what_to_play(box: Box, clock: ManualClock) -> None:
    """Three cards with tempo, takes and time, under the words of a first day."""
    app = make_app(box, clock)
    async with app.run_test(size=(40, 15)) as pilot:
        await settle(pilot)
        rows = [line for line in screen_text(app).splitlines() if re.search(r"\d:\d\d$", line)]

        assert len(rows) >= 3
