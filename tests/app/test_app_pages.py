"""Every screen as a player sees it, at the sizes that matter, and what its keys do."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.app import DrillboxApp
from drillbox.app.day_sheet import DONE_COLUMNS, done_rows, gone_words
from drillbox.app.desk import Desk
from drillbox.app.paper import map_on_paper, plan_on_paper
from drillbox.app.screens import today
from drillbox.app.screens.card import CardPage
from drillbox.app.screens.setup import NAMES
from drillbox.app.screens.shelf_screen import ORDERS, Shelf
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.today import Today
from drillbox.app.screens.vocabulary_map import VocabularyMap
from drillbox.app.screens.wrapup import WrapUp
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.tempo_bar import tempo_bar
from drillbox.box import Box
from drillbox.box.setting_kinds import BACKINGS, CLICKS
from drillbox.box.settings import Settings
from drillbox.deckfile import parse_deck
from drillbox.errors import NotSavedError, UsageError
from drillbox.memory import Grade
from drillbox.report.year import FIRST_DAY
from drillbox.sound import Metronome, SilentClock

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import check_screen, make_app, play, press, said, screen_text, settle, shows
from still_desk import still_desk

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.base.clock import ManualClock


@pytest.fixture
def lived(box: Box, clock: ManualClock) -> Box:
    """Return the box after three weeks: one card holds, one is being built, two wait."""
    e, a = box.find("e"), box.find("a")
    for day, bpm, grade in (
        (0, 70, Grade.CLEAN), (1, 78, Grade.CLEAN), (2, 88, Grade.AUTOMATIC), (5, 95, Grade.CLEAN),
        (9, 98, Grade.CLEAN), (16, 100, Grade.CLEAN), (20, 104, Grade.AUTOMATIC),
    ):  # fmt: skip
        clock.forward(days=day - clock.seconds() / 86_400)
        box.record(e, bpm=bpm, grade=grade, at=clock.now(), seconds=40)
        box.record(a, bpm=bpm - 30, grade=Grade(grade - 2), at=clock.now(), seconds=40)
    clock.forward(days=1)
    return box


def test_a_day_s_row_has_the_first_tempo_and_the_last(box: Box, clock: ManualClock) -> None:
    """Of takes at 56, 75 and 70 the first and the last, as the column is headed; of one, that."""
    for name, bpms in (("e", (56, 75, 70)), ("a", (60,))):
        for bpm in bpms:
            box.record(box.find(name), bpm, Grade.STEADY, at=clock.now(), seconds=40)
    column = [head for head, _ in DONE_COLUMNS].index("first→last")
    assert ["56→70", "60"] == [row[column] for row in done_rows(box, at=clock.now())]


async def test_cards_that_left_the_box_stand_in_the_wrap_up(box: Box, clock: ManualClock) -> None:
    """Their deck was taken out while the app was open: a row each by its id, and a line says so."""
    for name in ("e", "e", "a"):
        box.record(box.find(name), 70, Grade.CLEAN, at=clock.now(), seconds=40)
    e, a = box.find("e"), box.find("a")
    assert "" == gone_words(box, at=clock.now())
    for deck in box.deck_titles():
        box.remove_deck(deck)

    assert [(f"card {e}", "2", "gone"), (f"card {a}", "1", "gone")] == [
        (row[0], row[1], row[-1]) for row in done_rows(box, at=clock.now())
    ]
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await app.push_screen(WrapUp(app.desk))
        await settle(pilot)
        page = " ".join(screen_text(app).split())
        assert (
            "2 cards of today have left the box: the takes stay, and count again once they are"
            in page
        )
        assert f"card {e}" in page


async def test_the_screens_of_a_day(box: Box, clock: ManualClock) -> None:
    """Today, the stand ready, counting in, playing, grading, paused; the wrap-up."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        check_screen(app, "today")
        await press(pilot, "enter")
        check_screen(app, "stand-ready")
        await press(pilot, "space")
        clock.forward(seconds=1.5)
        await settle(pilot)
        check_screen(app, "stand-count-in")
        clock.forward(seconds=5)
        await settle(pilot)
        check_screen(app, "stand-playing")
        clock.forward(seconds=60)
        await settle(pilot)
        check_screen(app, "stand-grading")
        await press(pilot, "f")
        await play(pilot, clock, "d")
        # Within a take: a stand left alone would give the time back at the next frame.
        await press(pilot, "space")
        clock.forward(seconds=780)
        await settle(pilot)
        await press(pilot, "s")
        check_screen(app, "wrap-up")


