"""How late a microphone hears what a program plays: out of the card, through the air, and back in.

The click is played once over the loudspeaker and looked for in the recording, click by click, by
the normalised correlation of the two (Knapp & Carter 1976, IEEE Trans. Acoust. Speech Signal
Process. 24:320-327, on delays by generalised correlation). The clicks must agree with each other: a
door or a stroke is found at one of them only.

Conventions: seconds; mono samples, -1 to 1, both from the same first frame.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.ear.energies import Samples

LONGEST_SECONDS = 0.5
"""Bluetooth comes after 0.1 to 0.25 s (value from memory)."""
_LENGTH_SECONDS = 0.04
_ALIKE = 0.3
"""Least correlation of a click with what it became on its way (judgement: rooms leave about .5)."""
_AGREE_SECONDS, _AGREE_SHARE = 0.0015, 0.6


def round_trip(played: Samples, heard: Samples, clicks: Sequence[float], rate: int) -> float | None:
    """Return how late clicks are heard, or None where they are not, or disagree.

    Parameters
    ----------
    played, heard
        What was played, and what the microphone heard meanwhile.
    clicks
        Seconds at which clicks begin in what was played.
    rate
        Samples a second of both.
    """
    found = [
        late for at in clicks if (late := _late(played, heard, int(at * rate), rate)) is not None
    ]
    if not found:
        return None
    middle = float(np.median(found))
    agreeing = [late for late in found if abs(late - middle) <= _AGREE_SECONDS]
    if len(agreeing) < max(_AGREE_SHARE * len(clicks), 2):
        return None
    return float(np.mean(agreeing))


def _late(played: Samples, heard: Samples, at: int, rate: int) -> float | None:
    """Return how late one click is heard; None where nothing is enough like it."""
    length, reach = int(_LENGTH_SECONDS * rate), int(LONGEST_SECONDS * rate)
    click = np.asarray(played[at : at + length], np.float64)
    part = np.asarray(heard[at : at + reach + length], np.float64)
    if click.size < length or part.size < reach + length or not click.any():
        return None
    size = 1 << int(np.ceil(np.log2(part.size + length)))
    spectrum = np.fft.rfft(part, size) * np.conj(np.fft.rfft(click, size))
    alike = np.fft.irfft(spectrum, size)[:reach]
    power = np.concatenate([[0.0], np.cumsum(part**2)])
    here = np.maximum(power[length : length + reach] - power[:reach], 1e-12)
    score = alike / np.sqrt(here * np.sum(click**2))
    # A microphone may be wired the wrong way round: either sign will do.
    best = int(np.argmax(np.abs(score)))
    return best / rate if abs(score[best]) >= _ALIKE else None
