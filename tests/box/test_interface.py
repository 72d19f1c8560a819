"""The interface that scripts rely on, word for word."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pytest

import drillbox
from drillbox import Box, Grade
from drillbox.memory import State
from drillbox.rhythm import Pattern
from drillbox.store import Archive

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.deckfile import Deck
    from drillbox.store import TakeRow

GUIDE = Path(__file__).parents[2] / "docs" / "guide.md"


def test_the_guides_lines_run_as_written(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """The block for scripts is executed; what its comments name is there, of the types they say."""
    deck = tmp_path / "deck.toml"
    deck.write_text(small_deck.text, encoding="utf-8")
    (block,) = re.findall(r"```python\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.DOTALL)
    lines = [line for line in block.splitlines() if "close" not in line]
    names: dict[str, Any] = {
        "path": tmp_path / "player.box",
        "path_of_deck": deck,
        "moment": clock.now(),
        "card_id": small_deck.cards[0].card_id,
    }
    exec("\n".join(lines), names)  # noqa: S102 - the guide's own lines
    box = names["box"]
    with box:
        change, plan = names["change"], names["plan"]
        assert ("e", "a", "e-a", "a-doubled") == change.added
        assert () == change.changed == change.unchanged == change.removed
        assert {card.card_id for card in small_deck.cards} == {item.card_id for item in plan.items}
        assert all(item.why.endswith(".") for item in plan.items)
        for item in plan.items:
            assert (str, int, int, float, str) == tuple(
                type(value)
                for value in (item.card_id, item.bpm, item.takes, item.seconds, item.why)
            )
        outlook = box.outlook(names["card_id"], at=names["moment"])
        assert outlook.low_bpm < outlook.cold_bpm < outlook.high_bpm
        for card in box.cards(at=names["moment"]):
            assert isinstance(card.pattern, Pattern)
            assert isinstance(card.state, State)
            assert (str, str, float) == (type(card.card_id), type(card.title), type(card.goal_bpm))
    assert {"Box", "Grade", "__version__"} == set(drillbox.__all__)
    assert ["FELL_APART", "SHAKY", "STEADY", "CLEAN", "AUTOMATIC"] == [one.name for one in Grade]


def test_a_card_holds_until_a_moment_or_none(box: Box, clock: ManualClock) -> None:
    """Never played or below its goal: None. Held: the moment at which the shelf has it slip."""
    card_id, moment = box.find("a-doubled"), clock.now()
    assert box.outlook(card_id, at=moment).holds_until is None
    box.record(card_id, bpm=60, grade=Grade.STEADY, at=moment, seconds=45)
    assert box.outlook(card_id, at=moment).holds_until is None
    for minute in range(1, 4):
        at = moment + timedelta(minutes=minute)
        box.record(card_id, bpm=100, grade=Grade.AUTOMATIC, at=at, seconds=45)
    until = box.outlook(card_id, at=at).holds_until
    assert until is not None
    assert moment < until == box.card(card_id, at=at).returns
    assert ZoneInfo("Europe/Zurich") == until.tzinfo
    later = until + timedelta(days=30)
    past = box.outlook(card_id, at=later)
    assert past.holds_until is not None
    assert abs(past.holds_until - until) < timedelta(seconds=1)
    assert past.cold_bpm < 80 == box.card(card_id, at=later).goal_bpm


def test_a_moment_is_aware(box: Box) -> None:
    """Half a moment is refused in one sentence by everything that takes one."""
    naive = datetime(2026, 3, 2, 9)  # noqa: DTZ001 - that is the point
    card_id = box.find("e")
    for ask in (
        lambda: box.plan(at=naive, minutes=15),
        lambda: box.record(card_id, bpm=92, grade=Grade.CLEAN, at=naive, seconds=45),
        lambda: box.outlook(card_id, at=naive),
        lambda: box.cards(at=naive),
    ):
        with pytest.raises(drillbox.errors.UsageError, match="has no time zone"):
            ask()


def test_recording_reads_no_history_of_a_card(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether a take is the day's first needs no whole history, however long it is."""
    card_id = box.find("e")
    asked: list[datetime | None] = []
    takes = Archive.takes

    def noted(archive: Archive, **given: Any) -> list[TakeRow]:
        asked.append(given.get("since"))
        return takes(archive, **given)

    monkeypatch.setattr(Archive, "takes", noted)
    for _ in range(3):
        cold = []
        for _ in range(2):
            clock.forward(seconds=90)
            take = box.record(card_id, bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=45)
            cold.append(take.cold)
        assert [True, False] == cold
        clock.forward(days=1)
    assert [] == asked
