"""The player's own page: valid, whole in itself, and with the figures of the year on the screen."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import html5lib
import pytest
from conftest import SMALL_DECK

from drillbox.deckfile import parse_deck
from drillbox.memory import Grade
from drillbox.report.in_hand import coming_back, look_back
from drillbox.report.year import OUTLOOK_DAYS, states_line
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
    done, families = look_back(played, at=now), family_curves(played, at=now)
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


def drawings_of(box: Box, clock: ManualClock) -> list[ET.Element]:
    """Return the drawings of a page."""
    parts = year_page(box, at=clock.now()).split("<svg")[1:]
    return [ET.fromstring(f"<svg{part.partition('</svg>')[0]}</svg>") for part in parts]


def number(element: ET.Element, name: str) -> float:
    """Return an attribute as a number."""
    return float(element.attrib[name])


def test_weeks_stand_on_their_axis_as_high_as_their_minutes(box: Box, clock: ManualClock) -> None:
    """Three minutes in the first week, none in the second, one in the third; left to right.

    2 March 2026 is a Monday (ISO 8601), so each seven days are a week.
    """
    for day, seconds in ((0, 60), (6, 120), (14, 60)):
        at = clock.now() + timedelta(days=day)
        box.record(box.find("e"), bpm=60, grade=Grade.CLEAN, seconds=seconds, at=at)
    clock.forward(days=14)
    weeks = drawings_of(box, clock)[-1]
    bars = list(weeks.iter("rect"))
    high, low = (number(line, "y1") for line in list(weeks.iter("line"))[:2])
    labels = [text.text for text in list(weeks.iter("text"))[:2]]

    assert ["3", "0"] == labels
    assert [low, low] == [number(bar, "y") + number(bar, "height") for bar in bars]
    assert [low - high, pytest.approx((low - high) / 3, abs=0.1)] == [
        number(bar, "height") for bar in bars
    ]
    room = (number(next(weeks.iter("line")), "x2") - number(bars[0], "x")) / 3
    assert number(bars[1], "x") == pytest.approx(number(bars[0], "x") + 2 * room, abs=0.1)
    assert "1 minute this week, 3 in the fullest" == weeks.attrib["aria-label"]


def test_curves_go_from_the_first_day_to_today_and_as_high_as_they_say(
    played: Box, clock: ManualClock
) -> None:
    """In hand reaches the top of its frame at its most, and never falls under the axis."""
    in_hand = drawings_of(played, clock)[0]
    bottom, middle, top = (number(line, "y1") for line in list(in_hand.iter("line"))[:3])
    left, right = (number(next(in_hand.iter("line")), name) for name in ("x1", "x2"))
    points = [
        tuple(map(float, point.split(",")))
        for point in next(in_hand.iter("polyline")).attrib["points"].split()
    ]
    done = look_back(played, at=clock.now())
    most = max(done.in_hand)

    assert [left, right] == [points[0][0], points[-1][0]]
    assert sorted(points) == points
    assert top == min(y for _, y in points)
    assert points[-1][1] == pytest.approx(bottom - (bottom - top) * done.in_hand[-1] / most)
    assert middle == (bottom + top) / 2
    assert 500 >= len(points)
    labels = [text.text for text in list(in_hand.iter("text"))[:3]]
    assert ["0", f"{most / 2:.0f}", f"{most}"] == labels


def test_signs_stand_behind_their_curves(played: Box, clock: ManualClock) -> None:
    """Each family's letter is right of its last point and on its height, within the frame."""
    families = drawings_of(played, clock)[1]
    ends = [
        tuple(map(float, line.attrib["points"].split()[-1].split(",")))
        for line in families.iter("polyline")
    ]
    signs = [text for text in families.iter("text") if text.text in {"a", "b", "c"}]

    assert len(ends) == len(signs)
    for (x, y), sign in zip(ends, signs, strict=True):
        assert x < number(sign, "x") < 720
        assert number(sign, "y") == pytest.approx(y + 4, abs=0.1)


def test_days_stand_under_the_axis_with_their_years(played: Box, clock: ManualClock) -> None:
    """A span of a year and a half has months; each is named with its year, left to right."""
    texts = [t for t in drawings_of(played, clock)[0].iter("text") if number(t, "y") > 215]
    places = [number(text, "x") for text in texts]

    assert places == sorted(places)
    assert 3 <= len(texts) <= 7
    assert all("202" in str(text.text) for text in texts)


def test_an_empty_box_has_a_page_that_says_so(box: Box, clock: ManualClock) -> None:
    """Before the first take there is one friendly sentence."""
    assert "After the first practice day this page shows" in year_page(box, at=clock.now())


