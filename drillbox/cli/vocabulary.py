"""Commands that show many cards at once: vocabulary, family, path."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.box.views import MAP_LEGEND
from drillbox.cli.output import card_object, json_option, say, say_json
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import UnknownCardError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.deckfile import Deck


@click.command("vocabulary")
@click.argument("decks", nargs=-1)
@json_option
@click.pass_obj
def vocabulary_command(box_path: str | None, decks: tuple[str, ...], as_json: bool) -> None:
    """Draw the map of all ghost placements.

    With the tempo of each in the box, or in some DECKS of it.

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
@click.pass_obj
def family_command(box_path: str | None, deck: str, families: tuple[str, ...]) -> None:
    """Draw every card of DECK, or of some FAMILIES in it, as one table.

    Say what its families left out.

    DECK is a deck of the box, a starter deck or a deck file.

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
    for name in names:
        if not wanted or name.casefold() in wanted:
            cards = [card for card in found.cards if card.family == name]
            say(f"{name or 'no family'}, {len(cards)}")
            say(draw_cards(cards, cold))
    if not wanted and found.left_out:
        say(f"left out, {len(found.left_out)}")
        for left in found.left_out:
            say(f"  {left.title}: {left.reason}")


@click.command("path")
@click.argument("deck", required=False)
@click.argument("card", required=False)
@click.pass_obj
def path_command(box_path: str | None, deck: str | None, card: str | None) -> None:
    """Say the way through the starter decks, through DECK, or to one CARD of it.

    For example:
      drillbox path
      drillbox path first-week
      drillbox path doubles one-e-a-with-a-doubled
    """
    from drillbox.deckfile import draw_path, path_to

    if deck is None:
        _say_course(box_path)
        return
    with open_box(box_path, only_reads=True) as box:
        found = _deck(box, deck)
    if card is None:
        say(draw_path(found.cards))
        return
    slugs = [c.slug for c in found.cards if card.casefold() in {c.slug, c.title.casefold()}]
    if not slugs:
        from difflib import get_close_matches

        near = get_close_matches(card, [c.slug for c in found.cards], n=1)
        hint = f"did you mean {near[0]!r}" if near else f"'drillbox family {deck}' lists its cards"
        raise UnknownCardError(f"no card {card!r} in {found.id}", fix=hint)
    way = path_to(found, slugs[0])
    say(draw_path(way))
    last = next(c for c in way if c.slug == slugs[0])
    if last.note:
        say(f"{last.title}: {last.note}")


def _say_course(box_path: str | None) -> None:
    """Say the route through the starter decks, with what the player has of them."""
    from drillbox.deckfile import draw_course, read_starter_decks

    with open_box(box_path, only_reads=True) as box:
        mine = {d.deck_id: (d.holding, d.cards) for d in box.decks(at=clock().now())}
    say(draw_course({deck.id: len(deck.cards) for deck in read_starter_decks()}, mine))


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
