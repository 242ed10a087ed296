"""Why a rung is offered."""

from __future__ import annotations

from dataclasses import replace

import pytest
from ladder_here import Player

from coach.ladder import sitting
from coach.ladder.policies import ByCurve, Transformed
from coach.ladder.reasons import why, why_spot
from coach.ladder.rungs import Rung
from coach.ladder.spots import ready_whole
from coach.ladder.standing import PolicyName, Wishes

LATE = {2: "late", 5: "late"}


def player(policy: PolicyName = "steps", tempo: float = 80.0, **wishes: float) -> Player:
    return Player(wishes=Wishes(**{"floor": 40.0, "goal": 120.0, **wishes}, policy=policy), tempo=tempo)


def test_a_sitting_begins_where_the_player_stands() -> None:
    here = player().here

    assert why(here, 80.0) == "The whole at 80, to begin with."
    part = replace(here, standing=replace(here.standing, first=3, last=4))
    assert why(part, 80.0) == "Measures 3 and 4 at 80, to begin with."


@pytest.mark.parametrize(
    ("faults", "tempo", "words"),
    [
        ({}, 84.0, "Clean: up to 84."),
        ({}, 120.0, "Clean: up to 120, the goal."),
        ({}, 80.4, "Clean: 80 again, one more in a row to go up."),
        (LATE, 76.0, "Measures 2 and 5 were late: down to 76."),
        (LATE, 80.0, "Measures 2 and 5 were late: 80 again, and down after another like it."),
        (dict.fromkeys(range(1, 5), "late"), 76.0, "Not clean: down to 76."),
        (dict.fromkeys(range(1, 6), "late"), 76.0, "Most of it was not clean: down to 76."),
    ],
)
def test_a_move_of_the_tempo_names_what_it_comes_of(faults: dict[int, str], tempo: float, words: str) -> None:
    one = player()
    one.play(one.whole(80.0), faults)
    policy = replace(one.standing.policy, tempo=tempo)  # that is offered for other reasons than these need not matter
    one.standing = replace(one.standing, policy=policy)

    assert why(one.here, tempo) == words


def test_the_slowest_tempo_is_named_as_that() -> None:
    one = player("every pass", tempo=40.0)

    assert one.play(one.whole(40.0), LATE).why == "Measures 2 and 5 were late: 40 again, which is the slowest."


def test_where_the_slowest_is_still_too_fast_it_is_told_what_would_do() -> None:
    one = player("coach", tempo=80.0, floor=80.0)
    words = [one.play(one.whole(80.0), dict.fromkeys(range(1, 9), "late")).why for _ in range(4)][-1]
    ready = ready_whole(one.here.own())

    assert ready < 60.0
    assert words == f"Most of it was not clean: 80 again, which is the slowest, though about {ready:.0f} would do."


def test_at_the_goal_it_is_told_how_many_passes_are_wanting() -> None:
    one = player(tempo=120.0)

    assert one.play(one.whole(120.0)).why == "Clean at the goal tempo: 120 again, two more to go."
    assert one.play().why == "Clean at the goal tempo: 120 again, one more to go."


@pytest.mark.parametrize(
    ("policy", "words"),
    [
        (Transformed(80.0, 40.0, 120.0, climbing=False, in_a_row=1), "Clean: 80 again, two more in a row to go up."),
        (Transformed(80.0, 40.0, 120.0, climbing=True), "Clean: 80 again."),
        (ByCurve(80.0, 40.0, 120.0), "Clean: 80 again, to be sure of it."),
    ],
)
def test_a_rule_that_counts_says_how_far_it_has_counted(policy: Transformed | ByCurve, words: str) -> None:
    one = player("coach")
    one.play(one.whole(80.0))
    one.standing = replace(one.standing, policy=policy)

    assert why(one.here, 80.0) == words


@pytest.mark.parametrize(
    ("played", "words"),
    [
        (150.0, "Clean at the goal tempo: 150 was played, which is above the goal now, so 120 is next."),
        (30.0, "Clean: 30 was played, which is below the slowest tempo now, so 40 is next."),
    ],
)
def test_a_tempo_beyond_the_limits_is_told(played: float, words: str) -> None:
    one = player()

    assert one.play(one.whole(played)).why == words


