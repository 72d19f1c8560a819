"""What ``--help`` prints: paragraphs as wide as the terminal, examples line by line as they stand.

A command's help is its docstring. A paragraph that begins with ``For example:`` is kept as it is
written; click is told so by a backspace character in front of it.
"""

from __future__ import annotations

from inspect import cleandoc

import click

EXAMPLES = "For example:"
_AS_WRITTEN = "\b\n"


def keep_examples(command: click.Command) -> click.Command:
    """Return a command whose help, and that of the commands under it, keeps its examples."""
    if command.help:
        paragraphs = cleandoc(command.help).split("\n\n")
        command.help = "\n\n".join(
            f"{_AS_WRITTEN}{text}" if text.startswith(EXAMPLES) else text for text in paragraphs
        )
    if isinstance(command, click.Group):
        for under in command.commands.values():
            keep_examples(under)
    return command
