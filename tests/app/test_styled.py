"""What every app of ours does besides its screens."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.driver import Driver

from drillbox.app.styled import StyledApp

if TYPE_CHECKING:
    import pytest


async def test_the_page_is_drawn_whole_when_the_shell_lets_the_app_go_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Ctrl+Z leaves it to the shell, which writes where the page stood."""
    app = StyledApp()
    async with app.run_test() as pilot:
        drawn: list[bool] = []
        monkeypatch.setattr(app, "refresh", lambda *, layout=False: drawn.append(layout))
        app.post_message(Driver.SignalResume())
        await pilot.pause()

    keys = {key: binding.action for key, (binding,) in app._bindings.key_to_bindings.items()}
    assert True in drawn
    assert "suspend_process" == keys["ctrl+z"]
