"""Where a player stands with a tune, and how that is kept."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ladder_here import Player, course

from coach.ladder.policies import ByCurve, FixedSteps, Transformed, Weighted
from coach.ladder.standing import MOST_PAST, Past, Standing, Wishes, begun, fitted, from_dict, to_dict, wished

WISHES = Wishes(40.0, 120.0)


@pytest.mark.parametrize(
    ("wishes", "rule"),
    [
        (WISHES, ByCurve(80.0, 40.0, 120.0)),
        (replace(WISHES, policy="three clean"), Transformed(80.0, 40.0, 120.0, clean_needed=3)),
        (replace(WISHES, policy="every pass"), Weighted(80.0, 40.0, 120.0)),
        (
            replace(WISHES, policy="steps", step=5.0, clean_needed=4),
            FixedSteps(80.0, 40.0, 120.0, up=5.0, down=5.0, clean_needed=4),
        ),
    ],
)
def test_the_rule_of_the_tempo_is_the_one_that_is_wished(wishes: Wishes, rule: object) -> None:
    assert begun("t", "beginner", 80.0, wishes).policy == rule
    assert wished(begun("t", "beginner", 80.0, WISHES), wishes).policy == rule


@pytest.mark.parametrize(("tempo", "at"), [(30.0, 40.0), (200.0, 120.0), (77.0, 77.0)])
def test_it_begins_within_floor_and_goal(tempo: float, at: float) -> None:
    assert begun("t", "beginner", tempo, WISHES).tempo == at


def test_another_goal_takes_the_tempo_along_and_what_was_earned_away() -> None:
    standing = replace(begun("t", "beginner", 110.0, WISHES), won=2, jammed=True, keeps=9.0)
    lower = wished(standing, Wishes(40.0, 100.0))

    assert (lower.tempo, lower.won, lower.jammed, lower.keeps) == (100.0, 0, False, 0.0)
    assert wished(standing, Wishes(115.0, 120.0)) == replace(
        standing, wishes=Wishes(115.0, 120.0), policy=ByCurve(115.0, 115.0, 120.0)
    )


def test_a_row_of_clean_passes_stays_with_other_limits_and_ends_with_another_rule() -> None:
    steps = Wishes(40.0, 120.0, "steps")
    standing = begun("t", "beginner", 80.0, steps)
    standing = replace(standing, policy=standing.policy.after(clean=True))

    assert wished(standing, replace(steps, floor=50.0)).policy == FixedSteps(80.0, 50.0, 120.0, clean_in_a_row=1)
    assert wished(standing, replace(steps, step=2.0)).policy == FixedSteps(80.0, 40.0, 120.0, up=2.0, down=2.0)


def test_the_same_wishes_change_nothing() -> None:
    standing = replace(begun("t", "beginner", 80.0, WISHES), won=2)

    assert wished(standing, Wishes(40.0, 120.0)) is standing


@pytest.mark.parametrize(
    "fields",
    [
        {"floor": 0.0},
        {"floor": 121.0},
        {"goal": float("inf")},
        {"floor": float("nan")},
        {"step": 0.0},
        {"step": float("inf")},
        {"clean_needed": 0},
    ],
)
def test_wishes_out_of_range_are_refused(fields: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="must be"):
        replace(WISHES, **fields)


def test_a_rule_with_other_limits_than_wished_is_a_slip() -> None:
    with pytest.raises(ValueError, match="floor and the goal"):
        Standing("t", "beginner", WISHES, ByCurve(80.0, 40.0, 130.0))


def test_a_pass_is_remembered_with_its_faults() -> None:
    player = Player()
    past = Past.of(player.seen(faults={3: "late", 2: "missed"}), counts=True)

    assert past.faults == ((2, "missed"), (3, "late"))
    assert past.clean == (1, 4, 5, 6, 7, 8)
    assert not past.is_clean


def test_no_more_than_the_last_passes_are_remembered() -> None:
    player = Player()
    for _ in range(MOST_PAST + 2):
        player.play(player.whole())

    assert len(player.standing.passes) == MOST_PAST
    assert player.standing.passes[-1].day == player.day


@pytest.mark.parametrize("policy", ["coach", "three clean", "every pass", "steps"])
def test_a_standing_survives_being_written_as_json(policy: Any) -> None:
    player = Player(wishes=Wishes(40.0, 120.0, policy))
    for fault in ({}, {2: "late", 3: ""}, {}):
        player.play(faults=fault)
    player.play(player.whole(90.0, mix=(1, 2)))
    player.play(player.whole(90.0, mix=(1, 2), first=2, last=3))

    assert from_dict(json.loads(json.dumps(to_dict(player.standing)))) == player.standing


@given(
    st.builds(
        Past,
        kind=st.sampled_from(["whole", "part", "spot", "warm-up", "known", "jam"]),
        tier=st.sampled_from(["beginner", "advanced"]),
        tempo=st.floats(20, 400),
        day=st.floats(0, 1e5),
        is_clean=st.booleans(),
        mix=st.lists(st.integers(0, 99), max_size=4).map(tuple),
        first=st.none() | st.integers(0, 99),
        last=st.none() | st.integers(0, 99),
        whole=st.booleans(),
        judged=st.sampled_from(["heard", "marked"]),
        counts=st.booleans(),
        clean=st.lists(st.integers(0, 99), max_size=4).map(tuple),
        faults=st.lists(st.tuples(st.integers(0, 99), st.text(max_size=8)), max_size=4).map(tuple),
    ),
    st.floats(20, 200),
    st.integers(0, 9),
    st.floats(0, 60),
)
def test_any_standing_survives_being_written_as_json(past: Past, tempo: float, won: int, keeps: float) -> None:
    standing = replace(begun("t", "beginner", tempo, WISHES), passes=(past,), won=won, keeps=keeps, day=past.day)

    assert from_dict(json.loads(json.dumps(to_dict(standing)))) == standing


def test_it_tells_its_tempo_to_readers_of_the_file() -> None:
    told = to_dict(begun("t", "beginner", 84.0, WISHES))

    assert (told["tier"], told["tempo"]) == ("beginner", 84.0)


def broken(**fields: Any) -> dict[str, Any]:
    return {**to_dict(begun("t", "beginner", 84.0, WISHES)), **fields}


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"tier": "beginner", "tempo": 80.0, "floor": 40.0, "goal": 120.0},
        broken(format="standing/0"),
        broken(tier=None),
        broken(wishes={"floor": 120.0, "goal": 40.0}),
        broken(wishes={"floor": 30.0, "goal": 120.0}),
        broken(policy=None),
        broken(policy={"name": "fast"}),
        broken(passes=[{"kind": "dance"}]),
        broken(won="three"),
        {key: value for key, value in broken().items() if key != "policy"},
    ],
)
def test_what_is_no_standing_is_refused_in_words(data: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"standing|rules of the tempo|must be|must have"):
        from_dict(data)


def test_a_standing_is_fitted_to_solos_that_were_written_anew() -> None:
    standing = replace(begun("t", "beginner", 84.0, WISHES), mix=(2, 3), new=(3,), won=1, first=2, last=3)

    assert fitted(standing, course()) == standing
    assert fitted(standing, course(2)) == replace(standing, mix=(), new=(), won=0)
    assert fitted(standing, course(1)) == replace(standing, mix=(), new=(), won=0, first=None, last=None)
    assert fitted(standing, course(tiers=1)) == replace(standing, mix=(), new=(), won=0)
    assert fitted(replace(standing, tier="advanced", mix=()), course(tiers=2)) is None
