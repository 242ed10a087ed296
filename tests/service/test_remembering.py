"""A session that remembers: what comes back, what is kept, and that the practice goes on whatever the records do."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from coach.errors import InputError, RecordsError
from coach.service import protocol as wire
from coach.service.diary import PATIENCE
from coach.service.kept_settings import settings_record
from coach.service.memory import Remembered
from coach.service.settings import Chosen

TEMPO = 120.0
FULL = RecordsError("the disk is full", where="records.db")


def start(world: Any, page: Any, **settings: Any) -> float:
    """Start a pass; gives where position 0 is heard, on the page's clock."""
    page.say(wire.Settings(**({"tempo": TEMPO} | settings)))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    return float(begin.origin or page.now() + 0.2 + begin.lead)


@pytest.fixture
def play(as_written: Any, solos: Any) -> Callable[..., None]:
    """Plays a whole pass as it is written."""

    def played(world: Any, page: Any, *, until: float = 8.6, **settings: Any) -> None:
        origin = start(world, page, **settings)
        world.play(page, as_written(solos["beginner"], settings.get("tempo", TEMPO)), until=until, origin=origin)

    return played


@pytest.fixture
def ready(world: Any) -> Any:
    world.ready()
    return world


# ------------------------------------------------------------------------------------------ what is kept


def test_a_report_is_told_when_its_pass_is_on_the_disk(ready: Any, play: Any) -> None:
    page = ready.page()
    ready.memory.is_slow = True
    play(ready, page)

    assert page.last(wire.State).state == "between passes"
    assert page.last(wire.State).rung is not None
    assert page.all(wire.PracticeReport) == []
    assert ready.page("other").all(wire.PracticeReport) == []

    ready.memory.answer()
    ready.settle()

    assert page.last(wire.PracticeReport).clean
    assert ready.page("third").last(wire.PracticeReport).clean


def test_what_is_kept_of_a_pass(ready: Any, play: Any, solos: Any) -> None:
    page = ready.page()
    play(ready, page, goal=140.0)

    (kept,) = ready.memory.passes
    assert (kept.player, kept.tune, kept.title) == ("home", ready.tune.id, "Test Lane")
    assert (kept.digest, kept.tier, kept.mix, kept.kind) == (solos["beginner"].digest, "beginner", (), "whole")
    assert (kept.tempo, kept.goal, kept.seconds) == (TEMPO, 140.0, pytest.approx(8.0))
    assert (kept.whole, kept.clean, kept.is_marked, kept.is_free) == (True, True, False, False)
    assert (kept.folder, kept.result.plan.number) == ("folder-1", 1)
    assert kept.over.tzinfo is not None
    assert kept.standing is not None
    assert kept.sitting is not None
    assert kept.sitting.minutes == pytest.approx(10 / 60, abs=0.01)
    assert page.last(wire.PracticeReport).kept_going is True


def test_a_pass_is_kept_before_the_player_is_asked_and_again_when_it_is_marked(ready: Any) -> None:
    page = ready.page()
    ready.memory.is_slow = True
    start(ready, page, self_marked=True)
    ready.run(12.0, marks=(page,))
    assert page.all(wire.PracticeReport) == []
    ready.memory.answer()
    ready.settle()
    assert page.last(wire.PracticeReport).asks
    ready.run(60.0)

    page.say(wire.Mark(clean=True))
    assert page.last(wire.PracticeReport).asks
    ready.memory.answer()
    ready.settle()

    before, after = ready.memory.passes
    assert (before.is_marked, before.clean, before.whole, before.standing) == (True, False, True, None)
    assert (after.is_marked, after.clean, after.whole) == (True, True, True)
    assert after.standing is not None
    assert (after.folder, after.result.plan.number, after.over) == (before.folder, 1, before.over)
    assert not page.last(wire.PracticeReport).asks


def test_a_pass_in_which_nothing_was_heard_is_kept_and_moves_nothing(ready: Any) -> None:
    page = ready.page()
    start(ready, page)
    ready.run(12.0, marks=(page,))

    (kept,) = ready.memory.passes
    assert (kept.clean, kept.standing, kept.curves) == (False, None, {})
    assert page.last(wire.PracticeReport).rung is None


def test_settings_are_kept_as_they_change(ready: Any) -> None:
    page = ready.page()
    page.say(wire.Settings(goal=96.0, policy="steps", foot_next="CC 64"))

    assert ready.memory.settings["goal"] == 96.0
    assert ready.memory.settings["policy"] == "steps"
    assert ready.memory.settings["foot_next"] == "CC 64"
    assert ready.memory.settings["tune"] == ready.tune.id


