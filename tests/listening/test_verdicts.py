from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrangement import Arrangement, ChordAt
from coach.listening.heard import Bend, HeardNote, Latency, Sound
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan, Settings
from coach.listening.scores import PassResult
from coach.tunes.chords import Chord


def hear(solo: Arrangement, *sounds: Sound, how: Settings | None = None, **plan: object) -> PassResult:
    """A take at 60 quarters a minute (a quarter is a second)."""
    listener = Listener(PassPlan(solo, 60.0, **plan), how)
    for sound in sounds:
        listener.take(sound)
    listener.finish()
    assert listener.result is not None
    return listener.result


def verdicts(result: PassResult) -> list[str]:
    return [note.verdict for note in result.notes]


def note(ms: float, pitch: int, string: int | None = None, seq: int = 0) -> HeardNote:
    return HeardNote(ms / 1000, pitch, 80, string or 1, string, seq or round(ms * 10))


@pytest.fixture
def even(solo: Callable[..., Arrangement]) -> Arrangement:
    """Two notes 300 ms apart (tolerance 60 ms), then one far away (80 ms)."""
    return solo([("0", 3, 0), ("3/10", 2, 0), ("2", 1, 0)])


# The first that fits: missed, wrong note, other string, early, late, on time.
@pytest.mark.parametrize(
    ("heard", "verdict"),
    [
        ([], "missed"),
        ([note(0, 56, 3)], "wrong note"),
        ([note(100, 56, 4)], "wrong note"),
        ([note(100, 55, 4)], "other string"),
        ([note(100, 55, 3)], "late"),
        ([note(-100, 55, 3)], "early"),
        ([note(0, 55, 3)], "on time"),
        ([note(0, 55)], "on time"),
    ],
)
def test_a_verdict_is_the_first_that_fits(heard: list[HeardNote], verdict: str, even: Arrangement) -> None:
    assert hear(even, *heard).notes[0].verdict == verdict


@pytest.mark.parametrize(
    ("ms", "verdict"),
    [
        (-60.001, "early"),
        (-60, "on time"),
        (-59.999, "on time"),
        (59.999, "on time"),
        (60, "on time"),
        (60.001, "late"),
    ],
)
def test_on_time_is_up_to_the_limit(ms: float, verdict: str, even: Arrangement) -> None:
    result = hear(even, note(ms, 55))

    assert result.notes[0].verdict == verdict
    assert result.notes[0].offset_ms == ms


@pytest.mark.parametrize(("ms", "verdict"), [(1919.9, "early"), (1920, "on time"), (2080, "on time"), (2080.1, "late")])
def test_far_from_other_notes_on_time_is_80_ms(ms: float, verdict: str, even: Arrangement) -> None:
    assert hear(even, note(ms, 62)).notes[2].verdict == verdict


@pytest.mark.parametrize(("ms", "verdict"), [(-45.1, "early"), (-45, "on time"), (45, "on time"), (45.1, "late")])
def test_the_tolerance_may_be_told(ms: float, verdict: str, even: Arrangement) -> None:
    assert hear(even, note(ms, 55), how=Settings(tolerance_ms=45.0)).notes[0].verdict == verdict


@pytest.mark.parametrize(("ms", "verdict"), [(-90.1, "early"), (-90, "on time"), (30, "on time"), (30.1, "late")])
def test_the_lean_is_taken_off_before_early_and_late_are_judged_and_the_offset_stays_raw(
    ms: float, verdict: str, even: Arrangement
) -> None:
    result = hear(even, note(ms, 55), lean_ms=-30.0)

    assert result.notes[0].verdict == verdict
    assert result.notes[0].offset_ms == ms


def test_the_latency_is_taken_off_the_offset(even: Arrangement) -> None:
    constant = hear(even, note(112, 55, 3), how=Settings(Latency(12.0)))
    by_string = hear(even, note(62, 55, 3), note(370, 59, 2), how=Settings(Latency(by_string=((3, 10.0), (1, 7.0)))))

    assert (constant.notes[0].offset_ms, constant.notes[0].verdict) == (100.0, "late")
    assert [n.offset_ms for n in by_string.notes[:2]] == [52.0, 70.0]
    assert verdicts(by_string)[:2] == ["on time", "late"]


def test_another_string_keeps_its_time_for_off_time(even: Arrangement) -> None:
    result = hear(even, note(100, 55, 4))

    assert (result.notes[0].verdict, result.notes[0].timing) == ("other string", "late")
    assert result.measures[0].off_time == 1


# Pinches: the fifth string's id comes first, the melody note leads.


