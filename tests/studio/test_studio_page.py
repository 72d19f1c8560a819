"""The studio's page.

Valid HTML, nothing from outside, nothing of a stranger's that runs, and a real browser's view.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import html5lib
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from strategies import progress_files

from drillbox.studio import look_at, studio_page
from drillbox.studio.drawings import minutes_chart, states_chart, tempo_chart

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.studio import Progress

TODAY = date(2026, 11, 25)
HTML = "{http://www.w3.org/1999/xhtml}"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


def page(files: list[Progress]) -> str:
    """Return the page for some files."""
    return studio_page(look_at(files, today=TODAY), today=TODAY)


@examples(40)
@given(st.lists(progress_files(), max_size=4))
def test_the_page_is_valid_html(files: list[Progress]) -> None:
    """The strict parser of html5lib, an independent reader of HTML, finds nothing to mend."""
    tree = html5lib.HTMLParser(strict=True).parse(page(files))
    ids = [element.get("id") for element in tree.iter() if element.get("id")]

    assert len(set(ids)) == len(ids) == 1 + len({file.student for file in files})
    for link in tree.iter(f"{HTML}a"):
        assert link.get("href", "").removeprefix("#") in ids


@examples(40)
@given(st.lists(progress_files(), max_size=3))
def test_the_page_needs_no_network_and_runs_nothing(files: list[Progress]) -> None:
    """No script, no handler, no address but its own places; and it says so to the browser."""
    text = page(files)
    tree = html5lib.parse(text)
    for element in tree.iter():
        name = str(element.tag).rpartition("}")[2]
        assert name not in {"script", "link", "img", "iframe", "object", "base", "form"}
        for key, value in element.attrib.items():
            assert not str(key).lower().startswith("on")
            assert key not in {"src", "href"} or value.startswith("#")

    assert "url(" not in text
    assert "@import" not in text
    assert "default-src 'none'" in text


@pytest.mark.parametrize("evil", ["<script>alert(1)</script>", '"><img src=x onerror=y>', "&lt;b&"])
def test_names_and_titles_are_shown_and_never_run(evil: str) -> None:
    """What a stranger wrote comes out as it was written, as text."""
    from dataclasses import replace

    from students_by_hand import DECK, card, student

    mia = student(1, evil, replace(card(1, "fading", (2, 1, 90)), title=evil))
    tree = html5lib.parse(page([replace(mia, decks=(replace(DECK, title=evil),))]))

    assert ["The class", evil] == [element.text for element in tree.iter(f"{HTML}h2")]
    assert f"{evil}, edition 1" in [element.text for element in tree.iter(f"{HTML}h3")]
    assert any((element.text or "").startswith(evil) for element in tree.iter(f"{HTML}p"))


@examples(60)
@given(progress_files())
def test_charts_are_drawings_inside_their_frames(progress: Progress) -> None:
    """Well-formed XML, described in words, and no shape leaves the frame."""
    (one,) = look_at([progress], today=TODAY)
    states = [figures.card.state for figures in one.cards]
    for drawn in (
        minutes_chart(one.minutes_by_day(), today=TODAY),
        tempo_chart(one.cards, today=TODAY),
        states_chart(states),
    ):
        svg = ET.fromstring(drawn)
        wide, high = map(float, svg.attrib["viewBox"].split()[2:])
        assert svg.attrib["aria-label"]
        for rect in svg.iter("rect"):
            x, y = float(rect.attrib["x"]), float(rect.attrib["y"])
            assert 0 <= x <= x + float(rect.attrib["width"]) <= wide + 0.2
            assert 0 <= y <= y + float(rect.attrib["height"]) <= high + 0.2
        for line in svg.iter("polyline"):
            for point in line.attrib["points"].split():
                x, y = map(float, point.split(","))
                assert 0 <= x <= wide
                assert -0.1 <= y <= high
    strip = ET.fromstring(states_chart(states))
    counts = [int((title.text or "").split()[0]) for title in strip.iter("title")]
    assert len(states) == sum(counts)


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here to print with")
def test_a_student_is_one_printed_page(tmp_path: Path) -> None:
    """The class on the first, then a page each, however many cards there are to name."""
    from students_by_hand import card, failed, student

    cards = [
        made
        for n in range(0, 80, 5)
        for made in (
            card(n, "building", (20, 6, 80), (3, 6, 80.5)),
            card(n + 1, "holding", (3, 6, 101)),
            card(n + 2, "fading", (40, 6, 101), (3, 6, 99)),
            card(n + 3, "outgrown", (60, 6, 140)),
            failed(n + 4, (5, 3, 70), (4, 3, 70), (3, 3, 70)),
        )
    ]
    (tmp_path / "page.html").write_text(
        page([student(n, f"Student {n}", *cards) for n in range(3)]), "utf-8"
    )
    subprocess.run(
        [
            *(str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu"),
            *("--proxy-server=127.0.0.1:9", f"--user-data-dir={tmp_path / 'browser'}"),
            *(f"--print-to-pdf={tmp_path / 'page.pdf'}", (tmp_path / "page.html").as_uri()),
        ],
        capture_output=True,
        check=True,
        timeout=60,
    )
    texts = [sheet.extract_text() for sheet in PdfReader(tmp_path / "page.pdf").pages]
    first = [n for n, text in enumerate(texts) if "Cold tempo against the goals" in text]

    assert [len(texts) - 3, len(texts) - 2, len(texts) - 1] == first


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here to look with")
@pytest.mark.parametrize("width", [360, 1200])
def test_a_real_browser_shows_the_page_without_sideways_scrolling(
    tmp_path: Path, width: int
) -> None:
    """At a telephone's and a desk's width, without a network, the page is as wide as its window."""
    from students_by_hand import card, student

    cards = [card(1, "building", (20, 6, 80), (3, 6, 80.5)), card(2, "holding", (3, 6, 101))]
    text = page([student(n, "A long name of many words " * 3, *cards) for n in (1, 2)])
    measured = "root.scrollWidth <= root.clientWidth && document.querySelectorAll('svg').length"
    script = (
        f"<script>let root = document.documentElement; parent.postMessage({measured}, '*')</script>"
    )
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    (tmp_path / "page.html").write_text(text.replace("</body>", f"{script}</body>"), "utf-8")
    (tmp_path / "frame.html").write_text(
        "<!DOCTYPE html><title>-</title><script>addEventListener('message',"
        "e => { document.title = e.data })</script>"
        f'<iframe src="page.html" style="width:{width}px;height:900px;border:0"></iframe>',
        "utf-8",
    )
    done = subprocess.run(
        [
            str(CHROMIUM),
            *("--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=3000"),
            *("--proxy-server=127.0.0.1:9", f"--user-data-dir={tmp_path / 'browser'}"),
            *("--dump-dom", (tmp_path / "frame.html").as_uri()),
        ],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    title = re.search(r"<title>(.*?)</title>", done.stdout)

    assert title is not None
    assert "6" == title[1]
