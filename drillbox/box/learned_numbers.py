"""One player's numbers: learned from the take log, kept among the settings, used by every belief.

The numbers are a setting, so they travel with the player's other settings and the newest stand when
boxes meet. They hold for one version of the model; another version starts again from its own.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from drillbox.memory import MODEL_VERSION, Parameters
from drillbox.memory.parameters import LEARNED

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.store import Setting

KEY = "learned"
LEARNED_FROM_TAKES = 4_000
"""The last takes of the log, each card's from what was believed of it before them.

Enough to learn from, and about a tenth of a second's work, however long the log is.
"""
_LEAST, _MOST = 0.2, 5.0
"""A stored number farther from the starting one than these factors is not believed."""


def parameters_in(settings: Mapping[str, Setting]) -> Parameters:
    """Return the player's numbers, or the starting ones where none fit this model."""
    start = Parameters()
    stored = settings[KEY].value if KEY in settings else None
    if not isinstance(stored, dict) or stored.get("model") != MODEL_VERSION:
        return start
    known = {
        name: stored[name] for name in LEARNED if _fits(stored.get(name), getattr(start, name))
    }
    return replace(start, **known)


def are_believed(stored: Any) -> bool:
    """Return whether stored numbers may be a player's; those of another model are not read."""
    if not isinstance(stored, dict) or not isinstance(stored.get("model"), str):
        return False
    ours, start = stored["model"] == MODEL_VERSION, Parameters()
    return not ours or all(_fits(stored.get(name), getattr(start, name)) for name in LEARNED)


def numbers_digest(parameters: Parameters) -> str:
    """Return a text that differs where the learned numbers do; empty for the starting ones."""
    if parameters == Parameters():
        return ""
    return " ".join(repr(getattr(parameters, name)) for name in LEARNED)


def to_store(parameters: Parameters) -> dict[str, Any]:
    """Return what is kept of a player's numbers."""
    return {"model": MODEL_VERSION, **{name: getattr(parameters, name) for name in LEARNED}}


def _fits(value: Any, start: float) -> bool:
    return isinstance(value, float) and _LEAST <= value / start <= _MOST
