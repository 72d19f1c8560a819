"""Words that several rooms need: counts, lists, and minutes left open."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.wording import (
    OPEN_FROM_SECONDS,
    as_sentence,
    counted,
    day_is_over,
    day_off,
    did_you_mean,
    listed,
    listed_titles,
    nearest,
    open_minutes,
)

NAMES = st.lists(st.text("abc", min_size=1, max_size=3), max_size=9)


@pytest.mark.parametrize(
    ("number", "expected"),
    [(1, "1 day"), (2, "2 days"), (0, "0 days"), (1.4, "1 day"), (0.4, "0 days"), (1.6, "2 days")],
)
def test_one_is_one(number: float, expected: str) -> None:
    """English has one singular; a rounded number is counted as it is shown."""
    assert expected == counted(number, "day")


def test_an_irregular_plural_is_given() -> None:
    """One pass, two passes."""
    assert ("1 pass", "2 passes") == (counted(1, "pass", "passes"), counted(2, "pass", "passes"))


@given(NAMES, st.integers(1, 9))
def test_of_a_long_list_the_first_are_named_and_the_others_counted(
    names: list[str], most: int
) -> None:
    """Nothing is left out without a word, and a list that fits has no word more."""
    named, _, more = listed(names, most).partition(" and ")
    first = named.split(", ") if named else []

    assert names[:most] == first
    assert (f"{len(names) - most} more" if len(names) > most else "") == more


def test_minutes_that_a_plan_leaves_open_are_told_from_two_on() -> None:
    """Whole ones; what is less than two is no gap that asks for a word."""
    told = "2 minutes are open: more takes follow as you grade, or the day ends early."
    gaps = (-20, 119.4, 120, 179.4)

    assert ["", "", told, told] == [open_minutes(seconds + 60, 60) for seconds in gaps]
    assert "3 minutes" == open_minutes(OPEN_FROM_SECONDS + 60, 0)[:9]


def test_a_day_says_when_the_next_one_is() -> None:
    """One that is over, and one that is none; how to play on follows the first."""
    assert "Done for today. Come back on Wed 4 Mar" == day_is_over("on Wed 4 Mar")
    assert (
        "No practice day: the next is Wed 4 Mar. What you play today counts all the same."
        == day_off("Wed 4 Mar")
    )


@pytest.mark.parametrize(
    ("left", "plan", "whole"),
    [(900, 417.4, 8), (771, 403, 6), (771.4, 418.6, 5), (599.6, 420.4, 3)],
)
def test_open_minutes_are_those_between_the_two_lengths_as_shown(
    left: float, plan: float, whole: int
) -> None:
    """15:00 without 6:57 leaves eight minutes: who looks at both comes to the same."""
    assert f"{whole} minutes" == open_minutes(left, plan)[:9]


@pytest.mark.parametrize(
    ("titles", "told"),
    [
        ([], ""),
        (["groove, 1"], "groove, 1"),
        (["groove, 1", "e of 2"], "groove, 1 · e of 2"),
        (["groove, 1", "e of 2", "a of 4"], "groove, 1 · e of 2 · and 1 more"),
        (list("abcdefg"), "a · b · and 5 more"),
    ],
)
def test_titles_have_commas_of_their_own(titles: list[str], told: str) -> None:
    """And semicolons, so a dot stands between them."""
    assert told == listed_titles(titles, 2)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [("the & comes late", "The & comes late."), ("& left out", "& left out."), ("e", "E.")],
)
def test_words_become_a_sentence(words: str, sentence: str) -> None:
    """Nothing but the first letter is changed."""
    assert sentence == as_sentence(words)


def test_a_name_that_was_nearly_right_is_asked_about() -> None:
    """The nearest of those that are near enough; else what else to do is said."""
    known = ["triplet-ghosts", "sixteenth-ghosts", "doubles"]

    assert "doubles" == nearest("doubels", known)
    assert nearest("shuffle", known) is None
    assert nearest("doubles", []) is None
    assert "did you mean 'sixteenth-ghosts'?" == did_you_mean(
        "sixtenth-ghosts", known, otherwise=""
    )
    assert "take it out" == did_you_mean("shuffle", known, otherwise="take it out")
