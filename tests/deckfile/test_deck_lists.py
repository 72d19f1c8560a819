"""Lists that multiply, and what is said where one cannot be read: place, reading, remedy."""

from __future__ import annotations

import pytest

from drillbox.deckfile import check
from drillbox.rhythm import BASS_LINES, TIME_LINES

HEAD = """\
[deck]
id = "d"
title = "d"
[groove]
hat = "beat &"
snare = ">2 >4"
bass = "1 3"
[[family]]
id = "s"
"""


def quoted(names: dict[str, object]) -> str:
    """Return names as they are written in a deck."""
    return ", ".join(f'"{name}"' for name in names)


@pytest.mark.parametrize(
    ("line", "answer"),
    [
        (
            'basses = ["home", "hom"]',
            (
                "d:10:19: no line 'hom'; write one of: "
                f"{quoted({**BASS_LINES['16']})}; or a line in spoken notation."
            ),
        ),
        (
            'times = ["quarter"]',
            (
                "d:10:10: no line 'quarter'; write one of: "
                f"{quoted({**TIME_LINES})}; or a line in spoken notation."
            ),
        ),
        (
            'basses = "home"',
            'd:10:10: basses is a text; write an array of texts: basses = ["..."].',
        ),
        ("places = [3]", 'd:10:11: a whole number in places; write a text: "...".'),
        (
            'grid = "8t"\nbasses = ["late"]',
            (
                "d:11:11: no line 'late'; write one of: "
                f"{quoted({**BASS_LINES['8t']})}; or a line in spoken notation."
            ),
        ),
        (
            'ornament = "open"',
            "d:10:12: 'open' is no ornament; write one of: double, buzz, flam, drag.",
        ),
    ],
)
def test_a_list_that_cannot_be_read_is_said_once(line: str, answer: str) -> None:
    """One mistake is one sentence, with what may stand there; only a hat can be open."""
    assert [answer] == [str(problem) for problem in check(f"{HEAD}{line}\n", name="d")]


def test_what_all_cards_of_a_family_wait_for_is_said_once() -> None:
    """Not once for each card."""
    (problem,) = check(f'{HEAD}after = ["zz"]\nlowest = 60\n', name="d")

    assert "d:10:10: after names no card: 'zz'; name the id of a card of this deck." == str(problem)
