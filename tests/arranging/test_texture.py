"""Shares counted by hand on small solos."""

from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.texture import Share, finger_row, texture

ROLL = "T30* I20 T50d M10 T40 I20 T50d M10"
HALF = Fraction(1, 2)


@pytest.mark.parametrize(
    ("row", "filled", "rolled"),
    [
        (ROLL, 1, 1),
        ("T30* - T50d M10 T40 I20 T50d M10", 0, 0),  # T T: no roll
        ("T30* - I20 M10 T50d I20 M10 T50d", 0, 1),  # one held note, forward
        ("T30* - I20 M10 T50d - I20 M10", 0, 0),  # two held notes
        ("T30* I20 T50d M10 I20 T50d I20 M10", 1, 0),
        ("T40* h42* I20 M10 T50d I20 M10 T50d", 1, 1),  # a slurred note fills its slot
        ("T30*&M10+ I20 T50d M10 T40 I20 T50d M10", 1, 0),
        ("T30*,h32 I20 T50d M10 T40 I20 T50d M10", 1, 1),
    ],
)
def test_full_measures_are_filled_and_rolled(solo, row, filled, rolled):
    found = texture(solo(row))

    assert found.filled == Share(filled, 1)
    assert found.rolled == Share(rolled, 1)
    assert found.filled_rolls == Share(filled * rolled, 1)


def test_short_measures_are_not_asked_to_be_full(solo):
    assert texture(solo("T30* -", ROLL, first=0)).filled == Share(1, 1)


def test_waltzes_count_their_six_slots(solo):
    assert texture(solo("T30* I20 M10 T50d I20 M10", meter=(3, 4))).filled_rolls == Share(1, 1)


def test_fills_are_measured_against_the_chord_that_sounds(solo):
    # Over C the open strings 2 and 1 (B, D) are foreign, the open third (G) and the drone are not.
    found = texture(solo("T42* I20 T50d M10 T30 I20 T50d M10", chords=("C",)))

    assert found.chordal_fills == Share(3, 7)


def test_a_capo_does_not_make_fills_foreign(solo):
    assert texture(solo(ROLL, capo=2)).chordal_fills == Share(7, 7)


def test_the_open_fifth_string_is_counted_among_all_plucks(solo):
    assert texture(solo(ROLL)).drone == Share(2, 8)


@pytest.mark.parametrize(("left_out", "thinned"), [([], Share(0, 1)), ([(1, 3, 1, 59)], Share(1, 1))])
def test_measures_with_four_even_notes(solo, left_out, thinned):
    row = "T30* I20 T30* M10 T30* I20 " + ("T50d M10" if left_out else "T30* M10")

    assert texture(solo(row, extra=left_out)).thinned_even == thinned


def test_three_of_four_notes_are_enough_in_a_measure(solo):
    kept = "T30* I20 T30* M10 T30* I20 T50d M10"

    assert texture(solo(kept, extra=[(1, 3, 1, 59)])).kept_measures == Share(1, 1)
    assert texture(solo("T30* I20 T30* M10 T50d I20 T50d M10", extra=[(1, 3, 1, 59)])).kept_measures == Share(0, 1)
    assert texture(solo(kept, extra=[(1, 3, 1, 59)])).kept == Share(3, 4)


def test_a_repeat_may_be_missing(solo):
    found = texture(solo("T30* - - - - - - -", extra=[(1, 1, 1, 55), (1, 2, 1, 57)]))

    assert found.kept == Share(1, 3)
    assert found.kept_but_repeats == Share(1, 2)


def test_the_same_pitch_in_the_next_measure_is_no_repeat(solo):
    assert texture(solo("T30* -", "T30* -")).kept_but_repeats == Share(2, 2)


def test_downbeats_and_phrase_starts(solo):
    found = texture(solo("T30* -", "T50 - T30* - - - - -", first=0, extra=[(1, 0, 1, 57)]))

    assert found.downbeats == Share(0, 1)
    assert found.phrase_starts == Share(0, 0)


def test_embellished_measures_have_a_slur_or_a_lick(solo):
    found = texture(solo(ROLL, "T42* s45 I20 M10 T50d I20 M10 T50d", "T30* - I20l T50l M10l T40l I20l T50l"))

    assert found.embellished == Share(2, 3)


def test_gaps_of_two_beats_may_hold_a_lick(solo):
    found = texture(solo("T30* - T30* - T30* - - -", "T30* - I20l M10l T50l I20l M10l T50l"))

    assert found.licked_gaps == Share(1, 2)


def test_stretched_measures_span_more_than_four_frets(solo):
    assert texture(solo("T45* I20 T50d M10 T40 I21 T50d M10", ROLL)).stretched == Share(1, 2)


def test_of_two_neighbouring_measures_one_has_an_embellishment(solo):
    plain = ROLL
    slurred = "T42* s45 I20 M10 T50d I20 M10 T50d"

    assert texture(solo(plain, slurred, plain, plain)).embellished_pairs == Share(2, 3)


def test_more_than_three_embellishments_crowd_a_measure(solo):
    three = "T40,h42 I20 T32,h33 M10 T40,h42 I20 T50d M10"
    four = "T40,h42 I20 T32,h33 M10 T40,h42 I20 T32,h33 M10"

    assert texture(solo(three, four)).crowded_embellishments == Share(1, 2)


def test_long_accented_and_repeated_notes_are_bent(solo):
    # Both are off the beat; the first is short, the second long.
    assert texture(solo("T40 h42* I30 M10 T30 h32* - -")).bent == Share(1, 2)
    # On the beat, and a repeat of the pitch before.
    assert texture(solo("T30* T40 h42* I30 T40 h42* M10 I20")).bent == Share(2, 2)
    assert texture(solo("T42,s45 I20 M10 T32*")).bent == Share(0, 0)


def test_a_lick_said_again_is_counted_but_not_in_a_copy(solo):
    lick, other = "T30* - T32l,s34l I20l M10l - - -", "T30* - T40l,h42l I30l M10l - - -"

    assert texture(solo(lick, lick, other, lick)).repeated_licks == Share(1, 4)
    copied = solo(lick, lick)
    again = replace(copied.measures[1], same_as=1)
    assert texture(replace(copied, measures=(copied.measures[0], again))).repeated_licks == Share(0, 1)


def test_melody_at_another_place_and_slides_to_the_pitch_of_an_open_string(solo):
    found = texture(solo("T45* - T30* - T32*,s34 - I20* -", "T32,s33 - I20 - T40,h42 - - -"))

    assert found.other_places == Share(1, 4)
    assert found.ringing_slides == Share(1, 3)


def test_rolled_measures_are_told_by_their_roll(solo):
    found = texture(solo(ROLL, "M10 I20 T50d M10 I20 T50d M10 I20", "T30* I20 M10 T50d M10 I20 T30 M10"))

    assert (found.backward, found.forward_reverse) == (Share(1, 3), Share(1, 3))
    assert found.alternating.part + found.forward.part == 1


def test_a_finger_row_shows_held_slots_and_pinches(solo):
    (measure,) = solo("T30*&M10+ - T30* I20 T50d - - h22").measures

    assert finger_row(measure, HALF) == "+-TIT---"


def test_shares_add_up():
    assert Share(1, 2).plus(Share(2, 2)) == Share(3, 4)
    assert Share(3, 4).value == pytest.approx(0.75)
    assert Share(0, 0).value == 1
