"""What the wiring does around an app that draws on the terminal."""

from __future__ import annotations

import os
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

from drillbox.cli import wiring

if TYPE_CHECKING:
    import pytest


def test_an_app_asks_the_terminal_for_its_size_and_not_the_shell(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A shell may have exported the size of another window, or of an earlier one."""
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setenv("LINES", "50")
    seen: list[Any] = []
    app = SimpleNamespace(
        run=lambda: seen.extend(os.environ.get(name) for name in ("COLUMNS", "LINES")),
        return_code=0,
    )

    assert 0 == wiring._on_screen(cast("Any", app))
    assert [None, None] == seen
