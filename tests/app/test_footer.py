"""The footer: it follows the keys that work, and makes no new ones where it has some."""

from __future__ import annotations

import pkgutil
from collections import Counter
from importlib import import_module
from itertools import permutations
from types import SimpleNamespace
from typing import TYPE_CHECKING, ClassVar, cast

from hands_on import settle
from hypothesis import given
from hypothesis import strategies as st
from textual.app import App
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets._footer import FooterKey

from drillbox.app import screens
from drillbox.app.app import DrillboxApp
from drillbox.app.styled import StyledApp
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.row_table import RowTable

if TYPE_CHECKING:
    from textual.app import ComposeResult


TOLD_ELSEWHERE = {
    *("grade", "part", "nudge"),  # where the grades and the tempo stand
    *("pedal", "paper", "keys", "light", "quit", "suspend_process"),  # on the page of the keys
}
"""What the footer has no room for."""
BOTH_WAYS = {"span"}
"""What has a word for each direction: shorter, longer."""


class OneKey(App[int]):
    """An app with one key that may work or not, and one that always does."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "again", "again"),
        Binding("b", "back", "back"),
    ]
    works = True

    def compose(self) -> ComposeResult:
        """Show nothing but the footer."""
        yield FitFooter()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let `again` work or not, as the test says."""
        del parameters
        return self.works or action != "again"


def words(app: App[int]) -> list[str]:
    """Return what the keys of the footer say."""
    return [str(key.render()).strip() for key in app.query_one(FitFooter).children]


async def test_the_footer_follows_the_keys_that_work() -> None:
    """A key that stops working leaves the footer, and is there again when it works again."""
    app = OneKey()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert ["a again", "b back", "^p find"] == words(app)
        app.works = False
        app.refresh_bindings()
        await settle(pilot)
        assert ["b back", "^p find"] == words(app)
        app.works = True
        app.refresh_bindings()
        await settle(pilot)
        assert ["a again", "b back", "^p find"] == words(app)


async def test_the_same_keys_are_not_drawn_twice() -> None:
    """Whoever asks for the keys again, with nothing changed, costs no new widgets."""
    app = OneKey()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        before = list(app.query_one(FitFooter).children)
        app.refresh_bindings()
        await settle(pilot)

        assert before == list(app.query_one(FitFooter).children)


@given(st.lists(st.tuples(st.integers(1, 20), st.integers(0, 2)), max_size=9), st.integers(0, 99))
def test_keys_stand_as_far_as_there_is_room(keys: list[tuple[int, int]], room: int) -> None:
    """From the left, each with its margin; the first that does not fit ends them."""
    children = [
        SimpleNamespace(
            display=None,
            get_content_width=lambda *_, wide=wide: wide,
            styles=SimpleNamespace(margin=SimpleNamespace(width=margin)),
        )
        for wide, margin in keys
    ]
    screen = SimpleNamespace(size=None)
    footer = SimpleNamespace(size=SimpleNamespace(width=room), children=children, screen=screen)
    FitFooter._fit(cast("FitFooter", footer))
    ends = [sum(map(sum, keys[: number + 1])) for number in range(len(keys))]

    assert [end <= room if room else None for end in ends] == [one.display for one in children]


FACES: tuple[dict[str, bool | None], ...] = (
    {"again": True, "back": True, "cut": True, "drop": True},
    {"again": False, "back": True, "cut": False, "drop": None},
    {"again": False, "back": False, "cut": True, "drop": False},
    {"again": True, "back": None, "cut": True, "drop": False},
)
"""What can be done in turn: True works, None is shown and does not work, False is not shown."""


class FourKeys(App[int]):
    """An app of four keys that work or not as one of its faces says."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "again", "again", tooltip="Once more"),
        Binding("b", "back", "go all the way back"),
        Binding("c", "cut", "cut", tooltip="Cut it"),
        Binding("d", "drop", "drop"),
    ]

    def __init__(self, face: dict[str, bool | None]) -> None:
        super().__init__()
        self.face, self.done = face, [""]

    def compose(self) -> ComposeResult:
        """Show nothing but the footer."""
        yield FitFooter()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let a key work as the face says."""
        del parameters
        return self.face.get(action, True)

    def action_cut(self) -> None:
        """Note that it was done."""
        self.done.append("cut")


def shown(app: App[int]) -> list[tuple[object, ...]]:
    """Return all that a player sees of each key, what it tells included, and what it does."""
    keys = [one for one in app.query_one(FitFooter).children if isinstance(one, FooterKey)]
    told = [(str(one.render()), one.key, one.action, one.tooltip) for one in keys]
    looks = [(one.display, one.region, one.has_class("-disabled"), one.rich_style) for one in keys]
    return list(zip(told, looks, strict=True))


async def test_keys_that_become_others_are_as_if_made_anew() -> None:
    """From every face of a screen to every other: words, order, places, looks and tooltips."""
    anew = []
    for face in FACES:
        fresh = FourKeys(face)
        async with fresh.run_test(size=(40, 5)) as pilot:
            await settle(pilot)
            anew.append(shown(fresh))
    app = FourKeys(FACES[0])
    async with app.run_test(size=(40, 5)) as pilot:
        await settle(pilot)
        for way in permutations(range(len(FACES)), 2):
            for number in way:
                app.face = FACES[number]
                app.refresh_bindings()
                await settle(pilot)
                assert anew[number] == shown(app), way


async def test_a_key_that_became_another_does_what_it_says() -> None:
    """A click on the place where `a` stood before is a press of `c`, once `c` stands there."""
    app = FourKeys(FACES[0])
    async with app.run_test(size=(40, 5)) as pilot:
        await settle(pilot)
        app.face = FACES[2]
        app.refresh_bindings()
        await settle(pilot)
        first = app.query_one(FitFooter).children[0]
        await pilot.click(first)
        await settle(pilot)

    assert ["", "cut"] == app.done


def test_each_thing_that_can_be_done_stands_once_in_the_footer() -> None:
    """A key for the other direction is not shown beside its twin; a few are told elsewhere.

    Keys that every list has, the arrows and the ends, are shown for none.
    """
    names = [f"{screens.__name__}.{one.name}" for one in pkgutil.iter_modules(screens.__path__)]
    found = {
        kind
        for module in map(import_module, names)
        for kind in vars(module).values()
        if isinstance(kind, type) and issubclass(kind, Screen) and "drillbox" in kind.__module__
    }
    for kind in (*found, DrillboxApp, StyledApp):
        keys = [one for one in vars(kind).get("BINDINGS", ()) if isinstance(one, Binding)]
        shown = Counter(one.action.split("(")[0] for one in keys if one.show)
        actions = {one.action.split("(")[0] for one in keys}

        told = {action: 1 + (action in BOTH_WAYS) for action in actions - TOLD_ELSEWHERE}

        assert told == shown, kind
    assert not [one for one in RowTable.BINDINGS if isinstance(one, Binding) and one.show]
