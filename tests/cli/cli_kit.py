"""A player at a command line whose clock stands still: commands run in this process."""

from __future__ import annotations

import io
import json
import os
import shutil
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from conftest import MORNING

from drillbox.base.clock import ManualClock, SystemClock
from drillbox.box import Box
from drillbox.cli.main import run

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


class Said(NamedTuple):
    """What a command said: exit code, standard output, standard error."""

    code: int
    out: str
    err: str


Say = Callable[..., Said]
"""Runs a command, and returns what it said."""


def say_on(path: Path, captured: pytest.CaptureFixture[str]) -> Say:
    """Return a caller of commands on a box."""

    def say(*words: str) -> Said:
        code = run(["--box", str(path), *words])
        return Said(code, *captured.readouterr())

    return say


class Typed(io.StringIO):
    """Standard input at which somebody sits and types."""

    def isatty(self) -> bool:
        """Say that it is a terminal."""
        return True


class Player:
    """One box, and commands on it; it is nine in the morning of Monday 2 March 2026."""

    def __init__(
        self, path: Path, capsys: pytest.CaptureFixture[str], patch: pytest.MonkeyPatch
    ) -> None:
        self.path, self.clock, self._say = path, ManualClock(MORNING), say_on(path, capsys)
        self._capsys, self._patch = capsys, patch
        patch.setattr(SystemClock, "now", lambda _: self.clock.now())

    @classmethod
    def on(cls, other: Player, path: Path) -> Player:
        """Return a player of the same day on another box."""
        one = cls(path, other._capsys, other._patch)
        one.clock = other.clock
        other._patch.setattr(SystemClock, "now", lambda _: other.clock.now())
        return one

    def __call__(self, *words: str) -> Said:
        """Run a command on the box."""
        return self._say(*words)

    def values(self, *words: str) -> Any:
        """Return what a command prints for programs."""
        return json.loads(self(*words, "--json").out)

    def box(self) -> Box:
        """Open the box."""
        return Box.open(self.path, clock=self.clock)

    def types(self, text: str) -> None:
        """Sit at a terminal and type: what is asked is answered so."""
        self._patch.setattr(sys, "stdin", Typed(text))

    def looks(self, *, columns: int = 80, lines: int = 24) -> None:
        """Look at a terminal of a size from now on, on both streams."""
        size = os.terminal_size((columns, lines))
        self._patch.setattr(shutil, "get_terminal_size", lambda: size)
        for stream in (sys.stdout, sys.stderr):
            self._patch.setattr(stream, "isatty", lambda: True)


def midi(player: Player, name: str = "take.mid") -> Path:
    """Write the card ``e`` as a MIDI file, played eight times at its goal of 90."""
    path = player.path.with_name(name)
    assert 0 == player("sheet", "e", "-o", str(path), "--passes", "8").code
    return path
