"""The command that makes the shell complete what is typed.

Completion; and what it completes card names with.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.cli.output import say
from drillbox.cli.wiring import box_path, clock
from drillbox.errors import DrillboxError

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

VARIABLE = "_DRILLBOX_COMPLETE"


@click.command("completion")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion_command(shell: str) -> None:
    """Print the script that makes SHELL complete commands, options, cards, decks and settings.

    For example:
      drillbox completion bash >> ~/.bashrc
      drillbox completion zsh > ~/.zfunc/_drillbox
      drillbox completion fish > ~/.config/fish/completions/drillbox.fish
    """
    from click.shell_completion import get_completion_class

    from drillbox.cli.main import drillbox

    found = get_completion_class(shell)
    if found is not None:
        say(found(drillbox, {}, "drillbox", VARIABLE).source())


def card_names(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Return the cards that a started name may mean, for the shell.

    Of a box that cannot be read, none.
    """
    from click.shell_completion import CompletionItem

    from drillbox.box import Box

    del param
    try:
        with Box.open(
            box_path(ctx.find_root().params.get("box_path")), clock=clock(), read_only=True
        ) as box:
            cards = box.cards(at=clock().now())
    except DrillboxError:
        return []
    names = {
        name: card.title
        for card in cards
        for place in card.places
        for name in (place, place.partition("/")[2])
    }
    return [CompletionItem(n, help=t) for n, t in sorted(names.items()) if n.startswith(incomplete)]


def setting_names(
    ctx: click.Context, param: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """Return the settings whose names start so."""
    from click.shell_completion import CompletionItem

    from drillbox.box.setting_kinds import KINDS

    del ctx, param
    names = {key.replace("_", "-"): kind.about for key, kind in KINDS.items()}
    return [CompletionItem(n, help=about) for n, about in names.items() if n.startswith(incomplete)]
