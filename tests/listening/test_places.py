from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.places import Places, places_of
from coach.listening.plan import PassPlan


@pytest.fixture
def places(solo: Callable[..., Arrangement]) -> Callable[..., Places]:
    """Places at the given positions at 60 quarters a minute: a quarter is a second."""

    def make(*at: str, **more: object) -> Places:
        return places_of(PassPlan(solo([(each, 3, 0) for each in at]), 60.0), **more)

    return make


# Gaps in quarters = seconds; windows by the contract: half the gap, at least 60 ms, at most 300 ms.
@pytest.mark.parametrize(
    ("gap", "window"),
    [
        ("119/1000", 60_000),
        ("12/100", 60_000),
        ("122/1000", 61_000),
        ("1/2", 250_000),
        ("598/1000", 299_000),
        ("6/10", 300_000),
        ("602/1000", 300_000),
    ],
)
def test_a_window_reaches_half_the_gap_within_its_limits(gap: str, window: int, places: Callable[..., Places]) -> None:
    first, second = places("0", gap).places

    assert (first.late, second.early) == (window, window)


def test_the_windows_at_both_ends_are_the_widest(places: Callable[..., Places]) -> None:
    first, second = places("0", "1/2").places

    assert (first.early, second.late) == (300_000, 300_000)


# On time: 20 % of the gap to the nearer neighbour, at least 30 ms, at most 80 ms.
@pytest.mark.parametrize(
    ("gap", "tolerance"),
    [
        ("149/1000", 30_000),
        ("15/100", 30_000),
        ("155/1000", 31_000),
        ("395/1000", 79_000),
        ("4/10", 80_000),
        ("41/100", 80_000),
    ],
)
def test_on_time_is_a_fifth_of_the_gap_within_its_limits(
    gap: str, tolerance: int, places: Callable[..., Places]
) -> None:
    assert [place.tolerance for place in places("0", gap, "3").places] == [tolerance, tolerance, 80_000]


def test_a_lone_place_has_the_widest_windows_and_tolerance(places: Callable[..., Places]) -> None:
    (only,) = places("1").places

    assert (only.early, only.late, only.tolerance) == (300_000, 300_000, 80_000)


def test_a_told_tolerance_holds_everywhere(places: Callable[..., Places]) -> None:
    assert {place.tolerance for place in places("0", "1/8", "3", tolerance_ms=45.0).places} == {45_000}


@pytest.mark.parametrize(
    ("time", "index"),
    [
        (-300_001, None),
        (-300_000, 0),
        (249_999, 0),
        (250_000, 0),  # half-way: the earlier
        (250_001, 1),
        (800_000, 1),
        (800_001, None),
        (1_699_999, None),
        (1_700_000, 2),
        (2_300_000, 2),
        (2_300_001, None),
    ],
)
def test_a_note_belongs_to_the_nearest_place_in_whose_window_it_lies(
    time: int, index: int | None, places: Callable[..., Places]
) -> None:
    found = places("0", "1/2", "2").at(time)

    assert (None if found is None else found.index) == index


def test_the_notes_of_a_pinch_are_one_place(mixed: Arrangement) -> None:
    places = places_of(PassPlan(mixed, 80.0, last=1))

    assert [len(place.plucks) for place in places.places] == [1, 1, 2, 1, 2, 3, 1]


def test_half_a_slot_goes_by_the_measures_own_slot(solo: Callable[..., Arrangement]) -> None:
    coarse = solo([("0", 3, 0)], [("0", 3, 0)])
    own = replace(coarse, measures=(coarse.measures[0], replace(coarse.measures[1], slot=Fraction(1, 4))))

    assert [place.half_slot for place in places_of(PassPlan(own, 60.0)).places] == [250_000, 125_000]


def test_windows_follow_the_bounce(solo: Callable[..., Arrangement]) -> None:
    swung = places_of(PassPlan(solo([("0", 3, 0), ("1/2", 2, 0), ("1", 1, 0)]), 60.0, bounce=60))

    assert swung.times == (0, 600_000, 1_000_000)
    assert [(place.early, place.late) for place in swung.places][1] == (300_000, 200_000)


