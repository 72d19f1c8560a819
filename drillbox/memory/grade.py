"""The player's verdict on a take: where the metronome should go next.

Steps of five and ten beats a minute are common practice. The midpoints between the five meanings
(-10, -5, 0, +5, +10) are the cuts that `drillbox.memory.belief` reads a grade with.
"""

from __future__ import annotations

from enum import IntEnum

from drillbox.errors import UsageError

STEP_BPM = 5
"""The metronome's least step."""
HALF_STEP = STEP_BPM / 2
"""How far from its meaning a grade reaches: the cut to the next one."""


class Grade(IntEnum):
    """Where the metronome should go next, from down ten to up ten."""

    FELL_APART = -2
    SHAKY = -1
    STEADY = 0
    CLEAN = 1
    AUTOMATIC = 2

    @property
    def step_bpm(self) -> int:
        """The move of the metronome that the grade asks for."""
        return STEP_BPM * int(self)

    @property
    def label(self) -> str:
        """The word shown to the player."""
        return self.name.lower().replace("_", " ")

    @classmethod
    def from_label(cls, text: str) -> Grade:
        """Read a grade from its label, in any case, with spaces, hyphens or underscores."""
        name = "_".join(text.strip().upper().replace("-", " ").replace("_", " ").split())
        try:
            return cls[name]
        except KeyError:
            labels = ", ".join(grade.label for grade in cls)
            raise UsageError(f"{text!r} is no grade", fix=f"use one of: {labels}") from None
