"""What the rooms' packages offer: each name is there, from its own module, when it is asked for."""

from __future__ import annotations

from importlib import import_module

import pytest

from drillbox.base import loading_late


@pytest.mark.parametrize("room", ["ear", "paper", "plan", "rhythm", "sound", "store", "studio"])
def test_a_room_has_what_it_offers_and_nothing_else(room: str) -> None:
    """Whether it loads early or late; a name that nobody has is told as Python tells it."""
    package = import_module(f"drillbox.{room}")
    assert all(hasattr(package, name) for name in package.__all__)
    for module, names in package._LATE.items():
        home = import_module(f"drillbox.{room}.{module}")
        assert all(getattr(package, name) is getattr(home, name) for name in names)
        assert set(names) <= set(package.__all__)
    with pytest.raises(AttributeError, match=f"^module 'drillbox.{room}' has no attribute 'x'$"):
        package.x  # noqa: B018 - asked for to be refused


def test_nothing_loads_before_it_is_asked_for() -> None:
    """A module that cannot be imported is in nobody's way until then."""
    load = loading_late("drillbox", {"base.wording": ("counted",), "is_not_there": ("other",)})
    assert "2 cards" == load("counted")(2, "card")
    with pytest.raises(ModuleNotFoundError, match="is_not_there"):
        load("other")
