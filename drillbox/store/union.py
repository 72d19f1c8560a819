"""Two boxes of one player brought together.

The union of their logs, and the newest of each wish and setting.

The log is a set, so its union needs no rule. Of a wish or a setting that two boxes have in
different words, the one with the greater (moment, content as text) stands; of one that tells a fact
(`rows.FACT`) the one with the least, since it has been true from then on. Both are total orders, so
"the greatest" and "the least" are commutative, associative and idempotent, and any number of
machines come to the same state by any number of merges in any order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from drillbox.store import checks, decks_and_wishes, takelog
from drillbox.store.rows import FACT, LogEntry, Setting, Wish

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Mapping, Sequence

    Progressing = Callable[[Sequence[LogEntry]], Iterable[LogEntry]]

Choice = TypeVar("Choice", Wish, Setting)


@dataclass(frozen=True, slots=True)
class Holdings:
    """What is the player's own in a box.

    The log, the wishes, the settings. Decks are their teachers'.
    """

    log: tuple[LogEntry, ...] = ()
    wishes: tuple[Wish, ...] = ()
    settings: tuple[Setting, ...] = ()


@dataclass(frozen=True, slots=True)
class Decision(Generic[Choice]):
    """Two boxes wanted different things, and one of them stands now.

    Parameters
    ----------
    kept, dropped
        What stands, and what does not.
    from_other
        Whether what stands came from the other box.
    """

    kept: Choice
    dropped: Choice
    from_other: bool


@dataclass(frozen=True, slots=True)
class Joined:
    """What bringing another box's holdings in has changed here, and how differences were settled.

    Parameters
    ----------
    entries
        How many entries of the log were new.
    choices
        How many wishes and settings were new or changed.
    wishes, settings
        The differences, each with what was kept.
    """

    entries: int
    choices: int
    wishes: tuple[Decision[Wish], ...]
    settings: tuple[Decision[Setting], ...]


def holdings(db: sqlite3.Connection) -> Holdings:
    """Return what is the player's own in a box, all of one moment."""
    return Holdings(
        tuple(takelog.entries(db)),
        tuple(decks_and_wishes.wishes(db).values()),
        tuple(decks_and_wishes.settings(db).values()),
    )


def join(db: sqlite3.Connection, other: Holdings, *, through: Progressing) -> Joined:
    """Bring another box's holdings into this one.

    Parameters
    ----------
    db
        This box, inside a transaction.
    other
        What comes in.
    through
        Hands the sorted entries on, one by one: a front end may count them as they pass.
    """
    entries = takelog.merge(db, through(takelog.in_order(other.log)))
    new_wishes, wishes = _settle(
        decks_and_wishes.wishes(db), {wish.card_id: wish for wish in other.wishes}
    )
    new_settings, settings = _settle(
        decks_and_wishes.settings(db), {one.key: one for one in other.settings}
    )
    for wish in new_wishes:
        decks_and_wishes.put_wish(db, wish)
    for setting in new_settings:
        decks_and_wishes.put_setting(db, setting)
    return Joined(entries, len(new_wishes) + len(new_settings), tuple(wishes), tuple(settings))


def content(choice: Wish | Setting) -> str:
    """Return what is wanted, without when: equal wants give equal texts."""
    if isinstance(choice, Wish):
        return checks.json_text([choice.goal_bpm, choice.importance, choice.resting], "wish")
    return checks.json_text(choice.value, choice.key)


def _settle(
    ours: Mapping[str, Choice], theirs: Mapping[str, Choice]
) -> tuple[list[Choice], list[Decision[Choice]]]:
    """Return what has to be written here, and the differences that were settled."""
    new, decisions = [], []
    for key, their in theirs.items():
        our = ours.get(key)
        comes = our is None or _stands_over(their, our)
        if comes:
            new.append(their)
        if our is not None and content(our) != content(their):
            kept, dropped = (their, our) if comes else (our, their)
            decisions.append(Decision(kept, dropped, comes))
    return new, decisions


def _stands_over(one: Choice, other: Choice) -> bool:
    return _rank(one) < _rank(other) if _tells_a_fact(one) else _rank(one) > _rank(other)


def _tells_a_fact(choice: Wish | Setting) -> bool:
    return isinstance(choice, Setting) and choice.key.startswith(FACT)


def _rank(choice: Wish | Setting) -> tuple[str, str]:
    return checks.instant_text(choice.at), content(choice)
