"""The start of a deck file, to be edited.

It reads without an error and shows each part of the format once.
"""

from __future__ import annotations

import re

__all__ = ["deck_template", "slug_of"]

_TEMPLATE = """\
# A deck for drillbox. The lines after a # are remarks. 'drillbox decks watch' shows errors and
# drawings while you write.

[deck]
id = "{deck_id}"            # its name for ever, the same in every edition
title = "{title}"
edition = 1                 # raise it whenever you hand out a changed deck
author = ""
licence = ""
about = "What this deck is for."
goal = 90                   # bpm, for cards that name no goal of their own

[groove]                    # what every card is laid over
hat = "beat &"
snare = ">2 >4"
bass = "1 3"

[[card]]
id = "e"                    # its name in this deck, the same in every edition
title = "e of every beat"
snare = "(e)"

[[card]]
id = "a"
title = "a of every beat"
snare = "(a)"
goal = 96
note = "A word to the player."

[[card]]
id = "e-and-a"
title = "e and a of every beat"
snare = "(e) (a)"
after = ["e", "a"]          # these come first

# [[assignment]]            # take the three # away to ask for something by a day
# by = 2030-12-20
# cards = ["e", "a"]
"""
_OTHER = re.compile(r"[^a-z0-9]+")
_LONGEST_ID = 64


def slug_of(text: str) -> str:
    """Return a text as a deck's id.

    ``Week 3`` becomes ``week-3``; ``deck`` where no letter or digit is left.
    """
    return _OTHER.sub("-", text.lower())[:_LONGEST_ID].strip("-") or "deck"


def deck_template(name: str) -> str:
    """Return the text of a new deck.

    Parameters
    ----------
    name
        What the deck is called, such as the file's name without its ending.
    """
    deck_id = slug_of(name)
    return _TEMPLATE.format(deck_id=deck_id, title=deck_id.replace("-", " ").capitalize())
