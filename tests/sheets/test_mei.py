import json
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
import verovio

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.sheets.folding import written_out
from coach.sheets.mei import dealt, to_mei
from coach.sheets.tab_staff import fingers_of, slurs
from coach.tunes.tune import Meter

COMMON = Meter(4, 4)
NAMES = ["solo", "doubled", "waltz", "jig", "roll_study"]
MEI = "{http://www.music-encoding.org/ns/mei}"
ID = "{http://www.w3.org/XML/1998/namespace}id"


@pytest.fixture(params=NAMES)
def any_solo(request: pytest.FixtureRequest) -> Arrangement:
    return request.getfixturevalue(request.param)


def parsed(arrangement: Arrangement) -> ET.Element:
    return ET.fromstring(to_mei(arrangement))


def elements(arrangement: Arrangement, tag: str) -> list[ET.Element]:
    return list(parsed(arrangement).iter(MEI + tag))


def by_id(arrangement: Arrangement) -> dict[str, ET.Element]:
    return {element.attrib[ID]: element for element in parsed(arrangement).iter() if ID in element.attrib}


def loaded(arrangement: Arrangement) -> verovio.toolkit:
    """An outside reader of MEI: Verovio."""
    toolkit = verovio.toolkit()
    toolkit.setOptions({"breaks": "line"})
    assert toolkit.loadData(to_mei(arrangement))
    return toolkit


def test_an_outside_reader_hears_every_pluck_at_its_position(any_solo: Arrangement) -> None:
    starts = any_solo.starts()
    expected = {pluck.id: float(starts[measure.number] + pluck.at) for measure, pluck in any_solo.plucks()}
    events = loaded(any_solo).renderToTimemap()
    events = json.loads(events) if isinstance(events, str) else events
    heard = {name: event["qstamp"] for event in events for name in event.get("on", []) if name in expected}

    assert heard == pytest.approx(expected)


def test_an_outside_reader_hears_the_melody_at_its_pitch_without_the_capo(any_solo: Arrangement) -> None:
    toolkit = loaded(any_solo)
    toolkit.renderToTimemap()

    for measure in any_solo.measures:
        for number, note in enumerate(measure.melody, 1):
            values = toolkit.getMIDIValuesForElement(f"m{measure.number}n{number}")
            assert values["pitch"] == note.pitch - any_solo.capo


def test_an_outside_reader_takes_the_tuning_for_that_of_the_open_strings(solo: Arrangement) -> None:
    toolkit = loaded(solo)
    toolkit.renderToTimemap()

    # Frets of the long strings count from the nut in that reader too.
    for _, pluck in solo.plucks():
        if pluck.string != 5 or pluck.fret == 0:
            assert toolkit.getMIDIValuesForElement(pluck.id)["pitch"] == pluck.pitch


def test_ids_are_unique(any_solo: Arrangement) -> None:
    ids = Counter(element.attrib[ID] for element in parsed(any_solo).iter() if ID in element.attrib)

    assert max(ids.values()) == 1
    assert {pluck.id for _, pluck in any_solo.plucks()} | {f"m{m.number}" for m in any_solo.measures} <= set(ids)


def test_references_name_elements_that_exist(solo: Arrangement) -> None:
    root = parsed(solo)
    ids = {element.get(ID) for element in root.iter()}
    wanted = [
        element.attrib[end][1:] for element in root.iter() for end in ("startid", "endid") if end in element.attrib
    ]

    assert len(wanted) > 20
    assert set(wanted) <= ids


def test_melody_is_written_an_octave_above_sound_in_the_key_of_the_shape(doubled: Arrangement) -> None:
    clef = elements(doubled, "clef")[0]

    assert (clef.get("shape"), clef.get("dis"), clef.get("dis.place")) == ("G", "8", "below")
    assert elements(doubled, "keySig")[0].get("sig") == "1s"


def test_words_carry_hyphens_and_left_out_ones_parentheses(solo: Arrangement) -> None:
    words = [(syl.text, syl.get("wordpos"), syl.get("con")) for syl in elements(solo, "syl")]

    assert words == [
        ("Down", "s", None),
        ("the", "s", None),
        ("wil", "i", "d"),
        ("(low)", "t", None),
        ("lane", "s", None),
        ("we", "s", None),
        ("went", "s", None),
        ("(a)", "i", "d"),
        ("walk", "m", "d"),
        ("ing", "t", None),
        ("home", "s", None),
        ("a", "i", "d"),
        ("gain", "t", None),
    ]


def test_a_pickup_has_no_number_and_the_last_measure_a_final_bar(solo: Arrangement) -> None:
    measures = elements(solo, "measure")

    assert [measure.get("n") for measure in measures] == [None, "1", "2", "3", "4"]
    assert [measure.get("metcon") for measure in measures] == ["false", None, None, None, None]
    assert [measure.get("right") for measure in measures] == [None, None, None, None, "end"]


