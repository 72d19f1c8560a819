"""Commands that change many cards at once: goals, rest, wake."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drillbox.base.tempi import ASKED
from drillbox.base.wording import counted
from drillbox.box.finding import found
from drillbox.cli.number_options import Whole
from drillbox.cli.output import say
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import UnknownCardError, UsageError
from drillbox.memory import State

if TYPE_CHECKING:
    from drillbox.box import Box
    from drillbox.box.goals import GoalChange
    from drillbox.box.views import CardView

SHOWN = 20
"""So many changes are told one by one."""


@click.command("goals")
@click.argument("words", nargs=-1)
@click.option("--to", "to_bpm", type=Whole(*ASKED), help="The goal tempo of all.")
@click.option("--by", "by_bpm", type=Whole(-100, 100), help="So many bpm more, or less.")
@click.option("--decks", "back", is_flag=True, help="The decks' own goals again.")
@click.option("--outgrown", is_flag=True, help="Only cards that stand well over their goals.")
@click.option("--preview", is_flag=True, help="Say what would change, and change nothing.")
@click.option("--keep", is_flag=True, help="Keep the cards at their goals.")
@click.option("--climb", is_flag=True, help="Let them climb as far as the hands go.")
@click.option("--top", "top_bpm", type=Whole(*ASKED), help="Let them climb to this tempo.")
@click.option("--undo", is_flag=True, help="Take the last change of goals back.")
@click.pass_obj
def goals_command(box_path: str | None, /, words: tuple[str, ...], **how: Any) -> None:
    """Give every card that WORDS find a goal tempo: one for all, or so many bpm more or less.

    Words are those of the search: of the title, the deck, the family or the state. Without a goal
    those that they have are shown.

    For example:
      drillbox goals triplet-ghosts
      drillbox goals triplet-ghosts --by -5
      drillbox goals every beat holding --by 5
      drillbox goals --outgrown --preview
      drillbox goals grooves --keep
      drillbox goals --undo
    """
    with open_box(box_path, makes=False) as box:
        at = clock().now()
        if how["undo"]:
            back = box.goals.undo(at=at)
            many = counted(back, "card")
            say(f"Goals of {many} are as they were before." if back else "Nothing to undo.")
            return
        if how["keep"] or how["climb"] or how["top_bpm"] is not None:
            _say_how_far(box, words, how)
            return
        if words and how["by_bpm"] is None and not _asks_for_goals(how):
            _say_goals(_found(box, words))
            return
        changes = _changes(box, words, how)
        for change in changes[:SHOWN]:
            say(f"{change.now_bpm:>4.0f} to {change.then_bpm:.0f}  {change.title}")
        if len(changes) > SHOWN:
            say(f"and {len(changes) - SHOWN} more")
        cards = counted(len(changes), "card")
        if how["preview"]:
            say(f"Goals of {cards} would change.")
            return
        if not changes:
            say("No goal changed.")
            return
        box.goals.make(changes, at=at)
        say(f"Goals of {cards} changed; 'drillbox goals --undo' takes it back.")


def _asks_for_goals(how: dict[str, Any]) -> bool:
    """Return whether options ask for other goals, or for a look at some."""
    return any(how[name] for name in ("to_bpm", "by_bpm", "back", "outgrown", "preview"))


def _say_goals(cards: list[CardView]) -> None:
    """Say which goals cards have, and how to give them others."""
    for card in cards:
        say(f"{card.goal_bpm:>4.0f}  {card.title}")
    say("'--to BPM', '--by BPM' and '--decks' change them.")


def _say_how_far(box: Box, words: tuple[str, ...], how: dict[str, Any]) -> None:
    """Keep cards at their goals, let them climb, or name where their climb ends."""
    if _asks_for_goals(how) or (how["keep"] and (how["climb"] or how["top_bpm"])):
        raise UsageError(
            "say one thing at a time", fix="give --keep, --climb or --top BPM without other options"
        )
    if not words:
        raise UsageError("say which cards", fix="give words of their titles or decks")
    at, found = clock().now(), [card.card_id for card in _found(box, words)]
    cards = counted(len(found), "card")
    box.goals.set_climbing(found, climbs=not how["keep"], at=at)
    if how["keep"]:
        say(f"Kept at the goal: {cards}.")
        return
    for card_id in found:
        box.goals.set_top(card_id, bpm=how["top_bpm"], at=at)
    end = f"to {how['top_bpm']}" if how["top_bpm"] else "as far as the hands go"
    say(f"Climbing {end}: {cards}.")


def _changes(box: Box, words: tuple[str, ...], how: dict[str, Any]) -> tuple[GoalChange, ...]:
    """Return what is asked for, or refuse what says no goal or two."""
    to_bpm, by_bpm, at = how["to_bpm"], how["by_bpm"], clock().now()
    given = sum((to_bpm is not None, by_bpm is not None, bool(how["back"])))
    if given > 1 or (not given and not how["outgrown"]):
        raise UsageError("say which goal", fix="give one of --to BPM, --by BPM and --decks")
    if not words and not how["outgrown"]:
        raise UsageError("say which cards", fix="give words of their titles or decks")
    found = [card.card_id for card in _found(box, words)]
    if how["outgrown"]:
        from drillbox.box.goals import RAISE_BPM

        grown = box.goals.outgrown(box.now(at), by=by_bpm or RAISE_BPM)
        if not (how["back"] or to_bpm):
            return tuple(change for change in grown if change.card_id in found)
        found = [change.card_id for change in grown if change.card_id in found]
    if how["back"]:
        return box.goals.changes_back(found)
    return box.goals.changes(found, to=to_bpm, by=by_bpm or 0.0)


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
    with open_box(box_path, makes=False) as box:
        at, cards = clock().now(), _found(box, words)
        others = [card for card in cards if (card.state is State.RESTED) != resting]
        for card in others:
            box.rest(card.card_id, resting=resting, at=at)
        done, before = "set aside" if resting else "awake", len(cards) - len(others)
        if not others:
            say(f"Nothing to do: {counted(before, 'card')} {done} already.")
            return
        already = f"; {before} {'was' if before == 1 else 'were'} so already" if before else ""
        say(f"{counted(len(others), 'card')} {done}{already}.")


def _found(box: Box, words: tuple[str, ...]) -> list[CardView]:
    at = clock().now()
    cards = found(box.cards(at=at), words, today=box.now(at).day)
    if not cards:
        raise UnknownCardError(
            f"no card has all of: {' '.join(words)}", fix="'drillbox cards' lists the cards"
        )
    return cards
