"""What may be plucked in a slot: fingers, places and their prices."""

import pytest

from coach.arranging.neck import OFF_BEAT, Neck, find_neck, reach_of
from coach.arranging.picks import STATES
from coach.instrument.fretboard import pitch_at
from coach.instrument.hands import may_pick
from coach.instrument.tuning import OPEN_G, TUNINGS

FIRST = reach_of(1)
G, C, D7, E7, B7 = ({7, 11, 2}, {0, 4, 7}, {2, 6, 9, 0}, {4, 8, 11, 2}, {11, 3, 6, 9})


@pytest.fixture
def neck():
    return find_neck(OPEN_G, 0)


def places(options):
    return {(STATES[o.state][0][0], STATES[o.state][0][1], o.fret) for o in options}


def fills(neck, tones, **more):
    return neck.fills(frozenset(tones), FIRST, **{"beat": OFF_BEAT, "rings": None, "near": None} | more)


@pytest.mark.parametrize("tuning", TUNINGS.values())
@pytest.mark.parametrize("hand", [1, 2, 5])
def test_a_melody_note_sounds_its_pitch_by_a_finger_that_plays_the_string(tuning, hand):
    for pitch in range(min(tuning.strings), 76):
        for option in find_neck(tuning, 0).melody(pitch, reach_of(hand)):
            ((finger, string),) = STATES[option.state]
            assert pitch_at(tuning, string, option.fret) == pitch
            assert may_pick("TIM"[finger], string)
            assert option.fret == 0 or hand <= option.fret <= hand + 3


def test_the_same_pitch_in_two_places_keeps_a_roll_going(neck):
    # From trade: string 3 fret 4 = string 2 open.
    assert {(string, fret) for _, string, fret in places(neck.melody(59, FIRST))} == {(2, 0), (3, 4)}


def test_the_thumb_on_the_low_strings_is_the_cheapest_melody(neck):
    for pitch in (50, 52, 55, 57):
        cheapest = min(neck.melody(pitch, FIRST), key=lambda option: option.price)
        assert STATES[cheapest.state][0][0] == 0


def test_fills_are_chord_tones_or_the_drone_or_dear(neck):
    for tones in (G, C, D7):
        for option in fills(neck, tones):
            ((_, string),) = STATES[option.state]
            pitch = pitch_at(OPEN_G, string, option.fret)
            assert string == 5 or pitch % 12 in tones or option.price >= 14


@pytest.mark.parametrize(("tones", "rings"), [(G, True), (C, True), (D7, True), (E7, False), (B7, False)])
def test_the_drone_is_left_out_over_e_and_b_sevenths(neck, tones, rings):
    assert neck.drone_suits(frozenset(tones)) == rings
    assert any(STATES[option.state][0][1] == 5 for option in fills(neck, tones)) == rings


def test_a_fill_does_not_tell_the_next_melody_note(neck):
    plain = {option.state: option.price for option in fills(neck, G)}
    told = {option.state: option.price for option in fills(neck, G, near=62)}

    assert [state for state in plain if told[state] > plain[state]] == [13]  # M on string 1 open


def test_a_lean_makes_the_drone_dearer_and_nothing_else():
    even, lean = fills(Neck(OPEN_G, 0), G), fills(Neck(OPEN_G, 0, 3), G)

    assert [after.price - before.price for before, after in zip(even, lean, strict=True)] == [
        3 if option.state == 5 else 0 for option in even
    ]


def test_a_slur_ends_on_the_melody_pitch(neck):
    for pitch in neck.slurred_pitches:
        for option in neck.slurred(pitch, FIRST):
            ((_, string),) = STATES[option.state]
            assert pitch_at(OPEN_G, string, option.to_fret) == pitch
            assert option.to_fret != option.fret
            assert (
                option.technique == "slide"
                or 0 in {option.fret, option.to_fret}
                or abs(option.to_fret - option.fret) <= 2
            )


def test_two_notes_on_the_only_string_that_has_them_may_run_together(neck):
    assert neck.run_together(50, 52, (FIRST, FIRST))  # D and E: string 4 only
    assert not neck.run_together(59, 60, (FIRST, FIRST))  # B and C: strings 2 and 3


def test_pinches_are_of_thumb_and_middle(neck):
    layer = neck.pinch_layer(0, frozenset(G), FIRST)

    assert all(len(STATES[option.state]) == 2 for option in layer.fingers[0])
    assert STATES[min(layer.fingers[0], key=lambda option: option.price).state] == ((0, 5), (2, 1))
