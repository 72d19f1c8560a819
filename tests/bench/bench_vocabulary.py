"""Vocabulary in hand, and how fast it gets.

Drillbox against simple habits and an oracle, on students it was not designed on; one kind of them,
`disuse`, is left out of all tuning.

Run from the top of the repository::

    python tests/bench/bench_vocabulary.py             # the held-out seeds
    python tests/bench/bench_vocabulary.py --training  # the seed that the design was tried on
    python tests/bench/bench_vocabulary.py --seeds 201 # any seeds

Prints Markdown on standard output, progress on standard error. Every number follows from the seeds.
With ``--kept FILE`` each outcome is written down as it comes, and what the file holds is not played
again; the settings come in an order in which any beginning is spread over all. ``--tables`` prints
what the file holds, and plays nothing.
"""

from __future__ import annotations

import argparse
import os
import pickle
import sys
import time
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing import Pool
from pathlib import Path
from statistics import fmean, geometric_mean

from habits import HABITS, OPEN
from schedulers import Drillbox, Oracle
from students import Nature
from world import KINDS, Cell, Result, run

TRAINING, HELD_OUT = (11,), (203,)
HALF_A_YEAR = 180
FEWEST_CALLS, OF_ORACLE = 200, 0.85
SPREAD_STEP = 7
LEAST = 0.5
"""A habit that holds less than this many patterns counts as holding this many."""


@dataclass(frozen=True)
class Outcome:
    """What everybody had in hand in one cell, with one seed."""

    cell: Cell
    habits: dict[str, Result]
    drillbox: Result
    learning: Result
    oracle: Result
    calls: list[tuple[float, bool]]
    """Of every cold take of a known card.

    The chance it was given to be steady, and whether it was.
    """


def cells(seed: int) -> list[Cell]:
    """Return every setting of the benchmark for one seed."""
    settings = [Cell("", cards, minutes) for cards in (40, 120, 400) for minutes in (10, 15, 30)]
    settings += [
        Cell("", 120, 15, "weekdays"),
        Cell("", 120, 15, "away"),
        Cell("", 40, 10, "weekdays"),
        Cell("", 400, 30, "away"),
    ]
    settings += [Cell("", cards, 15, nature=Nature(known=0.5)) for cards in (40, 120, 400)]
    for factor in (0.5, 2.0):
        settings += [
            Cell("", 120, 15, nature=Nature(learning=factor)),
            Cell("", 120, 15, nature=Nature(forgetting=factor)),
            Cell("", 120, 15, nature=Nature(noise=factor)),
        ]
    return [
        replace(setting, kind=kind, seed=seed, calendar=_calendar(kind, setting.calendar))
        for kind in KINDS
        for setting in settings
    ]


def long_cells(seed: int) -> list[Cell]:
    """Return the settings of half a year: everything can be held, and tempo is what counts."""
    days = HALF_A_YEAR
    return [Cell(k, 40, 14, _calendar(k, "daily"), seed=seed, days=days) for k in KINDS]


def _calendar(kind: str, calendar: str) -> str:
    """Return the days of practice: the students who miss days miss them wherever others do not."""
    return "uneven" if kind == "meeting" and calendar == "daily" else calendar


def play(cell: Cell) -> Outcome:
    """Let everybody practise in one cell."""
    habits = {
        name: run(cell, make(cell.goals(), cell.seed), cell.student())
        for name, make in HABITS.items()
    }
    student = cell.student()
    ours = Drillbox(cell)
    return Outcome(
        cell,
        habits,
        run(cell, ours, cell.student()),
        run(cell, Drillbox(cell, learns=True), cell.student()),
        run(cell, Oracle(cell, student), student),
        ours.calls,
    )


def spread(seed: int, every: int) -> list[Cell]:
    """Return the settings of a seed so that any beginning is spread over them.

    All kinds of students take turns, and every seventh setting comes next.
    """
    played = cells(seed)
    each = len(played) // len(KINDS)
    rounds = [played[SPREAD_STEP * k % each :: each] for k in range(0, each, every)]
    return [cell for some in (*rounds[:2], long_cells(seed), *rounds[2:]) for cell in some]


