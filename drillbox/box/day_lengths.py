"""How long a practice day is: the usual minutes, unless the player chose others for that day.

The choice is kept beside the settings, so that leaving the program does not undo it, and holds for
its own day alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.box.setting_kinds import checked, fits

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box.settings import Settings
    from drillbox.store import Archive

KEY = "minutes_of_day"


def minutes_of(archive: Archive, day: int, usual: Settings) -> int:
    """Return the minutes of a practice day; what is kept and makes no sense is passed over."""
    match archive.setting(KEY):
        case {"day": kept_day, "minutes": int(minutes)} if kept_day == day:
            return minutes if fits("minutes", minutes) else usual.minutes
    return usual.minutes


def keep_minutes(archive: Archive, day: int, minutes: int, at: datetime) -> None:
    """Choose the minutes of one practice day; the others stay as they are.

    Raises
    ------
    UsageError
        If no practice day may be so short or so long.
    """
    archive.put_setting(KEY, {"day": day, "minutes": checked("minutes", minutes)}, at)
