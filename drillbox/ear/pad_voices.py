"""Which pad is which voice: notes as a pad sends them, and the voices of their keys.

Conventions: seconds; keys and velocities as MIDI has them, 0 to 127. Needs no library, so that
settings can be read without one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, Self

from drillbox.rhythm import Voice

if TYPE_CHECKING:
    from collections.abc import Mapping

USUAL_KEYS: Mapping[int, Voice] = {
    **dict.fromkeys((35, 36), Voice.BASS),
    **dict.fromkeys((38, 40), Voice.SNARE),
    **dict.fromkeys((37, 39), Voice.RIM),
    **dict.fromkeys((22, 26, 42, 46), Voice.HAT),
    44: Voice.PEDAL,
    **dict.fromkeys((49, 52, 55, 57), Voice.CRASH),
    **dict.fromkeys((51, 53, 59), Voice.RIDE),
    **dict.fromkeys((45, 47, 48, 50), Voice.TOM),
    **dict.fromkeys((41, 43), Voice.FLOOR),
}
"""General MIDI Level 1 percussion key map (RP-003, values from memory); 22 and 26 are hat edges of
common kits (common practice, no source)."""
_MOST_KEY = 127


class PadNote(NamedTuple):
    """One note: when, on which key, how hard."""

    seconds: float
    key: int
    velocity: int


@dataclass(frozen=True, slots=True)
class PadVoices:
    """Which key plays which voice: General MIDI's, and what was learned by hitting a pad once."""

    learned: tuple[tuple[int, Voice], ...] = ()

    @classmethod
    def read(cls, text: str) -> Self:
        """Return what a text such as ``31=snare 33=bass`` says; the last word on a key counts.

        Raises
        ------
        ValueError
            With what would do.
        """
        learned = {}
        for word in text.split():
            number, _, name = word.partition("=")
            if not (number.isascii() and number.isdigit() and int(number) <= _MOST_KEY):
                raise ValueError(f"keys from 0 to {_MOST_KEY} with voices, such as 38=snare")
            if name not in set(Voice):
                raise ValueError(f"a voice to each key, one of: {', '.join(Voice)}")
            learned[int(number)] = Voice(name)
        return cls(tuple(sorted(learned.items())))

    @property
    def text(self) -> str:
        """What was learned, as `read` reads it."""
        return " ".join(f"{key}={voice}" for key, voice in self.learned)

    def voice(self, key: int) -> Voice | None:
        """Return the voice of a key, or None for one that nobody named."""
        return dict(self.learned).get(key, USUAL_KEYS.get(key))

    def keys(self, voice: Voice) -> tuple[int, ...]:
        """Return the keys that play a voice, lowest first."""
        known = {**USUAL_KEYS, **dict(self.learned)}
        return tuple(sorted(key for key, played in known.items() if played is voice))

    def with_hit(self, key: int, voice: Voice) -> Self:
        """Return the same with a pad that was hit to say which voice it is."""
        kept = tuple(pair for pair in self.learned if pair[0] != key)
        return replace(self, learned=tuple(sorted((*kept, (key, voice)))))
