"""A teacher's commands as typed.

Start a deck, compare editions, pack, and what a student sees when it arrives.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

from drillbox.cli.main import run

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Say

    from drillbox.deckfile import Deck


def write(path: Path, text: str) -> str:
    """Write a deck file and return its path as it would be typed."""
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_new_deck_is_right_and_never_overwrites(say: Say, tmp_path: Path) -> None:
    """Started, checked and added without an edit; started again, what was written stays."""
    path = str(tmp_path / "Week 3.toml")

    assert (0, f"Written: {path}\n", "") == say("decks", "new", path)
    assert "Week 3, edition 1: 3 cards, all right." in say("decks", "check", path, "--draw")[1]
    assert 0 == say("decks", "add", path)[0]
    assert (7, "") == say("decks", "new", path)[:2]


def test_editions_are_compared_in_words(say: Say, tmp_path: Path, small_deck: Deck) -> None:
    """A line for each change on the data stream; a forgotten edition number is a remark."""
    old = write(tmp_path / "old.toml", small_deck.text)
    text = small_deck.text.replace("goal = 80", "goal = 85")
    new = write(tmp_path / "new.toml", text)
    raised = write(tmp_path / "raised.toml", text.replace("edition = 1", "edition = 2"))
    said = "a of every beat, doubled: goal 80 to 85\n"

    assert (0, "nothing changed\n", "") == say("decks", "compare", old, old)
    assert (0, said, "") == say("decks", "compare", old, raised)
    code, out, err = say("decks", "compare", old, new)
    assert (0, said) == (code, out)
    assert "The edition is 1; raise it" in err
    assert 2 == say("decks", "compare", old, "triplet-ghosts")[0]


def test_a_packed_folder_arrives_in_a_students_box(
    say: Say, tmp_path: Path, small_deck: Deck
) -> None:
    """Two decks go in one file; its cards can be played.

    The same decks are added from the folder as well.
    """
    folder, packed = tmp_path / "decks", str(tmp_path / "autumn.zip")
    folder.mkdir()
    write(folder / "a.toml", small_deck.text)
    write(folder / "b.toml", small_deck.text.replace('"first-ghosts"', '"second"'))

    assert "First ghosts, edition 1: 4 cards" in say("decks", "pack", str(folder), packed)[1]
    assert 2 == say("decks", "add", packed)[1].count("4 cards added")
    assert 2 == say("decks", "add", str(folder))[1].count("4 unchanged")
    assert 7 == say("decks", "pack", str(folder), packed)[0]
    assert 2 == say("decks", "pack", str(folder), str(tmp_path / "autumn.rar"))[0]
    assert 4 == say("decks", "compare", packed, packed)[0]
    (tmp_path / "broken.zip").write_bytes((tmp_path / "autumn.zip").read_bytes()[:-30])
    code, out, err = say("decks", "add", str(tmp_path / "broken.zip"))
    assert (4, "") == (code, out)
    assert 1 == len(err.splitlines())


def test_a_student_reads_what_the_new_edition_changed(
    say: Say, tmp_path: Path, small_deck: Deck
) -> None:
    """The summary, then one line a change; a removed card is still listed, as rested."""
    say("decks", "add", write(tmp_path / "d.toml", small_deck.text))
    say("record", "a-doubled", "70", "clean")
    start = small_deck.text.index('[[card]]\nid = "a-doubled"')
    text = small_deck.text[:start].replace('"(e)"', '"(1e)"').replace("edition = 1", "edition = 2")
    _, out, _ = say("decks", "add", write(tmp_path / "d.toml", text))

    assert "edition 2: 0 cards added, 1 changed, 2 unchanged, 1 removed." in out
    assert "  one card removed (a of every beat, doubled)" in out
    assert "  e of every beat: snare on the e of 2, the e of 3 and the e of 4 taken out" in out
    assert "rested" in say("cards", "doubled")[1]


def test_assignments_are_shown(say: Say, tmp_path: Path, small_deck: Deck) -> None:
    """By deck and day, how many cards are asked for and how many are ready.

    On the card, its own day and tempo.
    """
    text = small_deck.text + '[[assignment]]\nby = 9000-01-02\ncards = ["e", "a"]\ngoal = 60\n'
    say("decks", "add", write(tmp_path / "d.toml", text))
    for _ in range(3):
        say("record", "e", "110", "automatic")
    (deck,) = json.loads(say("decks", "--json")[1])["decks"]

    assert "first-ghosts asks for 2 cards by Thu 2 Jan: 1 ready." in say("decks")[1]
    assert [{"by": "9000-01-02", "cards": 2, "ready": 1}] == deck["asked"]
    assert "asked for at 60 by Thu 2 Jan" in say("card", "e")[1]
    card = json.loads(say("card", "e", "--json")[1])
    assert {"by": "9000-01-02", "goal_bpm": 60.0} == card["asked_for"]


def test_a_deck_is_watched_while_it_is_written(tmp_path: Path) -> None:
    """The real command in a process of its own.

    Drawn, saved with an error, mended, ended by Ctrl-C without a fuss.
    """
    path, said = tmp_path / "week-3.toml", tmp_path / "said.txt"
    run(["decks", "new", str(path)])
    text = path.read_text(encoding="utf-8")

    def wait_for(words: str) -> None:
        end = time.monotonic() + 20
        while words not in said.read_text(encoding="utf-8"):
            assert time.monotonic() < end, said.read_text(encoding="utf-8")
            time.sleep(0.05)

    command = [sys.executable, "-u", "-m", "drillbox", "decks", "watch", str(path)]
    with said.open("w", encoding="utf-8") as out:
        watching = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT)
    try:
        wait_for("Ctrl-C ends")
        path.write_text(text.replace('"(e)"', '"(7e)"'), encoding="utf-8")
        wait_for("week-3.toml:21:11: ")
        path.write_text(text.replace('"(e)"', '"(1e)"'), encoding="utf-8")
        wait_for("e of every beat: snare on the e of 2, the e of 3 and the e of 4 taken out")
        watching.send_signal(signal.SIGINT)
        code = watching.wait(timeout=10)
    finally:
        watching.kill()

    assert 0 == code
    assert "Traceback" not in said.read_text(encoding="utf-8")
    assert 4 == run(["decks", "watch", str(tmp_path / "none.toml")])


def test_everything_that_is_wrong_is_said(say: Say, tmp_path: Path, small_deck: Deck) -> None:
    """Two mistakes, two sentences, in the file's order; the exit code is that of one."""
    text = small_deck.text.replace('"(e)"', '"(9)"').replace("goal = 80", "gaol = 80")
    path = write(tmp_path / "d.toml", text)
    code, out, err = say("decks", "check", path)

    assert (4, "") == (code, out)
    assert ["has no beat '9'", "unknown key 'gaol'"] == [
        words for line, words in zip(
            err.splitlines(), ("has no beat '9'", "unknown key 'gaol'"), strict=True
        ) if words in line and line.startswith(f"drillbox: {path}:")
    ]  # fmt: skip


