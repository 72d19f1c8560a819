"""What a rhythm is called: one title, made from the rhythm alone, the count said aloud.

The same rhythm has the same title everywhere. What every drummer assumes is not said: four beats,
eighths on the hat, backbeats on two and four, bass on one and three. So "e and a of every beat" is
that groove with two ghosts a beat, and "shuffle: trip of every beat; bass 1 3l" says what is other.
Rhythms with a name of their own (a rudiment, a shuffle) have that name.

Titles have at most `MAX_TITLE` characters: a long one drops its small words first, then says the
bare counts. docs/decks.md says how to read them.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from drillbox.rhythm.counting import counts, said_places
from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS
from drillbox.rhythm.grid import grid_names, syllables
from drillbox.rhythm.notation import parse
from drillbox.rhythm.pattern import fingerprint
from drillbox.rhythm.repertoire import NAMED, STICKINGS
from drillbox.rhythm.stroke import TICKS, Hand, Level, Ornament, Stroke, Voice

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drillbox.rhythm.pattern import Pattern

__all__ = ["MAX_TITLE", "title"]

MAX_TITLE = 44
_STREAMS = {
    (4, 1): "quarters", (4, 2): "eighths", (4, 3): "triplets", (4, 4): "sixteenths",
    (4, 6): "sixteenth triplets", (4, 8): "thirty-seconds",
    (8, 1): "eighths", (8, 2): "sixteenths", (8, 3): "sixteenth triplets",
    (8, 4): "thirty-seconds",
}  # fmt: skip
"""Even strokes, by the meter's unit and strokes a beat."""
_DRUMS = (Voice.SNARE, Voice.RIM, Voice.TOM, Voice.FLOOR)
_LETTERS = {
    Voice.HAT: "h", Voice.RIDE: "r", Voice.CRASH: "c", Voice.SNARE: "s", Voice.RIM: "x",
    Voice.TOM: "t", Voice.FLOOR: "f", Voice.BASS: "b", Voice.PEDAL: "p",
}  # fmt: skip
_GHOST_LETTER = "g"


def title(pattern: Pattern) -> str:
    """Return what a rhythm is called."""
    named = _named().get(fingerprint(pattern))
    if named is not None:
        return named
    pattern = _on_usual_grids(_shortest(pattern))
    for terse in range(4):
        text = _Teller(pattern, terse).title()
        if len(text) <= MAX_TITLE:
            return text
    return f"{text[: MAX_TITLE - 1].rsplit(' ', 1)[0].rstrip(',;:')}…"


@lru_cache(maxsize=1)
def _named() -> dict[str, str]:
    return {fingerprint(parse(text)): name for text, name in NAMED.items()}


def _shortest(pattern: Pattern) -> Pattern:
    """Return the fewest bars that repeat."""
    length = pattern.meter.beats
    for bars in range(1, pattern.bars):
        if pattern.bars % bars:
            continue
        cut = replace(
            pattern,
            grids=pattern.grids[: bars * length],
            strokes=tuple(s for s in pattern.strokes if s.at < bars * length),
        )
        if fingerprint(cut) == fingerprint(pattern):
            return cut
    return pattern


def _on_usual_grids(pattern: Pattern) -> Pattern:
    """Return the pattern on the coarsest grid that holds it, for titles must not see the grid.

    One grid for all beats where there is one, else one for each.
    """
    needed: list[set[Fraction]] = [set() for _ in pattern.grids]
    for stroke in pattern.strokes:
        needed[int(stroke.at)].add(stroke.at % 1)
    known = sorted(grid_names(pattern.meter).values())
    holding = {slots: {Fraction(slot, slots) for slot in range(slots)} for slots in known}
    everything = set().union(*needed)
    for slots in known:
        if everything <= holding[slots]:
            return replace(pattern, grids=(slots,) * pattern.beats)
    chosen = [next(s for s in known if places <= holding[s]) for places in needed]
    return replace(pattern, grids=tuple(chosen))


