"""How drillbox behaves in a shell.

Completion, screen readers, poor encodings, pages, bars, and Ctrl-C.
"""

from __future__ import annotations

import io
import json
import os
import pty
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from conftest import MORNING, SMALL_DECK
from examples import examples
from hypothesis import given
from strategies import patterns

import drillbox
from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.cli.command_table import HOMES
from drillbox.cli.main import run
from drillbox.cli.plain import in_words
from drillbox.deckfile import parse_deck
from drillbox.rhythm import Pattern, parse
from drillbox.store import TakeRow, write_log

ROOT = Path(drillbox.__file__).parent.parent
PROGRAM = "import drillbox.cli; print('ready', flush=True); drillbox.cli.main()"
STRANGE = SMALL_DECK.replace("e of every beat", "e — jedes Schlags, Größe ≥ 1 … 拍")
MANY = 30_000


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Return a box with a deck whose titles have signs of many kinds."""
    path = tmp_path / "player.box"
    with Box.open(path, clock=ManualClock(MORNING)) as box:
        box.put_deck(parse_deck(STRANGE, name="strange.toml"), at=MORNING)
    return path


def command(place: Path, *words: str) -> list[str]:
    """Return a command line on that box."""
    return [sys.executable, "-m", "drillbox", "--box", str(place), *words]


def world(**more: str) -> dict[str, str]:
    """Return an environment for a child."""
    return os.environ | {"PYTHONPATH": str(ROOT)} | more


def said(place: Path, *words: str, **more: str) -> subprocess.CompletedProcess[bytes]:
    """Run a command in a child with more environment."""
    return subprocess.run(
        command(place, *words), capture_output=True, env=world(**more), check=False
    )


def on_terminal(place: Path, *words: str, **more: str) -> tuple[str, str]:
    """Run a command on a terminal of our own; return what came to its output and to its errors."""
    texts = []
    pairs = [pty.openpty(), pty.openpty()]
    child = subprocess.Popen(
        command(place, *words),
        stdin=pairs[0][1],
        stdout=pairs[0][1],
        stderr=pairs[1][1],
        env=world(TERM="xterm", **more),
    )
    for ours, theirs in pairs:
        os.close(theirs)
        text = b""
        try:
            while part := os.read(ours, 65_536):
                text += part
        except OSError:
            pass  # a terminal that nobody holds any more ends so
        os.close(ours)
        texts.append(text.decode())
    assert 0 == child.wait()
    return texts[0], texts[1]


@pytest.fixture(scope="module")
def big_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a log that takes a while to take in."""
    path = tmp_path_factory.mktemp("logs") / "big.jsonl"
    card = parse_deck(SMALL_DECK, name="x").cards[0].card_id
    one = TakeRow(f"{1:032x}", card, 80, 0, MORNING, "UTC", 30, "self")
    with path.open("wb") as out:
        write_log(
            (
                replace(one, id=f"{n:032x}", at=MORNING + timedelta(seconds=n))
                for n in range(1, MANY + 1)
            ),
            out,
        )
    return path


# Completion


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_scripts_are_the_shells_own(
    shell: str, capfd: pytest.CaptureFixture[str]
) -> None:
    """Each names its command and its variable.

    Where the shell is installed, it finds no fault with it.
    """
    assert 0 == run(["completion", shell])
    script = capfd.readouterr().out

    assert "_DRILLBOX_COMPLETE" in script
    assert "drillbox" in script
    if shutil.which(shell):
        checked = subprocess.run(
            [shell, "-n"], input=script, text=True, capture_output=True, check=False
        )
        assert (0, "") == (checked.returncode, checked.stderr)


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
@pytest.mark.parametrize(
    ("line", "found"),
    [
        (("tod",), {"today"}),
        (("today", "--pl"), {"--plain"}),
        (("card", "a"), {"a", "a-doubled"}),
        (("set", "ghosts"), {"ghosts-db"}),
        (("completion", ""), {"bash", "zsh", "fish"}),
    ],
)
def test_a_real_bash_completes(
    place: Path, tmp_path: Path, line: tuple[str, ...], found: set[str]
) -> None:
    """The script is sourced by bash, which then asks it as a pressed tab does."""
    caller = tmp_path / "drillbox"
    caller.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m drillbox "$@"\n', encoding="utf-8")
    caller.chmod(0o755)
    words = " ".join(f"'{word}'" for word in ("drillbox", *line))
    script = (
        "source <(drillbox completion bash); complete -p drillbox >/dev/null || exit 9\n"
        f"COMP_WORDS=({words}); COMP_CWORD={len(line)}\n"
        '_drillbox_completion drillbox; printf "%s\\n" "${COMPREPLY[@]}"'
    )
    path = f"{tmp_path}:{os.environ['PATH']}"
    done = subprocess.run(
        [shutil.which("bash") or "", "-c", script],
        capture_output=True,
        text=True,
        env=world(PATH=path, DRILLBOX_BOX=str(place)),
        check=True,
    )

    assert found == set(done.stdout.split())


