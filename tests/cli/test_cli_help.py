"""What `--help` prints, for every command there is."""

from __future__ import annotations

import re
import shlex
from inspect import cleandoc, getdoc
from typing import TYPE_CHECKING

import click
import pytest

from drillbox.cli.command_table import HOMES
from drillbox.cli.help_text import EXAMPLES
from drillbox.cli.main import PAGES, drillbox, run

if TYPE_CHECKING:
    from collections.abc import Iterator


def commands(group: click.Group, *words: str) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Give every command under a group, with the words that call it."""
    for name in group.list_commands(click.Context(group)):
        command = group.get_command(click.Context(group), name)
        assert command is not None
        yield (*words, name), command
        if isinstance(command, click.Group):
            yield from commands(command, *words, name)


EVERY = dict(commands(drillbox))
every_command = pytest.mark.parametrize("words", EVERY, ids=" ".join)


def printed(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> str:
    """Return what a command prints of itself."""
    assert 0 == run([*words, "--help"])
    return capsys.readouterr().out


def examples(words: tuple[str, ...]) -> list[str]:
    """Return the examples that a command's docstring gives."""
    doc = getdoc(EVERY[words].callback)
    found = re.search(rf"^{EXAMPLES}\n((?:  .*\n?)+)", cleandoc(doc or ""), re.MULTILINE)
    return [line.strip() for line in found[1].splitlines()] if found else []


@every_command
def test_help_has_no_sign_that_is_not_meant_to_be_read(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """No backspace, no backslash, no raw markup; lines end where a terminal of 80 columns does."""
    text = printed(words, capsys)

    assert text.startswith(f"Usage: drillbox {' '.join(words)} ")
    assert not re.search(r"[\b\\\x1b`]", text)
    assert all(len(line) <= 80 for line in text.splitlines())
    assert all(line.isprintable() for line in text.splitlines())


@every_command
def test_examples_stand_one_a_line_as_written(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """Every command shows an example at least, each on a line of its own, and no others."""
    shown = [line.strip() for line in printed(words, capsys).splitlines()]

    assert examples(words)
    assert examples(words) == [line for line in shown if line.startswith("drillbox ")]


@every_command
def test_examples_are_commands_that_are_understood(words: tuple[str, ...]) -> None:
    """Each names a command, the first its own, with options and values that it takes."""
    for number, example in enumerate(examples(words)):
        plain = re.split(r" >>? | \| ", example)[0]
        called = shlex.split(plain)[1:]
        length = 2 if tuple(called[:2]) in EVERY else 1
        name = tuple(called[:length])
        assert number or words == name[: len(words)]
        EVERY[name].make_context(name[-1], called[length:])


def test_help_names_every_command_once_by_what_one_wants_to_do(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The three of every day stand first; no line is cut or wrapped at 80 columns."""
    assert 0 == run(["--help"])
    lines = capsys.readouterr().out.splitlines()
    listed = [line.split()[0] for line in lines if line.startswith("  ") and line[2:3].isalpha()]

    assert ["today", "record", "why"] == listed[listed.index("today") :][:3]
    for name, home in HOMES.items():
        assert 1 == listed.count(name), (name, home)
    assert all(len(line) <= 80 and not line.endswith("...") for line in lines[1:])


@pytest.mark.parametrize(("typed", "meant"), [("todya", "today"), ("recrod", "record")])
def test_a_mistyped_command_gets_the_one_that_was_meant(
    typed: str, meant: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, the usual code of a wrong argument, nothing done."""
    assert 2 == run([typed])
    assert f"drillbox: no command '{typed}'; did you mean '{meant}'?" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (
            ["--hlp"],
            "drillbox: No such option '--hlp'. Did you mean '--help'? See 'drillbox --help'.",
        ),
        (["today", "--min"], None),
    ],
)
def test_a_question_ends_with_its_own_sign_alone(
    typed: list[str], told: str | None, capsys: pytest.CaptureFixture[str]
) -> None:
    """No stop after a question mark, and no question without one."""
    assert 2 == run(typed)
    err = capsys.readouterr().err.rstrip()
    assert told in {None, err}
    assert "?." not in err
    assert "?;" not in err


@pytest.mark.parametrize("page", PAGES)
def test_a_page_of_the_app_typed_as_a_command_names_its_key(
    page: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The key is the one that Today has for it."""
    from textual.binding import Binding

    from drillbox.app.screens.today import Today

    assert 2 == run([page])
    end = f"it is a page of the app: start 'drillbox', then press {PAGES[page]}."
    assert f"drillbox: no command '{page}'; {end}\n" == capsys.readouterr().err
    bindings = [one for one in Today.BINDINGS if isinstance(one, Binding)]
    assert f"app.{page}" in [one.action for one in bindings if one.key == PAGES[page]]
