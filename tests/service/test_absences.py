"""An instrument that is away in mid-pass: the report says so first, and the pass moves nothing."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from coach.service import protocol as wire
from coach.service.absences import LOOK, Absences
from coach.service.passes import CapturedNote
from coach.takes.replay import replay, report_text
from coach.takes.sessions import read_session

TEMPO = 120.0  # two seconds a measure
AWAY = "The instrument was not connected in measure 3, so this pass moves nothing."


def test_an_input_is_away_from_the_look_before_until_it_is_there() -> None:
    absences = Absences()
    absences.lost("midi", 10.0)
    absences.lost("midi", 11.0)  # it is still away
    absences.there(["foot"], 12.0)
    assert absences.of({"midi", "foot"}) == ((10.0 - LOOK, math.inf),)

    absences.there(["midi"], 14.0)
    absences.lost("midi", 20.0)

    assert absences.of({"midi"}) == ((10.0 - LOOK, 14.0), (20.0 - LOOK, math.inf))
    assert absences.of({"pad"}) == ()
    absences.begins()
    assert absences.of({"midi"}) == ((20.0 - LOOK, math.inf),)


def played(
    world: Any,
    page: Any,
    notes: list[tuple[float, bytes]],
    away: list[tuple[float, float]],
    *,
    on: str = "midi",
    stop: float = math.inf,
) -> Any:
    """Play a pass on an input of the service, which is unplugged from when to when; returns the report."""
    world.midi.open = True
    page.say(wire.Settings(tempo=TEMPO))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = world.clock() + 0.2 + begin.lead
    left = sorted(notes)
    world.session.tick()
    while world.clock() < origin + begin.length + 1:
        world.clock.advance(0.01)
        at = world.clock() - origin
        is_open = not any(gone <= at < back for gone, back in away)
        if world.midi.open and not is_open:
            world.midi.open = False
            world.session.midi_lost("midi")
        world.midi.open = is_open
        while left and left[0][0] <= at:
            seconds, data = left.pop(0)
            if on == "pad":
                page.pluck(data, origin + seconds + page.theta)
            elif is_open:
                world.session.midi_in("midi", CapturedNote(1, origin + seconds, data))
        page.mark()
        world.session.tick()
        world.settle()
        if at >= stop:
            page.say(wire.Stop())
            stop = math.inf
    return page.last(wire.PracticeReport)


@pytest.fixture
def begun(world: Any) -> tuple[Any, Any]:
    world.ready()
    return world, world.page()


def test_the_report_says_first_that_the_instrument_was_away_and_the_ladder_stays(
    begun: tuple[Any, Any], solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world, page = begun
    notes = as_written(solos["beginner"], TEMPO)
    assert played(world, page, notes, []).rung.tempo == TEMPO  # one of two clean ones
    before = world.session._coaching.record(world.tune.id)

    report = played(world, page, notes, [(4.1, 5.9)])

    assert report.sentences[0] == AWAY
    assert not any("missed" in sentence or "stopped" in sentence for sentence in report.sentences)
    assert not report.clean  # what was heard was heard
    assert [measure["number"] for measure in report.measures if not measure["clean"]] == [3]
    assert (report.rung.tier, report.rung.tempo, report.rung.first, report.rung.last) == ("beginner", TEMPO, 1, 4)
    assert report.rung.why == "The instrument was not connected in measure 3: the same again."
    assert world.session._coaching.record(world.tune.id) == before
    folder = tmp_path / "folder-1"
    assert report_text(replay(read_session(folder))) == (folder / "report.json").read_text("utf-8")


def test_one_that_does_not_come_back_was_away_to_the_end(begun: tuple[Any, Any], solos: Any, as_written: Any) -> None:
    report = played(*begun, as_written(solos["beginner"], TEMPO), [(2.3, math.inf)])

    assert report.sentences[0] == "The instrument was not connected in measures 2 to 4, so this pass moves nothing."


def test_one_that_was_away_before_the_pass_began_counts_too(
    begun: tuple[Any, Any], solos: Any, as_written: Any
) -> None:
    report = played(*begun, as_written(solos["beginner"], TEMPO), [(-1.0, 2.5)])

    assert report.sentences[0].startswith("The instrument was not connected in measures 1 and 2, so")


def test_a_pass_that_was_stopped_for_it_was_away_to_the_stop(
    begun: tuple[Any, Any], solos: Any, as_written: Any
) -> None:
    report = played(*begun, as_written(solos["beginner"], TEMPO), [(4.1, math.inf)], stop=5.5)

    assert report.sentences[0] == AWAY


@pytest.mark.parametrize(
    ("missed", "words"), [((0.2, 2.0), "missed, in measures 1 and 3."), ((6.2, 8.0), "Measures 3 to 4: stopped.")]
)
def test_faults_elsewhere_are_said_all_the_same(
    begun: tuple[Any, Any], solos: Any, as_written: Any, missed: tuple[float, float], words: str
) -> None:
    notes = [note for note in as_written(solos["beginner"], TEMPO) if not missed[0] < note[0] < missed[1]]
    report = played(*begun, notes, [(4.1, 5.9)])

    assert report.sentences[0] == AWAY
    assert report.sentences[1].endswith(words)


@pytest.mark.parametrize("away", [(-1.9, -0.5), (0.1, 0.3)])
def test_nothing_is_said_where_nothing_is_missing_for_it(
    begun: tuple[Any, Any], solos: Any, as_written: Any, away: tuple[float, float]
) -> None:
    report = played(*begun, as_written(solos["beginner"], TEMPO), [away])

    assert report.clean
    assert report.sentences[0] == "Every measure is clean."


def test_an_input_that_is_not_played_on_may_go(begun: tuple[Any, Any], solos: Any, as_written: Any) -> None:
    notes = [note for note in as_written(solos["beginner"], TEMPO) if not 4.0 <= note[0] < 6.0]
    report = played(*begun, notes, [(4.1, 5.9)], on="pad")

    assert not report.clean
    assert not any("not connected" in sentence for sentence in report.sentences)
    assert "not connected" not in report.rung.why
