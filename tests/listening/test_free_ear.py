from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest
from free_player import Kind, performance
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrangement import Arrangement
from coach.listening.events import Event, Heard, MeasureDone, PassDone, PlayerAt, VerdictGiven
from coach.listening.free_ear import AFTER_LAST, BEFORE_FIRST, SILENCE, FreeEar
from coach.listening.free_time import FreePass, hear_freely, onsets_of
from coach.listening.heard import HeardNote, Latency, Sound
from coach.listening.places import places_of
from coach.listening.plan import PassPlan, Settings

Make = Callable[..., Arrangement]
ORIGIN = 5.0
LOOK = 0.05  # seconds after which the notes around a note are known

# Four measures in which every place has another pitch, on string 3.
FRETS = ((0, 1, 2, 3), (4, 5, 6, 7), (8, 9, 10, 11), (12, 13, 14, 15))


@pytest.fixture(scope="module")
def plan(solo: Make) -> PassPlan:
    study = solo(*([(str(k), 3, fret, {"role": "melody"}) for k, fret in enumerate(frets)] for frets in FRETS))
    return PassPlan(study, 80.0, ORIGIN)


def at(*times: tuple[float, int]) -> list[HeardNote]:
    """Notes of the study at (seconds, place)."""
    return [HeardNote(ORIGIN + seconds, 55 + place, 80, 3, 3, seq) for seq, (seconds, place) in enumerate(times, 1)]


def steady(places: Sequence[int] = range(16), quarter: float = 0.7, since: float = 1.0) -> list[HeardNote]:
    return at(*((since + k * quarter, place) for k, place in enumerate(places)))


def listened(ear: FreeEar, sounds: Sequence[Sound]) -> list[Event]:
    """Take sounds with a watermark after each."""
    events: list[Event] = []
    for sound in sounds:
        events += ear.take(sound)
        events += ear.watermark(sound.seconds + LOOK)
    return events


def marks(events: Sequence[Event]) -> list[tuple[int, str | None, str]]:
    return [(each.seq, each.pluck, each.mark) for each in events if isinstance(each, Heard)]


def names(*places: int) -> list[str]:
    return [f"m{1 + place // 4}e{1 + place % 4}" for place in places]


def judged(ear: FreeEar) -> FreePass:
    assert ear.result is not None
    return ear.result


def test_each_note_gets_a_mark_once_what_is_around_it_is_known(plan: PassPlan) -> None:
    ear = FreeEar(plan)
    first, second = steady()[:2]

    assert ear.take(first) == []
    assert ear.watermark(first.seconds + 0.04) == []
    assert marks(ear.watermark(first.seconds + 0.041)) == [(1, "m1e1", "on time")]
    assert marks(listened(ear, [second])) == [(2, "m1e2", "on time")]


def test_wrong_and_extra_notes_other_strings_and_ghosts_are_marked(plan: PassPlan) -> None:
    notes = steady()
    notes[5] = replace(notes[5], pitch=30)
    notes[7] = replace(notes[7], string=4)
    extra = HeardNote(notes[9].seconds + 0.3, 40, 80, 3, 3, 98)
    ghost = HeardNote(notes[11].seconds + 0.02, notes[11].pitch + 12, 20, 3, 3, 99)
    ear = FreeEar(plan)
    for note in (*notes, extra, ghost):
        ear.take(note)
    given = {seq: (pluck, mark) for seq, pluck, mark in marks(ear.watermark(notes[-1].seconds + LOOK))}

    assert given[6] == ("m2e2", "wrong note")
    assert given[8] == ("m2e4", "other string")
    assert given[98] == (None, "extra")
    assert given[99] == (None, "dropped")
    assert [given[seq][1] for seq in (1, 5, 7, 9, 16)] == ["on time"] * 5


def test_a_note_that_is_seen_otherwise_later_is_marked_again(plan: PassPlan) -> None:
    # The first note of a jump looks like a slip until others follow.
    events = listened(FreeEar(plan), steady([0, 1, 2, 3, 4, 8, 9, 10, 11, 12]))

    assert [(pluck, mark) for seq, pluck, mark in marks(events) if seq == 6] == [
        ("m2e2", "wrong note"),
        ("m3e1", "on time"),
    ]


