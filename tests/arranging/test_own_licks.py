"""A teacher's own licks: held to the rules of the table, taken by the search, made from measures, kept in a file."""

import json
from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.explain import explain, explain_json
from coach.arranging.files import digest
from coach.arranging.lick_table import ROWS, Row
from coach.arranging.licks import LICKS, licks_for, licks_of
from coach.arranging.own_licks import (
    MOST_LICKS,
    check_lick,
    check_licks,
    lick_of_measures,
    licks_from_json,
    licks_to_json,
)
from coach.errors import ArrangeError
from coach.tunes.chords import read_chord
from coach.tunes.demo import DEMO_TUNES, demo_tune

DEMOS = list(DEMO_TUNES)[:4]
OWN = Row("smoke over the roof", "G", "T33,p32 I20 M10 T40,h42 I20 M10 T30 -", 1, "own", "tag")
SHORT = Row("chimney", "G", "T40,h42 I20 M10 T30", 1, "own", "tag")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_the_table_keeps_to_what_is_asked_of_a_teacher(row):
    check_lick(row)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (OWN._replace(slots="X30 I20"), "lick “smoke over the roof”: 'X30' is no note of a lick"),
        (OWN._replace(slots="T30"), "it has 1 slots"),
        (OWN._replace(slots=" ".join(["T30", "I20"] * 8 + ["M10"])), "it has 17 slots"),
        (OWN._replace(tuning="of my own"), "there is no tuning 'of my own'"),
        (OWN._replace(symbol="H"), "'H' is no chord"),
        (OWN._replace(slots="- T30"), "it does not start with a pick"),
        (OWN._replace(slots="h32 I20"), "h32 is slurred from nothing"),
        (OWN._replace(slots="T30,h36 I20 T30"), "it goes where licks do not lie"),
        (OWN._replace(slots="T30 T50 T30"), "its fingers TTT follow no named roll"),
        (OWN._replace(slots="T30,h32 I20,h21 M10,h12 T30,h32 I20 M10 T30"), "it has more than three slurs"),
        (OWN._replace(slots="T31 I20 T30"), "it does not tell G"),
        (OWN._replace(slots="T30 I20 M12"), "it does not tell G"),
        (OWN._replace(slots="T30 I20 M10"), "a tag comes to rest on the root"),
        (OWN._replace(slots="T30 I20 M10 -", use="fill"), "it stops before its end"),
        (OWN._replace(slots="T30 I20 T30 - - - -"), "it rests for more than two slots"),
        (OWN._replace(slots="T32,p34 I20 T30"), "Measure 1"),
    ],
)
def test_what_is_no_lick_is_refused_in_words(row, sentence):
    with pytest.raises(ArrangeError) as raised:
        check_lick(row)
    assert sentence in str(raised.value)


def test_names_and_licks_stand_once():
    check_licks((OWN, SHORT))
    for rows, sentence in (
        ((OWN, SHORT._replace(name=OWN.name)), "there is a lick of this name already"),
        ((OWN._replace(name=ROWS[0].name),), "there is a lick of this name already"),
        ((OWN, OWN._replace(name="another")), "this lick is there already"),
        ((ROWS[0]._replace(name="another"),), "this lick is there already"),
        (tuple(OWN._replace(name=str(k)) for k in range(MOST_LICKS + 1)), "more than 100 licks"),
    ):
        with pytest.raises(ArrangeError, match=sentence):
            check_licks(rows)


def test_own_licks_stand_behind_the_table_and_are_the_same_for_the_same_rows():
    first, second = licks_of((OWN, SHORT))
    assert (first.number, second.number) == (len(LICKS), len(LICKS) + 1)
    assert first.own
    assert not LICKS[-1].own
    assert licks_of((OWN, SHORT))[0] is first
    chord = read_chord("G")
    assert licks_for(chord.root_pc, chord.pitch_classes, own=(OWN,))[-1].name == OWN.name


def solos_with(licks):
    return {name: arrange(demo_tune(name), "advanced", licks=licks) for name in DEMOS}


@pytest.fixture(scope="module")
def licked():
    return solos_with((OWN, SHORT))


def test_a_solo_takes_the_teachers_licks_and_tells_them_by_name(licked):
    told = [
        (name, sentence.text)
        for name, solo in licked.items()
        for measure in explain(solo, (OWN, SHORT))
        for sentence in measure.sentences
        if OWN.name in sentence.text or SHORT.name in sentence.text
    ]
    assert told
    name = told[0][0]
    assert digest(licked[name]) != digest(arrange(demo_tune(name), "advanced"))
    assert told[0][1] in json.loads(explain_json(licked[name], (OWN, SHORT)))["measures"].__repr__()


