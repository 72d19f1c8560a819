"""Learning a player's own numbers from the log: when, from what, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.many_moments import DAY
from drillbox.base.wording import counted
from drillbox.box import days_played
from drillbox.box.beliefs import WAITS_AFTER, Beliefs
from drillbox.box.history import Premises
from drillbox.box.learned_numbers import KEY, LEARNED_FROM_TAKES, to_store
from drillbox.box.whole_log import latest
from drillbox.memory import Parameters, learning

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.memory import Belief
    from drillbox.store import Archive
    from drillbox.store.take_columns import TakeColumns

READ_TAKES = 2 * LEARNED_FROM_TAKES
"""So many of the newest takes are read and replayed, however long the log is.

Of a longer one each card starts from what was believed of it when they began, and what is not known
of that settles before the takes that are learned from. On made-up boxes of 20,000 and 200,000 takes
the numbers were those learned from the whole log, to a hundredth.
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


def learn(archive: Archive, beliefs: Beliefs, *, at: datetime) -> Lesson:
    """Learn the player's numbers from the log, and keep them if they predict better."""
    start = Parameters()
    premises = replace(Premises.found_in(archive.settings()), parameters=start)
    log = archive.columns(until=at + WAITS_AFTER, newest=READ_TAKES)
    before = known_before(log, beliefs) if archive.mark() > READ_TAKES else {}
    known, takes = latest(log, premises, most=LEARNED_FROM_TAKES, before=before)
    learned = learning.learn(known, takes, start)
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


def known_before(log: TakeColumns, beliefs: Beliefs) -> dict[str, Belief]:
    """Return what was believed of cards before a log that is the end of a longer one.

    Tempo and stability are those after the card's last practice day before the log; how sure they
    were is not kept by days, so they are taken to be as sure as now. The player's level is that of
    the card's first take in the log.
    """
    if not len(log.at):
        return {}
    days, begin = beliefs.days(), float(log.at[0]) / DAY
    first = dict(zip(*(x.tolist() for x in np.unique(log.card, return_index=True)), strict=True))
    found = {}
    for index, card_id in enumerate(log.cards):
        rows = days_played.Days.of({card_id: days.get(card_id, b"")}).rows
        past = int(np.searchsorted(rows.at, begin))
        if past:
            level = float(log.level[first[index]])
            found[card_id] = replace(
                beliefs.of(card_id),
                mu=float(rows.mu[past - 1]),
                ln_s=float(rows.ln_s[past - 1]),
                at=float(rows.at[past - 1]),
                day=int(rows.day[past - 1]),
                takes_that_day=int(rows.takes[past - 1]),
                takes=int(rows.takes[:past].sum()),
                level=0.0 if np.isnan(level) else level,
            )
    return found
