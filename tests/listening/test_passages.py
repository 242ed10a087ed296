from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.evidence import Heard
from coach.listening.moved import moved_places
from coach.listening.passages import Run, passages_of, runs_of
from coach.listening.places import Places, places_of
from coach.listening.plan import PassPlan
from coach.listening.shifts import OTHER_ORDER, PLAIN, SILENT, State
from coach.listening.slots import Slots, WrittenSlot, slots_of

# Four measures of eight slots, all of them filled.
ROLL = [("0", 3, 0, {"role": "melody"})] + [(f"{k}/2", string, 0) for k, string in enumerate((2, 5, 1, 4, 2, 5, 1), 1)]
SILENCE = State(0, SILENT)


@pytest.fixture(scope="module")
def places(solo: Callable[..., Arrangement]) -> Places:
    return places_of(PassPlan(solo(*[ROLL] * 4), 60.0))


@pytest.fixture(scope="module")
def slots(places: Places) -> Slots:
    return slots_of(places)


def path(*runs: tuple[int, State]) -> list[State]:
    """States for so many slots each; the last is continued to slot 32, the one for late notes."""
    states = [state for count, state in runs for _ in range(count)]
    return states + states[-1:] * (33 - len(states))


HOME = State()


def played(states: Sequence[State], slots: Slots) -> Heard:
    """What is heard of someone who plays along a path, at the written place or elsewhere."""
    heard: dict[int, list[tuple[int, int]]] = {}
    for at, state in enumerate(states):
        written = slots.written[to] if 0 <= (to := at + state.shift) < len(slots.written) else WrittenSlot()
        pitches = {SILENT: (), PLAIN: written.melody}.get(state.manner, written.due)
        heard[at] = [(pitch, 80) for pitch in pitches]
    return heard


def runs_along(states: Sequence[State], slots: Slots) -> list[Run]:
    return runs_of(states, slots, played(states, slots))


@pytest.mark.parametrize(
    ("states", "named"),
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
            path((8, HOME), (3, State(8)), (8, State(8, PLAIN)), (4, State(8))),
            [("left out", 8, "m2e1", "m2e8"), ("plain melody", None, "m3e4", "m4e3")],
        ),
    ],
)
def test_a_path_has_these_passages(
    states: list[State], named: list[tuple[str, int | None, str, str]], slots: Slots, places: Places
) -> None:
    found = passages_of(runs_along(states, slots), slots, places)

    assert [(each.kind, each.slots, each.first.id, each.last.id) for each in found] == named


def test_the_measure_that_was_left_out_is_as_long_as_the_one_that_was(solo: Callable[..., Arrangement]) -> None:
    short = places_of(PassPlan(solo(ROLL, ROLL[:4], ROLL, ROLL, lengths={2: "2"}), 60.0))
    slots = slots_of(short)
    (found,) = passages_of(runs_along(path((8, HOME), (8, State(4))), slots), slots, short)

    assert (found.kind, found.slots, found.first.id, found.last.id) == ("left out", 4, "m2e1", "m2e4")


def test_who_is_at_home_has_the_written_places(slots: Slots, places: Places) -> None:
    assert moved_places(places, slots, runs_along(path((8, HOME), (8, SILENCE), (8, HOME)), slots), {}) == places


def test_places_lie_where_they_were_played(slots: Slots, places: Places) -> None:
    moved = moved_places(places, slots, runs_along(path((8, HOME), (8, State(1)), (8, HOME)), slots), {})
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
    moved = moved_places(places, slots, runs_along(path((16, HOME), (8, State(-8))), slots), {})
    times = [place.time for place in moved.places if place.plucks[0].id == "m2e3"]

    assert times == [5_000_000, 9_000_000]


def test_in_another_order_the_roll_goes_where_it_was_heard_and_the_tune_stays(slots: Slots, places: Places) -> None:
    # Slots 8 to 15; written are strings 3 2 5 1 4 2 5 1, pitches 55 59 67 62 50 59 67 62.
    heard = {8: [62], 9: [67], 10: [59], 11: [62], 12: [50], 13: [62], 14: [67], 15: [59]}
    runs = runs_along(path((8, HOME), (8, State(0, OTHER_ORDER)), (4, HOME)), slots)
    moved = moved_places(places, slots, runs, heard)
    at = {place.time: [pluck.id for pluck in place.plucks] for place in moved.places}

    assert at[4_000_000] == ["m2e1"]
    assert at[4_500_000] == ["m2e3"]
    assert at[5_000_000] == ["m2e2"]
    assert at[5_500_000] == ["m2e4"]
    assert at[6_500_000] == ["m2e8"]
    assert at[7_500_000] == ["m2e6"]
    assert sorted(name for names in at.values() for name in names) == sorted(pluck.id for pluck in places.expected)


def named(states: Sequence[State], heard: Heard, slots: Slots, places: Places) -> list[tuple[str, str, str]]:
    found = passages_of(runs_of(states, slots, heard), slots, places)
    return [(each.kind, each.first.id, each.last.id) for each in found]


@pytest.mark.parametrize(
    ("state", "reach"),
    [
        (State(1), ("ahead", "m2e3", "m3e7")),
        (State(-1), ("behind", "m2e1", "m3e5")),
        (State(0, OTHER_ORDER), ("other order", "m2e2", "m3e6")),
    ],
)
def test_a_passage_reaches_from_the_first_to_the_last_pluck_that_was_heard(
    state: State, reach: tuple[str, str, str], slots: Slots, places: Places
) -> None:
    states = path((8, HOME), (16, state), (4, HOME))
    heard = {at: notes for at, notes in played(states, slots).items() if at not in (8, 22, 23)}

    assert named(states, heard, slots, places) == [reach]


def test_the_plain_melody_reaches_over_the_roll_that_was_left_out(slots: Slots, places: Places) -> None:
    states = path((8, HOME), (16, State(0, PLAIN)), (4, HOME))
    heard = {
        **played(states, slots),
        8: [],
        23: [(62, 80)],
    }  # the first melody note missed, the last of the roll played

    assert named(states, heard, slots, places) == []  # one of two melody notes is not enough
    assert named(states, {**heard, 8: [(55, 80)]}, slots, places) == [("plain melody", "m2e1", "m3e7")]


def test_a_manner_without_evidence_is_as_written_where_the_player_was_before(slots: Slots, places: Places) -> None:
    states = path((8, HOME), (4, State(1)), (8, State(5, OTHER_ORDER)), (4, HOME))
    heard = {**played(states, slots), **{at: [(57, 80)] for at in range(12, 20)}}
    runs = runs_of(states, slots, heard)

    assert [(run.first, run.last, run.state) for run in runs] == [(0, 7, HOME), (8, 19, State(1)), (20, 32, HOME)]
    assert named(states, heard, slots, places) == [("ahead", "m2e2", "m2e5")]
