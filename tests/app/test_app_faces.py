"""What a player sees and presses: the two faces, Today, a first minute, the palette."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from textual.app import App
from textual.widgets import ContentSwitcher, OptionList, Static

from drillbox.app.big_digits import big, carved, rows_that_fit
from drillbox.app.keymap import MOST_BYTES, bindings_by_screen, checked_keymap, read_keymap
from drillbox.app.pattern_layout import lay_out
from drillbox.app.screens.card import CardPage
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.stand_takes import DEAF_SECONDS, STRAY_SECONDS
from drillbox.app.screens.today import Today
from drillbox.app.screens.week import WeekPage
from drillbox.app.screens.wrapup import WrapUp
from drillbox.app.widgets.beat_lamps import BeatLamps
from drillbox.app.widgets.grade_zones import PART_KEYS, PARTS, Zone
from drillbox.app.widgets.pattern_view import PatternView, under_rows
from drillbox.app.widgets.stand_face import PANE_LEAST
from drillbox.box import Box
from drillbox.deckfile import parse_deck, read_starter_decks
from drillbox.memory import Grade
from drillbox.rhythm import Hand, chart, for_player, parse

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import (
    WHOLE_TAKE,
    make_app,
    play,
    press,
    said,
    screen_text,
    settle,
    shows,
    to_the_question,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.pilot import Pilot

    from drillbox.app.app import DrillboxApp
    from drillbox.base.clock import ManualClock

DUE_DECK = """\
[deck]
id = "lesson"
title = "A lesson"
edition = 1
goal = 90

[groove]
hat = "beat &"
snare = ">2 >4"

[[card]]
id = "e"
title = "e of every beat"
snare = "(e)"
note = "Low sticks."

[[assignment]]
cards = ["e"]
by = 2026-03-05
goal = 80
"""


def pane(app: DrillboxApp) -> str | None:
    """Return which of the stand's panes is shown."""
    return app.screen.query_one(ContentSwitcher).current


def test_no_starter_card_is_cut_at_eighty_by_twenty_four() -> None:
    """Counts, voices, hands and strokes of all cards fit above the pane, whatever it says.

    A pattern of three bars and more may take several pages; each line of it fits as a whole.
    """
    most = 24 - 2 - 1 - PANE_LEAST
    for deck in read_starter_decks():
        for card in deck.cards:
            pattern = for_player(card.pattern, Hand.RIGHT)
            drawn = chart(pattern, leading=Hand.RIGHT)
            page = lay_out(drawn, under_rows(pattern, Hand.RIGHT), width=78, height=most)
            last = page.systems[0].cells[-1]

            assert (page.height if pattern.bars < 3 else page.system_height) <= most, card.title
            assert last.x + page.size.columns <= 78, card.title


class _Long(App[None]):
    """A pattern view in a small place, and nothing else."""

    def compose(self) -> ComposeResult:
        """Yield the view."""
        yield PatternView()


async def test_a_pattern_too_long_for_its_place_is_turned_like_a_page() -> None:
    """Seven bars in fourteen rows: the bar being played stands in view, down to its last row."""
    bars = "snare: (beat) | (e) | (&) | (a) | (e) (a) | (beat) (&) | (e) (&)"
    app = _Long()
    async with app.run_test(size=(80, 16)) as pilot:
        view = app.query_one(PatternView)
        view.styles.height = 14
        view.show(parse(bars))
        await pilot.pause()
        seen = []
        for played in (0, 1, 3, 6, 2, 0):
            view.point_at(4.0 * played + 1.0)
            await pilot.pause()
            lines = [view.render_line(y).text for y in range(view.size.height)]
            (head,) = [y for y in range(view.size.height) if _has_head(view, y)]
            seen.append([line.split()[0] for line in lines[head + 1 : head + 4]])

    assert [["snare", "hand", "stroke"]] * 6 == seen


def _has_head(view: PatternView, y: int) -> bool:
    """Whether the playhead stands in a row."""
    style = view.get_component_rich_style("pattern--head")
    return any(segment.style == style for segment in view.render_line(y))


