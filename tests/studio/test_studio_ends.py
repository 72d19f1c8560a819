"""What a progress file may hold, at its very ends and one beyond: fields, lists, lines, bytes."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO
from itertools import count
from typing import Any

import pytest
from students_by_hand import TODAY, card, student

from drillbox.errors import ProgressError
from drillbox.studio import (
    DeckInfo,
    HeardMonth,
    Played,
    Progress,
    day_lines,
    progress_files,
    read_progress,
    write_progress,
)
from drillbox.studio.day_lines import days_at_once

ID = "0a" * 16
ASKED = {"by": "2026-12-01", "goal_bpm": 90.0, "given": "2026-11-20"}
MONTH = {"month": "2026-03", "takes": 4, "spread_ms": 12.5, "contrast_db": 20}
HEAD = {
    "format": "drillbox progress",
    "version": 3,
    "student": "0" * 32,
    "name": "Mia",
    "written": "2026-11-25T17:00:00Z",
    "day": "2026-11-25",
    "program": "",
    "minutes": None,
    "taken_in": [],
    "heard": [],
}
DECK = {"kind": "deck", "id": "week-3", "title": "Week 3", "edition": 1}
CARD = {
    "kind": "card",
    "rhythm": f"{1:016x}",
    "decks": ["week-3"],
    "title": "e of 1",
    "goal_bpm": 90,
    "state": "building",
    "cold_bpm": None,
    "low_bpm": None,
    "high_bpm": None,
    "last_bpm": None,
    "asked": [],
}
DAY = {
    "kind": "day",
    "rhythm": f"{1:016x}",
    "day": "2026-11-20",
    "takes": 3,
    "seconds": 60.0,
    "cold_bpm": 85.0,
}


def line(record: dict[str, Any]) -> bytes:
    """Return an object as a line."""
    return json.dumps(record).encode() + b"\n"


def file_of(head: dict[str, Any], *records: dict[str, Any]) -> bytes:
    """Return a file, with its end line."""
    return b"".join(map(line, (head, *records, {"kind": "end", "lines": len(records)})))


def read(data: bytes) -> Progress:
    """Read a progress file from bytes."""
    return read_progress(BytesIO(data), "p.jsonl")


def months(number: int) -> list[dict[str, Any]]:
    """Return so many months, one after the other."""
    return [{**MONTH, "month": f"{2000 + n // 12}-{n % 12 + 1:02}"} for n in range(number)]


def ids(number: int) -> list[str]:
    """Return so many ids of replies."""
    return [f"{n:032x}" for n in range(number)]


FIELDS: list[tuple[dict[str, Any], str, list[Any], list[Any]]] = [
    (HEAD, "student", [ID], [ID[1:], ID + "0", ID.upper(), int(ID[:4], 16), None]),
    (HEAD, "name", ["", "a" * 80], ["a" * 81, "a\n", None]),
    (HEAD, "written", ["1969-12-01T00:00:00Z", "2200-01-31T23:59:59Z"],
     ["1969-11-30T23:59:59Z", "2200-02-01T00:00:00Z", "2026-02-29T00:00:00Z",
      "2026-11-25T24:00:01Z", "2026-11-25T17:00:00ZZ", "2026-11-25", 1]),
    (HEAD, "day", [None, "1969-12-01", "2200-01-31"], ["1969-11-30", "2200-02-01", 3, "2026-11"]),
    (HEAD, "program", ["", "1" * 40], ["1" * 41, None]),
    (HEAD, "minutes", [None, 1, 1440], [0, 1441, True, 1.5, "20"]),
    (HEAD, "taken_in", [[], [ID], ids(1000)], [ids(1001), None, [ID[1:]], [ID, "x"], ID, [3]]),
    (HEAD, "heard", [[], [MONTH], months(2), months(240)],
     [months(241), None, {}, [None], months(2)[::-1], months(1) * 2]),
    (DECK, "id", ["week-3", "w"], ["week--3", "-w", "W", "w" * 65, 3]),
    (DECK, "edition", [1, 1_000_000], [0, 1_000_001, True, 1.0, None]),
    (DECK, "title", ["", "t" * 160], ["t" * 161, None]),
    (CARD, "title", ["", "t" * 160], ["t" * 161, None]),
    (CARD, "decks", [["week-3"]], [[], None, ["week-3", "week-3"], {"week-3": 1}, "w", ["W"]]),
    (CARD, "goal_bpm", [1, 1.0, 1000], [0.99, 1000.01, True, None, "90"]),
    (CARD, "cold_bpm", [None, 1, 1000], [0.99, 1000.01, True, "90"]),
    (CARD, "low_bpm", [None, 0, 100_000], [-0.01, 100_000.1, True, "90"]),
    (CARD, "high_bpm", [None, 0, 100_000], [-0.01, 100_000.1, True, "90"]),
    (CARD, "last_bpm", [None, 1, 1000], [0.99, 1000.01, True, "90"]),
    (CARD, "asked", [[], [ASKED], [ASKED] * 100], [[ASKED] * 101, None, {}, [None], ["by"]]),
    (DAY, "takes", [1, 10_000], [0, 10_001, True, 1.0]),
    (DAY, "seconds", [0, 0.1, 864_000], [-0.1, 864_000.1, True, None]),
    (DAY, "cold_bpm", [1, 1000], [0.99, 1000.01, True, None]),
]  # fmt: skip


@pytest.mark.parametrize(("record", "key", "good", "bad"), FIELDS, ids=lambda one: str(one)[:12])
def test_every_field_ends_where_it_says(
    record: dict[str, Any], key: str, good: list[Any], bad: list[Any]
) -> None:
    """The ends themselves are read; what lies just beyond, or is of another kind, is refused.

    So with a space more in each line, too: then days are looked at one by one.
    """

    def changed(value: object) -> bytes:
        rows = [{**one, key: value} if one is record else one for one in (HEAD, DECK, CARD, DAY)]
        if record is DECK and key == "id" and value in good:
            rows[2] = {**CARD, "decks": [value]}
        return file_of(rows[0], *rows[1:])

    def spaced(data: bytes) -> bytes:
        return data.replace(b'{"kind"', b'{ "kind"')

    for value in good:
        found = read(changed(value))
        assert HEAD["student"] == found.student or key == "student"
        assert found == read(spaced(changed(value)))
    for value in bad:
        for data in (changed(value), spaced(changed(value))):
            with pytest.raises(ProgressError, match=f"{key} cannot be "):
                read(data)


@pytest.mark.parametrize("longest", ["w" * 64, "a-" * 31 + "bc"])
def test_a_deck_has_an_id_of_64_signs_at_most(longest: str) -> None:
    """As a deck and as what a card names."""
    good = file_of(HEAD, {**DECK, "id": longest}, {**CARD, "decks": [longest]})
    assert (longest,) == read(good).cards[0].decks
    for wrong in (
        file_of(HEAD, {**DECK, "id": longest + "c"}),
        file_of(HEAD, DECK, {**CARD, "decks": [longest + "c"]}),
    ):
        with pytest.raises(ProgressError, match=r"(id|decks) cannot be "):
            read(wrong)


@pytest.mark.parametrize(
    ("inside", "outside"),
    [
        ({"by": "1969-12-01"}, {"by": "1969-11-30"}),
        ({"by": "2200-01-31"}, {"by": None}),
        ({"goal_bpm": 1}, {"goal_bpm": 0.9}),
        ({"goal_bpm": 1000}, {"goal_bpm": 1000.1}),
        ({"given": "2026-11-01"}, {"given": "2026-11-31"}),
        ({"given": "2026-12-02"}, {"given": None}),
        ({"goal_bpm": 84.5}, {"note": "x"}),
    ],
)
def test_what_is_asked_is_a_day_a_tempo_and_since_when(
    inside: dict[str, Any], outside: dict[str, Any]
) -> None:
    """Each of the three is looked at, in every place of the list; `given` may be left out."""
    short = {key: value for key, value in ASKED.items() if key != "given"}
    (one,) = read(file_of(HEAD, DECK, {**CARD, "asked": [short | inside]})).cards
    assert (None if "given" not in inside else date.fromisoformat(inside["given"])) == (
        one.asked[0].given
    )
    missing = [{k: v for k, v in ASKED.items() if k != name} for name in ("by", "goal_bpm")]
    for wrong in (ASKED | outside, *missing):
        for asked in ([wrong], [ASKED, wrong], [wrong, ASKED]):
            with pytest.raises(ProgressError, match="asked cannot be "):
                read(file_of(HEAD, DECK, {**CARD, "asked": asked}))


@pytest.mark.parametrize(
    ("key", "good", "bad"),
    [
        ("month", ["1969-12", "2200-01"], ["1969-11", "2200-02", "2026-13", "2026-1", None]),
        ("takes", [1, 10_000], [0, 10_001, True, 1.5, None]),
        ("spread_ms", [None, -10_000, 0.5, 10_000], [-10_000.1, 10_000.1, True, "9"]),
        ("contrast_db", [None, -10_000, 0.5, 10_000], [-10_000.1, 10_000.1, True, "9"]),
    ],
)
def test_a_month_that_was_heard_has_four_fields(key: str, good: list[Any], bad: list[Any]) -> None:
    """Each with its ends; none missing, none more."""
    for value in good:
        (one,) = read(file_of({**HEAD, "heard": [{**MONTH, key: value}]})).heard
        assert HeardMonth(**{**MONTH, key: value}) == one
    short = {name: value for name, value in MONTH.items() if name != key}
    for wrong in (short, {**MONTH, "more": 1}, *({**MONTH, key: value} for value in bad)):
        with pytest.raises(ProgressError, match="heard cannot be "):
            read(file_of({**HEAD, "heard": [wrong]}))


HEARD_ONLY = {key: value for key, value in HEAD.items() if key != "heard"}
FIRST = {key: HEAD[key] for key in ("format", "student", "name", "written")} | {"version": 1}
FIRST_CARD = {key: CARD[key] for key in list(CARD)[:7]}


def test_each_version_has_the_fields_of_its_own() -> None:
    """None of a later one, and all of its own; the first has no end line."""
    second = {**HEARD_ONLY, "version": 2}
    assert () == read(file_of(second, DECK, CARD)).heard
    assert 1 == len(read(b"".join(map(line, (FIRST, DECK, FIRST_CARD)))).cards)
    for wrong, told in (
        (file_of({**HEAD, "version": 2}), "'heard' is not known"),
        (file_of(HEARD_ONLY), "heard is missing"),
        (file_of({**FIRST, "version": 2}), "day is missing"),
        (file_of(second, DECK, FIRST_CARD), "low_bpm is missing"),
        (line(FIRST) + line(DECK) + line(CARD), "'low_bpm' is not known"),
        (line({**FIRST, "day": None}), "'day' is not known"),
        (file_of(FIRST), "the line's kind is not known"),
        (line(HEAD), "it has no end line"),
        *((file_of({**HEAD, "version": n}), "another version") for n in (0, 4, True, 2.0, "2")),
    ):
        with pytest.raises(ProgressError, match=told):
            read(wrong)


def test_a_file_is_of_the_version_that_shows_what_it_holds() -> None:
    """The third where something was heard, else the second."""
    plain = student(1, "Mia", card(1, "holding", (3, 1, 80.26)))
    for file, version in (
        (plain, 2),
        (replace(plain, heard=(HeardMonth("2026-03", 1, None, None),)), 3),
    ):
        out = BytesIO()
        write_progress(file, out)
        assert version == json.loads(out.getvalue().splitlines()[0])["version"]
        again = read(out.getvalue())
        assert file.heard == again.heard
        # Tempos are written to a tenth.
        assert 80.3 == again.cards[0].cold_bpm == again.cards[0].days[0].cold_bpm


def test_a_file_of_the_greatest_size_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """So many bytes after the first line, and not one more; how many, the page of the format says.

    No more than one is asked for beyond: a file without end is not read into memory.
    """
    rest = line(DECK) + line(FIRST_CARD)
    monkeypatch.setattr(progress_files, "MOST_BYTES", len(rest))
    assert 1 == len(read(line(FIRST) + rest).decks)
    asked: list[int | None] = []

    class Counting(BytesIO):
        """A file that notes how much of it is asked for at once."""

        def read(self, size: int | None = -1, /) -> bytes:
            asked.append(size)
            return super().read(size)

    with pytest.raises(ProgressError, match="the file is larger than 0 MiB"):
        read_progress(Counting(line(FIRST) + rest + b"\n"), "p.jsonl")
    assert [len(rest) + 1] == asked


@pytest.mark.parametrize("spaced", [False, True], ids=["at once", "line by line"])
def test_lists_end_at_their_limits(monkeypatch: pytest.MonkeyPatch, *, spaced: bool) -> None:
    """So many decks, cards, days of one card and lines are read, and one more is refused.

    With limits of a few: what they are is on the page of the format.
    """
    monkeypatch.setattr(progress_files, "MOST_DECKS", 2)
    monkeypatch.setattr(progress_files, "MOST_CARDS", 3)
    monkeypatch.setattr(progress_files, "MOST_DAYS", 4)
    monkeypatch.setattr(day_lines, "MOST_DAYS", 4)
    decks = [{**DECK, "id": f"d{n}"} for n in range(3)]
    cards = [{**CARD, "rhythm": f"{n:016x}", "decks": ["d0"]} for n in range(4)]
    days = [{**DAY, "rhythm": f"{0:016x}", "day": f"2026-11-{n:02}"} for n in range(1, 6)]

    def of(*records: dict[str, Any]) -> bytes:
        data = file_of(HEAD, *records)
        return data.replace(b'{"kind": "day"', b'{ "kind": "day"') if spaced else data

    whole = (*decks[:2], *cards[1:3], cards[0], *days[:4])
    found = read(of(*whole))
    assert (2, 3, 4) == (len(found.decks), len(found.cards), len(found.cards[2].days))
    for wrong, told in (
        (of(*decks), r"^p.jsonl:4: more than 2 of them"),
        (of(decks[0], *cards), r"^p.jsonl:6: more than 3 of them"),
        (of(decks[0], cards[0], *days), r"^p.jsonl:8: more than 4 days of one card"),
    ):
        with pytest.raises(ProgressError, match=told):
            read(wrong)
    # The head and the end line are lines, too.
    monkeypatch.setattr(progress_files, "MOST_LINES", 11)
    assert found == read(of(*whole))
    monkeypatch.setattr(progress_files, "MOST_LINES", 10)
    with pytest.raises(ProgressError, match=r"^p.jsonl:11: more than 10 lines"):
        read(of(*whole))


def test_so_many_days_of_a_card_are_read_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of one day more, no word is said at once."""
    monkeypatch.setattr(day_lines, "MOST_DAYS", 3)
    lines = [line({**DAY, "day": f"2026-11-0{n}"}) for n in (1, 2, 3, 4)]
    found = days_at_once(b"".join(lines[:3]))
    assert found is not None
    assert 3 == len(found)
    assert days_at_once(b"".join(lines)) is None


