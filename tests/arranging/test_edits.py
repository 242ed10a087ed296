"""A teacher's edits: values, their file, and solos arranged around them."""

import json
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.applying import told_wishes
from coach.arranging.arrange import arrange, arrange_all
from coach.arranging.arrangement import TIERS
from coach.arranging.edit_files import edits_from_json, edits_to_json
from coach.arranging.edits import (
    Addition,
    Edits,
    LeaveOut,
    Lock,
    Replacement,
    WrittenPluck,
    added,
    check,
    freed,
    lock,
    of_tiers,
)
from coach.arranging.files import to_json
from coach.arranging.rules import broken_rules
from coach.errors import ArrangeError
from coach.instrument.fretboard import is_fret
from coach.instrument.tuning import TUNINGS
from coach.tunes.demo import demo_tune
from coach.tunes.read import read_tune_bytes

HALF = Fraction(1, 2)


@pytest.fixture(scope="module")
def lane():
    tune = demo_tune("mill-lane")
    return tune, arrange_all(tune)


def by_source(solo, source):
    return next(measure for measure in solo.measures if measure.source_measure == source)


def broken_by_hands(solo):
    """What no hand can play; that a teacher leaves out more of the melody than the arranger would is another thing."""
    hands = {"finger", "pinch", "finger twice", "string twice", "span", "slur", "one a string"}
    return [each for each in broken_rules(solo) if each.rule in hands]


def content(measure):
    return [(p.at, p.string, p.fret, p.finger, p.role, p.technique, p.from_fret) for p in measure.plucks]


def picked(at, string, fret, finger, role=None):
    return WrittenPluck(Fraction(at), string, fret, finger, role=role)


plucks = st.builds(
    WrittenPluck,
    at=st.fractions(0, 4, max_denominator=16),
    string=st.integers(1, 5),
    fret=st.sampled_from([0, 6, 7, 22]),
    finger=st.sampled_from("TIM"),
    role=st.sampled_from([None, "melody", "fill", "drone", "pinch", "lick"]),
) | st.builds(
    WrittenPluck,
    at=st.fractions(0, 4, max_denominator=16),
    string=st.integers(1, 4),
    fret=st.integers(0, 22),
    finger=st.none(),
    technique=st.sampled_from(["slide", "hammer-on", "pull-off"]),
    from_fret=st.integers(0, 22),
)
places = {"tier": st.sampled_from(TIERS), "source_measure": st.integers(0, 3)}
edits_made = (
    st.builds(Lock, **places, plucks=st.lists(plucks, max_size=4, unique_by=lambda p: (p.at, p.string)).map(tuple))
    | st.builds(Replacement, **places, string=st.integers(1, 5), pluck=plucks)
    | st.builds(Addition, **places, pluck=plucks)
    | st.builds(LeaveOut, **places, at=st.fractions(0, 4, max_denominator=16), string=st.integers(1, 5))
)


@settings(max_examples=40)
@given(st.lists(edits_made, max_size=6))
def test_edits_added_one_by_one_never_contradict_and_come_back_from_their_file(made):
    edits = Edits("tune-00000000")
    for each in made:
        edits = added(edits, each)

    check(edits, "edits")
    assert edits.edits[-1:] == tuple(made[-1:])
    assert edits_from_json(edits_to_json(edits), "edits.json") == edits


def test_a_lock_takes_the_place_of_all_that_was_asked_of_its_measure():
    edits = Edits("t", (Addition("advanced", 2, picked(0, 3, 0, "T")), LeaveOut("advanced", 3, HALF, 5)))

    locked = added(edits, Lock("advanced", 2, ()))

    assert locked.edits == (edits.edits[1], Lock("advanced", 2, ()))


