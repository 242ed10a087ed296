from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.listening.conditioning import Placed
from coach.listening.endings import Endings
from coach.listening.heard import HeardNote, NoteEnd


def placed(time: int, pitch: int = 55, channel: int = 1, seq: int = 1) -> Placed:
    return Placed((time, seq), HeardNote(time / 1e6, pitch, 80, channel, None, seq), None)


def ended(*times: int, pitch: int = 55, channel: int = 1) -> Endings:
    endings = Endings()
    for seq, time in enumerate(times, 2):
        endings.add(time, NoteEnd(time / 1e6, pitch, channel, None, seq))
    return endings


@pytest.mark.parametrize(("time", "cut"), [(0, True), (19_999, True), (20_000, True), (20_001, False)])
def test_a_note_is_cut_when_it_ends_within_20_ms(time: int, cut: bool) -> None:
    assert ended(time).is_cut(placed(0)) == cut


def test_a_note_that_is_not_ended_is_not_cut() -> None:
    assert not Endings().is_cut(placed(0))
    assert Endings().length(placed(0)) is None
    assert ended(4_000).length(placed(5_000)) is None


@pytest.mark.parametrize(("pitch", "channel"), [(56, 1), (55, 2)])
def test_only_a_note_off_of_its_pitch_and_channel_ends_a_note(pitch: int, channel: int) -> None:
    assert ended(10_000, pitch=pitch, channel=channel).length(placed(0)) is None


def test_a_note_off_that_was_sent_before_the_note_at_the_same_time_ends_another() -> None:
    endings = ended(5_000)  # its number is 2

    assert endings.length(placed(5_000, seq=3)) is None
    assert endings.length(placed(5_000, seq=1)) == 0


@given(st.permutations([1_000, 2_000, 30_000, 40_000, 50_000]))
def test_the_order_in_which_note_offs_come_does_not_matter(times: list[int]) -> None:
    endings = ended(*times)

    assert [endings.length(placed(time, seq=99)) for time in (0, 1_500, 2_500, 45_000)] == [1_000, 500, 27_500, 5_000]


def test_what_was_ended_from_a_stamp_on_can_be_forgotten() -> None:
    endings = ended(10_000, 15_000)
    endings.forget_from(0.010)

    assert endings.length(placed(0)) is None
    endings = ended(10_000, 15_000)
    endings.forget_from(0.011)
    assert endings.length(placed(0)) == 10_000
    assert endings.length(placed(12_000)) is None
