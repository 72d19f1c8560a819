"""The player's own page: the same figures as the year on the screen, for a browser and for paper.

It is made like the studio's page, and looks like it: everything inside, nothing loaded or run.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from drillbox.base.day_axis import day_ticks, tick_name
from drillbox.base.now import long_day
from drillbox.base.text_charts import DAYS_A_WEEK
from drillbox.base.wording import counted
from drillbox.report.in_hand import coming_back, look_back
from drillbox.report.year import (
    FAMILY_SIGNS,
    IN_HAND_TITLE,
    NOTHING,
    OUTLOOK_DAYS,
    states_line,
)
from drillbox.report.year_figures import family_curves
from drillbox.studio.html_page import page_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.report.in_hand import LookBack, Record
    from drillbox.report.year_figures import FamilyCurve

__all__ = ["year_page"]

_WIDE, _HIGH, _LEFT, _TOP, _FOOT, _SIGNS = 720.0, 200.0, 42.0, 10.0, 22.0, 30.0
_COLOURS = ("", " b", " c", " d", " e")
_MOST_TICKS, _MOST_POINTS = 7, 500


def year_page(box: Box, *, at: datetime) -> str:
    """Return the page.

    Parameters
    ----------
    box
        The player's box.
    at
        Now.
    """
    done = look_back(box, at=at)
    body = [f'<header><h1>The year</h1><p class="soft">{_span(done)}</p></header><main>']
    if done.minutes:
        body += _sections(box, done, at)
    else:
        body.append(f"<p>{escape(': '.join(NOTHING))}</p>")
    return page_of("The year", [*body, "</main>"])


def _span(done: LookBack) -> str:
    days = counted(len(done.minutes), "day")
    minutes = counted(sum(done.minutes.values()), "minute")
    return f"{long_day(done.first)} to {long_day(done.last)}: {minutes} on {days}."


def _sections(box: Box, done: LookBack, at: datetime) -> Iterable[str]:
    families = family_curves(box, at=at)
    first, last = done.first, done.last
    days = range(first, last + 1)
    most = max(done.in_hand, default=0)
    yield _section(
        IN_HAND_TITLE,
        _plot(
            f"{done.in_hand[-1]} in hand today, {most} at most",
            (first, last),
            (0.0, max(most, 1)),
            [(_COLOURS[0], "", *_thinned(days, [float(count) for count in done.in_hand]))],
        ),
        f"<p>{escape(states_line(box, at))}</p>",
    )
    if families:
        tempi = [bpm for one in families for bpm in one.bpm]
        yield _section(
            "Cold tempo by family, the mean of its cards",
            _plot(
                "; ".join(f"{one.name} {one.bpm[-1]:.0f} bpm" for one in families),
                (first, last),
                (min(tempi) - 3, max(tempi) + 3),
                [
                    (_COLOURS[n % len(_COLOURS)], sign, *_thinned(one.days, one.bpm))
                    for n, (sign, one) in enumerate(zip(FAMILY_SIGNS, families, strict=False))
                ],
            ),
            _family_table(families),
        )
    yield _section("Minutes a week", _weeks(done))
    counts = coming_back(box.cards(at=at), today=last, days=OUTLOOK_DAYS)
    said = f"{counted(sum(counts), 'card')} in the next {OUTLOOK_DAYS} days, if left alone"
    yield _section("Slipping under their goals", f"<p>{said}.</p>")
    if done.records:
        yield _section("Fastest cold takes, at least steady", _record_table(done.records))


def _section(title: str, *parts: str) -> str:
    return f'<section class="broad"><h2>{escape(title)}</h2>{"".join(parts)}</section>'


def _thinned(days: Sequence[int], values: Sequence[float]) -> tuple[list[int], list[float]]:
    """Return a curve of at most so many points as a page shows, the last among them."""
    step = -(-len(days) // _MOST_POINTS)
    places = sorted({*range(0, len(days), step), len(days) - 1})
    return [days[n] for n in places], [values[n] for n in places]


def _plot(
    said: str,
    span: tuple[int, int],
    reach: tuple[float, float],
    curves: Sequence[tuple[str, str, list[int], list[float]]],
) -> str:
    """Draw curves, each (colour, sign, days, values), over the days of a span."""
    first, last = span
    low, high = reach

    def across(day: float) -> float:
        return _across(day, first, last)

    def down(value: float) -> float:
        return _TOP + (high - value) / (high - low) * _HIGH

    drawn = [_level(down(value), f"{value:.0f}") for value in (low, (low + high) / 2, high)]
    drawn += _ticks(first, last)
    taken: dict[int, int] = {}
    for colour, sign, days, values in curves:
        points = " ".join(
            f"{across(day):.1f},{down(value):.1f}" for day, value in zip(days, values, strict=True)
        )
        drawn.append(f'<polyline class="line{colour}" points="{points}"/>')
        if sign:
            row = round(down(values[-1]) / 11)
            taken[row] = taken.get(row, 0) + 1
            x = across(days[-1]) + 9 * taken[row] - 5
            drawn.append(f'<text x="{x:.1f}" y="{down(values[-1]) + 4:.1f}">{sign}</text>')
    return _svg(said, drawn)


def _across(day: float, first: int, last: int) -> float:
    return _LEFT + (day - first) / max(last - first, 1) * (_WIDE - _LEFT - _SIGNS)


def _ticks(first: int, last: int) -> list[str]:
    """Draw the days under an axis, with their years where it spans more than one."""
    years = tick_name(first, year=True)[-4:] != tick_name(last, year=True)[-4:]
    drawn = []
    for n, day in enumerate(day_ticks(first, max(last, first + 1), _MOST_TICKS)):
        x, y, anchor = _across(day, first, last), _TOP + _HIGH, "middle" if n else "start"
        drawn.append(
            f'<line class="level" x1="{x:.1f}" x2="{x:.1f}" y1="{y}" y2="{y + 4}"/>'
            f'<text x="{x:.1f}" y="{y + 16}" text-anchor="{anchor}">'
            f"{tick_name(day, year=years or not n)}</text>"
        )
    return drawn


def _weeks(done: LookBack) -> str:
    """Draw the minutes of each week as a bar."""
    first = done.first - (done.first - 1) % DAYS_A_WEEK
    sums = [0.0] * ((done.last - first) // DAYS_A_WEEK + 1)
    for day, minutes in done.minutes.items():
        sums[(day - first) // DAYS_A_WEEK] += minutes
    most, room = max(sums), (_WIDE - _LEFT - _SIGNS) / len(sums)
    bars = [
        f'<rect class="bar" x="{_LEFT + n * room:.1f}" y="{_TOP + _HIGH * (1 - value / most):.1f}"'
        f' width="{max(room - 1, 0.5):.1f}" height="{_HIGH * value / most:.1f}"/>'
        for n, value in enumerate(sums)
        if value
    ]
    levels = [_level(_TOP, f"{most:.0f}"), _level(_TOP + _HIGH, "0")]
    said = f"{counted(sums[-1], 'minute')} this week, {most:.0f} in the fullest"
    last = first + DAYS_A_WEEK * len(sums)
    return _svg(said, [*levels, *_ticks(first, last), *bars]) + f"<p>{said}.</p>"


def _level(y: float, label: str) -> str:
    return (
        f'<line class="level" x1="{_LEFT}" x2="{_WIDE - _SIGNS}" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text x="{_LEFT - 5}" y="{y + 4:.1f}" text-anchor="end">{label}</text>'
    )


def _svg(said: str, drawn: Iterable[str]) -> str:
    return (
        f'<svg viewBox="0 0 {_WIDE:.0f} {_TOP + _HIGH + _FOOT:.0f}" role="img" '
        f'aria-label="{escape(said)}">{"".join(drawn)}</svg>'
    )


def _family_table(families: Sequence[FamilyCurve]) -> str:
    rows = [
        (f"{sign} {one.name}", str(one.cards), f"{one.bpm[-1]:.0f}", f"{one.goal_bpm:.0f}")
        for sign, one in zip(FAMILY_SIGNS, families, strict=False)
    ]
    return _table(("family", "cards", "cold now", "goal"), rows)


def _record_table(records: Sequence[Record]) -> str:
    rows = [(f"{one.family}: {one.title}", f"{one.bpm:.0f}", long_day(one.day)) for one in records]
    return _table(("card", "bpm", "on"), rows)


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    first, *others = head
    top = f'<th scope="col">{first}</th>' + _cells("th", others)
    body = "".join(
        f'<tr><th scope="row">{escape(name)}</th>{_cells("td", rest)}</tr>' for name, *rest in rows
    )
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _cells(tag: str, texts: Iterable[str]) -> str:
    return "".join(f'<{tag} class="n">{escape(text)}</{tag}>' for text in texts)
