"""Which staves of a score count, and what they hold."""

from __future__ import annotations

from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest

from coach.sheets.tab_score import TabScore, read_tab_score, tab_lines

TIME = "<divisions>2</divisions><time><beats>3+2</beats><beat-type>8</beat-type></time>"
TAB = "<clef><sign>TAB</sign></clef>"
SUNG = "<note><pitch><step>G</step><octave>4</octave></pitch><duration>5</duration></note>"


def fretted(string: int) -> str:
    place = f"<technical><string>{string}</string><fret>0</fret></technical>"
    return f"<note><duration>1</duration><notations>{place}</notations></note>"


def part(attributes: str, *measures: str) -> str:
    first, *others = measures
    body = [f"<attributes>{attributes}</attributes>{first}", *others]
    return "<part>" + "".join(f'<measure number="{k}">{each}</measure>' for k, each in enumerate(body, 1)) + "</part>"


def score(*parts: str) -> ET.Element:
    return ET.fromstring(f"<score-partwise>{''.join(parts)}</score-partwise>")


def lines(count: int) -> str:
    return f"<staff-details><staff-lines>{count}</staff-lines></staff-details>"


def tuned(count: int) -> str:
    return "<staff-details>" + '<staff-tuning line="1"/>' * count + "</staff-details>"


@pytest.mark.parametrize(
    ("parts", "found"),
    [
        ((part(TIME + TAB + lines(5), fretted(1)),), 5),
        ((part(TIME + TAB + tuned(5), fretted(1)),), 5),
        ((part(TIME + TAB, fretted(1) + fretted(5)),), 5),
        ((part(TIME + TAB, fretted(1) + fretted(4)),), 4),
        ((part(TIME + TAB + lines(6), fretted(1)),), 6),
        ((part(TIME + TAB + lines(6), fretted(1)), part(TIME, SUNG)), None),
        ((part(TIME + TAB + lines(6), fretted(1)), part(TIME + TAB + lines(5), fretted(1))), 5),
        ((part(TIME, SUNG), part(TIME + TAB + lines(5), fretted(1))), 5),
        ((part(TIME + TAB + lines(5), SUNG),), None),
        ((part(TIME + lines(5), fretted(1)),), None),
    ],
)
def test_the_lines_of_the_tablature_that_counts(parts: tuple[str, ...], found: int | None) -> None:
    assert tab_lines(score(*parts)) == found


def read(*parts: str) -> TabScore:
    return read_tab_score(score(*parts), "x")


def test_the_measures_are_those_of_the_longest_part_and_an_empty_one_is_full() -> None:
    told = read(part(TIME, SUNG, ""), part(TIME + TAB + lines(5), fretted(1) + fretted(2), ""))
    assert [(bar.label, bar.length, str(bar.meter)) for bar in told.bars] == [
        ("1", Fraction(5, 2), "5/8"),
        ("2", Fraction(5, 2), "5/8"),
    ]
    assert told.tune is not None
    assert [note.pitch for _, note in told.tune.every()] == [67]
    assert [(note.at, note.string) for _, note in told.tab.every()] == [(0, 1), (Fraction(1, 2), 2)]


def test_a_tablature_of_five_lines_comes_before_another() -> None:
    told = read(part(TIME + TAB + lines(6), fretted(6)), part(TIME + TAB + lines(5), fretted(2)))
    assert [note.string for _, note in told.tab.every()] == [2]
    assert told.tune is None


def test_what_is_left_out_is_remembered() -> None:
    muted = fretted(1).replace("<duration>1</duration>", "<duration>1</duration><notehead>x</notehead>")
    cue = fretted(1).replace("<note>", "<note><cue/>")
    told = read(part(TIME + TAB + lines(5), fretted(3) + muted + cue))
    assert told.tab.left_out == {"cues", "muted"}
    assert [note.string for _, note in told.tab.every()] == [3]


def test_a_word_that_goes_on_has_a_hyphen() -> None:
    begun = SUNG.replace("</note>", "<lyric><syllabic>begin</syllabic><text>wil</text></lyric></note>")
    told = read(part(TIME, begun), part(TIME + TAB + lines(5), fretted(3)))
    assert told.tune is not None
    assert [note.lyric for _, note in told.tune.every()] == ["wil-"]
