"""Every hypothesis strategy of the test suite, one section a room.

What a composite draws from is made once, outside of it: hypothesis looks a new strategy through
before it first draws from it, which took longer than the drawing.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from fractions import Fraction
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from drillbox.base.now import Now
from drillbox.memory import Belief, Evidence, Grade, Parameters, prior
from drillbox.plan import Candidate, Day
from drillbox.rhythm import (
    EMBELLISHMENTS,
    Hand,
    Level,
    Meter,
    Ornament,
    Pattern,
    Placing,
    Stroke,
    Swing,
    Voice,
    grid_names,
    syllables,
)
from drillbox.store import Holdings, LogEntry, Retraction, Setting, TakeRow, Wish
from drillbox.studio import STATES, CardProgress, DeckInfo, HeardMonth, Played, Progress

# --- base
# -------------------------------------------------------------------------------

TOWNS = (
    "Pacific/Auckland",
    "Asia/Kolkata",
    "Europe/Zurich",
    "America/New_York",
    "America/Los_Angeles",
)


@st.composite
def nows(draw: st.DrawFn) -> Now:
    """Return a moment of two years somewhere, both changes of the clocks included."""
    seconds = draw(st.integers(0, 2 * 365 * 86_400))
    at = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)
    zone = ZoneInfo(draw(st.sampled_from(TOWNS)))
    return Now.of(at.astimezone(zone), draw(st.integers(0, 12)))


def clock_times() -> st.SearchStrategy[time]:
    """Return times of a day to the minute, as people type them."""
    return st.times().map(lambda one: one.replace(second=0, microsecond=0))


# --- memory and plan
# -------------------------------------------------------------------------------


def plan_day(at: float, **changes: Any) -> Day:
    """Return the day of a moment, days since the Unix epoch, where days end at midnight UTC."""
    moment = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(days=at)
    return Day(Now.of(moment, day_ends_at=0), **changes)


@st.composite
def beliefs(draw: st.DrawFn) -> Belief:
    """Return a belief about a card played at least once, with any correlation."""
    var_mu = draw(st.floats(0.01, 0.4)) ** 2
    var_ln_s = draw(st.floats(0.05, 1.2)) ** 2
    at = draw(st.floats(20000.0, 20100.0))
    today = draw(st.integers(1, 5))
    return Belief(
        mu=draw(st.floats(5.0, 8.0)),
        ln_s=draw(st.floats(-1.5, 5.0)),
        var_mu=var_mu,
        cov=draw(st.floats(-0.9, 0.9)) * (var_mu * var_ln_s) ** 0.5,
        var_ln_s=var_ln_s,
        at=at,
        day=719163 + int(at),
        takes_that_day=today,
        takes=today + draw(st.integers(0, 40)),
        apart=draw(st.one_of(st.just(0.0), st.floats(0.01, 0.95))),
        recent=draw(st.floats(1.0, 20.0)),
        level=draw(st.floats(-0.2, 0.2)),
        streak=draw(st.integers(-9, 5)),
    )


@st.composite
def evidences(draw: st.DrawFn) -> Evidence:
    """Return a take of any grade, at or after the beliefs' days."""
    at = draw(st.floats(20100.0, 20400.0))
    return Evidence(
        at,
        719163 + int(at),
        draw(st.floats(20.0, 260.0)),
        draw(st.sampled_from(Grade)),
        measured=draw(st.booleans()),
    )


@st.composite
def candidates(draw: st.DrawFn, number: int) -> Candidate:
    """Return a card of a box, new or played, with a goal it may be far from."""
    new = prior(Parameters(), bpm=draw(st.floats(40.0, 120.0)))
    return Candidate(
        card_id=f"{number:016x}",
        title=f"card {number}",
        belief=draw(st.one_of(st.just(new), beliefs())),
        goal_bpm=draw(st.floats(40.0, 200.0)),
        seconds60=draw(st.sampled_from([3.0, 4.0, 8.0, 16.0])),
        bars=draw(st.sampled_from([1, 1, 2, 4])),
        importance=draw(st.sampled_from([0.5, 1.0, 1.0, 3.0])),
        family=draw(st.sampled_from(["", "singles", "pairs"])),
        after=draw(st.sampled_from([(), (), (f"{number - 1:016x}",)])) if number else (),
        order=number,
        rested=draw(st.integers(0, 9)) == 0,
    )


