"""Mixed solos: no rule breaks at a seam, and what is away from seams is as in its own tier's solo."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrange import Work, arrange
from coach.arranging.arrangement import TIERS
from coach.arranging.edits import Edits, Lock, WrittenPluck
from coach.arranging.files import from_json, to_json
from coach.arranging.mixed import mix
from coach.arranging.rules import broken_rules
from coach.errors import ArrangeError
from coach.tunes.chords import read_chord
from coach.tunes.demo import DEMO_TUNES, demo_tune
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note, Tune


@pytest.fixture(scope="module")
def works():
    return {name: Work(demo_tune(name)) for name in DEMO_TUNES}


HANDS = {"finger twice", "string twice", "span", "slur"}


def content(measure):
    return [(p.at, p.length, p.string, p.fret, p.finger, p.role, p.technique, p.from_fret) for p in measure.plucks]


def of(work, tier, number):
    return next(measure for measure in work.solo(tier).measures if measure.number == number)


def check(work, tier, others):
    """A mixed solo, held to all that is promised of any."""
    found = mix(work, tier, others)
    solo = found.arrangement
    changed = {number for seam in found.seams for number in seam.changed}

    assert broken_rules(solo) == ()
    for measure in solo.measures:
        assert measure.number in changed or content(measure) == content(of(work, measure.tier, measure.number))
    plain = replace(
        solo, measures=tuple(replace(of(work, each.tier, each.number), same_as=None) for each in solo.measures)
    )
    torn = {each.measure for each in broken_rules(plain) if each.rule in HANDS}
    for seam in found.seams:
        if seam.joins:
            assert seam.after not in torn
        else:
            assert {seam.before, seam.after} & set(seam.changed)
            # A lick that crosses the barline is not cut in two either.
            beside = (of(work, plain_tier(solo, number), number).plucks for number in (seam.before, seam.after))
            assert seam.after in torn or any(pluck.role == "lick" for plucks in beside for pluck in plucks)
    assert bool(changed) == any(not seam.joins for seam in found.seams)
    return found


def plain_tier(solo, number):
    return next(measure.tier for measure in solo.measures if measure.number == number)


@settings(max_examples=10)
@given(st.data())
def test_random_tiers_over_the_demo_tunes(works, data):
    work = works[data.draw(st.sampled_from(sorted(DEMO_TUNES)))]
    homes = [each.number for each in work.frame.played if each.same_as is None]
    others = data.draw(st.dictionaries(st.sampled_from(homes), st.sampled_from(TIERS)))

    check(work, data.draw(st.sampled_from(TIERS)), others)


@st.composite
def tunes(draw):
    """Small tunes with no rest at any barline, so that most seams are tight."""
    meter = draw(st.sampled_from([Meter(4, 4), Meter(3, 4), Meter(2, 4), Meter(6, 8)]))
    measures = []
    for number in range(1, draw(st.integers(3, 6))):
        at, notes = Fraction(0), []
        while at < meter.length:
            length = draw(st.sampled_from([Fraction(1, 2), Fraction(1, 2), Fraction(1)]))
            notes.append(Note(at, min(length, meter.length - at), draw(st.integers(55, 69)), phrase_start=not notes))
            at += length
        chord = read_chord(draw(st.sampled_from(["G", "C", "D7", "Em"])))
        repeat = 2 if draw(st.integers(0, 3)) == 0 else 1
        measures.append(
            Measure(number, meter, meter.length, tuple(notes), (ChordChange(Fraction(0), chord),), repeat_end=repeat)
        )
    return Tune("Random", "", Key("G"), tuple(measures))


@settings(max_examples=10)
@given(tunes(), st.data())
def test_random_tiers_over_small_tunes_whose_seams_are_tight(tune, data):
    work = Work(tune)
    homes = [each.number for each in work.frame.played if each.same_as is None]
    others = {number: data.draw(st.sampled_from(TIERS)) for number in homes}

    check(work, "intermediate", others)


@pytest.mark.parametrize("tier", TIERS)
def test_one_tier_for_all_measures_is_that_tiers_own_solo(works, tier):
    work = works["mill-lane"]
    every = {each.number: tier for each in work.frame.played if each.same_as is None}

    for others in ({}, every):
        assert to_json(mix(work, tier, others).arrangement) == to_json(work.solo(tier))
    assert to_json(mix(work, "beginner", every).arrangement) == to_json(work.solo(tier))


def test_a_measure_brings_its_repeats_along(works):
    work = works["turn-the-barrow"]
    repeated = next(each for each in work.frame.played if each.same_as is not None)

    for number in (repeated.number, repeated.same_as):
        solo = mix(work, "beginner", {number: "advanced"}).arrangement
        assert {m.number for m in solo.measures if m.tier == "advanced"} == {repeated.number, repeated.same_as}


def test_repeated_measures_of_one_tier_still_repeat_each_other(works):
    work = works["turn-the-barrow"]

    solo = mix(work, "intermediate", {2: "advanced"}).arrangement

    told = Counter(measure.tier for measure in solo.measures if measure.same_as is not None)
    assert told["intermediate"] >= 4
    assert solo.tier == "mixed"


def test_the_remarks_say_which_measures_are_of_which_tier(works):
    solo = mix(works["mill-lane"], "beginner", {3: "advanced", 4: "advanced", 7: "intermediate"}).arrangement

    assert "From the advanced solo: measures 3-4." in solo.remarks
    assert "From the intermediate solo: measure 7." in solo.remarks
    assert any(remark.startswith("From the beginner solo: measures 1-2, 5-6, 8-") for remark in solo.remarks)


def test_a_mixed_solo_comes_back_from_its_file(works):
    solo = mix(works["hollow-hill-road"], "beginner", {2: "advanced", 5: "intermediate"}).arrangement

    assert from_json(to_json(solo), "solo.json") == solo


def test_edits_of_each_tier_stand_in_a_mixed_solo():
    tune = demo_tune("mill-lane")
    pluck = WrittenPluck(Fraction(0), 3, 0, "T", role="melody")
    edits = Edits(tune.id, (Lock("advanced", 3, (pluck,)), Lock("beginner", 5, (pluck,)), Lock("beginner", 3, ())))

    solo = mix(Work(tune, edits=edits), "beginner", {3: "advanced"}).arrangement

    for source in (3, 5):
        (measure,) = (m for m in solo.measures if m.source_measure == source)
        assert [(p.at, p.string, p.fret) for p in measure.plucks] == [(0, 3, 0)]
    assert not [each for each in broken_rules(solo) if each.rule in {"finger twice", "string twice", "span"}]
    assert arrange(tune, "beginner", edits=edits) != solo


def test_what_a_teacher_wants_at_a_seam_stands_whatever_the_other_tier_has_there():
    tune = demo_tune("mill-lane")
    row = tuple(WrittenPluck(Fraction(k, 2), 3, 0, "T") for k in range(8))
    edits = Edits(tune.id, (Lock("advanced", 4, row), Lock("intermediate", 5, row)))

    found = mix(Work(tune, edits=edits), "intermediate", {4: "advanced"})

    for number in (4, 5):
        measure = next(m for m in found.arrangement.measures if m.number == number)
        assert [p.string for p in measure.plucks] == [3] * 8
    assert any("breaks a rule, as asked" in remark for remark in found.arrangement.remarks)


@pytest.mark.parametrize(
    ("others", "what"),
    [
        ({99: "advanced"}, "there is no measure 99 as played; choose from 1 to"),
        (
            {1: "advanced", 9: "beginner"},
            "measure 9 repeats what measure 1 plays, and is beginner where that is advanced",
        ),
    ],
)
def test_tiers_that_make_no_sense_are_refused(works, others, what):
    work = works["turn-the-barrow"]
    assert next(each.same_as for each in work.frame.played if each.number == 9) == 1

    with pytest.raises(ArrangeError, match=what):
        mix(work, "intermediate", others)
