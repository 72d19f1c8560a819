"""The manual page is what ``--help`` says, and sentences are wrapped between words."""

from __future__ import annotations

import io
import shutil
import subprocess
from inspect import cleandoc
from textwrap import dedent

import click
import pytest

from drillbox.cli.command_table import HOMES
from drillbox.cli.main import drillbox, run
from drillbox.cli.manual import page
from drillbox.cli.streams import carry_any_text, wrapped

LONG = "About 72 today, on the way to 104: one take, starting at 70, " * 3


class Terminal(io.TextIOWrapper):
    """A terminal of some encoding."""

    def __init__(self, encoding: str = "utf-8") -> None:
        super().__init__(io.BytesIO(), encoding=encoding)

    def isatty(self) -> bool:
        """Say that it is one."""
        return True


@pytest.fixture(scope="module")
def manual() -> str:
    """Return the page's source."""
    return "\n".join(page(drillbox))


def test_every_command_and_option_is_in_the_manual(manual: str) -> None:
    """Nobody has to write it: it is made of the commands themselves."""
    context = click.Context(drillbox)
    for name in HOMES:
        command = drillbox.get_command(context, name)
        assert command is not None
        assert f'.SS "drillbox {name}' in manual
        for parameter in command.params:
            for option in (o for o in parameter.opts if o.startswith("--")):
                assert option.replace("-", "\\-") in manual


def test_the_manual_says_what_help_says(manual: str) -> None:
    """Of every command, and of those under it, each line of its help, examples and all."""
    read = manual
    for roff, sign in (("\\-", "-"), ("\\(dq", '"'), ("\\(ti", "~"), ("\\&", ""), ("\\e", "\\")):
        read = read.replace(roff, sign)
    written = {line.strip() for line in read.splitlines()}
    commands: list[tuple[click.Command, click.Context]] = [(drillbox, click.Context(drillbox))]
    while commands:
        command, context = commands.pop()
        helps = cleandoc((command.help or "").replace("\b", "")).splitlines()
        assert {line.strip() for line in helps if line.strip()} <= written
        if isinstance(command, click.Group):
            for name in command.list_commands(context):
                under = command.get_command(context, name)
                assert under is not None
                assert under.help
                commands.append((under, click.Context(under, parent=context)))


def test_the_manual_is_sound_roff(manual: str) -> None:
    """No line is a macro by accident, and groff, where it is installed, has nothing to say."""
    macros = {".TH", ".SH", ".SS", ".PP", ".TP", ".B", ".nf", ".fi"}
    assert macros >= {line.split()[0] for line in manual.splitlines() if line.startswith(".")}
    groff = shutil.which("groff")
    if groff is None:
        pytest.skip("groff is not installed")
    done = subprocess.run(
        [groff, "-man", "-ww", "-Tutf8"], input=manual, capture_output=True, text=True, check=True
    )

    assert "" == done.stderr
    assert "drillbox" in done.stdout


def test_manual_prints_the_page(capsys: pytest.CaptureFixture[str]) -> None:
    """The command's output is the page alone."""
    assert 0 == run(["manual"])
    assert capsys.readouterr().out.startswith(".TH DRILLBOX 1")


@pytest.mark.parametrize("encoding", ["utf-8", "latin-1", "ascii"])
@pytest.mark.parametrize("width", [20, 80])
def test_sentences_break_between_words(
    encoding: str, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No line is wider than the terminal, no word is parted, nothing is lost or added."""
    monkeypatch.setenv("COLUMNS", str(width))
    carry_any_text()
    text = f"{LONG}“quoted” – and … so on; one-e-and-a"
    shown = wrapped(text, Terminal(encoding))
    carried = text.encode(encoding, "drillbox.nearest").decode(encoding)

    assert carried.split() == shown.split()
    assert width >= max(len(line) for line in shown.splitlines())


def test_columns_and_pipes_are_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table keeps its lines, a path its length, and a pipe gets what there is."""
    monkeypatch.setenv("COLUMNS", "20")
    table = dedent("""\
        part     card                        bpm
        warm-up  e of 2                       70""")
    path = "/a/very/long/path/without/any/blank.toml"

    assert table == wrapped(table, Terminal())
    assert path == wrapped(path, Terminal())
    assert LONG == wrapped(LONG, io.StringIO())
