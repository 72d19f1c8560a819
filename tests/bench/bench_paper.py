"""Sheets: starting the room, engraving one card, pages a second, whole decks to every form."""

from __future__ import annotations

import subprocess
import sys
import time
from datetime import UTC, datetime
from statistics import median
from typing import TYPE_CHECKING

from drillbox.deckfile import read_starter_decks
from drillbox.paper import Collection, Exercise, Form, Sheet, SheetForm, rendered
from drillbox.paper.engraving import engrave
from drillbox.paper.exercise_sheet import exercise_sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

AT = datetime(2026, 3, 2, tzinfo=UTC)


def seconds(work: Callable[[], object]) -> float:
    """Return how long something takes."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def start(code: str) -> float:
    """Return the milliseconds that a bare interpreter takes for some code, median of nine."""
    taken = [
        seconds(lambda: subprocess.run([sys.executable, "-c", code], check=True)) for _ in range(9)
    ]
    return 1000 * median(taken)


def sheet_of(exercises: Sequence[Exercise]) -> Sheet:
    """Return an exercise sheet."""
    cards = tuple(exercises)
    return Sheet(
        "x", Collection("x", cards), lambda look: exercise_sheet("x", (), cards, look, foot="f")
    )


def written(exercises: Sequence[Exercise], form: Form) -> float:
    """Return the seconds that a sheet of some exercises takes."""
    return seconds(lambda: rendered(sheet_of(exercises), form, SheetForm(), at=AT))


def engraved(exercise: Exercise) -> float:
    """Return the milliseconds that one card takes."""
    return 1000 * seconds(lambda: engrave(exercise.pattern, spaces=100))


def main() -> None:
    """Print every figure beside its budget."""
    floor, rhythm = start("pass"), start("import drillbox.rhythm")
    room = start("import drillbox.paper")
    print(f"import of the room without its extra: {room - rhythm:.1f} ms beyond rhythm, budget 20")
    print(f"  (a bare interpreter {floor:.0f} ms, with rhythm {rhythm:.0f} ms)")
    cards = [card for deck in read_starter_decks() for card in deck.cards]
    exercises = [Exercise(c.title, c.pattern, c.goal_bpm, c.note) for c in cards]
    first = engraved(exercises[0])
    each = [engraved(exercise) for exercise in exercises[::7]]
    print(
        f"the first card engraved {first:.0f} ms; each after: median {median(each):.1f}, "
        f"worst {max(each):.1f} ms, budget 20"
    )
    one = [1000 * written([exercise], Form.SVG) for exercise in exercises[::25]]
    print(f"one card as SVG file, font and all: median {median(one):.0f} ms")
    for form in Form:
        print(f"eight as {form}: {1000 * written(exercises[:8], form):.0f} ms, budget 1000")
    for form in (Form.PDF, Form.HTML, Form.MUSICXML, Form.MIDI):
        print(f"{len(exercises)} as {form}: {written(exercises, form):.1f} s, budget 60")
    pages = sheet_of(exercises).pages(SheetForm().look())
    taken = written(exercises, Form.PDF)
    print(f"{len(pages)} pages, {len(pages) / taken:.1f} a second as PDF")


if __name__ == "__main__":
    main()
