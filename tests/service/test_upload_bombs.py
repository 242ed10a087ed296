"""Files that are made to break who reads them: each gets one sentence, quickly, and the next file is read.

What is tried is what OWASP's File Upload and XML Security cheat sheets list for such formats (from memory): archives
that swell, entities that multiply or reach outside, nesting without end, lengths that lie.
"""

from __future__ import annotations

import asyncio
import re
import struct
import tracemalloc
import zipfile
from collections.abc import AsyncIterator
from io import BytesIO

import pytest
import pytest_asyncio

from coach.errors import CoachError, TuneError
from coach.service import jobs
from coach.service import workers as workers_module
from coach.service.book import LARGEST_FILE
from coach.service.jobs import read_file
from coach.service.workers import Workers
from coach.tunes import score_file

HEAD = "X:1\nT:Lane\nM:4/4\nL:1/8\nK:G\n"
ATTRIBUTES = "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
NOTE = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration></note>"
END = b"\x00\xff\x2f\x00"


def score(inside: str = NOTE * 4, before: str = "") -> str:
    return (
        f"{before}<score-partwise><part-list><score-part id='P1'><part-name>Voice</part-name></score-part></part-list>"
        f"<part id='P1'><measure number='1'>{ATTRIBUTES}{inside}</measure></part></score-partwise>"
    )


def packed(members: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def midi(*tracks: bytes, told: int | None = None, division: int = 480) -> bytes:
    head = b"MThd" + struct.pack(">IHHH", 6, 1, len(tracks) if told is None else told, division)
    return head + b"".join(b"MTrk" + struct.pack(">I", len(track)) + track for track in tracks)


def abc(music: str) -> bytes:
    return (HEAD + music).encode()


def laughs() -> str:
    """Entities of which each is ten of the one before: 3 GB from 600 letters."""
    entities = "".join(f'<!ENTITY a{k} "{f"&a{k - 1};" * 10}">' for k in range(1, 10))
    return f'<!DOCTYPE score-partwise [<!ENTITY a0 "ha">{entities}]>'


NOTE_AND_END = b"\x00\x90\x3c\x40\x10\x3c\x00" + END
BOMBS = {
    "laughs.musicxml": (lambda: score(before=laughs()).replace("Voice", "&a9;").encode(), "entities of its own"),
    "laughs-in-utf-16.musicxml": (lambda: score(before=laughs()).encode("utf-16"), "entities of its own"),
    "outside.musicxml": (
        lambda: (
            score(before="<!DOCTYPE s [<!ENTITY x SYSTEM 'file:///etc/hostname'>]>").replace("Voice", "&x;").encode()
        ),
        "entities of its own",
    ),
    "parameter.musicxml": (
        lambda: score(before="<!DOCTYPE s [<!ENTITY % x SYSTEM 'http://192.0.2.1/'> %x;]>").encode(),
        "entities of its own",
    ),
    "deep.musicxml": (lambda: score("<a>" * 100_000 + "</a>" * 100_000).encode(), "more than 64 inside one another"),
    "deep-and-open.musicxml": (lambda: b"<a>" * 1_600_000, "more than 64 inside one another"),
    "notes.musicxml": (lambda: score(NOTE * 50_000).encode(), "more than 200000 elements"),
    "swells.mxl": (lambda: packed({"s.xml": b" " * 30_000_000}), "larger than 20 MB"),
    "container-swells.mxl": (
        lambda: packed({"META-INF/container.xml": b" " * 30_000_000, "s.xml": score().encode()}),
        "its list of contents is too large",
    ),
    "members.mxl": (
        lambda: packed({str(k): b"" for k in range(1000)} | {"s.xml": score().encode()}),
        "more than 1000 files",
    ),
    "bzip2.mxl": (lambda: packed({"s.xml": b" " * 100_000}, zipfile.ZIP_BZIP2), "packed in a way"),
    "lzma.mxl": (lambda: packed({"s.xml": b" " * 100_000}, zipfile.ZIP_LZMA), "packed in a way"),
    "events.mid": (lambda: midi(b"\x00\x90\x3c\x40" + b"\x01\x3c\x00\x01\x3c\x40" * 800_000 + END), "500 kB"),
    "tracks.mid": (lambda: midi(*[NOTE_AND_END] * 65_535), "500 kB"),
    "gaps.mid": (
        lambda: midi(b"\xff\xff\xff\x7f\x90\x3c\x40\x10\x3c\x00" * 100 + END, division=1),
        "more than 500 measures",
    ),
    "endless-delta.mid": (lambda: midi(b"\xff" * 20_000 + NOTE_AND_END), "longer than the format allows"),
    "lying-tracks.mid": (
        lambda: midi(told=65_535) + b"MTrk" + struct.pack(">I", 0xFFFFFFFF) + b"\x00\x90\x3c\x40",
        "no melody",
    ),
    "lying-head.mid": (
        lambda: b"MThd" + struct.pack(">IHHH", 0xFFFFFFF0, 1, 1, 480) + NOTE_AND_END,
        "no MIDI file that can be read",
    ),
    "lying-message.mid": (lambda: midi(b"\x00\xf0\xff\xff\xff\x7f" + b"\x01" * 1000), "no MIDI file that can be read"),
    "long.abc": (lambda: abc("GABc dBAG|" * 400_000), "far too long"),
    "brackets.abc": (lambda: abc("[" * 4_000_000), "far too long"),
    "brackets-short.abc": (lambda: abc("[" * 100_000), "no melody"),
    "parentheses.abc": (lambda: abc("(" * 4_000_000), "far too long"),
    "braces.abc": (lambda: abc("{" * 4_000_000), "far too long"),
    "slashes.abc": (lambda: abc("G" + "/" * 100_000 + "|"), "a note cannot have the length"),
    "one-measure.abc": (lambda: abc("G999" + "A" * 10 + "|"), "longer than 128 quarters"),
    "tunes.abc": (lambda: abc("G8|\n") * 501, "more than 500 tunes"),
    "lines.abc": (lambda: b"\n" * 4_000_000 + b"x", "more than 1000000 lines"),
    "deep.json": (lambda: b"[" * 4_000_000, "this is no JSON"),
    "deep-objects.json": (lambda: b'{"measures":' * 300_000, "this is no JSON"),
}


@pytest.mark.parametrize("name", BOMBS)
def test_what_is_made_to_break_who_reads_it_is_refused_in_a_sentence(name: str) -> None:
    make, sentence = BOMBS[name]
    data = make()
    assert len(data) <= LARGEST_FILE

    with pytest.raises(CoachError) as refused:
        read_file(data, name)

    assert re.search(sentence, str(refused.value)), str(refused.value)
    assert str(refused.value).startswith(name)
    assert len(str(refused.value)) < 200


@pytest.mark.parametrize("name", ["swells.mxl", "container-swells.mxl"])
def test_an_archive_is_not_unpacked_further_than_a_score_may_be_large(name: str) -> None:
    data = BOMBS[name][0]()
    tracemalloc.start()
    try:
        with pytest.raises(TuneError):
            read_file(data, name)
        assert tracemalloc.get_traced_memory()[1] < 2.5 * 20_000_000
    finally:
        tracemalloc.stop()


def test_a_document_type_alone_is_no_harm_and_is_not_fetched() -> None:
    tunes, _ = read_file(
        score(before="<!DOCTYPE score-partwise SYSTEM 'http://192.0.2.1/p.dtd'>").encode(), "a.musicxml"
    )

    assert [tune.measures for tune in tunes] == [1]


def test_what_is_as_large_as_it_may_be_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "MOST_TUNES", 2)
    assert read_file(abc("G8|\n") * 2, "book.abc")[0]
    with pytest.raises(TuneError, match="more than 2 tunes"):
        read_file(abc("G8|\n") * 3, "book.abc")

    monkeypatch.setattr(score_file, "MOST_MEMBERS", 2)
    assert read_file(packed({"s.xml": score().encode(), "t": b""}), "a.mxl")[0]
    with pytest.raises(TuneError, match="more than 2 files"):
        read_file(packed({"s.xml": score().encode(), "t": b"", "u": b""}), "a.mxl")

    nested = score(NOTE * 4 + "<a>" * 61 + "</a>" * 61)
    assert read_file(nested.encode(), "deep.musicxml")[0]
    with pytest.raises(TuneError, match="inside one another"):
        read_file(score(NOTE * 4 + "<a>" * 62 + "</a>" * 62).encode(), "deep.musicxml")


