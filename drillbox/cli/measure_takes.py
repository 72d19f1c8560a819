"""The command that measures takes: sound files, MIDI files, or a whole folder of them."""

from __future__ import annotations

import csv
import io
import sys
from typing import TYPE_CHECKING, Any

import click

from drillbox.base.files import is_folder, reason, write_anew
from drillbox.base.tempi import TAKEN
from drillbox.base.wording import counted
from drillbox.cli.number_options import Whole, Within
from drillbox.cli.output import json_option, say, say_json, say_table
from drillbox.cli.path_kinds import FILE, FILE_OR_FOLDER
from drillbox.cli.problems import LeftOut, narrate
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import DrillboxError, RecordingError, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from drillbox.ear import Measurement, PadVoices
    from drillbox.rhythm import Hand, Pattern

LATEST_START = 86_400
"""A day: no recording is longer."""
SOUND_KINDS = {".wav", ".flac", ".ogg", ".mid", ".midi"}


@click.command("measure")
@click.argument("takes", nargs=-1, required=True, type=FILE_OR_FOLDER)
@click.option("--lines", multiple=True, metavar="TEXT", help="The pattern in spoken notation.")
@click.option("--card", help="A card of the box, in place of --lines.")
@click.option("--bpm", type=Within(*TAKEN), required=True, help="The tempo of the take.")
@click.option(
    "--start", type=Within(0, LATEST_START), help="Seconds at which the first beat falls."
)
@click.option("--passes", type=Whole(1, 500), help="How often the pattern is played.")
@click.option(
    "--lead",
    type=click.Choice(["R", "L"]),
    default="R",
    show_default=True,
    help="The leading hand.",
)
@click.option(
    "--key", "keys", multiple=True, metavar="N=VOICE", help="What a MIDI key is, such as 38=snare."
)
@click.option("--record", is_flag=True, help="Enter the take of --card into the box.")
@click.option("--grade", help="Your own grade for --record, in place of the proposal.")
@click.option(
    "--svg", type=FILE, help="Draw the take; an earlier drawing of that name is replaced."
)
@click.option("--csv", "as_csv", is_flag=True, help="Print a table for spreadsheets.")
@json_option
@click.pass_obj
def measure_command(
    box_path: str | None,
    takes: tuple[Path, ...],
    lines: tuple[str, ...],
    card: str | None,
    bpm: float,
    start: float | None,
    passes: int | None,
    lead: str,
    keys: tuple[str, ...],
    record: bool,
    grade: str | None,
    svg: Path | None,
    as_csv: bool,
    as_json: bool,
) -> int:
    """Measure TAKES: what came early or late, what was missed, how far ghosts lie under accents.

    TAKES are WAV, FLAC, OGG or MIDI files, or folders of them, all of one pattern at one tempo.
    Without --start and --passes the take is looked for in the recording. The grade is a proposal;
    --record enters the take with it, or with --grade. Of several, one that cannot be read is named
    and left out, and the exit code says so.

    For example:
      drillbox measure take.wav --lines "snare: >2 >4 (1a) (3e)" --bpm 92
      drillbox measure takes/ --card e --bpm 80 --csv
      drillbox measure take.wav --card e --bpm 80 --record
      drillbox measure pad.mid --card e --bpm 80 --start 0 --svg take.svg
    """
    pattern, cuts = _pattern(box_path, lines, card)
    files, several = _files(takes)
    if svg is not None and several:
        raise UsageError("one picture cannot hold several takes", fix="measure one take with --svg")
    from drillbox.ear import table_row, take_values
    from drillbox.rhythm import Hand

    how = _How(pattern, bpm, start, passes, Hand(lead), _voices(keys), cuts)
    if record and (several or card is None):
        raise UsageError("one take of one card can be recorded", fix="give one file and --card")
    if not several:
        measured = _one(files[0], how, svg=svg, as_csv=as_csv, as_json=as_json)
        if record and card is not None:
            _record(box_path, card, files[0], measured, grade)
        return 0
    rows, values, left_out = [], [], LeftOut()
    for name, measured in _all(files, how, left_out):
        rows.append(table_row(name, measured))
        values.append({"file": name, **take_values(measured)})
    if not rows:
        raise UsageError("none of these takes could be measured", fix="see the lines above")
    if as_json:
        say_json(values)
    elif as_csv:
        _say_csv(rows)
    else:
        _say_takes(rows)
    return left_out.exit_code


