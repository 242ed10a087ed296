"""Small solos written by hand: a pickup, pinches, slurs, a left-out word, rests, 3/4, compound and doubled metres."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import pytest

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
from coach.tunes.chords import read_chord
from coach.tunes.tune import Meter

# at, string, fret, finger, role, and for a slurred note its technique and the fret it comes from
Row = tuple[str, int, int, Finger | None, Role] | tuple[str, int, int, None, Role, Technique, int]
# at, length, pitch of the shape, lyric, kept
Sung = tuple[str, str, int, str | None, bool]

NAMES: dict[str, tuple[Finger | None, Role]] = {
    "T": ("T", "melody"),
    "I": ("I", "melody"),
    "M": ("M", "melody"),
    "t": ("T", "fill"),
    "i": ("I", "fill"),
    "m": ("M", "fill"),
}


def rolled(text: str, step: str = "1/2") -> tuple[Row, ...]:
    """Read ``T30 i20 ...``: finger (capital for melody), string, fret; one step apart; ``-`` is an empty slot."""
    rows: list[Row] = []
    for index, word in enumerate(text.split()):
        if word != "-":
            finger, role = NAMES[word[0]]
            rows.append((str(index * Fraction(step)), int(word[1]), int(word[2:]), finger, role))
    return tuple(rows)


def made_measure(
    number: int,
    meter: Meter,
    rows: Sequence[Row],
    sung: Sequence[Sung] = (),
    chords: Sequence[tuple[str, str]] = (),
    *,
    length: str | None = None,
    rests: Sequence[str] = (),
    capo: int = 0,
) -> ArrangedMeasure:
    """A measure from rows; a rest starts at each position of ``rests``."""
    whole = Fraction(length) if length else meter.length
    ordered = sorted(rows, key=lambda row: (Fraction(row[0]), -row[1]))
    borders = sorted({Fraction(row[0]) for row in rows} | {Fraction(at) for at in rests} | {whole})
    plucks = []
    for k, row in enumerate(ordered, 1):
        at, string, fret = Fraction(row[0]), row[1], row[2]
        sounding = OPEN_G.open_pitch(string) + capo + (fret - 5 if string == 5 and fret else fret)
        technique, from_fret = (row[5], row[6]) if len(row) == 7 else ("pick", None)
        until = min(border for border in borders if border > at)
        plucks.append(
            Pluck(f"m{number}e{k}", at, until - at, string, fret, sounding, row[3], row[4], technique, from_fret)
        )
    ids = {(pluck.at, pluck.pitch): pluck.id for pluck in plucks}
    melody = tuple(
        MelodyNote(
            Fraction(at), Fraction(long), pitch + capo, lyric, kept=kept, pluck=ids.get((Fraction(at), pitch + capo))
        )
        for at, long, pitch, lyric, kept in sung
    )
    changes = tuple(ChordAt(Fraction(at), read_chord(symbol)) for at, symbol in chords)
    return ArrangedMeasure(number, number, meter, whole, "intermediate", changes, melody, tuple(plucks))


def made_solo(measures: Sequence[ArrangedMeasure], **changes: object) -> Arrangement:
    """An arrangement in G around measures."""
    solo = Arrangement(
        tune="stone-bridge-0a1b2c3d",
        title="Stone Bridge & Willow",
        rights="made for the tests",
        tier="intermediate",
        key="G major",
        sounding_key=None,
        capo=0,
        meter=measures[-1].meter,
        slot=Fraction(1, 2),
        source_scale=1,
        bounce=50,
        tuning=OPEN_G,
        remarks=("The third verse was left out.",),
        measures=tuple(measures),
    )
    return replace(solo, **changes)  # type: ignore[arg-type]


COMMON = Meter(4, 4)


def common_measures(meter: Meter = COMMON, capo: int = 0) -> list[ArrangedMeasure]:
    return [
        made_measure(
            0,
            meter,
            rolled("T42 T30"),
            [("0", "1/2", 52, "Down", True), ("1/2", "1/2", 55, "the", True)],
            length="1",
            capo=capo,
        ),
        made_measure(
            1,
            meter,
            rolled("T20 m10 t50 i30 T21 m12 t50 i30"),
            [("0", "3/2", 59, "wil-", True), ("3/2", "1/2", 57, "low", False), ("2", "2", 60, "lane", True)],
            [("0", "G"), ("2", "C")],
            capo=capo,
        ),
        made_measure(
            2,
            meter,
            (
                ("0", 3, 2, "T", "melody"),
                ("1/2", 3, 3, None, "fill", "hammer-on", 2),
                ("1", 5, 0, "T", "drone"),
                ("3/2", 1, 0, "M", "fill"),
                ("2", 3, 2, "T", "melody"),
                ("9/4", 3, 0, None, "melody", "pull-off", 2),
                ("5/2", 2, 0, "I", "fill"),
                ("3", 5, 0, "T", "drone"),
                ("7/2", 1, 2, "M", "fill"),
            ),
            [("0", "2", 57, "we", True), ("2", "1", 57, "went", True), ("3", "1", 55, "a-", False)],
            [("0", "D7")],
            capo=capo,
        ),
        made_measure(
            3,
            meter,
            (
                ("0", 3, 0, "T", "melody"),
                ("1", 5, 0, "T", "pinch"),
                ("1", 1, 0, "M", "pinch"),
                ("2", 3, 2, "T", "melody"),
                ("5/2", 3, 4, None, "melody", "slide", 2),
            ),
            [("0", "2", 55, "walk-", True), ("2", "1/2", 57, None, True), ("5/2", "3/2", 59, "ing", True)],
            [("0", "Em"), ("2", "F#m7")],
            rests=("3",),
            capo=capo,
        ),
        made_measure(
            4,
            meter,
            (
                ("0", 1, 12, "M", "melody"),
                ("1/2", 2, 10, "I", "fill"),
                ("1", 5, 0, "T", "drone"),
                ("3/2", 1, 10, "M", "melody"),
                ("3", 5, 0, "T", "pinch"),
                ("3", 3, 0, "I", "melody"),
                ("3", 1, 0, "M", "pinch"),
            ),
            [("0", "3/2", 74, "home", True), ("3/2", "3/2", 72, "a-", True), ("3", "1", 55, "gain", True)],
            [("0", "G/B"), ("3", "Bb")],
            capo=capo,
        ),
    ]


@pytest.fixture
def solo() -> Arrangement:
    """Four measures of 4/4 with a pickup of one quarter."""
    return made_solo(common_measures())


@pytest.fixture
def doubled() -> Arrangement:
    """The same written doubled, as cut time, with a capo on fret 2."""
    return made_solo(
        common_measures(Meter(2, 2), capo=2),
        source_scale=2,
        capo=2,
        sounding_key="A major",
        remarks=("Capo at fret 2, fifth string under the spike at fret 7.", "Written out at twice the length."),
    )


@pytest.fixture
def waltz() -> Arrangement:
    """A beginner's waltz: melody, pinch, pinch; the last note of the tune is tied over the barline."""
    meter = Meter(3, 4)
    pinch = (("1", 5, 0, "T", "pinch"), ("1", 1, 0, "M", "pinch"), ("2", 5, 0, "T", "pinch"), ("2", 1, 0, "M", "pinch"))
    return made_solo(
        [
            made_measure(1, meter, (("0", 3, 0, "T", "melody"), *pinch), [("0", "3", 55, "Slow", True)], [("0", "G")]),
            made_measure(2, meter, rolled("T30 i20 m10 t50 i20 m10"), [("0", "6", 55, "now", True)], [("0", "C")]),
            made_measure(3, meter, (("0", 4, 0, "T", "pinch"), ("0", 1, 0, "M", "pinch")), [], [("0", "G")]),
        ],
        tier="beginner",
    )