async def test_the_stand_at_a_hundred_and_sixty_columns(box: Box, clock: ManualClock) -> None:
    """A large terminal gets large signs, in the middle."""
    app = make_app(box, clock)
    async with app.run_test(size=(160, 50)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        check_screen(app, "stand-160x50")


async def test_the_stand_at_sixty_columns(box: Box, clock: ManualClock) -> None:
    """A small terminal cuts the bar at half, and all keys still work."""
    app = make_app(box, clock)
    async with app.run_test(size=(60, 20)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await play(pilot, clock, "f")

        assert "clean: saved" in said(app)
        assert 1 == len(box.day(clock.now()).takes)


async def test_the_shelf_and_a_card(lived: Box, clock: ManualClock) -> None:
    """States, cold tempos and returns in a table; the card with its history as a plot."""
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s")
        check_screen(app, "shelf")
        await press(pilot, "enter")
        assert await shows(pilot, "╌╌╌")
        await settle(pilot)
        check_screen(app, "card")


async def test_the_year_page(lived: Box, clock: ManualClock) -> None:
    """What was in hand, minutes, what comes back, records: one page to scroll."""
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y")
        assert await shows(pilot, "everything: ")
        await settle(pilot)
        check_screen(app, "year")
        await press(pilot, "escape")
        assert isinstance(app.screen, Today)


async def test_the_year_of_the_first_day_has_no_empty_plot(box: Box, clock: ManualClock) -> None:
    """One day is no line: a sentence says when the curve begins, and that nothing is held yet."""
    box.record(box.find("e"), bpm=60, grade=Grade.STEADY, at=clock.now(), seconds=40)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "y")
        assert await shows(pilot, FIRST_DAY)
        await settle(pilot)
        assert "Nothing is held at its goal yet, so nothing can slip." in screen_text(app)
        assert not app.screen.query("#in-hand-plot")
        await press(pilot, "left", "escape")
        assert isinstance(app.screen, Today)


def test_a_page_that_would_be_empty_on_paper_says_what_to_press(
    box: Box, clock: ManualClock
) -> None:
    """A day that is over and a map without a cell: a whole sentence, and keys in place of words."""
    box.record(box.find("e"), bpm=60, grade=Grade.STEADY, at=clock.now(), seconds=3000)
    box.remove_deck("first-ghosts")
    app, desk = make_app(box, clock), still_desk(box, clock)
    for show, sentence in (
        (plan_on_paper, "^Nothing is left to play today that .*; s, then e, prints .* shelf.$"),
        (map_on_paper, "^No card has ghosts of a grid on every beat, .*; s, then a, adds a deck"),
    ):
        with pytest.raises(UsageError, match=sentence):
            show(app, desk)


async def test_the_shelf_searches_sorts_and_sets_aside(lived: Box, clock: ManualClock) -> None:
    """Words narrow the table, o goes round the orders, x rests and wakes, esc steps back."""
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "slash", *"doubled", "enter")
        assert "1 card, in deck order" in screen_text(app)
        await press(pilot, "x")
        assert "rested" == lived.card(lived.find("a-doubled"), at=clock.now()).state.value
        await press(pilot, "x", "escape")
        assert "waiting" == lived.card(lived.find("a-doubled"), at=clock.now()).state.value
        for name, _ in [*ORDERS[1:], ORDERS[0]]:
            await press(pilot, "o")
            assert name in screen_text(app)
        await press(pilot, "escape")
        assert isinstance(app.screen, Today)


async def test_slipping_first_puts_the_soonest_on_top(lived: Box, clock: ManualClock) -> None:
    """Cards with a day on which they slip come before those without one."""
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "o")
        first = screen_text(app).splitlines()[2]

        assert "e of every beat" in first
        assert "holding" in first


@pytest.mark.parametrize(
    ("order", "expected"),
    [
        ("slipping first", ["a week ago", "tomorrow", "next year", "never"]),
        ("last played first", ["next year", "tomorrow", "a week ago", "never"]),
    ],
)
def test_the_orders_by_moments(
    lived: Box, clock: ManualClock, order: str, expected: list[str]
) -> None:
    """The soonest to slip and the last played stand on top; a card without a moment stands last."""
    card = lived.cards(at=clock.now())[0]
    moments = {"next year": 365, "never": None, "a week ago": -7, "tomorrow": 1}
    cards = []
    for title, days in moments.items():
        moment = None if days is None else clock.now() + timedelta(days=days)
        cards.append(replace(card, title=title, returns=moment, last_played=moment))

    assert expected == [card.title for card in sorted(cards, key=dict(ORDERS)[order])]


