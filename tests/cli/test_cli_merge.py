"""Two machines at the command line: by file, by shared folder, any number of times."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING

import pytest
from hostile_rows import alter

from drillbox.cli.main import run

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from drillbox.deckfile import Deck

    On = Callable[..., tuple[int, str, str]]


@pytest.fixture
def on(tmp_path: Path, small_deck: Deck, capfd: pytest.CaptureFixture[str]) -> On:
    """Return a caller of commands on the box of a machine, which has the small deck."""
    deck = tmp_path / "first.toml"
    deck.write_text(small_deck.text, encoding="utf-8")

    def call(machine: str, *words: str) -> tuple[int, str, str]:
        path = tmp_path / machine
        if not path.exists():
            path.parent.mkdir(exist_ok=True)
            run(["--box", str(path), "decks", "add", str(deck)])
            capfd.readouterr()
        code = run(["--box", str(path), *words])
        out, err = capfd.readouterr()
        return code, out, err

    return call


def takes(on: On, machine: str) -> list[tuple[str, float]]:
    """Return what a machine knows of the takes: card and tempo."""
    cards = json.loads(on(machine, "cards", "--json")[1])
    shown = [json.loads(on(machine, "card", c["card_id"], "--json")[1]) for c in cards]
    return sorted((c["title"], take["bpm"]) for c in shown for take in c["history"])


def test_two_boxes_meet_by_a_file(on: On, tmp_path: Path) -> None:
    """The laptop takes the desktop's takes in, once.

    The desktop's file stays as it was, byte by byte.
    """
    on("laptop.box", "record", "e", "70", "steady")
    on("desktop.box", "record", "e", "80", "clean")
    on("desktop.box", "record", "a", "60", "shaky")
    other = tmp_path / "desktop.box"
    before = other.read_bytes()
    first = on("laptop.box", "merge", str(other))
    again = on("laptop.box", "merge", str(other))

    assert (0, f"{other}: new entries: 2; wishes and settings taken over: 0.\n", "") == first
    assert "new entries: 0; wishes and settings taken over: 0" in again[1]
    assert [70.0, 80.0] == [bpm for title, bpm in takes(on, "laptop.box") if title.startswith("e")]
    assert before == other.read_bytes()


def test_both_ways_both_machines_say_the_same(on: On, tmp_path: Path) -> None:
    """After one merge with --both the two logs are one.

    And the other's box was backed up by its own rules.
    """
    on("laptop.box", "record", "e", "70", "steady")
    on("desktop.box", "record", "a", "60", "shaky")
    code, out, _ = on("laptop.box", "merge", str(tmp_path / "desktop.box"), "--both")

    assert 0 == code
    assert "entries given: 1;" in out
    assert takes(on, "laptop.box") == takes(on, "desktop.box")
    assert on("laptop.box", "export", "-")[1] == on("desktop.box", "export", "-")[1]


def test_a_shared_folder_joins_everything_in_it(on: On, tmp_path: Path) -> None:
    """Boxes and logs, the machine's own box among them.

    With --both each of them ends with all of it.
    """
    for number, machine in enumerate(("shared/a.box", "shared/b.box", "elsewhere.box")):
        on(machine, "record", "e", str(70 + number), "steady")
    log = tmp_path / "shared" / "c.jsonl"
    on("elsewhere.box", "export", str(log))
    (tmp_path / "shared" / "notes.txt").write_text("not mine", encoding="utf-8")
    code, out, _ = on("shared/a.box", "merge", str(tmp_path / "shared"), "--both")

    assert 0 == code
    assert ["b.box", "c.jsonl"] * 2 == [
        line.split(":")[0].rpartition("/")[2] for line in out.splitlines()
    ]
    assert 5 == len(log.read_text(encoding="utf-8").splitlines())
    assert [70.0, 71.0, 72.0] == [bpm for _, bpm in takes(on, "shared/b.box")]
    on("elsewhere.box", "merge", str(log))
    assert on("elsewhere.box", "export", "-")[1] == log.read_text(encoding="utf-8")


def test_an_empty_folder_becomes_a_shared_one(on: On, tmp_path: Path) -> None:
    """--both puts the first box there, and a second machine finds its takes in it."""
    shared = tmp_path / "shared"
    shared.mkdir()
    on("laptop.box", "record", "e", "70", "steady")
    on("desktop.box", "record", "e", "80", "steady")
    first = on("laptop.box", "merge", str(shared), "--both")
    second = on("desktop.box", "merge", str(shared), "--both")
    third = on("laptop.box", "merge", str(shared), "--both")

    assert [0, 0, 0] == [first[0], second[0], third[0]]
    assert [70.0, 80.0] == [bpm for _, bpm in takes(on, "desktop.box")]
    assert takes(on, "desktop.box") == takes(on, "laptop.box")


@pytest.mark.parametrize("both", [(), ("--both",)])
def test_a_damaged_file_in_a_shared_folder_keeps_nobody_else_out(
    on: On, tmp_path: Path, both: tuple[str, ...]
) -> None:
    """One machine's box is cut, one brings nonsense, a log is none: they are named and left out.

    Nothing is given to them either, and the exit code says of what kind the first refusal was.
    """
    shared = tmp_path / "shared"
    for number, machine in enumerate(("shared/a.box", "shared/z.box", "shared/y.box")):
        on(machine, "record", "e", str(70 + number), "steady")
    alter(shared / "y.box", "INSERT INTO setting VALUES ('days', '\"FREQ=SECONDLY\"',"
          " '2026-01-01T00:00:00.000000Z')")  # fmt: skip
    left = {"b.box": (shared / "z.box").read_bytes()[:5000], "c.jsonl": b"junk",
            "y.box": (shared / "y.box").read_bytes()}  # fmt: skip
    for name, content in left.items():
        (shared / name).write_bytes(content)
    code, out, err = on("mine.box", "merge", str(shared), *both)

    assert 6 == code
    assert ["a.box", "z.box"] * (1 + len(both)) == [
        line.split(":")[0].rpartition("/")[2] for line in out.splitlines()
    ]
    assert [70.0, 71.0] == [bpm for _, bpm in takes(on, "mine.box")]
    assert 3 == err.count("drillbox: left out: ")
    assert f"left out: {shared / 'y.box'}: days: the other box has a setting" in err
    assert left == {name: (shared / name).read_bytes() for name in left}


def test_differences_are_settled_by_the_newest_and_told(on: On, tmp_path: Path) -> None:
    """Each machine had its own minutes.

    The later choice stands on both, and each says where it came from.
    """
    on("laptop.box", "set", "minutes", "20")
    on("desktop.box", "set", "minutes", "30")
    here = on("laptop.box", "merge", str(tmp_path / "desktop.box"))[1]
    shutil.copy(tmp_path / "desktop.box", tmp_path / "copy.box")
    there = on("desktop.box", "merge", str(tmp_path / "laptop.box"))[1]

    assert "minutes: 30, set there on " in here
    assert "stands over 20" in here
    assert "wishes and settings taken over: 0" in there


def test_takes_without_a_deck_are_pointed_out(on: On, tmp_path: Path) -> None:
    """They are in the log and wait for their deck; standard output stays data."""
    on("desktop.box", "record", "e", "80", "clean")
    on("laptop.box", "decks", "remove", "first-ghosts")
    _, out, err = on("laptop.box", "merge", str(tmp_path / "desktop.box"))

    assert "new entries: 1;" in out
    assert "Cards with takes that are in no deck of this box: 1;" in err


@pytest.mark.parametrize(
    ("name", "code", "sentence"),
    [
        ("mine.box", 2, "this is the box itself"),
        ("missing.box", 4, "the file cannot be read"),
        ("empty", 2, "no other box and no log"),
        ("text.jsonl", 4, "text.jsonl:1: this is no take log"),
        ("foreign.box", 6, "a file of another program"),
    ],
)
def test_what_cannot_be_merged_is_one_sentence(
    on: On,
    tmp_path: Path,
    name: str,
    code: int,
    sentence: str,
) -> None:
    """Nothing comes in, and the code says of what kind the refusal is."""
    import sqlite3
    from contextlib import closing

    on("mine.box", "record", "e", "80", "clean")
    (tmp_path / "empty").mkdir()
    (tmp_path / "text.jsonl").write_text('{"a": 1}\n', encoding="utf-8")
    with closing(sqlite3.connect(tmp_path / "foreign.box")) as db:
        db.execute("CREATE TABLE plants (name)")
    said = on("mine.box", "merge", str(tmp_path / name))

    assert code == said[0]
    assert sentence in said[2]
    assert 1 == len(said[2].splitlines())
    assert 1 == len(takes(on, "mine.box"))


def test_what_other_parts_keep_as_settings_is_told_in_words(on: On, tmp_path: Path) -> None:
    """The name on progress files, and what a changed rhythm carries on: there the earlier stands.

    Neither an id nor a bare object is printed.
    """
    from datetime import UTC, datetime

    from drillbox.box import Box

    for day, machine in enumerate(("laptop.box", "desktop.box"), start=1):
        on(machine, "set", "hands-free", "on")
        with Box.open(tmp_path / machine) as box:
            at = datetime(2026, 3, day, tzinfo=UTC)
            first, *others = [card.card_id for card in box.cards(at=at)]
            box.archive.put_setting("student", {"id": f"{day:032x}", "name": f"Mia {day}"}, at)
            box.archive.put_setting(f"heir/{first}", others[day], at)
    out = on("laptop.box", "merge", str(tmp_path / "desktop.box"))[1]

    assert "student: Mia 2, set there on 2026-03-02T00:00:00+00:00, stands over Mia 1" in out
    carried = "what e of every beat carries on: e and a of every beat, set here on 2026-03-01"
    assert carried in out
    assert "stands over a of every beat, doubled" in out


def test_a_link_that_leads_to_itself_is_no_file_to_merge(on: On, tmp_path: Path) -> None:
    """As for every other file that cannot be read: the code of a log, and what to do."""
    loop = tmp_path / "loop"
    loop.symlink_to(loop)
    code, _, err = on("laptop.box", "merge", str(loop))
    assert 4 == code
    assert err.endswith("check the path.\n")
