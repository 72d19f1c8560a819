"""Small windows: footers, zones and the palette, where every column counts."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from textual.widgets._footer import FooterKey

from drillbox.app.palette import begun_words
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.today import FEWEST_TO_CHECK
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.grade_zones import Zone
from drillbox.box import Box
from drillbox.deckfile import read_starter_decks
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, press, screen_text, settle, shows, to_the_question

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.app.app import DrillboxApp
    from drillbox.base.clock import ManualClock


def cut(app: DrillboxApp) -> list[str]:
    """Return the keys of the footer that do not stand in it whole."""
    footer = app.screen.query_one(FitFooter)
    shown = [key for key in footer.query(FooterKey) if key.display]
    assert shown
    return [key.description for key in shown if key.region.right > footer.region.right]


async def test_no_key_of_a_footer_is_cut(box: Box, clock: ManualClock) -> None:
    """On Today and at the stand, before and after a take, narrow and wide."""
    app = make_app(box, clock)

    async def cut_somewhere() -> set[str]:
        """Draw the window narrower and wider, and return what is cut."""
        found: set[str] = set()
        for width in (40, 68, 96):
            await pilot.resize_terminal(width, 24)
            await settle(pilot)
            assert width == app.screen.query_one(FitFooter).size.width
            found |= {f"{key} at {width}" for key in cut(app)}
        return found

    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert set() == await cut_somewhere()
        await press(pilot, "enter")
        assert set() == await cut_somewhere()
        await press(pilot, "l", "l", "l")
        assert set() == await cut_somewhere()
        await to_the_question(pilot, clock)
        assert set() == await cut_somewhere()


async def test_a_day_that_is_over_offers_the_year_at_eighty_columns(
    box: Box, clock: ManualClock
) -> None:
    """Where p plays on, the year, the keys and the way out have room as well."""
    box.record(box.find("e"), bpm=60, grade=Grade.SHAKY, at=clock.now(), seconds=15 * 60)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert await shows(pilot, "Done for today")
        assert await shows(pilot, "p play on")  # the footer is drawn after what the day says
        last = screen_text(app).splitlines()[-1]

    assert all(words in last for words in ("p play on", "w week", "y year", "? keys", "q quit"))


async def test_the_way_out_has_room_on_a_first_day(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """Where a tempo check is offered, the keys, the way out and the setup have room as well."""
    deck = next(deck for deck in read_starter_decks() if len(deck.cards) >= FEWEST_TO_CHECK)
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        box.put_deck(deck, at=clock.now())
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            assert await shows(pilot, "g tempo check s shelf")
            last = screen_text(app).splitlines()[-1]

    assert all(words in last for words in ("? keys", "q quit", "^p find", "t setup"))


async def test_listening_says_how_it_ends(box: Box, clock: ManualClock) -> None:
    """No footer is up while something sounds: the line under the beat has the keys."""
    app = make_app(box, clock)
    async with app.run_test(size=(60, 20)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "l")
        assert await shows(pilot, "listening, slow: l at tempo, space starts the take")
        await press(pilot, "l")
        assert await shows(pilot, "listening, at tempo: l stops, space starts the take")
        await press(pilot, "l")

        assert "listening" not in screen_text(app)


async def test_a_zone_has_its_word_in_its_first_frame(box: Box, clock: ManualClock) -> None:
    """Made for the size it has then; without room for a word it has the arrow alone."""
    app = make_app(box, clock)
    async with app.run_test(size=(60, 20)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await to_the_question(pilot, clock)
        assert isinstance(app.screen, Stand)
        zones = {zone.grade: zone for zone in app.screen.query(Zone)}

        assert all(grade.label in str(zone.render()) for grade, zone in zones.items())
        assert ("← left", "→") == (
            zones[Grade.SHAKY].border_subtitle,
            zones[Grade.CLEAN].border_subtitle,
        )


@pytest.mark.parametrize(
    ("typed", "text", "spans"),
    [
        ("rock", "year", []),
        ("rock", "vocabulary in hand, minutes, what comes back", []),
        ("ye", "year", [(0, 2)]),
        ("Beat doub", "a of every beat, doubled", [(11, 15), (17, 21)]),
        ("beat tripled", "a of every beat, doubled", []),
        (" , ", "year", []),
    ],
)
def test_the_palette_finds_words_by_their_beginnings(
    typed: str, text: str, spans: list[tuple[int, int]]
) -> None:
    """Every typed word begins one of the name, in any case; scattered letters find nothing."""
    assert spans == begun_words(typed, text)
