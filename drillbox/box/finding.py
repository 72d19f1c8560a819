"""Finding cards by what is said of them: ``triplet -doubled goal>90 away>30``.

A word stands in the title, the decks, the family or the state; one of a single sign (``e``, ``&``,
``1``) by itself, a longer one also within a word. Several words in quotes stand in the title in a
row. Titles that have all the words as they were said come first. A name with a comparison is about
a number; a card that has no such number, as one never played has no cold tempo, is not found by it.
A minus before either leaves out what it would find.
"""

from __future__ import annotations

import re
from operator import eq, ge, gt, le, lt
from typing import TYPE_CHECKING

from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from drillbox.box.views import CardView

_NUMBERS: Mapping[str, Callable[[CardView, int], float | None]] = {
    "cold": lambda card, _: card.cold_bpm,
    "goal": lambda card, _: card.goal_bpm,
    "takes": lambda card, _: card.takes,
    "away": lambda card, today: None if card.last_day is None else today - card.last_day,
    "slips": lambda card, today: None if card.returns_on is None else card.returns_on - today,
}
"""What can be compared: tempos in bpm, takes, days since the last one, days until it slips."""
_COMPARISONS: Mapping[str, Callable[[float, float], bool]] = {
    "<=": le, ">=": ge, "<": lt, ">": gt, "=": eq,
}  # fmt: skip
_COMPARED = re.compile(r"([a-z]+)(<=|>=|<|>|=)(.*)", re.DOTALL)
_WORD = re.compile(r"[\w&]+")
_TYPED = re.compile(r"""[“"']([^“”"']+)[”"'](?=\s|$)|(\S+)""")
APART = 2
"""The rank of a card whose title does not have the words in a row."""
_NUMBER = re.compile(r"-?[0-9]{1,6}(\.[0-9]{1,3})?")


def found(cards: Iterable[CardView], words: Sequence[str], *, today: int) -> list[CardView]:
    """Return the cards of which all `words` are true.

    First those with the very title, then those whose title has the words in a row, then the others;
    each in the order given.

    Parameters
    ----------
    cards
        Where to look.
    words
        What is said of them, as the module has it, quotes taken off; capitals do not matter.
    today
        The practice day, from which days are counted.

    Raises
    ------
    UsageError
        For a comparison of something that is no number of a card, or with no number.
    """
    said = [word.casefold().strip() for word in words if word.strip(" -")]
    tests = [_test(word, today) for word in said]
    left = [card for card in cards if all(test(card) for test in tests)]
    plain = [word for word in said if not (word.startswith("-") or _COMPARED.fullmatch(word))]
    phrase = _words_of(" ".join(plain))
    return sorted(left, key=lambda card: _rank(card, phrase)) if phrase else left


def typed(line: str) -> list[str]:
    """Return the words of a line as a shell would: what stands in quotes is one.

    A quote that is not closed yet, as while it is being typed, is none.
    """
    return [quoted or word for quoted, word in _TYPED.findall(line)]


def _rank(card: CardView, phrase: list[str]) -> int:
    """Return 0 for the very title, 1 for one that has the words in a row, APART for any other."""
    title = _words_of(card.title)
    rows = [title[at : at + len(phrase)] for at in range(len(title))]
    return 0 if title == phrase else 1 if phrase in rows else APART


def _words_of(text: str) -> list[str]:
    return _WORD.findall(text.casefold())


def _test(word: str, today: int) -> Callable[[CardView], bool]:
    if word.startswith("-"):
        left_out = _test(word[1:], today)
        return lambda card: not left_out(card)
    compared = _COMPARED.fullmatch(word)
    if compared is None:
        if " " in word:
            row = _words_of(word)
            return lambda card: bool(row) and _rank(card, row) < APART
        alone = len(word) == 1
        return lambda card: word in (_words_of(card.words) if alone else card.words)
    name, sign, given = compared.groups()
    if name not in _NUMBERS:
        raise UsageError(
            f"a card has no number called {name!r}", fix=f"compare {', '.join(_NUMBERS)}"
        )
    if not _NUMBER.fullmatch(given):
        raise UsageError(f"{name}{sign} wants a number", fix=f"write it as in {name}{sign}90")
    number, limit, compare = _NUMBERS[name], float(given), _COMPARISONS[sign]

    def holds(card: CardView) -> bool:
        value = number(card, today)
        # As it is shown: a cold tempo of 89.7 is read as 90.
        return value is not None and compare(round(value), limit)

    return holds
