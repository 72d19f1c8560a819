"""A card's cold tempo against its goal, in one row of signs.

The middle column is the goal, the left end half of it, the right end half as much again; so a
column of bars has its goals under each other, whatever the tempos. Nothing is told by colour: the
goal is ``│`` while the bar has not come to it and ``┿`` where it has.
"""

from __future__ import annotations

WIDTH = 13


def tempo_bar(cold_bpm: float | None, goal_bpm: float) -> str:
    """Return the bar, `WIDTH` columns; one that runs off an end has an arrow there.

    Parameters
    ----------
    cold_bpm
        The cold tempo in bpm, None for a card that was never played.
    goal_bpm
        The goal tempo in bpm.
    """
    goal = WIDTH // 2
    if cold_bpm is None:
        return " " * goal + "│" + " " * goal
    ratio = cold_bpm / goal_bpm
    reached = round(cold_bpm) >= round(goal_bpm)
    # Short of the goal the bar stays left of its sign, by a hair or by much.
    filled = int((ratio - 0.5) * WIDTH) if not reached else max(goal + 1, int(ratio * WIDTH) - goal)
    if filled > WIDTH:
        return "━" * goal + "┿" + "━" * (goal - 1) + "▸"
    bar = ("━" * min(filled, goal)).ljust(goal) if filled > 0 else "◂".ljust(goal)
    return bar + ("┿" if reached else "│") + ("━" * max(filled - goal - 1, 0)).ljust(goal)
