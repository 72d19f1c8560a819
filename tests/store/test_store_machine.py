"""The box through a life: whatever is done to it, its history equals a plain list."""

from __future__ import annotations

import tempfile
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from examples import examples
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    multiple,
    rule,
)
from store_kit import NOW, ids, standing
from strategies import take_logs, take_rows

from drillbox.store import (
    Archive,
    Backup,
    BeliefRow,
    LogEntry,
    Retraction,
    TakeRow,
    list_backups,
    newest_good,
    restore,
    takelog,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

MODEL = "model"


def in_order(entries: Iterable[LogEntry]) -> list[LogEntry]:
    """Return entries by time and id, as a reader of the log gets them."""
    return sorted(entries, key=lambda entry: (entry.at, entry.id))


class BoxLife(RuleBasedStateMachine):
    """A box on disk beside a list of entries in order of arrival."""

    taken = Bundle("taken")
    copies = Bundle("copies")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "box"
        self.new_id = ids()
        self.days = 0
        self.arrived: list[LogEntry] = []
        self.here: list[TakeRow] = []
        self.saved: dict[Path, tuple[list[LogEntry], list[TakeRow]]] = {}
        self.box = self.opened()

    def opened(self) -> Archive:
        """Return the box opened on the day that it is by now."""
        return Archive.open(self.path, now=NOW + timedelta(days=self.days), new_id=self.new_id)

    def teardown(self) -> None:
        """Leave nothing behind."""
        self.box.close()
        self.folder.cleanup()

    def has(self, entry: LogEntry) -> bool:
        """Return whether the list knows an entry of this id and kind."""
        return any(entry.id == known.id and type(entry) is type(known) for known in self.arrived)

    @initialize(target=taken, row=take_rows())
    def first_take(self, row: TakeRow) -> TakeRow:
        """Begin with one take."""
        self.box.add_take(row)
        self.arrived.append(row)
        self.here.append(row)
        return row

    @rule(target=taken, row=take_rows())
    def add(self, row: TakeRow) -> TakeRow:
        """Record a take."""
        if not self.has(row):
            self.box.add_take(row)
            self.arrived.append(row)
            self.here.append(row)
        return row

    @rule(row=taken)
    def add_again(self, row: TakeRow) -> None:
        """Record a take that is there already, or that a restore lost."""
        self.box.add_take(row)
        if not self.has(row):
            self.arrived.append(row)
            self.here.append(row)

    @rule(target=taken, row=take_rows(), body=st.lists(st.floats(allow_nan=False), max_size=3))
    def record(self, row: TakeRow, body: list[float]) -> TakeRow:
        """Record a take with what follows from it."""
        if self.has(row):
            return row
        before = self.box.mark()
        self.box.put_beliefs([], since=None, now=standing(before, MODEL))
        after = self.box.record(
            row,
            [BeliefRow(row.card_id, tuple(body))],
            since=standing(before, MODEL),
            now=standing(before + 1, MODEL),
        )
        self.arrived.append(row)
        self.here.append(row)
        cache = self.box.beliefs(MODEL)
        assert cache is not None
        assert before + 1 == after == cache.standing.mark
        assert tuple(body) == cache.rows[row.card_id].body
        return row

    @rule(row=taken)
    def take_back(self, row: TakeRow) -> None:
        """Retract a take, perhaps for the second time."""
        if self.has(row):
            answer = self.box.retract(row.id, NOW)
            if not self.has(answer):
                self.arrived.append(answer)

    @rule(target=taken, log=take_logs())
    def merge(self, log: list[LogEntry]) -> object:
        """Take in another machine's log."""
        new = [entry for entry in log if not self.has(entry)]
        assert len(new) == self.box.merge(new)
        self.arrived += in_order(new)
        return multiple(*(entry for entry in new if isinstance(entry, TakeRow)))

    @rule()
    def merge_with_oneself(self) -> None:
        """Take in one's own export."""
        assert 0 == self.box.merge(self.box.log())

    @rule(days=st.integers(-1, 2))
    def reopen(self, days: int) -> None:
        """Close and open, on the same day, a later one, or after the clock was set back."""
        self.box.close()
        self.days += days
        self.box = self.opened()

    @rule(row=take_rows())
    def crash(self, row: TakeRow) -> None:
        """Lose the connection in the middle of a write; what was not acknowledged is not there."""
        connection = self.box._box.connection
        connection.execute("BEGIN IMMEDIATE")
        if not self.has(row):
            takelog.add(connection, row)
        connection.execute("DELETE FROM belief")
        connection.close()
        self.box = self.opened()

    @rule(target=copies)
    def back_up(self) -> Backup:
        """Copy the box."""
        made = self.box.back_up(NOW + timedelta(days=self.days))
        self.saved[made.path] = (list(self.arrived), list(self.here))
        return made

    @rule(copy=consumes(copies))
    def restore(self, copy: Backup) -> None:
        """Go back to a copy that rotation has left.

        The entries since then are put aside with their file.
        """
        if copy not in list_backups(self.path):
            return
        self.box.close()
        assert restore(self.path, copy.path, now=NOW) is not None
        arrived, here = self.saved[copy.path]
        self.arrived, self.here = list(arrived), list(here)
        self.box = self.opened()

    @rule()
    def damage(self) -> None:
        """Lose the file to garbage, and come back from the newest good backup that is known."""
        today = (NOW + timedelta(days=self.days)).date()
        good = newest_good(self.path, today=today)
        if good is None or good.path not in self.saved:
            return
        self.box.close()
        self.path.write_bytes(b"garbage" * 1000)
        restore(self.path, good.path, now=NOW)
        arrived, here = self.saved[good.path]
        self.arrived, self.here = list(arrived), list(here)
        self.box = self.opened()

    @invariant()
    def the_history_is_the_list(self) -> None:
        """Compare the log with the list in order of time.

        And what counts with what nobody took back.
        """
        back = {entry.take_id for entry in self.arrived if isinstance(entry, Retraction)}
        takes = [entry for entry in in_order(self.arrived) if isinstance(entry, TakeRow)]
        counting = [row for row in takes if row.id not in back]
        assert in_order(self.arrived) == list(self.box.log())
        assert counting == self.box.takes()
        assert {row.card_id: row for row in counting} == self.box.last_takes()
        assert len(self.arrived) == self.box.mark()
        merged = [row for row in self.arrived if isinstance(row, TakeRow)]
        played = [row for row in (*merged, *self.here) if row.id not in back]
        assert played[-1:] == [row for row in [self.box.last_take()] if row is not None]

    @invariant()
    def the_marks_name_what_changed(self) -> None:
        """Compare the changed cards after a mark with those of the entries that arrived since."""
        cards = {row.id: row.card_id for row in self.arrived if isinstance(row, TakeRow)}
        for after in {0, len(self.arrived) // 2, len(self.arrived)}:
            late = self.arrived[after:]
            named = [entry.take_id if isinstance(entry, Retraction) else entry.id for entry in late]
            expected = frozenset(cards[key] for key in named if key in cards)
            assert expected == self.box.changed_cards(after=after)


TestBoxLife = BoxLife.TestCase
TestBoxLife.settings = examples(15, stateful_step_count=20)
