"""Whatever happens to a box, its history equals a plain list and its beliefs a replay of it."""

from __future__ import annotations

import shutil
import tempfile
from datetime import timedelta
from itertools import count
from pathlib import Path
from typing import NamedTuple

from conftest import MORNING, SMALL_DECK
from examples import examples
from hypothesis import HealthCheck
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from drillbox.base.clock import ManualClock
from drillbox.base.now import DAY_ENDS_AT
from drillbox.box import Box
from drillbox.box.history import Premises, Replay
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade, Parameters, prior
from drillbox.memory.belief import lifted
from drillbox.store import TakeRow

DECK = parse_deck(SMALL_DECK, name="first-ghosts.toml")
CARDS = [card.card_id for card in DECK.cards]


class Noted(NamedTuple):
    """One take as the plain list has it."""

    card_id: str
    bpm: float
    grade: Grade


class BoxMachine(RuleBasedStateMachine):
    """Record, undo, reopen, crash, another window, a merge, the deck out and in, the clock back."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.clock = ManualClock(MORNING)
        self.numbers = count(1)
        self.noted: list[tuple[float, int, Noted]] = []
        self.arrived = count()

    def new_id(self) -> str:
        """Return the next id."""
        return f"{next(self.numbers):032x}"

    @initialize()
    def begin(self) -> None:
        """Open a new box with a deck in it."""
        self.box = self.open()
        self.box.put_deck(DECK, at=self.clock.now())

    def open(self) -> Box:
        """Open the box file."""
        return Box.open(self.folder / "player.box", clock=self.clock, new_id=self.new_id)

    @rule(
        card=st.sampled_from(CARDS),
        bpm=st.integers(40, 180),
        grade=st.sampled_from(Grade),
        hours=st.sampled_from([0.02, 1.0, 20.0, 100.0, -30.0]),
        elsewhere=st.booleans(),
    )
    def record(self, card: str, bpm: int, grade: Grade, hours: float, *, elsewhere: bool) -> None:
        """Record a take, here or in another window, some hours on.

        The clock may have been set back.
        """
        self.clock.set(self.clock.now() + timedelta(hours=hours))
        window = self.open() if elsewhere else self.box
        window.record(card, bpm=bpm, grade=grade, at=self.clock.now(), seconds=30)
        if elsewhere:
            window.close()
        self.note(Noted(card, float(bpm), grade))

    @rule()
    def undo(self) -> None:
        """Take back the take that came last, if it is of this practice day."""
        latest = max(self.noted, key=lambda noted: noted[1], default=None)
        taken = self.box.undo(at=self.clock.now())
        if taken is not None:
            assert latest is not None
            assert (latest[2].card_id, latest[2].bpm) == (taken.card_id, taken.bpm)
            self.noted.remove(latest)

    @rule(card=st.sampled_from(CARDS), days=st.integers(1, 30))
    def merge(self, card: str, days: int) -> None:
        """Take in a take from another machine, twice."""
        at = self.clock.now() - timedelta(days=days)
        row = TakeRow(self.new_id(), card, 77.0, 0, at, "Europe/Zurich", 30.0, "self")
        assert (1, 0) == (self.box.merge([row]), self.box.merge([row]))
        self.noted.append((at.timestamp(), -next(self.arrived), Noted(card, 77.0, Grade.STEADY)))

    @rule()
    def reopen(self) -> None:
        """Close the box and open it again."""
        self.box.close()
        self.box = self.open()

    @rule()
    def crash(self) -> None:
        """Lose the program without closing: a second look at the file must find everything."""
        self.box = self.open()

    @rule()
    def deck_out_and_in(self) -> None:
        """Remove the deck and add it again."""
        self.box.remove_deck(DECK.id)
        self.box.put_deck(DECK, at=self.clock.now())

    def note(self, noted: Noted) -> None:
        """Write a take into the plain list, with its time and its place of arrival."""
        self.noted.append((self.clock.now().timestamp(), next(self.arrived), noted))

    @invariant()
    def the_history_is_the_list(self) -> None:
        """Per card: the same takes, in order of time."""
        for card in CARDS:
            expected = sorted((at, n.bpm, n.grade) for at, _, n in self.noted if n.card_id == card)
            found = sorted((v.at.timestamp(), v.bpm, v.grade) for v in self.box.history(card))
            assert expected == found

    @invariant()
    def the_beliefs_are_a_replay(self) -> None:
        """Per card: what is believed now is what its takes say, replayed in order."""
        self.box.plan(at=self.clock.now())
        for card in CARDS:
            takes = self.box.archive.takes(card_id=card, until=self.box._beliefs.until)
            replay = Replay(Premises(Parameters(), {}, DAY_ENDS_AT))
            list(replay.steps(takes))
            belief = replay.beliefs.get(card, prior(Parameters()))
            assert lifted(belief, self.box._beliefs.level) == self.box._beliefs.of(card)

    @invariant()
    def the_day_is_its_takes(self) -> None:
        """Today's seconds are those of the takes played today by the clock on the wall."""
        today = self.box.now(self.clock.now()).day
        day = self.box.day(self.clock.now())
        assert {today} >= {take.day for take in day.takes}
        assert day.seconds == 30.0 * len(day.takes)

    def teardown(self) -> None:
        """Clean up."""
        self.box.close()
        shutil.rmtree(self.folder)


BoxMachine.TestCase.settings = examples(
    12,
    stateful_step_count=12,
    suppress_health_check=[HealthCheck.too_slow],
)


TestBox = BoxMachine.TestCase
