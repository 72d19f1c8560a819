"""Takes that may be mistakes: asked about, found, left out; each limit from both sides."""

from __future__ import annotations

from contextlib import closing
from datetime import datetime, timedelta
from functools import partial
from math import log2, sqrt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from conftest import SMALL_DECK
from hostile_rows import lay_open

from drillbox.box import Box
from drillbox.box.doubts import FAR_ABOVE, FAR_BELOW, FAR_SDS, Uncounted
from drillbox.deckfile import parse_deck
from drillbox.errors import UnknownCardError
from drillbox.memory import Grade
from drillbox.store import TakeRow

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.base.clock import ManualClock


def take(number: int, at: object, *, card: str = "0" * 16) -> TakeRow:
    """Return a take of some card with an id of its own."""
    return TakeRow(f"{number:032x}", card, 80.0, 0, at, "+01:00", 40.0, "self")  # type: ignore[arg-type]


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "Europe/Zurich", "America/Los_Angeles"])
def test_the_last_takes_day_is_the_players_own(box: Box, clock: ManualClock, zone: str) -> None:
    """A take of half past three on a Tuesday morning is Monday's, wherever that was."""
    last = datetime(2026, 3, 10, 3, 30, tzinfo=ZoneInfo(zone))
    card = box.find("e")
    clock.set(last)
    box.record(card, bpm=72, grade=Grade.STEADY, at=last, seconds=40)
    asked = box.implausible(card, 72, last - timedelta(hours=2))
    assert asked is not None
    assert "your last take, of Mon 9 Mar:" in asked


def test_a_take_too_short_for_a_pass_is_asked_about(box: Box, clock: ManualClock) -> None:
    """One pass of four quarters takes 240 / bpm seconds; none is asked to be over ten seconds."""
    card = box.find("e")
    for bpm, shortest in ((80, 3.0), (60, 4.0), (20, 10.0)):
        ask = partial(box.implausible, card, bpm, clock.now())
        tempo_alone = ask()
        assert tempo_alone == ask(seconds=shortest)
        assert tempo_alone or f"one lasts {240 / bpm:.1f} s" in str(ask(seconds=shortest - 0.01))


def test_a_clock_that_may_be_wrong_is_said_before_anything_is_played(
    box: Box, clock: ManualClock
) -> None:
    """Today says what a take would be asked about."""
    assert not box.odd_clock(at=clock.now())
    box.record(box.find("e"), bpm=72, grade=Grade.STEADY, at=clock.now(), seconds=40)
    early = clock.now() - timedelta(hours=2)
    assert box.implausible(box.find("e"), 72, early) == box.odd_clock(at=early)
    assert "is the clock right?" in box.odd_clock(at=early)


def test_the_last_take_tells_whether_the_clock_is_right(box: Box, clock: ManualClock) -> None:
    """A minute back is nothing, more is asked about; three years on likewise.

    Nothing is asked before there is a take.
    """
    card, last = box.find("e"), clock.now()
    assert box.implausible(card, 72, last) is None
    box.record(card, bpm=72, grade=Grade.STEADY, at=last, seconds=40)
    assert box.implausible(card, 72, last - timedelta(seconds=60)) is None
    assert box.implausible(card, 72, last - timedelta(seconds=61)) == (
        "By the clock it is earlier than your last take, of Mon 2 Mar: is the clock right?"
    )
    assert box.implausible(card, 72, last + timedelta(days=1095)) is None
    assert box.implausible(card, 72, last + timedelta(days=1095, seconds=1)) == (
        "By the clock your last take is 3 years ago: is the clock right?"
    )
    assert "last take is 4 years ago" in str(box.implausible(card, 72, last + timedelta(days=1460)))


def test_a_tempo_is_odd_by_its_doubt_and_by_octaves(box: Box, clock: ManualClock) -> None:
    """Four standard deviations, and at least half an octave up and one and a quarter down.

    Of a card well known (sd 0.09: 4 sd are 0.37) the octaves decide; of one never played (sd 0.41:
    1.6 octaves) the doubt does.
    """
    assert (4.0, 0.5, 1.25) == (FAR_SDS, FAR_ABOVE, FAR_BELOW)
    new, known, at = box.find("a"), box.find("e"), clock.now()
    sd = sqrt(box.parameters.first_sd**2 + box.parameters.sigma**2)
    for sign, way in ((1, "above"), (-1, "below")):
        edge = log2(72.0) + sign * FAR_SDS * sd
        assert box.implausible(new, 2 ** (edge - sign * 0.001), at) is None
        said = box.implausible(new, 2 ** (edge + sign * 0.001), at)
        assert f"is far {way} the 72 that are expected of this card." in str(said)
    for day in range(12):
        at = clock.now() + timedelta(days=day)
        box.record(known, bpm=80, grade=Grade.STEADY, at=at, seconds=40)
    cold = log2(box.outlook(known, at=at).cold_bpm)
    assert box.outlook(known, at=at).sd < 0.09
    assert box.implausible(known, 2 ** (cold + 0.499), at) is None
    assert "far above" in str(box.implausible(known, 2 ** (cold + 0.501), at))
    assert box.implausible(known, 2 ** (cold - 1.249), at) is None
    assert "far below" in str(box.implausible(known, 2 ** (cold - 1.251), at))


