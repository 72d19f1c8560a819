"""What the shelf, the setup and the wrap-up decide, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app.desk import Desk, Devices
from drillbox.app.screens.setup import NAMES, WHOLE_NUMBERS, Setup
from drillbox.app.screens.shelf_screen import DRAWING_ROWS, ORDERS, TALL, WIDE, Shelf
from drillbox.app.screens.wrapup import BREAK, BREAK_AFTER_SECONDS, CHECKED, WrapUp
from drillbox.base.wording import ALL_PUT_AWAY
from drillbox.deckfile import starter_decks
from drillbox.memory import Grade
from drillbox.rhythm import Hand

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare
from still_desk import still_desk

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture
def desk(box: Box, clock: ManualClock) -> Desk:
    """Return a desk with the small deck."""
    return still_desk(box, clock)


# the shelf


class BareShelf(Bare, Shelf):
    """The shelf in no app."""

    @property
    def titles(self) -> list[str]:
        """Its rows' first column."""
        return [row[0] for row in self.rows_of("RowTable")]


@pytest.fixture
def shelf(desk: Desk) -> BareShelf:
    """Return a shelf with one card played."""
    box, now = desk.box, desk.clock.now()
    box.record(box.find("a"), bpm=70, grade=Grade.CLEAN, at=now, seconds=40)
    page = BareShelf(desk)
    page.on_mount()
    page.on_screen_resume()
    return page


def test_the_shelf_goes_through_its_orders_and_round(shelf: BareShelf) -> None:
    """Each is named with the number of cards; the one that was played comes where it belongs."""
    seen = []
    for _ in ORDERS:
        seen.append((shelf.line("#clock"), shelf.titles.index("a of every beat")))
        shelf.action_order()

    assert [f"4 cards, {name}" for name, _ in ORDERS] == [words for words, _ in seen]
    assert [1, 1, 0, 0, 0] == [place for _, place in seen]
    assert seen[0][0] == shelf.line("#clock")
    assert shelf.part("RowTable").has_keys


def test_the_shelf_searches_while_typing(shelf: BareShelf) -> None:
    """A search that is not finished says so and leaves the rows; the line opens with its key."""
    line = shelf.part("#search")
    shelf.action_search()
    assert ({"-open"}, True) == (line.classes, line.has_keys)
    line.value = "doubled"
    shelf.on_input_changed()
    assert (["a of every beat, doubled"], "1 card, in deck order") == (
        shelf.titles, shelf.line("#clock"),
    )  # fmt: skip
    line.value = "goal>"
    shelf.on_input_changed()
    assert ["a of every beat, doubled"] == shelf.titles
    assert "in deck order" not in shelf.line("#clock")


def test_a_shelf_without_a_row_says_why(shelf: BareShelf, box: Box, clock: ManualClock) -> None:
    """Nothing found, every deck put away, no deck at all; with rows it says nothing."""
    word, search = shelf.part("#shelf-word"), shelf.part("#search")
    told = [(word.display, word.words)]
    search.value = "nowhere"
    shelf.on_input_changed()
    told.append((word.display, word.words))
    search.value = ""
    box.archive_deck("first-ghosts", archived=True)
    shelf.draw()
    told.append((word.display, word.words))
    box.remove_deck("first-ghosts")
    shelf.draw()
    told.append((word.display, word.words))

    assert [
        (False, ""),
        (True, "No card has all of these words: esc ends the search."),
        (True, f"{ALL_PUT_AWAY} a adds a starter deck."),
        (True, "No deck in the box: a adds a starter deck."),
    ] == told


@pytest.mark.parametrize("width", [WIDE - 1, WIDE, 120, 160, 250])
def test_a_wide_shelf_has_the_last_grades_and_a_bar(shelf: BareShelf, width: int) -> None:
    """From 100 columns on, with its legend; the bar has an odd width and leaves the title room."""
    shelf.window = (width, 24)
    shelf.on_resize()
    (row,) = [row for row in shelf.rows_of("RowTable") if row[0] == "a of every beat"]
    columns = cast("tuple[tuple[str, int], ...]", shelf.part("RowTable").columns)

    assert (6 if width < WIDE else 8) == len(row) == len(columns)
    assert (width >= WIDE) == shelf.part("#legend").display
    if width >= WIDE:
        bar = dict(columns)["cold to goal"]
        taken = sum(wide for _, wide in columns) + 2 * len(columns)
        assert 1 == bar % 2
        assert bar == len(row[5])
        assert 13 <= bar <= 51
        assert width - taken >= 12
        assert row[4]