@st.composite
def boxes(draw: st.DrawFn) -> list[Candidate]:
    """Return the cards of a small box."""
    return [draw(candidates(number)) for number in range(draw(st.integers(0, 25)))]


# --- store
# -----------------------------------------------------------------------------------------

entry_ids = st.uuids(version=4).map(lambda key: key.hex)
store_card_ids = st.sampled_from([f"{number:016x}" for number in range(1, 6)])
instants = st.integers(0, 10 * 365 * 86_400 * 10**6).map(
    lambda micros: datetime(2020, 1, 1, tzinfo=UTC) + timedelta(microseconds=micros)
)
json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(-1e9, 1e9)
    | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)

# The measures that a replay reads are held to their own sense, and tested apart.
free_keys = st.text(max_size=8).filter(lambda key: key not in {"level", "ear"})


def take_rows() -> st.SearchStrategy[TakeRow]:
    """Return takes of five cards, each with its own id."""
    return st.builds(
        TakeRow,
        id=entry_ids,
        card_id=store_card_ids,
        bpm=st.floats(1.0, 1000.0),
        grade=st.integers(-2, 2),
        at=instants,
        zone=st.sampled_from(["UTC", "Europe/Berlin", "America/St_Johns", "+05:45"]),
        seconds=st.floats(0.0, 86_400.0),
        source=st.sampled_from(["self", "audio", "midi"]),
        measures=st.none() | st.dictionaries(free_keys, json_values, max_size=3),
    )


_few_takes = st.lists(take_rows(), max_size=6, unique_by=lambda row: row.id)


@st.composite
def take_logs(draw: st.DrawFn) -> list[LogEntry]:
    """Return a log: takes, and retractions of some of them and of takes nobody has seen."""
    takes = draw(_few_takes)
    known = st.sampled_from([row.id for row in takes]) if takes else entry_ids
    retractions = draw(
        st.lists(
            st.builds(Retraction, id=entry_ids, take_id=known | entry_ids, at=instants),
            max_size=3,
            unique_by=lambda row: row.id,
        )
    )
    return [*takes, *retractions]


@st.composite
def holdings(draw: st.DrawFn) -> Holdings:
    """Return what one machine has.

    Of few cards and few settings, at few moments, so that machines disagree.
    """
    moments = st.integers(0, 2).map(lambda day: datetime(2026, 1, 1 + day, tzinfo=UTC))
    cards = st.lists(store_card_ids, max_size=4, unique=True)
    keys = st.lists(st.sampled_from(["minutes", "click", "heir/x"]), max_size=3, unique=True)
    return Holdings(
        tuple(draw(take_logs())),
        tuple(
            Wish(
                card,
                draw(st.none() | st.sampled_from([90.0, 100.0])),
                draw(st.none() | st.sampled_from([0.5, 2.0])),
                resting=draw(st.booleans()),
                at=draw(moments),
            )
            for card in draw(cards)
        ),
        tuple(
            Setting(key, draw(st.sampled_from([10, 10.0, True, "10"])), draw(moments))
            for key in draw(keys)
        ),
    )


