"""The MusicXML of a solo, element by element. The schema and a second reader are asked in tests/outside."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from strategies import solos

from coach.arranging.arrangement import Arrangement
from coach.errors import InputError
from coach.instrument.tuning import DOUBLE_C, OPEN_D
from coach.sheets.musicxml import to_musicxml
from coach.tunes.tune import Meter


def tree(solo: Arrangement, **options: float) -> ET.Element:
    return ET.fromstring(to_musicxml(solo, **options).encode())


def measures(root: ET.Element, part: str) -> list[ET.Element]:
    return root.findall(f"part[@id='{part}']/measure")


def tab(root: ET.Element) -> list[ET.Element]:
    return measures(root, "P2")


def text(element: ET.Element, path: str) -> str:
    found = element.findtext(path)
    assert found is not None, path
    return found


def note(root: ET.Element, name: str) -> ET.Element:
    found = root.find(f".//note[@id='{name}']")
    assert found is not None, name
    return found


def test_the_tablature_has_five_lines_with_their_tuning(solo: Arrangement) -> None:
    """Line 1 is the lowest and string 5; the pitches of open G follow from the letters by equal temperament."""
    (first, *_) = tab(tree(solo))
    details = first.find("attributes/staff-details")
    assert details is not None
    assert text(details, "staff-lines") == "5"
    assert [
        (tuning.get("line"), text(tuning, "tuning-step") + text(tuning, "tuning-octave"))
        for tuning in details.findall("staff-tuning")
    ] == [("1", "G4"), ("2", "D3"), ("3", "G3"), ("4", "B3"), ("5", "D4")]
    assert (text(first, "attributes/clef/sign"), text(first, "attributes/clef/line")) == ("TAB", "5")


@pytest.mark.parametrize(
    ("tuning", "names"), [(DOUBLE_C, ["G4", "C3", "G3", "C4", "D4"]), (OPEN_D, ["F1#4", "D3", "F1#3", "A3", "D4"])]
)
def test_other_tunings_are_told_too(solo: Arrangement, tuning: object, names: list[str]) -> None:
    lines = tree(replace(solo, tuning=tuning)).findall(".//staff-tuning")  # type: ignore[arg-type]
    told = []
    for line in lines:
        alter = line.findtext("tuning-alter")
        told.append(text(line, "tuning-step") + (f"{alter}#" if alter else "") + text(line, "tuning-octave"))
    assert told == names


def test_the_tune_stands_an_octave_above_sound_with_its_key_and_metre(solo: Arrangement) -> None:
    (first, *_) = measures(tree(solo), "P1")
    clef = first.find("attributes/clef")
    assert clef is not None
    assert [clef.findtext(tag) for tag in ("sign", "line", "clef-octave-change")] == ["G", "2", "-1"]
    assert (text(first, "attributes/key/fifths"), text(first, "attributes/key/mode")) == ("1", "major")
    assert (text(first, "attributes/time/beats"), text(first, "attributes/time/beat-type")) == ("4", "4")


def test_a_capo_is_told_and_a_transposition_says_what_sounds(doubled: Arrangement, solo: Arrangement) -> None:
    root = tree(doubled)
    assert [text(each, "chromatic") for each in root.iter("transpose")] == ["2", "2"]
    assert [text(each, "diatonic") for each in root.iter("transpose")] == ["1", "1"]
    assert [each.text for each in root.iter("capo")] == ["2"]
    plain = tree(solo)
    assert list(plain.iter("transpose")) == list(plain.iter("capo")) == []
    names = ("step", "octave", "alter")
    for one, other in zip(root.iter("pitch"), plain.iter("pitch"), strict=True):
        assert [one.findtext(name) for name in names] == [other.findtext(name) for name in names]


def test_a_pickup_is_measure_0_and_implicit_and_the_numbers_run_on(solo: Arrangement) -> None:
    for part in ("P1", "P2"):
        found = [(each.get("number"), each.get("implicit")) for each in measures(tree(solo), part)]
        assert found == [("0", "yes"), ("1", None), ("2", None), ("3", None), ("4", None)]


def test_string_fret_and_fingers_stand_on_each_note(solo: Arrangement) -> None:
    pinned = replace(
        solo,
        measures=tuple(
            replace(m, plucks=tuple(replace(p, left=2) if p.id == "m1e5" else p for p in m.plucks))
            for m in solo.measures
        ),
    )
    technical = note(tree(pinned), "m1e5").find("notations/technical")
    assert technical is not None
    assert [(each.tag, each.text) for each in technical] == [
        ("string", "2"),
        ("fret", "1"),
        ("pluck", "T"),
        ("fingering", "2"),
    ]


def ends(root: ET.Element, tag: str) -> list[tuple[str, str | None, str | None, str | None]]:
    return [
        (each.get("id", ""), end.get("type"), end.get("number"), end.text)
        for each in root.iter("note")
        for end in each.iter(tag)
    ]


def test_slurs_have_both_ends_with_one_number_and_their_letter(solo: Arrangement) -> None:
    root = tree(solo)
    assert ends(root, "hammer-on") == [("m2e1", "start", "8", "H"), ("m2e2", "stop", "8", None)]
    assert ends(root, "pull-off") == [("m2e5", "start", "3", "P"), ("m2e6", "stop", "3", None)]
    assert ends(root, "slide") == [("m3e4", "start", "8", None), ("m3e5", "stop", "8", None)]
    assert len(ends(root, "slur")) == 4  # a curve over the hammer-on and the pull-off


def test_a_slurred_note_has_no_finger_of_the_right_hand(solo: Arrangement) -> None:
    root = tree(solo)
    assert note(root, "m2e1").find(".//pluck") is not None
    assert note(root, "m2e2").find(".//pluck") is None


def test_a_chain_of_slurs_never_ends_and_begins_with_one_number(build: Callable[..., Arrangement]) -> None:
    rows = (
        ("0", 3, 2, "T", "melody"),
        ("1/2", 3, 4, None, "melody", "hammer-on", 2),
        ("1", 3, 2, None, "melody", "pull-off", 4),
    )
    found = ends(tree(build(Meter(4, 4), rows)), "slur")
    assert [(name, kind) for name, kind, *_ in found] == [
        ("m1e1", "start"),
        ("m1e2", "stop"),
        ("m1e2", "start"),
        ("m1e3", "stop"),
    ]
    assert found[0][2] == found[1][2] != found[2][2] == found[3][2]


def test_a_pinch_is_a_chord(solo: Arrangement) -> None:
    root = tree(solo)
    assert [note(root, name).find("chord") is not None for name in ("m4e5", "m4e6", "m4e7")] == [False, True, True]


def test_notes_that_end_apart_stand_in_voices_of_their_own(build: Callable[..., Arrangement]) -> None:
    one = build(Meter(4, 4), (("0", 5, 0, "T", "pinch"), ("0", 1, 0, "M", "pinch")))
    (measure,) = one.measures
    apart = replace(
        one, measures=(replace(measure, plucks=(measure.plucks[0], replace(measure.plucks[1], length=Fraction(1)))),)
    )
    root = tree(apart)
    assert [text(note(root, name), "voice") for name in ("m1e1", "m1e2")] == ["1", "2"]
    assert note(root, "m1e2").find("chord") is None
    lengths = {"note": 1, "backup": -1, "forward": 1}
    assert sum(
        lengths.get(each.tag, 0) * int(each.findtext("duration") or 0) for each in tab(root)[0]
    ) == 4 * int(text(root, ".//divisions"))  # fmt: skip


def test_rests_ties_and_dots_are_written(waltz: Arrangement, solo: Arrangement) -> None:
    third = tab(tree(solo))[3]
    assert [text(each, "type") for each in third.findall("note") if each.find("rest") is not None] == ["quarter"]
    tune = measures(tree(waltz), "P1")
    ties = [[tie.get("type") for tie in each.iter("tie")] for measure in tune for each in measure.findall("note")]
    assert ties == [[], ["start"], ["stop"]]
    assert tune[0].find("note/dot") is not None


def test_triplets_tell_their_ratio_and_where_they_begin_and_end(build: Callable[..., Arrangement]) -> None:
    rows = (
        ("0", 3, 0, "T", "melody"),
        ("1/3", 2, 0, "I", "fill"),
        ("2/3", 1, 0, "M", "fill"),
        ("1", 5, 0, "T", "drone"),
    )
    notes = list(tab(tree(build(Meter(2, 4), rows)))[0].iter("note"))
    assert [each.findtext("time-modification/actual-notes") for each in notes] == ["3", "3", "3", None]
    assert [[t.get("type") for t in each.iter("tuplet")] for each in notes] == [["start"], [], ["stop"], []]
    assert [text(each, "beam") for each in notes[:3]] == ["begin", "continue", "end"]


def test_words_chords_and_left_out_notes_stand_over_the_tab(solo: Arrangement) -> None:
    root = tree(solo)
    words = [(text(each, "syllabic"), text(each, "text")) for each in root.iter("lyric")]
    assert words[:5] == [("single", "Down"), ("single", "the"), ("begin", "wil"), ("end", "low"), ("single", "lane")]
    heads = {each.get("id") for each in root.iter("note") if each.find("notehead[@parentheses='yes']") is not None}
    assert heads == {"m1n2", "m2n3"}
    assert [text(each, "root/root-step") + (each.find("kind").get("text") or "") for each in root.iter("harmony")] == [  # type: ignore[union-attr]
        "G", "C", "D7", "E" + "m", "F" + "m7", "G", "B",
    ]  # fmt: skip
    assert list(tab(root)[1].iter("harmony")) == []


def test_a_chord_within_a_note_tells_its_distance(waltz: Arrangement) -> None:
    first = waltz.measures[0]
    later = replace(first, chords=(replace(first.chords[0], at=Fraction(2)),))
    root = tree(replace(waltz, measures=(later, *waltz.measures[1:])))
    assert root.findtext(".//harmony/offset") == str(2 * int(text(root, ".//divisions")))


def test_without_a_melody_the_tablature_stands_alone_with_chords_and_tempo(roll_study: Arrangement) -> None:
    root = tree(roll_study, tempo=96.0)
    assert [part.get("id") for part in root.findall("part")] == ["P2"]
    assert [each.get("id") for each in root.findall("part-list/score-part")] == ["P2"]
    assert len(list(root.iter("harmony"))) == 1
    assert (text(root, ".//per-minute"), root.find(".//sound").get("tempo")) == ("96", "96")  # type: ignore[union-attr]


def test_changing_metres_and_cut_time_are_told(solo: Arrangement, doubled: Arrangement) -> None:
    waltzing = replace(solo.measures[4], meter=Meter(2, 2))
    root = tree(replace(solo, measures=(*solo.measures[:4], waltzing)))
    times = [
        [text(each, "beats") + "/" + text(each, "beat-type") for each in measure.iter("time")] for measure in tab(root)
    ]
    assert times == [["4/4"], [], [], [], ["2/2"]]
    assert {each.get("symbol") for each in tree(doubled).iter("time")} == {"cut"}


def test_the_head_names_the_solo(doubled: Arrangement) -> None:
    root = tree(doubled)
    assert text(root, "work/work-title") == "Stone Bridge & Willow"
    assert text(root, "identification/rights") == "made for the tests"
    fields = {each.get("name"): each.text for each in root.iter("miscellaneous-field")}
    assert (fields["tier"], fields["slot"], fields["tuning"]) == ("intermediate", "1/2", "open G")
    assert fields["remark-1"] == "Written out at twice the length."
    lines = [each.text or "" for each in root.iter("credit-words")]
    assert lines[:2] == ["Stone Bridge & Willow", "Intermediate solo in G major, sounds in A major"]
    assert any("fifth string under the spike at fret 7" in each for each in lines)
    assert root.find(".//encoding-date") is None


def test_the_texts_of_the_page_stand_below_one_another_over_the_first_system(doubled: Arrangement) -> None:
    root = tree(doubled)
    heights = [int(each.get("default-y", "")) for each in root.iter("credit-words")]
    assert heights == sorted(heights, reverse=True)
    assert len(set(heights)) == len(heights)
    page = {side: int(text(root, f"defaults/page-layout/page-margins/{side}-margin")) for side in ("top", "bottom")}
    top = int(text(root, "defaults/page-layout/page-height")) - page["top"]
    assert (heights[0], heights[-1]) == (top, page["bottom"])
    assert top - heights[-2] < int(text(root, ".//top-system-distance"))


def test_texts_are_escaped_and_cleaned_and_keep_their_letters(solo: Arrangement) -> None:
    first = solo.measures[0]
    sung = replace(first, melody=(replace(first.melody[0], lyric="<Ü>\x07&ŋ"), *first.melody[1:]))
    odd = replace(solo, title='A < B & "C" — Ærø ♯\x00\x1b', rights="", measures=(sung, *solo.measures[1:]))
    root = tree(odd)
    assert text(root, "work/work-title") == 'A < B & "C" — Ærø ♯'
    assert next(each.text for each in root.iter("text")) == "<Ü>&ŋ"
    assert root.find("identification/rights") is None
    assert all(each.text for each in root.iter("credit-words"))


def test_ids_are_those_of_the_plucks_and_each_stands_once(solo: Arrangement) -> None:
    names = [each.get("id") for each in tree(solo).iter("note") if each.get("id")]
    assert len(names) == len(set(names))
    assert {pluck.id for _, pluck in solo.plucks()} <= set(names)


def test_a_length_that_no_note_has_is_said(build: Callable[..., Arrangement]) -> None:
    odd = build(Meter(4, 4), (("0", 3, 0, "T", "melody"), ("1/7000", 2, 0, "I", "fill")))
    with pytest.raises(InputError, match="cannot be written"):
        to_musicxml(odd)


@settings(max_examples=15)
@given(solos())
def test_every_voice_fills_its_measure_and_the_same_solo_gives_the_same_bytes(solo: Arrangement) -> None:
    root = tree(solo)
    divisions = int(text(root, ".//divisions"))
    for part in root.findall("part"):
        for measure, element in zip(solo.measures, part.findall("measure"), strict=True):
            at = 0
            for each in element:
                steps = int(each.findtext("duration") or 0)
                if each.tag == "backup":
                    assert at == measure.length * divisions
                    at -= steps
                elif each.tag in {"note", "forward"} and each.find("chord") is None:
                    at += steps
            assert at == measure.length * divisions
    assert to_musicxml(solo) == to_musicxml(solo)