async def test_the_shelf_compares_numbers_and_draws_them(lived: Box, clock: ManualClock) -> None:
    """What is typed half says what it wants and leaves the table; a wide window has bars."""
    app = make_app(lived, clock)
    async with app.run_test(size=(120, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "slash", *"cold", "greater_than_sign")
        assert "cold> wants a number" in screen_text(app)
        await press(pilot, *"80", "space", "minus", *"doubled", "enter")
        shown = screen_text(app)

    assert "1 card, in deck order" in shown
    assert "━━━━━━┿━━━" in shown


@pytest.mark.parametrize(
    ("cold", "goal", "expected"),
    [
        (None, 90, "      │      "),
        (30, 90, "◂     │      "),
        (74, 90, "━━━━  │      "),
        (89, 90, "━━━━━━│      "),
        (90, 90, "━━━━━━┿      "),
        (115, 90, "━━━━━━┿━━━   "),
        (150, 90, "━━━━━━┿━━━━━▸"),
    ],
)
def test_a_tempo_is_drawn_against_its_goal(cold: float | None, goal: float, expected: str) -> None:
    """The goal stands in the middle; its sign says whether the bar has come to it."""
    assert expected == tempo_bar(cold, goal)


async def test_the_map_plays_the_card_under_its_cursor(lived: Box, clock: ManualClock) -> None:
    """Rows are sets of partials, columns embellishments; keys and clicks reach a cell."""
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "v")
        check_screen(app, "map")
        await press(pilot, "down", "right")
        assert "a of every beat, doubled: waiting, goal 80" in screen_text(app)
        await press(pilot, "c")
        assert isinstance(app.screen, CardPage)
        await press(pilot, "escape", "enter")
        assert isinstance(app.screen, Stand)
        await press(pilot, "escape")
        assert isinstance(app.screen, VocabularyMap)
        await press(pilot, "right", "enter")
        assert "no card in the box" in screen_text(app)
        await pilot.click("DataTable", offset=(38, 1))
        await settle(pilot)
        assert "e of every beat: holding" in screen_text(app)
        await pilot.click("DataTable", offset=(38, 1))
        await settle(pilot)
        assert isinstance(app.screen, Stand)


async def test_a_goal_moves_on_the_card_page(lived: Box, clock: ManualClock) -> None:
    """Right raises by five, left lowers by five; the state follows."""
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "enter")
        assert isinstance(app.screen, CardPage)
        await press(pilot, "right", "right", "left")

        assert 95 == lived.card(lived.find("e"), at=clock.now()).goal_bpm
        await press(pilot, "escape")
        assert isinstance(app.screen, Shelf)


async def test_keys_and_setup(box: Box, clock: ManualClock) -> None:
    """The page of keys opens over any screen; a setting changes at once and stays."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 50)) as pilot:
        await settle(pilot)
        await press(pilot, "question_mark")
        check_screen(app, "keys")
        await press(pilot, "escape", "t")
        check_screen(app, "setup")
        for name in NAMES:
            await press(pilot, "left" if name in {"day_ends_at", "kit_db"} else "right", "down")
        await press(pilot, "escape")

        assert (
            Settings(
                minutes=20,
                days="weekdays",
                day_ends_at=4,
                leading="L",
                click=CLICKS[1],
                backing=BACKINGS[1],
                hands_free=True,
                fresh_rhythms="9",
                kit_db=-3,
                click_db=3,
                ghosts_db=3,
                latency_ms=10,
                listening="microphone",
            )
            == box.settings
        )
        assert isinstance(app.screen, Today)


async def test_the_leading_hand_changes_the_sticking(box: Box, clock: ManualClock) -> None:
    """A left-handed player reads L where the right-handed one reads R."""
    box.change_settings(at=clock.now(), leading="L")
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        hands = next(line for line in screen_text(app).splitlines() if line.startswith(" hand"))

        assert "L" == hands.split()[1]


async def test_no_colour_shows_the_same_words(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With NO_COLOR the screen has every sign it has with colour."""

    async def stand() -> str:
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await press(pilot, "enter")
            return screen_text(app)

    coloured = await stand()
    monkeypatch.setenv("NO_COLOR", "1")

    assert coloured == await stand()


