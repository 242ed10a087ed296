"""A take: what an instrument sent during one or more passes, with the marks that tell the passes apart."""

from __future__ import annotations

from dataclasses import dataclass

from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, Decoder, Sound, StringChannels

__all__ = [
    "Message",
    "Take",
    "TakeDrop",
    "TakePass",
    "channels_used",
    "heard_in",
    "is_channel_message",
    "string_channels_of",
]

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
class TakeDrop:
    """A note of the take that was no note of the player's: its tick, its pitch, and why it did not count."""

    tick: int
    pitch: int
    reason: str


@dataclass(frozen=True, slots=True)
class Take:
    """A take.

    Attributes:
        messages: in order of their ticks.
        passes: in order; empty where the take has no downbeats.
        tempo: the first tempo event, in quarters a minute; 120 where there is none.
        end_tick, end: the End of Track.
        division: ticks a quarter.
        dropped: in order of their ticks; of a take that was read none, since they follow from the rest.
    """

    messages: tuple[Message, ...]
    passes: tuple[TakePass, ...]
    tempo: float
    end_tick: int
    end: float
    division: int
    dropped: tuple[TakeDrop, ...] = ()


def is_channel_message(data: bytes) -> bool:
    """Whether these are the bytes of one whole channel message (MIDI 1.0: program change and pressure have two)."""
    if not data or not 0x80 <= data[0] < 0xF0:
        return False
    return len(data) == (2 if data[0] & 0xE0 == 0xC0 else 3) and max(data[1:]) < 128


def string_channels_of(take: Take) -> StringChannels | None:
    """The channels that tell strings, judged by the take: 1 to 5 when at least two of them are used, else None."""
    used = channels_used(take)
    return STRINGS_ON_OWN_CHANNELS if len(used & set(STRINGS_ON_OWN_CHANNELS)) > 1 else None


def heard_in(take: Take, channels: StringChannels | None) -> list[Sound]:
    """The notes of a take, their ends and bends, numbered in order.

    Args:
        take: the take.
        channels: the channels of strings 1 to 5, None where channels do not tell strings. Percussion (channel 10) is
            a click then and is passed over, unless the take has nothing else.
    """
    used = channels_used(take)
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


def channels_used(take: Take) -> set[int]:
    """The channels, 1..16, on which the take has notes."""
    return {
        (message.data[0] & 0x0F) + 1
        for message in take.messages
        if message.data[0] & 0xF0 == 0x90 and len(message.data) == 3 and message.data[2]
    }
