"""The course: a route through the starter decks for the student, the player and the teacher.

How long a deck takes is told in weeks, for a quick student and a cautious one, at fifteen minutes a
day. tests/bench/bench_course.py plays the plan through with a simulated student and computes them
anew; it says what is assumed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from drillbox.deckfile.deck import Deck

__all__ = ["FIRST_MONTH", "ROUTES", "SERVES", "Serves", "Stage", "Week", "draw_course", "next_deck"]


class Serves(NamedTuple):
    """Whom a deck is for, how many cards it has, and the weeks until half and nine tenths hold.

    Both from a quick student's to a cautious one's.
    """

    whom: str
    cards: int
    half: tuple[int, int]
    most: tuple[int, int]


class Week(NamedTuple):
    """A week of the student's first month: what it is about, and its new cards.

    Each card is named by its deck and its id there.
    """

    about: str
    cards: tuple[tuple[str, str], ...]

    @property
    def decks(self) -> tuple[str, ...]:
        """Return the decks that its cards are of."""
        return tuple(dict.fromkeys(deck for deck, _ in self.cards))


class Stage(NamedTuple):
    """A place to begin for a player: what is there already, what comes now, what comes then."""

    able: str
    begin: tuple[str, ...]
    then: tuple[str, ...]


SERVES: Mapping[str, Serves] = {
    "first-week": Serves("somebody who has never played a ghost note", 16, (3, 6), (4, 10)),
    "accents-and-taps": Serves(
        "anybody with a pad, above all if the ghosts are too loud", 63, (6, 14), (10, 24)
    ),
    "sixteenth-ghosts": Serves("a player with a steady rock groove", 58, (5, 13), (9, 22)),
    "ghosts-over-bass": Serves(
        "a player whose ghosts are steady as long as the foot does nothing new",
        101,
        (8, 17),
        (11, 25),
    ),
    "time-hand": Serves("a player whose ghosts hang on eighths on the hat", 78, (7, 14), (10, 20)),
    "triplet-ghosts": Serves("a player with a steady shuffle", 43, (5, 11), (8, 18)),
    "levels": Serves(
        "everybody: a ghost is quiet only beside something louder", 36, (4, 8), (5, 12)
    ),
    "rudiments": Serves(
        "a player whose doubles and flams give out before the placements do", 38, (4, 10), (7, 16)
    ),
    "doubles": Serves(
        "a player who has the plain sets and wants them to roll", 70, (7, 16), (10, 28)
    ),
    "buzzes": Serves("the same player on another day", 77, (8, 18), (12, 31)),
    "flams-and-drags": Serves("a player who wants the ghosts to speak", 71, (8, 17), (11, 29)),
    "across-the-kit": Serves(
        "a player who wants to use the sets elsewhere than on the snare", 92, (8, 20), (16, 44)
    ),
    "grooves": Serves("a working player, over years", 87, (8, 19), (13, 29)),
    "linear": Serves("a player who wants one line rather than layers", 29, (4, 9), (6, 15)),
    "swung-sixteenths": Serves(
        "a player who meets grooves that are neither straight nor in triplets", 33, (5, 11), (7, 17)
    ),
    "blends": Serves(
        "a player who has the placements singly and loses them when they change",
        70,
        (7, 18),
        (12, 29),
    ),
    "sixteenth-triplet-ghosts": Serves(
        "a player who has both grids in hand and wants all of it", 79, (6, 13), (9, 22)
    ),
    "odd-groupings": Serves(
        "a player who wants to play over the bar line and come out on one", 25, (4, 9), (6, 13)
    ),
    "thirty-seconds": Serves(
        "a player who has doubles and wants to place the second stroke by itself",
        17,
        (3, 5),
        (4, 8),
    ),
}
"""By deck, in the order of the course.

