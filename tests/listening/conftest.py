"""Small solos and takes for the listener's tests."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, MelodyNote, Pluck
from coach.instrument.tuning import OPEN_G
from coach.listening.heard import HeardNote, Sound
from coach.listening.plan import PassPlan
from coach.tunes.chords import Chord
from coach.tunes.tune import Meter

COMMON_TIME = Meter(4, 4)
G_MAJOR = Chord("G")

# A pluck in short: position, string, fret, and what else differs from a picked fill.
Short = tuple[str, int, int] | tuple[str, int, int, dict[str, object]]


def make_solo(
    *measures: Sequence[Short],
    length: str = "4",
    first: int = 1,
    lengths: dict[int, str] | None = None,
    meter: Meter = COMMON_TIME,
    slot: str = "1/2",
    capo: int = 0,
    chord: Chord = G_MAJOR,
) -> Arrangement:
    """A solo in open G: each measure a list of plucks in short; melody plucks have ``{"role": "melody"}``."""
    made = []
    for i, shorts in enumerate(measures):
        number = first + i
        plucks = []
        for k, short in enumerate(shorts, 1):
            at, string, fret = short[:3]
            more: dict[str, object] = dict(short[3]) if len(short) == 4 else {}
            technique = more.get("technique", "pick")
            steps = fret - 5 if string == 5 and fret > 5 else fret
            plucks.append(
                Pluck(
                    id=f"m{number}e{k}",
                    at=Fraction(at),
                    length=Fraction(1, 2),
                    string=string,
                    fret=fret,
                    pitch=OPEN_G.open_pitch(string) + steps + capo,
                    finger="T" if technique == "pick" else None,
                    role=more.get("role", "fill"),
                    technique=technique,
                    from_fret=more.get("from_fret"),
                )
            )
        measure_length = Fraction((lengths or {}).get(number, length))
        made.append(
            ArrangedMeasure(
                number=number,
                source_measure=number,
                meter=meter,
                length=measure_length,
                tier="intermediate",
                chords=(ChordAt(Fraction(0), chord),) if i == 0 else (),
                melody=tuple(
                    MelodyNote(p.at, p.length, p.pitch, kept=True, pluck=p.id) for p in plucks if p.role == "melody"
                ),
                plucks=tuple(plucks),
            )
        )
    return Arrangement(
        tune="study-00000000",
        title="Study",
        rights="",
        tier="intermediate",
        key="G major",
        sounding_key=None,
        capo=capo,
        meter=meter,
        slot=Fraction(slot),
        source_scale=1,
        bounce=50,
        tuning=OPEN_G,
        remarks=(),
        measures=tuple(made),
    )


ROLL: list[Short] = [
    ("0", 3, 0, {"role": "melody"}),
    ("1/2", 2, 0),
    ("1", 5, 0),
    ("3/2", 1, 0),
    ("2", 4, 0, {"role": "melody"}),
    ("5/2", 2, 0),
    ("3", 5, 0),
    ("7/2", 1, 0),
]

# Pinches of two and three, slurs of every kind (one into a pinch), fretted strings, gaps of several sizes.
MIXED: list[Short] = [
    ("0", 3, 2, {"role": "melody"}),
    ("1/4", 3, 3, {"technique": "hammer-on", "from_fret": 2}),
    ("1", 5, 0, {"role": "pinch"}),
    ("1", 1, 0, {"role": "pinch"}),
    ("3/2", 4, 2, {"role": "melody"}),
    ("2", 4, 5, {"technique": "slide", "from_fret": 2}),
    ("2", 1, 0),
    ("3", 5, 0, {"role": "pinch"}),
    ("3", 3, 2, {"role": "melody"}),
    ("3", 1, 2, {"role": "pinch"}),
    ("7/2", 3, 0, {"technique": "pull-off", "from_fret": 2}),
]


def perfect(plan: PassPlan, *, strings: bool = True, velocity: int = 80) -> list[HeardNote]:
    """Every pluck of a pass, exactly on its place."""
    notes = []
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            seconds = plan.tempo_map.seconds(start + pluck.at)
            string = pluck.string if strings else None
            channel = pluck.string if strings else 1
            notes.append(HeardNote(seconds, pluck.pitch, velocity, channel, string, len(notes) + 1))
    return notes


def numbered(sounds: Sequence[Sound]) -> list[Sound]:
    """The same in order of time, numbered anew."""
    ordered = sorted(sounds, key=lambda sound: sound.seconds)
    return [replace(sound, seq=seq) for seq, sound in enumerate(ordered, 1)]


@pytest.fixture(scope="session")
def solo() -> Callable[..., Arrangement]:
    return make_solo


@pytest.fixture(scope="session")
def roll() -> Arrangement:
    """Two measures of an alternating thumb roll on open strings."""
    return make_solo(ROLL, ROLL)


@pytest.fixture(scope="session")
def mixed() -> Arrangement:
    return make_solo(MIXED, ROLL, MIXED)


@pytest.fixture(scope="session")
def play() -> Callable[..., list[HeardNote]]:
    return perfect


@pytest.fixture(scope="session")
def number() -> Callable[[Sequence[Sound]], list[Sound]]:
    return numbered


@pytest.fixture
def third() -> Arrangement:
    """The open third string on the first beat, then a fretted one, in quarters."""
    return make_solo([("0", 3, 0), ("1", 4, 2), ("3", 3, 0)])


@pytest.fixture
def slide() -> Arrangement:
    """String 4 from fret 2 to 5, a second apart (E to G), then a rest and string 1."""
    return make_solo([("0", 4, 2), ("1", 4, 5, {"technique": "slide", "from_fret": 2}), ("3", 1, 0)])
