"""A file that was read, as rhythms: cut into bars, like ones found once, with a report."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import PurePath
from typing import TYPE_CHECKING

from drillbox.base.wording import as_sentence, counted
from drillbox.errors import ExchangeError, UsageError
from drillbox.paper.midi_reading import read_midi
from drillbox.paper.musicxml_reading import read_musicxml
from drillbox.paper.quantising import written_bars
from drillbox.rhythm import Pattern, fingerprint, grid_name
from drillbox.rhythm.pattern import MAX_BARS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from drillbox.paper.music_in_file import MusicInFile
    from drillbox.paper.quantising import WrittenBar
    from drillbox.rhythm import Voice

__all__ = ["MAX_FILE_BYTES", "Found", "Transcript", "read_music", "transcribed"]

MAX_FILE_BYTES = 16 << 20
_LONGEST_SECTION = 8
"""Bars of a section that stays one rhythm; a longer one is cut into bars."""
_MIDI_ENDINGS = {".mid", ".midi", ".smf"}
_XML_ENDINGS = {".musicxml", ".xml"}


@dataclass(frozen=True, slots=True)
class Found:
    """A rhythm that was found.

    Parameters
    ----------
    title
        Its section's title, or the bar where it stands first.
    pattern
        The rhythm.
    bars
        The first bars of all places where it stands, from 1.
    """

    title: str
    pattern: Pattern
    bars: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Transcript:
    """The rhythms of a file, and what a reader of them should know, a sentence each."""

    found: tuple[Found, ...]
    report: tuple[str, ...]
    bpm: float | None


def read_music(
    data: bytes, name: str, keys: Mapping[int, Voice | None] | None = None
) -> MusicInFile:
    """Read a file by the ending of its name.

    Raises
    ------
    ExchangeError
        If it cannot be read.
    UsageError
        If the ending says nothing that is known.
    """
    ending = PurePath(name).suffix.casefold()
    if ending in _MIDI_ENDINGS:
        return read_midi(data, name=name, keys=keys)
    if ending in _XML_ENDINGS:
        return read_musicxml(data, name=name, keys=keys)
    if ending == ".mxl":
        raise ExchangeError(
            "compressed MusicXML is not read", where=name, fix="export it uncompressed"
        )
    raise UsageError(
        "cannot tell what this file is", where=name, fix="give a .musicxml, .xml or .mid file"
    )


def transcribed(music: MusicInFile, *, bars: int | None = None) -> Transcript:
    """Return the rhythms of a file.

    Parameters
    ----------
    music
        The file as it was read.
    bars
        How many bars one rhythm has; None for sections as the file marks them, and where it marks
        none or long ones, for single bars.
    """
    quarters = None
    if music.bpm is not None:
        meter = music.bars[0].meter
        quarters = music.bpm * float(meter.pulse * 4 / meter.unit)
    written = written_bars(
        music.bars, music.strokes, bpm=quarters, tell_doubles=not music.says_doubles
    )
    found: dict[str, Found] = {}
    empty = 0
    for first, title, part in _parts(written, bars, clicked=music.clicked):
        if not any(bar.strokes for bar in part):
            empty += len(part)
            continue
        pattern = _pattern(part)
        key = fingerprint(pattern)
        before = found.get(key)
        places = (*(before.bars if before else ()), first)
        name = before.title if before else title or f"bar {first}"
        found[key] = Found(name, before.pattern if before else pattern, places)
    report = tuple(_report(music, written, tuple(found.values()), empty))
    return Transcript(tuple(found.values()), report, music.bpm)


def _parts(
    written: Sequence[WrittenBar], bars: int | None, *, clicked: bool
) -> list[tuple[int, str | None, Sequence[WrittenBar]]]:
    """Cut bars into rhythms: the number of the first bar, the title, the bars.

    Where there was a click, the silent bars at a section's end are the next one's count-in.
    """
    starts = [number for number, bar in enumerate(written) if bar.frame.title is not None]
    cuts = sorted({0, *starts, len(written)})
    parts: list[tuple[int, str | None, Sequence[WrittenBar]]] = []
    for start, end in pairwise(cuts):
        last = end
        while clicked and last > start + 1 and not written[last - 1].strokes:
            last -= 1
        section = written[start:last]
        parts += [(number + 1, None, (written[number],)) for number in range(last, end)]
        marked = section[0].frame.title is not None
        period = _period(section) if marked else 1
        whole = marked and period <= _LONGEST_SECTION
        size = bars or (period if whole else 1)
        at = 0
        while at < len(section):
            part = _alike(section[at : at + min(size, MAX_BARS)])
            title = section[0].frame.title if whole and not bars else None
            parts.append((start + at + 1, title, part))
            at += len(part)
    return parts


def _period(section: Sequence[WrittenBar]) -> int:
    """Return the fewest bars whose repetition is the whole section."""
    bars = [(bar.frame.meter, bar.strokes) for bar in section]
    lengths = (n for n in range(1, len(bars)) if len(bars) % n == 0 and bars[n:] == bars[:-n])
    return next(lengths, len(bars))


def _alike(part: Sequence[WrittenBar]) -> Sequence[WrittenBar]:
    """Return as many bars as have the meter and the feel of the first."""
    first = part[0].frame
    kinds = [(bar.frame.meter, bar.frame.swing) for bar in part]
    different = (n for n, kind in enumerate(kinds) if kind != (first.meter, first.swing))
    return part[: next(different, len(part))]


def _pattern(part: Sequence[WrittenBar]) -> Pattern:
    meter = part[0].frame.meter
    strokes = tuple(
        replace(stroke, at=stroke.at + number * meter.beats)
        for number, bar in enumerate(part)
        for stroke in bar.strokes
    )
    grids = tuple(slots for bar in part for slots in bar.grids)
    return Pattern(meter, grids, strokes, part[0].frame.swing)


def _report(
    music: MusicInFile, written: Sequence[WrittenBar], found: Sequence[Found], empty: int
) -> list[str]:
    said = [f"{counted(len(written), 'bar')}, {counted(len(found), 'different rhythm')}."]
    if empty:
        said.append(f"{counted(empty, 'bar')} without a stroke left out.")
    grids = Counter(
        grid_name(bar.frame.meter, slots)
        for bar in written
        for beat, slots in enumerate(bar.grids)
        if any(int(stroke.at) == beat for stroke in bar.strokes)
    )
    shares = ", ".join(f"{name} in {counted(count, 'beat')}" for name, count in grids.most_common())
    said.append(f"Grids: {shares}.")
    said.append(_moves(music, written))
    if music.clusters:
        levels = ", ".join(
            f"{one.level} {one.low}{f' to {one.high}' if one.high > one.low else ''} "
            f"({counted(one.strokes, 'stroke')})"
            for one in music.clusters
        )
        said.append(f"Velocities: {levels}.")
    if clashes := sum(bar.clashes for bar in written):
        what = "fell on a place with another of its voice"
        said.append(f"{counted(clashes, 'stroke')} {what}; the louder one stayed.")
    said += [f"Left out: {count} {what}." for what, count in music.left_out.items()]
    said += map(as_sentence, music.remarks)
    return said


def _moves(music: MusicInFile, written: Sequence[WrittenBar]) -> str:
    """Say how many strokes were moved, and how far."""
    moved = [one for bar in written for one in bar.moved]
    if not moved:
        return "No stroke was moved."
    far = max(moved, key=lambda one: abs(one.by))
    bar = written[far.bar - 1]
    if music.bpm is None:
        scale, unit = 100.0, "hundredths of a beat"
    else:
        scale, unit = 1000 * bar.frame.meter.beat_seconds(music.bpm), "ms"
    mean = sum(abs(float(one.by)) for one in moved) / len(moved)
    return (
        f"{len(moved)} of {counted(len(music.strokes), 'stroke')} moved, {mean * scale:.0f} {unit} "
        f"on average, {abs(float(far.by)) * scale:.0f} at most (bar {far.bar}, the "
        f"{far.stroke.voice} in beat {far.beat})."
    )
