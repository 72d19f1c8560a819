"""How each embellishment is engraved, one row each.

Sources: tremolo marks and grace notes as MusicXML 4.0 defines them (`tremolo`: the slashes do not
count the note's own flags; `unmeasured` is the buzz roll); the numbers of graces of flam and drag
are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.rhythm import Ornament

__all__ = ["WRITTEN", "Engraved"]


@dataclass(frozen=True, slots=True)
class Engraved:
    """One row.

    Parameters
    ----------
    slashes
        Slashes through the stem.
    buzz
        Whether the stem has a z.
    graces
        Small notes before it.
    fills
        Whether it fills its partial, so that the written length matters.
    """

    slashes: int = 0
    buzz: bool = False
    graces: int = 0
    fills: bool = False


WRITTEN: dict[Ornament, Engraved] = {
    Ornament.NONE: Engraved(),
    Ornament.DOUBLE: Engraved(slashes=1, fills=True),
    Ornament.BUZZ: Engraved(buzz=True, fills=True),
    Ornament.FLAM: Engraved(graces=1),
    Ornament.DRAG: Engraved(graces=2),
}
