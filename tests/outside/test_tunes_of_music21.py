"""The reader against music21's own parse of the tunes that lie in the installed music21; nothing of them is copied.

Only tunes whose music is free of what music21 is known to pass over (decorations, graces, slurs, ties to another pitch,
text, fields in brackets) are compared note by note. The others must be read, or refused in one sentence.
"""

import random
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from coach.errors import TuneError
from coach.tunes.abc import AbcTune, split_book
from coach.tunes.played import written_out
from coach.tunes.read import read_book, read_tune, read_tune_bytes
from coach.tunes.tune import Tune

SEED = 1850
MUSIC = re.compile(r"[A-Ga-g0-9/,'|:^_=z<>\s()]*")
TIED_GROUPS = re.compile(r"\((?!3[A-Ga-g])|\)|[<>]\s*[(|]|[<>]{2}")


def corpus() -> Path:
    import music21

    return Path(music21.__file__).parent / "corpus"


def tunes_of(folder: str, files: int) -> list[AbcTune]:
    chance = random.Random(f"{SEED}{folder}")
    paths = sorted((corpus() / folder).glob("*.abc"))
    chosen = chance.sample(paths, min(files, len(paths)))
    return [tune for path in chosen for tune in split_book(path.read_bytes().decode("latin-1"))]


def body(tune: AbcTune) -> str:
    lines = [line for _, line in tune.lines if not re.match(r"[A-Za-z]:|%", line)]
    return "\n".join(lines)


def is_plain(tune: AbcTune) -> bool:
    fields = [line[:2] for _, line in tune.lines if re.match(r"[KML]:", line)]
    metred = any(re.match(r"M:\s*\d", line) for _, line in tune.lines)
    text = body(tune)
    return (
        metred and sorted(fields) == ["K:", "L:", "M:"] and not TIED_GROUPS.search(text) and bool(MUSIC.fullmatch(text))
    )


def text_of(tune: AbcTune) -> str:
    return "%abc-2.1\n" + "\n".join(line for _, line in tune.lines)


def parse_with_music21(tune: AbcTune) -> Any:
    from music21.abcFormat import ABCHandler
    from music21.abcFormat.translate import abcToStreamScore

    handler = ABCHandler(abcVersion=(2, 1, 0))
    handler.abcDirectives["propagate-accidentals"] = "octave"
    handler.process(text_of(tune))
    return abcToStreamScore(handler).parts[0]


def their_notes(part: Any) -> list[tuple[int, Fraction]]:
    return [
        (int(note.pitch.midi), Fraction(note.quarterLength).limit_denominator(960))
        for note in part.stripTies().recurse().notes
        if not note.duration.isGrace
    ]


def our_notes(tune: Tune) -> list[tuple[int, Fraction]]:
    return [(note.pitch, note.length) for measure in tune.measures for note in measure.notes]


def read(tune: AbcTune) -> Tune:
    return read_tune_bytes(text_of(tune).encode(), "sample.abc")


@pytest.mark.parametrize(("folder", "files"), [("oneills1850", 8), ("airdsAirs", 3)])
def test_notes_and_measures_of_fiddle_tunes_are_those_of_music21(folder: str, files: int) -> None:
    plain = [tune for tune in tunes_of(folder, files) if is_plain(tune)]
    sample = random.Random(SEED).sample(plain, 6)
    for tune in sample:
        part, ours = parse_with_music21(tune), read(tune)
        assert our_notes(ours) == their_notes(part), tune.title
        theirs = [Fraction(measure.duration.quarterLength) for measure in part.getElementsByClass("Measure")]
        assert [measure.length for measure in ours.measures] == theirs, tune.title


def test_notes_of_sung_tunes_are_those_of_music21() -> None:
    # Measures are not compared: these books leave out the bar at the end of a line, and so does music21's parse;
    # for the same reason only tunes without accidentals are taken.
    plain = [tune for tune in tunes_of("essenFolksong", 6) if is_plain(tune) and not re.search("[_^=]", body(tune))]
    for tune in random.Random(SEED).sample(plain, 10):
        assert our_notes(read(tune)) == their_notes(parse_with_music21(tune)), tune.title


@pytest.mark.parametrize("folder", ["oneills1850", "ryansMammoth", "airdsAirs", "essenFolksong", "miscFolk"])
def test_every_tune_is_read_or_refused_in_one_sentence(folder: str) -> None:
    tunes = random.Random(SEED).sample(tunes_of(folder, 60), 30)
    refused: list[str] = []
    for tune in tunes:
        try:
            ours = read(tune)
        except TuneError as error:
            refused.append(error.what)
            continue
        assert sum(measure.length for measure in ours.measures) > 0
        assert len(written_out(ours)) >= len([measure for measure in ours.measures if not measure.endings]) // 2
    assert set(refused) <= {"the tune has no metre (M:none)", "there is no melody in this tune"}
    assert len(refused) <= 3


def test_a_tune_that_stops_music21_is_read_with_its_book() -> None:
    # music21 10.5 parses neither han1.abc, number 279, nor, as a whole, the file with it: a comment of the tune has
    # lines that look like fields.
    text = (corpus() / "essenFolksong" / "han1.abc").read_bytes().decode("latin-1")
    book = split_book(text[text.index("X:277\n") : text.index("X:282\n")])
    assert [tune.number for tune in book] == [277, 278, 279, 280, 281]
    tunes = [read(tune) for tune in book]
    assert [len(measure.notes) for measure in tunes[2].measures[:4]] == [3, 2, 4, 1]


def test_a_sung_melody_with_words_and_chords() -> None:
    # Counts of the encoded song leadSheet/fosterBrownHair.mxl (public domain), taken from music21's parse.
    tune = read_tune(corpus() / "leadSheet" / "fosterBrownHair.mxl")
    notes = [note for measure in tune.measures for note in measure.notes]
    assert len(tune.measures) == 35
    assert len(notes) == 95
    assert sum(len(measure.chords) for measure in tune.measures) == 40
    assert sum(note.lyric is not None for note in notes) == 91
    assert (min(note.pitch for note in notes), max(note.pitch for note in notes)) == (60, 77)
    assert tune.rights == "Public Domain"


def test_tunes_with_chords_in_a_book() -> None:
    # Counts of nottingham-dataset/reelsa-c.abc, numbers 80 and 81, taken from music21's parse (52 notes in 81, two of
    # them tied).
    entries = read_book(corpus() / "nottingham-dataset" / "reelsa-c.abc")
    counts = {}
    for entry in entries:
        assert isinstance(entry.tune, Tune)
        measures = entry.tune.measures
        counts[entry.number] = (sum(len(m.notes) for m in measures), sum(len(m.chords) for m in measures))
    assert counts == {80: (111, 21), 81: (51, 25)}
