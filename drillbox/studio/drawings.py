"""The studio's charts as SVG 1.1 fragments for an HTML page: no script, no colours of their own.

Classes name what a shape means; the page's style sheet fills them, by pattern and label as well as
by colour. Every chart has a description for those who do not see it.

Conventions: lengths in user units; a chart is as wide as its place and keeps its proportions.
"""

from __future__ import annotations

from datetime import timedelta
from html import escape
from itertools import accumulate
from math import floor
from typing import TYPE_CHECKING

from drillbox.base.wording import counted
from drillbox.studio.figures import SHOWN_DAYS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from drillbox.studio.figures import CardFigures

__all__ = ["SHOWN_WEEKS", "minutes_chart", "states_chart", "states_in_words", "tempo_chart"]

SHOWN_WEEKS = SHOWN_DAYS // 7
_DAYS = SHOWN_DAYS
_STEP, _LEFT, _TOP, _HIGH, _FOOT = 4, 42, 8, 64, 18
_WIDE = _LEFT + _DAYS * _STEP + 4
_ORDER = ("holding", "outgrown", "fading", "building", "rested", "waiting")
_NAMES = dict.fromkeys(_ORDER, "") | {one: one for one in _ORDER} | {"holding": "in hand"}
_LEAST_SHARE = 0.07
"""Of a strip narrower than this the number has no room."""


def minutes_chart(minutes: Mapping[date, float], *, today: date) -> str:
    """Draw the minutes practised on each of the last days, a bar a day, a mark a week."""
    first = today - timedelta(days=_DAYS - 1)
    shown = [minutes.get(first + timedelta(days=n), 0.0) for n in range(_DAYS)]
    most = max(15.0, *shown)
    bars = [
        f'<rect class="bar" x="{_LEFT + n * _STEP + 1}" y="{_y(value / most):.1f}"'
        f' width="{_STEP - 1}" height="{_TOP + _HIGH - _y(value / most):.1f}">'
        f"<title>{_day(first + timedelta(days=n))}: {counted(value, 'minute')}</title></rect>"
        for n, value in enumerate(shown)
        if value > 0
    ]
    total, days = sum(shown), sum(value > 0 for value in shown)
    said = f"{counted(total, 'minute')} on {days} of the last {_DAYS} days"
    scale = [_level(1.0, f"{most:.0f}"), _level(0.0, "0")]
    return _svg("minutes", said, [*scale, *_weeks(first), *bars], high=_TOP + _HIGH + _FOOT)


def tempo_chart(cards: Sequence[CardFigures], *, today: date) -> str:
    """Draw the expected cold tempo as a share of the goal, a mean of the cards begun by then.

    After a card's last practice the line falls to what was expected on the day of the file, `today`
    on the axis: nobody is drawn as fast as on a day long gone. Left out are cards that rest or
    have not come together.
    """
    first = today - timedelta(days=_DAYS - 1)
    points = [
        (_LEFT + n * _STEP + _STEP / 2, share)
        for n, share in enumerate(_mean_shares(cards, first, today))
        if share is not None
    ]
    top = max([1.05, *(share for _, share in points)])
    bottom = floor(10 * min([0.8, *(share for _, share in points)])) / 10

    def height(share: float) -> float:
        return (share - bottom) / (top - bottom)

    line = " ".join(f"{x:.1f},{_y(height(share)):.1f}" for x, share in points)
    drawn = [_level(height(1.0), "100 %", goal=True), _level(0.0, f"{bottom * 100:.0f} %")]
    drawn += _weeks(first)
    said = "no card has come together yet"
    if points:
        x, last = points[-1]
        said = (
            f"mean cold tempo {last * 100:.0f} % of the goals; {points[0][1] * 100:.0f} % at first"
        )
        drawn.append(f'<polyline class="line" points="{line}"/>')
        drawn.append(f'<circle class="dot" cx="{x:.1f}" cy="{_y(height(last)):.1f}" r="3"/>')
    return _svg("tempo", said, drawn, high=_TOP + _HIGH + _FOOT)


def states_in_words(states: Sequence[str]) -> str:
    """Return how some cards stand: ``10 in hand, 28 building``."""
    counts = [(states.count(state), _NAMES[state]) for state in _ORDER]
    return ", ".join(f"{count} {name}" for count, name in counts if count) or "no cards"


def states_chart(states: Sequence[str]) -> str:
    """Draw how some cards stand as one strip, the part in hand first, each part with its number."""
    counts = {state: states.count(state) for state in _ORDER}
    drawn, x, width = [], 0.0, float(_WIDE)
    for state, count in counts.items():
        share = count / max(1, len(states)) * width
        if not count:
            continue
        drawn.append(
            f'<rect class="{state}" x="{x:.1f}" y="1" width="{share:.1f}" height="20">'
            f"<title>{count} {_NAMES[state]}</title></rect>"
        )
        if share >= _LEAST_SHARE * width:
            text = f"{count} {_NAMES[state]}" if share >= 3 * _LEAST_SHARE * width else str(count)
            kind = "off" if state == "waiting" else "on"
            drawn.append(
                f'<text class="{kind}" x="{x + share / 2:.1f}" y="15.5" text-anchor="middle">'
                f"{text}</text>"
            )
        x += share
    return _svg("states", states_in_words(states), drawn, high=22)


def _mean_shares(cards: Sequence[CardFigures], first: date, last: date) -> list[float | None]:
    """Return for each day the mean share of the goals, over the cards begun by then."""
    steps, begun, slopes = [0.0] * (_DAYS + 1), [0] * (_DAYS + 1), [0.0] * _DAYS
    for one in cards:
        card = one.card
        known = [played for played in card.days if played.day <= last]
        if not known or one.apart or card.state == "rested":
            continue
        places = [max((played.day - first).days, 0) for played in known]
        begun[places[0]] += 1
        before = 0.0
        for place, played in zip(places, known, strict=True):
            steps[place] += (played.cold_bpm - before) / card.goal_bpm
            before = played.cold_bpm
        gap = (last - known[-1].day).days
        if card.cold_bpm is not None and gap:
            fall = (card.cold_bpm - before) / card.goal_bpm / gap
            for n in range(places[-1], _DAYS):
                slopes[n] += fall * (n + gap + 1 - _DAYS)
    sums, counts = accumulate(steps), accumulate(begun)
    return [
        (total + slope) / count if count else None
        for total, slope, count in zip(sums, slopes, counts, strict=False)
    ]


def _y(share: float) -> float:
    return _TOP + _HIGH * (1.0 - share)


def _level(share: float, label: str, *, goal: bool = False) -> str:
    y = _y(share)
    kind = "goal" if goal else "level"
    return (
        f'<line class="{kind}" x1="{_LEFT}" x2="{_WIDE}" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text x="{_LEFT - 4}" y="{y + 4:.1f}" text-anchor="end">{label}</text>'
    )


def _weeks(first: date) -> list[str]:
    marks = []
    for week in range(0, SHOWN_WEEKS, 3):
        x = _LEFT + week * 7 * _STEP
        day = first + timedelta(days=7 * week)
        y = _TOP + _HIGH
        marks.append(f'<line class="level" x1="{x}" x2="{x}" y1="{y}" y2="{y + 5}"/>')
        marks.append(f'<text x="{x + 3}" y="{y + 14}">{_day(day)}</text>')
    return marks


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def _svg(kind: str, said: str, drawn: Sequence[str], *, high: int) -> str:
    return (
        f'<svg class="{kind}" viewBox="0 0 {_WIDE} {high}" role="img" aria-label="{escape(said)}">'
        f"{''.join(drawn)}</svg>"
    )
