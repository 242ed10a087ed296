"""One FLAC file with all samples that a page needs, and an index into it.

Every third pitch is there: a player takes the nearest and changes its speed by at most a semitone
(``2 ** (semitones / 12)``), which the ear does not mind. Sounds are named ``banjo-55``, ``bass-40``, ``chop-61``,
``click-accent``, ``click-beat``; a light click is ``click-beat``, played softly. The name of the file holds its digest,
so that a browser that has it need not ask again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from coach.sound.flac import to_flac
from coach.sound.samples import Samples, banjo, bass, chop, click

__all__ = ["SAMPLE_RATE", "Sound", "SoundBank", "render_bank", "sampled_pitches"]

SAMPLE_RATE = 32000  # enough for a plucked string, and a third smaller than what discs have

_SILENCE = 0.01  # seconds behind each sound, so that no resampling lets one bleed into the next

BANJO = range(48, 85)  # the lowest open string of the tunings in use, to fret 22 of string 1
BASS = range(28, 53)
CHOP = range(50, 80)


@dataclass(frozen=True, slots=True)
class Sound:
    """Where a sound lies in the bank.

    Attributes:
        start, length: in frames.
        pitch: MIDI note number at the speed it was rendered for; None for a click.
    """

    start: int
    length: int
    pitch: int | None


@dataclass(frozen=True, slots=True)
class SoundBank:
    """All samples in one file.

    Attributes:
        flac: the bytes of the file.
        sample_rate: frames a second.
        sounds: by name.
    """

    flac: bytes
    sample_rate: int
    sounds: Mapping[str, Sound]

    @property
    def name(self) -> str:
        """The name of the file: it holds the first 16 hex digits of its SHA-256."""
        return f"bank-{hashlib.sha256(self.flac).hexdigest()[:16]}.flac"

    def index(self) -> dict[str, object]:
        """The index as it goes out as JSON: the name of the file, its rate, and for each sound its start and length in
        frames and its pitch."""
        sounds = {
            name: {"start": sound.start, "length": sound.length, "pitch": sound.pitch}
            for name, sound in self.sounds.items()
        }
        return {"format": "sounds/1", "file": self.name, "sample_rate": self.sample_rate, "sounds": sounds}


def sampled_pitches(pitches: Iterable[int]) -> tuple[int, ...]:
    """Which pitches to render so that each wanted one lies within a semitone of one of them."""
    chosen: list[int] = []
    for pitch in sorted(set(pitches)):
        if not chosen or pitch > chosen[-1] + 1:
            chosen.append(pitch + 1)
    return tuple(chosen)


def render_bank(pitches: Iterable[int] = BANJO, sample_rate: int = SAMPLE_RATE) -> SoundBank:
    """Render all samples.

    Args:
        pitches: MIDI note numbers that the banjo may have to sound.
        sample_rate: frames a second.
    """
    rendered: list[tuple[str, int | None, Samples]] = []
    rendered += [(f"banjo-{pitch}", pitch, banjo(pitch, sample_rate)) for pitch in sampled_pitches(pitches)]
    rendered += [(f"bass-{pitch}", pitch, bass(pitch, sample_rate)) for pitch in sampled_pitches(BASS)]
    rendered += [(f"chop-{pitch}", pitch, chop(pitch, sample_rate)) for pitch in sampled_pitches(CHOP)]
    rendered += [(f"click-{weight}", None, click(weight, sample_rate)) for weight in ("accent", "beat")]
    silence = np.zeros(int(_SILENCE * sample_rate))
    sounds: dict[str, Sound] = {}
    frames: list[Samples] = []
    start = 0
    for name, pitch, samples in rendered:
        sounds[name] = Sound(start, len(samples), pitch)
        frames += [samples, silence]
        start += len(samples) + len(silence)
    return SoundBank(to_flac(np.concatenate(frames), sample_rate), sample_rate, sounds)
