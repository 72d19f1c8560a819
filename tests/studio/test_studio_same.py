"""Text, page, CSV and JSON beside each other: every student and card once, with equal numbers."""

from __future__ import annotations

import csv
import json
import random
from dataclasses import replace
from datetime import timedelta
from io import StringIO
from typing import Any

import html5lib
import pytest
from students_by_hand import DECK, TODAY, aged, card, failed, student

from drillbox.studio import (
    Asked,
    CardProgress,
    DeckInfo,
    Progress,
    StudentFigures,
    as_csv,
    as_objects,
    class_lines,
    look_at,
    next_up,
    studio_page,
    table_rows,
    tasks_of,
)
from drillbox.studio.classroom import NAMES, SIGNS, class_map, map_lines, untouched

HTML = "{http://www.w3.org/1999/xhtml}"
OTHER = DeckInfo("b", "B", 2)
KINDS = ("in hand", "building", "stuck", "fading")
OF_KIND = {
    "in hand": ("holding", "outgrown"),
    "building": ("building",),
    "stuck": ("stuck", "apart"),
    "fading": ("fading",),
}


def some_card(chance: random.Random, number: int) -> CardProgress:
    """Return a card of any kind."""
    one = chance.choice(
        (
            card(number, "waiting"),
            card(number, "holding", (50, 2, 90.0), (4, 3, 101.0)),
            card(number, "outgrown", (50, 1, 140.0)),
            replace(card(number, "fading", (70, 1, 101.0)), cold_bpm=93.0),
            card(number, "building", (35, 2, 70.0), (2, 3, 84.0)),
            card(number, "building", (50, 1, 80.0), (5, 13, 80.5)),
            failed(number, (9, 3, 60.0), (1, 4, 60.0), (0, 1, 60.0)),
            card(number, "rested", (33, 1, 88.0)),
        )
    )
    asked = (Asked(TODAY + timedelta(days=chance.randint(-9, 9)), chance.choice((60.0, 150.0))),)
    decks = chance.choice((("week-3",), ("b",), ("week-3", "b")))
    return replace(one, decks=decks, asked=asked if chance.random() < 0.5 else ())


def made_class(seed: int, number: int = 5) -> list[Progress]:
    """Return the files of some students, in two groups, a file of each a few days old."""
    chance, files = random.Random(seed), []
    for n in range(1, number + 1):
        cards = [some_card(chance, c) for c in range(1, 9) if chance.random() < 0.8]
        file = replace(student(n, f"S{n}", *cards), decks=(DECK, OTHER))
        day = TODAY - timedelta(days=chance.choice((0, 1, 2)))
        files.append(replace(file, group=chance.choice(("Mon", "Tue")), day=day, program="1.2"))
    return files


def page_parts(students: tuple[StudentFigures, ...]) -> tuple[list[Any], list[Any], str]:
    """Return the rows of the page's table, those of its map, and all its text."""
    tree = html5lib.parse(studio_page(students, today=TODAY))
    tables = [
        [["".join(cell.itertext()) for cell in row] for row in table.iter(f"{HTML}tr")]
        for table in tree.iter(f"{HTML}table")
    ]
    return tables[0], [*tables[1:], []][0], "".join(tree.itertext())


