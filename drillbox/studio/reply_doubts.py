"""What a teacher may not have meant in a reply: tempos out of reach, and tempos that are there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.studio.tasks import reach_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drillbox.studio.figures import StudentFigures
    from drillbox.studio.reply_files import Reply

__all__ = ["reply_doubts"]

REACH_DAYS = 14
"""What is in reach is told for two weeks; for a later day it is as much more."""


def reply_doubts(reply: Reply, one: StudentFigures) -> Iterator[str]:
    """Yield a sentence for each card that is wanted at a tempo that was perhaps not meant.

    Parameters
    ----------
    reply
        What was written.
    one
        The student it is for, as the last file tells.
    """
    cards = {card.rhythm: card for card in one.progress.cards}
    reach = reach_of(one)
    for wanted in reply.wanted:
        card = cards.get(wanted.rhythm)
        if card is None:
            continue
        asked = wanted.goal_bpm or card.goal_bpm
        said = f"perhaps not meant: {card.title} wanted at {asked:g} by {wanted.by}"
        cold, days = card.cold_bpm, (wanted.by - reply.written.date()).days
        if cold is None:
            if asked > card.goal_bpm:
                yield f"{said}: its goal is {card.goal_bpm:g}, and it has no tempo yet."
        elif asked - cold > reach * max(1.0, days / REACH_DAYS):
            yield f"{said}: it stands at {cold:.0f} cold."
        elif wanted.goal_bpm is not None and asked <= cold:
            yield (
                f"{said}: it stands at {cold:.0f} cold already, and a day lowers no goal; a lower"
                f" goal is --goal '{card.title}={asked:g}'."
            )
