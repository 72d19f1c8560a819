"""What each setting may be: one table, asked by whoever writes a setting or lets one in.

The command line reads texts by it, the box checks values by it, and what another machine's box
brings goes through it as well. The names of clicks and backings are what the stand makes of them
(`drillbox.app.accompaniment`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drillbox.base.now import LATEST_DAY_END
from drillbox.base.practice_days import EVERY_DAY, read_practice_days
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    Value = int | str | bool

CLICKS = (
    "card's grid",
    "pulse",
    "eighths",
    "triplets",
    "sixteenths",
    "two and four",
    "only the e",
    "only the a",
    "two bars on, two off",
    "fading out",
)
BACKINGS = ("click alone", "click and kit", "all but the snare", "kit alone")
LISTENING = ("off", "microphone", "pads")
LONGEST_TEXT = 200
SHORTEST_DAY, LONGEST_DAY = 5, 60
"""Minutes of practice a day."""
LEVEL_LEAST, LEVEL_MOST = -24, 12
LATENCY_MOST = 500
ANY = "any"
FRESH = (ANY, *(str(number) for number in range(13)))
"""Fresh rhythms a day; any number is the default, since a limit costs (docs/evidence.md)."""
EARLIER_FRESH = "new_cards"
"""The name that fresh rhythms a day had in earlier boxes: a whole number, from 13 up no limit."""
REPLY = "reply/"
"""The key, before its id, under which a teacher's reply is kept."""
STUDENT = "student"
"""The key of the student's id and name, as progress files give them."""
SWITCH = {"on": True, "off": False}


@dataclass(frozen=True, slots=True)
class Words:
    """A setting that is one of some words; any line of text where none are named."""

    about: str
    allowed: Sequence[str] = ()

    def read(self, text: str) -> Value:
        """Return the setting that a text means, in whatever case it is written."""
        meant = [word for word in self.allowed if word.casefold() == text.strip().casefold()]
        return self.check(meant[0] if meant else text)

    def check(self, value: object) -> Value:
        """Return a value that fits; `ValueError` says what would."""
        if not self.allowed:
            return _line(value)
        if value not in self.allowed:
            raise ValueError(f"one of: {', '.join(self.allowed)}")
        return str(value)


@dataclass(frozen=True, slots=True)
class Days:
    """A setting that says which days are practice days, or which are not."""

    about: str
    off: bool

    def read(self, text: str) -> Value:
        """Return the setting that a text means."""
        return self.check(text)

    def check(self, value: object) -> Value:
        """Return a value that fits."""
        line = _line(value)
        # A rule that cannot be followed has a sentence of its own, a `UsageError`.
        read_practice_days(*((EVERY_DAY, line) if self.off else (line, "")))
        return line


@dataclass(frozen=True, slots=True)
class Switch:
    """A setting that is on or off."""

    about: str

    def read(self, text: str) -> Value:
        """Return the setting that a text means."""
        return self.check(SWITCH.get(text.strip().casefold()))

    def check(self, value: object) -> Value:
        """Return a value that fits; `ValueError` says what would."""
        if not isinstance(value, bool):
            raise ValueError("on or off")  # noqa: TRY004 - one kind of error for all kinds
        return value


@dataclass(frozen=True, slots=True)
class Whole:
    """A setting that is a whole number in a range."""

    about: str
    least: int
    most: int

    def read(self, text: str) -> Value:
        """Return the setting that a text means."""
        try:
            return self.check(int(text.replace("_", "?")))  # Python passes over it
        except ValueError:
            return self.check(None)

    def check(self, value: object) -> Value:
        """Return a value that fits; `ValueError` says what would."""
        if type(value) is not int or not self.least <= value <= self.most:
            raise ValueError(f"a whole number from {self.least} to {self.most}")
        return value


@dataclass(frozen=True, slots=True)
class Pads:
    """A setting that says which pad is which voice."""

    about: str

    def read(self, text: str) -> Value:
        """Return the setting that a text means."""
        return self.check(text)

    def check(self, value: object) -> Value:
        """Return a value that fits; `ValueError` says what would."""
        from drillbox.ear import PadVoices  # noqa: PLC0415 - few boxes have any

        return PadVoices.read(_line(value)).text


KINDS: dict[str, Words | Days | Switch | Whole | Pads] = {
    "minutes": Whole("minutes a day", SHORTEST_DAY, LONGEST_DAY),
    "days": Days("practice days: every day, names of days, or a rule", off=False),
    "holidays": Days("days off, as 2026-12-24..2027-01-02", off=True),
    "day_ends_at": Whole("hour at which a practice day ends", 0, LATEST_DAY_END),
    "leading": Words("leading hand", ("R", "L")),
    "click": Words("click at the stand", CLICKS),
    "backing": Words("what plays along", BACKINGS),
    "hands_free": Switch("the day runs itself"),
    "fresh_rhythms": Words("fresh rhythms a day at most, or any", FRESH),
    "kit_db": Whole("level of the kit, dB", LEVEL_LEAST, LEVEL_MOST),
    "click_db": Whole("level of the click, dB", LEVEL_LEAST, LEVEL_MOST),
    "ghosts_db": Whole("level of ghost notes, dB", LEVEL_LEAST, LEVEL_MOST),
    "output": Words("sound device; empty is the system's"),
    "latency_ms": Whole("the sound comes late by, ms", 0, LATENCY_MOST),
    "listening": Words("what listens at the stand", LISTENING),
    "microphone": Words("the microphone; empty is the system's"),
    "round_trip_ms": Whole("the microphone hears the click late by, ms", 0, LATENCY_MOST),
    "pads": Words("the MIDI input of the pads; empty is the first"),
    "pad_keys": Pads("which pad is which voice, as 31=snare 33=bass"),
}


def checked(key: str, value: object) -> Value:
    """Return a setting's value, or refuse one that cannot be meant.

    Raises
    ------
    UsageError
        With what would do.
    """
    name = key.replace("_", "-")
    if key not in KINDS:
        raise UsageError(
            f"no setting {name[:40]!r}", fix=f"use one of: {', '.join(KINDS).replace('_', '-')}"
        )
    try:
        return KINDS[key].check(value)
    except ValueError as problem:
        raise UsageError(f"{name} cannot be {_shown(value)}", fix=f"give {problem}") from None


def fits(key: str, value: object) -> bool:
    """Return whether a stored value is one that the setting may have."""
    try:
        checked(key, value)
    except UsageError:
        return False
    return True


def _line(value: object) -> str:
    if not isinstance(value, str) or not value.isprintable() or len(value) > LONGEST_TEXT:
        raise ValueError(f"one line of at most {LONGEST_TEXT} characters")
    return value


def _shown(value: Any) -> str:
    text = ascii(value) if not isinstance(value, str) or not value.isprintable() else repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
