"""What a take, a day or a week brought: true sentences, counted by hand here."""

from __future__ import annotations

import random
from datetime import timedelta
from typing import TYPE_CHECKING
from unittest.mock import patch

import pytest

from drillbox.box import Box
from drillbox.memory import Grade
from drillbox.report.in_hand import look_back
from drillbox.report.strides import (
    MOST_NAMED,
    Stride,
    Week,
    stride,
    stride_of,
    week,
    week_sections,
)

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.base.clock import ManualClock

MONDAY = 739_677
"""2 March 2026, a Monday (ISO 8601), as an ordinal of the proleptic Gregorian calendar."""


def one(
    title: str = "e of 1",
    *,
    was: float | None = 80.0,
    now: float | None = 86.0,
    new: bool | None = None,
    first_hold: bool = False,
    record: bool = False,
) -> Stride:
    """Return a stride of six up, unless asked for otherwise."""
    begun = was is None if new is None else new
    return Stride(title, was, now, begun, first_hold, record)


def tempos(box: Box, card: str) -> list[float]:
    """Return the cold tempos after a card's takes, from when it came together."""
    return [cold for _, cold in box.course(card) if cold is not None]


@pytest.mark.parametrize(
    ("made", "gain", "sentence"),
    [
        (one(), 6, "About 86 cold, 6 up this week."),
        (one(now=77.0), -3, "About 77 cold, 3 down this week."),
        (one(now=80.4), 0, "About 80 cold."),
        (one(was=80.6, now=81.4), 0, "About 81 cold."),
        (one(was=None), 0, "About 86 cold, new this week."),
        (one(first_hold=True), 6, "About 86 cold, 6 up this week; in hand for the first time."),
        (one(record=True), 6, "About 86 cold, 6 up this week; the fastest it ever was when cold."),
        (
            one(was=None, first_hold=True, record=True),
            0,
            "About 86 cold, new this week; in hand for the first time.",
        ),
    ],
)
def test_a_stride_in_words(made: Stride, gain: int, sentence: str) -> None:
    """The gain is that of the whole tempos shown, so that a reader who subtracts agrees."""
    assert (gain, sentence) == (made.gain, made.sentence())


def stride_in(box: Box, card: str, *, at: datetime, news_since: datetime) -> Stride:
    """Return how far a card of a box came."""
    return stride_of(box.card(card, at=at), box.course(card), at=at, news_since=news_since)


def made(*strides: Stride, minutes: tuple[float, ...] = (0, 0, 15, 0, 0, 14, 1)) -> Week:
    """Return a week with these strides."""
    return Week(first=MONDAY, minutes=minutes, takes=len(strides), strides=strides)


def test_a_week_in_one_sentence() -> None:
    """Only what there was is said, and one is one."""
    quiet = made(one(now=80.0), one(now=70.0))
    loud = made(one(), one(now=80.0, first_hold=True), one(was=None, record=True))

    assert "The last seven days: 30 minutes on 3 days, 2 cards played." == quiet.sentence()
    assert (
        "The last seven days: 30 minutes on 3 days, 3 cards played, 1 card faster than a week ago, "
        "1 in hand for the first time."
    ) == loud.sentence()
    assert "The last seven days: 1 minute on 1 day, 1 card played." == (
        made(one(now=80.0), minutes=(0, 0, 0, 0, 0, 0, 1.0)).sentence()
    )
    assert "" == made().sentence()


def test_the_lists_of_a_week_hold_what_their_names_say() -> None:
    """Faster is faster by a whole bpm; a card that was new a week ago is no faster one."""
    faster, same, slower, new = one(), one(now=80.0), one(now=70.0), one(was=None)
    held, record = one(first_hold=True), one(record=True)
    all_of_them = made(faster, same, slower, new, held, record)

    assert (faster, held, record) == all_of_them.up
    assert (held,) == all_of_them.first_holds
    assert (record,) == all_of_them.records


def test_the_sections_of_a_week() -> None:
    """Each list has its own, an empty one none; days go by the calendar."""
    names = [title for title, _ in week_sections(made(one(now=80.0)), width=80)]
    full = made(one(first_hold=True), one(record=True), one("a of 4", was=None, now=66.0))
    sections = dict(week_sections(full, width=80))

    assert ["Minutes"] == names
    assert [
        "Minutes",
        "Faster than a week ago, cold",
        "In hand for the first time",
        "Faster than ever when cold",
        "New this week",
    ] == list(sections)
    assert "  80 → 86     +6  e of 1" == sections["Faster than a week ago, cold"].splitlines()[0]
    assert "  66  a of 4" == sections["New this week"]
    days = sections["Minutes"].splitlines()
    assert ["Mon 2 Mar", "Sun 8 Mar"] == [days[0][:9], days[6][:9]]
    assert "Nothing played in the last seven days" == week_sections(made(), width=80)[0][0]


