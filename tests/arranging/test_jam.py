"""Runs as in a jam: break, back-up, break again, ending; common practice, no source."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrange import Work, arrange_all
from coach.arranging.arrangement import TIERS
from coach.arranging.files import from_json, to_json
from coach.arranging.jam import jam_run
from coach.arranging.mixed import mix
from coach.arranging.rules import broken_rules
from coach.errors import ArrangeError, InputError
from coach.tunes.chords import read_chord
from coach.tunes.demo import DEMO_TUNES, demo_tune
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note, Tune

SUNG = "T30* - I20* - T32* - T30* -"
HELD = "T30* - - - - - - -"


@pytest.fixture(scope="module")
def demo():
    return {(name, tier): solo for name in DEMO_TUNES for tier, solo in arrange_all(demo_tune(name)).items()}


def rows(measure):
    return [(pluck.at, f"{pluck.finger}{pluck.string}{pluck.fret}") for pluck in measure.plucks]


@pytest.mark.parametrize(("style", "turns", "kick_off"), [("vamp", 2, "beats"), ("rolls", 1, "notes")])
@pytest.mark.parametrize("tier", TIERS)
@pytest.mark.parametrize("name", DEMO_TUNES)
def test_a_run_is_a_solo_like_any_and_breaks_no_rule(demo, name, tier, style, turns, kick_off):
    solo = demo[name, tier]
    run = jam_run(solo, turns, kick_off=kick_off, style=style)

    assert broken_rules(run) == ()
    assert from_json(to_json(run), "run.json") == run
    assert [measure.number for measure in run.measures] == list(
        range(run.measures[0].number, run.measures[0].number + len(run.measures))
    )
    assert run.tune == solo.tune
    assert run.title == f"{solo.title} (jam)"


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_both_breaks_are_the_solo_and_the_back_up_its_own(demo, name):
    solo = demo[name, "beginner"]
    body = [measure for measure in solo.measures if measure.number > 0]
    run = jam_run(solo, 2)
    length = len(body)
    played = [measure for measure in run.measures if measure.number > 0]
    first, others, again = played[:length], played[length : 3 * length], played[3 * length : 4 * length]

    assert [rows(measure) for measure in first] == [rows(measure) for measure in body]
    assert [rows(measure) for measure in again] == [rows(measure) for measure in body]
    assert [measure.melody == () for measure in others[:-1]] == [True] * (2 * length - 1)
    assert {pluck.role for measure in others[:-1] for pluck in measure.plucks} == {"pinch"}
    assert len(played) == 4 * length + 2
    assert {measure.tier for measure in run.measures} == {"beginner"}
    assert run.tier == "beginner"


def test_back_up_with_more_pinches_than_a_beginner_has_is_of_the_next_tier(solo):
    run = jam_run(solo(" ".join(["T30*"] + ["-"] * 8), meter=(9, 8), tier="beginner"))

    assert [measure.tier for measure in run.measures[1:4]] == ["beginner", "intermediate", "beginner"]
    assert run.tier == "mixed"


def test_the_second_break_names_what_it_repeats(solo):
    run = jam_run(solo(SUNG, HELD))

    assert [(m.number, m.source_measure, m.same_as) for m in run.measures] == [
        (0, 0, None),
        (1, 1, None),
        (2, 2, None),
        (3, 1, None),
        (4, 2, None),
        (5, 1, 1),
        (6, 2, 2),
        (7, 3, None),
        (8, 4, None),
    ]
    assert run.tier == "intermediate"
    assert run.remarks[-1] == (
        "The intermediate solo is in 1-2 and 5-6, back-up (an off-beat vamp) in 3-4, the ending in 7-8."
    )


def test_a_pickup_is_played_at_the_end_of_the_last_turn_and_belongs_to_others_before(solo):
    whole = solo("I20* -", SUNG, "T30* - I20* - T30* -", first=0, chords=("D", "G", "C"))
    run = jam_run(whole, 2)
    by_number = {measure.number: measure for measure in run.measures}

    assert [measure.length for measure in run.measures[1:]] == [4] * 10
    assert rows(by_number[2]) == [(0, "T30"), (1, "I20"), (2, "T30")]  # the rest of it is the next one's
    assert rows(by_number[4])[-1][0] < 4 - Fraction(1, 2)
    assert rows(by_number[6])[-1] == (3, "I20")
    (note,) = by_number[6].melody
    assert (note.at, note.pluck) == (3, by_number[6].plucks[-1].id)
    assert [(change.at, change.chord.symbol) for change in by_number[6].chords] == [(0, "C"), (3, "D")]
    assert broken_rules(run) == ()


def test_a_chord_that_rings_from_the_pickup_on_is_backed_up(solo):
    pickup, head, tail = solo("I20* -", SUNG, "T30* - I20* - T30* -", first=0, chords=("C", "G")).measures
    whole = replace(solo(SUNG), measures=(pickup, replace(head, chords=()), tail))
    run = jam_run(whole)

    assert [change.chord.symbol for change in run.measures[3].chords] == ["C"]
    assert run.measures[3].plucks


@pytest.mark.parametrize("style", ["vamp", "rolls"])
def test_the_back_up_leaves_out_what_the_break_leaves_no_finger_for(solo, style):
    # The break ends with the thumb in its last slot, where the roll's thumb would come next; the vamp waits a beat.
    whole = solo(HELD, "T30* - I20* - M10* - - T40*")
    begun = jam_run(whole, style=style).measures[3]

    assert begun.plucks[0].at == {"rolls": Fraction(1, 2), "vamp": 1}[style]


def test_the_back_up_leaves_room_for_the_first_note_of_the_break(solo):
    whole = solo("M10* - I20* - T30* - - -", HELD)
    others = jam_run(whole, style="rolls").measures[4]

    # T I M T M I T M: the last would take the finger and the string of the break's first note.
    assert (others.plucks[-1].at, others.plucks[-1].finger) == (3, "T")


def test_without_chords_there_is_no_jam(solo):
    whole = solo(SUNG, HELD)

    with pytest.raises(ArrangeError, match="there are no chords to back up"):
        jam_run(replace(whole, measures=tuple(replace(measure, chords=()) for measure in whole.measures)))


@pytest.mark.parametrize("turns", [0, 9])
def test_others_take_one_to_eight_turns(solo, turns):
    with pytest.raises(InputError, match=f"{turns} turns of others make no jam; choose 1 to 8"):
        jam_run(solo(SUNG), turns)


@st.composite
def tunes(draw):
    """Small tunes with no rest at any barline, with pickups and repeats."""
    meter = draw(st.sampled_from([Meter(4, 4), Meter(2, 2), Meter(3, 4), Meter(2, 4), Meter(6, 8)]))
    pickup = draw(st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(1)]))
    last = draw(st.integers(1, 4))
    measures = []
    for number in range(0 if pickup else 1, last + 1):
        length = pickup if number == 0 else meter.length - (pickup if number == last else 0)
        at, notes = Fraction(0), []
        while at < length:
            lasting = min(draw(st.sampled_from([Fraction(1, 2), Fraction(1, 2), Fraction(1)])), length - at)
            notes.append(Note(at, lasting, draw(st.integers(55, 69)), phrase_start=not notes))
            at += lasting
        chord = draw(st.sampled_from(["G", "C", "D7", "Em"]))
        repeat = 2 if number and draw(st.integers(0, 3)) == 0 else 1
        measures.append(
            Measure(
                number, meter, length, tuple(notes), (ChordChange(Fraction(0), read_chord(chord)),), repeat_end=repeat
            )
        )
    return Tune("Random", "", Key("G"), tuple(measures))


@settings(max_examples=10)
@given(tunes(), st.sampled_from(TIERS), st.integers(1, 3), st.sampled_from(["vamp", "rolls"]))
def test_runs_of_small_tunes_break_no_rule(tune, tier, turns, style):
    work = Work(tune)
    numbers = [played.number for played in work.frame.played if played.same_as is None]
    following = TIERS[min(TIERS.index(tier) + 1, 2)]
    for solo in (work.solo(tier), mix(work, tier, {numbers[-1]: following}).arrangement):
        run = jam_run(solo, turns, style=style)

        assert broken_rules(run) == ()
        assert all(measure.length == measure.meter.length for measure in run.measures if measure.number > 0)


@settings(max_examples=15)
@given(
    st.sampled_from(sorted(DEMO_TUNES)),
    st.dictionaries(st.integers(0, 40), st.sampled_from(["T", "I", "M"]), min_size=1, max_size=6),
    st.sampled_from(["vamp", "rolls"]),
)
def test_a_run_of_a_solo_with_faults_has_those_twice_and_no_others(demo, name, fingers, style):
    clean = demo[name, "intermediate"]
    picked = [pluck.id for measure, pluck in clean.plucks() if pluck.finger and measure.number > 0]
    wrong = {picked[place]: finger for place, finger in fingers.items()}
    solo = replace(
        clean,
        measures=tuple(
            replace(
                measure,
                plucks=tuple(
                    replace(pluck, finger=wrong[pluck.id]) if pluck.id in wrong else pluck for pluck in measure.plucks
                ),
                same_as=None,
            )
            for measure in clean.measures
        ),
    )
    length = sum(measure.number > 0 for measure in solo.measures)
    faults = Counter((broken.rule, broken.measure) for broken in broken_rules(solo))
    again = Counter({(rule, number + 2 * length): count for (rule, number), count in faults.items()})

    found = Counter((broken.rule, broken.measure) for broken in broken_rules(jam_run(solo, style=style)))

    assert found - faults - again == Counter()