def kept_outcomes(kept: Path | None) -> list[Outcome]:
    """Return the outcomes that a file of this benchmark's own holds."""
    found: list[Outcome] = []
    if kept is not None and kept.exists():
        with kept.open("rb") as file, suppress(EOFError):
            while True:
                found.append(pickle.load(file))  # noqa: S301 - written by this program
    return found


def play_all(todo: list[Cell], processes: int, kept: Path | None) -> list[Outcome]:
    """Play every cell, write each down as it comes, and say how far it is."""
    done, started = [], time.perf_counter()
    with Pool(processes) as pool:
        for outcome in pool.imap_unordered(play, todo):
            done.append(outcome)
            if kept is not None:
                with kept.open("ab") as file:
                    pickle.dump(outcome, file)
            seconds = time.perf_counter() - started
            left = seconds / len(done) * (len(todo) - len(done))
            print(f"\r{len(done)}/{len(todo)} cells, {left:3.0f} s left ", end="", file=sys.stderr)
    print(file=sys.stderr)
    return done


@dataclass(frozen=True)
class Row:
    """One setting, averaged over the seeds."""

    name: str
    habit: str
    best: float
    ours: float
    learning: float
    oracle: float
    at_end: float
    rotation_at_end: float

    @property
    def ratio(self) -> float:
        """Ours over the best habit's, on the average in hand."""
        return self.ours / max(self.best, LEAST)

    @property
    def of_oracle(self) -> float:
        """Ours over the oracle's."""
        return self.ours / self.oracle

    @property
    def of_fixed(self) -> float:
        """With the player's numbers learned, over ours with the usual ones."""
        return self.learning / self.ours

    @property
    def behind(self) -> bool:
        """Whether rotation has more in hand on the last day."""
        return self.at_end < self.rotation_at_end

    @property
    def last_day(self) -> str:
        """What is in hand then, ours and rotation's."""
        return f"{self.at_end:.0f} / {self.rotation_at_end:.0f}"


def summarise(outcomes: list[Outcome]) -> list[Row]:
    """Return the settings in order, each averaged over its seeds."""
    by_setting: dict[Cell, list[Outcome]] = {}
    for outcome in outcomes:
        by_setting.setdefault(replace(outcome.cell, seed=0), []).append(outcome)
    rows = []
    order = (replace(cell, seed=0) for cell in cells(0))
    for setting in (cell for cell in order if cell in by_setting):
        group = by_setting[setting]
        means = {h: fmean(o.habits[h].in_hand for o in group) for h in HABITS}
        habit = max(means, key=lambda h: means[h])
        rows.append(
            Row(
                " ".join(setting.name.rsplit("#", 1)[0].split()),
                habit,
                means[habit],
                fmean(o.drillbox.in_hand for o in group),
                fmean(o.learning.in_hand for o in group),
                fmean(o.oracle.in_hand for o in group),
                fmean(o.drillbox.at_end for o in group),
                fmean(o.habits["rotate 1"].at_end for o in group),
            )
        )
    return rows


