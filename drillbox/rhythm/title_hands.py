"""Titles of what hands play alone, on a pad: streams, accents, levels, stickings."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS
from drillbox.rhythm.repertoire import STICKINGS
from drillbox.rhythm.stroke import TICKS, Level, Ornament, Stroke, Voice
from drillbox.rhythm.telling import STREAMS, Telling

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["HandsAlone"]


class HandsAlone(Telling):
    """Tells a pattern without time and bass."""

    def words(self) -> str:
        """Return the title without meter and feel."""
        stream = self._stream()
        hands = self._sticking()
        levels = {s.level for s in self._drums}
        ornaments = {s.ornament for s in self._drums}
        name = f"{stream}, {hands}" if stream and hands else stream or hands
        embellished = [s for s in self._drums if s.ornament is not Ornament.NONE]
        if name and len(levels) > 1:
            name = self._with_levels(stream, hands)
        elif name and levels != {Level.PLAIN}:
            every = f"all {LEVELS[self._drums[0].level].plural}"
            # A paradiddle is in sixteenths where nothing else is said.
            known = stream == "sixteenths" and hands in STICKINGS.values()
            order = (hands, every) if known else (stream, every, hands)
            name = ", ".join(filter(None, order))
        elif name and not hands and not embellished:
            name = f"{stream}, all plain"
        if not name:
            return ", ".join(self._levels())
        if ornaments == {self._drums[0].ornament} and embellished:
            return f"{name}, {EMBELLISHMENTS[embellished[0].ornament].said_of_all}"
        if embellished:
            return f"{name}; {self._with_embellishments(embellished)}"
        return name

    def _levels(self) -> Iterator[str]:
        """Yield strokes that make no stream, level by level."""
        for voice, level in dict.fromkeys((s.voice, s.level) for s in self._drums):
            mine = [s for s in self._drums if (s.voice, s.level) == (voice, level)]
            where = "" if voice is Voice.SNARE else f" on {voice}"
            name = LEVELS[level].plural if len(mine) > 1 else LEVELS[level].plural[:-1]
            yield f"{name} on {self._places(mine)}{where}{self._ornaments(mine)}"

    def _ornaments(self, strokes: Sequence[Stroke]) -> str:
        embellished = [s for s in strokes if s.ornament is not Ornament.NONE]
        if not embellished:
            return ""
        if len(embellished) == len(strokes) and len({s.ornament for s in embellished}) == 1:
            return f", {EMBELLISHMENTS[embellished[0].ornament].said_of_all}"
        return f", {self._with_embellishments(embellished)}"

    def _with_levels(self, stream: str, hands: str) -> str:
        if stream not in ("", "quarters") and (ladder := self._ladder()):
            return f"{stream}, {ladder}"
        lows = [s for s in self._drums if s.level is not Level.ACCENT]
        accents = [s for s in self._drums if s.level is Level.ACCENT]
        if accents and len({s.level for s in lows}) == 1:
            every = self._every(accents)
            words = f"accents on {every or self._places(accents)}"
            known = stream == "sixteenths" or self._tells_grid(accents)
            low = lows[0].level
            if low is Level.GHOST and hands:
                words = self._two_levels(accents, lows)
            elif low is not Level.TAP:
                words = f"{words}, {'ghosted' if low is Level.GHOST else 'plain'} {stream}".strip()
            elif not known and not hands:
                words = f"{words}, {stream}"
            return f"{hands.removesuffix(' alone')}: {words}" if hands else words
        return f"{stream or hands}, {self._mixed()}"

    def _two_levels(self, accents: Sequence[Stroke], ghosts: Sequence[Stroke]) -> str:
        """Say both levels of one hand where each has few places."""
        if len(ghosts) > len(self._pattern.grids):
            return f"accents on {self._places(accents)}, ghosts between"
        small = "" if self._terse else "on "
        return f"accents {small}{self._places(accents)}, ghosts {small}{self._places(ghosts)}"

    def _ladder(self) -> str:
        """Say levels that change from stretch to stretch, in the longest even stretches."""
        beats = self._pattern.meter.beats
        for name, length in (("bars", beats), ("half bars", Fraction(beats, 2)), ("beats", 1)):
            blocks: dict[int, set[Level]] = {}
            for s in self._drums:
                blocks.setdefault(int(s.at // length), set()).add(s.level)
            if len(blocks) < 2 or any(len(found) > 1 for found in blocks.values()):
                continue
            levels = [next(iter(found)) for _, found in sorted(blocks.items())]
            while len(levels) % 2 == 0 and levels[: len(levels) // 2] == levels[len(levels) // 2 :]:
                levels = levels[: len(levels) // 2]
            order = [level.loudness for level in levels]
            if len(levels) > 2 and order in (sorted(order), sorted(order, reverse=True)):
                return f"{levels[0]} to {levels[-1]} by {name}"
            return f"{' then '.join(levels)} by {name}"
        return ""

    def _mixed(self) -> str:
        parts = []
        for level in Level:
            mine = [s for s in self._drums if s.level is level]
            if mine and level is not Level.PLAIN:
                parts.append(f"{LEVELS[level].plural} on {self._places(mine, fills=False)}")
        return ", ".join(parts)

    def _stream(self) -> str:
        """Return the name of even strokes without a gap; empty where there are gaps."""
        ticks = sorted({s.tick for s in self._drums})
        if not ticks or len(self._drums) != len(ticks):
            return ""
        end = self._pattern.beats * TICKS
        gaps = {b - a for a, b in zip(ticks, [*ticks[1:], ticks[0] + end], strict=True)}
        if len(gaps) != 1 or ticks[0]:
            return ""
        each = Fraction(TICKS, gaps.pop())
        if each.denominator != 1:
            return ""
        return STREAMS.get((self._pattern.meter.unit, int(each)), "")

    def _tells_grid(self, strokes: Sequence[Stroke]) -> bool:
        return any((s.at % 1).denominator > 2 for s in strokes)
