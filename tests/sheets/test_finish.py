"""What is put right is looked at in the drawing of a solo that has every case."""

import re
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest

from coach.arranging.arrangement import Arrangement, Pluck
from coach.sheets.engraving import Engraver
from coach.sheets.finish import finished
from coach.sheets.folding import written_out
from coach.sheets.mei import dealt, solo_score
from coach.sheets.svg import to_svg
from coach.tunes.tune import Meter

SVG = "{http://www.w3.org/2000/svg}"


def groups(arrangement: Arrangement, **options) -> dict[str, ET.Element]:
    root = ET.fromstring(to_svg(arrangement, heading=False, **options))
    return {element.attrib["id"]: element for element in root.iter(SVG + "g") if "id" in element.attrib}


def middle(group: ET.Element) -> tuple[float, float]:
    text = group.find(SVG + "text")
    return float(text.attrib["x"]), float(text.attrib["y"])


def numbers(path: ET.Element) -> list[float]:
    return [float(number) for number in re.findall(r"-?[\d.]+", path.attrib["d"])]


def staff_lines(measure: ET.Element) -> list[list[float]]:
    staff = next(e for e in measure.iter(SVG + "g") if e.get("class") == "staff tab")
    return [numbers(path) for path in staff.findall(SVG + "path")]


@pytest.mark.parametrize(("start", "end"), [("m2e1", "m2e2"), ("m2e5", "m2e6")])
def test_a_bow_leads_from_number_to_number_above_the_string(solo: Arrangement, start: str, end: str) -> None:
    found = groups(solo)
    (left, y), (right, _) = middle(found[start]), middle(found[end])
    path = numbers(found[f"{end}s"].find(SVG + "path"))

    assert len(found[f"{end}s"]) == 1
    assert left < min(path[0::2]) < max(path[0::2]) < right
    assert max(path[1::2]) < y - 200


def test_a_slide_slants_up_when_the_fret_rises_and_down_when_it_falls(build) -> None:
    for start, end in ((2, 4), (4, 2)):
        one = build(
            Meter(2, 4),
            [("0", 3, start, "T", "melody"), ("1", 3, end, None, "melody", "slide", start)],
        )
        left, left_y, right, right_y = numbers(groups(one)["m1e2s"].find(SVG + "path"))
        assert left < right
        assert (left_y > right_y) == (end > start)


def test_the_string_is_cut_under_a_slide(solo: Arrangement) -> None:
    found = groups(solo)
    left, y1, right, y2 = numbers(found["m3e5s"].find(SVG + "path"))
    under = [
        line for line in staff_lines(found["m3"]) if line[1] == (y1 + y2) / 2 and left < line[2] and line[0] < right
    ]

    assert all(line[0] == line[2] for line in under)


def test_letters_of_slurs_stand_midway(solo: Arrangement) -> None:
    found = groups(solo)
    for start, end, letter in (("m2e1", "m2e2", "h"), ("m2e5", "m2e6", "p"), ("m3e4", "m3e5", "s")):
        assert "".join(found[f"{end}l"].itertext()).strip() == letter
        between = (middle(found[start])[0] + middle(found[end])[0]) / 2
        assert middle(found[f"{end}l"])[0] == pytest.approx(between, abs=1)


def test_a_slur_over_a_line_break_is_drawn_in_two_halves(build) -> None:
    one = build(Meter(2, 4), [("0", 3, 0, "T", "melody"), ("1", 3, 2, "T", "melody")])
    first = one.measures[0]
    slurred = Pluck("m2e1", Fraction(0), Fraction(2), 3, 3, 58, None, "melody", "hammer-on", 2)
    two = replace(one, measures=(first, replace(first, number=2, plucks=(slurred,))))

    together, apart = (groups(two, measures_per_system=count) for count in (2, 1))

    assert len(together["m2e1s"].findall(SVG + "path")) == 1
    halves = apart["m2e1s"].findall(SVG + "path")
    assert len(halves) == 2
    assert numbers(halves[0])[1] < numbers(halves[1])[1]
    assert max(numbers(halves[1])[0::2]) < middle(apart["m2e1"])[0]


def test_halves_of_a_slur_on_two_pages_share_no_id(build) -> None:
    one = build(Meter(2, 4), [("0", 3, 0, "T", "melody"), ("1", 3, 2, "T", "melody")])
    first = one.measures[0]
    slurred = Pluck("m2e1", Fraction(0), Fraction(2), 3, 3, 58, None, "melody", "hammer-on", 2)
    two = replace(one, measures=(first, replace(first, number=2, plucks=(slurred,))))
    score = solo_score(two)
    pages = Engraver(score.document(dealt(written_out(two), 1), drawn=True), one_system_a_page=True).pages(1500)
    _, drawings = finished(pages, score.tabs)
    slurs = [[e for e in body.iter("g") if e.get("class") == "slur hammer-on"] for body, _ in drawings]

    assert [[mark.get("id") for mark in marks] for marks in slurs] == [["m2e1s"], [None]]
    assert [[e.get("id") for e in body.iter("g") if e.get("id") == "m2e1l"] for body, _ in drawings] == [["m2e1l"], []]


