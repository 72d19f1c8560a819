from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, timezone
from enum import IntEnum
from typing import Any

import pytest
from store_kit import CARD, NOW, card, deck, take

from drillbox.errors import UsageError
from drillbox.store import BeliefRow, Retraction, Setting, Standing, Wish
from drillbox.store.checks import json_text, shown


@pytest.mark.parametrize(
    "number", [math.nan, math.inf, -math.inf, 0.0, 1001.0, True, "92", None, 10**400]
)
def test_a_tempo_is_a_finite_number_of_the_trade(number: Any) -> None:
    """SQLite would store NaN as NULL.

    The row refuses it, and every other value no metronome has.
    """
    with pytest.raises(UsageError, match="bpm"):
        take(1, bpm=number)


@pytest.mark.parametrize("number", [math.nan, math.inf, -0.1, 86_401.0, "long"])
def test_a_take_lasts_a_finite_time(number: Any) -> None:
    """A length is between nothing and a day."""
    with pytest.raises(UsageError, match="seconds"):
        take(1, seconds=number)


@pytest.mark.parametrize("grade", [-3, 3, 0.5, True, "clean", None])
def test_there_are_five_grades(grade: Any) -> None:
    """A grade is one of the whole numbers -2 to 2."""
    with pytest.raises(UsageError, match="grade"):
        take(1, grade=grade)


def test_an_enum_of_the_memory_is_a_grade() -> None:
    """Any IntEnum member may be given; a plain int is kept, so rows compare and print alike."""
    row = take(1, grade=IntEnum("Verdict", {"CLEAN": 1}).CLEAN)  # type: ignore[attr-defined]
    assert int is type(row.grade)


def test_a_naive_moment_is_refused() -> None:
    """A time without a zone could be any of a day's hours."""
    with pytest.raises(UsageError, match="time zone"):
        take(1, at=datetime(2026, 3, 12, 18, 30))  # noqa: DTZ001 - the point
    with pytest.raises(UsageError, match="time zone"):
        Retraction(f"{1:032x}", f"{2:032x}", datetime(2026, 3, 12))  # noqa: DTZ001 - the point


def test_a_moment_outside_the_calendar_is_refused() -> None:
    """The year 9999 ends earlier in the west than UTC can say."""
    west = timezone(timedelta(hours=-12))
    with pytest.raises(UsageError, match="years 1 to 9999"):
        take(1, at=datetime(9999, 12, 31, 23, tzinfo=west))


def test_moments_are_kept_in_utc() -> None:
    """18:30 in Berlin in winter is 17:30 UTC; the zone is a field of its own."""
    assert datetime(2026, 3, 12, 17, 31, tzinfo=UTC) == take(1).at
    assert UTC is take(1).at.tzinfo


@pytest.mark.parametrize(
    "zone", ["UTC", "Europe/Berlin", "America/Argentina/Ushuaia", "+05:45", "Etc/GMT+5"]
)
def test_zones_are_names_or_offsets(zone: str) -> None:
    """IANA names and offsets pass."""
    assert zone == take(1, zone=zone).zone


@pytest.mark.parametrize(
    "zone", ["", "../../etc/passwd", "/etc/localtime", "a" * 65, "Europe Berlin", None]
)
def test_a_zone_is_no_path_and_no_text(zone: Any) -> None:
    """A zone is used to look up a file later, so it may not lead anywhere else."""
    with pytest.raises(UsageError, match="zone"):
        take(1, zone=zone)


@pytest.mark.parametrize("key", ["", "1" * 31, "A" * 32, "g" * 32, "1" * 33, None, 5, "١" * 32])
def test_ids_are_hex(key: Any) -> None:
    """An id is 32 lowercase hex digits and a card id 16, ASCII ones."""
    with pytest.raises(UsageError, match="id"):
        take(1, id=key)
    with pytest.raises(UsageError, match="card_id"):
        take(1, card_id=key)


@pytest.mark.parametrize("source", ["", "a\nb", "a\x1b[31m", "\ud800", "x" * 41, None])
def test_a_source_is_a_word_or_two(source: Any) -> None:
    """No control characters reach a terminal, and no lone surrogates the disk."""
    with pytest.raises(UsageError, match="source"):
        take(1, source=source)


@pytest.mark.parametrize(
    "measures",
    [
        {"jitter": math.nan},
        {"jitter": [math.inf]},
        {"who": object()},
        {1: 2},
        {"deep": [[[[[[[[[1]]]]]]]]]},
        {"long": "x" * 40_000},
        {"huge": 10**5000},
        [1, 2],
        "text",
    ],
)
def test_measures_are_plain_json(measures: Any) -> None:
    """Finite, shallow, short, named: what any JSON reader can take back."""
    with pytest.raises(UsageError, match=r"measures|Exceeds|JSON|key|deep"):
        take(1, measures=measures)


