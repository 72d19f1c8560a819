"""What a student hands in: only what was chosen, to where it went the last time."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from itertools import count
from typing import TYPE_CHECKING, Any

import pytest
from conftest import SMALL_DECK

from drillbox import __version__
from drillbox.deckfile import parse_deck
from drillbox.errors import NotSavedError, UnknownCardError, UsageError
from drillbox.memory import Grade
from drillbox.report.progress_file import (
    MOST_TAKEN_IN,
    contents,
    hand_in,
    keep_student,
    last_decks,
    last_place,
    progress_of,
)
from drillbox.studio import Asked, HeardMonth, Reply, Wanted, read_reply, write_reply

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.deckfile import Deck
    from drillbox.studio import Progress

DECK = "first-ghosts"


def made(box: Box, clock: ManualClock, **chosen: object) -> Progress:
    """Return what a progress file would hold, from a student's id that is always the same."""
    return progress_of(box, at=clock.now(), new_id=lambda: f"{7:032x}", **chosen)  # type: ignore[arg-type]


def play(box: Box, clock: ManualClock, *, days: int) -> None:
    """Play one card on so many days, a take of forty seconds each."""
    for _ in range(days):
        box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
        clock.forward(days=1)


def test_a_student_has_one_id_for_good_and_the_last_name(box: Box, clock: ManualClock) -> None:
    """Made for the first file; a later one has both without being asked."""
    numbers = count(1)

    def new() -> str:
        return f"{next(numbers):032x}"

    files = []
    for name in (" Mia ", None, ""):
        files.append(progress_of(box, at=clock.now(), new_id=new, name=name))
        keep_student(box, files[-1], at=clock.now())

    assert [(f"{1:032x}", "Mia"), (f"{1:032x}", "Mia"), (f"{1:032x}", "")] == [
        (file.student, file.name) for file in files
    ]


def test_what_cannot_be_a_name_is_refused(box: Box, clock: ManualClock) -> None:
    """Before anything is kept."""
    with pytest.raises(UsageError, match="this cannot be a name"):
        made(box, clock, name="two\nlines")
    assert "" == made(box, clock).name


def test_only_the_chosen_decks_and_days_are_in_it(box: Box, clock: ManualClock) -> None:
    """The day asked for is in; a card keeps its place without days; an unknown deck is named."""
    play(box, clock, days=3)
    whole = made(box, clock)
    since = made(box, clock, since=date(2026, 3, 4))

    assert [date(2026, 3, day) for day in (2, 3, 4)] == [d.day for d in whole.cards[0].days]
    assert [date(2026, 3, 4)] == [d.day for d in since.cards[0].days]
    assert len(whole.cards) == len(since.cards) == 4
    with pytest.raises(UnknownCardError, match="no such deck in the box"):
        made(box, clock, deck_ids=["other"])
    assert whole == made(box, clock, deck_ids=[DECK])


def test_the_tempo_of_a_day_is_that_of_the_box(box: Box, clock: ManualClock) -> None:
    """In bpm, as the card's own curve has it after its last take of the day."""
    play(box, clock, days=2)
    course = [cold for _, cold in box.course(box.find("e"))]
    days = made(box, clock).cards[0].days

    assert course == pytest.approx([day.cold_bpm for day in days])
    assert [(1, 40.0), (1, 40.0)] == [(day.takes, day.seconds) for day in days]


def test_the_file_says_which_day_it_is_of_and_by_what(box: Box, clock: ManualClock) -> None:
    """The practice day, not the date in UTC; seconds are whole; the plan's minutes are in it."""
    file = made(box, clock)

    assert (date(2026, 3, 2), __version__, box.settings.minutes) == (
        file.day,
        file.program,
        file.minutes,
    )
    assert "2026-03-02T08:00:00+00:00" == file.written.isoformat()


def test_contents_are_told_before_they_are_written(box: Box, clock: ManualClock) -> None:
    """Name, decks, cards, days, minutes; what is not there is not said."""
    none = contents(made(box, clock))
    play(box, clock, days=3)
    some = contents(made(box, clock, name="Mia"))

    assert "The file says: no name; decks: First ghosts." == none[0]
    assert (
        "How 4 cards stand and at what tempo each was played last, and 0 days of practice, "
        "0 minutes." == none[1]
    )
    assert "The file says: Mia; decks: First ghosts." == some[0]
    assert (
        "How 4 cards stand and at what tempo each was played last, and 3 days of practice, "
        "from 2 Mar 2026 to 4 Mar 2026, 2 minutes." == some[1]
    )


