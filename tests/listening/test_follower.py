from __future__ import annotations

import random
from dataclasses import replace

import pytest
from free_player import Kind, performance
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.listening.follower import LAG, Decided, Followed, Follower, Position
from coach.listening.path import Onset, Sounded

SCALE = tuple(Onset(float(k), (60 + k % 12,), entry=k % 4 == 0) for k in range(16))


def played(*, quarter: float = 0.5, count: int = 16) -> list[Sounded]:
    return [Sounded(k * quarter, 60 + k % 12) for k in range(count)]


def follow(notes: list[Sounded], follower: Follower | None = None) -> list[Followed]:
    follower = follower or Follower(SCALE)
    events: list[Followed] = []
    for seq, note in enumerate(notes):
        follower.hear(note, seq)
        events += follower.watermark(note.seconds)
    return events + follower.finish()


def positions(events: list[Followed]) -> list[int | None]:
    return [event.onset for event in events if isinstance(event, Position)]


def decided(events: list[Followed]) -> list[int | None]:
    return [event.onset for event in events if isinstance(event, Decided)]


def test_the_position_moves_with_every_note() -> None:
    assert positions(follow(played())) == list(range(16))


@pytest.mark.parametrize("tempo", [30, 60, 120, 200])
def test_the_tempo_is_learned(tempo: int) -> None:
    events = follow(played(quarter=60 / tempo))

    last = [event for event in events if isinstance(event, Position)][-1]
    assert 60 / last.quarter == pytest.approx(tempo)


def test_a_new_tempo_is_learned_within_three_onsets() -> None:
    notes = played(count=8)
    notes += [Sounded(notes[-1].seconds + k * 1.25, 60 + (7 + k) % 12) for k in range(1, 9)]
    quarters = [event.quarter for event in follow(notes) if isinstance(event, Position)]

    assert quarters[9] == pytest.approx(0.5)
    assert quarters[10] == pytest.approx(1.25)


def test_a_stop_to_think_changes_no_tempo() -> None:
    notes = [replace(note, seconds=note.seconds + (20.0 if k >= 8 else 0.0)) for k, note in enumerate(played())]
    quarters = [event.quarter for event in follow(notes) if isinstance(event, Position)]

    assert quarters[3:] == pytest.approx([0.5] * 13)


def test_a_note_is_decided_some_notes_later_and_the_rest_at_the_end() -> None:
    follower = Follower(SCALE)
    for seq, note in enumerate(played(count=8)):
        follower.hear(note, seq)
    events = follower.watermark(8 * 0.5)

    assert [event.note for event in events if isinstance(event, Decided)] == list(range(8 - LAG))
    assert [event.note for event in follower.finish() if isinstance(event, Decided)] == list(range(8 - LAG, 8))


def test_an_extra_is_decided_to_be_none() -> None:
    notes = sorted([*played(), Sounded(2.2, 40)], key=lambda note: note.seconds)

    assert decided(follow(notes)) == [0, 1, 2, 3, 4, None, *range(5, 16)]


def test_nothing_is_known_before_a_note_is_looked_at() -> None:
    follower = Follower(SCALE)
    follower.hear(Sounded(1.0, 60))

    assert follower.watermark(1.0) == []
    assert positions(follower.watermark(1.5)) == [0]


def test_a_note_behind_the_watermark_is_refused() -> None:
    follower = Follower(SCALE)
    follower.watermark(2.0)

    with pytest.raises(ValueError, match=r"a note at 1\.0 lies behind the watermark 2\.0"):
        follower.hear(Sounded(1.0, 60))


@settings(max_examples=40)
@given(seed=st.integers(0, 10_000), data=st.data())
def test_portions_and_order_of_arrival_change_nothing(seed: int, data: st.DataObject) -> None:
    true = performance(SCALE, random.Random(seed), Kind(0.1, 0.1, 0.1, 0.1, 0.2))
    notes = [each.note for each in true]
    at_once = follow(notes)
    follower = Follower(SCALE)
    events: list[Followed] = []
    rest = list(enumerate(notes))
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        for seq, note in data.draw(st.permutations(rest[:size])):
            follower.hear(note, seq)
        rest = rest[size:]
        if rest:
            events += follower.watermark(rest[0][1].seconds)

    assert events + follower.finish() == at_once


def test_what_is_kept_does_not_grow_with_the_notes_that_a_path_may_change() -> None:
    follower = Follower(SCALE)
    for round_ in range(40):
        for k in range(16):
            follower.hear(Sounded(round_ * 8.0 + k * 0.5, 60 + k % 12), k)
        follower.watermark(round_ * 8.0 + 7.9)

    assert positions(follower.finish()) == []
    assert [step.onset for step in follower.chain] == list(range(16)) * 40


def test_the_player_is_found_again_after_more_noise_than_is_kept() -> None:
    noise = [Sounded(4.2 + k * 0.1, 30) for k in range(100)]
    after = [Sounded(14.5 + k * 0.5, 60 + (8 + k) % 12) for k in range(8)]
    events = follow([*played(count=8), *noise, *after])

    assert decided(events) == [*range(8), *[None] * 100, *range(8, 16)]
