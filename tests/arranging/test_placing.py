"""Melody notes find their slots, and what may be left out is marked as the trade has it."""

from fractions import Fraction

from coach.arranging.placing import fades, is_strong, phrase_marks, place, spare, strong_ones
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
