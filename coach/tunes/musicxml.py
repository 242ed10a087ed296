"""Reading MusicXML, plain or compressed, by way of music21."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from fractions import Fraction
from typing import Any
from xml.etree import ElementTree as ET

from coach.errors import TuneError
from coach.tunes.chords import Chord, nearest_chord, read_chord
from coach.tunes.draft import Draft, MeasureWriter, Misnamed, first_number, remarks_on, remarks_on_names
from coach.tunes.keys import MODES, Key
from coach.tunes.score_file import score_tree, unpacked
from coach.tunes.tune import Meter, Note

__all__ = ["read_musicxml"]

_FINEST = 5040 * 16

# music21's names for the kinds of MusicXML, as chord qualities of ours; richer ones lose their upper notes.
_KINDS = {
    "major": "",
    "minor": "m",
    "dominant-seventh": "7",
    "minor-seventh": "m7",
    "major-seventh": "maj7",
    "major-sixth": "6",
    "minor-sixth": "m6",
    "dominant-ninth": "9",
    "minor-ninth": "m9",
    "suspended-fourth": "sus4",
    "suspended-second": "sus2",
    "suspended-fourth-seventh": "7sus4",
    "diminished": "dim",
    "diminished-seventh": "dim7",
    "half-diminished-seventh": "m7b5",
    "augmented": "aug",
    "augmented-seventh": "7#5",
    "power": "5",
    "minor-major-seventh": "m",
    "major-ninth": "maj7",
    "major-11th": "maj7",
    "major-13th": "maj7",
    "dominant-11th": "9",
    "dominant-13th": "9",
    "minor-11th": "m9",
    "minor-13th": "m9",
}


def read_musicxml(data: bytes, *, where: str, part: str | int | None, packed: bool) -> Draft:
    """Read a score.

    Args:
        data: the bytes of the file.
        where: the name of the file, for errors.
        part: the part with the melody, by name or counted from 1; None for the first.
        packed: whether it is the compressed form.

    Raises:
        TuneError: when it cannot be read.
    """
    score = _parse(unpacked(data, where) if packed else data, where)
    parts = list(score.parts)
    if not parts:
        raise TuneError("there is no part in this score", where=where, cure="give a score with a melody")
    chosen = _choose(parts, part, where)
    found = {"voices"} if len(parts) > 1 and part is None else set()
    if any(one.transposition is not None for one in chosen.getInstruments(recurse=True)):
        chosen = chosen.toSoundingPitch()
    return _PartReader(where, found).read(score, chosen)


def _parse(data: bytes, where: str) -> Any:
    from music21 import converter, stream

    root = score_tree(data, where)
    if root.find(".//note") is None:
        raise TuneError("there is no melody in this tune", where=where, cure="check that it has notes")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            score = converter.parseData(ET.tostring(root, encoding="unicode"), format="musicxml")
    except Exception as error:
        # What a stranger's file can raise inside the parser is without bound; it all means the same here.
        raise TuneError(
            f"the score cannot be read ({type(error).__name__})", where=where, cure="save it again from a score program"
        ) from error
    if not isinstance(score, stream.Score):
        raise TuneError("there is no single score in this file", where=where, cure="give one score a file")
    return score


def _choose(parts: list[Any], part: str | int | None, where: str) -> Any:
    if part is None:
        return parts[0]
    names = [str(one.partName or one.id) for one in parts]
    for place, (one, name) in enumerate(zip(parts, names, strict=True), start=1):
        if str(part).strip().lower() in {str(place), name.lower(), str(one.id).lower()}:
            return one
    raise TuneError(f"there is no part {part!r}", where=where, cure=f"choose one of {', '.join(names[:12])}")


class _PartReader:
    """Copies one part of a music21 score into a draft."""

    def __init__(self, where: str, found: set[str]) -> None:
        self.where = where
        self.found = found
        self.remarks: list[str] = []
        self.misnamed: list[Misnamed] = []
        self.last_pitch = -1
        self.grace: int | None = None

    def read(self, score: Any, part: Any) -> Draft:
        from music21.spanner import RepeatBracket

        endings: dict[int, tuple[int, ...]] = {}
        for bracket in part.recurse().getElementsByClass(RepeatBracket):
            for measure in bracket.getSpannedElements():
                endings[id(measure)] = tuple(bracket.numberRange)
        key: Key | None = None
        writer: MeasureWriter | None = None
        for measure in part.getElementsByClass("Measure"):
            if measure.timeSignature is not None:
                meter = Meter(measure.timeSignature.numerator, measure.timeSignature.denominator)
                writer = writer or MeasureWriter(meter)
                writer.meter = meter
            if writer is None:
                raise TuneError("the tune has no metre", where=self.where, cure="give it a time signature, such as 4/4")
            if measure.keySignature is not None:
                new = _key(measure.keySignature)
                if key is None:
                    key = new
                else:
                    writer.change_key(new)
            self.read_measure(measure, writer, endings.get(id(measure), ()))
        if writer is None:
            raise TuneError("there is no melody in this tune", where=self.where, cure="check that it has measures")
        if key is None:
            key = Key("C")
            self.remarks.append("The source has no key signature: it is read as C major.")
        title, rights = _about(score)
        title = title or self.where.rsplit(".", 1)[0]
        names = remarks_on_names(self.misnamed, first_number(writer.measures))
        remarks = (*remarks_on(self.found), *self.remarks, *names)
        return Draft(title, rights, key, tuple(writer.measures), remarks, key_told=False)

    def read_measure(self, measure: Any, writer: MeasureWriter, endings: tuple[int, ...]) -> None:
        from music21.bar import Repeat

        left, right = measure.leftBarline, measure.rightBarline
        if isinstance(left, Repeat) and left.direction == "start":
            writer.start_repeat()
        writer.start_ending(endings)
        voice = measure
        if measure.voices:
            voice = measure.voices.first()
            if len(measure.voices) > 1:
                self.found.add("voices")
        if any(measure.getElementsByClass("RepeatExpression")):
            self.found.add("directions")
        chords = list(self.chords(measure, len(writer.measures)))
        for element in voice.notesAndRests:
            start = _exact(voice.elementOffset(element) + (0 if voice is measure else measure.elementOffset(voice)))
            while chords and chords[0][0] <= start:
                at, chord = chords.pop(0)
                writer.rest_until(at)
                writer.add_chord(chord)
            self.read_element(element, start, writer)
        length = _exact(measure.highestTime) or _exact(measure.barDuration.quarterLength)
        for at, chord in chords:
            writer.rest_until(min(at, length))
            writer.add_chord(chord)
        writer.rest_until(length)
        if isinstance(right, Repeat):
            writer.bar(ends=min(max(2, right.times or 2), 9))
        else:
            writer.bar(double=right is not None and right.type in {"double", "final", "heavy-heavy"})

    def chords(self, measure: Any, index: int) -> Iterator[tuple[Fraction, Chord]]:
        from music21.harmony import ChordSymbol, NoChord

        for symbol in measure.recurse().getElementsByClass(ChordSymbol):
            if isinstance(symbol, NoChord):
                continue
            chord = self.chord(symbol, index)
            if chord is not None:
                yield _exact(symbol.getOffsetInHierarchy(measure)), chord

    def chord(self, symbol: Any, index: int) -> Chord | None:
        quality = _KINDS.get(symbol.chordKind)
        root = symbol.root()
        name = _name(str(symbol.figure))
        if root is not None:
            kind = str(symbol.chordKindStr or symbol.chordKind) if quality is None else quality
            bass = symbol.bass()
            tail = "" if bass is None or bass.name == root.name else f"/{_name(bass.name)}"
            name = f"{_name(root.name)}{kind}{tail}"
        try:
            return read_chord(name)
        except TuneError:
            chord = nearest_chord(name)
            self.misnamed.append(Misnamed(index, name, chord))
            return chord

    def read_element(self, element: Any, start: Fraction, writer: MeasureWriter) -> None:
        from music21.harmony import Harmony

        if isinstance(element, Harmony):
            return
        pitches = getattr(element, "pitches", ())
        if element.duration.isGrace:
            self.found.add("graces")
            self.grace = max((int(one.midi) for one in pitches), default=self.grace)
            return
        length = _exact(element.duration.quarterLength)
        if length <= 0 or start < writer.at:
            return
        writer.rest_until(start)
        grace, self.grace = self.grace, None
        if not pitches:
            writer.add_rest(length)
            self.last_pitch = -1
            return
        if len(pitches) > 1:
            self.found.add("double notes")
        pitch = max(int(one.midi) for one in pitches)
        tied = element.tie is not None and element.tie.type in {"stop", "continue"} and pitch == self.last_pitch
        verses = _verses(element)
        words = (verses[0] if verses else None, tuple(verses[1:]))
        writer.add_note(Note(Fraction(0), length, pitch, *words, grace=grace), tied=tied)
        self.last_pitch = pitch


def _exact(value: Any) -> Fraction:
    return Fraction(value).limit_denominator(_FINEST)


def _name(name: str) -> str:
    return name.replace("-", "b")


def _key(signature: Any) -> Key:
    from music21.key import Key as Music21Key

    key = signature if isinstance(signature, Music21Key) else signature.asKey("major")
    mode = str(key.mode)
    return Key(_name(key.tonic.name).upper()[:1] + _name(key.tonic.name)[1:], mode if mode in MODES else "major")


def _verses(element: Any) -> list[str | None]:
    verses: list[str | None] = []
    for place, lyric in enumerate(element.lyrics, start=1):
        number = lyric.number if isinstance(lyric.number, int) and 1 <= lyric.number <= 20 else place
        verses.extend([None] * (number - len(verses)))
        text = (lyric.text or "").strip()
        if text:
            verses[number - 1] = f"{text}-" if lyric.syllabic in {"begin", "middle"} else text
    return verses


def _about(score: Any) -> tuple[str, str]:
    metadata = score.metadata
    if metadata is None:
        return "", ""
    title = metadata.title or metadata.movementName or ""
    return str(title).strip(), str(metadata.copyright or metadata.composer or "").strip()
