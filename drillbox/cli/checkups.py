"""The command that looks a box over and mends it: checkup."""

from __future__ import annotations

import click

from drillbox.cli.output import say
from drillbox.cli.wiring import box_path as resolved
from drillbox.cli.wiring import clock
from drillbox.errors import BoxError


@click.command("checkup")
@click.option("--repair", is_flag=True, help="Mend what can be mended; nothing is overwritten.")
@click.pass_context
def checkup_command(ctx: click.Context, repair: bool) -> None:
    """Look the box over: the file, the log, its backups, what is computed, the decks.

    Each finding is one sentence and says what --repair would do. A repair overwrites nothing:
    damaged files are set aside by dated names, and the log only gains. The exit code is 6 while
    something is left that is not well.

    For example:
      drillbox checkup
      drillbox checkup --repair
    """
    from drillbox.report.checkup import look, mend

    path, time = resolved(ctx.obj), clock()
    report = look(path, clock=time)
    if repair and any(finding.repair for finding in report.findings):
        for done in mend(path, report, clock=time):
            say(done)
        report = look(path, clock=time)
    for sentence in report.well:
        say(f"well: {sentence}")
    for finding in report.findings:
        say(f"not well: {finding.sentence}")
        if finding.repair is not None:
            say(f"  'drillbox checkup --repair': {finding.repair.value}")
    if report.findings:
        ctx.exit(BoxError.exit_code)
    say("All is well.")
