"""What a card's page and the list of its takes decide, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app.accompaniment import listening_program
from drillbox.app.screens.card import NO_TAKE, CardPage
from drillbox.app.screens.take_list import HOW, TakeList
from drillbox.app.screens.take_list import NO_TAKE as NO_TAKES
from drillbox.app.stand_words import AS_PLAYED, HALF_SPEED
from drillbox.base.tempi import ASKED
from drillbox.memory import Grade
from drillbox.rhythm import Hand, Pattern

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare
from still_desk import played, still_desk

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.app.widgets.row_table import RowTable
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.sound import Mix


@pytest.fixture
def desk(box: Box, clock: ManualClock) -> Desk:
    """Return a desk with the small deck."""
    return still_desk(box, clock)


# a card's page


class BareCard(Bare, CardPage):
    """A card's page in no app, which draws no plot."""

    def _plot(self, takes: Any, slipping: Any, goal_bpm: float, today: int) -> Any:
        self.plotted = (len(takes), len(slipping), goal_bpm, today)


def page_of(desk: Desk, card: str) -> BareCard:
    """Return the page of a card."""
    page = BareCard(desk, card)
    page.on_mount()
    return page


def test_a_card_nobody_played_says_so_and_has_no_plot(desk: Desk) -> None:
    """Its state, its goal, its deck, what it asks of the hands, and how hard it is."""
    page = page_of(desk, desk.box.find("e"))
    pattern = desk.box.card(desk.box.find("e"), at=desk.clock.now()).pattern

    assert ("e of every beat", "waiting, goal 90") == (page.line("#title"), page.line("#clock"))
    assert page.line("#facts").startswith("Not begun. In First ghosts.\n")
    assert "Difficulty " in page.line("#work")
    assert NO_TAKE == page.line("#history-words")
    assert (pattern, Hand.RIGHT) == page.part("PatternView").drawn
    assert not page.part("#heard").display
    assert not hasattr(page, "plotted")


def test_a_card_that_fell_apart_is_not_together_yet(desk: Desk) -> None:
    """It says after how many takes."""
    page = page_of(desk, played(desk, "e", Grade.FELL_APART, Grade.FELL_APART))

    assert page.line("#facts").startswith("Not together yet after 2 takes. In First ghosts.")


def test_a_card_that_was_played_says_where_it_stands_and_when_it_slips(
    desk: Desk, clock: ManualClock
) -> None:
    """Its cold tempo with a band, the last take; before it slips when, after it since when."""
    card = played(desk, "e", Grade.STEADY, bpm=100)
    page = page_of(desk, card)
    first = page.line("#facts")
    view = desk.box.card(card, at=clock.now())
    assert view.returns_on is not None
    clock.forward(seconds=86_400.0 * (view.returns_on - desk.box.now(clock.now()).day))
    page.draw()
    on_the_day = page.line("#facts")
    clock.forward(seconds=86_400.0 * 3)
    page.draw()
    after = page.line("#facts")

    assert first.startswith("Cold now about ")
    assert ". 1 take, last today at 100. Slips under the goal " in first
    assert " Slips under the goal " in on_the_day or "Slipped" in on_the_day
    assert " Slipped under the goal " in after
    assert 1 == page.plotted[0]
    assert (90.0, desk.box.now(clock.now()).day) == page.plotted[2:]


@pytest.mark.parametrize(
    ("goal", "direction", "then"),
    [(90, 1, 95), (90, -1, 85), (ASKED.most, 1, ASKED.most), (ASKED.least, -1, ASKED.least)],
)
def test_a_goal_moves_by_five_within_what_may_be_asked(
    desk: Desk, goal: int, direction: int, then: int
) -> None:
    """And the page says it at once."""
    card, now = desk.box.find("e"), desk.clock.now()
    desk.box.set_goal(card, bpm=goal, at=now)
    page = page_of(desk, card)
    page.action_goal(direction)

    assert then == desk.box.card(card, at=now).goal_bpm
    assert f"waiting, goal {then}" == page.line("#clock")


