"""Takes as they are typed in one line: ``e-and-a 92 steady, a-doubled 80 clean``."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.base.tempi import TAKEN
from drillbox.errors import UsageError
from drillbox.memory import Grade

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class TypedTake:
    """A take as it was typed: the card by any of its names, the tempo, the grade."""

    card: str
    bpm: float
    grade: Grade


def read_takes(words: Sequence[str]) -> list[TypedTake]:
    """Read a line of takes.

    Parameters
    ----------
    words
        What was typed, as the shell divides it. A word that ends with a comma ends a take; a comma
        inside a quoted word is part of a title.

    Raises
    ------
    UsageError
        At the first take that cannot be read.
    """
    typed = " ".join(words)
    if len(words) == 1:
        words = words[0].split()
    takes: list[list[str]] = [[]]
    for word in words:
        kept = word.rstrip(", ")
        if kept:
            takes[-1].append(kept)
        if kept != word.rstrip():
            takes.append([])
    found = [_take(take) for take in takes if take]
    if not found:
        raise _refused(typed)
    return found


def _take(words: Sequence[str]) -> TypedTake:
    numbers = [index for index, word in enumerate(words) if _number(word) is not None]
    if not numbers or not 0 < numbers[-1] < len(words) - 1:
        raise _refused(" ".join(words))
    at = numbers[-1]
    bpm = _number(words[at]) or 0.0
    if not TAKEN.least <= bpm <= TAKEN.most:
        raise UsageError(
            f"nobody plays at {words[at]} bpm", fix=f"use {TAKEN.least} to {TAKEN.most}"
        )
    return TypedTake(" ".join(words[:at]), bpm, _grade(" ".join(words[at + 1 :])))


def _refused(text: str) -> UsageError:
    return UsageError(
        f"cannot read {text!r} as a take", fix="write CARD BPM GRADE, such as e-and-a 92 steady"
    )


def _number(word: str) -> float | None:
    with suppress(ValueError):
        number = float(word)
        # Nor is "nan" a number, nor what has a "_", which Python passes over.
        return number if number == number and "_" not in word else None  # noqa: PLR0124
    return None


def _grade(text: str) -> Grade:
    """Return the grade that a label or the beginning of one means."""
    start = " ".join(text.casefold().replace("-", " ").replace("_", " ").split())
    meant = [grade for grade in Grade if grade.label.startswith(start)]
    if start and len(meant) > 1:
        both = " or ".join(grade.label for grade in meant)
        raise UsageError(f"{text!r} may be {both}", fix="write more of it")
    return meant[0] if len(meant) == 1 else Grade.from_label(text)
