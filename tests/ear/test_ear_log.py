"""What the log keeps of measured takes, and what is told of many of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.box import Box
from drillbox.ear import AskedTake, PadNote, measure_notes
from drillbox.ear.bands import USUAL_CUTS
from drillbox.ear.expected import expected_strokes
from drillbox.ear.log_values import log_values, read_logged
from drillbox.memory import Grade
from drillbox.report.measured_trends import (
    card_trend,
    habits_of,
    heard_section,
    measured_takes,
    months_lines,
    months_of,
    partials_of,
)
from drillbox.report.own_bands import cuts_of, own_bands
from drillbox.rhythm import Level, parse
from drillbox.store import MEASURED, TakeRow

if TYPE_CHECKING:
    from drillbox.deckfile import Deck
    from drillbox.ear import Measurement
    from drillbox.store import LogEntry

SNARE = parse("snare: >2 >4 (1a) (3e)\n")
ASKED = AskedTake(SNARE, 92, 6, 1.0)


def played(late_ms: float = 0.0) -> Measurement:
    """Return a take whose ghost on the a of 1 comes so late, measured."""
    notes = [
        PadNote(1 + s.seconds + late_ms / 1000 * (float(s.place) == 0.75), 38, 28)
        if s.level is Level.GHOST
        else PadNote(1 + s.seconds, 38, 112)
        for s in expected_strokes(SNARE, 92, 6)
    ]
    return measure_notes(notes, ASKED)


def test_what_is_logged_reads_back() -> None:
    """Numbers, proposal and partials come back as they were written."""
    measured = played(12)
    logged = read_logged(log_values(measured))

    assert logged is not None
    assert measured.proposal.grade == logged.proposed
    assert measured.numbers.spread_ms == pytest.approx(logged.measures.spread_ms, abs=0.01)
    assert ["a of 1", "2", "e of 3", "4"] == [partial.name for partial in logged.partials]


@given(
    st.recursive(
        st.none() | st.floats() | st.text() | st.integers(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
        max_leaves=8,
    )
)
def test_what_makes_no_sense_is_no_measure(value: Any) -> None:
    """Anything may lie in a log; what cannot be read is passed over."""
    assert read_logged(value) is None


def test_another_version_and_a_wrong_kind_are_passed_over() -> None:
    """One field of another kind, or a version to come, is no measure either."""
    values = log_values(played())

    assert read_logged({**values, "spread_ms": "wide"}) is None
    assert read_logged({**values, "version": 2}) is None


MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@pytest.fixture
def box(small_deck: Deck) -> Box:
    """Return a box in memory with the small deck."""
    made = Box.open(":memory:")
    made.put_deck(small_deck, at=MORNING)
    return made


def test_measured_takes_are_kept_told_and_not_needed(box: Box, small_deck: Deck) -> None:
    """Measures come back with the take; without them the log replays to the same beliefs."""
    card = box.find("a")
    for day in range(4):
        at = MORNING + timedelta(days=day)
        box.record(card, 80, Grade.STEADY, at, 40, source="audio", measured=log_values(played(14)))
    takes = box.history(card)
    other = Box.open(":memory:")
    other.put_deck(small_deck, at=MORNING)
    other.merge(_without_measures(entry) for entry in box.log())

    assert [4] == [month.takes for month in months_of(takes)]
    assert "4 takes measured" in months_lines(months_of(takes))[0]
    assert any("a of 1 comes" in habit and "late in 4 takes" in habit for habit in habits_of(takes))
    later = MORNING + timedelta(days=9)
    assert box.outlook(card, at=later) == other.outlook(card, at=later)
    assert () == months_of(other.history(card))


def _without_measures(entry: LogEntry) -> LogEntry:
    if not isinstance(entry, TakeRow) or entry.measures is None:
        return entry
    kept = {name: value for name, value in entry.measures.items() if name != MEASURED}
    return replace(entry, measures=kept)


def test_verdicts_by_hand_move_the_cuts_of_the_box(box: Box) -> None:
    """Accepted proposals teach nothing about the player's verdicts; grades by hand do."""
    card = box.find("a")
    at = MORNING
    for _ in range(12):
        at += timedelta(hours=1)
        box.record(card, 80, Grade.CLEAN, at, 40, source="midi", measured=log_values(played()))
    assert USUAL_CUTS == cuts_of(box)
    for _ in range(12):
        at += timedelta(hours=1)
        box.record(card, 80, Grade.STEADY, at, 40, measured=log_values(played()))

    assert all(own < usual for own, usual in zip(cuts_of(box)[:2], USUAL_CUTS[:2], strict=True))


def test_partials_are_told_over_all_cards_and_over_time(box: Box) -> None:
    """The a comes late as a fact with numbers: how much, in how many takes, then and lately."""
    at = MORNING
    for number, late in enumerate((20.0, 20.0, 20.0, 8.0, 8.0, 8.0)):
        at = MORNING + timedelta(days=number)
        card = box.find("a" if number % 2 else "e")
        box.record(card, 80, Grade.STEADY, at, 40, source="midi", measured=log_values(played(late)))
    lines = partials_of(measured_takes(box))
    a = next(line for line in lines if line.startswith("snare a: "))

    assert "late in 6 takes; first" in a
    assert int(a.partition("first ")[2].split()[0]) > int(a.partition("lately ")[2].split()[0])
    ((title, text),) = heard_section(box, width=200)
    assert "by month" in title
    assert a in text
    assert "6 takes measured" in text


def test_the_years_section_is_there_only_where_takes_were_measured(box: Box) -> None:
    """Who never listens reads nothing of it; retracted takes are not told either."""
    card = box.find("a")
    assert [] == heard_section(box, width=200)
    take = box.record(card, 80, Grade.STEADY, MORNING, 40, measured=log_values(played()))
    assert 1 == len(measured_takes(box))
    box.retract(take.take_id, at=MORNING)

    assert [] == heard_section(box, width=200)


def test_own_bands_are_shown_beside_the_usual_ones(box: Box) -> None:
    """A strict player's limits lie under ours, and agree better with the verdicts."""
    card = box.find("a")
    at = MORNING
    assert () == own_bands(box)
    for _ in range(12):
        at += timedelta(hours=1)
        box.record(card, 80, Grade.STEADY, at, 40, measured=log_values(played()))
    head, automatic, *_ = own_bands(box)

    assert "12 takes graded by hand" in head
    own, usual = automatic.partition("spread ")[2].split(" ms")[0].rstrip(")").split(" (")
    assert float(own) < float(usual)
    assert own_bands(box)[0] in heard_section(box, width=200)[0][1]


def test_a_cards_trend_is_a_few_lines(box: Box) -> None:
    """The last months, then the largest habits, no more than there is room for."""
    card = box.find("a")
    for day in range(4):
        at = MORNING + timedelta(days=day)
        box.record(card, 80, Grade.STEADY, at, 40, source="midi", measured=log_values(played(14)))
    lines = card_trend(box.history(card), most=2).splitlines()

    assert 2 == len(lines)
    assert lines[0].startswith("2026-03: 4 takes measured")
    assert "a of 1 comes" in lines[1]
