"""When the places where the player was are read."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.conditioning import LOOK_AHEAD
from coach.listening.places import places_of
from coach.listening.plan import PassPlan
from coach.listening.shifts import OTHER_ORDER, State
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


def test_what_a_longer_path_bears_out_is_read_again_from_where_it_began(solo: Callable[..., Arrangement]) -> None:
    roll = [
        (f"{k}/2", string, 0, {"role": "melody" if k == 0 else "fill"})
        for k, string in enumerate((3, 2, 5, 1, 4, 2, 5, 1))
    ]
    places = places_of(PassPlan(solo(*[roll] * 4), 60.0))
    watch = PassageWatch(places, Sounds(places))
    watch._notes = {8 + at: [(pitch, 80)] for at, pitch in enumerate((55, 62, 67, 59, 50, 62, 59, 67))}
    other = State(0, OTHER_ORDER)
    watch._path = [State()] * 8 + [other] * 12
    watch._place(8)
    unread = len(watch.moved.places.places)
    watch.following = unread
    assert watch.passages == ()  # four more slots of silence speak against it

    watch._path = [State()] * 8 + [other] * 8 + [State()] * 5
    watch._place(16)

    assert [passage.kind for passage in watch.passages] == ["other order"]
    assert watch.moved.places.places[watch.following].time <= 4_000_000
