"""How well first takes were foretold: chances of at least steady against what came off.

A model is calibrated where, of the takes it gave a chance of 80 %, 80 in 100 come off. The answer
is for the player: where the two part, the plan is too bold or too timid with this player.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.box import Box


@dataclass(frozen=True, slots=True)
class Tenth:
    """First takes of a day whose told chance of at least steady lies in one tenth of the scale.

    Parameters
    ----------
    said
        The mean chance told.
    seen
        The share that came off.
    takes
        How many there were.
    """

    said: float
    seen: float
    takes: int


def calibration(box: Box) -> tuple[Tenth, ...]:
    """Return what was told of each first take of a day, against what came of it.

    A card's very first take is left out: nothing was known of it. Tenths without takes are missing.
    """
    rows = box.days().rows
    told = (rows.own == 1.0) & ~np.isnan(rows.told)
    chance, came_off = rows.told[told], rows.cold_grade[told] >= Grade.STEADY
    tenth = np.minimum((chance * 10.0).astype(np.int64), 9)
    takes = np.bincount(tenth, minlength=10)
    said = np.bincount(tenth, weights=chance, minlength=10)
    seen = np.bincount(tenth, weights=came_off, minlength=10)
    return tuple(
        Tenth(float(said[n] / takes[n]), float(seen[n] / takes[n]), int(takes[n]))
        for n in range(10)
        if takes[n]
    )


def calibration_chart(tenths: tuple[Tenth, ...], *, width: int) -> str:
    """Draw what was told and what was seen, a line a tenth.

    The bar is what was seen, the mark what was told, as the head says.
    """
    room = max(width - 26, 20)
    lines = ["told  seen  takes  █ seen, ┃ told"]
    for tenth in tenths:
        bar = list(f"{'█' * round(tenth.seen * room):<{room + 1}}")
        bar[round(tenth.said * room)] = "┃"
        numbers = f"{100 * tenth.said:>3.0f} %  {100 * tenth.seen:>3.0f} %  {tenth.takes:>5}"
        lines.append(f"{numbers}  {''.join(bar).rstrip()}")
    return "\n".join(lines)
