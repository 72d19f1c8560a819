"""The tree of commands. A command's module loads when the command runs or its help is asked for."""

from __future__ import annotations

import importlib
import sys
from functools import partial
from typing import Any

import click

from drillbox import __version__
from drillbox.cli.command_table import COMMANDS, HOMES
from drillbox.cli.help_text import keep_examples
from drillbox.cli.problems import guarded
from drillbox.cli.streams import carry_any_text, open_missing, reader_may_leave
from drillbox.errors import UsageError

PAGES = {"week": "w", "shelf": "s", "setup": "t"}
"""Pages of the app that no command prints, and the key of Today that opens each."""


class LateGroup(click.Group):
    """A group whose commands live in modules that are imported when they are needed."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._known: dict[str, click.Command] = {}

    def make_context(self, *given: Any, **named: Any) -> click.Context:
        """Read the arguments, and print the help where they ask for it."""
        with reader_may_leave():
            return super().make_context(*given, **named)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        with reader_may_leave():
            return super().invoke(ctx)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order a player meets them."""
        del ctx
        return list(HOMES)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command's module and return the command."""
        if cmd_name not in HOMES:
            return super().get_command(ctx, cmd_name)
        module = importlib.import_module(f"drillbox.cli.{HOMES[cmd_name]}")
        if cmd_name not in self._known:
            self._known[cmd_name] = keep_examples(getattr(module, f"{cmd_name}_command"))
        return self._known[cmd_name]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Print the commands by what one wants to do, from the table alone."""
        del ctx
        widest = max(map(len, HOMES))
        for title, commands in COMMANDS.items():
            with formatter.section(title):
                formatter.write_dl(
                    [(f"{name:<{widest}}", command.line) for name, command in commands.items()]
                )

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that was typed, or say which one was probably meant."""
        if args and args[0] not in HOMES and not args[0].startswith("-"):
            fix = f"it is a page of the app: start 'drillbox', then press {PAGES.get(args[0])}"
            if args[0] not in PAGES:
                from drillbox.base.wording import did_you_mean

                lists = "'drillbox --help' lists the commands"
                fix = did_you_mean(args[0], HOMES, otherwise=lists)
            raise UsageError(f"no command {args[0]!r}", fix=fix)
        return super().resolve_command(ctx, args)


@click.group(
    cls=LateGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "--box",
    "box_path",
    metavar="FILE",
    help="The box to use. Default: the file that DRILLBOX_BOX names, else one in your data folder.",
)
@click.version_option(__version__, prog_name="drillbox")
@click.pass_context
def drillbox(ctx: click.Context, box_path: str | None) -> int | None:
    """Practise rhythmic vocabulary: what to play today, at what tempo, and why.

    Without a command, the app opens in the terminal: today's plan, the stand with its click, the
    shelf. Every command has a --help of its own, with examples.
    """
    ctx.obj = box_path
    if ctx.invoked_subcommand is not None:
        return None
    from drillbox.cli.wiring import run_app

    return run_app(box_path)


def run(arguments: list[str] | None = None) -> int:
    """Run a command line; returns the exit code, and lets no traceback out."""
    given = sys.argv[1:] if arguments is None else arguments
    open_missing()
    carry_any_text()
    return guarded(partial(drillbox.main, args=given, prog_name="drillbox", standalone_mode=False))
