"""Write the box and the log of the present version, to be kept for good.

What a player may still have in ten years.

Run once for a release that raised the version of the file, from the release itself, and commit what
it wrote: ``python tests/store/released/make_released.py``. Files of earlier versions are never
written again.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from drillbox.store import Archive, CardRow, DeckRow, Retraction, TakeRow, Wish, schema, write_log
from drillbox.store.rows import BeliefRow, Standing

HERE = Path(__file__).parent
BEGAN = datetime(2026, 3, 29, 0, 30, 0, 250_000, tzinfo=UTC)
CARD, OTHER = "3f6c0a9be4d21785", "00f1e2d3c4b5a697"

TAKES = tuple(
    TakeRow(
        id=f"{number:032x}",
        card_id=(CARD, OTHER)[number % 2],
        bpm=72.5 + number,
        grade=(-2, -1, 0, 1, 2)[number % 5],
        at=BEGAN + timedelta(hours=17 * number, microseconds=number),
        zone=("Europe/Berlin", "America/St_Johns", "+05:45")[number % 3],
        seconds=31.25 + number,
        source=("self", "audio")[number % 2],
        measures={"jitter_ms": 11.5, "strokes": [16, number]} if number % 2 else None,
    )
    for number in range(12)
)
"""The takes that every version's box and log hold; the one numbered 7 is taken back."""
TAKEN_BACK = TAKES[7]
RETRACTION = Retraction(f"{99:032x}", TAKEN_BACK.id, BEGAN + timedelta(days=9))
DECK = DeckRow(
    "ghosts", "Ghost notes", 3, "A. Teacher", "CC0-1.0", "All of them.", 'id = "ghosts"\n', BEGAN
)
CARDS = (
    CardRow("ghosts", "e", CARD, "The e", "snare: (e)\n", 4.0, 1, 100.0, 1.0, (), "one", 0, "low"),
    CardRow("ghosts", "a", OTHER, "The a", "snare: (a)\n", 4.0, 1, 90.0, 2.5, (CARD,), "one", 1),
)
WISH = Wish(CARD, 112.0, None, resting=True, at=BEGAN)
SETTING = ("minutes", 20)


def main() -> None:
    """Write both files, unless they are there."""
    numbers = count(99)
    box = HERE / f"version-{schema.SCHEMA_VERSION}.box"
    log = box.with_suffix(".jsonl")
    if box.exists() or log.exists():
        sys.exit(f"{box} is there already and stays as it is")
    with Archive.open(box, now=BEGAN, new_id=lambda: f"{next(numbers):032x}") as archive:
        archive.put_deck(DECK, CARDS)
        for take in TAKES[:8]:
            archive.add_take(take)
        archive.merge(TAKES[8:])
        archive.retract(TAKEN_BACK.id, RETRACTION.at)
        archive.put_wish(WISH)
        archive.put_setting(*SETTING, BEGAN)
        rows = [BeliefRow(CARD, (1.5, float("nan")))]
        archive.put_beliefs(rows, since=None, now=Standing("of the release", archive.mark(), BEGAN))
        with log.open("wb") as out:
            write_log(archive.log(), out)


if __name__ == "__main__":
    main()
