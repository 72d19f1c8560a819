"""Coverage-guided fuzzing of every file reader.

Never a traceback, never over a second, never over 200 MB.

Run: ``python tests/bench/fuzz_readers.py [RUNS] [READER ...]``; 50,000 runs each by default, a few
minutes in all. Needs atheris (https://github.com/google/atheris, libFuzzer for Python), which is no
dependency of drillbox: ``pip install atheris``. Each reader runs in a child of its own, from seeds
that are good files, with a fixed random seed; the child instruments drillbox, tomllib, json and
zipfile, so that inputs which reach new code are kept and changed further. Packed decks are also
changed inside, under checksums that fit, for a changed zip is refused at its door.

An input fails if anything but one of drillbox's own errors comes out, if it takes more than a
second of processor time, or if the process grows by more than 200 MB. It is then printed, and the
program ends with 1. After the fuzzing, the worst time, the growth and the number of inputs that
were read without complaint are printed for each reader.
"""

from __future__ import annotations

import hashlib
import io
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
import zipfile
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

RUNS = 50_000
LONGEST_INPUT = 1 << 16
SECONDS, MEGABYTES = 1.0, 200
ROOT = Path(__file__).resolve().parents[2]
MANIFEST = "manifest.json"


def reader_of(name: str) -> Callable[[bytes], object]:
    """Return what reads the bytes of one kind of file."""
    from drillbox.deckfile import parse_deck
    from drillbox.deckfile.packing import unpack
    from drillbox.paper import read_music, transcribed
    from drillbox.store import read_log
    from drillbox.studio import read_progress, read_reply

    readers: dict[str, Callable[[bytes], object]] = {
        "deck": lambda data: parse_deck(data.decode("utf-8", "replace"), name="fuzz"),
        "log": lambda data: list(read_log(io.BytesIO(data), "fuzz")),
        "packed": lambda data: unpack(data, name="fuzz"),
        "midi": lambda data: transcribed(read_music(data, "fuzz.mid")),
        "musicxml": lambda data: transcribed(read_music(data, "fuzz.musicxml")),
        "progress": lambda data: read_progress(io.BytesIO(data), "fuzz"),
        "reply": lambda data: read_reply(data, "fuzz"),
    }
    return readers[name]


def seeds_of(name: str) -> Iterator[bytes]:
    """Give good files of one kind, small enough to be changed well."""
    from drillbox.deckfile import starter_decks
    from drillbox.deckfile.packing import pack

    decks = [starter.read() for starter in starter_decks()]
    if name == "deck":
        yield from (deck.text.encode()[:LONGEST_INPUT] for deck in decks)
    elif name == "packed":
        small = sorted(decks, key=lambda deck: len(deck.text))[:2]
        yield from (pack(small), pack(small[:1]))
    elif name in {"midi", "musicxml"}:
        yield from exchange_files(name)
    elif name == "log":
        yield (ROOT / "tests/store/released/version-1.jsonl").read_bytes()
    elif name == "reply":
        yield reply_file()
    else:
        yield progress_file()


def exchange_files(name: str) -> Iterator[bytes]:
    """Give a few starter cards as files of another program."""
    from drillbox.deckfile import read_starter_decks
    from drillbox.paper import Collection, Exercise, midi_file, musicxml

    for deck in read_starter_decks()[:3]:
        cards = deck.cards[:4]
        exercises = tuple(Exercise(card.title, card.pattern, card.goal_bpm) for card in cards)
        collection = Collection(deck.title, exercises)
        yield midi_file(collection) if name == "midi" else musicxml(collection)


def reply_file() -> bytes:
    """Return a teacher's reply."""
    from drillbox.studio import Goal, Reply, Wanted, write_reply

    at = datetime(2026, 3, 12, 18, 30, tzinfo=UTC)
    wanted = (Wanted("3f6c0a9be4d21785", at.date(), 84.0),)
    goals = (Goal("55c403d4ef21d6f8", 84.0),)
    out = io.BytesIO()
    write_reply(Reply("", "ab" * 16, "A. Teacher", at, "Lower ghosts.", wanted, goals), out)
    return out.getvalue()


