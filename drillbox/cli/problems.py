"""Standard error and exit codes: the one place that writes the first and decides the second."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

import click

from drillbox.errors import DrillboxError

if TYPE_CHECKING:
    from collections.abc import Callable

_INTERRUPTED = 130
_USAGE = 2


def narrate(sentence: str) -> None:
    """Write one line for the person, off the data stream."""
    click.echo(sentence, file=sys.stderr)


def guarded(command: Callable[[], int | None]) -> int:
    """Run a command and turn whatever ends it into one sentence and an exit code."""
    try:
        return command() or 0
    except DrillboxError as error:
        narrate(f"drillbox: {error.sentence()}")
        return error.exit_code
    except click.ClickException as error:
        narrate(f"drillbox: {_plain(error)}")
        return _USAGE
    except (click.Abort, KeyboardInterrupt):
        narrate("drillbox: stopped; every take graded so far is kept.")
        return _INTERRUPTED
    except BrokenPipeError:
        # The reader of a pipe has left; point the stream at nothing so that Python's own flush at
        # exit is quiet.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _plain(error: click.ClickException) -> str:
    message = error.format_message().rstrip(".")
    context = getattr(error, "ctx", None)
    if context is None:
        return f"{message}."
    return f"{message}; see '{context.command_path} --help'."