@st.composite
def damaged_bytes(draw: st.DrawFn, content: bytes) -> bytes:
    """Return a file with some of it cut out, doubled, overwritten or filled up."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(content)))
        end = min(len(content), start + draw(st.integers(0, 40)))
        piece = content[start:end]
        new = draw(st.just(b"") | st.just(piece * 3) | st.just(piece * 500) | st.binary(max_size=8))
        content = content[:start] + new + content[end:]
    return content


# --- rhythm
# ----------------------------------------------------------------------------------------


_groupings = st.lists(st.integers(1, 5), min_size=1, max_size=4)
_units = st.sampled_from([4, 8])
_voices = st.sampled_from(Voice)
_styles = st.tuples(
    st.sampled_from(Level), st.sampled_from(Ornament), st.sampled_from([None, None, *Hand])
)
_shares = st.sampled_from([Fraction(3, 5), Fraction(2, 3), Fraction(3, 4)])


@st.composite
def meters(draw: st.DrawFn) -> Meter:
    """Return a meter with its usual grouping or another one."""
    groups = tuple(draw(_groupings))
    unit = draw(_units)
    return Meter(sum(groups), unit, draw(st.sampled_from([(), groups])))


@cache
def _slots(meter: Meter) -> st.SearchStrategy[int]:
    """Return the numbers of slots that a beat can have."""
    return st.sampled_from(sorted(grid_names(meter).values()))


@cache
def _swings(meter: Meter) -> st.SearchStrategy[Swing | None]:
    """Return swings of the pairs that a meter has, and none."""
    pairs = [2 / Fraction(n) for n in grid_names(meter).values() if n in (2, 4)]
    return st.none() | st.builds(Swing, _shares, st.sampled_from(pairs))


@st.composite
def patterns(draw: st.DrawFn, *, meter: Meter | None = None, max_bars: int = 3) -> Pattern:
    """Return a pattern of any strokes on any grids, silent ones included.

    Some are made of like bars.
    """
    meter = meter or draw(meters())
    bars = draw(st.integers(1, max_bars))
    slots = _slots(meter)
    even = draw(st.booleans())
    grids = (draw(slots),) * meter.beats if even else tuple(draw(slots) for _ in range(meter.beats))
    spots = [
        (bar * meter.beats + beat + offset)
        for bar in range(bars)
        for beat, count in enumerate(grids)
        for offset in syllables(count).values()
    ]
    places = st.sampled_from(spots)
    chosen = draw(st.dictionaries(st.tuples(places, _voices), _styles, max_size=12))
    every = draw(st.none() | st.tuples(_voices, places, _styles))
    if every is not None:
        voice, spot, style = every
        offset = Fraction(spot.numerator % spot.denominator, spot.denominator)
        chosen |= {
            (beat + offset, voice): style
            for beat in range(bars * meter.beats)
            if beat + offset in spots
        }
    strokes = []
    for (at, voice), (level, ornament, hand) in chosen.items():
        able = voice in EMBELLISHMENTS[ornament].voices
        strokes.append(Stroke(at, voice, level, ornament if able else Ornament.NONE, hand))
    return Pattern(meter, grids * bars, tuple(strokes), draw(_swings(meter)))


@st.composite
def placings(draw: st.DrawFn) -> Placing:
    """Return ghosts on every beat of one of the map's grids, plain, doubled or buzzed."""
    grid = draw(st.sampled_from([3, 4, 6]))
    chosen = draw(st.sets(st.integers(0, grid - 1), min_size=1))
    ornament = draw(st.sampled_from([Ornament.NONE, Ornament.DOUBLE, Ornament.BUZZ]))
    offsets = frozenset(Fraction(slot, grid) for slot in chosen)
    return Placing(offsets, ornament, 0 if ornament is Ornament.NONE else grid)


# --- sound
# -----------------------------------------------------------------------------------------

tempi = st.fractions(min_value=30, max_value=300, max_denominator=7)
clicks_per_beat = st.sampled_from([1, 2, 3, 4, 6, 8])


# --- deck files
# ------------------------------------------------------------------------------------


@st.composite
def damaged(draw: st.DrawFn, text: str) -> str:
    """Return a text with some of it cut out, doubled, or overwritten."""
    snippets = st.sampled_from(
        [
            '"',
            "'",
            "'''",
            "[",
            "]",
            "[[",
            "{",
            "}",
            "=",
            "\n",
            "#",
            ",",
            ".",
            "|",
            "(",
            ">",
            "\\",
            "\r\n",
        ]
    )
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 12)))
        new = draw(
            st.one_of(st.just(""), snippets, st.text(max_size=3), st.just(text[start:end] * 2))
        )
        text = text[:start] + new + text[end:]
    return text


