"""Packed decks: one file to mail, of deck files and a manifest of their checksums (docs/decks.md).

A packed file is a zip archive of flat names. It comes by mail from strangers, so it is never
unpacked to a disk, every number in it is doubted, and what is not exactly as `pack` writes it is
refused whole. The checksums are against damage on the way; they do not say who wrote the decks.
"""

from __future__ import annotations

import hashlib
import json
import re
import struct
import zipfile
import zlib
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from drillbox.base.files import is_folder, opened, reason
from drillbox.deckfile.reading import MAX_BYTES, parse_deck
from drillbox.deckfile.starter_decks import read
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.deckfile.deck import Deck

__all__ = ["FORMAT", "MAX_DECKS", "MAX_PACKED_BYTES", "pack", "read_decks", "unpack"]

FORMAT = "drillbox packed decks"
VERSION = 1
MANIFEST = "manifest.json"
MAX_DECKS = 100
MAX_PACKED_BYTES = 4 << 20
MAX_RATIO = 200
"""How much larger a deck may be than its packed form.

Text of decks is packed about ten to one (measured).
"""
MAX_MANIFEST = 1 << 16

_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*\.toml")
_FILE_TYPES, _REGULAR = 0o170000, 0o100000
_ENCRYPTED = 0x1
_END = struct.Struct("<4s4H2LH")
_FAR_END = b"PK\x06\x07"
_FAR_END_SIZE = 20
_LONGEST_ENTRY = 46 + 65 + 5 + 64
"""Bytes of one entry of the archive's directory.

Its head, the longest name, and room for a short extra field.
"""
_REMEDY = "ask for the file again, or for the deck's .toml"
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    OSError,
    RuntimeError,
    ValueError,
)


def pack(decks: Sequence[Deck]) -> bytes:
    """Return decks as one file; the same decks give the same bytes.

    Raises
    ------
    DeckError
        If there are none, too many, two of one id, or if they do not fit.
    """
    _check_together(decks, "the decks")
    texts = {f"{deck.id}.toml": deck.text.encode() for deck in sorted(decks, key=lambda d: d.id)}
    listed = [
        {"file": name, "bytes": len(text), "sha256": hashlib.sha256(text).hexdigest()}
        for name, text in texts.items()
    ]
    manifest = {"format": FORMAT, "version": VERSION, "decks": listed}
    out = BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in {MANIFEST: json.dumps(manifest, indent=1).encode(), **texts}.items():
            entry = zipfile.ZipInfo(name)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = (_REGULAR | 0o644) << 16
            archive.writestr(entry, content)
    packed = out.getvalue()
    unpack(packed, name="the packed file")
    return packed


def unpack(data: bytes, *, name: str) -> tuple[Deck, ...]:
    """Read a packed file.

    Parameters
    ----------
    data
        The whole file.
    name
        What to call it in an error.

    Raises
    ------
    DeckError
        If anything about it is not right.
    """
    _check_outside(data, name)
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            contents = _contents(archive, name)
    except _BROKEN:
        _refuse(name, "the packed file is damaged")
    _check_manifest(contents, name)
    decks = tuple(
        _deck(content, f"{name}/{file}") for file, content in contents.items() if file != MANIFEST
    )
    _check_together(decks, name)
    return decks


def read_decks(path: str | Path) -> tuple[Deck, ...]:
    """Read every deck at `path`: a deck file, a packed file, or a folder of either.

    Raises
    ------
    DeckError
        If one of them cannot be read; then none of them is returned.
    """
    path = Path(path)
    if is_folder(path):
        files = _files_in(path)
        if len(files) > MAX_DECKS:
            raise DeckError(f"more than {MAX_DECKS} files", where=str(path), fix="use two folders")
        decks = tuple(deck for file in files for deck in read_decks(file))
        _check_together(decks, str(path))
        return decks
    if path.suffix != ".zip":
        return (read(path),)
    return unpack(_packed_bytes(path), name=str(path))


def _files_in(folder: Path) -> list[Path]:
    try:
        return sorted(file for file in folder.iterdir() if file.suffix in (".toml", ".zip"))
    except OSError as error:
        what = f"the folder cannot be read: {reason(error)}"
        raise DeckError(what, where=str(folder), fix="check the path") from None


