"""The checker of the hard rules is itself checked by solos that break one rule each, and by sound ones."""

from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrangement import MelodyNote
from coach.arranging.rules import RULES, broken_rules
from coach.tunes.tune import Meter

ROLL = "T30* I20 T50d M10 T40 I20 T50d M10"
HALF = Fraction(1, 2)


def names(arrangement):
    return {broken.rule for broken in broken_rules(arrangement)}


def with_pluck(arrangement, index, **changes):
    """The first measure with one pluck changed."""
    measure = arrangement.measures[0]
    plucks = list(measure.plucks)
    plucks[index] = replace(plucks[index], **changes)
    return with_measure(arrangement, plucks=tuple(plucks))


def with_measure(arrangement, index=0, **changes):
    measures = list(arrangement.measures)
    measures[index] = replace(measures[index], **changes)
    return replace(arrangement, measures=tuple(measures))


def with_note(arrangement, **changes):
    first, *rest = arrangement.measures[0].melody
    return with_measure(arrangement, melody=(replace(first, **changes), *rest))


@pytest.mark.parametrize(
    "rows",
    [
        (ROLL, ROLL),
        ("T30* I20 M10 T50d I20 M10 T50d I20",),
        ("T30*&M10+ - T50d&M10+ - T30* - - -",),
        ("T30* - T32* - T30* I20 M10 T50d",),  # a finger may play twice in quarters
        ("T32*,s34 I20* T50d M10 T30* I20 T50d M10",),
        ("T40* h42* T50d M10 T30* I20 T50d M10",),
        ("T33*,p32 I20* T50d M10 T30* I20 T50d M10",),
        ("T41* I42* - - T42* I43* - -",),  # no other place on frets 0 to 5
        ("I14* M14* T20 M14* - - - -",),
        ("- - - - T30* I20 T50d M10",),
    ],
)
def test_a_sound_solo_breaks_no_rule(solo, rows):
    assert broken_rules(solo(*rows)) == ()


@pytest.mark.parametrize(
    ("rule", "rows"),
    [
        ("finger", ("I10* - - -",)),
        ("finger", ("T10* - - -",)),
        ("finger", ("M30* - - -",)),
        ("finger", ("M50* - - -",)),
        ("place", ("T53* - - -",)),
        ("pinch", ("I30*&M10+ - - -",)),  # no thumb
        ("pinch", ("M20*&T40+&I30+ - - -", "T30*&I40+ - - -")),  # the index below the thumb
        ("pinch", ("T30*&T20+ - - -",)),
        ("pinch", ("T50+&T40+&I30*&M10+ - - -",)),
        ("finger twice", ("T30* T50d I20 M10",)),
        ("finger twice", ("T30*&M10+ M20 - -",)),
        ("finger twice", ("T30* I20 M10 T50d", "T40* I20 M10 T50d")),  # over the barline
        ("string twice", ("T30* I32 - -",)),
        ("string twice", ("T30* I32* - -",)),  # the pitch A3 is only there, but G3 is on string 4 fret 5 too
        ("string twice", ("T30* I20 T50d M10", "I20* M10 T50d I20", "M20* T50d I20 M10")),
        ("string twice", ("I42 T42* - -",)),  # one of the two is no melody
        ("span", ("T45* I21* T50d M12*",)),
        ("span", ("T45*&M10+ I21 - -",)),
        ("slur", ("T30* h22* - -",)),  # nothing on that string before
        ("slur", ("T32* h31* - -",)),
        ("slur", ("T32* h32* - -",)),
        ("slur", ("T32* p34* - -",)),
        ("slur", ("T32* p32* - -",)),
        ("slur", ("T30* s32* - -",)),
        ("slur", ("T32* s30* - -",)),
        ("slur", ("T30* - h32* -",)),  # a slot too late
        ("fill over melody", ("T30*&M10 - - -",)),
        ("fill over melody", ("T30*&M10d - - -",)),
    ],
)
def test_each_breach_is_found_and_nothing_else(solo, rule, rows):
    assert names(solo(*rows)) == {rule}


def test_every_breach_has_its_measure_pluck_and_sentence(solo):
    (broken,) = broken_rules(solo(ROLL, "T30* I20 T50d T40"))

    assert (broken.rule, broken.measure, broken.pluck_id) == ("finger twice", 2, "m2e4")
    assert broken.sentence == "Measure 2: T plays twice in a row, on the and of beat 2."


def test_every_rule_has_a_sentence():
    assert all(name and text for name, text in RULES.items())


