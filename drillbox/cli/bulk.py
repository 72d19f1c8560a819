"""Commands that change many cards at once: goals, rest, wake."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.base.tempi import ASKED
from drillbox.base.wording import counted
from drillbox.cli.output import say
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import UnknownCardError, UsageError

if TYPE_CHECKING:
    from drillbox.box import Box
    from drillbox.box.views import CardView


@click.command("goals")
@click.argument("words", nargs=-1, required=True)
@click.option("--to", "to_bpm", type=click.IntRange(*ASKED), help="The goal tempo of all.")
@click.option("--by", "by_bpm", type=click.IntRange(-100, 100), help="So many bpm more, or less.")
@click.pass_obj
def goals_command(
    box_path: str | None, words: tuple[str, ...], to_bpm: int | None, by_bpm: int | None
) -> None:
    """Give every card that WORDS find a goal tempo: one for all, or so many bpm more or less.

    Words are those of the search: of the title, the deck, the family or the state.

    For example:
      drillbox goals triplet-ghosts --by -5
      drillbox goals every beat holding --by 5
      drillbox goals buzz --to 80
    """
    if (to_bpm is None) == (by_bpm is None):
        raise UsageError("say which goal", fix="give either --to BPM or --by BPM")
    with open_box(box_path) as box:
        at, cards = clock().now(), _found(box, words)
        for card in cards:
            wanted = to_bpm if to_bpm is not None else card.goal_bpm + (by_bpm or 0)
            box.set_goal(card.card_id, bpm=ASKED.nearest(wanted), at=at)
        say(f"Goals of {counted(len(cards), 'card')} changed.")


@click.command("rest")
@click.argument("words", nargs=-1, required=True)
@click.pass_obj
def rest_command(box_path: str | None, words: tuple[str, ...]) -> None:
    """Set every card aside that WORDS find: it is in no plan until it is woken.

    For example:
      drillbox rest sixteenth-triplet-ghosts waiting
    """
    _set_resting(box_path, words, resting=True)


@click.command("wake")
@click.argument("words", nargs=-1, required=True)
@click.pass_obj
def wake_command(box_path: str | None, words: tuple[str, ...]) -> None:
    """Wake every card that WORDS find.

    For example:
      drillbox wake sixteenth-triplet-ghosts rested
    """
    _set_resting(box_path, words, resting=False)


def _set_resting(box_path: str | None, words: tuple[str, ...], *, resting: bool) -> None:
    with open_box(box_path) as box:
        at, cards = clock().now(), _found(box, words)
        for card in cards:
            box.rest(card.card_id, resting=resting, at=at)
        say(f"{counted(len(cards), 'card')} {'set aside' if resting else 'awake'}.")


def _found(box: Box, words: tuple[str, ...]) -> list[CardView]:
    wanted = [word.casefold() for word in words]
    cards = [card for card in box.cards(at=clock().now()) if card.matches(wanted)]
    if not cards:
        raise UnknownCardError(
            f"no card has all of: {' '.join(words)}", fix="'drillbox cards' lists the cards"
        )
    return cards