def _packed_bytes(path: Path) -> bytes:
    with opened(path, error=DeckError, what="the packed file") as file:
        return file.read(MAX_PACKED_BYTES + 1)


def _refuse(name: str, what: str) -> NoReturn:
    raise DeckError(what, where=name, fix=_REMEDY) from None


def _check_together(decks: Sequence[Deck], name: str) -> None:
    """Refuse no decks, too many, and two of one id."""
    if not decks:
        raise DeckError(
            "there are no decks", where=name, fix="a deck is a file such as week-3.toml"
        )
    if len(decks) > MAX_DECKS:
        raise DeckError(f"more than {MAX_DECKS} decks", where=name, fix="pack them in two files")
    seen: set[str] = set()
    for deck in decks:
        if deck.id in seen:
            raise DeckError(f"two decks have the id {deck.id!r}", where=name, fix="keep one")
        seen.add(deck.id)


def _check_outside(data: bytes, name: str) -> None:
    """Check what can be seen before the standard reader, whose cost grows with the directory."""
    if len(data) > MAX_PACKED_BYTES:
        _refuse(name, f"the packed file is larger than {MAX_PACKED_BYTES} bytes")
    tail = data[-_END.size :]
    if not data.startswith(b"PK") or len(tail) < _END.size or not tail.startswith(b"PK\x05\x06"):
        _refuse(name, "this is no packed deck")
    _, disk, first_disk, here, entries, size, _, remark = _END.unpack(tail)
    far = data[-_END.size - _FAR_END_SIZE : -_END.size].startswith(_FAR_END)
    if disk or first_disk or here != entries or remark or far:
        _refuse(name, "the packed file is of a kind that drillbox does not write")
    if entries > MAX_DECKS + 1 or size > (MAX_DECKS + 1) * _LONGEST_ENTRY:
        _refuse(name, f"the packed file has more than {MAX_DECKS} decks")


def _contents(archive: zipfile.ZipFile, name: str) -> dict[str, bytes]:
    contents: dict[str, bytes] = {}
    for entry in archive.infolist():
        file = entry.filename
        if file != MANIFEST and not _NAME.fullmatch(file):
            _refuse(name, f"{file[:80]!r} is no name for a packed deck")
        if file in contents:
            _refuse(name, f"{file} is there twice")
        _check_entry(entry, name)
        limit = MAX_MANIFEST if file == MANIFEST else MAX_BYTES
        with archive.open(entry) as packed:
            content = packed.read(limit + 1)
        if len(content) > limit:
            _refuse(name, f"{file} is larger than {limit} bytes")
        contents[file] = content
    return contents


def _check_entry(entry: zipfile.ZipInfo, name: str) -> None:
    kind = (entry.external_attr >> 16) & _FILE_TYPES
    if kind not in (0, _REGULAR):
        _refuse(name, f"{entry.filename} is no ordinary file")
    if entry.flag_bits & _ENCRYPTED:
        _refuse(name, f"{entry.filename} is encrypted")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        _refuse(name, f"{entry.filename} is packed in a way that drillbox does not write")
    if entry.file_size > MAX_RATIO * max(entry.compress_size, 1):
        _refuse(name, f"{entry.filename} is packed suspiciously small")


def _check_manifest(contents: dict[str, bytes], name: str) -> None:
    """Check that the manifest names the decks that are there, with their sizes and checksums."""
    try:
        manifest = json.loads(contents.get(MANIFEST, b"").decode())
    except (ValueError, RecursionError):
        _refuse(name, f"{MANIFEST} is missing or damaged")
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        _refuse(name, "this is no packed deck")
    if manifest.get("version") != VERSION:
        what = "the packed file is of another version"
        raise DeckError(what, where=name, fix=f"this drillbox reads version {VERSION}")
    expected = [
        {"file": file, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for file, content in contents.items()
        if file != MANIFEST
    ]
    if manifest.get("decks") != expected:
        _refuse(name, f"the decks are not those of {MANIFEST}")


def _deck(content: bytes, name: str) -> Deck:
    try:
        text = content.decode()
    except UnicodeDecodeError:
        _refuse(name, "not UTF-8 text")
    deck = parse_deck(text, name=name)
    if not name.endswith(f"/{deck.id}.toml"):
        _refuse(name, f"the deck in it is {deck.id!r}")
    return deck
