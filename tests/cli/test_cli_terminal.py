"""At a terminal: questions and answers, pages, bars, sentences that fit, signs that it can show."""

from __future__ import annotations

import io
import os
import sys
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.cli import streams, watching
from drillbox.cli.main import run
from drillbox.cli.problems import guarded, narrate
from drillbox.cli.streams import ReaderLeftError, broken, carry_any_text, paged, wrapped
from drillbox.errors import NotSavedError, OutputError
from drillbox.memory import Grade

if TYPE_CHECKING:
    from cli_kit import Player


# Questions


def takes(player: Player) -> list[float]:
    """Return the tempos of the takes that count, as of the box file."""
    with player.box() as box:
        return sorted(take.bpm for take in box.archive.takes())


@pytest.fixture
def backed_up(player: Player) -> Player:
    """Return a player with a backup of one take, and two takes since."""
    with player.box() as box:
        for bpm in (70, 75, 80):
            at = player.clock.now()
            box.record(box.find("e"), bpm=bpm, grade=Grade.CLEAN, at=at, seconds=40)
            if bpm == 70:
                box.archive.back_up(at)
                player.clock.forward(days=1)
    return player


@pytest.mark.parametrize(
    ("options", "typed", "asked", "left"),
    [
        ((), "\ny\n", 2, [70.0, 75.0, 80.0]),
        ((), "y\ny\n", 2, [70.0, 75.0, 80.0]),
        ((), "n\ny\n", 2, [70.0]),
        (("--drop-newer",), "y\n", 1, [70.0]),
        (("--yes",), "", 0, [70.0, 75.0, 80.0]),
        (("--yes", "--drop-newer"), "", 0, [70.0]),
        ((), "y\nn\n", 2, None),
        ((), "y\n\n", 2, None),
        (("--drop-newer",), "\n", 1, None),
    ],
)
def test_a_restore_does_what_is_answered(
    backed_up: Player, options: tuple[str, ...], typed: str, asked: int, left: list[float] | None
) -> None:
    """Newer takes are kept unless it is said otherwise; without a yes nothing is changed."""
    player = backed_up
    player.types(typed)
    said = player("restore", *options)
    answered = left is not None

    assert 0 == said.code
    assert asked == said.err.count("[y/N]") + said.err.count("[Y/n]")
    assert "lacks: 2, the last of Tue 3 Mar." in said.err
    assert answered == ("Restored from" in said.out)
    assert ("Nothing was changed.\n" == said.out) != answered
    assert (left == [70.0, 75.0, 80.0]) == ("Entries kept that the backup lacks: 2." in said.out)
    assert (left or [70.0, 75.0, 80.0]) == takes(player)
    assert answered == ("The box that was there is now " in said.out)


def test_a_restore_where_there_is_no_box_asks_nothing(backed_up: Player) -> None:
    """There is nothing to lose; and without a good backup there is nothing to restore."""
    player = backed_up
    player.path.unlink()
    listed = player("restore", "--list").out.splitlines()
    said = player("restore")
    assert 0 == said.code
    assert [70.0] == takes(player)
    assert 1 == len(said.out.splitlines())
    assert ["2026-03-03", "2026-03-02", "2026-03-02"] == [line[:10] for line in listed]
    for line in listed:
        Path(line.split("  ")[1]).unlink()
    assert (6, True) == (player("restore").code, "no good backup lies" in player("restore").err)


def test_a_restore_over_garbage_says_that_nothing_can_be_kept(backed_up: Player) -> None:
    """And puts the backup in its place."""
    player = backed_up
    player.path.write_bytes(b"garbage" * 999)
    said = player("restore", "--yes")
    assert "Nothing of the box that is there can be read." in said.err
    assert "kept" not in said.out
    assert [70.0] == takes(player)