@pytest.mark.parametrize("seed", range(8))
def test_each_form_has_each_student_once_with_the_same_numbers(seed: int) -> None:
    """A row of the table in text and page, an object, a line of CSV and one more a deck."""
    students = look_at(made_class(seed), today=TODAY)
    objects = json.loads(json.dumps(as_objects(students)))
    lines = list(csv.DictReader(StringIO(as_csv(students), newline="")))
    wholes = [row for row in lines if not row["deck"]]
    _, *shown = page_parts(students)[0]

    assert len(students) == len(objects) == len(wholes) == len(shown) == len(table_rows(students))
    for number, (one, said, row, cells, on_page) in enumerate(
        zip(students, objects, wholes, table_rows(students), shown, strict=True), start=1
    ):
        whole = one.whole
        assert one.progress.student == said["student"] == row["student"]
        assert (one.label, one.group) == (said["label"], said["group"])
        assert (one.progress.name, one.group, "1.2") == (row["name"], row["group"], row["program"])
        gain = "–" if whole.gain_bpm is None else f"{whole.gain_bpm:+.1f}"
        last = (
            "never" if one.idle_days is None
            else f"{(d := one.progress.until - timedelta(days=one.idle_days)).day} {d:%b}"
        )  # fmt: skip
        age = ("today", "yesterday", "2 days")[one.age_days]
        expected = [
            str(whole.days), f"{whole.minutes:.0f}", f"{whole.in_hand}/{whole.cards}",
            str(whole.outgrown), gain, str(whole.stuck), str(whole.fading), last, age,
        ]  # fmt: skip
        reasons = ", ".join(one.reasons)
        assert [one.label, *expected, reasons] == list(cells)
        assert [f"{number} {one.label}{reasons}", *expected] == on_page
        assert f"{one.attention:.2f}" == f"{said['attention']:.2f}" == row["attention"]
        assert reasons == ", ".join(said["reasons"]) == row["reasons"]
        parts = [("", whole, said, row)]
        decks = [deck for deck in lines if deck["student"] == row["student"] and deck["deck"]]
        for part, value, deck in zip(one.decks, said["decks"], decks, strict=True):
            parts.append((part.deck.id, part.figures, value, deck))
            assert [part.deck.id, str(part.deck.edition)] == [deck["deck"], deck["edition"]]
            assert ("", "") == (deck["attention"], deck["reasons"])
        for deck_id, figures, value, cell in parts:
            for name in ("cards", "rested", "begun", "in_hand", "outgrown", "fading", "stuck"):
                assert getattr(figures, name) == value[name] == int(cell[name])
            for name in ("days", "takes", "days_before"):
                assert getattr(figures, name) == value[name] == int(cell[name])
            assert figures.apart == value["not_together"] == int(cell["not_together"])
            for name in ("minutes", "minutes_before", "gain_bpm"):
                exact = getattr(figures, name)
                assert (None if exact is None else round(exact, 1)) == value[name]
                assert ("" if exact is None else f"{exact:.1f}") == cell[name]
            for status in ("met", "late", "missed", "not due"):
                asked = [
                    task
                    for task in tasks_of(one)
                    if task.status == status and (not deck_id or deck_id in task.card.decks)
                ]
                assert len(asked) == int(cell[status.replace(" ", "_")])


@pytest.mark.parametrize("seed", range(4))
def test_the_lists_of_an_object_hold_each_card_where_it_stands(seed: int) -> None:
    """By their titles, in the order of the decks; the new and the outgrown are in hand, too."""
    for one, said in zip(
        students := look_at(made_class(seed), today=TODAY), as_objects(students), strict=True
    ):
        held = [c for c in one.cards if c.card.state in {"holding", "outgrown"}]
        lists = {
            "in_hand_cards": held,
            "new_in_hand_cards": [c for c in held if c.new],
            "outgrown_cards": [c for c in held if c.card.state == "outgrown"],
            "stuck_cards": [c for c in one.cards if c.stuck],
            "fading_cards": [c for c in one.cards if c.card.state == "fading"],
            "waiting_cards": [c for c in one.cards if c.card.state == "waiting"],
            "building_cards": [
                c for c in one.cards if c.card.state == "building" and not (c.stuck or c.apart)
            ],
            "not_together_cards": [c for c in one.cards if c.card.state == "building" and c.apart],
        }
        for name, cards in lists.items():
            assert [c.card.title for c in cards] == said[name], name
        coming, then = next_up(one), said["next"]
        assert [s.card.title for s in coming.slower] == [s["card"] for s in then["slower"]]
        assert [s.bpm for s in coming.slower] == [s["bpm"] for s in then["slower"]]
        assert [s.bpm for s in coming.steps] == [s["bpm"] for s in then["steps"]]
        assert [c.title for c in coming.near] == then["near"]
        assert [c.title for c in coming.new] == then["new"]
        assert len(tasks_of(one)) == len(said["asked"])


