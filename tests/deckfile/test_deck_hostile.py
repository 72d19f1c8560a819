"""Hostile deck files: refused in good time, with a sentence, whatever is in them."""

from __future__ import annotations

import time
import tomllib
from typing import TYPE_CHECKING

import pytest
from examples import examples
from hypothesis import given
from strategies import damaged, laid_out_toml

from drillbox.deckfile import MAX_BYTES, check, parse_deck, starter_decks
from drillbox.deckfile.places import Places
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from drillbox.deckfile.places import Path, Place

SHORT_DECK = """\
[deck]
id = "d"
title = "d" # a remark
about = '''two
lines'''
[groove]
hat = "beat &"
[[card]]
id = "one"
title = 'one'
snare = "(e) >2"
after = ["two", ]
[[card]]
id = "two"
title = "two"
without = ["hat"]
snare = '''
(t)
'''
grid = "8t | 16"
"""

HOSTILE = {
    "endless dotted key": "a" + ".a" * (MAX_BYTES // 2 - 10) + "=1",
    "endless dotted header": "[a" + ".a" * (MAX_BYTES // 2 - 10) + "]",
    "endless quoted key": "'a'" + ".'a'" * (MAX_BYTES // 4 - 10) + "=1",
    "many dotted keys": "\n".join(f"b{i}{'.a' * 100}=1" for i in range(5000)),
    "endless key in a table": "x={a" + ".a" * (MAX_BYTES // 2 - 10) + "=1}",
    "deep arrays": "x=" + "[" * (MAX_BYTES - 2),
    "deep closed arrays": "x=" + "[" * 5000 + "]" * 5000,
    "nearly too deep": "x=" + "[" * 300 + "]" * 300,
    "deep tables": "x=" + "{a=" * (MAX_BYTES // 3 - 2),
    "endless number": "x=" + "1" * (MAX_BYTES - 2),
    "endless fraction": "x=1." + "1" * (MAX_BYTES - 4),
    "endless array": "x=[" + "1," * (MAX_BYTES // 2 - 3) + "]",
    "open quotes": 'x="""' + '"' * (MAX_BYTES - 5),
    "commas and quotes": "x=" + ',"' * (MAX_BYTES // 2 - 2),
    "blanks": "a" + " " * (MAX_BYTES - 1),
    "escapes": 'x="' + "\\n" * (MAX_BYTES // 2 - 3) + '"',
    "many tables": "".join(f"[a{i}]\n" for i in range(MAX_BYTES // 10)),
    "many keys": "".join(f"k{i}=1\n" for i in range(MAX_BYTES // 12)),
    "control characters": "x='\x00'",
    "lone surrogate": "x='\ud800'",
    "many bars": "[deck]\nid='d'\ntitle='d'\n[[card]]\nid='c'\ntitle='c'\nhat='"
    + "|1" * 500_000
    + "'",
    "many tokens": "[deck]\nid='d'\ntitle='d'\n[[card]]\nid='c'\ntitle='c'\nhat='"
    + "1 " * 500_000
    + "'",
    "many cards of one stroke": "[deck]\nid='d'\ntitle='d'\n"
    + "".join(f"[[card]]\nid='c{i}'\ntitle='c'\nsnare='1'\n" for i in range(19_000)),
    "empty cards": "[deck]\nid='d'\ntitle='d'\n" + "[[card]]\n" * 110_000,
    "array of tables": "x=[" + "{a=1}," * 170_000 + "]",
    "remarks": "#\n" * (MAX_BYTES // 2),
    "a groove of eighteen thousand strokes": SHORT_DECK.partition("[groove]")[0]
    + "[groove]\ngrid='32'\n"
    + "".join(
        f"{voice}='{'|'.join(['beat . e e. & &. a a.'] * 64)}'\n"
        for voice in ("hat", "ride", "crash", "snare", "rim", "tom", "floor", "bass", "pedal")
    )
    + "".join(f"[[card]]\nid='c{i}'\ntitle='c'\ntom='(2)'\n" for i in range(9_900)),
    "a groove drawn out by every card": SHORT_DECK.partition("[groove]")[0]
    + "[groove]\ngrid='32'\nhat='beat . e e. & &. a a.'\nbass='beat . e e. & &. a a.'\n"
    + "".join(
        f"[[card]]\nid='c{i}'\ntitle='c'\nsnare='{'|'.join(['1'] * 64)}'\n" for i in range(4_000)
    ),
    "families of thousands": SHORT_DECK
    + "[[family]]\nid='f'\ngrid='16'\nper='bar'\ncount=[1, 2, 3, 4, 5]\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_are_refused_in_good_time(name: str) -> None:
    """A mebibyte made to keep a reader busy, or to make it fall over, gives a sentence.

    Alone on a machine it takes less than a second (tests/bench/fuzz_readers.py); here there is room
    for a busy one that watches every line. What this guards against takes hours.
    """
    before = time.process_time()
    with pytest.raises(DeckError, match=r"^d.toml:\d+:\d+: "):
        parse_deck(HOSTILE[name], name="d.toml")

    assert time.process_time() - before < 30


@pytest.mark.parametrize("make", ["[{}]", "{{a={}}}", "[{{a={}}}]"])
def test_no_depth_is_too_much(make: str) -> None:
    """Whatever the depth, even where the standard reader just manages, the answer is a sentence."""
    for depth in range(150, 520):
        left, right = make.format("\0").split("\0")
        text = "x=" + left * depth + "1" + right * depth
        assert check(text, name="d.toml")


@examples(300)
@given(damaged(SHORT_DECK))
def test_a_damaged_deck_is_read_or_refused(text: str) -> None:
    """Cut, doubled and overwritten anywhere, a deck is read, or refused with a place inside it."""
    found = check(text, name="d.toml")
    if not found:
        assert text == parse_deck(text, name="d.toml").text
        return
    lines = text.replace("\r\n", "\n").split("\n")
    for error in found:
        name, line, column = error.where.split(":")
        assert "d.toml" == name
        assert 1 <= int(line) <= len(lines)
        assert 1 <= int(column) <= len(lines[int(line) - 1]) + 1


@examples(20)
@given(damaged(starter_decks()[0].source.read_text(encoding="utf-8")))
def test_a_damaged_starter_deck_is_read_or_refused(text: str) -> None:
    """The same with a deck of full size; nothing but a DeckError comes out."""
    found = check(text, name="d.toml")

    assert sorted(found, key=place) == list(found)


def place(error: DeckError) -> tuple[int, int]:
    """Return a complaint's line and column."""
    _, line, column = error.where.split(":")
    return int(line), int(column)


@examples(200)
@given(laid_out_toml())
def test_places_agree_with_the_standard_reader(text: str) -> None:
    """Whatever the layout, each value that tomllib finds stands where `Places` says."""
    places = Places(text)
    lines = text.split("\n")

    def rest(at: Place) -> str:
        return lines[at.line - 1][at.column - 1 :]

    def walk(value: object, path: Path) -> None:
        if isinstance(value, dict):
            for key, inner in value.items():
                walk(inner, (*path, key))
        elif isinstance(value, list):
            for index, inner in enumerate(value):
                walk(inner, (*path, index))
        else:
            is_text = isinstance(value, str)
            written = rest(places.content(path) if is_text else places.value(path))
            assert written.startswith(str(value).split("\n", maxsplit=1)[0])
            key = str(path[-2] if path[-1] == "x" else path[-1])
            assert isinstance(path[-1], int) or rest(places.key(path)).lstrip("\"'").startswith(key)

    walk(tomllib.loads(text), ())
