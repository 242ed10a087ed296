"""The ways of a measure in rolls: where the left hand may move, and what may run on one string."""

from fractions import Fraction

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.grid import GridMeasure, GridNote
from coach.arranging.neck import find_neck
from coach.arranging.picks import STATES
from coach.arranging.rolled import RolledWays, is_short, still
from coach.arranging.rules import broken_rules
from coach.arranging.sketches import Terms
from coach.arranging.tiers import TierWays
from coach.arranging.ways import Way
from coach.instrument.hands import FINGERS, may_pick
from coach.instrument.tuning import OPEN_G
from coach.tunes.chords import read_chord
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note, Tune

NECK = find_neck(OPEN_G, 0)
BARE = Terms(shifts=0, any_fingers=True, bare=True)
G = frozenset({7, 11, 2})


def grid_measure(*notes, size=8, fine=1, since=2):
    """A measure of notes (slot, pitch), each ringing to the next."""
    slots = [slot for slot, _ in notes] + [size]
    found = tuple(
        GridNote(slot, slots[k + 1] - slot, pitch, k, True, slot % 4 == 0, False, False, False, 0, spare=False)
        for k, (slot, pitch) in enumerate(notes)
    )
    rest = (None, 0, since, 0, 55, False, False)
    return GridMeasure(size, 2, 4, fine, 1, 3, True, False, found, (), 0, False, (G,) * size, (7,) * size, *rest)


def tune(*rows):
    """A tune in 4/4, each row a measure as long as its quarters: chord, pitches, with ``!`` where a phrase begins."""
    measures = []
    for number, row in enumerate(rows, start=1):
        symbol, *words = row.split()
        notes = [
            Note(Fraction(at), Fraction(1), int(w.strip("!")), phrase_start="!" in w) for at, w in enumerate(words)
        ]
        chords = (ChordChange(Fraction(0), read_chord(symbol)),)
        measures.append(Measure(number, Meter(4, 4), Fraction(len(words)), tuple(notes), chords))
    return Tune("A Tune", "", Key("G"), tuple(measures))


def ways_of(measure, terms, hand=1, most=40):
    found = []
    for way in RolledWays(measure, NECK, still([hand]), terms):
        if isinstance(way, int):
            if way > most:
                break
        else:
            found.append(way)
    return found


TUNES = {
    # A measure of two slots between an open roll and fret 7.
    "a short measure": ("G 55! 55 60 57", "G 60 57 57 55", "G 67!", "G 69 69 69 76", "G 69 69 72 74", "G 55! 57 59 55"),
    # Measures 6 and 7 are played again, and what follows them lies elsewhere.
    "a copy": (
        "G 55! 57 59 57",
        "C 67 60 64 64",
        "G 59 59 59 62",
        "C 60 69 67 69",
        "G 62 62 66 66",
        "C 67 60 64 64",
        "G 59 59 59 62",
        "C 60 64 60 55!",
        "D 57 59 60 59",
    ),
    # No position of the hand has fret 1 and fret 14.
    "a leap": ("G 60! 62 64 62", "C 60 60 60 76!", "G 74 77 74 71", "G 71 71 67 67", "C 60! 62 64 62"),
}


@pytest.mark.parametrize("name", TUNES)
@pytest.mark.parametrize("tier", ["intermediate", "advanced"])
def test_where_the_hand_has_to_leap_no_rule_is_broken(name, tier):
    solo = arrange(tune(*TUNES[name]), tier)

    assert broken_rules(solo) == ()
    assert sum(note.kept for measure in solo.measures for note in measure.melody) >= 0.75 * sum(
        len(measure.melody) for measure in solo.measures
    )


@pytest.mark.parametrize(("size", "short"), [(1, True), (2, True), (3, False)])
def test_a_measure_is_short_when_a_roll_of_four_slots_reaches_over_it(size, short):
    assert is_short(grid_measure((0, 67), size=size)) is short


