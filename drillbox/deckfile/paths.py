"""What comes before what.

The path to a card, and the steps of a deck, as text; and a family as one table.
"""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from drillbox.deckfile.deck import Card, Deck

__all__ = ["draw_cards", "draw_path", "path_to", "steps"]

_NUMBER = 4


def path_to(deck: Deck, slug: str) -> tuple[Card, ...]:
    """Return a card with all that comes before it, in the deck's order."""
    cards = {card.slug: card for card in deck.cards}
    wanted: set[str] = set()
    open_ends = [slug]
    while open_ends:
        name = open_ends.pop()
        if name not in wanted:
            wanted.add(name)
            open_ends += cards[name].after
    return tuple(card for card in deck.cards if card.slug in wanted)


def steps(cards: Iterable[Card]) -> tuple[tuple[Card, ...], ...]:
    """Return cards step by step: each stands one step after the last of those that it builds on.

    Cards that are named in an `after` but are not among `cards` do not count.
    """
    cards = tuple(cards)
    by_slug = {card.slug: card for card in cards}
    level: dict[str, int] = {}
    for card in cards:
        path = [card.slug]
        while path:
            before = [name for name in by_slug[path[-1]].after if name in by_slug]
            missing = next((name for name in before if name not in level), None)
            if missing is None:
                level[path.pop()] = 1 + max((level[name] for name in before), default=-1)
            else:
                path.append(missing)
    found: list[list[Card]] = [[] for _ in range(1 + max(level.values(), default=-1))]
    for card in cards:
        found[level[card.slug]].append(card)
    return tuple(map(tuple, found))


def draw_path(cards: Iterable[Card], *, width: int = 80) -> str:
    """Draw the steps of some cards.

    A number, and the titles that can be begun once all above are met.

    Each line is ended by a line feed.
    """
    lines = []
    for number, step in enumerate(steps(cards), start=1):
        titles = wrap("; ".join(card.title for card in step), width - _NUMBER)
        lines += [
            f"{'' if row else number:>{_NUMBER - 2}}  {text}" for row, text in enumerate(titles)
        ]
    return "".join(f"{line}\n" for line in lines)


def draw_cards(
    cards: Sequence[Card], cold: Mapping[str, str] | None = None, *, width: int = 80
) -> str:
    """Draw cards as one table: the snare, a line for each bar, goal, cold tempo, difficulty, title.

    Parameters
    ----------
    cards
        In order.
    cold
        What to write as cold tempo, by card id; five characters at most.
    width
        Columns of the terminal; titles are cut where they are longer.
    """
    from drillbox.rhythm import difficulty, strip  # noqa: PLC0415 - reading decks needs neither

    bars = [strip(card.pattern).split(" | ") for card in cards]
    room = max(len(bar) for written in [["snare"], *bars] for bar in written)
    lines = [f"{'snare':{room}}  goal  cold  hard  card"]
    for card, (first, *others) in zip(cards, bars, strict=True):
        tempo = (cold or {}).get(card.card_id, "–")
        numbers = f"{card.goal_bpm:>4.0f} {tempo:>5}  {difficulty(card.pattern):>4.0f}"
        lines += [_cut(f"{first:{room}}  {numbers}  {card.title}", width), *others]
    return "".join(f"{line}\n" for line in lines)


def _cut(line: str, width: int) -> str:
    return line if len(line) <= width else f"{line[: width - 1]}…"
