"""One table of embellishments: what can be done with a stroke besides striking it once.

Notation, drawings, names, difficulty, motion, sound, measuring and print read this table and
nothing else, so a new embellishment is a new row here. Every row has every column.

Sources: a double is two even strokes of one hand, a buzz one push that bounces, a flam one grace
note and a drag two (usage of *drag* and *ruff* differs between schools); common practice. The
weights are judgement.
"""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.rhythm.stroke import Ornament

__all__ = ["EMBELLISHMENTS", "Embellishment"]


@dataclass(frozen=True, slots=True)
class Embellishment:
    """One row.

    Parameters
    ----------
    sign
        What stands before the place in notation, and for the head in a drawing.
    said_of_all, said_of_some
        What a title says of a set in which all have it, and of one or some in a set.
    said_now
        What is said of one stroke, as in "snare on 2 now doubled".
    slug
        The word in a card's short name.
    graces
        Low strokes of the other hand just before; the stroke itself is in time.
    even
        Strokes of the same hand that share the partial evenly, itself among them.
    bounces
        Whether the stick is pressed and bounces until the next partial.
    weight
        What one of them adds to the difficulty of a beat, in units of a double.
    """

    sign: str
    said_of_all: str
    said_of_some: str
    said_now: str
    slug: str
    graces: int
    even: int
    bounces: bool
    weight: int

    @property
    def hands(self) -> int:
        """How many hands it takes: two where there are graces."""
        return 2 if self.graces else 1


EMBELLISHMENTS: dict[Ornament, Embellishment] = {
    Ornament.NONE: Embellishment(
        sign="",
        said_of_all="plain",
        said_of_some="plain",
        said_now="single",
        slug="plain",
        graces=0,
        even=1,
        bounces=False,
        weight=0,
    ),
    Ornament.DOUBLE: Embellishment(
        sign="/",
        said_of_all="doubled",
        said_of_some="doubled",
        said_now="doubled",
        slug="doubled",
        graces=0,
        even=2,
        bounces=False,
        weight=1,
    ),
    Ornament.BUZZ: Embellishment(
        sign="z",
        said_of_all="buzzed",
        said_of_some="buzzed",
        said_now="buzzed",
        slug="buzzed",
        graces=0,
        even=1,
        bounces=True,
        weight=1,
    ),
    Ornament.FLAM: Embellishment(
        sign="f",
        said_of_all="flammed",
        said_of_some="flammed",
        said_now="with a flam",
        slug="flammed",
        graces=1,
        even=1,
        bounces=False,
        weight=2,
    ),
    Ornament.DRAG: Embellishment(
        sign="d",
        said_of_all="with drags",
        said_of_some="with a drag",
        said_now="with a drag",
        slug="dragged",
        graces=2,
        even=1,
        bounces=False,
        weight=2,
    ),
}
"""By ornament, in the order of the grammar."""
