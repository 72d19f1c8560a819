"""What the stand says: its question, its lines before a take, and what just happened."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillbox.memory import Grade

FIRST_WORDS = (
    "R L: right, left hand. F D T U: full, down, tap, upstroke."
    " Afterwards a s d f g say how it went: try one, nothing is saved."
)
QUESTION = "Where should the metronome go next?"
PLAY_FIRST = "play it through once, then grade it"
RAMP_ON, RAMP_OFF = "ramp: up 5 about every eight seconds", "steady tempo"
HANDS_FREE_ON = "hands-free: a foot grades in the rest, one tap clean, two shaky, three fell apart"
HANDS_FREE_OFF = "hands-free off"
NOTHING_TO_UNDO = "Nothing of today to take back."
ALL_SAVED = "all takes saved"


def paused_question(passes: int) -> str:
    """Return the question after a pause in a take of which whole passes have sounded."""
    heard = "one pass" if passes == 1 else f"{passes} passes"
    return f"Paused after {heard}: grade what you played, or space plays the take again."


def put_off(title: str) -> str:
    """Return that a card was left out today."""
    return f"“{title}” is off for today; u brings it back."


def slid_off(title: str) -> str:
    """Return that a card has left the box meanwhile; nothing where none has."""
    return f"“{title}” has left the box in another window, so it is off the stand." if title else ""


def graded(grade: Grade, in_place_of: Grade | None, progress: str) -> str:
    """Return that a grade is saved, in whose place, and what it made of the card."""
    what = f"{grade.label} in place of {in_place_of.label}" if in_place_of else grade.label
    return f"{what}: saved. {progress}"
