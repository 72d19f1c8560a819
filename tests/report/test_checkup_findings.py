"""Each thing that a checkup finds in the contents of a box: named, counted, and with its remedy."""

from __future__ import annotations

from contextlib import closing
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from conftest import MORNING, SMALL_DECK
from file_rights import with_mode
from hostile_rows import lay_open

from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.box.legible import LENGTH, PLACED, RULES
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade
from drillbox.report.checkup import MOST_NAMED, Finding, Repair, look, mend
from drillbox.store import TakeRow, list_backups

if TYPE_CHECKING:
    from pathlib import Path

NOW = ManualClock(MORNING)


def take(number: int, card_id: str, *, days: float) -> TakeRow:
    """Return a take so many days after the start."""
    at = MORNING + timedelta(days=days)
    return TakeRow(
        f"{number:032x}", card_id, 80.0, int(Grade.CLEAN), at, "Europe/Zurich", 40.0, "self"
    )


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Return a box with three takes and a backup that has them."""
    path = tmp_path / "player.box"
    with Box.open(path, clock=NOW) as box:
        box.put_deck(parse_deck(SMALL_DECK, name="d"), at=MORNING)
        box.merge(take(n, box.find("e" if n < 3 else "a"), days=-n) for n in (1, 2, 3))
        box.cards(at=MORNING)
        box.archive.back_up(MORNING)
    return path


def change(path: Path, *statements: str) -> None:
    """Change a box as another program does, past every check."""
    with closing(lay_open(path)) as db:
        for statement in statements:
            db.execute(statement)


def told(path: Path) -> list[tuple[str, Repair | None]]:
    """Return what is found, but for the tables that `change` lays open."""
    found = look(path, clock=NOW).findings
    return [
        (one.sentence, one.repair)
        for one in found
        if not one.sentence.startswith("another program has changed the tables")
    ]


def test_a_box_that_is_well_is_described(place: Path) -> None:
    """What is looked at is told as it goes, and what is well is counted."""
    said: list[str] = []
    report = look(place, clock=NOW, tell=said.append)

    assert [
        "the file and its backups",
        "the log",
        "what is believed, against a replay of the log",
        "what is counted in the rhythms",
        "decks and settings",
    ] == said
    assert () == report.findings
    assert (
        "the file is whole, by SQLite's full check",
        "the log can be read, entries: 3",
        "decks: 1, cards: 4",
        "good backups: 1, the newest of 2026-03-02",
    ) == report.well


def test_an_empty_box_wants_no_backup(tmp_path: Path) -> None:
    """Nothing was played, so nothing can be lost."""
    with Box.open(tmp_path / "new.box", clock=NOW):
        pass
    report = look(tmp_path / "new.box", clock=NOW)

    assert () == report.findings
    assert "good backups: 0" == report.well[-1]


@pytest.mark.parametrize("more", [0, 1, 2])
def test_entries_that_make_no_sense_are_named_and_the_rest_counted(place: Path, more: int) -> None:
    """Twenty by their ids with what is wrong; a repair takes all of them back."""
    with closing(lay_open(place)) as db:
        for n in range(MOST_NAMED + more):
            db.execute(
                "INSERT INTO take SELECT ?, ?, card_id, bpm, 7, at, zone, seconds, source, NULL, 1"
                " FROM take LIMIT 1", (10 + n, f"{100 + n:032x}"),
            )  # fmt: skip
    named = [
        f"a take of the log makes no sense and is passed over ({100 + n:032x}): grade is 7"
        for n in range(MOST_NAMED)
    ]
    rest = {0: [], 1: ["1 more entry"], 2: ["2 more entries"]}[more]
    rest = [f"{one} of the log that make no sense" for one in rest]

    assert [*named, *rest] == [sentence for sentence, repair in told(place) if repair]
    assert {Repair.TAKES} == {repair for _, repair in told(place) if repair}
    done = list(mend(place, look(place, clock=NOW), clock=NOW))
    assert [f"Entries that make no sense taken back or set aside: {MOST_NAMED + more}."] == done
    assert not any(repair for _, repair in told(place))


def test_an_entry_that_nothing_can_answer_is_set_aside_for_good(place: Path) -> None:
    """Its id is none of ours; after a repair nobody speaks of it, and a merge brings it nowhere."""
    change(place, "INSERT INTO take SELECT 4, 'x', card_id, bpm, grade, at, zone, seconds, source,"
                  " NULL, 1 FROM take LIMIT 1")  # fmt: skip

    sentence = "a take of the log makes no sense and is passed over (x): id is 'x'"
    assert (sentence, Repair.TAKES) in told(place)
    done = list(mend(place, look(place, clock=NOW), clock=NOW))
    assert ["Entries that make no sense taken back or set aside: 1."] == done
    assert not any("makes no sense" in said for said, _ in told(place))
    with Box.open(place, clock=NOW) as box, Box.open(":memory:", clock=NOW) as other:
        assert 0 == box.left_out(at=NOW.now()).unusable
        other.join(box.holdings())
        assert set(other.log()) == set(box.log())
        assert 0 == box.join(other.holdings()).entries
        assert 0 == other.left_out(at=NOW.now()).unusable


@pytest.mark.parametrize("more", [0, 1, 2])
def test_takes_that_wait_are_named_and_the_rest_counted(place: Path, more: int) -> None:
    """With their moments and how each is taken back; nothing repairs what may be right."""
    with Box.open(place, clock=NOW) as box:
        card = box.find("a")
        box.merge(take(500 + n, card, days=30 + n) for n in range(MOST_NAMED + more))
    first, *others = told(place)
    rest = {
        0: [],
        1: ["1 more take dated later than now"],
        2: ["2 more takes dated later than now"],
    }

    sentence = (
        "a take is dated 2026-04-01 09:00, later than now, and waits until then; "
        "'drillbox undo 00000000' takes it back"
    )
    assert (sentence, None) == first
    assert MOST_NAMED - 1 + len(rest[more]) == len(others)
    assert rest[more] == [sentence for sentence, _ in others if "more" in sentence]


def test_rows_of_decks_and_settings_that_make_no_sense_are_named(place: Path) -> None:
    """Each with its table, its key, what is wrong and what holds instead."""
    change(
        place,
        "INSERT INTO wish VALUES ('0000000000000009', 1e300, 1, 0, '2026-03-02T00:00:00.000000Z')",
        "INSERT INTO setting VALUES ('minutes', '1000000', '2026-03-02T00:00:00.000000Z')",
        "INSERT INTO setting VALUES ('click', '\"cow\"', '2026-03-02T00:00:00.000000Z')",
        "UPDATE card SET pattern = 'snare: )(' WHERE slug = 'e-a'",
    )
    found = dict(told(place))
    (rhythm,) = (sentence for sentence in found if sentence.startswith("the rhythm of"))

    assert {None, Repair.ROWS} == set(found.values())
    assert [rhythm] == [sentence for sentence, repair in found.items() if repair is None]
    assert (
        "a wish makes no sense and is passed over (0000000000000009): goal_bpm is 1e+300" in found
    )
    with Box.open(":memory:", clock=NOW) as usual:
        for name, shown, value in (("minutes", "1000000", usual.settings.minutes),
                                   ("click", "'cow'", usual.settings.click)):  # fmt: skip
            assert (
                f"the setting {name} makes no sense ({shown}); {value!r} holds until you set it"
                in found
            )
    assert rhythm.startswith("the rhythm of first-ghosts/e-a cannot be read and is passed over: ")
    assert rhythm.endswith("; take its deck out and add it again")
    assert 4 == len(found)


def test_rows_that_make_no_sense_are_taken_out_and_decks_built_again(place: Path) -> None:
    """After a backup: a deck and a card come back from the deck's text, settings are as usual."""
    with Box.open(place, clock=NOW) as box:
        whole = box.cards(at=MORNING)
        usual = box.settings.minutes
    change(
        place,
        "INSERT INTO wish VALUES ('0000000000000009', 1e300, 1, 0, '2026-03-02T00:00:00.000000Z')",
        "INSERT INTO setting VALUES ('minutes', '1000000', '2026-03-02T00:00:00.000000Z')",
        "INSERT INTO setting VALUES ('click', '{', '2026-03-02T00:00:00.000000Z')",
        "UPDATE card SET goal_bpm = 'fast' WHERE slug = 'e-a'",
    )
    assert 4 == len([one for one, repair in told(place) if repair is Repair.ROWS])
    (done,) = mend(place, look(place, clock=NOW), clock=NOW)

    with Box.open(place, clock=NOW) as box:
        title = next(iter(box.deck_titles().values()))
        assert f"Rows that make no sense taken out: 4; built again: {title}." == done
        assert (whole, usual) == (box.cards(at=MORNING), box.settings.minutes)
    assert [] == told(place)
    change(place, "UPDATE deck SET edition = 'x'")
    (done,) = mend(place, look(place, clock=NOW), clock=NOW)
    assert f"Rows that make no sense taken out: 1; built again: {title}." == done
    with Box.open(place, clock=NOW) as box:
        assert whole == box.cards(at=MORNING)
    assert [] == told(place)


