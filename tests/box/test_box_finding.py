"""Cards found by words, by numbers and by what they are not."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from drillbox.box.finding import found, typed
from drillbox.errors import UsageError
from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("", {"e", "a", "e-a", "a-doubled"}),
        ("EVERY beat", {"e", "a", "e-a", "a-doubled"}),
        ("doubled", {"a-doubled"}),
        ("-doubled", {"e", "a", "e-a"}),
        ("waiting -doubled", {"a", "e-a"}),
        ("goal<90", {"a-doubled"}),
        ("goal>=90", {"e", "a", "e-a"}),
        ("goal=90 -waiting", {"e"}),
        ("cold>40", {"e"}),
        ("-cold>40", {"a", "e-a", "a-doubled"}),
        ("cold<40", set()),
        ("takes=1", {"e"}),
        ("away=3", {"e"}),
        ("away>3", set()),
        ("-", {"e", "a", "e-a", "a-doubled"}),
    ],
)
def test_what_is_said_finds_its_cards(
    box: Box, clock: ManualClock, said: str, expected: set[str]
) -> None:
    """One card was played three days ago; what was never played has no cold tempo to compare."""
    box.record(box.find("e"), bpm=92, grade=Grade.STEADY, at=clock.now(), seconds=40)
    at = clock.now() + timedelta(days=3)

    cards = found(box.cards(at=at), said.split(), today=box.now(at).day)

    assert expected == {place.split("/")[1] for card in cards for place in card.places}


def test_a_count_finds_the_rhythm_of_that_name_first(box: Box, clock: ManualClock) -> None:
    """`e of every beat` finds that title before e and a together; in quotes that one alone.

    A single letter stands by itself: "beat" has an e and an a in it, and is neither. The shelf's
    line is split as a shell would; a quote that is still open is a sign like any other.
    """
    at = clock.now()
    cards, today = box.cards(at=at), box.now(at).day
    words = typed("E of every beat")
    assert ["E", "of", "every", "beat"] == words
    titles = [card.title for card in found(reversed(cards), words, today=today)]
    assert "e of every beat" == titles[0]
    assert all("e" in title.split() for title in titles)
    assert {"e of every beat", "e and a of every beat"} == set(titles)
    quoted = typed('"e of every beat" waiting')
    assert ["e of every beat", "waiting"] == quoted
    assert ["e of every beat"] == [card.title for card in found(cards, quoted, today=today)]
    assert ['"e', "of"] == typed('"e of')
    assert [] == found(cards, ["e of every bear"], today=today)


def test_days_until_it_slips_are_counted_from_today(box: Box, clock: ManualClock) -> None:
    """A card that holds is found a day before it slips; after it the number is below zero."""
    card = box.find("e")
    box.record(card, bpm=110, grade=Grade.AUTOMATIC, at=clock.now(), seconds=40)
    returns = box.card(card, at=clock.now()).returns_on
    assert returns is not None
    today = box.now(clock.now()).day

    view = box.card(card, at=clock.now())

    assert [view] == found([view], [f"slips={returns - today}"], today=today)
    assert [view] == found([view], ["slips<0"], today=returns + 1)
    assert [] == found([view], ["slips<0"], today=returns)


@pytest.mark.parametrize(
    ("word", "what"),
    [("goal>", "goal> wants a number"), ("cold<fast", "cold< wants"), ("size>3", "'size'"),
     ("-goal>x", "goal> wants")],
)  # fmt: skip
def test_what_cannot_be_compared_is_said(word: str, what: str) -> None:
    """A sentence names the word and what can be compared."""
    with pytest.raises(UsageError, match=what):
        found([], [word], today=0)
