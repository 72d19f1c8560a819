"""Standard error and exit codes: the one place that writes the first and decides the second."""

from __future__ import annotations

import re
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drillbox.cli.streams import ReaderLeftError, let_output_go, wrapped
from drillbox.errors import DrillboxError, OutputError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_INTERRUPTED = 130
_USAGE = 2
_OWN_ERROR = 1
_LOST_BYTE = re.compile(r"[\udc80-\udcff]|(?<!\\)\\udc[89a-f][0-9a-f]")
"""A byte that is no text, as Python holds it and as it quotes it."""
_NO_NAME = re.compile(r"([^\s/]{60})[^\s/]{240,}")
"""What was typed and no file can be called: no part of a path has more than 255 signs."""
_SAID = (
    (re.compile(r"is not in the range (\S+?)<=x<=(\S+)"), r"is not from \1 to \2"),
    (re.compile(r"is not a valid integer( range)?"), "is no whole number"),
    (re.compile(r"is not a valid float( range)?"), "is no number"),
    (re.compile(r"^Invalid value for '(\S+)': "), r"\1: "),
)
"""What click says of a wrong value, and what is said in its place."""


def narrate(sentence: str) -> None:
    """Write one line for the person, off the data stream."""
    shown = _NO_NAME.sub(r"\1...", _LOST_BYTE.sub("\ufffd", sentence))
    # Where nobody can be told, the exit code still says it.
    with suppress(OSError):
        click.echo(wrapped(shown, sys.stderr), file=sys.stderr)


class LeftOut:
    """Files of several that are refused: each is named, and the others go on without it.

    Attributes
    ----------
    exit_code
        That of the first refusal, for a script to see; 0 where nothing was left out.
    """

    def __init__(self) -> None:
        self.exit_code = 0

    def tell(self, refusal: DrillboxError) -> None:
        """Name a file that is left out, and say why."""
        narrate(f"drillbox: left out: {refusal.sentence()}")
        self.exit_code = self.exit_code or refusal.exit_code

    @contextmanager
    def goes_on(self, *, alone: bool, ends: tuple[type[DrillboxError], ...] = ()) -> Iterator[None]:
        """Go on after a file that is refused, unless it is `alone`.

        What the refusals of `ends` say is not the file's fault, and would be so for all others.
        """
        try:
            yield
        except DrillboxError as refusal:
            if alone or isinstance(refusal, ends):
                raise
            self.tell(refusal)


def guarded(command: Callable[[], int | None]) -> int:
    """Run a command and turn whatever ends it into one sentence and an exit code."""
    try:
        code = command() or 0
        sys.stdout.flush()
    except DrillboxError as error:
        narrate(f"drillbox: {error.sentence()}")
        return error.exit_code
    except click.ClickException as error:
        narrate(f"drillbox: {_plain(error)}")
        return _USAGE
    except (click.Abort, KeyboardInterrupt):
        narrate("drillbox: stopped; every take graded so far is kept.")
        return _INTERRUPTED
    except (ReaderLeftError, BrokenPipeError):
        let_output_go()
        return 0
    except Exception as error:  # noqa: BLE001 - the last place before a traceback
        return _unforeseen(error)
    return code


def tell_of_crash(details: bytes) -> None:
    """Leave a report of an error of drillbox's own in the data folder, and say where it is."""
    from drillbox.cli.crash import write_report

    report = write_report(details)
    place = f"; please send {report} to the maintainers" if report else ""
    narrate(f"drillbox stopped on an error of its own; every take it called saved is saved{place}.")


def _unforeseen(error: Exception) -> int:
    """Say what the system refused, a file by its name; or what is our own fault."""
    if not isinstance(error, OSError):
        import traceback

        details = "".join(traceback.format_exception(error))
        tell_of_crash(details.encode("utf-8", "backslashreplace"))
        return _OWN_ERROR
    what = error.strerror or str(error)
    if _has_no_folder():
        narrate("drillbox: the folder you are in is gone; go to another one with cd.")
        return DrillboxError.exit_code
    if error.filename is not None:
        narrate(f"drillbox: {error.filename}: {what}.")
        return DrillboxError.exit_code
    let_output_go()
    problem = OutputError(
        f"the output was not written: {what}",
        where="standard output",
        fix="all that was to be saved is saved; only what was printed is lost",
    )
    narrate(f"drillbox: {problem.sentence()}")
    return problem.exit_code


def _has_no_folder() -> bool:
    """Return whether the folder that the command runs in was removed."""
    try:
        Path.cwd()
    except FileNotFoundError:
        return True
    return False


def _plain(error: click.ClickException) -> str:
    message = error.format_message().rstrip(".")
    for theirs, ours in _SAID:
        message = theirs.sub(ours, message)
    context = getattr(error, "ctx", None)
    asks = message.endswith("?")
    if context is None:
        return message if asks else f"{message}."
    return f"{message}{' See' if asks else '; see'} '{context.command_path} --help'."
