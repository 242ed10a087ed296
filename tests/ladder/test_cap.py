"""A teacher's cap: not above this tempo for now, while the goal stays the goal."""

from __future__ import annotations

from dataclasses import replace

import pytest
from ladder_here import Player

from coach.ladder import sitting
from coach.ladder.fading import Learned
from coach.ladder.standing import Wishes, from_dict, to_dict, wished


def at_the_cap(cap: float, policy: str = "every pass") -> Player:
    return Player(wishes=Wishes(40.0, 120.0, policy, cap=cap), tempo=80.0)  # type: ignore[arg-type]


def test_a_clean_pass_at_the_cap_is_offered_again_and_it_is_said_why() -> None:
    player = at_the_cap(80.0)

    rung = player.play(player.whole(80.0))

    assert (rung.tempo, rung.why) == (80.0, "Clean: 80, not above that for now, says your teacher.")


@pytest.mark.parametrize(("cap", "tempo"), [(79.0, 79.0), (80.0, 80.0), (81.0, 80.0)])
def test_a_tune_begins_no_faster_than_the_cap(cap: float, tempo: float) -> None:
    rung = at_the_cap(cap).rung()

    assert rung.tempo == tempo
    assert ("says your teacher" in rung.why) == (tempo < 80.0)


def test_a_cap_below_the_floor_goes_before_it() -> None:
    assert at_the_cap(35.5).rung().tempo == 35.0


def test_the_cap_is_not_the_goal() -> None:
    player = at_the_cap(80.0)
    for _ in range(5):
        rung = player.play(player.whole(80.0))

    assert player.standing.won == 0
    assert (rung.kind, rung.tier, rung.offers) == ("whole", "beginner", "")


def test_what_was_earned_before_is_played_no_faster_either() -> None:
    player = Player(tempo=120.0)
    for _ in range(3):
        player.play(player.whole(120.0))
    player.standing = wished(player.standing, replace(player.wishes, cap=90.0))

    rung = player.rung()

    assert (rung.kind, rung.tempo) == ("jam", 90.0)
    assert rung.why.endswith("at 90, and never stop, not above that for now, says your teacher.")


@pytest.mark.parametrize(("cap", "tempo"), [(95.0, 95.0), (96.0, 96.0), (97.0, 96.0)])
def test_something_known_at_the_end_is_no_faster_than_the_cap(cap: float, tempo: float) -> None:
    player = Player(
        wishes=Wishes(40.0, 120.0, cap=cap),
        learned=[Learned("u", "beginner", 96.0, 999.0, 20.0)],
        sitting=replace(sitting.begun(20.0), elapsed=19.0),
    )

    rung = player.rung()

    assert (rung.kind, rung.tempo) == ("known", tempo)
    assert ("says your teacher" in rung.why) == (tempo < 96.0)


def test_a_cap_that_comes_and_goes_leaves_where_the_player_stands() -> None:
    player = Player(wishes=Wishes(40.0, 120.0, "three clean"), tempo=60.0)
    for faults in ({}, {1: "late", 2: "late"}, {}):
        player.play(player.whole(player.standing.tempo), faults)
    before = player.standing

    capped = wished(before, replace(player.wishes, cap=50.0))

    assert capped.policy == before.policy
    assert wished(capped, player.wishes) == before


def test_a_standing_that_was_kept_before_there_were_caps_is_read() -> None:
    standing = at_the_cap(80.0).standing
    record = to_dict(standing)
    assert from_dict(record) == standing

    del record["wishes"]["cap"]

    assert from_dict(record).wishes.cap is None


@pytest.mark.parametrize("cap", [0.9, float("inf"), -80.0])
def test_a_cap_is_a_tempo(cap: float) -> None:
    with pytest.raises(ValueError, match="cap"):
        Wishes(40.0, 120.0, cap=cap)
