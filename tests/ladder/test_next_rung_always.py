"""What holds of every rung, whatever was played before."""

from __future__ import annotations

import json
import re
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from ladder_here import MINUTE, Player, course

from coach.ladder import sitting
from coach.ladder.fading import Learned
from coach.ladder.policies import MOST_UP
from coach.ladder.rungs import Rung
from coach.ladder.standing import Wishes, from_dict, to_dict, wished

COUNT = 6
ROUNDED = 0.5
REPEATS = {4: 1, 5: 2}
OTHER = Learned("u", "beginner", 96.0, 900.0, 20.0)

POLICIES = st.sampled_from(["coach", "coach", "three clean", "every pass", "steps"])
FAULTS = st.dictionaries(st.integers(1, COUNT), st.sampled_from(["late", "missed", ""]), max_size=3)
STEPS = st.fixed_dictionaries(
    {
        "faults": st.just({}) | FAULTS,
        "follows": st.sampled_from([True, True, True, False]),
        "tempo": st.floats(45, 130),
        "tier": st.sampled_from(["beginner", "intermediate"]),
        "part": st.none() | st.tuples(st.integers(1, 3), st.integers(3, COUNT)),
        "mix": st.sampled_from([(), (), (1, 4), (1, 2, 4, 5)]),
        "whole": st.sampled_from([True, True, True, False]),
        "marked": st.booleans(),
        "pause": st.sampled_from([0.0, 0.0, 0.0, 6.0, 200.0, 3000.0]),
    }
)


def played(player: Player, step: dict[str, object]) -> Rung:
    """A pass through what is offered, or through what the player chose."""
    rung = player.rung()
    if rung.tune == "u" or not step["follows"]:
        first, last = step["part"] or (None, None)
        mix = step["mix"] if step["tier"] == "beginner" else ()
        rung = player.whole(step["tempo"], tier=step["tier"], first=first, last=last, mix=mix)
    faults = {n: f for n, f in step["faults"].items() if (rung.first or 1) <= n <= (rung.last or COUNT)}
    player.day += step["pause"] * MINUTE
    return player.play(rung, faults, marked=step["marked"], whole=step["whole"])


def beginning(
    policy: str, tempo: float, minutes: float | None, last: tuple[float, float] | None, cap: float | None = None
) -> Player:
    wishes = Wishes(40.0, 120.0, policy, cap=cap)
    player = Player(course=course(COUNT, REPEATS, 2), wishes=wishes, tempo=tempo, learned=[OTHER])
    last_minutes, last_tempo = last or (None, None)
    player.sitting = sitting.begun(minutes, last_minutes=last_minutes, last_tempo=last_tempo)
    return player


PLAYERS = st.builds(
    beginning,
    POLICIES,
    st.floats(40, 120),
    st.none() | st.floats(1, 60),
    st.none() | st.tuples(st.floats(5, 40), st.floats(50, 110)),
)

CAPPED = st.builds(
    beginning,
    POLICIES,
    st.floats(40, 120),
    st.none() | st.floats(1, 60),
    st.none() | st.tuples(st.floats(5, 40), st.floats(50, 110)),
    st.floats(30, 130),
)


