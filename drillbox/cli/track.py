"""The command that writes practice tracks: card after card in one sound file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.base.tempi import ASKED
from drillbox.cli.number_options import Whole
from drillbox.cli.output import say
from drillbox.cli.path_kinds import FILE
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.sound import Mix

WARM_SHARE = 0.9
"""Share of the goal tempo for a card nobody has played.

A track must choose some tempo (assumption).
"""


@click.command("track")
@click.argument("file", type=FILE)
@click.argument("cards", nargs=-1)
@click.option("--today", "of_today", is_flag=True, help="The cards of today's plan, at its tempos.")
@click.option("--deck", "deck_id", help="All cards of a deck in the box.")
@click.option("--bpm", type=Whole(*ASKED), help="One tempo for all cards.")
@click.option("--over", is_flag=True, help="Write over a file that is there.")
@click.pass_obj
def track_command(
    box_path: str | None,
    file: Path,
    cards: tuple[str, ...],
    of_today: bool,
    deck_id: str | None,
    bpm: int | None,
    over: bool,
) -> None:
    """Write CARDS, a deck or today's plan to FILE as one WAV practice track.

    Each card is announced by its number, long tones for tens and short ones for ones; then comes
    its take with count-in, click and kit, then a rest. Without --bpm a card is played at its cold
    tempo, a new one below its goal.

    For example:
      drillbox track today.wav --today
      drillbox track week.wav --deck sixteenth-ghosts
      drillbox track two.wav e a --bpm 70
    """
    if sum((bool(cards), of_today, bool(deck_id))) != 1:
        raise UsageError("say what goes on the track", fix="name cards, or --today, or --deck ID")
    if file.suffix.lower() != ".wav":
        fix = f"name it such as {file.stem}.wav"
        raise UsageError("a track is a WAV file", where=str(file), fix=fix)
    from drillbox.sound import practice_track, write_wav

    with open_box(box_path, only_reads=True) as box:
        chosen = _chosen(box, cards, deck_id=deck_id)
        takes = [_take(card, bpm or tempo) for card, tempo in chosen]
        track = practice_track(takes)
        write_wav(file, track, over=over)
    for number, (card, tempo) in enumerate(chosen, start=1):
        say(f"{number:>3}  {card.title}, {bpm or tempo} bpm")
    say(f"Written: {file}")


def _chosen(box: Box, cards: tuple[str, ...], *, deck_id: str | None) -> list[tuple[CardView, int]]:
    """Return the cards of the track, each with the tempo it would be played at."""
    at = clock().now()
    if not cards and deck_id is None:
        items = box.plan(at=at, minutes=box.minutes_today(at=at)).items
        chosen = [(box.card(item.card_id, at=at), item.bpm) for item in items]
        if not chosen:
            raise UsageError("today's plan is empty", fix="name cards, or a deck")
        return chosen
    if deck_id is not None:
        views = [card for card in box.cards(at=at) if deck_id in card.deck_ids]
        if not views:
            raise UsageError(
                f"no deck {deck_id!r} with cards in the box", fix="'drillbox decks' lists them"
            )
    else:
        views = [box.card(box.find(name), at=at) for name in cards]
    return [(card, round(card.cold_bpm or card.goal_bpm * WARM_SHARE)) for card in views]


def _take(card: CardView, bpm: int) -> Mix:
    from drillbox.plan import take_shape
    from drillbox.sound import Timeline, play_along

    pattern = card.pattern
    shape = take_shape(pattern.seconds(60.0), pattern.bars, bpm)
    timeline = Timeline.steady(
        pattern.meter,
        bpm,
        bars=shape.passes * pattern.bars,
        count_in_bars=shape.count_in_bars,
        pass_bars=pattern.bars,
    )
    return play_along(pattern, timeline)
