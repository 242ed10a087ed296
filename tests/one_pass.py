"""One pass through a small solo, heard by a whole listener, and what of it was dropped."""

from __future__ import annotations

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import HeardNote, Sound
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult


def hear(solo: Arrangement, *sounds: Sound, tempo: float = 60.0, **plan: object) -> PassResult:
    listener = Listener(PassPlan(solo, tempo, **plan))
    for seq, sound in enumerate(sounds, 1):
        listener.take(type(sound)(**{**{name: getattr(sound, name) for name in sound.__slots__}, "seq": seq}))
    listener.finish()
    assert listener.result is not None
    return listener.result


def reasons(result: PassResult) -> list[str]:
    return [dropped.reason for dropped in result.dropped]


def note(ms: float, pitch: int, velocity: int = 80, string: int | None = None) -> HeardNote:
    return HeardNote(ms / 1000, pitch, velocity, string or 1, string)
