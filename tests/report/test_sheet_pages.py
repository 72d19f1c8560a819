"""What is handed to whoever sets the pages, and what stands in a text: all of it from the box."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from statistics import median
from typing import TYPE_CHECKING, Any

import pytest
from conftest import SMALL_DECK

from drillbox.box.views import MAP_LEGEND
from drillbox.deckfile import parse_deck
from drillbox.errors import UsageError
from drillbox.memory import Grade
from drillbox.report.sheet_contents import (
    cards_sheet,
    deck_sheet,
    lesson,
    standing,
    todays_plan,
    vocabulary,
)
from drillbox.rhythm import Hand, draw, for_player, map_cells, vocabulary_map

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.paper import Sheet
    from drillbox.paper.page import Page

TEN = date(2026, 3, 10).toordinal()
LOOK: Any = object()


class Set:
    """What a setter of pages was asked for: by place and by name."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.given: tuple[Any, ...] = ()
        self.named: dict[str, Any] = {}
        for name in ("exercise", "plan", "lesson", "map", "standing"):
            place = f"drillbox.paper.{name}_sheet.{name}_sheet"
            monkeypatch.setattr(place, self._noted)

    def _noted(self, *given: Any, **named: Any) -> tuple[Page, ...]:
        self.given, self.named = given, named
        return ()

    def of(self, sheet: Sheet) -> tuple[Any, ...]:
        """Return what a sheet asks of it, without the look."""
        assert () == sheet.pages(LOOK)
        assert LOOK in self.given
        return tuple(one for one in self.given if one is not LOOK)


@pytest.fixture
def pages(monkeypatch: pytest.MonkeyPatch) -> Set:
    """Return what notes what the setters of pages are asked for."""
    return Set(monkeypatch)


def test_a_plan_on_paper_has_every_take_of_the_day(
    box: Box, clock: ManualClock, pages: Set
) -> None:
    """Each card once, as its first visit is, with the takes of all its visits together.

    The name to type is the card's own where it means that card alone, else with its deck.
    """
    twin = SMALL_DECK.replace('"first-ghosts"', '"twin"').replace('"(e)"', '"(1e)"')
    box.put_deck(parse_deck(twin, name="t"), at=clock.now())
    items = box.plan(at=clock.now(), minutes=15).items
    sheet = todays_plan(box, at=clock.now(), minutes=15, leading=Hand.LEFT)
    title, lines, plan, grades = pages.of(sheet)
    takes: dict[str, int] = defaultdict(int)
    for item in items:
        takes[item.card_id] += item.takes
    first = {item.card_id: item for item in reversed(items)}

    assert (sheet.title, sheet.lines) == (title, lines)
    assert {"foot": "drillbox; today's plan"} == pages.named
    assert ["fell apart", "shaky", "steady", "clean", "automatic"] == grades
    assert len(takes) == len(plan) < len(items)
    for (card_id, many), line in zip(takes.items(), plan, strict=True):
        view, item = box.card(card_id, at=clock.now()), first[card_id]
        assert card_id == box.find(line.name)
        slug = view.places[0].partition("/")[2]
        assert line.name == (view.places[0] if slug == "e" else slug)
        assert for_player(view.pattern, Hand.LEFT) == line.pattern
        assert (view.title, item.part.value, item.bpm, many, item.why) == (
            line.title, line.part, line.bpm, line.takes, line.why,
        )  # fmt: skip
    assert [(line.bpm, line.why, line.pattern) for line in plan] == [
        (one.bpm, one.note, one.pattern) for one in sheet.collection.exercises
    ]
    assert {"e"} <= {place.partition("/")[2] for c in takes for place in
                     box.card(c, at=clock.now()).places}  # fmt: skip


def test_an_empty_plan_is_no_sheet(box: Box, clock: ManualClock) -> None:
    """In a sentence."""
    box.remove_deck("first-ghosts")
    with pytest.raises(UsageError, match="today's plan is empty"):
        todays_plan(box, at=clock.now(), minutes=15, leading=Hand.RIGHT)