def test_a_stride_replays_its_card_once(box: Box, clock: ManualClock) -> None:
    """It is asked for after every take, while the player waits for the next."""
    card = box.find("e")
    box.record(card, bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    with (
        patch.object(Box, "course", autospec=True, side_effect=Box.course) as course,
        patch.object(Box, "history", autospec=True) as history,
    ):
        said = stride(box, card, at=clock.now())

    assert said.endswith("new this week. That is a guess from one take.")
    assert (1, 0) == (course.call_count, history.call_count)


@pytest.mark.parametrize(("more", "told"), [(0, ""), (1, "      and 1 more"), (3, "and 3 more")])
def test_a_long_list_names_the_first_and_counts_the_rest(more: int, told: str) -> None:
    """Nothing is left out in silence, and nothing is said where nothing is."""
    strides = [one(f"card {n}", was=None) for n in range(MOST_NAMED + more)]
    lines = dict(week_sections(made(*strides), width=80))["New this week"].splitlines()

    assert MOST_NAMED + (more > 0) == len(lines)
    assert told in lines[-1]


def test_long_titles_are_cut_to_the_width() -> None:
    """With a sign that they are; a title that just fits is whole."""
    fits, long = "x" * 20, "x" * 21
    body = dict(week_sections(made(one(fits, was=None), one(long, was=None)), width=40))

    assert [f"  86  {fits}", f"  86  {'x' * 19}…"] == body["New this week"].splitlines()


def play(box: Box, clock: ManualClock, day: float, bpm: float, grade: Grade) -> None:
    """Record a cold take of the card ``e`` so many days after the start."""
    clock.forward(days=day - clock.seconds() / 86_400)
    box.record(box.find("e"), bpm=bpm, grade=grade, at=clock.now(), seconds=60)


def test_a_stride_says_what_a_week_brought(box: Box, clock: ManualClock) -> None:
    """The sentence has the cold tempo, the gain since a week ago, a first hold, a record."""
    card, said = box.find("e"), []
    for day, bpm in ((0, 70), (2, 78), (4, 90), (9, 100)):
        play(box, clock, day, bpm, Grade.CLEAN)
        said.append(stride(box, card, at=clock.now()))
    course = [round(cold) for cold in tempos(box, card)]
    gained = course[3] - course[0]  # of the takes, only the first is a week old

    guess = "That is a guess from one take."
    assert f"About {course[0]} cold, new this week. {guess}" == said[0]
    assert guess not in "".join(said[1:])
    assert f"About {course[3]} cold, {gained} up this week" in said[3]
    assert 1 == sum("in hand for the first time" in one for one in said)
    assert "fastest it ever was when cold" in said[3]


@pytest.mark.parametrize("grade", [Grade.FELL_APART, Grade.SHAKY])
def test_after_a_take_that_failed_nothing_is_praised(
    box: Box, clock: ManualClock, grade: Grade
) -> None:
    """New this week and up this week are true of it still, and are not said: only where it is."""
    play(box, clock, 0, 70, Grade.STEADY)
    play(box, clock, 1, 70, grade)
    card = box.find("e")
    cold = round(tempos(box, card)[-1])

    assert f"Now about {cold} cold." == stride(box, card, at=clock.now())
    assert (
        "new this week" in stride_in(box, card, at=clock.now(), news_since=clock.now()).sentence()
    )


def test_a_card_that_never_came_together_has_no_tempo(box: Box, clock: ManualClock) -> None:
    """Nothing is called cold that never held."""
    play(box, clock, 0, 70, Grade.FELL_APART)

    assert stride(box, box.find("e"), at=clock.now()).startswith("Not together yet")


def test_a_card_that_fell_apart_is_in_no_hand(box: Box, clock: ManualClock) -> None:
    """Whatever its relatives let expect: the week and the year count as the shelf does.

    Once a take comes off it is news, also if the expectation stood above the goal before.
    """
    play(box, clock, 0, 130, Grade.AUTOMATIC)
    other = box.find("a")
    box.record(other, bpm=90, grade=Grade.FELL_APART, at=clock.now(), seconds=30)
    apart = week(box, at=clock.now())
    assert 2.0 ** box._beliefs.of(other).mu > 90 == box.card(other, at=clock.now()).goal_bpm
    assert [None] == [one.now for one in apart.strides if one.title == box.title(other)]
    assert ["e of every beat"] == [one.title for one in apart.first_holds]
    assert 1 == look_back(box, at=clock.now()).in_hand[-1]
    assert "   –  a of every beat" in dict(week_sections(apart, width=80))["New this week"]

    box.record(other, bpm=90, grade=Grade.CLEAN, at=clock.now(), seconds=30)
    assert stride(box, other, at=clock.now()).endswith("in hand for the first time.")
    assert 2 == len(week(box, at=clock.now()).first_holds)


def test_only_what_was_first_played_in_the_week_is_new_in_it(box: Box, clock: ManualClock) -> None:
    """A card that fell apart for weeks is not; once it comes off it is together since this week."""
    play(box, clock, 0, 70, Grade.FELL_APART)
    play(box, clock, 20, 70, Grade.FELL_APART)
    title = box.title(box.find("e"))
    assert ["Minutes"] == [head for head, _ in week_sections(week(box, at=clock.now()), width=80)]
    play(box, clock, 21, 70, Grade.STEADY)
    sections = dict(week_sections(week(box, at=clock.now()), width=80))

    assert title in sections["Together since this week"]
    assert "New this week" not in sections
    assert "together since this week" in stride(box, box.find("e"), at=clock.now())


def test_news_is_what_happened_since_it_was_asked_for(box: Box, clock: ManualClock) -> None:
    """A first hold or a record that is older is no news; the very moment counts as since."""
    play(box, clock, 0, 80, Grade.CLEAN)
    play(box, clock, 3, 110, Grade.AUTOMATIC)
    card, then = box.find("e"), clock.now()
    later = then + timedelta(seconds=1)

    fresh = stride_in(box, card, at=later, news_since=then)
    stale = stride_in(box, card, at=later, news_since=later)
    assert (True, True) == (fresh.first_hold, fresh.record)
    assert (False, False) == (stale.first_hold, stale.record)


def test_a_record_is_cold_steady_and_faster_than_all_before(box: Box, clock: ManualClock) -> None:
    """Neither the first take of all, nor an equal one, nor a shaky one, nor a warm one."""
    card, records = box.find("e"), []
    for day, bpm, grade in (
        (0, 80, Grade.STEADY),
        (2, 80, Grade.CLEAN),
        (4, 95, Grade.SHAKY),
        (6, 85, Grade.STEADY),
        (6.01, 99, Grade.CLEAN),
    ):
        play(box, clock, day, bpm, grade)
        records.append(stride_in(box, card, at=clock.now(), news_since=clock.now()).record)

    assert [False, False, False, True, False] == records


def test_a_week_counts_what_was_played_in_it(box: Box, clock: ManualClock) -> None:
    """Seven days end today: minutes by day, the cards that rose first, nothing older."""
    e, a = box.find("e"), box.find("a")
    for day, card, bpm in ((0, e, 70), (0, a, 70), (8, e, 84), (9, e, 88), (9, a, 70)):
        clock.forward(days=day - clock.seconds() / 86_400)
        box.record(card, bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=60)
    shown = week(box, at=clock.now())

    assert (0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 2.0) == shown.minutes
    assert box.now(clock.now()).day - 6 == shown.first
    assert 3 == shown.takes
    assert "e of every beat" == shown.strides[0].title
    assert shown.strides[0].gain > 0
    assert "3 minutes on 2 days, 2 cards played" in shown.sentence()
    for width in (20, 80, 200):
        text = "\n".join(body for _, body in week_sections(shown, width=width))
        assert "e of every" in text


def test_gains_are_cut_to_the_width_and_counted_past_twelve() -> None:
    """As the other lists; where a page is very narrow twelve letters of a title stay."""
    strides = [one(f"{n:02} {'x' * 40}") for n in range(MOST_NAMED + 2)]
    for width, room in ((20, 12), (32, 12), (33, 13), (60, 40)):
        lines = dict(week_sections(made(*strides), width=width))[
            "Faster than a week ago, cold"
        ].splitlines()
        assert lines[0] == f"  80 → 86     +6  {strides[0].title[: room - 1]}…"
        assert [MOST_NAMED + 1, "      and 2 more"] == [len(lines), lines[-1]]


def test_the_largest_gain_comes_first_and_equal_ones_go_by_title(
    box: Box, clock: ManualClock
) -> None:
    """What was new has no gain; a card that has left the box counts in minutes and takes alone."""
    names = {"e": (60, 90), "a": (60, 75), "e-a": (None, 70), "a-doubled": (None, 66)}
    for after, pick in ((0, 0), (8, 1)):
        clock.forward(days=after)
        for name, tempi in names.items():
            bpm = tempi[pick]
            if bpm is not None:
                for _ in range(2):
                    box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, at=clock.now(),
                               seconds=30)  # fmt: skip
    shown = week(box, at=clock.now())

    assert ["e of every beat", "a of every beat"] == [one.title for one in shown.strides[:2]]
    assert [(0, "a of every beat, doubled"), (0, "e and a of every beat")] == [
        (one.gain, one.title) for one in shown.strides[2:]
    ]
    assert shown.strides[0].gain > shown.strides[1].gain > 0
    box.remove_deck("first-ghosts")
    gone = week(box, at=clock.now())
    assert (shown.minutes, shown.takes, ()) == (gone.minutes, gone.takes, gone.strides)