def test_a_deck_whose_text_is_gone_stays_and_is_named(place: Path) -> None:
    """Nothing can build it again: no repair is promised, and the line says what does help."""
    change(place, "UPDATE deck SET edition = 'x', text = 'no deck'")
    list(mend(place, look(place, clock=NOW), clock=NOW))

    ((sentence, repair),) = told(place)
    said = "a deck makes no sense and is passed over (first-ghosts): edition is 'x'; "
    assert (f"{said}take its deck out and add it again", None) == (sentence, repair)
    with Box.open(place, clock=NOW) as box:
        assert 4 == len(box.cards(at=MORNING))
        box.put_deck(parse_deck(SMALL_DECK, name="d"), at=MORNING)
    assert [] == told(place)


def test_numbers_below_one_are_no_negative_gap(place: Path) -> None:
    """A row that another program put before the first is counted as wrong, once."""
    change(
        place,
        "INSERT INTO take SELECT -7, '00000000000000000000000000000009', card_id, bpm, grade,"
        " at, zone, seconds, source, NULL, 1 FROM take LIMIT 1",
    )
    said = [one for one, _ in told(place) if "took entries out" in one]
    assert said == [
        "another program took entries out of the log or put some in; numbers missing or wrong: 1"
    ]


def test_a_log_whose_numbers_are_used_up_is_told(place: Path) -> None:
    """No take can follow: export and import are named; the gap it makes is not told as well."""
    change(
        place,
        "INSERT INTO take SELECT 1 << 62, '00000000000000000000000000000009', card_id, bpm, grade,"
        " at, zone, seconds, source, NULL, 1 FROM take LIMIT 1",
    )
    sentences = [sentence for sentence, _ in told(place)]

    assert (
        "another program has used up the numbers of the log, so that no take can be saved; "
        "export the log and import it into a new box"
    ) in sentences
    assert not any("numbers missing" in sentence for sentence in sentences)


