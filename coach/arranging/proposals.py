"""Which tuning, position and capo suit a tune: proposals with their reasons, the best first.

The prices are common practice turned into numbers, no source: a melody lies best on frets 0 to 5 and on open strings, a
drone on the key note or its fifth, the banjo in open G, and modal tunes on strings that have no third.
"""

from __future__ import annotations

from dataclasses import dataclass

from coach.arranging.seating import Seat, seat
from coach.arranging.setting import positions, read_key
from coach.errors import ArrangeError
from coach.instrument.fretboard import FIRST_FRETS, places
from coach.instrument.tuning import G_MODAL, OPEN_G, TUNINGS, Tuning
from coach.tunes.keys import Key
from coach.tunes.played import written_out
from coach.tunes.tune import Tune

__all__ = ["Proposal", "better_than_open_g", "proposals", "propose"]

# Out of a hundred: what a note above fret 5 costs, and what an open string spares, when all notes are such.
_HIGH, _OPEN = 200, 20
_RETUNED, _FOLDED, _OTHER_KEY = 15, 20, 30
_CAPO = (0, 3, 2, 3, 4, 8, 15, 20, 28, 32, 36, 40)
# The fifth string is the key note or its fifth, another note of the scale, or none.
_DRONE_AT_HOME, _FOREIGN_DRONE = -6, 15
# Open strings of G modal without a third over the key note of a tune that is not major.
_NO_THIRD = -20
_CLEARLY = 15
_SIGNATURE_STEPS = (0, 2, 4, 5, 7, 9, 11)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A way to set a tune.

    Attributes:
        tuning: of the open strings.
        key: what the player thinks in, by which the position is named.
        sounding_key: what sounds.
        capo: its fret, 0 for none.
        low: the share of melody notes, repeats counted, that can be had on frets 0 to 5; 0..1.
        open: the share of those that are open strings; 0..1.
        folds: how many phrases are sung an octave away.
        price: what speaks against it, for the order; may be negative.
        reason: one sentence.
    """

    tuning: Tuning
    key: Key
    sounding_key: Key
    capo: int
    low: float
    open: float
    folds: int
    price: int
    reason: str


def proposals(tune: Tune, key: str | None = None) -> tuple[Proposal, ...]:
    """The ways to set a tune, in every tuning, the best first.

    Args:
        tune: as read, with a melody.
        key: what shall sound, as the singer wants it; None for the tune's own, or another where that lies better.

    Raises:
        ArrangeError: when the key is none, or no tuning holds the melody.
    """
    found, refused = _found(tune, read_key(key, tune.key.mode) if key is not None else None)
    if refused is not None and not found:
        raise refused
    return found


def propose(tune: Tune, tuning: Tuning, setting: Seat) -> Proposal:
    """The proposal that a setting amounts to."""
    key, shift = setting.setting.key, setting.setting.shift
    tunes_measures = (each.measure for each in written_out(_with(tune, setting)))
    pitches = [note.pitch + shift for measure in tunes_measures for note in measure.notes]
    low = sum(bool(places(tuning, pitch, highest_fret=FIRST_FRETS)) for pitch in pitches) / len(pitches)
    opens = sum(pitch in tuning.strings for pitch in pitches) / len(pitches)
    drone = (tuning.open_pitch(5) - key.tonic_pc) % 12
    folds = len(setting.folded.folds)
    moved = setting.setting.sounding_key.tonic_pc != tune.key.tonic_pc
    bare = _has_no_third(tuning, key)
    price = round(_HIGH * (1 - low) - _OPEN * opens)
    price += _CAPO[setting.setting.capo] + _FOLDED * (folds > 0) + _OTHER_KEY * moved
    price += _RETUNED * (tuning.name != OPEN_G.name)
    in_scale = (drone + _steps(key)) % 12 in _SIGNATURE_STEPS
    price += _NO_THIRD * bare + (_DRONE_AT_HOME if drone in {0, 7} else 0 if in_scale else _FOREIGN_DRONE)
    return Proposal(
        tuning,
        key,
        setting.setting.sounding_key,
        setting.setting.capo,
        low,
        opens,
        folds,
        price,
        _reason(low, opens, folds, drone, bare=bare),
    )


def better_than_open_g(tune: Tune, key: Key | None, here: Proposal | None = None) -> Proposal | None:
    """The best proposal in another tuning for a key, if it is clearly better than the one in open G, or there is none.

    Args:
        tune: as read.
        key: what shall sound; None for the tune's own.
        here: what open G has to offer; None where it cannot hold the melody.
    """
    for each in _found(tune, key)[0]:
        if each.tuning.name != OPEN_G.name:
            return each if here is None or each.price + _CLEARLY <= here.price else None
    return None


def _order(proposal: Proposal) -> tuple[int, int, int, str]:
    return (proposal.price, list(TUNINGS).index(proposal.tuning.name), proposal.capo, proposal.key.tonic)


def _found(tune: Tune, key: Key | None) -> tuple[tuple[Proposal, ...], ArrangeError | None]:
    """The proposals of all tunings, the best first, and the first refusal of one."""
    found: list[Proposal] = []
    refused: ArrangeError | None = None
    for tuning in TUNINGS.values():
        for capo in sorted({place.capo for place in positions(tune.key, tuning, key=key)}):
            try:
                proposal = propose(tune, tuning, seat(tune, tuning, key=key, capo=capo))
            except ArrangeError as error:
                refused = refused or error
                continue
            # Another key than the tune's is worth a thought only where no capo is needed for it.
            if key is not None or not capo or proposal.sounding_key == tune.key:
                found.append(proposal)
    return tuple(sorted(found, key=_order)), refused


def _with(tune: Tune, setting: Seat) -> Tune:
    return Tune(tune.title, tune.rights, tune.key, setting.folded.measures)


def _steps(key: Key) -> int:
    """Semitones of the tonic above the tonic of the major key with the same signature."""
    return (key.tonic_pc - 7 * key.fifths) % 12


def _has_no_third(tuning: Tuning, key: Key) -> bool:
    """Whether a tune in minor or a mode stands on open strings that sound its key note and neither third."""
    over = {(pitch - key.tonic_pc) % 12 for pitch in tuning.strings}
    return tuning.name == G_MODAL.name and key.mode != "major" and 0 in over and not over & {3, 4}


def _reason(low: float, opens: float, folds: int, drone: int, *, bare: bool) -> str:
    parts: list[str] = []
    if bare:
        parts.append("the open strings have no third, as a modal tune wants it")
    if drone in {0, 7}:
        parts.append(f"the drone is the {'key note' if drone == 0 else 'fifth of the key'}")
    if folds:
        parts.append(f"{'a phrase has' if folds == 1 else f'{folds} phrases have'} to be folded")
    where = f"{_of_the(low)} notes lie on frets 0 to 5 and {_share(opens)} on open strings"
    return f"{'; '.join([where[0].upper() + where[1:], *parts])}."


def _of_the(share: float) -> str:
    return "all" if share == 1 else f"{100 * share:.0f} % of the"


def _share(share: float) -> str:
    return "none" if share == 0 else f"{100 * share:.0f} %"
