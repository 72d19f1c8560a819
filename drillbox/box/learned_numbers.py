"""One player's numbers: learned from the take log, kept among the settings, used by every belief.

The numbers are a setting, so they travel with the player's other settings and the newest stand when
boxes meet. They hold for one version of the model; another version starts again from its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from drillbox.base.wording import counted
from drillbox.memory import MODEL_VERSION, Parameters

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from drillbox.store import Archive, Setting

KEY = "learned"
LEARNED_FROM_TAKES = 4_000
"""The last takes of the log, each card's from what was believed of it before them.

Enough to learn from, and about a second's work, however long the log is.
"""
LEARN_EVERY = timedelta(days=28)
_NAMES = ("gain", "boost", "sigma")
_LEAST, _MOST = 0.2, 5.0
"""A stored number farther from the starting one than these factors is not believed."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """What an attempt to learn came to, in sentences for the player.

    And whether the numbers changed.
    """

    sentences: tuple[str, ...]
    changed: bool


def parameters_in(settings: Mapping[str, Setting]) -> Parameters:
    """Return the player's numbers, or the starting ones where none fit this model."""
    start = Parameters()
    stored = settings[KEY].value if KEY in settings else None
    if not isinstance(stored, dict) or stored.get("model") != MODEL_VERSION:
        return start
    known = {name: stored[name] for name in _NAMES if _fits(stored.get(name), getattr(start, name))}
    return replace(start, **known)


def numbers_digest(parameters: Parameters) -> str:
    """Return a text that differs where the learned numbers do; empty for the starting ones."""
    if parameters == Parameters():
        return ""
    return " ".join(repr(getattr(parameters, name)) for name in _NAMES)


def is_due(archive: Archive, at: datetime) -> bool:
    """Return whether it is time to learn.

    There are enough takes, and the last attempt is some weeks old.
    """
    from drillbox.memory.learning import FEWEST_COLD_TAKES  # noqa: PLC0415 - numpy, only now

    last = archive.settings().get(KEY)
    return archive.mark() >= FEWEST_COLD_TAKES and (last is None or at - last.at > LEARN_EVERY)


def learn(archive: Archive, *, at: datetime) -> Lesson:
    """Learn the player's numbers from the log, and keep them if they predict better."""
    from drillbox.box.history import Premises  # noqa: PLC0415 - which reads the numbers from here
    from drillbox.box.whole_log import latest  # noqa: PLC0415 - numpy, only now
    from drillbox.memory import learning  # noqa: PLC0415 - numpy, only now

    start = Parameters()
    premises = replace(Premises.found_in(archive.settings()), parameters=start)
    log = archive.columns(until=at + timedelta(days=1))
    beliefs, takes = latest(log, premises, most=LEARNED_FROM_TAKES)
    learned = learning.learn(beliefs, takes, start)
    fewest = learning.FEWEST_COLD_TAKES
    if learned.cold_takes < fewest:
        so_far = f"{counted(learned.cold_takes, 'first take')} of a day so far"
        return Lesson(
            (f"{so_far}; from {fewest} on your own numbers can be learned.",), changed=False
        )
    archive.put_setting(KEY, _stored(learned.parameters), at)
    if not learned.adopted:
        return Lesson(("What we first assumed predicts your takes best.",), changed=False)
    said = learning.sentences(start, learned.parameters)
    return Lesson(said or ("Your takes are much as we first assumed.",), changed=True)


def _stored(parameters: Parameters) -> dict[str, Any]:
    return {"model": MODEL_VERSION, **{name: getattr(parameters, name) for name in _NAMES}}


def _fits(value: Any, start: float) -> bool:
    return isinstance(value, float) and _LEAST <= value / start <= _MOST