@pytest.mark.parametrize(("height", "drawn"), [(TALL - 1, False), (TALL, True)])
def test_a_tall_shelf_draws_the_chosen_card(shelf: BareShelf, height: int, *, drawn: bool) -> None:
    """By the player's hand, in nine rows."""
    shelf.window = (80, height)
    shelf.part("RowTable").move_to(1)
    shelf.on_row_table_highlighted()
    view, box = shelf.part("PatternView"), shelf._desk.box
    pattern = box.card(box.find("a"), at=shelf._desk.clock.now()).pattern

    assert drawn == view.display
    assert ((pattern, Hand.RIGHT) if drawn else None) == view.drawn
    assert ((78, DRAWING_ROWS) if drawn else None) == view.place


def test_the_keys_of_the_shelf_are_for_the_chosen_card(shelf: BareShelf) -> None:
    """Set aside and woken by the same key; opened by enter, from the search only to the table."""
    shelf.part("RowTable").move_to(1)
    states = []
    for _ in range(2):
        shelf.action_rest()
        states.append(shelf.rows_of("RowTable")[1][1])
    shelf.part("#search").has_keys = True
    shelf.action_open_card()
    from_the_search = len(shelf.pushed)
    shelf.part("#search").has_keys = False
    shelf.on_row_table_opened()
    ((page, _),) = shelf.pushed
    shelf._cards = []
    shelf.action_open_card()
    shelf.action_rest()

    assert "rested" == states[0] != states[1]
    assert 0 == from_the_search
    assert shelf._desk.box.find("a") == page._card_id
    assert 1 == len(shelf.pushed)


async def test_a_card_of_the_shelf_is_taken_to_the_stand(shelf: BareShelf) -> None:
    """The one under the cursor; with no row, none."""
    shelf.part("RowTable").move_to(1)
    await shelf.action_play_card()
    shelf._cards = []
    await shelf.action_play_card()

    assert [f"app.play_card('{shelf._desk.box.find('a')}')"] == shelf.ran


def test_back_closes_the_search_first(shelf: BareShelf) -> None:
    """All cards are there again; the second time the shelf closes."""
    shelf.action_search()
    shelf.part("#search").value = "doubled"
    shelf.on_input_changed()
    shelf.part("RowTable").has_keys = False
    shelf.action_back()
    back = (len(shelf.titles), shelf.part("RowTable").has_keys, shelf.closed_with.copy())
    shelf.action_back()

    assert (4, True, []) == back
    assert "" == shelf.part("#search").value
    assert [None] == shelf.closed_with


# setup


class BareSetup(Bare, Setup):
    """The setup in no app."""

    def change(self, name: str, direction: int) -> object:
        """Change a setting; return what it is then."""
        rows = self.part("ChoiceList")
        rows.highlighted = [option.id for option in rows.options].index(name)
        self.action_change(direction)
        return getattr(self._desk.box.settings, name)


@pytest.fixture
def setup(box: Box, clock: ManualClock) -> BareSetup:
    """Return a setup with two outputs."""
    devices = Devices(outputs=lambda: ("Speaker", "Phones"))
    desk = still_desk(box, clock, devices=devices)
    page = BareSetup(desk)
    rows = page.part("ChoiceList")
    rows.options = [cast("Any", SimpleNamespace(id=name)) for name in NAMES]
    page.prompts = {}  # type: ignore[attr-defined]
    rows.replace_option_prompt = lambda name, text: page.prompts.update({name: text})  # type: ignore[attr-defined]
    page.on_mount()
    return page


def test_every_number_of_the_setup_moves_by_its_step_within_its_range(setup: BareSetup) -> None:
    """Its ends are reached, and not passed."""
    assert (0, True) == (setup.part("ChoiceList").highlighted, setup.part("ChoiceList").has_keys)
    box, now = setup._desk.box, setup._desk.clock.now()
    for name, (step, least, most) in WHOLE_NUMBERS.items():
        for before, direction, after in (
            (least, 1, least + step),
            (least + step, -1, least),
            (least, -1, least),
            (most - 1, 1, most),
            (most, 1, most),
            (most, -1, most - step),
        ):
            box.change_settings(at=now, **{name: before})
            assert after == setup.change(name, direction)


def test_the_numbers_of_the_setup_move_by_what_can_be_told_apart() -> None:
    """Five minutes, an hour, ten milliseconds (an ear hears thirty), three decibels (judgement)."""
    steps = {"minutes": 5, "day_ends_at": 1, "latency_ms": 10, "click_db": 3, "kit_db": 3}

    assert steps | {"ghosts_db": 3} == {name: step for name, (step, _, _) in WHOLE_NUMBERS.items()}
    assert {0} == {WHOLE_NUMBERS[name][1] for name in ("day_ends_at", "latency_ms")}


