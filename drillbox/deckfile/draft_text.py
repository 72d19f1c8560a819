"""The text of a deck made from rhythms that were found elsewhere, to be edited."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from drillbox.deckfile.template import slug_of
from drillbox.rhythm import spell

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.rhythm import Pattern

__all__ = ["draft_text"]

_LONGEST_TITLE = 44


def draft_text(
    name: str, cards: Iterable[tuple[str, Pattern, str]], *, goal_bpm: float, about: str
) -> str:
    """Return the text of a deck file that holds some rhythms; it reads without an error.

    Parameters
    ----------
    name
        What the deck is called.
    cards
        Of each the title, the rhythm, and a note, which may be empty.
    goal_bpm
        The goal tempo of all.
    about
        What the deck is.
    """
    deck_id = slug_of(name)
    head = [
        "[deck]",
        f'id = "{deck_id}"',
        f"title = {_quoted(_short(deck_id.replace('-', ' ').capitalize()))}",
        "edition = 1",
        'author = ""',
        'licence = ""',
        f"about = {_quoted(about)}",
        f"goal = {goal_bpm:.0f}",
    ]
    parts = ["\n".join(head) + "\n"]
    taken: set[str] = set()
    for title, pattern, note in cards:
        slug = _free(slug_of(title), taken)
        taken.add(slug)
        lines = ["[[card]]", f'id = "{slug}"', f"title = {_quoted(_short(title))}"]
        for line in spell(pattern).splitlines():
            key, _, text = line.partition(": ")
            lines.append(f"{key} = {_quoted(text)}")
        if note:
            lines.append(f"note = {_quoted(note)}")
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def _quoted(text: str) -> str:
    """Return a text as TOML writes it; its rules for plain signs are those of JSON."""
    return json.dumps(text, ensure_ascii=False)


def _short(title: str) -> str:
    if len(title) <= _LONGEST_TITLE:
        return title
    return title[: _LONGEST_TITLE - 1].rstrip() + "…"


def _free(slug: str, taken: set[str]) -> str:
    number, free = 1, slug
    while free in taken:
        number += 1
        free = f"{slug[:56]}-{number}"
    return free
