"""The page on the studio.

Its example is read, its tables know every field, its numbers are the program's.
"""

from __future__ import annotations

import json
import re
from io import BytesIO
from pathlib import Path

import pytest
from scipy.stats import norm

from drillbox.base.jsonlines import LONGEST_LINE
from drillbox.studio import (
    CSV_HEAD,
    MONTH,
    STATES,
    TABLE_HEAD,
    as_objects,
    attention,
    figures,
    look_at,
    read_progress,
    tasks,
    write_progress,
)
from drillbox.studio.attention import IDLE_DAYS
from drillbox.studio.field_checks import LONGEST_NAME
from drillbox.studio.figures import STUCK_GAIN, STUCK_TAKES
from drillbox.studio.progress_files import MOST_BYTES, MOST_CARDS, MOST_DECKS, MOST_LINES
from drillbox.studio.reply_files import read_reply, write_reply

PAGE = (Path(__file__).parents[2] / "docs" / "studio.md").read_text(encoding="utf-8")
(EXAMPLE,) = re.findall(r"^```jsonl\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)


def test_the_example_is_a_progress_file() -> None:
    """It is read, and written again it is the same text."""
    progress = read_progress(BytesIO(EXAMPLE.encode()), "mia.jsonl")
    out = BytesIO()
    write_progress(progress, out)

    assert EXAMPLE == out.getvalue().decode()
    assert ("Mia", 2) == (progress.name, len(progress.cards[0].days))


def test_the_reply_of_the_page_is_a_reply() -> None:
    """It is read, checksum and all, and written again it is the same text."""
    (example,) = re.findall(r"^```reply\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    reply = read_reply(example.encode(), "mia.reply")
    out = BytesIO()
    write_reply(reply, out)

    assert example == out.getvalue().decode()
    assert ("Mr. K", 1, 1) == (reply.teacher, len(reply.wanted), len(reply.goals))


def test_every_field_state_and_figure_is_described() -> None:
    """No key of the example, no state and no column is missing from the page's tables."""
    described = set(re.findall(r"`(\w+)`", PAGE))
    keys = {key for line in EXAMPLE.splitlines() for key in json.loads(line)}

    assert {*keys, *STATES} <= described
    for figure in TABLE_HEAD:
        assert figure in PAGE


def test_the_numbers_are_the_programs() -> None:
    """Limits and thresholds as they are."""
    assert (3, 2.0) == (IDLE_DAYS, STUCK_GAIN)
    assert "after the third" in PAGE
    assert f"the {MONTH} days that end on" in PAGE
    assert (
        f"with {STUCK_TAKES} takes or more in the month and less than {STUCK_GAIN:.0f} bpm" in PAGE
    )
    assert f"at most {LONGEST_NAME} characters" in PAGE
    assert f"at most {LONGEST_LINE:,} bytes" in PAGE
    joined = PAGE.replace("\n", " ")
    assert f"{MOST_DECKS:,} decks, {MOST_CARDS:,} cards or {MOST_LINES:,} lines" in joined
    assert f"more than {MOST_BYTES >> 20} MiB" in PAGE


RULES = [
    (attention.FEW_DAYS, 10, "each day of practice short of ten in the month"),
    (attention.FEW_DAYS, 10, "practising on ten days or more and gaining less than 2 bpm, two"),
    (attention.LITTLE, 1 / 3, "less than a third of the begun cards in hand after"),
    (attention.LONG_ENOUGH, 20, "in hand after 20 days without a clear gain"),
    (attention.MOST, 3.0, "three at most of a kind"),
    (attention.OLD_DAYS, 10, "a file older than ten days, a seventh a day"),
    (attention.SHARED_STUDENTS, 3, "A card that three students and a quarter of those who began"),
    (attention.SHARED_SHARE, 0.25, "A card that three students and a quarter of those who began"),
    (figures.STEP, 5.0, "unless the doubt leaves room for a step of 5"),
    (tasks.MOST_NEXT, 3, "Next are at most three things of a kind"),
    (tasks.TRIED_DAYS, 3, "(after three days of trying,"),
    (tasks.IN_REACH, 10.0, "where a goal is more than 10 bpm"),
    (tasks.SLOWEST, 40.0, "under 40 bpm they are to be taken apart in the lesson"),
]


@pytest.mark.parametrize(("number", "is_said", "sentence"), RULES)
def test_what_counts_towards_attention_is_what_the_page_says(
    number: float, is_said: float, sentence: str
) -> None:
    """Assumptions, all of them: who changes one changes what teachers are told."""
    assert is_said == number
    assert sentence in " ".join(PAGE.split())


def test_doubt_is_measured_by_the_normal_law() -> None:
    """Beyond 95 % in one direction; a band of 80 % reaches to the quantile of 90 %."""
    assert float(norm.ppf(0.95)) == pytest.approx(attention.SURE, abs=5e-4)
    assert float(norm.ppf(0.9)) == pytest.approx(figures.BAND, abs=5e-5)


def test_every_key_and_column_is_described() -> None:
    """What programs read is on the page: each key of JSON, of its parts, each column of CSV."""
    student = read_progress(BytesIO(EXAMPLE.encode()), "mia.jsonl")
    (said,) = as_objects(look_at([student], today=student.until))
    parts = [said, *said["decks"], *said["asked"], said["next"]]
    keys = {key for part in parts for key in part} | {"card", "bpm"} | set(CSV_HEAD)

    assert said["decks"]
    assert said["asked"]
    for key in keys:
        assert f"`{key}`" in PAGE, key
