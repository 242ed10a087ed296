"""Where a tune is put on the banjo: key, position, octave and capo.

Common practice, no source: a melody is put in a key of the tuning, as low on the neck as it can, and a capo gives the
singer's key. The prices turn that into numbers; those of :mod:`coach.arranging.proposals` are the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from coach.errors import ArrangeError
from coach.instrument.fretboard import FIRST_FRETS, HIGHEST_FRET, fifth_string_place, fifth_string_raised, places
from coach.instrument.tuning import G_MODAL, Tuning
from coach.tunes.keys import MODES, Key, spell

__all__ = [
    "OPEN_SHARE",
    "POSITIONS",
    "Lie",
    "Position",
    "Setting",
    "find_setting",
    "has_no_third",
    "lie",
    "position_price",
    "positions",
    "read_key",
    "setting_at",
]

# Tonics of the major keys (the relative minors and the modes of the same signature with them) that a tuning serves,
# best first.
POSITIONS: Mapping[str, tuple[str, ...]] = {
    "open G": ("G", "C", "D"),
    "double C": ("C", "G", "F"),
    "drop C": ("C", "G"),
    "G modal": ("G", "C", "F", "D", "Bb"),
    "open D": ("D", "G"),
}

# The price of a position by its rank, of a capo by its fret (those above fret 5 are rare, and beyond fret 7 the fifth
# string has to be tuned up so far that it may break), of leaving the tune's own key, and of a melody above fret 5:
# once, and for every hundred notes that lie there; and what open strings spare when all notes are such.
_POSITION_PRICE = (0, 5, 8, 12, 16)
_CAPO_PRICE = (0, 3, 1, 2, 2, 10, 30, 38, 75, 80, 85, 90)
_OTHER_KEY_PRICE = 60
_HIGH_PRICE, _HIGH_SHARE_PRICE = 10, 100
OPEN_SHARE = 5
_HIGHEST_CAPO = 11
_SAFELY_RAISED = 2  # semitones that a fifth string is tuned up without fear that it breaks
# The fifth string is the key note or its fifth, another note of the scale, or none.
_DRONE_AT_HOME, _FOREIGN_DRONE = -6, 15
# Open strings of G modal without a third over the key note of a tune that is not major.
_NO_THIRD = -20
_SIGNATURE_STEPS = (0, 2, 4, 5, 7, 9, 11)


@dataclass(frozen=True, slots=True)
class Setting:
    """Where the tune lies.

    Attributes:
        key: what the player thinks in.
        sounding_key: what sounds; equal to ``key`` without a capo.
        capo: its fret, 0 for none.
        shift: semitones from the tune's pitches to the pitches at capo 0.
        chord_shift: semitones from the tune's chords to the shapes, 0..11.
        remarks: what was decided, one sentence each.
    """

    key: Key
    sounding_key: Key
    capo: int
    shift: int
    chord_shift: int
    remarks: tuple[str, ...]


class Position(NamedTuple):
    """A position with its capo.

    Attributes:
        price: what speaks against it, see :func:`position_price`.
        rank: among those of the tuning, 0 is its home.
        capo: its fret, 0 for none.
        tonic: of the major key that it is named by.
        steps: semitones from the tune's key up to the player's, 0..11.
    """

    price: int
    rank: int
    capo: int
    tonic: str
    steps: int


class Lie(NamedTuple):
    """How a melody lies: the shares of its notes on frets 0 to 5 and on open strings, 0..1, and what that costs."""

    low: float
    open: float
    price: int


def lie(pitches: Mapping[int, int], shift: int, tuning: Tuning) -> Lie:
    """How a melody lies in a tuning.

    Args:
        pitches: how often each is sung, one at least.
        shift: semitones from them to the pitches at capo 0.
        tuning: of the banjo.
    """
    count = sum(pitches.values())
    high = sum(n for pitch, n in pitches.items() if not places(tuning, pitch + shift, highest_fret=FIRST_FRETS))
    opens = sum(n for pitch, n in pitches.items() if pitch + shift in tuning.strings)
    price = (_HIGH_PRICE + _HIGH_SHARE_PRICE * high // count if high else 0) - round(OPEN_SHARE * opens / count)
    return Lie((count - high) / count, opens / count, price)


def position_price(tune_key: Key, tuning: Tuning, tonic_pc: int, capo: int) -> int:
    """What speaks against a position and a capo wherever the melody lies: rank, capo, another key, a foreign drone.

    Args:
        tune_key: the key the tune is written in.
        tuning: of the banjo.
        tonic_pc: of the key that the player thinks in, one that the tuning serves.
        capo: its fret, 0..11.
    """
    steps = MODES[tune_key.mode]
    rank = [_tonic_pc(each, steps) for each in POSITIONS[tuning.name]].index(tonic_pc)
    price = _POSITION_PRICE[rank] + _CAPO_PRICE[capo]
    price += _OTHER_KEY_PRICE * ((tonic_pc + capo - tune_key.tonic_pc) % 12 != 0)
    drone = (tuning.open_pitch(5) - tonic_pc) % 12
    in_scale = (drone + steps) % 12 in _SIGNATURE_STEPS
    price += _DRONE_AT_HOME if drone in {0, 7} else 0 if in_scale else _FOREIGN_DRONE
    return price + _NO_THIRD * has_no_third(tuning, tonic_pc, tune_key.mode)


def has_no_third(tuning: Tuning, tonic_pc: int, mode: str) -> bool:
    """Whether a tune in minor or a mode stands on open strings that sound its key note and neither third."""
    over = {(pitch - tonic_pc) % 12 for pitch in tuning.strings}
    return tuning.name == G_MODAL.name and mode != "major" and 0 in over and not over & {3, 4}


def read_key(text: str, mode: str, *, where: str = "--key") -> Key:
    """Read a key such as ``A``, ``F#m``, ``Bb major`` or ``D dorian``.

    Args:
        text: what the user wrote.
        mode: the mode of the tune, taken when the text names none.
        where: the place, for the error.

    Raises:
        ArrangeError: when it is no key, or its mode is not the tune's.
    """
    name, _, rest = text.strip().partition(" ")
    named = rest.strip().lower()
    if name.endswith("m") and not named:
        name, named = name[:-1], "minor"
    named = {"": mode, "maj": "major", "min": "minor"}.get(named, named)
    try:
        key = Key(name[:1].upper() + name[1:], named)
        spelt = key.tonic_pc
    except ValueError:
        spelt = -1
    if spelt < 0 or named not in MODES:
        raise ArrangeError(f"{text!r} is no key", where=where, cure="write it like G, Bb, Am or D dorian")
    if named in {"major", "minor"} and key.minor == Key("C", mode).minor:
        return Key(key.tonic, mode)  # whoever says Am of a dorian tune means its tonic
    if named != mode:
        raise ArrangeError(
            f"the tune is {mode}, {text!r} is {named}", where=where, cure=f"ask for a {mode} key, such as {name} {mode}"
        )
    return key


def find_setting(
    tune_key: Key,
    pitches: Sequence[int],
    tuning: Tuning,
    *,
    key: Key | None = None,
    capo: int | None = None,
) -> Setting:
    """Find key, position, octave and capo.

    Args:
        tune_key: the key the tune is written in.
        pitches: of the melody, MIDI note numbers, at least one.
        tuning: of the banjo.
        key: what shall sound; None keeps the tune's own where it lies well.
        capo: its fret; None chooses it.

    Raises:
        ArrangeError: when no position of the tuning gives what is asked, or the melody is too wide for the neck.
    """
    found = sorted(_candidates(tune_key, pitches, tuning, key, capo), key=lambda each: (each[0], each[1], each[2]))
    if not found:
        raise _no_position(tune_key, pitches, tuning, key, capo)
    _, rank, fret, tonic, shift = found[0]
    place = Position(0, rank, fret, tonic, shift % 12)
    return setting_at(place, shift, tune_key, tuning, key=key, capo=capo)


def setting_at(
    place: Position, shift: int, tune_key: Key, tuning: Tuning, *, key: Key | None, capo: int | None
) -> Setting:
    """The setting of a position.

    Args:
        place: from :func:`positions`.
        shift: semitones from the tune's pitches to those at capo 0.
        tune_key: the key the tune is written in.
        tuning: of the banjo.
        key: what was asked to sound, or None.
        capo: what was asked for, or None.
    """
    fret, tonic = place.capo, place.tonic
    mode_steps = MODES[tune_key.mode]
    shape = Key(_tonic(tonic, mode_steps), tune_key.mode)
    sounding = key or _sounding(shape, fret, tune_key)
    remarks = []
    if key is None and sounding.tonic_pc != tune_key.tonic_pc:
        why = "where it lies better on the neck"
        if capo is not None:
            why = f"with the capo at {capo}" if capo else "without a capo"
        remarks.append(f"The tune is written in {tune_key}; it sounds in {sounding} here, {why}.")
    if fret:
        remarks.append(f"{_named(shape)} position: think in {shape}, it sounds in {sounding}.")
        remarks.append(fifth_string_place(fret))
        if fifth_string_raised(fret) > _SAFELY_RAISED:
            remarks.append("The fifth string may break when it is tuned up so far: use a lower capo, or another key.")
    elif shape.tonic_pc != _tonic_pc(POSITIONS[tuning.name][0], mode_steps):
        remarks.append(f"{_named(shape)} position.")
    return Setting(shape, sounding, fret, shift, (shape.tonic_pc - tune_key.tonic_pc) % 12, tuple(remarks))


def positions(tune_key: Key, tuning: Tuning, *, key: Key | None = None, capo: int | None = None) -> Iterator[Position]:
    """All positions and capos that give what is asked, whatever the melody.

    Args:
        tune_key: the key the tune is written in.
        tuning: of the banjo.
        key: what shall sound; None for the tune's own, or another where no capo is needed for it.
        capo: its fret; None for any.
    """
    wanted = key or tune_key
    for rank, tonic in enumerate(POSITIONS[tuning.name]):
        home = _tonic_pc(tonic, MODES[tune_key.mode])
        own = (wanted.tonic_pc - home) % 12
        for fret in {own, 0} if capo is None else {capo}:
            if (fret != own and key is not None) or not 0 <= fret <= _HIGHEST_CAPO:
                continue
            price = position_price(tune_key, tuning, home, fret)
            yield Position(price, rank, fret, tonic, (home - tune_key.tonic_pc) % 12)


def _candidates(
    tune_key: Key, pitches: Sequence[int], tuning: Tuning, key: Key | None, capo: int | None
) -> Iterator[tuple[int, int, int, str, int]]:
    """Price, rank of the position, capo, tonic of the major key, shift: all that can be played."""
    low, high = min(pitches), max(pitches)
    bottom = min(tuning.strings)
    counts = Counter(pitches)
    for price, rank, fret, tonic, steps in positions(tune_key, tuning, key=key, capo=capo):
        shift = steps + 12 * -((low + steps - bottom) // 12)
        if high + shift <= tuning.open_pitch(1) + HIGHEST_FRET - fret:
            yield price + lie(counts, shift, tuning).price, rank, fret, tonic, shift


def _no_position(
    tune_key: Key, pitches: Sequence[int], tuning: Tuning, key: Key | None, capo: int | None
) -> ArrangeError:
    if capo is not None and not 0 <= capo <= _HIGHEST_CAPO:
        return ArrangeError(f"a capo goes to frets 0 to {_HIGHEST_CAPO}, not {capo}", where="capo", cure="choose one")
    if not list(_candidates(tune_key, pitches, tuning, None, None)):
        return ArrangeError(
            f"the melody spans {max(pitches) - min(pitches)} semitones, more than the neck holds",
            where="melody",
            cure="move the notes that lie far out by an octave",
        )
    frets = sorted({each[2] for each in _candidates(tune_key, pitches, tuning, key, None)})
    if not frets or capo is None:
        return ArrangeError(f"in {key or tune_key} the melody goes beyond the neck", where="key", cure="choose another")
    return ArrangeError(
        f"no position of {tuning.name} gives {key or tune_key} with the capo at {capo}",
        where="capo",
        cure=f"use capo {' or '.join(map(str, frets))}",
    )


def _tonic_pc(major: str, mode_steps: int) -> int:
    return (Key(major).tonic_pc + mode_steps) % 12


def _tonic(major: str, mode_steps: int) -> str:
    return spell(Key(major).tonic_pc + mode_steps, Key(major).fifths)


def _sounding(shape: Key, capo: int, tune_key: Key) -> Key:
    if (shape.tonic_pc + capo) % 12 == tune_key.tonic_pc:
        return tune_key
    tonic = (shape.tonic_pc + capo) % 12
    flat = Key(spell(tonic, -1), shape.mode)
    sharp = Key(spell(tonic, 1), shape.mode)
    return flat if abs(flat.fifths) <= abs(sharp.fifths) else sharp


def _named(key: Key) -> str:
    return key.tonic + ("m" if key.minor else "")
