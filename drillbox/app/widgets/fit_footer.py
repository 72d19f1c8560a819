"""A footer that is never cut: what does not fit is left out, the last keys first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from textual.binding import Binding
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.screen import Screen
    from textual.widget import Widget


PALETTE = "app.command_palette"
PALETTE_TOOLTIP = "Every place, action and card by name"


class FitFooter(Footer):
    """The keys of a screen in order of importance, as many as the width has room for.

    Where the app has a palette, its key is the last, unless the screen gives it a place.
    """

    def __init__(self) -> None:
        super().__init__(show_command_palette=False)
        self._laid_out: list[tuple[Binding, bool, str]] = []

    def compose(self) -> ComposeResult:
        """Lay the keys out as the screen lists them, then see which fit."""
        if not self._bindings_ready:
            return
        self._laid_out = self._keys_now()
        keys = [
            FooterKey(
                binding.key,
                self.app.get_key_display(binding),
                binding.description,
                binding.action,
                disabled=not enabled,
                tooltip=tooltip,
            )
            for binding, enabled, tooltip in self._laid_out
        ]
        if keys and self.app.ENABLE_COMMAND_PALETTE:
            keys.append(FooterKey("ctrl+p", "^p", "find", PALETTE, tooltip=PALETTE_TOOLTIP))
        for key in keys:  # set, not bound: every change of it sets the styles of the key anew
            key.set_reactive(FooterKey.compact, self.compact)
        yield from sorted(keys, key=self._place)

    def bindings_changed(self, screen: Screen[Any]) -> None:
        """Draw the footer anew if other keys work now than those it shows.

        Screens ask for it whenever something moved, and the keys are mostly the same.
        """
        if not self._bindings_ready or self._keys_now() != self._laid_out:
            super().bindings_changed(screen)

    def _keys_now(self) -> list[tuple[Binding, bool, str]]:
        """Return the keys of the screen that are shown, one an action, as they work now."""
        shown: dict[str, tuple[Binding, bool, str]] = {}
        for _, binding, enabled, tooltip in self.screen.active_bindings.values():
            if binding.show:
                shown.setdefault(binding.action, (binding, enabled, tooltip))
        return list(shown.values())

    async def mount_composed_widgets(self, widgets: list[Widget]) -> None:
        """See which keys fit before any of them is drawn."""
        await super().mount_composed_widgets(widgets)
        self._fit()

    async def recompose(self) -> None:
        """See which of the new keys fit before any of them is drawn."""
        with self.app.batch_update():
            await super().recompose()
            self._fit()

    def _place(self, key: FooterKey) -> int:
        listed = [one.action for one in self.screen.BINDINGS if isinstance(one, Binding)]
        return listed.index(key.action) if key.action in listed else len(listed)

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
