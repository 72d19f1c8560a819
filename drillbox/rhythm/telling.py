"""What every title is told with: a pattern's strokes by what they are, and the words for places.

`drillbox.rhythm.titles` puts titles together; hands alone and grooves each have a module.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.rhythm.counting import BARE, counts, line_counts, said_places
from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS
from drillbox.rhythm.repertoire import STICKINGS
from drillbox.rhythm.stroke import DRUMS, TICKS, Hand, Level, Ornament, Stroke, Voice

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drillbox.rhythm.pattern import Pattern

__all__ = ["STREAMS", "Telling", "cell"]

STREAMS = {
    (4, 1): "quarters", (4, 2): "eighths", (4, 3): "triplets", (4, 4): "sixteenths",
    (4, 6): "sixteenth triplets", (4, 8): "thirty-seconds",
    (8, 1): "eighths", (8, 2): "sixteenths", (8, 3): "sixteenth triplets",
    (8, 4): "thirty-seconds",
}  # fmt: skip  # fmt: skip
"""Even strokes, by the meter's unit and strokes a beat."""
_ORDINALS = (
    "", "", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
    "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth",
)  # fmt: skip


class Telling:
    """A pattern, ready to be told.

    Parameters
    ----------
    pattern
        Its fewest bars, on the coarsest grids that hold it.
    terse
        0 with all small words, 1 to 3 with ever fewer, 4 for bare counts.
    """

    def __init__(self, pattern: Pattern, terse: int) -> None:
        self._pattern = pattern
        self._terse = terse
        strokes = pattern.strokes
        self._time = [s for s in strokes if s.voice.is_cymbal]
        self._pedal = [s for s in strokes if s.voice is Voice.PEDAL]
        self._bass = [s for s in strokes if s.voice is Voice.BASS]
        self._drums = [s for s in strokes if s.voice in DRUMS]
        self._ghosts = [s for s in self._drums if s.level is Level.GHOST]
        self._loud = [s for s in self._drums if s.level is not Level.GHOST]

    def _every(self, strokes: Sequence[Stroke]) -> str:
        """Return ``every third sixteenth`` where strokes go against the beat evenly.

        A louder stroke may stand in the place of one of them. Where an eighth is the beat, such
        strokes are counted like any others.
        """
        slots = self._pattern.grids[0]
        if self._pattern.meter.unit != 4:
            return ""
        end = self._pattern.beats * TICKS
        ticks = {s.tick for s in strokes}
        louder = {s.tick for s in self._loud if s.level.loudness > strokes[0].level.loudness}
        for partials in range(2, 2 * slots):
            if partials % slots == 0 or slots % partials == 0:
                continue
            places = set(range(0, end, partials * TICKS // slots))
            if ticks <= places <= ticks | louder and len(ticks) > 2:
                bars = self._pattern.bars
                note = STREAMS[4, slots].removesuffix("s")
                return f"every {_ORDINALS[partials]} {note}" + (
                    f", {bars} bars" if bars > 1 else ""
                )
        return ""

    def _with_embellishments(self, strokes: Sequence[Stroke]) -> str:
        offsets = {s.at % 1 for s in strokes}
        row = EMBELLISHMENTS[strokes[0].ornament]
        if len({s.ornament for s in strokes}) > 1:
            return ", ".join(
                self._with_embellishments([s for s in strokes if s.ornament is o])
                for o in dict.fromkeys(s.ornament for s in strokes)
            )
        others = [
            s for s in self._drums
            if s.at % 1 in offsets and s.ornament is Ornament.NONE and s.level is strokes[0].level
        ]  # fmt: skip
        if others:
            return f"{self._counted(strokes)} {row.said_of_some}"
        names = said_places(self._pattern, strokes, terse=min(self._terse, 1), everywhere=False)
        return f"{names} {row.said_of_some}"

    def _places(self, strokes: Sequence[Stroke], *, fills: bool = True) -> str:
        """Say places; ghosts that fill the grid together with what is louder may be told so."""
        if self._terse > BARE:
            return self._counted(strokes)
        ghosts = strokes and strokes[0].level is Level.GHOST
        loud = self._loud if ghosts and fills else ()
        return said_places(self._pattern, strokes, terse=self._terse, loud=loud)

    def _counted(self, strokes: Sequence[Stroke]) -> str:
        return counts(self._pattern, strokes, terse=self._terse)

    def _recited(self, strokes: Sequence[Stroke]) -> str:
        """Return the counts of a line, ``every &`` where all beats have the same."""
        return line_counts(self._pattern, strokes, terse=self._terse)

    def _everything(self, strokes: Sequence[Stroke]) -> str:
        """Say strokes voice by voice and level by level."""
        return ", ".join(self._kinds(strokes))

    def _kinds(self, strokes: Sequence[Stroke]) -> Iterator[str]:
        kinds = dict.fromkeys((s.voice, s.level, s.ornament) for s in strokes)
        for voice, level, ornament in kinds:
            mine = [
                s for s in strokes if (s.voice, s.level, s.ornament) == (voice, level, ornament)
            ]
            name = str(voice) if level in (Level.PLAIN, Level.ACCENT) else LEVELS[level].plural
            if level is Level.ACCENT and not self._time:
                name = "accents"
            row = EMBELLISHMENTS[ornament]
            embellished = f" {row.said_of_some}" if ornament is not Ornament.NONE else ""
            yield f"{name} {self._counted(mine)}{embellished}"

    def _sticking(self) -> str:
        """Return the name or the letters of prescribed hands that do not simply alternate."""
        hands = [s.hand for s in self._drums if s.hand is not None]
        if not hands or len(hands) < len(self._drums):
            return ""
        if all(a is not b for a, b in pairwise(hands)):
            return "" if hands[0] is Hand.RIGHT else "left hand leads"
        if len(set(hands)) == 1:
            return f"{'right' if hands[0] is Hand.RIGHT else 'left'} hand alone"
        return cell(self._drums)


def cell(strokes: Sequence[Stroke]) -> str:
    """Return the name of the sticking that repeats, or its letters."""
    letters = "".join(str(s.hand) for s in strokes)
    size = next(
        size
        for size in range(1, len(letters) + 1)
        if len(letters) % size == 0 and letters == letters[:size] * (len(letters) // size)
    )
    return STICKINGS.get(letters[:size], letters[:size])