def test_every_family_has_a_colour_a_sign_and_a_row(box: Box, clock: ManualClock) -> None:
    """Six families: five colours in turn, letters in order, signs on one height side by side.

    The scale reaches three bpm past the slowest and the fastest.
    """
    cards = "".join(
        f'[[card]]\nid = "c{n}"\nsnare = "({n // 3 + 1}{"ea&"[n % 3]})"\nfamily = "f{n}"\n'
        for n in range(6)
    )
    head = SMALL_DECK.split("[[card]]", maxsplit=1)[0]
    box.put_deck(parse_deck(head.replace("first-ghosts", "six") + cards, name="six"),
                 at=clock.now())  # fmt: skip
    for n in range(6):
        for day in range(2):
            at = clock.now() + timedelta(days=day)
            box.record(box.find(f"c{n}"), bpm=70, grade=Grade.CLEAN, seconds=60, at=at)
    clock.forward(days=2)
    families = drawings_of(box, clock)[1]
    lines = [line.attrib["class"] for line in families.iter("polyline")]
    signs = [text for text in families.iter("text") if text.text in set("abcdef")]
    tempi = [bpm for one in family_curves(box, at=clock.now()) for bpm in one.bpm]
    low, _, high = (float(str(text.text)) for text in list(families.iter("text"))[:3])

    assert ["line", "line b", "line c", "line d", "line e", "line"] == lines
    assert list("abcdef") == [sign.text for sign in signs]
    assert (low, high) == pytest.approx((min(tempi) - 3, max(tempi) + 3), abs=0.5)
    rows: dict[int, list[float]] = {}
    for sign in signs:
        rows.setdefault(round((number(sign, "y") - 4) / 11), []).append(number(sign, "x"))
    right = number(next(families.iter("line")), "x2")
    for places in rows.values():
        assert places == [pytest.approx(right + 4 + 9 * n, abs=0.1) for n in range(len(places))]
    said = "; ".join(f"f{n} {bpm:.0f} bpm" for n, bpm in zip(range(6), tempi[2::3], strict=True))
    assert said == families.attrib["aria-label"]


def test_a_long_time_is_drawn_through_at_most_five_hundred_points(
    box: Box, clock: ManualClock
) -> None:
    """Three and a half years: evenly thinned, from the first day to today."""
    box.record(box.find("e"), bpm=100, grade=Grade.CLEAN, seconds=60, at=clock.now())
    clock.forward(days=1260)
    in_hand = drawings_of(box, clock)[0]
    points = next(in_hand.iter("polyline")).attrib["points"].split()
    across = [float(point.split(",")[0]) for point in points]
    left, right = (number(next(in_hand.iter("line")), name) for name in ("x1", "x2"))

    assert (left, right) == (across[0], across[-1])
    assert 400 < len(points) <= 501
    steps = [b - a for a, b in pairwise(across)][:-1]
    assert max(steps) == pytest.approx(min(steps), abs=0.11)
    assert max(steps) == pytest.approx(3 * (right - left) / 1260, abs=0.11)


@pytest.mark.parametrize("days", [0, 1, 5, 40, 200])
def test_days_within_a_year_name_it_once(box: Box, clock: ManualClock, days: int) -> None:
    """The first tick alone; each stands on its day, the first one begins there."""
    box.record(box.find("e"), bpm=100, grade=Grade.CLEAN, seconds=60, at=clock.now())
    start = clock.now().date()
    clock.forward(days=days)
    drawing = drawings_of(box, clock)[0]
    texts = [t for t in drawing.iter("text") if number(t, "y") > 215]
    marks = [line for line in drawing.iter("line") if line.attrib["x1"] == line.attrib["x2"]]
    left, right = (number(next(drawing.iter("line")), name) for name in ("x1", "x2"))

    assert [True, *[False] * (len(texts) - 1)] == ["2026" in str(text.text) for text in texts]
    assert ["start", *["middle"] * (len(texts) - 1)] == [t.attrib["text-anchor"] for t in texts]
    assert [number(text, "x") for text in texts] == [number(mark, "x1") for mark in marks]
    for text in texts:
        words = f"{str(text.text).removesuffix(' 2026')} 2026"
        on = datetime.strptime(f"1 {words}" if words[0].isalpha() else words, "%d %b %Y").date()  # noqa: DTZ007
        x = left + (on - start).days / max(days, 1) * (right - left)
        assert number(text, "x") == pytest.approx(x, abs=0.1)


def test_what_slips_is_counted_in_a_sentence(box: Box, clock: ManualClock) -> None:
    """Over the next sixty days, today included; one card is one card."""
    for name, bpm in (("e", 91), ("a", 300)):
        box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, seconds=60, at=clock.now())
    counts = coming_back(
        box.cards(at=clock.now()), today=box.now(clock.now()).day, days=OUTLOOK_DAYS
    )

    assert 1 == sum(counts)
    assert "<p>1 card in the next 60 days, if left alone.</p>" in year_page(box, at=clock.now())


def test_text_from_outside_is_text_on_the_page(box: Box, clock: ManualClock) -> None:
    """A title with signs of HTML in it is shown as it is written."""
    text = SMALL_DECK.replace('title = "e of every beat"', 'title = "<b>e</b> & more"')
    box.put_deck(parse_deck(text.replace("edition = 1", "edition = 2"), name="d"), at=clock.now())
    box.record(box.find("e"), bpm=91, grade=Grade.CLEAN, seconds=60, at=clock.now())
    page = year_page(box, at=clock.now())

    assert "&lt;b&gt;e&lt;/b&gt; &amp; more" in page
    assert "<b>e</b>" not in page
    assert "First ghosts: <b>e</b> & more" in "".join(html5lib.parse(page).itertext())