ROW = "X:1\nT:Row\nM:4/4\nL:1/8\nK:G\n" + '"G"G2 B2 d2 B2|"C"c2 e4 c2|"D7"A2 c2 BAGF|"G"G8|\n'
RANDOM = read_tune_bytes(ROW.encode(), "row.abc")
wild = st.lists(
    st.tuples(st.integers(0, 7), st.integers(1, 4), st.sampled_from([0, 0, 1, 2, 3, 5, 9]), st.sampled_from("TIM")),
    max_size=10,
    unique_by=lambda each: each[:2],
)


@settings(max_examples=12)
@given(st.dictionaries(st.integers(1, 4), wild, min_size=1, max_size=3), st.sampled_from(TIERS))
def test_whatever_a_teacher_writes_stands_and_only_there_may_rules_of_the_hands_break(locks, tier):
    wishes = {
        source: tuple(picked(Fraction(slot, 2), string, fret, finger) for slot, string, fret, finger in row)
        for source, row in locks.items()
    }
    edits = Edits(RANDOM.id, tuple(Lock(tier, source, row) for source, row in wishes.items()))

    solo = arrange(RANDOM, tier, edits=edits)

    for source, row in wishes.items():
        asked = sorted((p.at, -p.string, p.fret, p.finger) for p in row)
        assert [(p.at, -p.string, p.fret, p.finger) for p in by_source(solo, source).plucks] == asked
    touched = {number for source in wishes for number in (source, source + 1)}
    assert {each.measure for each in broken_by_hands(solo)} <= touched
    for each in broken_by_hands(solo):
        what = each.sentence.removeprefix(f"Measure {each.measure}: ")
        told = [
            remark for remark in solo.remarks if remark.startswith(f"Measure {each.measure} breaks a rule, as asked")
        ]
        assert told, what


def test_a_solo_locked_as_it_is_comes_out_again(lane):
    tune, solos = lane
    for tier, solo in solos.items():
        edits = Edits(tune.id, tuple(lock(solo, by_source(solo, source)) for source in (1, 6, 16)))

        assert to_json(arrange(tune, tier, edits=edits)) == to_json(solo)


def test_a_locked_measure_stands_and_the_rest_is_arranged_around_it_by_the_rules(lane):
    tune, solos = lane
    row = [(3, 0, "T"), (2, 0, "I"), (5, 0, "T"), (1, 0, "M"), (4, 0, "T"), (3, 0, "I"), (5, 0, "T"), (1, 0, "M")]
    wish = Lock("intermediate", 6, tuple(picked(k * HALF, *each, role="fill") for k, each in enumerate(row)))

    solo = arrange(tune, "intermediate", edits=Edits(tune.id, (wish,)))

    measure = by_source(solo, 6)
    assert [(p.string, p.fret, p.finger) for p in measure.plucks] == row
    assert measure.plucks != by_source(solos["intermediate"], 6).plucks
    assert broken_by_hands(solo) == []


def test_an_edit_holds_for_every_repeat_of_its_measure():
    tune = demo_tune("turn-the-barrow")
    plain = arrange(tune, "beginner")
    repeated = next(measure for measure in plain.measures if measure.same_as is not None)
    first = next(measure for measure in plain.measures if measure.number == repeated.same_as)
    at = first.plucks[-1].at / plain.source_scale
    wish = LeaveOut("beginner", first.source_measure, at, first.plucks[-1].string)

    solo = arrange(tune, "beginner", edits=Edits(tune.id, (wish,)))

    here = [measure for measure in solo.measures if measure.source_measure == first.source_measure]
    assert len(here) >= 2
    for measure in here:
        assert content(measure) == content(first)[:-1]


def test_edits_of_one_tier_leave_the_others_alone(lane):
    tune, solos = lane
    edits = Edits(tune.id, (Lock("beginner", 3, (picked(0, 3, 0, "T"),)),))

    edited = arrange_all(tune, edits=edits)

    assert edited["beginner"] != solos["beginner"]
    assert edited["advanced"] == solos["advanced"]


