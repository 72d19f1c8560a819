"""What a box does at the edges: another day, another window, the same moment, a file of a kind."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from store_kit import CARD, NOW, OTHER, box_with, card, deck, open_box, standing, take

from drillbox.base.now import TICK
from drillbox.errors import (
    BoxDamagedError,
    LogError,
    NotSavedError,
    UnknownCardError,
    UsageError,
)
from drillbox.store import (
    Archive,
    BeliefRow,
    Holdings,
    Retraction,
    Setting,
    Wish,
    is_box,
    list_backups,
    replace_log,
)
from drillbox.store.boxfile import BUSY_SECONDS, backup_folder
from drillbox.store.decks_and_wishes import LAST_MOMENT
from drillbox.store.exchange import is_log
from drillbox.store.repair import rebuild

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def test_a_write_waits_five_seconds_unless_told_otherwise(tmp_path: Path) -> None:
    """As SQLite itself says (https://sqlite.org/pragma.html#pragma_busy_timeout, milliseconds)."""
    with open_box(tmp_path / "box") as box:
        waits = [box._box.connection.execute("PRAGMA busy_timeout").fetchone()]
        for seconds in (0.1, 5.0, 0.0004, 0.0016):
            box.wait_for_others(seconds)
            waits.append(box._box.connection.execute("PRAGMA busy_timeout").fetchone())

    assert [(5000,), (100,), (5000,), (0,), (2,)] == waits
    assert 5.0 == BUSY_SECONDS


def test_every_connection_is_as_careful_as_sqlite_advises() -> None:
    """For files from strangers: sqlite.org/security.html, section 1.2; EXTRA is 3 (pragma.html)."""
    with open_box() as box:
        db = box._box.connection
        names = (
            "cell_size_check",
            "foreign_keys",
            "recursive_triggers",
            "synchronous",
            "fullfsync",
        )
        assert [1, 1, 1, 3, 1] == [db.execute(f"PRAGMA {name}").fetchone()[0] for name in names]


def test_a_box_is_checked_before_it_is_used_unless_somebody_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who opens a box and says no more finds out of damage at once."""
    path = box_with(tmp_path / "box", 1)
    (backup_folder(path) / "checked.txt").unlink()
    monkeypatch.setattr("drillbox.store.daily_check.is_whole", lambda _: False)

    with pytest.raises(BoxDamagedError, match="damaged"):
        Archive.open(path, now=NOW, new_id=lambda: f"{1:032x}")
    Archive.open(path, now=NOW, new_id=lambda: f"{1:032x}", checks_first=False).close()


def test_who_only_reads_vouches_for_nothing(tmp_path: Path) -> None:
    """The note that says how the box was left is the writer's, on the day it was opened."""
    path = box_with(tmp_path / "box", 1)
    note = backup_folder(path) / "checked.txt"
    left = path.stat()
    assert f"2026-03-12 {left.st_size} {left.st_mtime_ns}" == note.read_text()
    note.unlink()
    with open_box(path, read_only=True) as box:
        assert [take(1)] == box.takes()
    assert not note.exists()
    with open_box(path, now=NOW + timedelta(days=1)):
        pass
    assert note.read_text().startswith("2026-03-13 ")


def test_a_box_without_a_folder_of_backups_gets_none_by_being_opened(tmp_path: Path) -> None:
    """Only a new box makes it, or the first backup."""
    path = box_with(tmp_path / "box", 1)
    for left in backup_folder(path).iterdir():
        left.unlink()
    backup_folder(path).rmdir()
    with open_box(path) as box:
        assert [take(1)] == box.takes()
    assert not backup_folder(path).exists()


def test_a_note_that_is_no_text_asks_for_a_check(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever it holds; a box that is not due is not read through."""
    path = box_with(tmp_path / "box", 1)
    checks: list[object] = []

    def whole(place: Path) -> bool:
        checks.append(place)
        return True

    monkeypatch.setattr("drillbox.store.daily_check.is_whole", whole)
    with open_box(path) as box:
        box.check()
    assert [] == checks
    (backup_folder(path) / "checked.txt").write_bytes(b"\xff\xfe")
    with open_box(path):
        assert [path] == checks
    (backup_folder(path) / "checked.txt").write_bytes(b"")
    with open_box(path, checks_first=False) as box:
        assert [path] == checks
        box.check()
        box.check()
        assert [path, path] == checks


def test_a_day_has_one_backup_however_often_the_time_is_told(tmp_path: Path) -> None:
    """Also where it was made by hand, and by a window that was opened the day before."""
    path = box_with(tmp_path / "box", 1)
    tomorrow = NOW + timedelta(days=1)
    with open_box(path) as box:
        box.tell_time(tomorrow - timedelta(hours=12))
        box.back_up(tomorrow - timedelta(hours=12))
        for number in (2, 3):
            box.tell_time(tomorrow + timedelta(minutes=number))
            box.add_take(take(number))
    assert [tomorrow.date()] == [made.day for made in list_backups(path)]
    with open_box(":memory:") as box:
        box.tell_time(tomorrow)
        box.add_take(take(1))
        assert box.backup_problem is None


def cached(mark: int = 1, *, hours: int = 24, version: str = "model 1") -> tuple[object, bool]:
    """Try to store a cache of a card that stands so; return what is cached and whether it came."""
    with open_box() as box:
        box.merge([take(1), take(2, at=NOW + timedelta(hours=30))])
        stands = replace(standing(1), until=NOW + timedelta(hours=24))
        box.put_beliefs([BeliefRow(CARD, (1.0,), b"12345678")], since=None, now=stands)
        since = replace(standing(mark, version), until=NOW + timedelta(hours=hours))
        box.put_beliefs([BeliefRow(OTHER, (2.0,))], since=since, now=standing(2, version))
        found = box.beliefs("model 1")
        assert found is not None
        return sorted(found.rows), found.standing.mark == 2


@pytest.mark.parametrize(
    ("mark", "hours", "fits"),
    [(1, 24, True), (0, 24, False), (2, 24, False), (1, 29, True), (1, 1, True),
     (1, 30, False), (1, 31, False), (1, 0, False)],
)  # fmt: skip
def test_a_later_moment_is_the_same_if_no_take_lies_between(
    mark: int, hours: int, *, fits: bool
) -> None:
    """Takes after a minute and after 30 hours: the first is in the cache, the second waits."""
    rows, came = cached(mark, hours=hours)

    assert (([CARD, OTHER] if fits else [CARD]), fits) == (rows, came)


def test_a_cache_of_all_replaces_what_accounts_for_less(tmp_path: Path) -> None:
    """Of the same premises: one that accounts for more stands; of others, any is replaced."""
    with open_box(tmp_path / "box") as box:
        box.merge([take(1), take(2)])
        for mark, version, stands in (
            (1, "a", (1, "a")), (2, "a", (2, "a")), (1, "a", (2, "a")), (2, "a", (2, "a")),
            (0, "b", (0, "b")), (1, "b", (1, "b")),
        ):  # fmt: skip
            row = BeliefRow(CARD, (float(mark),))
            box.put_beliefs([row], since=None, now=standing(mark, version))
            cache = box.beliefs(stands[1])
            assert cache is not None
            assert stands == (cache.standing.mark, cache.standing.version)
            assert (float(stands[0]),) == cache.rows[CARD].body
            assert box.beliefs("b" if stands[1] == "a" else "a") is None


def test_the_days_of_one_card_or_of_all_come_back_packed(tmp_path: Path) -> None:
    """As they went in, and the cache of beliefs beside them."""
    with open_box(tmp_path / "box") as box:
        rows = [BeliefRow(CARD, (1.0,), b"12345678"), BeliefRow(OTHER, (), b"")]
        box.put_beliefs(rows, since=None, now=standing(0))
        assert {CARD: b"12345678", OTHER: b""} == box.courses()
        assert {CARD: b"12345678"} == box.courses(CARD)
        assert {} == box.courses("f" * 16)
        cache = box.beliefs("model 1")
        assert cache is not None
        assert {CARD: (1.0,), OTHER: ()} == {key: row.body for key, row in cache.rows.items()}


def test_a_change_of_the_same_moment_is_dated_a_tick_later() -> None:
    """A later one keeps its moment; past the last moment there is none, and nothing fails."""
    with open_box() as box:
        for at, expected in (
            (NOW, NOW), (NOW, NOW + TICK), (NOW - timedelta(days=1), NOW + 2 * TICK),
            (NOW + timedelta(seconds=1), NOW + timedelta(seconds=1)), (LAST_MOMENT, LAST_MOMENT),
            (NOW, LAST_MOMENT), (LAST_MOMENT, LAST_MOMENT),
        ):  # fmt: skip
            box.put_setting("minutes", 20, at)
            box.put_wish(Wish(CARD, 90.0, None, resting=False, at=at))
            assert expected == box.settings()["minutes"].at == box.wishes()[CARD].at
    assert datetime.max.replace(tzinfo=UTC) == LAST_MOMENT


def test_decks_stand_in_the_order_of_their_moments_then_of_their_names() -> None:
    """Put away or not; their cards follow them, by place and then by name."""
    with open_box() as box:
        later = NOW + timedelta(days=1)
        for key, at in (("b", NOW), ("c", later), ("a", later)):
            cards = [card(2, key, position=1), card(3, key, position=0), card(1, key, position=1)]
            box.put_deck(deck(key, added_at=at), cards)
        box.archive_deck("c", archived=True)
        decks, cards_in_order, wrong = box.shelf()

        assert ["b", "a", "c"] == [row.id for row in decks] == [row.id for row in box.decks()]
        assert ["card-3", "card-1", "card-2"] * 3 == [row.slug for row in cards_in_order]
        assert ["b", "a", "c"] == list(dict.fromkeys(row.deck_id for row in box.cards()))
        assert (cards_in_order, []) == (box.cards(), wrong)
        assert frozenset({"c"}) == box.archived_decks()
        box.archive_deck("c", archived=False)
        assert frozenset() == box.archived_decks()
        with pytest.raises(UnknownCardError, match="no such deck"):
            box.archive_deck("d", archived=True)
        with pytest.raises(UnknownCardError, match="no such deck"):
            box.remove_deck("d")


def test_of_two_boxes_the_same_wish_is_taken_over_without_a_word() -> None:
    """The later moment comes over; only where they differ is there something to tell."""
    old, new = (Wish(CARD, 90.0, 2.0, resting=True, at=NOW + timedelta(hours=h)) for h in (0, 1))
    chosen = [Setting("minutes", 20, NOW + timedelta(hours=h)) for h in (0, 1)]
    with open_box() as box:
        box.join(Holdings(wishes=(old,), settings=(chosen[0],)))
        joined = box.join(Holdings(wishes=(new,), settings=(chosen[1],)))
        assert (2, (), ()) == (joined.choices, joined.wishes, joined.settings)
        assert (new, chosen[1]) == (box.wishes()[CARD], box.settings()["minutes"])
        joined = box.join(Holdings(wishes=(old,), settings=(chosen[0],)))
        assert (0, (), ()) == (joined.choices, joined.wishes, joined.settings)


def test_a_newer_edition_survives_a_repair(tmp_path: Path) -> None:
    """Of each deck the higher edition stands, with its own cards; of equal ones the backup's."""
    path = tmp_path / "box"
    with open_box(path) as box:
        for key in ("new", "same", "gone"):
            box.put_deck(deck(key, edition=2), [card(1, key)])
        box.back_up(NOW)
        box.put_deck(deck("new", edition=3), [card(1, "new"), card(2, "new")])
        box.put_deck(deck("same", edition=2), [card(1, "same"), card(3, "same")])
        box.put_deck(deck("late", edition=1), [card(4, "late")])
        box.remove_deck("gone")
        box.merge([take(1)])
    done = rebuild(path, now=NOW)
    with open_box(path) as box:
        assert {"new": 3, "same": 2, "gone": 2, "late": 1} == {d.id: d.edition for d in box.decks()}
        assert ["card-1", "card-2"] == [c.slug for c in box.cards() if c.deck_id == "new"]
        assert ["card-1"] == [c.slug for c in box.cards() if c.deck_id == "same"]
        assert ["card-4"] == [c.slug for c in box.cards() if c.deck_id == "late"]
        assert [take(1)] == box.takes()
    assert (1, 1) == (done.entries, done.brought_over)
    assert [] == list(tmp_path.glob(".*"))


@pytest.mark.parametrize("kind", ["take", "wish", "setting", "deck"])
def test_whatever_can_be_read_is_worth_a_new_box(tmp_path: Path, kind: str) -> None:
    """One take, one wish, one setting or one deck, without a backup; nothing at all is not."""
    path = tmp_path / "box"
    with open_box(path) as box:
        if kind == "take":
            box.add_take(take(1))
        elif kind == "wish":
            box.put_wish(Wish(CARD, 90.0, None, resting=False, at=NOW))
        elif kind == "setting":
            box.put_setting("minutes", 20, NOW)
        else:
            box.put_deck(deck(), [card(1)])
        before = (list(box.log()), box.wishes(), box.settings(), box.cards())
    assert rebuild(path, now=NOW).backup is None
    with open_box(path) as box:
        assert before == (list(box.log()), box.wishes(), box.settings(), box.cards())
    with open_box(tmp_path / "empty"):
        pass
    with pytest.raises(BoxDamagedError, match="nothing in the box can be read"):
        rebuild(tmp_path / "empty", now=NOW)


def test_a_retraction_and_a_take_of_one_id_are_two_entries(tmp_path: Path) -> None:
    """Both survive a repair: ids are the entries' own, kind by kind."""
    path = tmp_path / "box"
    with open_box(path) as box:
        box.merge([take(1), take(2)])
        box.back_up(NOW)
        twin = Retraction(take(2).id, take(1).id, NOW)
        box.merge([twin])
    done = rebuild(path, now=NOW)
    with open_box(path) as box:
        assert twin in list(box.log())
        assert 3 == len(list(box.log()))
        assert [take(2)] == box.takes()
    assert (3, 1) == (done.entries, done.brought_over)


def test_files_are_known_by_what_they_begin_with(tmp_path: Path) -> None:
    """Not by their names; an export takes the place of an export and of no other file."""
    box, log, note = box_with(tmp_path / "a.txt", 1), tmp_path / "b.box", tmp_path / "c.jsonl"
    assert 1 == replace_log(log, [take(1)])
    note.write_text('{"format": "something"}\n')
    assert [True, False, False] == [is_box(path) for path in (box, log, note)]
    assert [False, True, False] == [is_log(path) for path in (box, log, note)]
    assert not is_log(tmp_path / "missing")
    (tmp_path / "short").write_bytes(b"SQLite format 3")
    assert not is_box(tmp_path / "short")
    with pytest.raises(LogError, match="cannot be read"):
        is_box(tmp_path / "missing")
    assert 2 == replace_log(log, [take(1), take(2)])
    with pytest.raises(NotSavedError, match="exists already"):
        replace_log(note, [])


def test_a_card_of_two_names_or_of_another_deck_is_refused() -> None:
    """Before anything of the deck is changed."""
    wrong: tuple[Callable[[], list[object]], ...] = (
        lambda: [card(1), card(1)],
        lambda: [card(1, "other")],
    )
    with open_box() as box:
        box.put_deck(deck(), [card(1)])
        for cards in wrong:
            with pytest.raises(UsageError):
                box.put_deck(deck(edition=2), cards())  # type: ignore[arg-type]
        assert [1] == [row.edition for row in box.decks()]