@settings(max_examples=40)
@given(PLAYERS, st.lists(STEPS, min_size=1, max_size=10))
def test_every_rung_keeps_the_rules(player: Player, steps: list[dict[str, object]]) -> None:
    for step in steps:
        rung = played(player, step)
        standing = player.standing
        floor, goal = standing.wishes.floor, standing.wishes.goal
        # Within floor and goal; something known has a goal of its own.
        assert floor <= rung.tempo <= goal or rung.kind == "known"
        # Never up by more than the hands are used to.
        if standing.wishes.policy == "coach" and rung.kind != "known":
            highest = max([standing.tempo, *(past.tempo for past in standing.passes)])
            assert rung.tempo <= max(floor, MOST_UP * highest) + ROUNDED
        if standing.mix and rung.kind in ("whole", "spot"):
            assert rung.tempo <= standing.tempo + ROUNDED
        # In a longer sitting no tempo is raised.
        limit = sitting.most_tempo(player.sitting)
        assert limit is None or rung.tempo <= max(floor, limit)
        # It is whole.
        assert rung.tempo == round(rung.tempo)
        # What repeats is of one tier.
        assert all((number in rung.mix) == (of in rung.mix) for number, of in REPEATS.items())
        # It can be played.
        assert 1 <= (rung.first or 1) <= (rung.last or COUNT) <= COUNT
        assert rung.tier in ("beginner", "intermediate")
        # It is explained in one sentence.
        assert re.fullmatch(r"[A-Z][^.]*\.", rung.why)
        assert f"{rung.tempo:.0f}" in rung.why or rung.why.endswith("this solo is yours.")
        # And where the player stands can be kept.
        assert from_dict(json.loads(json.dumps(to_dict(standing)))) == standing


@settings(max_examples=25)
@given(CAPPED, st.lists(STEPS, min_size=1, max_size=10))
def test_no_rung_of_any_kind_is_above_the_cap(player: Player, steps: list[dict[str, object]]) -> None:
    cap = player.wishes.cap
    assert cap is not None
    for step in steps:
        rung = played(player, step)
        assert rung.tempo <= cap
        assert rung.tempo >= min(player.wishes.floor, int(cap))
        assert rung.tempo == round(rung.tempo)
        assert re.fullmatch(r"[A-Z][^.]*\.", rung.why)
        # The goal stays the goal.
        assert player.standing.wishes.goal == 120.0
        assert player.standing.won == 0 or any(past.tempo >= 120.0 or past.mix for past in player.standing.passes)
        assert from_dict(json.loads(json.dumps(to_dict(player.standing)))) == player.standing


@settings(max_examples=15)
@given(CAPPED, st.lists(STEPS, max_size=6))
def test_who_takes_a_cap_away_is_offered_what_was_held_back(player: Player, steps: list[dict[str, object]]) -> None:
    for step in steps:
        played(player, step)
    capped = player.rung()
    player.standing = wished(player.standing, replace(player.wishes, cap=None))
    free = player.rung()

    assert player.wishes.cap is not None
    if capped.kind == free.kind:
        assert capped.tempo == min(int(player.wishes.cap), free.tempo)
        assert ("says your teacher" in capped.why) == (capped.tempo < free.tempo)


@settings(max_examples=20)
@given(PLAYERS, st.lists(STEPS, max_size=8))
def test_a_pass_that_was_stopped_moves_neither_tempo_nor_what_was_won(
    player: Player, steps: list[dict[str, object]]
) -> None:
    for step in steps:
        played(player, step)
    rung = player.rung()
    if rung.kind not in ("whole", "part"):
        rung = player.whole(80.0)
    at = replace(player.standing, policy=player.standing.policy.at(rung.tempo))
    player.play(rung, whole=False)

    assert player.standing.tempo == at.tempo
    assert player.standing.won in (at.won, 0)
    if (rung.tier, rung.mix) == (at.tier, at.mix):
        assert player.standing.won == at.won
        assert player.standing.policy == at.policy


@settings(max_examples=5)
@given(st.lists(FAULTS, min_size=4, max_size=15))
def test_the_same_passes_give_the_same_rungs(faults: list[dict[int, str]]) -> None:
    def rungs() -> list[Rung]:
        player = beginning("coach", 60.0, None, None)
        return [played(player, {**FOLLOWS, "faults": each}) for each in faults]

    assert rungs() == rungs()


FOLLOWS: dict[str, object] = {
    "follows": True,
    "tempo": 60.0,
    "tier": "beginner",
    "part": None,
    "mix": (),
    "whole": True,
    "marked": False,
    "pause": 0.0,
}