@pytest.mark.parametrize(
    ("rule", "changes"),
    [
        ("ids", {"id": "m1e7"}),
        ("grid", {"at": Fraction(1, 8), "length": Fraction(3, 8)}),
        ("grid", {"at": Fraction(1, 4), "length": Fraction(1, 4)}),  # half slots are for slurred notes
        ("filled", {"length": Fraction(1)}),
        ("filled", {"length": Fraction(0)}),
        ("filled", {"length": Fraction(1, 6)}),
        ("place", {"pitch": 60}),
        ("finger", {"finger": None}),
        ("slur", {"from_fret": 2}),
    ],
)
def test_a_damaged_pluck_is_found(solo, rule, changes):
    arrangement = solo("- I20 T50d M10 T30* - - -")

    assert rule in names(with_pluck(arrangement, 0, **changes))


def test_two_plucks_of_a_string_at_once_are_found(solo):
    arrangement = solo("T30* I20 T50d M10")
    doubled = arrangement.measures[0].plucks
    clash = replace(doubled[0], id="m1e2", finger="I")

    assert "one a string" in names(with_measure(arrangement, plucks=(doubled[0], clash, *doubled[1:])))


def test_a_pluck_behind_the_barline_is_found(solo):
    arrangement = with_pluck(solo("T30* - - -"), 0, at=Fraction(4), length=HALF)

    assert "grid" in names(arrangement)


def test_measures_must_count_on(solo):
    arrangement = with_measure(solo(ROLL, "- - - -"), 1, number=5)

    assert "ids" in names(arrangement)


def test_a_repeat_must_agree_with_what_it_repeats(solo):
    arrangement = solo(ROLL, ROLL, "T30* I20 M10 T50d I20 M10 T50d I20")

    assert names(with_measure(arrangement, 1, same_as=1)) == set()
    assert names(with_measure(arrangement, 2, same_as=1)) == {"repeat"}
    assert names(with_measure(arrangement, 0, same_as=2)) == {"repeat"}


@pytest.mark.parametrize(
    ("changes", "broken"),
    [
        ({}, set()),
        ({"kept": False}, {"melody"}),
        ({"pluck": None}, {"melody"}),
        ({"pluck": "m1e2"}, {"melody"}),
        ({"pluck": "m9e9"}, {"melody"}),
        ({"pitch": 57}, {"melody"}),
        ({"at": HALF, "moved": Fraction(0)}, set()),  # a slot early
        ({"at": HALF}, {"melody"}),  # without a word
        ({"at": Fraction(1), "moved": Fraction(0)}, {"melody"}),  # two slots early
        ({"at": Fraction(1, 4), "moved": Fraction(0)}, set()),  # between the slots
        ({"moved": Fraction(1)}, {"melody"}),  # the new place is not where the pluck is
    ],
)
def test_a_kept_note_is_carried_where_it_says(solo, changes, broken):
    assert names(with_note(solo(ROLL), **changes)) == broken


def test_a_note_slurred_into_is_at_its_place(solo):
    arrangement = solo("T42* h45* T50d M10 T30* I20 T50d M10")
    notes = arrangement.measures[0].melody
    scooped = replace(notes[1], at=Fraction(0))

    assert names(with_measure(arrangement, melody=(scooped, *notes[2:]))) == set()


def test_a_pluck_carries_one_melody_note_only(solo):
    arrangement = solo(ROLL)
    (note,) = arrangement.measures[0].melody
    twice = replace(note, at=HALF, moved=Fraction(0))

    assert "melody" in names(with_measure(arrangement, melody=(note, twice)))


@pytest.mark.parametrize(("at", "broken"), [(1, {"lick over melody"}), (Fraction(3, 4), set())])
def test_a_lick_keeps_off_the_notes_of_the_tune(solo, at, broken):
    assert names(solo("T30* I20l T50l M10l", tier="advanced", extra=[(1, at, 1, 60)])) == broken


def test_a_left_out_note_may_have_a_fill_in_its_place(solo):
    assert names(solo(ROLL, extra=[(1, 1, 1, 60)])) == set()


def test_a_stretch_of_five_frets_is_for_the_advanced(solo):
    row = "T45* I21* T50d M10"

    assert names(solo(row, tier="advanced")) == set()
    assert names(solo(row, tier="intermediate")) == {"span"}
    assert names(solo("T46* I21* T50d M10", tier="advanced")) == {"span"}


