"""What a card's picture, the year's span, the sounds and the kept takes make of numbers."""

from __future__ import annotations

import wave
from datetime import UTC, date, datetime
from fractions import Fraction
from math import inf
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pytest

from drillbox.app.accompaniment import _balance, _climbing, _style
from drillbox.app.kept_takes import LEAD_SECONDS, heard_again, keep, kept_takes
from drillbox.app.listening import METER_BARS, Listening, meter_bars
from drillbox.app.screens.year_screen import SPANS, Year
from drillbox.app.widgets.card_history import card_picture
from drillbox.base.now import long_day
from drillbox.box.settings import Settings
from drillbox.errors import NotSavedError
from drillbox.memory import Grade
from drillbox.rhythm import Voice, parse
from drillbox.sound import RATE, ClickStyle, Gap, QuietDown, Timeline

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.app.desk import Desk
    from drillbox.app.listening import Heard
    from drillbox.box.take_views import TakeView
    from drillbox.sound import Mix

TODAY = date(2026, 3, 2).toordinal()
PATTERN = parse("snare: >2 >4 (1e)\n")


def take(day: int, bpm: float, grade: Grade, *, cold: bool) -> TakeView:
    """Return what a picture looks at of a take."""
    return cast("TakeView", SimpleNamespace(day=day, bpm=bpm, grade=grade, cold=cold))


def test_takes_of_one_day_stand_side_by_side_within_it() -> None:
    """Each a little later than the one before, never as far as the next day; a new day anew."""
    day = TODAY - 4
    warm = [take(day, 80 + n, Grade.CLEAN, cold=False) for n in range(1, 12)]
    takes = [take(day, 80, Grade.CLEAN, cold=True), *warm]
    takes.append(take(day + 1, 90, Grade.CLEAN, cold=True))
    shown = card_picture(takes, [88.0, 87.0, 86.0], goal_bpm=95.0, today=TODAY)
    later, cold = shown.marks

    assert (False, True) == (later.strong, cold.strong)
    assert [day, day + 1.0] == cold.days
    assert later.days == pytest.approx([day + min(0.12 * number, 0.9) for number in range(1, 12)])
    assert (day, TODAY + 2, TODAY, 95.0) == (shown.first, shown.last, shown.today, shown.goal)
    assert [TODAY, TODAY + 1, TODAY + 2] == shown.curves[0].days


def test_a_card_of_which_nothing_is_expected_has_no_curve() -> None:
    """The picture ends today then."""
    shown = card_picture(
        [take(TODAY - 2, 80, Grade.SHAKY, cold=True)], [], goal_bpm=90, today=TODAY
    )

    assert ((), TODAY) == (shown.curves, shown.last)
    assert "-" == shown.marks[0].sign


@pytest.mark.parametrize(
    ("span", "days", "expected"), [(0, 400, 91), (0, 40, 40), (1, 400, 365), (2, 400, 400)]
)
def test_a_span_of_the_year_ends_with_today(span: int, days: int, expected: int) -> None:
    """Three months are 91 days with today, a year 365; no span begins before the first take."""
    done = SimpleNamespace(first=TODAY - days + 1, last=TODAY, in_hand=[0] * days)
    shown: dict[str, list[Any]] = {}

    def query_one(place: str, kind: object) -> object:
        keep_it = shown.setdefault(place, []).append
        return SimpleNamespace(update=keep_it, show=keep_it)

    page = SimpleNamespace(
        _done=done, _plots_stand=True, _span=span, _families=(), query_one=query_one
    )
    Year._show_span(cast("Year", page))
    (drawn,), (words,) = shown["#in-hand-plot"], shown["#clock"]

    assert expected == TODAY - drawn.first + 1
    assert expected == len(drawn.curves[0].days)
    assert drawn.from_zero
    assert words.startswith(SPANS[span][0])
    assert long_day(TODAY - expected + 1) in words


# what is heard and sounded