@pytest.mark.parametrize("spaced", [False, True], ids=["at once", "line by line"])
def test_a_wrong_line_is_told_by_its_number_behind_other_cards(*, spaced: bool) -> None:
    """Behind the days of two cards: days of a card that is not there, or that are there twice."""
    cards = [{**CARD, "rhythm": f"{n:016x}"} for n in (1, 2)]
    days = {
        n: [{**DAY, "rhythm": f"{n:016x}", "day": f"2026-11-0{d}"} for d in (1, 2)]
        for n in (1, 2, 3)
    }
    for last, told in (
        (days[3], r"^p.jsonl:9: there is no card of this rhythm above"),
        (days[1], r"^p.jsonl:9: a card's days must go forward"),
    ):
        third = {**CARD, "rhythm": f"{4:016x}"}
        data = file_of(HEAD, DECK, cards[0], *days[1], cards[1], days[2][0], third, *last)
        data = data.replace(b'{"kind": "day"', b'{ "kind": "day"') if spaced else data
        with pytest.raises(ProgressError, match=told):
            read(data)


def test_every_card_and_deck_is_written_and_read_in_its_place() -> None:
    """Two hundred cards of three decks, with days of their own: none lost, none twice."""
    number = count(1)
    decks = tuple(DeckInfo(f"d{n}", f"Deck {n}", n) for n in (1, 2, 3))
    cards = tuple(
        replace(
            card(n, "holding", *((n % 9 + m, m, 80.0) for m in (9, 5, 1)[: n % 4])), decks=("d2",)
        )
        for n in (next(number) for _ in range(200))
    )
    file = replace(student(1, "Mia", *cards), decks=decks, day=TODAY, taken_in=(ID,), minutes=20)
    out = BytesIO()
    write_progress(file, out)
    assert file == read(out.getvalue())
    assert all(isinstance(day, Played) for one in cards for day in one.days)


