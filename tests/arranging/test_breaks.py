"""Whole breaks: kick-off, part, ending; common practice, no source."""

from dataclasses import replace
from itertools import pairwise

import pytest

from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import TIERS
from coach.arranging.breaks import whole_break
from coach.arranging.files import digest, from_json, to_json
from coach.arranging.rules import broken_rules
from coach.tunes.demo import demo_tune

NAMES = ("lamps-on-the-water", "turn-the-barrow")
HELD = "T30* - - - - - - -"
SUNG = "T30* - I20* - T32* - T30* -"


@pytest.fixture(scope="module")
def demo_solos():
    """All tiers of two demo tunes: in 2/2 (doubled) with a capo, and in 3/4 with a pickup."""
    return {(name, tier): solo for name in NAMES for tier, solo in arrange_all(demo_tune(name)).items()}


def rows(measure):
    return [f"{pluck.finger}{pluck.string}{pluck.fret}" for pluck in measure.plucks]


@pytest.mark.parametrize("tier", TIERS)
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    ("kick_off", "span"), [("notes", (None, None)), ("beats", (None, None)), ("notes", (5, 12)), (None, (3, 3))]
)
def test_a_whole_break_holds_every_rule_and_is_a_solo_like_any(demo_solos, name, tier, kick_off, span):
    solo = demo_solos[name, tier]
    made = whole_break(solo, kick_off=kick_off, first=span[0], last=span[1], ending=True)

    assert broken_rules(made) == ()
    assert from_json(to_json(made), "break.json") == made
    assert digest(made) != digest(solo)
    assert all(b.number == a.number + 1 for a, b in pairwise(made.measures))


def test_three_notes_lead_into_the_first_as_a_pickup(solo):
    made = whole_break(solo(SUNG, HELD), kick_off="notes")
    kick, first = made.measures[:2]

    assert (kick.number, kick.length, kick.source_measure, kick.melody) == (0, 3, 0, ())
    assert rows(kick) == ["T40", "T42", "T44"]
    assert [change.chord.symbol for change in kick.chords] == ["G"]
    assert {pluck.role for pluck in kick.plucks} == {"melody"}
    assert first.number == 1
    assert made.remarks[-1] == "Kicked off by 3 lead-in notes."


def test_lead_in_notes_join_the_pickup_that_is_there(solo):
    made = whole_break(solo("T30* -", SUNG, HELD, first=0), kick_off="notes")
    kick = made.measures[0]

    assert (kick.number, kick.length) == (0, 3)
    assert [(str(p.at), p.string, p.fret) for p in kick.plucks] == [("0", 4, 2), ("1", 4, 4), ("2", 3, 0)]
    assert [(note.at, note.pluck) for note in kick.melody] == [(2, "m0e3")]
    assert broken_rules(made) == ()


def test_a_pickup_of_three_quarters_is_kick_off_enough(solo):
    whole = solo("T30* - I20* - T32* -", SUNG, first=0)
    made = whole_break(whole, kick_off="notes")

    assert made.measures == whole.measures
    assert made.remarks == ("The tune begins with notes enough of its own: nothing leads into it.",)


@pytest.mark.parametrize(
    ("meter", "slots", "length"),
    [((3, 4), 6, 2), ((2, 4), 4, 1.5), ((6, 8), 6, 1.5), ((2, 2), 8, 3), ((9, 8), 9, 1.5)],
)
@pytest.mark.parametrize("tier", TIERS)
def test_a_kick_off_fits_its_metre(solo, meter, slots, length, tier):
    whole = solo(" ".join(["T30*"] + ["-"] * (slots - 1)), meter=meter, tier=tier)
    made = whole_break(whole, kick_off="notes", ending=True)

    assert made.measures[0].length == length
    assert broken_rules(made) == ()
    assert [measure.number for measure in made.measures] == [0, 1, 2, 3]


def test_beats_are_a_full_measure_and_the_others_count_on(solo):
    whole = solo(SUNG, HELD, SUNG)
    repeated = replace(whole, measures=(*whole.measures[:2], replace(whole.measures[2], same_as=1)))
    made = whole_break(repeated, kick_off="beats")

    assert [(m.number, m.same_as, m.source_measure) for m in made.measures] == [
        (1, None, 0),
        (2, None, 1),
        (3, None, 2),
        (4, 2, 3),
    ]
    assert rows(made.measures[0]) == ["T30", "T30", "M10", "T30", "T30", "M10"]
    assert [note.pluck for note in made.measures[1].melody] == ["m2e1", "m2e2", "m2e3", "m2e4"]


def test_a_pickup_that_leaves_no_room_for_beats_begins_alone(solo):
    tune = solo("- I20* - - -", "T30* - - - - -", meter=(6, 8), first=0)
    made = whole_break(tune, kick_off="beats")

    assert made.measures == tune.measures
    assert made.remarks == ("The pickup leaves no room for beats before it.",)


