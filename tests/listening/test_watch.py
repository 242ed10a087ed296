"""When the places where the player was are read."""

from __future__ import annotations

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.conditioning import LOOK_AHEAD
from coach.listening.places import places_of
from coach.listening.plan import PassPlan
from coach.listening.sounds import Sounds
from coach.listening.watch import PassageWatch


@pytest.mark.parametrize(("after", "is_read"), [(0, False), (LOOK_AHEAD, False), (LOOK_AHEAD + 1, True)])
def test_a_place_is_read_once_its_window_and_the_look_ahead_are_over(
    after: int, is_read: bool, roll: Arrangement
) -> None:
    places = places_of(PassPlan(roll, 60.0))
    watch = PassageWatch(places, Sounds(places))
    watch.ever_moved = True
    first = places.places[0]

    assert (watch.next_place(first.closes + after) == first) == is_read
    assert watch.following == int(is_read)


def test_nothing_is_read_before_the_player_was_elsewhere(roll: Arrangement) -> None:
    places = places_of(PassPlan(roll, 60.0))

    assert PassageWatch(places, Sounds(places)).next_place(places.end + 2 * LOOK_AHEAD) is None