def test_back_from_a_spot_it_says_how_that_came_out() -> None:
    one = player(tempo=80.0)
    spot = one.whole(70.0, kind="spot", first=4, last=6)

    assert one.play(spot).why == "Measures 5 and 6 came clean: back into the whole at 80."
    assert one.play(spot, {6: "late"}).why == "Enough of measures 5 and 6 for now: back into the whole at 80."
    assert one.play(spot, {4: "late"}).why == "Measures 5 and 6 came clean: back into the whole at 80."
    first = one.whole(70.0, kind="spot", first=1, last=2)
    assert one.play(first, {1: "late"}).why == "Enough of measures 1 and 2 for now: back into the whole at 80."
    assert one.play(spot, marked=True).why == "Back into the whole at 80."
    assert one.play(one.whole(60.0, kind="warm-up")).why == "The whole at 80."
    assert one.play(one.whole(120.0, kind="jam")).why == "The whole at 80."


def test_a_spot_tells_what_went_wrong_and_how_often() -> None:
    one = player(tempo=80.0)
    for faults in ({}, {5: "early"}, {6: "early", 5: "early"}):
        one.play(one.whole(80.0), faults)

    assert why_spot(one.here, [5, 6], 4, 70.2) == (
        "Measures 5 and 6 were early in 2 of 3 passes: they alone, with a lead-in, at 70."
    )
    assert why_spot(one.here, [6], 5, 70.2) == (
        "Measure 6 was early in 1 of 3 passes: it alone, with a lead-in, at 70."
    )
    assert why_spot(one.here, [1], 1, 70.2) == "Measure 1 holds the tempo back: it alone, at 70."
    assert why_spot(one.here, [2, 3], 1, 70.2) == (
        "Measures 2 and 3 hold the tempo back: they alone, with a lead-in, at 70."
    )


def test_passes_in_another_tier_are_no_evidence() -> None:
    one = player(tempo=80.0)
    one.play(one.whole(80.0), {6: "late"})
    one.play(one.whole(80.0, tier="intermediate"))

    assert why_spot(one.here, [6], 5, 70.0).startswith("Measure 6 holds the tempo back")


@pytest.mark.parametrize(
    ("faults", "words"),
    [
        ({}, "Measure 6 came clean: once more, at 70."),
        ({5: "late"}, "Measure 6 came clean: once more, at 70."),
        ({6: "a wrong note"}, "Measure 6 had a wrong note: once more, at 70."),
    ],
)
def test_the_next_loop_of_a_spot_tells_of_the_last(faults: dict[int, str], words: str) -> None:
    one = player()
    one.play(one.whole(70.0, kind="spot", first=5, last=6), faults)

    assert why_spot(one.here, [6], 5, 70.0) == words


def test_a_marked_loop_is_told_by_its_mark() -> None:
    one = player()
    rung = Rung("spot", "t", "beginner", 70.0, "", first=5, last=6)
    one.play(rung, marked=True, is_clean=False)
    assert why_spot(one.here, [6], 5, 70.0) == "Not clean yet: once more, at 70."

    one.play(rung, marked=True)
    assert why_spot(one.here, [6], 5, 70.0) == "Measure 6 came clean: once more, at 70."


def test_in_a_longer_sitting_it_is_told_why_the_tempo_stays() -> None:
    one = player("every pass", tempo=80.0)
    one.sitting = sitting.begun(None, last_minutes=0.1, last_tempo=80.0)

    assert (
        one.play(one.whole(80.0), minutes=3.0).why == "Clean: 80, for today there are more minutes, so the tempo stays."
    )


def test_what_the_player_marked_is_told_as_that() -> None:
    one = player("every pass", tempo=80.0)

    assert one.play(one.whole(80.0), marked=True).why == "Clean: up to 81 (by your own mark)."
    assert one.play(one.whole(80.0), marked=True, is_clean=False).why == "Not clean: down to 74 (by your own mark)."
