"""The real command where its surroundings are broken: streams, devices, names, folders, zones.

Most stories are one child process each; their laws are one sentence, the right code, no
traceback, and nothing left behind.
"""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from file_rights import with_mode

import drillbox
from drillbox.base.files import write_private
from drillbox.cli.crash import data_folder
from drillbox.cli.main import run
from drillbox.cli.problems import guarded

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.skipif(os.name == "nt", reason="these are POSIX surroundings")
ROOT = Path(drillbox.__file__).parent.parent
FULL = Path("/dev/full")


@pytest.fixture
def place(small_box: Path) -> Path:
    """Return a box with a deck."""
    return small_box


def shell(line: str, place: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a line of shell in which ``drillbox`` is the real command on that box."""
    program = f'drillbox() {{ "{sys.executable}" -m drillbox --box "{place}" "$@"; }}; '
    return subprocess.run(
        ["/bin/sh", "-c", program + line],
        capture_output=True,
        text=True,
        timeout=60,
        cwd=place.parent,
        env=os.environ | {"PYTHONPATH": str(ROOT)} | more,
        check=False,
    )


@pytest.fixture
def at_home(
    place: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> Callable[[str], subprocess.CompletedProcess[str]]:
    """Return what runs a command line in this process, beside that box, as a shell would tell it.

    For surroundings that cannot keep a command waiting: starting Python costs more than they do.
    """

    def told(words: str) -> subprocess.CompletedProcess[str]:
        monkeypatch.chdir(place.parent)
        code = run(["--box", str(place), *words.split()])
        out, err = capfd.readouterr()
        return subprocess.CompletedProcess(words, code, out, err)

    return told


def one_sentence(done: subprocess.CompletedProcess[str]) -> str:
    """Return the one line on standard error."""
    assert "Traceback" not in done.stderr
    (line,) = done.stderr.splitlines()
    assert line.startswith("drillbox: ")
    return line


@pytest.mark.skipif(not FULL.exists(), reason="there is no full device here")
@pytest.mark.parametrize("words", ["today", "cards --json", "export -", "--help", "set"])
def test_a_full_device_is_said(words: str, place: Path) -> None:
    """What was printed is lost, so the code is not 0."""
    done = shell(f"drillbox {words} > /dev/full", place)

    assert 10 == done.returncode
    assert "the output was not written: No space left on device" in one_sentence(done)


def test_output_nobody_can_have_is_said(place: Path) -> None:
    """With standard output closed a command that prints fails, and prints into no file."""
    done = shell("drillbox today >&-", place)

    assert 10 == done.returncode
    assert "the output was not written: Bad file descriptor" in one_sentence(done)


def test_a_take_is_recorded_without_any_stream(place: Path) -> None:
    """Input, output and errors closed: the take is saved, and the box file is not written into."""
    closed = shell("drillbox record e 80 clean <&- >&- 2>&-", place)
    takes = shell("drillbox export - 2>&-", place)

    assert 10 == closed.returncode
    assert 0 == takes.returncode
    assert 1 == takes.stdout.count('"kind": "take"')
    assert "" == takes.stderr


def test_closed_errors_keep_the_code(place: Path) -> None:
    """Where no sentence can be told the code still tells."""
    assert 5 == shell("drillbox card nope 2>&-", place).returncode
    assert 4 == shell("drillbox import - <&-", place).returncode


def test_a_reader_that_leaves_is_no_fault(place: Path) -> None:
    """As in ``export - | head``."""
    done = shell("drillbox cards | head -n 1", place)

    assert (0, "") == (done.returncode, done.stderr)


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("import pipe", 4),
        ("merge pipe", 4),
        ("decks add ./pipe", 4),
        ("decks check pipe.toml", 4),
        ("studio pipe", 4),
        ("export pipe", 7),
        ("progress export pipe", 7),
        ("restore pipe --yes", 6),
        ("--box pipe today", 6),
        ("--box pipe record e 80 clean", 6),
    ],
)
def test_a_pipe_keeps_nobody_waiting(words: str, code: int, place: Path) -> None:
    """A named pipe that nobody writes to is refused at once, and is still there after."""
    for name in ("pipe", "pipe.toml"):
        os.mkfifo(place.with_name(name))
    done = shell(f"drillbox {words}", place)

    assert code == done.returncode, done.stderr
    assert "plain file" in one_sentence(done)
    assert stat.S_ISFIFO(place.with_name("pipe").stat().st_mode)


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("import {}", 4),
        ("merge {}", 4),
        ("decks add {}", 4),
        ("decks check {}.toml", 4),
        ("studio {}", 4),
        ("export {}", 7),
        ("progress export {}", 7),
        ("decks new {}.toml", 7),
        ("restore {} --yes", 6),
        ("--box {} today", 6),
        ("--box {} record e 80 clean", 6),
        ("--box {} checkup", 6),
    ],
)
def test_a_name_of_three_hundred_letters_is_one_sentence(
    words: str, code: int, at_home: Callable[[str], subprocess.CompletedProcess[str]]
) -> None:
    """No file system has such a name."""
    done = at_home(words.format("n" * 300))

    assert code == done.returncode, done.stderr
    assert one_sentence(done)


@pytest.mark.parametrize(
    "words", ["import in/x", "merge in", "decks add in/x.toml", "studio in", "--box in/x today"]
)
def test_a_folder_that_may_not_be_searched_is_one_sentence(
    words: str, place: Path, at_home: Callable[[str], subprocess.CompletedProcess[str]]
) -> None:
    """Neither its files nor whether there are any can be known."""
    hidden = place.with_name("in")
    hidden.mkdir()
    with with_mode(hidden, 0):
        done = at_home(words)

    assert done.returncode in {4, 6}
    assert one_sentence(done)


def test_a_database_of_another_program_is_left_alone(place: Path) -> None:
    """Neither opened, nor merged, nor restored, nor written to."""
    other = place.with_name("other.db")
    with sqlite3.connect(other) as db:
        db.execute("CREATE TABLE note (text)")
    db.close()
    before = other.read_bytes()
    for words in (f"--box {other} today", f"merge {other} --both", f"restore {other} --yes"):
        done = shell(f"drillbox {words}", place)
        assert 6 == done.returncode, words
        assert one_sentence(done)

    assert before == other.read_bytes()


@pytest.mark.parametrize("zone", ["UTC+25", "UTC-24", "XXX+24:00:01"])
def test_a_zone_a_day_away_is_one_sentence(zone: str, place: Path) -> None:
    """No clock on earth is 25 hours from UTC; the command asks for another one."""
    done = shell("drillbox today", place, TZ=zone)

    assert 2 == done.returncode
    assert "TZ: the machine's time zone" in one_sentence(done)


@pytest.mark.parametrize(
    "words",
    [
        "today",
        "cards",
        "decks",
        "set",
        "year",
        "year --json",
        "year --html year.html",
        "ahead --days 7",
        "card e",
        "why e",
        "path",
        "path first-week",
        "family first-week",
        "sheet --map",
        "track e.wav e",
        "measure e.wav --card e --bpm 90",
        "export -",
        "vocabulary",
        "learn --report",
        "restore --list",
        "checkup",
        "completion bash",
        "decks check first-week",
    ],
)
def test_a_command_that_only_reads_makes_nothing(
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    """No box, no folder, no backup: what was not there before is not there after, but a page."""
    monkeypatch.chdir(tmp_path)
    run(["--box", str(tmp_path / "home" / "player.box"), *words.split()])

    assert "Traceback" not in capfd.readouterr().err
    assert set() == {path.name for path in tmp_path.iterdir()} - {"year.html"}


def test_looking_at_a_box_leaves_nothing_beside_it(place: Path) -> None:
    """No backup, no part of a file, no journal: only what the box had when it was made."""
    before = set(place.parent.rglob("*"))
    shell("drillbox today; drillbox cards; drillbox decks", place)

    assert before == set(place.parent.rglob("*"))


def test_an_error_of_our_own_leaves_a_private_report(capfd: pytest.CaptureFixture[str]) -> None:
    """In the data folder, for its owner's eyes, and the person is told where."""

    def broken() -> int:
        raise KeyError("a fault of ours")

    assert 1 == guarded(broken)
    (report,) = data_folder().iterdir()
    said = capfd.readouterr().err

    assert 1 == len(said.splitlines())
    assert str(report) in said
    assert "KeyError" in report.read_text(encoding="utf-8")
    assert 0o600 == stat.S_IMODE(report.stat().st_mode)


def test_a_report_follows_no_link(tmp_path: Path) -> None:
    """A link prepared under the report's name gets nothing."""
    victim, trap = tmp_path / "victim", tmp_path / "report.txt"
    victim.write_text("mine", encoding="utf-8")
    trap.symlink_to(victim)
    with pytest.raises(FileExistsError):
        write_private(trap, b"secret")

    assert "mine" == victim.read_text(encoding="utf-8")
