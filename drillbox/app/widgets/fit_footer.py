"""A footer that is never cut: what does not fit is left out, the last keys first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from textual.binding import Binding
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.screen import Screen
    from textual.widget import Widget


PALETTE = "app.command_palette"
PALETTE_TOOLTIP = "Every place, action and card by name"


class _Told(NamedTuple):
    """What the footer tells of one key."""

    key: str
    key_display: str
    description: str
    action: str
    disabled: bool
    tooltip: str


_PALETTE_KEY = _Told("ctrl+p", "^p", "find", PALETTE, disabled=False, tooltip=PALETTE_TOOLTIP)


class _Key(FooterKey):
    """A key in the footer, which can become another one."""

    def __init__(self, told: _Told, *, compact: bool) -> None:
        super().__init__(*told)
        self.told = told
        # Set, not bound: every change of it sets the styles of the key anew.
        self.set_reactive(FooterKey.compact, compact)

    def become(self, told: _Told) -> None:
        """Be another key from now on, in the same place."""
        if told == self.told:
            return
        self.told = told
        self.key, self.key_display, self.description, self.action = told[:4]
        self._disabled, self.tooltip = told.disabled, told.tooltip or None
        self.set_class(told.disabled, "-disabled")
        self.refresh(layout=True)


class FitFooter(Footer):
    """The keys of a screen in order of importance, as many as the width has room for.

    Where the app has a palette, its key is the last, unless the screen gives it a place.
    """

    def __init__(self) -> None:
        super().__init__(show_command_palette=False)
        self._shown: list[_Told] = []

    def compose(self) -> ComposeResult:
        """Lay the keys out as the screen lists them, then see which fit."""
        if self._bindings_ready:
            self._shown = self._told()
            yield from self._made(self._shown)

    def bindings_changed(self, screen: Screen[Any]) -> None:
        """Draw the footer anew if other keys work now than those it shows.

        Screens ask for it whenever something moved, and the keys are mostly the same.
        """
        if not self._bindings_ready or self._told() != self._shown:
            super().bindings_changed(screen)

    async def mount_composed_widgets(self, widgets: list[Widget]) -> None:
        """See which keys fit before any of them is drawn."""
        await super().mount_composed_widgets(widgets)
        self._fit()

    async def recompose(self) -> None:
        """Let the keys that are there become the new ones, and see which fit before any is drawn.

        To make each of them anew takes longer than to draw the rest of what changes on a screen.
        """
        if not self.is_attached or not self._bindings_ready:
            return
        with self.app.batch_update():
            there, self._shown = list(self.query_children(_Key)), self._told()
            for key, told in zip(there, self._shown, strict=False):
                key.become(told)
            await self.remove_children(there[len(self._shown) :])
            await self.mount_all(self._made(self._shown[len(there) :]))
            self._fit()

    def _told(self) -> list[_Told]:
        """Return what is told of the keys that work now, one an action, in the screen's order."""
        told: dict[str, _Told] = {}
        for _, binding, enabled, tooltip in self.screen.active_bindings.values():
            if binding.show and binding.action not in told:
                display = self.app.get_key_display(binding)
                told[binding.action] = _Told(
                    binding.key, display, binding.description, binding.action, not enabled, tooltip
                )
        if told and self.app.ENABLE_COMMAND_PALETTE:
            told[PALETTE] = _PALETTE_KEY
        listed = [one.action for one in self.screen.BINDINGS if isinstance(one, Binding)]
        in_order = [told.pop(action) for action in listed if action in told]
        return [*in_order, *told.values()]

    def _made(self, told: list[_Told]) -> list[_Key]:
        return [_Key(one, compact=self.compact) for one in told]

    def on_resize(self) -> None:
        """See anew which fit."""
        self._fit()

    def _fit(self) -> None:
        room = self.size.width
        if not room:
            return  # not laid out yet
        for key in self.children:
            room -= key.get_content_width(self.size, self.screen.size) + key.styles.margin.width
            key.display = room >= 0
