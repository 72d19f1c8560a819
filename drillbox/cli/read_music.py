"""The command that reads rhythms out of other programs' files: read."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.base.files import at_home
from drillbox.base.tempi import ASKED
from drillbox.base.wording import counted
from drillbox.cli.number_options import Whole
from drillbox.cli.output import json_option, say, say_json
from drillbox.cli.path_kinds import FILE
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.paper import Found, Transcript
    from drillbox.rhythm import Voice

HIGHEST_KEY = 127
GOAL_BPM = 90
_PLACES_SHOWN = 6


@click.command("read")
@click.argument("file", type=FILE)
@click.option("--bars", type=Whole(1, 64), help="Bars of one rhythm. Default: as marked.")
@click.option("--key", "keys", multiple=True, help="KEY=VOICE: what a MIDI key is, or KEY=nothing.")
@click.option("-o", "--out", type=FILE, help="Write a deck file.")
@json_option
def read_command(
    file: Path, bars: int | None, keys: tuple[str, ...], out: Path | None, as_json: bool
) -> None:
    """Read FILE, MusicXML or MIDI, as rhythms in the spoken notation.

    It is cut into sections, or into bars where it marks none; a rhythm that comes again is given
    once. What was moved onto a grid, by how much, what each velocity was taken for and what was
    left out is said at the end. MIDI keys are those of General MIDI but for what --key says.

    For example:
      drillbox read fills.mid
      drillbox read fills.mid --key 39=snare --key 54=nothing -o fills.toml
      drillbox read exercise.musicxml --bars 2
    """
    from drillbox.base.files import content_of
    from drillbox.errors import ExchangeError
    from drillbox.paper import MAX_FILE_BYTES, read_music, transcribed

    table = dict(map(_key, keys))
    if out is not None and out.suffix != ".toml":
        raise UsageError("a deck is a .toml file", where=str(out), fix="name it such as fills.toml")
    data = content_of(at_home(file), most=MAX_FILE_BYTES, error=ExchangeError)
    read = transcribed(read_music(data, str(file), table), bars=bars)
    if as_json:
        say_json(_object(read))
    else:
        for found in read.found:
            say(_head(found))
            say(_notation(found))
        for sentence in read.report:
            say(sentence)
    if out is not None:
        _write_deck(read, file, out)


def _head(found: Found) -> str:
    places = ", ".join(map(str, found.bars[:_PLACES_SHOWN]))
    more = len(found.bars) - _PLACES_SHOWN
    if more > 0:
        places += f" and {counted(more, 'more place')}"
    if len(found.bars) == 1 and found.title == f"bar {places}":
        return f"{found.title}:"
    return f"{found.title} (bar{'s' if len(found.bars) > 1 else ''} {places}):"


def _notation(found: Found) -> str:
    from drillbox.rhythm import spell

    return spell(found.pattern)


def _object(read: Transcript) -> dict[str, object]:
    from drillbox.rhythm import fingerprint

    return {
        "bpm": read.bpm and round(read.bpm, 2),
        "rhythms": [
            {
                "title": found.title,
                "card_id": fingerprint(found.pattern),
                "bars": list(found.bars),
                "pattern": _notation(found),
            }
            for found in read.found
        ],
        "report": list(read.report),
    }


def _write_deck(read: Transcript, file: Path, out: Path) -> None:
    """Write what was read as a deck to be edited, and hold it to the rules of decks."""
    from drillbox.cli.deckwriter import write_new
    from drillbox.deckfile import draft_text, parse_deck

    if not read.found:
        raise UsageError("no rhythm was found", where=str(file), fix="look at what was left out")
    cards = [(found.title or f"bar {found.bars[0]}", found.pattern, "") for found in read.found]
    goal = ASKED.nearest(read.bpm or GOAL_BPM)
    text = draft_text(out.stem, cards, goal_bpm=goal, about=f"Read from {file.name}.")
    deck = parse_deck(text, name=str(out))
    write_new(out, text.encode())
    say(f"Written: {out}, {counted(len(deck.cards), 'card')}; give them titles and goals.")


def _key(text: str) -> tuple[int, Voice | None]:
    """Read an entry of the table of keys."""
    from drillbox.rhythm import Voice

    key, _, name = text.partition("=")
    voices: dict[str, Voice | None] = {str(voice): voice for voice in Voice}
    voices["nothing"] = None
    number = int(key) if key.isascii() and key.isdigit() and len(key) <= 3 else -1
    if not 0 <= number <= HIGHEST_KEY or name not in voices:
        raise UsageError(
            f"cannot read {text!r} as a key",
            fix=f"write KEY=VOICE, a key of 0 to {HIGHEST_KEY} and one of {', '.join(voices)}",
        )
    return number, voices[name]
