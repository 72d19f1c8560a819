"""What the stand says: its lines before a take, its question, what was heard, what happened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.app.widgets.grade_zones import moved_words

if TYPE_CHECKING:
    from drillbox.app.listening import Opinion
    from drillbox.ear import Measurement
    from drillbox.memory import Grade

FIRST_WORDS = (
    "R L: right, left hand. F D T U: full, down, tap, upstroke."
    " Afterwards a s d f g say how it went: try one, nothing is saved."
)
QUESTION = "Where should the metronome go next?"
PLAY_FIRST = "play it through once, then grade it"
RAMP_ON, RAMP_OFF = "ramp: up 5 about every eight seconds", "steady tempo"
HANDS_FREE_ON = "hands-free: a foot grades in the rest, one tap clean, two shaky, three fell apart"
HANDS_FREE_OFF = "hands-free off"
SLOW_LISTENING, AT_TEMPO = "listening, slow", "listening, at tempo"
HALF_SPEED, AS_PLAYED = "your take, half speed", "your take, as it was"
GOES_ON = {
    SLOW_LISTENING: "l at tempo",
    AT_TEMPO: "l stops",
    HALF_SPEED: "y as it was",
    AS_PLAYED: "y stops",
}
"""What the same key does next while something is listened to."""
NOTHING_TO_UNDO = "Nothing of today to take back."
UNGRADED = "The take you left had no grade, so it does not count: its time is given back."
ALL_SAVED = "all takes saved"
DEVICE_CHANGED = "The sound was opened anew in this take: space plays it again."
LEFT_ALONE = "Nobody was here for two minutes: they are given back to the day."


def listening_line(listening: str) -> str:
    """Return what is listened to and which keys end it, where no footer is shown."""
    return f"{listening}: {GOES_ON[listening]}, space starts the take"


def paused_question(passes: int) -> str:
    """Return the question after a pause in a take of which whole passes have sounded."""
    heard = "one pass" if passes == 1 else f"{passes} passes"
    return f"Paused: a s d f g grade {heard}, space plays the take again."


def take_line(number: int, of: int, *, paused: bool) -> str:
    """Return which take waits, of how many unless that is 0, and the keys that start it."""
    if paused:
        return "paused, time stopped: space starts the take"
    return f"take {number}{f' of {of}' if of else ''}: space or enter starts it"


def moved_line(grade: Grade, bpm: int, before: int) -> str:
    """Return what the grade before made of the tempo, for the later takes of a visit."""
    where = f"{bpm} again" if bpm == before else moved_words(bpm, before)
    return f"After {grade.label}: {where}."


def own_tempo(why: str, bpm: int, asked: int) -> str:
    """Return why a take is played at its tempo, and that the player moved it, where that is so."""
    return why if bpm == asked else f"{why} Moved to {bpm} by you."


def would_be(grade: Grade, bpm: int, now: int) -> str:
    """Return what a grade would do, to one who tries its key before the take."""
    return f"{grade.label} would be: {moved_words(bpm, now)} bpm. Play the take first."


LISTENING_BACK = "Listening back…"


def heard_question(opinion: Opinion) -> str:
    """Return the question after a take that was measured."""
    if opinion.grade is None:
        return QUESTION
    return f"Heard: {opinion.grade.label} ({opinion.sure:.0%} sure). enter takes it, or your own:"


def heard_words(opinion: Opinion) -> str:
    """Return what was heard of a take, a sentence and the numbers under it."""
    return "\n".join(words for words in (opinion.sentence, opinion.numbers) if words)


def heard_numbers(found: Measurement) -> str:
    """Return the few numbers behind an opinion, in one line."""
    numbers = found.numbers
    total = sum(fact.expected.voice not in found.absent for fact in found.facts)
    untold = total - numbers.heard - numbers.missed
    words = [f"{numbers.heard} of {total} heard", f"{numbers.missed} missed"]
    if untold:
        words.append(f"{untold} untold")
    if numbers.extra:
        words.append(f"{numbers.extra} extra")
    if numbers.spread_ms is not None:
        words.append(f"spread {numbers.spread_ms:.0f} ms")
    if numbers.contrast_db is not None:
        words.append(f"contrast {numbers.contrast_db:.0f} dB")
    words.append(f"{numbers.bpm:.1f} bpm")
    return ", ".join(words)


def kept_with_grade(opinion: Opinion) -> str:
    """Return that what was heard came after the grade and is kept with it."""
    return f"Heard, and kept with your grade: {opinion.numbers}."


def meter_words(bars: int, most: int, *, clipped: bool) -> str:
    """Return the level of the input as signs."""
    return "too loud" if clipped else f"hears {'■' * bars}{'□' * (most - bars)}"


def put_off(title: str) -> str:
    """Return that a card was left out today."""
    return f"“{title}” is off for today; u brings it back."


def slid_off(title: str) -> str:
    """Return that a card has left the box meanwhile; nothing where none has."""
    return f"“{title}” has left the box in another window, so it is off the stand." if title else ""


def graded(
    grade: Grade, in_place_of: Grade | None, progress: str, *, as_heard: bool = False
) -> str:
    """Return that a grade is saved, in whose place, and what it made of the card."""
    what = f"{grade.label}, as heard" if as_heard else grade.label
    what = f"{what} in place of {in_place_of.label}" if in_place_of else what
    return f"{what}: saved. {progress}"