def test_a_doubled_metre_is_written_as_cut_time(doubled: Arrangement) -> None:
    assert [sign.get("sym") for sign in elements(doubled, "meterSig")] == ["cut", "cut"]


def test_a_note_over_the_barline_is_tied(waltz: Arrangement) -> None:
    notes = by_id(waltz)

    assert (notes["m2n1"].get("tie"), notes["m3n0"].get("tie")) == ("i", "t")
    assert len(elements(waltz, "verse")) == 2


def test_fingers_stand_below_and_those_of_a_pinch_are_told_from_string_1_down(solo: Arrangement) -> None:
    rows = [harm for harm in elements(solo, "harm") if harm.get("type") == "rh"]

    assert [harm.get("label") for harm in rows][-4:] == ["I", "T", "M", "M|I|T"]
    assert {harm.get("place") for harm in rows} == {"below"}
    assert fingers_of(solo.measures[4].plucks[-3:]) == ["M", "I", "T"]


def test_slurs_lead_from_the_note_before_on_the_string(solo: Arrangement) -> None:
    assert [(start.id, end.id) for start, end in slurs(solo)] == [("m2e1", "m2e2"), ("m2e5", "m2e6"), ("m3e4", "m3e5")]
    letters = ["".join(d.itertext()) for d in elements(solo, "dir")]
    assert letters == ["h", "p", "s"]


def test_chords_stand_at_their_beats_with_printed_signs(solo: Arrangement) -> None:
    chords = [(harm.text, harm.get("tstamp")) for harm in elements(solo, "harm") if harm.get("type") is None]

    assert chords == [("G", "1"), ("C", "3"), ("D7", "1"), ("Em", "1"), ("F♯m7", "3"), ("G/B", "1"), ("B♭", "4")]


def test_beats_of_chords_count_the_unit_of_the_metre(jig: Arrangement, doubled: Arrangement) -> None:
    beats = [[h.get("tstamp") for h in elements(one, "harm") if h.get("type") is None][:2] for one in (jig, doubled)]

    assert beats == [["1", "4"], ["1", "2"]]


def test_eighths_are_beamed_in_fours_in_the_tablature(solo: Arrangement) -> None:
    measure = elements(solo, "measure")[1]
    beams = [[child.tag for child in beam] for beam in list(measure)[1].iter(MEI + "beam")]

    assert beams == [[MEI + "tabGrp"] * 4] * 2


def test_six_slots_of_three_quarters_and_groups_of_three_are_beamed_together(
    waltz: Arrangement, jig: Arrangement
) -> None:
    def beams(one: Arrangement) -> list[int]:
        return [len(beam) for beam in elements(one, "beam") if beam[0].tag == MEI + "tabGrp"]

    assert beams(waltz) == [6]
    assert beams(jig) == [3, 3]


def test_without_a_melody_only_the_tablature_is_written(roll_study: Arrangement) -> None:
    assert [staff.get("notationtype") for staff in elements(roll_study, "staffDef")] == ["tab.guitar"]
    assert not elements(roll_study, "verse")


def test_a_string_that_rings_longer_than_one_value_leaves_space_and_no_rest(build) -> None:
    one = build(Meter(4, 4), [("0", 3, 0, "T", "melody"), ("5/2", 3, 2, "I", "melody")])
    staff = elements(one, "staff")[0]
    values = [(e.tag.removeprefix(MEI), e.get("dur")) for e in staff.iter() if e.get("dur")]

    assert values == [("tabGrp", "2"), ("space", "8"), ("tabGrp", "4")]


def test_a_change_of_metre_is_shown(build, waltz: Arrangement) -> None:
    second = replace(waltz.measures[1], meter=Meter(2, 4), length=Fraction(2), plucks=(), melody=())
    changed = replace(waltz, measures=(waltz.measures[0], second, waltz.measures[2]))
    signs = [(sign.get("count"), sign.get("unit")) for sign in elements(changed, "meterSig")]

    assert signs == [("3", "4")] * 2 + [("2", "4")] * 2 + [("3", "4")] * 2


def test_signs_and_markup_in_texts_are_escaped(build) -> None:
    one = build(Meter(2, 4), [], [("0", "2", 55, '<&"x', True)], title="A < B & C")

    assert elements(one, "syl")[0].text == '<&"x'
    assert elements(one, "title")[0].text == "A < B & C"


@pytest.mark.parametrize(("per_system", "expected"), [(4, [5]), (8, [5]), (2, [2, 2, 1]), (1, [1, 1, 1, 1, 1])])
def test_a_pickup_counts_only_where_room_is_scarce(solo: Arrangement, per_system: int, expected: list[int]) -> None:
    assert [len(system) for system in dealt(written_out(solo), per_system)] == expected
    breaks = ET.fromstring(to_mei(solo, measures_per_system=per_system)).iter(MEI + "sb")
    assert len(list(breaks)) == len(expected) - 1


