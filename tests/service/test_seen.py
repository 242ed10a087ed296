"""What a pass has shown, as the ladder sees it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from coach.ladder.rungs import PassSeen
from coach.service import protocol as wire
from coach.service.seen import seconds_of, seen_of

TEMPO = 120.0  # a measure takes two seconds
NOON = datetime(1970, 1, 11, 12, tzinfo=UTC)


def ended(world: Any, page: Any, notes: list[tuple[float, bytes]], *, until: float = 9.0, **settings: Any) -> Any:
    """Play a pass; gives what came of it."""
    page.say(wire.Settings(tempo=TEMPO, **settings))
    page.say(wire.Start())
    origin = page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead
    world.play(page, notes, until=until, origin=origin)
    if until < 8.0:
        page.say(wire.Stop())
        world.run(0.2, marks=(page,))
    return world.ended[-1]


@pytest.fixture
def heard(world: Any, monkeypatch: pytest.MonkeyPatch) -> Any:
    """A world whose passes are looked at as they end."""
    world.ready()
    world.ended = []
    over = world.session._practice.over
    monkeypatch.setattr(world.session._practice, "over", lambda end: (world.ended.append(end), over(end)))
    return world


def seen(end: Any, *, clean: bool = True) -> PassSeen:
    return seen_of(end, clean=clean, now=NOON)


def test_a_whole_clean_pass(heard: Any, solos: Any, as_written: Any) -> None:
    end = ended(heard, heard.page(), as_written(solos["beginner"], TEMPO))
    found = seen(end)

    assert (found.tier, found.tempo, found.is_clean, found.day) == ("beginner", TEMPO, True, 10.5)
    assert found.clean == {1: True, 2: True, 3: True, 4: True}
    assert (found.faults, found.mix, found.kind) == ({}, (), "whole")
    assert (found.whole, found.all_measures, found.judged, found.kept_going) == (True, True, "heard", True)
    assert (found.first, found.last, found.calibrated) == (None, None, False)
    assert seconds_of(end) == pytest.approx(8.0)
    assert found.minutes == pytest.approx(10.0 / 60)  # with the measure that is counted in


def test_chosen_measures(heard: Any, solos: Any, as_written: Any) -> None:
    notes = as_written(solos["beginner"], TEMPO, 2, 3)
    end = ended(heard, heard.page(), notes, until=5.0, first=2, last=3)

    found = seen(end)
    assert (found.first, found.last, found.all_measures, found.kind) == (2, 3, False, "part")
    assert set(found.clean) == {2, 3}


def test_only_measures_that_were_played_to_their_end_are_told_of(heard: Any, solos: Any, as_written: Any) -> None:
    end = ended(heard, heard.page(), as_written(solos["beginner"], TEMPO), until=5.0)

    found = seen(end, clean=False)
    assert (found.whole, found.clean) == (False, {1: True, 2: True})
    assert seconds_of(end) == pytest.approx(5.0, abs=0.1)


@pytest.mark.parametrize(
    ("fault", "spoil"),
    [
        ("late", lambda at, data: [(at + 0.08, data)]),
        ("early", lambda at, data: [(at - 0.08, data)]),
        ("missed", lambda at, data: []),
        ("a wrong note", lambda at, data: [(at, bytes((data[0], data[1] + 1, data[2])))]),
        ("an extra note", lambda at, data: [(at, data), (at + 0.2, bytes((data[0], data[1] + 1, data[2])))]),
    ],
)
def test_what_was_wrong_most_with_a_measure(heard: Any, solos: Any, as_written: Any, fault: str, spoil: Any) -> None:
    notes = []
    for at, data in as_written(solos["beginner"], TEMPO):
        notes += spoil(at, data) if 2.0 <= at < 4.0 else [(at, data)]
    end = ended(heard, heard.page(), notes, tolerance_ms=50.0)

    assert seen(end).faults == {2: fault}


def test_a_marked_pass_tells_nothing_of_its_measures(heard: Any) -> None:
    page = heard.page()
    page.say(wire.Settings(self_marked=True))
    heard.ended = []
    page.say(wire.Settings(tempo=TEMPO))
    page.say(wire.Start())
    heard.run(12.0, marks=(page,))
    (end,) = heard.ended

    found = seen(end)
    assert (found.judged, found.clean, found.faults, found.kept_going) == ("marked", {}, {}, None)
    assert found.whole
