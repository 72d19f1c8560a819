"""The colours of the studio's page, measured from its style sheet: by day, by night, on paper.

The formula and the limits are those of the Web Content Accessibility Guidelines 2.2 (W3C
Recommendation, 5 October 2023): relative luminance and contrast ratio as in its glossary, 4.5 to 1
for text (success criterion 1.4.3), 3 to 1 for what a drawing needs to be understood (1.4.11).
"""

from __future__ import annotations

import re
from datetime import date

import pytest

from drillbox.studio import studio_page

TEXT, SHAPE = 4.5, 3.0
STYLE = re.findall(r"<style>(.*?)</style>", studio_page((), today=date(2026, 11, 25)), re.DOTALL)[0]
TELL_NOTHING_ALONE = {".waiting", ".level"}
"""Shapes that a number beside them or on them says again: the strip's last part, the scale."""


def luminance(colour: str) -> float:
    """Return the relative luminance of ``#rrggbb`` (WCAG 2.2, glossary)."""
    shares = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (
        share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours (WCAG 2.2, glossary)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def schemes() -> dict[str, dict[str, str]]:
    """Return the colours by name, by day, by night and on paper, in the order of the sheet."""
    blocks = re.findall(r":root \{([^}]*)\}", STYLE)
    found = [dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block)) for block in blocks]
    return dict(zip(("day", "night", "paper"), found, strict=True))


def rules() -> list[tuple[str, dict[str, str]]]:
    """Return each rule's selectors and what it sets to one of the colours."""
    found = []
    for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", STYLE):
        named = dict(re.findall(r"(?<![\w-])(color|background|fill|stroke): var\(--(\w+)\)", body))
        found += [(one.strip(), named) for one in selectors.split(",") if named]
    return found


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#000000", "#ffffff", 21.0), ("#ffffff", "#ffffff", 1.0), ("#777777", "#ffffff", 4.48)],
)
def test_the_formula_gives_what_is_known(one: str, other: str, ratio: float) -> None:
    """The ends of the scale (WCAG 2.2: 1 to 21), and the grey that just misses (from memory)."""
    assert ratio == pytest.approx(contrast(one, other), abs=0.005)


@pytest.mark.parametrize("scheme", ["day", "night", "paper"])
def test_every_text_of_the_page_can_be_read(scheme: str) -> None:
    """Each colour of text against the ground it is written on: at least 4.5 to 1."""
    colours, checked = schemes()[scheme], 0
    for selector, named in rules():
        ink = named.get("color") or (named.get("fill") if "text" in selector else None)
        if ink is None:
            continue
        grounds = [named.get("background", "paper")]
        if selector == "svg text.on":
            grounds = ["hand", "over", "fade", "build", "rest"]
        if selector == "svg text.off":
            grounds = ["rule"]
        for ground in grounds:
            checked += 1
            ratio = contrast(colours[ink], colours[ground])
            assert ratio >= TEXT, f"{selector}: {ink} on {ground} is {ratio:.2f} to 1"
    assert checked > 15


@pytest.mark.parametrize("scheme", ["day", "night", "paper"])
def test_every_shape_stands_out(scheme: str) -> None:
    """Bars, lines, dots and the parts of a strip against the page: at least 3 to 1."""
    colours, checked = schemes()[scheme], 0
    for selector, named in rules():
        shape = named.get("fill") or named.get("stroke")
        plain = "text" in selector or selector in TELL_NOTHING_ALONE or shape == "paper"
        if shape is None or plain:
            continue
        checked += 1
        ratio = contrast(colours[shape], colours["paper"])
        assert ratio >= SHAPE, f"{selector}: {shape} is {ratio:.2f} to 1"
    assert checked >= 8