def _one(path: Path, how: _How, *, svg: Path | None, as_csv: bool, as_json: bool) -> Measurement:
    """Measure one take, draw it and print it."""
    from drillbox.ear import table_row, take_picture, take_values
    from drillbox.ear.picture import PICTURE_MARK

    measured = how.measure(path)
    for remark in how.remarks:
        narrate(remark)
    if svg is not None:
        title = f"{path.name}, {how.bpm:g} bpm"
        write_anew(svg, take_picture(measured, title=title), mark=PICTURE_MARK)
    if as_json:
        say_json(take_values(measured))
    elif as_csv:
        _say_csv([table_row(path.name, measured)])
    else:
        _say_take(measured)
        if svg is not None:
            say(f"Written: {svg}")
    return measured


def _record(
    box_path: str | None, card: str, path: Path, measured: Measurement, grade: str | None
) -> None:
    """Enter a measured take into the box, by the player's grade or the proposed one."""
    from drillbox.ear.log_values import log_values
    from drillbox.memory import Grade

    proposed = measured.proposal.grade
    if grade is not None:
        given = Grade.from_label(grade)
    elif proposed is not None:
        given = Grade(proposed)
    else:
        raise UsageError(
            f"not recorded: no grade is proposed ({'; '.join(measured.left_out)})",
            fix="give your own with --grade",
        )
    notes = path.suffix.lower() in {".mid", ".midi"}
    source = "self" if grade is not None else "midi" if notes else "audio"
    asked = measured.asked
    with open_box(box_path, makes=False) as box:
        take = box.record(
            box.find(card),
            asked.bpm,
            given,
            clock().now(),
            asked.seconds,
            source=source,
            measured=log_values(measured),
        )
        narrate(f"Recorded: {box.title(take.card_id)} at {take.bpm:.0f}, {given.label}.")


class _How:
    """How every take of this command is measured."""

    def __init__(
        self,
        pattern: Pattern,
        bpm: float,
        start: float | None,
        passes: int | None,
        leading: Hand,
        voices: PadVoices,
        cuts: tuple[float, ...],
    ) -> None:
        self.pattern, self.bpm, self.start, self.passes = pattern, bpm, start, passes
        self.leading, self.voices, self.cuts = leading, voices, cuts
        self.remarks: list[str] = []
        """What of the files was left out, a sentence a file."""

    def measure(self, path: Path) -> Measurement:
        """Measure one file."""
        if path.suffix.lower() in {".mid", ".midi"}:
            return self._notes(path)
        from drillbox.ear import AskedTake, find_start, measure, open_recording, passes_played

        recording = open_recording(path)
        begin = 0.0 if self.start is None else max(self.start - 12.0, 0.0)
        end = None
        if self.start is not None and self.passes is not None:
            end = self.start + 1.1 * self.passes * self.pattern.seconds(self.bpm) + 4
        samples = recording.part(begin, end)
        start = self.start
        if start is None:
            start = find_start(samples, recording.rate, self.pattern, self.bpm)
        passes = self.passes or passes_played(
            samples, recording.rate, self.pattern, self.bpm, start - begin
        )
        asked = AskedTake(self.pattern, self.bpm, passes, start - begin, self.leading)
        return measure(samples, recording.rate, asked, cuts=self.cuts).later(begin)

    def _notes(self, path: Path) -> Measurement:
        from drillbox.ear import AskedTake, measure_notes, part_played, read_midi

        notes = read_midi(path)
        if not notes:
            raise UsageError("no note is struck in this file", where=str(path), fix="record again")
        if self.start is None or self.passes is None:
            notes, remark = part_played(notes, self.pattern, self.bpm, start=self.start)
            if remark:
                self.remarks.append(f"{path}: {remark}")
        start = notes[0].seconds if self.start is None else self.start
        left = notes[-1].seconds - start
        length = self.pattern.seconds(self.bpm)
        final = max((float(s.at) for s in self.pattern.strokes), default=0.0)
        final *= self.pattern.meter.beat_seconds(self.bpm)
        passes = self.passes or max(int((left - final) / length + 0.1) + 1, 1)
        asked = AskedTake(self.pattern, self.bpm, passes, start, self.leading)
        return measure_notes(notes, asked, self.voices, cuts=self.cuts)


def _pattern(
    box_path: str | None, lines: Sequence[str], card: str | None
) -> tuple[Pattern, tuple[float, ...]]:
    """Return what is played, and the cuts between grades: a box's player may have some."""
    if bool(lines) == (card is not None):
        raise UsageError("say what is played", fix="give --lines TEXT, or --card CARD")
    from drillbox.ear import USUAL_CUTS

    if card is None:
        from drillbox.rhythm import parse

        text = "\n".join(lines).replace("\\n", "\n")
        return parse(f"{text.strip()}\n"), USUAL_CUTS
    with open_box(box_path, only_reads=True) as box:
        from drillbox.report.own_bands import cuts_of

        return box.card(box.find(card), at=clock().now()).pattern, cuts_of(box)


