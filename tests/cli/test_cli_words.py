"""What the command line says of itself and of what it cannot do, read as a person reads it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click
import pytest

from drillbox.cli.main import drillbox

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cli_kit import Player


def commands(
    group: click.Group, words: tuple[str, ...] = ()
) -> Iterator[tuple[str, click.Command]]:
    """Give every command there is, with what calls it."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield " ".join((*words, name)), command
        if isinstance(command, click.Group):
            yield from commands(command, (*words, name))


def test_no_line_of_a_list_of_commands_is_cut() -> None:
    """Click ends a long first sentence with three dots; each of ours has a line that fits."""
    for words, command in commands(drillbox):
        if " " in words:
            assert "..." not in command.get_short_help_str(58), words


def test_every_option_says_what_it_is_and_what_it_is_otherwise() -> None:
    """A sentence for each, and a default where there is one."""
    for words, command in commands(drillbox):
        for option in command.params:
            if isinstance(option, click.Option):
                assert option.help, (words, option.name)
                assert option.help.endswith("."), (words, option.name)
                told = option.show_default or "efault" in option.help or option.is_flag
                usual = option.default if option.nargs == 1 and not option.multiple else None
                assert told or usual in {None, "", 0, 1} or repr(usual) == "Sentinel.UNSET", words


SAID = """\
goals e --to abc -> 2
    --to: 'abc' is no whole number; see 'drillbox goals --help'.
goals e --to 1000 -> 2
    --to: 1000 is not from 20 to 400; see 'drillbox goals --help'.
record e 9 c --seconds x -> 2
    --seconds: 'x' is no number; see 'drillbox record --help'.
today --minutes 0 -> 2
    --minutes: 0 is not from 1 to 240; see 'drillbox today --help'.
progress -> 2
    say what to do with your progress; write it with 'drillbox progress export FILE'.
record e 92 s -> 2
    's' may be shaky or steady; write more of it.
record e 92 -> 2
    cannot read 'e 92' as a take; write CARD BPM GRADE, such as e-and-a 92 steady.
track mia.mp3 e -> 2
    mia.mp3: a track is a WAV file; name it such as mia.wav.
decks remove x -> 5
    x: no such deck in the box; 'drillbox decks' lists them.
decks archive x -> 5
    x: no such deck in the box; 'drillbox decks' lists them.
progress export a.jsonl --deck x -> 5
    x: no such deck in the box; 'drillbox decks' lists them.
cards speed>90 -> 2
    a card has no number called 'speed'; compare cold, goal, takes, away, slips.
vocabulary x -> 5
    no deck 'x' in the box; 'drillbox decks' lists them.
why -> 2
    Missing argument 'CARD'; see 'drillbox why --help'.
learn x -> 2
    Got unexpected extra argument (x); see 'drillbox learn --help'.
undo 12 -> 5
    no take '12' in the box; 'drillbox card CARD' lists a card's takes with their ids.
"""
"""Commands, their exit codes, and what they say."""


@pytest.mark.parametrize("told", SAID.replace("\n    ", "\t").splitlines())
def test_what_cannot_be_done_is_said_with_what_can(player: Player, told: str) -> None:
    """One sentence: what was read, what is allowed or what to do; nothing on standard output."""
    asked, said = told.split("\t")
    words, code = asked.split(" -> ")
    assert (int(code), "", f"drillbox: {said}\n") == player(*words.split())


@pytest.mark.parametrize(
    "words",
    ["record e 6_0 steady --sure", "record e 60 steady --seconds 4_0", "set minutes 1_5",
     "goals e --by 1_0", "today --minutes 1_5"],
)  # fmt: skip
def test_a_number_has_no_underscore(player: Player, words: str) -> None:
    """Python passes over one between digits; a slip of the finger is no tempo ten times as high."""
    said = player(*words.split())
    assert (2, "") == (said.code, said.out)
