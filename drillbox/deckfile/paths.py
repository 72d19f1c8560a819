"""What comes before what.

The path to a card, and the steps of a deck, as text; and a family as one table.
"""

from __future__ import annotations

from itertools import zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

from drillbox.base.wording import BETWEEN_TITLES

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from drillbox.deckfile.deck import Card, Deck
    from drillbox.rhythm import Voice

__all__ = ["draw_cards", "draw_path", "path_to", "steps"]

MOST_IN_STEP = 8
"""Cards of a step (judgement): what can be looked over at once."""
_NUMBER = 4
_BAR = " | "
_LEAST = 12
"""Columns that a title has in any case."""


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
    """Return cards step by step: each stands after all those that it builds on.

    A card stands one step after the last of those. A step that would have more than `MOST_IN_STEP`
    cards is several, as even as can be, in the order of the cards. Cards that are named in an
    `after` but are not among `cards` do not count.
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
    return tuple(part for step in found for part in _parts(step))


def _parts(step: Sequence[Card]) -> Iterator[tuple[Card, ...]]:
    """Yield a step in the fewest parts that are not too long, as even as can be."""
    parts = -(-len(step) // MOST_IN_STEP)
    for number in range(parts):
        yield tuple(step[len(step) * number // parts : len(step) * (number + 1) // parts])


def draw_path(cards: Iterable[Card], *, width: int = 80) -> str:
    """Draw the steps of some cards.

    A number, and the titles that can be begun once all above are met.

    Each line is ended by a line feed.
    """
    lines = []
    for number, step in enumerate(steps(cards), start=1):
        titles = wrap(BETWEEN_TITLES.join(card.title for card in step), width - _NUMBER)
        lines += [
            f"{'' if row else number:>{_NUMBER - 2}}  {text}" for row, text in enumerate(titles)
        ]
    return "".join(f"{line}\n" for line in lines)


def draw_cards(
    cards: Sequence[Card], cold: Mapping[str, str] | None = None, *, width: int = 80
) -> str:
    """Draw cards as one table: every voice, a line for each bar, and what is known of each card.

    What all cards have alike in a voice stands once, on top; a card has lines for the others.

    Parameters
    ----------
    cards
        In order.
    cold
        What to write as cold tempo, by card id; five characters at most.
    width
        Columns of the terminal; longer titles go on in the next line.
    """
    from drillbox.rhythm import Voice, difficulty, strip  # noqa: PLC0415 - decks need neither

    voices = [v for v in Voice if any(s.voice is v for c in cards for s in c.pattern.strokes)]
    written = [{voice: strip(card.pattern, voice) for voice in voices} for card in cards]
    shared = [v for v in voices if len(cards) > 1 and len({row[v] for row in written}) == 1]
    own = [[v for v in voices if v not in shared and _played(v, card)] for card in cards]
    parts = [text for row in written for text in row.values()]
    room = max(len(bar) for text in parts for bar in text.split(_BAR))
    margin = max(map(len, voices))
    lines = [f"{'':{margin}}  {'':{room}}  goal  cold  hard  card"]
    for voice in shared:
        lines += _in_bars(voice, written[0][voice], margin)
    if shared:
        lines.append("")
    apart = any(len(mine) > 1 for mine in own)
    for card, row, mine in zip(cards, written, own, strict=True):
        drawn = [line for voice in mine for line in _in_bars(voice, row[voice], margin)]
        tempo = (cold or {}).get(card.card_id, "–")
        numbers = f"{card.goal_bpm:>4.0f} {tempo:>5}  {difficulty(card.pattern):>4.0f}  "
        left = margin + 2 + room + 2
        titles = wrap(card.title, max(width - left - len(numbers), _LEAST))
        for number, (line, told) in enumerate(zip_longest(drawn, titles, fillvalue="")):
            known = numbers if number == 0 else " " * len(numbers)
            lines.append(f"{line:{left}}{known}{told}".rstrip())
        if apart:
            lines.append("")
    return "".join(f"{line}\n" for line in lines)


def _played(voice: Voice, card: Card) -> bool:
    return any(stroke.voice is voice for stroke in card.pattern.strokes)


def _in_bars(voice: Voice, text: str, margin: int) -> list[str]:
    """Return a voice's lines, one for each bar; its name before the first."""
    names = [voice, *[""] * text.count(_BAR)]
    return [f"{name:{margin}}  {bar}" for name, bar in zip(names, text.split(_BAR), strict=True)]
