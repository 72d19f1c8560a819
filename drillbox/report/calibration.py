"""Is the model right? What was told of each first take of a day, against what came of it.

A model is calibrated where, of the takes it gave a chance of 80 %, 80 in 100 come off. The answer
is for the player: where the two part, the plan is too bold or too timid with this player.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.box.beliefs import evidence, first_belief
from drillbox.memory import Grade, outlook, update

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drillbox.box import Box
    from drillbox.memory import Parameters
    from drillbox.store import TakeRow


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
    told: list[list[tuple[float, bool]]] = [[] for _ in range(10)]
    histories: dict[str, list[TakeRow]] = {}
    parameters, ends = box.parameters, box.settings.day_ends_at
    for take in box.archive.takes():
        histories.setdefault(take.card_id, []).append(take)
    for takes in histories.values():
        for chance, came_off in _foretold(takes, parameters, ends):
            told[min(int(chance * 10), 9)].append((chance, came_off))
    return tuple(
        Tenth(
            sum(chance for chance, _ in some) / len(some),
            sum(came_off for _, came_off in some) / len(some),
            len(some),
        )
        for some in told
        if some
    )


def _foretold(
    takes: list[TakeRow], parameters: Parameters, day_ends_at: int
) -> Iterator[tuple[float, bool]]:
    """Yield the chance of at least steady that was believed before each cold take.

    And whether it came off.
    """
    belief = first_belief(takes, parameters)
    for take in takes:
        seen = evidence(take, day_ends_at)
        if belief.takes and belief.day is not None and seen.day > belief.day:
            chance = outlook(belief, seen.at, parameters, hold_bpm=seen.bpm).p_hold
            yield chance, seen.grade >= Grade.STEADY
        belief = update(belief, seen, parameters)


def calibration_chart(tenths: tuple[Tenth, ...], *, width: int) -> str:
    """Draw what was told and what was seen, a line a tenth.

    The bar is what was seen, the mark what was told.
    """
    room = max(width - 26, 20)
    lines = ["told  seen  takes"]
    for tenth in tenths:
        bar = list(f"{'█' * round(tenth.seen * room):<{room + 1}}")
        bar[round(tenth.said * room)] = "┃"
        numbers = f"{100 * tenth.said:>3.0f} %  {100 * tenth.seen:>3.0f} %  {tenth.takes:>5}"
        lines.append(f"{numbers}  {''.join(bar).rstrip()}")
    return "\n".join(lines)