def test_every_choice_of_the_setup_goes_round_both_ways(setup: BareSetup) -> None:
    """One step back undoes one forward; a switch is on or off; each row says what it is now."""
    for name in set(NAMES) - set(WHOLE_NUMBERS) - {"holidays"}:
        before = getattr(setup._desk.box.settings, name)
        changed = setup.change(name, 1)
        assert before == setup.change(name, -1)
        assert (changed != before) == (name not in {"microphone", "pads"})
    assert "Speaker" == setup.change("output", 1)
    assert "Phones" == setup.change("output", 1)
    assert "" == setup.change("output", 1)
    assert set(NAMES) == set(cast("Any", setup).prompts)


def test_devices_are_opened_anew_after_a_change_of_theirs_alone(setup: BareSetup) -> None:
    """A take under the setup sounds on after any other change."""
    desk = setup._desk
    first = desk.metronome
    setup.change("minutes", 1)
    same = desk.metronome
    setup.change("latency_ms", 1)

    assert first is same
    assert first is not desk.metronome


def test_days_off_are_told_how_to_set_and_no_row_changes_nothing(setup: BareSetup) -> None:
    """They are dates, which no arrow finds."""
    before = setup._desk.box.settings
    setup.change("holidays", 1)
    told = setup.line("#setup-word")
    setup.change("minutes", 1)
    setup.change("minutes", -1)
    setup.part("ChoiceList").highlighted = None
    setup.action_change(1)
    setup.action_close()

    assert before == setup._desk.box.settings
    assert told.startswith("Days off are dates")
    assert ("", []) == (setup.line("#setup-word"), setup.told)  # on this page alone
    assert [None] == setup.closed_with


def test_the_sound_check_opens_over_the_setup(setup: BareSetup) -> None:
    """One screen."""
    setup.action_sound_check()

    assert ["SoundCheck"] == [type(screen).__name__ for screen, _ in setup.pushed]


# the wrap-up


class BareWrapUp(Bare, WrapUp):
    """The wrap-up in no app."""


@pytest.mark.parametrize("checked", [True, False])
@pytest.mark.parametrize("seconds", [BREAK_AFTER_SECONDS - 1, BREAK_AFTER_SECONDS])
def test_a_wrap_up_tells_the_day_and_a_break_when_it_is_due(
    desk: Desk, seconds: int, *, checked: bool
) -> None:
    """Cards, takes, minutes; after half an hour a break; after a tempo check what it did."""
    box, now = desk.box, desk.clock.now()
    box.record(box.find("a"), bpm=70, grade=Grade.CLEAN, at=now, seconds=seconds - 40)
    box.record(box.find("e"), bpm=70, grade=Grade.CLEAN, at=now, seconds=40)
    page = BareWrapUp(desk, checked=checked)
    page.on_mount()

    assert "Today: 2 cards, 2 takes; every one is saved." in page.line("#brought")
    assert checked == (CHECKED in page.line("#brought"))
    assert ("30:00 played" if seconds == 1800 else "29:59 played") == page.line("#clock")
    assert (BREAK if seconds == BREAK_AFTER_SECONDS else "") == page.line("#caution")
    assert 2 == len(list(page.rows_of("RowTable")))
    assert page.line("#coming")
    assert [False, False, True] == [
        page.offers(key) for key in ("raise_goals", "add_deck", "app.home")
    ]
    assert (False, False) == (page.part("#steps").display, page.part("PatternView").display)


def test_a_deck_offered_at_the_wrap_up_is_drawn_and_added(desk: Desk) -> None:
    """Its first rhythm in seven rows; once added it says so, and no key offers it again."""
    box, now = desk.box, desk.clock.now()
    for card in box.cards(at=now):
        box.rest(card.card_id, resting=True, at=now)
    page = BareWrapUp(desk)
    page.on_mount()
    deck, view = starter_decks()[0].read(), page.part("PatternView")
    offered = (page.offers("add_deck"), page.line("#steps"), page.part("#steps").display)
    page.action_add_deck()

    assert (True, True) == (offered[0], offered[2])
    assert deck.title in offered[1]
    assert ((deck.cards[0].pattern, Hand.RIGHT), (78, 7)) == (view.drawn, view.place)
    assert page.line("#steps").startswith(f"{deck.title} is in the box")
    assert not page.offers("add_deck")
    assert deck.id in {one.deck_id for one in box.decks(now)}
