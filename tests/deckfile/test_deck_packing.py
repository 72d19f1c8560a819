"""Packed decks: the round trip, and every way in which a file from a stranger is refused whole."""

from __future__ import annotations

import hashlib
import json
import os
import struct
import subprocess
import sys
import time
import tracemalloc
import zipfile
from io import BytesIO
from typing import TYPE_CHECKING, Any

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.deckfile import (
    MAX_BYTES,
    MAX_DECKS,
    MAX_PACKED_BYTES,
    deck_template,
    pack,
    parse_deck,
    read_decks,
    read_starter_decks,
    starter_decks,
    unpack,
)
from drillbox.deckfile.packing import FORMAT
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.deckfile import Deck

DECK = '[deck]\nid = "d"\ntitle = "d"\n[[card]]\nid = "c"\ntitle = "c"\nsnare = "1"\n'


def small(deck_id: str = "d") -> Deck:
    """Return a small deck."""
    return parse_deck(DECK.replace('"d"', f'"{deck_id}"'), name="d.toml")


def listed(files: dict[str, bytes]) -> list[dict[str, Any]]:
    """Return the manifest's entries for some files, true ones."""
    return [
        {"file": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for name, content in files.items()
    ]


def archive(
    files: dict[str, bytes], *, manifest: object = None, method: int = zipfile.ZIP_DEFLATED
) -> bytes:
    """Return a zip archive of files, with a manifest that fits unless another is given."""
    out = BytesIO()
    if manifest is None:
        manifest = {"format": FORMAT, "version": 1, "decks": listed(files)}
    with zipfile.ZipFile(out, "w", method) as made:
        said = manifest if isinstance(manifest, bytes) else json.dumps(manifest)
        made.writestr("manifest.json", said)
        for name, content in files.items():
            made.writestr(name, content)
    return out.getvalue()


def test_what_is_packed_is_unpacked_the_same() -> None:
    """All starter decks together come back word for word, and so do a few, in any order.

    Packing again gives the same bytes.
    """
    decks = read_starter_decks()
    assert tuple(sorted(decks, key=lambda deck: deck.id)) == unpack(pack(decks), name="p.zip")

    few = sorted(decks, key=lambda deck: len(deck.cards))[:3]
    packed = pack(few)
    assert packed == pack(few[::-1])
    for deck in few:
        assert (deck,) == unpack(pack([deck]), name="p.zip")


def test_line_ends_and_other_alphabets_survive() -> None:
    """The text is packed as it is, so its checksum holds on every system."""
    text = DECK.replace('title = "d"', 'title = "Übung für Zoë"').replace("\n", "\r\n")
    deck = parse_deck(text, name="d.toml")

    assert text == unpack(pack([deck]), name="p.zip")[0].text


def test_other_programs_read_a_packed_deck(tmp_path: Path) -> None:
    """It is an ordinary zip archive: Python's own command line tool tests and unpacks it."""
    path = tmp_path / "p.zip"
    path.write_bytes(pack([small()]))
    for words in (["-t", str(path)], ["-e", str(path), str(tmp_path)]):
        subprocess.run([sys.executable, "-m", "zipfile", *words], check=True, capture_output=True)

    assert DECK == (tmp_path / "d.toml").read_text(encoding="utf-8")
    manifest = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))
    assert listed({"d.toml": DECK.encode()}) == manifest["decks"]


def test_a_folder_gives_all_its_decks(tmp_path: Path) -> None:
    """Deck files and packed files by name; other files and folders inside are left alone."""
    (tmp_path / "a.toml").write_text(DECK.replace('"d"', '"a"'), encoding="utf-8")
    (tmp_path / "b.zip").write_bytes(pack([small("b"), small("c")]))
    (tmp_path / "remarks.txt").write_text("no deck", encoding="utf-8")
    (tmp_path / "more").mkdir()

    assert ["a", "b", "c"] == [deck.id for deck in read_decks(tmp_path)]
    assert ["a"] == [deck.id for deck in read_decks(tmp_path / "a.toml")]


def test_a_folder_with_one_bad_deck_is_refused_whole(tmp_path: Path) -> None:
    """The bad file is named; so are two decks of one id and a folder without decks."""
    (tmp_path / "a.toml").write_text(DECK, encoding="utf-8")
    bad = tmp_path / "b.toml"
    bad.write_text(DECK.replace('"1"', '"9"'), encoding="utf-8")
    with pytest.raises(DeckError, match=r"b\.toml:7:10: "):
        read_decks(tmp_path)
    bad.write_text(DECK, encoding="utf-8")
    with pytest.raises(DeckError, match="two decks have the id 'd'; keep one"):
        read_decks(tmp_path)
    empty = tmp_path / "empty"
    empty.mkdir()
    with pytest.raises(DeckError, match="there are no decks"):
        read_decks(empty)