@pytest.mark.parametrize(
    "command",
    ["decks new", "decks watch", "decks compare", "decks pack", "progress export", "studio"],
)
def test_each_command_shows_how_it_is_typed(say: Say, command: str) -> None:
    """Help says what it does, with an example."""
    code, out, _ = say(*command.split(), "--help")

    assert 0 == code
    assert f"drillbox {command}" in out.split("Example")[-1]


def test_an_assignment_names_cards_of_a_family(say: Say, tmp_path: Path) -> None:
    """Cards that a few lines stand for can be asked for one by one."""
    text = (
        '[deck]\nid = "d"\ntitle = "d"\n[groove]\nhat = "beat &"\n'
        '[[family]]\nid = "ghosts"\ngrid = "16"\nlowest = 70\n'
        '[[assignment]]\nby = 9000-01-02\ncards = ["ghosts-e"]\n'
    )
    added = say("decks", "add", write(tmp_path / "d.toml", text))

    assert "15 cards added" in added[1]
    assert "d asks for 1 card by Thu 2 Jan: 0 ready." in say("decks")[1]


def test_check_says_what_is_left_out_what_is_not_heard_and_what_has_passed(
    say: Say, tmp_path: Path
) -> None:
    """All of it reads well; none of it is what a writer expects to find out from a student."""
    path = tmp_path / "week.toml"
    path.write_text(
        '[deck]\nid = "w"\ntitle = "Week"\n[groove]\nsnare = ">2 >4"\nhat = "beat &"\n'
        '[[card]]\nid = "lost"\ntitle = "lost"\nsnare = "(1e) (2) (4)"\n'
        '[[card]]\nid = "usual"\ntitle = "usual"\nsnare = "(beat) (e)"\n'
        '[[family]]\nid = "f"\ntitle = "ghosts on {}"\n'
        "[[assignment]]\nby = 2020-02-29\n[[assignment]]\nby = 2999-01-01\n",
        encoding="utf-8",
    )
    code, out, err = say("decks", "check", str(path))

    assert (0, "") == (code, err)
    assert "Week, edition 1: " in out
    assert f"perhaps not meant: {path}:10: no ghost is heard on 2, 4: the groove strikes" in out
    assert 1 == out.count("no ghost is heard")
    assert "an assignment has passed: Sat 29 Feb 2020" in out
    assert "2999" not in out
    assert "left out: every sixteenth; no bass" in out
