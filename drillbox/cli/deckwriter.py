"""Commands for those who write decks: new, compare, pack."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.base.files import written_whole
from drillbox.base.now import day_name
from drillbox.base.wording import counted
from drillbox.cli.deckfiles import deck_named, decks_named
from drillbox.cli.output import say
from drillbox.cli.path_kinds import FILE
from drillbox.cli.problems import narrate
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.deckfile import Card, Deck


@click.command("new", short_help="Start a deck file with three cards to edit.")
@click.argument("file", type=FILE)
def new_command(file: Path) -> None:
    """Start a deck: write FILE with three cards to be edited. It reads without an error as it is.

    For example:
      drillbox decks new week-3.toml
    """
    from drillbox.deckfile import deck_template

    if file.suffix != ".toml":
        raise UsageError(
            "a deck is a .toml file", where=str(file), fix="name it such as week-3.toml"
        )
    write_new(file, deck_template(file.stem).encode())
    say(f"Written: {file}")


@click.command("compare", short_help="Say what changed from one edition to the next.")
@click.argument("old")
@click.argument("new")
def compare_command(old: str, new: str) -> None:
    """Say what changed from the deck OLD to its edition NEW, a line for each change.

    For example:
      drillbox decks compare handed-out/week-3.toml week-3.toml
    """
    from drillbox.deckfile import edition_changes

    before, after = deck_named(old), deck_named(new)
    if before.id != after.id:
        raise UsageError(
            f"{after.id!r} is another deck than {before.id!r}", fix="compare two editions of one"
        )
    clauses = edition_changes(before, after)
    for clause in clauses or ("nothing changed",):
        say(clause)
    if clauses and after.edition <= before.edition:
        narrate(f"The edition is {after.edition}; raise it before you hand the deck out.")


@click.command("pack", short_help="Pack decks as one file, to be mailed.")
@click.argument("source")
@click.argument("out", type=FILE)
def pack_command(source: str, out: Path) -> None:
    """Pack SOURCE, a deck or a folder of decks, as the one file OUT, to be mailed.

    OUT is a zip archive. Whoever gets it adds it as it is.

    For example:
      drillbox decks pack week-3.toml week-3.zip
      drillbox decks pack my-decks/ autumn.zip
      drillbox decks add autumn.zip
    """
    from drillbox.deckfile import pack

    if out.suffix != ".zip":
        raise UsageError(
            "a packed deck is a .zip file", where=str(out), fix="name it such as a.zip"
        )
    decks = decks_named(source)
    write_new(out, pack(decks))
    for deck in decks:
        say(described(deck))
    say(f"Written: {out}")


def described(deck: Deck) -> str:
    """Return a deck in a line."""
    return f"{deck.title}, edition {deck.edition}: {counted(len(deck.cards), 'card')}"


def found_right(deck: Deck) -> str:
    """Say of a deck that can be read whether all of it is right or something wants a look."""
    if deck.doubts:
        return f"{described(deck)}; look at what is perhaps not meant."
    return f"{described(deck)}, all right."


def remarks(deck: Deck, *, today: int) -> list[str]:
    """Return what the writer of a deck that reads well should know, a line each.

    Parameters
    ----------
    deck
        The deck.
    today
        The practice day, an ordinal.
    """
    lines = [f"perhaps not meant: {doubt}" for doubt in deck.doubts]
    lines += [
        f"an assignment has passed: {day_name(one.by)} {one.by.year}"
        for one in deck.assignments
        if one.passed(today)
    ]
    lines += [f"left out: {one.title} ({one.slug}): {one.reason}" for one in deck.left_out]
    return lines


def say_card(card: Card) -> None:
    """Print a card as it will be drawn."""
    from drillbox.rhythm import draw

    say(f"{card.title} ({card.slug}), goal {card.goal_bpm:.0f}")
    say(draw(card.pattern))


def write_new(path: Path, content: bytes) -> None:
    """Write a file that was not there before."""
    with written_whole(path) as out:
        out.write(content)
