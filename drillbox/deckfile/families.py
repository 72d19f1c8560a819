"""``[[family]]`` tables, read: a few lines that stand for many cards.

There are three kinds. A *placement* family puts every set of partials it is asked for over a base.
A *blend* family lets cards of the deck take turns, two by two. A *displacement* family moves a
voice of a card by partials. What is read here are values; `expanding` makes the cards.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from drillbox.base.tempi import ASKED
from drillbox.deckfile.card_tables import (
    HIGHEST_IMPORTANCE,
    LOWEST_IMPORTANCE,
)
from drillbox.deckfile.grounds import LIST_KEYS, Ground, grounds
from drillbox.rhythm import EMBELLISHMENTS, Level, Ornament, Sticking, Voice, grid_names, syllables
from drillbox.rhythm.entries import NOTATION_KEYS
from drillbox.rhythm.generators import Blend, partial_sets

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from drillbox.deckfile.groove_tables import Groove
    from drillbox.deckfile.tables import Table
    from drillbox.rhythm import Meter, Pattern

__all__ = ["FAMILY_KEYS", "OVERRIDE_KEYS", "Family", "Placements", "read_family"]

FAMILY_KEYS = (
    *(
        "id",
        "title",
        "voice",
        "level",
        "bare",
        "ornament",
        "on",
        "partials",
        "sets",
        "count",
        "per",
    ),
    *("beats", "blend", "of", "with", "displace", "sticking", "goal", "lowest", "importance"),
    *("after", "family", "note", "skip", "groove", "without", "card"),
    *LIST_KEYS,
    *NOTATION_KEYS,
)
OVERRIDE_KEYS = ("id", "title", "goal", "importance", "after", "family", "note")
MAX_FAMILY_ID = 32
_SPANS = ("beat", "half bar", "bar")
_WHICH = ("all", "one", "some")
_MOST_PARTIALS = 16
"""All sets of more partials are more cards than a deck may have."""
_MOST_SETS = 20_001
"""One more than that."""


@dataclass(frozen=True, slots=True)
class Placements:
    """Which figures a placement family has.

    Parameters
    ----------
    slots, cell
        Partials per beat, and beats in a cell.
    sets
        The sets of partials, in order.
    cells
        For each card of a set the cells that have it; one empty choice for all cells.
    alternating
        Whether two sets take turns from beat to beat.
    level, ornament, which
        As in the generators.
    """

    slots: int
    cell: int
    sets: tuple[tuple[int, ...], ...]
    cells: tuple[tuple[int, ...], ...]
    alternating: bool
    level: Level
    ornament: Ornament
    which: str


@dataclass(frozen=True, slots=True)
class CardSettings:
    """What one card of a family has of its own, or what all have.

    None where it follows from the card.

    `title`, `goal_bpm`, `lowest_bpm`, `importance`, `after`, `label` and `note` as in the file;
    `table` for complaints.
    """

    table: Table
    title: str | None
    goal_bpm: float | None
    lowest_bpm: float | None
    importance: float
    after: tuple[str, ...] | None
    label: str
    note: str


@dataclass(frozen=True, slots=True)
class Family:
    """A family as the file describes it.

    Parameters
    ----------
    table
        Where it stands, for complaints.
    slug
        Its id.
    grounds
        What placements are laid over: the base with every choice of lines.
    bare
        Whether each ground is a card too, without a figure.
    placements
        The figures; None where the family blends or displaces.
    blend, of, others
        How and which cards take turns; `others` empty where those of `of` take turns among
        themselves.
    displace
        The cards to move.
    voice, sticking
        What is struck or moved; hands to write out, or None.
    usual, overrides
        What all cards have, and what single ones have instead, by slug.
    after, skip
        Cards before those that build on no other; cards not to make.
    """

    table: Table
    slug: str
    grounds: tuple[Ground, ...]
    bare: bool
    placements: Placements | None
    blend: Blend | None
    of: tuple[str, ...]
    others: tuple[str, ...]
    displace: tuple[str, ...]
    voice: Voice
    sticking: Sticking | None
    usual: CardSettings
    overrides: Mapping[str, CardSettings]
    after: tuple[str, ...]
    skip: frozenset[str]


def read_family(table: Table, groove: Groove) -> Family | None:
    """Read one family; None after a complaint about what it should play."""
    table.require("id")
    slug = table.slug("id")
    if len(slug) > MAX_FAMILY_ID:
        table.wrong("id", f"id has {len(slug)} characters", f"use at most {MAX_FAMILY_ID}")
    blend = table.choice("blend", [*Blend], "")
    base = groove.base(table)
    placements = None
    found: tuple[Ground, ...] = ()
    if blend:
        table.require("of")
    elif "displace" not in table:
        placements = None if base is None else _placements(table, base)
        found = grounds(table, base) if base is not None and placements is not None else ()
        if not found:
            return None
    sticking = table.choice("sticking", [Sticking.ALTERNATE, Sticking.NATURAL], "")
    usual = CardSettings(
        table=table,
        title=None,
        goal_bpm=_bpm(table, "goal"),
        lowest_bpm=_bpm(table, "lowest"),
        importance=table.number("importance", 1, low=LOWEST_IMPORTANCE, high=HIGHEST_IMPORTANCE),
        after=None,
        label=table.line("family") or slug.replace("-", " "),
        note=table.prose("note"),
    )
    return Family(
        table=table,
        slug=slug,
        grounds=found,
        bare=table.flag("bare", default=False),
        placements=placements,
        blend=Blend(blend) if blend else None,
        of=table.slugs("of"),
        others=table.slugs("with"),
        displace=table.slugs("displace"),
        voice=Voice(table.choice("voice", [*Voice], Voice.SNARE)),
        sticking=Sticking(sticking) if sticking else None,
        usual=usual,
        overrides=_overrides(table, usual),
        after=table.slugs("after"),
        skip=frozenset(table.slugs("skip")),
    )


def _overrides(table: Table, usual: CardSettings) -> Mapping[str, CardSettings]:
    """Read the tables of single cards."""
    found: dict[str, CardSettings] = {}
    for own in table.tables("card", OVERRIDE_KEYS):
        own.require("id")
        slug = own.slug("id")
        if slug in found:
            own.wrong("id", f"a second card {slug!r}", "put both into one")
        goal = _bpm(own, "goal")
        found[slug] = CardSettings(
            table=own,
            title=own.line("title") or None,
            goal_bpm=goal or usual.goal_bpm,
            lowest_bpm=usual.lowest_bpm if goal is None else None,
            importance=own.number(
                "importance", usual.importance, low=LOWEST_IMPORTANCE, high=HIGHEST_IMPORTANCE
            ),
            after=own.slugs("after") if "after" in own else None,
            label=own.line("family") or usual.label,
            note=own.prose("note") or usual.note,
        )
    return found


def _bpm(table: Table, key: str) -> float | None:
    return (
        table.number(key, ASKED.least, low=ASKED.least, high=ASKED.most) if key in table else None
    )


def _placements(table: Table, base: Pattern) -> Placements | None:
    """Read what to place; None after a complaint."""
    slots = _slots(table, base)
    if not slots:
        return None
    span = table.choice("per", _SPANS, "beat")
    if span == "half bar" and base.meter.beats % 2:
        table.wrong("per", f"a bar of {base.meter} has no halves", 'write per = "bar"')
        return None
    cell = {"beat": 1, "half bar": base.meter.beats // 2, "bar": base.meter.beats}[span]
    cells, alternating = _cells(table, base.meter, cell)
    sets = tuple(islice(_sets(table, slots, cell), _MOST_SETS))
    if not sets or not cells:
        return None
    voice = Voice(table.choice("voice", [*Voice], Voice.SNARE))
    able = [o for o in Ornament if o is not Ornament.NONE and voice in EMBELLISHMENTS[o].voices]
    ornament = table.choice("ornament", able, "none")
    return Placements(
        slots=slots,
        cell=cell,
        sets=sets,
        cells=cells,
        alternating=alternating,
        level=Level(table.choice("level", [*Level], Level.GHOST)),
        ornament=Ornament(ornament),
        which=table.choice("on", _WHICH, "all"),
    )


def _slots(table: Table, base: Pattern) -> int:
    """Return the grid of what is placed.

    The family's own, else its base's on the first beat; 0 after a complaint.
    """
    if "grid" not in table:
        return base.grids[0]
    slots = grid_names(base.meter).get((table.notation("grid") or "").strip(), 0)
    if not slots:
        table.wrong("grid", "a family has one grid", "write one of them for all beats")
    return slots


def _cells(table: Table, meter: Meter, cell: int) -> tuple[tuple[tuple[int, ...], ...], bool]:
    """Return for each card of a set the cells that have it, and whether sets take turns."""
    count = meter.beats // cell
    text = table.line("beats") or "every"
    if text == "every":
        return ((),), False
    if text == "each":
        return tuple((number,) for number in range(count)), False
    if text == "alternating":
        if count < 2:
            table.wrong("beats", "there is nothing to alternate in one", 'write beats = "every"')
        return ((),), True
    words = text.split()
    if all(word.isascii() and word.isdigit() and 1 <= int(word) <= count for word in words):
        return (tuple(sorted({int(word) - 1 for word in words})),), False
    fix = f"write every, each, alternating, or numbers from 1 to {count}, such as 2 4"
    table.wrong("beats", f"cannot read {text[:24]!r} as beats", fix)
    return (), False


def _sets(table: Table, slots: int, cell: int) -> Iterator[tuple[int, ...]]:
    """Yield the sets of partials that are asked for."""
    names = _named(slots, cell)
    if "sets" in table:
        for text in table.slugs("sets"):
            found = _partials(table, "sets", text, names, item=text)
            if found:
                yield found
        return
    chosen = tuple(range(slots * cell))
    if "partials" in table:
        chosen = _partials(table, "partials", table.line("partials"), names)
    counts = table.wholes("count", high=len(names))
    if len(chosen) > _MOST_PARTIALS and (not counts or max(counts) > 3):
        fix = f"choose at most {_MOST_PARTIALS} partials, or write count = [1, 2]"
        table.wrong("per", f"{len(chosen)} partials have too many sets", fix)
        return
    yield from partial_sets(chosen, counts or None)


def _partials(
    table: Table, key: str, text: str, names: Mapping[str, int], *, item: str | None = None
) -> tuple[int, ...]:
    """Read partials in the notation's syllables; none after a complaint."""
    words = text.split()
    for word in words:
        if word not in names:
            shown = " ".join(names) if len(names) <= 16 else "1, 1e, 2& and so on"
            table.wrong(
                key, f"cannot read {word[:24]!r} as a partial", f"write some of: {shown}", item=item
            )
            return ()
    if not words:
        table.wrong(key, f"no partials in {key}", "write some, such as 'e a'", item=item)
    return tuple(sorted({names[word] for word in words}))


def _named(slots: int, cell: int) -> Mapping[str, int]:
    """Return the partials of a cell by what is written.

    Syllables in a beat, counts in more than one.
    """
    spoken = {name: place * slots for name, place in syllables(slots).items()}
    whole = {name: int(place) for name, place in spoken.items() if place.denominator == 1}
    if cell == 1:
        return {name or "beat": place for name, place in whole.items()}
    return {
        f"{beat + 1}{name}": beat * slots + place
        for beat in range(cell)
        for name, place in whole.items()
    }
