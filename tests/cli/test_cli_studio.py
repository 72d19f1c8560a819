"""A student hands progress in, a teacher looks: as typed, from the box to the page."""

from __future__ import annotations

import csv
import json
from io import BytesIO, StringIO
from typing import TYPE_CHECKING

import pytest
from cli_kit import say_on

from drillbox import Box, Grade
from drillbox.deckfile import Deck, parse_deck
from drillbox.report.progress_file import progress_of
from drillbox.studio import Progress, look_at, read_progress, student_lines

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Said, Say

    from drillbox.base.clock import ManualClock


@pytest.fixture
def say(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> Say:
    """Return a caller of commands on a student's box, named first: exit code, output, remarks."""

    def call(student: str, *words: str) -> Said:
        return say_on(tmp_path / f"{student}.box", capfd)(*words)

    return call


@pytest.fixture
def handed_in(say: Say, tmp_path: Path, small_deck: Deck) -> Path:
    """Return a folder with the files of two students, both called Mia, and one without a name."""
    deck, folder = tmp_path / "d.toml", tmp_path / "handed-in"
    deck.write_text(small_deck.text, encoding="utf-8")
    folder.mkdir()
    for student, name in (("one", "Mia"), ("two", "Mia"), ("three", "")):
        say(student, "decks", "add", str(deck))
        say(student, "record", "e", "80", "clean")
        say(student, "progress", "export", str(folder / f"{student}.jsonl"), "--name", name)
    return folder


def mia_of(folder: Path) -> str:
    """Return the first Mia as a teacher types her: by the beginning of her id."""
    head = json.loads((folder / "one.jsonl").read_text(encoding="utf-8").splitlines()[0])
    return str(head["student"][:8])


def test_a_teacher_sees_who_handed_in(say: Say, handed_in: Path) -> None:
    """As text, JSON, CSV and a page; the two Mias stay apart.

    The folder read twice is the folder.
    """
    code, text, _ = say("teacher", "studio", str(handed_in), str(handed_in))
    objects = json.loads(say("teacher", "studio", str(handed_in), "--json")[1])
    rows = list(csv.DictReader(StringIO(say("teacher", "studio", str(handed_in), "--csv")[1])))
    page = handed_in / "studio.html"
    written = say("teacher", "studio", str(handed_in), "--html", str(page))

    assert 0 == code
    assert 4 == len(text.split("\n\n")[1].splitlines())
    assert text.startswith("3 of 3 students practised in the month, 0 in the one before; ")
    assert 3 == len({one["student"] for one in objects}) == len(objects)
    assert 2 == sum(one["label"].startswith("Mia (") for one in objects)
    assert {("first-ghosts", "4"), ("", "4")} == {(row["deck"], row["cards"]) for row in rows}
    assert (0, "") == written[:2]
    assert 3 == page.read_text(encoding="utf-8").count("<article")
    assert 0 == say("teacher", "studio", str(handed_in), "--html", str(page))[0]


def test_a_later_file_takes_the_place_of_an_earlier_one(say: Say, handed_in: Path) -> None:
    """The student plays on and hands in again, under the same id and the name chosen before."""
    say("one", "record", "e", "85", "clean")
    code, out, _ = say("one", "progress", "export", str(handed_in / "one-again.jsonl"))
    files = [handed_in / "one.jsonl", handed_in / "one-again.jsonl"]
    first, second = (read_progress(BytesIO(file.read_bytes()), "p") for file in files)

    assert 0 == code
    assert "4 cards, as Mia." in out
    assert (first.student, first.name) == (second.student, second.name)
    assert [1, 2] == [file.cards[0].days[0].takes for file in (first, second)]
    assert 3 == len(json.loads(say("teacher", "studio", str(handed_in), "--json")[1]))


def test_the_way_back_from_the_desk_to_the_students_today(
    say: Say, handed_in: Path, tmp_path: Path
) -> None:
    """Written for one Mia, taken in by her box alone; on her Today, and told in her next file."""
    answer = str(tmp_path / "mia.reply")
    code, out, _ = say(
        "teacher", "reply", str(handed_in), "--to", mia_of(handed_in), "--from", "Mr. K",
        "--note", "Lower ghosts.", "--want", "a of every beat=70", "--by", "2099-01-05",
        "--goal", "e of every beat=77", "-o", answer,
    )  # fmt: skip
    first, again = (say("one", "decks", "add", answer) for _ in range(2))
    other = say("two", "decks", "add", answer)
    today = json.loads(say("one", "today", "--json")[1])
    say("one", "progress", "export", str(handed_in / "one.jsonl"))
    told = json.loads(say("teacher", "studio", str(handed_in / "one.jsonl"), "--json")[1])

    assert 0 == code
    assert "goal of e of every beat: 77" in out
    assert "A reply from your teacher:" in first[1]
    assert "This reply was taken in already:" in again[1]
    assert (4, "") == other[:2]
    assert "another student" in other[2]
    (note,) = today["notes"]
    assert ("Lower ghosts.", "Mr. K", "2099-01-05") == (note["text"], note["from"], note["by"])
    assert "Lower ghosts." in say("one", "today")[1]
    assert 77.0 == json.loads(say("one", "card", "e", "--json")[1])["goal_bpm"]
    assert 1 == len(told[0]["replies_taken_in"])
    assert ["not due"] == [task["status"] for task in told[0]["asked"]]


def test_a_tempo_out_of_reach_is_written_and_doubted(
    say: Say, handed_in: Path, tmp_path: Path
) -> None:
    """The teacher's word stands; that it may be a slip is said beside the answer."""
    answer = tmp_path / "mia.reply"
    asked = ("reply", str(handed_in), "--to", mia_of(handed_in), "--by", "2099-01-05")
    far = say("teacher", *asked, "--want", "a of every beat=200", "-o", str(answer))
    written = answer.exists()
    fine = say("teacher", *asked, "--want", "a of every beat", "-o", f"{answer}.second")

    assert (0, True) == (far[0], written)
    assert "perhaps not meant: a of every beat wanted at 200 by" in " ".join(far[2].split())
    assert "perhaps" not in far[1]
    assert (0, "") == (fine[0], fine[2])


def test_a_day_that_has_passed_is_no_day_to_want_a_card_by(
    say: Say, handed_in: Path, tmp_path: Path
) -> None:
    """One sentence, and no file; today is still a day."""
    answer = tmp_path / "mia.reply"
    asked = ("reply", str(handed_in), "--to", mia_of(handed_in), "--want", "a of every beat")
    code, out, error = say("teacher", *asked, "--by", "2020-01-05", "-o", str(answer))

    assert (2, "") == (code, out)
    assert "2020-01-05 has passed; give today or a day to come" in " ".join(error.split())
    assert not answer.exists()


def test_one_word_hands_in_again_and_what_goes_is_said_first(say: Say, handed_in: Path) -> None:
    """The same file and the same decks as the last time; --look writes nothing."""
    before = (handed_in / "one.jsonl").read_bytes()
    code, looked, _ = say("one", "progress", "export", "--look")
    same = (handed_in / "one.jsonl").read_bytes()
    said = say("one", "progress", "export")[1]

    assert (0, before) == (code, same)
    assert '{"format": "drillbox progress"' in looked
    assert "The file says: Mia; decks: First ghosts." in said
    assert "Not in it: times of day, grades, measurements" in said
    assert f"Written: {handed_in / 'one.jsonl'}, 4 cards, as Mia." in said


def test_a_report_for_parents_in_their_words(say: Say, handed_in: Path) -> None:
    """Printed, as a page and as a PDF; no word of the trade, and one line on ears and hands."""
    asked = ("studio", str(handed_in), "--parents", mia_of(handed_in))
    code, text, _ = say("teacher", *asked)
    files = [handed_in / f"mia.{ending}" for ending in ("pdf", "html", "txt")]
    written = [say("teacher", *asked, "-o", str(file)) for file in files]
    again = [say("teacher", *asked, "-o", str(file))[0] for file in files]
    music = say("teacher", *asked, "-o", str(handed_in / "mia.mid"))
    alone = say("teacher", "studio", str(handed_in), "-o", str(files[0]))

    assert 0 == code
    assert "practised on 1 day of the 30" in " ".join(text.split())
    assert "ear protection" in text
    assert not [word for word in ("bpm", "cold", "fading", "stuck") if word in text]
    assert all(len(line) <= 80 for line in text.splitlines())
    assert [0] * 3 == [code for code, _, _ in written]
    assert [7] * 3 == again
    assert b"%PDF-" == files[0].read_bytes()[:5]
    assert "ear protection" in files[1].read_text(encoding="utf-8")
    assert text.strip() == files[2].read_text(encoding="utf-8").strip()
    assert (2, 2) == (music[0], alone[0])


def test_a_file_that_cannot_be_read_is_left_out_and_named(say: Say, handed_in: Path) -> None:
    """One student's damaged file does not keep the teacher from the others; a script sees it.

    Nor does a folder that is not there. Alone it is an error.
    """
    bad = handed_in / "bad.jsonl"
    bad.write_text("{}\n", encoding="utf-8")
    code, out, err = say("teacher", "studio", str(handed_in), "--json")

    assert (4, 3) == (code, len(json.loads(out)))
    assert f"left out: {bad}:1: this is no progress file" in err
    gone = handed_in.with_name("gone")
    code, out, err = say("teacher", "studio", str(handed_in), str(gone), "--json")
    assert (4, 3) == (code, len(json.loads(out)))
    assert f"left out: {gone}: the file cannot be read" in err
    whom, reply = json.loads(out)[0]["student"], str(handed_in / "r.reply")
    asked = ("--to", whom, "--note", "Go on.", "-o", reply)
    assert 0 == say("teacher", "reply", str(handed_in), *asked)[0]
    assert 4 == say("teacher", "studio", str(bad))[0]
    assert 4 == say("teacher", "studio", str(handed_in / "none.jsonl"))[0]
    assert 7 == say("teacher", "studio", str(handed_in), "--html", "/no/such/folder/p.html")[0]


def test_an_export_never_overwrites_and_a_strange_name_is_refused(
    say: Say, handed_in: Path
) -> None:
    """What another handed in stays, one's own is replaced; a name is one printable line."""
    own = say("one", "progress", "export", str(handed_in / "one.jsonl"))
    again = say("one", "progress", "export", str(handed_in / "two.jsonl"))
    strange = say("one", "progress", "export", str(handed_in / "x.jsonl"), "--name", "a\x1b[31m")
    unknown = say("one", "progress", "export", str(handed_in / "x.jsonl"), "--deck", "nope")

    assert [0, 7, 2, 5] == [code for code, *_ in (own, again, strange, unknown)]
    assert not (handed_in / "x.jsonl").exists()


def shared(box: Box, clock: ManualClock, **choices: object) -> Progress:
    """Return what a box shares."""
    return progress_of(
        box,
        at=clock.now(),
        new_id=lambda: "5" * 32,
        **choices,  # type: ignore[arg-type]
    )


def test_only_what_was_chosen_is_shared(box: Box, clock: ManualClock, small_deck: Deck) -> None:
    """Another deck's cards and earlier days stay at home; the numbers are the box's own."""
    other = small_deck.text.replace('"first-ghosts"', '"other"').replace('"(e)"', '"(1e)"')
    box.put_deck(parse_deck(other, name="o.toml"), at=clock.now())
    e = box.find("first-ghosts/e")
    for _ in range(3):
        clock.forward(days=1)
        box.record(e, bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    everything, some = shared(box, clock), shared(box, clock, deck_ids=["other"])
    late = shared(box, clock, since=clock.now().date())

    assert (8 - 3, 4) == (len(everything.cards), len(some.cards))
    assert [deck.id for deck in some.decks] == ["other"] == [*some.cards[0].decks]
    assert e not in {card.rhythm for card in some.cards}
    assert [3, 1] == [len(file.cards[0].days) for file in (everything, late)]
    (card,) = (card for card in everything.cards if card.rhythm == e)
    expected = box.outlook(e, at=clock.now()).cold_bpm
    assert expected == pytest.approx(card.days[-1].cold_bpm) == pytest.approx(card.cold_bpm)


def test_a_card_far_above_its_goal_is_shared_as_outgrown(box: Box, clock: ManualClock) -> None:
    """For weeks automatic, far over the goal: the teacher sees that a higher one is due."""
    for n in range(9):
        clock.forward(days=2)
        at = clock.now()
        box.record(box.find("a"), bpm=100 + 5 * n, grade=Grade.AUTOMATIC, at=at, seconds=40)
    file = shared(box, clock)
    (one,) = look_at([file], today=clock.now().date())

    assert ["outgrown"] == [card.state for card in file.cards if card.days]
    assert (1, 1) == (one.whole.outgrown, one.whole.in_hand)
    assert any(
        line.startswith("outgrown, a higher goal is due: a of") for line in student_lines(one)
    )


def test_a_changed_rhythm_is_shared_with_the_days_it_inherited(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """An edition moved the ghosts.

    The teacher still sees the month's practice, and the tempo the student sees.
    """
    for day in range(4):
        clock.forward(days=1)
        if day == 2:
            changed = small_deck.text.replace('"(e)"', '"(1e)"').replace(
                "edition = 1", "edition = 2"
            )
            box.put_deck(parse_deck(changed, name="d.toml"), at=clock.now())
            clock.forward(seconds=60)
        box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    card = shared(box, clock).cards[0]

    assert 4 == len(card.days)
    assert box.outlook(card.rhythm, at=clock.now()).cold_bpm == pytest.approx(
        card.days[-1].cold_bpm
    )


def test_a_file_of_the_future_hides_no_right_one(say: Say, handed_in: Path) -> None:
    """A machine a year ahead wrote it, another's calendar began in the year 1.

    Both are named and left out.
    """
    right = (handed_in / "one.jsonl").read_text(encoding="utf-8")
    head = json.loads(right.splitlines()[0])
    year = int(head["written"][:4])
    for name, other in (("ahead", year + 1), ("first", 1)):
        wrong = right.replace(f'"{year}-', f'"{other:04d}-')
        (handed_in / f"{name}.jsonl").write_text(wrong, encoding="utf-8")
    code, out, err = say("teacher", "studio", str(handed_in), "--json")
    (one,) = (each for each in json.loads(out) if each["student"] == head["student"])

    assert 4 == code
    assert 3 == len(json.loads(out))
    assert 0 == one["age_days"]
    assert f"ahead.jsonl: it is of the future: it tells of {year + 1}-" in err
    assert "first.jsonl:1: written cannot be '0001-" in err