def test_a_card_never_played_is_judged_by_its_relatives(box: Box, clock: ManualClock) -> None:
    """What relatives let expect is what an odd tempo is held against."""
    e, a = box.find("e"), box.find("a")
    for day in range(6):
        at = clock.now() + timedelta(days=day)
        box.record(e, bpm=160, grade=Grade.STEADY, at=at, seconds=40)
    expected = box.first_tempi([a])[a]
    assert expected > 120
    assert f"the {expected:.0f} that are expected" in str(box.implausible(a, 20, at))


@pytest.mark.parametrize(
    ("unusable", "waiting", "expected"),
    [
        (0, 0, ""),
        (1, 0, "1 entry of the log cannot be used: 'drillbox checkup' tells more."),
        (2, 0, "2 entries of the log cannot be used: 'drillbox checkup' tells more."),
        (0, 1, "1 take is dated later than now: 'drillbox checkup' tells more."),
        (
            3,
            2,
            (
                "3 entries of the log cannot be used and 2 takes are dated later than now:"
                " 'drillbox checkup' tells more."
            ),
        ),
    ],
)
def test_what_counts_nowhere_is_told_in_a_line(
    box: Box, clock: ManualClock, unusable: int, waiting: int, expected: str
) -> None:
    """Entries and takes, one and many, and nothing where all counts."""
    card = box.find("e")
    views = tuple(
        box.record(card, bpm=72, grade=Grade.STEADY, at=clock.now(), seconds=40)
        for _ in range(waiting)
    )
    assert expected == Uncounted(unusable, views).sentence


def test_an_entry_that_makes_no_sense_stays_counted(tmp_path: Path, clock: ManualClock) -> None:
    """While takes come in, and beside the next one like it."""
    path = tmp_path / "player.box"
    with Box.open(path, clock=clock) as box:
        box.put_deck(parse_deck(SMALL_DECK, name="d"), at=clock.now())
        for hostile in (1, 2):
            box.record(box.find("e"), bpm=72, grade=Grade.STEADY, at=clock.now(), seconds=40)
            with closing(lay_open(path)) as other:
                other.execute(
                    "INSERT INTO take (id, card_id, bpm, grade, at, zone, seconds, source)"
                    " SELECT ?, card_id, bpm, 7, at, zone, seconds, source FROM take LIMIT 1",
                    (f"{hostile:032x}",),
                )
            for _ in range(2):
                box.record(box.find("a"), bpm=72, grade=Grade.STEADY, at=clock.now(), seconds=40)
                assert hostile == box.left_out(at=clock.now()).unusable


def test_a_take_waits_from_a_day_after_now_on(box: Box, clock: ManualClock) -> None:
    """Dated a day ahead it counts, a second more and it waits until that moment comes."""
    now, card = clock.now(), box.find("e")
    day = timedelta(days=1)
    box.merge([take(1, now + day, card=card), take(2, now + day + timedelta(seconds=1), card=card)])
    left = box.left_out(at=now)
    assert [f"{2:032x}"] == [one.take_id for one in left.waiting]
    assert 0 == left.unusable
    assert not left.waiting[0].cold
    assert 1 == box.card(card, at=now).takes
    assert () == box.left_out(at=now + timedelta(seconds=1)).waiting
    assert 2 == box.card(card, at=now + timedelta(seconds=1)).takes


def test_a_take_is_found_by_four_letters_of_its_id(box: Box, clock: ManualClock) -> None:
    """Four are enough where they mean one; three, none, other letters and too many are not."""
    now = clock.now()
    ids = ["abcd" + "0" * 28, "abce" + "0" * 28, "abce" + "1" * 28]
    rows = [TakeRow(one, box.find("e"), 80.0, 0, now, "+01:00", 40.0, "self") for one in ids]
    box.merge(rows)
    before = [box.is_taken_back(one, at=now) for one in ("ABCD", ids[2])]
    assert ids[0] == box.retract("  ABCD ", at=now).take_id
    assert [[False, False], [True, False]] == [
        before, [box.is_taken_back(one, at=now) for one in ("ABCD", ids[2])]
    ]  # fmt: skip
    assert ids[2] == box.retract("abce1", at=now).take_id
    assert ids[1] == box.retract(ids[1], at=now).take_id
    for text, what in (
        ("abce", "'abce' may be more than one take"),
        ("abc", "'abc' may be more than one take"),
        ("abd", "no take 'abd' in the box"),
        ("", "no take ''"),
        ("wxyz", "no take 'wxyz'"),
        (ids[0] + "0", "no take 'abcd"),
    ):
        with pytest.raises(UnknownCardError, match=what):
            box.retract(text, at=now)
    lone = TakeRow("f" * 32, box.find("e"), 80.0, 0, now, "+01:00", 40.0, "self")
    box.merge([lone])
    with pytest.raises(UnknownCardError, match="'fff' may be more than one take"):
        box.retract("fff", at=now)
