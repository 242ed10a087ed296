"""A tune leaves the book, or its licks change, while somebody practises it."""

from __future__ import annotations

from typing import Any

import pytest

from coach.service import protocol as wire


@pytest.fixture
def playing(world: Any) -> Any:
    """A page in mid-pass."""
    world.ready()
    page = world.page()
    page.say(wire.Start())
    world.run(0.5, marks=(page,))
    assert page.last(wire.State).state != "ready"
    return page


def test_a_pass_of_a_tune_that_is_withdrawn_goes_on_to_its_report(world: Any, playing: Any) -> None:
    world.lines.clear()
    world.session.tell_tunes()
    assert playing.last(wire.Tunes).tunes == []

    world.run(60.0, marks=(playing,))

    assert playing.all(wire.PracticeReport)
    shown = playing.last(wire.State)
    assert (shown.tune, shown.title, bool(shown.digest)) == (world.tune.id, "Test Lane", True)
    assert world.session.plays(world.tune.id)


def test_a_pass_goes_on_with_its_solo_while_others_are_written_anew(world: Any, playing: Any) -> None:
    before = playing.last(wire.State).digest
    world.session.licks_changed()
    assert [tune for tune, _ in world.fetched] == [world.tune.id]
    assert playing.last(wire.State).digest == before
    world.deliver()
    assert playing.last(wire.State).digest == before


def test_a_mixed_solo_is_written_anew_when_licks_change(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(mix=[2]))
    piece, done = world.made.pop()
    solo = world.solos[world.tune.id]["intermediate"]
    done(solo)
    world.session.licks_changed()
    world.deliver()
    assert [each for each, _ in world.made] == [piece]


def test_where_no_tune_is_chosen_nothing_is_written(world: Any) -> None:
    world.session.licks_changed()
    assert world.fetched == []
