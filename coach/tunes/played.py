"""Writing a tune out as it is played: repeats and endings unrolled, split measures joined.

References:
    Repeats: the ABC music standard 2.1, December 2011, sections 4.8 and 4.9 (from memory), which is common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.errors import TuneError
from coach.tunes.chords import Chord
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Note, Tune

__all__ = ["MOST_PLAYED", "PlayedMeasure", "written_out"]

MOST_PLAYED = 1000


@dataclass(frozen=True, slots=True)
class PlayedMeasure:
    """A measure as it is played.

    Attributes:
        number: 0 for a pickup, then counted on through repeats.
        source_measure: the number of the measure on paper; of one joined from several, the longest one's.
        measure: what is played, with this number and without the signs of repeats and endings. After a jump it says
            the chord and the key that hold there.
        same_as: the number of the earliest played measure that comes from the same place on paper, else None.
    """

    number: int
    source_measure: int
    measure: Measure
    same_as: int | None = None


@dataclass(frozen=True, slots=True)
class _Step:
    """A measure on paper, by its index, at one of its times.

    ``time`` counts the times through its passage from 1; ``end`` is where it is cut short to make room for a pickup,
    else None; ``jumped`` tells that it does not follow the step before it on paper.
    """

    index: int
    time: int = 1
    end: Fraction | None = None
    jumped: bool = False


@dataclass(frozen=True, slots=True)
class _Piece:
    """What is played in one measure, and the steps that it comes from."""

    steps: tuple[_Step, ...]
    measure: Measure


def written_out(tune: Tune) -> tuple[PlayedMeasure, ...]:
    """Write a tune out.

    ``:|`` without a ``|:`` goes back to the latest double bar or end of a repeat, else to the start. Short measures
    that follow one another and fill one together are joined. The second time through a passage has the words of the
    second verse, and so on; a note without such a verse keeps the first one's. When a repeat from the top follows a
    full measure, the pickup is played in the time of the note or rest that is held before it, and is left out where
    there is none.

    Raises:
        TuneError: when more than 1000 measures would be played.
    """
    measures = tune.measures
    steps = _steps(measures, _order(measures))
    joined = _join([*map(_Piece, ((step,) for step in steps), _contents(measures, steps, tune.key))])
    played: list[PlayedMeasure] = []
    first_seen: dict[tuple[tuple[int, Fraction | None], ...], int] = {}
    start = 0 if joined and joined[0].measure.number == 0 and len(joined[0].steps) == 1 else 1
    for number, piece in enumerate(joined, start=start):
        longest = max(piece.steps, key=lambda step: measures[step.index].length)
        same_as = first_seen.setdefault(tuple((step.index, step.end) for step in piece.steps), number)
        played.append(
            PlayedMeasure(
                number,
                measures[longest.index].number,
                replace(piece.measure, number=number, repeat_start=False, repeat_end=1, endings=()),
                None if same_as == number else same_as,
            )
        )
    return tuple(played)


def _order(measures: Sequence[Measure]) -> list[tuple[int, int]]:
    """The measures on paper, by their index, in the order in which they are played, each with its time through."""
    endings = _endings(measures)
    back, times_through = _jumps(measures, endings)
    order: list[tuple[int, int]] = []
    index, time = 0, 1
    while index < len(measures):
        leaves_endings = bool(endings[index]) and not endings[index + 1]
        if endings[index] and time not in endings[index]:
            time = 1 if leaves_endings else time
            index += 1
            continue
        order.append((index, time))
        if len(order) > MOST_PLAYED:
            raise TuneError(
                f"with its repeats the tune has more than {MOST_PLAYED} measures", where="repeats", cure="take some out"
            )
        if index in back and time < times_through[index]:
            time += 1
            index = back[index]
            continue
        if leaves_endings or (index in back and not endings[index]):
            time = 1
        index += 1
    return order


def _endings(measures: Sequence[Measure]) -> list[tuple[int, ...]]:
    """The times of each measure, and a last empty entry; endings among which there is no first one do not count."""
    endings = [measure.endings for measure in measures]
    start = 0
    for index in range(len(endings) + 1):
        if index == len(endings) or not endings[index]:
            if not any(1 in times for times in endings[start:index]):
                endings[start:index] = [()] * (index - start)
            start = index + 1
    return [*endings, ()]


def _jumps(measures: Sequence[Measure], endings: Sequence[tuple[int, ...]]) -> tuple[dict[int, int], dict[int, int]]:
    """For each measure that ends a repeat: where it goes back to, and how often the passage is played in all.

    An ending followed by another goes back even where its sign is missing.
    """
    back: dict[int, int] = {}
    times_through: dict[int, int] = {}
    start, signed = 0, False
    group: list[int] = []
    for index, measure in enumerate(measures):
        if measure.repeat_start:
            start, signed = index, True
        followed = bool(endings[index]) and bool(endings[index + 1])
        if measure.repeat_end > 1 or (followed and endings[index] != endings[index + 1]):
            back[index] = start
            times_through[index] = measure.repeat_end
        if endings[index]:
            group.append(index)
        if followed:
            continue
        for place in group:
            if place in back:
                times_through[place] = max(time for member in group for time in endings[member])
        if group or measure.repeat_end > 1 or (measure.double_bar and not signed):
            start, signed = index + 1, False
        group = []
    return back, times_through


def _steps(measures: Sequence[Measure], order: Sequence[tuple[int, int]]) -> list[_Step]:
    """The order of playing, with room made for a pickup that comes again behind a full measure."""
    steps: list[_Step] = []
    for index, time in order:
        measure = measures[index]
        jumped = bool(steps) and steps[-1].index != index - 1
        last = measures[steps[-1].index] if steps else measure
        # What lies further on is no pickup: a short second ending leaves the pickup of the next part its room.
        back = jumped and index <= steps[-1].index
        if back and measure.length < measure.meter.length <= last.length:
            room = last.length - measure.length
            if any(note.at >= room for note in last.notes):
                continue
            steps[-1] = replace(steps[-1], end=room)
        steps.append(_Step(index, time, jumped=jumped))
    return steps


def _contents(measures: Sequence[Measure], steps: Sequence[_Step], key: Key) -> list[Measure]:
    """What is played at each step: cut short where it must be, with chord and key said again after a jump."""
    chords, keys = _in_force(measures, key)
    contents: list[Measure] = []
    for place, step in enumerate(steps):
        measure = _sung(measures[step.index], step.time)
        if step.end is not None:
            end = step.end
            measure = replace(
                measure,
                length=end,
                notes=tuple(note for note in measure.notes if note.at < end),
                chords=tuple(change for change in measure.chords if change.at < end),
            )
        chord = chords[step.index]
        if step.jumped:
            if chord is not None and not (measure.chords and measure.chords[0].at == 0):
                measure = replace(measure, chords=(ChordChange(Fraction(0), chord), *measure.chords))
            changed = keys[step.index] != keys[steps[place - 1].index]
            measure = replace(measure, key=keys[step.index] if changed else None)
        contents.append(measure)
    return _cut_at_jumps(contents, steps)


def _sung(measure: Measure, time: int) -> Measure:
    """A measure with the words of a time through: those of the verse with its number, where a note has one.

    An ending that is not for the first time may well have its only words in the first verse.
    """
    if time == 1 or not any(note.verses[time - 2 :] for note in measure.notes):
        return measure
    first_words = bool(measure.endings) and 1 not in measure.endings

    def word(note: Note) -> str | None:
        if len(note.verses) < time - 1:
            return note.lyric
        return note.verses[time - 2] or (note.lyric if first_words else None)

    return replace(measure, notes=tuple(replace(note, lyric=word(note)) for note in measure.notes))


def _cut_at_jumps(contents: Sequence[Measure], steps: Sequence[_Step]) -> list[Measure]:
    """End every note at the next jump at the latest: what it is tied to on paper does not follow."""
    cut: list[Measure] = []
    room: Fraction | None = None  # from the end of the measure in hand to the next jump
    for measure, after in zip(reversed(contents), (None, *reversed(steps[1:])), strict=True):
        if after is not None and after.jumped:
            room = Fraction(0)
        if room is not None:
            room += measure.length
            notes = tuple(replace(note, length=min(note.length, room - note.at)) for note in measure.notes)
            measure = replace(measure, notes=notes)
        cut.append(measure)
    return cut[::-1]


def _in_force(measures: Sequence[Measure], key: Key) -> tuple[list[Chord | None], list[Key]]:
    """For each measure on paper the chord that holds as it begins, and its key."""
    chords: list[Chord | None] = []
    keys: list[Key] = []
    chord: Chord | None = None
    for measure in measures:
        key = measure.key or key
        keys.append(key)
        chords.append(chord)
        if measure.chords:
            chord = measure.chords[-1].chord
    return chords, keys


def _join(pieces: Sequence[_Piece]) -> list[_Piece]:
    """Join short measures that follow one another and fill one together; a pickup at the start stays alone."""
    joined: list[_Piece] = []
    index = 0
    while index < len(pieces):
        piece = pieces[index]
        index += 1
        run = _run(pieces, index - 1) if joined or piece.measure.number != 0 else 1
        for following in pieces[index : index + run - 1]:
            piece = _together(piece, following)
        index += run - 1
        joined.append(piece)
    return joined


def _run(pieces: Sequence[_Piece], start: int) -> int:
    """How many pieces from here on make one full measure; 1 where none do."""
    meter = pieces[start].measure.meter
    length = Fraction(0)
    for index in range(start, len(pieces)):
        measure = pieces[index].measure
        length += measure.length
        if measure.meter != meter or measure.length >= meter.length or length > meter.length:
            break
        if length == meter.length:
            return index - start + 1
    return 1


def _together(first: _Piece, second: _Piece) -> _Piece:
    shift = first.measure.length
    notes: tuple[Note, ...] = tuple(replace(note, at=note.at + shift) for note in second.measure.notes)
    chords = tuple(replace(change, at=change.at + shift) for change in second.measure.chords)
    measure = replace(
        second.measure,
        length=shift + second.measure.length,
        notes=first.measure.notes + notes,
        chords=first.measure.chords + chords,
        key=first.measure.key or second.measure.key,
    )
    return _Piece(first.steps + second.steps, measure)
