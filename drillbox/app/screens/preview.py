"""The deck writer's preview.

The file on the left, its cards drawn and sounding on the right, anew after every save.

Nothing is written here: the writer keeps the editor of their choice, in another window.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, Static

from drillbox.app.accompaniment import listening_program
from drillbox.app.styled import StyledApp
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.pattern_view import FRAMES_PER_SECOND, PatternView
from drillbox.app.widgets.row_table import RowTable
from drillbox.base.wording import counted
from drillbox.box.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from drillbox.deckfile import Card, DeckFollower, SavedDeck
    from drillbox.sound import Metronome

LOOK_SECONDS = 0.3


class PreviewApp(StyledApp):
    """The preview by itself."""

    def __init__(self, follower: DeckFollower, open_metronome: Callable[[], Metronome]) -> None:
        super().__init__()
        self._follower = follower
        self._open_metronome = open_metronome

    def get_default_screen(self) -> Preview:
        """Show the preview at once."""
        return Preview(self._follower, self._open_metronome)


class Preview(Screen[None]):
    """A deck file as it was last saved."""

    DEFAULT_CSS = """
    Preview #halves { height: 1fr; }
    Preview #left { width: 1fr; border-right: solid $panel; }
    Preview #right { width: 1fr; }
    Preview #text { height: 1fr; padding: 0 1; }
    Preview #file { text-wrap: nowrap; text-overflow: ellipsis; }
    Preview #errors { height: auto; max-height: 8; padding: 0 1; color: $warning; }
    Preview #news { height: auto; max-height: 5; padding: 0 1; color: $foreground 80%; }
    Preview #cards { height: 1fr; max-height: 12; }
    """
    BINDINGS: ClassVar = [
        Binding("l", "listen", "listen", id="preview.listen", tooltip="Hear the card, or stop"),
        Binding("q,escape", "leave", "quit", id="preview.leave"),
    ]

    def __init__(self, follower: DeckFollower, open_metronome: Callable[[], Metronome]) -> None:
        super().__init__()
        self._follower = follower
        self._open_metronome = open_metronome
        self._metronome: Metronome | None = None
        self._cards: tuple[Card, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay the halves out."""
        yield headline(self._follower.path.name)
        with Horizontal(id="halves"):
            with Vertical(id="left"):
                with VerticalScroll(id="text", can_focus=False):
                    yield Static("", id="file", markup=False)
                yield Static("", id="errors", markup=False)
            with Vertical(id="right"):
                yield Static("", id="news", markup=False)
                yield RowTable((("card", 0), ("goal ", 5)), id="cards")
                yield PatternView(id="pattern")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Look at once, and again after every save."""
        self.query_one(RowTable).focus()
        self._look()
        self.set_interval(LOOK_SECONDS, self._look)
        self.set_interval(1 / FRAMES_PER_SECOND, self._move_playhead)

    def on_unmount(self) -> None:
        """Let the sound device go."""
        if self._metronome is not None:
            self._metronome.close()

    def _look(self) -> None:
        look = self._follower.look()
        if look is not None:
            self._show(look)

    def _show(self, look: SavedDeck) -> None:
        self._silence()
        wrong = {_line(error.where) for error in look.errors}
        lines = look.text.splitlines()
        width = len(str(len(lines)))
        self.query_one("#file", Static).update(
            "\n".join(
                f"{'▶' if number in wrong else ' '}{number:>{width}} {line}"
                for number, line in enumerate(lines, start=1)
            )
        )
        sentences = "\n".join(error.sentence() for error in look.errors)
        self.query_one("#errors", Static).update(sentences)
        if look.errors:
            self.query_one("#clock", Static).update(counted(len(look.errors), "error"))
            above = max(0, min(wrong, default=1) - 3)
            self.query_one("#text", VerticalScroll).scroll_to(y=above, animate=False)
        if look.deck is None:
            return
        self._cards = look.deck.cards
        changed = {card.slug for card in look.changed} if look.clauses else set()
        self.query_one("#clock", Static).update(counted(len(self._cards), "card"))
        self.query_one("#news", Static).update("\n".join(look.clauses) or look.deck.title)
        table = self.query_one(RowTable)
        table.fill(
            [
                (f"{'•' if card.slug in changed else ' '} {card.title}", f"{card.goal_bpm:.0f}")
                for card in self._cards
            ]
        )
        if changed:
            first = next(n for n, card in enumerate(self._cards) if card.slug in changed)
            table.move_to(first)
        self._draw()

    def on_row_table_highlighted(self) -> None:
        """Draw the card that the cursor is on."""
        self._silence()
        self._draw()

    @property
    def _card(self) -> Card | None:
        row = self.query_one(RowTable).cursor_row
        return self._cards[row] if row < len(self._cards) else None

    def _draw(self) -> None:
        if self._card is not None:
            self.query_one(PatternView).show(self._card.pattern)

    def action_listen(self) -> None:
        """Play the card at its goal, or stop."""
        if self._metronome is not None and self._metronome.running:
            self._silence()
            return
        card = self._card
        if card is None:
            return
        if self._metronome is None:
            self._metronome = self._open_metronome()
        bpm = round(card.goal_bpm)
        self._metronome.start(listening_program(card.pattern, bpm, Settings(), slow=False))

    def action_leave(self) -> None:
        """End the preview."""
        self.app.exit(0)

    def _silence(self) -> None:
        if self._metronome is not None:
            self._metronome.stop()
        self.query_one(PatternView).point_at(None)

    def _move_playhead(self) -> None:
        card = self._card
        if self._metronome is None or not self._metronome.running or card is None:
            return
        position = self._metronome.position()
        if position is None or position.done:
            self._silence()
        elif not position.counting_in:
            first = position.bar_in_pass * card.pattern.meter.beats
            self.query_one(PatternView).point_at(first + position.beat + position.fraction)


def _line(where: str) -> int:
    """Return the line in a place such as ``week-3.toml:20:11``; 0 where it names none."""
    parts = where.rsplit(":", 2)
    return int(parts[1]) if len(parts) == 3 and parts[1].isdigit() else 0
