"""Commands that keep a box safe: backup, restore, export, import."""

from __future__ import annotations

import sys
from contextlib import ExitStack
from typing import TYPE_CHECKING

import click

from drillbox.base.files import at_home, may_be_read, there
from drillbox.base.now import Now, day_name
from drillbox.base.wording import counted
from drillbox.cli.output import say
from drillbox.cli.problems import narrate
from drillbox.cli.watching import watched, watched_file
from drillbox.cli.wiring import box_path as resolved
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import BoxError, LogError, UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from drillbox.store import LogEntry

DASH = "-"


@click.command("backup")
@click.pass_obj
def backup_command(box_path: str | None) -> None:
    """Make a backup of the box now, beside it; one is also made before each day's first take.

    For example:
      drillbox backup
    """
    with open_box(box_path, makes=False) as box:
        if box.archive.path is None:
            place = str(resolved(box_path))
            raise BoxError("there is no such box", where=place, fix="check the path")
        say(f"Backup made: {box.archive.back_up(clock().now()).path}")


@click.command("restore")
@click.argument("backup", required=False)
@click.option("--list", "listed", is_flag=True, help="List the backups, newest first.")
@click.option("--yes", is_flag=True, help="Do not ask; newer takes are kept, unless --drop-newer.")
@click.option("--drop-newer", is_flag=True, help="Leave out the takes that the backup lacks.")
@click.pass_obj
def restore_command(
    box_path: str | None, backup: str | None, listed: bool, yes: bool, drop_newer: bool
) -> None:
    """Put BACKUP, or the newest good one, in the place of the box.

    The box that was there is set aside under a dated name. Takes that it holds and the backup lacks
    are counted, and kept if you like. It asks before it does anything.

    For example:
      drillbox restore --list
      drillbox restore
      drillbox restore --yes
    """
    from drillbox.store import lacking, list_backups, newest_good, restore

    place, now = resolved(box_path), clock().now()
    if listed:
        for one in list_backups(place):
            say(f"{one.day}  {one.path}")
        return
    chosen = at_home(backup) if backup else None
    if chosen is None:
        good = newest_good(place, today=now.date())
        if good is None:
            raise _nothing_to_restore(place)
        chosen = good.path
    newer = lacking(chosen, place) if there(place) else []
    keeps = _told_and_asked(newer, asking=there(place) and not yes, drop=drop_newer)
    if there(place) and not yes and not _confirmed(f"Put {chosen} in the place of {place}?"):
        say("Nothing was changed.")
        return
    aside = restore(place, chosen, now=now, keeping=newer or () if keeps else ())
    say(f"Restored from {chosen}.")
    if newer and keeps:
        say(f"Entries kept that the backup lacks: {len(newer)}.")
    if aside is not None:
        say(f"The box that was there is now {aside}.")


def _nothing_to_restore(place: Path) -> BoxError:
    """Return the refusal where no good backup lies beside the box, and what helps."""
    from drillbox.store.backups import list_backups, unread

    fix = "name a backup that lies elsewhere: 'drillbox restore FILE'"
    if unread(list_backups(place)):
        fix = "make its backups readable first"
    elif there(place) and not may_be_read(place):
        fix = "make the box itself readable"
    return BoxError("no good backup lies beside the box", where=str(place), fix=fix)


def _told_and_asked(newer: Sequence[LogEntry] | None, *, asking: bool, drop: bool) -> bool:
    """Say what the backup lacks; return whether it is kept."""
    if newer is None:
        narrate("Nothing of the box that is there can be read.")
    if not newer:
        return True
    last = max(entry.at for entry in newer).astimezone(clock().now().tzinfo)
    narrate(
        f"Entries that the box holds and this backup lacks: {len(newer)}, the last of "
        f"{day_name(Now.of(last).day)}."
    )
    if drop or not asking:
        return not drop
    return _confirmed("Keep them?", default=True)


def _confirmed(question: str, *, default: bool = False) -> bool:
    if not sys.stdin.isatty():
        raise UsageError("a restore asks first, and nobody can answer here", fix="give --yes")
    return click.confirm(question, default=default, err=True)


@click.command("export")
@click.argument("file")
@click.pass_obj
def export_command(box_path: str | None, file: str) -> None:
    """Write the take log to FILE as JSON Lines; '-' is standard output.

    An earlier export of that name is replaced once the new one is whole; another file is not.

    For example:
      drillbox export takes.jsonl
      drillbox export - | head
    """
    from drillbox.store import replace_log, write_log

    with open_box(box_path, only_reads=True, needs=("take",)) as box:
        if file == DASH:
            write_log(box.log_lines(), sys.stdout.buffer)
            return
        written = replace_log(at_home(file), box.log_lines())
    narrate(f"{counted(written, 'entry', 'entries')} written to {file}.")


@click.command("import")
@click.argument("file")
@click.pass_obj
def import_command(box_path: str | None, file: str) -> None:
    """Take in a take log from FILE; '-' is standard input. What is here already is left alone.

    For example:
      drillbox import takes.jsonl
    """
    from drillbox.store import read_log

    with ExitStack() as held:
        # The file first: one that is not there makes no box.
        name = "standard input" if file == DASH else file
        if file == DASH:
            log = read_log(sys.stdin.buffer, name)
        else:
            log = read_log(held.enter_context(watched_file(at_home(file))), name)
        box = held.enter_context(open_box(box_path))
        try:
            new = box.merge(log, through=watched)
        except LogError as refusal:
            if refusal.where.startswith(name):
                raise
            # Of an entry that differs from the box's: it is named by its id alone.
            where = f"{name}: entry {refusal.where}"
            raise LogError(refusal.what, where=where, fix=refusal.fix) from None
    say(f"{counted(new, 'new entry', 'new entries')} taken in.")
