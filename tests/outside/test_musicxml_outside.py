"""MusicXML against what is not ours: the published schema, and music21 as a second reader.

The schema is the W3C's text of MusicXML 4.0 (see data/musicxml); lxml validates by it.
"""

from __future__ import annotations

import warnings
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from demo_solos import demo_solos
from hypothesis import given, settings
from lxml import etree
from strategies import solos

from coach.arranging.arrangement import TIERS, Arrangement, MelodyNote, Pluck
from coach.arranging.rules import broken_rules
from coach.sheets.musicxml import to_musicxml
from coach.sheets.tab_reading import holds_tab, read_tab
from coach.tunes.demo import DEMO_TUNES
from coach.tunes.read import read_tune_bytes

FOLDER = Path(__file__).parent / "data" / "musicxml"
DEMOS = [(name, tier) for name in DEMO_TUNES for tier in TIERS]


class Beside(etree.Resolver):  # type: ignore[misc]
    """Takes the schemas that a schema names from the folder beside it, never from the network."""

    def resolve(self, system_url: str, public_id: str, context: Any) -> Any:
        return self.resolve_string((FOLDER / system_url.rsplit("/", 1)[-1]).read_bytes(), context)


@cache
def schema() -> Any:
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Beside())
    return etree.XMLSchema(etree.parse(str(FOLDER / "musicxml_4_0.xsd"), parser))


def faults(document: str) -> list[str]:
    """What the schema finds wrong."""
    schema().validate(etree.fromstring(document.encode()))
    return [f"line {error.line}: {error.message}" for error in schema().error_log]


# ------------------------------------------------------------------------------------------ the schema


@pytest.mark.parametrize(("name", "tier"), DEMOS)
def test_every_demo_solo_is_valid(name: str, tier: str) -> None:
    assert faults(to_musicxml(demo_solos(name)[tier])) == []


@settings(max_examples=15)
@given(solos())
def test_any_solo_is_valid(solo: Arrangement) -> None:
    assert faults(to_musicxml(solo)) == []


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("<fret>0</fret>", "<fret>x</fret>"),
        ("<staff-lines>5</staff-lines>", "<staff-lines>five</staff-lines>"),
        ('<staff-tuning line="1">', '<staff-tuning line="one">'),
        ("<type>quarter</type>", "<type>crotchet</type>"),
        (">major</kind>", ">merry</kind>"),
        ("<syllabic>single</syllabic>", "<syllabic>whole</syllabic>"),
        ('id="m1e1"', 'id="1e1"'),
        ('id="m1e2"', 'id="m1e1"'),
    ],
)
def test_the_schema_refuses_a_file_with_one_wrong_value(right: str, wrong: str) -> None:
    document = to_musicxml(demo_solos("mill-lane")["intermediate"])
    assert right in document
    assert faults(document.replace(right, wrong, 1)) != []


# ------------------------------------------------------------------------------------------ music21

# What stands together in the tablature: measure, position, length, pitches as written, strings with their frets.
Row = tuple[int, Fraction, Fraction, tuple[int, ...], tuple[tuple[int, int], ...]]


def parsed(document: str) -> Any:
    from music21 import converter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return converter.parseData(document, format="musicxml")


def exact(value: Any) -> Fraction:
    return Fraction(value).limit_denominator(5040)


def rows_of(part: Any) -> list[Row]:
    from music21 import articulations

    rows: list[Row] = []
    for measure in part.getElementsByClass("Measure"):
        for element in measure.recurse().notes:
            if "Harmony" in element.classes:
                continue
            at, length = exact(element.getOffsetInHierarchy(measure)), exact(element.quarterLength)
            signs = element.articulations
            strings = [each.number for each in signs if type(each) is articulations.StringIndication]
            frets = [each.number for each in signs if type(each) is articulations.FretIndication]
            pitches = tuple(sorted(pitch.midi for pitch in element.pitches))
            row = (measure.number, at, length, pitches, tuple(sorted(zip(strings, frets, strict=True))))
            if element.tie is not None and element.tie.type in {"stop", "continue"}:
                row = _joined(rows, row)
            rows.append(row)
    return sorted(rows)


def _joined(rows: list[Row], row: Row) -> Row:
    """A row with the one that it is tied to, which is taken out of the list."""
    before = next(each for each in rows if each[0] == row[0] and each[1] + each[2] == row[1] and each[3:] == row[3:])
    rows.remove(before)
    return (row[0], before[1], before[2] + row[2], *row[3:])


def wanted(solo: Arrangement) -> list[Row]:
    together: dict[tuple[int, Fraction, Fraction], list[Pluck]] = {}
    for measure, pluck in solo.plucks():
        together.setdefault((measure.number, pluck.at, pluck.length), []).append(pluck)
    return sorted(
        (
            *place,
            tuple(sorted(pluck.pitch - solo.capo for pluck in plucks)),
            tuple(sorted((pluck.string, pluck.fret) for pluck in plucks)),
        )
        for place, plucks in together.items()
    )


def slurred(score: Any) -> list[tuple[str, int, int]]:
    """The slurs that music21 finds: kind, and the pitches that they join."""
    from music21.articulations import HammerOn, PullOff
    from music21.spanner import Glissando

    kinds = {HammerOn: "hammer-on", PullOff: "pull-off", Glissando: "slide"}
    found = []
    for kind, name in kinds.items():
        for spanner in score.recurse().getElementsByClass(kind):
            first, second = spanner.getFirst(), spanner.getLast()
            found.append((name, first.pitches[-1].midi, second.pitches[-1].midi))
    return sorted(found)


