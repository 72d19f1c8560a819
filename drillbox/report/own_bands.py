"""The bands of the proposed grade, moved to the player's own verdicts and shown beside the usual.

Only takes that were measured and graded by hand say anything: a proposal that was let stand is no
verdict (`drillbox.ear.calibrating`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.ear.bands import COLUMNS, USUAL_CUTS
from drillbox.ear.calibrating import LEAST_TAKES, Verdicts, agreement, limits_at, player_cuts
from drillbox.ear.log_values import read_logged
from drillbox.memory import Grade
from drillbox.store import MEASURED

if TYPE_CHECKING:
    from drillbox.box import Box

_GRADES = (Grade.AUTOMATIC, Grade.CLEAN, Grade.STEADY)
"""Past the last limit shown a take is shaky or fell apart."""


def verdicts_of(box: Box) -> Verdicts:
    """Return the takes that were measured and graded by the player."""
    return Verdicts(
        tuple(
            (logged.measures, take.grade)
            for take in box.archive.takes(measured=True)
            if take.source == "self"
            and take.measures is not None
            and (logged := read_logged(take.measures.get(MEASURED))) is not None
        )
    )


def cuts_of(box: Box) -> tuple[float, ...]:
    """Return the player's own cuts between grades, from measured takes that were graded by hand."""
    return player_cuts(verdicts_of(box))


def own_bands(box: Box) -> tuple[str, ...]:
    """Return the player's own limits beside the usual ones, a line each; none with few verdicts."""
    verdicts = verdicts_of(box)
    if len(verdicts.takes) < LEAST_TAKES:
        return ()
    cuts = player_cuts(verdicts)
    own, usual = limits_at(cuts), limits_at(USUAL_CUTS)
    head = (
        f"The proposed grade follows your own verdicts, {len(verdicts.takes)} takes graded by hand "
        f"(they agree with it at {agreement(verdicts, cuts):.0%}, with the usual limits at "
        f"{agreement(verdicts, USUAL_CUTS):.0%}). Your limits, the usual ones in brackets:"
    )
    return (head, *(_line(place, own, usual) for place in range(len(_GRADES))))


def _line(
    place: int, own: tuple[tuple[float, ...], ...], usual: tuple[tuple[float, ...], ...]
) -> str:
    parts = [
        f"{column.name} {mine[place]:.0f} ({ours[place]:.0f}) {column.unit}"
        for column, mine, ours in zip(COLUMNS, own, usual, strict=True)
    ]
    return f"{_GRADES[place].label}: {', '.join(parts)}"
