"""Roll studies: a named roll over a progression, as an arrangement with no melody, to be practised like any tune.

A study is a beginner's piece and keeps that tier's rules. It ends with a measure in which the home chord is pinched
and held. The home chord is the first or the last chord of the progression: the one whose key has more of the tones of
all the chords, the first where they have as many. Common practice, no source.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, Tier
from coach.arranging.chord_rolls import fret_in, roll_over, root_place
from coach.arranging.handrules import ROLL_SLOTS
from coach.arranging.lefthand import fingered
from coach.arranging.pulse import grouping
from coach.arranging.touches import Touch, written
from coach.errors import InputError
from coach.instrument.fretboard import fifth_string_place
from coach.instrument.hands import SPAN, Finger, span
from coach.instrument.rolls import ROLLS, Roll
from coach.instrument.tuning import OPEN_G, Tuning
from coach.tunes.chords import QUALITIES, Chord
from coach.tunes.keys import Key, spell
from coach.tunes.tune import Meter

__all__ = ["METERS", "MOST_MEASURES", "Groups", "is_study", "roll_study", "warm_ups"]

# The metres of studies, by name.
METERS = {str(meter): meter for meter in (Meter(4, 4), Meter(2, 2), Meter(2, 4), Meter(3, 4))} | {
    str(meter): meter for meter in (Meter(6, 8), Meter(9, 8), Meter(12, 8))
}
MOST_MEASURES = 128

# The chords of a progression, a group for each measure; an empty group goes on with the chord before.
Groups = Sequence[Sequence[Chord]]

# What a roll is warmed up on: the chords of most tunes in G, twice round.
_WARM_UP_ROOTS, _WARM_UP_MEASURES = ("G", "C", "D", "G"), 8

_TIER: Tier = "beginner"
_SLOT = Fraction(1, 2)
_MINOR_THIRD = 3
# The fingers and strings that go with the thumb in the last pinch, the better first.
_WITH_THUMB: tuple[tuple[Finger, int], ...] = (("M", 1), ("I", 2))


def warm_ups() -> tuple[Arrangement, ...]:
    """A short study of each roll to warm up on, in open G and 4/4."""
    chords = [[Chord(root)] for root in _WARM_UP_ROOTS]
    return tuple(roll_study(roll, chords, METERS["4/4"], measures=_WARM_UP_MEASURES) for roll in ROLLS)


def is_study(arrangement: Arrangement) -> bool:
    """Whether a solo is a study as :func:`roll_study` makes them, to be known by its id."""
    named = any(re.fullmatch(rf"{_slug(roll)}-roll-[0-9a-f]{{8}}", arrangement.tune) for roll in ROLLS)
    return named and not any(measure.melody for measure in arrangement.measures)


def roll_study(
    roll: str,
    chords: Groups,
    meter: Meter,
    *,
    tuning: Tuning = OPEN_G,
    capo: int = 0,
    measures: int | None = None,
    tempo: float | None = None,
) -> Arrangement:
    """A study of one roll.

    Args:
        roll: a name in :data:`coach.instrument.rolls.ROLLS`.
        chords: the progression, as :func:`coach.tunes.harmony.read_chords` reads it, in the shapes that the player
            thinks in; played round again where there are fewer groups than measures.
        meter: one of :data:`METERS`.
        tuning: of the open strings.
        capo: its fret, 0..11.
        measures: how many measures of the roll, 1..128; None for the progression once. One more closes the study.
        tempo: what to practise it for, in quarters a minute; None tells nothing.

    Raises:
        InputError: when there is no such roll, metre or number of measures, or no chord.
    """
    known = ROLLS.get(roll)
    if known is None:
        raise InputError(f"{roll!r} is no roll that is known", where="the roll", cure=f"choose {', '.join(ROLLS)}")
    if meter not in METERS.values():
        raise InputError(f"there are no studies in {meter}", where="the metre", cure=f"choose {', '.join(METERS)}")
    named = [chord for group in chords for chord in group]
    if not named:
        raise InputError(
            "no chord is named", where="the chords", cure='write one group a measure, like "G | C | D7 | G"'
        )
    count = len(chords) if measures is None else measures
    if not 1 <= count <= MOST_MEASURES:
        raise InputError(f"{count} measures are no study", where="the measures", cure=f"choose 1 to {MOST_MEASURES}")
    key = _home_key(named)
    home = Chord(key.tonic, "m" if key.minor else "")
    bare = [_bare(number, meter, _placed(chords[(number - 1) % len(chords)], meter)) for number in range(1, count + 1)]
    rolled = [list(touches) for touches in roll_over(bare, _SLOT, known, tuning)]
    close = _close(home, rolled[-1], meter, tuning)
    bare.append(_bare(count + 1, meter, (ChordAt(Fraction(0), home),)))
    full = tuple(
        replace(measure, plucks=written(measure.number, touches, measure.length, tuning, capo))
        for measure, touches in zip(bare, [*rolled, close], strict=True)
    )
    study = Arrangement(
        tune=_name(known, chords, meter, count, tuning, capo),
        title=f"{roll.capitalize()} roll",
        rights="",
        tier=_TIER,
        key=str(key),
        sounding_key=str(_sounding(key, capo)) if capo else None,
        capo=capo,
        meter=meter,
        slot=_SLOT,
        source_scale=Fraction(1),
        bounce=50,
        tuning=tuning,
        remarks=tuple(_remarks(known, rolled[0], named, capo, tempo)),
        measures=full,
    )
    return fingered(study)


def _bare(number: int, meter: Meter, chords: tuple[ChordAt, ...]) -> ArrangedMeasure:
    return ArrangedMeasure(number, number, meter, meter.length, _TIER, chords, (), ())


def _placed(group: Sequence[Chord], meter: Meter) -> tuple[ChordAt, ...]:
    """The chords of a measure: they share its beats evenly, the first ones longer where it does not come out even."""
    beats = grouping(meter)
    if len(group) > len(beats):
        beats = (_SLOT,) * int(meter.length / _SLOT)
    if len(group) > len(beats):
        raise InputError(
            f"{len(group)} chords have no room in a measure of {meter}", where="the chords", cure="name fewer"
        )
    firsts = [-(-index * len(beats) // len(group)) for index in range(len(group))]
    return tuple(ChordAt(sum(beats[:first], Fraction(0)), chord) for first, chord in zip(firsts, group, strict=True))


def _close(home: Chord, last: list[Touch], meter: Meter, tuning: Tuning) -> list[Touch]:
    """The pinch of the home chord that ends a study; the last slot of the roll is held where the hand is not free."""
    thumb = Touch(Fraction(0), *root_place(home, tuning), "T", "pinch")
    pinches = [
        (thumb, Touch(Fraction(0), string, fret, finger, "pinch"))
        for finger, string in _WITH_THUMB
        if string < thumb.string and (fret := fret_in(home, string, tuning)) is not None
    ]
    busy = last[-1] if last and last[-1].at == meter.length - _SLOT else None
    free = [
        pinch
        for pinch in pinches
        if busy is None or all(touch.finger != busy.finger and touch.string != busy.string for touch in pinch)
    ]
    close = list((free or pinches)[0])
    if not free or span(touch.fret for touch in (*last[1 - ROLL_SLOTS :], *close)) > SPAN:
        last.pop()
    return close


def _home_key(chords: Sequence[Chord]) -> Key:
    """The key of the first or last chord: that which has more of the tones of all the chords."""

    def key_of(chord: Chord) -> Key:
        return Key(chord.root, "minor" if _MINOR_THIRD in QUALITIES[chord.quality][0] else "major")

    def strange(key: Key) -> int:
        scale = {(7 * (key.fifths + step)) % 12 for step in range(-1, 6)}
        return sum(len(chord.pitch_classes - scale) for chord in chords)

    return min((key_of(chords[0]), key_of(chords[-1])), key=strange)


def _sounding(key: Key, capo: int) -> Key:
    """What sounds with a capo, in the spelling with fewer signs."""
    keys = [Key(spell(key.tonic_pc + capo, side), key.mode) for side in (1, -1)]
    return min(keys, key=lambda each: abs(each.fifths))


def _name(roll: Roll, chords: Groups, meter: Meter, count: int, tuning: Tuning, capo: int) -> str:
    """The id of a study: it tells all that is played, and stays whatever else changes."""
    row = " | ".join(" ".join(chord.symbol for chord in group) for group in chords)
    strung = f"{tuning.name}, capo {capo}"
    digest = hashlib.sha256(f"{roll.name}, {row}, {meter}, {count}, {strung}".encode()).hexdigest()
    return f"{_slug(roll.name)}-roll-{digest[:8]}"


def _slug(roll: str) -> str:
    return roll.replace(" ", "-")


def _remarks(roll: Roll, first: Sequence[Touch], named: Sequence[Chord], capo: int, tempo: float | None) -> list[str]:
    row = " ".join(touch.finger or "" for touch in first)
    symbols = ", ".join(dict.fromkeys(chord.symbol for chord in named))
    remarks = [f"A study of the {roll.name} roll ({row}) over {symbols}."]
    if capo:
        remarks.append(fifth_string_place(capo))
    if tempo is not None:
        remarks.append(f"Goal: {tempo:g} quarters a minute.")
    return remarks