@pytest.mark.parametrize("seed", range(4))
def test_the_map_has_each_begun_card_once_in_text_and_page(seed: int) -> None:
    """A row each with a sign a student; on the page the sums of its row, where there are any."""
    students = look_at(made_class(seed), today=TODAY)
    have = [{c.card.rhythm: c.kind for c in one.cards} for one in students]
    begun = {c.card.rhythm for one in students for c in one.cards if c.card.days}
    known = {rhythm for one in have for rhythm in one}
    rows = class_map(students)
    assert sorted(begun) == sorted(row.rhythm for row in rows)
    assert len(known - begun) == untouched(students)
    head, *shown = page_parts(students)[1]
    assert ["card", *KINDS, *(str(n) for n in range(1, len(students) + 1))] == head
    for row, cells in zip(rows, shown, strict=True):
        kinds = [one.get(row.rhythm, "") for one in have]
        assert kinds == list(row.kinds)
        signs = [SIGNS[kind] if kind else "" for kind in kinds]
        sums = [sum(kind in OF_KIND[name] for kind in kinds) for name in KINDS]
        assert [row.title, *(str(n or "") for n in sums), *signs] == cells
        (line,) = (line for line in map_lines(students) if line.startswith(f"{row.title} "))
        assert "".join(sign or " " for sign in signs) == line[36:]
    tree = html5lib.parse(studio_page(students, today=TODAY))
    for cell in (c for c in tree.iter(f"{HTML}td") if c.get("title")):
        assert (NAMES[str(cell.get("class"))], SIGNS[str(cell.get("class"))]) == (
            cell.get("title"),
            cell.text,
        )


