"""What kinds of paths commands take.

Whether a file may be read is found out by reading it: then the error says where and why, with the
exit code of what was to be read.
"""

from __future__ import annotations

from pathlib import Path

import click

FILE = click.Path(dir_okay=False, readable=False, path_type=Path)
FILE_OR_FOLDER = click.Path(readable=False, path_type=Path)
