"""What goes on paper, out of the box: cards, a deck, the day's plan, a lesson, the map, a standing.

Each function returns a sheet that `drillbox.paper` writes in any form and in any thread: nothing
more is read of the box. Setting pages loads when a page is asked for, since a text or a MIDI file
needs none.
"""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from drillbox.base.now import day_name
from drillbox.base.wording import counted
from drillbox.box.practice import by_card
from drillbox.box.views import MAP_LEGEND
from drillbox.errors import UnknownCardError, UsageError
from drillbox.memory import Grade
from drillbox.paper import Collection, Exercise, Sheet
from drillbox.paper.standing_sheet import FamilyStanding
from drillbox.rhythm import draw, for_player, map_cells, vocabulary_map

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.deckfile import Deck
    from drillbox.paper.page import Page
    from drillbox.paper.sheet_layout import Look
    from drillbox.rhythm import Hand

    Watching = Callable[[Iterable[Exercise]], Iterable[Exercise]]

__all__ = ["cards_sheet", "deck_sheet", "lesson", "standing", "todays_plan", "vocabulary"]

_FIRST_CARDS = 4
_MAP_KEY = (
    "Black squares: where the ghosts are. 96 cold tempo, at its goal; (96) below it; 96? slipping; "
    "– no tempo yet; zz set aside; empty: no card."
)


def cards_sheet(
    views: Sequence[CardView], *, leading: Hand, step: int = 5, through: Watching = iter
) -> Sheet:
    """Return an exercise sheet of cards of the box.

    Parameters
    ----------
    views
        The cards in order; at least one.
    leading
        The hand that leads.
    step
        What the boxes to tick go up by, in bpm.
    through
        Passes the cards on while they are drawn, such as a progress bar.
    """
    title = views[0].title if len(views) == 1 else counted(len(views), "card")
    exercises = tuple(_exercise(view, leading) for view in views)
    decks = dict.fromkeys(deck for view in views for deck in view.deck_ids)
    foot = f"drillbox; {', '.join(decks)}"
    return _exercise_sheet(Collection(title, exercises), (), foot, step, through)


def deck_sheet(
    deck: Deck,
    *,
    leading: Hand,
    cold: Mapping[str, float | None],
    step: int = 5,
    through: Watching = iter,
) -> Sheet:
    """Return an exercise sheet of a whole deck, which need not be in the box.

    Parameters
    ----------
    deck
        The deck.
    leading
        The hand that leads.
    cold
        Cold tempos by card id, where they are known.
    step, through
        As in `cards_sheet`.
    """
    exercises = tuple(
        Exercise(
            card.title,
            for_player(card.pattern, leading),
            card.goal_bpm,
            card.note,
            cold.get(card.card_id),
        )
        for card in deck.cards
    )
    about = " ".join(deck.about.split())
    lines = (about.split(". ")[0].rstrip(".") + ".",) if about else ()
    collection = Collection(deck.title, exercises, deck.author, deck.licence)
    return _exercise_sheet(collection, lines, _foot(deck), step, through)


def _exercise_sheet(
    collection: Collection, lines: tuple[str, ...], foot: str, step: int, through: Watching
) -> Sheet:
    def pages(look: Look) -> tuple[Page, ...]:
        from drillbox.paper.exercise_sheet import exercise_sheet  # noqa: PLC0415

        return exercise_sheet(
            collection.title,
            lines,
            collection.exercises,
            look,
            foot=foot,
            step=step,
            through=through,
        )

    return Sheet(collection.title, collection, pages, lines)


