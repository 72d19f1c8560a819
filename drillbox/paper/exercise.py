"""What is put on paper or into a file: exercises, and a collection of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillbox.rhythm import Pattern

__all__ = ["Collection", "Exercise"]


@dataclass(frozen=True, slots=True)
class Exercise:
    """One pattern to be played over and over.

    Parameters
    ----------
    title
        What a player calls it.
    pattern
        What is played, hands as this player plays them.
    bpm
        The tempo to hold it at, in metronome pulses a minute; it is written above the music.
    note
        A word to the player; may be empty.
    now_bpm
        The tempo it stands at, None where nobody knows.
    """

    title: str
    pattern: Pattern
    bpm: float
    note: str = ""
    now_bpm: float | None = None


@dataclass(frozen=True, slots=True)
class Collection:
    """Exercises that belong together.

    Parameters
    ----------
    title
        The deck's title, or the exercise's where there is one.
    exercises
        In order; at least one.
    author, licence, edition
        As the deck says; may be empty.
    """

    title: str
    exercises: tuple[Exercise, ...]
    author: str = ""
    licence: str = ""
    edition: str = ""
