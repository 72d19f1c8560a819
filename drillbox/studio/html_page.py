"""The studio as one HTML page.

Opens in any browser without a network, on paper as well, by day and by night.

Everything is inside the page, which forbids itself to load or run anything; every text from a
progress file is escaped.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from drillbox.base.wording import counted
from drillbox.studio.classroom import LEGEND, NAMES, SIGNS, class_map, untouched
from drillbox.studio.drawings import (
    SHOWN_WEEKS,
    minutes_chart,
    states_chart,
    states_in_words,
    tempo_chart,
)
from drillbox.studio.figures import MONTH
from drillbox.studio.lesson_notes import head_line, notes_on
from drillbox.studio.text_tables import TABLE_HEAD, class_lines, table_rows

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from drillbox.studio.classroom import MapRow
    from drillbox.studio.figures import StudentFigures
    from drillbox.studio.lesson_notes import Note

__all__ = ["PAGE_MARK", "page_of", "studio_page"]

_STYLE = """\
:root { color-scheme: light dark; --paper: #fbfaf7; --ink: #22252b; --soft: #5c6068;
  --rule: #d5d2c9; --hand: #1f6f5c; --fade: #a3541c; --build: #3f63a8; --rest: #666970;
  --stuck: #a02c3f; --over: #6b4a9c; --on: #ffffff; }
@media (prefers-color-scheme: dark) { :root { --paper: #17191d; --ink: #e6e3dc; --soft: #a4a7ae;
  --rule: #3a3d44; --hand: #5cc0a4; --fade: #e39a5f; --build: #8fb0f0; --rest: #9a9da5;
  --stuck: #f0909f; --over: #c3a6f2; --on: #101215; } }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.5rem 1rem 3rem; max-width: 62rem; background: var(--paper);
  color: var(--ink); font: 1rem/1.5 system-ui, sans-serif; }
h1 { font-size: 1.6rem; margin: 0; } h2 { font-size: 1.25rem; margin: 0; }
h3 { font-size: .95rem; margin: 1rem 0 .2rem; color: var(--soft); font-weight: 600; }
p { margin: .25rem 0; } .soft { color: var(--soft); }
.wide { overflow-x: auto; } table { border-collapse: collapse; width: 100%; margin: 1rem 0; }
th, td { padding: .3rem .45rem; text-align: left; border-bottom: 1px solid var(--rule);
  vertical-align: top; }
th:first-child { padding-left: 0; min-width: 9rem; } th { font-weight: 600; }
thead th { color: var(--soft); background: var(--paper); white-space: nowrap; }
.summary thead th { position: sticky; top: 0; } .summary th:first-child { width: 38%; }
.map { width: auto; font-size: .85rem; } .map th, .map td { padding: .1rem .3rem; }
.map td { text-align: center; border: 1px solid var(--paper); min-width: 1.3rem; }
.map th[scope=row] { font-weight: 400; position: sticky; left: 0; background: var(--paper);
  min-width: 9rem; }
td.holding { background: var(--hand); color: var(--on); }
td.outgrown { background: var(--over); color: var(--on); }
td.building { background: var(--build); color: var(--on); }
td.stuck { background: var(--stuck); color: var(--on); font-weight: 700; }
td.apart { background: var(--stuck); color: var(--on); }
td.fading { background: var(--fade); color: var(--on); }
td.waiting, td.rested { background: var(--rule); color: var(--ink); }
.late { white-space: nowrap; }
.n { text-align: right; font-variant-numeric: tabular-nums; }
a { color: inherit; }
article { border-top: 3px solid var(--ink); margin-top: 2.5rem; padding-top: .6rem; }
.call { color: var(--fade); font-size: .9em; font-weight: 400; }
.call::before { content: "\\2192\\00a0"; }
svg { display: block; width: 100%; height: auto; max-width: 34rem; }
svg text { fill: var(--soft); font-size: 11px; } svg text.off { fill: var(--ink); }
svg text.on { fill: var(--on); font-size: 11px; }
.bar, .holding, .dot { fill: var(--hand); } .fading { fill: var(--fade); }
.building { fill: var(--build); } .outgrown { fill: var(--over); }
.rested { fill: var(--rest); } .waiting { fill: var(--rule); }
.states rect { stroke: var(--paper); stroke-width: 2; }
.fading { stroke-dasharray: 3 3; } .line { fill: none; stroke: var(--hand); stroke-width: 2; }
.line.b { stroke: var(--build); } .line.c { stroke: var(--fade); }
.line.d { stroke: var(--over); } .line.e { stroke: var(--stuck); }
.broad { margin-top: 1.5rem; } .broad svg { max-width: none; }
.level { stroke: var(--rule); } .goal { stroke: var(--soft); stroke-dasharray: 5 4; }
.pair { display: grid; gap: 0 2rem;
  grid-template-columns: repeat(auto-fit, minmax(min(100%, 24rem), 1fr)); }
@media (max-width: 40rem) { .late { display: none; } body { padding: 1rem .6rem 2rem; }
  th, td { padding: .25rem .3rem; } th:first-child { min-width: 6rem; } }
@media print { body { max-width: none; padding: 0; font-size: 8.5pt; line-height: 1.3; }
  article { break-before: page; break-inside: avoid; border: 0; margin: 0; padding: 0; }
  .up { display: none; } .summary thead th { position: static; }
  svg { max-width: 24rem; max-height: 6.5rem; }
  .pair { grid-template-columns: 1fr 1fr; } h3 { margin: .5rem 0 0; }
  ul { margin: 0; padding: 0; } li { display: inline; } li + li::before { content: " | "; }
  .map { font-size: 6.5pt; line-height: 1.2; } .map th, .map td { padding: 0 1pt; min-width: 0; }
  .wide { overflow: visible; } .many { font-size: 5pt; } .many td { padding: 0 .2pt; }
  .many th { padding: 0 .8pt; }
  :root { color-scheme: light; --paper: #ffffff; --ink: #000000; --soft: #444444; --rule: #bbbbbb;
  --hand: #1f6f5c; --fade: #a3541c; --build: #3f63a8; --rest: #666970; --stuck: #a02c3f;
  --over: #6b4a9c; --on: #ffffff; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; } }
"""
PAGE_MARK = '<meta name="generator" content="drillbox">'
"""Tells a page from every other file: only a page is written over by the next one."""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
_NUMBERS = frozenset({"days", "min", "in hand", "outgrown", "gained", "stuck", "fading"})
_LATE = frozenset({"days", "min", "outgrown", "gained", "last", "file"})
"""Columns that a telephone leaves out: what needs a word stays."""
MANY_ACROSS = 24
"""A map of more students is printed smaller, so that they stand on one page."""
MOST_ACROSS, MOST_DOWN = 60, 400
"""A map of more students or cards shows numbers only, or only its first cards."""


def studio_page(students: Sequence[StudentFigures], *, today: date) -> str:
    """Return the page.

    Parameters
    ----------
    students
        In the order to show them.
    today
        The day it is made on.
    """
    body = [
        '<header id="top"><h1>The studio</h1>',
        (
            f'<p class="soft">Students: {len(students)}, on {_day(today)}. '
            "Who needs a word stands first. Days, minutes and tempos gained are of the "
            f"{MONTH} days up to each student's file.</p></header><main>"
        ),
        *(f"<p>{escape(line)}</p>" for line in class_lines(students)),
        _summary(students),
        _map(students),
        *(_student(one, number) for number, one in enumerate(students, start=1)),
        "</main>",
    ]
    return page_of("The studio", body)


def page_of(title: str, body: Iterable[str]) -> str:
    """Return a whole page around its parts: nothing is loaded, nothing runs."""
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en">',
            f'<head><meta charset="utf-8">{PAGE_MARK}<title>{escape(title)}</title>',
            f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<style>\n{_STYLE}</style></head>",
            "<body>",
            *body,
            "</body></html>\n",
        )
    )


def _summary(students: Sequence[StudentFigures]) -> str:
    rows = []
    for number, cells in enumerate(table_rows(students), start=1):
        call = f'<div class="call">{escape(cells[-1])}</div>' if cells[-1] else ""
        link = f'{number} <a href="#student-{number}">{escape(cells[0])}</a>'
        first = f'<th scope="row">{link}{call}</th>'
        rest = zip(TABLE_HEAD[1:-1], cells[1:-1], strict=True)
        rows.append(f"<tr>{first}{''.join(_cell('td', name, cell) for name, cell in rest)}</tr>")
    head = "".join(_cell("th", name, name) for name in TABLE_HEAD[:-1])
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    return table.replace("<table>", '<table class="summary">', 1)


def _map(students: Sequence[StudentFigures]) -> str:
    """Return the class as cards by students, with the numbers of each row."""
    rows = class_map(students)
    across = len(students) if len(students) <= MOST_ACROSS else 0
    numbers = "".join(
        f'<th scope="col"><a href="#student-{n}" title="{escape(one.label)}">{n}</a></th>'
        for n, one in enumerate(students[:across], start=1)
    )
    sums = ("in hand", "building", "stuck", "fading")
    head = "".join(f'<th scope="col">{name}</th>' for name in sums)
    body = "".join(_map_row(row, across) for row in rows[:MOST_DOWN])
    rest = ((len(rows[MOST_DOWN:]), "more"), (untouched(students), "that nobody has begun"))
    said = " and ".join(f"{counted(number, 'card')} {what}" for number, what in rest if number)
    more = f'<p class="soft">And {said}.</p>' if said else ""
    kind = "map many" if across > MANY_ACROSS else "map"
    if not rows:
        return ""
    return (
        "<section><h2>The class</h2>"
        f'<p class="soft">Students by their numbers above. {escape(LEGEND)}.</p>'
        f'<div class="wide" tabindex="0" role="region" aria-label="The class">'
        f'<table class="{kind}"><thead><tr><th scope="col">card</th>{head}{numbers}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>{more}</section>"
    )


def _map_row(row: MapRow, across: int) -> str:
    sums = (
        row.count("holding", "outgrown"),
        row.count("building"),
        row.count("stuck", "apart"),
        row.count("fading"),
    )
    cells = "".join(f"<td>{number or ''}</td>" for number in sums)
    cells += "".join(
        f'<td class="{kind}" title="{NAMES[kind]}">{SIGNS[kind]}</td>' if kind else "<td></td>"
        for kind in row.kinds[:across]
    )
    return f'<tr><th scope="row">{escape(row.title)}</th>{cells}</tr>'


def _cell(tag: str, column: str, text: str) -> str:
    kinds = [name for name, columns in (("n", _NUMBERS), ("late", _LATE)) if column in columns]
    marked = f' class="{" ".join(kinds)}"' if kinds else ""
    scope = ' scope="col"' if tag == "th" else ""
    return f"<{tag}{scope}{marked}>{escape(text)}</{tag}>"


def _student(one: StudentFigures, number: int) -> str:
    whole, until = one.whole, one.progress.until
    call = f'<p class="call">{escape(", ".join(one.reasons))}</p>' if one.reasons else ""
    notes = notes_on(one)
    parts = [
        f'<article id="student-{number}"><h2>{escape(one.label)}</h2>{call}',
        (
            f"<p>{whole.in_hand} of {counted(whole.cards, 'card')} in hand"
            f"{f', {whole.rested} at rest' if whole.rested else ''}; "
            f"{escape(head_line(one))}</p>"
        ),
        *(_note(note) for note in notes if note.first),
        f'<div class="pair"><section><h3>Minutes a day, {SHOWN_WEEKS} weeks</h3>',
        minutes_chart(one.minutes_by_day(), today=until),
        "</section><section><h3>Cold tempo against the goals</h3>",
        tempo_chart(one.cards, today=until),
        "</section></div>",
    ]
    for part in one.decks:
        cards = [card for card in one.cards if part.deck.id in card.card.decks]
        title = f"{part.deck.title}, edition {part.deck.edition}"
        states = [card.card.state for card in cards]
        parts.append(f'<h3>{escape(title)}</h3><p class="soft">{states_in_words(states)}</p>')
        parts.append(states_chart(states))
    parts += [_note(note) for note in notes if not note.first]
    parts.append(
        f'<p class="soft">As the student handed it in on {_day(until)}. '
        '<a class="up" href="#top">Back to the class</a></p></article>'
    )
    return "\n".join(parts)


def _note(note: Note) -> str:
    if len(note.items) == 1:
        return f"<h3>{note.name}</h3><p>{escape(note.items[0])}</p>"
    lines = "".join(f"<li>{escape(item)}</li>" for item in note.items)
    return f"<h3>{note.name}</h3><ul>{lines}</ul>"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