def test_a_row_does_not_change_with_what_it_was_made_of() -> None:
    """The measures are a private copy, tuples become lists, and rows can be put in sets."""
    mine: dict[str, Any] = {"gaps": (1, 2), "more": {"x": 1.5}}
    row = take(1, measures=mine)
    mine["more"]["x"] = 2.5
    assert {"gaps": [1, 2], "more": {"x": 1.5}} == row.measures
    assert {row} == {take(1, measures={"gaps": [1, 2], "more": {"x": 1.5}})}


def test_titles_may_hold_what_typesetters_use() -> None:
    """No-break spaces and joined emoji pass; line breaks do not."""
    assert "16\u00a0e \U0001f941" == deck(title="16\u00a0e \U0001f941").title
    for bad in ("a\nb", "a\u2028b", "a\x07", ""):
        with pytest.raises(UsageError, match="title"):
            deck(title=bad)


@pytest.mark.parametrize(
    "changes",
    [
        {"edition": 0},
        {"edition": "2"},
        {"about": "a\0b"},
        {"text": "\ud800"},
        {"id": ""},
        {"added_at": datetime(2026, 1, 1)},  # noqa: DTZ001 - the point
    ],
)
def test_a_deck_that_cannot_be_is_refused(changes: dict[str, Any]) -> None:
    """Editions count from 1, texts are UTF-8 without NUL, moments are aware."""
    with pytest.raises(UsageError, match=next(iter(changes))):
        deck(**changes)


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"seconds60": 0.0}, "seconds60"),
        ({"goal_bpm": math.nan}, "goal_bpm"),
        ({"importance": -1.0}, "importance"),
        ({"after": ("nobody",)}, "after"),
        ({"position": -1}, "position"),
        ({"bars": 0}, "bars"),
        ({"slug": ""}, "slug"),
    ],
)
def test_a_card_that_cannot_be_is_refused(changes: dict[str, Any], named: str) -> None:
    """Every number of a card is one the plan can use."""
    with pytest.raises(UsageError, match=named):
        card(1, **changes)


def test_wishes_and_settings_are_checked_too() -> None:
    """A wish of no tempo and a setting of no JSON are refused; None means "as the deck has it"."""
    with pytest.raises(UsageError, match="goal_bpm"):
        Wish(CARD, math.inf, None, resting=False, at=NOW)
    with pytest.raises(UsageError, match="importance"):
        Wish(CARD, None, -2, resting=False, at=NOW)
    with pytest.raises(UsageError, match="minutes"):
        Setting("minutes", {15}, NOW)
    assert Wish(CARD, None, None, resting=True, at=NOW).goal_bpm is None


def test_a_belief_is_numbers() -> None:
    """NaN may stand for "none"; a text may not."""
    assert math.isnan(BeliefRow(CARD, (1, math.nan)).body[1])
    with pytest.raises(UsageError, match="no number"):
        BeliefRow(CARD, ("much",))  # type: ignore[arg-type]


def wish(_: int, **changes: Any) -> Wish:
    """Return a wish."""
    values: dict[str, Any] = {"goal_bpm": None, "importance": None, "resting": False, "at": NOW}
    return Wish(CARD, **values | changes)


def setting(_: int, **changes: Any) -> Setting:
    """Return a setting."""
    values: dict[str, Any] = {"key": "minutes", "value": 15, "at": NOW}
    return Setting(**values | changes)


def stands(_: int, **changes: Any) -> Standing:
    """Return what a cache accounts for."""
    values: dict[str, Any] = {"version": "1", "mark": 0, "until": NOW}
    return Standing(**values | changes)


YEAR_1970, YEAR_2200 = datetime(1970, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)
TICK = timedelta(microseconds=1)


