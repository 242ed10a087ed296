"""A tune laid out for the banjo before any pluck is chosen: setting, folded phrases, measures as played, grid."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from statistics import mode

from coach.arranging.folding import FAR_FRET, Fold
from coach.arranging.grain import Grain, find_grains
from coach.arranging.grid import Grid, find_grid
from coach.arranging.proposals import Proposal, better_than_open_g, propose
from coach.arranging.seating import Seat, seat
from coach.arranging.setting import Setting, read_key
from coach.errors import ArrangeError
from coach.instrument.tuning import OPEN_G, Tuning
from coach.tunes.keys import Key
from coach.tunes.played import PlayedMeasure, written_out
from coach.tunes.tune import Measure, Tune

__all__ = ["Layout", "lay_out"]

# Open G holds a melody well when this share of it lies on frets 0 to 5 and no phrase is folded.
_WELL = 0.95
_SCALES = {
    Fraction(2): "Written out at twice the length: the tune's eighths are quarters here.",
    Fraction(1, 2): "Written out at half the length: the tune's half notes are quarters here.",
    Fraction(1, 4): "Written out at a quarter of the length: the tune's whole notes are quarters here.",
}


@dataclass(frozen=True, slots=True)
class Layout:
    """A tune laid out.

    Attributes:
        tuning: of the open strings.
        setting: key, position, octave and capo.
        played: the measures with repeats written out, phrases folded.
        grid: the same in slots.
        remarks: what the reader and the layout decided, one sentence each.
    """

    tuning: Tuning
    setting: Setting
    played: tuple[PlayedMeasure, ...]
    grid: Grid
    remarks: tuple[str, ...]


def lay_out(tune: Tune, *, key: str | None = None, capo: int | None = None, tuning: Tuning | None = None) -> Layout:
    """Lay a tune out.

    Args:
        tune: as read.
        key: what shall sound, ``A`` or ``F#m``; None keeps the tune's own where it lies well.
        capo: its fret, 0..11; None chooses it.
        tuning: of the banjo; None is open G, or another where open G cannot hold the melody well and that can.

    Raises:
        ArrangeError: when there is no melody, or it cannot be set as asked.
    """
    if not any(measure.notes for measure in tune.measures):
        raise ArrangeError("there is no melody", where=tune.title, cure="give a tune with notes")
    wanted = read_key(key, tune.key.mode) if key is not None else None
    if tuning is None and capo is None:
        strings, seated, proposed = _open_g_or_better(tune, wanted)
    else:
        strings, proposed = tuning or OPEN_G, ()
        seated = seat(tune, strings, key=wanted, capo=capo)
    setting, folded = seated
    by_number = {
        measure.number: grain for measure, grain in zip(tune.measures, find_grains(tune.measures), strict=True)
    }
    written = written_out(replace(tune, measures=folded.measures))
    grains = [by_number[each.source_measure] for each in written]
    played = tuple(_filled_up(each, grain.slot) for each, grain in zip(written, grains, strict=True))
    grid = find_grid([each.measure for each in played], grains, setting)
    odd = [new.number for old, new in zip(written, played, strict=True) if old is not new]
    remarks = (
        *tune.remarks,
        *_on_verses(tune.measures, written),
        *proposed,
        *setting.remarks,
        *_on_folds(folded.folds, played),
        *_on_high_frets(played, setting, strings),
        *((f"Filled up to a whole number of slots: {_measures(odd)}.",) if odd else ()),
        *_on_the_grid(played, grains, grid),
    )
    return Layout(strings, setting, played, grid, remarks)


def _open_g_or_better(tune: Tune, key: Key | None) -> tuple[Tuning, Seat, tuple[str, ...]]:
    """Open G, or a tuning that holds a melody well which open G does not; and what is to be said about it."""
    try:
        seated = seat(tune, OPEN_G, key=key)
    except ArrangeError as refusal:
        other = better_than_open_g(tune, key)
        if other is None:
            raise refusal from None
        return _retuned(tune, key, other)
    here = propose(tune, OPEN_G, seated)
    held = not here.folds and here.low >= _WELL
    if held and tune.key.mode == "major":
        return OPEN_G, seated, ()
    other = better_than_open_g(tune, key, here)
    if other is None:
        return OPEN_G, seated, ()
    if here.folds and not other.folds and other.low >= _WELL:
        return _retuned(tune, key, other)
    return OPEN_G, seated, (f"{_in(other, tune.key)} {_after(other.reason)}: --tuning '{other.tuning.name}'.",)


def _retuned(tune: Tune, key: Key | None, other: Proposal) -> tuple[Tuning, Seat, tuple[str, ...]]:
    seated = seat(tune, other.tuning, key=key, capo=other.capo)
    return (
        other.tuning,
        seated,
        (f"Open G does not hold the melody well. {_in(other, tune.key)} {_after(other.reason)}.",),
    )


def _in(other: Proposal, tune_key: Key) -> str:
    capo = f" with the capo at {other.capo}" if other.capo else ""
    key = f", where it sounds in {other.sounding_key}," if other.sounding_key.tonic_pc != tune_key.tonic_pc else ""
    return f"In {other.tuning.name}{capo}{key}"


def _after(reason: str) -> str:
    return f"{reason[0].lower()}{reason[1:-1]}"


def _filled_up(played: PlayedMeasure, slot: Fraction) -> PlayedMeasure:
    """A measure that no half or quarter of a slot divides (a tuplet in it is not whole) with a rest at its end."""
    slots = played.measure.length / slot
    if slots.denominator in {1, 2, 4}:
        return played
    return replace(played, measure=replace(played.measure, length=-int(-slots // 1) * slot))


def _on_verses(measures: Sequence[Measure], written: Sequence[PlayedMeasure]) -> Iterator[str]:
    """Which further verses are never sung, because no passage that has them is played so often."""
    times = Counter(each.source_measure for each in written)
    having: dict[int, int] = {}  # for each verse the most times through a measure that has words of it
    for measure in measures:
        for note in measure.notes:
            for verse, word in enumerate(note.verses, start=2):
                if word:
                    having[verse] = max(having.get(verse, 0), times[measure.number])
    unsung = [str(verse) for verse, most in sorted(having.items()) if most < verse]
    if unsung:
        which = f"Verse {unsung[0]} is"
        if len(unsung) > 1:
            which = f"Verses {', '.join(unsung[:-1])} and {unsung[-1]} are"
        yield f"{which} not on the sheet: no repeat comes round to {'it' if len(unsung) == 1 else 'them'}."


def _on_folds(folds: Sequence[Fold], played: Sequence[PlayedMeasure]) -> Iterator[str]:
    """Which phrases are played elsewhere than they are sung, by the measures in which they are first played."""
    first: dict[int, int] = {}
    for each in played:
        first.setdefault(each.source_measure, each.number)
    # A measure that is joined from two short ones bears the number of the longer.
    told = sorted((first.get(each.measure, each.measure), each.octaves) for each in folds)
    for octaves in dict.fromkeys(octaves for _, octaves in told):
        numbers = [str(number) for number, own in told if own == octaves]
        which = f"Phrase from measure {numbers[0]} is"
        if len(numbers) > 1:
            which = f"Phrases from measures {', '.join(numbers[:-1])} and {numbers[-1]} are"
        yield f"{which} played {'an octave' if abs(octaves) == 1 else f'{abs(octaves)} octaves'} " + (
            "lower." if octaves < 0 else "higher."
        )


def _on_high_frets(played: Sequence[PlayedMeasure], setting: Setting, tuning: Tuning) -> Iterator[str]:
    """Which measures lie far up the neck, and how far."""
    tops = {
        each.number: max(note.pitch for note in each.measure.notes) + setting.shift - tuning.open_pitch(1)
        for each in played
        if each.measure.notes
    }
    far = [number for number, fret in tops.items() if fret > FAR_FRET]
    if far:
        where = _measures(far)
        yield f"{where[0].upper()}{where[1:]} lie{'s' * (len(far) == 1)} up to fret {max(tops.values())}."


def _on_the_grid(played: Sequence[PlayedMeasure], grains: Sequence[Grain], grid: Grid) -> Iterator[str]:
    if grid.scale in _SCALES:
        yield _SCALES[grid.scale]
    slots = [grain.slot for grain in grains]
    usual = mode(slots)
    other = [each.number for each, slot in zip(played, slots, strict=True) if slot != usual]
    if other:
        yield f"The melody moves in other notes in {_measures(other)}: so do the rolls there."
    dense = [each.number for each, grain in zip(played, grains, strict=True) if grain.dense]
    if len(dense) == len(played):
        yield "The melody is too dense for rolls: the solo keeps its strong notes."
    elif dense:
        yield f"The melody is too dense for rolls in {_measures(dense)}: the solo keeps its strong notes there."
    elif grid.thinned:
        count = grid.thinned
        verb = "note found no room on the grid and is" if count == 1 else "notes found no room on the grid and are"
        yield f"{'One' if count == 1 else count} melody {verb} left out."
    if grid.moved:
        count, first = len(grid.moved), played[grid.moved[0]].number
        what = "One melody note lies" if count == 1 else f"{count} melody notes lie"
        there = f"the slot nearest by ear, in measure {first}" if count == 1 else "the slots nearest by ear"
        yield f"{what} between the slots and go{'es' * (count == 1)} to {there}{_first(count, first)}."


def _first(count: int, first: int) -> str:
    return "" if count == 1 else f", the first in measure {first}"


def _measures(numbers: Sequence[int]) -> str:
    """Numbers of measures as they are spoken: measure 5, measures 5 to 8, measures 5 to 8 and 13 to 16."""
    runs = [list(run) for _, run in groupby(enumerate(numbers), key=lambda each: each[1] - each[0])]
    named = [str(run[0][1]) if len(run) == 1 else f"{run[0][1]} to {run[-1][1]}" for run in runs]
    text = named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
    return f"measure{'s' * (len(numbers) > 1)} {text}"
