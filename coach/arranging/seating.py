"""Where a melody sits on the neck of a tuning: the setting that suits, with phrases folded where it is too wide."""

from __future__ import annotations

from typing import NamedTuple

from coach.arranging.folding import GOOD_FRETS, Folded, Room, fold
from coach.arranging.setting import Setting, find_setting, positions, setting_at
from coach.errors import ArrangeError
from coach.instrument.fretboard import HIGHEST_FRET
from coach.instrument.tuning import Tuning
from coach.tunes.keys import Key
from coach.tunes.played import written_out
from coach.tunes.tune import Tune

__all__ = ["Seat", "seat", "sung"]

# A melody is folded where that spares so much of the price of high notes, for every hundred notes.
_CLEARLY_BETTER = 30


class Seat(NamedTuple):
    """Where a tune lies on the neck, and the tune with its phrases folded to lie there."""

    setting: Setting
    folded: Folded


def seat(tune: Tune, tuning: Tuning, *, key: Key | None = None, capo: int | None = None) -> Seat:
    """Find the setting of a tune with a melody, its phrases folded where it lies too far up the neck as it is.

    Args:
        tune: as read.
        tuning: of the banjo.
        key: what shall sound; None keeps the tune's own where it lies well.
        capo: its fret; None chooses it.

    Raises:
        ArrangeError: when it cannot be set as asked.
    """
    asis = Folded(tune.measures, (), 0, 0, 0)
    pitches = sung(tune)
    refused: ArrangeError | None = None
    try:
        setting = find_setting(tune.key, pitches, tuning, key=key, capo=capo)
    except ArrangeError as error:
        refused = error
    else:
        if max(pitches) + setting.shift <= tuning.open_pitch(1) + GOOD_FRETS:
            return Seat(setting, asis)
    found, plain = [], []
    for place in positions(tune.key, tuning, key=key, capo=capo):
        first = tuning.open_pitch(1) - place.steps
        room = Room(min(tuning.strings) - place.steps, first + HIGHEST_FRET - place.capo, first)
        folded = fold(tune.measures, room)
        if folded is not None:
            found.append((place.price + folded.price, place, folded))
            plain += [] if folded.plain_price is None else [place.price + folded.plain_price]
    if found:
        price, place, folded = min(found, key=lambda each: each[:2])
        if folded.folds and price + _CLEARLY_BETTER <= min(plain, default=price + _CLEARLY_BETTER):
            shift = place.steps + 12 * folded.octave
            return Seat(setting_at(place, shift, tune.key, tuning, key=key, capo=capo), folded)
    if refused is not None:
        raise refused
    return Seat(setting, asis)


def sung(tune: Tune) -> list[int]:
    """The pitches of the melody, repeats written out."""
    return [note.pitch for each in written_out(tune) for note in each.measure.notes]
