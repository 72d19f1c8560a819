"""Commands on files and boxes: sheets, rhythms read, boxes that meet, checkup, map, paths."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from datetime import timedelta
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
from cli_kit import midi
from conftest import SMALL_DECK

from drillbox.box import Box
from drillbox.cli.read_music import _head, _write_deck
from drillbox.cli.sheets import LONG, _watched
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade
from drillbox.rhythm import parse
from drillbox.store import Wish

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Player


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ((), 2), (("e", "--map"), 2), (("--map", "--today"), 2), (("--deck", "x", "--map"), 2),
        (("--standing", "e"), 2), (("e", "--lesson", "Mia"), 2), (("e", "--words", "x"), 2),
        (("--deck", "first-ghosts", "--words", "x"), 2), (("--lesson", "Mia"), 2),
        (("--deck", "first-ghosts", "--progress", "x.jsonl"), 2),
        (("e", "--count-in", "5", "-o", "x.mid"), 2), (("e", "--passes", "0", "-o", "x.mid"), 2),
        (("e", "--passes", "65", "-o", "x.mid"), 2), (("e",), 0), (("--map",), 0),
        (("--today",), 0), (("--deck", "first-ghosts"), 0), (("--standing",), 2),
        (("--deck", "first-ghosts", "--lesson", "Mia"), 0), (("--deck", "nope"), 4),
    ],
)  # fmt: skip
def test_a_sheet_is_of_one_thing(player: Player, words: tuple[str, ...], code: int) -> None:
    """Cards, a deck, the day, the map or the standing; a lesson wants student and deck."""
    assert code == player("sheet", *words).code


def test_a_midi_file_plays_what_is_asked_for(player: Player) -> None:
    """Read by mido: passes, count-in and click, at the goal, in the order of the cards."""
    mido = pytest.importorskip("mido")

    def beats(*more: str) -> float:
        path = player.path.with_name("x.mid")
        assert 0 == player("sheet", "e", "-o", str(path), "--over", *more).code
        return float(mido.MidiFile(path).length) * 90 / 60

    def tracks(*more: str) -> int:
        path = player.path.with_name("x.mid")
        player("sheet", "e", "-o", str(path), "--over", *more)
        return len(mido.MidiFile(path).tracks)

    once = beats()
    assert 4 == pytest.approx(once, abs=0.01)
    assert once + 28 == pytest.approx(beats("--passes", "8"), abs=0.1)
    assert once + 8 == pytest.approx(beats("--count-in", "2"), abs=0.1)
    assert tracks() + 1 == tracks("--click")


def test_a_lesson_is_for_whom_the_file_is_of(player: Player) -> None:
    """A name fits where it shares a word with the file's, in any case; a file without one fits."""
    file = player.path.with_name("mia.jsonl")
    for name, student, code in (
        ("Mia Brown", "mia", 0), ("Mia", "Mia Brown", 0), ("Mia", "Ben", 2), ("", "Ben", 0),
    ):  # fmt: skip
        player("progress", "export", str(file), "--name", name, "--yes")
        said = player("sheet", "--deck", "first-ghosts", "--lesson", student, "--progress",
                      str(file))  # fmt: skip
        assert code == said.code
        assert bool(code) == (f"this file is {name}'s, not {student}'s" in said.err)


def test_many_cards_are_drawn_with_a_bar_at_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """From forty on; all are handed on."""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    for many, bar in ((LONG - 1, False), (LONG, True)):
        assert list(range(many)) == list(_watched(range(many)))  # type: ignore[arg-type]
        assert bar == ("drawing" in capsys.readouterr().err)
    monkeypatch.setattr("sys.stderr.isatty", lambda: False)
    assert list(range(LONG)) == list(_watched(range(LONG)))  # type: ignore[arg-type]
    assert "" == capsys.readouterr().err
    assert 40 == LONG


@pytest.mark.parametrize(
    ("title", "bars", "head"),
    [
        ("bar 3", (3,), "bar 3:"), ("Verse", (3,), "Verse (bar 3):"),
        ("Verse", (1, 5), "Verse (bars 1, 5):"), ("bar 1", (1, 5), "bar 1 (bars 1, 5):"),
        ("V", (1, 2, 3, 4, 5, 6), "V (bars 1, 2, 3, 4, 5, 6):"),
        ("V", (1, 2, 3, 4, 5, 6, 7), "V (bars 1, 2, 3, 4, 5, 6 and 1 more place):"),
        ("V", tuple(range(1, 9)), "V (bars 1, 2, 3, 4, 5, 6 and 2 more places):"),
    ],
)  # fmt: skip
def test_a_rhythm_is_headed_by_where_it_was_found(
    title: str, bars: tuple[int, ...], head: str
) -> None:
    """Six places at most; a rhythm that is called after its one bar is so called alone."""
    assert head == _head(SimpleNamespace(title=title, bars=bars))  # type: ignore[arg-type]


