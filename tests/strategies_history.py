"""Strategies for the one history: logs, links between rhythms, and the lives of a box."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import count
from math import inf, nan
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from drillbox import Grade
from drillbox.box.days_played import FEW, WIDTH, DayRow, packed
from drillbox.box.lineage import Link
from drillbox.store import TakeRow

START = datetime(2026, 3, 2, 9, 0, tzinfo=ZoneInfo("Europe/Zurich"))
CARDS = tuple(f"{number:016x}" for number in range(1, 6))
ZONES = ("Europe/Zurich", "Pacific/Auckland", "-05:00", "+14:00", "Nowhere/Land")
minutes = st.integers(0, 60 * 24 * 40)


@st.composite
def logs(draw: st.DrawFn) -> list[TakeRow]:
    """Return takes of a few cards in several zones, some of them with what relatives let expect."""
    numbers = count(1)
    return [
        TakeRow(
            id=f"{next(numbers):032x}",
            card_id=draw(st.sampled_from(CARDS)),
            bpm=float(draw(st.integers(20, 220))),
            grade=draw(st.integers(-2, 2)),
            at=START + timedelta(minutes=draw(minutes)),
            zone=draw(st.sampled_from(ZONES)),
            seconds=float(draw(st.integers(0, 90))),
            source="self",
            measures=draw(
                st.none() | st.just({"expected_bpm": 113.2, "expected_sd": 0.2, "more": 1})
            ),
        )
        for _ in range(draw(st.integers(0, 40)))
    ]


@st.composite
def links(draw: st.DrawFn) -> dict[str, Link]:
    """Return who inherits from whom, circles and links of one moment included."""
    descendants = draw(st.lists(st.sampled_from(CARDS), unique=True, max_size=4))
    return {
        descendant: Link(
            descendant,
            draw(st.sampled_from([card for card in CARDS if card != descendant])),
            START + timedelta(minutes=draw(st.sampled_from([0, 600, 600, 20_000]) | minutes)),
        )
        for descendant in descendants
    }


RHYTHMS = ("(e)", "(a)", "(e) (a)", "(1e)", "(&)", "(1a)")
SLUGS = ("one", "two", "three")
contents = st.dictionaries(
    st.sampled_from(SLUGS), st.sampled_from(RHYTHMS), min_size=1, max_size=3
).filter(lambda cards: len(set(cards.values())) == len(cards))
plays = st.tuples(
    st.sampled_from(SLUGS),
    st.sampled_from(list(Grade)),
    st.integers(40, 160),
    st.sampled_from([0.002, 0.4, 1, 9]),
)
late = st.tuples(st.just("late"), st.integers(0, 2000), st.sampled_from(RHYTHMS))
undone = st.just("undone")
lives = st.lists(contents | plays | plays | plays | late | undone, min_size=2, max_size=14)


def packed_days() -> st.SearchStrategy[list[bytes]]:
    """Return bytes that are a card's days, or nearly, of few cards and of many."""
    numbers = st.sampled_from((-1.0, 0.0, 1.0, 738_000.0, 4e6, inf, -inf, nan))
    rows = st.lists(st.builds(DayRow, *[numbers] * WIDTH), max_size=3).map(packed)
    return st.lists(rows | st.binary(max_size=170), max_size=2 * FEW)