def test_a_packed_file_that_cannot_be_opened(tmp_path: Path) -> None:
    """Missing, a folder of that name without decks, or a pipe that nobody writes to.

    A sentence at once.
    """
    with pytest.raises(DeckError, match="the packed file cannot be read: No such file"):
        read_decks(tmp_path / "none.zip")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.zip")
        with pytest.raises(DeckError, match="not a plain file"):
            read_decks(tmp_path / "pipe.zip")


def test_too_many_or_no_decks_are_not_packed() -> None:
    """A hundred go in, one more does not."""
    many = [small(f"d{n}") for n in range(MAX_DECKS + 1)]

    assert MAX_DECKS == len(unpack(pack(many[1:]), name="p.zip"))
    with pytest.raises(DeckError, match="more than 100 decks; pack them in two files"):
        pack(many)
    with pytest.raises(DeckError, match="there are no decks"):
        pack([])


def linked(kind: int) -> bytes:
    """Return an archive whose deck is a link or another special file."""
    out = BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("manifest.json", "{}")
        entry = zipfile.ZipInfo("d.toml")
        entry.external_attr = (kind | 0o777) << 16
        made.writestr(entry, "/etc/passwd")
    return out.getvalue()


def flagged() -> bytes:
    """Return an archive that says it is encrypted."""
    data = bytearray(archive({"d.toml": DECK.encode()}))
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1
    return bytes(data)


def twice() -> bytes:
    """Return an archive with two entries of one name."""
    data = archive({"d.toml": DECK.encode(), "e.toml": DECK.encode()})
    return data.replace(b"e.toml", b"d.toml")


def lying_size() -> bytes:
    """Return an archive whose directory says that a large deck is small."""
    data = bytearray(archive({"d.toml": b"#" * (MAX_BYTES + 1)}))
    at = data.rindex(b"PK\x01\x02")
    data[at + 24 : at + 28] = struct.pack("<I", 100)
    return bytes(data)


GOOD = {"d.toml": DECK.encode()}
SUM = listed(GOOD)[0]
HEAD = {"format": FORMAT, "version": 1}
DEEP = b"".join(b"[%d," % n for n in range(8000))

