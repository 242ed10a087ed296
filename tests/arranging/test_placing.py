"""Melody notes find their slots, and what may be left out is marked as the trade has it."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.placing import anticipates, fades, is_beat, is_strong, phrase_marks, place, spare, strong_ones
from coach.tunes.tune import Measure, Meter, Note

HALF = Fraction(1, 2)
COMMON = Meter(4, 4)


def measure(*notes, meter=COMMON, number=1, length=None):
    """A measure of (at, length, pitch) notes."""
    found = tuple(Note(Fraction(at), Fraction(long), pitch) for at, long, pitch in notes)
    return Measure(number, meter, Fraction(length or meter.length), found)


def quarters(*pitches, number=1):
    return measure(*((k, 1, pitch) for k, pitch in enumerate(pitches)), number=number)


def test_a_note_between_two_slots_takes_the_nearer_free_one():
    dotted = measure((0, "3/4", 60), ("3/4", "1/4", 62), (1, 1, 64))

    assert [(each.slot, each.exact) for each in place(0, dotted, HALF, 8)] == [(0, True), (1, False), (2, True)]


def test_a_note_without_a_free_slot_gets_none():
    crowded = measure((0, "1/2", 60), ("1/4", "1/4", 61), ("1/2", "1/2", 62))

    assert [each.note.pitch for each in place(0, crowded, HALF, 8)] == [60, 62]


def test_placed_notes_keep_their_order():
    triplet = measure((0, "1/3", 60), ("1/3", "1/3", 62), ("2/3", "1/3", 64), (1, 1, 65))
    pitches = [each.note.pitch for each in place(0, triplet, HALF, 8)]

    assert pitches == sorted(pitches)
    assert pitches[0] == 60
    assert pitches[-1] == 65


def test_strong_beats_are_the_first_and_the_middle_one():
    four, three, jig = measure(), measure(meter=Meter(3, 4)), measure(meter=Meter(6, 8))

    assert [at for at in range(4) if is_strong(Fraction(at), four)] == [0, 2]
    assert [at for at in range(3) if is_strong(Fraction(at), three)] == [0]
    assert [k for k in range(6) if is_strong(k * HALF, jig)] == [0, 3]


def test_a_pickup_is_counted_from_its_end():
    pickup = measure((0, 1, 60), number=0, length=1)

    assert not is_strong(Fraction(0), pickup)


def test_of_a_dense_melody_the_strong_notes_stay():
    running = measure(*((k * HALF, HALF, 60 + k) for k in range(8)), meter=Meter(2, 2))
    placed = place(0, running, HALF, 8)

    assert [each.slot for each in strong_ones(placed, [running], [HALF], [True])] == [0, 2, 4, 6]


def test_the_last_and_the_highest_note_of_a_phrase_are_known():
    placed = place(0, quarters(60, 64, 64, 62), HALF, 8)

    assert phrase_marks(placed) == ({3}, {1})


def test_repeats_fade_more_easily_than_passing_notes_and_leaps_not_at_all():
    placed = place(0, quarters(60, 60, 62, 64), HALF, 8)
    leaps = place(0, quarters(60, 67, 60, 64), HALF, 8)

    assert [fades(placed, k) for k in range(4)] == [0, 2, 1, 0]
    assert fades(leaps, 1) == 0


def test_even_measures_come_first_and_one_note_in_five_may_go():
    measures = [quarters(60, 62, 64, 62, number=n) for n in range(1, 6)]
    placed = [each for i, m in enumerate(measures) for each in place(i, m, HALF, 8)]
    weak = [1 if k % 4 == 1 else 0 for k in range(len(placed))]
    found = spare(placed, weak, measures, [8] * 5, dense=[False] * 5)

    assert all(each.even for each in found)
    assert sum(each.most for each in found) == len(placed) // 5
    assert all(each.most <= 1 for each in found)


def triple(step, *pitches, start=0):
    """A triplet of equal notes."""
    return [(Fraction(start) + k * Fraction(step), step, pitch) for k, pitch in enumerate(pitches)]


def slots(*notes, **kwargs):
    """The slots of a measure's notes on a grid of eighths, None for one that found none."""
    whole = measure(*notes, **kwargs)
    found = {each.place: each.slot for each in place(0, whole, HALF, int(whole.length / HALF))}
    return [found.get(k) for k in range(len(notes))]


