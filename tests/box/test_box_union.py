"""Two boxes of one player: after they met, by any road, both say the same about every card."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import permutations
from typing import TYPE_CHECKING

from conftest import MORNING, SMALL_DECK
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.clock import ManualClock
from drillbox.base.now import DAY_ENDS_AT
from drillbox.box import Box
from drillbox.box.history import Premises, Replay
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade, Parameters, prior
from drillbox.memory.belief import lifted
from drillbox.store import list_backups

if TYPE_CHECKING:
    from pathlib import Path
    from random import Random

    from drillbox.memory import Belief

DECK = parse_deck(SMALL_DECK, name="first-ghosts.toml")
CARDS = [card.card_id for card in DECK.cards]
practice = st.lists(
    st.tuples(
        st.sampled_from(CARDS),
        st.integers(40, 160),
        st.sampled_from(Grade),
        st.integers(0, 20),
        st.booleans(),
    ),
    max_size=5,
)


def new_box() -> Box:
    """Return an empty box with the small deck."""
    box = Box.open(":memory:", clock=ManualClock(MORNING))
    box.put_deck(DECK, at=MORNING)
    return box


def practised(history: list[tuple[str, int, Grade, int, bool]]) -> Box:
    """Return a box on which that was played.

    Now and then a take is undone, or a goal moved, or a card set aside.
    """
    box = new_box()
    for card, bpm, grade, hours, more in history:
        at = MORNING + timedelta(hours=hours)
        box.record(card, bpm=bpm, grade=grade, at=at, seconds=30)
        if more and bpm % 2:
            box.undo(at=at)
        elif more:
            box.set_goal(card, bpm=float(bpm), at=at)
            box.change_settings(at=at, minutes=5 + bpm % 56)
    return box


def beliefs(box: Box, at: datetime = MORNING) -> list[Belief]:
    """Return what a box believes of every card now."""
    box.cards(at=at)
    return [box._beliefs.of(card) for card in CARDS]


def state(box: Box) -> tuple[object, ...]:
    """Return what a player sees of a box, and what lies under it."""
    return list(box.log()), beliefs(box), box.cards(at=MORNING), box.settings


@examples(25)
@given(practice, practice, practice)
def test_boxes_that_met_believe_the_same(
    a: list[tuple[str, int, Grade, int, bool]],
    b: list[tuple[str, int, Grade, int, bool]],
    c: list[tuple[str, int, Grade, int, bool]],
) -> None:
    """Three machines, every order of meeting, twice over.

    One log, one shelf, and beliefs that equal a replay.
    """
    machines = [practised(one).holdings() for one in (a, b, c)]
    states = []
    for order in permutations(machines):
        box = new_box()
        for machine in (*order, order[0]):
            box.join(machine)
            beliefs(box)
        states.append(state(box))
    for card, believed in zip(CARDS, beliefs(box), strict=True):
        takes = box.archive.takes(card_id=card)
        replay = Replay(Premises(Parameters(), {}, DAY_ENDS_AT))
        list(replay.steps(takes))
        expected = replay.beliefs.get(card, prior(Parameters()))
        assert lifted(expected, box._beliefs.level) == believed
    assert [states[0]] * 6 == states


days_played = st.lists(
    st.tuples(
        st.sampled_from(CARDS[:2]),
        st.integers(60, 120),
        st.sampled_from(Grade),
        st.integers(0, 6),
        st.booleans(),
    ),
    min_size=3,
    max_size=6,
)


@given(days_played, st.randoms(use_true_random=False))
def test_takes_and_undoings_may_arrive_in_any_order(
    history: list[tuple[str, int, Grade, int, bool]], chance: Random
) -> None:
    """A week of takes, some taken back, comes in entry by entry, late ones and undoings first.

    Beliefs, the level behind them and the streaks of first takes are those of the box on which it
    was played, after every entry those of a fresh replay.
    """
    played = new_box()
    for card, bpm, grade, day, back in sorted(history, key=lambda take: take[3]):
        at = MORNING + timedelta(days=day, seconds=len(list(played.log())))
        played.record(card, bpm=bpm, grade=grade, at=at, seconds=30)
        if back and bpm % 2:
            played.undo(at=at)
    entries, week_later = list(played.log()), MORNING + timedelta(days=7)
    chance.shuffle(entries)
    box = new_box()
    for entry in entries:
        box.merge([entry])
        beliefs(box, at=week_later)
        assert frozenset() == box.wrong_beliefs()
    assert list(played.log()) == list(box.log())
    assert beliefs(played, at=week_later) == beliefs(box, at=week_later)
    assert played._beliefs.level == box._beliefs.level


def test_a_goal_that_comes_in_is_seen_at_once() -> None:
    """A shelf read before the boxes met shows the other machine's goal and rest after it."""
    here, there = new_box(), new_box()
    assert 90 == here.card(CARDS[0], at=MORNING).goal_bpm
    there.set_goal(CARDS[0], bpm=120, at=MORNING)
    here.join(there.holdings())

    assert 120 == here.card(CARDS[0], at=MORNING).goal_bpm


def test_the_sound_device_stays_on_its_machine() -> None:
    """The desktop's loudspeakers and the laptop's delay are of no use to the other.

    The minutes are.
    """
    here, there = new_box(), new_box()
    here.change_settings(at=MORNING, output="loudspeakers")
    there.change_settings(at=MORNING, output="headphones", latency_ms=180, minutes=25)
    assert {"minutes"} == {setting.key for setting in there.holdings().settings}
    here.join(there.archive.holdings())

    assert ("loudspeakers", 0, 25) == (
        here.settings.output,
        here.settings.latency_ms,
        here.settings.minutes,
    )


def test_a_box_that_stays_open_over_midnight_is_backed_up_again(tmp_path: Path) -> None:
    """Recording tells the archive how late it is.

    Each new day's first take is preceded by a backup.
    """
    path = tmp_path / "player.box"
    Box.open(path, clock=ManualClock(MORNING)).close()
    with Box.open(path, clock=ManualClock(MORNING)) as box:
        box.put_deck(DECK, at=MORNING)
        for days in (0, 0, 1, 1, 3):
            at = MORNING + timedelta(days=days)
            box.record(CARDS[0], bpm=80, grade=Grade.STEADY, at=at, seconds=30)

    made = [backup.day for backup in list_backups(path)]
    assert [MORNING.date() + timedelta(days=days) for days in (3, 1, 0)] == made
