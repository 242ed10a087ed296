from __future__ import annotations

from collections.abc import Callable

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.moved import moved_places
from coach.listening.passages import Run, passages_of, runs_of
from coach.listening.places import Places, places_of
from coach.listening.plan import PassPlan
from coach.listening.shifts import OTHER_ORDER, PLAIN, SILENT, State
from coach.listening.slots import Slots, slots_of

# Four measures of eight slots, all of them filled.
ROLL = [("0", 3, 0, {"role": "melody"})] + [(f"{k}/2", string, 0) for k, string in enumerate((2, 5, 1, 4, 2, 5, 1), 1)]
SILENCE = State(0, SILENT)


@pytest.fixture(scope="module")
def places(solo: Callable[..., Arrangement]) -> Places:
    return places_of(PassPlan(solo(*[ROLL] * 4), 60.0))


@pytest.fixture(scope="module")
def slots(places: Places) -> Slots:
    return slots_of(places)


def path(*runs: tuple[int, State]) -> list[Run]:
    """Runs of so many slots; the last is continued to slot 32, the one for late notes."""
    states = [state for count, state in runs for _ in range(count)]
    return runs_of(states + states[-1:] * (33 - len(states)))


HOME = State()


@pytest.mark.parametrize(
    ("runs", "named"),
    [
        (path((8, HOME)), []),
        (path((8, HOME), (10, State(1)), (3, HOME)), [("ahead", 1, "m2e2", "m3e3")]),
        (path((8, HOME), (10, State(-2)), (3, HOME)), [("behind", 2, "m1e7", "m2e8")]),
        (path((10, HOME), (9, SILENCE), (3, HOME)), [("stopped", None, "m2e3", "m3e3")]),
        (path((8, HOME), (8, State(8))), [("left out", 8, "m2e1", "m2e8")]),
        (path((11, HOME), (8, State(8))), [("left out", 8, "m2e4", "m3e3")]),
        (path((16, HOME), (8, State(-8))), [("played twice", 8, "m2e1", "m2e8")]),
        (path((8, HOME), (4, State(16)), (4, HOME)), [("jumped", 16, "m4e1", "m4e4")]),
        (path((24, HOME), (8, State(-24))), [("jumped", -24, "m1e1", "m2e1")]),
        # Silence, and going on where it began: nothing was played twice.
        (
            path((8, HOME), (8, SILENCE), (8, State(-8))),
            [("stopped", None, "m2e1", "m2e8"), ("behind", 8, "m2e1", "m4e1")],
        ),
        (path((8, HOME), (8, State(0, OTHER_ORDER)), (4, HOME)), [("other order", None, "m2e1", "m2e8")]),
        (path((8, HOME), (16, State(0, PLAIN)), (4, HOME)), [("plain melody", None, "m2e1", "m3e8")]),
        # A measure left out by someone who is an eighth ahead; the manner alone is no other place.
        (
            path((4, HOME), (8, State(1)), (4, State(9))),
            [("ahead", 1, "m1e6", "m2e5"), ("left out", 8, "m2e6", "m3e5")],
        ),
        (
            path((8, HOME), (4, State(8)), (4, State(8, PLAIN)), (4, State(8))),
            [("left out", 8, "m2e1", "m2e8"), ("plain melody", None, "m3e5", "m3e8")],
        ),
    ],
)
def test_a_path_has_these_passages(
    runs: list[Run], named: list[tuple[str, int | None, str, str]], slots: Slots, places: Places
) -> None:
    found = passages_of(runs, slots, places)

    assert [(each.kind, each.slots, each.first.id, each.last.id) for each in found] == named


def test_the_measure_that_was_left_out_is_as_long_as_the_one_that_was(solo: Callable[..., Arrangement]) -> None:
    short = places_of(PassPlan(solo(ROLL, ROLL[:4], ROLL, ROLL, lengths={2: "2"}), 60.0))
    slots = slots_of(short)
    (found,) = passages_of(path((8, HOME), (8, State(4))), slots, short)

    assert (found.kind, found.slots, found.first.id, found.last.id) == ("left out", 4, "m2e1", "m2e4")


def test_who_is_at_home_has_the_written_places(slots: Slots, places: Places) -> None:
    assert moved_places(places, slots, path((8, HOME), (8, SILENCE), (8, HOME)), {}) == places


def test_places_lie_where_they_were_played(slots: Slots, places: Places) -> None:
    moved = moved_places(places, slots, path((8, HOME), (8, State(1)), (8, HOME)), {})
    times: dict[str, list[int]] = {}
    for place in moved.places:
        times.setdefault(place.plucks[0].id, []).append(place.time)

    assert times["m1e8"] == [3_500_000]
    assert "m2e1" not in times  # nothing was played there on the way
    assert times["m2e2"] == [4_000_000]
    assert times["m3e1"] == [7_500_000, 8_000_000]  # the last one ahead, and again at home
    assert times["m3e2"] == [8_500_000]
    assert [place.index for place in moved.places] == list(range(32))
    assert [place.time for place in moved.places] == sorted({place.time for place in moved.places})


def test_what_was_played_twice_has_two_places(slots: Slots, places: Places) -> None:
    moved = moved_places(places, slots, path((16, HOME), (8, State(-8))), {})
    times = [place.time for place in moved.places if place.plucks[0].id == "m2e3"]

    assert times == [5_000_000, 9_000_000]


def test_in_another_order_the_roll_goes_where_it_was_heard_and_the_tune_stays(slots: Slots, places: Places) -> None:
    # Slots 8 to 15; written are strings 3 2 5 1 4 2 5 1, pitches 55 59 67 62 50 59 67 62.
    heard = {8: [62], 9: [67], 10: [59], 11: [62], 12: [50], 13: [62], 14: [67], 15: [59]}
    runs = path((8, HOME), (8, State(0, OTHER_ORDER)), (4, HOME))
    moved = moved_places(places, slots, runs, heard)
    at = {place.time: [pluck.id for pluck in place.plucks] for place in moved.places}

    assert at[4_000_000] == ["m2e1"]
    assert at[4_500_000] == ["m2e3"]
    assert at[5_000_000] == ["m2e2"]
    assert at[5_500_000] == ["m2e4"]
    assert at[6_500_000] == ["m2e8"]
    assert at[7_500_000] == ["m2e6"]
    assert sorted(name for names in at.values() for name in names) == sorted(pluck.id for pluck in places.expected)
