"""What a screen does when the box refuses: it says the sentence and stays as it was."""

from __future__ import annotations

from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar

from textual.screen import Screen

from drillbox.errors import DrillboxError

if TYPE_CHECKING:
    from collections.abc import Callable

S = TypeVar("S", bound=Screen[Any])
P = ParamSpec("P")


def says_refusals(
    action: Callable[Concatenate[S, P], None],
) -> Callable[Concatenate[S, P], None]:
    """Let an action end with a notice, not with the program, when the box refuses."""

    @wraps(action)
    def said(screen: S, /, *args: P.args, **kwargs: P.kwargs) -> None:
        try:
            action(screen, *args, **kwargs)
        except DrillboxError as refusal:
            screen.notify(refusal.sentence(), severity="error", timeout=10, markup=False)

    return said