@pytest.mark.parametrize("wrong", [(1, 3, 2), (2, 1, 3), (1, 2, 2), (1, 1, 2)])
def test_every_day_of_many_must_go_forward(wrong: tuple[int, ...]) -> None:
    """One that does not, among others that do, is enough to look at each."""
    rows = [line({**DAY, "day": f"2026-11-0{n}"}) for n in wrong]
    assert days_at_once(b"".join(rows)) is None
    with pytest.raises(ProgressError, match="a card's days must go forward"):
        read(file_of(HEAD, DECK, CARD, *map(json.loads, rows)))


@pytest.mark.parametrize(
    ("day", "played", "latest"),
    [(0, (9, 3), 0), (0, (9, -2), -2), (-3, (9, 3), -3), (5, (9, 7), 0), (5, (), 0)],
)
def test_the_latest_day_of_a_file_is_of_its_writing_or_of_practice(
    day: int, played: tuple[int, ...], latest: int
) -> None:
    """All in days before the moment it was written: the one that came last."""
    cards = (card(1, "holding", *((ago, 1, 80.0) for ago in played)), card(2, "waiting"))
    file = replace(student(1, "Mia", *cards), day=TODAY - timedelta(days=day))
    assert TODAY - timedelta(days=latest) == file.latest
    assert (TODAY, TODAY - timedelta(days=day)) == (replace(file, day=None).until, file.until)
