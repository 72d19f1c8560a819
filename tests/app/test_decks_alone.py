"""What the choice of a deck and the deck writer's preview decide, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest
from conftest import SMALL_DECK

from drillbox.app.screens.preview import LOOK_SECONDS, Preview
from drillbox.app.screens.welcome import (
    GOAL_STEP,
    OTHER_ROWS,
    SMALLEST_DRAWING,
    DeckChoice,
)
from drillbox.deckfile import parse_deck, starter_decks
from drillbox.errors import DeckError
from drillbox.rhythm import Hand
from drillbox.sound import Metronome, SilentClock

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare
from still_desk import still_desk

if TYPE_CHECKING:
    from textual.widgets import OptionList

    from drillbox.app.desk import Desk
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.deckfile import DeckFollower, SavedDeck


@pytest.fixture
def desk(box: Box, clock: ManualClock) -> Desk:
    """Return a desk with the small deck."""
    return still_desk(box, clock)


def sounds(metronome: Metronome) -> bool:
    """Return whether it plays now; a type checker would hold on to what it did."""
    return metronome.running


# the choice of a deck


class BareChoice(Bare, DeckChoice):
    """The choice of a deck in no app."""

    def choose(self, index: int) -> None:
        """Go to a deck."""
        told = SimpleNamespace(option_index=index)
        self.on_option_list_option_highlighted(cast("OptionList.OptionHighlighted", told))


@pytest.fixture
def choice(desk: Desk) -> BareChoice:
    """Return the choice, on its first deck."""
    page = BareChoice(desk, starter_decks(), first_start=True)
    page.on_mount()
    page.choose(0)
    return page


def test_the_first_deck_that_is_not_in_the_box_is_chosen(desk: Desk, clock: ManualClock) -> None:
    """It has the keys; where all are there it is the first, where there are none, none."""
    decks = starter_decks()
    seen = []
    for there in ([], [0], [0, 1], range(len(decks))):
        page = BareChoice(desk, decks, first_start=False)
        page._in_box = {decks[n].name: "there" for n in there}
        page.on_mount()
        seen.append(page.part("#welcome-decks").highlighted)
        assert page.part("#welcome-decks").has_keys
    empty = BareChoice(desk, (), first_start=False)
    empty.on_mount()
    lines = [page._line(decks[0]), BareChoice(desk, decks, first_start=True)._line(decks[0])]
    numbers = [page._line(deck).index(" cards") for deck in decks]

    assert [0, 1, 2, 0] == seen
    assert empty.part("#welcome-decks").highlighted is None
    assert [True, False] == [line.endswith("cards  in your box") for line in lines]
    assert 1 == len(set(numbers))
    assert all(page._line(deck).startswith(f"{deck.title()}  ") for deck in decks)


def test_a_deck_shows_its_first_rhythm_its_words_and_its_goals(
    choice: BareChoice, desk: Desk
) -> None:
    """By the player's hand; the goal is explained by the rhythm that is drawn."""
    desk.box.change_settings(at=desk.clock.now(), leading="L")
    deck = starter_decks()[1].read()
    choice.choose(1)
    goals = sorted({round(card.goal_bpm) for card in deck.cards})
    words = choice.line("#goal-words")

    assert deck.about == choice.line("#about")
    assert (deck.cards[0].pattern, Hand.LEFT) == choice.part("PatternView").drawn
    assert words.startswith(f"Goal {round(deck.cards[0].goal_bpm)} bpm")
    assert f"“{deck.cards[0].title}”" in words
    span = f" (the whole deck {goals[0]} to {goals[-1]})"
    assert (len(goals) > 1) == (span in words)


def test_the_goals_of_a_deck_move_together_and_start_anew_with_another(
    choice: BareChoice, desk: Desk
) -> None:
    """By five; the deck is taken with the goals that were shown, and its own where none moved."""
    deck = starter_decks()[0].read()
    own = [card.goal_bpm for card in deck.cards]
    for step in (1, 1, -1):
        choice.action_goal(step)
    shown = choice.line("#goal-words")
    choice.choose(1)
    choice.choose(0)
    anew = choice.line("#goal-words")
    choice.action_goal(1)
    choice.action_take()
    box, now = desk.box, desk.clock.now()
    taken = {card.title: card.goal_bpm for card in box.cards(at=now)}

    assert 5 == GOAL_STEP
    assert f"Goal {round(own[0]) + 5} bpm" in shown
    assert f"Goal {round(own[0])} bpm" in anew
    assert [goal + 5 for goal in own] == [taken[card.title] for card in deck.cards]
    assert [True] == choice.closed_with
    choice.action_back()
    assert [True, False] == choice.closed_with


