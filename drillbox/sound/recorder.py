"""What the microphone heard of one take, in memory and nowhere else.

A block from the microphone comes together with a block of the take, on one clock, so a recording is
laid on the take's own frames: sample n is what was heard while frame n was being played. How late
that is (the way out, through the air and back in) is constant for a stream;
`drillbox.ear.round_trip` measures it.

Conventions: mono float32, -1 to 1; frames as in `drillbox.sound.timeline`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.sound.timeline import RATE

if TYPE_CHECKING:
    from drillbox.sound.tones import Samples

LONGEST_SECONDS = 600
"""Of a take without an end no more is kept."""
TAIL_SECONDS = 1.0
"""After its last frame a take is listened to for so long: the last stroke comes late and rings."""


class Recorder:
    """The recording of one take.

    Parameters
    ----------
    take
        The number of the take it belongs to, as the transport counts them.
    frames
        How long the take is, without its tail; None for one without an end.
    """

    def __init__(self, take: int, frames: int | None) -> None:
        self.take = take
        most = LONGEST_SECONDS * RATE if frames is None else frames + int(TAIL_SECONDS * RATE)
        self._samples = np.zeros(min(most, LONGEST_SECONDS * RATE), dtype=np.float32)
        self._end = 0

    @property
    def whole(self) -> bool:
        """Whether all of the take has been heard, with its tail."""
        return self._end >= len(self._samples)

    @property
    def seconds(self) -> float:
        """How much has been heard."""
        return self._end / RATE

    def put(self, samples: Samples, frame: int) -> None:
        """Write down what was heard from a frame of the take on."""
        end = min(frame + len(samples), len(self._samples))
        if frame < end:
            self._samples[frame:end] = samples[: end - frame]
            self._end = end

    def samples(self) -> Samples:
        """Return what has been heard so far, from the take's first frame on."""
        return np.nan_to_num(self._samples[: self._end], copy=True)
