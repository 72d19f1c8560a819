"""What a student hands in: only what was chosen, to where it went the last time."""

from __future__ import annotations

from datetime import date
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox import __version__
from drillbox.errors import NotSavedError, UnknownCardError, UsageError
from drillbox.memory import Grade
from drillbox.report.progress_file import again, contents, hand_in, progress_of

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
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
    """Made once; a later file has both without being asked."""
    numbers = count(1)

    def new() -> str:
        return f"{next(numbers):032x}"

    first = progress_of(box, at=clock.now(), new_id=new, name=" Mia ")
    second = progress_of(box, at=clock.now(), new_id=new)
    third = progress_of(box, at=clock.now(), new_id=new, name="")

    assert [(f"{1:032x}", "Mia"), (f"{1:032x}", "Mia"), (f"{1:032x}", "")] == [
        (file.student, file.name) for file in (first, second, third)
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
        "from 2026-03-02 to 2026-03-04, 2 minutes." == some[1]
    )


def test_the_next_file_goes_where_the_last_one_went(
    box: Box, clock: ManualClock, tmp_path: Path
) -> None:
    """With the decks it showed; asked for otherwise, otherwise; the first time it must be named."""
    with pytest.raises(UsageError, match="say where to write it"):
        again(box, None, (), all_decks=False)
    place = tmp_path / "mia.jsonl"
    hand_in(box, made(box, clock), place, [DECK], at=clock.now())

    assert (place, (DECK,)) == again(box, None, (), all_decks=False)
    assert (place, ()) == again(box, None, (), all_decks=True)
    assert (Path("x"), ("other",)) == again(box, Path("x"), ("other",), all_decks=False)
    box.remove_deck(DECK)
    assert (place, ()) == again(box, None, (), all_decks=False)


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