def test_completion_of_cards_makes_no_box_and_no_noise(tmp_path: Path) -> None:
    """Where there is no box yet, pressing tab offers nothing and leaves nothing behind."""
    done = subprocess.run(
        [sys.executable, "-m", "drillbox"],
        capture_output=True,
        env=world(
            DRILLBOX_BOX=str(tmp_path / "none.box"),
            _DRILLBOX_COMPLETE="bash_complete",
            COMP_WORDS="drillbox card a",
            COMP_CWORD="2",
        ),
        check=False,
    )

    assert (b"", b"") == (done.stdout.strip(), done.stderr)
    assert [] == list(tmp_path.iterdir())


# Screen readers


@pytest.mark.parametrize("words", [("today",), ("cards",), ("card", "e")])
def test_plain_is_one_fact_a_line(
    place: Path, words: tuple[str, ...], capfd: pytest.CaptureFixture[str]
) -> None:
    """Every line is a name, a colon and a fact.

    No columns to line up, no drawing, no bare signs.
    """
    run(["--box", str(place), "record", "e", "80", "steady"])
    capfd.readouterr()
    assert 0 == run(["--box", str(place), *words, "--plain"])
    lines = capfd.readouterr().out.splitlines()

    assert lines
    for line in lines:
        name, colon, fact = line.partition(": ")
        assert ": " == colon
        assert fact.strip()
        assert "  " not in line
        assert not set("()<>|/") & set(name)


def test_a_rhythm_in_words() -> None:
    """As a teacher would read it out."""
    pattern = parse("grid: 16 16 8t 32\nhat: 1 2\nsnare: >2 (1e) (3t) (/3l) (4.) R1")

    assert [
        "meter: 4/4",
        "bar 1, hat: plain on 1, 2",
        (
            "bar 1, snare: plain right on 1; ghost on e of 1; accent on 2; ghost on t of 3; "
            "doubled ghost on l of 3; ghost on just after 4"
        ),
    ] == list(in_words(pattern))


def test_a_rhythm_of_several_bars_is_said_bar_by_bar() -> None:
    """Each bar with its own strokes, at their places in it; a bar without any is passed over."""
    pattern = parse("meter: 3/4\nsnare: 1 | (2e) |  | >3 (3a)")

    assert [
        "meter: 3/4",
        "bar 1, snare: plain on 1",
        "bar 2, snare: ghost on e of 2",
        "bar 4, snare: accent on 3; ghost on a of 3",
    ] == list(in_words(pattern))


@examples(60)
@given(patterns())
def test_no_stroke_is_left_out_of_the_words(pattern: Pattern) -> None:
    """Without any one of its strokes, a rhythm is said otherwise."""
    whole = list(in_words(pattern))
    for left_out in pattern.strokes:
        fewer = replace(pattern, strokes=tuple(s for s in pattern.strokes if s != left_out))
        assert whole != list(in_words(fewer))


# Encodings


@pytest.mark.parametrize(
    ("words", "encoding"),
    [
        (("today",), "ascii"),
        (("today", "--plain"), "ascii"),
        (("cards",), "ascii"),
        (("card", "e"), "ascii"),
        (("card", "e"), "latin-1"),
        (("why", "e"), "latin-1"),
    ],
)
def test_a_stream_that_cannot_carry_a_sign_gets_the_nearest(
    place: Path, words: tuple[str, ...], encoding: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No traceback, exit 0, and text that the stream's own encoding decodes."""
    content, errors = io.BytesIO(), io.StringIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(content, encoding=encoding))
    monkeypatch.setattr(sys, "stderr", errors)
    code = run(["--box", str(place), *words])
    text = content.getvalue().decode(encoding)

    assert (0, "") == (code, errors.getvalue())
    assert text.strip()
    if encoding == "ascii":
        assert "e - jedes Schlags, Grosse >= 1 ... ?" in text


@pytest.mark.parametrize("command_name", [*HOMES, ""])
def test_help_is_ascii(command_name: str, capfd: pytest.CaptureFixture[str]) -> None:
    """Help is written by click itself, past our nearest signs; so it has none that need them."""
    run([*command_name.split(), "--help"])

    assert capfd.readouterr().out.isascii()


def test_the_c_locale_is_no_obstacle(place: Path) -> None:
    """With no locale, and with a file name that is no text, there is a sentence, no traceback."""
    listed = said(place, "cards", LC_ALL="C")
    missing = subprocess.run(
        [*map(os.fsencode, command(place, "decks", "check")), b"/no/such/\xff.toml"],
        capture_output=True,
        env=world(LC_ALL="C", PYTHONIOENCODING="ascii"),
        check=False,
    )

    assert (0, b"") == (listed.returncode, listed.stderr)
    assert 4 == missing.returncode
    assert 1 == len(missing.stderr.splitlines())