def test_a_single_pluck_is_replaced_and_all_else_of_its_measure_stands(lane):
    tune, solos = lane
    before = by_source(solos["intermediate"], 4)
    old = next(p for p in before.plucks if p.role == "fill")
    fret = 2 if old.fret != 2 else 3
    wish = Replacement("intermediate", 4, old.string, picked(old.at, old.string, fret, old.finger))

    after = by_source(arrange(tune, "intermediate", edits=Edits(tune.id, (wish,))), 4)

    assert [p.fret for p in after.plucks if p.at == old.at] == [fret]
    assert [c for c in content(after) if c[0] != old.at] == [c for c in content(before) if c[0] != old.at]


def test_a_pluck_is_replaced_at_its_place_even_when_another_string_sounds_there_now(lane):
    tune, solos = lane
    old = by_source(solos["intermediate"], 4).plucks[3]
    silent = next(string for string in (1, 2, 3) if string != old.string)
    wish = Replacement("intermediate", 4, silent, picked(old.at, 4, 0, "T"))

    after = by_source(arrange(tune, "intermediate", edits=Edits(tune.id, (wish,))), 4)

    assert [(p.string, p.fret) for p in after.plucks if p.at == old.at] == [(4, 0)]


def test_what_was_slurred_from_a_pluck_goes_with_it():
    tune = demo_tune("mill-lane")
    plain = arrange(tune, "advanced")
    measure, slurred = next(
        (m, p) for m, p in plain.plucks() if p.technique != "pick" and p.role == "melody" and m.same_as is None
    )
    pick = max((p for p in measure.plucks if p.string == slurred.string and p.at < slurred.at), key=lambda p: p.at)

    edits = Edits(tune.id, (LeaveOut("advanced", measure.source_measure, pick.at, pick.string),))
    after = by_source(arrange(tune, "advanced", edits=edits), measure.source_measure)

    assert content(after) == [
        c for c in content(measure) if c[:2] not in {(pick.at, pick.string), (slurred.at, pick.string)}
    ]


def test_a_wish_that_breaks_a_rule_stands_and_is_told(lane):
    tune, _ = lane
    wish = Lock("intermediate", 5, tuple(picked(k * HALF, 3, 0, "T") for k in range(8)))

    solo = arrange(tune, "intermediate", edits=Edits(tune.id, (wish,)))

    measure = by_source(solo, 5)
    assert [(p.string, p.finger) for p in measure.plucks] == [(3, "T")] * 8
    assert {each.measure for each in broken_rules(solo)} == {measure.number}
    told = [remark for remark in solo.remarks if "breaks a rule, as asked" in remark]
    assert any(f"Measure {measure.number} breaks a rule, as asked: T plays twice in a row" in each for each in told)
    assert len(told) == len({each.rule for each in broken_rules(solo)})


def test_two_wishes_that_no_hand_can_join_both_stand(lane):
    tune, _ = lane
    wishes = tuple(Lock("advanced", source, tuple(picked(k * HALF, 3, 0, "T") for k in range(8))) for source in (5, 7))

    solo = arrange(tune, "advanced", edits=Edits(tune.id, wishes))

    for source in (5, 7):
        assert [p.string for p in by_source(solo, source).plucks] == [3] * 8


def test_the_edits_of_a_measure_of_a_tier_can_be_taken_out():
    wishes = [
        Lock("advanced", 5, ()),
        LeaveOut("advanced", 5, HALF, 3),
        Lock("advanced", 6, ()),
        Lock("beginner", 5, ()),
    ]
    edits = Edits("lane", tuple(wishes))

    assert freed(edits, "advanced", 5).edits == tuple(wishes[2:])
    assert freed(edits, "intermediate", 5) == edits


