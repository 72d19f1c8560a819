"""Lists for screen readers: one fact a line, no columns, no drawing; rhythms in words.

``cards``, ``card`` and ``today`` say it so with ``--plain``.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import click

from drillbox.base.wording import counted
from drillbox.cli.output import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from fractions import Fraction

    from drillbox.box import Box
    from drillbox.box.take_views import TakeView
    from drillbox.box.views import CardView
    from drillbox.plan import Item
    from drillbox.rhythm import Pattern, Stroke

plain_option = click.option(
    "--plain", is_flag=True, help="One fact a line, rhythms in words: for screen readers."
)

_SYLLABLES = {"&": "and", "&t": "and t", "&l": "and l"}


def say_plan(box: Box, items: Sequence[Item]) -> None:
    """Say today's plan, card by card."""
    for number, item in enumerate(items, start=1):
        minutes, seconds = divmod(round(item.seconds), 60)
        say(f"{number} of {len(items)}: {box.title(item.card_id)}")
        say(f"tempo: {item.bpm} bpm")
        say(f"takes: {item.takes}")
        whole = f"{counted(minutes, 'minute')} " if minutes else ""
        say(f"time: {whole}{counted(seconds, 'second')}")
        say(f"why: {item.why}")


def say_cards(cards: Sequence[CardView]) -> None:
    """Say a list of cards."""
    for number, card in enumerate(cards, start=1):
        say(f"{number} of {len(cards)}: {card.title}")
        say(f"name: {card.places[0]}")
        _say_state(card)


def say_card(card: CardView, why: str, takes: Sequence[TakeView]) -> None:
    """Say all of one card."""
    say(f"card: {card.title}")
    say(f"id: {card.card_id}")
    for place in card.places:
        say(f"name: {place}")
    if card.note:
        say(f"note: {card.note}")
    for line in in_words(card.pattern):
        say(line)
    _say_state(card)
    if card.cold_bpm is not None:
        say(f"expected from: {card.low_bpm:.0f} bpm")
        say(f"expected to: {card.high_bpm:.0f} bpm")
    say(f"why: {why}")
    for number, take in enumerate(takes, start=1):
        warmth = "cold" if take.cold else "warm"
        say(
            f"take {number} of {len(takes)}: {take.at:%Y-%m-%d %H:%M}, {take.bpm:.0f} bpm, "
            f"{take.grade.label}, {warmth}, id {take.short_id}"
        )


def _say_state(card: CardView) -> None:
    say(f"state: {card.state.value}")
    if card.cold_bpm is not None:
        say(f"cold tempo now: {card.cold_bpm:.0f} bpm")
    say(f"goal: {card.goal_bpm:.0f} bpm")
    say(f"takes: {card.takes}")


def in_words(pattern: Pattern) -> Iterator[str]:
    """Give a rhythm in words.

    A line for the meter, then one for each bar and voice, in order of time.

    A run of like strokes names its kind once: ``bar 1, snare: ghost on e of 1, e of 3; accent on
    2``.
    """
    yield f"meter: {pattern.meter}"
    if pattern.swing is not None:
        yield f"swing: {pattern.swing.ratio}, in pairs of {pattern.swing.pair} of a beat"
    beats = pattern.meter.beats
    for bar in range(pattern.bars):
        strokes = [s for s in pattern.strokes if bar * beats <= s.at < (bar + 1) * beats]
        for voice in dict.fromkeys(stroke.voice for stroke in strokes):
            mine = (stroke for stroke in strokes if stroke.voice is voice)
            yield f"bar {bar + 1}, {voice}: {'; '.join(_runs(mine, pattern))}"


def _runs(strokes: Iterable[Stroke], pattern: Pattern) -> Iterator[str]:
    for kind, run in groupby(strokes, key=_kind):
        yield f"{kind} on {', '.join(_place(stroke.at, pattern) for stroke in run)}"


def _kind(stroke: Stroke) -> str:
    from drillbox.rhythm import EMBELLISHMENTS

    hand = {"R": " right", "L": " left"}.get(str(stroke.hand), "")
    level = "" if stroke.level == "plain" and stroke.ornament != "none" else str(stroke.level)
    return f"{EMBELLISHMENTS[stroke.ornament].said_before} {level}".strip() + hand


def _place(at: Fraction, pattern: Pattern) -> str:
    from drillbox.rhythm import syllables

    beat, offset = int(at), at % 1
    number = beat % pattern.meter.beats + 1
    names = {place: name for name, place in syllables(pattern.grids[beat]).items()}
    syllable = names[offset].rstrip(".")
    spoken = f"{_SYLLABLES.get(syllable, syllable)} of {number}" if syllable else str(number)
    return f"just after {spoken}" if names[offset].endswith(".") else spoken