def test_a_held_slot_gives_the_hand_time_to_move(solo):
    assert names(solo("T45* - I21* - T50d M10 - -")) == set()
    assert names(solo("T45* I20 T50d M10 I21* - - -")) == set()
    assert names(solo("T45* I20 T50d M12 I21* - - -")) == set()


def test_a_slurred_note_counts_with_its_slot_for_the_reach(solo):
    # From fret 1 to fret 5 there are four slots, though only three and a half from the hammered note.
    assert names(solo("T30*,h31 I20 T50d M10 T35* - - -")) == set()
    assert names(solo("T30*,h31 I20 M10 T35* - - - -")) == {"span"}


@pytest.mark.parametrize(("count", "broken"), [(2, set()), (3, {"beginner pinches"})])
def test_a_beginner_has_two_pinches_a_measure(solo, count, broken):
    pinch, bare = "T30*&M10+ -", "T30* -"
    row = " ".join([pinch] * count + [bare] * (4 - count))

    assert names(solo(row, tier="beginner")) == broken
    assert names(solo(row)) == set()


@pytest.mark.parametrize(
    ("row", "meter", "broken"),
    [
        ("T30* I20 T50d M10 T30* - - -", (4, 4), set()),  # a half note holds: two beats
        ("T30* I20 T50d T30* - - - -", (4, 4), {"beginner fills", "finger twice"}),
        ("T30* I20 T30* - T30* - T30* -", (4, 4), {"beginner fills"}),
        ("T30* - T30* - T30* I20 T50d M10", (4, 4), set()),
        ("T30* I20 M10 T50d I20 M10", (6, 8), set()),  # two dotted quarters
        ("T30* I20 M10 T30* I20 M10", (6, 8), {"beginner fills"}),
    ],
)
def test_a_beginner_fills_only_where_the_melody_waits(solo, row, meter, broken):
    assert names(solo(row, tier="beginner", meter=meter)) == broken


def test_a_roll_study_without_melody_is_judged_by_the_hands_only(solo):
    assert names(solo("T30 I20 T50 M10 T40 I20 T50 M10", tier="beginner")) == set()


def test_a_measure_of_a_finer_grid_is_judged_on_its_own_grid(solo):
    arrangement = solo("T30* I20 T50d M10")
    fine = with_measure(solo("T30* I20 T50d M10", slot=Fraction(1, 4)), slot=Fraction(1, 4))

    assert names(arrangement) == set()
    assert names(replace(fine, slot=HALF)) == set()


def test_the_capo_moves_the_pitches_and_breaks_nothing(solo):
    assert names(solo(ROLL, capo=2)) == set()
    assert names(replace(solo(ROLL, capo=2), capo=0)) == {"place"}


def with_left(arrangement, *fingers):
    """The stopped plucks of the first measure with these fingers of the left hand."""
    measure = arrangement.measures[0]
    told = iter(fingers)
    return with_measure(
        arrangement,
        plucks=tuple(replace(pluck, left=next(told)) if pluck.fret else pluck for pluck in measure.plucks),
    )


@pytest.mark.parametrize(
    ("row", "fingers"),
    [
        ("T42* I21 M12 T50d", (2, 1, 3)),
        ("T42* I21 M12 T50d", (None, None, None)),  # one finger a fret
        ("T42* I22 M12 T50d", (1, 1, 1)),  # the barre
        ("T33*,p32 I20 M10 T50d", (2, 1)),
        ("T32*,s34 I20 M10 T50d", (2, 2)),
        ("T32*,s34 I20 M10 T50d", (None, None)),  # no finger is told
        ("M12* T50d M15* T50d", (4, 4)),  # one move
        ("M12* T50d M15* - M12* T50d", (4, 4, 4)),  # the second move in another roll
        ("M16* - - -", (None,)),
    ],
)
def test_fingers_that_a_hand_can_put_down(solo, row, fingers):
    assert names(with_left(solo(row), *fingers)) == set()


@pytest.mark.parametrize(
    ("row", "fingers"),
    [
        ("T42*&I21+&M12+ - - -", (2, 2, 3)),  # the middle finger would be on two frets at once
        ("T42*&M13+ - - -", (2, 2)),
        ("T42*&M13+ - - -", (3, 2)),
        ("T42*&M14+ - - -", (1, 2)),  # too far apart
        ("T32*,h33 I20 M10 T50d", (2, 2)),
        ("T33*,p32 I20 M10 T50d", (1, 2)),
        ("T32*,s34 I20 M10 T50d", (1, 3)),
        ("M12* T33 I22 M13", (2, 2, 2, 2)),  # two moves in a roll
    ],
)
def test_fingers_that_no_hand_can_put_down(solo, row, fingers):
    assert names(with_left(solo(row), *fingers)) == {"left hand"}


