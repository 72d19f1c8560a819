"""Sheets and lines of takes, as a user types them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from drillbox.cli.problems import narrate
from drillbox.cli.take_line import TypedTake, read_takes
from drillbox.errors import UsageError
from drillbox.memory import Grade
from drillbox.store.checks import shown

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Say

    from drillbox.deckfile import Deck


@pytest.fixture
def say(say: Say, tmp_path: Path, small_deck: Deck) -> Say:
    """Return a caller of commands on a box with the small deck."""
    path = tmp_path / "first.toml"
    path.write_text(small_deck.text, encoding="utf-8")
    say("decks", "add", str(path))
    return say


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("x.pdf", b"%PDF-"),
        ("x.svg", b"<svg"),
        ("x.html", b"<!DOCTYPE html>"),
        ("x.musicxml", b"<?xml"),
        ("x.mid", b"MThd"),
        ("x.txt", b"e of every beat"),
    ],
)
def test_a_card_becomes_a_file_of_every_kind(
    say: Say, tmp_path: Path, name: str, start: bytes
) -> None:
    """The ending says which; a file that is there is not written over unless asked."""
    out = tmp_path / name

    assert (0, f"Written: {out}\n", "") == say("sheet", "e", "-o", str(out))
    assert out.read_bytes().startswith(start)
    code, _, refused = say("sheet", "e", "-o", str(out))
    assert (7, True) == (code, "the file exists already; give --over to write over it" in refused)
    assert 0 == say("sheet", "e", "-o", str(out), "--over")[0]


def test_without_a_file_a_text_sheet_is_printed(say: Say) -> None:
    """It needs neither the extra nor a printer."""
    code, out, _ = say("sheet", "e", "a")

    assert 0 == code
    assert out.startswith("2 cards\n")
    assert "2  a of every beat, 90 bpm" in out


def test_the_day_the_map_the_lesson_and_the_standing(say: Say, tmp_path: Path) -> None:
    """Each is a PDF; the day's plan is graded from paper in one line."""
    deck = str(tmp_path / "first.toml")
    say("record", "e", "80", "clean")
    for number, words in enumerate(
        [
            ("--today",),
            ("--map",),
            ("--standing",),
            ("--deck", "first-ghosts", "--staff", "large", "--paper", "letter"),
            ("--deck", deck, "--lesson", "Maya", "--words", "Lower."),
            ("--deck", "first-ghosts", "--leading", "left", "--hands", "--motions"),
        ]
    ):
        out = tmp_path / f"{number}.pdf"

        assert (0, f"Written: {out}\n", "") == say("sheet", *words, "-o", str(out)), words
        assert out.read_bytes().startswith(b"%PDF-")


def test_the_map_and_the_standing_are_texts_too(say: Say) -> None:
    """In the terminal the map is the map, and the standing a line for each family."""
    say("record", "e", "80", "clean")

    assert "sixteenths, plain: cards for 3 of 15" in say("sheet", "--map")[1]
    standing = say("sheet", "--standing")[1]
    assert "1 of 4 cards played" in standing
    assert "  goal  90\n" in standing


def test_a_plan_that_comes_back_to_cards_prints_each_once(say: Say) -> None:
    """A B A C A: three cards on paper, the order of their visits above them."""
    out = say("sheet", "--today")[1]
    items = json.loads(say("today", "--json")[1])["items"]
    ids = list(dict.fromkeys(item["card_id"] for item in items))
    order = " ".join(str(ids.index(item["card_id"]) + 1) for item in items)

    assert f"In this order: {order}\n" in out
    assert [f"{number}  " in out for number in range(1, len(ids) + 1)] == [True] * len(ids)
    assert f"\n{len(ids) + 1}  " not in out