async def test_the_minutes_change_on_today(box: Box, clock: ManualClock) -> None:
    """Right and left are five minutes; never under five, never over an hour."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "right")
        assert "20:00 of 20:00 left" in screen_text(app)
        await press(pilot, *["left"] * 6)
        assert "5:00 of 5:00 left" in screen_text(app)


async def test_a_refused_setting_says_so_and_the_app_goes_on(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A read-only box keeps its minutes; the setup says so, hides no key, and Today is as ever."""

    def refuse(*_: object, **__: object) -> None:
        raise NotSavedError("not saved: the box may only be read", fix="make it writable")

    monkeypatch.setattr(Box, "change_settings", refuse)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await press(pilot, "t", "right")
        setup = screen_text(app)
        await press(pilot, "escape")
        today = screen_text(app)

        assert "the box may only be read; make it writable." in setup
        assert setup.splitlines()[-1].startswith(" ← → change")
        assert isinstance(app.screen, Today)
        assert not app.screen.query("Toast")
        assert "may only be read" not in today
        assert today.splitlines()[-1].startswith(" ⏎ play  ← → time")


async def test_a_refusal_on_today_covers_nothing(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It has a line of its own over what there is to play, and goes after a while."""

    def refuse(*_: object, **__: object) -> None:
        raise NotSavedError("not saved: the box may only be read", fix="make it writable")

    monkeypatch.setattr(Box, "choose_minutes_today", refuse)
    monkeypatch.setattr(today, "SHOWN_SECONDS", 0.2)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        before = screen_text(app).splitlines()
        await press(pilot, "right")
        refused = screen_text(app).splitlines()
        for _ in range(100):
            if screen_text(app).splitlines() == before:
                break
            await pilot.pause(0.05)
        after = screen_text(app).splitlines()

    assert [before[0], *before[1:3]] == [refused[0], *refused[2:4]]
    assert "not saved: the box may only be read; make it writable." == refused[1].strip()
    assert before == after


async def test_no_sound_is_said_once_at_the_stand(box: Box, clock: ManualClock) -> None:
    """The device's sentence stands in the notice line."""
    sentence = "No sound device found; the click is shown, not sounded."
    app = DrillboxApp(
        lambda: Desk(box, clock, lambda: Metronome(SilentClock(clock.seconds), notice=sentence))
    )
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")

        assert sentence in said(app)


async def test_any_take_is_taken_back_on_the_card_page(lived: Box, clock: ManualClock) -> None:
    """Its takes are listed, newest first; u asks, u again takes the chosen one back."""
    app, card = make_app(lived, clock), lived.find("e")
    before = lived.history(card)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "enter", "t")
        assert before[-1].short_id in screen_text(app).splitlines()[4]
        await press(pilot, "down", "u")
        assert "u again takes" in screen_text(app)
        assert before == lived.history(card)
        await press(pilot, "u")
        assert "Taken back: " in screen_text(app)
        await press(pilot, "escape", "escape")
    assert [take.take_id for take in (*before[:-2], before[-1])] == [
        take.take_id for take in lived.history(card)
    ]


async def test_today_counts_what_is_left_out(lived: Box, clock: ManualClock) -> None:
    """A take dated next year waits, and Today says so in a line."""
    (take,) = lived.archive.takes()[-1:]
    lived.merge([replace(take, id=f"{7_000:032x}", at=take.at + timedelta(days=365))])
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "1 take is dated later than now" in screen_text(app)


async def test_a_map_without_a_card_says_what_it_would_show(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """One sentence and no empty rows; enter and c do nothing, o and esc what it says."""
    text = """[deck]
id = "plain"
title = "Plain"
edition = 1
goal = 90

[[card]]
id = "two"
title = "two"
snare = "2"
"""
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        box.put_deck(parse_deck(text, name="plain.toml"), at=clock.now())
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await press(pilot, "s", "v", "enter", "c")
            told = " ".join(screen_text(app).split())

            assert "This map shows ghosts on every beat" in told
            assert not app.screen.query_one(PatternView).display
            assert "sixteenths" not in told
            assert "c card" not in told
            await press(pilot, "o")
            assert "This map shows the same ghosts over several bass lines." in " ".join(
                screen_text(app).split()
            )


async def test_an_empty_cell_of_the_map_says_so(lived: Box, clock: ManualClock) -> None:
    """On a cell without a card, c tells it; nothing opens."""
    app = make_app(lived, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "v", "end", "c")

        assert isinstance(app.screen, VocabularyMap)
        assert "There is no card in this cell: the arrows go to one that has." in screen_text(app)
