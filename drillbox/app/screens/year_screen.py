"""The player's year.

Vocabulary in hand and the families' tempos as plots over a span to choose; minutes by day, what
comes back when, records, the map. The page stands at once and says what is known; the plots follow
as soon as their library is loaded.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.beside import loaded_beside
from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.base.now import long_day
from drillbox.report.year import (
    FAMILY_SIGNS,
    FIRST_DAY,
    IN_HAND_TITLE,
    NOTHING,
    below_the_plots,
    states_line,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.app.widgets.dated_plot import DatedPlot, Picture
    from drillbox.report.in_hand import LookBack
    from drillbox.report.year_figures import FamilyCurve

SPANS = (("three months", 91), ("a year", 365), ("everything", 1_000_000))
"""What the plots can show, in days up to today."""
FAMILIES_TITLE = "Cold tempo by family, the mean of its cards"


class Year(Screen[None]):
    """One page to scroll through."""

    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (120, "-wide")]  # noqa: RUF012 - as Textual has it
    VERTICAL_BREAKPOINTS = [(0, "-short"), (40, "-tall")]  # noqa: RUF012 - as Textual has it
    DEFAULT_CSS = """
    Year #plots { height: auto; }
    Year #plots > Vertical { height: auto; margin-bottom: 1; }
    Year.-wide #plots { layout: horizontal; }
    Year.-wide #plots > Vertical { width: 1fr; margin-right: 2; }
    Year.-tall DatedPlot { height: 20; }
    Year .plot-title { text-style: bold; }
    """
    BINDINGS: ClassVar = [
        Binding(
            "left", "span(-1)", "shorter", id="year.shorter", tooltip="Show less", priority=True
        ),
        Binding("right", "span(1)", "longer", id="year.longer", tooltip="Show more", priority=True),
        Binding("s", "app.shelf", "shelf", id="year.shelf"),
        Binding("e", "paper", "on paper", id="year.paper", show=False),
        Binding("question_mark", "app.keys", "keys", id="year.keys", key_display="?"),
        Binding("escape", "back", "back", id="year.back"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._span = len(SPANS) - 1
        self._at = desk.clock.now()
        self._done: LookBack | None = None
        self._families: tuple[FamilyCurve, ...] = ()
        self._plots_stand = False

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield headline("The year")
        with VerticalScroll(id="year"):
            with Vertical(id="plots"):
                with Vertical(id="in-hand"):
                    yield Static("", id="in-hand-title", classes="plot-title", markup=False)
                    yield Static("", id="in-hand-words", markup=False)
                with Vertical(id="families"):
                    yield Static("", id="families-title", classes="plot-title", markup=False)
                    yield Static("", id="families-words", markup=False)
            yield Static("Reading what was played …", id="year-text", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Take the keys to the page, so that the arrows scroll it; fill it once it stands."""
        self.query_one("#year").focus()
        self.call_after_refresh(self.draw)

    @draws_when_it_can
    def draw(self) -> None:
        """Read what was played, tell it, and let the plots follow."""
        from drillbox.report.in_hand import look_back  # noqa: PLC0415 - numpy, once the page stands
        from drillbox.report.year_figures import family_curves  # noqa: PLC0415 - the same

        box, now = self._desk.box, self._desk.clock.now()
        self._at, self._done = now, look_back(box, at=now)
        if not self._done.minutes:
            self.query_one("#year-text", Static).update("\n\n".join(NOTHING))
            return
        self.query_one("#in-hand-title", Static).update(IN_HAND_TITLE)
        one_day = self._done.last == self._done.first
        states = states_line(box, now)
        self.query_one("#in-hand-words", Static).update(
            f"{FIRST_DAY}\n{states}" if one_day else states
        )
        self._tell()
        if not one_day:
            self._families = family_curves(box, at=now)
            self.call_after_refresh(self._plot)

    @draws_when_it_can
    def on_resize(self) -> None:
        """Draw for the new width."""
        if self._done is not None and self._done.minutes:
            self._tell()

    def _tell(self) -> None:
        """Show what is text, at the width there is."""
        if self._done is None:
            return
        width = max(self.size.width - 4, 40)
        sections = below_the_plots(self._desk.box, self._done, at=self._at, width=width)
        text = "\n\n".join(f"{title}\n\n{body}" for title, body in sections)
        self.query_one("#year-text", Static).update(text)

    @work(exclusive=True)
    async def _plot(self) -> None:
        """Load the plotting library beside the page, then put the plots in their places."""
        plots = await loaded_beside(self, "drillbox.app.widgets.dated_plot")
        if plots is None:
            return
        for place in ("in-hand", "families"):
            if place == "families" and not self._families:
                continue
            if not self.query(f"#{place}-plot"):
                plot: DatedPlot = plots.DatedPlot(id=f"{place}-plot")
                self.query_one(f"#{place}").mount(plot, after=f"#{place}-title")
        self._plots_stand = True
        self._show_span()

    def _show_span(self) -> None:
        """Show the span that was chosen in both plots, and say which it is."""
        done = self._done
        if done is None or not self._plots_stand:
            return
        name, days = SPANS[self._span]
        first = max(done.first, done.last - days + 1)
        self.query_one("#clock", Static).update(f"{name}: {long_day(first)} to today")
        plots = import_module("drillbox.app.widgets.dated_plot")
        curve = plots.Curve(range(done.first, done.last + 1), done.in_hand)
        shown: list[tuple[str, Picture]] = [
            (
                "#in-hand-plot",
                plots.Picture(first, done.last, done.last, (curve.since(first),), from_zero=True),
            )
        ]
        if self._families:
            curves = tuple(
                plots.Curve(one.days, one.bpm, sign).since(first)
                for sign, one in zip(FAMILY_SIGNS, self._families, strict=False)
            )
            shown.append(("#families-plot", plots.Picture(first, done.last, done.last, curves)))
            self.query_one("#families-title", Static).update(FAMILIES_TITLE)
            self.query_one("#families-words", Static).update(_named(self._families))
        for place, picture in shown:
            self.query_one(place, plots.DatedPlot).show(picture)

    def action_span(self, step: int) -> None:
        """Choose a shorter or a longer span; plots that are not there yet will begin with it."""
        self._span = min(max(self._span + step, 0), len(SPANS) - 1)
        self._show_span()

    @says_refusals
    def action_paper(self) -> None:
        """Show the map of the vocabulary as a sheet."""
        from drillbox.app.paper import map_on_paper  # noqa: PLC0415 - loads when asked for

        map_on_paper(self.app, self._desk)

    def action_back(self) -> None:
        """Go back."""
        self.dismiss(None)


def _named(families: Sequence[FamilyCurve]) -> str:
    """Return which sign is which family, and where it stands."""
    return " | ".join(
        f"{sign} {one.name}, {one.bpm[-1]:.0f} of {one.goal_bpm:.0f}"
        for sign, one in zip(FAMILY_SIGNS, families, strict=False)
    )
