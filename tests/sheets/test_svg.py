import re
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from coach.arranging.arrangement import Arrangement
from coach.sheets.svg import to_svg
from coach.tunes.tune import Meter

SVG = "{http://www.w3.org/2000/svg}"


def drawn(arrangement: Arrangement, **options) -> ET.Element:
    return ET.fromstring(to_svg(arrangement, **options))


def texts(root: ET.Element) -> list[str]:
    return ["".join(text.itertext()).strip() for text in root.iter(SVG + "text")]


@pytest.mark.parametrize("name", ["solo", "doubled", "waltz", "jig", "roll_study"])
@pytest.mark.parametrize("per_system", [2, 4])
def test_every_pluck_and_measure_is_found_once_by_its_id(
    name: str, per_system: int, request: pytest.FixtureRequest
) -> None:
    arrangement = request.getfixturevalue(name)
    root = drawn(arrangement, measures_per_system=per_system)
    ids = Counter(element.attrib["id"] for element in root.iter() if "id" in element.attrib)
    notes = {e.get("id"): texts(e) for e in root.iter(SVG + "g") if "note" in e.get("class", "").split()}

    assert max(ids.values()) == 1
    assert {f"m{measure.number}" for measure in arrangement.measures} <= set(ids)
    for _, pluck in arrangement.plucks():
        assert notes[pluck.id] == [str(pluck.fret)]


def test_a_strict_page_needs_no_style_and_no_font_file(solo: Arrangement) -> None:
    text = to_svg(solo)

    assert "<style" not in text
    assert " style=" not in text
    assert "font-face" not in text
    assert len(text) < 100_000


def test_lines_take_the_colour_of_the_page(solo: Arrangement) -> None:
    body = drawn(solo).find(SVG + "g")
    shapes = [shape for shape in body.iter() if shape.tag in {SVG + "path", SVG + "rect", SVG + "polygon"}]

    assert len(shapes) > 100
    assert {shape.get("stroke") for shape in shapes} == {"currentColor"}


def test_the_tablature_of_a_measure_can_be_found(solo: Arrangement) -> None:
    root = drawn(solo)
    for number in range(5):
        measure = next(e for e in root.iter(SVG + "g") if e.get("id") == f"m{number}")
        tabs = [e for e in measure.iter(SVG + "g") if "tab" in e.get("class", "").split()]
        assert len(tabs) == 1


def test_notes_tell_their_role(solo: Arrangement) -> None:
    classes = {e.get("id"): e.get("class") for e in drawn(solo).iter(SVG + "g")}

    assert classes["m1e1"] == "note melody"
    assert classes["m2e3"] == "note drone"


def test_heading_tells_title_tier_tuning_capo_tempo_and_remarks(doubled: Arrangement) -> None:
    told = " ".join(texts(drawn(doubled)))

    for words in ("Stone Bridge & Willow", "Intermediate solo in G major, sounds in A major", "open G, g D G B D"):
        assert words in told
    assert "fifth string under the spike at fret 7" in told
    assert "60 quarters (30 halves)" in told
    assert "Written out at twice the length." in told


def test_heading_takes_a_solo_in_sixteenths_half_as_fast(solo: Arrangement) -> None:
    told = " ".join(texts(drawn(replace(solo, slot=Fraction(1, 4)))))

    assert "60 quarters (30 halves)" in " ".join(texts(drawn(solo)))
    assert "start near 30 quarters a minute; a slow jam is 50 to 70." in told


def test_heading_tells_the_rights_where_there_are_any(solo: Arrangement) -> None:
    assert "made for the tests" in texts(drawn(solo))
    assert "" not in texts(drawn(replace(solo, rights="")).find(f".//{SVG}g[@class='heading']"))


def test_heading_can_be_left_to_the_page(solo: Arrangement) -> None:
    assert "Stone Bridge & Willow" not in texts(drawn(solo, heading=False))


def test_fewer_measures_a_system_make_a_narrower_and_taller_page(solo: Arrangement) -> None:
    wide, narrow = (
        [float(n) for n in drawn(solo, measures_per_system=count, heading=False).attrib["viewBox"].split()[2:]]
        for count in (4, 1)
    )

    assert narrow[0] < wide[0] / 2
    assert narrow[1] > 2 * wide[1]