@pytest.mark.parametrize(
    ("make", "field", "within", "beyond"),
    [
        (take, "bpm", (1, 1000), (0.99, 1000.1)),
        (take, "seconds", (0, 86_400), (-0.1, 86_400.1)),
        (take, "grade", (-2, 2), (-3, 3)),
        (take, "at", (YEAR_1970, YEAR_2200 - TICK), (YEAR_1970 - TICK, YEAR_2200)),
        (take, "zone", ("a" * 64, "+23:59", "-00:00"), ("a" * 65, "+24:00", "+00:60")),
        (take, "source", ("s" * 40,), ("s" * 41, "")),
        (take, "measures", ({"level": 4}, {"level": -4.0}), ({"level": 4.1}, {"level": -4.1})),
        (take, "measures", ({"expected_sd": 1e-6},), ({"expected_sd": 0.9e-6},)),
        (take, "measures", ({"expected_sd": 1.0},), ({"expected_sd": 1.1},)),
        (take, "measures", ({"expected_bpm": 1},), ({"expected_bpm": 0.9},)),
        (take, "measures", ({"expected_bpm": 1000},), ({"expected_bpm": 1001},)),
        (take, "measures", ({"level_after": 4}, {"level_after": -4}), ({"level_after": -4.1},)),
        (deck, "id", ("t" * 200,), ("t" * 201, "")),
        (deck, "edition", (1, 1_000_000), (0, 1_000_001)),
        (deck, "title", ("t" * 200,), ("t" * 201, "")),
        (deck, "author", ("t" * 200, ""), ("t" * 201,)),
        (deck, "licence", ("t" * 200, ""), ("t" * 201,)),
        (deck, "about", ("t" * 10_000, ""), ("t" * 10_001,)),
        (deck, "text", ("t" * 20_000_000,), ("t" * 20_000_001,)),
        (card, "seconds60", (0.01, 86_400), (0.009, 86_401)),
        (card, "bars", (1, 10_000), (0, 10_001)),
        (card, "position", (0, 1_000_000), (-1, 1_000_001)),
        (card, "goal_bpm", (1, 1000), (0.99, 1000.1)),
        (card, "importance", (0, 1000), (-0.1, 1000.1)),
        (card, "family", ("f" * 200, ""), ("f" * 201,)),
        (card, "pattern", ("p" * 100_000,), ("p" * 100_001,)),
        (card, "note", ("n" * 10_000, ""), ("n" * 10_001,)),
        (card, "deck_id", ("d" * 200,), ("d" * 201, "")),
        (card, "slug", ("s" * 200,), ("s" * 201, "")),
        (card, "title", ("t" * 200,), ("t" * 201, "")),
        (wish, "goal_bpm", (1, 1000, None), (0.99, 1000.1, True)),
        (wish, "importance", (0, 1000, None), (-0.1, 1000.1)),
        (setting, "key", ("k" * 100,), ("k" * 101, "")),
        # An INTEGER of SQLite is signed and has 64 bits (sqlite.org/datatype3.html).
        (stands, "mark", (0, 2**63 - 1), (-1, 2**63)),
        (stands, "unusable", (0, 2**63 - 1), (-1, 2**63)),
    ],
)
def test_every_limit_is_allowed_and_nothing_beyond_it(
    make: Any, field: str, within: tuple[Any, ...], beyond: tuple[Any, ...]
) -> None:
    """Each limit from both sides; those of takes stand in docs/box-file.md."""
    given = (1,) if make is not deck else ()
    for value in within:
        assert value == getattr(make(*given, **{field: value}), field)
    for value in beyond:
        with pytest.raises(UsageError):
            make(*given, **{field: value})


def test_json_is_compact_sorted_and_limited() -> None:
    """Equal values are equal texts; as JSON a text has two quotation marks (RFC 8259)."""
    assert '{"a":[1,2],"b":null}' == json_text({"b": None, "a": (1, 2)}, "x")
    assert 32_768 == len(json_text("y" * 32_766, "x"))
    with pytest.raises(UsageError, match="32,769 characters"):
        json_text("y" * 32_767, "x")
    assert "[[[[[[[[]]]]]]]]" == json_text([[[[[[[[]]]]]]]], "x")
    with pytest.raises(UsageError, match="nested too deep"):
        json_text([[[[[[[[[]]]]]]]]], "x")


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (10**18, "1000000000000000000"),
        (10**18 + 1, "a huge number"),
        (-(10**18) - 1, "a huge number"),
        (1.5, "1.5"),
        (None, "None"),
        ([1], "a list"),
        ("a\x1b[2J", "'a\\x1b[2J'"),
        ("x" * 58, f"'{'x' * 58}'"),
        ("x" * 59, f"'{'x' * 56}..."),
        (datetime(2026, 3, 12, 18, 30, tzinfo=UTC), "2026-03-12T18:30:00+00:00"),
    ],
)
def test_a_value_is_shown_short_and_harmless(value: Any, expected: str) -> None:
    """No escape reaches a terminal (ECMA-48 control functions), no number fills it."""
    assert expected == shown(value)
