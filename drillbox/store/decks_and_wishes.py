"""Decks, cards, the player's wishes and the settings, in SQL.

A deck is replaced whole: its cards are the deck's, its history is not here. What the player wants
of a card is kept by the card's rhythm, so it outlives every edition of every deck.
"""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from drillbox.base.now import TICK
from drillbox.errors import UnknownCardError, UsageError
from drillbox.store import checks, guard
from drillbox.store.rows import CardRow, DeckRow, Setting, Wish

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Sequence

LAST_MOMENT = datetime.max.replace(tzinfo=UTC)

_DECKS = "SELECT id, title, edition, author, licence, about, text, added_at, archived FROM deck"
_CARDS = (
    "SELECT deck_id, slug, card_id, card.title, pattern, seconds60, bars, goal_bpm, importance,"
    " after_ids, family, position, note FROM card JOIN deck ON deck.id = deck_id"
)
_BY_AGE = "ORDER BY added_at, id"
_BY_DECK = "ORDER BY deck.added_at, deck_id, position, slug"
_SLUG = 1
"""The column of a card's name in its deck."""
_TEXTS = {
    "deck": "SELECT text FROM deck WHERE rowid = ?",
    "card": "SELECT text FROM deck JOIN card ON id = deck_id WHERE card.rowid = ?",
}
"""The deck's own text of one of its rows, by the row's table."""
_WISHES = "SELECT card_id, goal_bpm, importance, resting, at FROM wish"
_SETTINGS = "SELECT key, value, at FROM setting ORDER BY key"


def check_deck(deck: DeckRow, cards: Sequence[CardRow]) -> None:
    """Refuse cards of another deck, and two of one name."""
    seen: set[str] = set()
    for card in cards:
        if card.deck_id != deck.id:
            raise UsageError(f"the card belongs to deck {card.deck_id}", where=card.slug)
        if card.slug in seen:
            raise UsageError("two cards have this name", where=card.slug, fix="name them apart")
        seen.add(card.slug)


def put_deck(db: sqlite3.Connection, deck: DeckRow, cards: Sequence[CardRow]) -> None:
    """Put a deck in the place of the one with its id."""
    db.execute("DELETE FROM deck WHERE id = ?", (deck.id,))
    db.execute(
        "INSERT INTO deck (id, title, edition, author, licence, about, text, added_at, archived)"
        " VALUES (:id, :title, :edition, :author, :licence, :about, :text, :added_at, :archived)",
        asdict(deck) | {"added_at": checks.instant_text(deck.added_at)},
    )
    db.executemany(
        "INSERT INTO card (deck_id, slug, card_id, title, pattern, seconds60, bars, goal_bpm,"
        " importance, after_ids, family, position, note)"
        " VALUES (:deck_id, :slug, :card_id, :title, :pattern, :seconds60, :bars, :goal_bpm,"
        " :importance, :after, :family, :position, :note)",
        [asdict(card) | {"after": json.dumps(card.after)} for card in cards],
    )


def remove_deck(db: sqlite3.Connection, deck_id: str) -> None:
    """Take a deck and its cards out; the takes stay in the log."""
    if db.execute("DELETE FROM deck WHERE id = ?", (deck_id,)).rowcount == 0:
        raise _no_deck(deck_id)


def archive_deck(db: sqlite3.Connection, deck_id: str, *, archived: bool) -> None:
    """Put a deck away, or take it out again."""
    done = db.execute("UPDATE deck SET archived = ? WHERE id = ?", (archived, deck_id))
    if done.rowcount == 0:
        raise _no_deck(deck_id)


def _no_deck(deck_id: str) -> UnknownCardError:
    fix = "'drillbox decks' lists them"
    return UnknownCardError("no such deck in the box", where=deck_id, fix=fix)


def archived_decks(db: sqlite3.Connection) -> frozenset[str]:
    """Return the decks that are put away."""
    return frozenset(deck for (deck,) in db.execute("SELECT id FROM deck WHERE archived = 1"))


def decks(db: sqlite3.Connection) -> list[DeckRow]:
    """Return the decks in the order they were added."""
    return guard.usable(guard.fetched(db, f"{_DECKS} {_BY_AGE}"), _deck)


def cards(db: sqlite3.Connection) -> list[CardRow]:
    """Return the cards of every deck, archived ones too, in their decks' order."""
    return guard.usable(guard.fetched(db, f"{_CARDS} {_BY_DECK}"), _card)


def shelf(db: sqlite3.Connection) -> tuple[list[DeckRow], list[CardRow], list[guard.Unusable]]:
    """Return all decks and all their cards, as `decks` and `cards` do, and what is passed over."""
    in_order = guard.fetched(db, f"{_DECKS} {_BY_AGE}")
    all_decks, wrong_decks = guard.parted(in_order, _deck, table="deck")
    in_order = guard.fetched(db, f"{_CARDS} {_BY_DECK}")
    all_cards, wrong_cards = guard.parted(in_order, _card, table="card", key=_SLUG)
    return all_decks, all_cards, wrong_decks + wrong_cards


