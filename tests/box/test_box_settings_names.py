"""Settings keep their meaning when their names change."""

from __future__ import annotations

import pytest

from drillbox.box.settings import Settings


@pytest.mark.parametrize(("earlier", "now"), [(3, "3"), (0, "0"), (99, "any"), ("x", "8")])
def test_a_limit_under_its_earlier_name_still_holds(earlier: object, now: str) -> None:
    """What was set as new cards a day limits fresh rhythms a day; 99 was no limit."""
    assert now == Settings.read({"new_cards": earlier}).fresh_rhythms
    assert "5" == Settings.read({"new_cards": earlier, "fresh_rhythms": "5"}).fresh_rhythms
