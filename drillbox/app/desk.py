"""What the app is given to work with: the box, the clock, and ways to open devices.

Metronome and pads are opened at the first visit to the stand, not before: most starts only look at
today's plan.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from drillbox.app.unsaved import Unsaved
from drillbox.box.settings import Settings
from drillbox.errors import BoxError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from drillbox.base.clock import Clock
    from drillbox.box import Box
    from drillbox.sound import Metronome
    from drillbox.sound.pad_input import Pads
    from drillbox.store.second_place import SecondPlace


def _no_pads() -> Pads:
    from drillbox.sound.pad_input import NoPads  # noqa: PLC0415 - few players have any

    return NoPads()


@dataclass(frozen=True, slots=True)
class Devices:
    """What this machine has, besides the metronome: names of devices, and its pads.

    Attributes
    ----------
    outputs, microphones, pad_names
        List the names, as the system calls them.
    open_pads
        Opens the pads that the player chose.
    """

    outputs: Callable[[], tuple[str, ...]] = tuple
    microphones: Callable[[], tuple[str, ...]] = tuple
    pad_names: Callable[[], tuple[str, ...]] = tuple
    open_pads: Callable[[], Pads] = _no_pads


@dataclass(slots=True)
class Desk:
    """The app's outside world, and what it still has to bring there.

    Attributes
    ----------
    unsaved
        Takes on their way into the box.
    news
        What happened before the first screen came up and the player should read there.
    keymap
        The player's own keys, by the name of a binding.
    kept_takes
        The folder of the recordings that the player keeps; None where there is none.
    left_at
        The card on the stand when it was left, by an earlier start of today too; empty once Today
        has gone to it.
    played
        The titles of the cards graded since this start, by their ids: a deck may leave meanwhile.
    parting_word
        What there was to say when the stand was left; empty once Today has said it.
    """

    box: Box
    clock: Clock
    open_metronome: Callable[[], Metronome]
    devices: Devices = field(default_factory=Devices)
    second_place: SecondPlace | None = None
    kept_takes: Path | None = None
    news: str = ""
    keymap: Mapping[str, str] = field(default_factory=dict)
    left_at: str = ""
    parting_word: str = ""
    played: dict[str, str] = field(default_factory=dict)
    unsaved: Unsaved = field(init=False)
    _settings: Settings = field(default_factory=Settings, init=False)
    _metronome: Metronome | None = field(default=None, init=False)
    _pads: Pads | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        self.unsaved = Unsaved(self.box, self.clock, second_place=self.second_place)
        with suppress(BoxError):
            self.left_at = self.box.on_the_stand(at=self.clock.now())

    @property
    def settings(self) -> Settings:
        """The player's settings, as they were last read where the box refuses."""
        with suppress(BoxError):
            self._settings = self.box.settings
        return self._settings

    def puts_up(self, card_id: str) -> None:
        """Note that a card is on the stand; where the box refuses, a later start does not know."""
        with suppress(BoxError):
            self.box.put_on_the_stand(card_id, at=self.clock.now())

    def minutes_today(self) -> int:
        """Return the length of today's practice: the usual one, unless the player chose another."""
        return self.box.minutes_today(at=self.clock.now())

    def set_minutes_today(self, minutes: int) -> None:
        """Make today's practice longer or shorter; tomorrow's is as usual."""
        self.box.choose_minutes_today(minutes, at=self.clock.now())

    @property
    def metronome(self) -> Metronome:
        """The metronome, opened when first asked for."""
        if self._metronome is None:
            self._metronome = self.open_metronome()
        return self._metronome

    @property
    def pads(self) -> Pads:
        """The pads, opened when first asked for."""
        if self._pads is None:
            self._pads = self.devices.open_pads()
        return self._pads

    def reopen_devices(self) -> None:
        """Open metronome and pads anew when next asked for, since their settings have changed."""
        self.close()
        self._metronome = self._pads = None

    def close(self) -> None:
        """Let the devices go."""
        if self._metronome is not None:
            self._metronome.close()
        if self._pads is not None:
            self._pads.close()
