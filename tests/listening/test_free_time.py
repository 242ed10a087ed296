from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrangement import Arrangement
from coach.listening.free_time import FreePass, doubted, hear_freely, onsets_of
from coach.listening.heard import Bend, HeardNote, Latency, Sound
from coach.listening.path import Onset
from coach.listening.places import places_of
from coach.listening.plan import PassPlan, Settings
from coach.listening.verdicts import NoteVerdict

Make = Callable[..., Arrangement]

# Four measures in which every place has another pitch, on strings 1 and 3 in turn.
FRETS = ((0, 1, 2, 3), (4, 5, 6, 7), (8, 9, 10, 11), (12, 13, 14, 15))


@pytest.fixture(scope="module")
def study(solo: Make) -> Arrangement:
    return solo(*([(str(k), 3, fret, {"role": "melody"}) for k, fret in enumerate(frets)] for frets in FRETS))


def at_times(plan: PassPlan, *times: tuple[float, int]) -> list[HeardNote]:
    """Notes at (seconds, place): what is written at the place, on its string."""
    places = places_of(replace(plan, tempo=60.0))
    plucks = [places.places[place].plucks[0] for _, place in times]
    return [
        HeardNote(seconds, pluck.pitch, 80, pluck.string, pluck.string, seq)
        for seq, ((seconds, _), pluck) in enumerate(zip(times, plucks, strict=True), 1)
    ]


def steady(plan: PassPlan, quarter: float = 0.7) -> list[HeardNote]:
    return at_times(plan, *((3.0 + k * quarter, k) for k in range(16)))


def verdicts(free: FreePass) -> list[str]:
    return [note.verdict for note in free.result.notes]


def pairs(free: FreePass) -> list[tuple[str, int | None]]:
    return [(note.pluck.id, note.seq) for note in free.result.notes]