def test_one_measure_a_system_is_as_wide_as_the_widest_measure_needs_and_no_heading(solo: Arrangement) -> None:
    bare, headed = (
        float(drawn(solo, measures_per_system=1, heading=heading).attrib["viewBox"].split()[2])
        for heading in (False, True)
    )

    assert bare < headed == 10000  # a heading needs room for its lines


def test_no_text_stands_outside_the_page(solo: Arrangement) -> None:
    root = drawn(solo, heading=False)
    width, height = (float(number) for number in root.attrib["viewBox"].split()[2:])
    places = [(float(t.attrib["x"]), float(t.attrib["y"])) for t in root.iter(SVG + "text")]

    assert len(places) > 40
    assert all(0 <= x < width - 800 and 0 < y < height for x, y in places)


def test_a_page_names_itself_for_readers_of_screens(solo: Arrangement) -> None:
    root = drawn(solo)

    assert root.get("role") == "img"
    assert root.get("aria-label") == "Stone Bridge & Willow, intermediate solo in G major"


def test_same_solo_gives_same_text_in_any_thread(solo: Arrangement, waltz: Arrangement) -> None:
    first = to_svg(solo)
    with ThreadPoolExecutor(1) as pool:
        pool.submit(to_svg, waltz).result()
        again = pool.submit(to_svg, solo).result()

    assert again == first


def test_glyphs_are_defined_once_and_all_there(solo: Arrangement) -> None:
    text = to_svg(solo)
    used = set(re.findall(r'href="#([^"]+)"', text))
    defined = re.findall(r'<g id="(E[^"]+)"', text)

    assert used == set(defined)
    assert len(defined) == len(set(defined))


def test_a_very_long_solo_is_drawn_over_several_of_the_engravers_pages(roll_study: Arrangement) -> None:
    measure = roll_study.measures[0]
    measures = tuple(
        replace(
            measure,
            number=number,
            plucks=tuple(replace(p, id=f"m{number}{p.id[2:]}") for p in measure.plucks),
        )
        for number in range(1, 61)
    )
    root = drawn(replace(roll_study, measures=measures), measures_per_system=2, heading=False)
    places = [e.get("transform") for e in root.find(SVG + "g") if e.tag == SVG + "g"]

    assert len(places) == 2  # 30 systems
    assert {f"m{number}e8" for number in range(1, 61)} <= {e.get("id") for e in root.iter(SVG + "g")}


def test_dense_words_get_fewer_measures_a_system_and_do_not_touch(build) -> None:
    words = ["strengths", "thoughts", "through", "straight", "brought", "scratched", "lengths", "squelched"]
    sung = [(f"{k}/2", "1/2", 55, word, True) for k, word in enumerate(words)]
    measure = build(Meter(4, 4), [("0", 3, 0, "T", "melody")], sung).measures[0]
    measures = [
        replace(measure, number=n, plucks=(replace(measure.plucks[0], id=f"m{n}e1"),), melody=measure.melody)
        for n in (1, 2, 3, 4)
    ]
    root = drawn(replace(build(Meter(4, 4), []), measures=tuple(measures)), heading=False)
    rows: dict[float, list[tuple[float, int]]] = {}
    for syllable in (e for e in root.iter(SVG + "g") if e.get("class") == "syl"):
        text = syllable.find(SVG + "text")
        rows.setdefault(float(text.attrib["y"]), []).append((float(text.attrib["x"]), len("".join(text.itertext()))))

    assert 2 <= len(rows) <= 4
    assert float(root.attrib["viewBox"].split()[2]) <= 28_000
    for row in rows.values():
        for (left, letters), (right, _) in pairwise(row):
            # 387 high; a letter of these words takes at least two fifths of that.
            assert right - left > letters * 387 * 0.4


def test_equal_notes_of_a_roll_stand_evenly(roll_study: Arrangement) -> None:
    notes = {
        e.get("id"): e.find(SVG + "text") for e in drawn(roll_study).iter(SVG + "g") if "note" in e.get("class", "")
    }
    places = [float(notes[pluck.id].attrib["x"]) for _, pluck in roll_study.plucks()]

    gaps = [right - left for left, right in pairwise(places)]
    assert max(gaps) - min(gaps) <= 2