def test_a_deck_is_heard_until_its_end_or_until_it_is_stopped(
    choice: BareChoice, clock: ManualClock, desk: Desk
) -> None:
    """The playhead follows; another deck, the key, the end and leaving all let it fall silent."""
    drawing, metronome = choice.part("PatternView"), desk.metronome
    metronome.notice = "no device"
    words = choice.line("#goal-words")
    seen = []
    for end in ("key", "other", "end", "leave"):
        choice.action_listen()
        assert sounds(metronome)
        timer = choice.timers["_follow"]
        choice.wait(clock, 1.0, "_follow")
        heard = (choice.line("#goal-words"), drawing.beat is not None, timer.seconds)
        if end == "key":
            choice.action_listen()
        elif end == "other":
            choice.choose(0)
        elif end == "end":
            choice.wait(clock, 60.0, "_follow")
        else:
            choice.on_unmount()
            assert not sounds(metronome)
            break
        seen.append((sounds(metronome), timer.runs, drawing.beat, choice.line("#goal-words")))
        assert heard[1:] == (True, 1 / 30)
        assert "You hear it at" in heard[0]
        assert "l stops it." in heard[0]

    assert [(False, False, None, words)] * 3 == seen
    assert ["no device"] * 4 == [told for told, _ in choice.told]


def test_the_playhead_of_a_deck_is_at_the_beat_that_sounds(
    choice: BareChoice, clock: ManualClock
) -> None:
    """In beats from the pattern's start, round after round."""
    deck = starter_decks()[0].read()
    bpm, beats = deck.cards[0].goal_bpm, deck.cards[0].pattern.meter.beats
    choice.action_listen()
    count_in = choice._desk.metronome.position()
    assert count_in is not None
    seen = []
    for beat in (0.5, 1.0, 1.0):
        choice.wait(clock, beat * 60 / bpm, "_follow")
        seen.append(cast("float", choice.part("PatternView").beat))

    assert [0.5, 1.5, 2.5] == pytest.approx([float(beat) % beats for beat in seen], abs=0.01)


def test_a_playhead_waits_where_nobody_knows_what_sounds(
    choice: BareChoice, clock: ManualClock
) -> None:
    """As while a device is opened anew: it stays where it was."""
    choice.action_listen()
    choice.wait(clock, 3.0, "_follow")
    before = choice.part("PatternView").beat
    choice._desk.metronome.stop()
    choice.wait(clock, 1.0, "_follow")

    assert before is not None
    assert before == choice.part("PatternView").beat
    assert choice.timers["_follow"].runs


@pytest.mark.parametrize(("height", "rows"), [(40, 40 - OTHER_ROWS), (8, SMALLEST_DRAWING)])
def test_the_rhythm_of_a_deck_has_the_rows_that_the_page_leaves(
    choice: BareChoice, height: int, rows: int
) -> None:
    """All but what is said around it, and never fewer than can be drawn; a column at each side."""
    choice.window = (80, height)
    choice.on_resize()

    assert (78, rows) == choice.part("PatternView").place


def test_without_a_deck_nothing_is_heard_moved_or_taken(desk: Desk) -> None:
    """There may be none to choose from."""
    page = BareChoice(desk, (), first_start=False)
    page.action_listen()
    page.action_goal(1)
    page.action_take()
    page.on_unmount()

    assert [] == page.closed_with
    assert {} == page.timers


# the preview


class BarePreview(Bare, Preview):
    """The preview in no app."""


class Follower:
    """What follows a deck file: it looks as a test says, once."""

    def __init__(self) -> None:
        self.path = Path("week-3.toml")
        self.seen: SavedDeck | None = None

    def look(self) -> SavedDeck | None:
        """Return what was saved since."""
        seen, self.seen = self.seen, None
        return seen


def saved(
    text: str = SMALL_DECK,
    *,
    errors: tuple[DeckError, ...] = (),
    changed: tuple[int, ...] = (),
    clauses: tuple[str, ...] = (),
) -> SavedDeck:
    """Return the look of a file that was saved."""
    deck = None if errors else parse_deck(text, name="week-3.toml")
    cards = tuple(deck.cards[n] for n in changed) if deck else ()
    look = SimpleNamespace(text=text, deck=deck, errors=errors, changed=cards, clauses=clauses)
    return cast("SavedDeck", look)


@pytest.fixture
def preview(clock: ManualClock) -> BarePreview:
    """Return a preview of the small deck."""
    follower = Follower()
    follower.seen = saved()
    page = BarePreview(
        cast("DeckFollower", follower), lambda: Metronome(SilentClock(clock.seconds))
    )
    page.part("#text").scroll_to = lambda **where: setattr(page, "scrolled", where["y"])  # type: ignore[attr-defined]
    page.on_mount()
    return page