def test_where_the_player_is_and_how_fast_is_told_as_it_changes(plan: PassPlan) -> None:
    events = listened(FreeEar(plan), [*steady(range(4)), *steady(range(4, 8), 1.2, 1.0 + 4 * 0.7)])
    there = [each for each in events if isinstance(each, PlayerAt)]

    assert there[0] == PlayerAt(1, 80.0)
    assert PlayerAt(1, round(60 / 0.7, 1)) in there
    assert there[-1] == PlayerAt(2, 50.0)
    assert len(set(there)) == len(there)


def test_two_seconds_of_silence_after_the_last_place_end_the_pass(plan: PassPlan) -> None:
    ear = FreeEar(plan)
    notes = steady()
    listened(ear, notes)
    last = notes[-1].seconds

    assert ear.watermark(last + AFTER_LAST - 0.001) == []
    events = ear.watermark(last + AFTER_LAST)
    assert isinstance(events[-1], PassDone)
    assert judged(ear).result.clean
    assert [each.note.verdict for each in events if isinstance(each, VerdictGiven)] == ["on time"] * 16
    assert [each.score.number for each in events if isinstance(each, MeasureDone)] == [1, 2, 3, 4]
    assert ear.watermark(last + 60) == ear.finish() == ear.stop(last + 61) == []


def test_who_goes_on_from_the_last_place_is_listened_to(plan: PassPlan) -> None:
    ear = FreeEar(plan)
    listened(ear, steady([*range(16), *range(8)]))

    ear.watermark(ORIGIN + 1 + 24 * 0.7 + AFTER_LAST)
    assert not ear.is_over


@pytest.mark.parametrize(("places", "over"), [((0, 1, 2, 3, 12, 13, 14), False), ((8, 9, 10, 11, 12, 13, 14), True)])
def test_the_last_place_counts_at_the_end_of_a_few_in_their_order(
    plan: PassPlan, places: tuple[int, ...], over: bool
) -> None:
    last = plan.arrangement.measures[-1]
    shorter = replace(last, plucks=last.plucks[:-1])
    solo = replace(plan.arrangement, measures=(*plan.arrangement.measures[:-1], shorter))
    ear = FreeEar(replace(plan, arrangement=solo))
    notes = steady(places)
    given = listened(ear, notes)

    assert marks(given)[-1] == (notes[-1].seq, "m4e3", "on time")
    ear.watermark(notes[-1].seconds + AFTER_LAST)
    assert ear.is_over is over


@pytest.mark.parametrize("played", [0, 6])
def test_a_long_silence_ends_the_pass(plan: PassPlan, played: int) -> None:
    ear = FreeEar(plan)
    notes = steady(range(played))
    listened(ear, notes)
    over = notes[-1].seconds + SILENCE if notes else ORIGIN + BEFORE_FIRST

    assert ear.watermark(over - 0.001) == []
    ear.watermark(over)
    assert ear.is_over
    assert len(judged(ear).result.notes) == (played or 16)


def test_stop_ends_the_pass_when_the_watermark_comes_there(plan: PassPlan) -> None:
    ear = FreeEar(plan)
    notes = steady()
    for note in notes[:10]:
        ear.take(note)
    ear.watermark(notes[5].seconds)
    stop = notes[7].seconds

    assert ear.stop(stop) == []
    assert [each.mark for each in ear.take(notes[11]) if isinstance(each, Heard)] == ["outside"]
    ear.watermark(stop)
    assert ear.stopped_at == stop
    assert [note.pluck.id for note in judged(ear).result.notes] == names(*range(7))


def test_a_stop_behind_the_watermark_takes_effect_at_the_watermark(plan: PassPlan) -> None:
    ear = FreeEar(plan)
    notes = steady()
    listened(ear, notes[:6])

    events = ear.stop(notes[2].seconds)
    assert ear.stopped_at == notes[5].seconds + LOOK
    assert isinstance(events[-1], PassDone)
    assert len(judged(ear).result.notes) == 6


def test_what_comes_after_the_end_is_no_part_of_the_pass(plan: PassPlan) -> None:
    notes = steady()
    again = [replace(note, seconds=note.seconds + 15 * 0.7 + AFTER_LAST, seq=note.seq + 50) for note in notes[:9]]
    assert again[0].seconds == notes[-1].seconds + AFTER_LAST
    ear = FreeEar(plan)
    for note in (*notes, *again):
        ear.take(note)
    ear.finish()

    assert ear.result == hear_freely(plan, notes)


