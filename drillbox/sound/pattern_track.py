"""A pattern played on the kit, pass after pass.

Stroke *i* of pass *k* sounds at the exact time of its beat in the whole take, never at the end of
the pass before plus something, and rings on into the next pass: a loop has no seam and no drift.

Conventions: as in `drillbox.sound.timeline`.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from drillbox.rhythm import EMBELLISHMENTS, HAT_LINE, Level, partial_length, strikes
from drillbox.sound.kit import choked, stroke_sound
from drillbox.sound.levels import FULL_DB, USUAL, Balance, decibels
from drillbox.sound.program import Hit
from drillbox.sound.strikes import soundings
from drillbox.sound.timeline import frame_at

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from fractions import Fraction

    from drillbox.rhythm import Pattern, Strike, Stroke
    from drillbox.sound.timeline import Timeline


@dataclass(frozen=True, slots=True)
class PatternTrack:
    """The hits of a pattern that is repeated over a timeline, after its count-in.

    Attributes
    ----------
    ring
        Length of the longest stroke, in frames.
    """

    pattern: Pattern
    timeline: Timeline
    balance: Balance = USUAL
    ring: int = field(init=False, repr=False, compare=False)
    _by_bar: Mapping[int, list[Strike]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_bar, ring = defaultdict(list), 0
        for strike in strikes(self.pattern):
            if strike.voice not in self.balance.without:
                by_bar[
                    int(self.pattern.strokes[strike.stroke].at // self.pattern.meter.beats)
                ].append(strike)
                # The soft kind too, so that no file is read in the sound card's thread.
                for level in (strike.level, Level.GHOST):
                    ring = max(ring, len(stroke_sound(strike.voice, level)))
                if self._rings(strike):
                    ring = max(ring, len(stroke_sound(strike.voice, strike.level, rings=True)))
        object.__setattr__(self, "_by_bar", dict(by_bar))
        object.__setattr__(self, "ring", ring)

    def hits(self, bar: int) -> tuple[Hit, ...]:
        """Return the hits of a bar."""
        if bar < 0:
            return ()
        passes, within = divmod(bar, self.pattern.bars)
        struck = self._by_bar.get(within, [])
        hits = (hit for strike in struck for hit in self._hits(strike, passes))
        # A grace note before the very first frame could only be heard cut in two.
        return tuple(hit for hit in hits if hit.frame >= 0)

    def over(self, timeline: Timeline) -> PatternTrack:
        """Return the same pattern on another timeline."""
        return replace(self, timeline=timeline)

    def _hits(self, strike: Strike, passes: int) -> Iterator[Hit]:
        stroke = self.pattern.strokes[strike.stroke]
        beat = passes * self.pattern.beats + stroke.at
        seconds = self.timeline.seconds_at(beat)
        written = partial_length(self.pattern, stroke)
        length = self.timeline.seconds_at(beat + written) - seconds
        for sounding in soundings(strike, stroke, length):
            quiet = sounding.level is Level.GHOST
            db = FULL_DB[strike.voice] + sounding.db + self.balance.kit_db
            db += self.balance.ghosts_db if quiet else 0.0
            frame = frame_at(seconds + sounding.after)
            if self._rings(strike):
                sound = choked(
                    frame_at(self.timeline.seconds_at(beat + self._open_for(stroke))) - frame
                )
            else:
                sound = stroke_sound(strike.voice, sounding.level)
            yield Hit(frame, sound, decibels(db))

    def _rings(self, strike: Strike) -> bool:
        return EMBELLISHMENTS[self.pattern.strokes[strike.stroke].ornament].rings

    def _open_for(self, stroke: Stroke) -> Fraction:
        """Return the beats until the next stroke of the hat or its pedal, over the repeat too."""
        places = [other.at for other in self.pattern.strokes if other.voice in HAT_LINE]
        later = [at for at in places if at > stroke.at]
        return (later[0] if later else places[0] + self.pattern.beats) - stroke.at
