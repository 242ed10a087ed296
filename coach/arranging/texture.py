"""What a finished solo is made of, as counted shares: how full, how rolled, how much of the tune.

Conventions
    A *full* measure is as long as its metre says. A measure is *filled* when something sounds anew in each of its
    slots, and *rolled* when it has at most one held slot and its finger row, held slots skipped, is a piece of a named
    roll. *Even* are four melody notes that stand a quarter of the measure apart. A *gap* is two beats or more between
    one melody onset and the next. A *repeat* is a melody note of the same pitch as the one before it in its measure.
    An *embellishment* is a slurred note, in a lick or into the melody.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise
from typing import NamedTuple

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.arranging.timeline import Sounding, Sung, Timeline, two_beats
from coach.instrument.fretboard import LONG_STRINGS
from coach.instrument.hands import SPAN, span
from coach.instrument.rolls import HELD, named_roll

__all__ = ["Share", "Texture", "finger_row", "texture"]

_EVEN = 4
_MOST_SLURS = 3
_MANY = "+"  # stands in a finger row for a pinch, so that no roll fits


class Share(NamedTuple):
    """So many of so many."""

    part: int
    whole: int

    @property
    def value(self) -> float:
        """The share, 0..1; 1 where there is nothing to share."""
        return self.part / self.whole if self.whole else 1.0

    def plus(self, other: Share) -> Share:
        """Both together."""
        return Share(self.part + other.part, self.whole + other.whole)


@dataclass(frozen=True, slots=True)
class Texture:
    """The shares of one solo.

    Attributes:
        filled: full measures that are filled.
        rolled: full measures that are rolled.
        filled_rolls: full measures that are both.
        chordal_fills: fill and drone plucks that are tones of the sounding chord or the open fifth string.
        drone: plucks on the open fifth string.
        thinned_even: measures with four even melody notes of which one at least is left out.
        kept: melody notes that sound.
        kept_measures: measures of the melody of which at least three of four notes sound.
        kept_but_repeats: melody notes that sound, repeats not counted.
        downbeats: melody notes on the first beat of a measure that sound.
        phrase_starts: first notes of phrases that sound.
        embellished: full measures with a slur or a note of a lick.
        licked_gaps: gaps with a note of a lick.
        stretched: full measures whose fretted notes span more than four frets.
        embellished_pairs: of each two neighbouring full measures those with an embellishment.
        crowded_embellishments: measures with more than three embellishments.
        bent: of the melody notes that are slurred into, those that are long, accented or repeated.
        repeated_licks: licks that say what the lick before them said; measures that are copies are left out.
        other_places: melody plucks that lie lower elsewhere on the neck.
        ringing_slides: slurs that slide to the pitch of an open long string beside it.
        alternating, forward, backward, forward_reverse: rolled measures by their roll.
    """

    filled: Share
    rolled: Share
    filled_rolls: Share
    chordal_fills: Share
    drone: Share
    thinned_even: Share
    kept: Share
    kept_measures: Share
    kept_but_repeats: Share
    downbeats: Share
    phrase_starts: Share
    embellished: Share
    licked_gaps: Share
    stretched: Share
    embellished_pairs: Share
    crowded_embellishments: Share
    bent: Share
    repeated_licks: Share
    other_places: Share
    ringing_slides: Share
    alternating: Share
    forward: Share
    backward: Share
    forward_reverse: Share


def texture(arrangement: Arrangement) -> Texture:
    """Count the shares of a solo."""
    timeline = Timeline(arrangement)
    measures = [measure for measure in arrangement.measures if measure.length == measure.meter.length]
    grids = [measure.slot or arrangement.slot for measure in measures]
    filled = [_filled(measure, slot) for measure, slot in zip(measures, grids, strict=True)]
    rolled = [_rolled(measure, slot) for measure, slot in zip(measures, grids, strict=True)]
    fills = [each for each in timeline.soundings if each.pluck.role in {"fill", "drone"} and not each.carries]
    even = [measure for measure in arrangement.measures if _even(measure)]
    sung = [measure.melody for measure in arrangement.measures if measure.melody]
    notes = [each.note for each in timeline.melody]
    slurs = [sum(pluck.technique != "pick" for pluck in measure.plucks) for measure in arrangement.measures]
    full = {measure.number for measure in measures}
    rows = [finger_row(measure, slot) for measure, slot in zip(measures, grids, strict=True)]
    names = [named_roll(row) for row, is_rolled in zip(rows, rolled, strict=True) if is_rolled]
    return Texture(
        filled=_share(filled),
        rolled=_share(rolled),
        filled_rolls=_share([a and b for a, b in zip(filled, rolled, strict=True)]),
        chordal_fills=_share([_chordal(timeline, each) for each in fills]),
        drone=_share([pluck.string == 5 and pluck.fret == 0 for _, pluck in arrangement.plucks()]),
        thinned_even=_share([not all(note.kept for note in measure.melody) for measure in even]),
        kept=_share([note.kept for note in notes]),
        kept_measures=_share([4 * sum(note.kept for note in melody) >= 3 * len(melody) for melody in sung]),
        kept_but_repeats=_share(list(_kept_but_repeats(timeline.melody))),
        downbeats=_share([e.note.kept for e in timeline.melody if e.note.at == 0 and e.measure.number > 0]),
        phrase_starts=_share([note.kept for note in notes if note.phrase_start]),
        embellished=_share([any(p.technique != "pick" or p.role == "lick" for p in m.plucks) for m in measures]),
        licked_gaps=_share(list(_licked_gaps(timeline))),
        stretched=_share([span(pluck.fret for pluck in measure.plucks) > SPAN for measure in measures]),
        embellished_pairs=_share(
            [
                bool(one + other)
                for (here, one), (there, other) in pairwise(zip(arrangement.measures, slurs, strict=True))
                if {here.number, there.number} <= full
            ]
        ),
        crowded_embellishments=_share([count > _MOST_SLURS for count in slurs]),
        bent=_share(list(_bent(timeline))),
        repeated_licks=_share(list(_repeated_licks(timeline))),
        other_places=_share([_lies_lower(timeline, each) for each in timeline.soundings if each.carries]),
        ringing_slides=_share(
            [_slides_to_open(timeline, each.pluck) for each in timeline.soundings if each.pluck.technique != "pick"]
        ),
        alternating=Share(names.count("alternating thumb"), len(names)),
        forward=Share(names.count("forward"), len(names)),
        backward=Share(names.count("backward"), len(names)),
        forward_reverse=Share(names.count("forward-reverse"), len(names)),
    )


def finger_row(measure: ArrangedMeasure, slot: Fraction) -> str:
    """The finger of each slot of a measure, ``-`` where nothing is picked and ``+`` for a pinch."""
    row = [HELD] * int(-(-measure.length // slot))
    for at, together in groupby((pluck for pluck in measure.plucks if pluck.finger), key=lambda pluck: pluck.at):
        fingers = "".join(pluck.finger or "" for pluck in together)
        row[int(at // slot)] = fingers if len(fingers) == 1 else _MANY
    return "".join(row)


def _share(found: list[bool]) -> Share:
    return Share(sum(found), len(found))


def _filled(measure: ArrangedMeasure, slot: Fraction) -> bool:
    return len({pluck.at // slot for pluck in measure.plucks}) * slot >= measure.length


def _rolled(measure: ArrangedMeasure, slot: Fraction) -> bool:
    held = measure.length / slot - len({pluck.at // slot for pluck in measure.plucks})
    return held <= 1 and named_roll(finger_row(measure, slot)) is not None


def _even(measure: ArrangedMeasure) -> bool:
    return [note.at for note in measure.melody] == [k * measure.length / _EVEN for k in range(_EVEN)]


def _chordal(timeline: Timeline, sounding: Sounding) -> bool:
    pluck = sounding.pluck
    if pluck.string == 5 and pluck.fret == 0:
        return True
    chord = timeline.chord_at(sounding.when)
    return chord is not None and (pluck.pitch - timeline.arrangement.capo) % 12 in chord.pitch_classes


def _kept_but_repeats(melody: list[Sung]) -> Iterator[bool]:
    before: Sung | None = None
    for sung in melody:
        within = before is not None and before.measure.number == sung.measure.number
        if not (within and before is not None and before.note.pitch == sung.note.pitch):
            yield sung.note.kept
        before = sung


def _licked_gaps(timeline: Timeline) -> Iterator[bool]:
    end = sum((measure.length for measure in timeline.arrangement.measures), Fraction(0))
    licks = sorted(each.when for each in timeline.soundings if each.pluck.role == "lick")
    scale = timeline.arrangement.source_scale
    onsets = [(each.when, two_beats(each.measure, each.slot, scale)) for each in timeline.melody]
    for (since, enough), (until, _) in pairwise([*onsets, (end, end)]):
        if until - since >= enough:
            index = bisect_left(licks, since)
            yield index < len(licks) and licks[index] < until


def _bent(timeline: Timeline) -> Iterator[bool]:
    """For each melody note that is slurred into, whether it is long, on a beat, or a repeat of the one before."""
    slurred = {each.pluck.id for each in timeline.soundings if each.pluck.technique != "pick"}
    before: Sung | None = None
    for sung in timeline.melody:
        note, beat = sung.note, 2 * sung.slot
        if note.pluck in slurred:
            repeated = before is not None and before.note.pitch == note.pitch
            yield note.length >= beat or note.at % beat == 0 or repeated
        before = sung


def _repeated_licks(timeline: Timeline) -> Iterator[bool]:
    before: Sequence[tuple[object, ...]] = []
    for is_lick, group in groupby(timeline.soundings, key=lambda each: each.pluck.role == "lick"):
        if is_lick:
            licks = list(group)
            start = licks[0].when
            said = [
                ((each.when - start) / each.slot, each.pluck.string, each.pluck.fret, each.pluck.technique)
                for each in licks
            ]
            if licks[0].measure.same_as is None:
                yield said == before
            before = said


def _lies_lower(timeline: Timeline, sounding: Sounding) -> bool:
    pluck, arrangement = sounding.pluck, timeline.arrangement
    pitch = pluck.pitch - arrangement.capo
    return any(0 <= pitch - arrangement.tuning.open_pitch(string) < pluck.fret for string in LONG_STRINGS)


def _slides_to_open(timeline: Timeline, pluck: Pluck) -> bool:
    """Whether a slide lands on the pitch of the next higher string, open."""
    tuning = timeline.arrangement.tuning
    if pluck.technique != "slide" or pluck.string - 1 not in LONG_STRINGS:
        return False
    return tuning.open_pitch(pluck.string) + pluck.fret == tuning.open_pitch(pluck.string - 1)
