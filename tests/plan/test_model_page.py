"""docs/model.md gives each number that was decided: the code's and the page's are the same."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from drillbox.memory import Parameters
from drillbox.memory.belief import CREDIT_REACH, RECENT_DAYS
from drillbox.memory.grade import Grade
from drillbox.plan import choose, climbing, prices, table, takes

PAGE = " ".join((Path(__file__).parents[2] / "docs" / "model.md").read_text("utf-8").split())
P = Parameters()
NUMBERS = {0.1: "a tenth", 0.25: "a quarter", 0.5: "half", 2: "two", 3: "three", 4: "four"}
NUMBERS |= {6: "six", 7: "week", 10: "ten", 30: "thirty"}


def word(number: float) -> str:
    """Return a number as the page writes it out."""
    return NUMBERS[number]


STARTING = [
    ("`lam`", f"{P.lam:g} octave"),
    ("`sigma`", f"{P.sigma:g} octave ({100 * (2**P.sigma - 1):.1f} %)"),
    ("`growth`", f"{P.growth}"),
    ("`gain`, `practice`", f"{P.gain:g} octave, {P.practice:g} takes"),
    ("`apart`, `joining`", f"{P.apart:g}, {P.joining:g}"),
    ("`fatigue`", f"{P.fatigue:g}"),
    ("`measured`", f"{P.measured:g} of the variance"),
    ("`boost`", f"{P.boost:g} octave"),
    ("first stability", f"{P.first_days:g} day, sd {P.first_days_sd:g} in ln"),
    ("first tempo", f"{P.first_bpm:g} bpm, sd {P.first_sd:g} octave"),
    (
        "`wild_share`, `wild_noise`, `wild_jump`",
        f"{P.wild_share:g}, {P.wild_noise:g}, {P.wild_jump:g} octave",
    ),
]


@pytest.mark.parametrize(("name", "value"), STARTING)
def test_the_starting_numbers_are_those_of_the_page(name: str, value: str) -> None:
    """Each row of the page's table has the number that the model starts from."""
    assert f"| {name} | {value} |" in PAGE


def test_every_starting_number_is_on_the_page_or_where_it_is_kept() -> None:
    """What the table leaves out is a number that the docstring of `Parameters` gives."""
    told = {name for row, _ in STARTING for name in row.replace("`", "").split(", ")}
    left = {field.name for field in fields(Parameters)} - told
    assert {
        "growth_doubt", "shrink", "edge", "warm_noise", "level_sd", "idle_var",
        "first_days", "first_days_sd", "first_bpm", "first_sd",
    } == left  # fmt: skip
    assert "leaves `shrink` of it" in PAGE
    assert f"({P.idle_var:.0e}".replace("e-04", "e-4") + " octave squared a day" in PAGE
    assert f"`v = {P.level_sd:g}^2`" in PAGE


SENTENCES = [
    (
        f"u = {1 - prices.SOFT_SHARE:g} * step(cold margin / {prices.STEP_WIDTH:g})"
        f" + {prices.SOFT_SHARE:g} * step(cold margin / {prices.SOFT_WIDTH:g})"
    ),
    f"A day counts 1/{1 / prices.DISCOUNT:g} less than the day before.",
    f"worth {word(climbing.CLIMB_WORTH)} of a card for each octave of cold tempo",
    (
        f"divided by 1 + {word(climbing.GRINDING)} of the takes of late"
        f" (each counts 1 when played, 1/e a {word(RECENT_DAYS)} later)"
    ),
    f"and count {table.FIRST_LOOK:g} times",
    f"every card below its goal once in {word(table.BUILDING_RETURN_DAYS)} practice days",
    f"At most {word(choose.NEW_OF_A_FAMILY)} look-alikes are begun in a plan",
    (
        f"is worth {word(table.APART_WORTH)} times a visit for each further take,"
        f" up to {word(choose.MEETING_TAKES)} a day"
    ),
    f"until they are within {word(choose.READY_OCTAVES)} of an octave of their goals",
    f"worth up to {word(table.MOST_URGENT)} times as much",
    f"count-in of whole bars ({word(takes.COUNT_IN_SECONDS)} seconds at least)",
    (
        f"whole passes for about {word(takes.PLAY_SECONDS)} seconds, {word(takes.GRADE_SECONDS)}"
        f" seconds to grade; a change of card costs {word(takes.CHANGE_SECONDS)} more"
    ),
    f"(fives from {takes.FIVES_FROM} up, twos below)",
    f"falls to nothing {word(CREDIT_REACH)} an octave under the peak",
    (
        f"A grade says where the metronome should go next:"
        f" {', '.join(f'{g.step_bpm:+d}' if g.step_bpm else '0' for g in Grade)} bpm"
    ),
]


@pytest.mark.parametrize("sentence", SENTENCES)
def test_what_was_decided_is_what_the_page_says(sentence: str) -> None:
    """Each sentence with a number of the plan stands on the page as the code has it."""
    assert sentence in PAGE
