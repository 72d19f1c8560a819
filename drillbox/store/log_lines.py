"""The take log as lines of text, straight from the rows of the box.

The same lines as `drillbox.store.jsonl` writes of each entry, in the same order; a test holds the
two together. A row is checked with the other rows of its part (`drillbox.store.fitness`) and no
value is made of it.
"""

from __future__ import annotations

import json
from collections import deque
from functools import cache
from heapq import merge
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.base.jsonlines import written_value
from drillbox.store import checks, fitness, jsonl, takelog

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from drillbox.store.takelog import Reading


def log_lines(reading: Reading) -> Iterator[bytes]:
    """Give the whole log as it stands now, a line an entry, by (at, id): many lines at once.

    It is read part by part, so that a long log does not keep its reader waiting.

    Parameters
    ----------
    reading
        Opens the box for a question.
    """
    with reading() as db:
        last = takelog.mark(db)
        waiting = deque(
            ((checks.instant_text(one.at), one.id), jsonl.line_of(one).decode())
            for one in takelog.retractions(db, last)
        )
    for rows in takelog.parts(reading, last):
        entry_id, *_, at = rows[-1][:5]
        answers = []
        while waiting and waiting[0][0] < (at, entry_id):
            answers.append(waiting.popleft())
        places, lines = _lines(rows)
        if answers:
            lines = [line for _, line in merge(zip(places, lines, strict=True), answers)]
        yield "".join(lines).encode()
    yield "".join(line for _, line in waiting).encode()


def _lines(rows: Sequence[Sequence[Any]]) -> tuple[Iterator[tuple[str, str]], list[str]]:
    """Return the places in the log of those of some takes that make sense, and their lines."""
    columns: Sequence[Sequence[Any]] = tuple(zip(*rows, strict=True))
    found = fitness.sift(columns)
    at, told = found.at, found.measures
    if not found.fit.all():
        kept = np.flatnonzero(found.fit).tolist()
        at, told = at[kept], [told[k] for k in kept]
        columns = [[column[k] for k in kept] for column in columns]
    entry_ids, card_ids, bpms, grades, _, zones, lengths, sources, stored = columns
    texts = np.datetime_as_string(at.astype("datetime64[us]"), unit="us").tolist()
    lines = [
        f'{{"kind": "take", "id": "{entry_id}", "card": "{card_id}", "bpm": {float(bpm)!r}, '
        f'"grade": {grade}, "at": "{at}Z", "zone": {_quoted(zone)}, "seconds": {float(length)!r}, '
        f'"source": {_quoted(source)}{_told(measures) if text is not None else ""}}}\n'
        for entry_id, card_id, bpm, grade, at, zone, length, source, text, measures in zip(
            entry_ids,
            card_ids,
            bpms,
            grades,
            texts,
            zones,
            lengths,
            sources,
            stored,
            told,
            strict=True,
        )
    ]
    return zip((f"{text}Z" for text in texts), entry_ids, strict=True), lines


def _told(measures: Mapping[str, Any]) -> str:
    return f', "measures": {written_value(dict(measures))}'


@cache
def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
