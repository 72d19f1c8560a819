"""Every file reader against damaged files of its own kind.

Read or refused, with a sentence, in good time.
"""

from __future__ import annotations

import io
import time
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from conftest import SMALL_DECK
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import damaged_bytes

from drillbox.deckfile import parse_deck
from drillbox.deckfile.packing import pack, unpack
from drillbox.errors import DrillboxError
from drillbox.store import read_log
from drillbox.studio import (
    CardProgress,
    DeckInfo,
    Goal,
    Played,
    Progress,
    Reply,
    Wanted,
    read_progress,
    read_reply,
    write_progress,
    write_reply,
)

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).parent


def progress_file() -> bytes:
    """Return a small progress file."""
    out = io.BytesIO()
    day = Played(datetime(2026, 3, 1, tzinfo=UTC).date(), 2, 61.5, 84.0)
    card = CardProgress("3f6c0a9be4d21785", "The e", ("ghosts",), 90.0, "building", 84.5, (day,))
    deck = DeckInfo("ghosts", "Ghosts", 1)
    written = datetime(2026, 3, 2, tzinfo=UTC)
    write_progress(Progress("ab" * 16, "A. Student", written, (deck,), (card,)), out)
    return out.getvalue()


def reply_file() -> bytes:
    """Return a small reply file."""
    out = io.BytesIO()
    written = datetime(2026, 3, 2, tzinfo=UTC)
    wanted = (Wanted("3f6c0a9be4d21785", written.date(), None),)
    goals = (Goal("55c403d4ef21d6f8", 84.0),)
    write_reply(Reply("", "ab" * 16, "A. Teacher", written, "Lower.", wanted, goals), out)
    return out.getvalue()


READERS: dict[str, tuple[bytes, Callable[[bytes], object]]] = {
    "deck": (
        SMALL_DECK.encode(),
        lambda data: parse_deck(data.decode("utf-8", "replace"), name="file"),
    ),
    "take log": (
        (ROOT / "store/released/version-1.jsonl").read_bytes(),
        lambda data: list(read_log(io.BytesIO(data), "file")),
    ),
    "packed deck": (
        pack([parse_deck(SMALL_DECK, name="small.toml")]),
        lambda data: unpack(data, name="file"),
    ),
    "progress": (progress_file(), lambda data: read_progress(io.BytesIO(data), "file")),
    "reply": (reply_file(), lambda data: read_reply(data, "file")),
}


@pytest.mark.parametrize("kind", READERS)
def test_a_good_file_is_read(kind: str) -> None:
    """The files that are damaged below are good ones."""
    content, read = READERS[kind]

    assert read(content)


@pytest.mark.parametrize("kind", READERS)
@examples(150)
@given(data=st.data())
def test_a_damaged_file_is_read_or_refused(kind: str, data: st.DataObject) -> None:
    """Cut, doubled, overwritten or filled up anywhere.

    One of our own errors at most, within a second.
    """
    content, read = READERS[kind]
    hurt = data.draw(damaged_bytes(content))
    before = time.process_time()
    with suppress(DrillboxError):
        read(hurt)

    assert time.process_time() - before < 1


@pytest.mark.parametrize("kind", READERS)
@pytest.mark.parametrize("other", READERS)
def test_a_file_of_another_kind_is_refused(kind: str, other: str) -> None:
    """A log is no deck, a deck is no progress.

    Each reader knows its own, and says so in one sentence.
    """
    if kind == other:
        return
    with pytest.raises(DrillboxError) as refusal:
        READERS[kind][1](READERS[other][0])

    assert 1 == len(refusal.value.sentence().splitlines())


def test_a_mistake_over_a_groove_known_by_name_has_its_place() -> None:
    """The groove's own meter and grid are in no line of the file.

    The mistake is (found by fuzzing).
    """
    deck = SMALL_DECK + '[[card]]\nid = "c"\ntitle = "c"\ngroove = "shuffle"\nsnare = "1 nine"\n'
    lines = deck.splitlines()
    with pytest.raises(DrillboxError, match=rf"^deck:{len(lines)}:12: "):
        parse_deck(deck, name="deck")
