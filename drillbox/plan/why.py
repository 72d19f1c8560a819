"""Why a card is in the plan, or is not: a sentence each, with its numbers.

Days are told by the difference of two practice days; weekdays come from their ordinals by
arithmetic (ordinal 1 was a Monday).
"""

from __future__ import annotations

from math import exp2
from typing import TYPE_CHECKING

from drillbox.base.wording import DAYS_A_MONTH, YEARS_DAYS
from drillbox.memory import interval_days

if TYPE_CHECKING:
    from drillbox.memory import Parameters
    from drillbox.plan.candidates import Candidate, Day

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SOON_DAYS = 42
"""A card that slips later than in six weeks is not said to slip: nobody knows it so well."""
MUCH = 6
"""So many takes of late are told as a reason to wait."""
TIMES = ("no takes", "one take", "two takes", "three takes", "four takes")


def by_day(today: int, day: int) -> str:
    """Return when a later practice day is, as one would say it today."""
    days = day - today
    if days <= 0:
        return "today"
    if days == 1:
        return "tomorrow"
    if days <= 6:
        return WEEKDAYS[(day - 1) % 7]
    if days <= 13:
        return f"in {days} days"
    if days < 60:
        return f"in {round(days / 7)} weeks"
    return f"in {round(days / DAYS_A_MONTH)} months" if days < YEARS_DAYS else "in some years"


def how_long(days: float) -> str:
    """Return a length of time as one would say it."""
    if days < 1.5:
        return "a day"
    if days <= 20.0:
        return f"{days:.0f} days"
    if days < 60.0:
        return f"{days / 7:.0f} weeks"
    return f"{days / DAYS_A_MONTH:.0f} months" if days < YEARS_DAYS else "some years"


def bpm_text(octaves: float) -> str:
    """Return a tempo in whole bpm."""
    return f"{exp2(octaves):.0f}"


def held_days(candidate: Candidate, day: Day, parameters: Parameters) -> int:
    """Return in how many practice days a card slips under its goal."""
    belief = candidate.belief
    lasts = interval_days(belief, parameters, hold_bpm=candidate.goal_bpm)
    return day.now.day_of((belief.at or 0.0) + lasts) - day.day


def reason(candidate: Candidate, day: Day, parameters: Parameters, *, bpm: int, takes: int) -> str:
    """Return why a card is in the plan."""
    goal, many = f"{candidate.goal_bpm:.0f}", TIMES[takes]
    wanted = _wanted(candidate, day)
    if not candidate.taught:
        return f"New: begin at {bpm} and take it up from there, on the way to {goal}{wanted}."
    if candidate.apart:
        return f"Has not come together yet: another go at {bpm}, between other cards{wanted}."
    cold, _ = candidate.belief.cold(day.at, parameters)
    now = bpm_text(cold)
    above = exp2(candidate.belief.mu) >= candidate.goal_bpm
    if candidate.played(day.day):
        aim = f"with the goal of {goal} behind it" if above else f"on the way to {goal}"
        more = many.replace(" ", " more ")
        return f"Played today already, now near {now}, {aim}{wanted}: {more} at {bpm}."
    if not above:
        return f"About {now} today, on the way to {goal}{wanted}: {many}, starting at {bpm}."
    if exp2(cold) < candidate.goal_bpm:
        under = "just under" if now == goal else "under"
        peak = bpm_text(candidate.belief.mu)
        back = f"{many} to bring it back"
        return f"About {peak} last time, {now} today and {under} its goal of {goal}: {back}."
    stands = _holding(candidate, day, parameters)
    what_for = "to climb on" if candidate.climbs else "to keep it"
    return f"About {now} today, {stands}: {many} at {bpm} {what_for}."


def can_wait(candidate: Candidate, day: Day, parameters: Parameters) -> str:
    """Return why a card is not in the plan that could be."""
    others = "the cards in the plan gain more from the same time"
    if not candidate.taught:
        return f"New, not begun: {others}."
    lately = round(candidate.belief.lately(day.at))
    if candidate.apart:
        often = f", and was played {lately} times of late" if lately >= MUCH else ""
        return f"Has not come together yet{often}: it comes again, with other cards between."
    cold, _ = candidate.belief.cold(day.at, parameters)
    now, goal = bpm_text(cold), f"{candidate.goal_bpm:.0f}"
    if lately >= MUCH:
        played = f"played {lately} times of late"
        return f"About {now} today, and {played}: it may rest while others come up."
    if exp2(cold) >= candidate.goal_bpm:
        return f"About {now} today, {_holding(candidate, day, parameters)}: it can wait."
    return f"About {now} today, goal {goal}: {others}."


def _holding(candidate: Candidate, day: Day, parameters: Parameters) -> str:
    """Return how safely a card stands over its goal, without a length of time that nobody knows."""
    goal = f"{candidate.goal_bpm:.0f}"
    days = held_days(candidate, day, parameters)
    if days <= SOON_DAYS:
        return f"slipping under {goal} {_by(by_day(day.day, day.day + days))}"
    return f"well over its goal of {goal}"


def _wanted(candidate: Candidate, day: Day) -> str:
    if candidate.deadline is None or not candidate.wanted(day.day):
        return ""
    asked = candidate.wanted_bpm or candidate.goal_bpm
    at = "" if asked == candidate.goal_bpm else f"at {asked:.0f} "
    return f", wanted {at}{_by(by_day(day.day, candidate.deadline))}"


def _by(when: str) -> str:
    return f"by {when}" if when in WEEKDAYS else when