@pytest.mark.parametrize(
    ("decibels", "bars"),
    [(3.0, 8), (0.0, 8), (-5.9, 8), (-6.1, 7), (-11.9, 7), (-41.9, 2), (-47.9, 1), (-48.1, 0)],
)
def test_a_bar_of_the_meter_is_six_decibels(decibels: float, bars: int) -> None:
    """From full scale down; nothing is fuller than full or emptier than empty."""
    assert bars == meter_bars(10 ** (decibels / 20))
    assert 8 == METER_BARS


def test_a_take_of_which_no_pass_was_whole_is_not_measured() -> None:
    """From the first whole pass on there is something to be measured."""
    desk = SimpleNamespace(metronome=SimpleNamespace(listens=True))
    listening = Listening(cast("Desk", desk), Settings(listening="microphone"))
    recorded = listening.begin(cast("Mix", object()))
    told = []
    for passes in (0, 1):
        listening.finish(passes)
        told.append(listening.busy)
    listening.drop()
    listening.finish(3)

    assert recorded
    assert [False, True, False] == [*told, listening.busy]


def test_the_meter_rises_at_once_and_falls_slowly() -> None:
    """A tenth of the level goes at each look; without a microphone there is no level."""
    peaks = iter([0.5, 0.0, 0.0, 0.8])
    metronome = SimpleNamespace(listens=True, take_peak=lambda: next(peaks))
    desk = cast("Desk", SimpleNamespace(metronome=metronome))
    listening = Listening(desk, Settings(listening="microphone"))

    assert [0.5, 0.45, 0.405, 0.8] == pytest.approx([listening.level() for _ in range(4)])
    assert None is Listening(desk, Settings(listening="off")).level()


@pytest.mark.parametrize(
    ("ms", "latency", "expected"), [(120, 40, 0.12), (0, 40, 0.12), (0, 0, 0.08), (1, 40, 0.001)]
)
def test_a_measured_round_trip_counts_before_the_usual_one(
    ms: int, latency: int, expected: float
) -> None:
    """Where nobody measured it: the usual 80 ms and what the output is late by."""
    settings = Settings(round_trip_ms=ms, latency_ms=latency)

    assert expected == pytest.approx(Listening(cast("Desk", None), settings)._late())


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("pulse", ClickStyle()),
        ("eighths", ClickStyle(subdivision=2)),
        ("triplets", ClickStyle(subdivision=3)),
        ("sixteenths", ClickStyle(subdivision=4)),
        ("two and four", ClickStyle(only=(1, 3))),
        ("only the e", ClickStyle(displaced=Fraction(1, 4))),
        ("only the a", ClickStyle(displaced=Fraction(3, 4))),
        ("two bars on, two off", ClickStyle(bars=Gap(2, 2))),
        ("fading out", ClickStyle(bars=QuietDown(2, 3))),
        ("the pattern's own grid", ClickStyle(grids=PATTERN.grids)),
    ],
)
def test_a_click_is_what_its_name_says(name: str, expected: ClickStyle) -> None:
    """The e is a quarter of a beat late and the a three quarters (count of sixteenths)."""
    assert expected == _style(PATTERN, name)


@pytest.mark.parametrize(
    ("backing", "kit", "click", "without"),
    [
        ("click alone", -inf, -3.0, set()),
        ("kit alone", -9.0, -inf, set()),
        ("click and kit", -9.0, -3.0, set()),
        ("all but the snare", -9.0, -3.0, {Voice.SNARE}),
    ],
)
def test_a_backing_leaves_out_what_it_says(
    backing: str, kit: float, click: float, without: set[Voice]
) -> None:
    """What sounds has the level of its setting."""
    settings = Settings(backing=backing, kit_db=-9, click_db=-3, ghosts_db=2)
    balance = _balance(settings)

    assert (kit, click, 2.0) == (balance.kit_db, balance.click_db, balance.ghosts_db)
    assert without == balance.without