def moves(measures, index):
    """Whether the hand may move in a measure."""
    ways = TierWays("intermediate", measures, NECK).of(index, 0).ways
    return any(way.enters != way.hand for way in ways if isinstance(way, Way))


def test_the_hand_lies_still_in_a_short_measure_but_at_the_ends_of_a_tune():
    low, high = grid_measure((0, 55), (4, 57)), grid_measure((0, 69), (4, 71))
    short, longer = grid_measure((0, 67), size=2), grid_measure((0, 67), size=3)

    assert not moves([low, short, high], 1)
    assert moves([low, longer, high], 1)
    assert moves([short, high, low], 0)
    assert moves([low, high, short], 2)


def test_the_hand_reaches_over_a_short_measure_to_what_is_behind_it():
    low, high = grid_measure((0, 55), (4, 57)), grid_measure((0, 69), (4, 71))
    short = grid_measure((0, 67), size=2)
    ways = TierWays("intermediate", [low, short, high], NECK)
    (beyond,) = ways.of(2, 0).hands

    assert beyond > 1
    assert ways.of(0, 0).hands == ways.of(1, 0).hands == {1, beyond}


def test_a_measure_that_is_played_again_may_leave_the_hand_where_it_did_before():
    low, high, other = grid_measure((0, 55), (4, 57)), grid_measure((0, 69), (4, 71)), grid_measure((0, 59), (4, 57))
    ways = TierWays("intermediate", [low, high, low, other], NECK)
    enters = {way.enters for way in ways.of(3, 0).ways if isinstance(way, Way)}

    assert enters == {1} | ways.of(1, 0).hands - {1}


def test_in_need_the_whole_hand_lies_where_it_does_beside_a_measure():
    # A at fret 2 of string 3 or fret 7 of string 4, and B flat on the same strings right behind it.
    pickup, high = grid_measure((0, 57), size=1), grid_measure((0, 58), (4, 65), (6, 70))
    ways = TierWays("intermediate", [pickup, high], NECK)
    (beyond,) = ways.of(1, 0).hands - {1}

    def lies(concessions):
        return {way.enters for way in ways.of(0, concessions).ways if isinstance(way, Way)}

    assert lies(0) == {1}
    assert beyond in lies(4)


@pytest.mark.parametrize(("slots", "far"), [((0, 4), True), ((0, 7), False), ((3, 4), False), ((0, 1), False)])
def test_between_held_slots_a_bare_note_lies_anywhere(slots, far):
    # Fret 1 of string 2, and a pitch that lies at fret 14 of string 1.
    measure = grid_measure((slots[0], 60), (slots[1], 76))

    assert bool(ways_of(measure, BARE, most=200)) is far


def test_where_the_next_grid_is_coarser_a_held_slot_before_the_barline_is_too_short_to_move_in():
    assert ways_of(grid_measure((0, 60), (6, 76)), BARE, most=200)
    assert not ways_of(grid_measure((0, 60), (6, 76), fine=2), BARE, most=200)


def at_home(layer):
    return all(
        may_pick(FINGERS[finger], string)
        for options in layer.fingers
        for option in options
        for finger, string in STATES[option.state]
    )


def test_no_run_on_one_string_leads_on_from_a_slur():
    # A, G sharp and A at frets 7 and 6 of string 1: a run, but not behind a slide, which is picked at another pitch.
    measure = grid_measure((0, 69), (1, 68), (4, 59))
    terms = Terms(shifts=0, adorned=True, any_fingers=True, slurred=NECK.slurred_pitches)
    found = ways_of(measure._replace(notes=tuple(n._replace(rings=2) for n in measure.notes)), terms, hand=4)
    slid = [way for way in found if any(option.technique for options in way.layers[0].fingers for option in options)]
    picked = [way for way in found if way not in slid]

    assert slid
    assert not any(way.layers[1].together for way in slid)
    assert all(at_home(way.layers[1]) for way in slid)
    assert any(way.layers[1].together for way in picked)
