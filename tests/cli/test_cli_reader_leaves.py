"""A reader that leaves early, as ``head`` does: no error, and nothing undone."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from contextlib import suppress
from typing import TYPE_CHECKING

import pytest

from drillbox.cli.main import run

if TYPE_CHECKING:
    from collections.abc import Callable

    from cli_kit import Player


class Left(io.RawIOBase):
    """A pipe whose reader has left."""

    def writable(self) -> bool:
        """Say that it takes bytes."""
        return True

    def write(self, _: object) -> int:
        """Refuse them as the system does."""
        raise BrokenPipeError(32, "Broken pipe")


PRINTS = (
    *("--help", "today --help", "today", "today --json", "card e", "cards", "why e", "decks"),
    *("export -", "set", "path", "vocabulary", "year", "ahead", "learn --report", "manual"),
    *("completion bash", "progress export --look", "sheet e"),
)


@pytest.fixture
def left(player: Player, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], int]:
    """Return a caller of commands into a pipe whose reader has left; it gives the exit code."""

    def call(words: str) -> int:
        with monkeypatch.context() as patch:
            out = io.TextIOWrapper(io.BufferedWriter(Left()), "utf-8")
            patch.setattr(sys, "stdout", out)
            code = run(["--box", str(player.path), *words.split()])
        with suppress(BrokenPipeError):
            out.close()
        return code

    return call


@pytest.mark.parametrize("words", PRINTS)
def test_no_command_fails_for_a_reader_that_left(
    left: Callable[[str], int], capsys: pytest.CaptureFixture[str], words: str
) -> None:
    """Its exit code is 0, and it says nothing of it."""
    assert 0 == left(words)
    assert "" == capsys.readouterr().err


def test_what_a_command_was_to_do_is_done_all_the_same(
    player: Player, left: Callable[[str], int]
) -> None:
    """A day of takes is saved to its last one, whoever stops reading after the first."""
    assert 0 == left("record e 64 steady, e 66 clean, e 70 clean --sure")
    with player.box() as box:
        assert [64.0, 66.0, 70.0] == sorted(take.bpm for take in box.archive.takes())


def test_a_real_pipe_whose_reader_left(player: Player) -> None:
    """The process itself ends with 0, and Python adds no word at its end."""
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "drillbox", "--box", str(player.path), "cards"]
    done = subprocess.run(command, stdout=writing, stderr=subprocess.PIPE, check=False)
    os.close(writing)
    assert (0, b"") == (done.returncode, done.stderr)
