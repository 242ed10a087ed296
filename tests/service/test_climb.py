"""The ladder as a session uses it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from ladder_here import MINUTE, course

from coach.ladder.known import Known
from coach.ladder.rungs import Course, PassSeen, Wanted
from coach.ladder.sitting import COUNTS
from coach.ladder.standing import Wishes
from coach.service.climb import Climb, Recalled
from coach.service.protocol import Rung

COACH = Wishes(40.0, 120.0)
STEPS = Wishes(40.0, 120.0, "steps", clean_needed=1)
WANTED = Wanted("beginner", 60.0)


class Clock:
    """Minutes that go by."""

    def __init__(self) -> None:
        self.day = 1000.0

    def seen(self, tempo: float = 60.0, minutes: float = 1.0, **more: Any) -> PassSeen:
        """A clean pass through the whole that ends a minute later."""
        self.day += minutes * MINUTE
        numbers = range(1, 9)
        seen = PassSeen(
            "beginner",
            tempo,
            is_clean=True,
            day=self.day,
            minutes=minutes,
            clean=dict.fromkeys(numbers, True),
            faults={},
            kept_going=True,
        )
        return replace(seen, **more)


@pytest.fixture
def clock() -> Clock:
    return Clock()


def climbing(tune: Course | None = None, **recalled: Any) -> Climb:
    climb = Climb()
    climb.arrived(tune or course(), Recalled(**recalled))
    return climb


def test_a_clean_pass_goes_up_and_the_next_counts_from_there(clock: Clock) -> None:
    climb = climbing()
    first = climb.over("t", clock.seen(), STEPS)
    second = climb.over("t", clock.seen(first.tempo), STEPS)

    assert (first.tempo, second.tempo) == (64.0, 68.0)
    assert (first.tier, first.first, first.last, first.use, first.tune) == ("beginner", 1, 8, "whole", "")
    assert first.why == "Clean: up to 64."


def test_before_the_first_pass_the_tune_begins_where_the_player_chose() -> None:
    rung = climbing().offer(Wanted("intermediate", 72.0), COACH, 1000.0)

    assert rung is not None
    assert (rung.tier, rung.tempo, rung.solo) == ("intermediate", 72.0, True)
    assert climbing().standing_of("t") is None


def test_without_a_tune_nothing_is_offered_and_nothing_thought() -> None:
    climb = Climb()

    assert climb.offer(WANTED, COACH, 1000.0) is None
    assert climb.thinks(WANTED, COACH, 1000.0) == ""
    assert climb.standing_of("t") is None
    assert climb.known_of("t") is None


def test_a_tune_begins_in_a_tier_that_there_is() -> None:
    rung = climbing(course(tiers=1)).offer(Wanted("advanced", 72.0, mix=(1,)), COACH, 1000.0)

    assert rung is not None
    assert (rung.tier, rung.mix) == ("beginner", [])


def test_wishes_that_change_hold_at_once(clock: Clock) -> None:
    climb = climbing()
    climb.over("t", clock.seen(90.0), STEPS)
    lower = climb.offer(WANTED, replace(STEPS, goal=80.0), clock.day)
    higher = climb.offer(WANTED, replace(STEPS, floor=110.0), clock.day)

    assert lower is not None
    assert higher is not None
    assert (lower.tempo, higher.tempo) == (80.0, 110.0)
    assert climb.over("t", clock.seen(90.0), replace(STEPS, goal=91.0)).tempo == 91.0


def test_an_instrument_is_heard_once_for_all_tunes_and_anew_another_day(clock: Clock) -> None:
    climb = climbing()
    first = climb.over("t", clock.seen(calibrated=False), STEPS)
    climb.arrived(replace(course(), tune="u"))
    second = climb.over("u", clock.seen(calibrated=False), STEPS)
    record = climb.standing_of("t")
    again = climbing(standing=record).over("t", clock.seen(calibrated=False), STEPS)

    assert [rung.tempo for rung in (first, second, again)] == [60.0, 64.0, 60.0]
    assert first.why == again.why == "The first pass lets the coach hear this instrument: 60 again."


def test_what_a_first_pass_on_a_new_instrument_showed_is_not_learned(clock: Clock) -> None:
    climb = climbing()
    climb.over("t", clock.seen(calibrated=False), STEPS)
    assert climb.known_of("t") is None

    climb.over("t", clock.seen(calibrated=False), STEPS)
    known = climb.known_of("t")
    assert known is not None
    assert set(known.curves["beginner"]) == set(range(1, 9))


def test_another_day_goes_on_from_what_was_recalled(clock: Clock) -> None:
    climb = climbing()
    for tempo in (60.0, 64.0, 68.0):
        climb.over("t", clock.seen(tempo), STEPS)
    record = json.loads(json.dumps(climb.standing_of("t")))
    back = climbing(standing=record, known=climb.known_of("t"))
    rung = back.offer(WANTED, STEPS, clock.day + 1)

    assert rung is not None
    assert (rung.tempo, rung.why) == (72.0, "The whole at 72, to begin with.")
    assert back.known_of("t") == climb.known_of("t")


@pytest.mark.parametrize("record", [{}, {"tier": "beginner", "tempo": 80.0}, {"format": "standing/1"}])
def test_a_standing_that_cannot_be_read_is_none(record: dict[str, Any]) -> None:
    rung = climbing(standing=record).offer(WANTED, COACH, 1000.0)

    assert rung is not None
    assert rung.tempo == 60.0


def test_solos_that_were_written_anew_go_on_where_the_tune_stood(clock: Clock) -> None:
    climb = climbing()
    climb.over("t", clock.seen(), STEPS)
    climb.arrived(course(4), Recalled(known=Known()))
    rung = climb.offer(WANTED, STEPS, clock.day)

    assert rung is not None
    assert (rung.tempo, rung.last) == (64.0, 4)
    assert climb.known_of("t") is not None


def test_three_clean_passes_at_the_goal_lead_to_a_jam_run_and_on_to_the_next_tier(clock: Clock) -> None:
    climb = climbing()
    jam = [climb.over("t", clock.seen(120.0), STEPS) for _ in range(3)][-1]
    mixed = climb.over("t", clock.seen(120.0, kind="jam"), STEPS)

    assert (jam.use, jam.tempo, jam.offer_tier) == ("jam", 120.0, None)
    assert (mixed.use, mixed.tier, mixed.mix, mixed.offer_tier) == ("whole", "beginner", [1], "intermediate")
    assert (mixed.first, mixed.last, mixed.solo, mixed.tempo) == (1, 8, True, 60.0)


# ------------------------------------------------------------------------------------------ sittings


def sat(minutes: float, climb: Climb, clock: Clock, **last: Any) -> Rung:
    climb.sit(minutes, clock.day, **{"last_minutes": None, "last_tempo": None, **last})
    rung = climb.offer(WANTED, COACH, clock.day)
    assert rung is not None
    return rung


def test_a_warm_up_leads_aside_to_a_study_and_back(clock: Clock) -> None:
    climb = climbing()
    warm = sat(20.0, climb, clock)
    assert (warm.use, warm.tune, warm.first, warm.last) == ("warm-up", "", 0, 2000)

    climb.arrived(replace(course(2, tiers=1), tune="study"), aside=True)
    back = climb.over("study", clock.seen(warm.tempo, 4.0, kind="warm-up", clean={1: True, 2: True}), COACH)
    assert (back.use, back.tune, back.tier, back.tempo) == ("whole", "", "beginner", 60.0)
    assert climb.sitting.elapsed == 4.0
    assert climb.known_of("study") is not None
    assert climb.standing_of("t") is None


def test_something_known_leads_aside_by_its_name_and_keeps_its_own_goal(clock: Clock) -> None:
    learnt = climbing(replace(course(), tune="u"))
    own = Wishes(40.0, 70.0)
    for _ in range(10):
        learnt.over("u", clock.seen(70.0), own)
    climb = climbing()
    climb.remember([{}, learnt.standing_of("u") or {}])
    clock.day += 1
    sat(20.0, climb, clock)
    climb.over("t", clock.seen(minutes=18.0), COACH)
    rung = climb.offer(WANTED, COACH, clock.day)

    assert rung is not None
    assert (rung.use, rung.tune, rung.tempo, rung.first, rung.last) == ("known", "u", 70.0, 0, 2000)
    climb.arrived(replace(course(), tune="u"), Recalled(learnt.standing_of("u"), learnt.known_of("u")), aside=True)
    climb.over("u", clock.seen(70.0, kind="known"), COACH)
    record = climb.standing_of("u")
    assert record is not None
    assert record["wishes"]["goal"] == 70.0
    assert record["won"] == 11
    again = climb.offer(WANTED, COACH, clock.day)
    assert again is not None
    assert (again.first, again.last) == (1, 8)  # it is known now how long it is


def test_a_longer_sitting_holds_the_tempo_and_the_coach_says_so(clock: Clock) -> None:
    climb = climbing()
    climb.over("t", clock.seen(80.0), STEPS)
    climb.sit(40.0, clock.day, last_minutes=30.0, last_tempo=80.0)
    climb.over("t", clock.seen(80.0, minutes=6.0), STEPS)
    rung = climb.offer(WANTED, STEPS, clock.day)

    assert rung is not None
    assert rung.tempo == 80.0
    assert climb.thinks(Wanted("beginner", 84.0), STEPS, clock.day).startswith("Today there are more minutes")


def test_the_end_of_the_minutes_and_a_rest_are_told_once(clock: Clock) -> None:
    climb = climbing()
    sat(35.0, climb, clock)
    told = []
    for _ in range(70):
        climb.over("t", clock.seen(), COACH)
        told.append(climb.rest())

    assert [(number, text) for number, text in enumerate(told, 1) if text] == [
        (30, "You have played for 30 minutes: rest your hands for a few before the next pass."),
        (35, "The 35 minutes of this sitting were played."),
        (60, "You have played for 30 minutes: rest your hands for a few before the next pass."),
    ]


def test_a_rest_is_due_without_a_sitting_that_was_planned_too(clock: Clock) -> None:
    climb = climbing()
    told = []
    for _ in range(31):
        climb.over("t", clock.seen(), COACH)
        told.append(climb.rest())

    assert [number for number, text in enumerate(told, 1) if text] == [30]


@pytest.mark.parametrize(("pause", "rests"), [(4.9, True), (5.1, False)])
def test_to_begin_a_sitting_is_no_rest(clock: Clock, pause: float, rests: bool) -> None:
    climb = climbing()
    climb.over("t", clock.seen(minutes=20.0), COACH)
    clock.day += pause * MINUTE
    sat(60.0, climb, clock)
    climb.over("t", clock.seen(minutes=10.0), COACH)

    assert bool(climb.rest()) == rests


def test_who_rises_plays_on_in_an_open_sitting(clock: Clock) -> None:
    climb = climbing()
    sat(20.0, climb, clock)
    climb.over("t", clock.seen(82.0, minutes=COUNTS), COACH)
    climb.rise()

    assert climb.sitting.minutes is None
    assert (climb.sitting.elapsed, climb.sitting.last_minutes, climb.sitting.last_tempo) == (0.0, COUNTS, 82.0)
    climb.rise(last_minutes=25.0, last_tempo=90.0)
    assert (climb.sitting.last_minutes, climb.sitting.last_tempo) == (25.0, 90.0)


# ------------------------------------------------------------------------------------------ what is thought


def test_the_coach_agrees_with_what_it_offers(clock: Clock) -> None:
    climb = climbing()
    for _ in range(5):
        rung = climb.over("t", clock.seen(60.0, is_clean=False, clean=dict.fromkeys(range(1, 9), False)), STEPS)

    assert climb.thinks(Wanted("beginner", rung.tempo), STEPS, clock.day) == ""
    assert climb.thinks(Wanted("beginner", rung.tempo, first=1, last=8), STEPS, clock.day) == ""
    assert "far above" in climb.thinks(Wanted("beginner", rung.tempo, first=1, last=7), STEPS, clock.day)


def test_another_tune_is_another_ladder(clock: Clock) -> None:
    climb = climbing()
    climb.over("t", clock.seen(90.0), STEPS)
    climb.arrived(replace(course(), tune="u"))
    rung = climb.offer(Wanted("beginner", 50.0), STEPS, clock.day)

    assert rung is not None
    assert rung.tempo == 50.0
    climb.arrived(course())
    back = climb.offer(WANTED, STEPS, clock.day)
    assert back is not None
    assert back.tempo == 94.0


def test_where_it_stands_is_told_in_plain_values(clock: Clock) -> None:
    climb = climbing()
    climb.over("t", clock.seen(), STEPS)
    record = climb.standing_of("t")

    assert record is not None
    assert (record["tune"], record["tier"], record["tempo"]) == ("t", "beginner", 64.0)
    assert json.loads(json.dumps(record)) == record