def todays_plan(box: Box, *, at: datetime, minutes: int, leading: Hand) -> Sheet:
    """Return the plan of what is left of the day, to be graded with a pencil.

    Raises
    ------
    UsageError
        If there is nothing to play.
    """
    items = box.plan(at=at, minutes=minutes).items
    if not items:
        raise UsageError("today's plan is empty", fix="name cards, or a deck")
    from drillbox.paper.plan_sheet import PlanLine  # noqa: PLC0415

    visits = by_card(items)
    title = f"{day_name(box.now(at).day)}, {counted(minutes, 'minute')}"
    numbers = {visit.card_id: number for number, visit in enumerate(visits, start=1)}
    order = " ".join(str(numbers[item.card_id]) for item in items)
    lines = ("After each take tick where the metronome should go next.", f"In this order: {order}")
    views = {visit.card_id: box.card(visit.card_id, at=at) for visit in visits}
    patterns = {key: for_player(view.pattern, leading) for key, view in views.items()}
    plan = [
        PlanLine(
            name=_short_name(box, views[visit.card_id]),
            title=views[visit.card_id].title,
            pattern=patterns[visit.card_id],
            part=visit.part.value,
            bpm=visit.bpm,
            takes=visit.takes,
            why=visit.why,
        )
        for visit in visits
    ]
    grades = [grade.label for grade in sorted(Grade)]

    def pages(look: Look) -> tuple[Page, ...]:
        from drillbox.paper.plan_sheet import plan_sheet  # noqa: PLC0415

        return plan_sheet(title, lines, plan, grades, look, foot="drillbox; today's plan")

    exercises = tuple(
        Exercise(views[visit.card_id].title, patterns[visit.card_id], visit.bpm, visit.why)
        for visit in visits
    )
    return Sheet(title, Collection(title, exercises), pages, lines)


def lesson(
    deck: Deck,
    *,
    student: str,
    words: str,
    day: int,
    cold: Mapping[str, float | None],
    goals: Mapping[str, float],
    leading: Hand,
) -> Sheet:
    """Return a lesson sheet: what a deck's assignments ask of a student.

    Parameters
    ----------
    deck
        The deck. What it assigns is asked for; if it assigns nothing, all of its cards.
    student
        The student's name.
    words
        The teacher's words; may be empty.
    day
        The practice day; assignments that have passed are left out.
    cold
        The student's cold tempos by card id, where they are known.
    goals
        The student's own goals by card id, where they are known; else the deck's count.
    leading
        The hand that the student leads with.
    """
    asked: list[tuple[Exercise, str]] = []
    for card in deck.cards:
        dues = [one for one in deck.assignments if one.means(card.slug)]
        dues = [one for one in dues if one.by.toordinal() >= day]
        due = min(dues, key=lambda one: one.by, default=None)
        if due is None and deck.assignments:
            continue
        goal = (due and due.goal_bpm) or goals.get(card.card_id, card.goal_bpm)
        pattern = for_player(card.pattern, leading)
        exercise = Exercise(card.title, pattern, goal, card.note, cold.get(card.card_id))
        asked.append((exercise, day_name(due.by) if due else ""))
    if not asked:
        raise UsageError(
            f"{deck.id} asks for nothing from today on", fix="add an assignment to the deck"
        )
    lines = (f"{day_name(day)}, {deck.title}",)
    title = f"Lesson sheet: {student}"

    def pages(look: Look) -> tuple[Page, ...]:
        from drillbox.paper.lesson_sheet import Assigned, lesson_sheet  # noqa: PLC0415

        assigned = [Assigned(exercise, by) for exercise, by in asked]
        return lesson_sheet(student, lines, words, assigned, look, foot=_foot(deck))

    collection = Collection(title, tuple(one for one, _ in asked), deck.author, deck.licence)
    said = (*lines, words) if words else lines
    text = "\n".join(_asked(n, *one, leading) for n, one in enumerate(asked, start=1))
    return Sheet(title, collection, pages, said, text)


def _asked(number: int, card: Exercise, by: str, leading: Hand) -> str:
    """Return a card of a lesson as text: where it stands, what is wanted by when, its notes."""
    now = "" if card.now_bpm is None else f"now {card.now_bpm:.0f}, "
    wanted = f"{now}target {card.bpm:.0f} bpm{f' by {by}' if by else ''}"
    note = f"{card.note}\n" if card.note else ""
    return f"{number}  {card.title}: {wanted}\n{note}\n{draw(card.pattern, leading=leading)}"


