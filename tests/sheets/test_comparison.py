"""The comparison sheet: a tune and its solos, measure under measure."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from demo_solos import demo_solos

from coach.arranging.arrangement import Arrangement
from coach.errors import InputError
from coach.sheets.comparison import to_comparison_pdf, to_comparison_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def solos() -> list[Arrangement]:
    return list(demo_solos("mill-lane").values())


@pytest.fixture(scope="module")
def root(solos: list[Arrangement]) -> ET.Element:
    return ET.fromstring(to_comparison_svg(solos))


def groups(root: ET.Element) -> dict[str, ET.Element]:
    return {element.attrib["id"]: element for element in root.iter(SVG + "g") if "id" in element.attrib}


def test_ids_are_unique_and_name_every_pluck_by_its_tier(solos: list[Arrangement], root: ET.Element) -> None:
    ids = Counter(element.attrib["id"] for element in root.iter() if "id" in element.attrib)

    assert max(ids.values()) == 1
    for solo in solos:
        assert {f"{solo.tier}-{pluck.id}" for _, pluck in solo.plucks()} <= set(ids)
    assert {f"m{measure.number}" for measure in solos[0].measures} <= set(ids)


def test_plucks_show_the_frets_of_their_own_solo(solos: list[Arrangement], root: ET.Element) -> None:
    found = groups(root)

    for solo in solos:
        for _, pluck in solo.plucks():
            assert found[f"{solo.tier}-{pluck.id}"].find(SVG + "text").text == str(pluck.fret)


def test_what_sounds_together_stands_under_one_another(solos: list[Arrangement], root: ET.Element) -> None:
    found = groups(root)

    def middle(solo: Arrangement, name: str) -> float:
        return float(found[f"{solo.tier}-{name}"].find(SVG + "text").attrib["x"])

    compared = 0
    for measures in zip(*(solo.measures for solo in solos), strict=True):
        firsts = [{pluck.at: pluck for pluck in reversed(measure.plucks)} for measure in measures]
        for at in set(firsts[0]) & set(firsts[1]) & set(firsts[2]):
            places = [middle(solo, first[at].id) for solo, first in zip(solos, firsts, strict=True)]
            assert max(places) - min(places) < 5
            compared += 1
    assert compared >= 32


def test_each_tablature_is_named_and_words_have_no_parentheses(root: ET.Element) -> None:
    texts = ["".join(text.itertext()).strip() for text in root.iter(SVG + "text")]

    for name in ("Beginner", "Intermediate", "Advanced"):
        assert texts.count(name) == 1
    assert "Tune and solos (beginner, intermediate, advanced) in G major" in texts
    assert not [text for text in texts if text.startswith("(")]
    assert texts.count("Rain") == 1


def test_every_measure_has_three_tablatures(solos: list[Arrangement], root: ET.Element) -> None:
    for measure in solos[0].measures:
        found = groups(root)[f"m{measure.number}"]
        assert len([e for e in found.iter(SVG + "g") if "tab" in e.get("class", "").split()]) == 3


def test_a_comparison_is_written_as_pdf_and_always_the_same(solos: list[Arrangement]) -> None:
    pdf = to_comparison_pdf(solos, "letter")

    assert pdf.startswith(b"%PDF")
    assert to_comparison_pdf(solos, "letter") == pdf


def test_solos_of_other_tunes_keys_or_of_one_tier_are_refused(solos: list[Arrangement]) -> None:
    for other in (
        replace(solos[1], tune="other-0"),
        replace(solos[1], capo=2),
        replace(solos[1], tier="beginner"),
        replace(solos[1], measures=solos[1].measures[:-1]),
    ):
        with pytest.raises(InputError, match="one tune"):
            to_comparison_svg([solos[0], other])
    bare = [replace(solo, measures=tuple(replace(m, melody=()) for m in solo.measures)) for solo in solos]
    with pytest.raises(InputError, match="nothing to compare"):
        to_comparison_svg(bare)