def test_a_week_ago_is_seven_days_ago_to_the_moment(box: Box, clock: ManualClock) -> None:
    """A take exactly so old is within the week; a moment older it is what was before."""
    play(box, clock, 0, 80, Grade.CLEAN)
    card, then = box.find("e"), clock.now()
    clock.forward(days=7)
    at_once = stride_in(box, card, at=then + timedelta(days=7), news_since=then)
    later = stride_in(box, card, at=then + timedelta(days=7, seconds=1), news_since=then)

    assert (None, 0) == (at_once.was, at_once.gain)
    assert later.now == later.was == pytest.approx(box.course(card)[0][1])


def test_a_first_hold_that_did_not_last_is_no_news(box: Box, clock: ManualClock) -> None:
    """Where the last take of the time asked for leaves the card under its goal again.

    A card nobody played stands at its goal and is no news either.
    """
    card, since = box.find("e"), clock.now()
    play(box, clock, 0, 95, Grade.CLEAN)
    assert stride_in(box, card, at=clock.now(), news_since=since).first_hold
    for day in (1, 2, 3):
        play(box, clock, day, 80, Grade.FELL_APART)
    now = stride_in(box, card, at=clock.now(), news_since=since)
    unplayed = stride_in(box, box.find("a"), at=clock.now(), news_since=since)

    assert now.now is not None
    assert now.now < 90 <= max(tempos(box, card))
    assert not now.first_hold
    assert (None, 90.0, False, False) == (
        unplayed.was, unplayed.now, unplayed.first_hold, unplayed.record,
    )  # fmt: skip
    assert "About 90 cold, new this week." == stride(box, box.find("a"), at=clock.now())