def test_json_is_exact_in_every_encoding(place: Path) -> None:
    """Programs get every letter: escaped where the stream cannot carry it."""
    poor = said(place, "cards", "--json", PYTHONIOENCODING="ascii").stdout
    rich = said(place, "cards", "--json", PYTHONIOENCODING="utf-8").stdout

    assert poor.isascii()
    assert "Größe ≥ 1 … 拍".encode() in rich
    assert json.loads(poor) == json.loads(rich)


# Terminals and pipes


def test_long_lists_are_paged_on_a_terminal_only(place: Path, tmp_path: Path) -> None:
    """The pager that the player chose gets the list; short lists and pipes do not bother it."""
    pager = tmp_path / "pager"
    pager.write_text(f'#!/bin/sh\ncat > "{tmp_path}/paged"\n', encoding="utf-8")
    pager.chmod(0o755)
    short, _ = on_terminal(place, "cards", PAGER=str(pager), LINES="50", COLUMNS="120")
    piped = said(place, "cards", PAGER=str(pager), LINES="3")
    assert not (tmp_path / "paged").exists()
    long, _ = on_terminal(place, "cards", PAGER=str(pager), LINES="3", COLUMNS="120")

    assert 5 == len(short.splitlines()) == len(piped.stdout.splitlines())
    assert "" == long
    assert piped.stdout.decode() == (tmp_path / "paged").read_text(encoding="utf-8")


def test_long_work_shows_a_bar_on_a_terminal_only(
    place: Path, tmp_path: Path, big_log: Path
) -> None:
    """On standard error, while a large log is read and taken in.

    Data on standard output stay data.
    """
    piped = said(place, "import", str(big_log))
    shutil.rmtree(tmp_path / "player.box.backups", ignore_errors=True)
    out, err = on_terminal(tmp_path / "other.box", "import", str(big_log))

    assert f"{MANY} new entries taken in.\n".encode() == piped.stdout
    assert b"" == piped.stderr
    assert f"{MANY} new entries taken in." == out.strip()
    assert "reading" in err
    assert "taking in" in err


# Ctrl-C


def interrupted(place: Path, *words: str, after: float) -> subprocess.CompletedProcess[str]:
    """Run a command in a child and send it what Ctrl-C sends, so long after it began."""
    child = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, "--box", str(place), *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=world(),
    )
    assert child.stdout is not None
    assert "ready\n" == child.stdout.readline()
    time.sleep(after)
    child.send_signal(signal.SIGINT)
    out, err = child.communicate(timeout=60)
    return subprocess.CompletedProcess(words, child.returncode, out, err)


def test_a_command_that_waits_is_stopped_by_one_sentence(place: Path) -> None:
    """Reading a log from a keyboard that says nothing: 130, one line, and nothing was taken in."""
    done = interrupted(place, "import", "-", after=1.0)

    assert 130 == done.returncode
    assert "drillbox: stopped; every take graded so far is kept." == done.stderr.strip()
    with Box.open(place, clock=ManualClock(MORNING), read_only=True) as box:
        assert [] == list(box.log())


@pytest.mark.parametrize("after", [0.02, 0.1, 0.35, 0.8])
def test_ctrl_c_at_any_moment_leaves_all_or_nothing(
    place: Path, big_log: Path, after: float
) -> None:
    """A large merge is broken off.

    The log has all of it or none, one sentence is said, and the box works on.
    """
    done = interrupted(place, "merge", str(big_log), after=after)
    with Box.open(place, clock=ManualClock(MORNING)) as box:
        entries = len(list(box.log()))
        assert 4 == len(box.cards(at=MORNING))

    assert done.returncode in {0, 130}
    assert entries in ({0, MANY} if done.returncode else {MANY})
    assert done.returncode == 0 or "drillbox: stopped" in done.stderr
    assert len(done.stderr.strip().splitlines()) <= 1


def test_a_restore_is_asked_about_on_a_real_terminal(place: Path) -> None:
    """The newer take is not kept, and so it goes; tests/cli/test_cli_terminal.py has the rest."""
    for words in (("record", "e", "80", "clean"), ("backup",), ("record", "e", "85", "clean")):
        assert 0 == run(["--box", str(place), *words])
    ours, theirs = pty.openpty()
    os.write(ours, b"n\ny\n")
    done = subprocess.run(
        command(place, "restore"), stdin=theirs, capture_output=True, env=world(), check=False
    )
    os.close(theirs)
    os.close(ours)
    with Box.open(place, clock=ManualClock(MORNING), read_only=True) as box:
        kept = [row for row in box.log() if isinstance(row, TakeRow)]

    assert 0 == done.returncode
    assert b"Keep them? [Y/n]" in done.stderr
    assert 1 == len(kept)
    assert b"Nothing was changed." not in done.stdout