def test_a_tiers_solo_is_made_by_the_edits_that_are_for_it(lane):
    tune, plain = lane
    wishes = tuple(Lock(tier, 5, (picked("0", 3, 0, "T"),)) for tier in TIERS)
    edits = Edits(tune.id, wishes)

    assert of_tiers(edits, {"beginner", "advanced"}).edits == (wishes[0], wishes[2])
    assert arrange(tune, "advanced", edits=edits) == arrange(tune, "advanced", edits=of_tiers(edits, {"advanced"}))
    assert arrange(tune, "beginner", edits=of_tiers(edits, {"advanced"})) == plain["beginner"]


def test_of_the_remarks_those_on_broken_rules_can_be_told_apart(lane):
    tune, plain = lane
    far = Edits(tune.id, (Lock("advanced", 5, tuple(picked(k * HALF, 3, 0, "T") for k in range(8))),))
    solo = arrange(tune, "advanced", edits=far)

    told = told_wishes(solo)

    assert told
    assert all(remark.startswith("Measure 5 breaks a rule, as asked: ") for remark in told)
    assert told == [remark for remark in solo.remarks if remark not in plain["advanced"].remarks]
    assert told_wishes(plain["advanced"]) == []


def test_the_neighbours_keep_off_a_pinch_that_the_search_does_not_make(lane):
    tune, _ = lane
    pinch = (picked("7/2", 5, 0, "T"), picked("7/2", 2, 0, "I"), picked("7/2", 1, 0, "M"))

    solo = arrange(
        tune, "intermediate", edits=Edits(tune.id, (Lock("intermediate", 5, (picked(0, 3, 0, "T"), *pinch)),))
    )

    number = by_source(solo, 5).number
    following = next(measure for measure in solo.measures if measure.number == number + 1)
    assert following.plucks[0].at > 0
    assert broken_by_hands(solo) == []


def test_a_lock_keeps_its_places_under_another_capo(lane):
    tune, solos = lane
    edits = Edits(tune.id, (lock(solos["beginner"], by_source(solos["beginner"], 3)),))

    solo = arrange(tune, "beginner", key="A", edits=edits)

    assert solo.capo == 2
    assert content(by_source(solo, 3)) == content(by_source(solos["beginner"], 3))
    assert all(note.kept for note in by_source(solo, 3).melody)


def test_positions_are_in_the_tunes_own_time_where_the_solo_is_written_at_twice_the_length():
    tune = demo_tune("turn-the-barrow")
    plain = arrange(tune, "beginner")
    assert plain.source_scale == 2
    measure = plain.measures[2]

    wish = lock(plain, measure)

    assert [p.at for p in wish.plucks] == [p.at / 2 for p in measure.plucks]
    assert content(
        by_source(arrange(tune, "beginner", edits=Edits(tune.id, (wish,))), measure.source_measure)
    ) == content(measure)


def test_what_is_put_on_a_melody_pitch_carries_the_melody(lane):
    tune, solos = lane
    measure = by_source(solos["beginner"], 2)
    note = measure.melody[0]
    pluck = next(p for p in measure.plucks if p.id == note.pluck)
    wish = Lock("beginner", 2, (picked(note.at, pluck.string, pluck.fret, pluck.finger),))

    after = by_source(arrange(tune, "beginner", edits=Edits(tune.id, (wish,))), 2)

    assert (after.melody[0].kept, after.melody[0].pluck) == (True, after.plucks[0].id)
    assert after.plucks[0].role == "melody"
    assert not any(each.kept for each in after.melody[1:])


def one(**fields):
    edit = {"kind": "lock", "tier": "beginner", "source_measure": 1, "plucks": [], **fields}
    return {"format": "edits/1", "tune": "mill-lane-1f3a9c20", "edits": [edit]}


