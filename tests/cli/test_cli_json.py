"""docs/json.md says what is printed with ``--json``, and nothing else is."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import pytest

from drillbox.cli.main import drillbox, run

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from drillbox.deckfile import Deck

    Say = Callable[..., str]

PAGE = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")
SECTIONS = {
    heading: set(re.findall(r"^\| `([^`]+)` \|", body, re.MULTILINE))
    for heading, body in re.findall(
        r"^## `drillbox ([^`]+)`\n(.*?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL
    )
}
ASSIGNMENT = '\n[[assignment]]\ncards = ["e"]\nby = 2999-01-01\ngoal = 80\n'
DATED = re.compile(r"\d{4}-\d\d-\d\d")


def fields(value: Any, at: str = "") -> Iterator[str]:
    """Give the path of every leaf, as the page writes them; an empty list and null are leaves."""
    if isinstance(value, dict):
        for key, inner in value.items():
            shown = "DAY" if DATED.fullmatch(key) else "MINUTES" if key.isdigit() else key
            shown = "STATE" if at == "states" else shown
            yield from fields(inner, f"{at}.{shown}".lstrip("."))
    elif isinstance(value, list) and value:
        for inner in value:
            yield from fields(inner, f"{at}[]")
    elif isinstance(value, list):
        yield f"{at}[]"
    else:
        yield at


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a box that has all kinds of things in it, and a deck file."""
    return tmp_path_factory.mktemp("json")


@pytest.fixture
def say(lived: Path, small_deck: Deck, capfd: pytest.CaptureFixture[str]) -> Say:
    """Return a caller of commands with ``--json`` on that box, which is filled the first time."""

    def call(*words: str) -> str:
        assert run(["--box", str(lived / "player.box"), *words]) in {0, 6}
        return capfd.readouterr().out

    if not (lived / "player.box").exists():
        (lived / "first.toml").write_text(small_deck.text + ASSIGNMENT, encoding="utf-8")
        call("decks", "add", str(lived / "first.toml"))
        for take in ("e 70 clean", "a 60 steady", "e 80 automatic"):
            call("record", *take.split(), "--sure")
    return call


COMMANDS = {
    "today": "today",
    "record CARD BPM GRADE, CARD BPM GRADE": "record e 80 steady, a 60 shaky --sure",
    "why CARD": "why e",
    "cards": "cards",
    "card CARD": "card e",
    "decks": "decks",
    "family DECK": "family doubles",
    "path": "path",
    "path DECK": "path first-ghosts",
    "vocabulary": "vocabulary",
    "year": "year",
    "ahead": "ahead --days 7",
    "learn": "learn",
    "learn --report": "learn --report",
    "checkup": "checkup",
}


@pytest.mark.parametrize("heading", COMMANDS)
def test_the_page_lists_what_is_printed(heading: str, say: Say) -> None:
    """Every field has its line; a line may stand for more than this box has, under an empty one."""
    printed = set(fields(json.loads(say(*COMMANDS[heading].split(), "--json"))))
    empty = {path.removesuffix("[]") for path in printed}
    described = SECTIONS[heading]

    unsaid = {path for path in printed if path not in described}
    assert set() == {path for path in unsaid if not _holds_more(path, described)}
    assert set() == {
        path for path in described - printed if not any(path.startswith(e) for e in empty)
    }


def _holds_more(path: str, described: set[str]) -> bool:
    """Whether a path that is empty here is described by what may be in it."""
    return any(line != path and line.startswith(path.removesuffix("[]")) for line in described)


def test_every_command_that_prints_json_is_on_the_page() -> None:
    """A new ``--json`` wants a section."""
    named = {word for heading in SECTIONS for word in heading.split()[:1]}
    more = set(re.findall(r"`drillbox (\w+)`", PAGE))
    for name in drillbox.list_commands(click.Context(drillbox)):
        command = drillbox.get_command(click.Context(drillbox), name)
        assert command is not None
        prints = any("--json" in parameter.opts for parameter in command.params)
        assert not prints or name in named | more, name


def test_a_card_is_a_path_of_its_own(say: Say) -> None:
    """``path "e of 2"`` finds the deck that has it, in the box or among the starters."""
    found = json.loads(say("path", "e of 2", "--json"))

    assert "e of 2" == found["steps"][-1][0]["title"]
