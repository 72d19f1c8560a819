"""The command that lists and changes the settings: set.

What a setting may be stands in `drillbox.box.setting_kinds`.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from drillbox.box.setting_kinds import KINDS
from drillbox.cli.completions import setting_names
from drillbox.cli.output import json_option, say, say_json, say_table
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from drillbox.box.setting_kinds import Value


@click.command("set", context_settings={"ignore_unknown_options": True})
@click.argument("name", required=False, shell_complete=setting_names)
@click.argument("value", required=False)
@json_option
@click.pass_obj
def set_command(box_path: str | None, name: str | None, value: str | None, as_json: bool) -> None:
    """List the settings, show the one of that NAME, or change it to VALUE.

    For example:
      drillbox set
      drillbox set minutes 20
      drillbox set click "two and four"
      drillbox set hands-free on
      drillbox set ghosts-db -6
    """
    key = None if name is None else _key(name)
    changes = {} if key is None or value is None else {key: _meant(key, value)}
    with open_box(box_path, only_reads=not changes, needs=("setting",)) as box:
        if changes:
            box.change_settings(at=clock().now(), **changes)
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
