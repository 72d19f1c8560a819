"""One is one: no sentence of the program says "1 days"."""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parents[1] / "drillbox"
COUNTED = re.compile(
    r" (new |more |fading |other |first |good )?(cards|takes|days|minutes|decks|entries|backups|"
    r"weeks|months|years|students|gaps|passes|bars|files|goals|lines|rhythms|"
    r"strokes(?! a second))\b"
)
ALWAYS_MANY = {
    "app/screens/reply_sheet.py: takes": "a verb",
    "app/stand_words.py: passes": "one pass is said in words",
    "app/words.py: months": "from 100 days on",
    "base/jsonlines.py: lines": "a limit of thousands",
    "box/doubts.py: days": "a month or more",
    "box/doubts.py: years": "more than a year off is doubted",
    "cli/deckfiles.py: decks": "one is no error",
    "deckfile/course.py: weeks": "a span of weeks",
    "deckfile/course.py: cards": "a table of starter decks",
    "ear/measuring.py: minutes": "too long",
    "ear/recordings.py: minutes": "too long",
    "plan/planner.py: minutes": "only where upkeep fills the day",
    "plan/why.py: days": "a day is said in words",
    "plan/why.py: weeks": "from 14 days on",
    "plan/why.py: months": "from 60 days on",
    "report/measured_trends.py: takes": "a habit shows in several",
    "report/own_bands.py: takes": "several, before any band moves",
    "report/time_away.py: days": "two weeks away or more",
    "rhythm/entries.py: bars": "one bar fits",
    "rhythm/notation.py: bars": "one bar fits any",
    "rhythm/pattern.py: bars": "one bar fits any",
    "rhythm/telling.py: bars": "asked for beside it",
    "app/screens/welcome.py: cards": "a table of starter decks",
    "app/screens/welcome.py: decks": "those that ship, nineteen",
    "studio/attention.py: days": "a week or more",
    "studio/text_tables.py: days": "one is yesterday",
    "ear/note_parts.py: minutes": "from two minutes on",
}
"""Where a plural is right, and why."""


def bare_plurals(source: str) -> list[tuple[int, str]]:
    """Return where a number of unknown size stands before a plural; a constant's size is known."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.JoinedStr):
            for value, text in zip(node.values, node.values[1:], strict=False):
                after = text.value if isinstance(text, ast.Constant) else ""
                said = COUNTED.match(str(after))
                if isinstance(value, ast.FormattedValue) and said and not _is_many(value.value):
                    found.append((node.lineno, said[2]))
    return found


def _is_many(value: ast.expr) -> bool:
    return isinstance(value, ast.Name) and value.id.isupper()


def test_every_number_before_a_thing_is_counted() -> None:
    """Sentences say numbers of things by `counted`, or by words chosen for more than one."""
    found = {
        f"{path.relative_to(ROOT).as_posix()}: {said}": line
        for path in sorted(ROOT.rglob("*.py"))
        for line, said in bare_plurals(path.read_text(encoding="utf-8"))
    }

    assert {} == {place: line for place, line in found.items() if place not in ALWAYS_MANY}
    assert set() == ALWAYS_MANY.keys() - found.keys()
