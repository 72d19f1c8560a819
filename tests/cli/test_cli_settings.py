"""Settings at the command line: listed, shown, changed, and refused with what would do."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING

import pytest

from drillbox.box.setting_kinds import KINDS, fits
from drillbox.box.settings import Settings

if TYPE_CHECKING:
    from cli_kit import Say


def test_every_setting_has_its_kind_and_every_default_fits() -> None:
    """The table of kinds names the settings that there are, no more and no fewer."""
    assert set(asdict(Settings())) == set(KINDS)
    assert all(fits(name, value) for name, value in asdict(Settings()).items())


@pytest.mark.parametrize(
    ("name", "value", "stored"),
    [
        ("minutes", "20", 20),
        ("leading", "l", "L"),
        ("click", "Two and Four", "two and four"),
        ("backing", "kit alone", "kit alone"),
        ("hands-free", "on", True),
        ("ghosts_db", "-6", -6),
        ("holidays", "2026-12-24..2027-01-02", "2026-12-24..2027-01-02"),
        ("output", "Loudspeakers (USB)", "Loudspeakers (USB)"),
        ("latency-ms", "180", 180),
    ],
)
def test_a_setting_is_changed_shown_and_stays(
    say: Say, name: str, value: str, stored: object
) -> None:
    """Dashes or underscores, capitals or not; the next command, and any program, sees it."""
    assert 0 == say("set", name, value)[0]
    key = name.replace("-", "_")

    assert {key: stored} == json.loads(say("set", name, "--json")[1])
    everything = asdict(Settings()) | {key: stored}
    assert everything == json.loads(say("set", "--json")[1])


def test_the_list_has_a_line_for_each_setting(say: Say) -> None:
    """Name, value, what it is."""
    lines = say("set")[1].splitlines()

    assert len(KINDS) + 1 == len(lines)
    assert ["minutes", "15", "minutes", "a", "day"] == lines[1].split()
    assert "off\n" == say("set", "hands-free")[1]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("minutes", "500"), "minutes cannot be '500'; give a whole number from 5 to 60."),
        (("minutes", "many"), "give a whole number from 5 to 60."),
        (("leading", "both"), "leading cannot be 'both'; give one of: R, L."),
        (("click", "cow"), "give one of: card's grid, pulse"),
        (("hands-free", "perhaps"), "give on or off."),
        (("tempo",), "no setting 'tempo'; use one of: minutes, days, holidays"),
        (("days", "now and then"), "'now and then' names no practice days"),
        (("output", "two\nlines"), "give one line of at most 200 characters."),
    ],
)
def test_what_cannot_be_set_is_refused_with_what_can(
    say: Say, words: tuple[str, ...], sentence: str
) -> None:
    """One sentence, exit code 2, and the settings are as they were."""
    code, out, err = say("set", *words)

    assert (2, "") == (code, out)
    assert sentence in err
    assert asdict(Settings()) == json.loads(say("set", "--json")[1])