@pytest.mark.parametrize("seed", range(4))
def test_the_week_and_the_takes_of_its_cards_agree(box: Box, clock: ManualClock, seed: int) -> None:
    """What was kept of each day tells what a replay of all takes does, cut where the days end."""
    chance = random.Random(seed)
    cards = [box.find(name) for name in ("e", "a", "e-a")]
    for _ in range(60):
        clock.forward(seconds=chance.choice((60, 7_000, 40_000, 90_000)))
        box.record(
            chance.choice(cards),
            bpm=chance.randrange(60, 125),
            grade=chance.choice(tuple(Grade)),
            at=clock.now(),
            seconds=30,
        )
    shown = week(box, at=clock.now())
    expected = []
    for card in cards:
        takes, course = box.history(card), box.course(card)
        ends = {take.day: cold for take, cold in course}
        before = [cold for day, cold in ends.items() if day < shown.first]
        held = [
            day
            for day, cold in ends.items()
            if cold is not None and cold >= box.card(card, at=clock.now()).goal_bpm
        ]
        cold = [take for take in takes if take.cold and take.grade >= Grade.STEADY]
        best = [take.bpm for take in cold if take.day < shown.first]
        if takes[-1].day >= shown.first:
            expected.append(
                Stride(
                    title=box.title(card),
                    was=before[-1] if before else None,
                    now=course[-1][1],
                    new=takes[0].day >= shown.first,
                    first_hold=bool(held) and shown.first <= held[0] and takes[-1].day in held,
                    record=bool(best)
                    and any(one.bpm > max(best) for one in cold if one.day >= shown.first),
                )
            )

    for one, other in zip(
        sorted(expected, key=_title), sorted(shown.strides, key=_title), strict=True
    ):
        assert (one.title, one.new, one.first_hold, one.record) == (
            other.title, other.new, other.first_hold, other.record,
        )  # fmt: skip
        assert (one.was, one.now) == pytest.approx((other.was, other.now))


def _title(stride: Stride) -> str:
    return stride.title
