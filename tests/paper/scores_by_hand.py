"""Scores written out by hand, in the elements of MusicXML 4.0 (W3C); two divisions a beat."""

from __future__ import annotations


def note(*more: str, place: str = "C5", eighths: int = 2) -> str:
    """Return a note by its place on the staff; two eighths are a quarter."""
    step, octave = place[0], place[1:]
    return (
        f"<note><unpitched><display-step>{step}</display-step><display-octave>{octave}"
        f"</display-octave></unpitched><duration>{eighths}</duration>{''.join(more)}</note>"
    )


def score(*bars: str, listed: str = "", beside: str = "") -> bytes:
    """Return a score of some bars; `listed` is its list of parts, `beside` is another."""
    first = "<attributes><divisions>2</divisions></attributes>"
    measures = "".join(
        f"<measure>{first if number == 0 else ''}{each}</measure>"
        for number, each in enumerate(bars)
    )
    return (
        f"<score-partwise><part-list>{listed}</part-list><part>{measures}</part>{beside}"
        "</score-partwise>"
    ).encode()