def test_a_rhythm_that_is_read_becomes_a_deck(player: Player) -> None:
    """Its goal is the file's tempo as far as a goal may be; without a rhythm there is no deck."""
    song, out = midi(player, "song.mid"), player.path.with_name("song.toml")
    said = player("read", str(song), "-o", str(out))
    assert f"Written: {out}, 1 card; give them titles and goals.\n" in said.out
    assert "goal = 90" in out.read_text(encoding="utf-8")
    values = player.values("read", str(song))
    assert (90.0, 1) == (values["bpm"], len(values["rhythms"]))
    with player.box() as box:
        assert box.find("e") == values["rhythms"][0]["card_id"]
    assert 7 == player("read", str(song), "-o", str(out)).code
    wrong = player("read", str(song), "-o", str(out.with_suffix(".txt")))
    assert (2, True) == (wrong.code, "a deck is a .toml file" in wrong.err)
    none = [word for key in range(128) for word in ("--key", f"{key}=nothing")]
    said = player("read", str(song), "-o", str(out.with_name("n.toml")), *none)
    assert (4, True) == (said.code, "say what its keys are with --key" in said.err)
    for bars, code in (("0", 2), ("1", 0), ("64", 0), ("65", 2)):
        assert code == player("read", str(song), "--bars", bars).code


@pytest.mark.parametrize(
    ("bpm", "goal"), [(500.0, 400), (400.0, 400), (20.0, 20), (8.0, 20), (None, 90), (92.0, 92)]
)
def test_a_deck_that_was_read_has_a_goal_that_may_be_asked_for(
    tmp_path: Path, bpm: float | None, goal: int
) -> None:
    """The tempo of the file within what goals may be; ninety where it says none."""
    found = SimpleNamespace(title="one", bars=(1,), pattern=parse("snare: >2 >4 (e)\n"))
    out = tmp_path / "d.toml"
    _write_deck(SimpleNamespace(found=(found,), bpm=bpm), tmp_path / "d.mid", out)  # type: ignore[arg-type]
    deck = parse_deck(out.read_text(encoding="utf-8"), name="d")
    assert [goal] == [card.goal_bpm for card in deck.cards]


def test_a_lesson_is_printed_for_its_student_and_a_deck_for_anybody(player: Player) -> None:
    """Without a student a deck's sheet has the rhythms alone."""
    deck = player("sheet", "--deck", "first-ghosts").out
    lesson = player("sheet", "--deck", "first-ghosts", "--lesson", "Mia", "--words", "Lower.").out
    assert ("First ghosts", "Lesson sheet: Mia") == (deck.splitlines()[0], lesson.splitlines()[0])
    assert "Lower." in lesson
    assert "Mia" not in deck


@pytest.mark.parametrize(
    ("key", "fits"),
    [("0=snare", True), ("127=bass", True), ("128=snare", False), ("38=nothing", True),
     ("1000=snare", False), ("-1=snare", False), ("38=", False), ("038=snare", True),
     ("0038=snare", False), (f"{'9' * 5000}=snare", False), ("=snare", False),
     ("\u0663=snare", False)],
)  # fmt: skip
def test_a_key_is_one_of_a_midi_keyboard(player: Player, key: str, *, fits: bool) -> None:
    """Note numbers from 0 to 127 (MIDI 1.0 Detailed Specification)."""
    song = midi(player, "song.mid")
    assert fits != ("cannot read" in player("read", str(song), "--key", key).err)


# Boxes that meet


def test_what_is_settled_between_two_boxes_is_told(player: Player) -> None:
    """Wishes and settings that differ: what stands, whose it is, since when, over what."""
    other = player.path.with_name("other.box")
    with player.box() as box:
        card, second = box.find("e"), box.find("a")
        box.archive.put_setting("minutes", 20, player.clock.now())
        box.set_goal(card, bpm=96, at=player.clock.now())
        box.rest(second, resting=True, at=player.clock.now())
        text = box.archive.decks()[0].text
    later = player.clock.now() + timedelta(hours=1)
    with Box.open(other, clock=player.clock) as box:
        box.archive.put_setting("minutes", 25, later)
        box.archive.put_setting("days", "mon wed", later)
        wishes = (
            Wish(card, 84.0, 2.5, resting=True, at=player.clock.now() - timedelta(hours=1)),
            Wish(second, None, None, resting=False, at=later),
            Wish("f" * 16, 70.0, None, resting=False, at=later),
        )
        for wish in wishes:
            box.archive.put_wish(wish)
    said = player("merge", str(other))
    head, *lines = said.out.splitlines()
    here, there = (
        f", set {where} on 2026-03-02T0{hour}:00:00+00:00, stands over "
        for where, hour in (("here", 8), ("there", 9))
    )
    assert f"{other}: new entries: 0; wishes and settings taken over: 4." == head
    assert [
        f"  e of every beat: goal 96{here}goal 84, importance 2.5, rested",
        f"  a of every beat: the deck's goal{there}the deck's goal, rested",
        f"  minutes: 25{there}20",
    ] == lines
    given = player("merge", str(other), "--both").out.splitlines()
    assert f"{other}: new entries: 0; wishes and settings taken over: 0." == given[0]
    assert re.fullmatch(rf"{other}: entries given: 0; wishes and settings given: \d+\.", given[-1])
    assert "" == said.err
    assert text == SMALL_DECK


