"""The command that brings two machines together: merge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.base.files import at_home, is_folder, reason, there
from drillbox.cli.output import moment, say
from drillbox.cli.path_kinds import FILE_OR_FOLDER
from drillbox.cli.problems import LeftOut, narrate
from drillbox.cli.watching import watched, watched_file
from drillbox.cli.wiring import box_path as resolved
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import LogError, NotSavedError, UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.box import Box
    from drillbox.store import Holdings, Joined, Setting, Wish

ENDINGS = (".box", ".jsonl")


@click.command("merge")
@click.argument("other", type=FILE_OR_FOLDER)
@click.option("--both", is_flag=True, help="Bring this box into OTHER as well.")
@click.pass_obj
def merge_command(box_path: str | None, other: Path, both: bool) -> int:
    """Bring OTHER into this box: another box, an exported log, or a folder with some of them.

    Takes of both count, each once. Of two goals, importances, rests or settings that differ, the
    newest stands, and each such decision is printed. Merge in any order and as often as you like:
    it comes to the same. OTHER is only read, unless you give --both: then an empty folder gets its
    first box. Decks do not travel, nor do the sound device and its delay. What of a folder cannot
    be taken in is named and left out, and the exit code says so.

    For example:
      drillbox merge /media/stick/upstairs.box
      drillbox merge ~/shared/drums --both
    """
    here = resolved(box_path)
    sources = _sources(at_home(other), here, both=both)
    left_out = LeftOut()
    if not both and not there(sources[0]):
        _read(sources[0])  # refuses before a box is made for it
    with open_box(box_path) as box:
        met = []
        for source in sources:
            if both and not there(source):  # the first box of a shared folder
                met.append(source)
                continue
            with left_out.goes_on(alone=source == at_home(other), ends=(NotSavedError,)):
                _bring(box, source)
                met.append(source)
        for source in met if both else ():
            with left_out.goes_on(alone=source == at_home(other)):
                _give(box, source)
    return left_out.exit_code


def _sources(other: Path, here: Path, *, both: bool) -> list[Path]:
    """Return the files that are meant, without this box itself."""
    if not is_folder(other):
        if _is_same(other, here):
            raise UsageError("this is the box itself", where=str(other), fix="name the other one")
        return [other]
    try:
        found = [
            path
            for path in sorted(other.iterdir())
            if path.suffix in ENDINGS and path.is_file() and not path.name.startswith(".")
        ]
    except OSError as error:
        what = f"the folder cannot be read: {reason(error)}"
        raise LogError(what, where=str(other), fix="check the path") from None
    others = [path for path in found if not _is_same(path, here)]
    if not others and both:
        # The first of several machines starts the shared folder with a box of its own name.
        return [other / here.with_suffix(ENDINGS[0]).name]
    if not others:
        raise UsageError(
            "no other box and no log lies in this folder",
            where=str(other),
            fix=f"their names end in {' or '.join(ENDINGS)}",
        )
    return others


def _is_same(one: Path, other: Path) -> bool:
    """Return whether two paths lead to one file; those that lead nowhere do not."""
    try:
        return one.samefile(other)
    except OSError:
        return False


def _read(source: Path) -> Holdings:
    from drillbox.box import Box
    from drillbox.store import Holdings, is_box, read_log

    if is_box(source):
        with Box.open(source, clock=clock(), read_only=True) as other:
            return other.holdings()
    with watched_file(source) as file:
        return Holdings(tuple(read_log(file, str(source))))


def _bring(box: Box, source: Path) -> None:
    from drillbox.store import TakeRow

    holdings = _read(source)
    try:
        joined = box.join(holdings, through=watched)
    except LogError as refusal:  # it names a setting; of several files, which one has it?
        where = f"{source}: {refusal.where}"
        raise LogError(refusal.what, where=where, fix=refusal.fix) from None
    say(
        f"{source}: new entries: {joined.entries};"
        f" wishes and settings taken over: {joined.choices}."
    )
    for line in _decisions(box, joined):
        say(f"  {line}")
    unknown = {entry.card_id for entry in holdings.log if isinstance(entry, TakeRow)}
    unknown -= {card.card_id for card in box.cards(at=clock().now())}
    if unknown:
        narrate(
            f"Cards with takes that are in no deck of this box: {len(unknown)}; "
            "their takes count once a deck with them is added."
        )


def _decisions(box: Box, joined: Joined) -> list[str]:
    lines = []
    for wish in joined.wishes:
        name = _title(box, wish.kept.card_id)
        lines.append(
            _decided(name, _wanted(wish.kept), _wanted(wish.dropped), wish.from_other, wish.kept)
        )
    for one in joined.settings:
        values = (_value(box, one.kept), _value(box, one.dropped))
        lines.append(_decided(_setting_name(box, one.kept), *values, one.from_other, one.kept))
    return lines


def _setting_name(box: Box, setting: Setting) -> str:
    kind, _, card_id = setting.key.partition("/")
    return f"what {_title(box, card_id)} carries on" if card_id else kind.replace("_", "-")


def _value(box: Box, setting: Setting) -> str:
    if "/" in setting.key:
        return _title(box, str(setting.value))
    # The student of progress files is an id and a name; the name is what says something.
    return str(setting.value.get("name") if isinstance(setting.value, dict) else setting.value)


def _decided(name: str, kept: str, dropped: str, from_other: bool, choice: Wish | Setting) -> str:
    where = "there" if from_other else "here"
    return f"{name}: {kept}, set {where} on {moment(choice.at)}, stands over {dropped}"


def _wanted(wish: Wish) -> str:
    """Return a wish in words."""
    goal = "the deck's goal" if wish.goal_bpm is None else f"goal {wish.goal_bpm:g}"
    weight = "" if wish.importance is None else f", importance {wish.importance:g}"
    return f"{goal}{weight}{', rested' if wish.resting else ''}"


def _title(box: Box, card_id: str) -> str:
    from drillbox.errors import UnknownCardError

    try:
        return box.title(card_id)
    except UnknownCardError:
        return f"card {card_id}"


def _give(box: Box, source: Path) -> None:
    from drillbox.box import Box
    from drillbox.store import is_box, replace_log

    holdings = box.holdings()
    if there(source) and not is_box(source):
        replace_log(source, holdings.log)
        say(f"{source}: entries it holds now: {len(holdings.log)}.")
        return
    with Box.open(source, clock=clock()) as other:
        joined = other.join(holdings, through=watched)
    say(f"{source}: entries given: {joined.entries}; wishes and settings given: {joined.choices}.")
