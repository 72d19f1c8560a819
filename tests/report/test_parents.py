"""The page for parents: every sentence from a file made by hand, and no other sentence."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.report.parents import MOST_NAMED, parents_report, parents_sections
from drillbox.studio import (
    Asked,
    CardProgress,
    DeckInfo,
    Played,
    Progress,
    StudentFigures,
    look_at,
)

if TYPE_CHECKING:
    from drillbox.paper.sheet_layout import Look

TODAY = date(2026, 11, 25)
WRITTEN = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
DECK = DeckInfo("week-3", "Week 3", 1)


def card(number: int, state: str, *played: tuple[int, int, float]) -> CardProgress:
    """Return a card with a goal of 100, played (days ago, minutes, cold tempo after it)."""
    days = tuple(
        Played(TODAY - timedelta(days=ago), minutes, 60.0 * minutes, bpm)
        for ago, minutes, bpm in played
    )
    cold = days[-1].cold_bpm if days and state != "waiting" else None
    return CardProgress(f"{number:016x}", f"card {number}", ("week-3",), 100.0, state, cold, days)


def told(*cards: CardProgress, minutes: int | None = None) -> dict[str, tuple[str, ...]]:
    """Return the sections about Mia with these cards."""
    return dict(parents_sections(figures(*cards, minutes=minutes)))


def figures(*cards: CardProgress, minutes: int | None = None) -> StudentFigures:
    """Return Mia's figures."""
    file = Progress(f"{1:032x}", "Mia", WRITTEN, (DECK,), cards, TODAY, minutes=minutes)
    return look_at([file], today=TODAY)[0]


def test_practice_is_told_in_days_and_minutes() -> None:
    """Of the month, of the month before where there was practice, and what is planned."""
    played = card(1, "building", (40, 9, 60.0), (9, 10, 70.0), (2, 20, 80.0))

    assert (
        "Mia practised on 2 days of the 30, 30 minutes together, about 15 minutes on such a day.",
        "In the month before: 1 day, 9 minutes.",
        "The plan is 15 minutes on a practice day.",
    ) == told(played, minutes=15)["Practice"]
    assert (
        "Mia practised on 1 day of the 30, 20 minutes together, about 20 minutes on such a day.",
    ) == told(card(1, "building", (2, 20, 80.0)))["Practice"]


def test_who_did_not_practise_is_told_so_with_the_last_day() -> None:
    """Or that nothing has begun yet; 16 October 2026 is a Friday (ISO 8601)."""
    assert ("Mia did not practise in the month and last practised on Fri 16 Oct.",) == (
        told(card(1, "building", (40, 9, 60.0)), minutes=15)["Practice"]
    )
    assert ("Mia did not practise in the month and has not begun yet.",) == (
        told(card(1, "waiting"), minutes=15)["Practice"]
    )


def test_practice_that_stopped_within_the_month_is_told() -> None:
    """Ben stopped twelve days before the file: the day is said; six days are a pause."""
    ben = card(1, "building", (20, 10, 70.0), (12, 20, 80.0))
    away = "Mia has not practised since Fri 13 Nov."

    assert away in told(ben)["Practice"]
    paused = told(card(1, "building", (20, 10, 70.0), (6, 20, 80.0)))["Practice"]
    assert not any("has not practised since" in line for line in paused)


def test_what_is_learned_is_told_truly_and_kindly() -> None:
    """No way from 100 to 100, and no bare number twice for a card that stays where it is."""
    almost = card(1, "building", (20, 5, 90.0), (2, 5, 99.8))
    stays = card(2, "building", (50, 5, 72.0), (40, 5, 72.0), (20, 9, 72.3), (2, 9, 72.4))
    lines = told(almost, stays)["What is next"]

    assert "•  card 1, almost at 100 beats a minute" in lines
    assert (
        "At one speed for some time now, as happens to every player, and in need of patience:",
        "•  card 2, now at about 72, on the way to 100 beats a minute",
    ) == lines[-2:]


