"""Every command as a user types it.

What it prints, what it exits with, what it leaves in the box.
"""

from __future__ import annotations

import json
import re
import wave
from typing import TYPE_CHECKING

import pytest

from drillbox.cli.command_table import HOMES
from drillbox.cli.main import run

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Say

    from drillbox.deckfile import Deck


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Return where the test's box is."""
    return tmp_path / "player.box"


@pytest.fixture
def deck_file(tmp_path: Path, small_deck: Deck) -> str:
    """Return the path of the small deck's file."""
    path = tmp_path / "first.toml"
    path.write_text(small_deck.text, encoding="utf-8")
    return str(path)


def test_a_day_by_commands(say: Say, deck_file: str) -> None:
    """Add a deck, look at today, record what it asks for, look again: the card moves on."""
    added = say("decks", "add", deck_file)
    today = json.loads(say("today", "--json").out)
    first = today["items"][0]
    saved = say("record", first["card_id"], str(first["bpm"]), "clean")
    shown = json.loads(say("card", first["card_id"], "--json").out)

    assert "4 cards added, 0 changed, 0 unchanged, 0 removed" in added.out
    assert sum(item["seconds"] for item in today["items"]) <= today["minutes"] * 60
    assert 0 == saved.code
    assert f"{first['bpm']} bpm, clean" in saved.out
    assert 1 == shown["takes"] == len(shown["history"])
    assert "building" == shown["state"]


def test_today_in_words_has_a_reason_for_each_card(say: Say, deck_file: str) -> None:
    """The plan in words is a table of a row a card and then one sentence a card."""
    say("decks", "add", deck_file)
    items = json.loads(say("today", "--json").out)["items"]
    text = say("today").out
    rows = text.split("\n\n")[0].splitlines()[1:]

    for item in items:
        assert f"{item['title']}: {item['why']}" in text
        assert 1 == sum(row.startswith(f"{item['title']}  ") for row in rows)
    assert len({item["card_id"] for item in items}) == len(rows) < len(items)


def test_undo_takes_the_last_take_back(say: Say, deck_file: str) -> None:
    """Once there is one; then there is none."""
    say("decks", "add", deck_file)
    say("record", "e", "80", "fell-apart")
    first, second = say("undo"), say("undo")

    assert "Taken back: e of every beat, 80 bpm, fell apart." in first.out
    assert "No take of today" in second.out


def test_cards_are_listed_and_searched(say: Say, deck_file: str) -> None:
    """All words must match; titles, decks and states count."""
    say("decks", "add", deck_file)

    assert 5 == len(say("cards").out.splitlines())
    assert "first-ghosts/a-doubled" in say("cards", "doubled", "waiting").out
    assert [] == json.loads(say("cards", "no", "such", "--json").out)
    nothing = "No card has all of: no such. 'drillbox cards' lists the cards."
    assert nothing == " ".join(say("cards", "no", "such").out.split())


def test_a_card_is_drawn_with_its_counts(say: Say, deck_file: str) -> None:
    """The card's page starts with the written pattern."""
    say("decks", "add", deck_file)
    lines = say("card", "e").out.splitlines()

    assert ["1", "e", "&", "a"] == lines[2].split()[:4]
    assert "(o)" in next(line for line in lines if line.startswith("snare"))


def test_why_answers_in_two_sentences(say: Say, deck_file: str) -> None:
    """Whose they are, why it is in the plan or not, and today against the next practice day.

    Of a card never played there is a guess, and it is called one.
    """
    say("decks", "add", deck_file)
    guessed = say("why", "e-a").out
    say("record", "e-a", "60", "steady")

    title = "e and a of every beat"
    told = say("why", "e-a").out
    assert re.fullmatch(rf"{title}\n[A-Z][^\n]+\.\nNever played; [^\n]+, a guess\.\n", guessed)
    assert re.fullmatch(rf"{title}\n[A-Z][^\n]+\.\nToday about [^\n]+\.\n", told)


def test_decks_are_listed_removed_and_checked(say: Say, deck_file: str) -> None:
    """The list has the box's decks and the starter decks; a removed deck keeps its takes."""
    say("decks", "add", deck_file)
    say("record", "e", "80", "clean")
    listed = json.loads(say("decks", "--json").out)
    removed = say("decks", "remove", "first-ghosts")
    say("decks", "add", deck_file)

    assert ["first-ghosts"] == [deck["id"] for deck in listed["decks"]]
    assert {"sixteenth-ghosts", "triplet-ghosts"} <= {d["id"] for d in listed["starter_decks"]}
    assert "its takes are kept" in removed.out
    assert 1 == json.loads(say("card", "e", "--json").out)["takes"]
    assert "4 cards, all right" in say("decks", "check", deck_file).out