def test_notes_before_the_pass_are_outside(plan: PassPlan) -> None:
    ear = FreeEar(plan)

    assert marks(ear.take(HeardNote(ORIGIN - 0.001, 55, 80, 3, 3, 1))) == [(1, None, "outside")]
    assert marks([*ear.take(HeardNote(ORIGIN, 55, 80, 3, 3, 2)), *ear.watermark(ORIGIN + 1)]) == [
        (2, "m1e1", "on time")
    ]


def test_a_note_behind_the_watermark_still_counts(plan: PassPlan) -> None:
    notes = steady()
    ear = FreeEar(plan)
    listened(ear, [note for note in notes if note.seq != 5])
    ear.take(notes[4])
    ear.finish()

    assert ear.result == hear_freely(plan, notes)


def test_a_solo_without_plucks_is_listened_to_until_the_silence(solo: Make) -> None:
    ear = FreeEar(PassPlan(solo([]), 80.0))
    events = listened(ear, [HeardNote(1.0, 60, 80, 3, 3, 1)])

    assert marks(events) == [(1, None, "extra")]
    ear.watermark(1.0 + SILENCE)
    assert ear.is_over


def played(plan: PassPlan, seed: int) -> list[HeardNote]:
    """A learner: other tempos, stops, mistakes, measures begun again; a ghost here and there."""
    rng = random.Random(seed)
    onsets = onsets_of(places_of(replace(plan, tempo=60.0, origin=0.0)))
    notes = []
    for true in performance(onsets, rng, Kind(0.05, 0.05, 0.05, 0.1, 0.2)):
        # On ticks of a 1024th, as a take has its own.
        seconds = ORIGIN + round(true.note.seconds * 1024) / 1024
        string = rng.randint(1, 5)
        notes.append(HeardNote(seconds, true.note.pitch, rng.randint(30, 110), string, string))
        if rng.random() < 0.1:
            notes.append(replace(notes[-1], seconds=seconds + 20 / 1024, pitch=true.note.pitch + 12, velocity=20))
    notes.sort(key=lambda note: note.seconds)
    return [replace(note, seq=seq) for seq, note in enumerate(notes, 1)]


LATENCIES = (Latency(), Latency(12.0), Latency(by_string=((1, 7.0), (2, 30.0), (5, -4.0))))


@settings(max_examples=8)
@given(
    seed=st.integers(0, 10_000),
    latency=st.sampled_from(LATENCIES),
    stopped=st.one_of(st.none(), st.floats(0.0, 30.0)),
    data=st.data(),
)
def test_the_end_is_what_is_heard_offline_however_the_notes_arrive(
    mixed: Arrangement, seed: int, latency: Latency, stopped: float | None, data: st.DataObject
) -> None:
    plan = PassPlan(mixed, 100.0, ORIGIN)
    how = Settings(latency)
    notes = played(plan, seed)
    stop = None if stopped is None else ORIGIN + stopped
    live, at_once = FreeEar(plan, how), FreeEar(plan, how)
    events: list[Event] = []
    rest = list(notes)
    while rest and not live.is_over and (stop is None or rest[0].seconds < stop):
        size = data.draw(st.integers(1, len(rest)))
        for note in data.draw(st.permutations(rest[:size])):
            events += live.take(note)
        rest = rest[size:]
        mark = rest[0].seconds if rest else notes[-1].seconds
        events += live.watermark(mark if stop is None else min(stop, mark))
    if stop is not None:
        events += live.stop(stop)
    events += live.finish()
    if stop is not None:
        at_once.stop(stop)
    expected: list[Event] = []
    for note in notes:
        expected += at_once.take(note)
    expected += at_once.finish()

    def told(each: list[Event]) -> list[Event]:
        return [event for event in each if not (isinstance(event, Heard) and event.mark == "outside")]

    assert live.result == at_once.result
    assert told(events) == told(expected)
    inside = [
        note
        for note in notes
        if note.seconds - latency.of(note.string) / 1000 < live.over_at and not (stop and note.seconds >= stop)
    ]
    assert live.result == hear_freely(plan, inside, how)