def test_patterns_not_begun_are_no_debt() -> None:
    """Of 77 patterns of a deck 76 wait: one of one is what the parents read."""
    waiting = [card(n, "waiting") for n in range(2, 78)]
    new = told(card(1, "holding", (2, 5, 104.0)), *waiting)["New this month"]

    assert any(line.startswith("In all 1 of 1 pattern begun so far") for line in new)
    assert "No pattern has been begun yet." in told(*waiting)["New this month"]


def test_new_is_what_came_to_its_speed_within_the_month() -> None:
    """Thirty days ago still counts as before; a card just over its goal then is not new."""
    cards = (
        card(1, "holding", (30, 5, 100.0), (2, 5, 104.0)),
        card(2, "holding", (30, 5, 99.0), (2, 5, 103.0)),
        card(3, "outgrown", (2, 5, 130.0)),
        card(4, "building", (2, 5, 90.0)),
        card(5, "fading", (29, 5, 101.0), (2, 5, 98.0)),
    )

    assert (
        "•  card 2, 100 beats a minute or faster",
        "•  card 3, 100 beats a minute or faster",
        (
            "In all 3 of 5 patterns begun so far can be played at the speed asked for, at the "
            "first try of a day. 1 pattern more did so before and slipped a little; practice "
            "brings that back."
        ),
    ) == told(*cards)["New this month"]


def test_a_month_without_anything_new_says_so() -> None:
    """And nothing of slipping where nothing slipped."""
    assert (
        "No pattern has reached its speed for the first time this month.",
        (
            "In all 0 of 1 pattern begun so far can be played at the speed asked for, "
            "at the first try of a day."
        ),
    ) == told(card(1, "building", (2, 5, 90.0)))["New this month"]


def test_what_is_next_goes_from_wanted_to_learned_to_new() -> None:
    """Each card once: what is wanted by a day is not said again below."""
    wanted = replace(
        card(1, "building", (2, 5, 70.0)), asked=(Asked(TODAY + timedelta(days=1), 80.0),)
    )
    gone = replace(
        card(2, "building", (2, 5, 71.4)), asked=(Asked(TODAY - timedelta(days=1), 80.0),)
    )

    assert (
        "By Thu 26 Nov: card 1, 80 beats a minute.",
        "Being learned:",
        "•  card 2, now at about 71, on the way to 100 beats a minute",
        "To begin next: card 3.",
    ) == told(wanted, gone, card(3, "waiting"))["What is next"]
    assert ("The teacher will say in the next lesson.",) == (
        told(card(1, "holding", (2, 5, 120.0)))["What is next"]
    )


def test_what_has_not_come_together_is_to_be_played_slower() -> None:
    """A card that was tried on three days, all in vain, has no tempo, and stands so."""
    tried = replace(card(1, "building", (5, 2, 60.0), (4, 2, 58.0), (2, 2, 55.0)), cold_bpm=None)

    assert (
        "Tried, and slower now until it comes together: card 1."
        in (told(tried, card(2, "holding", (2, 5, 120.0)))["What is next"])
    )


@pytest.mark.parametrize(("more", "last"), [(0, "card 8"), (1, "and 1 more"), (4, "and 4 more")])
def test_a_long_list_is_counted_at_its_end(more: int, last: str) -> None:
    """The page shall stay one page."""
    cards = [card(n, "holding", (2, 5, 110.0)) for n in range(1, MOST_NAMED + more + 1)]
    lines = [line for line in told(*cards)["New this month"] if line.startswith("•")]

    assert MOST_NAMED + (more > 0) == len(lines)
    assert lines[-1].startswith(f"•  {last}")


def test_the_page_says_of_when_it_is_and_cautions() -> None:
    """The day of the file, not of the printing; ears and hands, and who to ask."""
    sheet = parents_report(figures(card(1, "building", (2, 5, 70.0))))

    assert "How Mia is getting on" == sheet.title
    assert "As of Wed 25 Nov 2026" in sheet.lines[0]
    assert "ear protection" in sheet.text
    assert "licensed professional" in " ".join(sheet.text.split())
    assert max(map(len, sheet.text.splitlines())) <= 80


