"""What the stand says that is easily missed: a tempo moved, a take left, a grade given back."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.app.stand_words import NOTHING_TO_UNDO, QUESTION, UNGRADED
from drillbox.box import Box
from drillbox.errors import BoxError
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import bare_stand, grades

if TYPE_CHECKING:
    import pytest

    from drillbox.base.clock import ManualClock


def test_a_tempo_that_the_player_moved_is_the_players(box: Box, clock: ManualClock) -> None:
    """What the grade led to stays true, however far the arrows went, and back is as before."""
    box.record(box.find("e"), bpm=56, grade=Grade.STEADY, at=clock.now(), seconds=40)
    clock.forward(days=1)
    box.change_settings(at=clock.now(), fresh_rhythms="0")  # nothing comes in between
    stand = bare_stand(box, clock)
    stand.grade_whole("f")
    grade, bpm = stand.face.ready_last.why, stand.sitting.bpm
    told = []
    for step in (1, 5, -6):
        stand.action_nudge(step)
        told.append(stand.face.ready_last.why)

    assert grade.startswith("After clean: ")
    assert [f"{grade} Moved to {bpm + 1} by you.", f"{grade} Moved to {bpm + 6} by you."] == told[
        :2
    ]
    assert grade == told[2]


def test_a_take_that_is_left_without_a_grade_gets_a_word(box: Box, clock: ManualClock) -> None:
    """Once it could have been graded, and only then."""
    words = []
    for passes in (0.5, 1.5, None):
        stand = bare_stand(box, clock)
        if passes is None:
            stand.play_whole()
        else:
            stand.play_passes(passes)
        stand.action_leave()
        words.append(stand._desk.parting_word)
    ended = bare_stand(box, clock)
    ended.play_whole()
    ended.on_unmount()
    assert UNGRADED == ended._desk.parting_word
    stand = bare_stand(box, clock)
    stand.action_leave()

    assert ["", UNGRADED, UNGRADED, ""] == [*words, stand._desk.parting_word]


def test_a_day_that_is_over_gives_its_last_grade_back(box: Box, clock: ManualClock) -> None:
    """It is asked for again, at its tempo; with another one the day is over again."""
    card = box.find("e")
    box.record(card, bpm=72, grade=Grade.STEADY, at=clock.now(), seconds=900)
    stand = bare_stand(box, clock, undoes=True)
    question, up = stand.face.asked_last.question, (stand.sitting.card.card_id, stand.sitting.bpm)
    stand.action_grade("s")

    assert f"Took back steady at 72. {QUESTION}" == question
    assert (card, 72) == up
    assert ["shaky"] == grades(box, clock)
    assert [True] == stand.closed_with


def test_a_day_without_a_take_gives_nothing_back(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The stand says so; where there is nothing to play either, it closes and Today says it."""
    ready = bare_stand(box, clock, undoes=True)
    box.archive_deck("first-ghosts", archived=True)
    over = bare_stand(box, clock, undoes=True)

    def refuse(*_: object, **__: object) -> None:
        raise BoxError("another program holds the box", fix="wait for it")

    monkeypatch.setattr(Box, "undo", refuse)
    refused = bare_stand(box, clock, undoes=True)

    assert (NOTHING_TO_UNDO, []) == (ready.said, ready.closed_with)
    assert (NOTHING_TO_UNDO, [False]) == (over._desk.parting_word, over.closed_with)
    assert "another program holds the box" in refused._desk.parting_word
    assert [False] == refused.closed_with


def test_a_refusal_stands_under_the_pattern_and_over_a_running_take(
    box: Box, clock: ManualClock
) -> None:
    """Where the stand has a line it covers nothing; a take has none, so it is a notice then."""
    stand = bare_stand(box, clock)
    stand.say_refusal("It is held.")
    before = (stand.said, list(stand.told))
    stand.action_play()
    stand.say_refusal("It is held.")

    assert ("It is held.", []) == before
    assert ["It is held."] == [words for words, _ in stand.told]
