"""A guard: what the ear hears of three takes is what it heard when this was written down.

No law stands here. The ear has constants of tuning (windows, thresholds, margins) that no law can
pin: another value is as lawful, and hears a little better or worse, which the benchmark judges
(tests/bench/bench_ear.py). This only makes sure that nobody changes the hearing without knowing.
Who improves the ear writes the numbers anew and looks at the difference, of the file and of the
benchmark, before committing it ::

    DRILLBOX_WRITE_HEARD=1 python -m pytest tests/ear/test_hearing_unchanged.py

Kept are times to a hundredth of a millisecond and levels to a hundredth of a decibel, and of the
stages between sound and stroke (click, map, looks, evidence, gains) a few sums, to a part in a
thousand: machines round differently.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from made_takes import RATE, heard, maker

from drillbox.ear import find_start, measuring, passes_played

if TYPE_CHECKING:
    from drillbox.ear import Measurement

KEPT = Path(__file__).parent / "heard.json"
TAKES: dict[str, dict[str, Any]] = {
    "buzz and hum": {"seed": 4, "grade": "easy", "seconds": 8.0, "hum": -30.0},
    "flam": {"seed": 37, "grade": "realistic", "missing": 0.2, "seconds": 8.0},
    "whole kit": {"seed": 303, "grade": "hard", "missing": 0.12, "seconds": 8.0},
}
STAGES = ("without_hum", "remove_click", "spectrum", "hear", "decide", "absent_voices")


def _stages(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Return a book in which each stage of the measuring writes what it gave last."""
    book: dict[str, Any] = {}

    def noted(name: str) -> Any:
        stage = getattr(measuring, name)

        def run(*args: Any, **named: Any) -> Any:
            book[name] = stage(*args, **named)
            return book[name]

        return run

    for name in STAGES:
        monkeypatch.setattr(measuring, name, noted(name))
    return book


def _sums(book: dict[str, Any]) -> dict[str, list[float]]:
    """Return a few numbers that each stage's whole answer goes into."""
    clean, seen = book["remove_click"], book["spectrum"]
    (hearing, view), findings = book["hear"], book["decide"]
    there = np.isfinite(hearing.at)
    return {
        "hum": [float(np.std(book["without_hum"]))],
        "click": [clean.at.size, float(clean.at.sum()), float(np.std(clean.samples))],
        "bands": [float(np.log(seen.energy).mean()), *map(float, np.log(seen.floor)[::3])],
        "map": [hearing.map.offset, hearing.map.stretch, hearing.map.bend * 1e3, hearing.sigma],
        "looks": [float(np.log(template).mean()) for template in hearing.templates],
        "ringing": [float(np.log(view.windows(hearing.column[there])[1]).mean())],
        "evidence": [float(hearing.evidence.mean()), float(hearing.threshold.mean())],
        "gains": [float(np.log(hearing.gain[there]).mean()), float(np.log(findings.gain).mean())],
        "centres": [float(hearing.centre.mean()), float(np.std(np.diff(hearing.centre)))],
    }


def _strokes(found: Measurement) -> list[list[Any]]:
    return [
        [f.state, None if f.at is None else round(f.at, 5)]
        if f.level_db is None
        else [f.state, round(f.at or 0.0, 5), round(f.level_db, 2)]
        for f in found.facts
    ]


def _numbers(found: Measurement) -> dict[str, float | None]:
    numbers = found.numbers
    return {
        "spread_ms": numbers.spread_ms,
        "ghosts_ms": numbers.ghosts_ms,
        "contrast_db": numbers.contrast_db,
        "bpm": numbers.bpm,
        "extra": numbers.extra,
        "sure": found.proposal.sure,
    }


@pytest.mark.parametrize("name", TAKES)
def test_the_hearing_is_what_it_was(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every stroke, every number, each stage; and where the take begins, where nobody says."""
    take = maker()(**TAKES[name])
    book = _stages(monkeypatch)
    found = heard(take)
    sound = take.samples.astype(np.float32)
    start = find_start(sound, RATE, take.pattern, take.bpm)
    now: dict[str, Any] = {
        "strokes": _strokes(found),
        "numbers": _numbers(found),
        "stages": _sums(book),
        "start": [start, passes_played(sound, RATE, take.pattern, take.bpm, start)],
    }
    kept = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    if os.environ.get("DRILLBOX_WRITE_HEARD"):
        kept[name] = now
        KEPT.write_text(json.dumps(kept, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    then = kept[name]

    assert [stroke[0] for stroke in then["strokes"]] == [stroke[0] for stroke in now["strokes"]]
    for before, after in zip(then["strokes"], now["strokes"], strict=True):
        if before[0] == "heard":
            assert before[1] == pytest.approx(after[1], abs=1.5e-5)
            assert before[2] == pytest.approx(after[2], abs=0.015)
    assert then["numbers"] == pytest.approx(now["numbers"], abs=0.01)
    assert then["start"] == pytest.approx(now["start"], abs=0.001)
    for stage, sums in then["stages"].items():
        assert sums == pytest.approx(now["stages"][stage], rel=1e-3, abs=1e-6), stage