async def test_the_playhead_stays_on_its_beat_when_the_window_changes() -> None:
    """Wide, two bars share a line; narrow, each has its own: one head, on the same beat."""
    app = _Long()
    async with app.run_test(size=(170, 30)) as pilot:
        view = app.query_one(PatternView)
        view.styles.height = "100%"
        view.show(parse("snare: (beat) (e) (&) (a) | (beat) (e) (&) (a)"))
        await pilot.pause()
        view.point_at(7.5)
        wide = await _heads(pilot, view)
        await pilot.resize_terminal(80, 30)
        narrow = await _heads(pilot, view)
        view.point_at(0.0)
        back = await _heads(pilot, view)

    assert [["&"], ["&"], ["1"]] == [wide, narrow, back]


async def _heads(pilot: Pilot[None], view: PatternView) -> list[str]:
    """Return the counts on which the playhead stands."""
    await pilot.pause()
    style = view.get_component_rich_style("pattern--head")
    segments = [part for y in range(view.size.height) for part in view.render_line(y)]
    return [part.text.strip() for part in segments if part.style == style]


async def test_the_stand_has_two_faces(box: Box, clock: ManualClock) -> None:
    """Words before a take; beat, tempo and pass while it runs; the question after it."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        assert "ready" == pane(app)
        await press(pilot, "space")
        assert "play" == pane(app)
        clock.forward(seconds=8)
        await settle(pilot)
        playing = screen_text(app)
        clock.forward(seconds=WHOLE_TAKE)
        await settle(pilot)

        assert "pass 1 of" in playing
        assert "esc" not in playing
        assert "grade" == pane(app)


async def test_every_part_of_the_keyboard_grades(box: Box, clock: ManualClock) -> None:
    """The first and the last key of each part give its grade, also keys used elsewhere."""
    ends = {
        key: PARTS[part]
        for part, keys in PART_KEYS.items()
        for key in (keys.split(",")[0], keys.split(",")[-1])
    }
    box.choose_minutes_today(60, at=clock.now())
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        for key in ends:
            await to_the_question(pilot, clock)
            clock.forward(seconds=STRAY_SECONDS)
            await press(pilot, key)
            clock.forward(seconds=DEAF_SECONDS)

        assert list(ends.values()) == [take.grade for take in box.day(clock.now()).takes]


async def test_the_keys_of_the_parts_do_their_own_work_before_a_take(
    box: Box, clock: ManualClock
) -> None:
    """L listens, c changes the click, n leaves the card, u brings it back: nothing is graded."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "c")
        assert "click: pulse" == said(app)
        title = app.screen.query_one("#title", Static).content
        await press(pilot, "n")
        assert title != app.screen.query_one("#title", Static).content
        await press(pilot, "u")

        assert title == app.screen.query_one("#title", Static).content
        assert "is back on the stand" in said(app)
        assert () == box.day(clock.now()).takes


async def test_a_zone_is_clicked(box: Box, clock: ManualClock) -> None:
    """A click or a touch on a zone grades."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await to_the_question(pilot, clock)
        (zone,) = (one for one in app.screen.query(Zone) if one.grade is Grade.AUTOMATIC)
        await pilot.click(zone)
        await settle(pilot)

        assert [Grade.AUTOMATIC] == [take.grade for take in box.day(clock.now()).takes]


async def test_a_fist_on_the_keys_is_one_grade(box: Box, clock: ManualClock) -> None:
    """Of several keys in one stroke the first counts; the others change and start nothing."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await to_the_question(pilot, clock)
        await press(pilot, "j", "k", "m", "n", "b", "space")

        assert [Grade.CLEAN] == [take.grade for take in box.day(clock.now()).takes]
        assert "ready" == pane(app)
        assert "click alone" == box.settings.backing


async def test_a_pause_in_the_last_pass_does_not_cost_the_take(
    box: Box, clock: ManualClock
) -> None:
    """After one whole pass a paused take can be graded; before it, it cannot."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        clock.forward(seconds=3)
        await settle(pilot)
        await press(pilot, "f")
        assert () == box.day(clock.now()).takes
        assert await shows(pilot, "play it through once")
        clock.forward(seconds=17)
        await settle(pilot)
        await press(pilot, "space")
        assert "Paused: a s d f g" in screen_text(app)
        clock.forward(seconds=500)
        await press(pilot, "f")
        (take,) = box.day(clock.now()).takes

        assert Grade.CLEAN is take.grade
        assert 20.0 == take.seconds


async def test_undo_and_the_grade_after_it_say_what_they_did(box: Box, clock: ManualClock) -> None:
    """The take keeps its number and its reason; the second grade names the one it replaces."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        why = app.screen.query_one("#why", Static).content
        await play(pilot, clock, "a")
        await press(pilot, "u")
        assert "Took back fell apart" in screen_text(app)
        await press(pilot, "d")
        clock.forward(seconds=DEAF_SECONDS)
        assert said(app).startswith("steady in place of fell apart: saved.")
        await press(pilot, "u")
        await press(pilot, "escape", "enter")

        assert "Asked for by you" not in screen_text(app)
        assert why == app.screen.query_one("#why", Static).content


