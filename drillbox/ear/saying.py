"""What a teacher would say of a measured take: a few sentences, the gravest first.

Conventions: differences that nobody notices are not spoken of: 6 ms up to 240 ms spacing, 2.5 % of
it above (Friberg & Sundberg 1995, J. Acoust. Soc. Am. 98:2524-2531), 1.5 dB.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drillbox.base.wording import as_sentence, counted
from drillbox.ear.bands import NOTICED_MS, NOTICED_SHARE, SPACING_MS
from drillbox.rhythm import Level, syllables

if TYPE_CHECKING:
    from fractions import Fraction

    from drillbox.ear.measuring import Measurement
    from drillbox.ear.verdict import PartialFact
    from drillbox.rhythm import Pattern

_OFTEN_MISSED = 0.2
_LEAST_CONTRAST_DB = 12.0
_TEMPO_SHARE = 0.02
_HANDS_APART = 1.5


class Remark(NamedTuple):
    """A clause without a stop, and how grave it is: 1 is at the edge of what is noticed."""

    text: str
    weight: float


def remarks(measured: Measurement, *, most: int = 3) -> tuple[str, ...]:
    """Return up to so many clauses about a take, the gravest first."""
    noticed = noticed_ms(measured)
    found = [
        *_partials(measured, noticed),
        *_ghosts(measured, noticed),
        *_contrast(measured),
        *_tempo(measured),
        *_hands(measured, noticed),
    ]
    found.sort(key=lambda remark: -remark.weight)
    return tuple(remark.text for remark in found if remark.weight >= 1)[:most]


def sentence(measured: Measurement) -> str:
    """Return one sentence about a take."""
    said = list(remarks(measured, most=2))
    numbers = measured.numbers
    if not said and numbers.missed:
        verb = "is" if numbers.missed == 1 else "are"
        said = [f"{counted(numbers.missed, 'stroke')} of {len(measured.facts)} {verb} missing"]
    if len(said) < 2 and numbers.spread_ms is not None:
        said.append(f"the strokes scatter by {numbers.spread_ms:.0f} ms")
    if not said:
        return "Too little was heard to say much."
    return as_sentence("; ".join(said))


def noticed_ms(measured: Measurement) -> float:
    """Return the displacement that a listener notices at this take's spacing."""
    from drillbox.ear.measuring import measures_of  # noqa: PLC0415 - the two know each other

    spacing = measures_of(measured.numbers, measured.facts).spacing_ms
    return NOTICED_MS if spacing <= SPACING_MS else NOTICED_SHARE * spacing


def place_name(pattern: Pattern, place: Fraction) -> str:
    """Return a place as a drummer says it: ``2``, ``e of 2``, ``a of 4 in bar 2``."""
    beat = int(place)
    names = {offset: name for name, offset in syllables(pattern.grids[beat]).items()}
    bar, within = divmod(beat, pattern.meter.beats)
    name = names.get(place - beat)
    if name is None:
        # A double's second stroke stands between two places.
        before = max(offset for offset in names if offset < place - beat)
        name = f"second stroke on {names[before]}" if names[before] else "second stroke"
    spoken = {"t": "trip", "l": "let"}.get(name, name) if pattern.grids[beat] == 3 else name
    text = f"{spoken} of {within + 1}" if spoken else str(within + 1)
    return text if pattern.bars == 1 else f"{text} in bar {bar + 1}"


def _partials(measured: Measurement, noticed: float) -> list[Remark]:
    pattern, found = measured.asked.pattern, []
    several = len({partial.voice for partial in measured.numbers.partials}) > 1
    for partial in measured.numbers.partials:
        what = _what(partial, place_name(pattern, partial.place), several=several)
        told = partial.heard + partial.missed
        if told >= 3 and partial.missed > _OFTEN_MISSED * told:
            text = f"{what} is missing {_how_often(partial.missed, told)}"
            found.append(Remark(text, 2 + 8 * partial.missed / told))
        if partial.mean_ms is not None and abs(partial.mean_ms) > noticed:
            text = f"{what} comes {_off(partial.mean_ms)}"
            found.append(Remark(text, abs(partial.mean_ms) / noticed))
    return found


def _what(partial: PartialFact, place: str, *, several: bool) -> str:
    level = "ghost " if partial.level is Level.GHOST else ""
    if several:
        return f"the {partial.voice}'s {level}{place}"
    return f"the {level}{place}" if place[0].isdigit() or level else f"the {place}"


def _how_often(missed: int, told: int) -> str:
    if missed == told:
        return "every time"
    if missed * 2 == told:
        return "half the time"
    return f"{'once' if missed == 1 else f'{missed} times'} in {told}"


def _off(ms: float) -> str:
    return f"{abs(ms):.0f} ms {'early' if ms < 0 else 'late'}"


def _ghosts(measured: Measurement, noticed: float) -> list[Remark]:
    late = measured.numbers.ghosts_ms
    if late is None or abs(late) < noticed:
        return []
    return [Remark(f"the ghosts come {_off(late)} against the accents", 1.2 * abs(late) / noticed)]


def _contrast(measured: Measurement) -> list[Remark]:
    contrast = measured.numbers.contrast_db
    if contrast is None or contrast >= _LEAST_CONTRAST_DB:
        return []
    text = f"the ghosts lie only {contrast:.0f} dB under the accents"
    return [Remark(text, 1 + (_LEAST_CONTRAST_DB - contrast) / 3)]


def _tempo(measured: Measurement) -> list[Remark]:
    tempi = measured.numbers.bpm_by_bar
    if len(tempi) < 4:
        return []
    edge = max(len(tempi) // 4, 1)
    first, last = sum(tempi[:edge]) / edge, sum(tempi[-edge:]) / edge
    share = abs(last / first - 1)
    if share < _TEMPO_SHARE:
        return []
    verb = "rises" if last > first else "falls"
    return [Remark(f"the tempo {verb} from {first:.0f} to {last:.0f}", share / _TEMPO_SHARE)]


def _hands(measured: Measurement, noticed: float) -> list[Remark]:
    spreads = {hand.hand: hand.spread_ms for hand in measured.numbers.hands if hand.spread_ms}
    if len(spreads) < 2:
        return []
    (better, least), (worse, most) = sorted(spreads.items(), key=lambda item: item[1])
    if most < _HANDS_APART * least or most - least < noticed / 2:
        return []
    names = {"R": "right", "L": "left"}
    text = (
        f"the {names[worse]} hand is less even than the {names[better]} "
        f"({most:.0f} against {least:.0f} ms)"
    )
    return [Remark(text, most / least)]
