"""Strategies for rows as they may lie in a box file, past every check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st
from strategies import take_rows

from drillbox.store import checks

if TYPE_CHECKING:
    from drillbox.store.rows import TakeRow

ODD = (None, 0, -3, 2, 2.0, 1000, 1001.5, float("inf"), float("nan"), 10**18, b"x", "", "x", "7")
ODD_IDS = ("f" * 16, "f" * 32, "F" * 32, "g" * 32, "f" * 31 + "\udc80", "0" * 33, "ä" * 32)
ODD_MOMENTS = (
    "2026-02-29T10:00:00.000000Z",
    "2024-02-29T23:59:59.999999Z",
    "2026-13-01T10:00:00.000000Z",
    "2026-00-10T10:00:00.000000Z",
    "2026-04-31T10:00:00.000000Z",
    "2026-04-00T10:00:00.000000Z",
    "2026-04-10T24:00:00.000000Z",
    "2026-04-10T10:60:00.000000Z",
    "2026-04-10T10:00:60.000000Z",
    "1969-12-31T23:59:59.999999Z",
    "1970-01-01T00:00:00.000000Z",
    "2199-12-31T23:59:59.999999Z",
    "2200-01-01T00:00:00.000000Z",
    "9999-12-31T23:59:59.999999Z",
    "0001-01-01T00:00:00.000000Z",
    "2026-04-10T10:00:00.00000٣Z",
    "2026-04-10 10:00:00.000000Z",
    "2026-04-10T10:00:00Z",
    "2026-04-10T10:00:00.000000+02:00",
    "2026-04-10T10:00:00.000000",
)
ODD_MEASURES = (
    '{"level":0.5,"level_after":0.25}',
    '{"level":9}',
    '{"expected_bpm":88.5,"expected_sd":0.1}',
    '{"expected_bpm":1e9,"expected_sd":0.1}',
    "[]",
    "{",
    "null",
    '{"note":"\\ud800"}',
)


def _stored(take: TakeRow) -> tuple[Any, ...]:
    told = None if take.measures is None else checks.json_text(take.measures, "measures")
    at = checks.instant_text(take.at)
    return (
        *(take.id, take.card_id, take.bpm, take.grade, at),
        *(take.zone, take.seconds, take.source, told),
    )


_odd = st.sampled_from((*ODD, *ODD_IDS, *ODD_MOMENTS, *ODD_MEASURES))
_few_rows = st.lists(take_rows().map(_stored), max_size=6)


@st.composite
def stored_takes(draw: st.DrawFn) -> list[tuple[Any, ...]]:
    """Return rows of takes as the file holds them; of some, one value is odd, or nearly right."""
    rows = []
    for row in draw(_few_rows):
        values = list(row)
        if draw(st.booleans()):
            values[draw(st.integers(0, len(values) - 1))] = draw(_odd)
        rows.append(tuple(values))
    return rows