@st.composite
def laid_out_toml(draw: st.DrawFn) -> str:
    """Return valid TOML with every kind of layout; each value is a text or number of its own."""
    numbers = iter(range(1000, 10_000))
    gaps = st.sampled_from(["", " ", "  ", "\t"])
    breaks = st.sampled_from(["", " ", "\n", " # remark ] } ' \"\n", "\n\n  "])
    keys = st.sampled_from(["a", "b-1", "'q'", '"r s"'])

    def value(depth: int) -> str:
        number = next(numbers)
        kinds = ["{}", '"v{}"', "'v{}'", '"""v{}\n"]"""', "'''\nv{}'''", "'v{} # [ \"'", "-{}"]
        if depth and draw(st.booleans()):
            items = [value(depth - 1) for _ in range(draw(st.integers(0, 3)))]
            if draw(st.booleans()):
                return "[" + ",".join(draw(breaks) + item + draw(breaks) for item in items) + "]"
            pairs = [f"k{n}{draw(gaps)}={draw(gaps)}{item}" for n, item in enumerate(items)]
            return "{" + ",".join(draw(gaps) + pair + draw(gaps) for pair in pairs) + "}"
        return draw(st.sampled_from(kinds)).format(number)

    def table(header: str) -> str:
        names = draw(st.lists(keys, max_size=4, unique=True))
        dotted = draw(st.booleans())
        lines = [
            f"{name}{'.x' if dotted else ''}{draw(gaps)}={draw(gaps)}{value(2)}" for name in names
        ]
        return header + "".join(f"{draw(breaks)}\n{draw(gaps)}{line}" for line in lines) + "\n"

    headers = [
        "",
        "[one]",
        "[ two . 'three' ]",
        "[[many]]",
        "[[many.deep]]",
        "[[many]]",
        "[many.last]",
    ]
    return "".join(table(header) for header in headers)


# --- studio
# ----------------------------------------------------------------------------------------


_rhythms = st.lists(st.text("0123456789abcdef", min_size=16, max_size=16), unique=True, max_size=6)
_student_names = st.text(st.characters(exclude_categories=("C", "Z")), max_size=20)
_tenths_of_bpm = st.integers(20, 4000).map(lambda tenths: tenths / 10 + 1)
_slugs = st.lists(st.from_regex(r"[a-z]{1,6}(-[0-9])?", fullmatch=True), unique=True, max_size=3)
_moments = st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1))  # noqa: DTZ001 - naive, then UTC
_measured = st.none() | st.integers(0, 900).map(lambda tenths: tenths / 10)
_months = st.sets(st.integers(1, 12), max_size=3)


@st.composite
def progress_files(draw: st.DrawFn, *, today: date = date(2026, 11, 25)) -> Progress:
    """Return any student's progress.

    Some decks, cards in one or more of them, days up to `today` and a little later.
    """
    names, tempi = _student_names, _tenths_of_bpm
    slugs = draw(_slugs)
    days = st.dates(today - timedelta(days=120), today + timedelta(days=2))
    cards = []
    for rhythm in draw(_rhythms) if slugs else ():
        played = [
            Played(day, draw(st.integers(1, 40)), draw(st.integers(0, 9000)) / 10, draw(tempi))
            for day in sorted(draw(st.sets(days, max_size=6)))
        ]
        cards.append(
            CardProgress(
                rhythm=rhythm,
                title=draw(names),
                decks=tuple(draw(st.lists(st.sampled_from(slugs), min_size=1, unique=True))),
                goal_bpm=draw(tempi),
                state=draw(st.sampled_from(STATES)),
                cold_bpm=draw(st.none() | tempi) if played else None,
                days=tuple(played),
                last_bpm=draw(st.none() | tempi),
            )
        )
    months, measured = draw(_months), _measured
    return Progress(
        student=draw(st.sampled_from("0123")) * 32,
        name=draw(names),
        written=draw(_moments).replace(microsecond=0, tzinfo=UTC),
        decks=tuple(DeckInfo(slug, draw(names), draw(st.integers(1, 9))) for slug in slugs),
        cards=tuple(cards),
        heard=tuple(
            HeardMonth(f"2026-{month:02}", draw(st.integers(1, 90)), draw(measured), draw(measured))
            for month in sorted(months)
        ),
    )