def test_a_progress_file_is_asked_about_at_a_terminal(player: Player, tmp_path: Path) -> None:
    """Yes is what a return means; no writes nothing; --yes and a pipe ask nothing."""
    file = tmp_path / "mia.jsonl"
    player.types("n\n")
    player.looks()
    said = player("progress", "export", str(file), "--name", "Mia")
    assert said.out.endswith("Nothing was written.\n")
    assert "Write it to" in said.err
    assert not file.exists()
    player.types("\n")
    assert "Write it to" in player("progress", "export", str(file)).err
    assert file.exists()
    player.types("")
    assert 0 == player("progress", "export", str(file), "--yes").code
    assert 130 == player("progress", "export", str(file)).code


# Pages, bars


@pytest.mark.parametrize(("more", "is_paged"), [(-3, True), (0, True), (1, False), (9, False)])
def test_what_is_longer_than_the_screen_is_paged(
    player: Player, monkeypatch: pytest.MonkeyPatch, more: int, *, is_paged: bool
) -> None:
    """A text of as many lines as the screen is too long, for the prompt wants one."""
    pages: list[str] = []
    monkeypatch.setattr(click, "echo_via_pager", pages.append)
    whole = player("card", "e", "--plain").out
    player.looks(lines=len(whole.splitlines()) + more, columns=200)
    said = player("card", "e", "--plain")

    assert ([whole.removesuffix("\n")] if is_paged else []) == pages
    assert ("" if is_paged else whole) == said.out


def test_a_pipe_is_never_paged(player: Player, monkeypatch: pytest.MonkeyPatch) -> None:
    """However few lines there are; nor is standard output another one afterwards."""
    monkeypatch.setenv("LINES", "2")
    monkeypatch.setattr(click, "echo_via_pager", pytest.fail)
    before = sys.stdout
    assert 5 == len(player("cards").out.splitlines())
    assert before is sys.stdout