def test_an_exercise_sheet_is_handed_on_as_it_was_asked_for(
    box: Box, clock: ManualClock, pages: Set
) -> None:
    """Steps and the watcher too; at the foot the decks, each once, or the deck's edition."""
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    views = box.cards(at=clock.now())
    sheet = cards_sheet(views, leading=Hand.LEFT, step=10, through=list)
    title, lines, exercises = pages.of(sheet)
    assert ("4 cards", (), sheet.collection.exercises) == (title, lines, exercises)
    assert {"foot": "drillbox; first-ghosts", "step": 10, "through": list} == pages.named
    assert [
        (v.title, for_player(v.pattern, Hand.LEFT), v.goal_bpm, v.note, v.cold_bpm) for v in views
    ] == [(one.title, one.pattern, one.bpm, one.note, one.now_bpm) for one in exercises]

    text = SMALL_DECK.replace('title = "e of every beat"\n', 'note = "Lower."\n')
    deck = parse_deck(text, name="d")
    cold = {deck.cards[1].card_id: 71.5}
    title, lines, exercises = pages.of(deck_sheet(deck, leading=Hand.RIGHT, cold=cold))
    assert ("First ghosts", ("Four cards for tests.",)) == (title, lines)
    foot = "drillbox; First ghosts, edition 1, a teacher, CC0-1.0"
    assert {"foot": foot, "step": 5, "through": iter} == pages.named
    assert [None, 71.5, None, None] == [one.now_bpm for one in exercises]
    assert ["Lower.", "", "", ""] == [one.note for one in exercises]
    assert [card.goal_bpm for card in deck.cards] == [one.bpm for one in exercises]
    bare = parse_deck(text.replace('author = "a teacher"\n', ""), name="d")
    pages.of(deck_sheet(bare, leading=Hand.RIGHT, cold={}))
    assert "drillbox; First ghosts, edition 1, CC0-1.0" == pages.named["foot"]


def test_a_lesson_wants_the_nearest_goal_there_is(pages: Set) -> None:
    """The assignment's, else the student's own, else the deck's; with day, note and drawing."""
    text = SMALL_DECK.replace('title = "e of every beat"\n', 'note = "Lower."\n')
    text += '\n[[assignment]]\nby = 2026-03-12\ncards = ["e", "a"]\n'
    text += '\n[[assignment]]\nby = 2026-03-13\ncards = ["e-a"]\ngoal = 70\n'
    deck = parse_deck(text, name="d")
    goals = {deck.cards[n].card_id: 66.0 for n in (1, 2)}
    sheet = lesson(
        deck, student="Mia", words="Lower.", day=TEN, cold={deck.cards[0].card_id: 71.4},
        goals=goals, leading=Hand.LEFT,
    )  # fmt: skip
    student, lines, words, assigned = pages.of(sheet)
    exercises = sheet.collection.exercises

    assert ("Mia", "Lower.", "Lesson sheet: Mia") == (student, words, sheet.title)
    assert (*lines, "Lower.") == sheet.lines
    assert [90.0, 66.0, 70.0] == [one.bpm for one in exercises]
    assert [71.4, None, None] == [one.now_bpm for one in exercises]
    assert list(exercises) == [one.card for one in assigned]
    assert ["Thu 12 Mar", "Thu 12 Mar", "Fri 13 Mar"] == [one.by for one in assigned]
    assert ("a teacher", "CC0-1.0") == (sheet.collection.author, sheet.collection.licence)
    drawn = draw(for_player(deck.cards[0].pattern, Hand.LEFT), leading=Hand.LEFT)
    head = f"1  {deck.cards[0].title}: now 71, target 90 bpm by Thu 12 Mar\nLower.\n\n{drawn}\n2  "
    assert sheet.text.startswith(head)


