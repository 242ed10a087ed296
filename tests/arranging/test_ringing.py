from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.ringing import ringing, tempo_map, velocity
from coach.tunes.demo import DEMO_TUNES, demo_tune


def test_a_string_rings_until_it_is_sounded_again(solo):
    rung = {each.pluck.id: (each.start, each.until) for each in ringing(solo("T30* I20 T30* M10 - - - -"))}

    assert rung["m1e1"] == (0, 1)
    assert rung["m1e2"] == (Fraction(1, 2), 4)
    assert rung["m1e3"] == (1, 4)


def test_a_string_rings_over_the_barline(solo):
    rung = {each.pluck.id: each.until for each in ringing(solo("T30* - - - - - - -", "- - T30* - - - - -"))}

    assert rung["m1e1"] == 5


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_every_pluck_is_there_once_and_no_string_rings_twice(name):
    arranged = arrange(demo_tune(name), "advanced")

    rung = sorted(ringing(arranged), key=lambda each: (each.pluck.string, each.start))

    assert len(rung) == len(list(arranged.plucks()))
    for one, following in pairwise(rung):
        assert one.start < one.until
        if one.pluck.string == following.pluck.string:
            assert one.until == following.start


def test_melody_is_louder_than_fill_and_a_slurred_note_softer(solo):
    (picked, slurred, fill) = (each.pluck for each in reversed(list(ringing(solo("T40*,h42* I30 - - - - - -")))))

    assert velocity(fill) < velocity(picked)
    assert velocity(slurred) < velocity(picked)


def test_bounce_moves_the_second_slot_of_each_pair(solo):
    bounced = tempo_map(replace(solo("T30* I20 - - - - - -"), bounce=60), 60)

    assert bounced.seconds(Fraction(1, 2)) == pytest.approx(0.6)
    assert bounced.seconds(Fraction(1)) == pytest.approx(1.0)
