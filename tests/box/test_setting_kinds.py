"""What each setting may be: every limit from both sides."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from drillbox.box.kept_at_goal import KEEP, TOP, top_of
from drillbox.box.learned_numbers import KEY as LEARNED
from drillbox.box.learned_numbers import numbers_digest, parameters_in, to_store
from drillbox.box.let_in import let_in
from drillbox.box.lineage import KEY as LINK
from drillbox.box.setting_kinds import KINDS, REPLY, checked, fits
from drillbox.box.settings import Settings
from drillbox.errors import LogError, UsageError
from drillbox.memory import MODEL_VERSION, Parameters
from drillbox.store import Setting

WHEN = datetime(2026, 3, 2, tzinfo=UTC)

LIMITS: list[tuple[str, int, int]] = [
    ("minutes", 5, 60),
    ("day_ends_at", 0, 12),
    ("kit_db", -24, 12),
    ("click_db", -24, 12),
    ("ghosts_db", -24, 12),
    ("latency_ms", 0, 500),
]


@pytest.mark.parametrize(("key", "least", "most"), LIMITS)
def test_whole_numbers_have_their_ranges(key: str, least: int, most: int) -> None:
    """Both ends are in; one less, one more, halves, truths and texts are not."""
    assert [least, most] == [checked(key, least), checked(key, most)]
    for value in (least - 1, most + 1, float(least), True, str(least), None):
        assert not fits(key, value)
    fix = f"give a whole number from {least} to {most}"
    name = key.replace("_", "-")
    with pytest.raises(UsageError, match=f"{name} cannot be {most + 1}") as refused:
        checked(key, most + 1)
    assert fix == refused.value.fix
    assert least == KINDS[key].read(f" {least} ")
    with pytest.raises(ValueError, match="a whole number from"):
        KINDS[key].read("many")


def test_words_are_those_that_are_named() -> None:
    """In any case and with spaces around; anything else is answered with the list."""
    assert "two and four" == KINDS["click"].read("  TWO and four ")
    assert "L" == KINDS["leading"].read("l")
    assert "any" == checked("fresh_rhythms", "any")
    assert ["0", "12"] == [checked("fresh_rhythms", text) for text in ("0", "12")]
    assert not fits("fresh_rhythms", "13")
    with pytest.raises(UsageError) as refused:
        checked("leading", "both")
    assert ("leading cannot be 'both'", "give one of: R, L") == (
        refused.value.what, refused.value.fix,
    )  # fmt: skip


def test_a_line_has_two_hundred_characters_at_most() -> None:
    """A sound device is any printable line; a break, a number or one more character is not."""
    assert "x" * 200 == checked("output", "x" * 200)
    assert "" == checked("output", "")
    for value in ("x" * 201, "two\nlines", 5, None):
        assert not fits("output", value)


def test_a_switch_is_on_or_off() -> None:
    """Read from words, kept as a truth."""
    assert [True, False] == [KINDS["hands_free"].read(text) for text in (" ON", "off ")]
    assert [True, False] == [checked("hands_free", value) for value in (True, False)]
    for value in (1, 0, "on", None):
        assert not fits("hands_free", value)
    with pytest.raises(ValueError, match="on or off"):
        KINDS["hands_free"].read("maybe")


def test_days_and_days_off_are_read_each_by_its_own_rules() -> None:
    """Weekdays are practice days and no holiday; a stretch of dates is the other way round."""
    stretch = "2026-12-24..2027-01-02"
    assert "mon wed fri" == checked("days", "mon wed fri")
    assert stretch == checked("holidays", stretch)
    assert not fits("holidays", "mon wed fri")
    assert not fits("days", stretch)


def test_a_setting_nobody_knows_is_answered_with_those_there_are() -> None:
    """Its name is cut at forty characters, a refused value at sixty."""
    with pytest.raises(UsageError) as refused:
        checked("y" * 50, 1)
    assert f"no setting {'y' * 40!r}" == refused.value.what
    assert "use one of: minutes, days, holidays, day-ends-at, leading" in str(refused.value.fix)
    for length, shown in ((58, repr("z" * 58)), (59, f"'{'z' * 56}...")):
        with pytest.raises(UsageError) as refused:
            checked("leading", "z" * length)
        assert f"leading cannot be {shown}" == refused.value.what
    with pytest.raises(UsageError, match=r"cannot be 'a\\nb'"):
        checked("leading", "a\nb")


def test_stored_settings_stand_over_the_defaults_where_they_fit() -> None:
    """What does not fit, and what nobody knows, is left out."""
    seen = Settings.read({"minutes": 25, "click": "loud", "leading": "L", "other": 1})
    assert Settings(minutes=25, leading="L") == seen
    usual = Settings()
    assert (15, "every day", "", 5, "R") == (
        usual.minutes, usual.days, usual.holidays, usual.day_ends_at, usual.leading,
    )  # fmt: skip
    assert ("card's grid", "click alone", False, "8") == (
        usual.click, usual.backing, usual.hands_free, usual.fresh_rhythms,
    )  # fmt: skip
    assert (0, 0, 0, "", 0) == (
        usual.kit_db, usual.click_db, usual.ghosts_db, usual.output, usual.latency_ms,
    )  # fmt: skip
    assert all(fits(key, getattr(usual, key)) for key in KINDS)


@pytest.mark.parametrize(
    ("key", "value", "what"),
    [
        ("minutes", 61, "a setting that makes no sense: minutes cannot be 61"),
        (f"{LINK}{'a' * 16}", "b" * 15, "a link between cards that makes no sense"),
        (f"{LINK}{'a' * 17}", "b" * 16, "a link between cards that makes no sense"),
        (f"{LINK}{'a' * 16}", 5, "a link between cards that makes no sense"),
        (f"{LINK}{'a' * 16}", "a" * 16, "a link between cards that makes no sense"),
        (f"{REPLY}x", {}, "a teacher's reply that makes no sense"),
        (LEARNED, {"model": MODEL_VERSION, "gain": 1e300}, "learned numbers that makes no sense"),
        (LEARNED, 7, "a set of learned numbers that makes no sense"),
        ("student", {"id": "../..", "name": "Mia"}, "a student's id that makes no sense"),
        ("student", {"id": "a" * 32, "name": "\x1b"}, "a student's id that makes no sense"),
        ("minutes_of_day", {"day": "x", "minutes": 20}, "a day's length that makes no sense"),
        ("minutes_of_day", {"day": 7, "minutes": 1e308}, "a day's length that makes no sense"),
    ],
)
def test_another_boxs_settings_are_let_in_if_they_make_sense(
    key: str, value: Any, what: str
) -> None:
    """A refusal says what is wrong; a key that nobody here reads is let in as it is."""
    let_in([Setting("minutes", 60, WHEN), Setting("future", [1], WHEN)])
    let_in([Setting(f"{LINK}{'a' * 16}", "b" * 16, WHEN)])
    let_in([Setting(LEARNED, to_store(Parameters()), WHEN)])
    let_in([Setting(LEARNED, {"model": "another", "x": [1]}, WHEN)])
    let_in([Setting("student", {"id": "a" * 32, "name": name}, WHEN) for name in ("", "Mia")])
    let_in([Setting("minutes_of_day", {"day": 739_000, "minutes": 20}, WHEN)])
    with pytest.raises(LogError, match=what):
        let_in([Setting(key, value, WHEN)])


@pytest.mark.parametrize(
    ("strokes", "said", "expected"),
    [
        (0.0, None, 400.0),
        (1.0, None, 400.0),
        (1.4, None, 400.0),
        (1.6, None, 350.0),
        (7.0, None, 80.0),
        (14.0, None, 40.0),
        (5.6, None, 100.0),
        (5.65, None, 95.0),
        (10.0, None, 56.0),
        (7.0, 120, 120.0),
        (7.0, 0.5, 0.5),
        (7.0, 0, 80.0),
        (7.0, -5, 80.0),
        (7.0, True, 80.0),
        (7.0, "fast", 80.0),
    ],
)
def test_the_hands_end_the_climb_unless_the_player_says_where(
    strokes: float, said: object, expected: float
) -> None:
    """At 80 bpm with so many strokes a second, seven a second are at 80 * 7 / strokes.

    On the mark under it: 99.1 is 95 to a metronome's player.

    5 to 7 strokes a second are the limit of a hand (Fujii, Kudo, Ohtsuki & Oda 2009).
    """
    settings = {} if said is None else {f"{TOP}c": Setting(f"{TOP}c", said, WHEN)}
    assert expected == pytest.approx(top_of("c", strokes, settings))
    assert ("keep/", "top/") == (KEEP, TOP)


def test_learned_numbers_are_believed_from_a_fifth_to_five_times() -> None:
    """Both ends are in; what lies beyond, or is no number, stays at the start."""
    start = Parameters()

    def read(**numbers: Any) -> Parameters:
        stored = {"model": MODEL_VERSION, **numbers}
        return parameters_in({LEARNED: Setting(LEARNED, stored, WHEN)})

    for factor, believed in ((0.2, True), (5.0, True), (0.199, False), (5.01, False)):
        seen = read(sigma=start.sigma * factor)
        assert (seen.sigma == start.sigma * factor) == believed
        assert seen.gain == start.gain
    assert start == read(sigma=1, gain="0.08")
    assert (0.1, 0.05) == ((both := read(gain=0.1, boost=0.05)).gain, both.boost)
    assert "" == numbers_digest(start) != numbers_digest(both)
    assert f"0.1 0.05 {start.sigma!r}" == numbers_digest(both)
