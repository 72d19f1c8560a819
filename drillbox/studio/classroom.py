"""The class as one map: cards down, students across, a sign in each place.

Signs carry the meaning, colours only repeat it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.base.wording import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.studio.figures import StudentFigures

__all__ = ["LEGEND", "NAMES", "SIGNS", "MapRow", "class_map", "map_lines", "untouched"]

SIGNS = {
    "holding": "●",
    "outgrown": "▲",
    "building": "○",
    "stuck": "!",
    "apart": "×",
    "fading": "▽",
    "waiting": "·",
    "rested": "z",
}
NAMES = {
    "holding": "in hand",
    "outgrown": "outgrown",
    "building": "building",
    "stuck": "stuck",
    "apart": "not together yet",
    "fading": "fading",
    "waiting": "waiting",
    "rested": "at rest",
}
LEGEND = ", ".join(f"{sign} {NAMES[kind]}" for kind, sign in SIGNS.items())
_TITLE_WIDTH = 34


@dataclass(frozen=True, slots=True)
class MapRow:
    """One card of the map.

    Parameters
    ----------
    rhythm, title
        The card, as the first student who has it calls it.
    kinds
        How it stands for each student, a key of `SIGNS`; empty for one who does not have it.
    """

    rhythm: str
    title: str
    kinds: tuple[str, ...]

    def count(self, *kinds: str) -> int:
        """Return for how many students it stands so."""
        counts = Counter(self.kinds)
        return sum(counts[kind] for kind in kinds)


def class_map(students: Sequence[StudentFigures]) -> tuple[MapRow, ...]:
    """Return a row for each card that any student has begun, in the order of their decks."""
    begun: set[str] = set()
    titles: dict[str, str] = {}
    kinds: dict[str, dict[int, str]] = {}
    for number, student in enumerate(students):
        for one in student.cards:
            if one.begun_on is not None:
                begun.add(one.card.rhythm)
            titles.setdefault(one.card.rhythm, one.card.title)
            kinds.setdefault(one.card.rhythm, {})[number] = one.kind
    return tuple(
        MapRow(
            rhythm,
            title,
            tuple(kinds[rhythm].get(number, "") for number in range(len(students))),
        )
        for rhythm, title in titles.items()
        if rhythm in begun
    )


def untouched(students: Sequence[StudentFigures]) -> int:
    """Return how many cards the students have that none of them has begun."""
    have = {one.card.rhythm for student in students for one in student.cards}
    return len(have) - len(class_map(students))


def map_lines(students: Sequence[StudentFigures]) -> list[str]:
    """Return the map as text: students by number, a row a card, and what the signs mean."""
    numbers = range(1, len(students) + 1)
    tens = "".join(str(n // 10 % 10) if n % 10 == 0 else " " for n in numbers)
    ones = "".join(str(n % 10) for n in numbers)
    lines = [f"{n:>3}  {one.label}" for n, one in zip(numbers, students, strict=True)]
    lines += ["", f"{'':<{_TITLE_WIDTH}}  {tens}", f"{'':<{_TITLE_WIDTH}}  {ones}"]
    lines += [
        f"{_short(row.title):<{_TITLE_WIDTH}}  "
        f"{''.join(SIGNS.get(kind, ' ') for kind in row.kinds)}"
        for row in class_map(students)
    ]
    rest = untouched(students)
    lines += [f"and {counted(rest, 'card')} that nobody has begun"] if rest else []
    return [*lines, "", LEGEND]


def _short(title: str) -> str:
    return title if len(title) <= _TITLE_WIDTH else f"{title[: _TITLE_WIDTH - 1]}…"
