"""Numbers as the player reads them: tempos, lengths, days."""

from __future__ import annotations

from datetime import date

from drillbox.base.wording import DAYS_A_MONTH, YEARS_DAYS

EARS = "Protect your ears: 15 minutes at 100 dBA are a day's recommended dose (NIOSH)."
HANDS = (
    "Hands: warm up, stay loose, stop at pain or numbness and see a licensed professional;"
    " their advice and local rules come first."
)
CAUTIONS = (EARS, HANDS)


def minutes_seconds(seconds: float) -> str:
    """Return ``m:ss``."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"


def day_words(day: int | None, today: int) -> str:
    """Return a day in nine columns or less: today, in 3 d, 12 d ago, 5 months, years, Mar 2024."""
    if day is None:
        return "–"
    ahead = day - today
    near = {0: "today", 1: "tomorrow", -1: "yesterday"}
    if ahead in near:
        return near[ahead]
    if 1 < ahead < 100:
        return f"in {ahead} d"
    if -100 < ahead < -1:
        return f"{-ahead} d ago"
    if ahead > 0:
        return "years" if ahead >= YEARS_DAYS else f"{ahead / DAYS_A_MONTH:.0f} months"
    return f"{date.fromordinal(day):%b %Y}"