@pytest.fixture
def jig() -> Arrangement:
    """A compound metre: groups of three."""
    meter = Meter(6, 8)
    return made_solo(
        [
            made_measure(
                1,
                meter,
                rolled("T30 i20 m10 t30 i21 m12"),
                [("0", "1", 55, "Round", True), ("1", "1/2", 57, "we", False), ("3/2", "3/2", 60, "go", True)],
                [("0", "G"), ("3/2", "C")],
            ),
            made_measure(2, meter, (("0", 3, 0, "T", "melody"),), [("0", "3", 55, "home", True)], [("0", "G")]),
        ]
    )


@pytest.fixture
def roll_study() -> Arrangement:
    """No melody at all."""
    return made_solo([made_measure(1, COMMON, rolled("t30 i20 t50 m10 t40 i20 t50 m10"), (), [("0", "G")])])


@pytest.fixture(scope="session")
def build() -> Callable[..., Arrangement]:
    """``build(meter, rows, sung, ...)``: a solo of one measure."""

    def one_measure(meter: Meter, rows: Sequence[Row], sung: Sequence[Sung] = (), **more: object) -> Arrangement:
        changes = {name: more.pop(name) for name in ("slot", "tuning", "key", "title") if name in more}
        return made_solo([made_measure(1, meter, rows, sung, **more)], **changes)  # type: ignore[arg-type]

    return one_measure


@dataclass(frozen=True)
class Make:
    """The builders of this file, for tests that put solos together."""

    measure: Callable[..., ArrangedMeasure] = made_measure
    solo: Callable[..., Arrangement] = made_solo
    rolled: Callable[..., tuple[Row, ...]] = rolled

    @staticmethod
    def fingered(solo: Arrangement) -> Arrangement:
        """The same solo with a finger of the left hand at every fretted pluck."""

        def hold(pluck: Pluck) -> Pluck:
            return replace(pluck, left=1 + (pluck.fret - 1) % 4) if pluck.fret else pluck

        return replace(
            solo, measures=tuple(replace(each, plucks=tuple(map(hold, each.plucks))) for each in solo.measures)
        )


@pytest.fixture(scope="session")
def make() -> Make:
    """``make.measure``, ``make.solo``, ``make.rolled``, ``make.fingered``."""
    return Make()