async def test_the_other_keys_of_a_cards_page(desk: Desk) -> None:
    """Rested and woken by one key, played, its takes opened, left; none was kept to be heard."""
    card = desk.box.find("e")
    page = page_of(desk, card)
    states = []
    for _ in range(2):
        page.action_rest()
        states.append(page.line("#clock").split(",")[0])
    await page.action_play_card()
    page.action_takes()
    ((takes, then),) = page.pushed
    played(desk, "e", Grade.FELL_APART)
    then(None)
    page.action_back()

    assert ["rested", "waiting"] == states
    assert [f"app.play_card({card!r})"] == page.ran
    assert isinstance(takes, TakeList)
    assert page.line("#facts").startswith("Not together yet after 1 take.")
    assert (False, True) == (page.offers("hear"), page.offers("rest"))
    assert [None] == page.closed_with


def test_a_kept_take_is_heard_slowly_then_as_it_was_then_not(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The newest of the card; the key is offered where one was kept, and leaving ends it."""
    slow: list[bool] = []
    passes: list[tuple[str, bool]] = []

    def again(kept: object, pattern: Pattern, *, slowly: bool) -> Mix:
        assert "newest" == kept
        assert page._desk.box.card(card, at=desk.clock.now()).pattern == pattern
        slow.append(slowly)
        return listening_program(pattern, 80, desk.settings, slow=slowly)

    monkeypatch.setattr("drillbox.app.screens.card.heard_again", again)
    card = desk.box.find("e")
    page = page_of(desk, card)
    offered = [page.offers("hear")]
    page._kept = cast("Any", ("newest", "older"))
    offered.append(page.offers("hear"))
    for _ in range(4):
        page.action_hear()
        passes.append((page.line("#clock"), desk.metronome.running))
    page.on_unmount()

    assert [False, True] == offered
    assert [True, False, True] == slow
    assert [(HALF_SPEED, True), (AS_PLAYED, True), ("quiet", False), (HALF_SPEED, True)] == passes
    assert not desk.metronome.running


# its takes


class BareTakes(Bare, TakeList):
    """A card's takes in no app."""


def test_a_cards_takes_stand_newest_first_and_one_is_taken_back(desk: Desk) -> None:
    """Asked for twice; another row forgets the question; with none left the page says so."""
    card = played(desk, "e", Grade.CLEAN, Grade.SHAKY)
    page = BareTakes(desk, card)
    page.on_mount()
    table = page.part("RowTable")
    grades = [row[2] for row in table.rows]
    how = (page.line("#summary"), page.line("#clock"), page.line("#title"), table.has_keys)
    page.action_take_back()
    asked = page.line("#summary")
    told = cast("RowTable.Highlighted", SimpleNamespace(table=SimpleNamespace(cursor_row=0)))
    page.on_row_table_highlighted(told)
    still = page.line("#summary")
    other = cast("RowTable.Highlighted", SimpleNamespace(table=SimpleNamespace(cursor_row=1)))
    page.on_row_table_highlighted(other)
    forgotten = page.line("#summary")
    for _ in range(2):
        page.action_take_back()
    left = ([row[2] for row in table.rows], page.line("#summary"))
    for _ in range(2):
        page.action_take_back()
    none = (table.rows, page.line("#clock"))
    page.action_take_back()
    page.draw()

    assert ["shaky", "clean"] == grades
    assert (HOW, "2 takes", "e of every beat", True) == how
    assert asked.startswith("u again takes 70 bpm, shaky, of ")
    assert (asked, "") == (still, forgotten)
    assert (["clean"], True) == (left[0], left[1].startswith("Taken back: 70 bpm, shaky"))
    assert ([], "0 takes", NO_TAKES) == (*none, page.line("#summary"))
    assert () == desk.box.history(card)


def test_the_first_take_of_a_day_is_cold(desk: Desk) -> None:
    """The others are warm, with tempo and the start of the id."""
    card = played(desk, "e", Grade.CLEAN, Grade.CLEAN)
    page = BareTakes(desk, card)
    page.on_mount()
    first = desk.box.history(card)[0]

    assert ["warm", "cold"] == [row[3] for row in page.part("RowTable").rows]
    assert ("70", "clean", "cold", first.take_id[:8]) == page.part("RowTable").rows[1][1:]
