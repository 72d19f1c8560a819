"""What a new edition of a deck changes, in musical words.

Cards are matched by their ids in the deck, which stay from edition to edition. Where all cards
changed in the same way, because the groove or the deck's goal did, it is said once.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from drillbox.base.wording import listed
from drillbox.deckfile.strokewords import stroke_changes

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drillbox.deckfile.deck import Card, Deck

__all__ = ["changed_cards", "edition_changes"]

_COMMON = 3
"""Cards from which on a change of all of them is said once."""
_MOST_NAMES = 5
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def changed_cards(old: Deck, new: Deck) -> tuple[Card, ...]:
    """Return the cards of `new` that `old` has not, or not like this, in the deck's order."""
    before = {card.slug: card for card in old.cards}
    return tuple(card for card in new.cards if before.get(card.slug) != card)


def edition_changes(old: Deck, new: Deck) -> tuple[str, ...]:
    """Return what changed from one edition to another, a clause each; nothing where nothing did.

    The deck itself comes first, then cards added and removed, then the others one by one in the
    deck's order.
    """
    before = {card.slug: card for card in old.cards}
    after = {card.slug: card for card in new.cards}
    renamed = _renamed(before, after)
    added = [slug for slug in after if slug not in before and slug not in renamed.values()]
    removed = [slug for slug in before if slug not in after and slug not in renamed]
    clauses = [*_head(old, new)]
    clauses += _counted([after[slug].title for slug in added], "added")
    clauses += _counted([before[slug].title for slug in removed], "removed")
    clauses += [f"{after[n].title}: id {o!r} is now {n!r}" for o, n in renamed.items()]
    pairs = [(before[slug], card) for slug, card in after.items() if slug in before]
    pairs += [(before[o], after[n]) for o, n in renamed.items()]
    clauses += _card_clauses(pairs)
    if [s for s in before if s in after] != [s for s in after if s in before]:
        clauses.append("the cards stand in another order")
    return tuple(clauses)


def _renamed(before: dict[str, Card], after: dict[str, Card]) -> dict[str, str]:
    """Return the ids that were replaced by another id for the same rhythm."""
    gone = {card.card_id: slug for slug, card in before.items() if slug not in after}
    return {
        gone[card.card_id]: slug
        for slug, card in after.items()
        if slug not in before and card.card_id in gone
    }


def _head(old: Deck, new: Deck) -> Iterable[str]:
    for name in ("title", "author", "licence"):
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield f"{name} {was!r} is now {now!r}"
    if old.about != new.about:
        yield "the deck is described anew"
    if old.assignments != new.assignments:
        yield f"other assignments ({_number(len(new.assignments))} now)"


def _counted(titles: Sequence[str], what: str) -> Iterable[str]:
    if titles:
        names = listed(titles, _MOST_NAMES)
        yield f"{_number(len(titles))} card{'' if len(titles) == 1 else 's'} {what} ({names})"


def _number(number: int) -> str:
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def _card_clauses(pairs: Sequence[tuple[Card, Card]]) -> Iterable[str]:
    phrases = [tuple(_phrases(old, new)) for old, new in pairs]
    counts = Counter(phrase for found in phrases for phrase in found)
    common = [p for p, count in counts.items() if count == len(pairs) >= _COMMON]
    if common:
        yield f"every card that was there: {', '.join(common)}"
    for (_, new), found in zip(pairs, phrases, strict=True):
        own = [phrase for phrase in found if phrase not in common]
        if own:
            yield f"{new.title}: {', '.join(own)}"


def _phrases(old: Card, new: Card) -> Iterable[str]:
    """Return what changed of one card."""
    if old.title != new.title:
        yield f"was called {old.title!r}"
    if old.card_id != new.card_id:
        yield from stroke_changes(old.pattern, new.pattern)
    if old.goal_bpm != new.goal_bpm:
        yield f"goal {old.goal_bpm:g} to {new.goal_bpm:g}"
    if old.importance != new.importance:
        yield f"importance {old.importance:g} to {new.importance:g}"
    if old.after != new.after:
        yield f"now after {', '.join(new.after)}" if new.after else "now after no other card"
    if old.family != new.family:
        yield f"family {new.family!r}" if new.family else "in no family now"
    if old.note != new.note:
        yield "another note" if new.note else "no note now"
