"""Takes with known habits: a study that gives every habit a chance, and players who have one of them, or none.

A plain player has jitter (normal, or with heavy tails), a steady lead and a few notes left out at random; nothing of it
is a habit. The habits are those of ``coach.takes.player``, each by itself at the size stated there, or planted here.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction

from coach.arranging.arrangement import (
    ArrangedMeasure,
    Arrangement,
    ChordAt,
    Finger,
    MelodyNote,
    Pluck,
    Role,
    Technique,
)
from coach.instrument.tuning import OPEN_G
from coach.listening.heard import Decoder, HeardNote, Sound
from coach.listening.plan import PassPlan, Settings
from coach.listening.report import Report, Scored, score
from coach.listening.strokes import PassStrokes, strokes_of
from coach.takes import player
from coach.tunes.chords import Chord
from coach.tunes.tune import Meter

ERRORS = {
    name: getattr(player, name)
    for name in (
        "MISSED",
        "MISSED_BY_MIDDLE",
        "WRONG_STRING",
        "SWALLOWED",
        "CRUSHED",
        "CUT_SHORT",
        "DRONE_EARLY",
        "CHANGE_LATE",
        "RUSH",
    )
}
"""What the virtual player does at full strain."""


def _picked(string: int, fret: int, finger: Finger, role: Role) -> Pluck:
    return Pluck("", Fraction(0), Fraction(1, 2), string, fret, OPEN_G.open_pitch(string) + fret, finger, role)


def _slurred(string: int, fret: int, technique: Technique, since: int) -> Pluck:
    pitch = OPEN_G.open_pitch(string) + fret
    return Pluck("", Fraction(0), Fraction(1, 2), string, fret, pitch, None, "fill", technique, since)


# Melody on the third and fourth strings, by the thumb.
_OPEN: list[Pluck] = [
    _picked(3, 0, "T", "melody"),
    _picked(2, 0, "I", "fill"),
    _picked(5, 0, "T", "drone"),
    _picked(1, 0, "M", "fill"),
    _picked(4, 0, "T", "melody"),
    _picked(2, 0, "I", "fill"),
    _picked(5, 0, "T", "drone"),
    _picked(1, 0, "M", "fill"),
]
# One melody note and a long fill.
_FILL: list[Pluck] = [
    _picked(3, 0, "T", "melody"),
    _picked(2, 0, "I", "fill"),
    _picked(1, 0, "M", "fill"),
    _picked(5, 0, "T", "drone"),
    _picked(1, 0, "M", "fill"),
    _picked(2, 0, "I", "fill"),
    _picked(3, 0, "T", "fill"),
    _picked(1, 0, "M", "fill"),
]
_OVER_C: list[Pluck] = [
    _picked(4, 2, "T", "melody"),
    _picked(2, 1, "I", "fill"),
    _picked(5, 0, "T", "drone"),
    _picked(1, 2, "M", "fill"),
    _picked(3, 0, "T", "melody"),
    _picked(2, 1, "I", "fill"),
    _picked(5, 0, "T", "drone"),
    _picked(1, 2, "M", "fill"),
]
_HAMMERED: list[Pluck] = [
    _picked(3, 2, "T", "melody"),
    _slurred(3, 3, "hammer-on", 2),
    _picked(2, 1, "I", "fill"),
    _picked(1, 0, "M", "fill"),
    _picked(4, 0, "T", "melody"),
    _slurred(4, 2, "hammer-on", 0),
    _picked(2, 1, "I", "fill"),
    _picked(1, 0, "M", "fill"),
]
_SLID: list[Pluck] = [
    _picked(3, 2, "T", "melody"),
    _slurred(3, 4, "slide", 2),
    _picked(2, 1, "I", "fill"),
    _picked(1, 0, "M", "fill"),
    _picked(3, 2, "T", "melody"),
    _slurred(3, 0, "pull-off", 2),
    _picked(2, 1, "I", "fill"),
    _picked(1, 0, "M", "fill"),
]

_GROUP = [
    (_OPEN, "G"),
    (_FILL, "G"),
    (_OVER_C, "C"),
    (_HAMMERED, "D7"),
    (_OPEN, "G"),
    (_FILL, "G"),
    (_SLID, "D7"),
    (_OVER_C, "C"),
]


def habit_study(groups: int = 3) -> Arrangement:
    """A study in 4/4, eight measures a group: open rolls, long fills, a fretted roll over C, slurs over D7."""
    measures = []
    before = ""
    for number, (notes, name) in enumerate(_GROUP * groups, 1):
        plucks = tuple(replace(note, id=f"m{number}e{k + 1}", at=Fraction(k, 2)) for k, note in enumerate(notes))
        root, kind = (name[0], "7") if name.endswith("7") else (name, "")
        measures.append(
            ArrangedMeasure(
                number=number,
                source_measure=number,
                meter=Meter(4, 4),
                length=Fraction(4),
                tier="advanced",
                chords=() if name == before else (ChordAt(Fraction(0), Chord(root, kind)),),
                melody=tuple(
                    MelodyNote(p.at, p.length, p.pitch, kept=True, pluck=p.id) for p in plucks if p.role == "melody"
                ),
                plucks=plucks,
            )
        )
        before = name
    return Arrangement(
        tune="study-00000000",
        title="Study",
        rights="",
        tier="advanced",
        key="G major",
        sounding_key=None,
        capo=0,
        meter=Meter(4, 4),
        slot=Fraction(1, 2),
        source_scale=Fraction(1),
        bounce=50,
        tuning=OPEN_G,
        remarks=(),
        measures=tuple(measures),
    )


@contextmanager
def erring_only(*names: str) -> Iterator[None]:
    """The virtual player makes only these errors of :data:`ERRORS`."""
    for name, size in ERRORS.items():
        setattr(player, name, size if name in names else 0.0)
    try:
        yield
    finally:
        for name, size in ERRORS.items():
            setattr(player, name, size)


def scored(plans: Sequence[PassPlan], sounds: Sequence[Sound], end: float, *, told_ms: float | None = None) -> Report:
    """The report on a take; the player's lean is not asked for."""
    return score(
        [Scored(plan) for plan in plans], sounds, end=end, lean_ms=0.0, settings=Settings(tolerance_ms=told_ms)
    )


