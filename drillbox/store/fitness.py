"""Whether the takes of a whole log make sense, asked of all of them at once.

The same answer as `drillbox.store.rows.TakeRow` gives of one: SQL asks what it can, and what many
rows share, such as a zone, is looked at once.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from drillbox.base.tempi import LOGGED
from drillbox.store import checks, guard, takelog
from drillbox.store.rows import LONGEST_TAKE

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Mapping, Sequence

_MOMENT = "dddd-dd-ddTdd:dd:dd.ddddddZ".replace("d", "[0-9]")
# What the checks of a row ask that SQL can answer; Python asks the rest.
FITS = f"""
 typeof(id) = 'text' AND length(id) = 32 AND id NOT GLOB '*[^0-9a-f]*'
 AND typeof(card_id) = 'text' AND length(card_id) = 16 AND card_id NOT GLOB '*[^0-9a-f]*'
 AND typeof(bpm) IN ('real', 'integer') AND bpm BETWEEN {LOGGED.least} AND {LOGGED.most}
 AND typeof(grade) = 'integer' AND grade BETWEEN -2 AND 2
 AND typeof(seconds) IN ('real', 'integer') AND seconds BETWEEN 0 AND {LONGEST_TAKE}
 AND typeof(at) = 'text' AND at GLOB '{_MOMENT}'
 AND at >= '{checks.instant_text(checks.FIRST_MOMENT)}'
 AND at < '{checks.instant_text(checks.LAST_MOMENT)}'"""

ASKED = "zone, source, measures, at"
"""What the rest of the checks need of a row, for `measured`."""


def measured(rows: Sequence[Sequence[Any]]) -> list[Mapping[str, Any] | None]:
    """Return the measures of each row of `ASKED` columns, or None of one that does not pass.

    SQL has seen to the other columns.
    """
    zones = _passing({row[0] for row in rows}, checks.zone)
    sources = _passing({row[1] for row in rows}, takelog.source_of)
    return [
        _read(measures) if zone in zones and source in sources and _is_dated(at) else None
        for zone, source, measures, at in rows
    ]


def unfit(db: sqlite3.Connection) -> list[int]:
    """Return the numbers of the takes that count and make no sense."""
    rows = guard.fetched(
        db,
        f"SELECT seq, {FITS}, {ASKED} FROM take WHERE {takelog.COUNTS}",  # noqa: S608 - our names
    )
    likely = [row for row in rows if row[1]]
    told = measured([row[2:] for row in likely])
    fit = {row[0] for row, one in zip(likely, told, strict=True) if one is not None}
    return [row[0] for row in rows if row[0] not in fit]


def _passing(values: Iterable[Any], check: Callable[[Any], object]) -> frozenset[Any]:
    rows = [(value,) for value in values]
    return frozenset(guard.usable(rows, lambda row: (check(row[0]), row[0])[1]))


def _read(measures: Any) -> Mapping[str, Any] | None:
    if measures is None:
        return {}
    try:
        return takelog.measures_of(measures)
    except guard.WRONG:
        return None


def _is_dated(at: str) -> bool:
    try:
        datetime.fromisoformat(at)
    except ValueError:
        return False
    return True
