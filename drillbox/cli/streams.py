"""What standard output can carry: any text on any terminal, and long texts page by page.

A terminal or pipe that cannot encode a sign gets the nearest one it can: a plain hyphen for a dash,
a letter without its accent. It never gets a traceback.
"""

from __future__ import annotations

import codecs
import io
import os
import sys
from contextlib import contextmanager, suppress
from textwrap import fill
from typing import TYPE_CHECKING, TextIO
from unicodedata import normalize

import click

if TYPE_CHECKING:
    from collections.abc import Iterator

_HANDLER = "drillbox.nearest"
_NEAREST = {
    **dict.fromkeys("–—−‐‑", "-"),
    **dict.fromkeys("•∙●◆■█▇▆▅", "*"),
    **dict.fromkeys("·○◇□▄▃▂▁░▒▓", "."),
    **dict.fromkeys("‘’", "'"),
    **dict.fromkeys("“”„", '"'),
    **dict.fromkeys("│┃|", "|"),
    **dict.fromkeys("─━┄", "-"),
    **dict.fromkeys("┌┐└┘├┤┬┴┼╭╮╰╯", "+"),
    "×": "x",
    "…": "...",
    "→": "->",
    "←": "<-",
    "≥": ">=",
    "≤": "<=",
    "±": "+-",
    "ß": "ss",
}


def open_missing() -> None:
    """Give a program that was started with closed streams something to hold on to.

    Else the next file it opens would get the number of the closed stream, and be written to by
    whatever prints. Input is then empty and errors are lost, as was asked for; what is printed is
    refused when it is written, so that nobody takes lost output for done.
    """
    for number, mode in ((0, os.O_RDONLY), (1, os.O_RDONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, mode)  # the lowest free number, which is this one
    sys.stdin = sys.stdin or open(0, closefd=False)  # noqa: SIM115 - for the process's life
    if sys.stdout is None:
        raw = io.FileIO(1, "w", closefd=False)
        sys.stdout = io.TextIOWrapper(io.BufferedWriter(raw), encoding="utf-8")
    sys.stderr = sys.stderr or open(2, "w", closefd=False)  # noqa: SIM115 - as above


class ReaderLeftError(Exception):
    """Whoever read what a command prints has left, as ``head`` does, and has what it wanted."""


@contextmanager
def reader_may_leave() -> Iterator[None]:
    """Let a reader that leaves pass click, which would make an error of it."""
    try:
        yield
    except BrokenPipeError as left:
        raise ReaderLeftError from left


def let_output_go() -> None:
    """Point standard output at nothing, so that what is still printed is quiet."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def carry_any_text() -> None:
    """Let standard output and error put the nearest sign in the place of one they cannot encode."""
    codecs.register_error(_HANDLER, _nearest)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_HANDLER)


def _nearest(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    signs = error.object[error.start : error.end]
    return "".join(_one(sign, error.encoding) for sign in signs), error.end


def _one(sign: str, encoding: str) -> str:
    bare = "".join(part for part in normalize("NFKD", sign) if part.isascii())
    for nearest in (_NEAREST.get(sign, ""), bare):
        with suppress(UnicodeEncodeError):
            if nearest:
                nearest.encode(encoding)
                return nearest
    return "?"


def wrapped(text: str, stream: TextIO) -> str:
    """Return a text as a terminal shows it best: sentences end their lines between words.

    A pipe gets what there is, and so does a line of columns, which two blanks in a row tell.
    """
    if not stream.isatty():
        return text
    encoding = stream.encoding or "utf-8"
    carried = text.encode(encoding, _HANDLER if _known() else "replace").decode(encoding)
    import shutil

    return broken(carried, shutil.get_terminal_size().columns)


def broken(text: str, width: int) -> str:
    """Return a text whose sentences end their lines at a width, between words; columns stay."""
    return "\n".join(_line(line, width) for line in text.split("\n"))


def _line(line: str, width: int) -> str:
    words = line.lstrip(" ")
    if len(line) <= width or "  " in words:
        return line
    indent = line[: len(line) - len(words)]
    return fill(
        words,
        width,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _known() -> bool:
    """Whether `carry_any_text` was called in this process."""
    with suppress(LookupError):
        return codecs.lookup_error(_HANDLER) is _nearest
    return False


class _Page(io.TextIOWrapper):
    """What is kept to be shown page by page on a terminal, and as wide as one."""

    def isatty(self) -> bool:
        """Say that it goes to a terminal."""
        return True


@contextmanager
def paged() -> Iterator[None]:
    """Show what is said within page by page, if it goes to a terminal and is longer than that."""
    if not sys.stdout.isatty():
        yield
        return
    shown, kept = sys.stdout, io.BytesIO()
    encoding = shown.encoding or "utf-8"
    page = _Page(kept, encoding=encoding, errors=shown.errors, newline="")
    sys.stdout = page
    try:
        yield
    finally:
        page.flush()
        sys.stdout = shown
        text = kept.getvalue().decode(encoding)
        import shutil

        if len(text.splitlines()) < shutil.get_terminal_size().lines:
            click.echo(text, nl=False, file=sys.stdout)
        else:
            click.echo_via_pager(text.removesuffix("\n"))
