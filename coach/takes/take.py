"""A take: what an instrument sent during one or more passes, with the marks that tell the passes apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, Decoder, Sound, StringChannels

__all__ = ["Message", "Take", "TakePass", "heard_in", "string_channels_of"]

PERCUSSION = 10


@dataclass(frozen=True, slots=True)
class Message:
    """A MIDI message: its tick, the seconds of that, and its bytes (a whole message of a channel)."""

    tick: int
    seconds: float
    data: bytes


@dataclass(frozen=True, slots=True)
class TakePass:
    """The mark that begins a pass.

    Attributes:
        tick, seconds: of its downbeat, the start of its first measure.
        tempo: of the click, in quarters a minute.
        first, last: the numbers of its measures; None for the whole solo.
        stopped: the tick at which the player stopped it, None when they did not.
    """

    tick: int
    seconds: float
    tempo: float
    first: int | None = None
    last: int | None = None
    stopped: int | None = None
    stopped_seconds: float | None = None


@dataclass(frozen=True, slots=True)
class Take:
    """A take.

    Attributes:
        messages: in order of their ticks.
        passes: in order; empty where the take has no downbeats.
        tempo: the first tempo event, in quarters a minute; 120 where there is none.
        end_tick, end: the End of Track.
        division: ticks a quarter.
    """

    messages: tuple[Message, ...]
    passes: tuple[TakePass, ...]
    tempo: float
    end_tick: int
    end: float
    division: int


def string_channels_of(take: Take) -> StringChannels | None:
    """The channels that tell strings, judged by the take: 1 to 5 when at least two of them are used, else None."""
    used = {channel for channel, _ in _note_ons(take)}
    return STRINGS_ON_OWN_CHANNELS if len(used & set(STRINGS_ON_OWN_CHANNELS)) > 1 else None


def heard_in(take: Take, channels: StringChannels | None) -> list[Sound]:
    """The notes and bends of a take, numbered in order.

    Args:
        take: the take.
        channels: the channels of strings 1 to 5, None where channels do not tell strings. Percussion (channel 10) is
            a click then and is passed over, unless the take has nothing else.
    """
    used = {channel for channel, _ in _note_ons(take)}
    mute = {PERCUSSION} if channels is None and used != {PERCUSSION} else set()
    decoder = Decoder(channels)
    sounds = []
    for seq, message in enumerate(take.messages, 1):
        if (message.data[0] & 0x0F) + 1 in mute:
            continue
        sound = decoder.feed(message.seconds, message.data, seq)
        if sound is not None:
            sounds.append(sound)
    return sounds


def _note_ons(take: Take) -> Iterator[tuple[int, int]]:
    """Channel and pitch of each note-on."""
    for message in take.messages:
        if message.data[0] & 0xF0 == 0x90 and len(message.data) == 3 and message.data[2]:
            yield (message.data[0] & 0x0F) + 1, message.data[1]
