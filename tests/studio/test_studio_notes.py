"""Each sentence before a lesson stands there exactly when it is true, and each card where it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from students_by_hand import DECK, TODAY, aged, card, failed, student

from drillbox.base.now import day_name
from drillbox.studio import (
    Asked,
    CardProgress,
    HeardMonth,
    StudentFigures,
    look_at,
    next_up,
    student_lines,
)
from drillbox.studio.lesson_notes import head_line, notes_on

NAMES = (
    "Next", "New in hand this month", "Stuck", "Not together yet", "Fading", "Asked and met",
    "Late", "Missed", "Not due yet", "In hand", "Outgrown, a higher goal is due", "Building",
    "Waiting", "Heard", "Replies taken in",
)  # fmt: skip
BEFORE_THE_LESSON = NAMES[:9]
OLD = ((90, 1, 101.0), (50, 1, 101.0))


def many() -> dict[str, list[CardProgress]]:
    """Return cards of every kind, by the note that names them: from one to three of each."""
    found = {
        "New in hand this month": [
            card(n, "holding", (50, 1, 80.0), (3, 1, 101.0)) for n in (1, 2)
        ],
        "Stuck": [card(n, "building", (50, 1, 80.0), (3, 12, 80.0)) for n in (3, 4)],
        "Not together yet": [failed(5, (3, 1, 60.0), (2, 1, 60.0), (1, 1, 60.0))],
        "Fading": [replace(card(n, "fading", *OLD), cold_bpm=95.0) for n in (6, 7, 8)],
        "In hand": [card(n, "holding", *OLD) for n in (9, 10)],
        "Outgrown, a higher goal is due": [card(11, "outgrown", (60, 1, 140.0))],
        "Building": [card(12, "building", (50, 1, 60.0), (3, 1, 90.0))],
        "Waiting": [card(13, "waiting"), card(14, "waiting")],
    }
    met, late, missed, ahead = (1, 90.0), (95, 101.0), (1, 150.0), (-3, 150.0)
    asked = (Asked(TODAY - timedelta(days=ago), bpm) for ago, bpm in (met, late, missed, ahead))
    found["In hand"][0] = replace(found["In hand"][0], asked=tuple(asked))
    return found


def whole() -> StudentFigures:
    """Return a student who has something of everything."""
    cards = [one for some in many().values() for one in some]
    file = student(1, "Mia", *cards, card(99, "rested", (3, 1, 90.0)))
    heard = (HeardMonth("2026-10", 3, None, None),)
    return look_at([replace(file, heard=heard, taken_in=("a" * 32,))], today=TODAY)[0]


def test_every_note_stands_in_its_place_and_every_card_in_its_note() -> None:
    """Once each: no card of one note in another, none at rest in any."""
    notes = {note.name: note for note in notes_on(whole())}
    assert list(NAMES) == list(notes)
    assert {name: name in BEFORE_THE_LESSON for name in NAMES} == {
        name: note.first for name, note in notes.items()
    }
    for name, cards in many().items():
        assert [one.title for one in cards] == [
            item.partition(" (")[0] for item in notes[name].items
        ]
    for name in NAMES[5:9]:
        (item,) = notes[name].items
        assert item.startswith("card 9 at ")
    assert ("1",) == notes["Replies taken in"].items
    lines = student_lines(whole())
    assert [head_line(whole())] == lines[:1]
    assert [f"{name[0].lower()}{name[1:]}" for name in NAMES] == [
        text.partition(": ")[0] for text in lines[1:]
    ]


@pytest.mark.parametrize("left_out", list(many()))
def test_without_its_cards_a_note_is_not_there(left_out: str) -> None:
    """And the others are, unchanged but for what comes next."""
    cards = {name: some for name, some in many().items() if name != left_out}
    one = aged(0, *(each for some in cards.values() for each in some))
    left = [note.name for note in notes_on(one) if note.name in cards or note.name == left_out]
    assert [name for name in NAMES if name in cards] == left


@pytest.mark.parametrize(("number", "kept", "more"), [(12, 12, 0), (13, 12, 1), (20, 12, 8)])
def test_a_note_names_twelve_cards_at_most(number: int, kept: int, more: int) -> None:
    """And counts the others; of assignments likewise."""
    asked = (Asked(TODAY + timedelta(days=3), 150.0),)
    cards = [replace(card(n, "holding", *OLD), asked=asked) for n in range(number)]
    notes = {note.name: note.items for note in notes_on(aged(0, *cards))}
    rest = [f"and {more} more"] if more else []
    for name in ("In hand", "Not due yet"):
        assert rest == list(notes[name][kept:])
        assert number == len(notes[name][:kept]) + more


@pytest.mark.parametrize(("number", "rest"), [(4, []), (5, ["and 1 more"])])
def test_of_what_waits_the_first_four_are_named(number: int, rest: list[str]) -> None:
    """By their titles alone."""
    one = aged(0, *(card(n, "waiting") for n in range(number)))
    (items,) = (note.items for note in notes_on(one) if note.name == "Waiting")
    assert [f"card {n}" for n in range(4)] + rest == list(items)


@pytest.mark.parametrize(
    ("months", "first"), [(1, "2026-01"), (6, "2026-01"), (7, "2026-02"), (9, "2026-04")]
)
def test_of_what_was_heard_the_last_six_months_are_told(months: int, first: str) -> None:
    """With a spread and a contrast where they are known, in whole numbers."""
    heard = [HeardMonth(f"2026-0{n}", n, None, None) for n in range(1, months + 1)]
    heard[-1] = replace(heard[-1], spread_ms=12.4, contrast_db=19.6)
    file = replace(student(1, "Mia", card(1, "waiting")), heard=tuple(heard))
    (items,) = (n.items for n in notes_on(look_at([file], today=TODAY)[0]) if n.name == "Heard")
    assert min(months, 6) == len(items)
    assert items[0].startswith(f"{first}: ")
    unit = "take" if months == 1 else "takes"
    last = f"2026-0{months}: {months} {unit}, spread 12 ms, accents 20 dB over ghosts"
    assert last == items[-1]
    assert all("spread" not in item and "dB" not in item for item in items[:-1])


@pytest.mark.parametrize(
    ("cold", "shown"),
    [(None, "100"), (99.4, "99 of 100"), (99.6, "99.6 of 100"), (100.0, "100 of 100"),
     (100.4, "100 of 100"), (99.5, "99.5 of 100"), (101.0, "101 of 100")],
)  # fmt: skip
def test_a_little_below_is_not_shown_as_level(cold: float | None, shown: str) -> None:
    """A tempo that would round to the goal has its tenth, one at or over it none."""
    state = "holding" if cold else "waiting"
    one = replace(card(1, state, (50, 1, 101.0)), cold_bpm=cold)
    (item,) = (n.items[0] for n in notes_on(aged(0, one)) if n.name in ("In hand", "Waiting"))
    # What waits is told by its title.
    assert ("card 1" if cold is None else f"card 1 ({shown})") == item


def test_the_head_says_decks_file_program_and_two_months() -> None:
    """What there is of them; not begun where nothing is."""
    played = card(1, "holding", (50, 2, 80.0), (40, 1, 80.0), (3, 1, 84.5))
    file = student(1, "Mia", played)
    (one,) = look_at([replace(file, program="1.2")], today=TODAY)
    assert (
        f"Week 3 (edition 1); file of {day_name(TODAY)}, drillbox 1.2; "
        "1 day and 1 minute in the month, 2 days and 3 before, +4.5 bpm a card played."
    ) == head_line(one)
    (bare,) = look_at([replace(file, decks=(), cards=())], today=TODAY)
    assert head_line(bare).startswith("no deck; file of ")
    assert head_line(bare).endswith("; not begun.")
    (two,) = look_at([replace(file, decks=(DECK, replace(DECK, id="b", title="B")))], today=TODAY)
    assert head_line(two).startswith("Week 3 (edition 1), B (edition 1); file of ")
    assert "drillbox" not in head_line(two)
    old = aged(0, card(1, "fading", (50, 2, 80.0)))
    assert head_line(old).endswith("; 0 days and 0 minutes in the month, 1 day and 2 before.")


def following(*cards: CardProgress) -> str:
    """Return what a teacher reads of what comes next."""
    return notes_on(aged(0, *cards))[0].items[0]


STUCK = ((50, 1, 80.0), (3, 12, 80.0))
APART = ((3, 1, 62.0), (2, 1, 62.0), (1, 1, 62.0))


@pytest.mark.parametrize(
    ("cards", "expected"),
    [
        ([], "the next deck of the course"),
        ([card(1, "holding", (50, 1, 101.0))], "the next deck of the course"),
        ([failed(1, *APART)], "slower until it comes together: card 1 at 55"),
        (
            [failed(1, *APART), failed(2, *APART), card(3, "waiting")],
            "slower until they come together: card 1 at 55 | card 2 at 55; nothing new before that",
        ),
        ([card(1, "building", *STUCK)], "stuck, so a lower goal for a while: card 1 at 75"),
        (
            [replace(failed(1, *APART), last_bpm=44.9)],
            "take apart in the lesson: card 1 (last tried at 45)",
        ),
        (
            [replace(failed(1, *APART), last_bpm=45.0)],
            "slower until it comes together: card 1 at 40",
        ),
        ([replace(failed(1, *APART), last_bpm=None)], "take apart in the lesson: card 1"),
        ([card(1, "outgrown", (50, 1, 140.0))], "raise the goal of 1 outgrown card"),
        (
            [card(n, "outgrown", (50, 1, 140.0)) for n in (1, 2)],
            "raise the goal of 2 outgrown cards",
        ),
        (
            [card(1, "building", (50, 1, 60.0), (40, 1, 60.0), (3, 1, 60.4))],
            "a step, for the goal is far (+0 bpm a card in the month): card 1 at 70 (60 of 100)",
        ),
        (
            [card(1, "building", (50, 1, 60.0), (40, 1, 60.0))],
            "a step, for the goal is far: card 1 at 65 (60 of 100)",
        ),
        (
            [card(1, "building", (50, 1, 90.0)), card(2, "waiting"), card(3, "waiting")],
            "bring to the goal: card 1 (90 of 100); begin: card 2 | card 3",
        ),
    ],
)
def test_what_comes_next_in_words(cards: list[CardProgress], expected: str) -> None:
    """Each of its sentences where it is meant, and nothing else."""
    assert expected == following(*cards)


def test_where_all_the_lesson_is_taken_up_what_waits_is_put_off() -> None:
    """A stuck class of cards, and one that waits: it has to wait on."""
    cards = [card(n, "building", *STUCK) for n in (1, 2, 3)]
    assert following(*cards, card(4, "waiting")).endswith(" at 75; nothing new before that")
    assert following(*cards).endswith("card 3 at 75")


@pytest.mark.parametrize(("seconds", "told"), [(20.0, "1 minute"), (89.0, "1 minute"),
                                               (91.0, "2 minutes")])  # fmt: skip
def test_what_it_takes_is_told_in_whole_minutes(seconds: float, told: str) -> None:
    """At least one, for one card, as the others took."""
    done = card(1, "holding", (50, 1, 101.0))
    done = replace(done, days=(done.days[0]._replace(seconds=seconds),))
    said = following(done, card(2, "waiting"))
    expected = f"about {told} a day; this student's cards came there in 1 day of practice"
    assert f"begin: card 2; {expected}" == said


@pytest.mark.parametrize(
    ("last", "cold", "bpm"),
    [(62.0, None, 55.0), (60.0, None, 55.0), (59.9, None, 50.0), (45.0, None, 40.0),
     (44.9, None, None), (75.0, 72.0, 65.0), (72.0, 75.0, 65.0), (None, 80.0, 75.0)],
)  # fmt: skip
def test_slower_is_a_mark_at_least_a_step_below(
    last: float | None, cold: float | None, bpm: float | None
) -> None:
    """Five to ten under the lower of the last take and the cold tempo; not under forty."""
    trouble = card(1, "building", *STUCK) if cold else failed(1, *APART)
    one = replace(trouble, last_bpm=last, cold_bpm=cold and 80.0)
    if cold:
        low = tuple(day._replace(cold_bpm=cold) for day in one.days)
        one = replace(one, days=low, cold_bpm=cold)
    (slower,) = next_up(aged(0, one)).slower
    assert bpm == slower.bpm


@pytest.mark.parametrize(
    ("cold", "step"), [(90.0, None), (89.9, 95.0), (85.0, 90.0), (85.1, 95.0), (60.0, 65.0)]
)
def test_a_step_is_a_mark_five_to_ten_above(cold: float, step: float | None) -> None:
    """Where the goal is more than ten away; at ten it is in reach."""
    coming = next_up(aged(0, card(1, "building", (50, 1, cold))))
    assert ([step] if step else []) == [one.bpm for one in coming.steps]
    assert ([] if step else ["card 1"]) == [one.title for one in coming.near]


@pytest.mark.parametrize(
    ("building", "waiting", "new"),
    [(0, 4, 3), (1, 4, 2), (2, 4, 1), (3, 4, 0), (4, 4, 0), (0, 2, 2)],
)
def test_three_in_the_making_are_enough(building: int, waiting: int, new: int) -> None:
    """What is missing of three is begun."""
    cards = [card(n, "building", (50, 1, 90.0 + n)) for n in range(building)]
    coming = next_up(aged(0, *cards, *(card(n, "waiting") for n in range(20, 20 + waiting))))
    assert [f"card {n}" for n in range(20, 20 + new)] == [one.title for one in coming.new]
    assert [f"card {n}" for n in range(building)][::-1][:3] == [one.title for one in coming.near]
    assert (None, None) == (coming.minutes_a_day, coming.days)


@pytest.mark.parametrize(("trouble", "near"), [(0, 3), (1, 2), (2, 1), (3, 0), (4, 0)])
def test_what_is_slower_and_what_is_near_are_three_together(trouble: int, near: int) -> None:
    """The ones with the most takes of those that are stuck; building before fading."""
    stuck = [card(n, "building", (50, 1, 80.0), (3, 12 + n, 80.0)) for n in range(trouble)]
    fading = [replace(card(n, "fading", *OLD), cold_bpm=95.0 + n / 9) for n in (20, 21, 22)]
    building = [card(30, "building", (50, 1, 90.0))]
    coming = next_up(aged(0, *fading, *stuck, *building))
    assert [f"card {n}" for n in range(trouble)][::-1][:3] == [
        one.card.title for one in coming.slower
    ]
    assert ["card 30", "card 22", "card 21"][:near] == [one.title for one in coming.near]


def test_what_is_taken_on_costs_what_the_middle_card_cost() -> None:
    """A median of minutes a day, times the cards; days rounded up."""
    done = [
        card(1, "holding", (60, 2, 101.0)),
        card(2, "holding", (60, 4, 90.0), (59, 4, 101.0)),
        card(3, "fading", (60, 9, 90.0), (59, 9, 91.0), (58, 9, 92.0), (57, 9, 101.0)),
        card(4, "holding", (60, 5, 99.0), (59, 5, 99.5), (58, 5, 101.0)),
    ]
    coming = next_up(aged(0, *done, *(card(n, "waiting") for n in (20, 21))))
    # Minutes a day: 2, 4, 9, 5; days: 1, 2, 4, 3. The fading one is near, with two to begin.
    assert (1, 2) == (len(coming.near), len(coming.new))
    assert (3 * 4.5, 3) == (coming.minutes_a_day, coming.days)


def test_what_was_asked_stands_by_its_day_and_what_rests_is_not_asked() -> None:
    """The furthest day last, one day's by their titles."""
    days = [TODAY + timedelta(days=n) for n in (9, 3, 3)]
    cards = [
        replace(card(n, "holding", *OLD), asked=(Asked(day, 150.0),))
        for n, day in zip((1, 3, 2), days, strict=True)
    ]
    rests = replace(card(4, "rested", *OLD), asked=(Asked(TODAY, 150.0),))
    (items,) = (n.items for n in notes_on(aged(0, *cards, rests)) if n.name == "Not due yet")
    assert ["card 2", "card 3", "card 1"] == [item.partition(" at ")[0] for item in items]
