"""The reasons, one sentence each, with their numbers.

Days are told by the difference of two practice days; weekdays come from their ordinals by
arithmetic (ordinal 1 was a Monday).
"""

from __future__ import annotations

from math import exp2
from typing import TYPE_CHECKING

from drillbox.memory import interval_days

if TYPE_CHECKING:
    from drillbox.memory import Parameters
    from drillbox.plan.candidates import Candidate, Day

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
YEARS_DAYS = 730.0
"""From here a length of time is told in years without a number: nobody knows it better."""
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
    return f"in {round(days / 30.4)} months" if days < YEARS_DAYS else "in some years"


def how_long(days: float) -> str:
    """Return a length of time as one would say it."""
    if days < 1.5:
        return "a day"
    if days <= 20.0:
        return f"{days:.0f} days"
    if days < 60.0:
        return f"{days / 7:.0f} weeks"
    return f"{days / 30.4:.0f} months" if days < YEARS_DAYS else "some years"


def until(day: Day, moment: float) -> str:
    """Return how long something lasts, as one would say it today."""
    last = day.now.day_of(moment)
    days = last - day.day
    return f"until {by_day(day.day, last)}" if days < 7 else f"for another {how_long(days)}"


def bpm_text(octaves: float) -> str:
    """Return a tempo in whole bpm."""
    return f"{exp2(octaves):.0f}"


def held_until(candidate: Candidate, parameters: Parameters) -> float:
    """Return the moment at which a card slips under its goal."""
    last = candidate.belief.at or 0.0
    return last + interval_days(candidate.belief, parameters, hold_bpm=candidate.goal_bpm)


def reason(candidate: Candidate, day: Day, parameters: Parameters, *, bpm: int, takes: int) -> str:
    """Return why a card is in the plan."""
    goal = f"{candidate.goal_bpm:.0f}"
    many, wanted = TIMES[takes], _wanted(candidate, day)
    if not candidate.taught:
        return (
            f"New, not played yet: {many}, starting at a comfortable {bpm},"
            f" on the way to {goal}{wanted}."
        )
    cold, _ = candidate.belief.cold(day.at, parameters)
    now = bpm_text(cold)
    if candidate.played(day.day):
        return f"Played today already, now near {now}: {many} more at {bpm} towards {goal}."
    peak = bpm_text(candidate.belief.mu)
    if exp2(candidate.belief.mu) < candidate.goal_bpm:
        return f"About {now} today on the way to {goal}{wanted}: {many}, starting at {bpm}."
    end = held_until(candidate, parameters)
    if end <= day.at:
        under = "just under" if now == goal else "under"
        return (
            f"Was near {peak}, about {now} today and {under} the {goal} it is held at:"
            f" {many} to bring it back."
        )
    when = _by(by_day(day.day, day.now.day_of(end)))
    return f"About {now} today, slipping under {goal} {when}: {many} to keep it."


def _wanted(candidate: Candidate, day: Day) -> str:
    if candidate.deadline is None or candidate.deadline < day.day:
        return ""
    return f", wanted {_by(by_day(day.day, candidate.deadline))}"


def _by(when: str) -> str:
    return f"by {when}" if when in WEEKDAYS else when
