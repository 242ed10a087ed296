"""What a teacher has set, in a session: it holds for its tune, in words, and only as long as it is on."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

import pytest

from coach.errors import InputError, RecordsError
from coach.service import protocol as wire
from coach.service.kept_lesson import KeptLesson, Left
from coach.service.lesson import NoLesson
from coach.studio.rules import Assignment, Rules, Setting

RULES = Rules("Ruth", 100.0, "steps", 5.0, 3, 40.0, 80.0, "not above 80 this week")


@dataclass
class Set(NoLesson):
    """A lesson with rules by tune, which counts how often it was to be read anew."""

    rules: dict[str, Rules] = field(default_factory=dict)
    read: int = 0

    def reread(self) -> None:
        self.read += 1

    def rules_of(self, tune: str) -> Rules | None:  # type: ignore[override]
        return self.rules.get(tune)


def state(page: Any) -> Any:
    return page.last(wire.State)


@pytest.fixture
def lane(world: Any) -> Any:
    world.ready()
    world.session.lesson = Set({world.tune.id: RULES})
    return world


def test_it_holds_at_once_and_the_players_own_comes_back(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=90.0, goal=120.0, policy="every pass", tolerance_ms=60.0))
    world.session.lesson = Set({world.tune.id: RULES})
    world.session.ruled()

    held = state(page)
    assert (held.goal, held.policy, held.step, held.clean_needed, held.tolerance_ms) == (100.0, "steps", 5.0, 3, 40.0)
    assert held.tempo == 80.0

    world.session.lesson = NoLesson()
    world.session.ruled()
    own = state(page)
    assert (own.goal, own.policy, own.step, own.clean_needed, own.tolerance_ms) == (120.0, "every pass", 4.0, 2, 60.0)


def test_a_tempo_above_the_cap_is_less_and_it_is_said(lane: Any) -> None:
    page = lane.page()
    page.say(wire.Settings(tempo=95.0))

    assert state(page).tempo == 80.0
    assert page.last(wire.Failure) == wire.Failure("Not above 80 this week, says Ruth.", "assigned")


def test_what_is_set_cannot_be_changed_and_nothing_of_the_message_is(lane: Any) -> None:
    page = lane.page()
    lane.session.ruled()
    with pytest.raises(InputError, match="goal is set by Ruth"):
        lane.session.take(page.page, wire.Settings(goal=120.0, click_level=0.2))

    assert (state(page).goal, state(page).click_level) == (100.0, 0.7)


@pytest.fixture
def play(as_written: Any, solos: Any) -> Callable[..., Any]:
    """Plays a pass of the tune at hand, as far as is said."""

    def played(world: Any, page: Any, last: int = 4) -> None:
        page.say(wire.Start())
        begin = page.last(wire.Begin)
        origin = float(begin.origin or page.now() + 0.2 + begin.lead)
        world.play(page, as_written(solos["beginner"], begin.tempo, 1, last), until=begin.length + 0.6, origin=origin)

    return played


def test_rungs_and_passes_again_are_no_faster_than_the_cap(lane: Any, play: Any) -> None:
    page = lane.page()
    lane.session.lesson = NoLesson()
    page.say(wire.Settings(tempo=120.0))
    play(lane, page)
    assert state(page).rung.tempo == 120.0

    lane.session.lesson = Set({lane.tune.id: replace(RULES, goal=120.0)})
    lane.session.ruled()

    assert state(page).rung.tempo == 80.0
    assert "says your teacher" in state(page).rung.why
    page.say(wire.Again())
    assert page.last(wire.Begin).tempo == pytest.approx(80.0, abs=0.01)


@pytest.mark.parametrize(("last", "read"), [(4, 1), (1, 0)])
def test_what_was_reached_is_read_anew_behind_a_clean_pass(lane: Any, play: Any, last: int, read: int) -> None:
    page = lane.page()
    play(lane, page, last)

    assert page.last(wire.PracticeReport).clean is (read == 1)
    assert lane.session.lesson.read == read


def test_what_was_found_in_a_pass_is_kept_with_it(lane: Any, as_written: Any, solos: Any) -> None:
    page = lane.page()
    page.say(wire.Settings(tempo=60.0))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = float(begin.origin or page.now() + 0.2 + begin.lead)
    late = [(seconds + 0.03, data) for seconds, data in as_written(solos["beginner"], begin.tempo)]
    lane.play(page, late, until=begin.length + 0.6, origin=origin)

    assert [each.name for each in lane.memory.passes[-1].found] == ["leaning behind"]


def test_what_is_kept_of_the_settings_is_the_players_own(lane: Any) -> None:
    page = lane.page()
    page.say(wire.Settings(tempo=90.0, click_level=0.3))
    kept = lane.memory.settings

    assert kept["click_level"] == 0.3
    assert (kept["goal"], kept["policy"], kept.get("tolerance_ms")) == (120.0, "coach", None)


def test_what_could_not_be_read_is_asked_for_again_and_holds_then(world: Any) -> None:
    world.ready()
    page = world.page()
    setting = Setting(world.tune.id, "Test Lane", "beginner", 100.0, cap=80.0)
    left = Left([(Assignment("a", "home", "Reed", "Ruth", "2026-01-01T00:00:00Z", None, setting), None)])
    answers: list[Left | RecordsError] = [RecordsError("the records cannot be used (locked)"), left]

    async def ask(_: object) -> Left:
        answer = answers.pop(0)
        if isinstance(answer, RecordsError):
            raise answer
        return answer

    world.session.lesson = KeptLesson(world.session, ask, asyncio.run, lambda: datetime(2026, 1, 2, tzinfo=UTC))
    assert page.last(wire.Failure).about == "records"

    page.say(wire.Settings(tempo=95.0))
    page.say(wire.Settings(tempo=95.0))

    assert answers == []
    assert (state(page).tempo, len(page.last(wire.Assigned).assignments)) == (80.0, 1)