def test_what_was_said_before_an_error_is_shown(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page that breaks off shows its beginning, and the stream is what it was."""
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    shown = sys.stdout

    def breaks_off() -> None:
        with paged():
            click.echo("begun", file=sys.stdout)
            raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        breaks_off()
    assert shown is sys.stdout
    assert "begun\n" == capsys.readouterr().out


@pytest.mark.parametrize(("many", "watches"), [(4, False), (5, True)])
def test_long_work_is_watched_at_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, many: int, *,
    watches: bool,
) -> None:  # fmt: skip
    """From so many on there is a bar, on standard error; everything is handed on in order."""
    monkeypatch.setattr(watching, "LONG", 5)
    assert list(range(many)) == list(watching.watched(range(many)))
    assert ("", "") == capsys.readouterr()
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    assert list(range(many)) == list(watching.watched(range(many)))
    out, err = capsys.readouterr()
    assert ("", watches) == (out, "taking in" in err)


@pytest.mark.parametrize(("size", "watches"), [(39, False), (40, True)])
def test_a_long_file_is_watched_at_a_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
    size: int, *, watches: bool,
) -> None:  # fmt: skip
    """Its bytes are counted as its lines are read; no line is longer than asked for."""
    monkeypatch.setattr(watching, "LONG_FILE", 40)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    path = tmp_path / "f"
    path.write_bytes(b"x" * (size - 5) + b"\n" + b"1234")
    with watching.watched_file(path) as file:
        read = [file.readline(10), file.readline(1000), file.readline(1000), file.readline(9)]
    assert [b"x" * 10, b"x" * (size - 15) + b"\n", b"1234", b""] == read
    assert watches == ("reading" in capsys.readouterr().err)


def test_short_work_is_the_number_of_the_page() -> None:
    """Half a second of entries, four mebibytes of text."""
    assert (20_000, 4 * 1024 * 1024) == (watching.LONG, watching.LONG_FILE)


# What a stream can show


class Screen(io.TextIOWrapper):
    """A terminal of some encoding."""

    def __init__(self, encoding: str) -> None:
        super().__init__(io.BytesIO(), encoding=encoding)

    def isatty(self) -> bool:
        """Say that it is a terminal."""
        return True


@examples(60)
@given(st.lists(st.text("abc-", min_size=1, max_size=12), max_size=30), st.integers(5, 40),
       st.integers(0, 4))  # fmt: skip
def test_a_sentence_ends_its_lines_between_words(words: list[str], width: int, indent: int) -> None:
    """No line is wider unless a word is; indented as it began; the same words in order."""
    line = " " * indent + " ".join(words)
    lines = broken(line, width).split("\n")

    assert words == " ".join(lines).split()
    for one in lines:
        assert len(one) <= width or len(one.split()) == 1
        assert len(lines) == 1 or len(one) - len(one.lstrip()) == indent
    # No line could have taken the next one's first word.
    for one, after in pairwise(lines):
        assert len(one) + 1 + len(after.split()[0]) > width


def test_columns_and_short_lines_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two blanks in a row tell a column; a line that just fits is one line."""
    column, fits = f"name  {'word ' * 30}x", "word " * 3 + "words"
    assert f"{column}\n{fits}" == broken(f"{column}\n{fits}", 20)
    assert "word word word\nwords" == broken(fits, 19)
    monkeypatch.setenv("COLUMNS", "20")
    assert f"{fits}\nnext" == wrapped(f"{fits} next", Screen("utf-8"))
    assert f"{fits} next" == wrapped(f"{fits} next", io.StringIO())


@pytest.mark.parametrize(
    ("text", "encoding", "shown"),
    [
        ("96 – 100", "ascii", "96 - 100"), ("a → b", "latin-1", "a -> b"), ("é", "ascii", "e"),
        ("é", "latin-1", "é"), ("Straße", "ascii", "Strasse"), ("▁█", "ascii", ".*"),
        ("≥ … ±", "ascii", ">= ... +-"), ("± …", "latin-1", "± ..."), ("鼓", "latin-1", "?"),
        ("½", "ascii", "12"), ("×", "ascii", "x"), ("│┃─┼", "cp1252", "||-+"),
    ],
)  # fmt: skip
def test_a_sign_becomes_the_nearest_one(text: str, encoding: str, shown: str) -> None:
    """On a stream that has been told so, and on a terminal's lines before they are broken."""
    carry_any_text()
    assert shown.encode(encoding) == text.encode(encoding, "drillbox.nearest")
    assert shown == wrapped(text, Screen(encoding))
    with pytest.raises(UnicodeDecodeError):
        b"\xff".decode("ascii", "drillbox.nearest")


def test_streams_are_told_to_carry_any_text(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both of them; one of another kind is left alone."""
    out, err = Screen("ascii"), io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    carry_any_text()
    assert "drillbox.nearest" == out.errors
    click.echo("– →", file=sys.stdout)
    out.flush()
    assert b"- ->\n" == out.buffer.getvalue()  # type: ignore[attr-defined]


def test_missing_streams_are_given_something_to_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    """Input is empty, errors are lost, output is refused when it is written (POSIX: EBADF)."""
    saved = [os.dup(number) for number in range(3)]
    for name in ("stdin", "stdout", "stderr"):
        monkeypatch.setattr(sys, name, None)
    try:
        for number in range(3):
            os.close(number)
        streams.open_missing()
        flags = [os.fstat(number).st_rdev for number in range(3)]
        given_in, given_out, given_err = sys.stdin, sys.stdout, sys.stderr
        read, lost = given_in.read(), given_err.write("x")
        given_err.flush()
        given_out.write("y")
        with pytest.raises(OSError, match="Bad file descriptor"):
            given_out.flush()
    finally:
        for number, copy in enumerate(saved):
            os.dup2(copy, number)
            os.close(copy)
    assert ("", 1) == (read, lost)
    assert [Path(os.devnull).stat().st_rdev] * 3 == flags


def test_open_streams_are_left_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is opened beside them."""
    before = (sys.stdin, sys.stdout, sys.stderr)
    monkeypatch.setattr(os, "open", pytest.fail)
    streams.open_missing()
    assert before == (sys.stdin, sys.stdout, sys.stderr)


# How a command ends

NOT_WRITTEN = (
    "drillbox: standard output: the output was not written: {}; all that was to be saved is saved;"
    " only what was printed is lost."
)


def raising(error: BaseException) -> Any:
    """Return a command that ends so."""

    def command() -> int:
        raise error

    return command


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (NotSavedError("no room", where="here", fix="make some"), 7,
         "drillbox: here: no room; make some."),
        (click.UsageError("Missing it."), 2, "drillbox: Missing it."),
        (click.ClickException("Is it there?"), 2, "drillbox: Is it there?"),
        (click.Abort(), 130, "drillbox: stopped; every take graded so far is kept."),
        (KeyboardInterrupt(), 130, "drillbox: stopped; every take graded so far is kept."),
        (FileNotFoundError(2, "No such file", "a.box"), 1, "drillbox: a.box: No such file."),
        (OSError("the line is cut"), 10, NOT_WRITTEN.format("the line is cut")),
        (OSError(28, "No space left"), 10, NOT_WRITTEN.format("No space left")),
        (BrokenPipeError(32, "Broken pipe"), 0, ""),
        (ReaderLeftError(), 0, ""),
    ],
)  # fmt: skip
def test_whatever_ends_a_command_is_one_sentence_and_a_code(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, error: BaseException,
    code: int, said: str,
) -> None:  # fmt: skip
    """The codes of drillbox.errors; 130 after Ctrl-C, 128 and the number of SIGINT, as shells do.

    And 0 where the reader of a pipe has left.
    """
    let_go: list[bool] = []
    monkeypatch.setattr("drillbox.cli.problems.let_output_go", lambda: let_go.append(True))
    assert code == guarded(raising(error))
    assert ("", f"{said}\n" if said else "") == capsys.readouterr()
    assert ([True] if code in {0, OutputError.exit_code} else []) == let_go


