"""A long log is learned from by its end: where each card stood before that is known by its days."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from math import sqrt
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np
import pytest

from drillbox.base.many_moments import DAY, microseconds_of
from drillbox.base.now import Now
from drillbox.box import lessons
from drillbox.box.history import Premises
from drillbox.box.lessons import known_before
from drillbox.box.whole_log import latest
from drillbox.memory import Evidence, Grade, Parameters, prior
from drillbox.memory.belief import update_with_chance
from drillbox.memory.parameters import LEARNED
from drillbox.store import TakeRow

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.memory import Belief
    from drillbox.store.take_columns import TakeColumns

PLAIN = Parameters()
DAYS = 250


def practised(box: Box, clock: ManualClock) -> None:
    """Put months of takes into a box by a player who is as the model says, but half as even again.

    Four days in five every card is played once, at the tempo that is expected of it.
    """
    chance, rows = random.Random(7), []
    player = replace(PLAIN, sigma=1.5 * PLAIN.sigma)
    now = {card.card_id: prior(PLAIN) for card in box.cards(at=clock.now())}
    for _ in range(DAYS):
        for number, (card_id, belief) in enumerate(now.items()):
            if chance.random() < 0.2:
                continue
            at = clock.now() + timedelta(minutes=number)
            seen = Now.of(at, day_ends_at=5)
            bpm = float(round(2.0 ** belief.cold(seen.epoch_days, player)[0]))
            drawn = [Evidence(seen.epoch_days, seen.day, bpm, grade) for grade in Grade]
            after = [update_with_chance(belief, one, player) for one in drawn]
            (k,) = chance.choices(range(5), [told for _, told in after])
            now[card_id] = after[k][0]
            name = UUID(int=chance.getrandbits(128)).hex
            grade = int(drawn[k].grade)
            rows.append(TakeRow(name, card_id, bpm, grade, at, "+00:00", 40.0, "self"))
        clock.forward(days=1)
    box.merge(rows)


def test_where_a_card_stood_is_known_by_its_days(box: Box, clock: ManualClock) -> None:
    """At the cut: tempo, stability, moment and takes are those of a replay from the first take on.

    How sure they were is not. Some fifty takes on the tempo differs by less than there is doubt
    of it, the stability by less than a third, and they are as sure.
    """
    practised(box, clock)
    at = clock.now()
    premises = Premises.found_in(box.archive.settings())
    whole = box.archive.columns(until=at)
    half = microseconds_of(at - timedelta(days=DAYS // 2, hours=1))
    late = box.archive.columns(until=at, newest=int((whole.at > half).sum()))
    assert whole.at[-len(late.at) :].tolist() == late.at.tolist()
    assert at == box.now(at).at
    before = known_before(late, box._beliefs)
    assert set(late.cards) == before.keys()
    for card_id, known in before.items():
        steps = [s for s in box._beliefs.course(card_id) if s.seen.at < late.at[0] / DAY]
        exact = steps[-1].after
        assert (exact.mu, exact.ln_s, exact.at) == pytest.approx((known.mu, known.ln_s, known.at))
        assert (exact.day, exact.takes) == (known.day, known.takes)
        assert exact.takes_that_day == known.takes_that_day
    most = len(late.at) // 2
    seen = _by_card(late, latest(late, premises, most=most, before=before)[0], most)
    for one, other in zip(
        _by_card(whole, latest(whole, premises, most=most)[0], most), seen, strict=True
    ):
        assert one.mu == pytest.approx(other.mu, abs=sqrt(one.var_mu))
        assert one.ln_s == pytest.approx(other.ln_s, abs=0.3)
        assert one.var_mu == pytest.approx(other.var_mu, rel=0.1)


def _by_card(log: TakeColumns, beliefs: list[Belief], most: int) -> list[Belief]:
    cards = [log.cards[index] for index in np.unique(log.card[-most:]).tolist()]
    by_id = dict(zip(cards, beliefs, strict=True))
    return [by_id[card_id] for card_id in sorted(by_id)]


def test_the_same_is_learned_from_the_end_of_a_log(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read by its last two thirds or whole, the log teaches the same to two hundredths.

    And once more the same.
    """
    practised(box, clock)
    at, learned = clock.now(), []
    takes = len(box.archive.columns(until=at).at)
    monkeypatch.setattr(lessons, "LEARNED_FROM_TAKES", takes // 3)
    assert lessons.READ_TAKES > takes
    for read in (2 * takes // 3, lessons.READ_TAKES, lessons.READ_TAKES):
        monkeypatch.setattr(lessons, "READ_TAKES", read)
        assert box.learn(at=at).changed
        learned.append([getattr(box.parameters, name) for name in LEARNED])
    assert learned[1] == pytest.approx(learned[0], rel=0.02)
    assert learned[1] == learned[2]
    assert learned[1] != [getattr(PLAIN, name) for name in LEARNED]
