"""The cards of a deck file, each by itself and all together."""

from __future__ import annotations

from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING, NamedTuple

from drillbox.base.tempi import ASKED
from drillbox.base.wording import did_you_mean
from drillbox.deckfile.deck import Card
from drillbox.rhythm import fingerprint, title
from drillbox.rhythm.entries import NOTATION_KEYS
from drillbox.rhythm.two_hands import too_few_hands

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from drillbox.deckfile.deck import LeftOut
    from drillbox.deckfile.groove_tables import Groove
    from drillbox.deckfile.tables import Table

__all__ = [
    "CARD_KEYS",
    "HIGHEST_IMPORTANCE",
    "LOWEST_IMPORTANCE",
    "Waiting",
    "check_order",
    "read_cards",
    "waiting",
]

CARD_KEYS = (
    *("id", "title", "goal", "importance", "after", "family", "note", "groove", "without"),
    *NOTATION_KEYS,
)
LOWEST_IMPORTANCE, HIGHEST_IMPORTANCE = 0.01, 100
_SHOWN = 6


class Waiting(NamedTuple):
    """A card's name, what it comes after, and where that stands."""

    table: Table
    slug: str
    after: tuple[str, ...]


def waiting(tables: Sequence[Table]) -> list[Waiting]:
    """Return the names of the cards that stand in the file, and whom they wait for."""
    cards = [Waiting(table, table.slug("id"), table.slugs("after")) for table in tables]
    seen: set[str] = set()
    for table, slug, _ in cards:
        if slug and slug in seen:
            table.wrong("id", f"a second card {slug!r}", "give every card its own id")
        seen.add(slug)
    return cards


def read_cards(
    named: Sequence[Waiting], groove: Groove, *, deck_id: str, goal_bpm: float
) -> tuple[Card, ...]:
    """Read all cards; those without a readable rhythm are left out, after a complaint.

    Parameters
    ----------
    named
        The cards in order, as `waiting` returns them.
    groove
        What they are laid over.
    deck_id, goal_bpm
        The deck's id and its goal tempo.
    """
    cards: list[Card] = []
    rhythms: dict[str, str] = {}
    for table, slug, earlier in named:
        card = _read_card(
            table, groove, deck_id=deck_id, slug=slug, after=earlier, goal_bpm=goal_bpm
        )
        if card is None:
            continue
        cards.append(card)
        same = rhythms.setdefault(card.card_id, slug)
        if same is not slug:
            what = f"{slug!r} is the same rhythm as {same!r}"
            table.wrong("id", what, "keep one of them, or change a stroke")
    return tuple(cards)


def _read_card(
    table: Table,
    groove: Groove,
    *,
    deck_id: str,
    slug: str,
    after: tuple[str, ...],
    goal_bpm: float,
) -> Card | None:
    table.require("id")
    written, family, note = table.line("title"), table.line("family"), table.prose("note")
    goal = table.number("goal", goal_bpm, low=ASKED.least, high=ASKED.most)
    importance = table.number("importance", 1, low=LOWEST_IMPORTANCE, high=HIGHEST_IMPORTANCE)
    pattern = groove.card(table)
    if pattern is None:
        return None
    if clause := too_few_hands(pattern):
        table.problems.doubt(table.problems.places.value((*table.path, "id")), f"{slug}: {clause}")
    return Card(
        deck_id=deck_id,
        slug=slug,
        title=written or title(pattern),
        pattern=pattern,
        card_id=fingerprint(pattern),
        goal_bpm=goal,
        importance=importance,
        after=after,
        family=family,
        note=note,
    )


def check_order(cards: Sequence[Waiting], left_out: Mapping[str, LeftOut]) -> None:
    """Check that every card named in an `after` is there, and that no card waits for itself."""
    slugs = [card.slug for card in cards]
    known = set(slugs)
    if len(known) < len(slugs):
        return  # whose turn it is cannot be said of cards without names of their own
    told: set[tuple[int, str]] = set()
    for card in cards:
        for name in card.after:
            # A family says once what all of its cards have.
            if name in known or (id(card.table), name) in told:
                continue
            told.add((id(card.table), name))
            if name in left_out:
                fix = f"it was left out: {left_out[name].reason}"
            else:
                fix = did_you_mean(name, slugs, otherwise="name the id of a card of this deck")
            card.table.wrong("after", f"after names no card: {name!r}", fix, item=name)
    graph: dict[str, tuple[str, ...]] = {card.slug: card.after for card in cards}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        circle: list[str] = error.args[1]
        first = next(card.table for card in cards if card.slug in circle)
        shown = [*circle[:_SHOWN], "..."] if len(circle) > _SHOWN + 1 else circle
        what = f"cards wait for each other: {' before '.join(shown)}"
        first.wrong("after", what, "take one of these out of its after")
