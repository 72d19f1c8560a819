"""Files and folders that a player may not read or write: one sentence, and nothing lost."""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING

import pytest
from file_rights import with_mode

from drillbox.base.files import may_be_read
from drillbox.memory import Grade
from drillbox.store import list_backups
from drillbox.store.boxfile import backup_folder

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Player, Said

HIDDEN, READ_ONLY, READ_ONLY_FILE = 0, 0o555, 0o444


@pytest.fixture
def practised(player: Player) -> Player:
    """Return a player with a take of yesterday and a backup."""
    with player.box() as box:
        box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=player.clock.now(), seconds=40)
    player.clock.forward(days=1)
    assert 0 == player("backup").code
    return player


def refused(said: Said, code: int, *parts: str) -> None:
    """Hold what a command said to one sentence with these parts, and to its code."""
    assert code == said.code, said
    assert said.err.startswith("drillbox: ")
    assert "stopped on an error of its own" not in said.err
    for part in parts:
        assert part in said.err


READS = (
    "today",
    "why e",
    "cards",
    "card e",
    "decks",
    "path first-ghosts",
    "family first-ghosts",
    "year",
    "vocabulary",
    "learn --report",
    "set",
    "checkup",
    "export -",
    "progress export --look",
)
WRITES = (
    "record e 80 clean",
    "goals e --to 100",
    "rest e",
    "decks add first-week",
    "decks remove first-ghosts",
    "set minutes 20",
    "backup",
)


def test_a_read_only_box_answers_all_that_only_asks(practised: Player) -> None:
    """On a stick with the lock switched, or in a folder of the school's.

    A checkup does too, and finds that nothing can be saved there.
    """
    file = practised.path.with_name("mia.jsonl")
    assert 0 == practised("progress", "export", str(file), "--name", "Mia").code
    known = {words: practised(*words.split()).out for words in READS if words != "checkup"}
    folder, backups = practised.path.parent, backup_folder(practised.path)
    with (
        with_mode(practised.path, READ_ONLY_FILE),
        with_mode(backups, READ_ONLY),
        with_mode(folder, READ_ONLY),
    ):
        for words, out in known.items():
            said = practised(*words.split())
            assert (0, out, "") == (said.code, said.out, said.err)


@pytest.mark.parametrize("words", WRITES)
def test_a_read_only_folder_refuses_what_would_write(practised: Player, words: str) -> None:
    """With the code for what is not saved, and what would help."""
    before = practised("export", "-").out
    with (
        with_mode(backup_folder(practised.path), READ_ONLY),
        with_mode(practised.path.parent, READ_ONLY),
    ):
        refused(practised(*words.split()), 7, "not saved", "writable")

    assert before == practised("export", "-").out


def test_a_box_that_may_not_be_read_is_said_and_not_replaced(practised: Player) -> None:
    """A restore would put a backup in its place, and nobody knows what takes that would cost."""
    held = practised.path.read_bytes()
    with with_mode(practised.path, HIDDEN):
        for words in ("today", "record e 80 clean", "checkup", "backup"):
            refused(practised(*words.split()), 6, "cannot be opened; make the file readable")
        refused(practised("restore", "--yes"), 6, "may not be read; make it readable first")

    assert held == practised.path.read_bytes()


def test_a_folder_that_may_not_be_searched_hides_the_box(practised: Player) -> None:
    """Nobody says that there is no box or no backup."""
    with with_mode(practised.path.parent, 0o600):
        for words in ("today", "record e 80 clean", "checkup", "restore --yes"):
            refused(practised(*words.split()), 6, "Permission denied")


def test_backups_that_may_not_be_looked_for_do_not_count_as_none(practised: Player) -> None:
    """With the box gone, an empty one in its place would be taken for the player's own."""
    with with_mode(backup_folder(practised.path), HIDDEN):
        refused(practised("restore", "--yes"), 6, "the backups cannot be read")
        refused(practised("restore", "--list"), 6, "the backups cannot be read")
        said = practised("checkup")
        assert 6 == said.code
        assert "not well: backups that may not be read: player.box.backups; make them" in said.out
        assert "there is no good backup" not in said.out
        practised.path.unlink()
        refused(practised("today"), 6, "the backups cannot be read: Permission denied")
        refused(practised("record", "e", "80", "clean"), 6, "make the folder readable")
        assert not practised.path.exists()


def test_a_backup_that_may_not_be_read_is_not_set_aside_as_damaged(practised: Player) -> None:
    """Its rights say nothing against it, and what else can be mended is mended."""
    made = list_backups(practised.path)
    with ExitStack() as bound:
        for backup in made:
            bound.enter_context(with_mode(backup.path, HIDDEN))
        said = practised("checkup", "--repair")
        assert 6 == said.code
        assert made[0].path.name in said.out
        assert "do not pass" not in said.out
        damage(practised.path)
        refused(practised("record", "e", "80", "clean"), 6, "make its backups readable first")
        held = practised.path.read_bytes()
        said = practised("checkup", "--repair")
        assert 6 == said.code
        assert "make its backups readable first, or move them away" in said.out
        assert "takes its place" not in said.out
        assert held == practised.path.read_bytes()

    assert made == list_backups(practised.path)
    assert all(may_be_read(backup.path) for backup in made)