def report(rows: list[Row]) -> None:
    """Print the table, and what the bars ask of it, as Markdown."""
    print(
        "| student, cards, minutes, days, known, rates | best habit | in hand | drillbox | ratio |"
        " of oracle | learning | last day, drillbox / rotation |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for r in rows:
        print(
            f"| {r.name} | {r.habit} | {r.best:.1f} | {r.ours:.1f} |"
            f" {r.ratio:.2f} | {r.of_oracle:.2f} | {r.learning:.1f} | {r.last_day} |"
        )
    print(f"\n- settings: {len(rows)}")
    for what, values in (
        ("in hand over the best habit", [r.ratio for r in rows]),
        ("in hand over the oracle", [r.of_oracle for r in rows]),
        ("learning the player", [r.of_fixed for r in rows]),
    ):
        print(f"- {what}: geometric mean {geometric_mean(values):.3f}, least {min(values):.3f}")
    for what, named in (
        ("under the best habit", [f"{r.name} {r.ratio:.3f}" for r in rows if r.ratio < 1.0]),
        (
            f"under {OF_ORACLE} of the oracle",
            [f"{r.name} {r.of_oracle:.2f}" for r in rows if r.of_oracle < OF_ORACLE],
        ),
        ("behind rotation on the last day", [f"{r.name} {r.last_day}" for r in rows if r.behind]),
    ):
        print(f"- {what}: {len(named)}: {'; '.join(named)}")


def by_kind(rows: list[Row]) -> None:
    """Print one line for each kind of student: means over its settings, and its worst ones."""
    print(
        "| student | over the best habit | least | over the oracle | least | learning over fixed |"
        " least | under the best habit | behind rotation on the last day |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    for kind in KINDS:
        mine = [r for r in rows if r.name.startswith(kind)]
        if not mine:
            continue
        measured = (
            [r.ratio for r in mine],
            [r.of_oracle for r in mine],
            [r.of_fixed for r in mine],
        )
        means = " | ".join(f"{geometric_mean(each):.2f} | {min(each):.2f}" for each in measured)
        under = sum(r.ratio < 1.0 for r in mine)
        behind = sum(r.behind for r in mine)
        print(f"| {kind} | {means} | {under} of {len(mine)} | {behind} |")


def calibration(outcomes: list[Outcome]) -> None:
    """Print predicted against observed success of cold takes, by decile of the prediction."""
    print("\n| student | predicted | observed | cold takes |\n|---|---|---|---|")
    for kind in KINDS:
        calls = [call for o in outcomes if o.cell.kind == kind for call in o.calls]
        for decile in range(10):
            inside = [(p, held) for p, held in calls if decile == min(9, int(10 * p))]
            if len(inside) < FEWEST_CALLS:
                continue
            predicted, observed = fmean(p for p, _ in inside), fmean(held for _, held in inside)
            print(f"| {kind} | {predicted:.2f} | {observed:.2f} | {len(inside)} |")


def tempi(outcomes: list[Outcome]) -> None:
    """Print where half a year leads: tempo, against rotation on an open ladder, and easy takes."""
    print(
        "\n| student, 40 cards, 14 minutes, 180 days | in hand | rotation, open ladder | tempo over"
        " goal | rotation's | automatic, last month | busiest quarter's takes |"
    )
    print("|---|---|---|---|---|---|---|")
    for kind in KINDS:
        group = [o for o in outcomes if o.cell.kind == kind]
        if not group:
            continue
        ours, theirs = [o.drillbox for o in group], [o.habits[OPEN] for o in group]
        ends = " | ".join(f"{fmean(r.at_end for r in each):.0f}" for each in (ours, theirs))
        tempo = " | ".join(f"{2 ** fmean(r.octaves for r in each):.2f}" for each in (ours, theirs))
        print(
            f"| {kind} | {ends} | {tempo} |"
            f" {100 * fmean(r.automatic for r in ours):.0f} % |"
            f" {100 * fmean(r.busiest for r in ours):.0f} % |"
        )


def main() -> None:
    """Play the benchmark and print it."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument(
        "--training", action="store_true", help="the seeds that the design was tried on"
    )
    parser.add_argument("--seeds", type=int, nargs="*", default=())
    parser.add_argument("--every", type=int, default=1, help="only every third setting, say")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--kept", type=Path, help="the file that outcomes are kept in")
    parser.add_argument("--tables", action="store_true", help="play nothing, print what is kept")
    given = parser.parse_args()
    seeds = given.seeds or (TRAINING if given.training else HELD_OUT)
    outcomes = kept_outcomes(given.kept)
    had = {outcome.cell for outcome in outcomes}
    todo = [cell for s in seeds for cell in spread(s, given.every) if cell not in had]
    if not given.tables:
        outcomes += play_all(todo, given.processes, given.kept)
    long = [o for o in outcomes if o.cell.days == HALF_A_YEAR]
    short = [o for o in outcomes if o.cell.days != HALF_A_YEAR]
    tempi(long)
    print()
    rows = summarise(short)
    by_kind(rows)
    print()
    report(rows)
    calibration(short)


if __name__ == "__main__":
    main()
