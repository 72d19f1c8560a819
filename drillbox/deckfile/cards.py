"""The cards of a deck file, each by itself and all together."""

from __future__ import annotations

from difflib import get_close_matches
from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING

from drillbox.deckfile.deck import Card
from drillbox.deckfile.grooves import NOTATION_KEYS
from drillbox.rhythm import fingerprint

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.deckfile.grooves import Groove
    from drillbox.deckfile.tables import Table

__all__ = ["CARD_KEYS", "HIGHEST_BPM", "LOWEST_BPM", "read_cards"]

CARD_KEYS = (
    *("id", "title", "goal", "importance", "after", "family", "note", "groove", "without"),
    *NOTATION_KEYS,
)
LOWEST_BPM, HIGHEST_BPM = 20, 400
LOWEST_IMPORTANCE, HIGHEST_IMPORTANCE = 0.01, 100
_SHOWN = 6


def read_cards(
    tables: Sequence[Table], groove: Groove, *, deck_id: str, goal_bpm: float
) -> tuple[Card, ...]:
    """Read all cards; those without a readable rhythm are left out, after a complaint.

    Parameters
    ----------
    tables
        The cards' tables in order.
    groove
        What they are laid over.
    deck_id, goal_bpm
        The deck's id and its goal tempo.
    """
    slugs = [table.slug("id") for table in tables]
    after = [table.slugs("after") for table in tables]
    _check_slugs(tables, slugs)
    _check_order(tables, slugs, after)
    cards: list[Card] = []
    rhythms: dict[str, str] = {}
    for table, slug, earlier in zip(tables, slugs, after, strict=True):
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
    table.require("id", "title")
    title, family, note = table.line("title"), table.line("family"), table.prose("note")
    goal = table.number("goal", goal_bpm, low=LOWEST_BPM, high=HIGHEST_BPM)
    importance = table.number("importance", 1, low=LOWEST_IMPORTANCE, high=HIGHEST_IMPORTANCE)
    pattern = groove.card(table)
    if pattern is None:
        return None
    return Card(
        deck_id=deck_id,
        slug=slug,
        title=title,
        pattern=pattern,
        card_id=fingerprint(pattern),
        goal_bpm=goal,
        importance=importance,
        after=after,
        family=family,
        note=note,
    )


def _check_slugs(tables: Sequence[Table], slugs: Sequence[str]) -> None:
    seen: set[str] = set()
    for table, slug in zip(tables, slugs, strict=True):
        if slug and slug in seen:
            table.wrong("id", f"a second card {slug!r}", "give every card its own id")
        seen.add(slug)


def _check_order(
    tables: Sequence[Table], slugs: Sequence[str], after: Sequence[tuple[str, ...]]
) -> None:
    """Check that every card named in an `after` is there, and that no card waits for itself."""
    known = set(slugs)
    if len(known) < len(slugs):
        return  # whose turn it is cannot be said of cards without names of their own
    for table, names in zip(tables, after, strict=True):
        for name in names:
            if name not in known:
                near = get_close_matches(name, slugs, n=1)
                fix = f"did you mean {near[0]!r}" if near else "name the id of a card of this deck"
                table.wrong("after", f"after names no card: {name!r}", fix, item=name)
    graph: dict[str, tuple[str, ...]] = dict(zip(slugs, after, strict=True))
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        circle: list[str] = error.args[1]
        waiting = next(table for table, slug in zip(tables, slugs, strict=True) if slug in circle)
        shown = [*circle[:_SHOWN], "..."] if len(circle) > _SHOWN + 1 else circle
        what = f"cards wait for each other: {' before '.join(shown)}"
        waiting.wrong("after", what, "take one of these out of its after")
