"""Paper order: a solo written out, folded with repeat signs and first and second endings.

A passage is folded where its second time follows its first, and only where both look alike on paper: the same plucks,
chords and melody; words may differ and become a second line. Nothing is tied or slurred over the place of a sign, so
that every arc keeps both its ends. A repeat begins where the tune itself goes back, or, in a tune that was written out,
at the first of four measures, and then it spans whole groups of four. Of all ways to fold, the one with the fewest
measures on paper is taken, the earliest and longest repeat first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, MelodyNote

__all__ = ["PaperMeasure", "folded", "played_order", "written_out"]

_LEAST_BODY = 2  # measures that a repeat has before its endings
_LONGEST = 64  # measures from the first time of a passage to its second
_GROUP = 4  # measures of a phrase, common practice, no source


@dataclass(frozen=True, slots=True)
class PaperMeasure:
    """A measure on paper.

    Attributes:
        measure: what is written, from the first time that it is played.
        again: what is played when the passage comes again, where the paper does not write it anew; else None.
        repeat_start, repeat_end: whether a repeat sign stands before or after it.
        ending: the ending that it belongs to, else None.
        lower_words: whether its words go on in the second line: a second ending behind words of two times through.
    """

    measure: ArrangedMeasure
    again: ArrangedMeasure | None = None
    repeat_start: bool = False
    repeat_end: bool = False
    ending: Literal[1, 2] | None = None
    lower_words: bool = False

    @property
    def new_words(self) -> bool:
        """Whether the second time has words of its own."""
        if self.again is None:
            return False
        words = [note.lyric for note in self.again.melody]
        return any(words) and words != [note.lyric for note in self.measure.melody]


@dataclass(frozen=True, slots=True)
class _Fold:
    """A repeat: ``body`` measures, then endings of so many measures, 0 where there are none."""

    body: int
    first: int = 0
    second: int = 0

    @property
    def played(self) -> int:
        return 2 * self.body + self.first + self.second

    @property
    def written(self) -> int:
        return self.body + self.first + self.second


def written_out(arrangement: Arrangement) -> tuple[PaperMeasure, ...]:
    """The measures as they are played, none folded."""
    return tuple(PaperMeasure(measure) for measure in arrangement.measures)


def folded(arrangement: Arrangement, *others: Arrangement) -> tuple[PaperMeasure, ...]:
    """The measures in paper order.

    Args:
        arrangement: the solo.
        others: solos with the same measures that stand under it: they must look alike too.

    Returns:
        What :func:`played_order` unfolds to the measures of the arrangement, each once and in order.
    """
    measures = arrangement.measures
    paper: list[PaperMeasure] = []
    index = 0
    for fold in _chosen(arrangement, *others):
        if fold is None:
            paper.append(PaperMeasure(measures[index]))
            index += 1
        else:
            paper += _on_paper(measures[index : index + fold.played], fold)
            index += fold.played
    return tuple(paper)


def played_order(paper: Sequence[PaperMeasure]) -> Iterator[ArrangedMeasure]:
    """What a reader of the paper plays, by its signs alone."""
    start = 0
    again = False
    index = 0
    while index < len(paper):
        here = paper[index]
        if here.repeat_start:
            start = index
        if here.ending == 1 and again:
            index += 1
            continue
        yield here.again if again and here.again is not None else here.measure
        if here.repeat_end and not again:
            again = True
            index = start
            continue
        if (here.repeat_end and here.ending is None) or here.ending == 2:
            again = False
        index += 1


def _on_paper(measures: Sequence[ArrangedMeasure], fold: _Fold) -> list[PaperMeasure]:
    body, period = fold.body, fold.body + fold.first
    paper = [PaperMeasure(measures[index], measures[period + index]) for index in range(body)]
    paper += [PaperMeasure(measure, ending=1) for measure in measures[body:period]]
    lower = any(each.new_words for each in paper)
    paper += [PaperMeasure(measure, ending=2, lower_words=lower) for measure in measures[period + body :]]
    paper[0] = replace(paper[0], repeat_start=True)
    paper[period - 1] = replace(paper[period - 1], repeat_end=True)
    return paper


def _chosen(arrangement: Arrangement, *others: Arrangement) -> list[_Fold | None]:
    """The folds and single measures of the shortest paper, in order."""
    measures = arrangement.measures
    count = len(measures)
    length = [0] * (count + 1)
    choice: list[_Fold | None] = [None] * count
    staves = [each.measures for each in (arrangement, *others)]
    runs = _runs(list(zip(*map(_looks, staves), strict=True)))
    clean = [all(each) for each in zip(*map(_clean, staves), strict=True)]
    for index in reversed(range(count)):
        length[index] = 1 + length[index + 1]
        folds = list(_folds(measures, index, runs, clean))
        fold = min(folds, key=lambda fold: fold.written + length[index + fold.played], default=None)
        if fold and fold.written + length[index + fold.played] <= length[index]:
            length[index], choice[index] = fold.written + length[index + fold.played], fold
    path: list[_Fold | None] = []
    index = 0
    while index < count:
        taken = choice[index]
        path.append(taken)
        index += 1 if taken is None else taken.played
    return path


def _folds(
    measures: Sequence[ArrangedMeasure], start: int, runs: Sequence[Sequence[int]], clean: Sequence[bool]
) -> Iterator[_Fold]:
    """The repeats that may begin at a measure, those with the longest bodies first."""
    count = len(measures)
    if measures[start].number == 0 or not clean[start]:
        return
    found: list[_Fold] = []
    for period in range(min(_LONGEST, count - start - 1), _LEAST_BODY - 1, -1):
        again = start + period
        for body in range(min(runs[period][start], period), _LEAST_BODY - 1, -1):
            first = period - body
            if first > body or not _goes_back(measures, start, period, body):
                break
            if all(clean[place] for place in (start + body, again, again + body)):
                if first == 0:
                    found.append(_Fold(body))
                else:
                    found += [_Fold(body, first, second) for second in range(min(first, count - again - body), 0, -1)]
                break
    # A new metre in an ending would not be seen from the body.
    found = [fold for fold in found if len({measure.meter for measure in measures[start : start + fold.played]}) == 1]
    yield from sorted(found, key=lambda fold: (-fold.body, fold.first, -fold.second))


def _goes_back(measures: Sequence[ArrangedMeasure], start: int, period: int, body: int) -> bool:
    again = start + period
    sources = [measure.source_measure for measure in measures]
    if sources[again] <= sources[again - 1]:
        return sources[start : start + body] == sources[again : again + body]
    return period % _GROUP == 0 and (measures[start].number - 1) % _GROUP == 0


def _runs(looks: Sequence[object]) -> list[list[int]]:
    """For each period and measure: how many measures from there on look like those a period later."""
    count = len(looks)
    runs = [[0] * (count + 1)]
    for period in range(1, min(_LONGEST, count - 1) + 1):
        row = [0] * (count + 1)
        for index in reversed(range(count - period)):
            row[index] = row[index + 1] + 1 if looks[index] == looks[index + period] else 0
        runs.append(row)
    return runs


def _looks(measures: Sequence[ArrangedMeasure]) -> list[object]:
    """What a measure looks like on paper, words and numbers aside."""
    looks: list[object] = []
    meter, chord = measures[0].meter, None
    for measure in measures:
        looks.append(
            (
                (measure.meter, measure.meter != meter, measure.length, measure.slot, measure.tier),
                (chord if not measure.chords or measure.chords[0].at > 0 else None, measure.chords),
                tuple(_bare_note(note) for note in measure.melody),
                tuple(replace(pluck, id="") for pluck in measure.plucks),
            )
        )
        meter = measure.meter
        chord = measure.chords[-1].chord if measure.chords else chord
    return looks


def _bare_note(note: MelodyNote) -> MelodyNote:
    return replace(note, lyric=None, phrase_start=False, pluck=None)


def _clean(measures: Sequence[ArrangedMeasure]) -> list[bool]:
    """For each measure, and the end: whether nothing is tied or slurred into it."""
    clean = [True] * (len(measures) + 1)
    for index, measure in enumerate(measures):
        strings = set()
        for pluck in measure.plucks:
            if pluck.technique != "pick" and pluck.string not in strings:
                clean[index] = False
            strings.add(pluck.string)
        if any(note.at + note.length > measure.length for note in measure.melody[-1:]):
            clean[index + 1] = False
    return clean
