"""The benchmark's students against the papers they are made from.

A student that is wrong proves nothing.
"""

from __future__ import annotations

import importlib.util
import sys
from math import exp
from pathlib import Path
from typing import Any

import numpy as np
import pytest

BENCH = Path(__file__).parent.parent / "bench"


@pytest.fixture(scope="module")
def students() -> Any:
    """Return the benchmark's students, which are no package."""
    spec = importlib.util.spec_from_file_location("bench_students", BENCH / "students.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def one(students: Any, kind: str) -> Any:
    """Return a student with one card of goal 90 that was never met."""
    student = students.KINDS[kind](np.array([90.0]), np.array([0]), students.Nature(), 1)
    if kind == "activation":
        student.when, student.decay = [[]], [[]]
    return student


def recall(activation: float) -> float:
    """Return the chance of recall at an activation (tau -0.704, s 0.255: values from memory)."""
    return 1.0 / (1.0 + exp((-0.704 - activation) / 0.255))


def test_decay_depends_on_activation(students: Any) -> None:
    """Takes at 0, 60 and 120 s decay by .177, .282130 and .338350; at 600 s activation is -.485150.

    The formula of Pavlik & Anderson, Cognitive Science 29:559-586 (2005); parameter values from
    memory, numbers derived from them.
    """
    student = one(students, "activation")
    for second in (0.0, 60.0, 120.0):
        student._add(0, second)
    assert student.decay[0] == pytest.approx([0.177, 0.282130, 0.338350], abs=1e-6)
    assert student._one(0, 600.0) == pytest.approx(-0.485150, abs=1e-6)
    assert recall(student._one(0, 600.0)) == pytest.approx(0.702292, abs=1e-6)


@pytest.mark.parametrize(
    ("apart", "expected"),
    [(60.0, [0.5038, 0.1434, 0.0428]), (2160.0, [0.6123, 0.3329, 0.1391])],
)
def test_cramming_loses_from_the_first_day_on(
    students: Any, apart: float, expected: list[float]
) -> None:
    """Four takes a minute apart, or a day apart.

    Recall 1, 7 and 30 days later (same formula, a day is 2160 s).
    """
    student = one(students, "activation")
    for k in range(4):
        student._add(0, k * apart)
    last = 3 * apart
    seen = [recall(student._one(0, last + days * 2160.0)) for days in (1, 7, 30)]
    assert seen == pytest.approx(expected, abs=1e-4)


def test_this_student_prefers_contracting_gaps(students: Any) -> None:
    """Three takes in 14 days, 30 days on: gaps 4+10 recall .104747, 7+7 .108575, 10+4 .109687.

    The bias that Lindsey, Mozer, Cepeda & Pashler (ICCM 2009) describe; it tells against a planner
    that expands.
    """
    seen = []
    for first in (4, 7, 10):
        student = one(students, "activation")
        for day in (0, first, 14):
            student._add(0, day * 2160.0)
        seen.append(recall(student._one(0, 44 * 2160.0)))
    assert seen == pytest.approx([0.104747, 0.108575, 0.109687], abs=1e-5)


def test_a_half_life_halves(students: Any) -> None:
    """After one half-life half of it is left, after two a quarter (Settles & Meeder 2016)."""
    student = one(students, "halving")
    half = float(student.half[0])
    left = [float(student.cold(days)[0] - student.floor[0]) for days in (0.0, half, 2 * half)]
    assert left[1:] == pytest.approx([left[0] / 2, left[0] / 4])


def test_the_hands_lose_half_their_gain_in_thirteen_months(students: Any) -> None:
    """Speed loses half its gain in 13 months (Tatel & Ackerman, Psychological Bulletin, 2025)."""
    student = one(students, "two-process")
    student.hands[0] = student.origin[0] + 0.4
    _, hands = student._faded(slice(None), 13 * 365.25 / 12)
    assert float(hands[0] - student.origin[0]) == pytest.approx(0.2, abs=0.002)


def test_the_first_takes_of_a_day_are_handicapped(students: Any) -> None:
    """The warm-up decrement is gone by the third take (Adams 1961: a few; its size is assumed)."""
    student = one(students, "two-process")
    right = []
    for _ in range(4):
        right.append(student.right_tempo(0, 0.0, 0.0))
        student.takes_today[0] += 1
    assert np.diff(right).tolist() == pytest.approx([0.02, 0.02, 0.0])


@pytest.mark.parametrize("kind", ["activation", "halving", "two-process"])
def test_students_learn_by_playing_and_forget_by_waiting(students: Any, kind: str) -> None:
    """Ten daily takes raise the cold tempo, a hundred idle days lower it.

    And idleness never raises it.
    """
    student = students.KINDS[kind](np.array([90.0]), np.array([0]), students.Nature(), 3)
    before = float(student.cold(0.0)[0])
    for day in range(10):
        student.take(0, float(day), 60.0, float(2.0 ** student.cold(float(day))[0]))
    after = [float(student.cold(10.0 + wait)[0]) for wait in (0.0, 3.0, 30.0, 100.0)]
    assert after[0] > before
    assert after == sorted(after, reverse=True)