def pluck(**fields):
    return one(plucks=[{"at": "0", "string": 3, "fret": 0, "finger": "T", **fields}])


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"{", "e.json: this is no JSON"),
        (b"[]", 'e.json: these are no edits: "format" is not "edits/1"'),
        ({"format": "edits/2"}, "these are no edits"),
        (one(kind="shout"), "e.json, edit 1: invalid kind 'shout'; choose one of lock, replace, add, leave out."),
        (one(tier="expert"), "e.json, edit 1: invalid tier 'expert'; choose one of beginner, intermediate, advanced."),
        (one(source_measure=-1), "e.json, edit 1: there is no measure -1"),
        (one(sorce=1), "e.json, edit 1: object contains unknown field 'sorce'"),
        (pluck(string=6), "e.json, edit 1, pluck 1: there is no string 6; strings are 1 to 5."),
        (pluck(string=5, fret=3), "e.json, edit 1, pluck 1: string 5 has no fret 3"),
        (pluck(finger="P"), "e.json, edit 1, pluck 1: invalid finger 'P'; choose one of T, I, M."),
        (pluck(role="hum"), "pluck 1: invalid role 'hum'; choose one of melody, fill, drone, pinch, lick."),
        (pluck(technique="bend"), "invalid technique 'bend'; choose one of pick, slide, hammer-on, pull-off."),
        (pluck(at=1), "e.json, edit 1, pluck 1: expected 'str', got 'int'; write it as the format says."),
        (pluck(at="0.5"), "e.json, edit 1, pluck 1: '0.5' is no position; write quarters like 0, 3 or 1/2."),
        (pluck(technique="slide"), "e.json, edit 1, pluck 1: a picked note has a finger and no from_fret"),
        (
            one(plucks=[{"at": "0", "string": 3, "fret": f, "finger": "T"} for f in (0, 2)]),
            "string 3 is sounded twice at 0",
        ),
    ],
)
def test_a_bad_file_is_refused_in_a_sentence(data, what):
    with pytest.raises(ArrangeError) as error:
        edits_from_json(data if isinstance(data, bytes) else json.dumps(data).encode(), "e.json")

    assert what in str(error.value)
    assert str(error.value).endswith(".")


@pytest.mark.parametrize(
    ("pair", "what"),
    [
        (
            (Lock("beginner", 3, ()), Lock("beginner", 3, (picked(0, 3, 0, "T"),))),
            "measure 3 on paper of the beginner solo is locked in two ways",
        ),
        (
            (Replacement("beginner", 3, 3, picked(1, 4, 0, "T")), Replacement("beginner", 3, 3, picked(1, 3, 2, "T"))),
            "measure 3 on paper of the beginner solo is edited twice, at 1, string 3",
        ),
        (
            (LeaveOut("beginner", 3, Fraction(1), 4), Addition("beginner", 3, picked(1, 4, 0, "T"))),
            "is edited twice, at 1, string 4",
        ),
    ],
)
def test_edits_that_contradict_each_other_are_refused(lane, pair, what):
    tune, _ = lane
    with pytest.raises(ArrangeError, match=what):
        arrange(tune, "beginner", edits=Edits(tune.id, pair))
    with pytest.raises(ArrangeError, match=what):
        edits_from_json(edits_to_json(Edits(tune.id, pair)), "e.json")


@pytest.mark.parametrize(
    ("edits", "what"),
    [
        (Edits("other-00000000"), "they are for the tune other-00000000, and this is mill-lane"),
        (Edits("TUNE", (Lock("beginner", 99, ()),)), "the tune has no measure 99 on paper; choose from 1 to"),
        (Edits("TUNE", (Lock("beginner", 2, (picked("1/3", 3, 0, "T"),)),)), "position 1/3 is no half of a slot"),
        (Edits("TUNE", (Lock("beginner", 2, (picked(4, 3, 0, "T"),)),)), "position 4 lies behind the measure's end"),
        (Edits("TUNE", (LeaveOut("beginner", 2, Fraction(9), 3),)), "stay below 4 quarters of the tune"),
    ],
)
def test_edits_that_do_not_fit_the_tune_are_refused(lane, edits, what):
    tune, _ = lane
    with pytest.raises(ArrangeError, match=what):
        arrange(tune, "beginner", edits=replace(edits, tune=tune.id) if edits.tune == "TUNE" else edits)


