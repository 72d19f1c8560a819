"""Learning a player's own numbers from the log: when, from what, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.base.wording import counted
from drillbox.box.history import Premises
from drillbox.box.learned_numbers import KEY, to_store
from drillbox.box.whole_log import latest
from drillbox.memory import Parameters, learning

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.store import Archive

LEARNED_FROM_TAKES = 4_000
"""The last takes of the log, each card's from what was believed of it before them.

Enough to learn from, and about a tenth of a second's work, however long the log is.
"""
LEARN_EVERY = timedelta(days=28)


@dataclass(frozen=True, slots=True)
class Lesson:
    """What learning came to, in sentences for the player, and whether the numbers changed."""

    sentences: tuple[str, ...]
    changed: bool


def is_due(archive: Archive, at: datetime) -> bool:
    """Return whether it is time to learn.

    There are enough takes, and the last attempt is some weeks old.
    """
    last = archive.settings().get(KEY)
    return archive.mark() >= learning.FEWEST_COLD_TAKES and (
        last is None or at - last.at > LEARN_EVERY
    )


def learn(archive: Archive, *, at: datetime) -> Lesson:
    """Learn the player's numbers from the log, and keep them if they predict better."""
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
    archive.put_setting(KEY, to_store(learned.parameters), at)
    if not learned.adopted:
        return Lesson(("What we first assumed predicts your takes best.",), changed=False)
    said = learning.sentences(start, learned.parameters)
    return Lesson(said or ("Your takes are much as we first assumed.",), changed=True)
