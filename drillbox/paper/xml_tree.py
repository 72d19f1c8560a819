"""XML from strangers, as a tree: no entities, no addresses followed, bounded depth and size.

A document type may be named, as every MusicXML file does, but nothing is loaded for it and it may
declare nothing. The text must be small enough for whoever handed it over.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET
from xml.parsers import expat

from drillbox.errors import ExchangeError

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["tree_of"]

_DEEPEST = 64
_MOST_ELEMENTS = 2_000_000
_FIX = "export it again as uncompressed MusicXML"


class _RefusedError(Exception):
    """What is wrong with the document; raised out of the parser's callbacks."""


def tree_of(data: bytes, *, name: str) -> ET.Element:
    """Return a document's root.

    Parameters
    ----------
    data
        The whole document.
    name
        What to call it in an error.

    Raises
    ------
    ExchangeError
        If it is no XML, declares entities, or is nested too deeply or too large.
    """
    parser = expat.ParserCreate()
    builder = _Builder()
    parser.StartElementHandler = builder.start
    parser.EndElementHandler = builder.end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = _refuse_entity
    parser.ExternalEntityRefHandler = _refuse_entity
    parser.buffer_text = True
    try:
        parser.Parse(data, True)
    except _RefusedError as refusal:
        raise ExchangeError(str(refusal), where=name, fix=_FIX) from None
    except (expat.ExpatError, UnicodeError, ValueError, LookupError) as error:
        line = getattr(error, "lineno", 1)
        raise ExchangeError("this is no XML", where=f"{name}:{line}", fix=_FIX) from None
    return builder.close()


def _refuse_entity(*_: object) -> int:
    raise _RefusedError("it declares entities, which no MusicXML file needs")


class _Builder:
    """Builds the tree, and counts."""

    def __init__(self) -> None:
        self._tree = ET.TreeBuilder()
        self._depth = 0
        self._elements = 0

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        self._depth += 1
        self._elements += 1
        if self._depth > _DEEPEST:
            raise _RefusedError(f"its elements are nested more than {_DEEPEST} deep")
        if self._elements > _MOST_ELEMENTS:
            raise _RefusedError(f"it has more than {_MOST_ELEMENTS:,} elements")
        self._tree.start(name, dict(attributes))

    def end(self, name: str) -> None:
        self._depth -= 1
        self._tree.end(name)

    def data(self, text: str) -> None:
        self._tree.data(text)

    def close(self) -> ET.Element:
        return self._tree.close()