def test_the_advanced_may_reach_a_fret_further(solo):
    row, fingers = "T42*&M15+ - - -", (1, 3)

    assert names(with_left(solo(row), *fingers)) == {"left hand"}
    assert names(with_left(solo(row, tier="advanced"), *fingers)) == set()


def test_a_repeat_with_other_fingers_is_found(solo):
    arrangement = solo("T32* I20 - -", "T32* I20 - -")
    again = with_measure(arrangement, 1, same_as=1)

    assert names(again) == set()
    assert names(with_left(again, 1)) == {"repeat"}


def with_phrase(arrangement, *kept, pitches=(55, 57, 59, 57)):
    """Four even melody notes as one phrase; those that are kept are carried by the plucks on their beats."""
    (measure,) = arrangement.measures
    carriers = {pluck.at: pluck.id for pluck in measure.plucks if pluck.at.denominator == 1}
    melody = tuple(
        MelodyNote(
            Fraction(k), Fraction(1), pitch, None, k == 0, k in kept, carriers[Fraction(k)] if k in kept else None
        )
        for k, pitch in enumerate(pitches)
    )
    return with_measure(arrangement, melody=melody)


EVEN = "T30* I20 T32* M10 I20* M10 T32* M10"


@pytest.mark.parametrize(
    ("kept", "pitches", "broken"),
    [
        ((0, 1, 2, 3), (55, 57, 59, 57), set()),
        ((0, 2, 3), (55, 57, 59, 57), set()),  # the second is a passing note
        ((0, 1, 3), (55, 57, 59, 57), {"thinning"}),  # on a strong beat, and the highest
        ((0, 1, 2), (55, 57, 59, 57), {"thinning"}),  # the last
        ((0, 2, 3), (55, 60, 59, 57), {"thinning"}),  # the highest
        ((0, 2, 3), (55, 59, 59, 57), {"thinning"}),  # the first of two highest
        ((1, 2, 3), (55, 57, 59, 57), {"thinning", "phrase start"}),
    ],
)
def test_what_has_weight_in_its_phrase_is_not_left_out(solo, kept, pitches, broken):
    assert names(with_phrase(solo(EVEN), *kept, pitches=pitches)) == broken


def test_the_beginners_four_notes_are_another_matter(solo):
    assert names(with_phrase(solo("T30* - - - I20* - - -", tier="beginner"), 0, 2)) == set()


def test_a_measure_that_is_not_full_is_another_matter(solo):
    short = with_measure(with_phrase(solo(EVEN), 0, 1, 2), meter=Meter(5, 4))

    assert names(short) == set()


def test_three_even_notes_and_uneven_ones_are_another_matter(solo):
    (measure,) = with_phrase(solo(EVEN), 0, 1, 2).measures
    first, second, third, last = measure.melody
    moved = with_measure(solo(EVEN), melody=(first, second, third, replace(last, at=Fraction(7, 2))))

    assert names(moved) == set()


@pytest.mark.parametrize(
    ("chord", "row", "broken"),
    [
        ("E", "T42* I20 T50d M12", {"drone"}),
        ("E7", "T42* I20 T50 M12", {"drone"}),
        ("B", "T50+&M14+ - - -", {"drone"}),
        ("B7", "T32* I20 T50d M11", {"drone"}),
        ("B7", "T32* I20 T50* M11", set()),  # the melody may lie there
        ("B7", "T32l I20l T50l M11l", set()),  # and a lick
        ("Em", "T42* I20 T50d M12", set()),
        ("Bm", "T34* I20 T50d M14", set()),
        ("D7", "T32* I21 T50d M10", set()),
    ],
)
def test_the_drone_is_left_out_where_it_grates(solo, chord, row, broken):
    assert names(solo(row, chords=(chord,))) == broken


def test_the_chord_before_the_barline_lasts_for_the_drone(solo):
    first, second = solo("T32* I20 - -", "T32* I20 T50d M10", chords=("B7",)).measures
    arrangement = replace(solo("T32*"), measures=(first, replace(second, chords=())))

    assert names(arrangement) == {"drone"}


def test_three_slurs_in_a_measure_are_enough(solo):
    three = "T30,h32* I20,h21 T50d M10,h12 T30 I20 T50d M10"

    assert names(solo(three, tier="advanced")) == set()
    assert names(solo(three.replace("T30 ", "T30,h32 "), tier="advanced")) == {"embellishments"}