@pytest.fixture
def pinch(solo: Callable[..., Arrangement]) -> Arrangement:
    return solo([("0", 5, 0, {"role": "pinch"}), ("0", 3, 0, {"role": "melody"}), ("2", 1, 0)])


@pytest.mark.parametrize(("spread", "verdict"), [(59, "late"), (60, "late"), (60.001, "on time"), (61, "on time")])
def test_an_added_note_within_60_ms_shares_the_time_of_the_melody_note(
    spread: float, verdict: str, pinch: Arrangement
) -> None:
    result = hear(pinch, note(85, 55), note(85 - spread, 67))

    assert verdicts(result)[:2] == [verdict, "late"]
    assert result.notes[0].offset_ms == pytest.approx(85 - spread)


@pytest.mark.parametrize(("spread", "verdict"), [(44, "late"), (45, "late"), (46, "on time")])
def test_an_added_note_must_lie_within_half_a_slot_too(
    spread: int, verdict: str, solo: Callable[..., Arrangement]
) -> None:
    fine = solo([("0", 5, 0, {"role": "pinch"}), ("0", 3, 0, {"role": "melody"}), ("2", 1, 0)], slot="9/100")

    assert verdicts(hear(fine, note(85, 55), note(85 - spread, 67)))[0] == verdict


def test_an_added_note_that_is_late_by_itself_is_on_time_with_its_melody_note(pinch: Arrangement) -> None:
    result = hear(pinch, note(40, 55), note(95, 67))

    assert verdicts(result)[:2] == ["on time", "on time"]
    assert result.measures[0].off_time == 0


def test_a_pinch_without_melody_is_timed_by_its_first(solo: Callable[..., Arrangement]) -> None:
    plain = solo([("0", 5, 0, {"role": "pinch"}), ("0", 1, 0, {"role": "pinch"}), ("2", 1, 0)])

    assert verdicts(hear(plain, note(60, 62), note(100, 67)))[:2] == ["on time", "on time"]
    assert verdicts(hear(plain, note(-100, 62), note(-60, 67)))[:2] == ["early", "early"]


def test_without_its_melody_note_a_pinch_is_timed_by_its_first(pinch: Arrangement) -> None:
    assert verdicts(hear(pinch, note(100, 67)))[:2] == ["late", "missed"]


def test_another_string_in_a_pinch_stays_another_string(pinch: Arrangement) -> None:
    result = hear(pinch, note(100, 55, 3), note(60, 67, 1))

    assert verdicts(result)[:2] == ["other string", "late"]
    assert [n.timing for n in result.notes[:2]] == ["late", "late"]


# Slurs


@pytest.fixture
def slurs(solo: Callable[..., Arrangement]) -> Arrangement:
    """Three hammer-ons, a second from pick to slur, two from one to the next."""
    hammer = {"technique": "hammer-on", "from_fret": 2}
    return solo(*[[("0", 3, 2), ("1", 3, 3, hammer), ("2", 1, 0)]] * 3)


PICKS = [note(4000 * k + ms, pitch) for k in range(3) for ms, pitch in ((0, 57), (2000, 62))]


def test_a_slurred_note_is_heard_by_a_note_on_and_not_judged_for_time(slurs: Arrangement) -> None:
    result = hear(slurs, *PICKS, note(1250, 58))

    assert result.notes[1].verdict == "on time"
    assert (result.notes[1].offset_ms, result.notes[1].timing) == (250.0, None)
    assert result.measures[0].off_time == 0


def test_without_any_slur_shown_slurred_notes_count_as_played_with_their_picks(slurs: Arrangement) -> None:
    result = hear(slurs, *(pick for pick in PICKS if pick.seconds != 4.0))

    assert verdicts(result) == ["on time"] * 3 + ["missed", "missed", "on time"] + ["on time"] * 3
    assert [n.assumed for n in result.notes] == [False, True, False] + [False] * 3 + [False, True, False]
    assert (result.notes[1].offset, result.notes[1].pitch) == (None, None)
    assert not result.slurs_shown


def test_once_a_slur_is_shown_those_before_and_after_it_are_missed(slurs: Arrangement) -> None:
    result = hear(slurs, *PICKS, note(5000, 58))

    assert [result.notes[index].verdict for index in (1, 4, 7)] == ["missed", "on time", "missed"]
    assert result.slurs_shown


def test_a_slur_by_bend_shows_too(slurs: Arrangement) -> None:
    result = hear(slurs, *PICKS, Bend(5.0, 100.0))

    assert [result.notes[index].verdict for index in (1, 4, 7)] == ["missed", "on time", "missed"]
    assert (result.notes[4].pitch, result.notes[4].offset) == (58, 0)


