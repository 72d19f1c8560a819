"""Heirs.

Rhythms that took another rhythm's place in a new edition of a deck, and carry its history on.

A card's id is its rhythm, so a card whose strokes change becomes another card. Where a deck's
edition keeps the card's name, what was learned of the old rhythm is not lost: the new one starts
from it, less surely. The link is kept as a setting, so it travels with the player's other settings
when boxes meet, and beliefs follow from log and settings alone, on any machine.

A link counts from its moment. Takes of the old rhythm after it are the old rhythm's own, and a
rhythm that was played before the link was made keeps its own history. Going back along links,
moments only fall, so there are no circles.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime

    from drillbox.memory import Belief, Parameters
    from drillbox.store import Setting, TakeRow

KEY = "heir/"
CHANGED_SD = 0.15
"""How far, in octaves, a changed rhythm's tempo may lie from the old one's.

One standard deviation, 11 % (assumption).
"""
CHANGED_DAYS_SD = 0.5
"""The same of the logarithm of its stability (assumption)."""


@dataclass(frozen=True, slots=True)
class Inheritance:
    """A rhythm, the one whose place it took, and when."""

    card_id: str
    ancestor: str
    at: datetime


def heirs_in(settings: Mapping[str, Setting]) -> dict[str, Inheritance]:
    """Return the heirs that are kept among a box's settings, by card id.

    What is no link is passed over.
    """
    found = {}
    for key, setting in settings.items():
        if key.startswith(KEY) and isinstance(setting.value, str):
            card_id = key.removeprefix(KEY)
            found[card_id] = Inheritance(card_id, setting.value, setting.at)
    return found


def digest(heirs: Mapping[str, Inheritance]) -> str:
    """Return a short text that is the same exactly where the links are; empty for none."""
    if not heirs:
        return ""
    import hashlib  # noqa: PLC0415 - few boxes have any

    links = [f"{heir.card_id} {heir.ancestor} {heir.at.isoformat()}" for heir in heirs.values()]
    return hashlib.sha256("\n".join(sorted(links)).encode()).hexdigest()[:16]


def lineage(card_id: str, heirs: Mapping[str, Inheritance]) -> tuple[Inheritance, ...]:
    """Return the links by which a card inherits, its own first, then its ancestor's.

    And so on back in time.
    """
    links: list[Inheritance] = []
    link = heirs.get(card_id)
    while link is not None and (not links or link.at < links[-1].at):
        links.append(link)
        link = heirs.get(link.ancestor)
    return tuple(links)


def inherited_takes(
    card_id: str,
    own: Iterable[TakeRow],
    heirs: Mapping[str, Inheritance],
    takes_of: Callable[[str], list[TakeRow]],
) -> list[list[TakeRow]]:
    """Return the takes a card inherits, a list for each ancestor, the farthest back first.

    Parameters
    ----------
    card_id, own
        The card, and its own takes in order of time.
    heirs
        The links.
    takes_of
        Gives a card's takes, in order of time.
    """
    found: list[list[TakeRow]] = []
    first = next(iter(own), None)
    for link in lineage(card_id, heirs):
        if first is not None and first.at <= link.at:
            break
        found.append([take for take in takes_of(link.ancestor) if take.at <= link.at])
        first = next(iter(found[-1]), None)
    return found[::-1]


def with_descendants(card_ids: Iterable[str], heirs: Mapping[str, Inheritance]) -> frozenset[str]:
    """Return some cards and all that inherit from them."""
    found = set(card_ids)
    below = {heir.card_id for heir in heirs.values()}
    while new := {card_id for card_id in below - found if heirs[card_id].ancestor in found}:
        found |= new
    return frozenset(found)


def inherited(belief: Belief, parameters: Parameters) -> Belief:
    """Return what is believed of a changed rhythm, from what was believed of the old one.

    The same, less surely.
    """
    return replace(
        belief,
        var_mu=_wider(belief.var_mu, CHANGED_SD, parameters.first_sd),
        var_ln_s=_wider(belief.var_ln_s, CHANGED_DAYS_SD, parameters.first_days_sd),
    )


def _wider(variance: float, sd: float, most: float) -> float:
    """Return a variance with a doubt added.

    But no wider than that of a rhythm nobody has played.
    """
    return max(variance, min(variance + sd**2, most**2))
