"""The plan of a practice: the best use of the minutes that are left, from what is believed now.

Pure and deterministic: the same cards, moment and parameters give the same plan. Planning again in
the middle of a practice is the same call with the seconds spent and the takes done. Missed days
leave no debt.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drillbox.base.wording import counted
from drillbox.plan.candidate_columns import Candidates
from drillbox.plan.candidates import Item, Part, Plan
from drillbox.plan.choose import WhyNot, choose, waiting_for
from drillbox.plan.order import arrange, interleave
from drillbox.plan.table import tabulate
from drillbox.plan.why import bpm_text, can_wait, reason

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from drillbox.memory import Parameters
    from drillbox.plan.candidates import Candidate, Day
    from drillbox.plan.choose import Choice
    from drillbox.plan.table import TakeTable

COMES_OFF = 0.7
"""A known card this likely to come off may open or close the day."""


class _Scene(NamedTuple):
    """Everything that a plan and its reasons rest on."""

    candidates: Candidates
    day: Day
    parameters: Parameters
    table: TakeTable
    choice: Choice


def make_plan(cards: Iterable[Candidate], day: Day, parameters: Parameters) -> Plan:
    """Return what to play in the time that is left today.

    Parameters
    ----------
    cards
        Every card of the box, rested ones included.
    day
        The moment, the minutes, and what was played today.
    parameters
        The player's numbers.
    """
    scene = _look(Candidates(cards), day, parameters)
    items = tuple(
        Item(c.card_id, v.bpm, v.takes, v.seconds, _why(scene, v.place), v.part, c.ceiling_bpm)
        for v in _visits(scene)
        for c in (scene.candidates.cards[v.place],)
    )
    return Plan(items, day.left_seconds, scene.choice.upkeep, scene.choice.admits)


class PlannedVisit(NamedTuple):
    """A visit by the place of its card; for the rest see `Item`."""

    place: int
    bpm: int
    takes: int
    seconds: float
    part: Part


def planned_visits(
    candidates: Candidates, day: Day, parameters: Parameters
) -> tuple[PlannedVisit, ...]:
    """Return the visits of the plan that `make_plan` makes, without their reasons."""
    return tuple(_visits(_look(candidates, day, parameters)))


def explain(card_id: str, cards: Iterable[Candidate], day: Day, parameters: Parameters) -> str:
    """Return one sentence on why a card is, or is not, in today's plan.

    Raises
    ------
    KeyError
        If no candidate has this id.
    """
    candidates = Candidates(cards)
    index = candidates.place(card_id)
    scene = _look(candidates, day, parameters)
    if index in scene.choice.takes:
        return _why(scene, index)
    return _left_out(scene, index)


def _look(candidates: Candidates, day: Day, parameters: Parameters) -> _Scene:
    table = tabulate(candidates, day, parameters)
    return _Scene(candidates, day, parameters, table, choose(candidates, day, table))


def _visits(scene: _Scene) -> Iterator[PlannedVisit]:
    """Return the visits in playing order, the takes of a first meeting each by itself."""
    cards, table, takes = scene.candidates.cards, scene.table, scene.choice.takes
    met = {i: n - 1 for i, n in takes.items() if cards[i].belief.apart}
    for i, part, number in interleave(_playing_order(scene), met):
        seconds = float(table.seconds[i, number if i in met else takes[i] - 1])
        if number:
            seconds -= float(table.seconds[i, number - 1])
        yield PlannedVisit(i, int(table.bpm[i]), 1 if i in met else takes[i], seconds, part)


def _why(scene: _Scene, i: int) -> str:
    """Return why a card is in the plan, with all its takes where they stand apart."""
    card, takes, bpm = scene.candidates.cards[i], scene.choice.takes[i], int(scene.table.bpm[i])
    return reason(card, scene.day, scene.parameters, bpm=bpm, takes=takes)


def _playing_order(scene: _Scene) -> list[tuple[int, Part]]:
    cards, done = scene.candidates.cards, scene.day.done
    chosen = sorted(scene.choice.takes)
    success = {i: float(scene.table.success[i]) for i in chosen}
    last = next((i for i in chosen if done and cards[i].card_id == done[-1].card_id), None)
    met = last is not None and cards[last].apart
    index = {cards[i].card_id: i for i in chosen if not cards[i].taught}
    order = arrange(
        chosen,
        success=success,
        family={i: cards[i].family for i in chosen},
        steady={i for i in chosen if cards[i].taught and success[i] >= COMES_OFF},
        begun=bool(done),
        first=None if met else last,
        builds_on={i: [index[c] for c in cards[i].after if c in index] for i in chosen},
    )
    if met and order[0][0] == last:
        order[:2] = order[1::-1]
    return order


def _left_out(scene: _Scene, i: int) -> str:
    card, choice = scene.candidates.cards[i], scene.choice
    bar = choice.left_out.get(i, WhyNot.PRICE)
    if bar is WhyNot.PREREQUISITE:
        return _waits_for(card, scene.candidates.by_id)
    if bar is WhyNot.UPKEEP:
        return (
            "New cards wait: what you have begun already needs about"
            f" {choice.upkeep / 60:.0f} minutes a day, and new ones join it below"
            f" {choice.limit / 60:.0f}."
        )
    if bar is WhyNot.PACE:
        most = f"at most {counted(card.pace or 0, 'new card')} a day"
        return f"New: its deck asks for {most}, and today's practice has as many already."
    if bar is WhyNot.ENOUGH:
        spare = "comes back only where minutes would stay empty"
        then = "rests until tomorrow" if card.apart else spare
        return f"Played enough today: more takes on one day add little, so it {then}."
    fixed = {
        WhyNot.RESTED: "Set aside by you: it comes back when you take it up again.",
        WhyNot.MOST_NEW: (
            "New: as many cards as you want to begin in a day are in today's practice already."
        ),
        WhyNot.LOOK_ALIKE: (
            "New, and a card that looks like it is new today as well or has not come together yet."
        ),
    }
    return fixed.get(bar) or can_wait(card, scene.day, scene.parameters)


def _waits_for(card: Candidate, by_id: dict[str, Candidate]) -> str:
    """Return what a card waits for, and what lets it in earlier (`choose`: open minutes)."""
    waiting = waiting_for(card, by_id)
    first, *others = waiting
    goal = f"{first.goal_bpm:.0f}"
    reached = f"near {bpm_text(first.belief.mu)}" if first.taught else "not begun"
    more = f" and {counted(len(others), 'more card')}" if others else ""
    if any(part.apart for part in waiting):
        sooner = ""
    elif all(part.taught for part in waiting):
        sooner = " A day with minutes to spare has it sooner."
    else:
        them = "those cards" if others else "that card"
        sooner = f" A day with minutes to spare that begins {them} first has it sooner."
    return f"Waits for “{first.title}” ({reached}, goal {goal}){more}.{sooner}"
