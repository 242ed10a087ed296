"""The virtual player of the demo: what a first visitor sees."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, Decoder
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult, lean_of
from coach.service.jobs import demo_files, read_file, solo_of
from coach.service.settings import Chosen
from coach.service.student import demo_player
from coach.takes.grid import click_tempo

AT_FIRST = Chosen()

Play = Callable[..., PassResult]


@pytest.fixture(scope="module")
def tunes() -> list[Arrangement]:
    """The demo tunes in the tier that is chosen at first."""
    given = [tune for name, data in demo_files() for tune in read_file(data, name)[0]]
    return [solo_of(tune.source, AT_FIRST.tier).arrangement for tune in given if not tune.study]


@pytest.fixture(scope="module")
def play() -> Play:
    """Plays a pass of the demo."""

    def play(solo: Arrangement, tempo: float = AT_FIRST.tempo, number: int = 1, lean_ms: float = 0.0) -> PassResult:
        plan = PassPlan(solo, click_tempo(tempo), origin=10.0, number=number, lean_ms=lean_ms)
        listener = Listener(plan)
        decoder = Decoder(STRINGS_ON_OWN_CHANNELS)
        for index, played in enumerate(demo_player().play(plan)):
            sound = decoder.feed(plan.origin + played.seconds, played.data, index)
            if sound is not None:
                listener.take(sound)
        listener.finish()
        assert listener.result is not None
        return listener.result

    return play


def marks(result: PassResult) -> list[Any]:
    return [note.verdict for note in result.notes if note.verdict != "on time"]


def test_the_first_pass_of_each_demo_tune_has_a_handful_of_marks_and_is_not_clean(
    tunes: list[Arrangement], play: Play
) -> None:
    for solo in tunes:
        result = play(solo)
        assert 3 <= len(marks(result)) <= 8, solo.title
        assert not result.clean, solo.title


def test_the_first_pass_of_the_first_tune_shows_each_kind_of_mark(tunes: list[Arrangement], play: Play) -> None:
    assert set(marks(play(tunes[0]))) == {"early", "missed", "wrong note"}


def test_slower_and_later_passes_are_better_and_clean(tunes: list[Arrangement], play: Play) -> None:
    for solo in tunes:
        first = play(solo)
        for better in (
            play(solo, tempo=50.0, number=2, lean_ms=lean_of([first])),
            play(solo, number=8, lean_ms=lean_of([first])),
        ):
            assert len(marks(better)) < len(marks(first)), solo.title
            assert better.clean, solo.title


def test_every_visitor_sees_the_same(tunes: list[Arrangement], play: Play) -> None:
    assert play(tunes[0]).notes == play(tunes[0]).notes
    assert demo_player(seed=2).play(PassPlan(tunes[0], 60.0)) != demo_player().play(PassPlan(tunes[0], 60.0))
