"""A beginner's first fourteen days and a strong player's, printed as plans for a teacher to read.

Run from the top of the repository: ``python tests/bench/bench_first_weeks.py``. A starter deck in a
box of its own, played by the fourth of the benchmark's students (`newcomers.Meeting`); the strong
player knows most of the deck already. A card's takes of a day stand together, whatever came
between them. Grades in signs: -- fell apart, - shaky, = steady, + clean,
++ automatic. Seeds are fixed.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
from newcomers import Meeting
from students import Nature

from drillbox import Box, Grade
from drillbox.deckfile import read_starter_decks

SIGNS = {-2: "--", -1: "-", 0: "=", 1: "+", 2: "++"}
START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
DAYS, MINUTES = 14, 15
DECK = "sixteenth-ghosts"


def weeks(name: str, nature: Nature) -> None:
    """Play fourteen days, and print what was played on each."""
    with Box.open(":memory:") as box:
        deck = next(deck for deck in read_starter_decks() if deck.id == DECK)
        box.put_deck(deck, at=START)
        cards = [card.card_id for card in box.cards(at=START)]
        goals = np.array([card.goal_bpm for card in box.cards(at=START)])
        player = Meeting(goals, np.arange(len(goals)) // 6, nature, 5)
        print(f"\n### {name}\n")
        for day in range(DAYS):
            at, told = START + timedelta(days=day), dict[str, list[str]]()
            while items := box.plan(at=at, minutes=MINUTES).items:
                item = items[0]
                grade = player.take(cards.index(item.card_id), float(day), 0.0, float(item.bpm))
                seconds = item.seconds / item.takes
                at += timedelta(seconds=seconds)
                box.record(item.card_id, item.bpm, Grade(grade), at, seconds)
                told.setdefault(box.title(item.card_id), []).append(f"{item.bpm}{SIGNS[grade]}")
            lines = "; ".join(f"{title} {' '.join(takes)}" for title, takes in told.items())
            print(f"- **Day {day + 1}.** {lines or 'nothing worth its seconds'}")


def main() -> None:
    """Print both players' weeks."""
    weeks("A beginner", Nature())
    weeks("A strong player", Nature(known=0.8, learning=1.5))


if __name__ == "__main__":
    main()
