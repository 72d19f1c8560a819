"""What the stand's face shows when, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app.widgets.stand_face import StandFace
from drillbox.app.widgets.stand_panes import GradePane, PlayPane, ReadyPane
from drillbox.memory import Grade
from drillbox.rhythm import Hand, parse

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare, Part

if TYPE_CHECKING:
    from collections.abc import Callable


class BareFace(Bare, StandFace):
    """The stand's face in no app."""


class Pane:
    """A pane, which notes what it was told."""

    def __init__(self) -> None:
        self.told: list[tuple[object, ...]] = []

    def __getattr__(self, name: str) -> Any:
        return lambda *args, **kwargs: self.told.append((name, *args, *kwargs.items()))


class Drawing(Part):
    """A drawing whose marks are new."""

    def __init__(self) -> None:
        super().__init__()
        self.marks: object = None

    def mark(self, marks: object) -> bool:
        """Note marks; return whether they are others."""
        new, self.marks = marks is not self.marks, marks
        return new


def told_to(pane: Part) -> Pane:
    """Return a pane as what it is here."""
    return cast("Pane", pane)


@pytest.fixture
def face() -> BareFace:
    """Return a face with a groove of two bars in 3/4."""
    face = BareFace()
    face.parts["PatternView"] = Drawing()
    for name in ("ReadyPane", "PlayPane", "GradePane"):
        face.parts[name] = cast("Any", Pane())
    face.part("ContentSwitcher").current = ""  # type: ignore[attr-defined]
    face.put_up(parse("meter: 3/4\nhat: beat\nsnare: >2 (e)"), leading=Hand.LEFT)
    return face


def position(**changes: Any) -> Any:
    """Return a moment of a take."""
    told = {
        "beat": 1, "bpm": 90.0, "counting_in": False, "pass_number": 2, "bar_in_pass": 1,
        "fraction": 0.25,
    }  # fmt: skip
    return SimpleNamespace(**{**told, **changes})


def test_the_face_turns_to_the_pane_of_the_moment(face: BareFace) -> None:
    """Only while a take runs does the playhead stay."""
    drawing, switcher = face.part("PatternView"), cast("Any", face.part("ContentSwitcher"))
    pattern = parse("hat: beat")
    seen = []
    turns: list[Callable[[], None]] = [
        lambda: face.ready(80, take="take 1", why="because", following="next"),
        lambda: face.begin(80, pattern),
        lambda: face.ask("how?", dict.fromkeys(Grade, 80), None, by_parts=False),
    ]
    for turn in turns:
        drawing.beat = 3.0
        turn()
        seen.append((switcher.current, drawing.beat))

    assert [("ready", None), ("play", 3.0), ("grade", None)] == seen
    assert ("show", 80, ("take", "take 1"), ("why", "because"), ("following", "next")) == (
        told_to(face.part("ReadyPane")).told[-1]
    )
    assert ("begin", 80, pattern.meter.groups) == told_to(face.part("PlayPane")).told[0]
    asked = ("ask", "how?", dict.fromkeys(Grade, 80), None, ("by_parts", False))
    assert asked == told_to(face.part("GradePane")).told[-1]


def test_the_face_follows_the_beat_of_the_pass(face: BareFace) -> None:
    """In beats from the pattern's start; nowhere in the count-in; words when they are new."""
    drawing, pane = face.part("PatternView"), told_to(face.part("PlayPane"))
    for _ in range(2):
        face.follow(position(), passes=4)
    at = drawing.beat
    face.follow(position(counting_in=True), passes=4)
    before = drawing.beat
    face.follow(position(), passes=4, instead="something else")

    assert (3 + 1 + 0.25, None) == (at, before)
    assert [("beat", 1, 90.0)] * 4 == [one for one in pane.told if one[0] == "beat"]
    assert [
        ("say", "pass 3 of 4  ■■■□"), ("say", "count-in"), ("say", "something else"),
    ] == [one for one in pane.told if one[0] == "say"]  # fmt: skip


