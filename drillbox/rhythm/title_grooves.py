"""Titles of grooves: what is other than usual, and where the ghosts are."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm.counting import beat_words, listed
from drillbox.rhythm.embellishments import EMBELLISHMENTS
from drillbox.rhythm.rounds import down_the_drums
from drillbox.rhythm.stroke import HAT_LINE, TICKS, Hand, Level, Ornament, Stroke, Voice
from drillbox.rhythm.telling import STREAMS, Telling, cell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.pattern import Pattern

__all__ = ["Groove"]

_ROUNDS = {
    "kit": (Voice.SNARE, Voice.TOM, Voice.FLOOR),
    "tom": (Voice.TOM, Voice.FLOOR),
}
"""Fills that go down the drums."""
_BACKBEATS = {
    "4/4": (1, 3), "3/4": (2,), "6/8": (3,), "12/8": (3, 9), "5/4": (1, 4), "7/8": (2, 6),
}  # fmt: skip  # fmt: skip
"""Beats from 0 on which the backbeats of a meter usually are (common practice)."""
_BASSES = {
    "4/4": (0, 2), "3/4": (0,), "6/8": (0,), "12/8": (0, 6), "5/4": (0, 3), "7/8": (0, 4),
}  # fmt: skip  # fmt: skip


class Groove(Telling):
    """Tells a pattern that has time or a bass."""

    def words(self) -> str:
        """Return the title without meter and feel."""
        return self._linear() if self._is_linear() else self._groove()

    def _groove(self) -> str:
        if fill := self._fill():
            ghosts = self._ghost_words()
            head, frame = self._fill_frame()
            return "; ".join(filter(None, (head + fill, ghosts, frame)))
        if split := self._split_hands():
            return split
        head, time, bass = self._frame()
        ghosts = self._ghost_words()
        lead = f"{head}: {ghosts}" if head and ghosts else head or ghosts
        if not lead:
            usual = str(self._pattern.meter) == "4/4" and not (time or bass)
            lead = "rock groove" if usual else "groove"
        return "; ".join(filter(None, (lead, time, bass)))

    def _split_hands(self) -> str:
        """Say a sticking that is shared out: the right hand on a cymbal, the left on the snare."""
        hands = [s for s in self._pattern.strokes if not s.voice.is_foot]
        right = {s.voice for s in hands if s.hand is Hand.RIGHT}
        left = {s.voice for s in hands if s.hand is Hand.LEFT}
        ticks = [s.tick for s in hands]
        even = ticks == list(range(0, self._pattern.beats * TICKS, TICKS // 4))
        if any(s.hand is None for s in hands) or not even or left != {Voice.SNARE}:
            return ""
        if len(right) != 1 or not next(iter(right)).is_cymbal:
            return ""
        return f"{cell(hands)} on {next(iter(right))} and snare"

    def _frame(self) -> tuple[str, str, str]:
        """Return what is other than usual: the groove's head, its time, its bass."""
        shuffled = self._is_shuffle()
        beats = self._loud_words()
        head = "shuffle" if shuffled else ""
        if beats == "half-time":
            head = f"half-time {head}".strip()
        elif beats:
            head = f"{head}, {beats}".strip(" ,")
        bass = self._bass_words(half=beats == "half-time")
        if barks := self._barks():
            return head, barks, bass
        time = "" if shuffled else self._time_words()
        return head, "; ".join(filter(None, (time, self._pedal_words()))), bass

    def _is_shuffle(self) -> bool:
        wanted = {(beat * TICKS + part) for beat in range(self._pattern.beats) for part in (0, 16)}
        plain = all(s.level is Level.PLAIN and s.ornament is Ornament.NONE for s in self._time)
        return plain and {s.tick for s in self._time if s.voice is Voice.HAT} == wanted == {
            s.tick for s in self._time
        }

    def _loud_words(self) -> str:
        """Say backbeats where they are other than usual."""
        places = [s.at for s in self._loud]
        plain = all(
            s.voice is Voice.SNARE and s.level is Level.ACCENT and s.ornament is Ornament.NONE
            for s in self._loud
        )
        usual, half = _usual_backbeats(self._pattern)
        if plain and places == usual:
            return ""
        if plain and places == half:
            return "half-time"
        if not self._loud:
            return "no backbeat"
        if plain:
            where = self._counted(self._loud) if self._terse else ""
            return f"backbeats {where or 'on ' + self._places(self._loud)}"
        return self._everything(self._loud)

    def _time_words(self) -> str:
        """Say cymbals where they are other than usual: eighths on the hat, quarters in triplets."""
        lines = []
        for voice in dict.fromkeys(s.voice for s in self._time):
            mine = [s for s in self._time if s.voice is voice]
            lines.append(self._time_line(voice, mine))
        if not self._time:
            return "no hat"
        words = ", ".join(filter(None, lines))
        # "hat" alone is the usual line.
        return "" if words == "hat" else words

    def _time_line(self, voice: Voice, strokes: Sequence[Stroke]) -> str:
        usual = {s.tick for s in strokes} == self._usual_time()
        name = str(voice) if usual else self._line_name(voice, strokes)
        accents = [s for s in strokes if s.level is Level.ACCENT]
        opened = [s for s in strokes if EMBELLISHMENTS[s.ornament].rings]
        hands = {s.hand for s in strokes}
        if hands == {Hand.RIGHT, Hand.LEFT}:
            name = f"{name.removeprefix('sixteenth ')} hand to hand"
        elif hands == {Hand.LEFT}:
            name = f"left-hand {name}"
        if accents and len(accents) < len(strokes):
            name = f"{name} accents {self._recited(accents)}"
        if opened:
            only = f"open {voice} {self._recited(opened)}"
            name = only if name == str(voice) else f"{name}, open {self._recited(opened)}"
        return name

    def _barks(self) -> str:
        """Say open hats that the foot closes on a beat on which the stick would have been."""
        line = [s for s in self._pattern.strokes if s.voice in HAT_LINE]
        opened = [s for s in line if EMBELLISHMENTS[s.ornament].rings]
        after = [b for a, b in zip(line, [*line[1:], *line[:1]], strict=True) if a in opened]
        places = [s.tick for s in line]
        usual = places == sorted(self._usual_time())
        only = len(line) == len(self._time) + len(self._pedal)
        if not opened or after != self._pedal or not usual or not only:
            return ""
        return f"barks {self._recited(opened)}"

    def _usual_time(self) -> set[int]:
        meter = self._pattern.meter
        step = TICKS if meter.unit == 8 or 3 in self._pattern.grids else TICKS // 2
        return set(range(0, self._pattern.beats * TICKS, step))

    def _line_name(self, voice: Voice, strokes: Sequence[Stroke]) -> str:
        ticks = {s.tick for s in strokes}
        end = self._pattern.beats * TICKS
        unit = self._pattern.meter.unit
        for each in (1, 2, 3, 4, 6):
            if ticks == set(range(0, end, TICKS // each)) and (unit, each) in STREAMS:
                return f"{STREAMS[unit, each].removesuffix('s')} {voice}"
        filled = ticks | {s.tick for s in self._drums}
        if len(ticks) > end // TICKS * 2 and filled == set(range(0, end, TICKS // 4)):
            return f"sixteenth {voice}"
        if ticks == set(range(TICKS // 2, end, TICKS)):
            return f"off-beat {voice}"
        return f"{voice} {self._counted(strokes)}"

    def _pedal_words(self) -> str:
        return f"pedal {self._recited(self._pedal)}" if self._pedal else ""

    def _bass_words(self, *, half: bool) -> str:
        places = [s.at for s in self._bass]
        usual = _usual_bass(self._pattern, half=half)
        if places == usual:
            return ""
        return f"bass {self._counted(self._bass)}" if places else "no bass"

    def _ghost_words(self) -> str:
        if not self._ghosts:
            return ""
        by_voice = {
            voice: [s for s in self._ghosts if s.voice is voice]
            for voice in dict.fromkeys(s.voice for s in self._ghosts)
        }
        if len(by_voice) == 1:
            ((voice, mine),) = by_voice.items()
            return self._of_voice(voice, mine, alone=True)
        return ", ".join(
            self._of_voice(voice, mine, alone=False)
            for voice, mine in sorted(by_voice.items(), key=lambda item: item[1][0].tick)
        )

    def _of_voice(self, voice: Voice, strokes: Sequence[Stroke], *, alone: bool) -> str:
        every = self._every(strokes)
        words = f"ghosts on {every}" if every else self._places(strokes)
        only_numbers = not any(s.isalpha() or s == "&" for s in words.replace("and", ""))
        if only_numbers and not every:
            words = f"ghost{'s' if len(strokes) > 1 else ''} on {words}"
        embellished = [s for s in strokes if s.ornament is not Ornament.NONE]
        ornaments = {s.ornament for s in strokes}
        if len(ornaments) == 1 and embellished:
            row = EMBELLISHMENTS[strokes[0].ornament]
            words = f"{words}, {row.said_of_all if len(strokes) > 1 else row.said_of_some}"
        elif embellished:
            words = f"{words}, {self._with_embellishments(embellished)}"
        if any(s.hand is not None for s in strokes) and not self._time:
            words = f"{words}, {self._sticking() or 'hand to hand'}"
        return words if alone and voice is Voice.SNARE else f"{words} on {voice}"

    def _fill(self) -> str:
        """Say a fill: loud drums at the end of the pattern, where the time has stopped."""
        if not self._time or not self._loud:
            return ""
        end = self._pattern.beats * TICKS
        last = max(s.tick for s in self._time)
        first = (last // TICKS + 1) * TICKS
        mine = [s for s in self._drums if s.tick >= first]
        if end - first < TICKS or not any(s.level is not Level.GHOST for s in mine):
            return ""
        accents = [s for s in mine if s.level is Level.ACCENT]
        loud = ""
        if accents and len(accents) < len(mine):
            loud = f", accents {self._counted(accents)}"
        head, drums = self._round(mine)
        return f"{head}fill on {self._filled(mine, first, end)}{drums}{loud}"

    def _filled(self, strokes: Sequence[Stroke], first: int, end: int) -> str:
        """Say the places of a fill beat by beat: ``3 with &, every sixteenth of 4``."""
        pattern = self._pattern
        said: dict[str, list[str]] = {}
        for beat in range(first // TICKS, end // TICKS):
            mine = [s for s in strokes if int(s.at) == beat]
            if mine:
                number = str(beat % pattern.meter.beats + 1)
                said.setdefault(beat_words(pattern, mine), []).append(number)
        return ", ".join(
            words.replace("#", listed(numbers, terse=self._terse))
            for words, numbers in said.items()
        )

    def _round(self, strokes: Sequence[Stroke]) -> tuple[str, str]:
        """Say which drums, before the fill and after it.

        Down the kit has a name, and so has tom to floor.
        """
        voices = [s.voice for s in strokes]
        if set(voices) == {Voice.SNARE}:
            return "", ""
        for name, order in _ROUNDS.items():
            if len(voices) > 1 and tuple(voices) == down_the_drums(order, len(voices)):
                return f"{name} ", ""
        return "", f"; {self._everything(strokes)}"

    def _fill_frame(self) -> tuple[str, str]:
        """Say what is under a fill where it is not the usual: eighths until it, a crash on one.

        A head for what stands before the fill's name, and a clause for what stands after it.
        """
        first = (max(s.tick for s in self._time) // TICKS + 1) * TICKS
        before = {s.tick for s in self._time}
        for name, step in (("", TICKS // 2), ("quarter hat", TICKS)):
            if before == set(range(0, first, step)):
                return "", name
        shuffled = {beat + part for beat in range(0, first, TICKS) for part in (0, 16)}
        return ("shuffle: ", "") if before == shuffled else ("", self._time_words())

    def _is_linear(self) -> bool:
        """Whether nothing is struck together: every partial once, or a bass that moves."""
        ticks = [s.tick for s in self._pattern.strokes]
        if len(ticks) != len(set(ticks)) or not (self._time and self._drums and self._bass):
            return False
        filled = len(ticks) == sum(self._pattern.grids) > self._pattern.beats * 2
        return filled or len(self._bass) > 2 * self._pattern.bars

    def _linear(self) -> str:
        """Say a line stroke by stroke where every beat is alike, but for the backbeats.

        Else what the foot has, and the ghosts.
        """
        found = {s.tick: s for s in self._pattern.strokes}
        backbeats = _usual_backbeats(self._pattern)[0]
        cells: list[tuple[str, ...]] = []
        for beat, slots in enumerate(self._pattern.grids):
            at = [beat * TICKS + slot * TICKS // slots for slot in range(slots)]
            cells.append(tuple(_drum_of(found.get(tick)) for tick in at))
        loud = [s.at for s in self._loud if s.voice is Voice.SNARE]
        rests = {cell[1:] for cell in cells}
        heads = {cell[0] for beat, cell in enumerate(cells) if beat not in loud}
        if len(rests) == len(heads) == 1 and loud in ([], backbeats):
            (rest,), (head,) = rests, heads
            tail = ", with backbeats" if loud else ""
            return f"linear: {' '.join((head, *rest))}{tail}"
        lines = [self._ghost_words(), f"bass {self._counted(self._bass)}"]
        if not self._terse:
            lines.append(self._time_words())
        return f"linear: {'; '.join(filter(None, lines))}"


def _drum_of(stroke: Stroke | None) -> str:
    if stroke is None:
        return "rest"
    return "ghost" if stroke.level is Level.GHOST and stroke.voice is Voice.SNARE else stroke.voice


def _usual_backbeats(pattern: Pattern) -> tuple[list[Fraction], list[Fraction]]:
    """Return the places of usual backbeats, and of half-time ones, in every bar."""
    meter = str(pattern.meter)
    usual = _BACKBEATS.get(meter, ())
    half = (2,) if meter == "4/4" else ()
    return _in_bars(pattern, usual), _in_bars(pattern, half)


def _usual_bass(pattern: Pattern, *, half: bool) -> list[Fraction]:
    meter = str(pattern.meter)
    return _in_bars(pattern, (0,) if half else _BASSES.get(meter, (0,)))


def _in_bars(pattern: Pattern, places: Sequence[int]) -> list[Fraction]:
    beats = pattern.meter.beats
    return [Fraction(bar * beats + at) for bar in range(pattern.bars) for at in places]
