"""The command line: one core, two front ends, and this is the plain one.

Standard output is data, standard error is narration; `problems` owns the second and the exit codes. Nothing heavy
is imported before a command needs it: ``drillbox --help`` loads neither numpy nor Textual nor a database.
"""

from __future__ import annotations


def main() -> None:
    """Run ``drillbox`` with the process's own arguments and end the process."""
    from drillbox.cli.main import run

    raise SystemExit(run())