@pytest.mark.parametrize(("bpm", "bars"), [(60, 2), (90, 3), (120, 4), (20, 1)])
def test_a_ramp_climbs_at_the_bar_line_nearest_to_eight_seconds(bpm: int, bars: int) -> None:
    """A bar of four at 60 lasts four seconds; a pattern longer than that climbs at each pass."""
    steady = Timeline.steady(PATTERN.meter, bpm, bars=9, count_in_bars=1, pass_bars=1)
    tempi = _climbing(steady, PATTERN, bpm).tempi
    steps = range(bars, 9, bars)

    assert [bpm, *(bpm + 5 * (step + 1) for step in range(len(steps)))] == [
        one.bpm for one in tempi
    ]


# recordings that are kept


def heard(start: float, samples: object) -> Heard:
    """Return what is kept of a take."""
    fields = {"card_id": "0123456789abcdef", "bpm": 92, "passes": 6}
    return cast("Heard", SimpleNamespace(start=start, samples=samples, **fields))


@pytest.mark.parametrize(("start", "expected"), [(2.5, 1.5), (1.0, 3.0), (0.4, 3.0)])
def test_a_kept_take_begins_a_second_before_its_first_beat(
    tmp_path: Path, start: float, expected: float
) -> None:
    """As far as there is so much before it; its name says when, which card, how fast, how long."""
    sound = np.zeros(3 * RATE, dtype=np.float32)
    at = datetime(2026, 3, 2, 9, 5, 7, tzinfo=UTC)
    kept = keep(tmp_path / "takes", heard(start, sound), at)

    with wave.open(str(kept.path)) as file:
        assert round(expected * RATE) == file.getnframes()
    assert 1.0 == LEAD_SECONDS
    assert "2026-03-02-090507-0123456789abcdef-92bpm-6x.wav" == kept.path.name
    assert (kept,) == kept_takes(tmp_path / "takes", "0123456789abcdef")


def test_the_newest_recording_of_a_card_comes_first(tmp_path: Path) -> None:
    """Files of other cards, and of other names, are passed over; no folder has none."""
    card = "0123456789abcdef"
    names = [f"2026-03-0{day}-090000-{card}-{80 + day}bpm-{day}x.wav" for day in (1, 3, 2)]
    others = [names[0].replace("0123", "ffff"), "take.wav", f"{names[0]}.bak"]
    for name in (*names, *others):
        (tmp_path / name).touch()

    assert [(83, 3), (82, 2), (81, 1)] == [(t.bpm, t.passes) for t in kept_takes(tmp_path, card)]
    assert () == kept_takes(None, card) == kept_takes(tmp_path / "none", card)


def test_a_kept_take_is_heard_as_it_was_and_at_half_speed(tmp_path: Path) -> None:
    """As it was, its passes last as long as they were played; at half speed twice that."""
    at = datetime(2026, 3, 2, tzinfo=UTC)
    kept = keep(tmp_path, heard(1.0, np.zeros(17 * RATE, dtype=np.float32)), at)
    as_it_was, slowly = (heard_again(kept, PATTERN, slowly=slow) for slow in (False, True))
    last = [program.timeline.seconds_at(Fraction(24)) for program in (as_it_was, slowly)]
    first = [program.timeline.seconds_at(Fraction(0)) for program in (as_it_was, slowly)]
    lasts = [float(end - start) for start, end in zip(first, last, strict=True)]

    assert [6 * PATTERN.seconds(92), 12 * PATTERN.seconds(92)] == pytest.approx(lasts)


def test_what_has_no_sound_or_no_place_cannot_be_kept(tmp_path: Path) -> None:
    """Both are said, and no file is made."""
    at = datetime(2026, 3, 2, tzinfo=UTC)
    for folder, samples in ((None, np.zeros(9)), (tmp_path, None)):
        with pytest.raises(NotSavedError, match="cannot be kept"):
            keep(folder, heard(1.0, samples), at)
    assert [] == list(tmp_path.iterdir())
