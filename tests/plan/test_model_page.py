"""docs/model.md gives each number that was decided: the code's and the page's are the same."""

from __future__ import annotations

from pathlib import Path

import pytest
from scipy.stats import norm

from drillbox.memory.belief import MOST_LIFT, RECENT_DAYS
from drillbox.plan import choose, climbing, planner, prices, table, takes

PAGE = " ".join((Path(__file__).parents[2] / "docs" / "model.md").read_text("utf-8").split())
NUMBERS = {0.1: "a tenth", 0.25: "a quarter", 0.5: "half", 2: "two", 3: "three", 4: "four"}
NUMBERS |= {6: "six", 7: "week", 8: "eight", 10: "ten", 30: "thirty"}


def word(number: float) -> str:
    """Return a number as the page writes it out."""
    return NUMBERS[number]


SENTENCES = [
    (
        f"u = {1 - prices.SOFT_SHARE:g} * step(cold margin / {prices.STEP_WIDTH:g})"
        f" + {prices.SOFT_SHARE:g} * step(cold margin / {prices.SOFT_WIDTH:g})"
    ),
    f"A day counts 1/{1 / prices.DISCOUNT:g} less than the day before.",
    (
        f"at the goal {prices.GAIN_AT_GOAL:g} of a first take's gain, {prices.MOST_GAIN:g} times"
        f" that at most, nothing from {prices.PRACTICE_REACH:g} octave past it"
    ),
    f"in proportion to the wait, of which {prices.CREDIT_EXPECTED:g} is counted on",
    f"A further take costs {prices.FURTHER_COST:g} of a visit.",
    (
        f"a grid of {len(prices.MARGINS)} margins, {len(prices.LN_DAYS)} stabilities and"
        f" {len(prices.WAITS)} waits"
    ),
    f"where it levels off over {climbing.TOP_WIDTH:g} octave",
    f"worth {word(climbing.CLIMB_WORTH)} of a card for each octave of cold tempo",
    (
        f"divided by 1 + {word(climbing.GRINDING)} of the takes of late"
        f" (each counts 1 when played, 1/e a {word(RECENT_DAYS)} later)"
    ),
    f"and count {table.FIRST_LOOK:g} times",
    f"up to {table.FIRST_LOOK + table.FIRST_LOOK_KNOWN:g} times",
    (
        f"({table.FIRST_LOOK_KNOWN:g} k / (n + {table.SEEN_PRIOR:g}) more where k of n cards with"
        f" at most {table.SEEN_TAKES} takes stand within {table.KNOWN_OCTAVES:g} octave"
    ),
    f"once in {word(table.HOLDING_RETURN_DAYS)} practice days at most",
    f"by {takes.FAILED_SDS:g} of a standard deviation each, {word(takes.MOST_FAILED)} at most",
    f"by {takes.EASY_SDS:g} each, {word(takes.MOST_EASY)} at most",
    f"every card below its goal once in {word(table.BUILDING_RETURN_DAYS)} practice days",
    f"At most {word(choose.NEW_OF_A_FAMILY)} cards of a family are begun in a plan",
    (
        f"is worth {word(table.APART_WORTH)} times a visit for each further take,"
        f" up to {word(table.MOST_TAKES)} a day"
    ),
    f"until they are within {word(choose.READY_OCTAVES)} of an octave of their goals",
    f"worth up to {word(table.MOST_URGENT)} times as much",
    f"from about {word(table.URGENT_DAYS)} on;",
    f"fast enough is {word(table.DEADLINE_MARGIN)} of an octave over the tempo wanted",
    f"to {word(10 * table.MEETING_SLOWEST)} tenths of what was expected at the slowest",
    f"(its chance of coming off at least {planner.COMES_OFF:g})",
    f"count-in of whole bars ({word(takes.COUNT_IN_SECONDS)} seconds at least)",
    (
        f"whole passes for about {word(takes.PLAY_SECONDS)} seconds, {word(takes.GRADE_SECONDS)}"
        f" seconds to grade; a change of card costs {word(takes.CHANGE_SECONDS)} more"
    ),
    f"(fives from {takes.FIVES_FROM} up, twos below)",
    (
        f"a card that is being built at {100 * norm.cdf(takes.SUCCESS_SDS):.0f} %, one that stands"
        f" {takes.HELD_OCTAVES:g} octave or more over its goal at"
        f" {100 * norm.cdf(takes.HELD_SUCCESS_SDS):.0f} %"
    ),
    f"moved since, {word(MOST_LIFT)} of an octave at most",
]


@pytest.mark.parametrize("sentence", SENTENCES)
def test_what_was_decided_is_what_the_page_says(sentence: str) -> None:
    """Each sentence with a number of the plan stands on the page as the code has it."""
    assert sentence in PAGE
