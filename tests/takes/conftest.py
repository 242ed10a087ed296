"""A small solo, and bytes of Standard MIDI Files by hand."""

from __future__ import annotations

import struct
from collections.abc import Callable
from fractions import Fraction

import pytest

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, Pluck
from coach.instrument.tuning import OPEN_G
from coach.tunes.chords import Chord
from coach.tunes.tune import Meter

ROLL = (3, 2, 5, 1, 4, 2, 5, 1)


def make_roll(measures: int = 2, tier: str = "intermediate") -> Arrangement:
    made = []
    for number in range(1, measures + 1):
        plucks = tuple(
            Pluck(
                f"m{number}e{k}",
                Fraction(k - 1, 2),
                Fraction(1, 2),
                string,
                0,
                OPEN_G.open_pitch(string),
                "T" if k % 2 else "I",
                "melody" if k == 1 else "fill",
            )
            for k, string in enumerate(ROLL, 1)
        )
        chords = (ChordAt(Fraction(0), Chord("G")),) if number == 1 else ()
        made.append(ArrangedMeasure(number, number, Meter(4, 4), Fraction(4), tier, chords, (), plucks))
    return Arrangement(
        "study-00000000",
        "Study",
        "",
        tier,
        "G major",
        None,
        0,
        Meter(4, 4),
        Fraction(1, 2),
        1,
        50,
        OPEN_G,
        (),
        tuple(made),
    )


def midi_file(*tracks: bytes, kind: int = 1, division: int = 480) -> bytes:
    """A Standard MIDI File of tracks given as their events' bytes; End of Track is added."""
    header = b"MThd" + struct.pack(">LHHH", 6, kind, len(tracks), division)
    return header + b"".join(
        b"MTrk" + struct.pack(">L", len(track) + 4) + track + b"\x00\xff\x2f\x00" for track in tracks
    )


@pytest.fixture(scope="session")
def roll() -> Arrangement:
    return make_roll()


@pytest.fixture(scope="session")
def solo() -> Callable[..., Arrangement]:
    return make_roll


@pytest.fixture(scope="session")
def midi() -> Callable[..., bytes]:
    return midi_file
