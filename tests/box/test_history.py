"""The one history: curve, belief and year of a card are views of the same replay."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from math import isnan
from typing import TYPE_CHECKING

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from strategies_history import CARDS, RHYTHMS, START, links, lives, logs

from drillbox import Box, Grade
from drillbox.base.clock import ManualClock
from drillbox.base.now import DAY_ENDS_AT, in_zone, practice_day
from drillbox.box import days_played
from drillbox.box.history import Premises, Replay, Step, line_of
from drillbox.box.lineage import KEY, Link
from drillbox.box.whole_log import replay_all
from drillbox.deckfile import parse_deck
from drillbox.memory import Parameters, interval_days, outlook, prior
from drillbox.memory.belief import lifted
from drillbox.report.calibration import calibration
from drillbox.report.in_hand import look_back
from drillbox.report.progress_file import progress_of
from drillbox.report.strides import week
from drillbox.store import Archive, TakeRow

if TYPE_CHECKING:
    from collections.abc import Callable


def in_order(takes: list[TakeRow]) -> list[TakeRow]:
    """Return takes in the order in which they are believed."""
    return sorted(takes, key=lambda take: (take.at, take.id))


def of_card(takes: list[TakeRow]) -> Callable[[str], list[TakeRow]]:
    """Return what gives a card's own takes."""
    return lambda card: [take for take in in_order(takes) if take.card_id == card]


@examples(40)
@given(logs(), links())
def test_a_card_alone_and_among_all_others_has_one_history(
    takes: list[TakeRow], links: dict[str, Link]
) -> None:
    """The replay of the whole log and that of a card's line give the same beliefs, to the bit."""
    premises = Premises(Parameters(), links, DAY_ENDS_AT)
    whole = Replay(premises)
    steps = list(whole.steps(in_order(takes)))
    assert len(takes) == len(steps)
    for card in CARDS:
        alone = Replay(premises)
        line = list(alone.steps(line_of(card, premises, of_card(takes))))
        assert whole.beliefs.get(card) == alone.beliefs.get(card)
        own = [step for step in steps if step.take.card_id == card]
        assert own == line[len(line) - len(own) :]


@examples(40)
@given(logs(), links())
def test_the_columns_are_the_same_history(takes: list[TakeRow], links: dict[str, Link]) -> None:
    """Belief for belief and day for day, to nine digits."""
    premises = Premises(Parameters(), links, DAY_ENDS_AT)
    with Archive.open(":memory:", now=START, new_id=str) as archive:
        archive.merge(takes)
        found = replay_all(archive.columns(until=START + timedelta(days=99)), premises)
    for card in CARDS:
        alone = Replay(premises)
        steps = list(alone.steps(line_of(card, premises, of_card(takes))))
        belief = alone.beliefs.get(card)
        assert (belief is None) == (card not in found.beliefs)
        if belief is not None:
            assert belief.to_row() == pytest.approx(found.beliefs[card].to_row(), abs=1e-9)
        rows = days_played.rows_of(steps, card, premises.parameters)
        days = days_played.unpacked(found.days.get(card, b""))
        assert len(rows) == len(days)
        for one, other in zip(rows, days, strict=True):
            assert one == pytest.approx(other, abs=1e-9, nan_ok=True)


@examples(25)
@given(logs())
def test_days_grow_take_by_take_as_they_are_summed_up(takes: list[TakeRow]) -> None:
    """What recording appends to is what a fresh look gives."""
    premises = Premises(Parameters(), {}, DAY_ENDS_AT)
    for card in CARDS:
        steps = list(Replay(premises).steps(of_card(takes)(card)))
        body = b""
        for step in steps:
            body = days_played.with_step(body, step, premises.parameters)
        assert body == days_played.packed(days_played.rows_of(steps, card, premises.parameters))


@examples(25)
@given(logs())
def test_days_and_seconds_are_those_of_the_takes(takes: list[TakeRow]) -> None:
    """Every take is in one row, of the practice day it was played on in its zone."""
    premises = Premises(Parameters(), {}, DAY_ENDS_AT)
    seen: dict[int, float] = {}
    expected: dict[int, float] = {}
    for take in takes:
        day = practice_day(in_zone(take.at, take.zone), DAY_ENDS_AT)
        expected[day] = expected.get(day, 0.0) + take.seconds
    for card in CARDS:
        steps = Replay(premises).steps(of_card(takes)(card))
        for row in days_played.rows_of(steps, card, premises.parameters):
            seen[int(row.day)] = seen.get(int(row.day), 0.0) + row.seconds
    assert expected == pytest.approx(seen)


