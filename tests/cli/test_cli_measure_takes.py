"""Takes measured by a command: what of a recording is read, what is said, what is recorded."""

from __future__ import annotations

import csv
import io
import json
import re
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import mido
import pytest
from cli_kit import midi

from drillbox.cli import measure_takes
from drillbox.cli.problems import LeftOut
from drillbox.ear import PadVoices
from drillbox.errors import RecordingError
from drillbox.rhythm import Hand, parse

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Player


class Ear:
    """An ear that notes what it is asked to listen to."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.parts: list[tuple[float, float | None]] = []
        self.asked: list[Any] = []
        self.later: list[float] = []
        self.cuts: list[Any] = []
        patch.setattr("drillbox.ear.open_recording", lambda _: self)
        patch.setattr("drillbox.ear.find_start", lambda *_: 7.5)
        patch.setattr("drillbox.ear.passes_played", lambda *given: int(given[-1] * 2))
        patch.setattr("drillbox.ear.measure", self._measure)
        self.rate = 48_000

    def part(self, begin: float, end: float | None) -> str:
        """Give a part of the recording."""
        self.parts.append((begin, end))
        return "samples"

    def _measure(self, samples: str, rate: int, asked: Any, *, cuts: Any) -> Any:
        assert ("samples", self.rate) == (samples, rate)
        self.asked.append(asked)
        self.cuts.append(cuts)
        return SimpleNamespace(later=self.later.append)


@pytest.mark.parametrize(
    ("start", "passes", "part", "begins", "plays"),
    [
        (None, None, (0.0, None), 7.5, 15),
        (None, 4, (0.0, None), 7.5, 4),
        (20.0, None, (8.0, None), 12.0, 24),
        (5.0, None, (0.0, None), 5.0, 10),
        # Four passes of a bar of 4/4 at 120 are 8 s; a tenth more and four seconds after the start.
        (20.0, 4, (8.0, 20.0 + 1.1 * 8.0 + 4.0), 12.0, 4),
    ],
)
def test_a_recording_is_read_where_the_take_may_be(
    *, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, start: float | None, passes: int | None,
    part: tuple[float, float | None], begins: float, plays: int,
) -> None:  # fmt: skip
    """Twelve seconds before its start and a little past its end, else all of it."""
    ear, pattern = Ear(monkeypatch), parse("snare: >2 >4 (e)\n")
    how = measure_takes._How(
        pattern, 120.0, start, passes, Hand.LEFT, PadVoices.read(""), (1.0, 2.0)
    )
    how.measure(tmp_path / "take.wav")
    (asked,) = ear.asked

    assert [part] == [(begin, end and pytest.approx(end)) for begin, end in ear.parts]
    assert (begins, plays, 120.0, Hand.LEFT, pattern) == (
        asked.start, asked.passes, asked.bpm, asked.leading, asked.pattern,
    )  # fmt: skip
    assert ([part[0]], [(1.0, 2.0)]) == (ear.later, ear.cuts)


def test_a_pads_take_is_measured_from_its_first_note(player: Player) -> None:
    """Without a start and passes, both are told from the notes; all forms say the same numbers."""
    path = midi(player)
    values = player.values("measure", str(path), "--card", "e", "--bpm", "90")
    given = player.values(
        "measure", str(path), "--card", "e", "--bpm", "90", "--start", "0", "--passes", "8"
    )
    fewer = player.values("measure", str(path), "--card", "e", "--bpm", "90", "--passes", "3")
    assert ([], [], 0.0, 8) == (
        values["missed"], values["unheard"], values["start"], values["passes"],
    )  # fmt: skip
    assert values == given
    many = len(values["expected"])
    assert (3, 8 * len(fewer["expected"])) == (fewer["passes"], 3 * many)
    out = player("measure", str(path), "--card", "e", "--bpm", "90", "--csv").out
    (row,) = csv.DictReader(io.StringIO(out))
    assert (str(many), "0", "8") == (row["heard"], row["missed"], row["passes"])
    assert "take.mid" == row["file"]
    said = player("measure", str(path), "--card", "e", "--bpm", "90").out
    assert f"{many} of {many} strokes heard, 0 missed; 0 extra\n" in said
    assert "tempo played 90.0 bpm\n" in said
    picture = player.path.with_name("take.svg")
    said = player("measure", str(path), "--card", "e", "--bpm", "90", "--svg", str(picture)).out
    assert said.endswith(f"\nWritten: {picture}\n")
    assert picture.read_text(encoding="utf-8").startswith("<svg")


def test_takes_of_a_folder_are_rows(player: Player) -> None:
    """In order of their names; what is no take is passed over, what cannot be read is told."""
    folder = player.path.parent / "takes"
    folder.mkdir()
    for name in ("b.mid", "a.MIDI"):
        midi(player).rename(folder / name)
    (folder / "notes.txt").write_text("x")
    (folder / "c.mid").write_bytes(b"nonsense")
    said = player("measure", str(folder), "--card", "e", "--bpm", "90")
    head, *rows = said.out.splitlines()
    assert ["a.MIDI", "b.mid"] == [row.split()[0] for row in rows]
    assert re.split(r" {2,}", head)[:4] == ["take", "heard", "missed", "not told"]
    assert (4, 1) == (said.code, said.err.count("left out: " + str(folder / "c.mid")))
    (folder / "c.mid").unlink()
    values = player.values("measure", str(folder), "--card", "e", "--bpm", "90")
    assert ["a.MIDI", "b.mid"] == [value["file"] for value in values]
    table = player("measure", str(folder), "--card", "e", "--bpm", "90", "--csv").out
    assert ["a.MIDI", "b.mid"] == [row["file"] for row in csv.DictReader(io.StringIO(table))]
    one = folder / "b.mid"
    assert 1 == len(player("measure", str(one), str(one), "--card", "e", "--bpm", "90").out
                    .splitlines()) - 2  # fmt: skip
    only = player.path.parent / "only"
    only.mkdir()
    assert "no take lies in this folder" in player("measure", str(only), "--bpm", "9",
                                                   "--card", "e").err  # fmt: skip
    (only / "x.mid").write_bytes(b"nonsense")
    said = player("measure", str(only), "--card", "e", "--bpm", "90")
    assert (2, True) == (said.code, "none of these takes could be measured" in said.err)


@pytest.mark.parametrize(
    ("words", "code", "what"),
    [
        (("--card", "e", "--bpm", "7.9"), 2, "--bpm: 7.9 is not from 8 to 400"),
        (("--card", "e"), 2, "--bpm"),
        (("--card", "e", "--bpm", "90", "--start", "86401"), 2, "86400"),
        (("--card", "e", "--bpm", "90", "--passes", "0"), 2, "is not from 1 to 500"),
        (("--card", "e", "--bpm", "90", "--passes", "501"), 2, "is not from 1 to 500"),
        (("--bpm", "90"), 2, "say what is played"),
        (("--card", "e", "--lines", "snare: 1", "--bpm", "90"), 2, "say what is played"),
        (("--lines", "snare: 1", "--bpm", "90", "--record"), 2, "one take of one card"),
        (("--card", "e", "--bpm", "90", "--key", "x=y"), 2, "is no key and voice"),
        (("--card", "nope", "--bpm", "90"), 5, "no card 'nope'"),
        (("--card", "e", "--bpm", "90", "--svg", "/no/such/x.svg"), 7, "choose another place"),
    ],
)  # fmt: skip
def test_what_cannot_be_measured_is_one_sentence(
    player: Player, words: tuple[str, ...], code: int, what: str
) -> None:
    """With its code, and nothing recorded."""
    path = midi(player)
    said = player("measure", str(path), *words)
    assert (code, True) == (said.code, what in said.err)
    assert 1 == len(said.err.splitlines())
    assert [] == player.values("card", "e")["history"]


def test_two_takes_are_no_picture_and_no_record(player: Player) -> None:
    """A picture is of one take, and so is a record."""
    path = str(midi(player))
    usual = (path, path, "--card", "e", "--bpm", "90")
    assert "one picture cannot hold several takes" in player("measure", *usual, "--svg", "x").err
    assert "one take of one card can be recorded" in player("measure", *usual, "--record").err


@pytest.mark.parametrize(
    ("words", "grade", "source"),
    [((), None, "midi"), (("--grade", "shaky"), "shaky", "self")],
)
def test_a_measured_take_is_recorded_as_whose_grade_it_is(
    player: Player, words: tuple[str, ...], grade: str | None, source: str
) -> None:
    """The pad's where the proposal stands, the player's own where it is given."""
    path = midi(player)
    said = player("measure", str(path), "--card", "e", "--bpm", "90", "--record", *words)
    (take,) = player.values("card", "e")["history"]
    proposed = re.search(r"Proposed grade: ([a-z ]+) \(", said.out)
    assert proposed is not None
    assert (90.0, grade or proposed[1], source) == (take["bpm"], take["grade"], take["source"])
    assert f"Recorded: e of every beat at 90, {take['grade']}.\n" == said.err
    assert 8 * 4 * 60 / 90 == pytest.approx(take["seconds"])
    with player.box() as box:
        (row,) = box.archive.takes()
    assert row.measures is not None
    assert "ear" in row.measures


def test_a_take_without_a_proposal_wants_a_grade(
    player: Player, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Why none is proposed is said, and nothing is recorded."""
    path = midi(player)
    said = player("measure", str(path), "--card", "e", "--bpm", "90", "--passes", "1", "--record")
    if said.code == 0:
        pytest.skip("one pass is enough for a proposal")
    assert 2 == said.code
    assert "not recorded: no grade is proposed" in said.err
    assert "give your own with --grade" in said.err
    assert [] == player.values("card", "e")["history"]
    del monkeypatch


