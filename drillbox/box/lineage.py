"""Lineage: rhythms that took another rhythm's place in a new edition, and carry its history on.

A card's id is its rhythm, so a card whose strokes change becomes another card. Where a deck's
edition keeps the card's name, what was learned of the old rhythm is not lost: the new one starts
from it, less surely. The link is kept as a setting, so it travels with the player's other settings
when boxes meet, and beliefs follow from log and settings alone, on any machine.

A link counts from its moment. Takes of the old rhythm after it are the old rhythm's own, and a
rhythm that was played before the link was made keeps its own history: so a link is not made again
once its rhythm was played, and of two that machines made the earlier stands. Going back along
links, moments only fall, so there are no circles.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from drillbox.store.rows import FACT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime

    from drillbox.memory import Belief, Parameters
    from drillbox.store import Setting, TakeRow

KEY = FACT
CHANGED_SD = 0.15
"""How far, in octaves, a changed rhythm's tempo may lie from the old one's.

One standard deviation, 11 % (assumption).
"""
CHANGED_DAYS_SD = 0.5
"""The same of the logarithm of its stability (assumption)."""


@dataclass(frozen=True, slots=True)
class Link:
    """A rhythm, the one whose place it took, and when."""

    card_id: str
    ancestor: str
    at: datetime


def links_in(settings: Mapping[str, Setting]) -> dict[str, Link]:
    """Return the links that are kept among a box's settings, by the card that took the place.

    What is no link is passed over.
    """
    found = {}
    for key, setting in settings.items():
        if key.startswith(KEY) and isinstance(setting.value, str):
            card_id = key.removeprefix(KEY)
            found[card_id] = Link(card_id, setting.value, setting.at)
    return found


def digest(links: Mapping[str, Link]) -> str:
    """Return a short text that is the same exactly where the links are; empty for none."""
    if not links:
        return ""
    import hashlib  # noqa: PLC0415 - few boxes have any

    said = [f"{link.card_id} {link.ancestor} {link.at.isoformat()}" for link in links.values()]
    return hashlib.sha256("\n".join(sorted(said)).encode()).hexdigest()[:16]


def lineage(card_id: str, links: Mapping[str, Link]) -> tuple[Link, ...]:
    """Return the links by which a card inherits: its own, its ancestor's, and so on back."""
    chain: list[Link] = []
    link = links.get(card_id)
    while link is not None and (not chain or link.at < chain[-1].at):
        chain.append(link)
        link = links.get(link.ancestor)
    return tuple(chain)


def inherited_takes(
    card_id: str,
    own: Iterable[TakeRow],
    links: Mapping[str, Link],
    takes_of: Callable[[str], list[TakeRow]],
) -> list[list[TakeRow]]:
    """Return the takes a card inherits, a list for each ancestor, the farthest back first.

    Parameters
    ----------
    card_id, own
        The card, and its own takes in order of time.
    links
        The links.
    takes_of
        Gives a card's takes, in order of time.
    """
    found: list[list[TakeRow]] = []
    first = next(iter(own), None)
    for link in lineage(card_id, links):
        if first is not None and first.at <= link.at:
            break
        found.append([take for take in takes_of(link.ancestor) if take.at <= link.at])
        first = next(iter(found[-1]), None)
    return found[::-1]


def with_descendants(card_ids: Iterable[str], links: Mapping[str, Link]) -> frozenset[str]:
    """Return some cards and all that inherit from them."""
    found = set(card_ids)
    below = {link.card_id for link in links.values()}
    while new := {card_id for card_id in below - found if links[card_id].ancestor in found}:
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
    """Return a variance with a doubt added, no wider than of a rhythm nobody has played."""
    return max(variance, min(variance + sd**2, most**2))