def slurs_wanted(solo: Arrangement) -> list[tuple[str, int, int]]:
    last: dict[int, Pluck] = {}
    found = []
    for _, pluck in solo.plucks():
        if pluck.technique != "pick":
            found.append((pluck.technique, last[pluck.string].pitch - solo.capo, pluck.pitch - solo.capo))
        last[pluck.string] = pluck
    return sorted(found)


@pytest.mark.parametrize(("name", "tier"), DEMOS)
def test_music21_reads_the_same_notes(name: str, tier: str) -> None:
    solo = demo_solos(name)[tier]
    score = parsed(to_musicxml(solo))
    part = score.parts[-1]
    assert rows_of(part) == wanted(solo)
    assert slurred(score) == slurs_wanted(solo)
    assert score.metadata.title == solo.title
    assert part.recurse().getElementsByClass("TabClef").first() is not None
    assert part.recurse().getElementsByClass("StaffLayout").first().staffLines == 5


@settings(max_examples=8)
@given(solos())
def test_music21_reads_the_same_notes_of_any_solo(solo: Arrangement) -> None:
    assert rows_of(parsed(to_musicxml(solo)).parts[-1]) == wanted(solo)


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_music21_reads_the_same_tune_words_and_chords(name: str) -> None:
    solo = demo_solos(name)["beginner"]
    part = parsed(to_musicxml(solo)).parts[0]
    starts = solo.starts()
    melody = [(starts[measure.number] + note.at, note) for measure in solo.measures for note in measure.melody]

    def written(at: Fraction, note: MelodyNote) -> tuple[Fraction, Fraction, int, str]:
        return at, note.length, note.pitch - solo.capo, (note.lyric or "").removesuffix("-")

    notes = part.stripTies().flatten().notes
    found = [
        (exact(note.offset), exact(note.quarterLength), note.pitch.midi, note.lyric or "")
        for note in notes
        if "Note" in note.classes
    ]
    assert found == [written(at, note) for at, note in melody]
    chords = part.flatten().getElementsByClass("ChordSymbol")
    assert [
        (exact(chord.offset), chord.root().pitchClass, frozenset(pitch.pitchClass for pitch in chord.pitches))
        for chord in chords
    ] == [
        (starts[measure.number] + change.at, change.chord.root_pc, change.chord.pitch_classes)
        for measure in solo.measures
        for change in measure.chords
    ]


# ------------------------------------------------------------------------------------------ our own reader of tunes


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_tune_of_a_solo_can_be_arranged_anew(name: str) -> None:
    solo = demo_solos(name)["advanced"]
    tune = read_tune_bytes(to_musicxml(solo).encode(), "solo.musicxml")
    assert (tune.title, tune.rights) == (solo.title, solo.rights)
    assert str(tune.key) == (solo.sounding_key or solo.key)
    assert [
        (measure.number, note.at, note.length, note.pitch, note.lyric)
        for measure in tune.measures
        for note in measure.notes
    ] == [
        (measure.number, note.at, note.length, note.pitch, note.lyric)
        for measure in solo.measures
        for note in measure.melody
    ]


# ------------------------------------------------------------------------------------------ a tab by another writer


def written_by_music21() -> bytes:
    """Rolls with a hammer-on and a slide, as music21 writes a tablature; it leaves the tuning out."""
    from music21 import articulations, clef, key, layout, metadata, meter, note, spanner, stream
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    def plucked(pitch: str, string: int, fret: int, length: float = 0.5) -> Any:
        sounding = note.Note(pitch, quarterLength=length)
        sounding.articulations = [articulations.StringIndication(string), articulations.FretIndication(fret)]
        return sounding

    part = stream.Part()
    roll = [("G3", 3, 0), ("B3", 2, 0), ("D4", 1, 0), ("G4", 5, 0)]
    first, second = stream.Measure(number=1), stream.Measure(number=2)
    first.append([clef.TabClef(), key.KeySignature(1), meter.TimeSignature("4/4")])
    first.insert(0, layout.StaffLayout(staffLines=5))
    first.append([plucked(*each) for each in roll + roll])
    low, hammered = plucked("A3", 3, 2, 0.25), plucked("B-3", 3, 3, 0.25)
    slid, landed = plucked("E3", 4, 2), plucked("G3", 4, 5)
    second.append([low, hammered, plucked(*roll[3]), plucked(*roll[2], 1.0), slid, landed, plucked(*roll[2], 1.0)])
    part.append([first, second])
    glide = spanner.Glissando(slid, landed)
    glide.slideType, glide.lineType = "continuous", "solid"
    part.insert(0, articulations.HammerOn(low, hammered))
    part.insert(0, glide)
    score = stream.Score([part])
    score.metadata = metadata.Metadata(title="Written elsewhere")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        data = GeneralObjectExporter().parse(score)
    assert isinstance(data, bytes)
    return data


def test_a_tablature_that_music21_writes_is_read() -> None:
    data = written_by_music21()
    assert holds_tab(data)
    solo = read_tab(data, "elsewhere.musicxml")
    places = [(pluck.string, pluck.fret, pluck.technique) for _, pluck in solo.plucks()]
    open_roll = [(3, 0, "pick"), (2, 0, "pick"), (1, 0, "pick"), (5, 0, "pick")]
    assert places == [
        *open_roll,
        *open_roll,
        (3, 2, "pick"),
        (3, 3, "hammer-on"),
        (5, 0, "pick"),
        (1, 0, "pick"),
        (4, 2, "pick"),
        (4, 5, "slide"),
        (1, 0, "pick"),
    ]
    assert (solo.title, solo.key, solo.tuning.name) == ("Written elsewhere", "G major", "open G")
    assert broken_rules(solo) == ()
