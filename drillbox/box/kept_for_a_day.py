"""What is kept of one practice day alone: how long it is, and which card is on the stand.

Both are kept beside the settings, so that leaving the program, or a power cut, does not undo them,
and hold for their own day alone. What is kept and makes no sense is passed over.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.box.setting_kinds import checked, fits

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box.settings import Settings
    from drillbox.store import Archive

MINUTES = "minutes_of_day"
ON_THE_STAND = "on_the_stand"


def minutes_of(archive: Archive, day: int, usual: Settings) -> int:
    """Return the minutes of a practice day: the usual ones, unless others were chosen for it."""
    match archive.setting(MINUTES):
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
    archive.put_setting(MINUTES, {"day": day, "minutes": checked("minutes", minutes)}, at)


def on_the_stand(archive: Archive, day: int) -> str:
    """Return the card that was last on the stand on a practice day; empty where none was."""
    match archive.setting(ON_THE_STAND):
        case {"day": kept_day, "card": str(card_id)} if kept_day == day:
            return card_id
    return ""


def keep_on_the_stand(archive: Archive, day: int, card_id: str, at: datetime) -> None:
    """Keep which card is on the stand; nothing is written where it is the one that was."""
    if on_the_stand(archive, day) != card_id:
        archive.put_setting(ON_THE_STAND, {"day": day, "card": card_id}, at)