# The views of a box


def live(box: Box, clock: ManualClock, life: list[object]) -> None:
    """Take the steps: editions, takes, takes from another machine that come late, retractions."""
    cards: dict[str, str] = {"one": RHYTHMS[0], "two": RHYTHMS[1]}
    box.put_deck(edition(1, cards), at=clock.now())
    strangers = count(10**9)
    for number, step in enumerate(life, start=2):
        clock.forward(seconds=60)
        if isinstance(step, dict):
            cards = step
            box.put_deck(edition(number, cards), at=clock.now())
        elif step == "undone":
            for take in box.archive.takes()[-2:-1]:
                box.archive.retract(take.id, clock.now())
        elif isinstance(step, tuple) and step[0] == "late":
            at = START + timedelta(minutes=step[1])
            card = edition(1, {"x": step[2]}).cards[0].card_id
            other = TakeRow(
                f"{next(strangers):032x}",
                card,
                77.0,
                1,
                min(at, clock.now()),
                "+01:00",
                20.0,
                "self",
            )
            box.merge([other])
        elif isinstance(step, tuple) and step[0] in cards:
            slug, grade, bpm, days = step
            clock.forward(days=days)
            box.record(box.find(f"d/{slug}"), bpm=bpm, grade=grade, at=clock.now(), seconds=30)


def edition(number: int, cards: dict[str, str]):  # type: ignore[no-untyped-def] # noqa: ANN201
    """Return an edition with some cards."""
    head = f'[deck]\nid = "d"\ntitle = "d"\nedition = {number}\n[groove]\nhat = "beat &"\n'
    text = "".join(
        f'[[card]]\nid = "{slug}"\ntitle = "{slug}"\ngoal = 80\nsnare = "{rhythm}"\n'
        for slug, rhythm in cards.items()
    )
    return parse_deck(head + text, name="d.toml")


@examples(40)
@given(lives)
def test_all_views_of_a_card_agree(life: list[object]) -> None:
    """Belief, curve, forgetting ahead, days, progress file, in hand, foretold: one history.

    With first tempi from relatives, inheritance, takes that come late and takes taken back.
    """
    clock, numbers = ManualClock(START), count(1)
    with Box.open(":memory:", clock=clock, new_id=lambda: f"{next(numbers):032x}") as box:
        live(box, clock, life)
        now = clock.now()
        days = box.days()
        file = {card.rhythm: card for card in progress_of(box, at=now, new_id=str).cards}
        for card in box.cards(at=now):
            steps = box._beliefs.course(card.card_id)
            shown = box.course(card.card_id)
            history = box.history(card.card_id)
            assert [step.take.id for step in steps] == [take.take_id for take in history]
            assert [step.cold for step in steps] == [take.cold for take in history]
            assert history == tuple(take for take, _ in shown)
            belief = box._beliefs.of(card.card_id)
            assert (steps[-1].after.takes if steps else 0) == belief.takes == card.takes
            if not steps:
                continue
            last = steps[-1].after
            told = None if last.apart else pytest.approx(2.0**last.mu)
            assert told == shown[-1][1]
            assert lifted(last, box._beliefs.level).mu == pytest.approx(belief.mu)
            ahead = box.slipping(card.card_id, at=now, days=1)
            told = None if belief.apart else pytest.approx(ahead[0])
            assert told == card.cold_bpm
            rows = days_played.rows_of(steps, card.card_id, box.parameters)
            mine = np.flatnonzero(days.card == days.cards.index(card.card_id))
            assert len(rows) == len(mine)
            assert rows[-1].mu == pytest.approx(days.rows.mu[mine[-1]])
            played = file[card.card_id].days
            assert len({int(row.day) for row in rows}) == len(played)
            assert sum(row.takes for row in rows) == sum(day.takes for day in played)
            assert played[-1].cold_bpm == pytest.approx(2.0**last.mu)
        foretold = [_told(step) for step in _own_steps(box)]
        said = [chance for chance in foretold if not isnan(chance)]
        assert len(said) == sum(tenth.takes for tenth in calibration(box))
        assert sum(said) == pytest.approx(sum(t.said * t.takes for t in calibration(box)))
        strides = {one.title: one for one in week(box, at=now).strides}
        for card in box.cards(at=now):
            if card.takes and (one := strides.get(card.title)):
                assert (card.cold_bpm is None) == (one.now is None)
                assert not one.first_hold or card.cold_bpm is not None
        assert _held_now(box, now) == look_back(box, at=now).in_hand[-1]
        assert frozenset() == box.wrong_beliefs()


