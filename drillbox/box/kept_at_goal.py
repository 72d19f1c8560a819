"""How far a card is to go: it climbs past its goal unless the player says it is to be kept there.

Said by the player of a card or of a whole deck, and kept among the settings, so it travels with
them; or by the deck file (`keep = true`), below the player's word. A card in
several decks climbs if one of them climbs; what is said of the card itself stands above its decks.
The player may name a card's top tempo as well; otherwise the hands end the climb, on a mark of the
metronome.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.tempi import ASKED
from drillbox.plan.takes import mark_under

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from drillbox.box.catalogue import Entry
    from drillbox.store import Archive, Setting

KEEP, TOP = "keep/", "top/"
HAND_LIMIT = 7.0
"""Strokes a second of one hand past which a tempo is no use: 5 to 7 are the limit of a hand (Fujii,
Kudo, Ohtsuki & Oda, Neuroscience Letters 459:69-73, 2009)."""
COUNTED_AT_BPM = 80.0
"""The tempo at which `drillbox.rhythm.facts` counts strokes a second."""


def keeps(entry: Entry, settings: Mapping[str, Setting]) -> bool:
    """Return whether a card is to be kept at its goal."""
    own = _switch(settings, entry.row.card_id)
    if own is not None:
        return own
    said = [_switch(settings, deck) for deck in entry.deck_ids]
    keeping = [
        deck in entry.keeping if switch is None else switch
        for deck, switch in zip(entry.deck_ids, said, strict=True)
    ]
    return bool(keeping) and all(keeping)


def top_of(card_id: str, strokes: float, settings: Mapping[str, Setting]) -> float:
    """Return a card's top tempo.

    Parameters
    ----------
    card_id
        The card.
    strokes
        Strokes a second of its busier hand at 80 bpm; 0 where nothing is known.
    settings
        The box's settings.
    """
    key = TOP + card_id
    said = settings[key].value if key in settings else None
    if isinstance(said, int | float) and not isinstance(said, bool) and said > 0:
        return float(said)
    hands = COUNTED_AT_BPM * HAND_LIMIT / strokes if strokes > 0.0 else ASKED.most
    return float(mark_under(min(ASKED.most, hands)))


def say_keep(archive: Archive, ids: Iterable[str], *, keep: bool, at: datetime) -> None:
    """Say of cards or decks, by their ids, whether they are to be kept at their goals."""
    for one in ids:
        archive.put_setting(KEEP + one, keep, at)


def say_top(archive: Archive, card_id: str, bpm: float | None, *, at: datetime) -> None:
    """Name a card's top tempo; None leaves it to the hands."""
    archive.put_setting(TOP + card_id, bpm, at)


def _switch(settings: Mapping[str, Setting], one: str) -> bool | None:
    value = settings[KEEP + one].value if KEEP + one in settings else None
    return value if isinstance(value, bool) else None
