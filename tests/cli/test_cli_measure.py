"""`drillbox measure` as a user types it."""

from __future__ import annotations

import csv
import io
import json
import wave
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from drillbox.cli.main import run
from drillbox.rhythm import parse
from drillbox.sound import Timeline, play_along
from drillbox.sound.levels import Balance

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.deckfile import Deck

LINES = "snare: >2 >4 (1a) (3e)"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of two takes that the kit plays: one whole, one without a backbeat."""
    place = tmp_path_factory.mktemp("takes")
    pattern = parse(f"{LINES}\n")
    timeline = Timeline.steady(pattern.meter, 100, bars=4, count_in_bars=1, pass_bars=1)
    sound = play_along(pattern, timeline, balance=Balance(click_db=-120.0))
    samples = sound.block(0, (sound.frames_total or 0) + 24000)
    hole = samples.copy()
    hole[int(5.38 * 48000) : int(5.7 * 48000)] *= 0
    for name, each in (("whole", samples), ("hole", hole)):
        with wave.open(str(place / f"{name}.wav"), "wb") as file:
            file.setparams((1, 2, 48000, 0, "NONE", ""))
            rng = np.random.default_rng(1)
            noisy = each + rng.normal(size=each.size) * 1e-4
            file.writeframes((noisy * 32767).astype("<i2").tobytes())
    return place


def said(capfd: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Return exit code and both streams of a command."""
    code = run(["measure", *words])
    out, err = capfd.readouterr()
    return code, out, err


def test_one_take_as_values(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """The interface of the design: strokes, missed, unheard and the numbers, in JSON."""
    path = str(folder / "whole.wav")
    code, out, _ = said(capfd, path, "--lines", LINES, "--bpm", "100", "--start", "2.4", "--json")
    values = json.loads(out)

    assert 0 == code
    assert 4 == values["passes"]
    assert list(range(16)) == [stroke["expected"] for stroke in values["strokes"]]
    assert [] == values["missed"] == values["unheard"]
    assert 0 == values["extra"]
    assert 3.0 == pytest.approx(values["strokes"][1]["at"], abs=0.003)
    assert {"at", "level_db", "voice", "expected", "offset_ms"} <= set(values["strokes"][0])
    assert {"mean_ms", "spread_ms", "contrast_db", "grade", "sure", "left_out"} <= set(values)


def test_a_folder_as_a_table(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Every take of a folder is a row, found without a start; what is no take is told."""
    (folder / "broken.wav").write_bytes(b"RIFF")
    code, out, err = said(capfd, str(folder), "--lines", LINES, "--bpm", "100", "--csv")
    rows = {row["file"]: row for row in csv.DictReader(io.StringIO(out))}
    (folder / "broken.wav").unlink()

    assert 4 == code  # one of them cannot be read, and a script sees it
    assert {"hole.wav", "whole.wav"} == set(rows)
    assert "15" == rows["hole.wav"]["heard"]
    assert "1" == rows["hole.wav"]["missed"]
    assert "broken.wav" in err
    assert "Traceback" not in err


def test_a_take_in_words_and_as_a_picture(
    folder: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """A sentence, the proposed grade, a row a partial; the picture is well-formed."""
    picture = tmp_path / "take.svg"
    words = ("--lines", LINES, "--bpm", "100", "--start", "2.4", "--svg", str(picture))
    code, out, _ = said(capfd, str(folder / "whole.wav"), *words)

    assert 0 == code
    assert "Proposed grade: automatic" in out
    assert "snare a of 1" in out
    assert ET.parse(picture).getroot().tag.endswith("svg")


@pytest.mark.parametrize(
    "words",
    [
        ("no.wav", "--lines", LINES, "--bpm", "100"),
        ("{whole}", "--bpm", "100"),
        ("{whole}", "--lines", "snare: 9", "--bpm", "100"),
        ("{whole}", "--lines", LINES, "--bpm", "100", "--start", "99"),
        ("{whole}", "--lines", LINES, "--bpm", "100", "--key", "snare"),
        ("{folder}", "--lines", LINES, "--bpm", "100", "--svg", "x.svg"),
    ],
)
def test_what_cannot_be_meant_gets_one_sentence(
    folder: Path, capfd: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    """No file, no pattern, a start past the end, a picture of many: a sentence and an exit code."""
    put = {"whole": str(folder / "whole.wav"), "folder": str(folder)}
    code, out, err = said(capfd, *(word.format(**put) for word in words))

    assert 0 != code
    assert "" == out
    assert 1 == err.count("\n")


def test_a_take_is_recorded_with_what_was_measured(
    folder: Path, tmp_path: Path, small_deck: Deck, capfd: pytest.CaptureFixture[str]
) -> None:
    """The box keeps the proposed grade and the numbers, and the card tells them."""
    deck, box = tmp_path / "deck.toml", str(tmp_path / "player.box")
    deck.write_text(small_deck.text, encoding="utf-8")
    run(["--box", box, "decks", "add", str(deck)])
    words = ["measure", str(folder / "whole.wav"), "--card", "a", "--bpm", "100", "--start", "2.4"]
    assert 0 != run(["--box", box, *words, "--record"])
    capfd.readouterr()
    assert 0 == run(["--box", box, *words, "--record", "--grade", "shaky"])
    _, told = capfd.readouterr()
    run(["--box", box, "card", "a"])
    out, _ = capfd.readouterr()

    assert "Recorded: " in told
    assert "shaky" in told
    assert "1 take measured" in out


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--bpm", "nan"), "'nan' is no number"),
        (("--bpm", "80", "--start", "nan"), "'nan' is no number"),
        (("--bpm", "80", "--start", "1e308", "--passes", "500"), "is not from 0 to 86400"),
    ],
)
def test_numbers_that_are_none_get_one_sentence(
    folder: Path, capfd: pytest.CaptureFixture[str], options: tuple[str, ...], told: str
) -> None:
    """No number and a number beyond any recording are refused as they are typed."""
    code, out, err = said(capfd, str(folder / "whole.wav"), "--lines", LINES, *options)

    assert (2, "") == (code, out)
    assert told in err
    assert 1 == err.count("\n")