def test_a_lesson_sheet_takes_the_tempos_of_a_progress_file(say: Say, tmp_path: Path) -> None:
    """What the student handed in stands beside each card."""
    say("record", "e", "80", "clean")
    handed_in = tmp_path / "maya.jsonl"
    say("progress", "export", str(handed_in), "--name", "Maya")
    out = tmp_path / "maya.svg"
    asked = ("--deck", "first-ghosts", "--lesson", "Maya", "--progress", str(handed_in))

    assert 0 == say("sheet", *asked, "-o", str(out))[0]
    assert ">now 8" in out.read_text(encoding="utf-8")
    assert "e of every beat: now 8" in say("sheet", *asked)[1]


def test_a_lesson_sheet_wants_the_students_own_goal_and_no_other_students_file(
    say: Say, tmp_path: Path
) -> None:
    """Ola lowered a goal to 66: her sheet says so, and nobody else's sheet is made of her file."""
    say("goals", "e of every beat", "--to", "66")
    handed_in = tmp_path / "ola.jsonl"
    say("progress", "export", str(handed_in), "--name", "Ola Berg")
    asked = ("--deck", "first-ghosts", "--progress", str(handed_in))
    code, _, error = say("sheet", *asked, "--lesson", "Mia")

    assert "e of every beat: target 66 bpm" in say("sheet", *asked, "--lesson", "ola")[1]
    assert 2 == code
    assert "this file is Ola Berg's, not Mia's" in " ".join(error.split())


def test_pages_of_svg_are_numbered(say: Say, tmp_path: Path) -> None:
    """SVG holds one page a file."""
    code, out, _ = say("sheet", "--deck", "sixteenth-ghosts", "-o", str(tmp_path / "x.svg"))

    assert 0 == code
    assert (tmp_path / "x-1.svg").exists()
    assert not (tmp_path / "x.svg").exists()
    assert out.startswith("Written: ")
    assert "pages" in out


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        ((), 2, "say what goes on the sheet"),
        (("e", "--today"), 2, "say what goes on the sheet"),
        (("e", "-o", "x.docx"), 2, "end the name in one of .txt, .pdf"),
        (("e", "--words", "x"), 2, "a lesson sheet is for a student"),
        (("--standing",), 2, "nothing was played yet"),
        (("nope",), 5, "no card 'nope' in the box"),
        (("--deck", "nope"), 4, "no starter deck of this name"),
    ],
)
def test_what_cannot_be_meant_is_one_sentence(
    say: Say, words: tuple[str, ...], code: int, sentence: str
) -> None:
    """With its exit code, and no traceback."""
    found, out, err = say("sheet", *words)

    assert (code, "") == (found, out)
    assert sentence in err
    assert 1 == err.count("\n")


def test_grades_from_paper_are_typed_in_one_line(say: Say) -> None:
    """Several takes, grades by their beginnings, in order."""
    code, out, _ = say("record", "e", "92", "st,", "a", "80", "fell", "apart,", "e", "95", "c")
    history = json.loads(say("card", "e", "--json")[1])["history"]

    assert 0 == code
    assert ["e of every beat, 92 bpm, steady", "a of every beat, 80 bpm, fell apart"] == [
        line.removeprefix("Saved: ").rstrip(".") for line in out.splitlines() if "Saved" in line
    ][:2]
    assert [(92, "steady"), (95, "clean")] == [(take["bpm"], take["grade"]) for take in history]


def test_of_a_line_all_takes_are_saved_or_none(say: Say) -> None:
    """A card that does not exist keeps the others out too."""
    code, _, err = say("record", "e", "92", "steady,", "nope", "80", "clean")

    assert 5 == code
    assert "no card 'nope'" in err
    assert [] == json.loads(say("card", "e", "--json")[1])["history"]


@pytest.mark.parametrize(
    "words",
    [
        ("e", "92", "steady,", "a of every beat, doubled", "80", "fell-apart"),
        ("e", "92", "st", ",", "a of every beat, doubled", "80", "f"),
    ],
)
def test_a_comma_inside_a_title_ends_no_take(words: tuple[str, ...]) -> None:
    """Only a word that ends with one does."""
    assert [
        TypedTake("e", 92, Grade.STEADY),
        TypedTake("a of every beat, doubled", 80, Grade.FELL_APART),
    ] == read_takes(words)


