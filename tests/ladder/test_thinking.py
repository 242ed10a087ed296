"""What is thought of what the player has chosen otherwise."""

from __future__ import annotations

from dataclasses import replace

import pytest
from ladder_here import Player

from coach.ladder import sitting
from coach.ladder.rungs import Wanted
from coach.ladder.spots import ready_whole
from coach.ladder.standing import Wishes
from coach.ladder.thinking import FAR, thinks


def practised(won: int = 0) -> Player:
    """A player who is clean at 70 and not at 90."""
    player = Player(wishes=Wishes(40.0, 120.0))
    for _ in range(6):
        player.play(player.whole(70.0))
        player.play(player.whole(90.0), dict.fromkeys(range(1, 9), "late"))
    player.standing = replace(player.standing, won=won)
    return player


def test_it_agrees_with_what_is_ready_and_with_what_is_easier() -> None:
    player = practised()

    assert thinks(player.here, Wanted("beginner", 60.0)) == ""
    player.standing = replace(player.standing, tier="intermediate")
    assert thinks(player.here, Wanted("beginner", 60.0)) == ""


def test_a_tempo_far_above_what_is_ready_is_told_with_both() -> None:
    player = practised()
    ready = ready_whole(player.here.own())

    assert thinks(player.here, Wanted("beginner", FAR * ready - 0.1)) == ""
    assert thinks(player.here, Wanted("beginner", 119.6)) == (
        f"The whole is ready at about {ready:.0f}, and 120 is far above that."
    )


@pytest.mark.parametrize(
    ("first", "last", "words"), [(3, 3, "Measure 3 is ready at about "), (3, 5, "Measures 3 to 5 are ready at about ")]
)
def test_of_measures_that_the_player_chose_it_tells_what_they_are_ready_for(first: int, last: int, words: str) -> None:
    assert thinks(practised().here, Wanted("beginner", 150.0, first=first, last=last)).startswith(words)


def test_of_a_player_it_knows_nothing_of_it_says_nothing() -> None:
    assert thinks(Player().here, Wanted("beginner", 300.0)) == ""


@pytest.mark.parametrize(("won", "often"), [(0, "three times"), (1, "twice more"), (2, "once more")])
def test_a_tier_that_is_not_earned_would_come_later(won: int, often: str) -> None:
    words = f"The beginner solo would come first, until it is clean at 120 {often}."

    assert thinks(practised(won).here, Wanted("intermediate", 40.0)) == words
    assert thinks(practised(won).here, Wanted("advanced", 40.0)) == words
    assert thinks(practised(won).here, Wanted("beginner", 40.0, mix=(1,))) == words


def test_the_next_tier_is_earned_and_the_one_behind_it_not_yet() -> None:
    here = practised(won=3).here

    assert thinks(here, Wanted("intermediate", 40.0)) == ""
    assert thinks(here, Wanted("beginner", 40.0, mix=(1,))) == ""
    assert thinks(here, Wanted("advanced", 40.0)) == (
        "The intermediate solo would come first, until it is clean at 120 three times."
    )


def test_while_the_next_tier_comes_in_it_would_come_by_measures() -> None:
    here = practised().here
    here = replace(here, standing=replace(here.standing, mix=(1, 2)))

    assert thinks(here, Wanted("intermediate", 40.0)) == "The intermediate solo would come in measure by measure."
    assert thinks(here, Wanted("beginner", 40.0, mix=(1, 2, 3))) == ""
    assert thinks(here, Wanted("beginner", 40.0)) == ""


def test_a_tempo_that_is_raised_in_a_longer_sitting_is_told_before_all_else() -> None:
    here = replace(practised().here, sitting=sitting.begun(40.0, last_minutes=30.0, last_tempo=70.0))

    assert thinks(here, Wanted("advanced", 71.0)) == (
        "Today there are more minutes than last time, so no faster than 70 would be better."
    )
    assert thinks(here, Wanted("beginner", 70.2)) == ""


def test_what_has_just_come_clean_is_not_too_fast() -> None:
    player = Player(wishes=Wishes(40.0, 200.0))
    player.play(player.whole(60.0), dict.fromkeys(range(1, 9), "late"))
    wanted = Wanted("beginner", 140.0)
    assert "far above" in thinks(player.here, wanted)

    player.play(player.whole(140.0))
    assert thinks(player.here, wanted) == ""
    player.play(player.whole(140.0), dict.fromkeys(range(1, 9), "late"))
    assert "far above" in thinks(player.here, wanted)
