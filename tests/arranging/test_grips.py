"""Grips against the chord shapes and slurs of the trade: common practice, no source."""

import pytest

from coach.arranging.grips import LEFT_COSTS, Held, grips, shape_fingers
from coach.instrument.fretboard import Place
from coach.instrument.tuning import OPEN_G, TUNINGS
from coach.tunes.chords import QUALITIES, Chord, read_chord


def held(*places, opens=(), liked=None, **more):
    """What is held, written like ``"21"`` for string 2 fret 1."""
    found = tuple(sorted((Place(int(p[0]), int(p[1:])) for p in places), key=lambda place: (place.fret, place.string)))
    return Held(found, frozenset(opens), tuple((liked or {}).get(place, 0) for place in found), **more)


def best(*places, **more):
    return grips(held(*places, **more))[0]


@pytest.mark.parametrize(
    ("chord", "fingers"),
    [
        ("C", {(2, 1): 1, (4, 2): 2, (1, 2): 3}),
        ("D7", {(2, 1): 1, (3, 2): 2, (1, 4): 4}),
        ("D", {(3, 2): 1, (2, 3): 2, (1, 4): 3}),
        ("Em", {(4, 2): 2, (1, 2): 3}),
        ("F", {(2, 1): 1, (3, 2): 2, (4, 3): 3, (1, 3): 4}),
        ("Am", {(2, 1): 1, (4, 2): 2, (3, 2): 3, (1, 2): 4}),
        ("A", {(4, 2): 1, (3, 2): 1, (2, 2): 1, (1, 2): 1}),  # the barre
        ("Gm", {(2, 3): 1, (3, 3): 1, (4, 5): 3, (1, 5): 4}),
        ("B7", {(4, 1): 1, (1, 1): 2, (3, 2): 3}),  # the open string between keeps the index from lying across
        ("G", {}),
    ],
)
def test_the_shapes_get_the_fingers_that_teachers_show(chord, fingers):
    assert shape_fingers(read_chord(chord), OPEN_G) == fingers


@pytest.mark.parametrize("tuning", TUNINGS.values(), ids=lambda tuning: tuning.name)
def test_every_chord_of_every_tuning_can_be_held(tuning):
    for root in ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"):
        for quality in QUALITIES:
            fingers = shape_fingers(Chord(root, quality), tuning)
            assert all(1 <= finger <= 4 for finger in fingers.values())
            assert all(a < b for p, a in fingers.items() for q, b in fingers.items() if p.fret < q.fret)


def test_one_finger_a_fret_is_what_is_cheapest():
    assert best("31", "42", "23", "14")[:2] == (1, (1, 2, 3, 4))


def test_a_slur_from_two_to_three_goes_from_index_to_middle():
    assert best("32", "33", slurs=frozenset({(0, 1)})).fingers == (1, 2)
    assert best("32", "33").fingers == (2, 3)


def test_a_slide_is_made_by_the_middle_finger():
    assert best("32", slides=frozenset({0})).fingers == (2,)


def test_the_finger_of_the_shape_is_kept_where_it_is_alone():
    assert best("12", liked={Place(1, 2): 3}).fingers == (3,)
    assert best("12").fingers == (2,)


def test_the_index_lies_across_strings_unless_one_between_sounds_open():
    assert best("42", "32", "22", "12").fingers == (1, 1, 1, 1)
    assert len(set(best("41", "11", opens=(2,)).fingers)) == 2


@pytest.mark.parametrize(
    ("places", "fingers"),
    [(("35", "25", "15"), (1, 1, 1)), (("35", "25", "17"), (1, 1, 3)), (("37", "25", "15"), (1, 1, 3))],
)
def test_a_closed_shape_is_barred_and_no_other_grip_is_nearly_as_good(places, fingers):
    first, *others = grips(held(*places))

    assert first[:2] == (5, fingers)
    # Worth more than to spare the hand two frets of travel, there and back.
    assert all(each.price >= first.price + 8 for each in others if 1 not in each.fingers)


def test_the_lower_string_has_the_lower_finger():
    assert best("42", "12").fingers == (3, 2)  # string 1, then string 4


def test_five_frets_are_for_the_advanced_only():
    assert grips(held("41", "25")) == ()
    assert best("41", "25", stretch=True)[:2] == (1, (1, 4))
    assert grips(held("41", "26", stretch=True)) == ()


def test_every_cost_has_a_sentence_and_a_price():
    assert all(each.sentence.endswith(".") and each.price > 0 for each in LEFT_COSTS.values())