def test_fingers_of_the_left_hand_stand_over_their_numbers_in_one_row(solo: Arrangement, make) -> None:
    found = groups(make.fingered(solo))
    fretted = [pluck for _, pluck in solo.plucks() if pluck.fret]
    rows = set()
    for pluck in fretted:
        assert middle(found[f"{pluck.id}f"])[0] == middle(found[pluck.id])[0]
        rows.add(middle(found[f"{pluck.id}f"])[1])

    assert len(fretted) > 5
    assert len(rows) == 1
    assert not [name for name in groups(solo) if re.fullmatch(r"m\d+e\d+f", name)]


def test_letters_of_slurs_stand_in_one_row_over_the_bows(solo: Arrangement) -> None:
    found = groups(solo)
    rows = {middle(found[f"{name}l"])[1] for name in ("m2e2", "m2e6", "m3e5")}
    highest = min(min(numbers(found[f"{name}s"].find(SVG + "path"))[1::2]) for name in ("m2e2", "m2e6", "m3e5"))

    assert len(rows) == 1
    assert rows.pop() < highest


def test_no_string_runs_through_a_number(solo: Arrangement) -> None:
    found = groups(solo)
    for measure, pluck in solo.plucks():
        x, y = middle(found[pluck.id])
        half = 93 * len(str(pluck.fret))
        lines = staff_lines(found[f"m{measure.number}"])
        near = [line for line in lines if abs(line[1] - y) < 150 and line[0] < x + half and line[2] > x - half]
        assert not [line for line in near if line[0] != line[2]]


def test_strings_reach_up_to_the_numbers(solo: Arrangement) -> None:
    # Number 0 on string 5 in measure 1: the pieces of its string end a little off the number on either side.
    found = groups(solo)
    x, y = middle(found["m1e3"])
    string = [line for line in staff_lines(found["m1"]) if abs(line[1] - y) < 150]

    assert min(abs(line[2] - (x - 127)) for line in string) <= 1
    assert min(abs(line[0] - (x + 127)) for line in string) <= 1


def test_letters_of_a_pinch_stand_below_one_another_from_string_1_down(solo: Arrangement) -> None:
    texts = groups(solo)["m4r5"].findall(SVG + "text")

    assert [text.text for text in texts] == ["M", "I", "T"]
    assert len({text.attrib["x"] for text in texts}) == 1
    heights = [float(text.attrib["y"]) for text in texts]
    assert heights == sorted(heights)
    assert len(groups(solo)["m4r5"]) == 3


def test_first_letters_of_a_system_stand_in_one_row(solo: Arrangement) -> None:
    rows = {middle(group)[1] for name, group in groups(solo).items() if re.fullmatch(r"m\d+r\d+", name)}

    assert len(rows) == 1


def test_chord_signs_are_ordinary_characters(solo: Arrangement) -> None:
    text = to_svg(solo)

    assert not re.search("[\ue000-\uf8ff]", text)
    assert "♯" in text
    assert "♭" in text


def test_dots_of_stems_stand_clear_of_the_strings(waltz: Arrangement) -> None:
    found = groups(waltz)
    lowest = max(line[1] for line in staff_lines(found["m3"]))
    dot = next(found["m3e1g"].iter(SVG + "ellipse"))

    assert float(dot.attrib["cy"]) - float(dot.attrib["ry"]) > lowest


def test_measure_numbers_stand_before_their_barlines_and_clear_of_chords(solo: Arrangement) -> None:
    found = groups(solo)
    for number in (1, 2, 3, 4):
        text = next(e for e in found[f"m{number}"].iter(SVG + "g") if "mNum" in e.get("class", "")).find(SVG + "text")
        left = min(line[0] for line in staff_lines(found[f"m{number}"]))
        assert "".join(text.itertext()).strip() == str(number)
        assert text.get("text-anchor") == "end"
        assert left - 100 < float(text.attrib["x"]) < left + 100
        assert middle(found[f"m{number}c1"])[0] > left + 200


@pytest.mark.parametrize(("meter", "digits"), [(Meter(3, 4), [1, 1]), (Meter(12, 8), [2, 1]), (Meter(2, 2), [0, 0])])
def test_the_numbers_of_a_metre_get_half_of_the_strings_each(build, meter: Meter, digits: list[int]) -> None:
    row = (("0", 3, 0, "T", "fill"), ("1/2", 1, 0, "M", "fill"))
    measure = groups(build(meter, row))["m1"]
    top, bottom = (pick(line[1] for line in staff_lines(measure)) for pick in (min, max))
    sign = next(each for each in measure.iter(SVG + "g") if each.get("class") == "meterSig")
    heights = [float(re.findall(r"[\d.]+", use.get("transform", ""))[1]) for use in sign.iter(SVG + "use")]
    quarter = (bottom - top) / 4

    assert [heights.count(height) for height in (top + quarter, bottom - quarter)] == digits
    assert len(heights) == sum(digits) or heights == [(top + bottom) / 2]