HOSTILE: dict[str, tuple[Any, str]] = {
    "nothing": (b"", "this is no packed deck"),
    "text": (DECK.encode(), "this is no packed deck"),
    "half": (archive(GOOD)[:200], "this is no packed deck"),
    "too large": (b"PK" + b"0" * MAX_PACKED_BYTES, "larger than 4194304 bytes"),
    "a remark at the end": (archive(GOOD) + b"x", "this is no packed deck"),
    "a climbing path": (archive({"../d.toml": b"x"}), r"'\.\./d\.toml' is no name"),
    "an absolute path": (archive({"/etc/d.toml": b"x"}), "'/etc/d.toml' is no name"),
    "a folder": (archive({"d/d.toml": b"x"}), "'d/d.toml' is no name"),
    "a drive": (archive({"c:\\d.toml": b"x"}), "is no name for a packed deck"),
    "an endless name": (archive({"d" * 60_000: b"x"}), "more than 100 decks|is no name"),
    "a strange name": (archive({"d\u202e.toml": b"x"}), "is no name for a packed deck"),
    "another file": (archive({"setup.exe": b"x"}), "'setup.exe' is no name"),
    "an archive inside": (archive({"d.zip": archive(GOOD)}), "'d.zip' is no name"),
    "a link": (linked(0o120000), "d.toml is no ordinary file"),
    "a device": (linked(0o020000), "d.toml is no ordinary file"),
    "encrypted": (flagged(), "manifest.json is encrypted"),
    "the same name twice": (twice, "d.toml is there twice"),
    "another packing": (archive(GOOD, method=zipfile.ZIP_BZIP2), "packed in a way"),
    "a third packing": (archive(GOOD, method=zipfile.ZIP_LZMA), "packed in a way"),
    "a bomb": (lambda: archive({"d.toml": b"#" * (100 << 20)}), "packed suspiciously small"),
    "a large deck": (
        archive({"d.toml": b"#" * (MAX_BYTES + 1)}, method=zipfile.ZIP_STORED),
        "d.toml is larger than 1048576 bytes",
    ),
    "a lie about the size": (lying_size(), "damaged"),
    "too many": (archive({f"d{n}.toml": b"" for n in range(200)}), "more than 100 decks"),
    "very many": (
        lambda: archive({f"d{n}.toml": b"" for n in range(20_000)}),
        "more than 100 decks",
    ),
    "another deck inside": (archive({"e.toml": DECK.encode()}), "the deck in it is 'd'"),
    "a broken deck": (archive({"d.toml": b"[deck]"}), r"/d\.toml:1:1: "),
    "another encoding": (archive({"d.toml": b"\xff"}), "/d.toml: not UTF-8 text"),
    "no decks": (archive({}), "there are no decks"),
    "a wrong sum": (
        archive(GOOD, manifest={**HEAD, "decks": [{**SUM, "sha256": "0" * 64}]}),
        "the decks are not those of manifest.json",
    ),
    "an unlisted deck": (archive(GOOD, manifest={**HEAD, "decks": []}), "not those of"),
    "a missing deck": (archive({}, manifest={**HEAD, "decks": [SUM]}), "not those of"),
    "another manifest": (archive(GOOD, manifest=[]), "this is no packed deck"),
    "another format": (archive(GOOD, manifest={"format": "x"}), "this is no packed deck"),
    "a later version": (archive(GOOD, manifest={**HEAD, "version": 2}), "another version; .*reads"),
    "a deep manifest": (archive(GOOD, manifest=DEEP), "manifest.json is missing or damaged"),
    "a manifest in another encoding": (archive(GOOD, manifest=b"\xff"), "is missing or damaged"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_are_refused_whole(name: str) -> None:
    """One sentence, soon (a busy machine has room) and in little memory, whatever is claimed."""
    data, complaint = HOSTILE[name]
    data = data() if callable(data) else data
    tracemalloc.start()
    before = time.process_time()
    with pytest.raises(DeckError, match=rf"^p\.zip.*({complaint})"):
        unpack(data, name="p.zip")
    spent, (_, peak) = time.process_time() - before, tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert spent < 10.0
    assert peak < 50 << 20


def test_an_archive_of_the_far_kind_is_refused() -> None:
    """Zip64 says its numbers elsewhere, where nobody has looked; no deck needs it."""
    data = archive(GOOD)
    end = data.rindex(b"PK\x05\x06")
    locator = b"PK\x06\x07" + b"\0" * 16

    with pytest.raises(DeckError, match="of a kind that drillbox does not write"):
        unpack(data[:end] + locator + data[end:], name="p.zip")


PACKED = pack([parse_deck(deck_template("Week 3"), name="d.toml")])


@examples(300)
@given(
    st.lists(st.tuples(st.integers(0, len(PACKED) - 1), st.integers(0, 255)), max_size=4),
    st.sampled_from([None, *range(len(PACKED))]),
)
def test_a_damaged_packed_deck_is_never_taken_for_another(
    changes: list[tuple[int, int]], cut: int | None
) -> None:
    """Bytes changed or lost anywhere: refused, or exactly what was packed."""
    data = bytearray(PACKED)
    for at, value in changes:
        data[at] = value
    try:
        found = unpack(bytes(data[:cut]), name="p.zip")
    except DeckError:
        return
    assert unpack(PACKED, name="p.zip") == found


@pytest.mark.parametrize("name", ["Week 3", "übung", "---", "x" * 100, "A  B--c"])
def test_the_template_reads_without_error(name: str) -> None:
    """Whatever the file is called, the new deck is right as it stands.

    And small beside a starter deck.
    """
    deck = parse_deck(deck_template(name), name="new.toml")

    assert ["e", "a", "e-and-a"] == [card.slug for card in deck.cards]
    assert len(deck.text) < len(starter_decks()[0].source.read_bytes())
    assert () == deck.assignments


def test_the_templates_assignment_reads_once_it_is_wanted() -> None:
    """The remarks at its end become an assignment when their signs are taken away."""
    text = deck_template("week-3")
    start = text.index("# [[assignment]]")
    wanted = text[:start] + text[start:].replace("# ", "", 1).replace("\n# ", "\n")

    assert ("e", "a") == parse_deck(wanted, name="new.toml").assignments[0].cards