def test_a_take_that_fails_is_told_with_its_place(
    player: Player, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its file's name stands in front where the error does not say it."""
    errors = {"a": RecordingError("too short"), "b": RecordingError("cut", where="b.wav")}

    class How:
        remarks = ()

        def measure(self, path: Path) -> Any:
            raise errors[path.stem]

    files = [player.path.with_name("a.wav"), player.path.with_name("b.wav")]
    left_out = LeftOut()
    assert [] == measure_takes._all(files, How(), left_out)  # type: ignore[arg-type]
    told = [line.partition("left out: ")[2] for line in capsys.readouterr().err.splitlines()[-2:]]
    assert [f"{files[0]}: too short.", "b.wav: cut."] == told
    assert RecordingError.exit_code == left_out.exit_code
    del monkeypatch


def test_an_hour_between_two_takes_is_cut_out_and_said(player: Player) -> None:
    """A recorder that ran on: the longest part is measured; a folder says so a file, a start too.

    Written with mido, an independent writer of MIDI files.
    """
    takes = player.path.with_name("takes")
    takes.mkdir()
    file = mido.MidiFile(midi(player, "whole.mid"))
    track = mido.merge_tracks(file.tracks)
    tempo = next(one.tempo for one in track if one.type == "set_tempo")
    first = next(place for place, one in enumerate(track) if one.type == "note_on")
    later = track[first].time + mido.second2tick(3600, file.ticks_per_beat, tempo)
    track[first] = track[first].copy(time=later)
    track.insert(first, mido.Message("note_on", channel=9, note=38, velocity=90))
    file.tracks[:] = [track]
    file.save(takes / "long.mid")
    how = ("--card", "e", "--bpm", "90")
    alone = player("measure", str(takes / "long.mid"), *how, "--json")
    remark = (
        f"{takes / 'long.mid'}: nothing is played for 60 minutes: only the longest part is measured"
    )

    assert remark in alone.err
    assert ([], 8) == (json.loads(alone.out)["missed"], json.loads(alone.out)["passes"])
    assert remark in player("measure", str(takes), *how).err
    assert 4 == player("measure", str(takes / "long.mid"), *how, "--start", "60").code
    whole = player("measure", str(takes / "long.mid"), *how, "--start", "3600", "--passes", "8")
    assert (0, "") == (whole.code, whole.err)