def test_what_was_played_is_on_time_at_any_tempo(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    free = hear_freely(plan, steady(plan, 1.3))

    assert verdicts(free) == ["on time"] * 16
    assert free.tempos == pytest.approx([60 / 1.3] * 4, abs=0.001)
    assert free.result.plan.tempo == pytest.approx(60 / 1.3, abs=0.001)
    assert free.result.whole
    assert free.result.clean
    assert free.detours == ()


def test_an_uneven_note_is_told_by_the_spread_and_is_no_fault(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)
    notes[5] = replace(notes[5], seconds=notes[5].seconds + 0.15)
    free = hear_freely(plan, notes)

    assert verdicts(free) == ["on time"] * 16
    spreads = [measure.spread_ms for measure in free.result.measures]
    assert spreads[0] == pytest.approx(0.0, abs=0.01)
    # By hand: the least-squares line through offsets of 0, 150, 0, 0 and, after the barline, 0 ms has mean 30 and slope
    # -15; the four in the measure lie -60, 105, -30 and -15 ms from it, the root of their mean square is 62.75.
    assert spreads[1] == pytest.approx(62.75, abs=0.01)
    assert [measure.off_time for measure in free.result.measures] == [0, 0, 0, 0]
    assert all(note.timing is None for note in free.result.notes)


def test_missed_wrong_and_extra_notes_are_told(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)
    notes[6] = replace(notes[6], pitch=notes[6].pitch - 3)
    extra = HeardNote(notes[12].seconds + 0.3, 62, 80, 1, 1, 99)
    free = hear_freely(plan, [note for note in [*notes, extra] if note.seq != 3])

    assert [(note.pluck.id, note.verdict) for note in free.result.notes if note.verdict != "on time"] == [
        ("m1e3", "missed"),
        ("m2e3", "wrong note"),
    ]
    assert [(each.measure, each.seq) for each in free.result.extras] == [(4, 99)]
    assert [measure.clean for measure in free.result.measures] == [False, False, True, True]


def test_the_right_note_on_another_string_is_told(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)
    notes[6] = replace(notes[6], string=2)

    assert [note.verdict for note in hear_freely(plan, notes).result.notes][6] == "other string"


def test_a_measure_begun_again_counts_as_it_came_out_in_the_end(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    order = [*range(8), *range(4, 16)]
    notes = at_times(plan, *((k * 0.7, place) for k, place in enumerate(order)))
    notes[6] = replace(notes[6], pitch=40)
    free = hear_freely(plan, notes)

    assert verdicts(free) == ["on time"] * 16
    assert free.result.extras == ()
    assert [(d.kind, d.first.id, d.last.id) for d in free.detours] == [("played twice", "m2e1", "m2e4")]
    assert dict(pairs(free))["m2e3"] == notes[10].seq


def test_a_measure_left_out_is_missed_and_named(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    order = [*range(4), *range(8, 16)]
    free = hear_freely(plan, at_times(plan, *((k * 0.7, place) for k, place in enumerate(order))))

    assert verdicts(free) == ["on time"] * 4 + ["missed"] * 4 + ["on time"] * 8
    assert [(d.kind, d.first.id, d.last.id, d.slots) for d in free.detours] == [("left out", "m2e1", "m2e4", None)]


def test_a_jump_ahead_to_what_is_played_later_is_a_jump(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    order = [*range(4), *range(8, 16), *range(4, 16)]
    free = hear_freely(plan, at_times(plan, *((k * 0.7, place) for k, place in enumerate(order))))

    assert verdicts(free) == ["on time"] * 16
    assert [(d.kind, d.first.id, d.last.id, d.slots) for d in free.detours] == [
        ("jumped", "m3e1", "m4e4", 10),
        ("played twice", "m3e1", "m4e4", None),
    ]


def test_a_stop_to_think_is_named_and_no_fault(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = [replace(note, seconds=note.seconds + (8.0 if note.seq > 7 else 0.0)) for note in steady(plan)]
    free = hear_freely(plan, notes)

    assert verdicts(free) == ["on time"] * 16
    assert [(d.kind, d.first.id, d.last.id) for d in free.detours] == [("stopped", "m2e3", "m2e4")]
    assert free.tempos == pytest.approx([60 / 0.7] * 4, abs=0.001)


def test_what_lies_behind_the_last_place_reached_is_not_expected(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    free = hear_freely(plan, steady(plan)[:9])

    assert verdicts(free) == ["on time"] * 9
    assert [measure.number for measure in free.result.measures] == [1, 2, 3]
    assert len(free.tempos) == 3
    assert not free.result.whole


def test_a_pass_begins_with_the_first_measure_that_was_played(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    free = hear_freely(plan, steady(plan)[8:])

    assert free.result.plan.span == "3-4"
    assert verdicts(free) == ["on time"] * 8
    assert free.result.whole


def test_a_measure_played_all_wrong_is_no_later_beginning(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = [replace(note, pitch=30 + note.seq) if note.seq <= 4 else note for note in steady(plan)]
    free = hear_freely(plan, notes)

    assert free.result.plan.span == "1-4"
    assert [measure.played for measure in free.result.measures] == [0, 4, 4, 4]


@pytest.mark.parametrize(("knocks", "span"), [(1, "2-4"), (4, "1-4")])
def test_a_pass_begins_later_unless_much_was_heard_before(study: Arrangement, knocks: int, span: str) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)[4:]
    before = [HeardNote(notes[0].seconds - 1.0 + 0.13 * k, 80 + k, 80, 1, 1, 90 + k) for k in range(knocks)]

    assert hear_freely(plan, [*before, *notes]).result.plan.span == span


def test_a_wrong_last_note_is_wrong_and_the_pass_is_whole(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)
    notes[-1] = replace(notes[-1], pitch=40)
    free = hear_freely(plan, notes)

    assert verdicts(free) == ["on time"] * 15 + ["wrong note"]
    assert free.result.whole


def test_nothing_heard_is_everything_missed(study: Arrangement) -> None:
    free = hear_freely(PassPlan(study, 120.0), [])

    assert verdicts(free) == ["missed"] * 16
    assert free.tempos == (None,) * 4
    assert not free.result.whole


def test_ghosts_and_doubles_are_dropped_with_their_own_stamps(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)
    ghost = replace(notes[4], seconds=notes[4].seconds + 0.02, pitch=notes[4].pitch + 12, velocity=30, seq=98)
    double = replace(notes[9], seconds=notes[9].seconds + 0.03, velocity=30, seq=99)
    free = hear_freely(plan, [*notes, ghost, double])

    assert verdicts(free) == ["on time"] * 16
    assert hear_freely(plan, [*notes, ghost, double], Settings(Latency(25.0))).result.dropped == free.result.dropped
    assert [(each.reason, each.seconds) for each in free.result.dropped] == [
        ("octave ghost", ghost.seconds),
        ("soft double", double.seconds),
    ]


def test_the_notes_of_a_pinch_may_be_spread(solo: Make) -> None:
    pinch = [
        ("0", 3, 0, {"role": "melody"}),
        ("1", 5, 0, {"role": "pinch"}),
        ("1", 1, 0, {"role": "melody"}),
        ("2", 2, 0),
    ]
    plan = PassPlan(solo(pinch, pinch), 120.0)
    times = [0.0, 1.0, 1.05, 2.0, 4.0, 5.05, 5.0, 6.0]
    plucks = places_of(plan).expected
    notes = [
        HeardNote(t, p.pitch, 80, p.string, p.string, k) for k, (t, p) in enumerate(zip(times, plucks, strict=True))
    ]
    free = hear_freely(plan, notes)

    assert verdicts(free) == ["on time"] * 8
    assert free.detours == ()


def test_slurs_are_heard_by_bends_or_counted_with_their_picks(solo: Make) -> None:
    slur = [("0", 3, 2), ("1", 3, 3, {"technique": "hammer-on", "from_fret": 2}), ("2", 1, 0), ("3", 2, 0)]
    plan = PassPlan(solo(slur, slur), 120.0)
    picked = [pluck for pluck in places_of(plan).expected if pluck.picked]
    notes = [
        HeardNote(1.2 * [0, 2, 3, 4, 6, 7][k], pluck.pitch, 80, pluck.string, pluck.string, k)
        for k, pluck in enumerate(picked)
    ]
    assumed = hear_freely(plan, notes)
    bent = hear_freely(plan, [*notes, Bend(1.2, 100.0, 3, 3, 50)])

    assert verdicts(assumed) == ["on time"] * 8
    assert [note.assumed for note in assumed.result.notes][1] is True
    assert bent.result.notes[1].seq == 50
    assert verdicts(bent)[5] == "missed"
    assert bent.result.slurs_shown


def test_latency_by_string_is_taken_off(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)
    late = [replace(note, seconds=note.seconds + 0.1) if note.seq % 2 else note for note in notes]
    late = [replace(note, string=1 if note.seq % 2 else 3) for note in late]
    free = hear_freely(plan, late, Settings(Latency(by_string=((1, 100.0),))))

    assert free.result.measures[1].spread_ms == pytest.approx(0.0, abs=0.01)


def test_noises_before_and_long_after_are_no_part_of_the_pass(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    around = [HeardNote(1.0, 70, 80, 1, 1, 98), HeardNote(30.0, 71, 80, 1, 1, 99)]

    assert hear_freely(plan, [*steady(plan), *around]).result.extras == ()


def test_a_softer_note_beside_its_double_or_an_octave_below_is_doubted() -> None:
    def note(seconds: float, pitch: int, velocity: int, string: int | None = None) -> HeardNote:
        return HeardNote(seconds, pitch, velocity, 1, string)

    loud = note(1.0, 60, 80)
    assert [each.doubtful for each in doubted([loud, note(1.04, 60, 40)])] == [False, True]
    assert [each.doubtful for each in doubted([loud, note(1.041, 60, 40)])] == [False, False]
    assert [each.doubtful for each in doubted([loud, note(1.02, 72, 40)])] == [False, True]
    assert [each.doubtful for each in doubted([loud, note(1.02, 60, 80)])] == [False, True]
    assert [each.doubtful for each in doubted([loud, note(1.02, 72, 90)])] == [False, False]
    assert [each.doubtful for each in doubted([note(1.0, 60, 80, 1), note(1.02, 60, 40, 2)])] == [False, False]


def test_onsets_tell_pinches_slurs_and_where_measures_begin(mixed: Arrangement) -> None:
    onsets = onsets_of(places_of(PassPlan(mixed, 60.0)))

    assert onsets[0] == Onset(0.0, (57,), optional=False, entry=True)
    assert onsets[1].optional
    assert len(onsets[2].pitches) == 2
    assert [onset.at for onset in onsets if onset.entry] == [0.0, 4.0, 8.0]


SOUNDS = st.lists(
    st.one_of(
        st.builds(
            HeardNote,
            st.floats(0.0, 20.0),
            st.integers(50, 70),
            st.integers(1, 127),
            st.integers(1, 5),
            st.one_of(st.none(), st.integers(1, 5)),
        ),
        st.builds(Bend, st.floats(0.0, 20.0), st.floats(-200.0, 200.0), st.integers(1, 5)),
    ),
    max_size=25,
)


@settings(max_examples=60)
@given(sounds=SOUNDS)
def test_any_sounds_give_each_pluck_at_most_one_verdict_and_each_note_at_most_one_use(
    mixed: Arrangement, sounds: list[Sound]
) -> None:
    numbered = [replace(sound, seq=seq) for seq, sound in enumerate(sorted(sounds, key=lambda s: s.seconds), 1)]
    free = hear_freely(PassPlan(mixed, 100.0), numbered)
    result = free.result
    indices = [note.pluck.index for note in result.notes]
    uses = [note.seq for note in result.notes if note.seq is not None]
    uses += [extra.seq for extra in result.extras] + [dropped.seq for dropped in result.dropped]

    assert indices == sorted(set(indices))
    assert len(uses) == len(set(uses))
    assert len(free.tempos) == len(result.measures)


def right(free: FreePass, meant: dict[int, str], at: Sequence[NoteVerdict]) -> float:
    """The share of the notes meant for a pluck that were judged as that pluck."""
    judged = {note.seq: note.pluck.id for note in at if note.seq is not None}
    return sum(judged.get(seq) == name for seq, name in meant.items()) / len(meant)


@pytest.mark.parametrize(("share", "least"), [(0.0, 0.99), (1.0, 0.97)])
def test_a_learners_pass_is_judged_as_it_was_meant(study: Arrangement, share: float, least: float) -> None:
    shares = []
    for seed in range(12):
        rng = random.Random(seed)
        plan = PassPlan(study, 80.0)
        meant: dict[int, str] = {}
        notes: list[HeardNote] = []
        seconds = 2.0
        for pluck in places_of(plan).expected:
            if pluck.id.endswith("e1"):
                quarter = 0.75 / rng.uniform(0.4, 1.6)
            if rng.random() >= 0.03 * share:
                wrong = rng.random() < 0.02 * share
                seq = len(notes) + 1
                notes.append(HeardNote(seconds + rng.gauss(0, 0.015), pluck.pitch - 4 * wrong, 80, seq=seq))
                meant[seq] = pluck.id
            seconds += quarter + (rng.uniform(1.0, 5.0) if rng.random() < 0.04 else 0.0)
        free = hear_freely(plan, notes)
        shares.append(right(free, meant, free.result.notes))

    assert sum(shares) / len(shares) >= least


@settings(max_examples=30)
@given(sounds=SOUNDS, shift=st.sampled_from([-512.0, 0.25, 4096.0]))
def test_when_the_pass_was_played_changes_nothing(mixed: Arrangement, sounds: list[Sound], shift: float) -> None:
    # Whole 1024ths of a second, so that a shift leaves all gaps as they are.
    early = [replace(sound, seconds=round(sound.seconds * 1024) / 1024) for sound in sounds]
    early = [replace(sound, seq=seq) for seq, sound in enumerate(sorted(early, key=lambda s: s.seconds), 1)]
    late = [replace(sound, seconds=sound.seconds + shift) for sound in early]
    one, other = (hear_freely(PassPlan(mixed, 100.0), each) for each in (early, late))

    assert [replace(each, offset=None) for each in other.result.notes] == [
        replace(each, offset=None) for each in one.result.notes
    ]
    assert [each.seq for each in other.result.extras] == [each.seq for each in one.result.extras]
    assert other.tempos == pytest.approx(one.tempos, abs=0.01)


def test_a_far_away_extra_note_changes_nothing_else(study: Arrangement) -> None:
    plan = PassPlan(study, 120.0)
    notes = steady(plan)
    alone = hear_freely(plan, notes)
    for seconds in (-30.0, 60.0):
        assert hear_freely(plan, [*notes, HeardNote(seconds, 62, 80, 1, 1, 99)]) == alone
