"""What a teacher has set holds over the player's own settings, and these come back behind it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import InputError
from coach.service.held import clamped, own_of, refuse, ruled
from coach.service.protocol import Settings
from coach.service.settings import Chosen, changed
from coach.studio.rules import Rules

OWN = Chosen(tune="t", tempo=90.0, goal=120.0, floor=50.0, policy="coach", tolerance_ms=None)
RULES = Rules("Ruth", 100.0, "steps", 5.0, 3, 40.0, 80.0, "not above 80 this week")


def test_what_is_set_holds() -> None:
    held, aside = ruled(OWN, RULES)

    assert (held.goal, held.policy, held.step, held.clean_needed, held.tolerance_ms) == (100.0, "steps", 5.0, 3, 40.0)
    assert (held.tempo, held.floor) == (80.0, 50.0)
    assert own_of(held, aside) == replace(OWN, tempo=80.0)


def test_without_rules_nothing_is_touched() -> None:
    assert ruled(OWN, None) == (OWN, {})
    assert own_of(OWN, {}) == OWN


def test_what_is_not_set_is_the_players_own() -> None:
    held, aside = ruled(OWN, Rules("Ruth", 100.0))

    assert held == replace(OWN, goal=100.0)
    assert dict(aside) == {"goal": 120.0, "floor": 50.0}


@given(
    st.tuples(st.floats(20, 400), st.floats(20, 400), st.floats(20, 400)),
    st.floats(20, 400),
    st.none() | st.floats(20, 400),
    st.lists(st.builds(Settings, tempo=st.none() | st.floats(20, 400), click_level=st.none() | st.floats(0, 1))),
)
def test_whatever_is_chosen_the_tempo_is_within_what_is_set(
    tempos: tuple[float, float, float], goal: float, cap: float | None, messages: list[Settings]
) -> None:
    floor, tempo, own_goal = sorted(tempos)
    rules = Rules("Ruth", goal, cap=cap, cap_words="not above that")
    held, aside = ruled(Chosen(tune="t", floor=floor, tempo=tempo, goal=own_goal), rules)
    for message in messages:
        asked, _ = clamped(message, rules)
        held, aside = ruled(changed(own_of(held, aside), asked), rules)
        assert 0 < held.floor <= held.tempo <= min(goal, cap or goal)
        assert held.goal == goal
    before = held.tempo
    own = own_of(held, aside)
    assert own.floor <= own.tempo <= own.goal
    assert own.tempo == before


@pytest.mark.parametrize(
    ("message", "words"),
    [
        (Settings(goal=110.0), "the goal is set by Ruth for this tune; leave it at 100, or ask your teacher."),
        (Settings(policy="coach"), "the way in which the tempo moves is set by Ruth for this tune; leave it at steps"),
        (Settings(step=4.0), "the step of the tempo is set by Ruth"),
        (Settings(clean_needed=2), "the number of clean passes before a step is set by Ruth"),
        (Settings(tolerance_ms=50.0), "the tolerance is set by Ruth for this tune; leave it at 40"),
    ],
)
def test_what_is_set_cannot_be_changed(message: Settings, words: str) -> None:
    with pytest.raises(InputError) as caught:
        refuse(message, RULES)

    assert str(caught.value).startswith(words)


def test_choosing_an_assignment_by_its_own_fields_is_no_change() -> None:
    refuse(Settings(tune="t", tier="beginner", mix=[], goal=100.0, policy="steps", step=5.0, clean_needed=3), RULES)
    refuse(Settings(goal=110.0), None)
    refuse(Settings(goal=100.0, policy="coach"), Rules("Ruth", 100.0))


@pytest.mark.parametrize(
    ("rules", "tempo", "taken", "words"),
    [
        (RULES, 80.0, 80.0, ""),
        (RULES, 80.1, 80.0, "Not above 80 this week, says Ruth."),
        (replace(RULES, by=""), 90.0, 80.0, "Not above 80 this week, says your teacher."),
        (Rules("Ruth", 100.0), 100.5, 100.0, "The goal of this tune is 100, says Ruth: no faster than that."),
        (Rules("Ruth", 100.0, cap=140.0, cap_words="x"), 120.0, 100.0, "The goal of this tune is 100, says Ruth"),
        (None, 300.0, 300.0, ""),
    ],
)
def test_a_tempo_that_is_too_fast_is_less_in_words(rules: Rules | None, tempo: float, taken: float, words: str) -> None:
    message, said = clamped(Settings(tempo=tempo), rules)

    assert message.tempo == taken
    assert said.startswith(words)
    assert bool(said) == bool(words)
