"""The command that prints the manual page, made of what ``--help`` says."""

from __future__ import annotations

from inspect import cleandoc
from typing import TYPE_CHECKING

import click

from drillbox import __version__
from drillbox.cli.output import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

SECTION = "1"
_FILES = (
    ("DRILLBOX_BOX", "The box that is used where --box names none."),
    ("NO_COLOR", "Greys in the place of colours."),
)


@click.command("manual")
def manual_command() -> None:
    """Print the manual page, for 'man'.

    For example:
      drillbox manual > ~/.local/share/man/man1/drillbox.1
      drillbox manual | man -l -
    """
    from drillbox.cli.main import drillbox

    say("\n".join(page(drillbox)))


def page(root: click.Group) -> Iterator[str]:
    """Give the lines of the manual page, as the man macros have them."""
    from drillbox.cli.command_table import COMMANDS

    context = click.Context(root, info_name="drillbox")
    yield f'.TH DRILLBOX {SECTION} "" "drillbox {__version__}" "User Commands"'
    yield ".SH NAME"
    yield _text(f"drillbox - {cleandoc(root.help or '').splitlines()[0].rstrip('.').lower()}")
    yield ".SH SYNOPSIS"
    yield _text("drillbox [OPTIONS] [COMMAND] [ARGUMENTS]")
    yield ".SH DESCRIPTION"
    yield from _paragraphs(root.help)
    yield ".SH OPTIONS"
    yield from _options(root, context)
    for title, commands in COMMANDS.items():
        yield f'.SH "{title.upper()}"'
        for name in commands:
            command = root.get_command(context, name)
            if command is not None:
                yield from _command(command, ("drillbox", name), context)
    yield ".SH ENVIRONMENT"
    yield from _described(_FILES)


def _command(command: click.Command, words: tuple[str, ...], above: click.Context) -> Iterator[str]:
    context = click.Context(command, info_name=words[-1], parent=above)
    usage = " ".join(command.collect_usage_pieces(context))
    yield f'.SS "{_text(" ".join(words))} {_text(usage)}"'
    yield from _paragraphs(command.help)
    yield from _options(command, context)
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            under = command.get_command(context, name)
            if under is not None:
                yield from _command(under, (*words, name), context)


def _options(command: click.Command, context: click.Context) -> Iterator[str]:
    records = (parameter.get_help_record(context) for parameter in command.get_params(context))
    yield from _described(record for record in records if record is not None and record[1])


def _described(pairs: Iterable[tuple[str, str]]) -> Iterator[str]:
    for name, meaning in pairs:
        yield ".TP"
        yield f".B {_text(name)}"
        yield _text(" ".join(meaning.split()))


def _paragraphs(text: str | None) -> Iterator[str]:
    """Give the paragraphs of a help text; examples stand line by line."""
    from drillbox.cli.help_text import EXAMPLES

    for paragraph in cleandoc((text or "").replace("\b\n", "")).split("\n\n"):
        yield ".PP"
        if paragraph.startswith(EXAMPLES):
            yield _text(EXAMPLES)
            yield ".nf"
            yield from (f"    {_text(line.strip())}" for line in paragraph.splitlines()[1:])
            yield ".fi"
        else:
            yield from (_text(line) for line in paragraph.splitlines())


def _text(line: str) -> str:
    """Return a line as text: hyphens as typed, quotes of no meaning, and no macro at its start."""
    plain = (
        line.replace("\\", "\\e").replace("-", "\\-").replace('"', "\\(dq").replace("~", "\\(ti")
    )
    return f"\\&{plain}" if plain.startswith((".", "'")) else plain
