"""Numbers as the player reads them: tempos, lengths, days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.moments import practice_day

if TYPE_CHECKING:
    from datetime import datetime

EARS = "Ears: at 100 dBA, fifteen minutes are a whole day's recommended dose (NIOSH): protect them."
HANDS = (
    "Hands: warm up, stay loose, stop at pain or numbness and see a licensed professional;"
    " their advice and local rules come first."
)
CAUTIONS = (EARS, HANDS)


def minutes_seconds(seconds: float) -> str:
    """Return ``m:ss``."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"


def bpm_words(bpm: float | None) -> str:
    """Return a tempo as a whole number, or a dash where none is known."""
    return "–" if bpm is None else f"{bpm:.0f}"


def day_words(moment: datetime | None, now: datetime) -> str:
    """Return a day in nine columns or less: today, yesterday, in 3 d, 12 d ago, Mar 2030."""
    if moment is None:
        return "–"
    day = practice_day(moment)
    ahead = day - practice_day(now)
    near = {0: "today", 1: "tomorrow", -1: "yesterday"}
    if ahead in near:
        return near[ahead]
    if 1 < ahead < 100:
        return f"in {ahead} d"
    if -100 < ahead < -1:
        return f"{-ahead} d ago"
    return f"{moment:%b %Y}"
