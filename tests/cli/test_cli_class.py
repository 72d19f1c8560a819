"""A teacher's commands: a class in every form, a report for parents, a reply and its way."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from typing import TYPE_CHECKING

import pytest
from cli_kit import Player

from drillbox.box import Box
from drillbox.cli.replying import names_reply
from drillbox.memory import Grade

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.deckfile import Deck


@pytest.fixture
def handed_in(player: Player, small_deck: Deck) -> Path:
    """Return a folder with the files of Mia and of Ben, and one that cannot be read."""
    folder = player.path.parent / "handed-in"
    folder.mkdir()
    for name in ("Mia", "Ben"):
        with Box.open(folder.parent / f"{name}.box", clock=player.clock) as box:
            box.put_deck(small_deck, at=player.clock.now())
            for bpm in (70, 75):
                at = player.clock.now()
                box.record(box.find("e"), bpm=bpm, grade=Grade.CLEAN, at=at, seconds=60)
        one = Player.on(player, folder.parent / f"{name}.box")
        assert 0 == one("progress", "export", str(folder / f"{name}.jsonl"), "--name", name).code
    (folder / "x.jsonl").write_text("nonsense")
    (folder / "notes.txt").write_text("mine")
    return folder


def test_a_class_is_shown_in_every_form(player: Player, handed_in: Path) -> None:
    """The same students in each; what cannot be read is left out, and said."""
    values = player("studio", str(handed_in), "--json")
    people = {one["name"] for one in json.loads(values.out)}
    assert {"Mia", "Ben"} == people
    assert 1 == len(values.err.splitlines())
    assert "x.jsonl" in values.err
    table = csv.DictReader(io.StringIO(player("studio", str(handed_in), "--csv").out))
    assert people <= {cell for row in table for cell in row.values()}
    for form in ((), ("--map",)):
        out = player("studio", str(handed_in), *form).out
        assert all(name in out for name in people)
    page = handed_in / "studio.html"
    for _ in range(2):
        assert f"Written: {page}\n" in player("studio", str(handed_in), "--html", str(page)).err
    assert all(name in page.read_text(encoding="utf-8") for name in people)


def test_folders_are_groups_where_there_are_several(player: Player, handed_in: Path) -> None:
    """One alone is none; a file is filed under nothing."""
    other = handed_in.parent / "friday"
    other.mkdir()
    (handed_in / "Ben.jsonl").rename(other / "Ben.jsonl")
    (handed_in / "x.jsonl").unlink()

    def groups(*sources: Path) -> set[str]:
        values = json.loads(player("studio", *map(str, sources), "--json").out)
        return {one.get("group") or "" for one in values}

    assert {"handed-in", "friday"} == groups(handed_in, other)
    assert {""} == groups(handed_in)
    assert {"handed-in", ""} == groups(handed_in, other / "Ben.jsonl")
    assert 4 == player("studio", str(handed_in.parent / "none")).code


@pytest.mark.parametrize(("days", "is_read"), [(0, True), (1, True), (2, False)])
def test_a_student_may_be_a_day_ahead(
    player: Player, handed_in: Path, days: int, *, is_read: bool
) -> None:
    """East of the teacher it is tomorrow; the day after is a wrong clock."""
    player.clock.forward(days=-days)
    said = player("studio", str(handed_in / "Mia.jsonl"))
    assert is_read == (said.code == 0)
    assert is_read or "it is of the future: it tells of 2026-03-02" in said.err


def test_a_report_to_parents_is_no_music(player: Player, handed_in: Path) -> None:
    """As text here or in a new file; it wants a name, and a form that can be read."""
    folder = str(handed_in)
    printed = player("studio", folder, "--parents", "Mia").out
    out = handed_in / "mia.txt"
    first, again = (player("studio", folder, "--parents", "Mia", "-o", str(out)) for _ in range(2))
    assert (f"Written: {out}\n", "") == (first.out, again.out)
    assert "the file exists already" in again.err
    assert printed.split() == out.read_text(encoding="utf-8").split()
    for words, what in (
        (("-o", str(out)), "-o is for a report to parents"),
        (("--parents", "Mia", "-o", "x.mid"), "has no music"),
        (("--parents", "Mia", "-o", "x.musicxml"), "has no music"),
    ):
        said = player("studio", folder, *words)
        assert (2, True) == (said.code, what in said.err)


def test_a_reply_is_taken_in_by_the_one_it_is_for(player: Player, handed_in: Path) -> None:
    """Written under the student's name, known by what it is, told when it is taken in."""
    out = handed_in.parent / "mia.reply"
    words = ("--to", "Mia", "--note", "Lower.", "--want", "e of every=84", "--by", "2026-03-20",
             "--from", "Mr. K", "-o", str(out))  # fmt: skip
    said = player("reply", str(handed_in), *words)
    assert said.out.startswith(f"Written: {out}\n")
    mia, ben = (Player.on(player, handed_in.parent / f"{name}.box") for name in ("Mia", "Ben"))
    taken = mia("decks", "add", str(out)).out
    assert taken.startswith("A reply from your teacher:\n")
    assert mia("decks", "add", str(out)).out.startswith("This reply was taken in already:\n")
    assert all(f"  {line}\n" in taken for line in said.out.splitlines()[1:])
    assert 4 == ben("decks", "add", str(out)).code
    (note,) = mia.values("today")["notes"]
    assert {"text": "Lower.", "from": "Mr. K", "day": "2026-03-02", "by": "2026-03-20"} == note
    heading = mia("today").out.splitlines()[0]
    assert "Mr. K, Mon 2 Mar; wanted by Fri 20 Mar: Lower." == heading
    assert {"by": "2026-03-20", "goal_bpm": 84.0} == mia.values("card", "e")["asked_for"]
    assert date(2026, 3, 20) > player.clock.now().date()
    assert [True, False, False, False, False] == [
        names_reply(str(path))
        for path in (out, handed_in / "Mia.jsonl", handed_in, handed_in / "none",
                     written_as(out, "reply.toml"))
    ]  # fmt: skip


def written_as(path: Path, name: str) -> Path:
    """Return a copy of a file under another name."""
    copy = path.with_name(name)
    copy.write_bytes(path.read_bytes())
    return copy
