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
        The tempo to write above it, in metronome pulses a minute.
    note
        A word to the player; may be empty.
    """

    title: str
    pattern: Pattern
    bpm: float
    note: str = ""


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