def test_pinches_of_the_pickup_count_among_those_of_the_measure_of_beats(solo):
    tune = solo("T40+&M10+ - T40+&M10+ -", "T30* - - - - - - -", tier="beginner", first=0)
    made = whole_break(tune, kick_off="beats")

    assert broken_rules(made) == ()
    assert [pluck.at for pluck in made.measures[0].plucks if pluck.role == "pinch"] == [2, 2, 3, 3]


def test_beats_end_with_the_pickup_that_is_there(solo):
    made = whole_break(solo("I20* -", SUNG, HELD, first=0), kick_off="beats")
    kick = made.measures[0]

    assert (kick.number, kick.length) == (1, 4)
    assert [str(pluck.at) for pluck in kick.plucks] == ["0", "1", "1", "2", "3"]
    assert [(note.at, note.pluck) for note in kick.melody] == [(3, "m1e5")]


def test_the_ending_is_two_measures_on_the_home_chord(solo):
    made = whole_break(solo(SUNG, HELD), ending=True)

    assert [(m.number, m.source_measure) for m in made.measures] == [(1, 1), (2, 2), (3, 3), (4, 4)]
    for measure in made.measures[2:]:
        assert [change.chord.symbol for change in measure.chords] == ["G"]
        assert measure.melody == ()
        assert measure.length == 4
    assert made.remarks[-1] == "With an ending of two measures."


def test_the_home_chord_of_a_minor_key_is_minor(solo):
    made = whole_break(solo(HELD, key="E minor"), ending=True)

    assert made.measures[-1].chords[0].chord.symbol == "Em"
    assert broken_rules(made) == ()


def test_behind_a_short_last_measure_the_ending_comes_in_time(solo):
    made = whole_break(solo("T30* -", SUNG, "T30* - I20* - T30* -", first=0), ending=True)

    assert [m.length for m in made.measures] == [1, 4, 4, 4, 4]


def test_a_fill_before_the_ending_gives_way_where_no_ending_could_follow_it(solo):
    # The thumb plays string 3 in the last slot: no ending can begin with it.
    made = whole_break(solo("T40* I20 M10 T50 I20 M10 I20 T30"), ending=True)

    assert broken_rules(made) == ()
    assert len(made.measures[0].plucks) == 7
    assert made.measures[0].plucks[-1].length == 1


def test_an_ending_comes_behind_a_rest_where_melody_fills_the_last_slot(solo):
    made = whole_break(solo("T40* I20 M10 T50 I20 M10 I20 T30*"), ending=True)

    assert broken_rules(made) == ()
    assert len(made.measures[0].plucks) == 8
    assert min(pluck.at for pluck in made.measures[1].plucks) > 0


def test_what_was_broken_before_stays_and_nothing_new_is(solo):
    taught = solo("T30* - T30 T30 - - - -", HELD)  # a thumb twice in a row, as a teacher wrote it
    own = {(each.rule, each.measure) for each in broken_rules(taught)}
    made = whole_break(taught, kick_off="notes", ending=True)

    assert own
    assert {(each.rule, each.measure) for each in broken_rules(made)} == own


def test_no_measure_is_said_to_repeat_one_that_was_changed_at_the_seam(solo):
    # Measure 3 repeats measure 2, which begins with a slur; in a break that starts there its first note is picked.
    slurred = "h32* - - - I20* - - T30"
    whole = solo("I20* - - - - - - T30", slurred, slurred)
    repeated = replace(whole, measures=(*whole.measures[:2], replace(whole.measures[2], same_as=2)))
    made = whole_break(repeated, first=2, last=3)

    assert broken_rules(repeated) == broken_rules(made) == ()
    assert [measure.same_as for measure in made.measures] == [None, None]


@pytest.mark.parametrize(
    ("meter", "slots", "pickup"), [((2, 4), 4, 2), ((6, 8), 6, 1), ((3, 4), 6, 3), ((4, 4), 8, 5), ((4, 4), 8, 1)]
)
def test_beats_before_a_pickup_keep_the_beginners_rules(solo, meter, slots, pickup):
    rest = " ".join(["T30*"] + ["-"] * (slots - 1))
    made = whole_break(
        solo("I20*" + " -" * (pickup - 1), rest, meter=meter, tier="beginner", first=0), kick_off="beats"
    )

    assert broken_rules(made) == ()
    assert made.measures[0].length == made.measures[1].length


def test_the_left_hand_of_what_is_added_is_told_where_it_is_not_obvious(solo):
    made = whole_break(solo(HELD, key="C major", chords=("C",)), ending=True, kick_off="beats")

    assert any(pluck.left for pluck in made.measures[0].plucks)
    assert any(pluck.left for pluck in made.measures[-1].plucks)


def test_the_same_wishes_give_the_same_bytes(solo):
    whole = solo(SUNG, HELD)

    assert to_json(whole_break(whole, kick_off="notes", ending=True)) == to_json(
        whole_break(whole, kick_off="notes", ending=True)
    )
