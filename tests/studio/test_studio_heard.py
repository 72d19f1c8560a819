"""What was heard, in a progress file: only where the student chose so, and then in the studio."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from drillbox import Grade
from drillbox.ear.log_values import log_values
from drillbox.errors import ProgressError
from drillbox.report.progress_file import contents, progress_of
from drillbox.studio import HeardMonth, look_at, read_progress, student_lines, write_progress

sys.path.insert(0, str(Path(__file__).parents[1] / "ear"))
from test_ear_log import played

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.studio import Progress

MONTH = {"month": "2026-03", "takes": 4, "spread_ms": 12.5, "contrast_db": None}


def handed_in(box: Box, clock: ManualClock, *, heard: bool) -> Progress:
    """Return a student's progress after four measured takes."""
    for day in range(4):
        at = clock.now() - timedelta(days=day)
        box.record(
            box.find("a"), 80, Grade.STEADY, at, 40, source="midi", measured=log_values(played(9))
        )
    return progress_of(box, at=clock.now(), new_id=lambda: "5" * 32, name="Mia", heard=heard)


def written(progress: Progress) -> bytes:
    """Return a progress file's bytes."""
    out = BytesIO()
    write_progress(progress, out)
    return out.getvalue()


def test_nothing_heard_is_told_unless_the_student_says_so(box: Box, clock: ManualClock) -> None:
    """Without the word the file is of the version that knows nothing of it, and says so."""
    file = written(handed_in(box, clock, heard=False))

    assert b"heard" not in file
    assert 2 == json.loads(file.splitlines()[0])["version"]
    assert "measurements" in contents(handed_in(box, clock, heard=False))[-1]


def test_a_teacher_reads_how_even_the_months_were(box: Box, clock: ManualClock) -> None:
    """With the word: months with numbers, announced before they are written, in the studio."""
    progress = handed_in(box, clock, heard=True)
    back = read_progress(BytesIO(written(progress)), "mia.jsonl")
    (student,) = look_at([back], today=clock.now().date())
    (line,) = (line for line in student_lines(student) if line.startswith("heard: "))

    assert progress.heard == back.heard
    assert 4 == sum(month.takes for month in back.heard)
    assert "ms" in line
    assert "dB over ghosts" in line
    assert any("How even your takes were" in told for told in contents(progress))
    assert "measurements" not in contents(progress)[-1]


@pytest.mark.parametrize(
    "months",
    [
        "many",
        [{**MONTH, "month": "2026-13"}],
        [{**MONTH, "month": 3}],
        [{**MONTH, "takes": 0}],
        [{**MONTH, "spread_ms": 1e9}],
        [{**MONTH, "contrast_db": "loud"}],
        [{**MONTH, "place": "home"}],
        [MONTH, MONTH],
        [{**MONTH, "month": f"{2000 + n // 12}-{n % 12 + 1:02}"} for n in range(241)],
    ],
)
def test_what_makes_no_sense_is_refused(box: Box, clock: ManualClock, months: Any) -> None:
    """Months that are none, out of order, too many, or say more than they may."""
    progress = replace(
        handed_in(box, clock, heard=False), heard=(HeardMonth("2026-03", 4, 12.5, None),)
    )
    head, *rest = written(progress).splitlines(keepends=True)
    changed = json.dumps({**json.loads(head), "heard": months}).encode() + b"\n"

    assert json.loads(head)["heard"] == [MONTH]
    with pytest.raises(ProgressError, match="heard cannot be"):
        read_progress(BytesIO(changed + b"".join(rest)), "mia.jsonl")
