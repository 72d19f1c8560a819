"""One table of embellishments, what can be done with a stroke besides striking it once.

The table of levels below says how each is written and said.

Notation, drawings, names, difficulty, motion, sound, measuring and print read this table and
nothing else, so a new embellishment is a new row here. Every row has every column.

Sources: a double is two even strokes of one hand, a buzz one push that bounces, a flam one grace
note and a drag two (usage of *drag* and *ruff* differs between schools); common practice. The
weights are judgement.
"""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.rhythm.stroke import Level, Ornament, Voice

__all__ = ["EMBELLISHMENTS", "LEVELS", "Embellishment", "LevelSigns"]


@dataclass(frozen=True, slots=True)
class Embellishment:
    """What one embellishment is to every room.

    Parameters
    ----------
    sign
        What stands before the place in notation.
    head
        What a drawing has for the head; empty where the voice says it.
    said_of_all, said_of_some
        What a title says of a set in which all have it, and of one or some in a set.
    said_now
        What is said of one stroke, as in "snare on 2 now doubled".
    said_before
        What is said before its level, as in "doubled ghost on e of 1".
    slug
        The word in a card's short name.
    graces
        Low strokes of the other hand just before; the stroke itself is in time.
    even
        Strokes of the same hand that share the partial evenly, itself among them.
    bounces
        Whether the stick is pressed and bounces until the next partial.
    rings
        Whether it rings until the next stroke of the hat or its pedal closes it.
    voices
        What it can be played on.
    weight
        What one of them adds to the difficulty of a beat, in units of a double.
    """

    sign: str
    head: str
    said_of_all: str
    said_of_some: str
    said_now: str
    said_before: str
    slug: str
    graces: int
    even: int
    bounces: bool
    rings: bool
    voices: tuple[Voice, ...]
    weight: int

    @property
    def hands(self) -> int:
        """How many hands it takes: two where there are graces."""
        return 2 if self.graces else 1


_ALL = tuple(Voice)

EMBELLISHMENTS: dict[Ornament, Embellishment] = {
    Ornament.NONE: Embellishment(
        sign="",
        head="",
        said_of_all="plain",
        said_of_some="plain",
        said_now="single",
        said_before="",
        slug="plain",
        graces=0,
        even=1,
        bounces=False,
        rings=False,
        voices=_ALL,
        weight=0,
    ),
    Ornament.DOUBLE: Embellishment(
        sign="/",
        head="/",
        said_of_all="doubled",
        said_of_some="doubled",
        said_now="doubled",
        said_before="doubled",
        slug="doubled",
        graces=0,
        even=2,
        bounces=False,
        rings=False,
        voices=_ALL,
        weight=1,
    ),
    Ornament.BUZZ: Embellishment(
        sign="z",
        head="z",
        said_of_all="buzzed",
        said_of_some="buzzed",
        said_now="buzzed",
        said_before="buzzed",
        slug="buzzed",
        graces=0,
        even=1,
        bounces=True,
        rings=False,
        voices=_ALL,
        weight=1,
    ),
    Ornament.FLAM: Embellishment(
        sign="f",
        head="f",
        said_of_all="flammed",
        said_of_some="flammed",
        said_now="with a flam",
        said_before="flam",
        slug="flammed",
        graces=1,
        even=1,
        bounces=False,
        rings=False,
        voices=_ALL,
        weight=2,
    ),
    Ornament.DRAG: Embellishment(
        sign="d",
        head="d",
        said_of_all="with drags",
        said_of_some="with a drag",
        said_now="with a drag",
        said_before="drag",
        slug="dragged",
        graces=2,
        even=1,
        bounces=False,
        rings=False,
        voices=_ALL,
        weight=2,
    ),
    Ornament.OPEN: Embellishment(
        sign="o",
        head="O",
        said_of_all="open",
        said_of_some="open",
        said_now="open",
        said_before="open",
        slug="open",
        graces=0,
        even=1,
        bounces=False,
        rings=True,
        voices=(Voice.HAT,),
        weight=1,
    ),
}
"""By ornament, in the order of the grammar."""


@dataclass(frozen=True, slots=True)
class LevelSigns:
    """How a level is written and said.

    Parameters
    ----------
    opening, closing
        What stands round a stroke, in notation and in a drawing.
    strip
        The sign of a stroke in a pattern of one line.
    said_now
        What is said of one stroke, as in "snare on 2 now a ghost".
    said_added
        What is said of a new one, as in "snare on 2 added ghosted"; empty for the usual level.
    plural
        What several are called in a title.
    """

    opening: str
    closing: str
    strip: str
    said_now: str
    said_added: str
    plural: str


LEVELS: dict[Level, LevelSigns] = {
    Level.GHOST: LevelSigns("(", ")", "o", "a ghost", "ghosted", "ghosts"),
    Level.TAP: LevelSigns("_", "", "_", "a tap", "as a tap", "taps"),
    Level.PLAIN: LevelSigns("", "", "O", "plain", "", "strokes"),
    Level.ACCENT: LevelSigns(">", "", ">", "an accent", "accented", "accents"),
}
"""By level, from soft to loud."""
