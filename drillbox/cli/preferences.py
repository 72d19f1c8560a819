"""The command that lists and changes the settings: set.

What a setting may be is what the app's own setup offers; a test holds the two together.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

import click

from drillbox.app.accompaniment import BACKINGS, CLICKS
from drillbox.base.now import LATEST_DAY_END
from drillbox.cli.completions import setting_names
from drillbox.cli.output import json_option, say, say_json, say_table
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    Value = int | str | bool

LONGEST_TEXT = 200
SWITCH = {"on": True, "off": False}


@dataclass(frozen=True, slots=True)
class Words:
    """A setting that is one of some words.

    In no particular case, and none of them where any text will do.
    """

    about: str
    allowed: Sequence[str] = ()

    def read(self, text: str) -> Value:
        """Return the setting that a text means."""
        if not self.allowed and text.isprintable() and len(text) <= LONGEST_TEXT:
            return text
        meant = [word for word in self.allowed if word.casefold() == text.strip().casefold()]
        if not meant:
            raise ValueError(f"one of: {', '.join(self.allowed)}" if self.allowed else "one line")
        return meant[0]


@dataclass(frozen=True, slots=True)
class Switch:
    """A setting that is on or off."""

    about: str

    def read(self, text: str) -> Value:
        """Return the setting that a text means."""
        try:
            return SWITCH[text.strip().casefold()]
        except KeyError:
            raise ValueError("on or off") from None


@dataclass(frozen=True, slots=True)
class Whole:
    """A setting that is a whole number in a range."""

    about: str
    least: int
    most: int

    def read(self, text: str) -> Value:
        """Return the setting that a text means."""
        try:
            number = int(text)
        except ValueError:
            number = self.most + 1
        if not self.least <= number <= self.most:
            raise ValueError(f"a whole number from {self.least} to {self.most}")
        return number


KINDS: dict[str, Words | Switch | Whole] = {
    "minutes": Whole("minutes a day", 5, 60),
    "days": Words("practice days: every day, names of days, or a rule"),
    "holidays": Words("days off, as 2026-12-24..2027-01-02"),
    "day_ends_at": Whole("the hour at which a practice day ends", 0, LATEST_DAY_END),
    "leading": Words("leading hand", ("R", "L")),
    "click": Words("click at the stand", CLICKS),
    "backing": Words("what plays along", BACKINGS),
    "hands_free": Switch("the day runs itself"),
    "new_cards": Whole("new cards a day at most; 99 is no limit", 0, 99),
    "kit_db": Whole("level of the kit, dB", -24, 12),
    "click_db": Whole("level of the click, dB", -24, 12),
    "ghosts_db": Whole("level of ghost notes, dB", -24, 12),
    "output": Words("sound device; empty is the system's"),
    "latency_ms": Whole("the sound comes late by, ms", 0, 500),
}


@click.command("set", context_settings={"ignore_unknown_options": True})
@click.argument("name", required=False, shell_complete=setting_names)
@click.argument("value", required=False)
@json_option
@click.pass_obj
def set_command(box_path: str | None, name: str | None, value: str | None, as_json: bool) -> None:
    r"""List the settings, show the one of that NAME, or change it to VALUE.

    \b
    Examples:
      drillbox set
      drillbox set minutes 20
      drillbox set click "two and four"
      drillbox set hands-free on
      drillbox set ghosts-db -6
    """
    key = None if name is None else _key(name)
    with open_box(box_path, only_reads=value is None) as box:
        if key is not None and value is not None:
            box.change_settings(at=clock().now(), **{key: _meant(key, value)})
        values = asdict(box.settings)
        shown = values if key is None else {key: values[key]}
        if as_json:
            say_json(shown)
        elif key is None:
            rows = [
                (_name(k), _text(v), KINDS[k].about if k in KINDS else "") for k, v in shown.items()
            ]
            say_table(("setting", "value", ""), rows)
        else:
            say(_text(shown[key]))


def _key(name: str) -> str:
    key = name.strip().casefold().replace("-", "_")
    if key not in KINDS:
        raise UsageError(
            f"no setting {name!r}", fix=f"use one of: {', '.join(_name(key) for key in KINDS)}"
        )
    return key


def _meant(key: str, text: str) -> Value:
    try:
        return KINDS[key].read(text)
    except ValueError as problem:
        raise UsageError(f"{_name(key)} cannot be {text!r}", fix=f"give {problem}") from None


def _name(key: str) -> str:
    return key.replace("_", "-")


def _text(value: Value) -> str:
    if isinstance(value, bool):
        return "on" if value else "off"
    return str(value)
