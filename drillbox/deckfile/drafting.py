"""Drafts of cards.

What a family would like to make, before anybody says whether it can be played or is there already.

What a card builds on is known from how it was made: a set of partials on the sets with one partial
less, an embellished set on the plain one, a blend on its parts, a displacement on what was moved.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, permutations, product
from typing import TYPE_CHECKING

from drillbox.errors import UsageError
from drillbox.rhythm import Ornament, fingerprint, grid_names, with_hands
from drillbox.rhythm.generators import (
    Blend,
    Figure,
    Laid,
    blend,
    covering,
    displaced,
    figure_slug,
    lay,
)
from drillbox.rhythm.rounds import down_the_drums
from drillbox.rhythm.stroke import TICKS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from drillbox.deckfile.deck import Card
    from drillbox.deckfile.families import Family, Placements
    from drillbox.deckfile.grounds import Ground
    from drillbox.rhythm import Pattern, Voice

__all__ = ["Draft", "blends", "displaced_cards", "placements"]


_AWAY = {Fraction(0): 0, Fraction(1, 2): 1, Fraction(2, 3): 1}
"""How far a partial is from what a beginner counts: the beat, the & and the let, all others."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A card that might be.

    Parameters
    ----------
    name
        Its id without the family's.
    key
        How it was made; the same in every family that makes it.
    before
        Keys of what it builds on, as far as they are there.
    laid
        What it plays, or the reason why it plays nothing.
    rank
        Where it stands in its family, before difficulty is asked.
    goal_bpm
        The slower goal of its parts; None where it has no parts.
    """

    name: str
    key: object
    before: tuple[object, ...]
    laid: Laid
    rank: tuple[float, ...] = ()
    goal_bpm: float | None = None


def placements(family: Family, placed: Placements) -> Iterator[Draft]:
    """Yield a placement family's drafts: ground by ground, smaller sets first.

    A card builds on smaller sets over the same ground, else on the ground alone and on its own set
    over the family's plain base.
    """
    plain = family.grounds[0].base
    for number, ground in enumerate(family.grounds):
        base = ground.base
        mark = (fingerprint(base), family.voice, ground.drums, family.sticking)
        tagged = f"-{ground.tag}" if ground.tag else ""
        if family.bare and not ground.drums:
            before = () if ground.plain else (fingerprint(plain),)
            yield Draft(f"bare{tagged}", fingerprint(base), before, Laid(base), (number,))
        for parts in _figures(placed, base.meter.beats // placed.cell):
            laid = _laid(family, ground, parts)
            built_on: list[object] = [(mark, simpler) for simpler in _simpler(parts, placed.which)]
            if tagged:
                built_on.append(fingerprint(base))
                if (same := lay(plain, parts, family.voice).pattern) is not None:
                    built_on.append(fingerprint(same))
            yield Draft(
                name=f"{figure_slug(parts)}{tagged}",
                key=(mark, parts),
                before=tuple(built_on),
                laid=laid,
                rank=(number, *_rank(parts)),
            )


def _rank(parts: tuple[Figure, ...]) -> tuple[float, ...]:
    """Return how a figure stands among others: few partials first, then those nearer the beat."""
    partials = [Fraction(p % part.slots, part.slots) for part in parts for p in part.partials]
    away = sum(_AWAY.get(at, 2) for at in partials)
    return len(partials), len(parts[0].embellished), away


def _laid(family: Family, ground: Ground, parts: tuple[Figure, ...]) -> Laid:
    laid = lay(ground.base, parts, family.voice)
    if laid.pattern is None:
        return laid
    pattern = laid.pattern
    if ground.drums:
        pattern = _across(pattern, family.voice, parts[0], ground.drums)
    return Laid(pattern if family.sticking is None else with_hands(pattern, family.sticking))


def _across(pattern: Pattern, voice: Voice, figure: Figure, drums: tuple[Voice, ...]) -> Pattern:
    """Return the pattern with the figure's partials going down some drums."""
    cell = figure.cell * TICKS
    ticks = [partial * TICKS // figure.slots for partial in figure.partials]
    drum_at = dict(zip(ticks, down_the_drums(drums, len(ticks)), strict=True))
    return replace(
        pattern,
        strokes=tuple(
            replace(stroke, voice=drum_at[stroke.tick % cell])
            if stroke.voice is voice
            and stroke.level is figure.level
            and stroke.tick % cell in drum_at
            else stroke
            for stroke in pattern.strokes
        ),
    )


def _figures(placed: Placements, cells: int) -> Iterator[tuple[Figure, ...]]:
    """Yield the figures of each card, for a bar of so many cells."""
    plain = Figure(placed.slots, (), placed.cell, level=placed.level)
    if placed.alternating:
        odd, even = tuple(range(0, cells, 2)), tuple(range(1, cells, 2))
        for one, other in permutations(placed.sets, 2):
            yield (
                replace(plain, partials=one, cells=odd),
                replace(plain, partials=other, cells=even),
            )
        return
    for chosen, partials in product(placed.cells, placed.sets):
        figure = replace(plain, partials=partials, cells=chosen)
        if placed.ornament is Ornament.NONE:
            yield (figure,)
            continue
        for embellished in covering(partials, placed.which):
            yield (replace(figure, ornament=placed.ornament, embellished=embellished),)


def _simpler(parts: tuple[Figure, ...], which: str) -> Iterator[tuple[Figure, ...]]:
    """Yield what a card's figures build on."""
    if len(parts) == 2:
        for part in parts:
            yield (replace(part, cells=()),)
        return
    (figure,) = parts
    embellished = figure.embellished
    for partial in figure.partials:
        rest = _without(figure.partials, partial)
        left = _without(embellished, partial)
        if rest and bool(left) == bool(embellished):
            yield (replace(figure, partials=rest, embellished=left),)
    if which == "some" and len(embellished) > 1:
        for partial in embellished:
            yield (replace(figure, embellished=_without(embellished, partial)),)
    elif embellished:
        yield (replace(figure, ornament=Ornament.NONE, embellished=()),)


def _without(partials: tuple[int, ...], partial: int) -> tuple[int, ...]:
    return tuple(other for other in partials if other != partial)


def blends(
    way: Blend, first: Sequence[Card], second: Sequence[Card], origins: Mapping[str, str]
) -> Iterator[Draft]:
    """Yield a blend family's drafts.

    Every card with every other, or with every one of the second kind.
    """
    pairs = product(first, second) if second else combinations(first, 2)
    for one, other in pairs:
        if one.slug == other.slug:
            continue
        try:
            laid = Laid(blend(one.pattern, other.pattern, way))
        except UsageError as error:
            laid = Laid(None, f"{error.what}; {error.fix}")
        yield Draft(
            name=f"{_short(one, origins)}-then-{_short(other, origins)}",
            key=("blend", way, one.slug, other.slug),
            before=(one.slug, other.slug, ("blend", Blend.BARS, one.slug, other.slug)),
            laid=laid,
            goal_bpm=min(one.goal_bpm, other.goal_bpm),
        )


def displaced_cards(
    family: Family, cards: Sequence[Card], origins: Mapping[str, str]
) -> Iterator[Draft]:
    """Yield a displacement family's drafts: every card moved by one partial, by two, and so on."""
    for card in cards:
        meter = card.pattern.meter
        name = (family.table.notation("grid") or "").strip()
        slots = grid_names(meter).get(name, card.pattern.grids[0])
        for partials in range(1, card.pattern.beats * slots):
            try:
                laid = Laid(displaced(card.pattern, Fraction(partials, slots), family.voice))
            except UsageError as error:
                laid = Laid(None, f"{error.what}; {error.fix}")
            if laid.pattern == card.pattern:
                break
            yield Draft(
                name=f"{_short(card, origins)}-later-{partials}",
                key=("later", card.slug, slots, partials),
                before=(card.slug,),
                laid=laid,
                goal_bpm=card.goal_bpm,
            )


def _short(card: Card, origins: Mapping[str, str]) -> str:
    """Return a card's id without that of the family it comes from."""
    return card.slug.removeprefix(f"{origins.get(card.slug, '')}-")
