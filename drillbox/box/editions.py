"""What a deck, or its new edition, does to a box: nothing that was learned is taken away.

A card whose strokes changed inherits from the rhythm it was (`drillbox.box.lineage`), wishes
included. A card that the edition has no more stays on the shelf, set to rest; it wakes when a later
edition has it again. What the player wants of a card is kept by its rhythm, so it outlives every
edition.

The deck's own rows are written last: if the disk refuses half-way, adding the edition again does
all of it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.box.lineage import KEY, links_in
from drillbox.box.views import DeckChange
from drillbox.errors import DeckError
from drillbox.store import CardRow, DeckRow, Wish

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from datetime import datetime

    from drillbox.deckfile import Deck
    from drillbox.store import Archive


def refuse_older(archive: Archive, decks: Iterable[Deck]) -> None:
    """Refuse decks of which one is an older edition than stands in the box.

    Raises
    ------
    DeckError
        Naming the first of them; what it took away would come back, and what it lacks would rest.
    """
    standing = {row.id: row.edition for row in archive.decks()}
    for deck in decks:
        there = standing.get(deck.id, 0)
        if deck.edition < there:
            raise DeckError(
                f"edition {deck.edition} is older than edition {there}, which is in the box",
                where=deck.id,
                fix="to go back to it on purpose, add it with --older",
            )


def put_edition(archive: Archive, deck: Deck, at: datetime, *, older: bool = False) -> DeckChange:
    """Put a deck, or its new edition, into a box; a deck that was there keeps its place.

    Parameters
    ----------
    archive
        The box's file.
    deck
        The deck that was read.
    at
        Now.
    older
        Whether an older edition may take the place of a newer one.

    Raises
    ------
    DeckError
        It is an older edition, and that was not asked for.
    """
    if not older:
        refuse_older(archive, [deck])
    standing = {row.id: row for row in archive.decks()}.get(deck.id)
    row, cards = deck_rows(deck, at=standing.added_at if standing else at)
    row = replace(row, archived=bool(standing and standing.archived))
    there = archive.cards()
    before = {card.slug: card for card in there if card.deck_id == deck.id}
    elsewhere = {card.card_id for card in there if card.deck_id != deck.id}
    old = _read_again(standing) if standing else None
    listed = {card.slug for card in old.cards} if old else set(before)
    now, slugs = {card.card_id for card in cards}, {card.slug for card in cards}
    gone = [
        card
        for slug, card in before.items()
        if slug not in slugs and card.card_id not in now | elsewhere
    ]
    lately = {before[slug].card_id for slug in listed if slug in before}
    if standing:
        come = [card for card in cards if card.card_id not in lately | elsewhere]
        _set_resting(archive, come, at, resting=False)
    _let_inherit(archive, before, cards, at, listed=listed)
    _set_resting(archive, (card for card in gone if card.slug in listed), at, resting=True)
    kept = [replace(card, position=len(cards) + n) for n, card in enumerate(gone)]
    archive.put_deck(row, [*cards, *kept])
    return _change(deck, old, [card for slug, card in before.items() if slug in listed], cards)


def deck_rows(deck: Deck, *, at: datetime) -> tuple[DeckRow, list[CardRow]]:
    """Return a deck as the store keeps it."""
    from drillbox.rhythm import spell  # noqa: PLC0415 - a plan needs no notation

    ids = {card.slug: card.card_id for card in deck.cards}
    cards = [
        CardRow(
            deck_id=deck.id,
            slug=card.slug,
            card_id=card.card_id,
            title=card.title,
            pattern=spell(card.pattern),
            seconds60=card.pattern.seconds(60.0),
            bars=card.pattern.bars,
            goal_bpm=card.goal_bpm,
            importance=card.importance,
            after=tuple(ids[slug] for slug in card.after),
            family=card.family,
            position=position,
            note=card.note,
        )
        for position, card in enumerate(deck.cards)
    ]
    row = DeckRow(
        id=deck.id,
        title=deck.title,
        edition=deck.edition,
        author=deck.author,
        licence=deck.licence,
        about=deck.about,
        text=deck.text,
        added_at=at,
    )
    return row, cards


def _read_again(row: DeckRow) -> Deck | None:
    """Return the deck that stands in the box, or None where its text is not read any more."""
    from drillbox.deckfile import parse_deck  # noqa: PLC0415 - a plan needs no deck files

    try:
        return parse_deck(row.text, name=row.id)
    except DeckError:
        return None


def _let_inherit(
    archive: Archive,
    before: Mapping[str, CardRow],
    cards: Iterable[CardRow],
    at: datetime,
    *,
    listed: Collection[str],
) -> None:
    """Let each changed rhythm go on from the one it was, with what the player wants of it.

    A card that comes back with another rhythm does not go on resting: that was its removal's doing.
    """
    now = {card.card_id for card in cards}
    wishes, links = archive.wishes(), links_in(archive.settings())
    for card in cards:
        was = before.get(card.slug, card).card_id
        if was in now:
            continue
        # A rhythm that goes on from another one and was played does not begin anew.
        if card.card_id not in links or not archive.takes(card_id=card.card_id, newest=1):
            archive.put_setting(f"{KEY}{card.card_id}", was, at)
        if was in wishes:
            old, own = wishes[was], wishes.get(card.card_id)
            archive.put_wish(
                replace(
                    own or old,
                    card_id=card.card_id,
                    goal_bpm=(own and own.goal_bpm) or old.goal_bpm,
                    importance=(own and own.importance) or old.importance,
                    resting=own.resting if own else old.resting and card.slug in listed,
                    at=at,
                )
            )


def _set_resting(
    archive: Archive, cards: Iterable[CardRow], at: datetime, *, resting: bool
) -> None:
    wishes = archive.wishes()
    for card in cards:
        old = wishes.get(card.card_id) or Wish(card.card_id, None, None, resting=False, at=at)
        if old.resting is not resting:
            archive.put_wish(replace(old, resting=resting, at=at))


def _change(
    deck: Deck, old: Deck | None, before: Iterable[CardRow], after: Iterable[CardRow]
) -> DeckChange:
    from drillbox.deckfile import edition_changes  # noqa: PLC0415 - a plan needs no deck files

    before, after = tuple(before), tuple(after)
    was, new = _by_slug(before), _by_slug(after)
    # A rhythm under another name is the same card: changed, not one gone and one come.
    names = {row.card_id: row.slug for row in before if row.slug not in new}
    renamed = {
        row.slug: names[row.card_id]
        for row in after
        if row.slug not in was and row.card_id in names
    }
    kept = [slug for slug in new if slug in was]
    return DeckChange(
        deck_id=deck.id,
        title=deck.title,
        edition=deck.edition,
        added=tuple(slug for slug in new if slug not in was and slug not in renamed),
        changed=tuple(s for s in new if s in renamed or (s in was and new[s] != was[s])),
        unchanged=tuple(slug for slug in kept if new[slug] == was[slug]),
        removed=tuple(s for s in was if s not in new and s not in renamed.values()),
        clauses=edition_changes(old, deck) if old else (),
    )


def _by_slug(rows: Iterable[CardRow]) -> dict[str, tuple[CardRow, tuple[str, ...]]]:
    """Return each card by its name, without its place; what it comes after is told by names."""
    rows = tuple(rows)
    names = {row.card_id: row.slug for row in rows}
    return {
        row.slug: (
            replace(row, position=0, after=()),
            tuple(names.get(card_id, card_id) for card_id in row.after),
        )
        for row in rows
    }
