"""The app, by keyboard.

First start, a whole day, undo, skip, pause, resume, what the disk refuses.
"""

from __future__ import annotations

import sys
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.app.app import DrillboxApp
from drillbox.app.desk import Desk
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.today import FRAME_FIRST_SECONDS, Today
from drillbox.app.screens.wrapup import WrapUp
from drillbox.app.widgets.row_table import RowTable
from drillbox.box import Box
from drillbox.deckfile import read_starter_decks
from drillbox.errors import NotSavedError
from drillbox.memory import Grade
from drillbox.sound import ManualDevice, Metronome

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, play, press, said, screen_text, settle, shows

if TYPE_CHECKING:
    from collections.abc import Callable

    import pytest

    from drillbox.base.clock import ManualClock

RATE = 48_000


async def test_first_start_offers_a_deck_a_goal_and_the_cautions(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """An empty box opens on the starter decks; the goal chosen is the goal the cards get."""
    first = read_starter_decks()[0]
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            welcome = " ".join(screen_text(app).split())
            await pilot.press("right", "enter")
            await settle(pilot)
            chosen = [card.goal_bpm for card in box.cards(at=clock.now())]

            assert first.title in welcome
            assert "100 dBA" in welcome
            assert "licensed professional" in welcome
            assert isinstance(app.screen, Today)
            assert [card.goal_bpm + 5 for card in first.cards] == chosen


async def test_a_whole_day_by_keyboard(box: Box, clock: ManualClock) -> None:
    """Today, the stand, every take graded, the wrap-up.

    Inside the minutes, every take in the log.
    """
    box.change_settings(at=clock.now(), minutes=5)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "5:00 of 5:00 left" in screen_text(app)
        await pilot.press("enter")
        await settle(pilot)
        played = 0
        while isinstance(app.screen, Stand):
            await play(pilot, clock, "asdfg"[played % 5])
            played += 1
            assert played < 40
        day = box.day(clock.now())

        assert isinstance(app.screen, WrapUp)
        assert played == len(day.takes)
        assert played >= 4
        assert day.seconds <= 5 * 60
        text = screen_text(app)
        assert "every one is saved" in text
        await press(pilot, "u")
        again = " ".join(screen_text(app).split())
        left = len(box.day(clock.now()).takes)
        await press(pilot, "a")
        regraded = box.day(clock.now()).takes

        assert f"Took back {Grade(day.takes[-1].grade).label} at" in again
        assert (played - 1, played) == (left, len(regraded))
        assert Grade.FELL_APART == regraded[-1].grade
        await press(pilot, "escape")
        assert isinstance(app.screen, Today)


async def test_the_click_plays_what_the_stand_says(box: Box, clock: ManualClock) -> None:
    """Count-in, then passes at the tempo shown, through the real engine.

    Then the grade is asked for.
    """
    device = ManualDevice()
    app = DrillboxApp(lambda: Desk(box, clock, lambda: Metronome(device)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("space")
        counted = device.pump(RATE)
        await settle(pilot)
        counting_in = screen_text(app)
        device.pump(RATE * 10, block=512)
        await settle(pilot)
        playing = screen_text(app)
        device.pump(RATE * 50, block=512)
        await settle(pilot)
        over = screen_text(app)

        assert abs(counted).max() > 0.05
        assert "count-in" in counting_in
        assert "pass " in playing
        assert "Where should the metronome go next?" in over


async def test_undo_asks_for_the_same_grade_again(box: Box, clock: ManualClock) -> None:
    """After u the same take waits for its grade, and the log holds one take that counts."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        await play(pilot, clock, "g")
        (first,) = box.day(clock.now()).takes
        await pilot.press("u")
        await settle(pilot)
        assert () == box.day(clock.now()).takes
        await pilot.press("a")
        await settle(pilot)
        (second,) = box.day(clock.now()).takes

        assert (first.card_id, first.bpm) == (second.card_id, second.bpm)
        assert "fell apart" == second.grade.label


async def test_grading_before_playing_does_nothing(box: Box, clock: ManualClock) -> None:
    """A grade key hit by a stick before the take began records nothing and says so."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("f")
        await settle(pilot)

        assert () == box.day(clock.now()).takes
        assert "Play the take first" in said(app)


async def test_paused_time_costs_nothing(box: Box, clock: ManualClock) -> None:
    """A telephone call between two takes takes no minutes off the day."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("space")
        clock.forward(seconds=5)
        await settle(pilot)
        await pilot.press("space")
        clock.forward(seconds=1000)
        await settle(pilot)

        assert "14:55 left" in screen_text(app)
        assert "paused" in screen_text(app)


async def test_a_stand_left_alone_stops_its_time(box: Box, clock: ManualClock) -> None:
    """Two minutes without a key: the player has gone, and the day waits."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        clock.forward(seconds=3600)
        await settle(pilot)

        assert "15:00 left" in screen_text(app)
        assert "paused" in screen_text(app)


async def test_a_broken_off_day_goes_on_where_it_stood(box: Box, clock: ManualClock) -> None:
    """The app ends after two takes; a new one has the rest of the minutes and says so."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        await play(pilot, clock, "d")
        await play(pilot, clock, "d")
    again = make_app(box, clock)
    async with again.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        text = screen_text(again)

    assert "13:00 of 15:00 left" in text
    assert "Go on where you stopped" in text


async def test_skipping_leaves_a_card_for_today(box: Box, clock: ManualClock) -> None:
    """After n another card is up, and the skipped one does not come back."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        before = screen_text(app).splitlines()[0]
        await pilot.press("n")
        await settle(pilot)
        after = screen_text(app).splitlines()[0]

        assert before.split("  ")[0] != after.split("  ")[0]


async def test_a_take_the_disk_refuses_is_kept_and_tried_again(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The screen says not saved, the day goes on, and r saves it once there is room."""
    keep = Box.keep

    def refuse(*_: object, **__: object) -> None:
        raise NotSavedError("not saved: the disk is full", fix="free some space and try again")

    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        monkeypatch.setattr(Box, "keep", refuse)
        await play(pilot, clock, "f")
        refused = said(app)
        footer = screen_text(app)
        monkeypatch.setattr(Box, "keep", keep)
        await pilot.press("r")
        await settle(pilot)

        assert "NOT SAVED" in refused
        assert "save again" in footer
        assert ["clean"] == [take.grade.label for take in box.day(clock.now()).takes]
        assert "all takes saved" in said(app)


async def test_a_tempo_check_takes_each_card_up_and_moves_every_tempo(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """A first day of a player.

    Automatic takes go up card by card, each faster than the one before, four takes at most and
    fewer to a card's top; after twelve of them cards nobody played start faster than before.
    """
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        box.put_deck(read_starter_decks()[0], at=clock.now())
        deck = next(deck for deck in read_starter_decks() if len(deck.cards) >= 30)
        box.put_deck(deck, at=clock.now())
        before = {i.card_id: i.bpm for i in box.plan(at=clock.now()).items}
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            assert "tempo check" in screen_text(app)
            await pilot.press("g")
            await settle(pilot)
            assert "Tempo check: " in screen_text(app)
            assert "take 1: space or enter starts it" in screen_text(app)
            for _ in range(12):
                await play(pilot, clock, "g")
            takes = box.day(clock.now()).takes
            while isinstance(app.screen, Stand):
                await play(pilot, clock, "g")
            wrap_up = " ".join(screen_text(app).split())
        played: dict[str, list[float]] = {}
        for take in takes:
            played.setdefault(take.card_id, []).append(take.bpm)
        clock.forward(days=1)
        after = {
            i.card_id: i.bpm for i in box.plan(at=clock.now()).items if i.card_id not in played
        }

        assert "The tempo check is done" in wrap_up
        assert 12 == len(takes)
        assert 4 == max(len(tempi) for tempi in played.values())
        assert all(sorted(set(tempi)) == tempi for tempi in played.values())
        assert min(after.values()) > max(before.values())


async def test_the_day_goes_on_at_the_card_it_was_left_at(box: Box, clock: ManualClock) -> None:
    """Left before a take or within one, Today has the cursor on that card, and enter plays it."""
    app = make_app(box, clock)
    seen = []
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        first = box.plan(at=clock.now()).items[0].card_id
        for keys in (("enter", "n", "n"), ("enter", "space")):
            await press(pilot, *keys)
            seen.append(_on_the_stand(app))
            await press(pilot, "escape")
            await pilot.pause(2 * FRAME_FIRST_SECONDS)
            await settle(pilot)
        await press(pilot, "enter")
        seen.append(_on_the_stand(app))

    assert first != seen[0]
    assert [seen[0]] * 3 == seen


async def test_a_day_that_was_broken_off_goes_on_at_its_card_after_a_restart(
    box: Box, clock: ManualClock
) -> None:
    """Killed before a card's first take, which the log cannot know of; another day begins anew."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "n", "n")
        left = _on_the_stand(app)  # and no key any more
    seen = []
    for hours in (0, 1, 23):
        clock.forward(seconds=3600 * hours)
        again = make_app(box, clock)
        async with again.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            today = again.screen
            assert isinstance(today, Today)
            chosen = today._items[today.query_one("#plan", RowTable).cursor_row].card_id
            seen.append((chosen == left, chosen == today._items[0].card_id))

    assert [(True, False), (True, False), (False, True)] == seen
    assert box.holdings().settings == ()


def _on_the_stand(app: DrillboxApp) -> str:
    assert isinstance(app.screen, Stand)
    return app.screen._sitting.card.card_id


async def test_outgrown_goals_are_raised_by_one_key_and_taken_back(
    box: Box, clock: ManualClock
) -> None:
    """The wrap-up says what would be raised; nothing is until r, and r again takes it back."""
    card = box.find("a")
    for n in range(9):
        at = clock.now() + timedelta(days=2 * n)
        box.record(card, bpm=100 + 5 * n, grade=Grade.AUTOMATIC, at=at, seconds=40)
    clock.forward(days=18)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.push_screen(WrapUp(app.desk))
        await settle(pilot)
        asked = " ".join(screen_text(app).split())
        goals = [box.card(card, at=clock.now()).goal_bpm]
        for _ in range(2):
            await pilot.press("r")
            await settle(pilot)
            goals.append(box.card(card, at=clock.now()).goal_bpm)

        assert "1 card has outgrown its goal. r raises by 5:" in asked
        assert "90 to 95" in asked
        assert [90.0, 95.0, 90.0] == goals


async def test_a_day_that_ends_early_offers_the_next_deck(box: Box, clock: ManualClock) -> None:
    """With nothing left worth its time, the course's next deck is shown and added by one key."""
    for card in box.cards(at=clock.now()):
        box.rest(card.card_id, resting=True, at=clock.now())
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.push_screen(WrapUp(app.desk))
        await settle(pilot)
        offered = " ".join(screen_text(app).split())
        before = {deck.deck_id for deck in box.decks(clock.now())}
        await pilot.press("a")
        await settle(pilot)
        added = {deck.deck_id for deck in box.decks(clock.now())} - before

        first = read_starter_decks()[0]
        assert f"a adds the next deck of the course: {first.title}" in offered
        assert {first.id} == added
        assert "next deck of the course" not in " ".join(screen_text(app).split())


async def test_today_offers_the_next_deck_where_nothing_is_left(
    box: Box, clock: ManualClock
) -> None:
    """With every card set aside there is nothing to play: a brings the course's next deck."""
    for card in box.cards(at=clock.now()):
        box.rest(card.card_id, resting=True, at=clock.now())
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        offered = " ".join(screen_text(app).replace("█", "").split())
        await press(pilot, "a")
        decks = [deck.deck_id for deck in box.decks(clock.now())]
        done = " ".join(screen_text(app).split())
        await press(pilot, "t", "escape")
        await pilot.pause(2 * FRAME_FIRST_SECONDS)

        assert f"{read_starter_decks()[0].title} is in the box" in done
        assert await shows(pilot, "Your first day")
        assert "is in the box" not in screen_text(app)
        assert "Nothing needs you today." in offered
        assert f"the next deck of the course: {read_starter_decks()[0].title}" in offered
        assert read_starter_decks()[0].id == decks[-1]
        assert await shows(pilot, "New: begin at")


async def test_todays_minutes_outlast_the_program(box: Box, clock: ManualClock) -> None:
    """Five more by an arrow, the program left and opened again: still five more, tomorrow not."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "right")
        assert "20:00 of 20:00 left" in screen_text(app)
    again = make_app(box, clock)
    async with again.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert await shows(pilot, "20:00 of 20:00 left")
    clock.forward(days=1)

    assert 15 == box.minutes_today(at=clock.now())


async def test_a_last_take_past_the_days_minutes_is_explained(box: Box, clock: ManualClock) -> None:
    """Where more was played than the day has, the wrap-up says why; otherwise nothing."""
    e = box.find("e")
    for seconds, told in ((15 * 60, False), (6, True)):
        box.record(e, bpm=60, grade=Grade.SHAKY, at=clock.now(), seconds=seconds)
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            app.push_screen(WrapUp(app.desk))
            assert await shows(pilot, "Wrap-up")
            text = " ".join(screen_text(app).split())

            assert told == ("The last take was finished past the day's 15 minutes." in text)
