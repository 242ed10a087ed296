"""Sittings, rungs of other tunes, and what the coach thinks, in a session with pages in memory."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from coach.errors import ArrangeError, CoachError, InputError
from coach.ladder.sitting import COUNTS, REST_EVERY, most_tempo
from coach.ladder.standing import Wishes, begun, to_dict
from coach.service import protocol as wire
from coach.service.jobs import jam_of
from coach.service.memory import Remembered, SittingKept, days_of

TEMPO = 120.0
ROLL = wire.TuneLine("forward-roll-00000001", "Forward roll", "G", "4/4", 4, study=True)
SQUARE = wire.TuneLine("square-roll-00000002", "Square roll", "G", "4/4", 4, study=True)


@pytest.fixture
def lane(world: Any) -> Any:
    """A tune at hand, and two roll studies in the list."""
    world.lines += [ROLL, SQUARE]
    for study in (ROLL, SQUARE):
        world.solos[study.id] = {"beginner": world.solos[world.tune.id]["beginner"]}
    world.ready()
    return world


@pytest.fixture
def play(as_written: Any, solos: Any) -> Callable[..., Any]:
    """Plays a pass that has begun as it is written, in its own tempo."""

    def played(world: Any, page: Any) -> Any:
        begin = page.last(wire.Begin)
        origin = float(begin.origin or page.now() + 0.2 + begin.lead)
        notes = as_written(solos["beginner"], begin.tempo, begin.first, begin.last)
        world.play(page, notes, until=begin.length + 0.6, origin=origin)
        return page.last(wire.PracticeReport)

    return played


def start(page: Any, **settings: Any) -> None:
    page.say(wire.Settings(**({"tempo": TEMPO} | settings)))
    page.say(wire.Start())


def state(page: Any) -> Any:
    return page.last(wire.State)


# ------------------------------------------------------------------------------------------ sittings


def test_a_sitting_begins_with_a_roll_study_and_comes_back_to_the_tune(lane: Any, play: Any) -> None:
    page = lane.page()
    page.say(wire.Settings(tempo=48.0, goal=96.0, floor=44.0))
    page.say(wire.Sitting(20.0))
    assert [tune for tune, _ in lane.fetched] == [state(page).rung.tune]  # it is written before it is asked for
    told = state(page)
    assert (told.sitting.minutes, told.sitting.played, told.sitting.rest) == (20.0, 0.0, False)
    assert (told.rung.use, told.rung.tune in (ROLL.id, SQUARE.id)) == ("warm-up", True)
    assert told.rung.title in (ROLL.title, SQUARE.title)

    page.say(wire.NextRung())
    assert (state(page).tune, state(page).waiting) == (told.rung.tune, "Writing the solos …")
    assert page.all(wire.Begin) == []
    lane.deliver()
    assert page.last(wire.Begin).tempo == pytest.approx(told.rung.tempo, rel=1e-3)
    report = play(lane, page)

    kept = lane.memory.passes[-1]
    assert (kept.tune, kept.kind, kept.title) == (told.rung.tune, "warm-up", told.rung.title)
    assert kept.sitting.planned == 20.0
    assert state(page).sitting.played > 0
    for _ in range(20):
        if report.rung.use != "warm-up":
            break
        page.say(wire.NextRung())
        lane.deliver()
        report = play(lane, page)
    assert (report.rung.use, report.rung.tune, report.rung.title) == ("whole", lane.tune.id, "Test Lane")
    page.say(wire.NextRung())
    lane.deliver()
    told = state(page)
    assert (told.tune, told.goal, told.floor) == (lane.tune.id, 96.0, 44.0)
    assert page.last(wire.Begin).tempo == pytest.approx(report.rung.tempo, rel=1e-3)


def test_warm_ups_go_through_the_studies_by_turns(lane: Any, play: Any) -> None:
    page = lane.page()
    page.say(wire.Sitting(60.0))
    played = []
    for _ in range(3):
        played.append(state(page).rung.tune)
        page.say(wire.NextRung())
        lane.deliver()
        play(lane, page)

    assert played in ([ROLL.id, SQUARE.id, ROLL.id], [SQUARE.id, ROLL.id, SQUARE.id])


def test_what_is_remembered_is_the_tune_at_hand_and_not_the_warm_up(lane: Any) -> None:
    page = lane.page()
    page.say(wire.Settings(tempo=48.0, goal=96.0, floor=44.0))
    page.say(wire.Sitting(20.0))
    page.say(wire.NextRung())
    lane.deliver()

    assert state(page).tune != lane.tune.id
    kept = lane.memory.settings
    assert (kept["tune"], kept["tempo"], kept["goal"], kept["floor"]) == (lane.tune.id, 48.0, 96.0, 44.0)


def test_a_goal_that_is_set_during_the_warm_up_is_that_of_the_tune_at_hand(lane: Any) -> None:
    page = lane.page()
    page.say(wire.Settings(tempo=48.0, goal=96.0, floor=44.0))
    page.say(wire.Sitting(20.0))
    page.say(wire.NextRung())
    page.say(wire.Stop())
    page.say(wire.Settings(goal=88.0))
    page.say(wire.Settings(tune=lane.tune.id))
    lane.deliver()

    assert (state(page).tune, state(page).goal, state(page).floor) == (lane.tune.id, 88.0, 44.0)
    assert (lane.memory.settings["goal"], lane.memory.settings["floor"]) == (88.0, 44.0)


def test_a_tune_that_is_chosen_during_the_warm_up_is_at_hand(lane: Any) -> None:
    other = wire.TuneLine("other-lane-00000003", "Other Lane", "G", "4/4", 4)
    lane.lines.append(other)
    lane.solos[other.id] = lane.solos[lane.tune.id]
    page = lane.page()
    page.say(wire.Sitting(20.0))
    page.say(wire.NextRung())
    page.say(wire.Stop())
    page.say(wire.Settings(tune=other.id))
    assert state(page).rung is None
    lane.deliver()
    page.say(wire.Sitting(0.0))

    assert state(page).sitting is None
    assert state(page).rung.tune == ""
    page.say(wire.NextRung())
    assert (page.last(wire.Begin).number, state(page).tune) == (1, other.id)


def test_a_study_that_cannot_be_written_holds_nothing_up(lane: Any) -> None:
    page = lane.page()
    page.say(wire.Sitting(20.0))
    page.say(wire.NextRung())
    ((_, done),) = [asked for asked in lane.fetched if asked[0] == state(page).tune][-1:]
    done(CoachError("no room on the grid"))
    lane.settle()
    assert page.last(wire.Failure).text == "no room on the grid."
    lane.run(1.0)
    assert page.all(wire.Begin) == []

    page.say(wire.Settings(tune=lane.tune.id))
    lane.fetched = [asked for asked in lane.fetched if asked[0] == lane.tune.id]
    lane.deliver()
    page.say(wire.Start())

    assert page.last(wire.Begin).number == 1


def test_a_sitting_needs_a_tune(world: Any) -> None:
    world.begin()
    with pytest.raises(InputError, match="no solo to practise"):
        world.page().say(wire.Sitting(20.0))


def test_a_sitting_that_ends_offers_the_tune_at_hand(lane: Any) -> None:
    page = lane.page()
    page.say(wire.Sitting(20.0))
    page.say(wire.Sitting(0.0))

    assert state(page).sitting is None
    assert (state(page).rung.use, state(page).rung.tune) == ("whole", "")


@pytest.mark.parametrize("warm_ups", [1, 2])
def test_a_sitting_that_ends_after_the_warm_up_offers_the_tempo_that_was_chosen_before(
    lane: Any, play: Any, warm_ups: int
) -> None:
    page = lane.page()
    page.say(wire.Settings(tempo=110.0))
    page.say(wire.Sitting(60.0))
    for _ in range(warm_ups):
        assert state(page).rung.use == "warm-up"
        assert state(page).rung.tempo < 100.0
        page.say(wire.NextRung())
        lane.deliver()
        play(lane, page)
    page.say(wire.Sitting(0.0))

    assert (state(page).rung.use, state(page).rung.tempo) == ("whole", 110.0)


@pytest.mark.parametrize("other", [True, False])
def test_who_leaves_the_warm_up_for_a_tune_finds_the_tempo_that_was_chosen_before(lane: Any, other: bool) -> None:
    tune = wire.TuneLine("other-lane-00000003", "Other Lane", "G", "4/4", 4)
    lane.lines.append(tune)
    lane.solos[tune.id] = lane.solos[lane.tune.id]
    page = lane.page()
    page.say(wire.Settings(tempo=110.0, tier="intermediate"))
    page.say(wire.Sitting(20.0))
    page.say(wire.NextRung())
    page.say(wire.Stop())
    assert state(page).tempo < 100.0
    page.say(wire.Settings(tune=tune.id if other else lane.tune.id))
    lane.deliver()

    assert (state(page).tempo, state(page).tier) == (110.0, "intermediate")


@pytest.mark.parametrize(("minutes", "limit"), [(40.0, 70.0), (20.0, None)])
def test_in_a_sitting_that_is_longer_than_the_last_no_tempo_is_raised(
    world: Any, minutes: float, limit: float | None
) -> None:
    world.memory.remembered = Remembered(sitting=SittingKept(world.day, 30.0, 30.0, 70.0))
    world.ready()
    climb = world.session._coaching._climb
    assert (climb.sitting.last_minutes, climb.sitting.last_tempo) == (30.0, 70.0)  # of the open one too
    world.page().say(wire.Sitting(minutes))

    assert most_tempo(climb.sitting) == limit


def test_what_was_played_before_the_sitting_is_the_last_one(lane: Any) -> None:
    climb = lane.session._coaching._climb
    for minutes, last in ((COUNTS, COUNTS), (COUNTS - 0.1, COUNTS)):
        climb._sitting = replace(climb.sitting, began=1.0, elapsed=minutes, top_tempo=66.0)  # as if it had been played
        lane.page().say(wire.Sitting(20.0))

        assert (climb.sitting.last_minutes, climb.sitting.last_tempo) == (last, 66.0)


def test_a_sitting_ends_with_something_known_and_its_goal_is_not_that_of_the_tune_at_hand(
    world: Any, play: Any
) -> None:
    other = wire.TuneLine("other-lane-00000003", "Other Lane", "G", "4/4", 4)
    standing = begun(other.id, "beginner", 90.0, Wishes(40.0, 110.0))
    known = replace(standing, day=days_of(world.day), keeps=30.0)
    world.lines.append(other)
    world.solos[other.id] = world.solos[world.tune.id]
    world.memory.remembered = Remembered(standings={other.id: to_dict(known)})
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=60.0, goal=70.0))
    page.say(wire.Sitting(20.0))
    climb = world.session._coaching._climb
    climb._sitting = replace(climb.sitting, elapsed=19.0)  # as if it had been played
    page.say(wire.Settings(goal=71.0))
    assert (state(page).rung.use, state(page).rung.title, state(page).rung.tempo) == ("known", "Other Lane", 110.0)

    page.say(wire.NextRung())
    world.deliver()
    play(world, page)
    kept = world.memory.passes[-1]
    assert (kept.tune, kept.kind, kept.tempo) == (other.id, "known", pytest.approx(110.0))
    assert kept.standing["tune"] == other.id
    assert world.memory.settings["goal"] == 71.0
    page.say(wire.Settings(tune=world.tune.id))
    world.deliver()

    assert (state(page).tune, state(page).goal) == (world.tune.id, 71.0)


def test_a_rest_is_asked_for_behind_a_pass_and_nothing_begins_by_itself_then(lane: Any, play: Any) -> None:
    page = lane.page()
    page.say(wire.Sitting(90.0))
    climb = lane.session._coaching._climb
    climb._sitting = replace(climb.sitting, elapsed=REST_EVERY - 0.1)  # as if it had been played
    start(page, keep_going=True)
    report = play(lane, page)

    assert "rest" in report.rest
    assert state(page).sitting.rest
    lane.run(10.0)
    assert (page.last(wire.Begin).number, state(page).state) == (1, "paused")

    page.say(wire.Start())

    assert not state(page).sitting.rest
    assert play(lane, page).rest == ""


# ------------------------------------------------------------------------------------------ what is chosen


def test_a_tempo_that_is_far_too_fast_is_thought_about(lane: Any, play: Any) -> None:
    page = lane.page()
    start(page, tempo=60.0, latency_ms=0.0)
    play(lane, page)
    assert state(page).thinks == ""

    page.say(wire.Settings(tempo=300.0))

    assert "300" in state(page).thinks
    page.say(wire.Settings(tempo=60.0))
    assert state(page).thinks == ""


@pytest.mark.parametrize("is_taken", [True, False])
def test_measures_that_no_hand_can_join_are_not_offered_again(world: Any, is_taken: bool) -> None:
    first = begun(world.tune.id, "beginner", 100.0, Wishes(40.0, 100.0))
    world.memory.remembered = Remembered(standings={world.tune.id: to_dict(replace(first, won=3, jammed=True))})
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=100.0, goal=100.0))
    page.say(wire.Sitting(20.0))
    page.say(wire.Sitting(0.0))
    seen = []
    while state(page).rung.mix and len(seen) < 5:
        seen.append(tuple(state(page).rung.mix))
        if is_taken:
            page.say(wire.NextRung())
        for _, done in [world.made.pop() for _ in range(len(world.made))]:
            done(ArrangeError("no hand can join the tiers"))
        world.settle()

    assert sorted(seen) == [(1,), (2,), (3,), (4,)]
    assert (state(page).rung.tier, state(page).rung.mix) == ("intermediate", [])


def test_how_the_tempo_moves_is_the_players_choice(lane: Any, play: Any) -> None:
    page = lane.page()
    start(page, tempo=60.0, latency_ms=0.0, policy="steps", step=7.0, clean_needed=1)

    assert play(lane, page).rung.tempo == 67.0
    page.say(wire.Settings(step=2.0))
    page.say(wire.NextRung())
    assert play(lane, page).rung.tempo == 69.0


def test_a_jam_run_is_told_by_whether_it_kept_going(lane: Any, as_written: Any, solos: Any) -> None:
    jam = jam_of(solos["beginner"])
    last = jam.arrangement.measures[-1].number
    page = lane.page()
    page.say(wire.Settings(jam=True))
    lane.made.pop()[1](jam)
    lane.settle()
    for silent in (False, True):
        start(page, tempo=240.0)
        begin = page.last(wire.Begin)
        origin = float(begin.origin or page.now() + 0.2 + begin.lead)
        notes = as_written(jam, begin.tempo, 1, last)
        if silent:
            notes = [(at, data) for at, data in notes if not 3.0 < at < 9.0]
        lane.play(page, notes, until=begin.length + 0.6, origin=origin)

        report = page.last(wire.PracticeReport)
        assert report.kept_going is not silent
        assert report.sentences[0].startswith("You fell silent" if silent else "You kept going")
        kept = lane.memory.passes[-1]
        assert (kept.kind, kept.title, kept.result.kept_going) == ("jam", "Test Lane", not silent)


def test_standings_and_curves_of_other_tunes_are_left_alone(lane: Any, play: Any) -> None:
    page = lane.page()
    start(page, latency_ms=0.0)
    play(lane, page)
    (kept,) = lane.memory.passes

    assert kept.standing["tune"] == lane.tune.id
    assert set(kept.curves) == {"beginner"}
    assert set(kept.curves["beginner"]) == {1, 2, 3, 4}
