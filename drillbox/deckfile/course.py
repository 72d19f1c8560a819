"""The course: a route through the starter decks for the student, the player and the teacher.

The days are the forecast's for a new player with that deck alone and fifteen minutes every day,
when half of its cards are at their goals and when nine tenths are; tests/bench/bench_course.py
computes them anew. They are what the model expects, not a promise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

__all__ = ["FIRST_MONTH", "ROUTES", "SERVES", "Serves", "Stage", "Week", "draw_course", "next_deck"]


class Serves(NamedTuple):
    """Whom a deck is for, and how many days half of it and nine tenths take."""

    whom: str
    half: int
    most: int


class Week(NamedTuple):
    """A week of the student's first month: its decks, and what is new in it."""

    decks: tuple[str, ...]
    new: str


class Stage(NamedTuple):
    """A place to begin for a player: what is there already, what comes now, what comes then."""

    able: str
    begin: tuple[str, ...]
    then: tuple[str, ...]


SERVES: Mapping[str, Serves] = {
    "first-week": Serves("somebody who has never played a ghost note", 4, 6),
    "accents-and-taps": Serves("anybody with a pad, above all if the ghosts are too loud", 26, 45),
    "sixteenth-ghosts": Serves("a player with a steady rock groove", 33, 57),
    "ghosts-over-bass": Serves(
        "a player whose ghosts are steady as long as the foot does nothing new", 36, 54
    ),
    "time-hand": Serves("a player whose ghosts hang on eighths on the hat", 26, 41),
    "triplet-ghosts": Serves("a player with a steady shuffle", 38, 66),
    "levels": Serves("everybody: a ghost is quiet only beside something louder", 36, 62),
    "rudiments": Serves(
        "a player whose doubles and flams give out before the placements do", 7, 14
    ),
    "doubles": Serves("a player who has the plain sets and wants them to roll", 18, 26),
    "buzzes": Serves("the same player on another day", 25, 38),
    "flams-and-drags": Serves("a player who wants the ghosts to speak", 13, 22),
    "across-the-kit": Serves(
        "a player who wants to use the sets elsewhere than on the snare", 26, 48
    ),
    "grooves": Serves("a working player, over years", 20, 44),
    "linear": Serves("a player who wants one line rather than layers", 6, 9),
    "swung-sixteenths": Serves(
        "a player who meets grooves that are neither straight nor in triplets", 6, 8
    ),
    "blends": Serves(
        "a player who has the placements singly and loses them when they change", 27, 42
    ),
    "sixteenth-triplet-ghosts": Serves(
        "a player who has both grids in hand and wants all of it", 15, 25
    ),
    "odd-groupings": Serves(
        "a player who wants to play over the bar line and come out on one", 12, 22
    ),
    "thirty-seconds": Serves(
        "a player who has doubles and wants to place the second stroke by itself", 3, 4
    ),
}
"""By deck, in the order of the course."""

FIRST_MONTH = (
    Week(
        ("first-week",),
        "hands alone, loud and quiet; then the groove, by pieces, and ghosts with the hat",
    ),
    Week(
        ("first-week", "accents-and-taps"),
        "ghosts between the hats, the e of 1 and 3, the a of 2 and 4; one accent over taps",
    ),
    Week(
        ("sixteenth-ghosts", "accents-and-taps"),
        "one ghost in each place of the bar, fourteen in all; accents in pairs",
    ),
    Week(
        ("sixteenth-ghosts", "levels"),
        "all that follows the backbeats, then what comes before them; four levels side by side",
    ),
)
"""Fifteen minutes a day, five or six days a week."""

ROUTES = (
    Stage(
        "keep a rock groove at 90, no ghosts yet",
        ("first-week",),
        ("sixteenth-ghosts", "accents-and-taps"),
    ),
    Stage(
        "ghost the e and the a of every beat at 80",
        ("ghosts-over-bass", "time-hand"),
        ("triplet-ghosts", "across-the-kit"),
    ),
    Stage(
        "keep ghosts going over a moving bass at 90",
        ("doubles", "buzzes", "rudiments"),
        ("flams-and-drags", "swung-sixteenths"),
    ),
    Stage(
        "change between sixteenths and triplets without a stumble",
        ("blends", "linear", "grooves"),
        ("sixteenth-triplet-ghosts",),
    ),
    Stage("do all that", ("odd-groupings", "thirty-seconds"), ("decks of your own",)),
)
"""For the player, by what a tempo check shows."""


def next_deck(have: Iterable[str]) -> str | None:
    """Return the id of the deck that comes next in the course.

    It is the first one not there after the earliest that is there, so no player is sent back to
    what was passed over; None where the course is done.
    """
    there, course = set(have), tuple(SERVES)
    first = next((n for n, deck in enumerate(course) if deck in there), 0)
    return next((deck for deck in course[first:] if deck not in there), None)


def draw_course(cards: Mapping[str, int], holding: Mapping[str, tuple[int, int]]) -> str:
    """Draw the course as text of 80 columns; each line is ended by a line feed.

    Parameters
    ----------
    cards
        How many cards each starter deck has.
    holding
        Of decks in the box, how many cards are in hand, of how many.
    """
    return "".join(f"{line}\n" for line in _lines(cards, holding))


def _lines(cards: Mapping[str, int], holding: Mapping[str, tuple[int, int]]) -> Iterator[str]:
    from textwrap import wrap  # noqa: PLC0415 - few decks are drawn

    yield "For the student: the first month, fifteen minutes a day"
    for number, week in enumerate(FIRST_MONTH, start=1):
        yield f"  week {number}  {', '.join(week.decks)}"
        yield from wrap(week.new, 80, initial_indent=" " * 10, subsequent_indent=" " * 10)
    yield ""
    yield "For the player: by what you can do; a tempo check on the first day tells"
    for stage in ROUTES:
        yield f"  {stage.able}"
        yield f"          {', '.join(stage.begin)}; then {', '.join(stage.then)}"
    yield ""
    yield "For the teacher: whom each deck serves, and the days at fifteen minutes a day until"
    yield "half of it is in hand, and nine tenths, as the forecast has it for a new player"
    for name, row in SERVES.items():
        days = f"{row.half:>3}  {row.most:>3} days"
        yield f"  {name:26} {cards.get(name, 0):>3} cards  {days}{_own(holding, name)}"
        yield from wrap(row.whom, 80, initial_indent=" " * 6, subsequent_indent=" " * 6)


def _own(holding: Mapping[str, tuple[int, int]], name: str) -> str:
    if name not in holding:
        return ""
    ready, of = holding[name]
    return f"  yours: {ready} of {of} in hand"
