"""The player's own page: valid, whole in itself, and with the figures of the year on the screen."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import html5lib
import pytest

from drillbox.memory import Grade
from drillbox.report.in_hand import progress
from drillbox.report.year import states_line
from drillbox.report.year_figures import family_curves
from drillbox.report.year_page import year_page

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

HTML = "{http://www.w3.org/1999/xhtml}"


@pytest.fixture
def played(box: Box, clock: ManualClock) -> Box:
    """Return the box after a year and a half of two cards."""
    start = clock.now()
    for week in range(80):
        at = start + timedelta(days=7 * week)
        for n, name in enumerate(("e", "a")):
            box.record(
                box.find(name), bpm=60 + week / 2 - 9 * n, grade=Grade.CLEAN, seconds=90,
                at=at + timedelta(minutes=2 * n),
            )  # fmt: skip
    clock.forward(days=7 * 80)
    return box


def test_the_page_is_valid_and_needs_nothing_from_outside(played: Box, clock: ManualClock) -> None:
    """The strict parser of html5lib, an independent reader, finds nothing to mend; no address."""
    text = year_page(played, at=clock.now())
    tree = html5lib.HTMLParser(strict=True).parse(text)

    assert {"html", "main", "section", "svg", "table"} <= {
        str(element.tag).rpartition("}")[2] for element in tree.iter()
    }
    assert "default-src 'none'" in text
    for word in ("http", "url(", "<script", "src="):
        assert word not in text.split("</style>")[1]


def test_its_figures_are_those_of_the_year(played: Box, clock: ManualClock) -> None:
    """What is in hand, each family with its tempo, each record, the minutes: as the box says."""
    now = clock.now()
    tree = html5lib.parse(year_page(played, at=now))
    said = " ".join("".join(tree.itertext()).split())
    done, families = progress(played, at=now), family_curves(played, at=now)
    rows = [["".join(cell.itertext()) for cell in row] for row in tree.iter(f"{HTML}tr")]

    assert states_line(played, now) in said
    assert "240 minutes on 80 days." in said
    for sign, one in zip("ab", families, strict=False):
        cells = [str(one.cards), f"{one.bpm[-1]:.0f}", f"{one.goal_bpm:.0f}"]
        assert [f"{sign} {one.name}", *cells] in rows
    for record in done.records:
        assert any(row[1] == f"{record.bpm:.0f}" and record.title in row[0] for row in rows)


def test_no_line_leaves_its_frame(played: Box, clock: ManualClock) -> None:
    """Every drawing is well-formed and described, and its points lie within it."""
    text = year_page(played, at=clock.now())
    drawings = [f"<svg{part.partition('</svg>')[0]}</svg>" for part in text.split("<svg")[1:]]

    assert 3 == len(drawings)
    for drawing in drawings:
        svg = ET.fromstring(drawing)
        wide, high = map(float, svg.attrib["viewBox"].split()[2:])
        assert svg.attrib["aria-label"]
        for line in svg.iter("polyline"):
            for point in line.attrib["points"].split():
                x, y = map(float, point.split(","))
                assert 0 <= x <= wide
                assert 0 <= y <= high


def test_an_empty_box_has_a_page_that_says_so(box: Box, clock: ManualClock) -> None:
    """Before the first take there is one friendly sentence."""
    assert "After the first practice day this page shows" in year_page(box, at=clock.now())
