"""The command that watches a deck file while it is written."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import click

from drillbox.base.files import at_home
from drillbox.base.wording import counted
from drillbox.cli.deckwriter import found_right, say_card
from drillbox.cli.output import say
from drillbox.cli.path_kinds import FILE_OR_FOLDER
from drillbox.cli.problems import narrate
from drillbox.cli.wiring import run_preview

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.deckfile import SavedDeck

PAUSE_SECONDS = 0.3
"""Between two looks: soon enough to feel immediate, seldom enough to cost nothing."""
MOST_ERRORS = 10
MOST_DRAWN = 8


@click.command("watch", short_help="Look at a deck file again after each save.")
@click.argument("file", type=FILE_OR_FOLDER)
@click.option("--screen", "on_screen", is_flag=True, help="On a screen: the file, drawings, sound.")
def watch_command(file: Path, on_screen: bool) -> int | None:
    """Watch FILE while you write it.

    After each save it says what is wrong, or draws the cards that changed; Ctrl-C ends it. With
    --screen the file stands on the left and its cards on the right, drawn and to be heard.

    For example:
      drillbox decks watch week-3.toml
      drillbox decks watch week-3.toml --screen
    """
    from drillbox.deckfile import DeckFollower

    if on_screen:
        return run_preview(at_home(file))

    follower = DeckFollower(at_home(file))
    try:
        while True:
            look = follower.look()
            if look is not None:
                say_look(look)
                narrate(f"Watching {file}; save it to look again, Ctrl-C ends.")
            time.sleep(PAUSE_SECONDS)
    except KeyboardInterrupt:
        narrate("")
    return None


def say_look(look: SavedDeck) -> None:
    """Print what is to be seen in a file after a save."""
    say()
    for error in look.errors[:MOST_ERRORS]:
        say(error.sentence())
    if len(look.errors) > MOST_ERRORS:
        say(f"and {len(look.errors) - MOST_ERRORS} more.")
    if look.deck is None:
        return
    say(found_right(look.deck))
    for line in [*look.clauses, *(f"perhaps not meant: {doubt}" for doubt in look.deck.doubts)]:
        say(f"  {line}")
    for card in look.changed[:MOST_DRAWN]:
        say()
        say_card(card)
    if len(look.changed) > MOST_DRAWN:
        more = len(look.changed) - MOST_DRAWN
        say(f"\nand {counted(more, 'more card')}.")