def change_wish(db: sqlite3.Connection, wish: Wish) -> None:
    """Put a wish in the place of the card's earlier one, dated after it, whatever the clock says.

    Else a clock that was set back would let the earlier wish come back with the next merge, as the
    newest.
    """
    put_wish(db, replace(wish, at=_after(wishes(db).get(wish.card_id), wish.at)))


def change_setting(db: sqlite3.Connection, setting: Setting) -> None:
    """Replace the setting of a key by one that is dated after it, whatever the clock says."""
    put_setting(db, replace(setting, at=_after(settings(db).get(setting.key), setting.at)))


def _after(earlier: Wish | Setting | None, at: datetime) -> datetime:
    if earlier is None or earlier.at < at:
        return at
    # The last moment there is has none after it.
    return min(earlier.at, LAST_MOMENT - TICK) + TICK


def put_wish(db: sqlite3.Connection, wish: Wish) -> None:
    """Put a wish in the place of the card's earlier one, as it is."""
    db.execute(
        "REPLACE INTO wish (card_id, goal_bpm, importance, resting, at)"
        " VALUES (:card_id, :goal_bpm, :importance, :resting, :at)",
        asdict(wish) | {"at": checks.instant_text(wish.at)},
    )


def wishes(db: sqlite3.Connection) -> dict[str, Wish]:
    """Return the wishes by card id."""
    return {wish.card_id: wish for wish in guard.usable(guard.fetched(db, _WISHES), _wish)}


def put_setting(db: sqlite3.Connection, setting: Setting) -> None:
    """Put a setting in the place of the earlier one of its key, as it is."""
    value = checks.json_text(setting.value, setting.key)
    at = checks.instant_text(setting.at)
    db.execute("REPLACE INTO setting (key, value, at) VALUES (?, ?, ?)", (setting.key, value, at))


def settings(db: sqlite3.Connection) -> dict[str, Setting]:
    """Return the settings by key."""
    return {one.key: one for one in guard.usable(guard.fetched(db, _SETTINGS), _setting)}


def unusable(db: sqlite3.Connection) -> list[guard.Unusable]:
    """Return the rows of these tables that are passed over."""
    return [row for _, row in _numbered(db)]


def take_out_unusable(
    db: sqlite3.Connection, *, reads: Callable[[str], bool]
) -> tuple[int, list[str]]:
    """Take out the rows that are passed over; return how many, and the decks' texts to read again.

    A deck, or a card of one, is left where it is unless `reads` says that the deck's text is read.
    """
    taken, texts = 0, []
    for number, row in _numbered(db):
        if row.table in {"deck", "card"}:
            if not reads(row.text):
                continue
            texts.append(row.text)
        drop = f"DELETE FROM {row.table} WHERE rowid = ?"  # noqa: S608 - our own names
        taken += db.execute(drop, (number,)).rowcount
    return taken, list(dict.fromkeys(texts))


def _numbered(db: sqlite3.Connection) -> list[tuple[int, guard.Unusable]]:
    """Return the rows that are passed over, each with its number in its table."""
    found = []
    for table, key, select, make in _parts():
        rows = guard.fetched(db, select.replace("SELECT ", f"SELECT {table}.rowid, ", 1))
        for number, *row in rows:
            for wrong in guard.unusable([row], make, table=table, key=key):
                text = guard.fetched(db, _TEXTS[table], (number,)) if table in _TEXTS else []
                kept = text[0][0] if text and isinstance(text[0][0], str) else ""
                found.append((number, replace(wrong, text=kept)))
    return found


def drop_settings(db: sqlite3.Connection, keys: Sequence[str]) -> None:
    """Take settings out, so that what is usual holds."""
    db.executemany("DELETE FROM setting WHERE key = ?", [(key,) for key in keys])


def _parts() -> tuple[tuple[str, int, str, Callable[[Sequence[Any]], object]], ...]:
    """Return each table, the column of its key, how it is read and what is made of its rows."""
    return (
        ("deck", 0, _DECKS, _deck),
        ("card", _SLUG, _CARDS, _card),
        ("wish", 0, _WISHES, _wish),
        ("setting", 0, _SETTINGS, _setting),
    )


def _card(row: Sequence[Any]) -> CardRow:
    values = dict(zip(CardRow.__slots__, row, strict=True))
    return CardRow(**values | {"after": tuple(json.loads(values["after"]))})


def _wish(row: Sequence[Any]) -> Wish:
    card_id, goal_bpm, importance, resting, at = row
    return Wish(
        card_id=card_id,
        goal_bpm=goal_bpm,
        importance=importance,
        resting=bool(resting),
        at=datetime.fromisoformat(at),
    )


def _setting(row: Sequence[Any]) -> Setting:
    key, value, at = row
    return Setting(key=key, value=json.loads(value), at=datetime.fromisoformat(at))


def _deck(row: Sequence[Any]) -> DeckRow:
    *said, added_at, archived = row
    names = ("id", "title", "edition", "author", "licence", "about", "text")
    return DeckRow(
        **dict(zip(names, said, strict=True)),
        added_at=datetime.fromisoformat(added_at),
        archived=bool(archived),
    )
