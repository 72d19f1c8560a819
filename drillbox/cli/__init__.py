"""The command line: one core, two front ends, and this is the plain one.

Standard output is data, standard error is narration; `problems` owns the second and the exit codes.
Nothing heavy is imported before a command needs it: ``drillbox --help`` loads neither numpy nor
Textual nor a database.
"""

from __future__ import annotations


def main() -> None:
    """Run ``drillbox`` with the process's own arguments and end the process."""
    import gc
    import sys
    import warnings

    if not sys.warnoptions:
        # They are for who maintains a library; a player is told in sentences of our own.
        warnings.simplefilter("ignore")
    try:
        # A command is over before collecting cycles pays: a sixth of a plan's time. The app turns
        # it on again.
        gc.disable()
        from drillbox.cli.main import run

        code = run()
    except KeyboardInterrupt:
        # Before `guarded` stands, or while it speaks: the same end, without its help.
        sys.stderr.write("drillbox: stopped; every take graded so far is kept.\n")
        code = 130
    raise SystemExit(code)