async def test_enter_plays_the_chosen_card_first(box: Box, clock: ManualClock) -> None:
    """The second row is chosen: it is the one on the stand, and the others follow."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        titles = list(dict.fromkeys(box.title(i.card_id) for i in box.plan(at=clock.now()).items))
        await press(pilot, "down", "enter")

        assert titles[1] == app.screen.query_one("#title", Static).content


async def test_the_arrows_change_today_and_no_other_day(box: Box, clock: ManualClock) -> None:
    """Today is ten minutes; the setting stays, and so does tomorrow."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "left")
        assert "10:00 of 10:00 left" in screen_text(app)
        assert 15 == box.settings.minutes
        clock.forward(days=1)
        await press(pilot, "w", "escape")

        assert await shows(pilot, "15:00 of 15:00 left")


async def test_what_a_teacher_asks_and_says_stands_on_today(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """The day by which it is wanted, at what tempo, and the card's note."""
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        box.put_deck(parse_deck(DUE_DECK, name="lesson"), at=clock.now())
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)

            assert await shows(pilot, "1 card asked for, first by Thu 5 Mar.")
            text = " ".join(screen_text(app).replace("█", " ").split())
            assert "by Thu 5 Mar." in text
            assert "Low sticks." in text


async def test_when_the_day_is_over_today_shows_it_and_plays_on(
    box: Box, clock: ManualClock
) -> None:
    """The table of the day and what comes tomorrow stand on Today; p is five minutes more."""
    box.change_settings(at=clock.now(), minutes=5)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        while isinstance(app.screen, Stand):
            await play(pilot, clock, "d")
        assert isinstance(app.screen, WrapUp)
        assert "The last seven days: " in screen_text(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, Today)
        assert await shows(pilot, "Done for today")
        text = screen_text(app)
        assert "last grade" in text
        assert "Tomorrow's first takes: " in text
        await press(pilot, "p")

        assert isinstance(app.screen, Stand)


