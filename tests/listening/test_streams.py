"""Whatever comes in, in whatever order, gives a report; what has nothing to do with a pass changes nothing in it."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest
from demo_solos import demo_solos
from hypothesis import given, settings
from hypothesis import strategies as st
from player_noise import Extra, Jitter, Missed, OtherFret, OtherString
from player_pickup import ARTEFACTS, Pickup
from simulated_pass import perform
from strategies import solos

from coach.arranging.arrangement import TIERS, Arrangement
from coach.listening.events import Event, VerdictGiven
from coach.listening.heard import Decoder, HeardNote, Sound, StringChannels
from coach.listening.listener import Listener
from coach.listening.midi_bytes import MidiSplitter
from coach.listening.plan import PassPlan, Settings
from coach.listening.report import Scored, make_report, score, score_passes
from coach.listening.scores import PassResult
from coach.takes.files import read_take, write_take
from coach.takes.recorder import Recorder
from coach.takes.replay import Hearing, report_on
from coach.takes.take import is_channel_message
from coach.tunes.demo import DEMO_TUNES

STRINGS = (1, 2, 3, 4, 5)
ORIGIN = 3.0

milliseconds = st.integers(-1500, 7_000)
strung = st.sampled_from([STRINGS, None])
notes = st.builds(
    lambda channel, pitch, velocity: bytes([0x90 | channel, pitch, velocity]),
    st.integers(0, 5),
    st.integers(48, 76),
    st.integers(0, 127),
)
others = st.builds(
    lambda status, first, second: bytes([status, first, second]),
    st.sampled_from([0x80, 0x81, 0x92, 0xB0, 0xB1, 0xE0, 0xE1, 0xE2]),
    st.sampled_from([0, 6, 38, 55, 59, 62, 67, 100, 101]),
    st.integers(0, 127),
)
anything = st.binary(max_size=4)
seeds = st.integers(0, 999)
pitches = st.integers(40, 80)
streams = st.lists(st.tuples(milliseconds, st.one_of(notes, notes, notes, others, anything)), max_size=30)


@st.composite
def plans(draw: st.DrawFn) -> PassPlan:
    """Three measures of a solo of the demo tunes."""
    name, tier = draw(st.sampled_from(sorted(DEMO_TUNES))), draw(st.sampled_from(TIERS))
    first = draw(st.integers(1, 13))
    return PassPlan(demo_solos(name)[tier], 140.0, ORIGIN, first, first + 2)


def expected(plan: PassPlan) -> list[str]:
    return [pluck.id for measure in plan.measures for pluck in measure.plucks]


def decoded(stream: Sequence[tuple[int, bytes]], channels: StringChannels | None) -> list[Sound]:
    """What messages hold, by their own times, numbered as they come."""
    decoder = Decoder(channels)
    sounds = [decoder.feed(ORIGIN + ms / 1000, data, seq) for seq, (ms, data) in enumerate(stream)]
    return [sound for sound in sounds if sound is not None]


@settings(max_examples=5)
@given(solo=solos(), stream=streams, channels=strung)
def test_any_messages_give_a_report_with_a_verdict_for_each_pluck(
    solo: Arrangement, stream: list[tuple[int, bytes]], channels: StringChannels | None
) -> None:
    plan = PassPlan(solo, 140.0, ORIGIN)
    record = json.loads(score([Scored(plan)], decoded(stream, channels)).to_json())

    assert [note["id"] for note in record["notes"]] == expected(plan)
    assert sum(measure["expected"] for measure in record["measures"]) == len(expected(plan))


@settings(max_examples=8)
@given(plan=plans(), data=st.data(), channels=strung)
def test_any_bytes_in_any_portions_do_too(plan: PassPlan, data: st.DataObject, channels: StringChannels | None) -> None:
    whole = b"".join(data.draw(st.lists(st.one_of(notes, others, anything, st.just(b"\xf8")), max_size=40)))
    cuts = data.draw(st.lists(st.integers(1, 9), min_size=1, max_size=9))
    splitter, stream, at = MidiSplitter(), [], 0
    while at < len(whole):
        size = cuts[len(stream) % len(cuts)]
        stream += [(20 * at, message) for message in splitter.feed(whole[at : at + size])]
        at += size
    record = json.loads(score([Scored(plan)], decoded(stream, channels)).to_json())

    assert [note["id"] for note in record["notes"]] == expected(plan)


def live(plan: PassPlan, sounds: Sequence[Sound], marks: Sequence[int]) -> tuple[PassResult, list[Event]]:
    """Sounds in the order in which they come, a watermark (milliseconds) after every third, whatever it says."""
    listener = Listener(plan)
    events: list[Event] = []
    for number, sound in enumerate(sounds):
        events += listener.take(sound)
        if number % 3 == 2 and marks:
            events += listener.watermark(ORIGIN + marks[number // 3 % len(marks)] / 1000)
    events += listener.finish()
    assert listener.result is not None
    return listener.result, events


@settings(max_examples=8)
@given(plan=plans(), stream=streams, marks=st.lists(milliseconds, max_size=6), channels=strung)
def test_live_each_pluck_gets_one_verdict_whatever_the_order_and_the_watermarks(
    plan: PassPlan,
    stream: list[tuple[int, bytes]],
    marks: list[int],
    channels: StringChannels | None,
) -> None:
    result, events = live(plan, decoded(stream, channels), marks)
    given_ids = Counter(event.note.pluck.id for event in events if isinstance(event, VerdictGiven))

    assert given_ids == Counter(expected(plan))
    assert [note.pluck.id for note in result.notes] == expected(plan)


@settings(max_examples=8)
@given(plan=plans(), stream=streams, seed=st.integers(0, 99), channels=strung)
def test_the_order_in_which_sounds_come_says_nothing(
    plan: PassPlan, stream: list[tuple[int, bytes]], seed: int, channels: StringChannels | None
) -> None:
    sounds = decoded(stream, channels)
    mixed = random.Random(seed).sample(sounds, len(sounds))

    assert live(plan, sounds, [])[0] == live(plan, mixed, [])[0]


@settings(max_examples=8)
@given(plan=plans(), stream=streams)
def test_through_a_file_the_report_is_the_same(plan: PassPlan, stream: list[tuple[int, bytes]]) -> None:
    recorder = Recorder()
    mark = recorder.begin_pass(ORIGIN, plan.tempo, first=plan.first, last=plan.last)
    stream = sorted([(0, b"\x90\x37\x50"), *stream], key=lambda each: each[0])
    kept = [recorder.add(ORIGIN + ms / 1000, data) for ms, data in stream if is_channel_message(data)]
    take = recorder.take(ORIGIN + 60.0)
    decoder = Decoder(STRINGS)
    sounds = [decoder.feed(message.seconds, message.data, seq) for seq, message in enumerate(kept, 1)]
    solo = plan.arrangement
    plan = replace(plan, tempo=mark.tempo, origin=mark.seconds, bounce=solo.bounce)
    ours = score([Scored(plan)], [each for each in sounds if each is not None], end=take.end)

    theirs = report_on(read_take(write_take(take)), solo, Hearing(string_channels=STRINGS))
    assert theirs.to_json() == ours.to_json()
    assert [note.pluck.id for note in theirs.results[0].notes] == expected(plan)


# A pass that was played, so that there is something to be judged


def played(solo: Arrangement, tempo: float, seed: int, *, errs: bool = True) -> tuple[PassPlan, list[Sound]]:
    """A pass with misses, wrong notes and artefacts, and steps of whole microseconds."""
    plan = PassPlan(solo, tempo, ORIGIN)
    hands = (Jitter(0.006), Missed(0.05), OtherFret(0.03), OtherString(0.03), *((Extra(0.05),) if errs else ()))
    pickup = Pickup(artefacts=ARTEFACTS if errs else (), slurs="mixed")
    sounds = [sound for sound, _ in perform(plan, hands, pickup, f"stream {seed}").sounds(pickup)]
    return plan, [replace(sound, seconds=round(sound.seconds, 6)) for sound in sounds]


def of_pass(plan: PassPlan, sounds: Sequence[Sound], told: Settings | None = None) -> PassResult:
    return score_passes([Scored(plan)], sorted(sounds, key=lambda each: (each.seconds, each.seq)), settings=told)[0]


def moved(sounds: Sequence[Sound], by: float) -> list[Sound]:
    return [replace(sound, seconds=round(sound.seconds + by, 6)) for sound in sounds]


@settings(max_examples=5)
@given(seed=seeds, shift=st.integers(-2_900_000, 900_000_000), tempo=st.sampled_from([60.0, 137.0, 240.0]))
def test_when_the_origin_moves_along_a_shift_of_all_times_changes_nothing(seed: int, shift: int, tempo: float) -> None:
    by = shift / 1e6
    plan, sounds = played(demo_solos("mill-lane")["advanced"], tempo, seed)
    first, second = of_pass(plan, sounds), of_pass(replace(plan, origin=ORIGIN + by), moved(sounds, by))

    def told(result: PassResult) -> dict[str, object]:
        record = json.loads(make_report([result]).to_json())
        record["dropped"] = [
            {**each, "seconds": None} for each in record["dropped"]
        ]  # they count from the file's start
        return record

    assert told(first) == told(second)
    assert [drop.seconds + by for drop in first.dropped] == pytest.approx([drop.seconds for drop in second.dropped])


@settings(max_examples=5)
@given(seed=seeds, shift=st.integers(-15_000, 15_000), tempo=st.sampled_from([60.0, 120.0]))
def test_where_the_origin_stays_a_shift_of_all_times_changes_the_offsets_by_as_much(
    seed: int, shift: int, tempo: float
) -> None:
    """By so little that every note stays in its window; what is on time is told to be wide enough."""
    plan, sounds = played(demo_solos("mill-lane")["intermediate"], tempo, seed, errs=False)
    wide = Settings(tolerance_ms=100.0)
    before, after = of_pass(plan, sounds, wide), of_pass(plan, moved(sounds, shift / 1e6), wide)

    assert [
        replace(note, offset=None if note.offset is None else note.offset + shift) for note in before.notes
    ] == list(after.notes)
    assert len(before.extras) == len(after.extras)
    assert (before.passages, before.clean, before.whole) == (after.passages, after.clean, after.whole)


@settings(max_examples=5)
@given(seed=seeds, shift=st.integers(-15_000, 15_000), tempo=st.sampled_from([60.0, 120.0, 150.0]))
def test_where_the_lean_moves_along_the_verdicts_stay(seed: int, shift: int, tempo: float) -> None:
    plan, sounds = played(demo_solos("mill-lane")["intermediate"], tempo, seed, errs=False)
    leaning = replace(plan, lean_ms=shift / 1000)
    before, after = of_pass(plan, sounds), of_pass(leaning, moved(sounds, shift / 1e6))

    assert [(note.verdict, note.timing, note.seq) for note in before.notes] == [
        (note.verdict, note.timing, note.seq) for note in after.notes
    ]
    assert [measure.clean for measure in before.measures] == [measure.clean for measure in after.measures]


far = st.one_of(st.integers(-2900, -1000), st.integers(1500, 60_000))


@settings(max_examples=5)
@given(
    seed=seeds,
    away=far,
    pitch=st.integers(40, 80),
    velocity=st.integers(1, 127),
    channel=st.integers(1, 5),
)
def test_a_note_far_before_or_behind_a_pass_changes_nothing(
    seed: int, away: int, pitch: int, velocity: int, channel: int
) -> None:
    plan, sounds = played(demo_solos("lamps-on-the-water")["advanced"], 120.0, seed)
    at = (ORIGIN if away < 0 else plan.tempo_map.seconds(plan.length)) + away / 1000
    far_away = HeardNote(at, pitch, velocity, channel, channel, 1_000_000)

    assert of_pass(plan, [*sounds, far_away]) == of_pass(plan, sounds)


@pytest.fixture(scope="module")
def resting(solo: Callable[..., Arrangement]) -> Arrangement:
    """Eight measures of a roll, the fifth of them silent but for its first note."""
    rolls = [[(f"{k}/2", string, 0) for k, string in enumerate((3, 2, 5, 1, 4, 2, 5, 1))] for _ in range(8)]
    rolls[4] = rolls[4][:1]
    return solo(*rolls)


@settings(max_examples=8)
@given(seed=seeds, at=st.integers(500, 3400), pitch=pitches, channel=st.integers(1, 5))
def test_a_note_in_a_rest_is_an_extra_there_and_changes_nothing_else(
    resting: Arrangement, seed: int, at: int, pitch: int, channel: int
) -> None:
    plan, sounds = played(resting, 60.0, seed)
    far_away = HeardNote(ORIGIN + 16.0 + at / 1000, pitch, 90, channel, channel, 1_000_000)
    before, after = of_pass(plan, sounds), of_pass(plan, [*sounds, far_away])

    assert after.notes == before.notes
    assert after.dropped == before.dropped
    assert [extra for extra in after.extras if extra.seq != 1_000_000] == list(before.extras)
    assert [extra.measure for extra in after.extras if extra.seq == 1_000_000] == [5]
    assert after.passages == before.passages
    assert [m for m in after.measures if m.number != 5] == [m for m in before.measures if m.number != 5]
