"""How long each starter deck takes at fifteen minutes a day: a quick student, and a cautious one.

Run from the top of the repository: ``python tests/bench/bench_course.py [DECK ...]``; prints the
weeks that stand in ``drillbox/deckfile/course.py`` beside those of this run. Some minutes a deck.

The box's own forecast lets every take come off as it is expected to, counts every day of the
calendar and gives every new card the same first tempo, so that a deck of low goals is in hand when
it has been looked at once. Here the plan is played through instead by the fourth of the benchmark's
students (`newcomers.Meeting`): a new pattern has to come together first and falls apart until it
does, takes scatter, days differ, and what is not played fades. Nothing of the deck is known before;
a card begins a fifth to nearly half under its goal.

- The *quick* student practises every day.
- The *cautious* one learns half as fast, and practises five days in seven.

A deck counts as half done, or nine tenths done, from the first day on which so many of its cards
would come off steady at their goals, cold, and on every day of the week after it. The mean of two
seeds, rounded up to whole weeks. Rates that no paper gives are assumptions (`students`,
`newcomers`).
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from math import ceil

import numpy as np
from newcomers import Meeting
from schedulers import Drillbox
from students import Floats, Nature
from world import Session

from drillbox.deckfile import SERVES, Deck, read_starter_decks
from drillbox.plan import Candidate
from drillbox.plan.takes import take_shape
from drillbox.rhythm import movement

LONGEST = 560
SEEDS = (301, 302)
SHARES = (0.5, 0.9)
QUICK, CAUTIOUS = (Nature(), 7), (Nature(learning=0.5), 5)


@dataclass(frozen=True)
class Lesson:
    """One student with one deck; what a `world.Cell` is for the benchmark."""

    deck: Deck
    nature: Nature
    week: int
    seed: int
    minutes: float = 15.0

    def goals(self) -> Floats:
        """Return the goal tempo of each card."""
        return np.array([card.goal_bpm for card in self.deck.cards])

    def families(self) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        """Return the family of each card."""
        names = list(dict.fromkeys(card.family for card in self.deck.cards))
        return np.array([names.index(card.family) for card in self.deck.cards], dtype=np.int64)

    def practice_days(self) -> list[int]:
        """Return the days on which there is practice."""
        return [day for day in range(LONGEST) if day % 7 < self.week]


class Learner(Drillbox):
    """The plan, with a deck's order, prerequisites and pace."""

    def __init__(self, lesson: Lesson) -> None:
        super().__init__(lesson)  # type: ignore[arg-type]
        deck = lesson.deck
        by_slug = dict(zip((card.slug for card in deck.cards), self.names, strict=True))
        self._cards = [
            Candidate(
                name, card.title, belief, card.goal_bpm, card.pattern.seconds(60),
                bars=card.pattern.bars, importance=card.importance, family=card.family,
                after=tuple(by_slug[slug] for slug in card.after), order=number, decks=(deck.id,),
                pace=deck.pace, top_bpm=movement(card.pattern).top_bpm or 400.0,
            )
            for number, (name, card, belief) in enumerate(
                zip(self.names, deck.cards, self.beliefs, strict=True)
            )
        ]  # fmt: skip

    def _candidates(self) -> list[Candidate]:
        from dataclasses import replace

        return [replace(c, belief=b) for c, b in zip(self._cards, self._lifted(), strict=True)]


class Take(Session):
    """A session whose takes last as long as the deck's patterns make them."""

    def __init__(self, learner: Learner, student: Meeting, day: int, minutes: float) -> None:
        super().__init__(student, day, minutes)
        self._cards = learner._cards

    def cost(self, card: int, bpm: float) -> float:
        """Return the seconds that a take costs now."""
        shape = take_shape(self._cards[card].seconds60, self._cards[card].bars, bpm)
        return shape.seconds + (0.0 if card == self.on_stand else 6.0)


def days_of(lesson: Lesson) -> list[int]:
    """Return the day from which each share of the deck is in hand for a week."""
    student = Meeting(lesson.goals(), lesson.families(), lesson.nature, lesson.seed)
    learner = Learner(lesson)
    line, practice = np.log2(lesson.goals() - 2.5), set(lesson.practice_days())
    ready: list[float] = []
    for day in range(LONGEST):
        ready.append(float((student.cold(float(day)) >= line).mean()))
        if all(_since(ready, share) < len(ready) for share in SHARES):
            break
        if day in practice:
            learner.practise(Take(learner, student, day, lesson.minutes))
    return [_since(ready, share) for share in SHARES]


def _since(ready: list[float], share: float) -> int:
    """Return the first day of a week in which the share was never missed; the end for none."""
    for day in range(len(ready) - 6):
        if min(ready[day : day + 7]) >= share:
            return day
    return len(ready)


def main() -> None:
    """Print for each deck the weeks of both students."""
    for deck in read_starter_decks():
        if sys.argv[1:] and deck.id not in sys.argv[1:]:
            continue
        weeks = []
        for nature, week in (QUICK, CAUTIOUS):
            runs = [days_of(Lesson(deck, nature, week, seed)) for seed in SEEDS]
            weeks.append([ceil(sum(days) / len(days) / 7) for days in zip(*runs, strict=True)])
        (half, most), (slow_half, slow_most) = weeks
        said = f"half {half} to {slow_half} weeks, nine tenths {most} to {slow_most}"
        print(f"{deck.id:26} {said}; kept {SERVES[deck.id][2:]}", flush=True)


if __name__ == "__main__":
    main()
