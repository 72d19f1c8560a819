"""A whole log is looked over in columns, with the answer that each of its rows gives of itself."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hostile_rows import WRONG_IN_A_TAKE, lay_open, put_take
from hypothesis import given
from store_kit import CARD, NOW, USUAL, open_box, take
from strategies_stored import ODD_MOMENTS, stored_takes

from drillbox.base.tempi import LOGGED
from drillbox.store import checks, fitness, guard, takelog
from drillbox.store.rows import LONGEST_TAKE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def of_itself(row: tuple[Any, ...]) -> tuple[int, dict[str, Any]] | None:
    """Return what one row says: its moment and its measures; None where it makes no sense."""
    for made in guard.usable([row], takelog.take_of):
        return (made.at - EPOCH) // timedelta(microseconds=1), dict(made.measures or {})
    return None


@given(rows=stored_takes())
def test_columns_answer_as_each_row_does(rows: list[tuple[Any, ...]]) -> None:
    """Which takes make sense, when they were and what was measured: row by row or all at once."""
    columns = tuple(zip(*rows, strict=True)) if rows else [()] * 9
    at, told, fit = fitness.sift(columns)
    answers = zip(at.tolist(), told, fit.tolist(), strict=True)

    assert [of_itself(row) for row in rows] == [
        (moment, dict(measures)) if sound else None for moment, measures, sound in answers
    ]


@pytest.mark.parametrize("moment", ODD_MOMENTS)
def test_a_moment_is_read_as_the_calendar_has_it(moment: str) -> None:
    """Leap days, month ends, the ends of the years allowed; `datetime` is the measure of it."""
    row = (f"{7:032x}", CARD, 90.0, 0, moment, "UTC", 40.0, "self", None)
    at, _, fit = fitness.sift([(value,) for value in row])
    own = of_itself(row)

    assert (own is not None) == bool(fit[0])
    assert own is None or own[0] == at[0]


usable = guard.usable


def none_by_itself(rows: Iterable[Any], make: Callable[[Any], Any]) -> list[Any]:
    """Refuse to look at a whole take by itself; at the few different cards and zones, not."""
    rows = list(rows)
    assert not any(len(row) > 1 for row in rows)
    return usable(rows, make)


@pytest.mark.parametrize("turn", ["T00:00:00.000000Z", "T23:59:59.999999Z", "T10:59:09.090909Z"])
def test_no_usual_take_is_looked_at_by_itself(turn: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the month, the day, the hour, the tempo, the grade, the length, the letters."""
    monkeypatch.setattr(guard, "usable", none_by_itself)
    days = [f"2024-{month:02d}-{day:02d}" for month in range(1, 13) for day in (1, 29)]
    days += ["2024-01-31", "2024-04-30", "2024-12-31", "1970-01-01", "2199-12-31"]
    for bpm, grade, seconds in ((LOGGED.least, -2, 0.0), (LOGGED.most, 2, LONGEST_TAKE)):
        row = ("0123456789abcdef" * 2, CARD, bpm, grade, "", "UTC", seconds, "self", None)
        columns: list[Any] = [(value,) * len(days) for value in row]
        columns[4] = [day + turn for day in days]
        assert fitness.sift(columns).fit.all()


def test_every_day_of_two_centuries_is_read_from_its_text(monkeypatch: pytest.MonkeyPatch) -> None:
    """From 1970 to 2199, a moment on each day: the microseconds since the epoch."""
    moments = [EPOCH + timedelta(days=day, microseconds=977 * day) for day in range(230 * 365)]
    row = (f"{7:032x}", CARD, 90.0, 0, "", "UTC", 40.0, "self", None)
    monkeypatch.setattr(guard, "usable", none_by_itself)
    columns: list[Any] = [(value,) * len(moments) for value in row]
    columns[4] = [checks.instant_text(at) for at in moments]
    at, _, fit = fitness.sift(columns)

    assert fit.all()
    expected = [(one - EPOCH) // timedelta(microseconds=1) for one in moments]
    assert np.array_equal(np.array(expected), at)


@pytest.mark.parametrize("name", WRONG_IN_A_TAKE)
def test_columns_and_rows_of_a_box_are_the_same_takes(tmp_path: Path, name: str) -> None:
    """Whatever another program wrote between two sound takes, which stay in their order."""
    with open_box(tmp_path / "box") as box:
        box.add_take(take(1))
        box.add_take(take(2))
    with closing(lay_open(tmp_path / "box")) as db:
        put_take(db, 3, USUAL, **WRONG_IN_A_TAKE[name])
    with open_box(tmp_path / "box") as box:
        columns = box.columns(until=NOW + timedelta(days=400))
        assert [take.bpm for take in box.takes()] == columns.bpm.tolist()
        assert len(columns.at) == len(box.takes()) == 2
