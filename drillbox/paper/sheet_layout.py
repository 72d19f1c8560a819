"""Setting a sheet: blocks one under another, pages with a head and a foot.

A block is never broken. Where a page is not full, its blocks move apart a little. Millimetres;
sizes of text in points. Black on white, and large enough to be read from a music stand at a metre:
the staff is 7 mm high unless asked otherwise (common practice for practice sheets, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.paper.engraving import SPACE, engrave
from drillbox.paper.letter_rows import USUAL_ROWS, Rows
from drillbox.paper.lettering import broken, shortened, width
from drillbox.paper.page import A4, POINT, Line, Music, Page, PageItem, PaperSize, Rectangle, Text
from drillbox.rhythm import Hand, feel_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drillbox.rhythm import Pattern

__all__ = [
    "STAVES",
    "Block",
    "Look",
    "heading",
    "joined",
    "music_block",
    "paged",
    "paragraph",
    "tempo_text",
    "tick_row",
]

STAVES = {"small": 6.0, "usual": 7.0, "large": 9.5}
"""Heights of the staff by name."""
TITLE, BODY, SMALL = 11.0, 9.5, 8.0
_SIDE, _TOP, _BOTTOM = 15.0, 13.0, 15.0
_GAP, _MOST_GAP = 3.0, 9.0
_FOOT_SIZE = 7.5
_TICK = 4.0
_BEFORE = 26.0
_LINE = 1.35
"""Distance of lines of text, in their size."""


@dataclass(frozen=True, slots=True)
class Look:
    """How sheets are to look.

    Parameters
    ----------
    paper
        The sheet of paper.
    staff
        Height of the staff.
    leading
        The hand that leads; patterns are mirrored for the left before they come here.
    rows
        The rows of letters below a staff.
    """

    paper: PaperSize = A4
    staff: float = STAVES["usual"]
    leading: Hand = Hand.RIGHT
    rows: Rows = USUAL_ROWS

    @property
    def text(self) -> float:
        """How much larger than usual text is: a large staff is read from farther away."""
        return max(1.0, self.staff / STAVES["usual"])

    @property
    def room(self) -> float:
        """The width between the margins."""
        return self.paper.width - 2 * _SIDE


@dataclass(frozen=True, slots=True)
class Block:
    """Some items that stay together, from their own top left corner, and how high they are."""

    height: float
    items: tuple[PageItem, ...]


def heading(title: str, lines: Iterable[str], look: Look) -> Block:
    """Return the head of a sheet: a title, and lines below it."""
    size, body = 16.0 * look.text, BODY * look.text
    while size > TITLE and width(title, size, bold=True) > look.room:
        size -= 1
    title = shortened(title, look.room, size, bold=True)
    items: list[PageItem] = [Text(0, size * POINT, title, size, bold=True)]
    y = size * POINT
    for line in lines:
        for part in broken(line, look.room, body):
            y += body * POINT * _LINE
            items.append(Text(0, y, part, body))
    y += 2.5
    items.append(Line(0, y, look.room, y, 0.4))
    return Block(y + 1, tuple(items))


def paragraph(text: str, look: Look, *, size: float = BODY, bold: bool = False) -> Block:
    """Return a paragraph of text."""
    size *= look.text
    lines = broken(text, look.room, size)
    step = size * POINT * _LINE
    items = tuple(Text(0, step * (i + 0.8), line, size, bold) for i, line in enumerate(lines))
    return Block(step * len(lines), items)


def music_block(
    number: str,
    title: str,
    right: str,
    pattern: Pattern,
    look: Look,
    *,
    note: str = "",
    below: Sequence[Block] = (),
) -> Block:
    """Return a pattern with its title on the left, a word on the right, a note, and what is below.

    Parameters
    ----------
    number
        Stands before the title; may be empty.
    title, right, note
        What is written above the staff; the note may be empty.
    pattern
        What is engraved.
    look
        Paper, staff, hands.
    below
        Blocks under the music.
    """
    size, small = TITLE * look.text, SMALL * look.text
    y = size * POINT
    label = f"{number}  {title}" if number else title
    room = look.room - width(right, size) - 4
    items: list[PageItem] = [
        Text(0, y, shortened(label, room, size, bold=True), size, bold=True),
        Text(look.room, y, right, size, anchor="end"),
    ]
    for line in broken(note, look.room, small)[:2]:
        y += small * POINT * _LINE
        items.append(Text(0, y, line, small))
    y += 2.7 * look.text
    space = look.staff / 4
    engraving = engrave(pattern, spaces=look.room / space, rows=look.rows, leading=look.leading)
    scale = min(space / SPACE, look.room / engraving.width)
    items.append(Music(0, y, scale, engraving))
    y += engraving.height * scale + 1.2 * look.text
    return joined((Block(y, tuple(items)), *below))


def tick_row(labels: Sequence[str], look: Look, *, heavy: str = "", before: str = "") -> Block:
    """Return a row of boxes to tick, each with its label; one of them may be drawn heavily.

    Parameters
    ----------
    labels
        In order.
    look
        The paper.
    heavy
        The label of the box that is drawn heavily.
    before
        What stands at the beginning of the row, always as wide.
    """
    size, tick = BODY * look.text, _TICK * look.text
    x = _BEFORE * look.text if before else 0.0
    y = tick * 0.78
    items: list[PageItem] = [Text(0, y, before, size)] if before else []
    step = (look.room - x) / max(len(labels), 1)
    for label in labels:
        stroke = 0.6 if label == heavy else 0.25
        items += [
            Rectangle(x, 0, tick, tick, stroke),
            Text(x + tick + 1, y, label, size, bold=label == heavy),
        ]
        x += min(step, tick + width(label, size, bold=True) + 7)
    return Block(tick + 1.5, tuple(items))


def tempo_text(pattern: Pattern, bpm: float) -> str:
    """Return a tempo with the note it counts, and how the pattern is felt where it swings."""
    meter = pattern.meter
    dotted = meter.unit == 8 and meter.pulse == 3
    tempo = f"♩{'.' if dotted else ''} = {bpm:.0f}"
    return ", ".join(filter(None, (tempo, feel_words(pattern))))


def joined(blocks: Iterable[Block]) -> Block:
    """Return blocks set one under another as one block."""
    items: list[PageItem] = []
    y = 0.0
    for block in blocks:
        items += [moved(item, 0, y) for item in block.items]
        y += block.height
    return Block(y, tuple(items))


def paged(head: Block, blocks: Iterable[Block], look: Look, *, foot: str) -> tuple[Page, ...]:
    """Set blocks on pages; the head is on the first.

    Parameters
    ----------
    head, blocks
        What is set.
    look
        The paper.
    foot
        What stands at the bottom of every page, beside its number.
    """
    bottom = look.paper.height - _BOTTOM
    pages: list[list[tuple[float, Block]]] = [[(_TOP, head)]]
    y = _TOP + head.height + _GAP
    for block in blocks:
        if y + block.height > bottom and len(pages[-1]) > (1 if len(pages) == 1 else 0):
            pages.append([])
            y = _TOP
        pages[-1].append((y, block))
        y += block.height + _GAP
    return tuple(
        _page(_spread(page, bottom, last=number == len(pages)), look, foot, number, len(pages))
        for number, page in enumerate(pages, start=1)
    )


def _spread(
    page: Sequence[tuple[float, Block]], bottom: float, *, last: bool
) -> list[tuple[float, Block]]:
    """Move the blocks of a full page apart, so that they fill it."""
    y, block = page[-1]
    spare = (bottom - y - block.height) / max(len(page) - 1, 1)
    if last:
        spare = min(spare, _GAP / 2)
    spare = min(spare, _MOST_GAP)
    return [(y + spare * index, block) for index, (y, block) in enumerate(page)]


def _page(
    placed: Sequence[tuple[float, Block]], look: Look, foot: str, number: int, of: int
) -> Page:
    items = [moved(item, _SIDE, y) for y, block in placed for item in block.items]
    y = look.paper.height - 8
    page = f"{number} / {of}"
    room = look.room - width(page, _FOOT_SIZE) - 5
    items += [
        Line(_SIDE, y - 4, look.paper.width - _SIDE, y - 4, 0.15),
        Text(_SIDE, y, shortened(foot, room, _FOOT_SIZE), _FOOT_SIZE),
        Text(look.paper.width - _SIDE, y, page, _FOOT_SIZE, anchor="end"),
    ]
    return Page(look.paper.width, look.paper.height, tuple(items))


def moved(item: PageItem, dx: float, dy: float) -> PageItem:
    if isinstance(item, Line):
        return Line(item.x1 + dx, item.y1 + dy, item.x2 + dx, item.y2 + dy, item.width)
    return item._replace(x=item.x + dx, y=item.y + dy)