def test_a_fret_that_the_capo_takes_away_is_refused(lane):
    tune, _ = lane
    edits = Edits(tune.id, (Lock("beginner", 2, (picked(0, 1, 21, "M"),)),))
    assert is_fret(1, 21)

    with pytest.raises(ArrangeError, match="string 1 has no fret 21 with the capo at 2"):
        arrange(tune, "beginner", key="A", edits=edits)


def changed(text, *pairs):
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return read_tune_bytes(text.encode(), "row.abc")


def test_edits_hold_when_a_chord_or_a_note_elsewhere_is_corrected_and_that_is_said():
    edits = Edits(RANDOM.id, (Lock("beginner", 1, (picked(0, 3, 0, "T"), picked(2, 2, 0, "I"))),))
    corrected = changed(ROW, ('"D7"A2', '"D"B2'))
    assert corrected.id != RANDOM.id

    solo = arrange(corrected, "beginner", edits=edits)

    assert [(p.at, p.string) for p in by_source(solo, 1).plucks] == [(0, 3), (2, 2)]
    said = f"The edits were made for another state of this tune ({RANDOM.id}); see whether they still fit."
    assert said in solo.remarks
    assert said not in arrange(RANDOM, "beginner", edits=edits).remarks


@pytest.mark.parametrize(
    ("pair", "edit", "what"),
    [
        (("T:Row", "T:Hoe"), LeaveOut("beginner", 1, Fraction(0), 5), "e.json: they are for the tune row-.*is hoe-"),
        (("BAGF", "BAGE"), Lock("beginner", 5, ()), "e.json: the tune has no measure 5 on paper"),
        (
            ('|"C"c2 e4 c2|', '|[M:3/4]"C"c2 e4|[M:4/4]'),
            Lock("beginner", 2, (picked(3, 3, 0, "T"),)),
            "e.json, measure 2 on paper of the beginner solo: position 3 lies behind",
        ),
    ],
)
def test_edits_that_fit_a_changed_tune_no_more_are_refused_by_the_name_of_their_file(pair, edit, what):
    made = Edits(RANDOM.id, (edit,))
    edits = edits_from_json(edits_to_json(made), "e.json")

    with pytest.raises(ArrangeError, match=what):
        arrange(changed(ROW, pair), "beginner", edits=edits)


def test_edits_are_for_one_tuning_and_one_position():
    lock_one = (Lock("beginner", 1, (picked(0, 3, 0, "T"),)),)
    unsaid = {"format": "edits/1", "tune": RANDOM.id, "edits": []}
    assert edits_from_json(json.dumps(unsaid).encode(), "e.json").tuning == "open G"

    with pytest.raises(ArrangeError, match="made in the tuning open G, and this solo is in open D; ask for --tuning"):
        arrange(RANDOM, "beginner", tuning=TUNINGS["open D"], edits=Edits(RANDOM.id, lock_one))
    with pytest.raises(ArrangeError, match="fretted as in C major, and this one is fretted as in G major"):
        arrange(RANDOM, "beginner", edits=Edits(RANDOM.id, lock_one, position="C major"))
    there = Edits(RANDOM.id, lock_one, "open D", "D major")
    solo = arrange(RANDOM, "beginner", key="D", capo=0, tuning=TUNINGS["open D"], edits=there)
    assert (solo.tuning.name, len(by_source(solo, 1).plucks)) == ("open D", 1)
    assert edits_from_json(edits_to_json(there), "e.json") == there
    with pytest.raises(ArrangeError, match="'open Q' is no tuning that is known; choose one of open G, "):
        edits_from_json(json.dumps({**unsaid, "tuning": "open Q"}).encode(), "e.json")
