"""Mixed solos and jam runs in a session: chosen, waited for, played, reported, kept and replayed like any solo."""

import json
from pathlib import Path
from typing import Any

import pytest

from coach.errors import ArrangeError
from coach.service import protocol as wire
from coach.service.jobs import Solo, jam_of, mixed_of
from coach.service.pieces import Piece
from coach.takes.replay import replay, report_text
from coach.takes.sessions import read_session
from coach.tunes.tune import Tune

TEMPO = 120.0


@pytest.fixture(scope="module")
def mixed(tune: Tune) -> Solo:
    return mixed_of(tune, "beginner", (2, 3))


@pytest.fixture(scope="module")
def run(solos: Any) -> Solo:
    return jam_of(solos["beginner"])


@pytest.fixture
def ready(world: Any) -> Any:
    world.ready()
    return world


def start(world: Any, page: Any) -> float:
    """Start a pass; gives where position 0 is heard, on the page's clock."""
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    return float(begin.origin or page.now() + 0.2 + begin.lead)


def make(world: Any, solo: Any) -> Piece:
    """Have what was asked for last made; gives what it is."""
    piece, done = world.made.pop()
    done(solo)
    world.settle()
    return piece  # type: ignore[no-any-return]


def kept(world: Any) -> tuple[Any, Any]:
    """The solo and the report of the one session folder, which replays to its own bytes."""
    (folder,) = world.root.iterdir()
    found = read_session(Path(folder))
    assert found.report == report_text(replay(found))
    return found, json.loads(found.report or "")


def test_a_mixed_solo_is_practised_like_any(ready: Any, mixed: Solo, as_written: Any) -> None:
    page = ready.page()
    page.say(wire.Settings(tempo=TEMPO, mix=[2, 3]))
    state = page.last(wire.State)
    assert (state.digest, state.mix, state.waiting) == ("", [2, 3], "Writing the solo …")

    assert make(ready, mixed) == Piece(ready.tune.id, "beginner", (2, 3))
    state = page.last(wire.State)
    assert (state.digest, state.tier, state.mix, state.measures) == (mixed.digest, "beginner", [2, 3], 4)

    origin = start(ready, page)
    ready.play(page, as_written(mixed, TEMPO), until=8.6, origin=origin)
    report = page.last(wire.PracticeReport)
    assert (report.clean, [score["number"] for score in report.measures]) == (True, [1, 2, 3, 4])
    found, written = kept(ready)
    assert written["passes"][0]["clean"]
    assert found.arrangements == {mixed.digest: mixed.arrangement}
    (told,) = ready.memory.passes
    assert (told.digest, told.tier, told.mix, told.kind) == (mixed.digest, "beginner", (2, 3), "whole")

    page.say(wire.Settings(mix=[]))
    page.say(wire.Again())
    assert page.last(wire.Begin).digest == mixed.digest


def test_a_jam_run_counts_by_whether_it_kept_going(ready: Any, run: Solo, as_written: Any) -> None:
    page = ready.page()
    page.say(wire.Settings(tempo=TEMPO, jam=True))
    assert make(ready, run) == Piece(ready.tune.id, "beginner", jam=True)
    state = page.last(wire.State)
    assert (state.jam, state.tier, state.digest, state.first, state.last) == (True, "beginner", run.digest, 0, 14)

    origin = start(ready, page)
    last = run.arrangement.measures[-1].number
    ready.play(page, as_written(run, TEMPO, 0, last), until=30.5, origin=origin)
    report = page.last(wire.PracticeReport)
    assert (report.kept_going, report.clean) == (True, True)
    _, written = kept(ready)
    assert [score["number"] for score in written["measures"]] == list(range(last + 1))
    (told,) = ready.memory.passes
    assert (told.tune, told.tier, told.kind) == (ready.tune.id, "beginner", "jam")


def test_a_pass_begins_when_the_solo_of_its_rung_has_come(ready: Any, mixed: Solo) -> None:
    page = ready.page()
    page.say(wire.Settings(tempo=TEMPO, mix=[2, 3]))
    make(ready, mixed)
    start(ready, page)
    ready.run(6.0, marks=(page,))
    page.say(wire.Stop())
    ready.run(2.0, marks=(page,))
    for other in ([1], [2], [3], [4], [1, 2], [1, 3], [1, 4], [2, 4]):
        page.say(wire.Settings(mix=other))
        make(ready, mixed)
    page.say(wire.Again())
    assert page.last(wire.Begin).number == 1

    make(ready, mixed)
    ready.run(0.2, marks=(page,))

    assert (page.last(wire.Begin).number, page.last(wire.Begin).digest) == (2, mixed.digest)


@pytest.mark.parametrize("settings", [{"mix": [2, 3]}, {"jam": True}])
def test_a_solo_that_cannot_be_made_is_said_and_the_tiers_own_is_there(ready: Any, solos: Any, settings: Any) -> None:
    page = ready.page()
    page.say(wire.Settings(tempo=TEMPO, **settings))
    make(ready, ArrangeError("no hand can join the tiers"))

    assert page.last(wire.Failure) == wire.Failure("no hand can join the tiers.", "tune")
    state = page.last(wire.State)
    assert (state.digest, state.mix, state.jam, state.tempo) == (solos["beginner"].digest, [], False, TEMPO)
