"""What measured takes say over weeks and months: facts with numbers, no praise and no blame.

Spread and contrast are medians over the takes of a month. A habit of one partial is told where it
came back over several takes and is larger than listeners notice (6 ms, Friberg & Sundberg 1995).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from statistics import fmean, median
from textwrap import fill
from typing import TYPE_CHECKING

from drillbox.base.wording import as_sentence
from drillbox.box.diary import take_view
from drillbox.ear.bands import NOTICED_MS
from drillbox.ear.log_values import LoggedTake, read_logged
from drillbox.report.own_bands import own_bands

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.box import Box
    from drillbox.box.take_views import TakeView

_LEAST_TAKES = 3
_MOST_PARTIALS = 8


@dataclass(frozen=True, slots=True)
class MonthOfTakes:
    """The measured takes of one month: its name, how many, medians (None where nothing says)."""

    month: str
    takes: int
    spread_ms: float | None
    contrast_db: float | None


def months_of(takes: Iterable[TakeView]) -> tuple[MonthOfTakes, ...]:
    """Return spread and contrast month by month, the earliest first."""
    by_month: dict[str, list[LoggedTake]] = {}
    for take in takes:
        logged = read_logged(take.measured)
        if logged is not None:
            by_month.setdefault(f"{date.fromordinal(take.day):%Y-%m}", []).append(logged)
    return tuple(
        MonthOfTakes(
            month,
            len(own),
            _median(one.measures.spread_ms for one in own),
            _median(one.measures.contrast_db for one in own),
        )
        for month, own in sorted(by_month.items())
    )


def habits_of(takes: Iterable[TakeView]) -> tuple[str, ...]:
    """Return what one card's measured takes have in common, a sentence each, the largest first."""
    late: dict[tuple[str, str], list[float]] = {}
    missed: dict[tuple[str, str], list[int]] = {}
    for take in takes:
        logged = read_logged(take.measured)
        for partial in logged.partials if logged is not None else ():
            key = (partial.voice, partial.name)
            if partial.late_ms is not None:
                late.setdefault(key, []).append(partial.late_ms)
            counts = missed.setdefault(key, [0, 0, 0])
            counts[0] += partial.missed
            counts[1] += partial.missed + partial.heard
            counts[2] += 1
    found = []
    for (voice, name), values in late.items():
        usual = median(values)
        same = sum((value > 0) == (usual > 0) for value in values)
        if len(values) >= _LEAST_TAKES and abs(usual) >= NOTICED_MS and same * 4 >= len(values) * 3:
            way = "late" if usual > 0 else "early"
            text = f"the {voice}'s {name} comes {abs(usual):.0f} ms {way} in {len(values)} takes"
            found.append((abs(usual) / NOTICED_MS, text))
    for (voice, name), (gone, told, count) in missed.items():
        if count >= _LEAST_TAKES and gone * 5 > told:
            text = f"the {voice}'s {name} is missing {gone} times in {told}, over {count} takes"
            found.append((10 * gone / told, text))
    return tuple(as_sentence(text) for _, text in sorted(found, reverse=True))


def months_lines(months: Iterable[MonthOfTakes]) -> tuple[str, ...]:
    """Return a line a month: takes, spread, contrast."""
    lines = []
    for month in months:
        spread = "–" if month.spread_ms is None else f"{month.spread_ms:.0f} ms"
        contrast = "–" if month.contrast_db is None else f"{month.contrast_db:.0f} dB"
        noun = "take" if month.takes == 1 else "takes"
        lines.append(
            f"{month.month}: {month.takes} {noun} measured, spread {spread}, "
            f"accents over ghosts {contrast}"
        )
    return tuple(lines)


def measured_takes(box: Box) -> tuple[TakeView, ...]:
    """Return all takes that were measured, oldest first; whether they were cold is not asked."""
    ends = box.settings.day_ends_at
    return tuple(take_view(take, ends, cold=False) for take in box.archive.takes(measured=True))


def partials_of(takes: Iterable[TakeView]) -> tuple[str, ...]:
    """Return how each partial comes over all cards, a line each: ``snare a: 9 ms early, ...``.

    The mean of the takes' own means, with how that was in their first half and in their second.
    """
    found: dict[tuple[str, str], list[float]] = {}
    for take in takes:
        logged = read_logged(take.measured)
        of_take: dict[tuple[str, str], list[float]] = {}
        for partial in logged.partials if logged is not None else ():
            if partial.late_ms is not None:
                name = partial.name.split(" of ")[0]
                counted_as = "beats" if name[0].isdigit() else name
                of_take.setdefault((partial.voice, counted_as), []).append(partial.late_ms)
        for key, values in of_take.items():
            found.setdefault(key, []).append(fmean(values))
    lines = []
    for (voice, name), values in sorted(found.items(), key=lambda item: -len(item[1])):
        if len(values) < _LEAST_TAKES:
            continue
        half = len(values) // 2
        early, late = _late_words(fmean(values[:half])), _late_words(fmean(values[half:]))
        course = f"; first {early}, lately {late}" if half >= _LEAST_TAKES else ""
        lines.append(f"{voice} {name}: {_late_words(fmean(values))} in {len(values)} takes{course}")
    return tuple(lines)


def heard_section(box: Box, *, width: int) -> list[tuple[str, str]]:
    """Return the year's section of what was heard; none where nothing was measured."""
    takes = measured_takes(box)
    if not takes:
        return []
    lines = (*months_lines(months_of(takes)), *partials_of(takes)[:_MOST_PARTIALS])
    bands = own_bands(box)
    text = "\n".join(fill(line, width) for line in (*lines, *(("", *bands) if bands else ())))
    return [("Heard: spread and contrast by month, and where in the beat you stand", text)]


def card_trend(takes: Iterable[TakeView], *, most: int) -> str:
    """Return what was heard of a card, the latest months and its habits, in few lines."""
    takes = tuple(takes)
    months, habits = months_lines(months_of(takes)), habits_of(takes)
    told = habits[: most // 2]
    return "\n".join((*months[len(told) - most :], *told))


def _late_words(ms: float) -> str:
    if abs(ms) < 0.5:
        return "in place"
    return f"{abs(ms):.0f} ms {'late' if ms > 0 else 'early'}"


def _median(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if known else None
