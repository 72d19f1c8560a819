"""The report of an error of drillbox's own: a file in the data folder, for its owner's eyes alone.

It holds what Python says of the error, and with it names of folders and of cards. So it lies where
nobody else reads, under a name that cannot be prepared by somebody else.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from drillbox.base.files import write_private


def data_folder() -> Path:
    """Return the user's data folder, made or not."""
    import platformdirs

    return Path(platformdirs.user_data_dir("drillbox", appauthor=False))


def write_report(details: bytes) -> Path | None:
    """Write a report and return where it is, or None where the disk refuses."""
    folder = data_folder()
    # The machine's clock may be what failed, so it is asked for nothing but a name.
    path = folder / f"crash-{datetime.now(UTC):%Y-%m-%d-%H%M%S-%f}.txt"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_private(path, details)
    except OSError:
        return None
    return path
