"""The ? page: every key of every screen, the signs, the grades, the cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from drillbox.app.words import CAUTIONS

if TYPE_CHECKING:
    from textual.app import ComposeResult

PAGES: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        "Today",
        (
            ("enter", "to the stand"),
            ("left right", "five minutes less or more a day"),
            ("g", "sounding, on a first day: a dozen cards set every starting tempo"),
            ("s  y  t  q", "shelf, year, setup, quit"),
            ("p", "on paper: the plan here, the map on the year's page"),
        ),
    ),
    (
        "The stand",
        (
            ("space", "start the take; while it runs, pause"),
            ("a", "fell apart: the metronome should go down 10"),
            ("s", "shaky: down 5"),
            ("d", "steady: it may stay"),
            ("f", "clean: up 5"),
            ("g", "automatic: up 10"),
            ("l", "listen: slow, at tempo, quiet again"),
            ("u", "take the last grade back and grade again"),
            ("n", "not today: leave this card"),
            ("up down", "tempo one bpm up or down before a take"),
            ("c  b", "another click; another backing (with the kit, without the snare)"),
            ("m", "ramp: the tempo climbs within the take, or not"),
            ("h", "hands-free: the day runs itself; a foot on space, enter or a"),
            ("", "page key grades in the rest: 1 tap clean, 2 shaky, 3 fell apart"),
            ("r", "save again, after the disk refused"),
            ("esc", "leave; the day goes on where it stood"),
        ),
    ),
    (
        "The shelf and a card",
        (
            ("/  o", "search by words; another order"),
            ("enter", "open the card"),
            ("x", "set the card aside, or wake it"),
            ("a", "add a starter deck"),
            ("left right", "on a card: its goal tempo"),
            ("p", "on paper: the cards shown, or the card"),
            ("esc", "back"),
        ),
    ),
    (
        "Signs",
        (
            ("(o)", "ghost note: very quiet"),
            (">o", "accent"),
            ("_o", "tap: low, unaccented"),
            ("/  z  f  d", "double, buzz, flam, drag, in the head's place"),
            ("O  +", "open hat, and what closes it"),
            ("R  L  RL", "which hand; both together"),
            ("F D T U", "what its stick does: full, down, tap or up stroke"),
        ),
    ),
    (
        "States",
        (
            ("waiting", "not begun"),
            ("building", "below its goal"),
            ("holding", "at its goal, cold"),
            ("fading", "was at its goal; predicted below it now"),
            ("rested", "set aside by you"),
        ),
    ),
)


class KeysPage(ModalScreen[None]):
    """All keys on one sheet."""

    BINDINGS: ClassVar = [
        Binding("escape,question_mark,enter,space,q", "close", "back", id="keys.close"),
    ]

    def compose(self) -> ComposeResult:
        """Write the sheet."""
        with VerticalScroll(classes="sheet"):
            for title, rows in PAGES:
                yield Static(title, classes="sheet-title")
                yield Static(
                    "\n".join(f"{key:<12} {meaning}" for key, meaning in rows) + "\n", markup=False
                )
            yield Static("Cautions", classes="sheet-title")
            yield Static("\n".join(CAUTIONS), markup=False)

    def action_close(self) -> None:
        """Put the sheet away."""
        self.dismiss(None)
