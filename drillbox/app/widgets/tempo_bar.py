"""A card's cold tempo against its goal and its best, in one row of signs.

The middle column is the goal, the left end half of it, the right end half as much again; so a
column of bars has its goals under each other, whatever the tempos. Nothing is told by colour: the
goal is ``│`` while the bar has not come to it and ``┿`` where it has; ``◆`` is the best that ever
came off cold, where that stands beyond the bar.
"""

from __future__ import annotations

WIDTH = 13
LEGEND = "━ cold tempo, from half the goal to half as much again · │ ┿ the goal · ◆ best cold take"


def tempo_bar(
    cold_bpm: float | None, goal_bpm: float, best_bpm: float | None = None, *, width: int = WIDTH
) -> str:
    """Return the bar; one that runs off an end has an arrow there.

    Parameters
    ----------
    cold_bpm
        The cold tempo in bpm, None for a card that was never played.
    goal_bpm
        The goal tempo in bpm.
    best_bpm
        The best cold take in bpm, None where there is none.
    width
        Columns, an odd number.
    """
    goal = width // 2
    if cold_bpm is None:
        return " " * goal + "│" + " " * goal
    ratio = cold_bpm / goal_bpm
    reached = round(cold_bpm) >= round(goal_bpm)
    # Short of the goal the bar stays left of its sign, by a hair or by much.
    filled = int((ratio - 0.5) * width) if not reached else max(goal + 1, int(ratio * width) - goal)
    if filled > width:
        return "━" * goal + "┿" + "━" * (goal - 1) + "▸"
    bar = ("━" * min(filled, goal)).ljust(goal) if filled > 0 else "◂".ljust(goal)
    bar += ("┿" if reached else "│") + ("━" * max(filled - goal - 1, 0)).ljust(goal)
    at = -1 if best_bpm is None else min(int((best_bpm / goal_bpm - 0.5) * width), width - 1)
    return f"{bar[:at]}◆{bar[at + 1 :]}" if at >= 0 and bar[at] == " " else bar
