"""Which screen follows which, without drawing any."""

from __future__ import annotations

import asyncio
import signal
from functools import partial
from typing import TYPE_CHECKING, Any, cast

import pytest
from still_desk import still_desk

from drillbox.app.app import DrillboxApp
from drillbox.app.refusals import LOOK_AGAIN_SECONDS
from drillbox.app.screens.card import CardPage
from drillbox.app.screens.hand_over import HandInSheet, TakeInSheet
from drillbox.app.screens.keys import KeysPage
from drillbox.app.screens.setup import Setup
from drillbox.app.screens.shelf_screen import Shelf
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.today import Today
from drillbox.app.screens.vocabulary_map import VocabularyMap
from drillbox.app.screens.week import WeekPage
from drillbox.app.screens.welcome import DeckChoice
from drillbox.app.screens.wrapup import WrapUp
from drillbox.app.screens.year_screen import Year
from drillbox.box import Box
from drillbox.errors import BoxError, NotSavedError
from drillbox.sound import Metronome, SilentClock

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.app.desk import Desk
    from drillbox.base.clock import ManualClock


class NotedToday(Today):
    """Today, which draws nothing and notes what it is asked."""

    def __init__(self, *items: object) -> None:
        super().__init__(lambda: cast("Desk", None))
        self._items = cast("Any", items)
        self.asked: list[object] = []

    def draw(self) -> None:
        """Note it."""
        self.asked.append("draw")

    def say_done(self, done: str) -> None:
        """Note it."""
        self.asked.append(done)

    def say_refusal(self, sentence: str) -> None:
        """Note it."""
        self.asked.append(sentence)

    def action_minutes(self, direction: int) -> None:
        """Note it."""
        self.asked.append(direction)


class NotedApp(DrillboxApp):
    """The app, not running: its screens are a list.

    Attributes
    ----------
    stack
        The screens, Today first.
    then
        What is done once the last one closes.
    said, every, later, ended_with
        Sentences, what is done how often, what is done after the first frame, and how it ended.
    """

    def __init__(self, open_desk: Callable[[], Desk], *items: object) -> None:
        super().__init__(open_desk)
        self.today = NotedToday(*items)
        self.stack: list[Any] = [self.today]
        self.then: Any = None
        self.said: list[tuple[str, dict[str, Any]]] = []
        self.every: list[tuple[float, Any]] = []
        self.later: list[Any] = []
        self.ended_with: list[int] = []
        self.work: list[Any] = []
        self.own_keys: dict[str, str] = {}

    @property
    def screen(self) -> Any:
        """The screen on top."""
        return self.stack[-1]

    def push_screen(self, screen: Any, callback: Any = None, **_: Any) -> Any:  # type: ignore[override]
        """Note it."""
        self.stack.append(screen)
        self.then = callback

    def pop_screen(self) -> Any:
        """Note it."""
        self.stack.pop()

    def notify(self, message: str, **how: Any) -> None:
        """Note it."""
        self.said.append((message, how))

    def set_interval(self, interval: float, callback: Any = None, **_: Any) -> Any:
        """Note it."""
        self.every.append((interval, callback))

    def call_after_refresh(self, callback: Any, *_: Any, **__: Any) -> bool:
        """Note it."""
        self.later.append(callback)
        return True

    def set_keymap(self, keymap: Any) -> None:
        """Note it."""
        self.own_keys = keymap

    def run_worker(self, work: Any, *_: Any, thread: bool = False, **__: Any) -> Any:
        """Note it."""
        assert thread
        self.work.append(work)

    def exit(self, result: Any = None, return_code: int = 0, message: Any = None) -> None:
        """Note it."""
        del result, message
        self.ended_with.append(return_code)


@pytest.fixture
def desk(box: Box, clock: ManualClock) -> Desk:
    """Return a desk with the small deck."""
    return still_desk(box, clock)


@pytest.fixture
def app(desk: Desk) -> NotedApp:
    """Return an app on Today, which has something to play."""
    return NotedApp(lambda: desk, "an item")