def test_a_number_in_a_title_is_not_the_tempo() -> None:
    """The last number before the grade is."""
    assert [TypedTake("e of 2 and 4", 92.5, Grade.CLEAN)] == read_takes(
        ("e of 2 and 4 92.5 clean",)
    )


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("e", "steady"), "cannot read 'e steady' as a take; write CARD BPM GRADE"),
        (("92", "steady"), "cannot read"),
        (("e", "92"), "cannot read"),
        ((",",), "cannot read ',' as a take; write CARD BPM GRADE"),
        ((" ",), "cannot read ' ' as a take"),
        ((",", ","), "cannot read ', ,' as a take"),
        ((), "cannot read '' as a take"),
        (("e", "nan", "steady"), "cannot read"),
        (("e", "9000", "clean"), "nobody plays at 9000 bpm; use 8 to 400"),
        (("e", "90", "s"), "'s' may be shaky or steady; write more of it"),
    ],
)
def test_a_take_that_cannot_be_read_says_so(words: tuple[str, ...], sentence: str) -> None:
    """With what to write instead."""
    with pytest.raises(UsageError, match=sentence):
        read_takes(words)


def test_a_byte_that_is_no_text_is_shown_as_one(
    capfd: pytest.CaptureFixture[str],
) -> None:
    """In a sentence to the person, quoted or not; a backslash that was typed stays."""
    narrate("cannot read " + repr("e \udcff 92") + " or \udc80, but " + repr("\\udcff"))

    assert "cannot read 'e \ufffd 92' or \ufffd, but '\\\\udcff'\n" == capfd.readouterr().err
    assert "'a<ff>b'" == shown("a\udcffb")


def test_a_file_of_another_program_becomes_a_deck(say: Say, tmp_path: Path) -> None:
    """Written, read, drafted, checked, added: the same cards, by their ids."""
    song, draft = tmp_path / "song.mid", tmp_path / "fills.toml"
    say("sheet", "--deck", "first-ghosts", "-o", str(song))
    code, out, _ = say("read", str(song), "-o", str(draft))

    assert 0 == code
    assert "e of every beat (bar 1):\nhat: beat &\nsnare: (e) >2 >4\nbass: 1 3\n" in out
    assert "4 bars, 4 different rhythms." in out
    assert f"Written: {draft}, 4 cards; give them titles and goals." in out
    assert 0 == say("decks", "check", str(draft))[0]
    assert "4 cards added" in say("decks", "add", str(draft))[1]
    ids = {card["card_id"]: card["decks"] for card in json.loads(say("cards", "--json")[1])}
    assert [["first-ghosts", "fills"]] * 4 == [sorted(d, reverse=True) for d in ids.values()]


def test_what_was_read_is_data_for_programs_too(say: Say, tmp_path: Path) -> None:
    """Tempo, rhythms with their ids and bars, and the report."""
    song = tmp_path / "song.musicxml"
    say("sheet", "e", "-o", str(song))
    read = json.loads(say("read", str(song), "--json")[1])

    assert 90 == read["bpm"]
    assert [{"title": "e of every beat", "bars": [1]}] == [
        {key: one[key] for key in ("title", "bars")} for one in read["rhythms"]
    ]
    assert "No stroke was moved." in read["report"]


def test_a_huge_file_is_refused_before_it_is_read(say: Say, tmp_path: Path) -> None:
    """A gigabyte of nothing: one sentence, sixteen megabytes of memory."""
    huge = tmp_path / "huge.musicxml"
    with huge.open("wb") as file:
        file.truncate(1 << 30)
    code, out, err = say("read", str(huge))

    assert (4, "") == (code, out)
    assert "larger than 16,777,216 bytes" in err


@pytest.mark.parametrize("key", ["39", "39=drum", "200=snare", "x=snare", "=snare"])
def test_a_key_that_cannot_be_meant_is_refused(say: Say, key: str) -> None:
    """With the voices there are."""
    code, _, err = say("read", "x.mid", "--key", key)

    assert 2 == code
    assert "write KEY=VOICE, a key of 0 to 127 and one of hat, ride" in err