# Common practice, no source: the slot where an ear expects a figure that a grid of eighths does not hold.
def test_a_triplet_of_quarters_keeps_the_beat_and_the_others_come_later():
    assert slots(*triple("2/3", 60, 62, 64), (2, 2, 65)) == [0, 2, 3, 4]


def test_a_triplet_of_eighths_keeps_two_notes_where_the_next_beat_is_taken():
    assert slots(*triple("1/3", 60, 62, 64), (1, 3, 65)) == [0, 1, None, 2]


def test_a_triplet_of_eighths_before_a_rest_keeps_all_three():
    assert slots(*triple("1/3", 60, 62, 64), (2, 2, 65)) == [0, 1, 2, 4]


def test_the_short_note_of_a_swung_pair_comes_before_the_next_beat():
    assert slots((0, "2/3", 60), ("2/3", "1/3", 62), (1, 3, 64)) == [0, 1, 2]


def test_the_sixteenth_behind_a_dotted_eighth_comes_before_the_next_beat():
    assert slots((0, "3/4", 60), ("3/4", "1/4", 62), (1, 3, 64)) == [0, 1, 2]


def test_the_sixteenth_behind_a_dotted_eighth_never_takes_the_next_beat():
    assert slots((0, "1/2", 60), ("1/2", "1/4", 61), ("3/4", "1/4", 62), (2, 2, 64)) == [0, 1, None, 4]


def test_the_long_note_of_a_snap_follows_on_the_next_slot():
    assert slots((0, "1/4", 60), ("1/4", "3/4", 62), (1, 3, 64)) == [0, 1, 2]


def test_of_two_notes_for_one_slot_the_longer_has_it():
    assert slots((0, "1/8", 60), ("1/8", "1/8", 62), ("1/4", "3/4", 64), (1, 3, 65)) == [0, None, 1, 2]


def test_beats_are_pairs_of_slots_and_threes_in_a_jig_and_a_pickup_counts_from_its_end():
    jig = Meter(6, 8)

    assert [s for s in range(8) if is_beat(s, measure(), HALF)] == [0, 2, 4, 6]
    assert [s for s in range(6) if is_beat(s, measure(meter=jig), HALF)] == [0, 3]
    assert [s for s in range(12) if is_beat(s, measure(meter=jig), HALF / 2)] == [0, 2, 4, 6, 8, 10]
    assert [s for s in range(3) if is_beat(s, measure(number=0, length="3/2"), HALF)] == [1]


@pytest.mark.parametrize(
    ("at", "length", "meter", "holds_over"),
    [
        ("7/2", 2, COMMON, True),  # tied over the barline
        ("3/2", 1, COMMON, True),  # over the half measure
        ("7/2", "1/2", COMMON, False),
        (0, 4, COMMON, False),  # struck on the strong beat itself
        (2, 4, COMMON, False),
        (1, 2, Meter(3, 4), False),
        (2, 2, Meter(3, 4), True),
        (1, 1, Meter(6, 8), True),
    ],
)
def test_an_anticipation_is_struck_before_a_strong_beat_and_holds_over_it(at, length, meter, holds_over):
    whole = measure((at, length, 60), meter=meter)

    assert anticipates(whole.notes[0], whole) is holds_over


positions = st.lists(
    st.builds(Fraction, st.integers(0, 47), st.sampled_from([12, 16, 24])).filter(lambda at: at < 4),
    min_size=1,
    max_size=12,
    unique=True,
).map(sorted)


@given(positions)
def test_placed_notes_keep_order_and_beat_and_move_less_than_a_slot(starts):
    notes = [(at, end - at, 60) for at, end in pairwise([*starts, Fraction(4)])]
    whole = measure(*notes)
    found = place(0, whole, HALF, 8)

    assert [each.place for each in found] == sorted(each.place for each in found)
    assert [each.slot for each in found] == sorted({each.slot for each in found})
    assert all(abs(each.slot * HALF - each.note.at) < HALF for each in found)
    on_slots = {k for k, at in enumerate(starts) if (at / HALF).denominator == 1}
    kept_there = {each.place for each in found if each.exact and each.slot * HALF == each.note.at}
    assert kept_there == on_slots
