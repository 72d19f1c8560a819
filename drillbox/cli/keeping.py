"""Commands that keep a box safe: backup, restore, export, import."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from drillbox.cli.output import say
from drillbox.cli.problems import narrate
from drillbox.cli.watching import watched, watched_file
from drillbox.cli.wiring import box_path as resolved
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import LogError, NotSavedError, UnknownCardError

DASH = "-"


@click.command("backup")
@click.pass_obj
def backup_command(box_path: str | None) -> None:
    r"""Make a backup of the box now, beside it; one is also made before each day's first take.

    \b
    Example:
      drillbox backup
    """
    with open_box(box_path) as box:
        say(f"Backup made: {box.archive.back_up(clock().now()).path}")


@click.command("restore")
@click.argument("backup", required=False)
@click.option("--list", "listed", is_flag=True, help="List the backups, newest first.")
@click.pass_obj
def restore_command(box_path: str | None, backup: str | None, listed: bool) -> None:
    r"""Put BACKUP, or the newest good one, in the place of the box.

    The box that was there is set aside.

    \b
    Examples:
      drillbox restore --list
      drillbox restore
    """
    from drillbox.store import list_backups, newest_good, restore

    place, now = resolved(box_path), clock().now()
    if listed:
        for one in list_backups(place):
            say(f"{one.day}  {one.path}")
        return
    chosen = Path(backup).expanduser() if backup else None
    if chosen is None:
        good = newest_good(place, today=now.date())
        if good is None:
            raise UnknownCardError("no good backup lies beside the box", where=str(place))
        chosen = good.path
    aside = restore(place, chosen, now=now)
    say(f"Restored from {chosen}.")
    if aside is not None:
        say(f"The box that was there is now {aside}.")


@click.command("export")
@click.argument("file")
@click.pass_obj
def export_command(box_path: str | None, file: str) -> None:
    r"""Write the take log to FILE as JSON Lines; '-' is standard output.

    \b
    Examples:
      drillbox export takes.jsonl
      drillbox export - | head
    """
    from drillbox.store import write_log

    with open_box(box_path, only_reads=True) as box:
        if file == DASH:
            write_log(box.log(), sys.stdout.buffer)
            return
        path = Path(file).expanduser()
        try:
            with path.open("xb") as out:
                written = write_log(box.log(), out)
        except FileExistsError:
            raise NotSavedError(
                "the file exists already", where=file, fix="name another file or move it away"
            ) from None
        except OSError as error:
            raise NotSavedError(
                f"the log was not written: {error.strerror}", where=file, fix="choose another place"
            ) from None
    narrate(f"{written} entries written to {file}.")


@click.command("import")
@click.argument("file")
@click.pass_obj
def import_command(box_path: str | None, file: str) -> None:
    r"""Take in a take log from FILE; '-' is standard input. What is here already is left alone.

    \b
    Examples:
      drillbox import takes.jsonl
    """
    from drillbox.store import read_log

    with open_box(box_path) as box:
        if file == DASH:
            new = box.merge(read_log(sys.stdin.buffer, "standard input"), through=watched)
        else:
            try:
                with watched_file(Path(file).expanduser()) as source:
                    new = box.merge(read_log(source, file), through=watched)
            except OSError as error:
                raise LogError(
                    f"the file cannot be read: {error.strerror}", where=file, fix="check the path"
                ) from None
    say(f"{new} new entries taken in.")