def progress_file() -> bytes:
    """Return a progress file of a student who has played."""
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.deckfile import read_starter_decks
    from drillbox.memory import Grade
    from drillbox.report.progress_file import progress_of
    from drillbox.studio import write_progress

    at = datetime(2026, 3, 12, 18, 30, tzinfo=UTC)
    with Box.open(":memory:", clock=ManualClock(at)) as box:
        box.put_deck(min(read_starter_decks(), key=lambda deck: len(deck.cards)), at=at)
        for number, card in enumerate(box.cards(at=at)[:4] * 3):
            then = at + timedelta(days=number // 4, minutes=number)
            box.record(card.card_id, bpm=80, grade=Grade.CLEAN, at=then, seconds=30)
        made = progress_of(
            box,
            at=at + timedelta(days=3),
            new_id=lambda: "ab" * 16,
            name="A. Student",
        )
    out = io.BytesIO()
    write_progress(made, out)
    return out.getvalue()


def repacked(data: bytes, change: Callable[[bytes, int], bytes], chance: random.Random) -> bytes:
    """Change a file inside a packed one, and its checksum with it.

    What cannot be opened is changed as it is.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            contents = {entry: archive.read(entry) for entry in archive.namelist()}
        manifest = json.loads(contents[MANIFEST])
        one = chance.choice([entry for entry in contents if entry != MANIFEST])
        contents[one] = change(contents[one], LONGEST_INPUT)
        for deck in manifest["decks"]:
            if deck["file"] == one:
                deck["sha256"] = hashlib.sha256(contents[one]).hexdigest()
        contents[MANIFEST] = json.dumps(manifest).encode()
    except Exception:  # noqa: BLE001 - any broken archive there is
        return change(data, LONGEST_INPUT)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for entry, content in contents.items():
            archive.writestr(entry, content)
    return out.getvalue()


def grown() -> int:
    """Return the most memory this process has had, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def fuzz(name: str, runs: int) -> None:
    """Fuzz one reader in this process, which libFuzzer ends."""
    import atheris

    with atheris.instrument_imports(include=["drillbox", "tomllib", "json", "zipfile"]):
        read = reader_of(name)
    from drillbox.errors import DrillboxError

    chance, worst, fine, began = random.Random(1), [0.0], [0], grown()
    done = [0]

    def one(data: bytes) -> None:
        before = time.process_time()
        with suppress(DrillboxError):
            read(data)
            fine[0] += 1
        done[0] += 1
        worst[0] = max(worst[0], time.process_time() - before)
        if worst[0] > SECONDS:
            raise TimeoutError(f"{worst[0]:.2f} s")
        if grown() - began > MEGABYTES:
            raise MemoryError(f"{grown() - began} MB")
        if done[0] == runs:
            print(
                f"{name}: {runs} inputs, {fine[0]} of them good, worst {worst[0]:.2f} s, "
                f"grew by {grown() - began} MB",
                flush=True,
            )

    def mutate(data: bytes, most: int, seed: int) -> bytes:
        chance.seed(seed)
        if chance.random() < 0.5:
            return repacked(data, atheris.Mutate, chance)[:most]
        return bytes(atheris.Mutate(data, most))

    with tempfile.TemporaryDirectory() as corpus:
        for number, seed in enumerate(seeds_of(name)):
            (Path(corpus) / f"seed-{number}").write_bytes(seed)
        options = [f"-atheris_runs={runs}", f"-max_len={LONGEST_INPUT}", "-seed=1", "-timeout=20"]
        options += ["-rss_limit_mb=2048", "-verbosity=0", "-print_final_stats=0"]
        own = {"custom_mutator": mutate} if name == "packed" else {}
        atheris.Setup([sys.argv[0], *options, corpus], one, **own)
        atheris.Fuzz()


def main() -> int:
    """Fuzz the readers one after the other, each in a child; return whether one failed."""
    arguments = sys.argv[1:]
    if arguments[:1] == ["child"]:
        fuzz(arguments[1], int(arguments[2]))
        return 0
    runs = int(arguments[0]) if arguments else RUNS
    names = arguments[1:] or ["deck", "log", "midi", "musicxml", "packed", "progress", "reply"]
    failed = 0
    for name in names:
        with tempfile.TemporaryDirectory() as folder:
            child = subprocess.run(
                [sys.executable, __file__, "child", name, str(runs)],
                cwd=folder,
                env={"PYTHONPATH": str(ROOT), "PATH": ""},
                capture_output=True,
                text=True,
                check=False,
            )
            print(child.stdout, end="", flush=True)
            if child.returncode:
                failed = 1
                print(f"{name}: FAILED\n{child.stderr[-4000:]}")
                for found in Path(folder).glob("*-*"):
                    print(f"{found.name}: {found.read_bytes()[:2000]!r}")
    return failed


if __name__ == "__main__":
    sys.exit(main())
