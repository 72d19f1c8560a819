"""A box of many cards and takes, made up from a fixed seed: the size that the budgets speak of."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from itertools import combinations, islice
from typing import TYPE_CHECKING
from uuid import UUID

from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.store import TakeRow

if TYPE_CHECKING:
    from pathlib import Path

GROOVE = """\
[deck]
id = "many"
title = "Many"
edition = 1
author = "bench"
licence = "CC0-1.0"
about = "Made for timing."
goal = 100
[groove]
hat = "beat &"
snare = ">2 >4"
bass = "1 3"
"""


def make_big_box(path: Path, *, cards: int, takes: int, now: datetime | None = None) -> Box:
    """Return a box of so many cards with takes over 400 days up to yesterday, its beliefs cached.

    Today has none yet, at whatever hour the box is made: its minutes are all left.
    """
    at = now or datetime.now(UTC)
    chance = random.Random(20_000)
    slots = [f"{beat}{part}" for beat in range(1, 5) for part in ("e", "&", "a")]
    sets = (chosen for size in range(1, 13) for chosen in combinations(slots, size))
    blocks = [
        f'[[card]]\nid = "c{n}"\ntitle = "card {n}"\n'
        f'snare = "{" ".join(f"({s})" for s in chosen)}"\n'
        for n, chosen in enumerate(islice(sets, cards))
    ]
    box = Box.open(path)
    box.put_deck(parse_deck(GROOVE + "".join(blocks), name="many"), at=at)
    ids = [card.card_id for card in box.cards(at=at)]
    box.merge(
        TakeRow(
            id=UUID(int=chance.getrandbits(128)).hex,
            card_id=chance.choice(ids),
            bpm=chance.uniform(60, 110),
            grade=chance.choice([-1, 0, 0, 1, 1]),
            at=at - timedelta(days=chance.uniform(1, 401)),
            zone="+00:00",
            seconds=40.0,
            source="self",
        )
        for _ in range(takes)
    )
    box.plan(at=at)
    return box
