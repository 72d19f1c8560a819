"""What a screen does when the box refuses: it says the sentence and stays as it was."""

from __future__ import annotations

from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, Protocol, TypeVar, runtime_checkable

from textual.app import App
from textual.screen import Screen

from drillbox.errors import BoxDamagedError, BoxError, DrillboxError

if TYPE_CHECKING:
    from collections.abc import Callable

S = TypeVar("S", bound=Screen[Any] | App[Any])
D = TypeVar("D", bound=Screen[Any])
P = ParamSpec("P")

LOOK_AGAIN_SECONDS = 1.0
SHOWN_SECONDS = 10.0


@runtime_checkable
class SaysRefusals(Protocol):
    """A screen with a line of its own for them, where a notice would cover what is needed."""

    def say_refusal(self, sentence: str) -> None:
        """Show the sentence."""


def says_refusals(
    action: Callable[Concatenate[S, P], None],
) -> Callable[Concatenate[S, P], None]:
    """Let an action end with a notice, not with the program, when the box refuses."""

    @wraps(action)
    def said(where: S, /, *args: P.args, **kwargs: P.kwargs) -> None:
        try:
            action(where, *args, **kwargs)
        except DrillboxError as refusal:
            _say(where, refusal)

    return said


def draws_when_it_can(
    draw: Callable[Concatenate[D, P], None],
) -> Callable[Concatenate[D, P], None]:
    """Let a screen stay as it was while the box cannot be read, and draw it once it can.

    A damaged file is not asked again: it does not mend itself.
    """
    refused = f"_{draw.__name__}_was_refused"

    @wraps(draw)
    def drawn(screen: D, /, *args: P.args, **kwargs: P.kwargs) -> None:
        try:
            draw(screen, *args, **kwargs)
        except DrillboxError as refusal:
            if not getattr(screen, refused, False):
                _say(screen, refusal)
            setattr(screen, refused, True)
            if isinstance(refusal, BoxError) and not isinstance(refusal, BoxDamagedError):
                screen.set_timer(LOOK_AGAIN_SECONDS, lambda: drawn(screen, *args, **kwargs))
        else:
            setattr(screen, refused, False)

    return drawn


def _say(where: Screen[Any] | App[Any], refusal: DrillboxError) -> None:
    screen = where.screen if isinstance(where, App) else where
    if isinstance(screen, SaysRefusals):
        screen.say_refusal(refusal.sentence())
    else:
        say_over(where, refusal.sentence())


def say_over(where: Screen[Any] | App[Any], sentence: str) -> None:
    """Say why something was not done in a notice over the page, for `SHOWN_SECONDS`."""
    where.notify(sentence, severity="error", timeout=SHOWN_SECONDS, markup=False)
