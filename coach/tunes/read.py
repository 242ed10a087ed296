"""Reading tunes: the one door for every format.

The format is told by the content first and the suffix second, so that a wrong suffix does no harm.
"""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from io import BytesIO
from pathlib import Path

from coach.errors import TuneError
from coach.tunes.abc import AbcTune, read_abc, split_book
from coach.tunes.chord_search import find_chords
from coach.tunes.draft import MOST_MEASURES, Draft, first_number
from coach.tunes.harmony import home_key, read_chords, set_chords
from coach.tunes.midi import read_midi
from coach.tunes.musicxml import read_musicxml
from coach.tunes.phrases import mark_phrases
from coach.tunes.plain_text import plain_text
from coach.tunes.played import written_out
from coach.tunes.tune import Measure, Tune

__all__ = [
    "MOST_BYTES",
    "MOST_MEASURES",
    "BookEntry",
    "UnreadTune",
    "open_book",
    "open_book_bytes",
    "read_book",
    "read_each",
    "read_tune",
    "read_tune_bytes",
]

MOST_BYTES = 5_000_000

_LONGEST_MEASURE = 128  # quarters; the longest metre that is read, 32/1, has as many

_FORMATS = "ABC (.abc), MusicXML (.musicxml, .mxl) or a Standard MIDI File (.mid)"


@dataclass(frozen=True, slots=True)
class BookEntry:
    """One tune of a book.

    Attributes:
        number: as the book numbers it.
        title: as the source gives it; may be empty.
        tune: the tune, or the error that says why it cannot be read.
    """

    number: int
    title: str
    tune: Tune | TuneError


@dataclass(frozen=True, slots=True)
class UnreadTune:
    """One tune of a book before it is read, so that many can be read side by side; it can be pickled.

    Attributes:
        number: as the book numbers it.
        title: as the source gives it; may be empty.
        name: of its file.
        draft: reads its source.
    """

    number: int
    title: str
    name: str
    draft: Callable[[], Draft]

    def read(self) -> Tune:
        """The tune.

        Raises:
            TuneError: when it cannot be read.
        """
        return _finish(self.draft(), self.name, None)


def read_tune(
    path: Path, *, number: int | None = None, part: str | int | None = None, chords: str | None = None
) -> Tune:
    """Read one tune from a file.

    Args:
        path: an ABC file, a MusicXML file, plain or compressed, or a Standard MIDI File.
        number: picks one tune of an ABC book; None for its first.
        part: the part, voice or track with the melody, by name or counted from 1; None to find it.
        chords: ``G | C | D7 | G``, one group a measure, in place of the source's own chords.

    Raises:
        TuneError: when it cannot be read: what is wrong, where, and what to do.
    """
    return read_tune_bytes(_load(path), path.name, number=number, part=part, chords=chords)


def read_tune_bytes(
    data: bytes, name: str, *, number: int | None = None, part: str | int | None = None, chords: str | None = None
) -> Tune:
    """Read one tune from the bytes of a file; ``name`` is used for its suffix and in errors. See :func:`read_tune`."""
    if number is not None and _format(data, name) != "abc":
        raise TuneError("only an ABC book has numbered tunes", where=name, cure="leave the number out")
    unread = _choose(_readers(data, name, part), number, name)
    return _finish(unread.draft(), name, chords)


def open_book(path: Path) -> tuple[UnreadTune, ...]:
    """Every tune of an ABC book, not read yet; any other file is a book of one.

    Raises:
        TuneError: when the file itself cannot be read.
    """
    return open_book_bytes(_load(path), path.name)


def open_book_bytes(data: bytes, name: str) -> tuple[UnreadTune, ...]:
    """Every tune of a book from the bytes of its file; see :func:`open_book`."""
    return _readers(data, name, None)


def read_book(path: Path) -> tuple[BookEntry, ...]:
    """Read every tune of an ABC book; any other file is a book of one.

    Raises:
        TuneError: when the file itself cannot be read. What is wrong with a single tune is in its entry.
    """
    return read_each(open_book(path))


def read_each(tunes: Sequence[UnreadTune]) -> tuple[BookEntry, ...]:
    """Read tunes of a book; what is wrong with one is in its entry."""
    entries: list[BookEntry] = []
    for unread in tunes:
        tune: Tune | TuneError
        try:
            tune = unread.read()
        except TuneError as error:
            tune = error
        title = unread.title or (tune.title if isinstance(tune, Tune) else "")
        entries.append(BookEntry(unread.number, title, tune))
    return tuple(entries)