def test_a_triplet_of_the_tune_is_written_as_one(build) -> None:
    one = build(Meter(2, 4), [], [(f"{k}/3", "1/3", 55, None, False) for k in range(3)] + [("1", "1", 59, "x", False)])
    tuplet = elements(one, "tuplet")[0]

    assert (tuplet.get("num"), tuplet.get("numbase")) == ("3", "2")
    assert [note.get("dur") for note in tuplet.iter(MEI + "note")] == ["8", "8", "8"]


def test_an_outside_reader_has_nothing_to_complain_of(
    any_solo: Arrangement, make, capfd: pytest.CaptureFixture[str]
) -> None:
    def complaints(mei: str) -> str:
        verovio.enableLog(verovio.LOG_WARNING)
        toolkit = verovio.toolkit()
        toolkit.setOptions({"breaks": "none"})
        assert toolkit.loadData(mei)
        toolkit.renderToSVG(1)
        return capfd.readouterr().err

    mei = to_mei(make.fingered(any_solo), fold=True)
    assert complaints(mei) == ""
    # The reader does speak up when a value is none of the format's.
    assert "sideways" in complaints(mei.replace('place="below"', 'place="sideways"'))


@pytest.fixture(scope="module")
def repeated(make) -> Arrangement:
    """Three measures twice, with other words and other endings, and a finger of the left hand."""

    def measure(number: int, source: int, word: str, fret: int = 2) -> ArrangedMeasure:
        one = make.measure(number, COMMON, make.rolled(f"T3{fret} i20 m10 t50"), [("0", "4", 57, word, True)])
        return replace(one, source_measure=source)

    first = [measure(1, 1, "mill-"), measure(2, 2, "er"), measure(3, 3, "home")]
    again = [measure(4, 1, "wa-"), measure(5, 2, "ter"), measure(6, 4, "gone", 0)]
    return make.fingered(make.solo([*first, *again]))


def test_folded_repeats_have_signs_endings_and_a_second_line_of_words(repeated: Arrangement) -> None:
    root = ET.fromstring(to_mei(repeated, fold=True, measures_per_system=2))
    measures = [(measure.get("n"), measure.get("left"), measure.get("right")) for measure in root.iter(MEI + "measure")]
    endings = [(each.get("n"), [m.get("n") for m in each.iter(MEI + "measure")]) for each in root.iter(MEI + "ending")]
    words = [(verse.get("n"), verse[0].text, verse[0].get("wordpos")) for verse in root.iter(MEI + "verse")]

    assert measures == [("1", "rptstart", None), ("2", None, None), ("3", None, "rptend"), ("6", None, "end")]
    assert endings == [("1", ["3"]), ("2", ["6"])]
    assert words == [
        ("1", "mill", "i"),
        ("2", "wa", "i"),
        ("1", "er", "t"),
        ("2", "ter", "t"),
        ("1", "home", "s"),
        ("2", "gone", "s"),
    ]
    # A new line begins before the first ending, not inside it: the bracket would be drawn as going on.
    section = root.find(f".//{MEI}section")
    assert [child.tag.removeprefix(MEI) for child in section] == ["measure", "measure", "sb", "ending", "ending"]


def test_an_outside_reader_takes_the_signs_of_a_repeat_for_one(repeated: Arrangement) -> None:
    toolkit = verovio.toolkit()
    toolkit.loadData(to_mei(repeated, fold=True))

    assert toolkit.getPageCount() == 1
    assert toolkit.renderToSVG(1).count('class="ending') == 2


def test_fingers_of_the_left_hand_are_written_with_their_plucks(repeated: Arrangement) -> None:
    fingers = [(f.text, f.get("startid"), f.get("place")) for f in elements(repeated, "fing")]

    assert fingers == [("2", f"#m{number}e1", "above") for number in range(1, 6)]


def test_nothing_is_said_of_the_left_hand_where_nothing_is_held(solo: Arrangement) -> None:
    assert not elements(solo, "fing")


def test_fingers_of_a_shape_that_is_struck_again_are_written_once(make) -> None:
    def shape(at: str, fret: int) -> list[tuple[str, int, int, str, str]]:
        return [(at, string, fret, finger, "pinch") for string, finger in ((1, "M"), (2, "I"), (3, "T"))]

    rows = [*shape("0", 5), *shape("1", 5), *shape("2", 7), ("3", 1, 7, "M", "fill")]
    measures = [make.measure(1, COMMON, rows, [], [("0", "C")])]
    solo = make.fingered(make.solo(measures))
    fingers = [line for line in to_mei(solo).split("<") if line.startswith("fing ")]

    written = {name for line in fingers for name in [line.partition('xml:id="')[2].partition('f"')[0]]}
    assert written == {"m1e1", "m1e2", "m1e3", "m1e7", "m1e8", "m1e9", "m1e10"}