def test_what_is_printed_is_what_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every section under its name, in bold, every sentence of it a paragraph, in their order."""
    set_up: list[tuple[str, Any]] = []

    def noted(text: str, _: object, **style: Any) -> str:
        set_up.append((text, style.get("bold", False)))
        return text

    monkeypatch.setattr("drillbox.paper.sheet_layout.paragraph", noted)
    monkeypatch.setattr("drillbox.paper.sheet_layout.joined", lambda parts: parts)
    monkeypatch.setattr("drillbox.paper.sheet_layout.heading", lambda *said: said[:2])
    monkeypatch.setattr("drillbox.paper.sheet_layout.paged", lambda *given, foot: (*given, foot))
    one = figures(card(1, "building", (2, 5, 70.0)), card(2, "waiting"))
    sheet, look = parents_report(one), cast("Look", object())
    head, _, given, foot = cast("Any", sheet.pages(look))

    assert (sheet.title, sheet.lines) == head
    assert look is given
    assert "for parents" in foot
    assert [
        pair
        for name, said in parents_sections(one)
        for pair in ((name, True), *((text, False) for text in said))
    ] == set_up


@pytest.mark.parametrize(("ago", "is_pause"), [(6, False), (7, True), (29, True)])
def test_a_week_without_practice_is_named(ago: int, *, is_pause: bool) -> None:
    """From the seventh day on; and a month is thirty days with today."""
    lines = told(card(1, "building", (ago, 20, 80.0)))["Practice"]

    assert lines[0].startswith("Mia practised on 1 day of the 30, 20 minutes together")
    assert is_pause == any("has not practised since" in line for line in lines)


def test_a_moment_of_practice_is_a_minute() -> None:
    """An average that rounds to nothing is not said to be nothing."""
    brief = replace(
        card(1, "building"), days=(Played(TODAY, 1, 9.0, 60.0),), cold_bpm=60.0, state="building"
    )

    assert told(brief)["Practice"][0].endswith("about 1 minute on such a day.")


@pytest.mark.parametrize(
    ("played", "stays"),
    [
        # Begun a month before the file, and up by less than two beats a minute since: it stays.
        (((30, 5, 72.0), (2, 9, 73.9)), True),
        (((30, 5, 72.0), (2, 9, 74.0)), False),
        # Begun a day later it is new, wherever it stands.
        (((29, 1, 72.0), (2, 1, 72.0)), False),
    ],
)
def test_a_pattern_stays_where_it_is_after_a_month(
    played: tuple[tuple[int, int, float], ...], *, stays: bool
) -> None:
    """Said with patience, and not among those that move."""
    lines = told(card(1, "building", *played))["What is next"]
    head = (
        "At one speed for some time now, as happens to every player, and in need of patience:"
        if stays
        else "Being learned:"
    )

    assert head == lines[0]
    assert 2 == len(lines)


def test_what_is_wanted_and_not_begun_is_not_begun_twice() -> None:
    """A card with a day is said with its day alone; of many wanted the first eight are named."""
    asked = [
        replace(card(n, "waiting"), asked=(Asked(TODAY + timedelta(days=n), 60.0 + n),))
        for n in range(1, MOST_NAMED + 3)
    ]
    lines = told(*asked)["What is next"]

    assert [f"card {n}, {60 + n} beats a minute." for n in range(1, MOST_NAMED + 1)] == [
        line.partition(": ")[2] for line in lines
    ]


def test_more_than_one_that_slipped_is_more_than_one() -> None:
    """The number and its noun agree."""
    cards = [card(n, "fading", (29, 5, 101.0), (2, 5, 98.0)) for n in (1, 2)]

    assert (
        "2 patterns more did so before and slipped a little" in told(*cards)["New this month"][-1]
    )


def test_a_pattern_tried_in_vain_is_not_on_its_way() -> None:
    """It has no tempo to be on its way from, and is told as one to be played slower."""
    tried = replace(card(1, "building", (5, 2, 60.0), (4, 2, 58.0), (2, 2, 55.0)), cold_bpm=None)

    assert not any("on the way" in line for line in told(tried)["What is next"])
