"""What comes from outside and makes no sense stops at the door.

One sentence, and nothing is taken in.

Logs, other machines' boxes, deck files. After each refusal every command works as before.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from conftest import MORNING, SMALL_DECK

from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.cli.main import run

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Say

HEAD = {"format": "drillbox take log", "version": 2}
TAKE = {
    "kind": "take", "id": "ab" * 16, "card": "0", "bpm": 80.0, "grade": 1,
    "at": "2026-03-01T10:00:00.000000Z", "zone": "UTC", "seconds": 30.0, "source": "self",
}  # fmt: skip


@pytest.fixture
def say(say: Say, small_box: Path) -> Say:
    """Return a caller of commands on a box with a small deck."""
    return say


def state(say: Say) -> list[tuple[int, str, str]]:
    """Return what the box says of itself."""
    return [say("export", "-"), say("set", "--json"), say("decks", "--json")]


def refused(say: Say, *words: str, code: int, what: str) -> None:
    """Check that a command is refused in one sentence, and leaves the box as it was."""
    before = state(say)
    got, out, err = say(*words)

    assert (code, "") == (got, out)
    assert 1 == len(err.splitlines())
    assert what in err
    assert before == state(say)
    assert 0 == say("today")[0]


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"zone": "+99:99"}, "zone is '+99:99'"),
        ({"zone": "+24:00"}, "zone is"),
        ({"zone": "x" * 300}, "zone is"),
        ({"at": "0001-01-01T00:00:00.000000Z"}, "at is"),
        ({"at": "9999-12-31T23:59:59.999999Z"}, "at is"),
        ({"measures": {"expected_bpm": 1e300, "expected_sd": 0.2}}, "expected_bpm is"),
        ({"measures": {"expected_bpm": 90, "expected_sd": -1}}, "expected_sd is"),
        ({"measures": {"expected_bpm": "fast"}}, "expected_bpm is"),
        ({"measures": {"said": "\ud800"}}, "measures has half a character"),
        ({"source": "\udfff"}, "source is"),
        ({"bpm": 1e308}, "bpm is"),
        ({"bpm": True}, "bpm is"),
        ({"grade": 3}, "grade is"),
        ({"seconds": -1}, "seconds is"),
        ({"seconds": 10**400}, "seconds is a huge number"),
        ({"card": "../../../etc"}, "card_id is"),
        ({"id": "AB" * 16}, "id is"),
    ],
)
def test_a_take_that_makes_no_sense_is_refused_with_its_line(
    changes: dict[str, Any], what: str, say: Say, tmp_path: Path
) -> None:
    """A good take before it is not taken in either; neither import nor merge lets it pass."""
    good = TAKE | {"card": "0" * 16}
    lines = [HEAD, good, good | {"id": "cd" * 16} | changes, {"kind": "end", "lines": 2}]
    path = tmp_path / "takes.jsonl"
    path.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    for words in (("import", str(path)), ("merge", str(path))):
        refused(say, *words, code=4, what=f"takes.jsonl:3: {what}")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-1e999", "1e999"])
def test_no_number_is_no_tempo(number: str, say: Say, tmp_path: Path) -> None:
    """Numbers that are none are refused where they stand."""
    take = json.dumps(TAKE | {"card": "0" * 16}).replace("80.0", number)
    path = tmp_path / "takes.jsonl"
    path.write_text(f"{json.dumps(HEAD)}\n{take}\n", encoding="utf-8")

    refused(say, "import", str(path), code=4, what="takes.jsonl:2: this is not JSON: ")


@pytest.mark.parametrize("bytes_lost", [1, 2, 20, 30, 200])
def test_a_cut_export_is_refused(bytes_lost: int, say: Say, tmp_path: Path) -> None:
    """However much of its end is missing; the whole one is taken in, and so is an old one."""
    whole = tmp_path / "whole.jsonl"
    say("record", "e", "80", "clean")
    say("record", "a", "70", "steady")
    say("export", str(whole))
    cut = tmp_path / "cut.jsonl"
    cut.write_bytes(whole.read_bytes()[: -1 - bytes_lost])
    lines = whole.read_text(encoding="utf-8").splitlines()
    old = tmp_path / "old.jsonl"
    old.write_text("\n".join([lines[0].replace("2}", "1}"), *lines[1:-1]]), encoding="utf-8")

    refused(say, "import", str(cut), code=4, what="cut short")
    assert 0 == say("import", str(whole))[0]
    assert 0 == say("import", str(old))[0]


@pytest.mark.parametrize(
    ("key", "value", "what"),
    [
        ("days", "FREQ=WEEKLY;INTERVAL=0", "has no interval of 1 to 366"),
        ("days", "FREQ=SECONDLY", "is finer than a day"),
        ("days", "DTSTART:19970902T000000\nRRULE:FREQ=DAILY", "days cannot be"),
        ("holidays", "now and then", "'now' is no date"),
        ("minutes", 10**9, "minutes cannot be 1000000000; "),
        ("minutes", "15", "minutes cannot be '15'"),
        ("day_ends_at", 99, "day-ends-at cannot be 99"),
        ("click", "cow", "click cannot be 'cow'"),
        ("kit_db", -1000, "kit-db cannot be -1000"),
        ("hands_free", 1, "hands-free cannot be 1"),
        ("leading", ["R"], "leading cannot be ['R']"),
        (f"heir/{'0' * 16}", 7, "a link between cards that makes no sense"),
        ("heir/x", "0" * 16, "a link between cards that makes no sense"),
    ],
)
def test_another_boxes_setting_goes_through_the_checks_of_set(
    key: str, value: object, what: str, say: Say, tmp_path: Path
) -> None:
    """It came there by another way; here it is refused, and named."""
    other = tmp_path / "other.box"
    with Box.open(other, clock=ManualClock(MORNING)) as box:
        box.archive.put_setting(key, value, MORNING)
    before = other.read_bytes()

    for more in ((), ("--both",)):
        refused(say, "merge", str(other), *more, code=4, what=what.split(";", maxsplit=1)[0])
    assert before == other.read_bytes()


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("undo", 0), ("learn", 0), ("rest e", 5), ("wake e", 5), ("goals e --by 5", 5),
        ("record e 80 clean", 5), ("decks remove d", 5), ("decks archive d", 5), ("backup", 6),
        ("import none.jsonl", 4), ("merge none.box", 4), ("decks add none.toml", 4),
        ("set minutes 999", 2), ("progress export", 2),
    ],
)  # fmt: skip
def test_what_only_changes_a_box_makes_none(tmp_path: Path, words: str, code: int) -> None:
    """A path mistyped once would leave an empty box behind, and its folder."""
    assert code == run(["--box", str(tmp_path / "new" / "mistyped.box"), *words.split()])
    assert not (tmp_path / "new").exists()


def test_a_setting_that_makes_no_sense_inside_is_left_at_its_default(tmp_path: Path) -> None:
    """From before there were doors: every question is answered as if it were not there."""
    with Box.open(tmp_path / "old.box", clock=ManualClock(MORNING)) as box:
        usual = box.settings
        for key, value in (("days", "FREQ=SECONDLY"), ("minutes", 10**9), ("click", "cow")):
            box.archive.put_setting(key, value, MORNING)

        assert usual == box.settings
        assert box.next_practice(at=MORNING)


@pytest.mark.parametrize(
    "line",
    [
        f"goal = 1{'0' * 400}",
        f"goal = -1{'0' * 400}",
        "goal = 1e400",
        "goal = nan",
        f"edition = 1{'0' * 400}",
        f"edition = 1{'0' * 6000}",
    ],
)
def test_a_number_without_end_in_a_deck_is_refused(line: str, say: Say, tmp_path: Path) -> None:
    """For the deck, a card, an assignment, a family: line, column, what can be written."""
    key = line.split(maxsplit=1)[0]
    usual = {"goal": "goal = 90", "edition": "edition = 1"}[key]
    deck = tmp_path / "deck.toml"
    deck.write_text(SMALL_DECK.replace(usual, line), encoding="utf-8")
    refused(say, "decks", "add", str(deck), code=4, what="deck.toml:")
    if key == "goal":
        for table in ("assignment", "family", "card"):
            deck.write_text(f"{SMALL_DECK}\n[[{table}]]\n{line}\n", encoding="utf-8")
            assert 4 == say("decks", "check", str(deck))[0]
            refused(say, "decks", "add", str(deck), code=4, what="deck.toml:")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{"format": "drillbox reply", "version": 1, "stu', "a teacher's reply that was cut short"),
        ('{"format": "drillbox take log", "version": 2}\n', "a take log; take it in with"),
        ('{"a": 1}\n', "it looks like JSON; name a deck file"),
        ("<score-partwise>", "it looks like XML; rhythms of MusicXML are read by"),
    ],
)
def test_what_is_no_deck_is_told_by_its_kind(
    text: str, told: str, say: Say, tmp_path: Path
) -> None:
    """Not where the reader of decks stumbled, but what the file seems to be."""
    path = tmp_path / "file.reply"
    path.write_text(text, encoding="utf-8")

    refused(say, "decks", "add", str(path), code=4, what="this is no deck; it looks like ")
    assert told in say("decks", "add", str(path))[2]


def test_a_card_that_is_not_found_is_looked_for_by_words(say: Say) -> None:
    """All words of a title, in any order, tell which cards may be meant."""
    refused(say, "why", "beat every", code=5, what="say which: 'e of every beat', ")
