"""docs/model.md gives each number that the memory starts from: the code's and the page's agree."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from drillbox.memory import Grade, Parameters
from drillbox.memory.belief import CREDIT_REACH

PAGE = " ".join((Path(__file__).parents[2] / "docs" / "model.md").read_text("utf-8").split())
P = Parameters()

STARTING = [
    ("`lam`", f"{P.lam:g} octave"),
    ("`sigma`", f"{P.sigma:g} octave ({100 * (2**P.sigma - 1):.1f} %)"),
    ("`growth`", f"{P.growth}"),
    ("`gain`, `practice`", f"{P.gain:g} octave, {P.practice:g} takes"),
    ("`apart`, `joining`", f"{P.apart:g}, {P.joining:g}"),
    ("`fatigue`", f"{P.fatigue:g}"),
    ("`shrink`, `growth_doubt`", f"{P.shrink:g}, {P.growth_doubt:g}"),
    ("`edge`", f"{P.edge:g} octave"),
    ("`warm_noise`", f"{P.warm_noise:g} octave"),
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


def test_every_starting_number_is_on_the_page() -> None:
    """What the table leaves out stands in a sentence."""
    told = {name for row, _ in STARTING for name in row.replace("`", "").split(", ")}
    told |= {"first_days", "first_days_sd", "first_bpm", "first_sd"}
    assert {"level_sd", "idle_var"} == {field.name for field in fields(Parameters)} - told
    assert f"({P.idle_var:.0e}".replace("e-04", "e-4") + " octave squared a day" in PAGE
    assert f"`v = {P.level_sd:g}^2`" in PAGE


def test_how_grades_are_read_is_on_the_page() -> None:
    """The five moves of the metronome, and how far under the peak a take still proves anything."""
    moves = ", ".join(f"{g.step_bpm:+d}" if g.step_bpm else "0" for g in Grade)
    assert f"A grade says where the metronome should go next: {moves} bpm" in PAGE
    assert CREDIT_REACH == 0.5
    assert "falls to nothing half an octave under the peak" in PAGE
