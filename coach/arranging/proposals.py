"""Which tuning, position and capo suit a tune: proposals with their reasons, the best first.

The prices are common practice turned into numbers, no source: a melody lies best on frets 0 to 5 and on open strings, a
drone on the key note or its fifth, the banjo in open G, and modal tunes on strings that have no third. Those within a
tuning are of :mod:`coach.arranging.setting`, so that an arrangement takes what is proposed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from coach.arranging.seating import Seat, seat, sung
from coach.arranging.setting import OPEN_SHARE, Setting, has_no_third, lie, position_price, positions, read_key
from coach.errors import ArrangeError
from coach.instrument.tuning import OPEN_G, TUNINGS, Tuning
from coach.tunes.keys import Key
from coach.tunes.played import written_out
from coach.tunes.tune import Tune

__all__ = ["Proposal", "better_than_open_g", "proposals", "propose"]

# Beside what the setting costs: another tuning than open G, and phrases that are folded.
_RETUNED, _FOLDED = 15, 20
_CLEARLY = 15


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
        folds: how many phrases are played an octave away.
        price: what speaks against it, for the order; may be negative.
        merits: what speaks for it and what must be put up with, beside the shares; empty where there is nothing.
    """

    tuning: Tuning
    key: Key
    sounding_key: Key
    capo: int
    low: float
    open: float
    folds: int
    price: int
    merits: tuple[str, ...]

    @property
    def reason(self) -> str:
        """The shares and the merits in one sentence."""
        where = f"{_of_the(self.low)} notes lie on frets 0 to 5 and {_share(self.open)} on open strings"
        return f"{'; '.join([where[0].upper() + where[1:], *self.merits])}."


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
    pitches = Counter(note.pitch for measure in tunes_measures for note in measure.notes)
    low, opens, price = lie(pitches, shift, tuning)
    folds = len(setting.folded.folds)
    price += _position_price(tune.key, tuning, key.tonic_pc, setting.setting.capo) + _FOLDED * (folds > 0)
    return Proposal(
        tuning,
        key,
        setting.setting.sounding_key,
        setting.setting.capo,
        low,
        opens,
        folds,
        price,
        tuple(_merits(tuning, setting.setting, folds)),
    )


def _position_price(tune_key: Key, tuning: Tuning, tonic_pc: int, capo: int) -> int:
    return position_price(tune_key, tuning, tonic_pc, capo) + _RETUNED * (tuning.name != OPEN_G.name)


def better_than_open_g(tune: Tune, key: Key | None, here: Proposal | None = None) -> Proposal | None:
    """The best proposal in another tuning for a key, if it is clearly better than the one in open G, or there is none.

    Args:
        tune: as read.
        key: what shall sound; None for the tune's own.
        here: what open G has to offer; None where it cannot hold the melody.
    """
    limit = None if here is None else here.price - _CLEARLY
    best: Proposal | None = None
    for tuning in TUNINGS.values():
        if tuning.name == OPEN_G.name:
            continue
        for capo, least in _least_prices(tune, tuning, key).items():
            if (limit is not None and least > limit) or (best is not None and least > best.price):
                continue  # to lay the melody out there would be for nothing
            try:
                found = _proposal(tune, tuning, key, capo)
            except ArrangeError:
                continue
            if found is not None and (limit is None or found.price <= limit):
                best = found if best is None else min(best, found, key=_order)
    return best


def _least_prices(tune: Tune, tuning: Tuning, key: Key | None) -> dict[int, int]:
    """For each capo what a proposal costs at least: all lies low, and what has an open string's name is open."""
    heard = Counter(pitch % 12 for pitch in sung(tune))
    least: dict[int, int] = {}
    for place in positions(tune.key, tuning, key=key):
        opens = sum(heard[pc] for pc in {(pitch - place.steps) % 12 for pitch in tuning.strings}) / heard.total()
        price = _position_price(tune.key, tuning, (tune.key.tonic_pc + place.steps) % 12, place.capo)
        price -= round(OPEN_SHARE * opens)
        least[place.capo] = min(price, least.get(place.capo, price))
    return dict(sorted(least.items()))


def _order(proposal: Proposal) -> tuple[int, int, int, str]:
    return (proposal.price, list(TUNINGS).index(proposal.tuning.name), proposal.capo, proposal.key.tonic)


def _found(tune: Tune, key: Key | None) -> tuple[tuple[Proposal, ...], ArrangeError | None]:
    """The proposals of all tunings, the best first, and the first refusal of one."""
    found: list[Proposal] = []
    refused: ArrangeError | None = None
    for tuning in TUNINGS.values():
        for capo in sorted({place.capo for place in positions(tune.key, tuning, key=key)}):
            try:
                proposal = _proposal(tune, tuning, key, capo)
            except ArrangeError as error:
                refused = refused or error
            else:
                found += [] if proposal is None else [proposal]
    return tuple(sorted(found, key=_order)), refused


def _proposal(tune: Tune, tuning: Tuning, key: Key | None, capo: int) -> Proposal | None:
    """The proposal for a capo; None for another key than the tune's that needs one: that is worth no thought."""
    proposal = propose(tune, tuning, seat(tune, tuning, key=key, capo=capo))
    return proposal if key is not None or not capo or proposal.sounding_key == tune.key else None


def _with(tune: Tune, setting: Seat) -> Tune:
    return Tune(tune.title, tune.rights, tune.key, setting.folded.measures)


def _merits(tuning: Tuning, setting: Setting, folds: int) -> Iterator[str]:
    drone = (tuning.open_pitch(5) - setting.key.tonic_pc) % 12
    if has_no_third(tuning, setting.key.tonic_pc, setting.key.mode):
        yield "the open strings have no third, as a modal tune wants it"
    if drone in {0, 7}:
        yield f"the drone is the {'key note' if drone == 0 else 'fifth of the key'}"
    if folds:
        yield f"{'a phrase has' if folds == 1 else f'{folds} phrases have'} to be folded"


def _of_the(share: float) -> str:
    return "all" if share == 1 else f"{100 * share:.0f} % of the"


def _share(share: float) -> str:
    return "none" if share == 0 else f"{100 * share:.0f} %"
