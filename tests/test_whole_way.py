"""Files of any kind, damaged or hostile, through the whole way: read, store, plan, show, export.

What the door lets in must be good for everything behind it: no command fails on it, and what goes
out again is what came in. Readers alone are tried in `test_readers.py`; more, and longer, in
`tests/bench/fuzz_whole_way.py`.
"""

from __future__ import annotations

import io
import json
from contextlib import suppress
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from conftest import MORNING, SMALL_DECK
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import damaged_bytes

from drillbox.base.clock import ManualClock
from drillbox.base.now import in_zone
from drillbox.base.tempi import LOGGED
from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.errors import DrillboxError
from drillbox.report.calibration import calibration, calibration_chart
from drillbox.report.progress_file import progress_of
from drillbox.report.strides import week, week_sections
from drillbox.report.year import year_sections
from drillbox.report.year_page import year_page
from drillbox.report.year_values import year_values
from drillbox.store import TakeRow, read_log, write_log
from drillbox.store.checks import FIRST_MOMENT, LAST_MOMENT
from drillbox.store.rows import LONGEST_TAKE
from drillbox.studio import look_at, read_progress, studio_page, write_progress

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

DECK = parse_deck(SMALL_DECK, name="small.toml")
SETTINGS = (
    "days",
    "holidays",
    "minutes",
    "day_ends_at",
    "click",
    "fresh_rhythms",
    "student",
    "heir/x",
)


def log_bytes() -> bytes:
    """Return an export of some takes of the small deck's cards."""
    out = io.BytesIO()
    takes = (
        TakeRow(
            f"{n:032x}", DECK.cards[n % 3].card_id, 70.0 + n, n % 5 - 2,
            MORNING - timedelta(days=9 - n),
            ("+01:00", "Europe/Zurich", "-11:30")[n % 3], 30.0, "self",
            {"expected_bpm": 80.0, "expected_sd": 0.2} if n < 3 else None,
        )
        for n in range(8)
    )  # fmt: skip
    write_log(takes, out)
    return out.getvalue()


LOG = log_bytes()
extreme: st.SearchStrategy[Any] = st.sampled_from(
    ["", "x", "\ud800", "+23:59", "-00:00", "Etc/GMT+12", "1970-01-01T00:00:00Z",
     "2199-12-31T23:59:59Z", 0, 1, 2, -2, 1000, 1e-300, 86400, 10**400, None, True, [], {},
     {"expected_bpm": 1, "expected_sd": 1}]
)  # fmt: skip


@st.composite
def hostile_logs(draw: st.DrawFn) -> bytes:
    """Return an export with fields of some takes set to the ends of what may be, or past them."""
    lines = LOG.splitlines(keepends=True)
    for _ in range(draw(st.integers(1, 4))):
        number = draw(st.integers(1, len(lines) - 2))
        record: dict[str, Any] = json.loads(lines[number])
        record[draw(st.sampled_from([*record, "measures"]))] = draw(extreme)
        lines[number] = json.dumps(record).encode() + b"\n"
    return b"".join(lines)


def go_all_the_way(box: Box, clock: ManualClock) -> None:
    """Ask all that a command or a screen asks of a box; send what it holds out and in again."""
    at = clock.now()
    box.plan(at=at, minutes=15)
    box.next_practice(at=at)
    box.ahead(at=at, minutes=15, days=3)
    for card in box.cards(at=at):
        assert card.title.casefold() in card.words
        box.why(card.card_id, at=at)
        box.course(card.card_id)
        box.outlook(card.card_id, at=at)
    box.day(at)
    assert json.loads(json.dumps(year_values(box, at=at), allow_nan=False))
    assert year_page(box, at=at)
    assert all(text for _, text in year_sections(box, at=at, width=80))
    assert week_sections(week(box, at=at), width=80)
    calibration_chart(calibration(box), width=80)
    out = io.BytesIO()
    write_log(box.log(), out)
    with Box.open(":memory:", clock=clock) as other:
        other.merge(read_log(io.BytesIO(out.getvalue()), "again"))
        other.join(box.holdings())
        assert list(box.log()) == list(other.log())
    page = io.BytesIO()
    progress = progress_of(box, at=at, new_id=lambda: "5" * 32)
    write_progress(progress, page)
    again = read_progress(io.BytesIO(page.getvalue()), "progress")
    assert len(progress.cards) == len(again.cards)
    assert studio_page(look_at([again], today=at.date()), today=at.date())