def test_a_deck_says_which_goals_it_raises(
    say: Say, deck_file: str, small_deck: Deck, tmp_path: Path
) -> None:
    """The highest goal of all decks stands, but not in silence; a goal of the player's stays."""
    say("decks", "add", deck_file)
    say("goals", "a of every beat", "--to", "70")
    say("decks", "add", deck_file)
    harder = tmp_path / "harder.toml"
    text = small_deck.text.replace('id = "first-ghosts"', 'id = "harder"', 1)
    harder.write_text(text.replace("goal = 90", "goal = 104", 1), encoding="utf-8")
    first, again = (" ".join(say("decks", "add", str(harder)).out.split()) for _ in range(2))

    assert "Goals raised by it: e of every beat 90 → 104" in first
    assert "; a of every beat" not in first
    assert "'drillbox goals NAME --to BPM' keeps yours." in first
    assert "raised" not in again


def test_starter_decks_check_and_add(say: Say) -> None:
    """What is shipped can be used by its name, the first, the last and some between.

    That all of them are right is asked in tests/deckfile.
    """
    for deck in json.loads(say("decks", "--json").out)["starter_decks"][::6]:
        assert "all right" in say("decks", "check", deck["id"], "--draw").out
        assert 0 == say("decks", "add", deck["id"]).code


def test_many_cards_are_changed_at_once(say: Say, deck_file: str) -> None:
    """Words find them as in the search.

    Goals move, cards rest and wake, and a search that finds nothing says so.
    """
    say("decks", "add", deck_file)
    moved = say("goals", "every", "beat", "--by", "5")
    rested = say("rest", "doubled")
    goals = {c["title"]: c["goal_bpm"] for c in json.loads(say("cards", "--json").out)}
    woken = say("wake", "rested")

    assert "Goals of 4 cards changed; " in moved.out
    assert 85 == goals["a of every beat, doubled"]
    assert "1 card set aside." in rested.out
    assert "1 card awake." in woken.out
    assert 5 == say("rest", "nothing", "like", "this").code
    assert "as they were before" in say("goals", "--undo").out
    assert "Nothing to undo.\n" == say("goals", "--undo").out
    assert 2 == say("goals", "e", "--preview").code


def test_goals_without_a_goal_are_shown(say: Say, deck_file: str) -> None:
    """Each card that is found with the goal it has, and what would change it; nothing changes."""
    say("decks", "add", deck_file)
    say("goals", "doubled", "--to", "77")
    shown = say("goals", "doubled")
    assert 0 == shown.code
    first, last = shown.out.splitlines()
    assert "  77  a of every beat, doubled" == first
    assert "--to BPM" in last
    assert "Goals of 1 card are as they were before.\n" == say("goals", "--undo").out
    assert 5 == say("goals", "nothing", "like", "this").code
    assert 2 == say("goals", "doubled", "--by", "0", "--decks").code


def test_cards_are_kept_at_their_goals_or_climb(say: Say, deck_file: str) -> None:
    """Kept, let go again, let go to a tempo; two of them at once are refused."""
    say("decks", "add", deck_file)
    assert "Kept at the goal: " in say("goals", "every", "beat", "--keep").out
    assert "Climbing as far as the hands go: " in say("goals", "every", "beat", "--climb").out
    assert "Climbing to 120: " in say("goals", "every", "beat", "--top", "120").out
    assert 2 == say("goals", "every", "beat", "--keep", "--top", "120").code
    assert 2 == say("goals", "--keep").code


def test_a_deck_is_put_away_and_taken_out(say: Say, deck_file: str) -> None:
    """Put away, its cards are nowhere; back, they are as they were, takes and all."""
    say("decks", "add", deck_file)
    say("record", "e", "80", "clean")
    away = say("decks", "archive", "first-ghosts")
    hidden = json.loads(say("cards", "--json").out)
    listed = say("decks").out
    say("decks", "archive", "first-ghosts", "--back")

    assert "put away" in away.out
    assert [] == hidden
    assert "First ghosts (put away)" in listed
    assert 1 == json.loads(say("card", "e", "--json").out)["takes"]
    assert 5 == say("decks", "archive", "nope").code


def test_the_log_goes_out_and_comes_in(say: Say, deck_file: str, tmp_path: Path) -> None:
    """Exported, taken into an empty box twice: all of it, then nothing."""
    say("decks", "add", deck_file)
    for bpm in ("70", "75"):
        say("record", "e", bpm, "steady")
    log = tmp_path / "takes.jsonl"
    out = say("export", str(log))
    again = say("export", str(log))
    (tmp_path / "letter.txt").write_text("dear Mia", encoding="utf-8")
    over = say("export", str(tmp_path / "letter.txt"))
    other = str(tmp_path / "other.box")

    assert "2 entries written" in out.err
    assert 0 == again.code
    assert 7 == over.code
    assert "exists already" in over.err
    assert 4 == len(log.read_text(encoding="utf-8").splitlines())
    assert 0 == run(["--box", other, "import", str(log)])
    assert 0 == run(["--box", other, "import", str(log)])


