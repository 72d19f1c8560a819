"""The W3C's schema of MusicXML 4.0, from the copies beside this file, without a network."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from lxml import etree

FOLDER = Path(__file__).parent / "musicxml-4.0"
_HOME = "http://www.musicxml.org/xsd/"


class _Local(etree.Resolver):  # type: ignore[misc]
    def resolve(self, url: str, pubid: str, context: Any) -> Any:
        """Read from the copies what the schema imports by address; the parser has no network."""
        if url.startswith(_HOME):
            return self.resolve_filename(str(FOLDER / url.removeprefix(_HOME)), context)
        return None


@cache
def _schema() -> Any:
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Local())
    return etree.XMLSchema(etree.parse(str(FOLDER / "musicxml.xsd"), parser))


def complaints(document: bytes) -> list[str]:
    """Return what the schema has against a document; nothing where it is valid.

    The schema lets a reference to an instrument that does not exist pass in this library, so those
    are looked up here.
    """
    root = etree.fromstring(document, etree.XMLParser(no_network=True, load_dtd=False))
    schema = _schema()
    schema.validate(root)
    known = set(root.xpath("//score-instrument/@id"))
    dangling = set(root.xpath("//note/instrument/@id")) - known
    return [str(error) for error in schema.error_log] + sorted(dangling)
