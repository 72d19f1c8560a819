"""A card whose rhythm cannot be read stops nothing: it is passed over, and named."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from math import inf, nan
from typing import TYPE_CHECKING

import pytest
from conftest import SMALL_DECK

from drillbox import Box, Grade
from drillbox.box.legible import LENGTH, PLACED, RULES, counted_before
from drillbox.deckfile import parse_deck
from drillbox.errors import UnknownCardError
from drillbox.report.checkup import look

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.base.clock import ManualClock
    from drillbox.deckfile import Deck

ILLEGIBLE = "snare: >9 zz("


def alter(path: Path, slug: str) -> None:
    """Put another text in the place of a card's rhythm, as another program may."""
    with closing(sqlite3.connect(path)) as other, other:
        other.execute("UPDATE card SET pattern = ? WHERE slug = ?", (ILLEGIBLE, slug))


@pytest.mark.parametrize("counted_before", [False, True])
def test_an_illegible_rhythm_is_passed_over_and_named(
    tmp_path: Path, clock: ManualClock, small_deck: Deck, *, counted_before: bool
) -> None:
    """Whether or not it was read before: plan, cards, forecast and takes go on without it."""
    path = tmp_path / "player.box"
    with Box.open(path, clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        if counted_before:
            box.plan(at=clock.now())
    alter(path, "e-a")

    with Box.open(path, clock=clock) as box:
        at = clock.now()
        left_out = box.left_out(at=at)
        planned = {box.title(item.card_id) for item in box.plan(at=at).items}
        titles = [card.title for card in box.cards(at=at)]
        box.record(box.find("e"), bpm=80, grade=Grade.STEADY, at=at, seconds=40)
        place = f"{small_deck.id}/e-a"

        assert [place] == list(left_out.unreadable)
        assert f"The rhythm of {place} cannot be read" in left_out.sentence
        assert 3 == len(titles)
        assert planned
        assert planned <= set(titles)
        for asked in ("e-a", place):
            with pytest.raises(UnknownCardError, match=f"the rhythm of {place} cannot be read"):
                box.find(asked)


@pytest.mark.parametrize(
    "kept",
    [
        (nan,) * LENGTH,
        (1e6,) + (0.0,) * (LENGTH - 1),
        (0.0,) * (LENGTH + PLACED) + (-1.0,) * -PLACED,
        (0.0,) * (LENGTH + PLACED) + (inf,) * -PLACED,
        (0.0,) * (LENGTH - 1),
    ],
)
def test_numbers_that_no_rhythm_has_are_counted_anew(
    box: Box, clock: ManualClock, kept: tuple[float, ...]
) -> None:
    """Not numbers, far out, below nothing, endless, too few: the plan is what it would be."""
    planned = box.plan(at=clock.now())
    card = box.find("e")
    counted = counted_before(box.archive)[card]
    box.archive.put_features({card: kept}, version=RULES)
    assert card not in counted_before(box.archive)
    with Box.open(":memory:", clock=clock) as other:
        other.put_deck(parse_deck(SMALL_DECK, name="d"), at=clock.now())
        other.archive.put_features({card: kept}, version=RULES)
        assert planned == other.plan(at=clock.now())
        assert counted == counted_before(other.archive)[card]


def test_a_checkup_names_the_illegible_rhythm_and_what_to_do(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """Taking its deck out and adding it again brings the card back, with its history."""
    path = tmp_path / "player.box"
    with Box.open(path, clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        box.record(box.find("e-a"), bpm=80, grade=Grade.STEADY, at=clock.now(), seconds=40)
    alter(path, "e-a")

    findings = [finding.sentence for finding in look(path, clock=clock).findings]
    assert any("e-a cannot be read and is passed over" in said for said in findings)
    with Box.open(path, clock=clock) as box:
        box.remove_deck(small_deck.id)
        box.put_deck(small_deck, at=clock.now())

        assert {} == box.left_out(at=clock.now()).unreadable
        assert 1 == box.card(box.find("e-a"), at=clock.now()).takes