class _Teller:
    """Puts one pattern into words.

    `terse` is 0 with all small words, 1 and 2 with ever fewer, 3 for bare counts.
    """

    def __init__(self, pattern: Pattern, terse: int) -> None:
        self._pattern = pattern
        self._terse = terse
        strokes = pattern.strokes
        self._time = [s for s in strokes if s.voice.is_cymbal]
        self._pedal = [s for s in strokes if s.voice is Voice.PEDAL]
        self._bass = [s for s in strokes if s.voice is Voice.BASS]
        self._drums = [s for s in strokes if s.voice in _DRUMS]
        self._ghosts = [s for s in self._drums if s.level is Level.GHOST]
        self._loud = [s for s in self._drums if s.level is not Level.GHOST]

    def title(self) -> str:
        """Return the title, as long as it comes."""
        if not self._time and not self._bass:
            words = self._hands_alone()
        elif self._is_linear():
            words = f"linear {self._letters()}"
        else:
            words = self._groove()
        swing = self._pattern.swing
        felt = "" if swing is None else f", swung {swing.ratio}"
        return self._in_meter(words + felt)

    def _in_meter(self, words: str) -> str:
        meter = str(self._pattern.meter)
        if meter == "4/4":
            return words
        return f"{meter} {words}" if words.startswith("groove") else f"{meter}: {words}"

    # --- hands alone

    def _hands_alone(self) -> str:
        stream = self._stream()
        hands = self._sticking()
        levels = {s.level for s in self._drums}
        ornaments = {s.ornament for s in self._drums}
        name = f"{stream}, {hands}" if stream and hands else stream or hands
        dressed = [s for s in self._drums if s.ornament is not Ornament.NONE]
        if name and len(levels) > 1:
            name = self._with_levels(stream, hands)
        elif name and levels != {Level.PLAIN}:
            name = f"{stream}, all {LEVELS[self._drums[0].level].plural}" + (
                f", {hands}" if hands else ""
            )
        elif name and not hands and not dressed:
            name = f"{stream}, hand to hand"
        if not name:
            return self._everything(self._drums)
        if ornaments == {self._drums[0].ornament} and dressed:
            return f"{name}, {EMBELLISHMENTS[dressed[0].ornament].said_of_all}"
        if dressed:
            return f"{name}; {self._dressed(dressed)}"
        return name

    def _with_levels(self, stream: str, hands: str) -> str:
        lows = [s for s in self._drums if s.level is not Level.ACCENT]
        accents = [s for s in self._drums if s.level is Level.ACCENT]
        if accents and len({s.level for s in lows}) == 1:
            every = self._every(accents)
            words = f"accents {every or 'on ' + self._places(accents)}"
            known = stream == "sixteenths" or self._tells_grid(accents)
            low = lows[0].level
            if low is not Level.TAP:
                words = f"{words}, {'ghosted' if low is Level.GHOST else 'plain'} {stream}".strip()
            elif not known and not hands:
                words = f"{words}, {stream}"
            return f"{hands}: {words}" if hands else words
        return f"{stream or hands}, {self._ladder()}"

    def _ladder(self) -> str:
        """Say levels that change from stretch to stretch, in the longest even stretches."""
        strokes = self._drums
        for name, length in (
            ("bar", self._pattern.meter.beats),
            ("half bar", Fraction(self._pattern.meter.beats, 2)),
            ("beat", 1),
        ):
            blocks: dict[int, set[Level]] = {}
            for s in strokes:
                blocks.setdefault(int(s.at // length), set()).add(s.level)
            if len(blocks) > 1 and all(len(found) == 1 for found in blocks.values()):
                levels = [next(iter(found)) for _, found in sorted(blocks.items())]
                return f"{' '.join(levels)} by the {name}"
        parts = []
        for level in Level:
            mine = [s for s in strokes if s.level is level]
            if mine and level is not Level.PLAIN:
                parts.append(f"{LEVELS[level].plural} on {self._places(mine)}")
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
        return _STREAMS.get((self._pattern.meter.unit, int(each)), "")

    def _sticking(self) -> str:
        """Return the name or the letters of prescribed hands that do not simply alternate."""
        hands = [s.hand for s in self._drums if s.hand is not None]
        if not hands or len(hands) < len(self._drums):
            return ""
        if all(a is not b for a, b in zip(hands, hands[1:], strict=False)):
            return "" if hands[0] is Hand.RIGHT else "left hand leads"
        if len(set(hands)) == 1:
            return f"{'right' if hands[0] is Hand.RIGHT else 'left'} hand alone"
        letters = "".join(map(str, hands))
        for size in range(1, len(letters) + 1):
            if len(letters) % size == 0 and letters == letters[:size] * (len(letters) // size):
                return STICKINGS.get(letters[:size], letters[:size])
        return letters

    def _every(self, strokes: Sequence[Stroke]) -> str:
        """Return ``every 3 sixteenths`` where strokes go against the beat evenly."""
        ticks = sorted({s.tick for s in strokes})
        if len(ticks) < 3 or ticks[0]:
            return ""
        slots = self._pattern.grids[0]
        gaps = {b - a for a, b in zip(ticks, ticks[1:], strict=False)}
        gap = gaps.pop()
        partials, rest = divmod(gap * slots, TICKS)
        end = self._pattern.beats * TICKS
        if gaps or rest or partials % slots == 0 or slots % partials == 0:
            return ""
        last = end - ticks[-1]
        if last > gap:
            return ""
        bars = self._pattern.bars
        note = _STREAMS.get((self._pattern.meter.unit, slots), "partials")
        long = f", {bars} bars" if bars > 1 else ""
        return f"every {partials} {note}{long}"

    # --- grooves

    def _groove(self) -> str:
        fill = self._fill()
        head, time, bass = self._frame()
        if fill:
            parts = [fill, *([head] if head else []), time, bass]
            return "; ".join(filter(None, parts))
        ghosts = self._ghost_words()
        lead = f"{head}: {ghosts}" if head and ghosts else head or ghosts
        if not lead:
            usual = str(self._pattern.meter) == "4/4" and not (time or bass)
            lead = "rock groove" if usual else "groove"
        return "; ".join(filter(None, (lead, time, bass)))

    def _frame(self) -> tuple[str, str, str]:
        """Return what is other than usual: the groove's head, its time, its bass."""
        shuffled = self._is_shuffle()
        beats = self._loud_words()
        head = "shuffle" if shuffled else ""
        if beats == "half-time":
            head = f"half-time {head}".strip()
        elif beats:
            head = f"{head}, {beats}".strip(" ,")
        time = "" if shuffled else self._time_words()
        half = beats == "half-time"
        return (
            head,
            "; ".join(filter(None, (time, self._pedal_words()))),
            self._bass_words(half=half),
        )

    def _is_shuffle(self) -> bool:
        wanted = {(beat * TICKS + part) for beat in range(self._pattern.beats) for part in (0, 16)}
        plain = all(s.level is Level.PLAIN and s.ornament is Ornament.NONE for s in self._time)
        return plain and {s.tick for s in self._time if s.voice is Voice.HAT} == wanted == {
            s.tick for s in self._time
        }

    def _loud_words(self) -> str:
        """Say backbeats where they are other than usual."""
        if self._fill():
            return ""
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
        opened = [s for s in strokes if s.ornament is Ornament.OPEN]
        hands = {s.hand for s in strokes}
        if hands == {Hand.RIGHT, Hand.LEFT}:
            name = f"{name} hand to hand"
        if accents and len(accents) < len(strokes):
            name = f"{name}, accents {self._counted(accents)}"
        if opened:
            only = f"open {voice} {self._counted(opened)}"
            name = only if name == str(voice) else f"{name}, open {self._counted(opened)}"
        return name

    def _usual_time(self) -> set[int]:
        meter = self._pattern.meter
        step = TICKS if meter.unit == 8 or 3 in self._pattern.grids else TICKS // 2
        return set(range(0, self._pattern.beats * TICKS, step))

    def _line_name(self, voice: Voice, strokes: Sequence[Stroke]) -> str:
        ticks = {s.tick for s in strokes}
        end = self._pattern.beats * TICKS
        unit = self._pattern.meter.unit
        for each in (1, 2, 3, 4, 6):
            if ticks == set(range(0, end, TICKS // each)) and (unit, each) in _STREAMS:
                return f"{_STREAMS[unit, each].removesuffix('s')} {voice}"
        filled = ticks | {s.tick for s in self._drums}
        if len(ticks) > end // TICKS * 2 and filled == set(range(0, end, TICKS // 4)):
            return f"sixteenth {voice}"
        if ticks == set(range(TICKS // 2, end, TICKS)):
            return f"off-beat {voice}"
        return f"{voice} {self._counted(strokes)}"

    def _pedal_words(self) -> str:
        return f"pedal {self._counted(self._pedal)}" if self._pedal else ""

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
        words = self._every(strokes) if self._pattern.bars > 1 or self._terse else ""
        words = f"ghosts {words}" if words else self._places(strokes)
        dressed = [s for s in strokes if s.ornament is not Ornament.NONE]
        ornaments = {s.ornament for s in strokes}
        if len(ornaments) == 1 and dressed:
            words = f"{words}, {EMBELLISHMENTS[strokes[0].ornament].said_of_all}"
        elif dressed:
            words = f"{words}, {self._dressed(dressed)}"
        if any(s.hand is not None for s in strokes) and not self._time:
            words = f"{words}, {self._sticking() or 'hand to hand'}"
        return words if alone and voice is Voice.SNARE else f"{words} on {voice}"

    def _dressed(self, strokes: Sequence[Stroke]) -> str:
        offsets = {s.at % 1 for s in strokes}
        row = EMBELLISHMENTS[strokes[0].ornament]
        if len({s.ornament for s in strokes}) > 1:
            return ", ".join(
                self._dressed([s for s in strokes if s.ornament is o])
                for o in dict.fromkeys(s.ornament for s in strokes)
            )
        others = [
            s for s in self._drums
            if s.at % 1 in offsets and s.ornament is Ornament.NONE and s.level is strokes[0].level
        ]  # fmt: skip
        if others:
            return f"{counts(self._pattern, strokes)} {row.said_of_some}"
        names = said_places(self._pattern, strokes, terse=min(self._terse, 1), everywhere=False)
        return f"{names} {row.said_of_some}"

    # --- fills, linear, and all else

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
        voices = list(dict.fromkeys(s.voice for s in mine))
        on = "" if voices == [Voice.SNARE] else f", {' '.join(voices)}"
        accents = [s for s in mine if s.level is Level.ACCENT]
        loud = ""
        if accents and len(accents) < len(mine):
            loud = f", accents {self._counted(accents)}"
        return f"fill {self._aloud(mine)}{on}{loud}{self._moves(mine, voices)}"

    def _moves(self, strokes: Sequence[Stroke], voices: Sequence[Voice]) -> str:
        """Tell fills apart that have the same places and drums in another order."""
        turns = sum(a.voice is not b.voice for a, b in zip(strokes, strokes[1:], strict=False))
        if turns < len(voices):
            return ""
        return f" {''.join(_LETTERS[s.voice] for s in strokes)}"

    def _is_linear(self) -> bool:
        ticks = [s.tick for s in self._pattern.strokes]
        return (
            len(self._bass) > 2
            and bool(self._time)
            and bool(self._drums)
            and len(ticks) == len(set(ticks))
        )

    def _letters(self) -> str:
        """Return a letter a partial: hat, ghost, snare, bass and so on, a group a beat."""
        found = {s.tick: s for s in self._pattern.strokes}
        bars: list[list[str]] = [[] for _ in range(self._pattern.bars)]
        for beat, slots in enumerate(self._pattern.grids):
            at = [beat * TICKS + slot * TICKS // slots for slot in range(slots)]
            cell = "".join(_letter(found.get(tick)) for tick in at)
            bars[beat // self._pattern.meter.beats].append(cell)
        return " | ".join(" ".join(_once(beats)) for beats in bars)

    def _aloud(self, strokes: Sequence[Stroke]) -> str:
        """Return places as they are counted: ``3 e & 4``."""
        parts: list[str] = []
        before = -1
        for s in strokes:
            beat = int(s.at)
            (count,) = counts(self._pattern, [s]).split()
            number = str(beat % self._pattern.meter.beats + 1)
            parts.append(count.removeprefix(number) or number if beat == before else count)
            before = beat
        return " ".join(parts)

    def _places(self, strokes: Sequence[Stroke]) -> str:
        if self._terse == 3:
            return counts(self._pattern, strokes)
        ghosts = strokes and strokes[0].level is Level.GHOST
        loud = self._loud if ghosts else ()
        return said_places(self._pattern, strokes, terse=self._terse, loud=loud)

    def _counted(self, strokes: Sequence[Stroke]) -> str:
        return counts(self._pattern, strokes)

    def _tells_grid(self, strokes: Sequence[Stroke]) -> bool:
        return any((s.at % 1).denominator > 2 for s in strokes)

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
            dressed = f" {row.said_of_some}" if ornament is not Ornament.NONE else ""
            yield f"{name} {self._counted(mine)}{dressed}"


def _letter(stroke: Stroke | None) -> str:
    if stroke is None:
        return "·"
    if stroke.level is Level.GHOST and stroke.voice is Voice.SNARE:
        return _GHOST_LETTER
    return _LETTERS[stroke.voice]


def _once(beats: Sequence[str]) -> Sequence[str]:
    """Return the beats, said once where all are alike."""
    return beats[:1] if len(set(beats)) == 1 else beats


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


_BACKBEATS = {
    "4/4": (1, 3), "3/4": (2,), "6/8": (3,), "12/8": (3, 9), "5/4": (1, 4), "7/8": (2, 6),
}  # fmt: skip
"""Beats from 0 on which the backbeats of a meter usually are (common practice)."""
_BASSES = {
    "4/4": (0, 2), "3/4": (0,), "6/8": (0,), "12/8": (0, 6), "5/4": (0, 3), "7/8": (0, 4),
}  # fmt: skip