def test_whose_file_it_is_is_told_before_the_days_are_gone_through(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first of its lines comes while the others are still worked out."""
    told: list[str] = []
    whole = made(box, clock, name="Mia", tell=told.append)
    assert list(contents(whole)[:1]) == told

    def too_late() -> None:
        assert list(contents(whole)[:1]) * 2 == told
        raise NotImplementedError

    monkeypatch.setattr(box, "days", too_late)
    with pytest.raises(NotImplementedError):
        made(box, clock, name="Mia", tell=told.append)


def test_the_next_file_goes_where_the_last_one_went(
    box: Box, clock: ManualClock, tmp_path: Path
) -> None:
    """With the decks it showed, as far as they are there; the first time there is none."""
    assert (None, ()) == (last_place(box), last_decks(box))
    place = tmp_path / "mia.jsonl"
    hand_in(box, made(box, clock), place, [DECK], at=clock.now())

    assert (place, (DECK,)) == (last_place(box), last_decks(box))
    box.remove_deck(DECK)
    assert (place, ()) == (last_place(box), last_decks(box))


def test_what_is_only_looked_at_leaves_the_box_as_it_is(box: Box, clock: ManualClock) -> None:
    """Neither an id nor a name is kept before a file is written."""
    before = box.archive.settings()
    made(box, clock, name="Mia")

    assert before == box.archive.settings()


def test_a_box_that_keeps_no_student_writes_no_file(
    box: Box, clock: ManualClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The next file would have another id, and could not replace it."""

    def refuse(*_: object) -> None:
        raise NotSavedError("not saved: the box may only be read")

    monkeypatch.setattr(type(box.archive), "put_setting", refuse)
    with pytest.raises(NotSavedError, match="may only be read"):
        hand_in(box, made(box, clock), tmp_path / "mia.jsonl", [], at=clock.now())

    assert [] == list(tmp_path.iterdir())


def test_an_own_file_is_replaced_and_no_other(box: Box, clock: ManualClock, tmp_path: Path) -> None:
    """Neither another student's, nor a file of another kind, nor an empty one."""
    mine, file = tmp_path / "mia.jsonl", made(box, clock)
    hand_in(box, file, mine, [], at=clock.now())
    before = mine.read_bytes()
    play(box, clock, days=1)
    hand_in(box, made(box, clock), mine, [], at=clock.now())
    assert before != mine.read_bytes()

    for content in (before.replace(b"7" * 1 + b'"', b'8"'), b'{"format": 1}\n', b"", b"notes\n"):
        mine.write_bytes(content)
        with pytest.raises(NotSavedError, match="exists already"):
            hand_in(box, file, mine, [], at=clock.now())
        assert content == mine.read_bytes()


MIA = f"{7:032x}"


def reply(minute: int, **changes: object) -> Reply:
    """Return a reply to the student of `made`, with its id."""
    written = datetime(2026, 3, 2, 7, 0, tzinfo=UTC) + timedelta(minutes=minute)
    out = BytesIO()
    write_reply(replace(Reply("", MIA, "", written, "Lower.", (), ()), **changes), out)  # type: ignore[arg-type]
    return read_reply(out.getvalue(), "mia.reply")


def test_a_card_stands_in_the_file_as_on_the_shelf(box: Box, clock: ManualClock) -> None:
    """Tempos, band, last tempo, goal and state; of a card never played no tempo."""
    play(box, clock, days=2)
    file = {card.rhythm: card for card in made(box, clock).cards}
    for card in box.cards(at=clock.now()):
        told = file[card.card_id]
        assert (
            card.title, card.deck_ids, card.goal_bpm, card.state.value, card.cold_bpm,
            card.low_bpm, card.high_bpm, card.last_bpm,
        ) == (
            told.title, told.decks, told.goal_bpm, told.state, told.cold_bpm,
            told.low_bpm, told.high_bpm, told.last_bpm,
        )  # fmt: skip
    assert 3 == sum(card.cold_bpm is None for card in file.values())


def test_what_was_asked_is_told_with_whoever_asked(box: Box, clock: ManualClock) -> None:
    """The dates of decks and of replies, on the cards they were asked of."""
    keep_student(box, made(box, clock), at=clock.now())
    card, by = box.find("a"), date(2026, 3, 20)
    box.take_in(reply(0, wanted=(Wanted(card, by, 84.0),)), at=clock.now())
    text = SMALL_DECK.replace("edition = 1", "edition = 2")
    asking = f'{text}\n[[assignment]]\nby = 2026-03-11\ncards = ["e"]\n'
    box.put_deck(parse_deck(asking, name="d"), at=clock.now())
    told = {box.card(c.rhythm, at=clock.now()).places[0]: c.asked for c in made(box, clock).cards}

    assert (Asked(by, 84.0, date(2026, 3, 2)),) == told["first-ghosts/a"]
    assert (Asked(date(2026, 3, 11), 90.0, None),) == told["first-ghosts/e"]
    assert ((), ()) == (told["first-ghosts/e-a"], told["first-ghosts/a-doubled"])


def test_the_latest_hundred_replies_are_named(box: Box, clock: ManualClock) -> None:
    """In the order of their writing, whatever the order in which they came."""
    keep_student(box, made(box, clock), at=clock.now())
    replies = [reply(minute) for minute in range(MOST_TAKEN_IN + 1)]
    for one in reversed(replies):
        box.take_in(one, at=clock.now())

    assert tuple(one.id for one in replies[1:]) == made(box, clock).taken_in


def test_what_was_heard_is_shown_where_it_is_asked_for(box: Box, clock: ManualClock) -> None:
    """Month by month from the day on that is asked for; what is said of the file says so."""
    measured: dict[str, Any] = {
        "version": 1, "bpm": 80.0, "spread_ms": 9.0, "wrong_percent": 0.0, "contrast_db": 14.0,
        "ghosts_ms": None, "spacing_ms": 187.5, "unheard_share": 0.0, "proposed": 1, "partials": [],
    }  # fmt: skip
    for spread in (9.0, 11.0, 5.0):
        box.record(
            box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40, source="audio",
            measured=measured | {"spread_ms": spread},
        )  # fmt: skip
        clock.forward(days=29)
    whole, since = (
        made(box, clock, heard=True),
        made(box, clock, heard=True, since=date(2026, 3, 31)),
    )
    after = made(box, clock, heard=True, since=date(2026, 4, 1))

    assert (
        HeardMonth("2026-03", 2, 10.0, 14.0),
        HeardMonth("2026-04", 1, 5.0, 14.0),
    ) == whole.heard
    assert (
        HeardMonth("2026-03", 1, 11.0, 14.0),
        HeardMonth("2026-04", 1, 5.0, 14.0),
    ) == since.heard
    assert whole.heard[1:] == after.heard
    assert () == made(box, clock).heard
    assert (
        "How even your takes were and how far ghosts lay under accents, over 2 months.",
        "Not in it: times of day, grades, places, other decks.",
    ) == contents(whole)[-2:]
    assert (
        "Not in it: times of day, grades, measurements, places, other decks."
        == (contents(made(box, clock))[-1])
    )
    assert 3 == len(contents(made(box, clock)))


def test_a_day_from_which_two_rhythms_are_told_is_one_day(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """A rhythm changed at noon: takes and seconds of both are the day's, the tempo is the last."""
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    clock.forward(seconds=3600)
    changed = small_deck.text.replace('"(e)"', '"(1e)"').replace("edition = 1", "edition = 2")
    box.put_deck(parse_deck(changed, name="d"), at=clock.now())
    clock.forward(seconds=3600)
    for _ in range(2):
        box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=25)
        clock.forward(seconds=60)
    card = next(c for c in made(box, clock).cards if c.rhythm == box.find("first-ghosts/e"))
    cold = box.card(card.rhythm, at=clock.now()).cold_bpm

    assert [(date(2026, 3, 2), 3, 90.0)] == [(d.day, d.takes, d.seconds) for d in card.days]
    assert card.days[0].cold_bpm == pytest.approx(cold, rel=1e-3)