def _own_steps(box: Box) -> list[Step]:
    cards = {take.card_id for take in box.archive.takes()}
    return [s for card in cards for s in box._beliefs.course(card) if s.take.card_id == card]


def _told(step: Step) -> float:
    if not step.cold or not step.before.takes:
        return float("nan")
    return outlook(step.before, step.seen.at, Parameters(), hold_bpm=step.seen.bpm).p_hold


def _held_now(box: Box, at: datetime) -> int:
    """Count, card by card from its own curve, those that stand at their goals at this moment.

    One that has not come together stands nowhere.
    """
    now, held = box.now(at), 0
    for card_id, entry in box.entries().items():
        steps = box._beliefs.course(card_id)
        if steps and not entry.resting and not steps[-1].after.apart:
            last = steps[-1]
            lasts = interval_days(last.after, box.parameters, hold_bpm=entry.goal_bpm)
            held += lasts > 0 and now.epoch_days < last.seen.at + lasts
    return held


def test_the_curve_starts_from_what_relatives_let_expect(box: Box, clock: ManualClock) -> None:
    """After one take the curve and the card say the same tempo, and not that of a bare prior."""
    e, a = box.find("e"), box.find("a")
    box.record(e, bpm=130, grade=Grade.AUTOMATIC, at=clock.now(), seconds=30)
    clock.forward(days=1)
    box.record(a, bpm=110, grade=Grade.STEADY, at=clock.now(), seconds=30)
    ((_, curve),) = box.course(a)
    card = box.card(a, at=clock.now())
    (take,) = box.archive.takes(card_id=a)

    assert take.measures is not None
    assert card.cold_bpm == pytest.approx(curve)
    without = TakeRow(take.id, a, take.bpm, take.grade, take.at, take.zone, 30.0, "self")
    (bare,) = Replay(Premises(Parameters(), {}, DAY_ENDS_AT)).steps([without])
    assert abs(2.0**bare.after.mu - curve) > 3.0


def test_what_was_inherited_is_in_hand(clock: ManualClock) -> None:
    """An edition changes a card that holds: the year goes on, and no day is counted twice."""
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(edition(1, {"one": "(e)", "two": "(a)"}), at=clock.now())
        for _ in range(6):
            for slug in ("one", "two"):
                card = box.find(f"d/{slug}")
                box.record(card, bpm=100, grade=Grade.AUTOMATIC, at=clock.now(), seconds=60)
            clock.forward(days=1)
        before = look_back(box, at=clock.now()).in_hand
        box.put_deck(edition(2, {"one": "(1e)", "two": "(a)"}), at=clock.now())
        after = look_back(box, at=clock.now()).in_hand

        assert 2 == before[-1]
        assert before == after
        assert 12.0 == sum(look_back(box, at=clock.now()).minutes.values())


def test_links_of_a_box_are_among_its_premises(box: Box, clock: ManualClock) -> None:
    """Parameters, links and the end of the day are read from the settings, and nothing else."""
    box.archive.put_setting(KEY + CARDS[0], CARDS[1], clock.now())
    box.archive.put_setting("day_ends_at", 3, clock.now())
    found = Premises.found_in(box.archive.settings())

    assert (
        Premises(
            Parameters(),
            {CARDS[0]: Link(CARDS[0], CARDS[1], clock.now().astimezone(UTC))},
            3,
        )
        == found
    )
    assert found.version != Premises(Parameters(), {}, 3).version
    assert prior(found.parameters) == prior(Parameters())