@pytest.mark.parametrize(("code", "ends"), [(None, 0), (0, 0), (3, 3)])
def test_a_command_that_ends_well_has_its_own_code(code: int | None, ends: int) -> None:
    """And what it printed is written by then."""
    assert ends == guarded(lambda: code)


def test_what_was_printed_is_written_before_a_command_is_called_done(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk takes a few lines into its buffer without a word: it is asked before the end."""

    class Full(io.StringIO):
        def flush(self) -> None:
            raise OSError(28, "No space left")

    monkeypatch.setattr("drillbox.cli.problems.let_output_go", lambda: None)
    monkeypatch.setattr(sys, "stdout", Full())
    code = guarded(lambda: None)

    assert OutputError.exit_code == code
    assert f"{NOT_WRITTEN.format('No space left')}\n" == capsys.readouterr().err


def test_an_error_of_our_own_is_reported_or_at_least_told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With what Python says of it; where the disk refuses the report, the sentence stands alone."""
    home = tmp_path / "data"
    monkeypatch.setenv("XDG_DATA_HOME", str(home))
    assert 1 == guarded(raising(KeyError("\ud800 of cards")))
    (report,) = (home / "drillbox").iterdir()
    assert "KeyError" in report.read_text(encoding="utf-8")
    assert f"please send {report} to the maintainers.\n" in capsys.readouterr().err
    assert 0o600 == report.stat().st_mode & 0o777
    assert 0o700 == report.parent.stat().st_mode & 0o777
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "file"))
    (tmp_path / "file").write_text("no folder")
    assert 1 == guarded(raising(KeyError("again")))
    said = capsys.readouterr().err
    assert "drillbox stopped on an error of its own; every take it called saved is saved.\n" == said


def test_where_nobody_can_be_told_the_code_still_says_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A standard error that fails does not end the command."""

    class Failing(io.StringIO):
        def write(self, text: str) -> int:
            raise OSError(text)

    monkeypatch.setattr(sys, "stderr", Failing())
    narrate("nobody hears")
    assert 7 == guarded(raising(NotSavedError("x")))


def test_a_question_of_options_ends_with_where_to_look(capsys: pytest.CaptureFixture[str]) -> None:
    """Of a wrong option the help of its command is named, after a question by a sentence."""
    assert 2 == run(["cards", "--jsno"])
    assert capsys.readouterr().err.endswith("? See 'drillbox cards --help'.\n")
    assert 2 == run(["track"])
    assert capsys.readouterr().err.endswith("'FILE'; see 'drillbox track --help'.\n")