@pytest.mark.parametrize(
    ("number", "tens"),
    [(9, ""), (10, "         1"), (20, "         1         2"), (100, "         1         2")],
)
def test_students_of_the_map_are_numbered_over_their_column(number: int, tens: str) -> None:
    """The tens over every tenth, the ones over each; the names before them."""
    files = [
        student(n, f"S{n:03}", card(1, "holding", (1, 1, 101.0))) for n in range(1, number + 1)
    ]
    lines = map_lines(look_at(files, today=TODAY))
    assert [f"{n:>3}  S{n:03}" for n in range(1, number + 1)] == lines[:number]
    over = lines[number + 1][36:]
    assert over.startswith(tens)
    assert [str(n // 10 % 10) if n % 10 == 0 else " " for n in range(1, number + 1)] == list(over)
    assert "".join(str(n % 10) for n in range(1, number + 1)) == lines[number + 2][36:]
    assert not any("nobody" in line for line in lines)


@pytest.mark.parametrize(("length", "shown"), [(34, "t" * 34), (35, "t" * 33 + "…")])
def test_a_long_title_is_cut_where_the_signs_begin(length: int, shown: str) -> None:
    """One that just fits is whole."""
    one = aged(0, replace(card(1, "holding", (1, 1, 101.0)), title="t" * length))
    assert f"{shown}  ●" in map_lines([one])


@pytest.mark.parametrize(("number", "said"), [(1, "1 card"), (2, "2 cards")])
def test_what_nobody_has_begun_is_counted(number: int, said: str) -> None:
    """In the text and on the page."""
    one = aged(
        0, card(1, "holding", (1, 1, 101.0)), *(card(n + 2, "waiting") for n in range(number))
    )
    assert f"and {said} that nobody has begun" in map_lines([one])
    assert f"And {said} that nobody has begun." in page_parts((one,))[2]


@pytest.mark.parametrize(
    ("down", "more"), [(400, ""), (401, "And 1 card more."), (402, "And 2 cards more.")]
)
def test_a_map_goes_down_so_far(down: int, more: str) -> None:
    """Its first four hundred cards; the others are counted."""
    one = aged(0, *(card(n, "holding", (1, 1, 101.0)) for n in range(down)))
    _, rows, text = page_parts((one,))
    assert 1 + min(down, 400) == len(rows)
    assert (more in text) if more else ("And " not in text)


def test_a_class_without_a_begun_card_has_no_map() -> None:
    """Nothing to draw, and nothing said of it."""
    assert "The class" not in page_parts((aged(0, card(1, "waiting")),))[2]
    assert [] == page_parts((aged(0, card(1, "waiting")),))[1]


NUMBERS = {"days", "min", "in hand", "outgrown", "gained", "stuck", "fading"}
LEFT_OUT = {"days", "min", "outgrown", "gained", "last", "file"}


def test_columns_of_numbers_stand_right_and_a_telephone_leaves_some_out() -> None:
    """What needs a word stays; heads and cells are of the same kind."""
    tree = html5lib.parse(studio_page((aged(0, *GOOD),), today=TODAY))
    head, row = next(tree.iter(f"{HTML}table")).iter(f"{HTML}tr")
    for name, cell in zip(head, row, strict=True):
        text = "".join(name.itertext())
        if text == "student":
            continue
        kinds = ["n"] * (text in NUMBERS) + ["late"] * (text in LEFT_OUT)
        assert " ".join(kinds) == (name.get("class") or "") == (cell.get("class") or "")
        assert ("col", None) == (name.get("scope"), cell.get("scope"))


GOOD = tuple(card(n, "holding", *((ago, 1, 101.0) for ago in range(19, -1, -1))) for n in (1, 2))


def test_a_students_part_of_the_page_says_how_the_cards_stand() -> None:
    """A call and what rests only where there is some; the decks by their editions."""
    rests, idle = card(3, "rested", (1, 1, 80.0)), card(4, "fading", (20, 1, 101.0))
    fine = page_parts((aged(0, *GOOD),))[2]
    other = page_parts((aged(0, GOOD[0], rests, idle),))[2]
    assert "2 of 2 cards in hand; Week 3" in fine
    assert "1 of 2 cards in hand, 1 at rest; Week 3" in other
    assert "at rest;" not in fine
    assert "Week 3, edition 1" in fine
    tree = html5lib.parse(studio_page((aged(0, *GOOD), aged(0, idle)), today=TODAY))
    first, second = tree.iter(f"{HTML}article")
    assert (["student-1"], ["student-2"]) == ([first.get("id")], [second.get("id")])
    calls = [
        [p for p in part.iter(f"{HTML}p") if p.get("class") == "call"] for part in (first, second)
    ]
    assert [0, 1] == [len(some) for some in calls]
    assert ", ".join(aged(0, idle).reasons) == "".join(calls[1][0].itertext())
    # A note of one thing is a sentence, one of more a list.
    lists = ["".join(item.itertext()) for item in first.iter(f"{HTML}li")]
    assert ["card 1 (101 of 100)", "card 2 (101 of 100)"] == lists
    assert [] == list(second.iter(f"{HTML}li"))


@pytest.mark.parametrize("groups", [("Mon", "Mon"), ("Mon", "Tue"), ("", "Tue")])
def test_groups_are_told_where_there_are_more_than_one(groups: tuple[str, str]) -> None:
    """In the order of their names, each with its own sums; the class as a whole before them."""
    played = card(1, "holding", (40, 3, 99.0), (3, 2, 101.0))
    files = [replace(student(n, f"S{n}", played), group=g) for n, g in enumerate(groups)]
    files.append(student(7, "S7", card(1, "fading", (40, 1, 99.0))))
    first, *rest = class_lines(look_at(files, today=TODAY))
    assert (
        "2 of 3 students practised in the month, 3 in the one before; 4 minutes together, 7 before."
    ) == first
    expected = [f"{name}: 1 student, 1 of 1 in hand, 2 minutes." for name in ("Mon", "Tue")]
    assert (expected if set(groups) == {"Mon", "Tue"} else []) == rest


def test_only_the_decks_that_are_asked_for_are_looked_at() -> None:
    """With their cards, those of two decks included; all where none is named."""
    cards = [
        replace(card(n, "holding", (1, 1, 101.0)), decks=decks)
        for n, decks in enumerate((("week-3",), ("b",), ("week-3", "b")))
    ]
    file = replace(student(1, "Mia", *cards), decks=(DECK, OTHER))
    for decks, titles in (
        ((), ["card 0", "card 1", "card 2"]),
        (("b",), ["card 1", "card 2"]),
        (("week-3",), ["card 0", "card 2"]),
        (("c",), []),
    ):
        (one,) = look_at([file], today=TODAY, decks=decks)
        assert titles == [c.card.title for c in one.cards]
        assert [d for d in ("week-3", "b") if not decks or d in decks] == [
            part.deck.id for part in one.decks
        ]


def test_the_later_file_of_a_student_counts() -> None:
    """By the second; whichever is read first."""
    old = student(1, "Old", card(1, "waiting"))
    new = replace(student(1, "New"), written=old.written + timedelta(seconds=1))
    for files in ([old, new], [new, old], [new, old, new]):
        assert ["New"] == [one.label for one in look_at(files, today=TODAY)]
