"""The app: which screen follows which. A list of short delegations, and nothing else."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding

from drillbox.app.ending import leave_cleanly_on_signals
from drillbox.app.file_check import check_in_background
from drillbox.app.refusals import LOOK_AGAIN_SECONDS, says_refusals
from drillbox.app.screens.today import Today
from drillbox.app.styled import StyledApp
from drillbox.errors import BoxError, DrillboxError

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.command import Provider

    from drillbox.app.desk import Desk
    from drillbox.app.screens.hand_over import PathSheet


def _places() -> type[Provider]:
    from drillbox.app.palette import Places  # noqa: PLC0415 - when the palette opens

    return Places


def _cards() -> type[Provider]:
    from drillbox.app.palette import Cards  # noqa: PLC0415 - when the palette opens

    return Cards


class DrillboxApp(StyledApp):
    """drillbox in the terminal."""

    ENABLE_COMMAND_PALETTE = True
    COMMANDS: ClassVar = {_places, _cards}
    BINDINGS: ClassVar = [
        *StyledApp.BINDINGS,
        Binding("question_mark", "keys", "keys", id="app.keys", show=False),
    ]

    def __init__(self, open_desk: Callable[[], Desk]) -> None:
        super().__init__()
        self._open_desk = open_desk
        self._opened: Desk | None = None
        self.refusal: DrillboxError | None = None

    @property
    def desk(self) -> Desk:
        """What the app works with, opened when it is first asked for: after the first frame."""
        if self._opened is None:
            self._opened = self._open_desk()
        return self._opened

    def get_default_screen(self) -> Today:
        """Start on Today."""
        return Today(lambda: self.desk)

    def card_titles(self) -> dict[str, str]:
        """Return the titles of all cards; none where the box refuses."""
        with suppress(BoxError):
            entries = self.desk.box.entries().items()
            return {card_id: entry.row.title for card_id, entry in entries}
        return {}

    def on_mount(self) -> None:
        """Draw a first frame, then open all else."""
        leave_cleanly_on_signals(self)
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        """Open the desk, and ask for a first deck where there is none.

        Where it cannot be opened the app ends, and `refusal` says why.
        """
        try:
            desk = self.desk
        except DrillboxError as refusal:
            self.refusal = refusal
            self.exit(return_code=refusal.exit_code)
            return
        self.set_keymap(dict(desk.keymap))
        self.set_interval(LOOK_AGAIN_SECONDS, self._save_again)
        today = self.screen
        if isinstance(today, Today):
            today.draw()
        self._welcome()
        check_in_background(self, desk)

    def _save_again(self) -> None:
        """Try again to save what waits, and do not let Today go on saying that it is not saved."""
        waiting = len(self.desk.unsaved.takes)
        self.desk.unsaved.retry_when_due()
        if len(self.desk.unsaved.takes) < waiting and isinstance(self.screen, Today):
            self.screen.say_done("" if self.desk.unsaved.takes else "All is saved.")

    @says_refusals
    def _welcome(self) -> None:
        if not self.desk.box.cards_in_box:
            self._choose_deck(first_start=True)

    def on_unmount(self) -> None:
        """Let the sound device go."""
        if self._opened is not None:
            self._opened.close()

    def action_home(self) -> None:
        """Go back to Today."""
        while not isinstance(self.screen, Today):
            self.pop_screen()

    def action_tempo_check(self) -> None:
        """Go to the stand for a first day that finds out where every card stands."""
        self.play(tempo_check=True)

    @says_refusals
    def action_play_on(self) -> None:
        """Make today five minutes longer, and go on at the stand."""
        self.action_home()
        today = self.screen
        if isinstance(today, Today):
            today.action_minutes(1)
            self.play()

    def on_today_play(self, event: Today.Play) -> None:
        """Take the card chosen on Today to the stand."""
        self.play(event.card_id)

    @says_refusals
    def play(self, card_id: str = "", *, tempo_check: bool = False) -> None:
        """Go to the stand with a card of today's plan, or its first one, if it has any."""
        if isinstance(self.screen, Today) and self.screen.has_items:
            self.action_play_card(card_id, tempo_check=tempo_check)

    @says_refusals
    def action_play_card(
        self, card_id: str, *, tempo_check: bool = False, undoes: bool = False
    ) -> None:
        """Take any card to the stand; the day's plan goes on after it."""
        from drillbox.app.screens.stand import Stand  # noqa: PLC0415 - loads when opened

        stand = Stand(self.desk, tempo_check=tempo_check, first=card_id, undoes=undoes)
        self.push_screen(stand, partial(self._after_stand, checked=tempo_check))

    def action_take_back(self) -> None:
        """Take today's last grade back, and ask for it again at the stand."""
        self.action_home()
        self.action_play_card("", undoes=True)

    def action_week(self) -> None:
        """Open the week."""
        from drillbox.app.screens.week import WeekPage  # noqa: PLC0415 - loads when opened

        self.push_screen(WeekPage(self.desk))

    def _after_stand(self, over: bool | None, *, checked: bool) -> None:  # noqa: FBT001 - a callback
        if over:
            from drillbox.app.screens.wrapup import WrapUp  # noqa: PLC0415 - loads when opened

            self.push_screen(WrapUp(self.desk, checked=checked))

    @says_refusals
    def action_shelf(self) -> None:
        """Open the shelf."""
        from drillbox.app.screens.shelf_screen import Shelf  # noqa: PLC0415 - loads when opened

        self.push_screen(Shelf(self.desk))

    def action_map(self) -> None:
        """Open the map of the vocabulary."""
        from drillbox.app.screens.vocabulary_map import VocabularyMap  # noqa: PLC0415 - when opened

        self.push_screen(VocabularyMap(self.desk))

    @says_refusals
    def action_year(self) -> None:
        """Open the year."""
        from drillbox.app.screens.year_screen import Year  # noqa: PLC0415 - loads when opened

        self.push_screen(Year(self.desk))

    @says_refusals
    def action_setup(self) -> None:
        """Open the settings."""
        from drillbox.app.screens.setup import Setup  # noqa: PLC0415 - loads when opened

        self.push_screen(Setup(self.desk))

    def action_keys(self) -> None:
        """Open the page of keys."""
        from drillbox.app.screens.keys import KeysPage  # noqa: PLC0415 - loads when opened

        if not isinstance(self.screen, KeysPage):
            self.push_screen(KeysPage(type(self.screen).__name__))

    @says_refusals
    def action_card(self, card_id: str) -> None:
        """Open a card's page."""
        from drillbox.app.screens.card import CardPage  # noqa: PLC0415 - loads when opened

        self.push_screen(CardPage(self.desk, card_id))

    def action_play_today(self) -> None:
        """Take today's first card to the stand."""
        self.action_home()
        self.play()

    def action_add_deck(self) -> None:
        """Choose another starter deck."""
        self._choose_deck(first_start=False)

    @says_refusals
    def action_take_in(self) -> None:
        """Ask for the file of a teacher's reply, and take it in."""
        from drillbox.app.screens.hand_over import TakeInSheet  # noqa: PLC0415 - loads when opened

        self._ask_for_file(TakeInSheet(self.desk))

    @says_refusals
    def action_hand_in(self) -> None:
        """Show what a progress file tells, ask where it goes, and write it."""
        from drillbox.app.screens.hand_over import HandInSheet  # noqa: PLC0415 - loads when opened

        self._ask_for_file(HandInSheet(self.desk))

    def _ask_for_file(self, sheet: PathSheet) -> None:
        self.action_home()
        self.push_screen(sheet, self._after_file)

    def _after_file(self, done: str | None) -> None:
        if done and isinstance(self.screen, Today):
            self.screen.say_done(done)

    def _choose_deck(self, *, first_start: bool) -> None:
        from drillbox.app.screens.welcome import DeckChoice  # noqa: PLC0415 - loads when opened
        from drillbox.deckfile import starter_decks  # noqa: PLC0415 - only where decks are chosen

        self.push_screen(DeckChoice(self.desk, starter_decks(), first_start=first_start))