def test_a_backup_is_made_listed_and_restored(say: Say, deck_file: str, place: Path) -> None:
    """With nobody to ask it is refused; what is newer is counted, and kept unless it is dropped.

    The box that was there is set aside.
    """
    say("decks", "add", deck_file)
    say("record", "e", "70", "steady")
    made = say("backup")
    say("record", "e", "75", "steady")
    listed = say("restore", "--list")
    unasked = say("restore")
    kept = say("restore", "--yes")
    with_both = json.loads(say("card", "e", "--json").out)["takes"]
    restored = say("restore", "--yes", "--drop-newer", str(made.out).split(": ")[1].strip())

    assert "Backup made" in made.out
    assert str(place) in listed.out
    assert 2 == unasked.code
    assert "give --yes" in unasked.err
    assert "Entries that the box holds and this backup lacks: 1, the last of" in kept.err
    assert "Entries kept that the backup lacks: 1." in kept.out
    assert 2 == with_both
    assert "Restored from" in restored.out
    assert "kept" not in restored.out
    assert 1 == json.loads(say("card", "e", "--json").out)["takes"]
    assert 2 <= len(list(place.parent.glob("*.box*")))


def test_a_track_of_two_cards_is_a_sound_file(say: Say, deck_file: str, tmp_path: Path) -> None:
    """Read by the standard library.

    Mono, 48 kHz, as long as the two takes and their announcements.
    """
    say("decks", "add", deck_file)
    path = tmp_path / "two.wav"
    said = say("track", str(path), "e", "a", "--bpm", "120")
    with wave.open(str(path)) as file:
        seconds = file.getnframes() / file.getframerate()
        shape = (file.getnchannels(), file.getsampwidth(), file.getframerate())

    assert 0 == said.code
    assert "e of every beat, 120 bpm" in said.out
    assert (1, 2, 48_000) == shape
    assert 2 * 30 < seconds < 2 * 45


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        (("record", "nope", "90", "clean"), 5, "no card 'nope' in the box"),
        (("record", "e", "90", "meh"), 2, "'meh' is no grade; use one of: fell apart, shaky"),
        (("record", "e", "9000", "clean"), 2, "nobody plays at 9000 bpm; use 8 to 400"),
        (("card", "eeee"), 5, "no card 'eeee'"),
        (("decks", "add", "no-such-deck"), 4, "no starter deck of this name"),
        (("decks", "add", "./missing.toml"), 4, "missing.toml"),
        (("decks", "remove", "nope"), 5, "no such deck"),
        (("import", "missing.jsonl"), 4, "the file cannot be read"),
        (("export", "/no/such/folder/x.jsonl"), 7, "not written: No such file"),
        (("track", "x.wav"), 2, "say what goes on the track"),
        (("track", "x.wav", "--deck", "nope"), 2, "no deck 'nope'"),
        (("track", "/no/such/x.wav", "e"), 7, "/no/such/x.wav"),
        (("nonsense",), 2, "no command 'nonsense'"),
        (("today", "--minutes", "0"), 2, "--minutes"),
        ((), 2, "the app needs a terminal"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_a_code(
    say: Say, deck_file: str, words: tuple[str, ...], code: int, sentence: str
) -> None:
    """No traceback, one line that says what, where and what to do.

    And the exit code of its kind.
    """
    say("decks", "add", deck_file)
    said = say(*words)

    assert code == said.code
    assert sentence in said.err
    assert 1 == len(said.err.strip().splitlines())
    assert "Traceback" not in said.err


def test_a_damaged_box_is_read_but_never_written(say: Say, deck_file: str, place: Path) -> None:
    """Reading goes on with a warning, recording is refused, the file stays as it is."""
    say("decks", "add", deck_file)
    whole = place.read_bytes()
    place.write_bytes(whole[: len(whole) // 2])
    for extra in place.parent.glob("*.backups/*.txt"):
        extra.unlink()
    before = place.read_bytes()
    read, recorded = say("today"), say("record", "e", "80", "clean")

    assert "damaged" in read.err
    assert 6 == recorded.code
    assert before == place.read_bytes()


@pytest.mark.parametrize("command", [*HOMES, "decks add", "decks remove", "decks check"])
def test_every_command_has_help_with_an_example(say: Say, command: str) -> None:
    """Help says what it does and shows how it is typed."""
    said = say(*command.split(), "--help")

    assert 0 == said.code
    assert "Usage: drillbox" in said.out
    assert f"drillbox {command.split(maxsplit=1)[0]}" in said.out.split("Example")[-1]
