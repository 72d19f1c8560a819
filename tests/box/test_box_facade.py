"""The facade.

The interface that stays (plan, record, outlook, cards), and what a day does to it.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from conftest import SMALL_DECK

from drillbox import Box, Grade
from drillbox.box.catalogue import Catalogue
from drillbox.box.practice import WRAP_UP_SECONDS
from drillbox.deckfile import parse_deck
from drillbox.errors import BoxError, UnknownCardError, UsageError
from drillbox.memory import State
from drillbox.store.jsonl import line_of

ZURICH = ZoneInfo("Europe/Zurich")

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.base.clock import ManualClock
    from drillbox.deckfile import Deck
    from drillbox.store import Archive


def test_the_documented_interface_runs_as_written(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """Open, add a deck, plan, record, look out, list: the lines a script is told to write."""
    deck = tmp_path / "deck.toml"
    deck.write_text(small_deck.text, encoding="utf-8")
    moment = clock.now()
    with Box.open(tmp_path / "player.box", clock=clock) as box:
        change = box.add_deck(deck, at=moment)
        plan = box.plan(at=moment, minutes=15)
        first = plan.items[0]
        box.record(first.card_id, bpm=92, grade=Grade.CLEAN, at=moment, seconds=45)
        outlook = box.outlook(first.card_id, at=moment)
        cards = box.cards(at=moment)

    assert ("e", "a", "e-a", "a-doubled") == change.added
    assert first.seconds > 0
    assert first.why.endswith(".")
    assert outlook.low_bpm < outlook.cold_bpm < outlook.high_bpm
    assert ["e of every beat", "a of every beat"] == [card.title for card in cards[:2]]


def test_what_was_recorded_is_there_after_reopening(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """A take survives the program: history, belief and the day's seconds come back the same."""
    place = tmp_path / "player.box"
    with Box.open(place, clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        card_id = box.find("e")
        box.record(card_id, bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=40)
        before = (box.history(card_id), box.outlook(card_id, at=clock.now()), box.day(clock.now()))
    with Box.open(place, clock=clock) as box:
        after = (box.history(card_id), box.outlook(card_id, at=clock.now()), box.day(clock.now()))

    assert before == after
    assert after[2].seconds == 40


def test_the_days_takes_are_taken_off_the_minutes(box: Box, clock: ManualClock) -> None:
    """Fifteen minutes is a promise: what was played and what has elapsed is gone from the plan."""
    whole = box.plan(at=clock.now(), minutes=15)
    box.record(box.find("e"), bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=600)
    rest = box.plan(at=clock.now(), minutes=15, elapsed=100)

    assert 900 - WRAP_UP_SECONDS == whole.left_seconds
    assert 200 - WRAP_UP_SECONDS == rest.left_seconds
    assert rest.seconds <= 200 - WRAP_UP_SECONDS


def test_undo_takes_back_todays_last_take_only(box: Box, clock: ManualClock) -> None:
    """A retracted take counts no more; yesterday's stands; the log keeps everything."""
    e = box.find("e")
    box.record(e, bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=40)
    clock.forward(days=1)
    untouched = box.outlook(e, at=clock.now())
    box.record(e, bpm=80, grade=Grade.FELL_APART, at=clock.now(), seconds=40)
    taken_back = box.undo(at=clock.now())

    assert taken_back is not None
    assert 80 == taken_back.bpm
    assert untouched == box.outlook(e, at=clock.now())
    assert box.undo(at=clock.now()) is None
    assert 1 == len(box.history(e))
    assert 3 == len(list(box.log()))


def test_a_wrong_card_is_refused_with_a_hint(box: Box) -> None:
    """A misspelt name gets the nearest one; a name nobody could mean gets the way to the list."""
    with pytest.raises(
        UnknownCardError, match=r"no card 'e of every beta'.*did you mean 'e of every beat'"
    ):
        box.find("e of every beta")
    with pytest.raises(UnknownCardError, match="drillbox cards"):
        box.find("paradiddle in nine")


def test_a_card_is_found_by_every_name_it_has(box: Box) -> None:
    """Slug, deck and slug, title in any case, id, and the start of the id all mean the card."""
    card_id = box.find("e")

    for name in ("first-ghosts/e", "E OF EVERY BEAT", card_id, card_id[:6]):
        assert card_id == box.find(name)


def test_the_log_in_lines_is_the_log(box: Box, clock: ManualClock) -> None:
    """Line by line, as an export writes it, takes that were taken back and all."""
    for bpm in (72, 80):
        box.record(box.find("e"), bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    box.undo(at=clock.now())
    assert 3 == len(list(box.log()))
    assert b"".join(line_of(entry) for entry in box.log()) == b"".join(box.log_lines())


def test_decks_have_their_titles(box: Box) -> None:
    """By their ids, those put away too."""
    assert {"first-ghosts": "First ghosts"} == box.deck_titles()
    box.archive_deck("first-ghosts", archived=True)
    assert {"first-ghosts": "First ghosts"} == box.deck_titles()


def test_a_deck_taken_out_leaves_what_was_played(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Its cards are in no list and no plan; added again, they have their history."""
    card = box.find("e")
    box.record(card, bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    box.remove_deck(small_deck.id)
    assert () == box.cards(at=clock.now())
    assert () == box.plan(at=clock.now()).items
    assert {} == box.deck_titles()
    with pytest.raises(UnknownCardError):
        box.find("e")
    box.put_deck(small_deck, at=clock.now())
    assert 1 == box.card(card, at=clock.now()).takes


def test_a_box_that_cannot_be_used_lets_its_file_go(
    tmp_path: Path, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever fails after the file was opened: nothing of it stays open."""
    opened: list[Archive] = []

    def fails(archive: Archive, *_: object, **__: object) -> None:
        opened.append(archive)
        raise MemoryError

    monkeypatch.setattr("drillbox.box.parts.Catalogue", fails)
    with pytest.raises(MemoryError):
        Box.open(tmp_path / "player.box", clock=clock)
    (archive,) = opened
    with pytest.raises(BoxError, match="Cannot operate on a closed database"):
        archive.mark()


def test_a_moment_without_a_zone_is_refused(box: Box, clock: ManualClock) -> None:
    """A naive time could be any moment of a day; nothing is stored for it."""
    with pytest.raises(UsageError, match="no time zone"):
        box.record(
            box.find("e"),
            bpm=70,
            grade=Grade.STEADY,
            at=clock.now().replace(tzinfo=None),
            seconds=1,
        )
    assert () == box.history(box.find("e"))


def test_a_new_edition_keeps_history_and_the_players_own_goal(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Adding an edition again changes the deck's side only."""
    from dataclasses import replace

    e = box.find("e")
    box.record(e, bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=40)
    box.set_goal(e, bpm=120, at=clock.now())
    kept, changed = small_deck.cards[0], replace(small_deck.cards[3], goal_bpm=85.0)
    change = box.put_deck(replace(small_deck, edition=2, cards=(kept, changed)), at=clock.now())

    assert ((), ("a-doubled",), ("e",), ("a", "e-a")) == (
        change.added,
        change.changed,
        change.unchanged,
        change.removed,
    )
    assert 120 == box.card(e, at=clock.now()).goal_bpm
    assert 1 == len(box.history(e))


def test_a_rested_card_is_in_no_plan_until_it_is_woken(box: Box, clock: ManualClock) -> None:
    """Set aside means set aside; awake means as before."""
    now = clock.now()
    before = {item.card_id for item in box.plan(at=now).items}
    for card in box.cards(at=now):
        box.rest(card.card_id, resting=True, at=now)
    assert () == box.plan(at=now).items
    assert {State.RESTED} == {card.state for card in box.cards(at=now)}
    for card in box.cards(at=now):
        box.rest(card.card_id, resting=False, at=now)
    assert before == {item.card_id for item in box.plan(at=now).items}


def test_why_answers_for_every_card(box: Box, clock: ManualClock) -> None:
    """In the plan or not, each card has one sentence."""
    for card in box.cards(at=clock.now()):
        assert box.why(card.card_id, at=clock.now()).endswith(".")


@pytest.mark.parametrize(
    ("late", "early"),
    [
        # Midnight is inside a practice day; five in the morning ends it.
        (datetime(2026, 3, 2, 23, 50, tzinfo=ZURICH), datetime(2026, 3, 3, 0, 40, tzinfo=ZURICH)),
        # Clocks go forward on 29 March 2026 at 02:00 and back on 25 October at 03:00 (EU Directive
        # 2000/84/EC).
        (datetime(2026, 3, 28, 23, 0, tzinfo=ZURICH), datetime(2026, 3, 29, 3, 30, tzinfo=ZURICH)),
        (datetime(2026, 10, 24, 23, 0, tzinfo=ZURICH),
         datetime(2026, 10, 25, 2, 30, tzinfo=ZURICH)),
    ],
)  # fmt: skip
def test_a_night_is_one_practice_day(box: Box, late: datetime, early: datetime) -> None:
    """Takes before and after midnight, and across a change of the clocks, are one day.

    And the second is warm.
    """
    e = box.find("e")
    for at in (late, early):
        box.record(e, bpm=70, grade=Grade.STEADY, at=at, seconds=40)

    assert 2 == len(box.day(early).takes)
    assert [True, False] == [take.cold for take in box.history(e)]


def test_a_clock_set_back_gives_no_negative_gap(box: Box, clock: ManualClock) -> None:
    """Takes entered with an earlier moment are replayed in order of time, to the same numbers.

    But for the player's level: nobody knows any more where it stood before a take entered late.
    """
    e, a = box.find("e"), box.find("a")
    moments = [clock.now() + timedelta(days=day) for day in (0, 3, 9)]
    for at in moments:
        box.record(e, bpm=70, grade=Grade.CLEAN, at=at, seconds=40)
    for at in (moments[2], moments[0], moments[1]):
        box.record(a, bpm=70, grade=Grade.CLEAN, at=at, seconds=40)
    later = moments[2] + timedelta(days=5)

    on_time, late = (box.outlook(card, at=later) for card in (e, a))
    assert on_time.cold_bpm == pytest.approx(late.cold_bpm, rel=0.01)
    assert on_time.sd == pytest.approx(late.sd, rel=0.02)


def test_two_windows_see_each_others_takes(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """Each window's plan and belief follow what the other recorded; none is lost."""
    place = tmp_path / "player.box"
    with Box.open(place, clock=clock) as left, Box.open(place, clock=clock) as right:
        left.put_deck(small_deck, at=clock.now())
        e = right.find("e")
        for number in range(4):
            clock.forward(seconds=60)
            window = left if number % 2 else right
            window.record(e, bpm=70 + number, grade=Grade.CLEAN, at=clock.now(), seconds=40)

        assert 4 == len(left.history(e)) == len(right.history(e))
        assert left.outlook(e, at=clock.now()) == right.outlook(e, at=clock.now())


def test_the_log_moves_to_another_box_and_gives_the_same_beliefs(
    tmp_path: Path, box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """The log is the one truth: merged elsewhere, twice, it says the same."""
    e = box.find("e")
    for grade in Grade:
        clock.forward(days=1)
        box.record(e, bpm=70, grade=grade, at=clock.now(), seconds=40)
    box.undo(at=clock.now())
    with Box.open(tmp_path / "other.box", clock=clock) as other:
        other.put_deck(small_deck, at=clock.now())
        new = other.merge(box.log())
        again = other.merge(box.log())

        assert (6, 0) == (new, again)
        assert box.outlook(e, at=clock.now()) == other.outlook(e, at=clock.now())
        assert box.history(e) == other.history(e)


def test_an_assignment_brings_its_card_forward(box: Box, clock: ManualClock) -> None:
    """A card that a deck wants by a day is worth more until then.

    It enters a day that was full without it.
    """
    now = clock.now()
    asking = (
        SMALL_DECK + f"\n[[assignment]]\nby = {(now + timedelta(days=6)).date()}\ncards = ['a']\n"
    )
    before = [item.card_id for item in box.plan(at=now, minutes=1.3).items]
    box.put_deck(parse_deck(asking.replace("edition = 1", "edition = 2"), name="x"), at=now)
    wanted = box.find("a")
    after = [item.card_id for item in box.plan(at=now, minutes=1.3).items]

    assert wanted not in before
    assert [wanted] == after
    assert box.card(wanted, at=now).due is not None


def test_a_decks_pace_is_told_with_its_cards(box: Box, tmp_path: Path) -> None:
    """The fewest new cards a day that a card's decks ask for; none where no deck says."""
    text = '[deck]\nid = "{}"\ntitle = "t"\n{}[[card]]\nid = "c"\nsnare = "{}"\n'
    for name, pace, snare in (("a", "pace = 3\n", "1"), ("b", "pace = 2\n", "1"), ("c", "", "2")):
        path = tmp_path / f"{name}.toml"
        path.write_text(text.format(name, pace, snare), encoding="utf-8")
        box.add_deck(path)

    paces = {entry.places: entry.pace for entry in Catalogue(box.archive).entries().values()}
    assert 2 == paces["a/c", "b/c"]
    assert paces["c/c",] is None


@pytest.mark.parametrize("grade", [Grade.FELL_APART, Grade.SHAKY])
def test_a_pattern_that_has_not_come_together_has_no_cold_tempo(
    box: Box, clock: ManualClock, grade: Grade
) -> None:
    """A first take that fails tells of no tempo; the first steady one does."""
    card = box.find("e")
    box.record(card, bpm=56, grade=grade, at=clock.now(), seconds=45)
    apart = box.card(card, at=clock.now())
    clock.forward(seconds=120)
    box.record(card, bpm=50, grade=Grade.STEADY, at=clock.now(), seconds=45)

    assert (1, None) == (apart.takes, apart.cold_bpm)
    assert box.card(card, at=clock.now()).cold_bpm is not None