def damage(box: Path) -> None:
    """Overwrite the beginning of the file's second page."""
    with box.open("r+b") as file:
        file.seek(4096)
        file.write(b"x" * 64)


def test_a_day_without_its_backup_is_said_and_the_take_is_saved(practised: Player) -> None:
    """Or a player would learn of it on the day when one is needed."""
    practised.clock.forward(days=1)
    with with_mode(backup_folder(practised.path), READ_ONLY):
        said = practised("record", "e", "80", "clean")

    assert 0 == said.code
    assert "drillbox: no backup could be made today: " in said.err
    assert f"{practised.path.name}.backups: not saved: Permission denied" in said.err
    with practised.box() as box:
        assert 2 == len(box.history(box.find("e")))


def test_files_that_may_not_be_read_are_no_wrong_arguments(practised: Player) -> None:
    """They are said with the code of what was to be read, and the reason."""
    file = practised.path.with_name("mia.jsonl")
    assert 0 == practised("progress", "export", str(file), "--name", "Mia").code
    deck = practised.path.with_name("own.toml")
    assert 0 == practised("decks", "new", str(deck)).code
    with with_mode(file, HIDDEN), with_mode(deck, HIDDEN):
        for words in (
            ("studio", str(file)),
            ("reply", str(file), "--to", "Mia", "--note", "Lower."),
            ("import", str(file)),
            ("merge", str(file)),
            ("decks", "check", str(deck)),
            ("decks", "add", str(deck)),
            ("measure", str(file), "--card", "e", "--bpm", "80"),
        ):
            refused(practised(*words), 4, "cannot be read: Permission denied")


def test_no_export_writes_into_a_read_only_folder(practised: Player) -> None:
    """What is there stays as it was, and no part of a file is left behind."""
    folder = practised.path.with_name("out")
    folder.mkdir()
    assert 0 == practised("export", str(folder / "takes.jsonl")).code
    known = (folder / "takes.jsonl").read_bytes()
    with with_mode(folder, READ_ONLY):
        for words in (
            "export {}/new.jsonl",
            "export {}/takes.jsonl",
            "sheet e -o {}/e.svg",
            "sheet e -o {}/e.mid",
            "decks new {}/own.toml",
            "progress export {}/mia.jsonl --name Mia",
            "year --html {}/year.html",
            "track {}/e.wav e",
        ):
            refused(practised(*words.format(folder).split()), 7, "not written: Permission denied")

    assert ["takes.jsonl"] == [path.name for path in folder.iterdir()]
    assert known == (folder / "takes.jsonl").read_bytes()


def test_a_data_folder_that_cannot_be_made(player: Player, tmp_path: Path) -> None:
    """What only asks makes none, and what writes says why it cannot."""
    home = tmp_path / "home"
    home.mkdir()
    box = str(home / "data" / "player.box")
    with with_mode(home, READ_ONLY):
        assert 0 == player("--box", box, "today").code
        refused(player("--box", box, "set", "minutes", "20"), 6, "its folder cannot be made")

    assert [] == list(home.iterdir())


@pytest.mark.parametrize(
    "words",
    [
        "--box ~nobody-here/x.box today",
        "--box ~nobody-here/x.box set minutes 20",
        "export ~nobody-here/x.jsonl",
        "import ~nobody-here/x.jsonl",
        "merge ~nobody-here/x.box",
        "restore ~nobody-here/x.box --yes",
        "decks add ~nobody-here/x.toml",
        "decks check ~nobody-here/x.toml",
        "decks new ~nobody-here/x.toml",
        "sheet e -o ~nobody-here/x.svg",
        "read ~nobody-here/x.mid",
        "progress export ~nobody-here/x.jsonl",
    ],
)
def test_a_home_folder_that_nobody_has_is_said(player: Player, words: str) -> None:
    """And no folder of that name is made where one stands."""
    said = player(*words.split())

    refused(said, 2, "~nobody-here/x.", "there is no such home folder; check the path.")


def test_a_folder_that_was_removed_under_a_command_is_said(
    practised: Player, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What has a place of its own goes on; a file beside nothing cannot be written."""
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()

    assert 0 == practised("today").code
    for words in ("export x.jsonl", "decks new x.toml", "--box x.box set minutes 20"):
        refused(practised(*words.split()), 1, "the folder you are in is gone")


def test_a_checkup_finds_that_the_box_may_only_be_read(practised: Player) -> None:
    """All is not well where no take can be saved."""
    assert "All is well." in practised("checkup").out
    with with_mode(practised.path, READ_ONLY_FILE):
        said = practised("checkup")
    assert 6 == said.code
    assert "not well: the box may only be read" in said.out
    assert "All is well." not in said.out
