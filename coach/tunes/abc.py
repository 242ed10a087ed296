"""Reading ABC: one tune, or a book of many.

A book is cut into tunes by their ``X:`` fields and each is read alone, so that one bad tune leaves the others readable.
:mod:`coach.tunes.abc_scan` cuts the music into events; music21 gives the notes their pitch and length; both are put
together here. Accidentals always hold to the end of their measure for their own pitch and octave, whatever version the
file names.

References:
    The ABC music standard 2.1, December 2011, chapters 2, 3 and 4 (rules from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from coach.errors import TuneError
from coach.tunes.abc_events import (
    Bar,
    Ending,
    Event,
    Grace,
    KeyChange,
    LineEnd,
    MeterChange,
    RestMeasures,
    Sound,
    Symbol,
)
from coach.tunes.abc_fields import FIELD, names_mode, read_key, read_meter, read_unit, signature, usual_unit
from coach.tunes.abc_scan import scan
from coach.tunes.chords import Chord, nearest_chord, read_chord
from coach.tunes.draft import (
    MOST_MEASURES,
    Draft,
    MeasureWriter,
    Misnamed,
    first_number,
    remark_on_texts,
    remarks_on,
    remarks_on_names,
)
from coach.tunes.tune import Measure, Meter, Note

__all__ = ["AbcTune", "read_abc", "split_book"]

_COMMENT = re.compile(r"(?<!\\)%.*")
_RIGHTS = re.compile(r"(?:%%abc-copyright|Z:\s*abc-copyright)\s*(.*)")
_FINEST = 5040 * 64
_LONGEST_HEAD = 100  # lines of a file before its first tune that can hold for all
_MOST_TUNES = 20_000
_MOST_LINES = 1_000_000
_LONGEST_TUNE = 200_000  # letters: of 500 full measures with several verses there are some 50,000

# Text over the staff that no chord name looks like: words with a vowel, and the usual short signs.
_PLAIN_TEXT = re.compile(r"[\^_<>@].*|[^A-Z].*|(?=.*[aeiouAEIOU])[A-Za-z.' -]{3,}|.*[.\s(:].*|DC|DS|NC|[H-Z]{1,2}")
_VOICE = re.compile(r"(?:^|\[)V:\s*([^\s\]]+)")
_NO_CHORD = {"NC", "N.C.", "N.C"}  # "no chord": the one before goes on, which is worth a word


@dataclass(frozen=True, slots=True)
class AbcTune:
    """One tune of a book, not read yet.

    Attributes:
        number: of its ``X:`` field; where that is missing or no number, its place in the book from 1.
        title: its first ``T:`` field, or empty.
        lines: each with its number in the file, counted from 1; what the file says before its first tune included.
    """

    number: int
    title: str
    lines: tuple[tuple[int, str], ...]


def split_book(text: str, *, where: str = "the book") -> tuple[AbcTune, ...]:
    """Cut an ABC file into its tunes; none when no line begins one.

    Raises:
        TuneError: when there are more than 20 000, or more than 1 000 000 lines.
    """
    if text.count("\n") > _MOST_LINES:
        raise TuneError(f"the book has more than {_MOST_LINES} lines", where=where, cure="split it")
    lines = list(enumerate(text.splitlines(), start=1))
    starts = [index for index, (_, line) in enumerate(lines) if line.startswith("X:")]
    if not starts:
        return (_piece(1, lines),) if any(line.startswith("K:") for _, line in lines) else ()
    if len(starts) > _MOST_TUNES:
        raise TuneError(f"the book has more than {_MOST_TUNES} tunes", where=where, cure="split it")
    first = lines[: min(starts[0], _LONGEST_HEAD)]
    head = [(number, line) for number, line in first if line.startswith("%%") or FIELD.match(line)]
    bounds = pairwise([*starts, len(lines)])
    return tuple(_piece(place, [*head, *lines[start:end]]) for place, (start, end) in enumerate(bounds, start=1))


def _piece(place: int, lines: list[tuple[int, str]]) -> AbcTune:
    fields = [(line[:2], _COMMENT.sub("", line[2:]).strip()) for _, line in lines if line[:2] in {"X:", "T:"}]
    numbers = [int(value) for field, value in fields if field == "X:" and value.isdecimal() and len(value) < 10]
    titles = [value for field, value in fields if field == "T:"]
    return AbcTune(numbers[0] if numbers else place, titles[0] if titles else "", tuple(lines))


@dataclass(frozen=True, slots=True)
class _Header:
    meter: Meter
    unit: Fraction
    key_text: str
    key_line: int
    rights: str
    voice: str | None
    body: tuple[tuple[int, str], ...]


def read_abc(tune: AbcTune, *, where: str, part: str | None = None) -> Draft:
    """Read one tune.

    Args:
        tune: from :func:`split_book`.
        where: the name of the file, for errors.
        part: the voice that has the melody, as its V: field names it or counted from 1; None for the first.

    Raises:
        TuneError: when something in it cannot be read.
    """
    header = _read_header(tune, where, part and _voice(tune, part, where))
    if sum(len(line) for _, line in header.body) > _LONGEST_TUNE:
        raise TuneError("the tune is far too long", where=where, cure="give a part of it")
    key, signs = read_key(header.key_text, where=f"{where}, line {header.key_line}")
    if key is None:
        raise TuneError("the tune has no key", where=f"{where}, line {header.key_line}", cure="add one, such as K:G")
    events, plain, found = scan(
        header.body, where=where, meter=header.meter, unit=header.unit, signs=signs, voice=header.voice
    )
    unit = f"L:{header.unit.numerator}/{header.unit.denominator}"
    head = f"{unit}\nK:{signature(key, where=f'{where}, line {header.key_line}')}\n"
    sounds = _ask_music21(head + plain, where)
    if len(sounds) != sum(isinstance(event, Sound | Grace) for event in events):
        raise TuneError(
            "the notes of this tune cannot be told apart", where=where, cure="check its music for odd signs"
        )
    if part is not None and not any(isinstance(event, Sound) for event in events):
        raise TuneError(f"there is no music in a voice {part!r}", where=where, cure="name a voice as its V: field does")
    if part is not None:
        found.discard("voices")  # the melody is the voice that was asked for, first or not
    chords, unknown, stray = _read_symbols(events)
    measures, places = _fill(events, sounds, chords, header.meter)
    misnamed = [Misnamed(places[index], symbol, chords.get(index)) for index, symbol in unknown.items()]
    first = first_number(measures) if measures else 1
    texts = [(first + places[index], text) for index, text in stray.items()]
    lines = sum(measure.line_end for measure in measures)
    return Draft(
        tune.title or f"Tune {tune.number}",
        header.rights,
        key,
        measures,
        (*remarks_on(found), *remark_on_texts(texts), *remarks_on_names(misnamed, first)),
        phrased=lines > 1,
        key_told=names_mode(header.key_text),
    )


def _voice(tune: AbcTune, part: str, where: str) -> str | None:
    """The voice that is asked for, by the name of its V: field; None where voices have no names."""
    names = list(dict.fromkeys(name for _, line in tune.lines for name in _VOICE.findall(line)))
    if not names and part != "1":
        raise TuneError(f"there is no voice {part!r}: the tune has only one", where=where, cure="name none")
    counted = int(part) if part.isdecimal() and part not in names else 0
    return names[counted - 1] if 0 < counted <= len(names) else part if names else None


def _read_header(tune: AbcTune, where: str, part: str | None) -> _Header:
    fields: dict[str, tuple[int, str]] = {}
    rights: list[str] = []
    for index, (number, line) in enumerate(tune.lines):
        if match := _RIGHTS.match(line):
            rights.append(match[1].strip())
        match = FIELD.match(_COMMENT.sub("", line))
        if match is None:
            continue
        letter, value = match[1], match[2].strip()
        if letter == "K":
            fields[letter] = (number, value)
            body = _body(tune.lines[index + 1 :])
            break
        if letter in "ML" or (letter in "CSOBV" and value and letter not in fields):
            fields[letter] = (number, value)
    else:
        raise TuneError("the tune has no key", where=where, cure="add a line such as K:G before its music")
    if "M" not in fields:
        raise TuneError("the tune has no metre", where=where, cure="add a line such as M:4/4 before the line with K:")
    meter = read_meter(fields["M"][1], where=f"{where}, line {fields['M'][0]}")
    unit = read_unit(fields["L"][1], where=f"{where}, line {fields['L'][0]}") if "L" in fields else usual_unit(meter)
    source = "; ".join(fields[letter][1] for letter in "CSBO" if letter in fields)
    voice = part or (fields["V"][1].split(maxsplit=1)[0] if "V" in fields else None)
    key_line, key = fields["K"]
    return _Header(meter, unit, key, key_line, "; ".join(rights) or source, voice, body)


def _body(lines: tuple[tuple[int, str], ...]) -> tuple[tuple[int, str], ...]:
    """The music up to the blank line that ends a tune; blank lines before any music do not count."""
    body: list[tuple[int, str]] = []
    begun = False
    for number, line in lines:
        if line.startswith("%"):
            continue
        text = _COMMENT.sub("", line)
        if not line.strip() and begun:
            break
        if text.strip():
            begun = begun or FIELD.match(text) is None
            body.append((number, text))
    return tuple(body)


def _ask_music21(text: str, where: str) -> list[tuple[int | None, Fraction]]:
    """Pitch (None for a rest) and length in quarters of each note and rest of plain ABC music."""
    from music21.abcFormat import ABCHandler, ABCNote
    from music21.exceptions21 import Music21Exception
    from music21.pitch import Pitch

    handler = ABCHandler(abcVersion=(2, 1, 0))
    handler.abcDirectives["propagate-accidentals"] = "octave"
    pitches: dict[str, int] = {}
    sounds: list[tuple[int | None, Fraction]] = []
    try:
        handler.process(text)
        for token in handler.tokens:
            if not isinstance(token, ABCNote):
                continue
            name = token.pitchName
            if name is not None and name not in pitches:
                pitches[name] = int(Pitch(name).midi)
            length = Fraction(token.quarterLength).limit_denominator(_FINEST)
            sounds.append((None if name is None else pitches[name], length))
    except (Music21Exception, ValueError, IndexError, ZeroDivisionError) as error:
        raise TuneError(
            f"the notes cannot be read ({error})", where=where, cure="check the music of this tune"
        ) from error
    return sounds


def _read_symbols(events: list[Event]) -> tuple[dict[int, Chord], dict[int, str], dict[int, str]]:
    """The texts over the staff, by the place of their event: the chords, and those that are no chord names.

    Where a name that is not known has a root, its nearest chord is among the chords. The last of the three is text that
    was not meant as a chord.
    """
    chords: dict[int, Chord] = {}
    unknown: dict[int, str] = {}
    stray: dict[int, str] = {}
    for index, event in enumerate(events):
        if not isinstance(event, Symbol) or not event.text.strip():
            continue
        text = event.text.strip()
        chord: Chord | None
        try:
            chord = read_chord(text)
        except TuneError:
            if _PLAIN_TEXT.fullmatch(text) and text.upper() not in _NO_CHORD:
                stray[index] = text
                continue
            unknown[index] = text
            chord = nearest_chord(text)
        if not (text[0].isupper() or index in unknown):
            stray[index] = text
        elif chord is not None:
            chords[index] = chord
    return chords, unknown, stray


def _fill(
    events: list[Event], sounds: list[tuple[int | None, Fraction]], chords: dict[int, Chord], meter: Meter
) -> tuple[tuple[Measure, ...], dict[int, int]]:
    """The measures; and for each text over the staff, by the place of its event, the index of its measure."""
    writer = MeasureWriter(meter)
    places: dict[int, int] = {}
    heard = iter(sounds)
    tied = ""
    phrase = True
    grace: int | None = None
    for index, event in enumerate(events):
        if len(writer.measures) > MOST_MEASURES:
            break
        match event:
            case Sound():
                pitch, length = next(heard)
                length *= event.ratio
                if pitch is None:
                    writer.add_rest(length)
                else:
                    verses = (*event.words, None)
                    note = Note(Fraction(0), length, pitch, verses[0], verses[1:-1], phrase, grace)
                    writer.add_note(note, tied=tied == event.name)
                    phrase = phrase and tied == event.name
                tied = event.name if event.tied else ""
                grace = None
            case Grace():
                grace, _ = next(heard)
            case RestMeasures():
                for left in range(min(event.count, MOST_MEASURES + 1), 0, -1):
                    writer.add_rest(writer.meter.length)
                    if left > 1:
                        writer.bar()
            case Bar():
                writer.bar(ends=event.ends, double=event.double)
                if event.starts:
                    writer.start_repeat()
            case Ending():
                if not writer.empty:
                    writer.bar()
                writer.start_ending(event.times)
            case Symbol():
                places[index] = len(writer.measures)
                if index in chords:
                    writer.add_chord(chords[index])
            case MeterChange():
                writer.meter = event.meter
            case KeyChange():
                writer.change_key(event.key)
            case LineEnd():
                writer.end_line()
                phrase = True
    writer.bar()
    return tuple(writer.measures), places