async def test_a_first_minute_leaves_no_doubt(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """The rhythm is drawn, cold explained, the goal the one used, letters and grades tried."""
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            welcome = screen_text(app)
            assert "snare │" in welcome
            assert "the first try of a day, without warming up" in " ".join(welcome.split())
            assert 4 <= app.screen.query_one(OptionList).size.height
            await press(pilot, "question_mark")
            assert "esc closes" in screen_text(app)
            await press(pilot, "escape", "right", "enter")
            first = read_starter_decks()[0].cards[0]
            card = next(c for c in box.cards(at=clock.now()) if c.title == first.title)
            assert first.goal_bpm + 5 == card.goal_bpm
            await settle(pilot)
            await press(pilot, "enter")
            assert "full, down, tap, upstroke" in said(app)
            await press(pilot, "g")

            assert "automatic would be: up" in said(app)
            assert () == box.day(clock.now()).takes


async def test_the_palette_finds_a_card_by_name(box: Box, clock: ManualClock) -> None:
    """ctrl+p, some letters, enter: the card's page is open."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "ctrl+p", *"doubled")
        assert await shows(pilot, "its page")
        await press(pilot, "enter", "enter")

        assert isinstance(app.screen, CardPage)


async def test_the_week_page_opens_and_closes(box: Box, clock: ManualClock) -> None:
    """Before the first take it says so; esc goes back."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "w")
        assert isinstance(app.screen, WeekPage)
        assert "Nothing played" in screen_text(app)
        await press(pilot, "h", "escape")
        assert isinstance(app.screen, WeekPage)  # and not Today: it was opened from here
        await press(pilot, "escape")

        assert isinstance(app.screen, Today)


SMALLEST, LARGEST = ((6, 3), (12, 5), (1, 1)), (300, 100)


async def test_no_window_is_too_small_or_too_large(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """Every screen comes up in one cell and takes other sizes: nothing ends the app."""
    ways = ("", "enter", "t", "escape s", "v", "escape enter", "escape escape w", "escape y")
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        app = make_app(box, clock)
        async with app.run_test(size=(1, 1)) as pilot:
            await settle(pilot)
            for way in ways:
                await press(pilot, *way.split())
                for size in SMALLEST:
                    await pilot.resize_terminal(*size)
            await press(pilot, "escape", "enter")
            await to_the_question(pilot, clock)
            for size in (*SMALLEST, LARGEST):
                await pilot.resize_terminal(*size)
            await press(pilot, "f")

            assert app.return_code in {0, None}
            assert 1 == len(box.day(clock.now()).takes)


async def test_the_lamps_follow_the_beat(box: Box, clock: ManualClock) -> None:
    """One lamp is lit at a time, in the count-in as well: without sound it is the click."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        lamps = app.screen.query_one(BeatLamps)
        lit = []
        for beat in range(4):
            for _ in range(50):
                await settle(pilot)
                if lamps._lit == beat:
                    break
            lit.append(lamps._lit)
            clock.forward(seconds=60 / 56 + 0.01)

        assert [0, 1, 2, 3] == lit


def test_big_digits_have_the_size_that_was_asked_for() -> None:
    """Every row is as wide as the others, at any height; what is cut out is what was drawn."""
    for rows in (3, 4, 7, 12):
        for text in ("120", "8", "45"):
            drawn = big(text, rows)
            filled = carved(carved(drawn))

            assert rows == len(drawn)
            assert 1 == len({len(row) for row in drawn})
            assert drawn == filled
    assert 0 == rows_that_fit("120", 5, 10)
    assert 7 == rows_that_fit("120", 80, 7)


def test_ten_digits_look_different_at_every_size() -> None:
    """A digit that could be taken for another would be a wrong tempo."""
    for rows in range(3, 20):
        assert 10 == len({big(digit, rows) for digit in "0123456789"})


def test_a_keymap_is_checked_line_by_line() -> None:
    """Unknown names, nonsense keys, doubled keys are said and left out; what is right counts."""
    given = {
        "stand.play": "p",
        "stand.dance": "x",
        "stand.listen": "spcae",
        "stand.click": "b",
        "stand.undo": 3,
    }
    keymap, problems = checked_keymap(given, bindings_by_screen())

    assert {"stand.play": "p"} == keymap
    assert [
        "there is no 'stand.dance' to give a key to.",
        "'spcae', for stand.listen, is no key.",
        "the keys of stand.undo are a text such as 'space,p'.",
        "b is the key of stand.backing already, so stand.click keeps its own.",
    ] == problems


def test_every_binding_has_a_name_of_its_own() -> None:
    """A name in the keymap file means one binding on one screen."""
    names = [one.id for bindings in bindings_by_screen().values() for one in bindings]

    assert len(names) == len(set(names))


def test_no_keymap_file_is_no_keymap_and_a_broken_one_changes_no_key(tmp_path: Path) -> None:
    """The usual case says nothing; a file that is not TOML is named."""
    path = tmp_path / "keys.toml"
    assert ({}, "") == read_keymap(path)
    path.write_text("stand.play = ", encoding="utf-8")

    assert str(path) in read_keymap(path)[1]
    assert {} == read_keymap(path)[0]
    for wrong in (b"x = " + b"9" * 5000, b"x = " + b"[" * 5000, b"\xff", b"#" * (MOST_BYTES + 1)):
        path.write_bytes(wrong)
        keys, said = read_keymap(path)
        assert ({}, True) == (keys, "no key was changed" in said.lower())
    path.write_bytes(b"\xff")
    assert (
        f"{path} is not UTF-8, so no key was changed: save the file as UTF-8."
        == read_keymap(path)[1]
    )
    path.unlink()
    os.mkfifo(path)
    assert "not a plain file" in read_keymap(path)[1]


async def test_a_players_own_key_starts_the_take(box: Box, clock: ManualClock) -> None:
    """The key of the file works, and the old one does not any more."""
    app = make_app(box, clock)
    app.desk.keymap = {"stand.play": "p"}
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "p")

        assert "play" == pane(app)