The cards are counted here, too, so that the decks can be listed without reading all of them; a test
compares the table with the files.
"""


def _of(deck: str, *slugs: str) -> tuple[tuple[str, str], ...]:
    return tuple((deck, slug) for slug in slugs)


FIRST_MONTH = (
    Week(
        "the hands alone, loud and quiet; then the groove, put together from its pieces",
        _of(
            "first-week",
            *("quarters", "eighths", "loud-quiet", "down-up", "hat-and-backbeats", "groove"),
        ),
    ),
    Week(
        "the first ghosts, together with the hat, right after the backbeat",
        _of("first-week", "quiet-loud", "and-of-4", "and-of-2", "and-of-2-and-4"),
    ),
    Week(
        "a ghost before the backbeat, the first one between two hats; sixteenths on the pad",
        (
            *_of("first-week", "and-of-1-and-3", "e-of-1", "e-of-1-and-3"),
            *_of("accents-and-taps", "sixteenths"),
        ),
    ),
    Week(
        "ghosts that lead into the next beat; one accent in a stream of taps",
        (
            *_of("first-week", "a-of-2", "a-of-2-and-4"),
            *_of("accents-and-taps", "sixteenth-beat", "sixteenth-and"),
        ),
    ),
)
"""What is begun when, fifteen minutes a day, five or six days a week."""

ROUTES = (
    Stage(
        "keep a rock groove at 90, no ghosts yet",
        ("first-week",),
        ("accents-and-taps", "sixteenth-ghosts", "levels"),
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


def draw_course(decks: Sequence[Deck], holding: Mapping[str, tuple[int, int]]) -> str:
    """Draw the course as text of 80 columns; each line is ended by a line feed.

    Parameters
    ----------
    decks
        The starter decks whose cards are named, or more of them.
    holding
        Of decks in the box, how many cards are in hand, of how many.
    """
    return "".join(f"{line}\n" for line in _lines(decks, holding))


def _lines(decks: Sequence[Deck], holding: Mapping[str, tuple[int, int]]) -> Iterator[str]:
    from textwrap import wrap  # noqa: PLC0415 - few decks are drawn

    cards = {(deck.id, card.slug): card for deck in decks for card in deck.cards}
    yield "For the student: what is new in the first month, fifteen minutes a day"
    for number, week in enumerate(FIRST_MONTH, start=1):
        yield f"  week {number}: {', '.join(week.decks)}"
        yield from wrap(week.about, 80, initial_indent=" " * 4, subsequent_indent=" " * 4)
        for card in (cards[place] for place in week.cards):
            yield f"      {card.title:44}  to hold at {card.goal_bpm:.0f}"
    yield ""
    yield "For the player: by what you can do; a tempo check on the first day tells"
    for stage in ROUTES:
        yield f"  {stage.able}"
        yield f"      {', '.join(stage.begin)}; then {', '.join(stage.then)}"
    yield ""
    yield from wrap(_ASSUMED, 80)
    for name, row in SERVES.items():
        weeks = f"half {_range(row.half)}, nine tenths {_range(row.most)} weeks"
        own = _own(holding, name)
        yield f"  {name:25}{row.cards:>3} cards  {weeks}"
        told = row.whom + (f" ({own})" if own else "")
        yield from wrap(told, 80, initial_indent=" " * 6, subsequent_indent=" " * 6)


_ASSUMED = (
    "For the teacher: whom each deck serves, and in how many weeks half of it is in hand, and nine "
    "tenths, for a week on end; from a quick student, who practises every day, to a cautious one, "
    "who learns half as fast, five days in seven. Fifteen minutes a day with this deck alone, of "
    "which nothing is known before. Computed with a simulated student, not promised."
)


def _range(weeks: tuple[int, int]) -> str:
    first, last = weeks
    return f"{first}" if first == last else f"{first} to {last}"


def _own(holding: Mapping[str, tuple[int, int]], name: str) -> str:
    if name not in holding:
        return ""
    ready, of = holding[name]
    return f"yours: {ready} of {of} in hand"