# ------------------------------------------------------------------------------------------ the next pass waits


def test_the_next_pass_by_itself_waits_for_the_report(ready: Any, play: Any) -> None:
    page = ready.page()
    ready.memory.is_slow = True
    play(ready, page, keep_going=True, policy="steps", clean_needed=1, goal=200.0, latency_ms=0.0)
    ready.run(5.0)
    assert (page.last(wire.Begin).number, page.last(wire.State).tempo) == (1, TEMPO)
    assert page.last(wire.State).rung.tempo == TEMPO + 4

    ready.memory.answer()
    ready.run(0.1)

    kinds = [type(message) for message in page.messages]
    assert page.last(wire.Begin).number == 2
    report = kinds.index(wire.PracticeReport)
    assert kinds.index(wire.Begin) < report < len(kinds) - 1 - kinds[::-1].index(wire.Begin)


def test_a_start_that_is_asked_for_meanwhile_begins_behind_the_report(ready: Any, play: Any) -> None:
    page = ready.page()
    ready.memory.is_slow = True
    play(ready, page)
    page.say(wire.Start())
    assert page.last(wire.Begin).number == 1

    ready.memory.answer()
    ready.run(0.1)

    assert page.last(wire.Begin).number == 2


def test_a_stop_takes_back_a_start_that_waits(ready: Any, play: Any) -> None:
    page = ready.page()
    ready.memory.is_slow = True
    play(ready, page)
    page.say(wire.Start())
    page.say(wire.Stop())
    ready.memory.answer()
    ready.run(0.5)

    assert page.last(wire.Begin).number == 1
    assert page.last(wire.State).state == "paused"


def test_a_start_waits_until_the_player_is_recalled(world: Any) -> None:
    world.memory.is_slow = True
    world.begin()
    page = world.page()
    page.say(wire.Settings(tune=world.tune.id))
    world.deliver()
    page.say(wire.Start())
    assert page.all(wire.Begin) == []

    world.memory.answer()
    world.run(0.1)

    assert page.last(wire.Begin).number == 1


# ------------------------------------------------------------------------------------------ trouble


def test_the_practice_goes_on_where_nothing_can_be_written(ready: Any, play: Any) -> None:
    page = ready.page()
    ready.memory.fails = FULL
    for number in (1, 2):
        play(ready, page)

        assert page.last(wire.PracticeReport).number == number
    said = "records.db: the disk is full."
    assert [(each.text, each.about) for each in page.all(wire.Failure)] == [
        (said, "records"),  # of the settings
        (f"{said} The pass is in its session folder, and is written down with the next one that can be.", "records"),
    ]
    assert page.last(wire.State).rung is not None
    assert ready.page("late").last(wire.Failure).text.startswith(said)

    ready.memory.fails = None
    play(ready, page)
    assert ready.page("later").all(wire.Failure) == []


def test_records_that_do_not_answer_hold_a_report_up_for_so_long_and_no_longer(ready: Any, play: Any) -> None:
    page = ready.page()
    ready.memory.is_slow = True
    play(ready, page)
    ready.run(PATIENCE - 1.0)
    assert page.all(wire.PracticeReport) == []
    ready.run(2.0)

    assert page.last(wire.PracticeReport).number == 1
    assert page.last(wire.Failure).text.startswith("the records do not answer; ")


def test_the_practice_begins_anew_where_nothing_can_be_read(world: Any, play: Any) -> None:
    world.memory.fails = FULL
    page = world.page()
    world.ready()

    assert page.last(wire.Failure).about == "records"
    assert page.last(wire.State).tune == world.tune.id
    world.memory.fails = None
    play(world, page)
    (kept,) = world.memory.passes
    assert (kept.standing, kept.curves) == (None, {})
    assert world.memory.settings == {}


# ------------------------------------------------------------------------------------------ the next day


def next_day(new_world: Callable[[], Any], first: Any, *, days: int = 1) -> Any:
    """A world that remembers what was kept in another one."""
    later = new_world()
    kept = first.memory.passes
    later.memory.remembered = Remembered(
        settings=first.memory.settings,
        standings={each.tune: each.standing for each in kept if each.standing is not None},
        known={first.tune.id: first.session._coaching.known(first.tune.id)},
        sitting=kept[-1].sitting,
    )
    later.day = datetime(2026, 1, 1 + days, tzinfo=UTC)
    return later