def _voices(keys: Sequence[str]) -> PadVoices:
    from drillbox.ear import PadVoices

    try:
        return PadVoices.read(" ".join(keys))
    except ValueError as problem:
        words = " ".join(keys)
        raise UsageError(
            f"{words!r} is no key and voice", where="--key", fix=f"give {problem}"
        ) from None


def _files(takes: Sequence[Path]) -> tuple[list[Path], bool]:
    """Return the files, folders opened, and whether a table is wanted."""
    files: list[Path] = []
    for path in takes:
        if is_folder(path):
            try:
                inside = [p for p in sorted(path.iterdir()) if p.suffix.lower() in SOUND_KINDS]
            except OSError as problem:
                told = f"the folder cannot be read: {reason(problem)}"
                raise RecordingError(told, where=str(path), fix="check the path") from None
            if not inside:
                raise UsageError(
                    "no take lies in this folder",
                    where=str(path),
                    fix="put WAV, FLAC, OGG or .mid files into it",
                )
            files += inside
        else:
            files.append(path)
    return files, len(files) > 1 or any(map(is_folder, takes))


def _all(files: Sequence[Path], how: _How, left_out: LeftOut) -> list[tuple[str, Measurement]]:
    """Measure many files with a progress bar; one that cannot be is told and passed over."""
    found: list[tuple[str, Measurement]] = []
    refused: list[DrillboxError] = []
    bar: Iterable[Path]
    with click.progressbar(files, label="measuring", file=sys.stderr) as bar:
        for path in bar:
            try:
                found.append((path.name, how.measure(path)))
            except DrillboxError as error:
                error.where = error.where or str(path)
                refused.append(error)
    for refusal in refused:
        left_out.tell(refusal)
    for sentence in how.remarks:
        narrate(sentence)
    return found


def _say_csv(rows: Sequence[dict[str, Any]]) -> None:
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    say(out.getvalue().rstrip("\n"))


def _say_takes(rows: Sequence[dict[str, Any]]) -> None:
    def cell(value: object) -> str:
        return "–" if value is None or value == "" else str(value)

    head = ("take", "heard", "missed", "not told", "spread ms", "ghosts ms", "contrast dB", "grade")
    names = ("file", "heard", "missed", "unheard", "spread_ms", "ghosts_ms", "contrast_db", "grade")
    say_table(head, [tuple(cell(row[name]) for name in names) for row in rows])


def _say_take(measured: Measurement) -> None:
    """Say what a drummer wants to know of one take."""
    from drillbox.ear import place_name, sentence
    from drillbox.ear.plain_values import GRADE_NAMES

    numbers, proposal = measured.numbers, measured.proposal
    say(sentence(measured))
    if proposal.grade is not None:
        say(f"Proposed grade: {GRADE_NAMES[proposal.grade]} ({proposal.sure:.0%} sure)")
    for why in measured.left_out:
        say(f"Left out: {why}{'' if why.endswith('?') else '.'}")
    say()
    total = len(measured.facts)
    found = f"{numbers.heard} of {counted(total, 'stroke')} heard, {numbers.missed} missed"
    if total - numbers.heard - numbers.missed:
        found += f", {total - numbers.heard - numbers.missed} not to be told from this recording"
    say(f"{found}; {numbers.extra} extra")
    if numbers.spread_ms is not None and numbers.mean_ms is not None:
        say(f"spread {numbers.spread_ms:.1f} ms; mean {numbers.mean_ms:+.1f} ms, latency included")
    if numbers.ghosts_ms is not None:
        say(f"ghosts against accents {numbers.ghosts_ms:+.1f} ms")
    if numbers.contrast_db is not None:
        say(f"accents over ghosts {numbers.contrast_db:.1f} dB")
    say(f"tempo played {numbers.bpm:.1f} bpm")
    rows = [
        (
            f"{partial.voice} {place_name(measured.asked.pattern, partial.place)}",
            partial.level.value,
            "–" if partial.mean_ms is None else f"{partial.mean_ms:+.1f}",
            "–" if partial.spread_ms is None else f"{partial.spread_ms:.1f}",
            str(partial.heard),
            str(partial.missed),
            str(partial.unheard),
        )
        for partial in numbers.partials
    ]
    say()
    say_table(("stroke", "level", "late ms", "spread", "heard", "missed", "not told"), rows)