def test_a_slur_shown_in_an_earlier_pass_counts(slurs: Arrangement) -> None:
    assert [hear(slurs, *PICKS, slurs_shown=True).notes[index].verdict for index in (1, 4, 7)] == ["missed"] * 3


def test_a_wrong_note_at_a_slur_is_an_extra_until_a_slur_is_shown(slurs: Arrangement) -> None:
    silent = hear(slurs, *PICKS, note(1000, 60))
    shown = hear(slurs, *PICKS, note(1000, 60), note(5000, 58))

    assert (silent.notes[1].verdict, len(silent.extras)) == ("on time", 1)
    assert (shown.notes[1].verdict, len(shown.extras)) == ("wrong note", 0)


# Extras


@pytest.mark.parametrize(
    ("ms", "pitch", "measure", "at", "fault"),
    [
        (500, 59, 1, "1/2", False),  # a tone of G on an empty slot
        (500, 67, 1, "1/2", False),
        (500, 60, 1, "1/2", True),  # no tone of G
        (749, 59, 1, "1/2", False),
        (751, 59, 1, "1", True),  # where string 2 is written
        (3749, 62, 1, "7/2", False),
        (3751, 62, 2, "0", True),
        (4500, 60, 2, "1/2", False),  # C now: a chord lasts over the barline
        (4500, 62, 2, "1/2", True),
        (7900, 60, 2, "7/2", False),  # at the very end the last slot
    ],
)
def test_an_extra_lies_on_the_nearest_slot_and_may_be_no_fault(
    ms: int, pitch: int, measure: int, at: str, fault: bool, solo: Callable[..., Arrangement]
) -> None:
    plain = solo([("0", 3, 0), ("1", 2, 0)], [("0", 3, 0), ("2", 3, 0)])
    first = replace(plain.measures[0], chords=(*plain.measures[0].chords, ChordAt(Fraction(15, 4), Chord("C"))))
    solo_in_two = replace(plain, measures=(first, plain.measures[1]))
    played = [note(0, 55), note(1000, 59), note(4000, 55), note(6000, 55)]
    (extra,) = hear(solo_in_two, *played, note(ms, pitch, seq=99)).extras

    assert (extra.measure, str(extra.at), extra.fault) == (measure, at, fault)


@pytest.mark.parametrize("capo", [0, 2])
def test_the_drone_is_no_fault_over_a_chord_that_it_is_no_tone_of(capo: int, solo: Callable[..., Arrangement]) -> None:
    over_d = solo([("0", 3, 0), ("2", 3, 0)], chord=Chord("D"), capo=capo)

    extras = [hear(over_d, note(0, 55 + capo), note(1000, pitch + capo)).extras[0] for pitch in (67, 55, 57)]
    assert [extra.fault for extra in extras] == [False, True, False]  # the drone, a G of another string, a tone of D


def test_a_chord_counts_from_the_capo(solo: Callable[..., Arrangement]) -> None:
    high = solo([("0", 3, 0), ("2", 3, 0)], capo=2)

    faults = [hear(high, note(0, 57), note(1000, pitch)).extras[0].fault for pitch in (61, 59, 69, 67)]
    assert faults == [False, True, False, True]


def test_the_chord_in_force_at_the_start_of_a_part_comes_from_before_it(solo: Callable[..., Arrangement]) -> None:
    result = hear(solo([("0", 3, 0)], [("0", 3, 0)]), note(0, 55), note(1000, 59), note(1500, 60), first=2)

    assert [extra.fault for extra in result.extras] == [False, True]


@pytest.mark.parametrize(
    ("ms", "extras", "verdict"),
    [
        (-301, 0, "missed"),  # the count-in
        (-300, 0, "early"),
        (300, 0, "late"),
        (301, 1, "missed"),
        (3999, 1, "missed"),
        (4001, 0, "missed"),  # after the end
    ],
)
def test_the_count_in_and_what_follows_the_end_are_no_part_of_the_pass(
    ms: int, extras: int, verdict: str, solo: Callable[..., Arrangement]
) -> None:
    result = hear(solo([("0", 3, 0)]), note(ms, 55))

    assert (len(result.extras), result.notes[0].verdict) == (extras, verdict)


def test_a_note_after_the_downbeat_but_before_the_first_window_is_an_extra(solo: Callable[..., Arrangement]) -> None:
    late = solo([("2", 3, 0)])

    assert len(hear(late, note(1000, 55)).extras) == 1
    assert len(hear(late, note(-1, 55)).extras) == 0
