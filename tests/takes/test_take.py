from __future__ import annotations

from collections.abc import Callable

import pytest

from coach.listening.heard import StrayNote
from coach.takes.files import read_take
from coach.takes.take import heard_in, string_channels_of


@pytest.fixture
def on_channels(midi: Callable[..., bytes]) -> Callable[..., object]:
    def make(*channels: int) -> object:
        track = b"".join(bytes([0x10, 0x90 | (channel - 1), 55, 80]) for channel in channels)
        return read_take(midi(track))

    return make


@pytest.mark.parametrize(
    ("channels", "told"),
    [
        ((1, 1, 1), None),
        ((3,), None),
        ((1, 5), (1, 2, 3, 4, 5)),
        ((1, 2, 3, 4, 5), (1, 2, 3, 4, 5)),
        ((1, 10), None),
        ((11, 12, 13), None),
        ((2, 3, 10), (1, 2, 3, 4, 5)),
        ((), None),
    ],
)
def test_channels_1_to_5_tell_strings_when_more_than_one_is_used(
    channels: tuple[int, ...], told: tuple[int, ...] | None, on_channels: Callable[..., object]
) -> None:
    assert string_channels_of(on_channels(*channels)) == told


def test_where_channels_tell_strings_others_are_strays_but_for_percussion(on_channels: Callable[..., object]) -> None:
    sounds = heard_in(on_channels(1, 3, 6, 10, 5), (1, 2, 3, 4, 5))

    assert [(sound.string, sound.seq) for sound in sounds] == [(1, 1), (3, 2), (None, 3), (5, 5)]
    assert [sound.channel for sound in sounds if isinstance(sound, StrayNote)] == [6]


def test_on_a_single_channel_the_string_is_unknown_and_percussion_is_a_click(
    on_channels: Callable[..., object],
) -> None:
    assert [(sound.channel, sound.string) for sound in heard_in(on_channels(2, 10, 2), None)] == [(2, None)] * 2
    assert [sound.channel for sound in heard_in(on_channels(10, 10), None)] == [10, 10]
