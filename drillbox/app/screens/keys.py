"""The ? page: the keys of every screen, those of the screen it was opened on first."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from drillbox.app.words import CAUTIONS

if TYPE_CHECKING:
    from textual.app import ComposeResult

PAGES: tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...] = (
    (
        "Today",
        "Today WrapUp",
        (
            ("up down", "choose a card"),
            ("enter", "play it, then the others"),
            ("left right", "today only: five minutes shorter or longer"),
            ("p", "after the day: play on, five minutes more"),
            ("r  a", "where offered: raise outgrown goals; add the next deck"),
            ("u", "at the wrap-up: take the last grade back"),
            ("g", "first day: a tempo check, a dozen cards set every tempo"),
            ("s  w  y", "the shelf, the week, the year"),
            ("t  q", "setup, quit"),
            ("e", "on paper: the plan here, the map on the year's page"),
        ),
    ),
    (
        "The stand: a take",
        "Stand",
        (
            ("space", "start the take; while it runs, pause"),
            ("l", "listen: slow, at tempo, quiet again"),
            ("up down", "tempo one bpm up or down before a take"),
            ("c  b", "another click; another backing, such as the kit"),
            ("m", "ramp: the tempo climbs within the take, or not"),
            ("n", "not today: leave this card"),
            ("u", "take back what was done last: a grade, a card left out"),
            ("y  k", "after a take that was listened to: hear yourself at"),
            ("", "half speed, then as it was; keep its sound in a file"),
            ("r", "save again, after the box refused"),
            ("esc", "leave; the day goes on where it stood"),
        ),
    ),
    (
        "The stand: where should the metronome go next",
        "Stand",
        (
            ("a  down", "fell apart: down 10"),
            ("s  left", "shaky: down 5; the left of the keyboard as well"),
            ("d  space", "steady: stay; the middle of the keyboard as well"),
            ("f  right", "clean: up 5; the right of the keyboard as well"),
            ("g  up", "automatic: up 10"),
            ("", "each to the next mark: fives from 60 up, twos below"),
            ("", "a click or a touch does the same; on a pedal page up"),
            ("", "is shaky, enter steady, page down clean"),
            ("enter", "where a take was listened to: the grade that was heard;"),
            ("", "« early, » late, Ø missing, ? not to be told"),
            ("backspace", "take back the grade before"),
            ("h", "hands-free: the day runs itself; in the rest a foot on"),
            ("", "space grades: 1 tap clean, 2 shaky, 3 fell apart, none"),
            ("", "what was heard"),
        ),
    ),
    (
        "The shelf and a card",
        "Shelf CardPage VocabularyMap",
        (
            ("/  o", "search by words; another order"),
            ("enter  p", "open the card; play it"),
            ("v", "the map: enter plays a cell, c its card, o another map"),
            ("x", "set the card aside, or wake it"),
            ("a", "add a starter deck"),
            ("left right", "on a card: its goal tempo"),
            ("t  u", "on a card: its takes; take the chosen one back"),
            ("y", "on a card: hear the take you kept last, at half speed"),
            ("e", "on paper: the cards shown, or the card"),
            ("esc", "back"),
        ),
    ),
    (
        "The week and the year",
        "WeekPage Year",
        (
            ("h", "on the week: hand your progress in to a teacher"),
            ("left right", "on the year: a shorter or a longer span"),
            ("e", "on paper: the map"),
        ),
    ),
    (
        "Choosing a deck",
        "DeckChoice",
        (
            ("up down", "choose a deck: the list goes on below"),
            ("left right", "its goal tempo five bpm lower or higher"),
            ("l", "hear its first rhythm, or stop it"),
            ("enter", "put it into your box"),
            ("esc", "not now"),
        ),
    ),
    (
        "Setup",
        "Setup",
        (
            ("up down", "choose a setting"),
            ("left right", "change it; every change is kept at once"),
            ("s", "sound check: what the microphone or the pads give"),
            ("esc", "done"),
        ),
    ),
    (
        "Everywhere",
        "",
        (
            ("ctrl+p", "every action and every card by name"),
            ("f2", "dark, light"),
            ("ctrl+z", "back to the shell for a while; fg comes back here"),
            ("?", "this page"),
        ),
    ),
    (
        "Signs",
        "",
        (
            ("v - = + #", "last grades: fell apart, shaky, steady, clean,"),
            ("", "automatic"),
            ("(o)", "ghost note: very quiet"),
            (">o", "accent"),
            ("/  z  f  d", "double, buzz, flam, drag, in the head's place"),
            ("R  L  RL", "which hand; both together"),
            ("F D T U", "its stick: full, down, tap or up stroke"),
        ),
    ),
    (
        "States",
        "",
        (
            ("waiting", "not begun"),
            ("building", "below its goal"),
            ("holding", "at its goal, cold: first try of the day, no warm-up"),
            ("fading", "was at its goal; predicted below it now"),
            ("rested", "set aside by you"),
        ),
    ),
)


class KeysPage(ModalScreen[None]):
    """All keys on one sheet.

    Parameters
    ----------
    on
        The name of the screen it is opened on, whose keys come first.
    """

    BINDINGS: ClassVar = [
        Binding("escape,question_mark,enter,space,q", "close", "back", id="keys.close"),
    ]

    def __init__(self, on: str = "") -> None:
        super().__init__()
        self._on = on

    def compose(self) -> ComposeResult:
        """Write the sheet."""
        pages = sorted(PAGES, key=lambda page: not self._on or self._on not in page[1].split())
        with VerticalScroll(classes="sheet") as sheet:
            sheet.border_title = "Keys"
            sheet.border_subtitle = "esc closes, up and down scroll"
            for title, _, rows in pages:
                yield Static(title, classes="sheet-title")
                yield Static(
                    "\n".join(f"{key:<12} {meaning}" for key, meaning in rows) + "\n", markup=False
                )
            yield Static("Cautions", classes="sheet-title")
            yield Static("\n".join(CAUTIONS), markup=False)

    def action_close(self) -> None:
        """Put the sheet away."""
        self.dismiss(None)
