"""The recordings that the player keeps: ordinary WAV files in a folder beside the box.

A recording is in memory only until it is kept. A kept one begins a second before the pattern's
first beat, so that ``drillbox measure FILE --card CARD --bpm BPM --start 1`` measures it again; its
name says when it was played, which card, at what tempo. The log knows nothing of these files: they
may be moved, sent and deleted.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.errors import NotSavedError, RecordingError

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from drillbox.app.listening import Heard
    from drillbox.rhythm import Pattern
    from drillbox.sound import Mix

LEAD_SECONDS = 1.0
_NAME = re.compile(r"(\d{4}-\d\d-\d\d-\d{6})-([0-9a-f]{16})-(\d{1,4})bpm-(\d{1,4})x\.wav")


@dataclass(frozen=True, slots=True)
class KeptTake:
    """One recording on disk: its card, tempo and passes."""

    path: Path
    card_id: str
    bpm: int
    passes: int


def keep(folder: Path | None, heard: Heard, at: datetime) -> KeptTake:
    """Write a take that is in memory to a file.

    Raises
    ------
    NotSavedError
        If there is no folder, no sound, or the disk refuses.
    """
    if folder is None or heard.samples is None:
        raise NotSavedError(
            "this take cannot be kept", fix="play it to the microphone, with a box on disk"
        )
    from drillbox.sound import RATE, Recorded, write_wav  # noqa: PLC0415 - loads numpy

    name = f"{at:%Y-%m-%d-%H%M%S}-{heard.card_id}-{heard.bpm}bpm-{heard.passes}x.wav"
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        reason = error.strerror or "the folder cannot be made"
        raise NotSavedError(reason, where=str(folder), fix="free the place and try again") from None
    first = round((heard.start - LEAD_SECONDS) * RATE)
    write_wav(folder / name, Recorded(heard.samples[max(first, 0) :]), over=True)
    return KeptTake(folder / name, heard.card_id, heard.bpm, heard.passes)


def kept_takes(folder: Path | None, card_id: str) -> tuple[KeptTake, ...]:
    """Return the kept recordings of a card, the newest first; none where there is no folder."""
    if folder is None or not folder.is_dir():
        return ()
    found = []
    for path in sorted(folder.iterdir(), reverse=True):
        match = _NAME.fullmatch(path.name)
        if match and match[2] == card_id:
            found.append(KeptTake(path, card_id, int(match[3]), int(match[4])))
    return tuple(found)


def heard_again(kept: KeptTake, pattern: Pattern, *, slowly: bool) -> Mix:
    """Return a kept take with its click, at half speed or as it was.

    Raises
    ------
    RecordingError
        If the file cannot be read, or was changed by another program.
    """
    from drillbox.ear import open_recording  # noqa: PLC0415 - loads numpy
    from drillbox.sound import HALF, RATE, heard_back  # noqa: PLC0415 - as above

    recording = open_recording(kept.path)
    if recording.rate != RATE:
        raise RecordingError(
            f"the recording has {recording.rate} samples a second in place of {RATE}",
            where=str(kept.path),
            fix="play it with another program",
        )
    return heard_back(
        recording.part(),
        LEAD_SECONDS,
        pattern,
        kept.bpm,
        passes=kept.passes,
        share=HALF if slowly else Fraction(1),
    )
