"""The footer: it follows the keys that work, and is not drawn anew where they are the same."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from hands_on import settle
from textual.app import App
from textual.binding import Binding, BindingType

from drillbox.app.widgets.fit_footer import FitFooter

if TYPE_CHECKING:
    from textual.app import ComposeResult


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
