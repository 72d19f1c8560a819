"""How long each starter deck takes at fifteen minutes a day, as the forecast has it.

Run: ``python tests/bench/bench_course.py``; prints the days that stand in
``drillbox/deckfile/course.py`` beside those of this run. About a minute.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from drillbox import Box
from drillbox.deckfile import SERVES, starter_decks

DECKS = Path(__file__).parents[2] / "decks"
AT = datetime(2026, 1, 5, 17, 0, tzinfo=UTC)


def main() -> None:
    """Print for each deck the days until half of it is in hand, and nine tenths."""
    for starter in starter_decks():
        with Box.open(":memory:") as box:
            box.add_deck(DECKS / f"{starter.name}.toml")
            cards = len(box.cards(at=AT))
            course = list(box.ahead(at=AT, minutes=15, days=365))
        days = [
            next((day for day, ready in enumerate(course, 1) if ready >= share * cards), None)
            for share in (0.5, 0.9)
        ]
        kept = SERVES[starter.name]
        print(f"{starter.name:26} {days[0]} and {days[1]}, kept: {kept.half} and {kept.most}")


if __name__ == "__main__":
    main()