def test_what_is_said_and_heard_goes_to_its_pane(face: BareFace) -> None:
    """New marks share the rows out anew, the same ones do not."""
    drawing, marks = face.part("PatternView"), cast("Any", object())
    places: list[object] = []
    for words in ("late", "late", ""):
        drawing.place = None
        if words:
            face.hear(words, marks)
        else:
            face.on_resize()
        places.append(drawing.place)
    face.note("saved", bad=True)
    face.say_take("rest 3")

    assert [(78, 15), None, (78, 15)] == places
    assert [("hear", "late")] * 2 == told_to(face.part("GradePane")).told
    assert [("note", "saved", ("bad", True)), ("say_take", "rest 3")] == (
        told_to(face.part("ReadyPane")).told
    )


class BareReady(Bare, ReadyPane):
    """The pane before a take."""


class BarePlay(Bare, PlayPane):
    """The pane while a take runs."""


class BareGrade(Bare, GradePane):
    """The pane after a take."""


class Number(Part):
    """A large number, or lamps."""

    def show(self, shown: Any, *, leading: object = None) -> None:
        """Note what is shown."""
        del leading
        self.drawn = shown

    def light(self, number: int) -> None:
        """Note which lamp is lit."""
        self.beat = number


def test_the_pane_before_a_take_says_its_four_lines() -> None:
    """The notice only where there is one; trouble stands out and does not stay."""
    pane = BareReady()
    pane.parts["BigNumber"] = Number()
    pane.show(80, take="take 1", why="because", following="next: a")
    lines = [pane.line(f"#{name}") for name in ("take-line", "why", "next-line")]
    notice = pane.part("#notice-line")
    seen = []
    for words, bad in (("not saved", True), ("saved", False), ("", False)):
        pane.note(words, bad=bad)
        seen.append((notice.words, notice.display, notice.classes.copy()))
    pane.say_take("rest 3")

    assert ["take 1", "because", "next: a"] == lines
    assert cast("Any", "80") == pane.part("BigNumber").drawn
    assert [
        ("not saved", True, {"-bad"}), ("saved", True, set()), ("", False, set()),
    ] == seen  # fmt: skip
    assert "rest 3" == pane.line("#take-line")


def test_the_pane_of_a_take_shows_beat_tempo_and_pass() -> None:
    """A tempo that climbs is rounded."""
    pane = BarePlay()
    pane.parts |= {"BigNumber": Number(), "BeatLamps": Number()}
    pane.part("#pass-line").words = "from before"
    pane.begin(80, [3, 2])
    begun = (pane.part("BigNumber").drawn, pane.part("BeatLamps").drawn, pane.line("#pass-line"))
    pane.beat(2, 84.6)
    pane.say("pass 1 of 2")

    assert ("80", [3, 2], "") == cast("Any", begun)
    assert cast("Any", "85") == pane.part("BigNumber").drawn
    assert (2, "pass 1 of 2") == (pane.part("BeatLamps").beat, pane.line("#pass-line"))


def test_the_pane_after_a_take_asks_the_same_thing_once() -> None:
    """It is asked thirty times a second in a rest; anything new in it is shown."""
    pane = BareGrade()
    zones = Pane()
    pane.parts["GradeZones"] = cast("Any", zones)
    tempi = dict.fromkeys(Grade, 80)
    for _ in range(2):
        pane.ask("how?", tempi, by_parts=True)
    tempi[Grade.CLEAN] = 85
    pane.ask("how?", tempi, by_parts=True)
    pane.ask("how?", tempi, by_parts=False)
    pane.hear("late")
    shown = pane.part("#heard").classes.copy()
    pane.hear("")

    assert "how?" == pane.line("#question")
    assert [True, True, False] == [dict(told[3:])["by_parts"] for told in cast("Any", zones.told)]
    assert ({"-shown"}, set()) == (shown, pane.part("#heard").classes)
