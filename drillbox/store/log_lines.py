"""The take log as lines of text, straight from the rows of the box.

The same lines as `drillbox.store.jsonl` writes of each entry, in the same order; a test holds the
two together. A row is checked with the other rows of its part (`drillbox.store.fitness`) and no
value is made of it.
"""

from __future__ import annotations

import json
from functools import cache
from heapq import merge
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.base.jsonlines import written_value
from drillbox.store import checks, fitness, jsonl, takelog

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drillbox.store.takelog import Reading

    Placed = tuple[str, str, bytes]


def log_lines(reading: Reading) -> Iterator[bytes]:
    """Give the whole log as it stands now, a line an entry, by (at, id).

    It is read part by part, so that a long log does not keep its reader waiting.

    Parameters
    ----------
    reading
        Opens the box for a question.
    """
    with reading() as db:
        last = takelog.mark(db)
        answers = [
            (checks.instant_text(one.at), one.id, jsonl.line_of(one))
            for one in takelog.retractions(db, last)
        ]
    takes = (line for rows in takelog.parts(reading, last) for line in _lines(rows))
    for _, _, line in merge(takes, answers):
        yield line


def _lines(rows: Sequence[Sequence[Any]]) -> Iterator[Placed]:
    """Give the lines of some takes that make sense, each after its place in the log."""
    columns = tuple(zip(*rows, strict=True))
    moments, told, fit = fitness.sift(columns)
    entry_ids, card_ids, bpms, grades, _, zones, lengths, sources, stored = columns
    texts = np.datetime_as_string(moments.astype("datetime64[us]"), unit="us").tolist()
    for k in np.flatnonzero(fit).tolist():
        at = f"{texts[k]}Z"
        more = "" if stored[k] is None else f', "measures": {written_value(dict(told[k]))}'
        yield (
            at,
            entry_ids[k],
            (
                f'{{"kind": "take", "id": "{entry_ids[k]}", "card": "{card_ids[k]}", '
                f'"bpm": {float(bpms[k])!r}, "grade": {grades[k]}, "at": "{at}", '
                f'"zone": {_quoted(zones[k])}, "seconds": {float(lengths[k])!r}, '
                f'"source": {_quoted(sources[k])}{more}}}\n'
            ).encode(),
        )


@cache
def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
