"""Where takes go that the box refuses, and those that wait there until a box takes them in."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillbox.base.clock import Clock
    from drillbox.box import Box
    from drillbox.store.second_place import SecondPlace


def second_place(box: Path) -> SecondPlace | None:
    """Return where takes go that a box refuses: the state folder, else the session's memory.

    The session's folder is often no disk at all, so it has room when the disk has none.
    """
    if str(box) == ":memory:":
        return None
    from uuid import uuid4

    from drillbox.store.second_place import SecondPlace

    return SecondPlace(_folders(), box, owner=uuid4().hex)


def waiting_takes(box: Path) -> list[str]:
    """Return a clause for each file in which takes wait that the box could not save."""
    # Nearly always none: then a reader loads nothing that reads takes.
    with suppress(OSError):
        if not any(any(folder.glob("unsaved-*")) for folder in _folders()):
            return []
    place = second_place(box)
    found = place.left_behind() if place is not None else []
    with_takes = [left for left in found if left.takes]
    if not with_takes:
        return []
    from drillbox.base.wording import counted

    return [
        f"not in the box yet: {counted(len(left.takes), 'take')} kept in {left.path}; the next "
        "start of the app, or the next command that changes the box, saves what is there"
        for left in with_takes
    ]


def taken_up(box: Box, path: Path, clock: Clock) -> str:
    """Save the takes that wait for the open box of a path; return what came of it, in words."""
    from drillbox.app.unsaved import Unsaved

    return Unsaved(box, clock, second_place=second_place(path)).take_up()


def _folders() -> list[Path]:
    """Return the folders for takes that a box refuses, the best first; some may not be there."""
    import warnings

    import platformdirs

    homes = [platformdirs.user_state_dir("drillbox", appauthor=False)]
    # Where the session has no folder of its own, another one does as well: nothing to warn of. It
    # is looked for by writing, so with every disk full there is none.
    with warnings.catch_warnings(), suppress(OSError):
        warnings.simplefilter("ignore")
        homes.append(platformdirs.user_runtime_dir("drillbox", appauthor=False))
    return [Path(home) / "unsaved" for home in homes]