def test_tune_tempo_and_rung_come_back_the_next_day(new_world: Any, play: Any) -> None:
    first = new_world()
    first.ready()
    page = first.page()
    for _ in range(2):
        play(first, page, goal=200.0, policy="steps", clean_needed=1, click_level=0.3)
    offered = page.last(wire.PracticeReport).rung
    assert offered.tempo == TEMPO + 4

    later = next_day(new_world, first)
    again = later.page()
    later.ready()

    state = again.last(wire.State)
    assert (state.tune, state.tempo, state.goal, state.click_level) == (first.tune.id, TEMPO, 200.0, 0.3)
    assert (state.rung.tier, state.rung.use) == (offered.tier, offered.use)
    assert state.rung.tempo == offered.tempo
    again.say(wire.NextRung())
    assert again.last(wire.Begin).tempo == pytest.approx(state.rung.tempo, rel=1e-3)


def test_measures_that_were_chosen_come_back_with_their_rung(new_world: Any, play: Any) -> None:
    first = new_world()
    first.ready()
    page = first.page()
    play(first, page, until=2.6, tempo=400.0, goal=400.0, floor=300.0, last=1)
    offered = page.last(wire.PracticeReport).rung
    assert (offered.tempo, offered.use, offered.last) == (400.0, "part", 1)

    later = next_day(new_world, first, days=0)
    again = later.page()
    later.ready()

    state = again.last(wire.State)
    assert (state.tempo, state.floor, state.first, state.last) == (400.0, 300.0, 1, 1)
    assert (state.rung.tempo, state.rung.use, state.rung.last) == (400.0, "part", 1)


OTHER = wire.TuneLine("other-lane-12345678", "Other Lane", "G", "4/4", 4)
LAST = settings_record(Chosen(tune=OTHER.id, goal=99.0))


def chosen(world: Any, given: tuple[str, ...] = (), *, is_whole: bool = True) -> str:
    world.session.recall(lambda: given, is_whole=lambda: is_whole)
    world.settle()
    return str(world.session.chosen.tune)


def test_the_tune_of_the_last_time_is_chosen_first(world: Any) -> None:
    world.memory.remembered = Remembered(settings=LAST)
    world.lines = [world.tune, OTHER]

    assert chosen(world) == OTHER.id


def test_the_solo_of_the_last_time_is_written_first(world: Any) -> None:
    world.memory.remembered = Remembered(settings=LAST | {"tier": "advanced"})
    world.lines = [world.tune, OTHER]
    chosen(world)
    assert world.first[OTHER.id] == "advanced"


def test_it_is_waited_for_until_the_list_is_whole(world: Any) -> None:
    world.memory.remembered = Remembered(settings=LAST)
    assert chosen(world, is_whole=False) == ""
    world.lines = [world.tune, OTHER]
    world.session.choose_first((), is_whole=False)
    assert world.session.chosen.tune == OTHER.id


def test_one_that_is_not_in_the_list_is_not_waited_for_any_more(world: Any) -> None:
    world.memory.remembered = Remembered(settings=LAST)
    assert chosen(world, is_whole=False) == ""
    world.session.choose_first((), is_whole=True)
    assert world.session.chosen.tune == world.tune.id
    world.solos[world.tune.id] = world.solos[world.tune.id]
    world.deliver()

    assert world.session.chosen.goal == 120.0  # what belonged to the other tune does not come back


@pytest.mark.parametrize(("given", "wanted"), [((OTHER.id,), OTHER.id), ((), "test-lane")])
def test_who_names_a_tune_wants_to_play_it(world: Any, given: tuple[str, ...], wanted: str) -> None:
    world.memory.remembered = Remembered(settings=settings_record(Chosen(tune=world.tune.id)))
    world.lines = [world.tune, OTHER]

    assert chosen(world, given, is_whole=False).startswith(wanted)


def test_a_roll_study_is_not_what_a_player_begins_with(world: Any) -> None:
    study = wire.TuneLine("roll-00000000", "Forward roll", "G", "4/4", 4, study=True)
    world.lines = [study, world.tune]

    assert chosen(world) == world.tune.id


def test_what_belonged_to_the_tune_is_not_lost_while_its_solos_are_written(world: Any) -> None:
    world.lines = [world.tune, OTHER]
    world.solos[OTHER.id] = world.solos[world.tune.id]
    world.memory.remembered = Remembered(settings=LAST)
    assert chosen(world) == OTHER.id
    world.page().say(wire.Settings(click_level=0.2))
    assert world.memory.settings == {}
    world.deliver()
    world.page().say(wire.Settings(click_level=0.3))

    assert world.session.chosen.goal == 99.0
    assert world.memory.settings == {"click_level": 0.3}  # all else is kept already


def test_nothing_is_chosen_before_the_player_is_recalled(world: Any) -> None:
    world.memory.is_slow = True

    assert chosen(world) == ""
    with pytest.raises(InputError, match="no tune is chosen"):
        world.page().say(wire.Start())
