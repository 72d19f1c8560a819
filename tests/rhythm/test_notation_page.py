"""The page on the notation: every example is read, every drawing drawn, every answer given."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

from drillbox.errors import NotationError
from drillbox.rhythm import Voice, draw, fingerprint, grid_names, parse, parse_meter, syllables

PAGE = (Path(__file__).parents[2] / "docs" / "notation.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
ANSWERS = re.findall(r"^\| `([^`]+)` \| (line \d.*) \|$", PAGE, re.MULTILINE)


def blocks(kind: str) -> list[str]:
    """Return the blocks of one kind."""
    return [text for name, text in BLOCKS if name == kind]


def test_every_example_is_a_pattern() -> None:
    """What the page shows as a pattern can be read, and has strokes."""
    assert 9 == len(blocks("pattern"))
    assert all(parse(text).strokes for text in blocks("pattern"))


def test_every_drawing_is_of_the_pattern_before_it() -> None:
    """A drawing in the page is what the program draws."""
    last = ""
    for kind, text in BLOCKS:
        if kind == "drawing":
            assert text == draw(parse(last))
        last = text if kind == "pattern" else last


@pytest.mark.parametrize(("written", "answer"), ANSWERS)
def test_every_answer_is_given(written: str, answer: str) -> None:
    """The table of errors says what the program says."""
    with pytest.raises(NotationError) as caught:
        parse(written)
    assert answer == str(caught.value)


def test_the_table_of_errors_is_found() -> None:
    """The table is there to be tested."""
    assert len(ANSWERS) >= 5


def test_the_counts_of_every_grid() -> None:
    """Each row of the table of grids lists that grid's syllables in time, the beat as 1."""
    for name, slots in grid_names(parse_meter("4/4")).items():
        row = re.search(rf"^\| `{name}` \| `([^`]+)`", PAGE, re.MULTILINE)
        counts = [s or "1" for s in syllables(slots) if s != "&" or slots != 3]
        assert row is not None
        assert counts == row[1].split()


def test_the_canonical_form_is_the_fingerprints() -> None:
    """The text that the page hashes is that of the pattern below it, and gives the id it names."""
    (form,) = blocks("canonical")
    digest = hashlib.sha256(form.rstrip("\n").encode("ascii")).hexdigest()[:16]

    assert f"`{digest}`" in PAGE
    assert digest == fingerprint(parse(blocks("pattern")[-1]))


def test_the_grammar_knows_every_word() -> None:
    """Each voice, grid and syllable is a terminal of the grammar."""
    (grammar,) = blocks("ebnf")
    terminals = set(re.findall(r'"([^"]+)"', grammar))
    spoken = {name for slots in (2, 3, 4, 6, 8) for name in syllables(slots) if name}

    assert {*map(str, Voice), *grid_names(parse_meter("4/4")), *spoken} <= terminals