@pytest.mark.parametrize(
    ("action", "screen"),
    [
        ("week", WeekPage),
        ("shelf", Shelf),
        ("map", VocabularyMap),
        ("year", Year),
        ("setup", Setup),
        ("keys", KeysPage),
        ("tempo_check", Stand),
        ("play_today", Stand),
        ("add_deck", DeckChoice),
        ("take_in", TakeInSheet),
        ("hand_in", HandInSheet),
        ("home", Today),
    ],
)
def test_each_action_opens_its_screen(app: NotedApp, action: str, screen: type) -> None:
    """From Today, one screen over it; home is Today itself."""
    getattr(app, f"action_{action}")()

    assert isinstance(app.screen, screen)
    assert len(app.stack) == (1 if screen is Today else 2)


def test_a_cards_page_and_its_take_are_of_that_card(app: NotedApp, box: Box) -> None:
    """Whatever the day's plan has."""
    card = box.find("a")
    app.action_card(card)
    assert isinstance(app.screen, CardPage)
    assert card == app.screen._card_id
    app.action_play_card(card)

    assert isinstance(app.screen, Stand)
    assert card == app.screen._sitting.card.card_id
    assert 3 == len(app.stack)


@pytest.mark.parametrize("action", ["home", "play_today", "take_in", "hand_in", "play_on"])
def test_what_begins_at_today_goes_there_first(app: NotedApp, action: str) -> None:
    """From three pages deep: they all close."""
    for page in ("shelf", "setup", "keys"):
        getattr(app, f"action_{page}")()
    getattr(app, f"action_{action}")()

    assert app.today is app.stack[0]
    assert (1 if action == "home" else 2) == len(app.stack)


def test_the_page_of_keys_opens_once_and_knows_where_it_was_asked_for(app: NotedApp) -> None:
    """A second press leaves it as it is."""
    app.action_shelf()
    app.action_keys()
    app.action_keys()

    assert 3 == len(app.stack)
    assert "Shelf" == app.screen._on


def test_the_stand_opens_only_from_a_today_that_has_something(desk: Desk) -> None:
    """With an empty plan, or from another page, the key does nothing; a chosen card is first."""
    empty = NotedApp(lambda: desk)
    empty.play()
    app = NotedApp(lambda: desk, "an item")
    app.action_setup()
    app.play()
    elsewhere = len(app.stack)
    app.action_home()
    card = desk.box.find("e-a")
    app.on_today_play(Today.Play(card))

    assert 1 == len(empty.stack)
    assert 2 == elsewhere
    assert card == app.screen._sitting.card.card_id
    assert not app.screen._sitting._ahead.checking


def test_playing_on_adds_five_minutes_and_plays(app: NotedApp) -> None:
    """One step longer, then the stand."""
    app.action_play_on()

    assert [1] == app.today.asked
    assert isinstance(app.screen, Stand)


@pytest.mark.parametrize("checked", [True, False])
def test_a_day_that_is_over_is_wrapped_up(app: NotedApp, *, checked: bool) -> None:
    """And says whether it began with a tempo check; a stand that was left leads back."""
    if checked:
        app.action_tempo_check()
    else:
        app.play()
    assert checked == app.screen._sitting._ahead.checking
    closed = app.then
    app.pop_screen()
    closed(False)
    left = len(app.stack)
    closed(True)

    assert 1 == left
    assert isinstance(app.screen, WrapUp)
    assert checked == app.screen._checked


@pytest.mark.parametrize("action", ["take_in", "hand_in"])
def test_what_came_of_a_file_is_said_on_today(app: NotedApp, action: str) -> None:
    """Of a reply and of a progress file, if Today is up by then; of a file given up, nothing."""
    getattr(app, f"action_{action}")()
    app.then("elsewhere")
    app.pop_screen()
    app.then("")
    app.then(None)
    app.then("what was done")

    assert ["what was done"] == app.today.asked


# the beginning and the end


