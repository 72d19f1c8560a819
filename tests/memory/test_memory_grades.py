from __future__ import annotations

import subprocess
import sys

import pytest

from drillbox.errors import UsageError
from drillbox.memory import Grade


def test_steps_are_fives_and_tens() -> None:
    """The five grades move the metronome by -10, -5, 0, 5 and 10 (common practice, no source)."""
    assert [-10, -5, 0, 5, 10] == [grade.step_bpm for grade in Grade]


@pytest.mark.parametrize("grade", Grade)
def test_every_label_reads_back(grade: Grade) -> None:
    """A label, however it is written, names its grade again."""
    written = [grade.label, grade.label.upper(), grade.label.replace(" ", "-"), grade.name]
    assert [grade] * 4 == [Grade.from_label(text) for text in written]


def test_an_unknown_label_is_answered_with_the_known_ones() -> None:
    """A mistyped grade is told what it may be."""
    with pytest.raises(UsageError, match=r"'so so' is no grade.*fell apart, shaky, steady"):
        Grade.from_label("so so")


def test_memory_loads_no_numpy() -> None:
    """Reading a belief must not cost the start-up time of numpy."""
    code = "import sys, drillbox.memory; print({'numpy', 'scipy'} & set(sys.modules))"
    seen = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert seen.stdout.strip() == "set()"