def vocabulary(views: Sequence[CardView], *, day: int, leading: Hand) -> Sheet:
    """Return the map of all ghost placements on one page, with the tempos of these cards.

    Parameters
    ----------
    views
        The cards.
    day
        The practice day.
    leading
        The hand that leads, for the forms that hold notes.
    """
    cells = map_cells((view.pattern, view.cold_bpm, view.standing) for view in views)
    if not cells:
        raise UsageError(
            "no card has ghosts of a grid on every beat", fix="add a deck, such as sixteenth-ghosts"
        )
    title = "Ghost notes: the vocabulary"
    lines = (day_name(day), _MAP_KEY)

    def pages(look: Look) -> tuple[Page, ...]:
        from drillbox.paper.map_sheet import map_sheet  # noqa: PLC0415

        return map_sheet(title, lines, cells, look, foot="drillbox; vocabulary")

    exercises = tuple(_exercise(view, leading) for view in views)
    drawn = f"{vocabulary_map(cells)}\n{MAP_LEGEND}\n"
    return Sheet(title, Collection(title, exercises), pages, lines[:1], drawn)


def standing(box: Box, *, at: datetime, leading: Hand) -> Sheet:
    """Return the page to take home after a tempo check: every family, and what to begin with.

    Raises
    ------
    UsageError
        If nothing was played, so that nothing can be said.
    """
    views = box.cards(at=at)
    if all(view.cold_bpm is None for view in views):
        raise UsageError("nothing was played yet", fix="play the tempo check first")
    guessed = box.first_tempi(view.card_id for view in views if view.cold_bpm is None)
    day = box.now(at).day
    title = "Where you stand"
    played = sum(view.cold_bpm is not None for view in views)
    share = f"{played} of {counted(len(views), 'card')} played"
    lines = (f"{day_name(day)}: {share}; the tempos of the others are guessed from those.",)
    names = box.families()
    families: dict[str, list[CardView]] = {}
    for view in views:
        families.setdefault(names[view.card_id], []).append(view)
    plan = box.plan(at=at, minutes=box.settings.minutes)
    ids = list(dict.fromkeys(item.card_id for item in plan.items))[:_FIRST_CARDS]
    first = tuple(_exercise(box.card(card_id, at=at), leading) for card_id in ids)

    stand = [_standing(name, cards, guessed) for name, cards in families.items()]

    def pages(look: Look) -> tuple[Page, ...]:
        from drillbox.paper.standing_sheet import standing_sheet  # noqa: PLC0415

        return standing_sheet(title, lines, stand, first, look, foot="drillbox; tempo check")

    rows = (
        f"{one.name:<40} {one.played:>4} of {one.cards:>3}  "
        f"{one.low_bpm:>4.0f} to {one.high_bpm:>3.0f}  goal {one.goal_bpm:>3.0f}\n"
        for one in stand
    )
    exercises = first or tuple(_exercise(view, leading) for view in views[:_FIRST_CARDS])
    return Sheet(title, Collection(title, exercises), pages, lines, "".join(rows))


def _standing(name: str, cards: Sequence[CardView], guessed: Mapping[str, float]) -> FamilyStanding:
    """Return how a family stands: played cards as they are, the others as they are guessed."""
    tempos = [c.cold_bpm or guessed.get(c.card_id, c.goal_bpm) for c in cards]
    return FamilyStanding(
        name=name,
        cards=len(cards),
        played=sum(card.cold_bpm is not None for card in cards),
        low_bpm=min(tempos),
        high_bpm=max(tempos),
        goal_bpm=median(card.goal_bpm for card in cards),
    )


def _exercise(view: CardView, leading: Hand) -> Exercise:
    pattern = for_player(view.pattern, leading)
    return Exercise(view.title, pattern, view.goal_bpm, view.note, view.cold_bpm)


def _foot(deck: Deck) -> str:
    parts = (deck.title, f"edition {deck.edition}", deck.author, deck.licence)
    return "drillbox; " + ", ".join(part for part in parts if part)


def _short_name(box: Box, view: CardView) -> str:
    """Return the shortest name that means the card when it is typed."""
    place = view.places[0]
    slug = place.rpartition("/")[2]
    try:
        box.find(slug)
    except UnknownCardError:
        return place
    return slug