def plans_of(solo: Arrangement, tempo: float, passes: int) -> list[PassPlan]:
    """Passes through a solo, one after the other."""
    length = float(sum(measure.length for measure in solo.measures)) * 60 / tempo + 2
    return [PassPlan(solo, tempo, 2 + length * n, number=n + 1) for n in range(passes)]


def strained(
    solo: Arrangement, seed: int, *, tempo: float = 80.0, passes: int = 1, ability: float = 20.0
) -> list[PassStrokes]:
    """What the virtual player plays, by default at full strain."""
    virtual = player.VirtualPlayer(ability=ability, seed=seed, learns=0.0)
    plans = plans_of(solo, tempo, passes)
    sounds: list[Sound] = []
    for plan in plans:
        decoder = Decoder(virtual.channels)
        for message in virtual.play(plan):
            sound = decoder.feed(plan.origin + message.seconds, message.data, len(sounds))
            if sound is not None:
                sounds.append(sound)
    return [strokes_of(result) for result in scored(plans, sounds, 10_000.0).results]


Moved = Callable[[Pluck, ArrangedMeasure, PassPlan], float | None]
"""How many seconds late a player plays a pluck; None leaves it out."""


def nothing_moved(_: Pluck, __: ArrangedMeasure, ___: PassPlan) -> float:
    return 0.0


def plain(
    solo: Arrangement,
    seed: int,
    *,
    tempo: float = 80.0,
    passes: int = 1,
    jitter: float = 0.015,
    heavy: bool = False,
    left_out: float = 0.02,
    strings: bool = True,
    velocity: bool = True,
    moved: Moved = nothing_moved,
    loudness: Callable[[Pluck], float] | None = None,
    told_ms: float | None = None,
) -> list[PassStrokes]:
    """What a player without habits plays, or with the one that ``moved`` or ``loudness`` (a velocity) plants.

    Heavy tails are those of Student's t with three degrees of freedom, of the same standard deviation.
    """
    rng = random.Random(f"plain {seed}")
    lead = rng.uniform(-0.03, 0.03)
    plans = plans_of(solo, tempo, passes)
    sounds: list[Sound] = []
    for plan in plans:
        for measure, start in plan.starts:
            for pluck in measure.plucks:
                late = moved(pluck, measure, plan)
                if late is None or rng.random() < left_out:
                    continue
                noise = rng.gauss(0.0, jitter)
                if heavy:
                    noise /= math.sqrt(3 * rng.gammavariate(1.5, 2 / 3))
                level = (96 if pluck.role == "melody" else 68) if loudness is None else loudness(pluck)
                loud = max(1, min(127, round(level + rng.gauss(0.0, 4.0)))) if velocity else 100
                seconds = plan.tempo_map.seconds(start + pluck.at) + lead + late + noise
                string = pluck.string if strings else None
                sounds.append(HeardNote(seconds, pluck.pitch, loud, string or 1, string, len(sounds)))
    return [strokes_of(result) for result in scored(plans, sounds, 10_000.0, told_ms=told_ms).results]


def faultless(solo: Arrangement) -> list[PassStrokes]:
    """Every pluck on its place."""
    return plain(solo, 1, jitter=0.0, left_out=0.0)
