"""Every way drillbox can say no.

Each class has one reason. Each instance knows the whole sentence a user sees: what is wrong, where,
and what to do about it, and the exit code of a command that ends with it. No traceback reaches a
user.

::

    DrillboxError                   1
    ├── UsageError                  2   an argument that cannot be meant
    ├── NotationError               3   a pattern that cannot be read (line, column)
    ├── DeckError                   4   a deck file that cannot be used (file, line, column)
    ├── LogError                    4   a take-log file that cannot be read (file, line)
    ├── ProgressError               4   a progress file that cannot be read (file, line)
    ├── ExchangeError               4   a MusicXML or MIDI file that cannot be read (file)
    ├── RecordingError              4   a recording that cannot be measured (file)
    ├── ReplyError                  4   a teacher's reply that cannot be read, or is for another
    ├── UnknownCardError            5   no such card, deck or take in the box
    ├── BoxError                    6   the box file cannot be opened or used
    │   ├── BoxDamagedError         6   the file is damaged; a backup may be offered
    │   ├── BoxForeignError         6   no box, another program's file, a newer drillbox's
    │   └── NotSavedError           7   the disk said no; what was to be saved is kept by the caller
    │       └── BoxMovedError       7   another file is in the place of the one that is open
    ├── MissingExtraError           8   an optional library is not installed
    ├── SoundError                  9   no usable sound device
    └── OutputError                10   what a command prints could not be written
"""

from __future__ import annotations


class DrillboxError(Exception):
    """The root of all of them.

    Parameters
    ----------
    what
        One clause that says what is wrong, without a final stop.
    where
        The place: ``file:line:column``, a path, an argument's name; empty where there is none.
    fix
        One clause that says what to do; empty only where nothing can be done.
    """

    exit_code = 1

    def __init__(self, what: str, *, where: str = "", fix: str = "") -> None:
        self.what = what
        self.where = where
        self.fix = fix
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """Return the line a user reads: ``where: what; fix.``, or with a question at its end."""
        place = f"{self.where}: " if self.where else ""
        remedy = f"; {self.fix}" if self.fix else ""
        return f"{place}{self.what}{remedy}{'' if remedy.endswith('?') else '.'}"


class UsageError(DrillboxError):
    """An argument that cannot be meant."""

    exit_code = 2


class NotationError(DrillboxError):
    """A pattern in the spoken notation that cannot be read.

    Parameters
    ----------
    what, fix
        As in `DrillboxError`.
    line, column
        One-based place in the text that was read.
    """

    exit_code = 3

    def __init__(self, what: str, *, line: int, column: int, fix: str = "") -> None:
        self.line = line
        self.column = column
        super().__init__(what, where=f"line {line}, column {column}", fix=fix)


class DeckError(DrillboxError):
    """A deck file that cannot be used; nothing of it was taken in."""

    exit_code = 4


class LogError(DrillboxError):
    """A take-log file that cannot be read; nothing of it was taken in."""

    exit_code = 4


class ProgressError(DrillboxError):
    """A student's progress file that cannot be read; nothing of it was taken in."""

    exit_code = 4


class ExchangeError(DrillboxError):
    """A file of another program, MusicXML or MIDI, that cannot be read; nothing of it was taken."""

    exit_code = 4


class RecordingError(DrillboxError):
    """A recording of a take that cannot be read or measured."""

    exit_code = 4


class ReplyError(DrillboxError):
    """A teacher's reply that cannot be read or is for another student; nothing was taken in."""

    exit_code = 4


class UnknownCardError(DrillboxError):
    """No such card, deck or take in the box."""

    exit_code = 5


class BoxError(DrillboxError):
    """The box file cannot be opened or used."""

    exit_code = 6


class BoxDamagedError(BoxError):
    """The box file is damaged; it is never overwritten."""


class BoxForeignError(BoxError):
    """The file is no box, belongs to another program, or to a newer drillbox."""


class NotSavedError(BoxError):
    """The disk said no: the caller still holds what was to be saved and may try again."""

    exit_code = 7


class BoxMovedError(NotSavedError):
    """Another file is in the place of the one that is open: only opening anew can save to it."""


class MissingExtraError(DrillboxError):
    """An optional library is not installed."""

    exit_code = 8


class SoundError(DrillboxError):
    """No usable sound device."""

    exit_code = 9


class OutputError(DrillboxError):
    """What a command prints could not be written; whatever it was to do is done."""

    exit_code = 10
