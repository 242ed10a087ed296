"""The outside of a MusicXML file, plain or compressed: bytes of strangers become a tree of elements, or a sentence.

References:
    MusicXML 4.0, W3C Community Group Final Report: the compressed form (.mxl) is a ZIP archive whose
    META-INF/container.xml names the score.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from io import BytesIO
from xml.etree import ElementTree as ET

from coach.errors import TuneError
from coach.tunes.draft import MOST_MEASURES

__all__ = ["MOST_UNPACKED", "score_tree", "unpacked"]

# Unpacked, a score may be this many times as large as the largest file that is taken.
MOST_UNPACKED = 20_000_000


def unpacked(data: bytes, where: str) -> bytes:
    """The score in a compressed file.

    Raises:
        TuneError: when there is none, or the archive is damaged or too large.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            names = archive.namelist()
            name = next((name for name in names if not name.startswith("META-INF") and name.endswith("xml")), "")
            if "META-INF/container.xml" in names:
                container = _member(archive, "META-INF/container.xml", where)
                match = re.search(rb"full-path\s*=\s*[\"']([^\"']+)[\"']", container)
                name = match[1].decode("utf-8", "replace") if match else name
            if name not in names:
                raise TuneError("there is no score in this archive", where=where, cure="save it again as .musicxml")
            return _member(archive, name, where)
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, NotImplementedError, RuntimeError, ValueError) as error:
        raise TuneError("the archive is damaged", where=where, cure="save it again as .musicxml") from error


def _member(archive: zipfile.ZipFile, name: str, where: str) -> bytes:
    with archive.open(name) as member:
        data = member.read(MOST_UNPACKED + 1)
    if len(data) > MOST_UNPACKED:
        raise TuneError("unpacked the score is larger than 20 MB", where=where, cure="give a file with the tune alone")
    return data


def score_tree(data: bytes, where: str) -> ET.Element:
    """The ``score-partwise`` element of a score; entities of its own are refused, nothing outside is fetched.

    Raises:
        TuneError: when it is none, or has more measures than a tune may have.
    """
    if any("<!ENTITY".encode(encoding) in data for encoding in ("utf-8", "utf-16-le", "utf-16-be")):
        raise TuneError("the file defines entities of its own", where=where, cure="save it again from a score program")
    try:
        root = ET.fromstring(data)  # noqa: S314 - entities are refused above
    except (ET.ParseError, ValueError, LookupError) as error:
        raise TuneError(f"this is no XML that can be read ({error})", where=where, cure="save it again") from error
    if root.tag != "score-partwise":
        raise TuneError(
            f"a score was wanted, this is a <{root.tag[:40]}>", where=where, cure="save it as MusicXML, score-partwise"
        )
    if any(len(part.findall("measure")) > MOST_MEASURES for part in root.findall("part")):
        raise TuneError(f"the tune has more than {MOST_MEASURES} measures", where=where, cure="give a part of it")
    return root