def save(page: BarePreview, look: SavedDeck) -> None:
    """Save the file, and let the preview see it."""
    cast("Any", page._follower).seen = look
    page.timers["_look"].callback()


def test_a_file_is_shown_with_its_cards_and_looked_at_again(preview: BarePreview) -> None:
    """Every line with its number, each card with its goal, the first one drawn."""
    lines = preview.line("#file").split("\n")
    deck = parse_deck(SMALL_DECK, name="small")

    assert {"_look": LOOK_SECONDS, "_move_playhead": 1 / 30} == {
        name: timer.seconds for name, timer in preview.timers.items()
    }
    assert [f"  {n:>{len(str(len(lines)))}}"[1:] for n in range(1, 4)] == [
        line[: 1 + len(str(len(lines)))] for line in lines[:3]
    ]
    assert "  1 [deck]" == lines[0]
    assert SMALL_DECK.count("\n") == len(lines)
    assert ("4 cards", deck.title, "") == (
        preview.line("#clock"), preview.line("#news"), preview.line("#errors"),
    )  # fmt: skip
    assert [("  " + card.title, f"{card.goal_bpm:.0f}") for card in deck.cards] == list(
        preview.rows_of("RowTable")
    )
    assert (deck.cards[0].pattern, None) == preview.part("PatternView").drawn
    assert preview.part("RowTable").has_keys


def test_what_a_save_changed_is_marked_and_gone_to(preview: BarePreview) -> None:
    """The news says what; without news nothing is marked, and the cursor stays."""
    save(preview, saved(changed=(2, 3), clauses=("two cards are new",)))
    marked = [row[0][0] for row in preview.rows_of("RowTable")]
    at = preview.part("RowTable").cursor_row
    drawn = preview.part("PatternView").drawn
    save(preview, saved(changed=(0,)))

    assert [" ", " ", "•", "•"] == marked
    assert "two cards are new" != preview.line("#news")
    assert (2, 2) == (at, preview.part("RowTable").cursor_row)
    assert drawn is not None
    assert parse_deck(SMALL_DECK, name="x").cards[2].pattern == drawn[0]
    assert {" "} == {row[0][0] for row in preview.rows_of("RowTable")}


@pytest.mark.parametrize(("line", "top"), [(9, 6), (3, 0), (1, 0)])
def test_a_wrong_line_is_marked_and_brought_into_view(
    preview: BarePreview, line: int, top: int
) -> None:
    """Three lines above it; its sentence is said, and the cards that were there stay."""
    cards = list(preview.rows_of("RowTable"))
    error = DeckError("no count", where=f"week-3.toml:{line}:2", fix="write 1 e & a")
    save(preview, saved(errors=(error,)))
    lines = preview.line("#file").split("\n")

    assert [line] == [n for n, text in enumerate(lines, start=1) if text.startswith("▶")]
    assert ("1 error", error.sentence()) == (preview.line("#clock"), preview.line("#errors"))
    assert top == cast("Any", preview).scrolled
    assert cards == list(preview.rows_of("RowTable"))
    save(preview, saved())
    assert ("4 cards", "") == (preview.line("#clock"), preview.line("#errors"))


def test_a_card_of_the_preview_is_heard_and_falls_silent(
    preview: BarePreview, clock: ManualClock
) -> None:
    """By the key, by its end, by another card and by a save; the playhead goes with it."""
    preview.on_unmount()  # nothing is open yet
    drawing = preview.part("PatternView")
    deck = parse_deck(SMALL_DECK, name="x")
    preview.part("RowTable").move_to(1)
    preview.on_row_table_highlighted()
    for end in ("key", "end", "card", "save"):
        preview.action_listen()
        metronome = preview._metronome
        assert metronome is not None
        assert metronome.running
        preview.wait(clock, 1.0, "_move_playhead")
        beat = drawing.beat
        if end == "key":
            preview.action_listen()
        elif end == "end":
            preview.wait(clock, 100.0, "_move_playhead")
        elif end == "card":
            preview.on_row_table_highlighted()
        else:
            save(preview, saved())
        assert 1.0 * deck.cards[1].goal_bpm / 60 == pytest.approx(cast("float", beat), abs=0.01)
        assert (False, None) == (metronome.running, drawing.beat)
    drawing.beat = "untouched"
    preview.wait(clock, 1.0, "_move_playhead")
    preview._cards = ()
    preview.action_listen()

    assert "untouched" == drawing.beat
    assert metronome is not None
    assert not sounds(metronome)
