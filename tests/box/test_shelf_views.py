"""What the shelf shows of a card, in signs and in order; guesses, heritages, the level."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, timedelta
from math import log2
from typing import TYPE_CHECKING

import numpy as np
import pytest

from drillbox.box.beliefs import WAITS_AFTER
from drillbox.box.catalogue import SHORTEST_START
from drillbox.box.first_tempi import CHECKED_CARDS, RATE
from drillbox.box.history import Premises
from drillbox.box.learned_numbers import KEY, LEARNED_FROM_TAKES
from drillbox.box.legible import PLACED, RULES, text_mark
from drillbox.box.lessons import LEARN_EVERY
from drillbox.box.lineage import CHANGED_DAYS_SD, CHANGED_SD, inherited
from drillbox.box.whole_log import latest
from drillbox.deckfile import parse_deck
from drillbox.errors import UnknownCardError
from drillbox.memory import Grade, Parameters, State, prior
from drillbox.memory.learning import FEWEST_COLD_TAKES
from drillbox.rhythm import facts, parse, quiet_places

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.deckfile import Deck


@pytest.mark.parametrize(
    ("state", "cold", "expected"),
    [
        (State.WAITING, None, "–"),
        (State.BUILDING, None, "–"),
        (State.BUILDING, 79.6, "(80)"),
        (State.HOLDING, 96.2, "96"),
        (State.FADING, 88.0, "88?"),
        (State.RESTED, 88.0, "zz"),
        (State.RESTED, None, "zz"),
    ],
)
def test_a_card_stands_in_signs(
    box: Box, clock: ManualClock, state: State, cold: float | None, expected: str
) -> None:
    """Bare at its goal, in brackets below it, with a question mark slipping, `zz` set aside."""
    card = replace(box.cards(at=clock.now())[0], state=state, cold_bpm=cold)
    assert expected == card.standing
    assert (state is State.HOLDING) == card.holds


def test_the_newest_four_grades_and_the_best_cold_take(box: Box, clock: ManualClock) -> None:
    """Oldest of the four first; the best counts cold takes that were at least steady only."""
    card = box.find("e")
    assert ((), None) == ((seen := box.lately(card)).grades, seen.best_bpm)
    told = [
        (100, Grade.SHAKY), (70, Grade.STEADY), (80, Grade.CLEAN), (110, Grade.FELL_APART),
        (75, Grade.AUTOMATIC), (60, Grade.STEADY),
    ]  # fmt: skip
    for day, (bpm, grade) in enumerate(told):
        at = clock.now() + timedelta(days=day)
        box.record(card, bpm=bpm, grade=grade, at=at, seconds=40)
        # The day's second take is warm: it is no best.
        box.record(card, bpm=bpm + 50, grade=Grade.STEADY, at=at + timedelta(minutes=2), seconds=40)
    lately = box.lately(card)
    assert (Grade.AUTOMATIC, Grade.STEADY, Grade.STEADY, Grade.STEADY) == lately.grades
    assert 80.0 == lately.best_bpm


def test_cards_that_slip_soon_are_told_soonest_first(box: Box, clock: ManualClock) -> None:
    """Within the days asked for, the last day included."""
    for name, bpm in (("e", 112), ("a", 104), ("e-a", 118)):
        for n in (3, 2, 1):
            at = clock.now() - timedelta(days=n)
            box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, at=at, seconds=40)
    everything = box.coming(at=clock.now(), days=4000)
    assert sorted(card.returns for card in everything) == [card.returns for card in everything]  # type: ignore[type-var]
    assert 3 == len(everything)
    today = box.now(clock.now()).day
    first = everything[0]
    assert first.returns_on is not None
    left = first.returns_on - today
    assert [first] == list(box.coming(at=clock.now(), days=left))[:1]
    assert () == box.coming(at=clock.now(), days=left - 1)


def test_a_card_left_alone_slips_day_by_day(box: Box, clock: ManualClock) -> None:
    """Today's cold tempo and each next day's, the same as an outlook at that hour."""
    card = box.find("e")
    box.record(card, bpm=92, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    slipping = box.slipping(card, at=clock.now(), days=3)
    expected = [
        box.outlook(card, at=clock.now() + timedelta(days=day)).cold_bpm for day in range(4)
    ]
    assert expected == pytest.approx(list(slipping))
    assert list(slipping) == sorted(slipping, reverse=True)


def test_what_is_apart_has_no_tempo_and_a_take_gives_it_one(box: Box, clock: ManualClock) -> None:
    """After a take that fell apart no tempo is told; after a steady one there is."""
    card = box.find("e")
    box.record(card, bpm=70, grade=Grade.FELL_APART, at=clock.now(), seconds=40)
    apart = box.card(card, at=clock.now())
    assert (None, None, None, 70.0, 1) == (
        apart.cold_bpm, apart.low_bpm, apart.high_bpm, apart.last_bpm, apart.takes,
    )  # fmt: skip
    box.record(card, bpm=60, grade=Grade.STEADY, at=clock.now(), seconds=40)
    met = box.card(card, at=clock.now())
    assert met.cold_bpm is not None
    assert met.last_bpm == 60.0
    assert met.last_day == box.now(clock.now()).day


def test_the_start_of_an_id_means_a_card_from_four_letters_on(box: Box) -> None:
    """Three letters mean none; a name that is nearly one is hinted at."""
    card = box.find("e-a")
    assert SHORTEST_START == 4
    assert card == box.find(card[:4])
    with pytest.raises(UnknownCardError, match="no card"):
        box.find(card[:3])
    with pytest.raises(UnknownCardError) as refused:
        box.find("a-dubled")
    assert refused.value.fix is not None
    assert "did you mean" in refused.value.fix
    assert "a-doubled" in refused.value.fix
    with pytest.raises(UnknownCardError) as refused:
        box.find("zzzzzzzzzz")
    assert refused.value.fix == "'drillbox cards' lists the cards"


def test_a_name_of_many_cards_names_four_of_them(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """A slug that two decks give to different rhythms is more than one card: say which."""
    text = small_deck.text.replace('id = "first-ghosts"', 'id = "second"')
    text = text.replace('snare = "(e)"', 'snare = "(4e)"')
    box.put_deck(parse_deck(text, name="second.toml"), at=clock.now())
    with pytest.raises(UnknownCardError) as refused:
        box.find("e")
    assert refused.value.fix == "say which: first-ghosts/e, second/e"
    assert box.find("first-ghosts/e") != box.find("second/e")


def test_a_heritage_is_the_same_less_surely() -> None:
    """The variances grow by 0.15 octave and half an e of days squared, never past an unplayed one.

    A belief wider than that stays as wide as it is.
    """
    p = Parameters()
    known = replace(prior(p), var_mu=0.01, var_ln_s=0.04, takes=9)
    new = inherited(known, p)
    assert (0.01 + CHANGED_SD**2, 0.04 + CHANGED_DAYS_SD**2) == pytest.approx(
        (new.var_mu, new.var_ln_s)
    )
    assert replace(new, var_mu=0.01, var_ln_s=0.04) == known
    nearly = inherited(replace(known, var_mu=p.first_sd**2 - 1e-3), p)
    assert p.first_sd**2 == pytest.approx(nearly.var_mu)
    wide = inherited(replace(known, var_mu=0.9), p)
    assert wide.var_mu == 0.9
    # 11 % of a tempo, as the module says.
    assert round(100 * (2**CHANGED_SD - 1)) == 11
    assert CHANGED_DAYS_SD == 0.5


def test_a_rhythm_is_placed_by_what_is_counted_in_it(box: Box) -> None:
    """Nine numbers; a unit is about what a player notices: half a stroke a second, half a drum.

    Then where in a beat the ghosts are, and last the mark of the text they were counted in.
    """
    card = box.find("a-doubled")
    view = box.entries()[card]
    pattern = parse(view.row.pattern)
    seen, counted = box._first_tempi._numbers_of([card])[card], facts(pattern)
    assert len(seen) == 11
    places = {tick for tick in range(24) if int(seen[PLACED]) >> tick & 1}
    assert quiet_places(pattern) == places
    assert int(seen[PLACED]) == box._first_tempi.looks([card])[card]
    assert text_mark(view.row.pattern) == seen[-1]
    assert (2 * counted.drums, 2 * counted.off_time, counted.turns) == pytest.approx(seen[:3])
    assert 3.5 * counted.load == seen[RATE]
    assert (counted.limb_sets / 2, counted.beats, counted.grid_changes) == pytest.approx(seen[4:7])
    assert (2 * counted.ornaments, sum(pattern.grids) / len(pattern.grids) / 2) == seen[7:9]
    assert 7.0 * counted.load == pytest.approx(box._first_tempi.strokes([card])[card])
    assert box.archive.features(RULES).keys() >= {card}


def test_a_guess_comes_after_the_first_take_and_once(box: Box, clock: ManualClock) -> None:
    """Nothing is expected before anything was played, nor of a card that was.

    One that is still apart tells a little: slower than the first guess of 72.
    """
    e, a = box.find("e"), box.find("a")
    first = box._first_tempi
    assert {} == box.first_tempi([a])
    assert first.expected(a) is None
    box.record(e, bpm=60, grade=Grade.FELL_APART, at=clock.now(), seconds=40)
    assert 64.0 < box.first_tempi([a])[a] < 72.0
    box.record(e, bpm=80, grade=Grade.STEADY, at=clock.now(), seconds=40)
    assert {a} == box.first_tempi([a]).keys()
    assert {} == box.first_tempi([])
    expected = first.expected(a)
    assert expected is not None
    assert {"expected_bpm", "expected_sd"} == expected.keys()
    assert first.expected(e) is None
    assert CHECKED_CARDS == 12


def test_resting_cards_tell_nothing_in_a_check(box: Box, clock: ManualClock) -> None:
    """A card set aside is in no tempo check; with all set aside there is none."""
    cards = [card.card_id for card in box.cards(at=clock.now())]
    assert set(cards) == set(box._first_tempi.most_telling())
    box.rest(cards[0], resting=True, at=clock.now())
    assert set(cards[1:]) == set(box._first_tempi.most_telling())
    for card in cards[1:]:
        box.rest(card, resting=True, at=clock.now())
    assert [] == box._first_tempi.most_telling()


def test_learning_is_due_after_enough_takes_and_every_four_weeks(
    box: Box, clock: ManualClock
) -> None:
    """At so many entries it is due, one fewer it is not; then again after 28 days."""
    card, at = box.find("e"), clock.now().astimezone(UTC)
    for _ in range(FEWEST_COLD_TAKES - 1):
        box.record(card, bpm=70, grade=Grade.STEADY, at=at, seconds=40)
    assert not box.learning_is_due(at=at)
    box.record(card, bpm=70, grade=Grade.STEADY, at=at, seconds=40)
    assert box.learning_is_due(at=at)
    box.archive.put_setting(KEY, {}, at)
    assert not box.learning_is_due(at=at + timedelta(days=28))
    assert box.learning_is_due(at=at + timedelta(days=28, seconds=1))
    assert timedelta(days=28) == LEARN_EVERY
    assert LEARNED_FROM_TAKES == 4_000


@pytest.mark.parametrize("most", [1, 3, 4, 7, 8, 50])
def test_the_last_takes_start_from_what_was_believed_before_them(
    box: Box, clock: ManualClock, most: int
) -> None:
    """Of a log of eight takes the last few, each card from its belief after those left out."""
    e, a = box.find("e"), box.find("a")
    said = [(e, 70), (a, 60), (e, 75), (e, 80), (a, 65), (a, 70), (e, 85), (a, 75)]
    for hour, (card, bpm) in enumerate(said):
        at = clock.now() + timedelta(hours=9 * hour)
        box.record(card, bpm=bpm, grade=Grade.CLEAN, at=at, seconds=40)
    premises = Premises.found_in(box.archive.settings())
    log = box.archive.columns(until=at)
    beliefs, takes = latest(log, premises, most=most)
    kept = said[-most:]
    assert [float(bpm) for _, bpm in kept] == list(takes.bpm)
    cards = [log.cards[index] for index in np.unique(log.card[-most:])]
    assert [cards.index(card) for card, _ in kept] == list(takes.card)
    for card, belief in zip(cards, beliefs, strict=True):
        before = box._beliefs.course(card)
        left_out = len(before) - sum(one == card for one, _ in kept)
        expected = before[left_out - 1].after if left_out else before[0].before
        assert expected.to_row() == pytest.approx(belief.to_row(), abs=1e-9, nan_ok=True) or (
            not left_out and expected.mu == pytest.approx(belief.mu)
        )


def test_the_level_is_that_of_the_latest_take(box: Box, clock: ManualClock) -> None:
    """Of any card; before any take it is nothing, and a fresh look at the log agrees."""
    e, a = box.find("e"), box.find("a")
    assert box._beliefs.level == 0.0
    at = clock.now()
    for day in range(5):
        for card in (e, a):
            at += timedelta(days=1)
            box.record(card, bpm=70 + day, grade=Grade.AUTOMATIC, at=at, seconds=40)
    last = box.archive.takes()[-1].measures or {}
    assert last["level_after"] == box._beliefs.level > 0.0
    assert frozenset() == box.wrong_beliefs()
    box.forget_beliefs()
    assert last["level_after"] == pytest.approx(box._beliefs.level)
    assert timedelta(days=1) == WAITS_AFTER
    assert log2(box.outlook(e, at=at).cold_bpm) > 0