def test_the_map_has_every_card_and_its_standing(box: Box, clock: ManualClock, pages: Set) -> None:
    """On the page with its key, in a text with its legend."""
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    views = box.cards(at=clock.now())
    sheet = vocabulary(views, day=TEN, leading=Hand.LEFT)
    cells = map_cells((view.pattern, view.cold_bpm, view.standing) for view in views)
    title, (day, key), shown = pages.of(sheet)

    assert (sheet.title, "Tue 10 Mar", cells) == (title, day, shown)
    assert "96 cold tempo, at its goal; (96) below it; 96? slipping" in key
    assert f"{vocabulary_map(cells)}\n{MAP_LEGEND}\n" == sheet.text
    assert [view.title for view in views] == [one.title for one in sheet.collection.exercises]
    assert [for_player(view.pattern, Hand.LEFT) for view in views] == [
        one.pattern for one in sheet.collection.exercises
    ]


def test_the_standing_is_a_row_a_family(box: Box, clock: ManualClock, pages: Set) -> None:
    """Played cards as they stand, others as they are guessed; then the first cards of the plan."""
    more = "".join(
        f'[[card]]\nid = "m{n}"\nsnare = "({n}e)"\ngoal = {70 + 9 * n}\nfamily = "ones"\n'
        for n in (1, 2, 3, 4)
    )
    head = SMALL_DECK.split("[[card]]", maxsplit=1)[0].replace("first-ghosts", "more")
    box.put_deck(parse_deck(head + more, name="m"), at=clock.now())
    for name, bpm in (("e", 80), ("m1", 96), ("m2", 60)):
        box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    clock.forward(days=1)
    views = box.cards(at=clock.now())
    sheet = standing(box, at=clock.now(), leading=Hand.RIGHT)
    title, lines, families, first = pages.of(sheet)
    plan = box.plan(at=clock.now(), minutes=box.settings.minutes).items
    planned = list(dict.fromkeys(item.card_id for item in plan))[:4]

    assert ("Where you stand", sheet.lines) == (title, lines)
    assert (
        "Tue 3 Mar: 3 of 8 cards played; the tempos of the others are guessed from those.",
    ) == lines
    assert [box.title(card_id) for card_id in planned] == [one.title for one in first]
    assert 4 == len(first)
    assert first == sheet.collection.exercises
    guessed = box.first_tempi(view.card_id for view in views if view.cold_bpm is None)
    assert ["First ghosts", "ones"] == [one.name for one in families]
    for one, row in zip(families, sheet.text.splitlines(), strict=True):
        mine = [view for view in views if one.name == (view.family or "First ghosts")]
        tempi = [view.cold_bpm or guessed[view.card_id] for view in mine]
        played = sum(view.cold_bpm is not None for view in mine)
        assert (len(mine), played, min(tempi), max(tempi)) == (
            one.cards, one.played, one.low_bpm, one.high_bpm,
        )  # fmt: skip
        goal = median(view.goal_bpm for view in mine)
        assert goal == one.goal_bpm
        span = f"{min(tempi):.0f} to {max(tempi):.0f}"
        assert f"{one.name} {played} of {len(mine)} {span} goal {goal:.0f}" == " ".join(row.split())


def test_where_nothing_is_planned_the_first_cards_stand(
    box: Box, clock: ManualClock, pages: Set
) -> None:
    """For the forms that hold notes; on the page there are none."""
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    for card in box.cards(at=clock.now()):
        box.rest(card.card_id, resting=True, at=clock.now())
    clock.forward(seconds=timedelta(days=1).total_seconds())
    sheet = standing(box, at=clock.now(), leading=Hand.RIGHT)

    assert () == pages.of(sheet)[-1]
    assert [card.title for card in box.cards(at=clock.now())][:4] == [
        one.title for one in sheet.collection.exercises
    ]
