"""A screen without an app: what it decides, and what it tells its parts to show.

The parts only note what they are told, so that a screen is made in a millisecond and a key costs
what the screen does for it. How the parts draw is tried on their own, and the whole in the app.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.screen import Screen
    from textual.widgets.option_list import Option

    from drillbox.base.clock import ManualClock


class Part:
    """A part of a screen: a line, a table, a list, a drawing.

    Attributes
    ----------
    words
        What a line says.
    rows, columns, cursor_row
        What a table shows, and where it is.
    options, highlighted
        What a list offers, and which of it is chosen.
    drawn, place, beat
        What a drawing shows, the place it was given, and where its playhead is.
    went_home
        How often a page was scrolled back to its top.
    """

    def __init__(self) -> None:
        self.words, self.value = "", ""
        self.display = self.visible = True
        self.classes: set[str] = set()
        self.rows: list[tuple[str, ...]] = []
        self.columns: object = None
        self.cursor_row = 0
        self.options: list[Option] = []
        self.highlighted: int | None = None
        self.drawn: tuple[object, object] | None = None
        self.place: tuple[int, int] | None = None
        self.beat: object = None
        self.has_keys = False
        self.went_home = 0

    def update(self, words: str, *, layout: bool = True) -> None:
        """Note what a line says."""
        del layout
        self.words = words

    def set_class(self, add: bool, name: str) -> None:  # noqa: FBT001 - as the library has it
        """Note a class."""
        (self.classes.add if add else self.classes.discard)(name)

    def add_class(self, name: str) -> None:
        """Note a class."""
        self.classes.add(name)

    def remove_class(self, name: str) -> None:
        """Forget a class."""
        self.classes.discard(name)

    def has_class(self, name: str) -> bool:
        """Return whether it has a class."""
        return name in self.classes

    @property
    def has_focus(self) -> bool:
        """Whether the keys were sent here."""
        return self.has_keys

    def focus(self) -> None:
        """Note that the keys go here."""
        self.has_keys = True

    def fill(self, rows: Any, columns: object = None) -> None:
        """Note the rows of a table; the cursor stays within them."""
        self.rows, self.columns = [rows[n] for n in range(len(rows))], columns
        self.move_to(self.cursor_row)

    def move_to(self, row: int) -> None:
        """Note where the cursor is."""
        self.cursor_row = max(0, min(row, len(self.rows) - 1))

    def add_option(self, option: Option) -> None:
        """Note an option."""
        self.options.append(option)

    def clear_options(self) -> None:
        """Forget the options."""
        self.options, self.highlighted = [], None

    def get_option_at_index(self, index: int) -> Option:
        """Return an option."""
        return self.options[index]

    def show(self, pattern: object, *, leading: object = None) -> None:
        """Note what is drawn."""
        self.drawn = (pattern, leading)

    def settle(self, *, width: int, most: int) -> None:
        """Note the place of a drawing."""
        self.place = (width, most)

    def scroll_home(self, *, animate: bool = True) -> None:
        """Note that a page went back to its top."""
        del animate
        self.went_home += 1

    def point_at(self, beat: object) -> None:
        """Note where the playhead is."""
        self.beat = beat


class Timer:
    """Something done again and again, by the test."""

    def __init__(self, seconds: float, callback: Callable[[], object]) -> None:
        self.seconds, self.callback, self.runs = seconds, callback, True

    def stop(self) -> None:
        """Stop."""
        self.runs = False


class Bare:
    """What a screen asks of the library, noted: mixed in before the screen.

    Attributes
    ----------
    parts
        Its parts by their names.
    timers
        What it set going, by the name of what it does.
    told
        Sentences that it had the app say, each with how.
    posted
        Messages to itself or to the app.
    work
        What it gave to threads.
    pushed
        Screens it opened, each with what is done once it closes.
    closed_with
        What it was closed with, each time that it was.
    looked_at_keys
        How often it had its footer look which keys are offered.
    ran
        Actions of the app that it asked for.
    """

    window: tuple[int, int] = (80, 24)
    app: Any = None

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.parts: dict[str, Part] = {}
        self.timers: dict[str, Timer] = {}
        self.told: list[tuple[str, dict[str, Any]]] = []
        self.posted: list[Any] = []
        self.work: list[Callable[[], object]] = []
        self.pushed: list[tuple[Any, Any]] = []
        self.closed_with: list[Any] = []
        self.looked_at_keys = 0
        self.ran: list[str] = []
        self.app = SimpleNamespace(
            push_screen=lambda screen, then=None: self.pushed.append((screen, then)),
            notify=self.notify,
            call_from_thread=lambda call, *args: call(*args),
        )
        super().__init__(*args, **kwargs)

    @property
    def size(self) -> Any:
        """The size of the window."""
        return SimpleNamespace(width=self.window[0], height=self.window[1])

    def part(self, name: str) -> Part:
        """Return a part by its name, or by its kind where there is one of it."""
        return self.parts.setdefault(name, Part())

    def query_one(self, selector: Any, expect_type: Any = None) -> Any:
        """Return a part."""
        del expect_type
        return self.part(selector if isinstance(selector, str) else selector.__name__)

    def set_interval(self, interval: float, callback: Any = None, **_: Any) -> Any:
        """Note it."""
        return self._timer(interval, callback)

    def set_timer(self, delay: float, callback: Any = None, **_: Any) -> Any:
        """Note it."""
        return self._timer(delay, callback)

    def _timer(self, seconds: float, callback: Any) -> Timer:
        self.timers[callback.__name__] = Timer(seconds, callback)
        return self.timers[callback.__name__]

    def refresh_bindings(self) -> None:
        """Note it."""
        self.looked_at_keys += 1

    def dismiss(self, result: Any = None) -> Any:
        """Note it."""
        self.closed_with.append(result)

    def notify(self, message: str, **how: Any) -> None:
        """Note it."""
        self.told.append((message, how))

    def post_message(self, message: Any) -> bool:
        """Note it; refuse it once the screen is closed, as the library does."""
        self.posted.append(message)
        return not self.closed_with

    def run_worker(self, work: Any, *_: Any, thread: bool = False, **__: Any) -> Any:
        """Note it: what takes a second may not run where keys are read."""
        assert thread
        self.work.append(work)

    async def run_action(self, action: str, namespaces: Any = None) -> None:
        """Note it."""
        del namespaces
        self.ran.append(action)

    # what a test does and sees

    def offers(self, action: str) -> bool | None:
        """Return whether the footer offers a key, and the key does something."""
        return cast("Screen[Any]", self).check_action(action, ())

    def line(self, name: str) -> str:
        """Return what a line says."""
        return self.part(name).words

    def wait(self, clock: ManualClock, seconds: float, *names: str) -> None:
        """Let time pass, and do what is then due."""
        clock.forward(seconds=seconds)
        for name in names:
            self.timers[name].callback()

    def rows_of(self, name: str) -> list[tuple[str, ...]]:
        """Return the rows of a table."""
        return self.part(name).rows
