"""A teacher's reply, out of its file and into a student's box."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.files import content_of
from drillbox.errors import ReplyError
from drillbox.studio import read_reply
from drillbox.studio.reply_files import MOST_BYTES
from drillbox.studio.reply_writing import reply_lines

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from drillbox.box import Box

__all__ = ["take_in_file"]


def take_in_file(box: Box, path: Path, *, at: datetime) -> list[str]:
    """Take a reply in and return what it says, a line each.

    Parameters
    ----------
    box
        The student's box.
    path
        The file.
    at
        Now.

    Raises
    ------
    ReplyError
        It is no reply, is damaged, or is for another student's box; nothing is taken in.
    """
    content = content_of(path, most=MOST_BYTES, error=ReplyError, what="the reply")
    reply = read_reply(content, str(path))
    new = box.take_in(reply, at=at)
    titles = {card.card_id: card.title for card in box.cards(at=at)}
    head = "A reply from your teacher:" if new else "This reply was taken in already:"
    return [head, *(f"  {line}" for line in reply_lines(reply, titles))]