# ------------------------------------------------------------------------------------------ in a worker


def take_memory(megabytes: int) -> int:
    """A job that wants a lot."""
    return len(bytearray(megabytes * 1024 * 1024))


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def workers() -> AsyncIterator[Workers]:
    pool = Workers()
    yield pool
    pool.close()


@pytest.mark.asyncio(loop_scope="module")
async def test_a_worker_gets_no_more_memory_than_a_tune_needs_and_the_next_job_is_done(workers: Workers) -> None:
    most = workers_module.MOST_MEMORY // (1024 * 1024)
    assert await workers.run(take_memory, 20, "reading 'a.mxl'", most // 2) == most // 2 * 1024 * 1024
    with pytest.raises(
        CoachError, match=r"^reading 'a\.mxl' took more memory than there is for it; try a simpler one\.$"
    ):
        await workers.run(take_memory, 20, "reading 'a.mxl'", most)

    assert await workers.run(take_memory, 20, "reading 'a.mxl'", 1) == 1024 * 1024


@pytest.mark.asyncio(loop_scope="module")
async def test_bombs_that_come_together_leave_the_workers_to_the_next_file(workers: Workers) -> None:
    names = ["laughs.musicxml", "swells.mxl", "bzip2.mxl", "endless-delta.mid", "brackets.abc"]
    bombs = [(BOMBS[name][0](), name) for name in names]

    found = await asyncio.gather(
        *(workers.run(read_file, 20.0, f"reading {name!r}", data, name) for data, name in bombs), return_exceptions=True
    )
    tunes, _ = await workers.run(read_file, 20.0, "reading 'a.abc'", (HEAD + "G8|A8|").encode(), "a.abc")

    assert all(isinstance(error, TuneError) for error in found), found
    assert [tune.title for tune in tunes] == ["Lane"]
