"""Nothing overlaps: the boxes of all texts of a sheet, measured in a real browser."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from demo_solos import demo_solos
from playwright.sync_api import Browser, Page
from text_boxes import Box, measured, troubles, troubles_of

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.arranging.jam import jam_run
from coach.sheets.comparison import comparison_score, to_comparison_svg
from coach.sheets.folding import folded
from coach.sheets.laid import laid_out
from coach.sheets.mei import solo_score
from coach.sheets.svg import to_svg
from coach.tunes.demo import DEMO_TUNES
from coach.tunes.tune import Meter

COMMON = Meter(4, 4)
JAMMED, COMPARED = "lamps-on-the-water", "turn-the-barrow"
WORDS = ["strength", "through", "(thought)", "brought,", "mill-", "ing", "straight", "scratched;"]


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    page = browser.new_page()
    yield page
    page.close()


def on_paper(solo: Arrangement) -> tuple[str, ...]:
    """The systems of a solo on A4."""
    return laid_out(solo_score(solo), folded(solo), 186, 220, 270).drawings


def numbered(measures: list[ArrangedMeasure], count: int) -> list[ArrangedMeasure]:
    """So many measures, the given ones in turn; every slur that a pluck begins with comes from the measure before."""
    made = []
    for number in range(1, count + 1):
        measure = measures[(number - 1) % len(measures)]
        plucks = tuple(replace(pluck, id=f"m{number}e{k}") for k, pluck in enumerate(measure.plucks, 1))
        melody = tuple(replace(note, pluck=None) for note in measure.melody)
        made.append(replace(measure, number=number, source_measure=number, plucks=plucks, melody=melody))
    return made


def long_words(make) -> Arrangement:
    """Sixteenths with long words, some left out, and two-digit frets."""
    sung = [(f"{k}/4", "1/4", 59, WORDS[k % 8], k % 3 > 0) for k in range(16)]
    row = make.rolled("T312 i213 m114 t50 i215 m112 t310 i211")
    return make.solo(numbered([make.measure(1, COMMON, row, sung, [("0", "G")])], 3))


def many_chords(make) -> Arrangement:
    """A chord with a sign on every beat, pinches of three on every beat."""
    chords = [("0", "F#m7"), ("1", "Bb7"), ("2", "G#dim"), ("3", "Eb/Bb")]
    rows = [
        (str(at), string, fret, finger, "pinch")
        for at in range(4)
        for string, fret, finger in ((1, 12, "M"), (2, 10, "I"), (5, 9, "T"))
    ]
    sung = [(str(at), "1", 66 + at, "word", True) for at in range(4)]
    return make.solo(numbered([make.measure(1, COMMON, rows, sung, chords)], 5))


def many_slurs(make) -> Arrangement:
    """Slurs on sixteenths, on string 1 too, into the next measure and over the ends of systems."""
    rows = [
        ("0", 1, 4, None, "melody", "hammer-on", 2),
        ("1/2", 3, 2, "T", "melody"),
        ("3/4", 3, 3, None, "melody", "slide", 2),
        ("1", 1, 5, "M", "fill"),
        ("5/4", 1, 2, None, "fill", "pull-off", 5),
        ("3/2", 2, 1, "I", "fill"),
        ("7/4", 2, 0, None, "fill", "pull-off", 1),
        ("2", 1, 0, "M", "fill"),
        ("3", 5, 0, "T", "drone"),
        ("7/2", 1, 2, "M", "melody"),
    ]
    sung = [("0", "2", 62, "low", True), ("2", "2", 50, "down", True)]
    first = make.measure(1, COMMON, make.rolled("T32 i21 m12 t50 i21 m12 t50 M12"), sung, [("0", "D7")])
    measures = numbered([make.measure(1, COMMON, rows, sung, [("0", "D7"), ("2", "F#m7")])], 6)
    return make.solo([*numbered([first], 1), *measures[1:]])


def long_heading(make) -> Arrangement:
    """A capo, a long title and remarks that run over several lines."""
    remarks = tuple(f"Measure {n}: the melody was folded down an octave at the end of the phrase." for n in range(1, 6))
    solo = many_chords(make)
    title = "The Carter's Long and Winding Reel of the Eleven Bridges, as it is sung beside the water"
    measures = tuple(
        replace(each, plucks=tuple(replace(p, pitch=p.pitch + 2) for p in each.plucks)) for each in solo.measures
    )
    return replace(solo, title=title, capo=2, sounding_key="A major", remarks=remarks, measures=measures)


def two_lines_of_words(make) -> Arrangement:
    """A repeat with two lines of words and two endings."""

    def measure(number: int, source: int, word: str, fret: int = 2) -> ArrangedMeasure:
        row = make.rolled(f"T3{fret} i21 m12 t50 i21 m12 t50 i20")
        sung = [("0", "1", 57, word + "-", True), ("1", "1", 57, "ing,", False), ("2", "2", 57, "straight", True)]
        return replace(make.measure(number, COMMON, row, sung, [("0", "D7")]), source_measure=source)

    first = [measure(n, n, "mill") for n in (1, 2, 3)]
    again = [measure(n + 4, n, "scratch") for n in (1, 2, 3)]
    return make.solo([*first, measure(4, 4, "home", 4), *again, measure(8, 5, "home", 0)])


def no_tune(make) -> Arrangement:
    """Slurs under chords, where no staff of the tune keeps them apart."""
    solo = many_slurs(make)
    return replace(solo, measures=tuple(replace(each, melody=()) for each in solo.measures))


def no_tune_with_endings(make) -> Arrangement:
    """Chords and endings over a tablature that stands alone; shapes that hold three strings."""
    solo = two_lines_of_words(make)
    shape = [("2", string, 5 + string, finger, "pinch") for string, finger in ((1, "M"), (2, "I"), (3, "T"))]
    bare = make.measure(1, COMMON, shape, (), [("0", "F#m7"), ("2", "Bb")])
    return replace(
        solo,
        measures=tuple(
            replace(
                each,
                melody=(),
                chords=bare.chords,
                plucks=tuple(replace(pluck, id=f"m{each.number}e{k}") for k, pluck in enumerate(bare.plucks, 1))
                if each.source_measure < 4
                else each.plucks,
            )
            for each in solo.measures
        ),
    )


AIR = 50  # between the number of an ending that goes on and the chord under it
AWKWARD = [long_words, many_chords, many_slurs, long_heading, two_lines_of_words, no_tune, no_tune_with_endings]


@pytest.mark.parametrize("fingered", [False, True])
@pytest.mark.parametrize("awkward", AWKWARD)
def test_texts_of_awkward_solos_do_not_meet_and_stay_on_the_page(
    awkward: Callable[..., Arrangement], *, fingered: bool, make, page: Page
) -> None:
    solo = make.fingered(awkward(make)) if fingered else awkward(make)

    assert troubles(page, to_svg(solo, measures_per_system=2 if fingered else 4)) == []
    assert troubles(page, *on_paper(solo)) == []


# The others are measured as a jam run and as a comparison.
@pytest.mark.parametrize("name", [name for name in DEMO_TUNES if name not in (JAMMED, COMPARED)])
def test_texts_of_the_demo_tunes_do_not_meet_and_stay_on_the_page(name: str, make, page: Page) -> None:
    solo = demo_solos(name)["advanced"]

    assert troubles(page, to_svg(solo)) == []
    assert troubles(page, *on_paper(make.fingered(solo))) == []


def test_texts_of_a_jam_run_do_not_meet_under_an_ending_that_goes_on(page: Page) -> None:
    run = jam_run(demo_solos(JAMMED)["advanced"])
    drawings = on_paper(run)

    assert "(1.)" in "".join(drawings)
    assert troubles(page, to_svg(run)) == []
    # Of a text whose tags stand on lines of their own the browser counts no blanks.
    for drawing in measured(page, *(re.sub(r">\s+<", "><", each) for each in drawings)):
        assert troubles_of(drawing) == []
        chords = [box for box in drawing.boxes if box.what.startswith("harm") and " rh" not in box.what]
        for goes_on in (box for box in drawing.boxes if box.text == "(1.)"):
            under = [box.top for box in chords if box.left < goes_on.right and box.bottom > goes_on.bottom]
            assert min(under, default=goes_on.bottom + AIR) >= goes_on.bottom + AIR


def test_texts_of_a_comparison_do_not_meet_and_stay_on_the_page(make, page: Page) -> None:
    solos = list(demo_solos(COMPARED).values())
    score = comparison_score([make.fingered(solo) for solo in solos])

    assert troubles(page, *laid_out(score, folded(*solos), 186, 220, 270).drawings) == []


def test_every_text_is_measured_and_texts_that_meet_are_told(make, page: Page) -> None:
    svg = to_svg(many_slurs(make))
    boxes = measured(page, svg)[0].boxes

    assert len(boxes) == svg.count("</text>")
    digit = next(box for box in boxes if box.what == "note melody m1e1")
    # Half an em wide and two thirds of an em high, as the font's digits are.
    assert digit.right - digit.left == pytest.approx(186, abs=3)
    assert digit.bottom - digit.top == pytest.approx(250, abs=12)
    assert any("m2e3" in trouble for trouble in troubles(page, svg.replace('"372px"', '"800px"')))
    assert any("leaves the page" in trouble for trouble in troubles(page, svg.replace('x="400"', 'x="-100"')))


def test_awkward_solos_have_what_they_are_named_for(make) -> None:
    svg = to_svg(many_slurs(make), measures_per_system=1)

    assert svg.count('class="slur') >= 20
    assert "♯" in to_svg(many_chords(make))
    assert len(on_paper(two_lines_of_words(make))) == 2
    assert 'class="ending' in "".join(on_paper(no_tune_with_endings(make)))
    assert two_lines_of_words(make).measures[4].melody[0].at == Fraction(0)


def test_systems_are_halved_where_that_makes_staves_large_and_costs_no_page(make) -> None:
    solo = make.solo(numbered(list(many_slurs(make).measures), 8))
    paper = folded(solo)
    roomy = laid_out(solo_score(solo), paper, 186, 220, 270)
    tight = laid_out(solo_score(solo), paper, 186, 110, 270)

    def width(drawing: str) -> float:
        return float(drawing.partition('viewBox="')[2].split()[2])

    assert roomy.described == ("Measures 1 to 2", "Measures 3 to 4", "Measures 5 to 6", "Measures 7 to 8")
    assert len(roomy.pages) == len(tight.pages) == 1
    assert tight.described == ("Measures 1 to 4", "Measures 5 to 8")
    assert width(roomy.drawings[0]) < 0.9 * width(tight.drawings[0])


def test_words_of_a_line_have_a_space_between_them(page: Page) -> None:
    drawing = to_comparison_svg(list(demo_solos("mill-lane").values()))
    words = sorted((box for box in measured(page, drawing)[0].boxes if box.what.startswith("syl")), key=_line_and_left)
    pairs = [(one, other) for one, other in pairwise(words) if _line_and_left(one)[0] == _line_and_left(other)[0]]

    assert len(pairs) >= 12
    # A space of the font is a quarter of an em, about 87 units here; less reads as one word.
    assert min(other.left - one.right for one, other in pairs) > 75


def _line_and_left(box: Box) -> tuple[float, float]:
    return round(box.top, -3), box.left
