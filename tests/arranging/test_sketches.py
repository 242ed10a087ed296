"""What may be done to the melody of a measure so that a roll carries it."""

import pytest

from coach.arranging.costs import cost
from coach.arranging.grid import MOST_SLURS, GridMeasure, GridNote
from coach.arranging.sketches import FILL, HELD, LICKED, Sketches, Terms
from coach.instrument.tuning import OPEN_G

G = frozenset({7, 11, 2})


def note(slot, pitch=59, rings=2, *, strong=False, starts=False, ends=False, top=False, fades=0, spare=False):
    return GridNote(slot, rings, pitch, slot, True, strong, starts, ends, top, fades, spare)


def measure(*notes, spare=0, wooden=False, home=False, size=8, slurs=MOST_SLURS):
    return GridMeasure(
        size,
        2,
        4,
        1,
        1,
        slurs,
        True,
        False,
        notes,
        (),
        spare,
        wooden,
        (G,) * size,
        (7,) * size,
        None,
        0,
        0,
        0,
        55,
        home,
        False,
    )


EVEN = (note(0, strong=True, starts=True), note(2, fades=1, spare=True), note(4, strong=True), note(6, ends=True))


def every(grid, **terms):
    return Sketches(grid, Terms(**{"shifts": 1} | terms)).between(-1000, 1000)


def test_the_cheapest_sketch_of_an_even_measure_leaves_out_its_spare_note():
    assert every(measure(*EVEN, spare=1, wooden=True))[0].slots == (0, FILL, FILL, FILL, 2, FILL, 3, FILL)


def test_without_leave_no_note_is_left_out():
    for sketch in every(measure(*EVEN, wooden=True)):
        assert {what for what in sketch.slots if what >= 0} == {0, 1, 2, 3}


def test_a_note_comes_a_slot_early_or_late_at_most_and_in_order():
    for sketch in every(measure(*EVEN), shifts=2):
        places = [sketch.slots.index(k) for k in range(4)]
        assert places == sorted(places)
        assert all(abs(place - EVEN[k].slot) <= 1 for k, place in enumerate(places))
        assert sum(place != EVEN[k].slot for k, place in enumerate(places)) <= 2


def test_at_most_one_slot_is_held_and_only_behind_a_melody_note():
    for sketch in every(measure(*EVEN)):
        held = [slot for slot, what in enumerate(sketch.slots) if what == HELD]
        assert len(held) <= 1
        assert all(sketch.slots[slot - 1] >= 0 for slot in held)


def test_tranches_of_price_part_the_sketches_without_a_gap():
    grid = measure(*EVEN, spare=1, wooden=True)
    asked = Sketches(grid, Terms(shifts=1))
    low, high = asked.between(-1000, 12), asked.between(12, 1000)

    assert sorted([*low, *high]) == sorted(every(grid))
    assert max(each.price for each in low) <= 12 < min(each.price for each in high)


def test_in_need_every_note_but_a_phrase_start_may_go():
    grid = measure(*EVEN)
    barest = min((sum(what >= 0 for what in s.slots) for s in every(grid, need=9, weakest=True)), default=None)

    assert barest == 1


@pytest.mark.parametrize(("wooden", "gone"), [(True, {1}), (False, {0, 1, 2, 3})])
def test_of_four_even_notes_none_with_weight_goes_in_need(wooden, gone):
    grid = measure(note(0, strong=True), note(2), note(4, top=True), note(6, ends=True), wooden=wooden)

    assert set().union(*({0, 1, 2, 3} - set(sketch.slots) for sketch in every(grid, need=4))) == gone


@pytest.mark.parametrize("home", [True, False])
def test_a_lick_fills_a_gap_and_a_tag_ends_a_phrase_at_home(home):
    grid = measure(note(0, 60, 8, strong=True, ends=True), home=home)
    found = every(grid, adorned=True, licks=OPEN_G)
    licked = [sketch for sketch in found if sketch.lick is not None]
    dearer = [sketch.lick.price - cost("tag") for sketch in licked if sketch.lick.lick.tag]

    assert licked
    for sketch in licked:
        first = sketch.slots.index(LICKED)
        assert first % 2 == 0
        assert sketch.slots[first:] == (LICKED,) * (8 - first)
    assert all(0 <= more < 5 for more in dearer) if home else min(dearer) >= cost("lick") - cost("tag")


def test_a_lick_may_begin_with_the_melody_note():
    grid = measure(note(0, 55, 4, strong=True), note(4, 57, 4))
    leading = [sketch for sketch in every(grid, adorned=True, licks=OPEN_G) if sketch.lick and sketch.lick.leads == 0]

    assert leading
    for sketch in leading:
        assert sketch.lick.lick.entry == 55
        assert sketch.slots[:4] == (0, LICKED, LICKED, LICKED)


def test_no_lick_stands_where_the_melody_waits_less_than_two_beats():
    grid = measure(note(0, 57, 3, strong=True), note(3, 57, 3), note(6, 57, 2))._replace(then=1)

    assert all(sketch.lick is None for sketch in every(grid, adorned=True, licks=OPEN_G))


def test_no_lick_stands_where_a_lost_note_of_the_tune_begins():
    grid = measure(note(0, 55, 8, strong=True))._replace(lost=(5,))
    found = every(grid, adorned=True, licks=OPEN_G)

    assert any(sketch.lick for sketch in found)
    for sketch in found:
        assert sketch.slots[5] != LICKED


@pytest.mark.parametrize("most", [0, 1, 2])
def test_no_sketch_has_more_slurs_than_a_measure_or_its_part_bears(most):
    waiting = measure(note(0, 55, 8, strong=True, ends=True), home=True, slurs=most)
    running = measure(note(0, 55, 1, strong=True), note(1, 57, 1), note(2, 55, 6), slurs=most)
    found = [
        sketch
        for grid in (waiting, running)
        for sketch in every(grid, adorned=True, ties=True, licks=OPEN_G, slurred=frozenset({55, 57}))
    ]
    slurs = [
        sketch.lick.lick.slurs(0, 8) if sketch.lick else int(sketch.slurred >= 0) + int(sketch.tied >= 0)
        for sketch in found
    ]

    assert max(slurs) == most


def test_only_long_notes_are_slurred_into():
    grid = measure(note(0, 57, 2, strong=True), note(4, 57, 1), note(5, 60, 3))
    slurred = {sketch.slurred for sketch in every(grid, adorned=True, slurred=frozenset({57}))}

    assert slurred == {-1, 0}
