"""Deck files on disk: found, opened, or refused in a sentence."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import drillbox
from drillbox.deckfile import MAX_BYTES, read, read_starter_decks, starter_decks
from drillbox.deckfile.starter_decks import ORDER
from drillbox.errors import DeckError

DECK = '[deck]\nid = "d"\ntitle = "d"\n[[card]]\nid = "c"\ntitle = "c"\nsnare = "1"\n'
PACKAGE = Path(drillbox.__file__).parent


def test_a_file_is_read(tmp_path: Path) -> None:
    """A path, as text or not, gives the deck; a byte order mark does not matter."""
    path = tmp_path / "d.toml"
    path.write_text("\ufeff" + DECK, encoding="utf-8")

    assert "d" == read(path).id == read(str(path)).id
    assert DECK == read(path).text


def test_complaints_name_the_file(tmp_path: Path) -> None:
    """The place begins with the path as it was given."""
    path = tmp_path / "d.toml"
    path.write_text(DECK.replace('"1"', '"9"'), encoding="utf-8")

    with pytest.raises(DeckError) as caught:
        read(path)
    assert f"{path}:7:10" == caught.value.where


@pytest.mark.parametrize(
    ("content", "place"),
    [(b"\xff", "1:1"), (b"# gr\xc3\xbcn\n# \xe9", "2:3"), (b"\xef\xbb\xbf# \xe9", "1:3")],
)
def test_other_encodings_are_refused(tmp_path: Path, content: bytes, place: str) -> None:
    """The first byte that is no UTF-8 is named by line and column."""
    path = tmp_path / "d.toml"
    path.write_bytes(content)

    with pytest.raises(DeckError, match="not UTF-8 text; save the file as UTF-8") as caught:
        read(path)
    assert f"{path}:{place}" == caught.value.where


def test_what_cannot_be_opened(tmp_path: Path) -> None:
    """A missing file, a folder, a pipe, a name that no file can have.

    And a huge file give one sentence each.
    """
    with pytest.raises(
        DeckError, match="the deck cannot be read: No such file or directory; check"
    ):
        read(tmp_path / "none.toml")
    with pytest.raises(DeckError, match="the deck cannot be read: Is a directory"):
        read(tmp_path)
    with pytest.raises(DeckError, match="the deck cannot be read: "):
        read("a\0b")
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * (MAX_BYTES + 1))
    with pytest.raises(DeckError, match="the file is larger than 1048576 bytes; split the deck"):
        read(huge)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
def test_a_pipe_does_not_make_the_reader_wait(tmp_path: Path) -> None:
    """A named pipe that nobody writes to is refused at once."""
    os.mkfifo(tmp_path / "pipe.toml")

    with pytest.raises(DeckError, match="not a plain file"):
        read(tmp_path / "pipe.toml")


def test_starter_decks_are_found_in_a_checkout() -> None:
    """Beside the package, the first week first, each named as its id.

    And each in the order of the courses.
    """
    names = [starter.name for starter in starter_decks()]

    assert list(ORDER) == names
    assert names == [deck.id for deck in read_starter_decks()]
    assert {"sixteenth-ghosts", "triplet-ghosts"} <= set(names)


def test_starter_decks_are_found_in_an_installed_package(tmp_path: Path) -> None:
    """Laid out as in the wheel, even in a zip archive, the decks are found in the package."""
    archive = tmp_path / "installed.zip"
    with zipfile.ZipFile(archive, "w") as packed:
        own = [
            PACKAGE.glob("*.py"),
            *((PACKAGE / name).rglob("*.py") for name in ("base", "rhythm", "deckfile")),
        ]
        for source in (file for files in own for file in files):
            packed.write(source, Path("drillbox") / source.relative_to(PACKAGE))
        for starter in starter_decks():
            packed.writestr(f"drillbox/decks/{starter.name}.toml", starter.source.read_bytes())
    code = "from drillbox.deckfile import *; print(*[d.id for d in read_starter_decks()])"
    result = subprocess.run(
        [sys.executable, "-I", "-c", f"import sys; sys.path.insert(0, {str(archive)!r}); {code}"],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
    )

    assert [starter.name for starter in starter_decks()] == result.stdout.split()