def test_a_backup_that_may_not_be_read_is_named(place: Path) -> None:
    """It may well be good: its rights are to be mended, and nothing repairs it meanwhile."""
    (backup,) = list_backups(place)
    with with_mode(backup.path, 0o000):
        found = told(place)
    assert (
        f"backups that may not be read: {backup.path.name}; make them readable",
        None,
    ) in found


def test_repairs_are_made_in_their_order_each_once(place: Path) -> None:
    """A wrong cache, a take that makes no sense and no backup: the log first, the backup last."""
    for backup in list_backups(place):
        backup.path.unlink()
    change(
        place,
        "INSERT INTO take SELECT 4, '00000000000000000000000000000009', card_id, bpm, 7, at, zone,"
        " seconds, source, NULL, 1 FROM take LIMIT 1",
        "UPDATE belief SET body = (SELECT body FROM belief LIMIT 1)",
    )
    report = look(place, clock=NOW)
    assert {Repair.TAKES, Repair.BELIEFS, Repair.BACK_UP} <= {one.repair for one in report.findings}
    done = list(mend(place, report, clock=NOW))

    assert "Entries that make no sense taken back or set aside: 1." == done[0]
    assert "What is believed of the cards was computed again." == done[1]
    assert done[2].startswith("Backup made: ")
    assert 3 == len(done)
    assert list_backups(place)
    assert not any(repair for _, repair in told(place))
    assert Finding("there is no good backup", Repair.BACK_UP) in report.findings


@pytest.mark.parametrize(
    "place_of", [0, 6, LENGTH + PLACED], ids=["drums", "grid changes", "places of ghosts"]
)
def test_numbers_of_rhythms_that_are_wrong_are_named_and_dropped(
    place: Path, place_of: int
) -> None:
    """The cache of what is counted in rhythms is computed again; the plan would believe it."""
    with Box.open(place, clock=NOW) as box:
        card = box.find("e")
        box.first_tempi([card, box.find("a"), box.find("e-a")])
        numbers = dict(box.archive.features(RULES))
        box.plan(MORNING, 15)
    assert [] == told(place)
    with Box.open(place, clock=NOW) as box:
        wrong = list(numbers[card])
        wrong[place_of] += 1.0
        box.archive.put_features({card: tuple(wrong)}, version=RULES)
    sentence = "what the box keeps of these rhythms is not what they count to: first-ghosts/e"
    assert [(sentence, Repair.COUNTS)] == told(place)
    done = list(mend(place, look(place, clock=NOW), clock=NOW))
    assert ["What the box keeps of the rhythms was dropped, and is counted again."] == done
    assert [] == told(place)
    with Box.open(place, clock=NOW) as box:
        box.first_tempi([card, box.find("a"), box.find("e-a")])
        assert numbers == box.archive.features(RULES)


def test_a_rhythm_spelt_in_another_way_is_counted_right(place: Path) -> None:
    """The mark of the text it was counted in is no number of the rhythm."""
    with Box.open(place, clock=NOW) as box:
        box.first_tempi([box.find("e"), box.find("a"), box.find("e-a")])
        card = box.find("e")
        numbers = box.archive.features(RULES)[card]
        box.archive.put_features({card: (*numbers[:-1], numbers[-1] + 1)}, version=RULES)
    assert [] == told(place)
