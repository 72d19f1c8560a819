"""Where each voice stands on the staff, and which key it has in a MIDI file.

Places on the staff are named as if in treble clef, as MusicXML wants it under a percussion clef.

Sources: bass drum, snare and hat by the percussion tutorial of the MusicXML 4.0 documentation; ride
and crash by common teaching legends; toms, side stick and the foot's hat by common practice, no
source. Keys by the General MIDI level 1 percussion map.
"""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.rhythm import EMBELLISHMENTS, Ornament, Voice

__all__ = ["KIT", "PERCUSSION_CHANNEL", "Instrument", "key_of", "rings", "voice_of_key"]

PERCUSSION_CHANNEL = 10


@dataclass(frozen=True, slots=True)
class Instrument:
    """Where one voice stands on the staff, and its keys.

    Parameters
    ----------
    name
        What a score's list of instruments says.
    step, octave
        The place on the staff.
    head
        The note head by its MusicXML name: ``normal`` or ``x``.
    key
        The General MIDI key that is written.
    also
        Other keys that mean the same when read.
    ringing
        The key of an open one; 0 where there is none such.
    """

    name: str
    step: str
    octave: int
    head: str
    key: int
    also: tuple[int, ...] = ()
    ringing: int = 0


KIT: dict[Voice, Instrument] = {
    Voice.HAT: Instrument("Hi-hat", "G", 5, "x", 42, ringing=46),
    Voice.RIDE: Instrument("Ride cymbal", "F", 5, "x", 51, (53, 59)),
    Voice.CRASH: Instrument("Crash cymbal", "A", 5, "x", 49, (52, 55, 57)),
    Voice.SNARE: Instrument("Snare drum", "C", 5, "normal", 38, (40,)),
    Voice.RIM: Instrument("Side stick", "C", 5, "x", 37),
    Voice.TOM: Instrument("Tom", "E", 5, "normal", 48, (45, 47, 50)),
    Voice.FLOOR: Instrument("Floor tom", "A", 4, "normal", 43, (41,)),
    Voice.BASS: Instrument("Bass drum", "F", 4, "normal", 36, (35,)),
    Voice.PEDAL: Instrument("Pedal hi-hat", "D", 4, "x", 44),
}

_BY_KEY = {key: voice for voice, row in KIT.items() for key in (row.key, *row.also)}
_RINGING = {row.ringing: voice for voice, row in KIT.items() if row.ringing}


def key_of(voice: Voice, ornament: Ornament) -> int:
    """Return the General MIDI key of a stroke."""
    row = KIT[voice]
    return row.ringing if row.ringing and EMBELLISHMENTS[ornament].rings else row.key


def voice_of_key(key: int) -> Voice | None:
    """Return what a General MIDI percussion key strikes, None for what is not in our kit."""
    return _BY_KEY.get(key) or _RINGING.get(key)


def rings(key: int) -> bool:
    """Whether a key is that of an open hat."""
    return key in _RINGING