def _load(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _too_big(path.name)
        return path.read_bytes()
    except OSError as error:
        raise TuneError(
            f"the file cannot be opened ({error.strerror or error})", where=str(path), cure="check its name and place"
        ) from error


def _too_big(name: str) -> TuneError:
    return TuneError("the file is larger than 5 MB", where=name, cure="give a file with the tune alone")


def _format(data: bytes, name: str) -> str:
    if len(data) > MOST_BYTES:
        raise _too_big(name)
    if not data.strip():
        raise TuneError("the file is empty", where=name, cure=f"give a tune as {_FORMATS}")
    if data.startswith(b"MThd"):
        return "midi"
    if data.startswith(b"PK") and zipfile.is_zipfile(BytesIO(data)):
        return "mxl"
    start = data[:4000].lstrip(b"\xef\xbb\xbf\xff\xfe\x00 \t\r\n").replace(b"\x00", b"")
    if start.startswith(b"<"):
        return "musicxml"
    kind = {".mid": "midi", ".midi": "midi", ".mxl": "mxl"}.get(Path(name).suffix.lower(), "abc")
    if kind == "abc" and b"\x00" in data and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        # No text has a zero byte, but for UTF-16 with its mark; an X: in such noise must not pass for a tune.
        raise TuneError("this is no tune file", where=name, cure=f"give a tune as {_FORMATS}")
    return kind


def _readers(data: bytes, name: str, part: str | int | None) -> tuple[UnreadTune, ...]:
    kind = _format(data, name)
    if kind == "midi":
        return (UnreadTune(1, "", name, partial(read_midi, data, where=name, part=part)),)
    if kind in {"mxl", "musicxml"}:
        return (UnreadTune(1, "", name, partial(read_musicxml, data, where=name, part=part, packed=kind == "mxl")),)
    voice = None if part is None else str(part)
    tunes = split_book(_text(data), where=name)
    if not tunes:
        raise TuneError("this is no tune file", where=name, cure=f"give a tune as {_FORMATS}")

    def place(tune: AbcTune) -> str:
        return name if len(tunes) == 1 else f"{name}, tune {tune.number}"

    return tuple(
        UnreadTune(tune.number, tune.title, name, partial(read_abc, tune, where=place(tune), part=voice))
        for tune in tunes
    )


def _text(data: bytes) -> str:
    for encoding in ("utf-8-sig", "utf-16" if data[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1")


def _choose(tunes: tuple[UnreadTune, ...], number: int | None, name: str) -> UnreadTune:
    if number is None:
        return tunes[0]
    for tune in tunes:
        if tune.number == number:
            return tune
    raise TuneError(
        f"there is no tune number {number} in this book",
        where=name,
        cure=f"its numbers run from {tunes[0].number} to {tunes[-1].number}",
    )


def _finish(draft: Draft, name: str, chords: str | None) -> Tune:
    """Number the measures, see to chords and phrases, and check that the whole can be used."""
    if not any(measure.notes for measure in draft.measures):
        raise TuneError("there is no melody in this tune", where=name, cure="check that it has notes")
    if len(draft.measures) > MOST_MEASURES:
        raise TuneError(f"the tune has more than {MOST_MEASURES} measures", where=name, cure="give a part of it")
    if any(measure.length > _LONGEST_MEASURE for measure in draft.measures):
        raise TuneError(
            f"a measure is longer than {_LONGEST_MEASURE} quarters", where=name, cure="write barlines as the metre says"
        )
    start = first_number(draft.measures)
    measures = tuple(replace(measure, number=number) for number, measure in enumerate(draft.measures, start=start))
    remarks = list(draft.remarks)
    if chords is not None:
        measures = set_chords(measures, read_chords(chords))
    elif not _has_chords(measures):
        if any(measure.chords for measure in measures):
            remarks.append("The few chord names of the source are left out.")
        measures = tuple(replace(measure, chords=()) for measure in measures)
    key = draft.key if draft.key_told else home_key(measures, draft.key)
    if key != draft.key:
        remarks.append(f"The key signature is that of {draft.key}, but the tune comes home in {key}.")
    if not draft.phrased:
        measures = mark_phrases(measures)
    if not any(measure.chords for measure in measures):
        measures = find_chords(measures, key)
        remarks.append("The source has no chords: they were found from the melody, its accents and its phrases.")
    odd = [measure.number for measure in measures[1:-1] if measure.length > measure.meter.length]
    if odd:
        remarks.append(f"Longer than the metre says: measure {', '.join(map(str, odd[:8]))}{' …' * (len(odd) > 8)}.")
    tune = Tune(plain_text(draft.title), plain_text(draft.rights), key, _in_plain_text(measures), tuple(remarks))
    written_out(tune)
    return tune


def _in_plain_text(measures: tuple[Measure, ...]) -> tuple[Measure, ...]:
    """The measures with words that every sheet can hold."""

    def plain(word: str | None) -> str | None:
        return plain_text(word) or None if word else word

    return tuple(
        replace(
            measure,
            notes=tuple(
                replace(note, lyric=plain(note.lyric), verses=tuple(map(plain, note.verses)))
                if note.lyric or note.verses
                else note
                for note in measure.notes
            ),
        )
        for measure in measures
    )


def _has_chords(measures: tuple[Measure, ...]) -> bool:
    """Whether the chords of the source are meant for the whole tune: a few strays late in it are not."""
    named = [measure.number for measure in measures if measure.chords]
    return bool(named) and (named[0] <= 2 or 4 * len(named) >= len(measures))