def test_slurs_know_their_pick_and_what_they_leave(mixed: Arrangement) -> None:
    places = places_of(PassPlan(mixed, 80.0, last=1))
    slurred = [pluck for pluck in places.expected if not pluck.picked]

    assert [(pluck.id, places.expected[pluck.pick or 0].id) for pluck in slurred] == [
        ("m1e2", "m1e1"),
        ("m1e6", "m1e5"),
        ("m1e11", "m1e9"),
    ]
    assert [slur.source_pitch for place in places.places for slur in place.slurs] == [57, 52, 57]


def test_a_slur_of_a_slur_goes_back_to_the_pick(solo: Callable[..., Arrangement]) -> None:
    chain = solo(
        [
            ("0", 3, 2),
            ("1/2", 3, 3, {"technique": "hammer-on", "from_fret": 2}),
            ("1", 3, 2, {"technique": "pull-off", "from_fret": 3}),
        ]
    )
    places = places_of(PassPlan(chain, 80.0))

    assert [(pluck.source, pluck.pick) for pluck in places.expected] == [(None, None), (0, 0), (1, 0)]
    assert len({pluck.group for pluck in places.expected}) == 1


def test_a_slur_whose_pick_lies_before_the_pass_has_none(solo: Callable[..., Arrangement]) -> None:
    split = solo([("7/2", 3, 2)], [("0", 3, 3, {"technique": "hammer-on", "from_fret": 2})])
    (pluck,) = places_of(PassPlan(split, 80.0, first=2)).expected

    assert (pluck.pick, pluck.source) == (None, None)


def test_a_pinch_and_a_slur_that_meet_are_one_group(mixed: Arrangement) -> None:
    places = places_of(PassPlan(mixed, 80.0, last=1))
    groups: dict[int, list[str]] = {}
    for pluck in places.expected:
        groups.setdefault(pluck.group, []).append(pluck.id)

    assert list(groups.values()) == [
        ["m1e1", "m1e2"],
        ["m1e3", "m1e4"],
        ["m1e5", "m1e6", "m1e7"],
        ["m1e8", "m1e9", "m1e10", "m1e11"],
    ]


def test_melody_plucks_are_those_of_the_role_and_those_that_carry_a_kept_melody_note(
    solo: Callable[..., Arrangement],
) -> None:
    plain = solo([("0", 3, 0, {"role": "melody"}), ("1", 2, 0), ("2", 1, 0)])
    note = replace(plain.measures[0].melody[0], at=Fraction(1), pluck="m1e2")
    dropped = replace(note, at=Fraction(2), kept=False, pluck="m1e3")
    measure = replace(plain.measures[0], melody=(note, dropped))
    places = places_of(PassPlan(replace(plain, measures=(measure,)), 80.0))

    assert [pluck.melody for pluck in places.expected] == [True, True, False]


def test_the_pass_ends_with_its_last_window_or_its_last_measure(places: Callable[..., Places]) -> None:
    assert places("0").end == 4_000_000
    assert places("39/10").end == 4_200_000


def test_who_plays_the_same_again_has_the_same_places_in_a_plan_of_their_own(
    solo: Callable[..., Arrangement],
) -> None:
    lane = solo([("0", 3, 0), ("1", 3, 0)])
    first, second = places_of(PassPlan(lane, 60.0)), places_of(PassPlan(lane, 60.0, origin=9.0, number=2))

    assert second.places is first.places
    assert (first.plan.origin, second.plan.origin, second.plan.number) == (0.0, 9.0, 2)


@pytest.mark.parametrize("other", [{"tempo": 61.0}, {"last": 1, "first": 1}, {"bounce": 60}])
def test_what_is_played_otherwise_has_places_of_its_own(
    solo: Callable[..., Arrangement], other: dict[str, float]
) -> None:
    lane = solo([("0", 3, 0), ("1/2", 3, 0), ("1", 3, 0)])
    plan = PassPlan(lane, 60.0)

    assert places_of(replace(plan, **other)).places is not places_of(plan).places  # type: ignore[arg-type]
    assert places_of(plan, tolerance_ms=5.0).places[0].tolerance == 5_000
    assert places_of(plan).places[0].tolerance != 5_000


def test_two_solos_that_are_alike_are_not_taken_for_one(solo: Callable[..., Arrangement]) -> None:
    lane = solo([("0", 3, 0)])
    alike = replace(lane)

    assert alike == lane
    assert places_of(PassPlan(alike, 60.0)).places is not places_of(PassPlan(lane, 60.0)).places
