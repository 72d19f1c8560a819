"""A picture of a measured take, as SVG: the grid, the strokes, how far off each one came.

One row a bar and pass. A stroke stands on its nominal place; a bar hangs from there to where it
was played, five times enlarged, so that ten milliseconds are seen. Shapes tell what colour tells
as well: a triangle points left for early and right for late, a disc is in time, a cross was
missed, a hollow square cannot be told, a star was not asked for.

Conventions: lengths in SVG user units; colours with a contrast of at least 4.5 on white (WCAG 2.1,
1.4.3).
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from drillbox.ear.saying import noticed_ms, sentence
from drillbox.rhythm import Level

if TYPE_CHECKING:
    from drillbox.ear.measuring import Measurement
    from drillbox.ear.verdict import StrokeFact

_WIDTH, _LEFT, _RIGHT, _TOP = 960, 70, 20, 84
_ROW = 46
_ENLARGED = 5.0
_EARLY, _LATE, _IN_TIME, _MISSED, _GRID = "#1d5fa8", "#a84300", "#1f6b35", "#b00020", "#bbbbbb"
PICTURE_MARK = 'data-made-by="drillbox"'
"""Tells a drawing of a take from every other file: only one is written over by the next."""
_STYLE = (
    "text{font:13px sans-serif;fill:#222}.small{font-size:11px;fill:#555}"
    f".grid{{stroke:{_GRID};stroke-width:1}}.beat{{stroke:#888;stroke-width:1.5}}"
)


def take_picture(measured: Measurement, *, title: str = "") -> str:
    """Return the picture of a take as an SVG document."""
    asked = measured.asked
    bar_seconds = asked.seconds / asked.bars
    rows = asked.bars
    height = _TOP + rows * _ROW + 46
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" '
            f'width="{_WIDTH}" height="{height}" {PICTURE_MARK} role="img">'
        ),
        f"<title>{escape(title or 'A measured take')}</title><style>{_STYLE}</style>",
        f'<rect width="{_WIDTH}" height="{height}" fill="#fff"/>',
        f'<text x="{_LEFT}" y="24" font-weight="bold">{escape(title)}</text>',
        f'<text x="{_LEFT}" y="44">{escape(sentence(measured))}</text>',
        f'<text x="{_LEFT}" y="62" class="small">{escape(_numbers(measured))}</text>',
    ]
    for row in range(rows):
        parts += _grid(measured, row)
    noticed = noticed_ms(measured)
    for fact in measured.facts:
        parts.append(_stroke(fact, bar_seconds, noticed))
    for extra in measured.extra:
        at = extra.at - asked.start - (measured.numbers.mean_ms or 0) / 1000
        if 0 <= at < asked.seconds:
            x, y = _place(at, bar_seconds)
            parts.append(f'<text x="{x:.1f}" y="{y + 5:.1f}" text-anchor="middle">*</text>')
    parts += _legend(height)
    return "\n".join([*parts, "</svg>", ""])


def _numbers(measured: Measurement) -> str:
    numbers = measured.numbers
    parts = [f"{numbers.heard} heard, {numbers.missed} missed"]
    if numbers.unheard:
        parts.append(f"{numbers.unheard} cannot be heard")
    if numbers.extra:
        parts.append(f"{numbers.extra} extra")
    if numbers.spread_ms is not None:
        parts.append(f"spread {numbers.spread_ms:.1f} ms")
    if numbers.contrast_db is not None:
        parts.append(f"accents {numbers.contrast_db:.0f} dB over ghosts")
    return "; ".join([*parts, f"{numbers.bpm:.1f} bpm"])


def _place(seconds: float, bar_seconds: float) -> tuple[float, float]:
    row, within = divmod(seconds + 1e-9, bar_seconds)
    x = _LEFT + within / bar_seconds * (_WIDTH - _LEFT - _RIGHT)
    return x, _TOP + row * _ROW + _ROW / 2


def _grid(measured: Measurement, row: int) -> list[str]:
    pattern = measured.asked.pattern
    first = row % pattern.bars * pattern.meter.beats
    top, low = _TOP + row * _ROW + 6, _TOP + (row + 1) * _ROW - 6
    parts = [f'<text x="12" y="{(top + low) / 2 + 4:.0f}" class="small">bar {row + 1}</text>']
    width = (_WIDTH - _LEFT - _RIGHT) / pattern.meter.beats
    for beat in range(pattern.meter.beats):
        slots = pattern.grids[first + beat]
        for slot in range(slots):
            x = _LEFT + (beat + slot / slots) * width
            kind = "grid" if slot else "beat"
            parts.append(f'<line x1="{x:.1f}" y1="{top}" x2="{x:.1f}" y2="{low}" class="{kind}"/>')
    return parts


def _stroke(fact: StrokeFact, bar_seconds: float, noticed: float) -> str:
    x, y = _place(fact.expected.seconds, bar_seconds)
    y += 5 * (fact.expected.voice.rank - 3) / 2
    size = 3.5 if fact.expected.level is Level.GHOST else 6.0
    if fact.state == "missed":
        return (
            f'<path d="M{x - size:.1f},{y - size:.1f}l{2 * size},{2 * size}'
            f'm0,{-2 * size}l{-2 * size},{2 * size}" stroke="{_MISSED}" stroke-width="2"/>'
        )
    if fact.state == "unheard":
        return (
            f'<rect x="{x - 3:.1f}" y="{y - 3:.1f}" width="6" height="6" fill="none" '
            'stroke="#666" stroke-dasharray="2 1"/>'
        )
    off = fact.off_ms if fact.timed and fact.off_ms is not None else 0.0
    wide = off / 1000 / bar_seconds * (_WIDTH - _LEFT - _RIGHT) * _ENLARGED
    if abs(off) <= noticed:
        head = f'<circle cx="{x + wide:.1f}" cy="{y:.1f}" r="{size}" fill="{_IN_TIME}"/>'
    else:
        colour, way = (_EARLY, -1) if off < 0 else (_LATE, 1)
        head = (
            f'<path d="M{x + wide + way * size:.1f},{y:.1f}l{-way * 2 * size},{-size}v{2 * size}z" '
            f'fill="{colour}"/>'
        )
    return f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{x + wide:.1f}" y2="{y:.1f}" stroke="#555"/>{head}'


def _legend(height: int) -> list[str]:
    words = (
        f"deviations drawn {_ENLARGED:.0f} times as long; disc in time, triangle left early, "
        "triangle right late, cross missed, hollow square cannot be heard, * not asked for"
    )
    return [f'<text x="{_LEFT}" y="{height - 16}" class="small">{words}</text>']
