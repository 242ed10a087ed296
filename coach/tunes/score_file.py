"""The outside of a MusicXML file, plain or compressed: bytes of strangers become a tree of elements, or a sentence.

References:
    MusicXML 4.0, W3C Community Group Final Report: the compressed form (.mxl) is a ZIP archive whose
    META-INF/container.xml names the score; its members are deflated or stored.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from io import BytesIO
from typing import NoReturn
from xml.etree import ElementTree as ET
from xml.parsers import expat

from coach.errors import TuneError
from coach.tunes.draft import MOST_MEASURES

_PLAIN = "save it again as .musicxml"

__all__ = ["MOST_UNPACKED", "score_tree", "unpacked"]

# Unpacked, a score may be this many times as large as the largest file that is taken.
MOST_UNPACKED = 20_000_000
MOST_MEMBERS = 1000
MOST_CONTAINER = 100_000
"""Bytes of META-INF/container.xml, unpacked."""

MOST_ELEMENTS = 200_000
"""What 500 measures of sixteenths in one voice, with words, have some 100,000 of."""

DEEPEST = 64
"""Elements inside one another. The schema of MusicXML 4.0 goes down by fewer than 20."""


def unpacked(data: bytes, where: str) -> bytes:
    """The score in a compressed file.

    Raises:
        TuneError: when there is none, or the archive is damaged or too large.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            names = archive.namelist()
            if len(names) > MOST_MEMBERS:
                raise TuneError(f"there are more than {MOST_MEMBERS} files in this archive", where=where, cure=_PLAIN)
            name = next((name for name in names if not name.startswith("META-INF") and name.endswith("xml")), "")
            if "META-INF/container.xml" in names:
                container = _member(archive, "META-INF/container.xml", where, MOST_CONTAINER)
                match = re.search(rb"full-path\s*=\s*[\"']([^\"']+)[\"']", container)
                name = match[1].decode("utf-8", "replace") if match else name
            if name not in names:
                raise TuneError("there is no score in this archive", where=where, cure=_PLAIN)
            return _member(archive, name, where, MOST_UNPACKED)
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, NotImplementedError, RuntimeError, ValueError) as error:
        raise TuneError("the archive is damaged", where=where, cure=_PLAIN) from error


def _member(archive: zipfile.ZipFile, name: str, where: str, most: int) -> bytes:
    # Deflate gives no more than is asked of it; Python unpacks the other methods as far as they go.
    if archive.getinfo(name).compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise TuneError("the archive is packed in a way that scores are not", where=where, cure=_PLAIN)
    with archive.open(name) as member:
        data = member.read(most + 1)
    if len(data) > most:
        what = "the score is larger than 20 MB" if most == MOST_UNPACKED else "its list of contents is too large"
        raise TuneError(f"unpacked {what}", where=where, cure="give a file with the tune alone")
    return data


def score_tree(data: bytes, where: str) -> ET.Element:
    """The ``score-partwise`` element of a score; entities of its own are refused, nothing outside is fetched.

    Raises:
        TuneError: when it is none, or has more measures than a tune may have.
    """
    try:
        _look_through(data, where)
        root = ET.fromstring(data)  # noqa: S314 - it was looked through above # nosec B314
    except (ET.ParseError, expat.ExpatError, ValueError, LookupError) as error:
        raise TuneError(f"this is no XML that can be read ({error})", where=where, cure="save it again") from error
    if root.tag != "score-partwise":
        raise TuneError(
            f"a score was wanted, this is a <{root.tag[:40]}>", where=where, cure="save it as MusicXML, score-partwise"
        )
    if any(len(part.findall("measure")) > MOST_MEASURES for part in root.findall("part")):
        raise TuneError(f"the tune has more than {MOST_MEASURES} measures", where=where, cure="give a part of it")
    return root


def _look_through(data: bytes, where: str) -> None:
    """Refuse entities, and more or deeper elements than a score has, before anything is built of them."""
    parser = expat.ParserCreate()
    depth = count = 0

    def entity(*_: object) -> NoReturn:
        raise TuneError("the file defines entities of its own", where=where, cure="save it again from a score program")

    def begin(_name: str, _attributes: object) -> None:
        nonlocal depth, count
        depth, count = depth + 1, count + 1
        if depth > DEEPEST:
            raise TuneError(
                f"its elements lie more than {DEEPEST} inside one another",
                where=where,
                cure="save it again from a score program",
            )
        if count > MOST_ELEMENTS:
            raise TuneError(
                f"the score has more than {MOST_ELEMENTS} elements", where=where, cure="give a file with the tune alone"
            )

    def end(_name: str) -> None:
        nonlocal depth
        depth -= 1

    parser.EntityDeclHandler = entity
    parser.StartElementHandler, parser.EndElementHandler = begin, end
    parser.Parse(data, True)  # noqa: FBT003 - it takes no keywords
