"""How many examples a law draws."""

from __future__ import annotations

from typing import Any

from hypothesis import settings

AT_LENGTH = 100
"""Examples of a law that names no number, where every law is tried at length."""
QUICKLY = 25
"""The same in a quick run, which is what `pytest` does unless it is told otherwise."""
_LEAST = 8


def examples(at_length: int, **others: Any) -> settings:
    """Return settings of a law with its own number of examples, fewer in a quick run.

    Profiles (conftest.py) say how many a law draws that names no number; one that does draws in
    proportion, since its examples cost more than others or catch less.
    """
    share = settings().max_examples / AT_LENGTH
    return settings(max_examples=max(_LEAST, round(at_length * share)), **others)
