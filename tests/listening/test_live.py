"""Live equals offline: however a take arrives, the same verdicts come out."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrangement import Arrangement
from coach.listening.events import Amended, Event, Heard, MeasureDone, PassDone, VerdictGiven
from coach.listening.heard import Bend, HeardNote, Latency, NoteEnd, Sound, StrayNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan, Settings
from coach.listening.scores import PassResult, following
from coach.listening.traits import PLUCK, Traits

TAKES = 160

LATENCIES = (
    Latency(),
    Latency(12.0),
    Latency(by_string=((1, 7.0), (4, 14.0), (5, 6.0))),
    Latency(3.0, periods=2.5),
)

# What earlier passes may have shown: nothing; a gate, on an instrument that holds its notes.
TRAITS = (Traits(), Traits().learned([70] * 20, [PLUCK + 1] * 20))


def random_take(rng: random.Random, plan: PassPlan, true: Sequence[HeardNote]) -> list[Sound]:
    """A take with every kind of trouble: jitter, misses, wrong strings, ghosts, doubles, bends and noodling."""
    wide = rng.choice([5, 15, 60, 200]) / 1000
    slurs = rng.random() < 0.7
    sounds: list[Sound] = []
    for note in true:
        if rng.random() < rng.choice([0.02, 0.3]):
            continue
        seconds = note.seconds + rng.gauss(0, wide)
        pitch = note.pitch + (rng.choice([-2, 1, 12]) if rng.random() < 0.1 else 0)
        string = note.string if rng.random() < 0.9 or note.string is None else rng.randint(1, 5)
        velocity = rng.randint(20, 110)
        made = replace(note, seconds=seconds, pitch=pitch, string=string, velocity=velocity)
        if rng.random() < 0.1:
            sounds.append(Bend(seconds, rng.choice([-100.0, 100.0, 249.0, 251.0, 300.0]), note.channel, string))
        if slurs or rng.random() < 0.5:
            sounds.append(made)
        if rng.random() < 0.1:
            late = rng.choice([-0.040, 0.02, 0.040, 0.041])
            sounds.append(replace(made, seconds=seconds + late, velocity=max(1, velocity + rng.randint(-30, 10))))
        if rng.random() < 0.1:
            sounds.append(replace(made, seconds=seconds + rng.choice([-0.03, 0.04]), pitch=pitch + 12, velocity=19))
        if rng.random() < 0.5:
            sounds.append(NoteEnd(seconds + rng.choice([0.005, 0.02, 0.021, 0.3, 2.5]), pitch, note.channel, string))
        if rng.random() < 0.1 and string is not None:
            near = rng.choice([string - 1, string + 1])
            sounds.append(replace(made, seconds=seconds + 0.005, velocity=max(1, velocity // 2), string=near))
        if rng.random() < 0.25:  # a slur that is bent to, and sounded anew
            rise = rng.choice([1, 3, -2])
            sounds.append(Bend(seconds - 0.02, 100.0 * rise, note.channel, string))
            again = replace(made, seconds=seconds + rng.choice([-0.01, 0.05]), pitch=pitch - rng.choice([0, rise]))
            sounds.append(again)
    last = plan.tempo_map.seconds(plan.length)
    for _ in range(rng.randint(0, 6)):
        string = rng.randint(1, 5) if true and true[0].string else None
        at = rng.uniform(plan.origin - 1, last + 1)
        sounds.append(HeardNote(at, rng.randint(48, 74), rng.randint(1, 127), string or 1, string))
        sounds.append(NoteEnd(at + rng.choice([0.01, 0.02, 0.5]), rng.randint(48, 74), string or 1, string))
        sounds.append(StrayNote(rng.uniform(plan.origin - 1, last + 1), rng.randint(48, 74), 7))
    ordered = [replace(sound, seconds=round(sound.seconds, 4)) for sound in sounds]
    ordered.sort(key=lambda sound: sound.seconds)
    return [replace(sound, seq=seq) for seq, sound in enumerate(ordered, 1)]


def portions(rng: random.Random, sounds: list[Sound], end: float | None = None) -> list[Sound | float]:
    """The same take as it may come over a network: late and out of order, but never behind the watermark."""
    arrivals: list[tuple[float, int, Sound | float]] = [
        (sound.seconds + rng.choice([0.0, 0.01, rng.uniform(0, 0.6)]), 0, sound) for sound in sounds
    ]
    waiting = [(arrival, sound.seconds) for (arrival, _, _), sound in zip(arrivals, sounds, strict=True)]
    told: list[tuple[float, int, Sound | float]] = []
    now = sounds[0].seconds - 0.1 if sounds else 0.0
    for _ in range(rng.randint(0, 40)):
        now += rng.uniform(0.0, 0.8)
        bounds = [seconds for arrival, seconds in waiting if arrival > now]
        told.append((now, 1, min([now, *bounds, *([] if end is None else [end])])))
    return [item for _, _, item in sorted(arrivals + told, key=lambda entry: entry[:2])]


def fed(listener: Listener, items: Sequence[Sound | float]) -> list[Event]:
    events: list[Event] = []
    for item in items:
        events += listener.watermark(item) if isinstance(item, float) else listener.take(item)
    return events


def heard(plan: PassPlan, sounds: Sequence[Sound]) -> PassResult:
    listener = Listener(plan)
    for sound in sounds:
        listener.take(sound)
    listener.finish()
    assert listener.result is not None
    return listener.result


def one_shot(plan: PassPlan, sounds: Sequence[Sound], how: Settings, end: float | None) -> list[Event]:
    listener = Listener(plan, how)
    for sound in sounds:
        listener.take(sound)
    return listener.finish(end)


def in_portions(plan: PassPlan, items: Sequence[Sound | float], how: Settings, end: float | None) -> list[Event]:
    listener = Listener(plan, how)
    events = fed(listener, items) + listener.finish(end)
    return [event for event in events if not isinstance(event, Heard)]


def check_consistent(events: Sequence[Event]) -> PassResult:
    """The last word of the events on each pluck is what the result says, and every pluck has one verdict."""
    done = events[-1]
    assert isinstance(done, PassDone)
    last = {event.note.pluck.index: event.note for event in events if isinstance(event, VerdictGiven | Amended)}
    assert tuple(last[index] for index in sorted(last)) == done.result.notes
    scores = {event.score.number: event.score for event in events if isinstance(event, MeasureDone)}
    assert tuple(scores.values()) == done.result.measures
    return done.result


@pytest.mark.parametrize("seed", range(4))
def test_a_take_gets_the_same_events_in_portions_as_in_one_shot(
    seed: int, mixed: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    rng = random.Random(seed)
    amended = 0
    reasons: set[str] = set()
    learned: set[tuple[bool, bool]] = set()
    for _ in range(TAKES // 4):
        plan = PassPlan(
            mixed,
            tempo=rng.choice([60.0, 93.7, 140.0, 300.0]),
            origin=rng.choice([0.0, 3.25, 1234.5678]),
            first=rng.choice([None, 2]),
            bounce=rng.choice([50, 60]),
            lean_ms=rng.choice([0.0, -12.0]),
            traits=rng.choice(TRAITS),
        )
        latency = rng.choice(LATENCIES)
        how = Settings(latency, rng.choice([None, 45.0]))
        sounds = random_take(rng, plan, play(plan, strings=rng.random() < 0.5))
        end = rng.choice([None, None, plan.origin + rng.uniform(0.0, 8.0)])
        if end is not None:
            sounds = [sound for sound in sounds if sound.seconds <= end]

        expected = one_shot(plan, sounds, how, end)
        actual = in_portions(plan, portions(rng, sounds, end), how, end)

        assert actual == expected
        result = check_consistent(actual)
        reasons |= {dropped.reason for dropped in result.dropped}
        learned.add((result.traits.gate > 0, result.traits.holds))
        if end is None:
            assert [note.pluck for note in result.notes] == list(Listener(plan).places.expected)
        amended += any(isinstance(event, Amended) for event in actual)
    assert amended > 0
    assert reasons >= {"bleed", "below the gate", "too short", "re-triggered slur", "other channel"}
    assert learned >= {(False, False), (True, False), (True, True)}


def test_a_stop_gets_the_same_events_in_portions_as_in_one_shot(
    mixed: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    rng = random.Random(7)
    for _ in range(20):
        plan = PassPlan(mixed, tempo=120.0, origin=1.0, traits=rng.choice(TRAITS))
        sounds = random_take(rng, plan, play(plan))
        items = portions(rng, sounds)
        moment = rng.randint(0, len(items))
        asked = rng.uniform(1.0, 7.0)
        listener = Listener(plan)
        events = fed(listener, items[:moment]) + listener.stop(asked)
        if listener.stopped_at is None:
            assert listener.result is not None  # the pass was over before
            continue
        assert listener.stopped_at >= asked
        events += fed(listener, items[moment:]) + listener.finish()
        live = [event for event in events if not isinstance(event, Heard)]

        offline = Listener(plan)
        expected = offline.stop(listener.stopped_at)
        for sound in sounds:
            offline.take(sound)
        expected += offline.finish()

        assert live == [event for event in expected if not isinstance(event, Heard)]
        result = check_consistent(live)
        if not result.passages:  # who is ahead has played what is written after the stop
            late = [note for note in result.notes if note.pluck.time / 1e6 + plan.origin > listener.stopped_at + 0.3]
            assert {note.verdict for note in late} <= {"missed"}
            assert not result.whole or listener.stopped_at >= 6.5  # the window of the last place opens at 6.5


sounds_of_any_kind = st.lists(
    st.one_of(
        st.builds(
            HeardNote,
            seconds=st.integers(-2000, 9000).map(lambda ms: ms / 1000),
            pitch=st.integers(0, 127),
            velocity=st.integers(1, 127),
            channel=st.integers(1, 5),
            string=st.one_of(st.none(), st.integers(1, 5)),
        ),
        st.builds(
            Bend,
            seconds=st.integers(-2000, 9000).map(lambda ms: ms / 1000),
            cents=st.floats(-1200, 1200),
            channel=st.integers(1, 5),
            string=st.one_of(st.none(), st.integers(1, 5)),
        ),
        st.builds(
            NoteEnd,
            seconds=st.integers(-2000, 9000).map(lambda ms: ms / 1000),
            pitch=st.integers(0, 127),
            channel=st.integers(1, 5),
        ),
        st.builds(
            StrayNote,
            seconds=st.integers(-2000, 9000).map(lambda ms: ms / 1000),
            pitch=st.integers(0, 127),
            channel=st.integers(6, 16),
        ),
    ),
    max_size=30,
)


@settings(derandomize=True, deadline=None, max_examples=20)
@given(sounds=sounds_of_any_kind)
def test_verdicts_cover_each_expected_pluck_exactly_once_for_any_stream(
    sounds: list[Sound], mixed: Arrangement
) -> None:
    plan = PassPlan(mixed, tempo=100.0)
    result = heard(plan, sounds)

    assert [note.pluck.id for note in result.notes] == [pluck.id for _, pluck in mixed.plucks()]
    assert sum(score.expected for score in result.measures) == len(result.notes)
    assert sum(score.extra for score in result.measures) == len(result.extras)


@settings(derandomize=True, deadline=None, max_examples=20)
@given(sounds=sounds_of_any_kind, shift=st.integers(-120, 120))
def test_a_common_shift_of_all_times_shifts_only_the_offsets(
    sounds: list[Sound], shift: int, mixed: Arrangement
) -> None:
    plan = PassPlan(mixed, tempo=100.0, traits=TRAITS[1])
    before = heard(plan, sounds)
    moved = [replace(sound, seconds=round(sound.seconds + shift, 3)) for sound in sounds]
    after = heard(replace(plan, origin=float(shift)), moved)

    assert after.notes == before.notes
    assert after.extras == before.extras
    assert after.measures == before.measures
    assert [dropped.reason for dropped in after.dropped] == [dropped.reason for dropped in before.dropped]
    assert after.traits == before.traits


@settings(derandomize=True, deadline=None, max_examples=20)
@given(lag=st.integers(-35, 35), tempo=st.sampled_from([60.0, 120.0, 200.0]))
def test_a_steady_lag_moves_every_offset_alike_and_no_verdict_once_it_is_taken_for_lean(
    lag: int, tempo: float, roll: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(roll, tempo=tempo)
    late = [replace(note, seconds=note.seconds + lag / 1000) for note in play(plan)]
    result = heard(replace(plan, lean_ms=float(lag)), late)

    assert {note.offset for note in result.notes} <= {1000 * lag - 1, 1000 * lag, 1000 * lag + 1}
    assert {note.verdict for note in result.notes} == {"on time"}


@settings(derandomize=True, deadline=None, max_examples=20)
@given(sounds=sounds_of_any_kind, pitch=st.integers(0, 127), velocity=st.integers(1, 127))
def test_a_note_far_from_every_place_changes_nothing_but_the_extras(
    sounds: list[Sound], pitch: int, velocity: int, solo: Callable[..., Arrangement]
) -> None:
    # Two seconds of rest in the second measure: its middle is far from everything.
    resting = solo([("0", 3, 2), ("1", 1, 0)], [("0", 4, 2)], [("0", 3, 0), ("1", 5, 0)])
    plan = PassPlan(resting, tempo=100.0)
    quiet = [sound for sound in sounds if not 3.5 < sound.seconds < 4.1]
    before = heard(plan, quiet)
    after = heard(plan, [*quiet, HeardNote(3.8, pitch, velocity, 1, None, 99)])

    assert after.notes == before.notes
    assert after.whole == before.whole
    added = [extra for extra in after.extras if extra.seq == 99]
    dropped = [dropped for dropped in after.dropped if dropped.seq == 99]
    assert len(added) + len(dropped) == 1
    assert [extra for extra in after.extras if extra.seq != 99] == list(before.extras)


def test_what_a_pass_teaches_is_carried_to_the_next_alike_live_and_offline(
    mixed: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    rng = random.Random(11)
    live: PassResult | None = None
    offline: PassResult | None = None
    gates = []
    for number in range(1, 9):
        plan = PassPlan(mixed, tempo=120.0, origin=10.0 * number, number=number)
        sounds = random_take(rng, plan, play(plan))
        listener = Listener(following(plan, live))
        fed(listener, portions(rng, sounds))
        listener.finish()
        live = listener.result
        offline = heard(following(plan, offline), sounds)

        assert live == offline
        gates.append((offline.plan.traits.gate, offline.traits.gate))
    assert gates[0][0] == 0
    assert all(before[1] == after[0] for before, after in pairwise(gates))
    assert gates[-1][0] > 0
