"""Commands that show many cards at once: vocabulary, family, path."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

import click

from drillbox.base.wording import did_you_mean
from drillbox.box.views import MAP_LEGEND
from drillbox.cli.output import card_object, json_option, say, say_json
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import DeckError, UnknownCardError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.deckfile import Card, Deck


@click.command("vocabulary")
@click.argument("decks", nargs=-1)
@json_option
@click.pass_obj
def vocabulary_command(box_path: str | None, decks: tuple[str, ...], as_json: bool) -> None:
    """Draw the map of all ghost placements.

    It has the tempo of each card in the box, or in some DECKS of it.

    For example:
      drillbox vocabulary
      drillbox vocabulary sixteenth-triplet-ghosts
    """
    from drillbox.rhythm import MAP_EMBELLISHMENTS, map_cells, map_rows, vocabulary_map

    with open_box(box_path, only_reads=True) as box:
        cards = _in_decks(box, decks)
    if as_json:
        by_id = {card.card_id: card for card in cards}
        known = map_cells((card.pattern, card.cold_bpm, card.card_id) for card in cards)
        say_json(
            [
                {"grid": row.grid, "partials": row.partials, "embellishment": word,
                 **card_object(by_id[known[placed]])}
                for row in map_rows(known)
                for word, placed in zip(MAP_EMBELLISHMENTS, row.cells, strict=True)
                if placed in known
            ]
        )  # fmt: skip
        return
    drawn = vocabulary_map(
        map_cells((card.pattern, card.cold_bpm, card.standing) for card in cards)
    )
    if drawn:
        say(drawn)
        say(MAP_LEGEND)
    else:
        say("No card has ghosts of a grid on every beat yet; 'drillbox decks' lists decks to add.")


@click.command("family")
@click.argument("deck")
@click.argument("families", nargs=-1)
@json_option
@click.pass_obj
def family_command(
    box_path: str | None, deck: str, families: tuple[str, ...], as_json: bool
) -> None:
    """Draw every card of DECK, or of some FAMILIES in it, as one table.

    DECK is a deck of the box, a starter deck or a deck file. What its families left out is said at
    the end.

    For example:
      drillbox family doubles
      drillbox family doubles "one of two doubled"
      drillbox family ./my-deck.toml
    """
    from drillbox.deckfile import draw_cards

    with open_box(box_path, only_reads=True) as box:
        found = _deck(box, deck)
        cold = {card.card_id: card.standing for card in box.cards(at=clock().now())}
    names = list(dict.fromkeys(card.family for card in found.cards))
    wanted = [name.casefold() for name in families]
    unknown = [name for name in wanted if name not in {known.casefold() for known in names}]
    if unknown:
        raise UnknownCardError(
            f"no family {unknown[0]!r} in {found.id}", fix=f"name one of: {', '.join(names)}"
        )
    shown = {
        name: [card for card in found.cards if card.family == name]
        for name in names
        if not wanted or name.casefold() in wanted
    }
    if as_json:
        _say_families(found, shown)
        return
    for name, cards in shown.items():
        say(f"{name or 'no family'}, {len(cards)}")
        say(draw_cards(cards, cold))
    if not wanted and found.left_out:
        say(f"left out, {len(found.left_out)}")
        for left in found.left_out:
            say(f"  {left.title}: {left.reason}")


def _say_families(deck: Deck, shown: Mapping[str, Sequence[Card]]) -> None:
    from drillbox.rhythm import difficulty, spell, strip

    families = [
        {
            "family": name,
            "cards": [
                {
                    "card_id": card.card_id,
                    "slug": card.slug,
                    "title": card.title,
                    "goal_bpm": card.goal_bpm,
                    "after": list(card.after),
                    "difficulty": round(difficulty(card.pattern)),
                    "snare": strip(card.pattern),
                    "pattern": spell(card.pattern),
                }
                for card in cards
            ],
        }
        for name, cards in shown.items()
    ]
    left_out = [{"title": left.title, "reason": left.reason} for left in deck.left_out]
    say_json({"deck": deck.id, "families": families, "left_out": left_out})


@click.command("path")
@click.argument("deck", metavar="[DECK OR CARD]", required=False)
@click.argument("card", required=False)
@json_option
@click.pass_obj
def path_command(box_path: str | None, deck: str | None, card: str | None, as_json: bool) -> None:
    """Say the way through the starter decks, through a deck, or to one card.

    A card is meant by its name in the deck or its title; its deck may be left out.

    For example:
      drillbox path
      drillbox path first-week
      drillbox path doubles one-e-a-with-a-doubled
      drillbox path "e of 2"
    """
    from drillbox.deckfile import draw_path, path_to, steps

    if deck is None:
        _say_course(box_path, as_json=as_json)
        return
    with open_box(box_path, only_reads=True) as box:
        found, slug = _deck_and_card(box, deck, card)
    way = path_to(found, slug) if slug else found.cards
    if as_json:
        named = [[{"slug": one.slug, "title": one.title} for one in step] for step in steps(way)]
        say_json({"deck": found.id, "steps": named})
        return
    say(draw_path(way))
    last = next((one for one in way if one.slug == slug and one.note), None)
    if last is not None:
        say(f"{last.title}: {last.note}")


def _say_course(box_path: str | None, *, as_json: bool) -> None:
    """Say the route through the starter decks, with what the player has of them."""
    from drillbox.deckfile import FIRST_MONTH, draw_course, starter_decks

    with open_box(box_path, only_reads=True) as box:
        mine = {d.deck_id: (d.holding, d.cards) for d in box.decks(at=clock().now())}
    decks = starter_decks()
    if not as_json:
        named = {deck for week in FIRST_MONTH for deck in week.decks}
        say(draw_course([deck.read() for deck in decks if deck.name in named], mine))
        return
    say_json(
        [
            {
                "deck": deck.name,
                "title": deck.title(),
                "cards": deck.cards,
                "in_box": deck.name in mine,
                "holding": mine[deck.name][0] if deck.name in mine else 0,
            }
            for deck in decks
        ]
    )


def _deck_and_card(box: Box, name: str, card: str | None) -> tuple[Deck, str]:
    """Return the deck that is meant, and the name in it of the card that is, or an empty text."""
    if card is not None:
        found = _deck(box, name)
        return found, _slug(found, card)
    try:
        return _deck(box, name), ""
    except DeckError:
        from drillbox.deckfile import starter_decks

        mine = (_deck(box, deck.deck_id) for deck in box.decks(at=clock().now()))
        for deck in chain(mine, (starter.read() for starter in starter_decks())):
            if any(name.casefold() in {c.slug, c.title.casefold()} for c in deck.cards):
                return deck, _slug(deck, name)
        raise


def _slug(deck: Deck, card: str) -> str:
    slugs = [c.slug for c in deck.cards if card.casefold() in {c.slug, c.title.casefold()}]
    if not slugs:
        lists = f"'drillbox family {deck.id}' lists its cards"
        fix = did_you_mean(card, [c.slug for c in deck.cards], otherwise=lists)
        raise UnknownCardError(f"no card {card!r} in {deck.id}", fix=fix)
    return slugs[0]


def _deck(box: Box, name: str) -> Deck:
    """Return a deck of the box, a starter deck, or the deck in a file."""
    from drillbox.cli.deckfiles import deck_named
    from drillbox.deckfile import parse_deck

    for row in box.archive.decks():
        if row.id == name and not row.archived:
            return parse_deck(row.text, name=name)
    return deck_named(name)


def _in_decks(box: Box, decks: Iterable[str]) -> list[CardView]:
    cards = box.cards(at=clock().now())
    known = {deck for card in cards for deck in card.deck_ids}
    for name in decks:
        if name not in known:
            raise UnknownCardError(
                f"no deck {name!r} in the box", fix="'drillbox decks' lists them"
            )
    wanted = set(decks) or known
    return [card for card in cards if wanted.intersection(card.deck_ids)]