async def test_the_first_frame_stands_before_the_box_is_opened(desk: Desk) -> None:
    """Then the keys of the player's own, the plan, what is tried again, and the file's check."""
    opened: list[str] = []

    def open_desk() -> Desk:
        opened.append("opened")
        return desk

    desk.keymap = {"stand.play": "x"}
    app = NotedApp(open_desk)
    app.on_mount()
    before = (opened.copy(), app.today.asked.copy())
    (begin,) = app.later
    begin()
    first, again = app.desk, app.desk

    assert ([], []) == before
    assert first is again is desk
    assert ["opened"] == opened
    assert {"stand.play": "x"} == app.own_keys
    assert ["draw"] == app.today.asked
    ((pause, save_again),) = app.every
    assert LOOK_AGAIN_SECONDS == pause
    save_again()
    assert ["draw"] == app.today.asked  # there was nothing to save, so nothing is said
    assert 1 == len(app.work)
    assert [app.today] == app.stack


async def test_a_signal_ends_the_app_with_its_number(
    app: NotedApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    """128 and the signal's, as shells say it: the terminal is restored on the way out."""
    handlers: dict[int, Callable[[], None]] = {}

    def note(number: int, do: Callable[..., None], *args: object) -> None:
        handlers[number] = partial(do, *args)

    monkeypatch.setattr(asyncio.get_running_loop(), "add_signal_handler", note)
    app.on_mount()
    for number in (signal.SIGTERM, signal.SIGHUP):
        handlers[number]()

    assert [128 + 15, 128 + 1] == app.ended_with


def test_an_empty_box_asks_for_a_first_deck(clock: ManualClock) -> None:
    """And says that it is the first; later decks are added from the shelf."""
    with Box.open(":memory:", clock=clock) as box:
        desk = still_desk(box, clock)
        app = NotedApp(lambda: desk)
        app._begin()
        first = app.screen
        app.pop_screen()
        app.action_add_deck()

    assert isinstance(first, DeckChoice)
    assert (True, False) == (first._first_start, app.screen._first_start)


def test_a_box_that_cannot_be_opened_ends_it_with_its_code() -> None:
    """Nothing is drawn, nothing is asked again."""

    def open_desk() -> Desk:
        raise NotSavedError("the disk is full", fix="free some space")

    app = NotedApp(open_desk)
    app._begin()
    app.on_unmount()

    assert [NotSavedError.exit_code] == app.ended_with
    assert ("the disk is full; free some space.", []) == (str(app.refusal), app.today.asked)
    assert [] == app.every


def test_the_end_lets_the_sound_go_once_it_was_opened(app: NotedApp, desk: Desk) -> None:
    """A desk that was never asked for is not opened to be closed."""
    closed: list[str] = []
    device = SilentClock(desk.clock.seconds)
    device.close = lambda: closed.append("closed")  # type: ignore[method-assign]
    desk.open_metronome = lambda: Metronome(device)
    app.on_unmount()
    never = app._opened
    _ = app.desk.metronome
    app.on_unmount()

    assert never is None
    assert ["closed"] == closed


def test_the_titles_of_all_cards_are_there_where_the_box_answers(
    app: NotedApp, box: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By card; none while it refuses."""
    card = box.find("e")
    titles = app.card_titles()

    def refuse(_: object) -> None:
        raise BoxError("held")

    monkeypatch.setattr(Box, "entries", refuse)

    assert 4 == len(titles)
    assert "e of every beat" == titles[card]
    assert {} == app.card_titles()


@pytest.mark.parametrize("action", ["setup", "play_today", "play_on"])
def test_a_box_that_refuses_keeps_the_screen_that_is_up(
    app: NotedApp, monkeypatch: pytest.MonkeyPatch, action: str
) -> None:
    """It says its sentence, and nothing else happens."""

    def refuse(_: object) -> None:
        raise BoxError("another program holds the box", fix="wait for it")

    monkeypatch.setattr(Box, "settings", property(refuse))
    getattr(app, f"action_{action}")()

    assert [app.today] == app.stack
    assert "another program holds the box; wait for it." == app.today.asked[-1]
    app.stack.append(object())
    app.action_setup()
    assert ["another program holds the box; wait for it."] == [words for words, _ in app.said]