def test_an_own_box_and_hidden_files_are_left_out_of_a_shared_folder(player: Player) -> None:
    """In a folder the own box is no other; alone in it with --both, nothing is made of it."""
    folder = player.path.parent
    (folder / ".hidden.box").write_bytes(b"x")
    (folder / "folder.box").mkdir()
    assert "no other box and no log lies in this folder" in player("merge", str(folder)).err
    assert "this is the box itself" in player("merge", str(player.path)).err
    shared = folder / "shared"
    shared.mkdir()
    assert 2 == player("merge", str(shared)).code
    said = player("merge", str(shared), "--both")
    assert f"{shared / 'player.box'}: entries given: 0; " in said.out
    assert 1 == len(said.out.splitlines())


def test_a_checkup_is_told_in_groups_and_as_values(player: Player) -> None:
    """What is well, what is not with its remedy, what was mended; 6 while something is left."""
    well = player("checkup")
    assert 0 == well.code
    assert well.out.startswith(f"Looking over {player.path}.\nwell: the file is whole")
    assert well.out.endswith("All is well.\n")
    assert "" == well.err
    with player.box() as box:
        for bpm in (70, 75):
            box.record(box.find("e"), bpm=bpm, grade=Grade.CLEAN, at=player.clock.now(), seconds=40)
        box.archive.back_up(player.clock.now())
    with closing(sqlite3.connect(player.path, isolation_level=None)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        for n in (8, 9):
            db.execute(
                "INSERT INTO take SELECT ?, ?, card_id, bpm, 7, at, zone, seconds, source, NULL, 1"
                " FROM take LIMIT 1", (n - 5, f"{n:032x}"),
            )  # fmt: skip
        db.execute("UPDATE deck SET text = 'title = '")
    said, values = player("checkup"), player("checkup", "--json")
    told = json.loads(values.out)
    remedy = "  'drillbox checkup --repair': they are taken back"
    lines = said.out.splitlines()
    (place,) = (n for n, line in enumerate(lines) if line.startswith(remedy))
    assert [True, True, False] == ["grade is 7" in lines[n] for n in (place - 1, place - 2, place)]
    assert (6, 6) == (said.code, values.code)
    assert "All is well." not in said.out
    assert str(player.path) == told["box"]
    assert [] == told["mended"]
    assert [line.removeprefix("well: ") for line in lines if line.startswith("well")] == told[
        "well"
    ]
    assert 3 == len(told["not_well"])
    assert [None] == [one["repair"] for one in told["not_well"] if "deck" in one["sentence"]]
    mended = player("checkup", "--repair", "--json")
    told = json.loads(mended.out)
    assert (6, 1, 1) == (mended.code, len(told["mended"]), len(told["not_well"]))
    again = player("checkup", "--repair")
    assert (6, 1) == (again.code, again.out.count("not well"))
    player.looks()
    assert 4 <= player("checkup").err.count(" ...\n")


def test_settings_are_listed_shown_and_changed(player: Player) -> None:
    """Words on and off for what is switched; a change says what it is now."""
    assert "on\n" == player("set", "hands-free", "on").out
    assert "off\n" == player("set", "HANDS_FREE", "off").out
    assert "15\n" == player("set", "minutes").out
    assert {"minutes": 15} == player.values("set", "minutes")
    values, rows = player.values("set"), player("set").out.splitlines()
    assert ["setting", "value"] == rows[0].split()
    assert [name.replace("_", "-") for name in values] == [row.split()[0] for row in rows[1:]]
    assert {"minutes": 20} == player.values("set", "minutes", "20")
    for words, what in ((("mood",), "no setting 'mood'"), (("minutes", "x"), "cannot be 'x'")):
        said = player("set", *words)
        assert (2, True) == (said.code, what in said.err)


# The map, families, paths


def test_the_map_of_some_decks_has_their_cards_alone(player: Player) -> None:
    """All decks unless some are named."""
    player("decks", "add", "triplet-ghosts")
    grids = {cell["grid"] for cell in player.values("vocabulary")}
    assert {"sixteenths"} == {cell["grid"] for cell in player.values("vocabulary", "first-ghosts")}
    assert len(grids) > 1
    assert 4 == len(player.values("vocabulary", "first-ghosts"))
    assert 5 == player("vocabulary", "nope").code


def test_a_family_is_a_table(player: Player) -> None:
    """By name in any case; a deck in the box that was put away is no more found as its own."""
    values = player.values("family", "doubles")
    names = [one["family"] for one in values["families"]]
    out = player("family", "doubles").out
    for one in values["families"]:
        assert f"{one['family']}, {len(one['cards'])}\n" in out
    assert (len(values["left_out"]) > 0) == (f"left out, {len(values['left_out'])}\n" in out)
    some = player("family", "doubles", names[1].upper())
    assert some.out.startswith(f"{names[1]}, ")
    assert "left out" not in some.out
    assert [names[1]] == [
        one["family"] for one in player.values("family", "doubles", names[1])["families"]
    ]
    wrong = player("family", "doubles", "nope")
    assert (5, True) == (wrong.code, f"name one of: {names[0]}" in wrong.err)
    assert player("family", "first-ghosts").out.startswith("no family, 4\n")
    player("decks", "archive", "first-ghosts")
    assert 4 == player("family", "first-ghosts").code


def test_a_path_leads_to_a_card(player: Player) -> None:
    """By its name or title; what is nearly one is proposed; the route has what the player has."""
    steps = player.values("path", "first-ghosts")["steps"]
    assert [["e", "a"], ["e-a"]] == [
        [one["slug"] for one in step]
        for step in player.values("path", "first-ghosts", "e-a")["steps"]
    ]
    assert sum(map(len, steps)) == 4
    assert player.values("path", "E and A of every beat") == player.values(
        "path", "first-ghosts", "e-a"
    )
    near, far = player("path", "first-ghosts", "a-double"), player("path", "first-ghosts", "zzz")
    assert "did you mean 'a-doubled'?" in near.err
    assert "'drillbox family first-ghosts' lists its cards" in far.err
    assert (5, 5) == (near.code, far.code)
    player("decks", "add", "first-week")
    route = {one["deck"]: one for one in player.values("path")}
    assert [True, False] == [route[name]["in_box"] for name in ("first-week", "doubles")]
    assert {0} == {one["holding"] for one in route.values()}


@pytest.mark.parametrize("there", ["the box", "a deck", "a page of somebody's"])
@pytest.mark.parametrize(
    "words",
    [
        ("year", "--html", "{}"),
        ("studio", "{dir}/mine.jsonl", "--html", "{}"),
        ("studio", "{dir}/mine.jsonl", "--parents", "Mia", "-o", "{}"),
        ("measure", "{dir}/take.mid", "--card", "e", "--bpm", "90", "--svg", "{}"),
        ("track", "{}", "e"),
        ("track", "{}", "e", "--over"),
        ("sheet", "e", "-o", "{}"),
    ],
)
def test_what_a_command_writes_takes_no_other_file_away(
    player: Player, words: tuple[str, ...], there: str
) -> None:
    """Neither the box itself, nor a deck, nor a page that drillbox did not write."""
    player("decks", "add", "first-ghosts")
    player("record", "e", "80", "clean")
    player("progress", "export", str(player.path.with_name("mine.jsonl")), "--name", "Mia", "--yes")
    midi(player)
    ending = {"track": ".wav", "sheet": ".svg", "measure": ".svg"}.get(words[0], ".html")
    place = player.path.with_name(f"keep{ending}")
    if there == "the box":
        place.symlink_to(player.path)
        whole = player.path.read_bytes()
    else:
        whole = b"[deck]\n" if there == "a deck" else b"<!DOCTYPE html><svg data-made-by=me>"
        place.write_bytes(whole)
    filled = [word.format(place, dir=player.path.parent) for word in words]
    said = player(*filled)

    if "--over" in words and there != "the box":
        assert 0 == said.code
        return
    assert (7, whole) == (said.code, place.read_bytes())
    assert f"{place}: the file exists already; " in said.err


def test_a_page_and_a_drawing_take_the_place_of_the_one_before(player: Player) -> None:
    """They are made anew each time, and tell their kind by a mark of their own."""
    player("decks", "add", "first-ghosts")
    midi(player)
    player("progress", "export", str(player.path.with_name("mine.jsonl")), "--name", "Mia", "--yes")
    page, take, mine = (str(player.path.with_name(n)) for n in ("a.html", "take.mid", "mine.jsonl"))
    drawing = str(player.path.with_name("a.svg"))
    for words in (
        ("year", "--html", page),
        ("studio", mine, "--html", page),
        ("year", "--html", page),
        ("measure", take, "--card", "e", "--bpm", "90", "--svg", drawing),
        ("measure", take, "--card", "e", "--bpm", "90", "--svg", drawing),
    ):
        assert 0 == player(*words).code, words
