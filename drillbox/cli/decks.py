"""Commands on decks: list, add, remove, check; those for writing decks are in `deckwriter`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.base.files import at_home, is_folder
from drillbox.base.now import Now, day_name
from drillbox.base.wording import counted, listed_titles
from drillbox.cli.deckfiles import decks_named
from drillbox.cli.deckwatch import watch_command
from drillbox.cli.deckwriter import (
    compare_command,
    found_right,
    new_command,
    pack_command,
    remarks,
    say_card,
)
from drillbox.cli.output import json_option, say, say_json, say_table
from drillbox.cli.problems import narrate
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from drillbox.box.goals import GoalChange
    from drillbox.box.views import CardView, DeckView

    Asked = dict[tuple[str, date], list[bool]]

MOST_RAISED = 6
"""Of more raised goals than this the rest are counted."""


@click.group("decks", invoke_without_command=True)
@json_option
@click.pass_context
def decks_command(ctx: click.Context, as_json: bool) -> None:
    """List the decks in the box and the starter decks.

    The commands below add and remove decks, and write, check and pack your own.

    For example:
      drillbox decks
      drillbox decks add sixteenth-ghosts
      drillbox decks add ~/decks/week-3.toml
      drillbox decks check week-3.toml
    """
    if ctx.invoked_subcommand is not None:
        return
    from drillbox.deckfile import SERVES, starter_decks

    with open_box(ctx.obj, only_reads=True) as box:
        at = clock().now()
        mine = box.decks(at=at)
        asked = _asked(box.cards(at=at))
    have = {deck.deck_id for deck in mine}
    starters = [deck for deck in starter_decks() if deck.name not in have]
    if as_json:
        say_json(
            {
                "decks": [
                    {
                        "id": deck.deck_id,
                        "title": deck.title,
                        "edition": deck.edition,
                        "cards": deck.cards,
                        "holding": deck.holding,
                        "asked": [
                            {"by": by.isoformat(), "cards": len(ready), "ready": sum(ready)}
                            for (deck_id, by), ready in asked.items()
                            if deck_id == deck.deck_id
                        ],
                    }
                    for deck in mine
                ],
                "starter_decks": [
                    {"id": deck.name, "title": deck.title(), "cards": deck.cards}
                    for deck in starters
                ],
            }
        )
        return
    _print_mine(mine, asked)
    if starters:
        say("" if not mine else "\n")
        say("starter decks, not in the box ('drillbox decks add NAME'):")
        for deck in starters:
            say(f"  {deck.name}  {deck.title()}, {counted(deck.cards, 'card')}")
            say(f"    for {SERVES[deck.name].whom}")


def _print_mine(mine: Sequence[DeckView], asked: Asked) -> None:
    if not mine:
        return
    rows = [
        (
            deck.deck_id,
            f"{deck.title} (put away)" if deck.archived else deck.title,
            str(deck.edition),
            str(deck.cards),
            str(deck.holding),
        )
        for deck in mine
    ]
    say_table(("deck", "title", "edition", "cards", "holding"), rows)
    for (deck_id, by), ready in asked.items():
        say(
            f"{deck_id} asks for {counted(len(ready), 'card')} by {day_name(by)}: "
            f"{sum(ready)} ready."
        )


@decks_command.command("add", short_help="Add a deck, a new edition, or a teacher's reply.")
@click.argument("deck")
@click.option("--older", is_flag=True, help="Go back to an edition older than the box's.")
@click.pass_obj
def add_command(box_path: str | None, deck: str, older: bool) -> None:
    """Add DECK: a deck file, a packed file, a folder of them, or a starter deck's name.

    DECK may also be a new edition of a deck that you have, or your teacher's reply.

    Of a new edition it says what changed. All that was played stays; cards that the edition no
    longer has are set aside, not deleted. A deck that was put away stays away.

    For example:
      drillbox decks add triplet-ghosts
      drillbox decks add ./my-deck.toml
      drillbox decks add ~/mail/autumn.zip
      drillbox decks add ~/mail/mia.reply
    """
    from drillbox.box.editions import refuse_older
    from drillbox.cli.replying import names_reply, take_in

    if names_reply(deck):
        with open_box(box_path) as box:
            take_in(box, at_home(deck))
        return
    found = decks_named(deck)
    with open_box(box_path) as box:
        if not older:
            refuse_older(box.archive, found)
        for one in found:
            change = box.put_deck(one, at=clock().now(), older=older)
            added = counted(len(change.added), "card")
            say(
                f"{change.title}, edition {change.edition}: {added} added, "
                f"{len(change.changed)} changed, {len(change.unchanged)} unchanged, "
                f"{len(change.removed)} removed."
            )
            for clause in change.clauses:
                say(f"  {clause}")
            if change.raised:
                say(f"  {_raised(change.raised)}")


@decks_command.command("remove", short_help="Take a deck out; its takes stay.")
@click.argument("deck")
@click.pass_obj
def remove_command(box_path: str | None, deck: str) -> None:
    """Take DECK out of the box. Its takes stay, and count again if its rhythms come back.

    For example:
      drillbox decks remove triplet-ghosts
    """
    with open_box(box_path, makes=False) as box:
        box.remove_deck(deck)
        say(f"Removed {deck}; its takes are kept.")


@decks_command.command("archive", short_help="Put a deck away, or take it out again.")
@click.argument("deck")
@click.option("--back", is_flag=True, help="Take it out again.")
@click.pass_obj
def archive_command(box_path: str | None, deck: str, back: bool) -> None:
    """Put DECK away: its cards are on no shelf and in no plan, and nothing of it is lost.

    For example:
      drillbox decks archive first-week
      drillbox decks archive first-week --back
    """
    with open_box(box_path, makes=False) as box:
        box.archive_deck(deck, archived=not back)
        say(
            f"{deck} is back."
            if back
            else f"{deck} is put away; 'decks archive {deck} --back' takes it out."
        )


@decks_command.command("check", short_help="Say whether a deck is right, or all that is wrong.")
@click.argument("deck")
@click.option("--draw", "drawn", is_flag=True, help="Draw every card.")
def check_command(deck: str, drawn: bool) -> int | None:
    """Read DECK and say whether it is right, or everything that is wrong with it.

    Of one that is right it says what its families leave out and why, which ghosts are never heard
    since the groove strikes louder there, which cards need three hands, and which assignments have
    passed.

    For example:
      drillbox decks check my-deck.toml --draw
    """
    path = at_home(deck)
    if path.suffix == ".toml" and not is_folder(path):
        from drillbox.deckfile import check, read_text

        errors = check(read_text(path), name=deck)
        for error in errors:
            narrate(f"drillbox: {error.sentence()}")
        if errors:
            return DeckError.exit_code
    for found in decks_named(deck):
        say(found_right(found))
        for line in remarks(found, today=Now.of(clock().now()).day):
            say(f"  {line}")
        if drawn:
            for card in found.cards:
                say()
                say_card(card)
    return None


def _raised(goals: Sequence[GoalChange]) -> str:
    """Return which goals a deck raised, since the highest goal of all decks stands."""
    raised = [f"{one.title} {one.now_bpm:g} → {one.then_bpm:g}" for one in goals]
    told = listed_titles(raised, MOST_RAISED)
    return f"Goals raised by it: {told}. 'drillbox goals NAME --to BPM' keeps yours."


def _asked(cards: Iterable[CardView]) -> Asked:
    """Return, by deck and day, whether each card asked for by then is ready, cold, now.

    The nearest day first.
    """
    asked: Asked = {}
    for card in cards:
        if card.due is not None:
            for deck_id in card.deck_ids:
                asked.setdefault((deck_id, card.due.by), []).append(card.due_met)
    return dict(sorted(asked.items(), key=lambda item: (item[0][1], item[0][0])))


for command in (new_command, watch_command, compare_command, pack_command):
    decks_command.add_command(command)
