"""The player's year as plain values, for programs; docs/json.md says what each is."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import TYPE_CHECKING, Any

from drillbox.report.in_hand import coming_back, look_back
from drillbox.report.year import OUTLOOK_DAYS

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box import Box


def year_values(box: Box, *, at: datetime) -> dict[str, Any]:
    """Return what the page of the year shows; before the first take its lists are empty."""
    done, cards, today = look_back(box, at=at), box.cards(at=at), box.now(at).day
    return {
        "from": _day(done.first) if done.minutes else None,
        "to": _day(done.last) if done.minutes else None,
        "in_hand": [int(count) for count in done.in_hand] if done.minutes else [],
        "minutes": {_day(day): round(spent, 1) for day, spent in sorted(done.minutes.items())},
        "states": dict(Counter(card.state.value for card in cards)),
        "slipping": [int(n) for n in coming_back(cards, today=today, days=OUTLOOK_DAYS)],
        "records": [
            {
                "family": record.family,
                "title": record.title,
                "bpm": round(record.bpm, 1),
                "day": _day(record.day),
            }
            for record in done.records
        ],
    }


def _day(ordinal: int) -> str:
    return date.fromordinal(ordinal).isoformat()
