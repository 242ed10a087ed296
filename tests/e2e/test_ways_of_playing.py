"""The ways of playing of the sample sessions, and what the listener makes of each."""

from __future__ import annotations

from itertools import pairwise

import pytest
from ways_of_playing import (
    DRIFT,
    STRAY,
    THINKS,
    Way,
    a_slot_ahead,
    dragging,
    in_own_time,
    lost,
    noisily,
    rushing,
    steadily,
)

from coach.arranging.arrange import arrange
from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, Decoder
from coach.listening.plan import PassPlan
from coach.listening.report import Scored, score
from coach.listening.scores import PassResult
from coach.takes.player import Played, VirtualPlayer
from coach.tunes.demo import demo_tune

TEMPO = 100.0


@pytest.fixture(scope="module")
def plan() -> PassPlan:
    """The first eight measures of a solo."""
    return PassPlan(arrange(demo_tune("mill-lane"), "intermediate"), TEMPO, last=8)


@pytest.fixture(scope="module")
def played(plan: PassPlan) -> tuple[Played, ...]:
    """What a student plays for whom that is easy."""
    return VirtualPlayer(ability=300.0, seed=6).play(plan)


def heard(plan: PassPlan, played: list[Played]) -> PassResult:
    """What the listener makes of it."""
    decoder = Decoder(STRINGS_ON_OWN_CHANNELS)
    sounds = [decoder.feed(each.seconds, each.data, seq) for seq, each in enumerate(played, 1)]
    (result,) = score([Scored(plan)], [sound for sound in sounds if sound is not None], lean_ms=0.0).results
    return result


@pytest.mark.parametrize(("way", "sign"), [(rushing, -1), (dragging, 1)])
def test_the_offset_grows_over_the_pass(plan: PassPlan, played: tuple[Played, ...], way: Way, sign: int) -> None:
    before = heard(plan, steadily(plan, played))
    after = heard(plan, way(plan, played))
    moved = [b.offset_ms - a.offset_ms for a, b in zip(before.notes, after.notes, strict=True)]

    assert abs(moved[0]) < 5
    assert moved[-1] * sign == pytest.approx(DRIFT * 1000, abs=10)


def test_who_is_lost_misses_a_stretch_and_is_back_in_time(plan: PassPlan, played: tuple[Played, ...]) -> None:
    result = heard(plan, lost(4, 5)(plan, played))

    assert [(each.kind, each.first.measure, each.last.measure) for each in result.passages] == [("stopped", 4, 5)]
    assert {note.pluck.measure for note in result.notes if not note.played} == {4, 5}


def test_who_is_a_slot_ahead_is_seen_ahead_and_misses_one_slot(plan: PassPlan, played: tuple[Played, ...]) -> None:
    result = heard(plan, a_slot_ahead(4, 6)(plan, played))

    assert [(each.kind, each.slots) for each in result.passages] == [("ahead", 1)]
    assert len([note for note in result.notes if not note.played]) <= 2


def test_who_plays_in_their_own_time_plays_the_same_notes_and_stops_once(
    plan: PassPlan, played: tuple[Played, ...]
) -> None:
    own = in_own_time(plan, played)
    notes = [[each.data for each in which if each.data[0] & 0xF0 == 0x90] for which in (played, own)]
    onsets = sorted(each.seconds for each in own if each.data[0] & 0xF0 == 0x90)

    assert sorted(notes[0]) == sorted(notes[1])
    assert [later - earlier > THINKS for earlier, later in pairwise(onsets)].count(True) == 1


def test_a_noisy_pickup_takes_no_note_away(plan: PassPlan, played: tuple[Played, ...]) -> None:
    noisy = noisily(8)(plan, played)

    assert set(played) <= set(noisy)
    assert {each.data for each in noisy} >= {b"\xf8", b"\xfe"}
    assert any(each.data[1:2] == bytes([STRAY]) for each in noisy)
    assert all(note.played for note in heard(plan, noisy).notes)