def boxes() -> Iterator[tuple[Box, ManualClock]]:
    """Give a fresh box with the small deck."""
    clock = ManualClock(MORNING)
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(DECK, at=MORNING)
        yield box, clock


@examples(20)
@given(st.one_of(hostile_logs(), damaged_bytes(LOG)))
def test_a_log_is_refused_or_good_for_everything(content: bytes) -> None:
    """Whatever of it is let in."""
    for box, clock in boxes():
        with suppress(DrillboxError):
            box.merge(read_log(io.BytesIO(content), "log"))
        go_all_the_way(box, clock)


@pytest.mark.parametrize("bpm", LOGGED)
@pytest.mark.parametrize("zone", ["-23:59", "+00:00", "+23:59"])
@pytest.mark.parametrize(
    "first", [FIRST_MOMENT, LAST_MOMENT - timedelta(hours=1), MORNING - timedelta(days=40)]
)
def test_takes_at_the_ends_of_what_may_be_are_good_for_everything(
    first: datetime, zone: str, bpm: float
) -> None:
    """The first and the last moment, everywhere; the least and the most tempo, over and over."""
    grade = 2 if bpm > 100 else -2
    for box, clock in boxes():
        box.merge(
            TakeRow(
                f"{n:032x}", DECK.cards[0].card_id, bpm, grade,
                first + timedelta(minutes=n), zone, LONGEST_TAKE, "self",
            )
            for n in range(12)
        )  # fmt: skip
        if first > MORNING:
            clock.set(first.astimezone(in_zone(first, zone).tzinfo))
        go_all_the_way(box, clock)


@examples(15)
@given(damaged_bytes(SMALL_DECK.encode()))
def test_a_deck_is_refused_or_good_for_everything(content: bytes) -> None:
    """Its cards are planned, explained, drawn into a progress file, and every text survives."""
    for box, clock in boxes():
        with suppress(DrillboxError):
            deck = parse_deck(content.decode("utf-8", "replace"), name="deck")
            box.put_deck(deck, at=MORNING, older=True)
        box.merge(read_log(io.BytesIO(LOG), "log"))
        go_all_the_way(box, clock)


rules: st.SearchStrategy[Any] = st.sampled_from(
    ["FREQ=SECONDLY", "FREQ=DAILY;INTERVAL=0", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "every day",
     {"id": 7, "name": "\x1b"}, {"id": "ab" * 16, "name": "n" * 100}]
)  # fmt: skip


@examples(20)
@given(st.dictionaries(st.sampled_from(SETTINGS), extreme | rules, min_size=1, max_size=3))
def test_settings_are_refused_or_good_for_everything(values: dict[str, object]) -> None:
    """By the door of a merge; and those that are inside already disturb nothing."""
    for box, clock in boxes():
        with Box.open(":memory:", clock=clock) as other:
            for key, value in values.items():
                with suppress(DrillboxError):
                    other.archive.put_setting(key, value, MORNING)
            with suppress(DrillboxError):
                box.join(other.holdings())
        go_all_the_way(box, clock)
    for box, clock in boxes():
        for key, value in values.items():
            with suppress(DrillboxError):
                box.archive.put_setting(key, value, MORNING)
        go_all_the_way_inside(box, clock)


def go_all_the_way_inside(box: Box, clock: ManualClock) -> None:
    """Ask what a command asks, of a box that holds what no door lets in."""
    at = clock.now()
    box.plan(at=at, minutes=15)
    box.next_practice(at=at)
    assert box.cards(at=at)
    out = io.BytesIO()
    write_progress(progress_of(box, at=at, new_id=lambda: "5" * 32), out)
    assert read_progress(io.BytesIO(out.getvalue()), "progress").cards