def test_the_same_licks_give_the_same_solo_and_none_that_of_the_table(licked):
    assert {name: digest(solo) for name, solo in licked.items()} == {
        name: digest(solo) for name, solo in solos_with((OWN, SHORT)).items()
    }
    name = DEMOS[0]
    assert digest(arrange(demo_tune(name), "advanced", licks=())) == digest(arrange(demo_tune(name), "advanced"))


def test_the_lower_tiers_know_no_licks():
    tune = demo_tune(DEMOS[0])
    for tier in ("beginner", "intermediate"):
        assert digest(arrange(tune, tier, licks=(OWN, SHORT))) == digest(arrange(tune, tier))


def test_a_measure_becomes_a_lick(solo):
    played = solo("T33 I20 M10 T40 I20 T50 M10 T30", "T40,h42 I20 M10 T30 I20 M10 T50 I20", chords=("G", "G"))
    one = replace(played, measures=(*played.measures[:1], played.measures[1]))
    row = lick_of_measures(one, 2, 1, "  from   here ", "fill")
    assert row == Row("from here", "G", "T40,h42 I20 M10 T30 I20 M10 T50 I20", 1, "own", "fill", "open G")


def test_two_measures_become_a_lick(solo):
    played = solo("T30 I20 M10 T50 I20 M10 T30 I20", "M10 T50 I20 M10 T30 I20 M10 T30", chords=("G", "G"))
    assert len(lick_of_measures(played, 1, 2, "long one", "tag").slots.split()) == 16


@pytest.mark.parametrize(
    ("rows", "number", "count", "chords", "sentence"),
    [
        (("T30 I20 M10 T30",), 2, 1, ("G",), "measure 2: it is not there"),
        (("T30 I20 M10 T30",), 1, 2, ("G",), "measure 1: it is not there"),
        (("T30&M10 I20 M10 T30",), 1, 1, ("G",), "it is no lick: something is struck at once"),
        (("T30,I20 - M10 T30",), 1, 1, ("G",), "it is no lick: a note lies off the slots"),
        (("T30 I20 M10 T30", "T30 I20 M10 T30"), 1, 2, ("G", "C"), "it has not one chord from start to end"),
        (("T30 I20 M10 T50",), 1, 1, ("F",), "lick “mine”: it does not tell F"),
    ],
)
def test_a_measure_that_is_no_lick_is_refused(solo, rows, number, count, chords, sentence):
    with pytest.raises(ArrangeError) as raised:
        lick_of_measures(solo(*rows, chords=chords), number, count, "mine")
    assert sentence in str(raised.value)


def test_a_chord_that_sounds_on_from_before_is_the_licks(solo):
    played = solo("T30 I20 M10 T30", "T40,h42 I20 M10 T30")
    carried = replace(played.measures[1], chords=())
    row = lick_of_measures(replace(played, measures=(played.measures[0], carried)), 2, 1, "mine")
    assert row.symbol == "G"
    late = replace(carried, chords=(replace(played.measures[0].chords[0], at=Fraction(1), chord=read_chord("C")),))
    two = replace(played, measures=(played.measures[0], late))
    with pytest.raises(ArrangeError, match="it has not one chord"):
        lick_of_measures(two, 2, 1, "mine")


def test_licks_go_into_a_file_and_come_back():
    data = licks_to_json((OWN, SHORT))
    assert licks_from_json(data, "mine.json") == (OWN, SHORT)
    assert licks_to_json((OWN, SHORT)) == data
    assert licks_from_json(licks_to_json(()), "none.json") == ()


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"{", "mine.json: these are no licks"),
        (b'{"format": "licks/2", "licks": []}', "mine.json: these are no licks"),
        (b'{"licks": [{"name": "x", "chord": "G", "slots": "T30 I20", "speed": 1}]}', "mine.json: these are no licks"),
        (b'{"licks": [{"name": "x", "chord": "G", "slots": "T30 T30"}]}', "mine.json, lick “x”: its fingers TT"),
        (b" " * 100_001, "mine.json: the file is larger than licks need"),
        (b"[" * 50_000, "mine.json: these are no licks"),
    ],
)
def test_a_file_that_holds_no_licks_is_refused(data, sentence):
    with pytest.raises(ArrangeError) as raised:
        licks_from_json(data, "mine.json")
    assert sentence in str(raised.value)
