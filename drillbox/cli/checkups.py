"""The command that looks a box over and mends it: checkup."""

from __future__ import annotations

import sys
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

import click

from drillbox.cli.output import json_option, say, say_json
from drillbox.cli.problems import narrate
from drillbox.cli.second_places import waiting_takes
from drillbox.cli.wiring import box_path as resolved
from drillbox.cli.wiring import clock, take_up_waiting
from drillbox.errors import BoxError

if TYPE_CHECKING:
    from drillbox.report.checkup import Report


def _tell(what: str) -> None:
    """Say on a terminal what is looked at next: a large box takes a while."""
    if sys.stderr.isatty():
        narrate(f"  {what} ...")


@click.command("checkup")
@click.option("--repair", is_flag=True, help="Mend what can be mended; nothing is overwritten.")
@json_option
@click.pass_context
def checkup_command(ctx: click.Context, repair: bool, as_json: bool) -> None:
    """Look the box over: the file, the log, its backups, what is computed, the decks.

    Each finding is one sentence and says what --repair would do. A repair overwrites nothing:
    damaged files are set aside by dated names, and the log only gains. The exit code is 6 while
    something is left that is not well.

    For example:
      drillbox checkup
      drillbox checkup --repair
    """
    path, time = resolved(ctx.obj), clock()
    if not as_json:
        say(f"Looking over {path}.")
    from drillbox.report.checkup import look, mend

    report, mended = look(path, clock=time, tell=_tell, waiting=waiting_takes(path)), []
    if repair and any(finding.repair for finding in report.findings):
        for done in mend(path, report, clock=time, take_up=partial(take_up_waiting, ctx.obj)):
            mended.append(done)
            if not as_json:
                say(done)
        report = look(path, clock=time, tell=_tell, waiting=waiting_takes(path))
    if as_json:
        _say_as_json(str(path), report, mended)
    else:
        _say_report(report)
    if report.findings:
        ctx.exit(BoxError.exit_code)


def _say_as_json(path: str, report: Report, mended: list[str]) -> None:
    say_json(
        {
            "box": path,
            "well": list(report.well),
            "mended": mended,
            "not_well": [
                {"sentence": one.sentence, "repair": one.repair.value if one.repair else None}
                for one in report.findings
            ],
        }
    )


def _say_report(report: Report) -> None:
    for sentence in report.well:
        say(f"well: {sentence}")
    for remedy, findings in groupby(report.findings, key=lambda finding: finding.repair):
        for finding in findings:
            say(f"not well: {finding.sentence}")
        if remedy is not None:
            say(f"  'drillbox checkup --repair': {remedy.value}")
    if not report.findings:
        say("All is well.")
