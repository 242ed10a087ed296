"""A pass without a click: the coach follows the player, and judges notes but not time against a click.

What is judged
    The notes are aligned with the plucks (:mod:`~coach.listening.alignment`). Each place is judged where it was
    played last: a measure that was begun again counts as it came out in the end, and what was played there before is
    named as ``played twice`` and is no extra. Places after the last one reached are not expected, and a pass begins
    with the first measure that was played; where much was heard before that, what is before it was missed.
Own time
    In each measure a least-squares line through its onsets (with the first onset after it) tells the player's tempo
    there; a stop parts the line. The offset of a note is that from this line. It tells how even a measure was
    (``spread_ms``), never a verdict: in slow learning there is no early and no late, so what was played is
    ``on time``, and a clean measure has no rule of time.
How
    The notes are put where they would lie if the player had kept one tempo, each with its offset from the line, and
    are then heard by the listener of a pass with a click: conditioning, pairing, slurs and scores are the same.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import Literal

from coach.listening.alignment import Alignment, align
from coach.listening.heard import HeardNote, Latency, Sound
from coach.listening.listener import Listener
from coach.listening.own_time import OwnTime, last_stretches, own_time
from coach.listening.path import Onset, Sounded
from coach.listening.places import MICROSECONDS, Expected, Places, places_of
from coach.listening.plan import PassPlan, Settings
from coach.listening.scores import PassResult, pass_is_clean, score_measure
from coach.listening.verdicts import NoteVerdict

__all__ = ["CLOSE", "Detour", "DetourKind", "FreePass", "doubted", "hear_freely", "less_latency", "onsets_of"]

CLOSE = 0.04  # seconds within which a softer double or octave is doubted
OCTAVE = 12
BEFORE_START = 0.3  # seconds before the first onset that belong to the pass, as with a click
MOST_SIDE = 300_000  # microseconds: no window is wider
FEW = 4  # a pass that begins later has been left out where less than one note for so many places was heard before
SIDE = 0.45  # of the gap to the neighbour: the farthest that a note is put from its place
SLOWEST, FASTEST = 10.0, 400.0  # quarters a minute

# Kinds of passages that the listener tells without a click: how the notes were ordered, not when they came.
OF_MANNER = ("other order", "plain melody")

DetourKind = Literal["stopped", "played twice", "jumped", "left out"]


@dataclass(frozen=True, slots=True)
class Detour:
    """Where the player did not simply go on.

    Attributes:
        first, last: the first and the last pluck that it is about; of a stop those around it.
        kind: as in a report.
        slots: how far ahead (negative: back) a jump went, in slots of the solo; None for the others.
    """

    first: Expected
    last: Expected
    kind: DetourKind
    slots: int | None = None


@dataclass(frozen=True, slots=True)
class FreePass:
    """All that came of a pass in free time.

    Attributes:
        result: verdicts and scores; offsets are from the player's own line, and its plan has the player's tempo.
        tempos: for each measure of the result the player's tempo in quarters a minute; None where too little tells it.
        detours: by time.
    """

    result: PassResult
    tempos: tuple[float | None, ...]
    detours: tuple[Detour, ...]

    @property
    def tempo(self) -> float | None:
        """The player's tempo, the median over measures; None where too little tells it."""
        return self.result.plan.tempo if any(self.tempos) else None


def onsets_of(places: Places) -> tuple[Onset, ...]:
    """What is written in a pass: an onset for each place."""
    onsets = []
    measure: int | None = None
    for place, at in zip(places.places, _positions(places), strict=True):
        first = place.plucks[0]
        onsets.append(
            Onset(
                at,
                tuple(pluck.pitch for pluck in place.plucks),
                optional=not any(pluck.picked for pluck in place.plucks),
                entry=first.measure != measure,
            )
        )
        measure = first.measure
    return tuple(onsets)


def hear_freely(plan: PassPlan, sounds: Iterable[Sound], settings: Settings | None = None) -> FreePass:
    """Judge a pass in free time.

    Args:
        plan: the pass; of its tempo nothing is asked.
        sounds: the notes and bends of the pass.
        settings: of the instrument; the tolerance of time is not used.
    """
    settings = settings or Settings()
    given = list(sounds)
    heard = sorted(
        (less_latency(sound, settings.latency) for sound in given), key=lambda sound: (sound.seconds, sound.seq)
    )
    notes = [sound for sound in heard if isinstance(sound, HeardNote)]
    places = places_of(replace(plan, tempo=60.0, origin=0.0))
    onsets = onsets_of(places)
    sounded = doubted(notes)
    aligned = align(onsets, sounded, 60.0 / plan.tempo)
    chosen = last_stretches(aligned)
    if not chosen:
        return _nothing_heard(plan)
    start = places.places[min(chosen)].plucks[0].measure
    if start != plan.measures[0].number and FEW * aligned.steps[0].note <= min(chosen):
        # Begun later than asked: the same again with the measures that were played.
        return hear_freely(replace(plan, first=start), given, settings)
    measures = [place.plucks[0].measure for place in places.places]
    own = own_time(onsets, measures, sounded, aligned)
    tempos = [own.tempos.get(span.measure.number) for span in places.spans]
    known = [tempo for tempo in tempos if tempo is not None]
    tempo = min(FASTEST, max(SLOWEST, round(median(known), 3))) if known else plan.tempo
    steady = replace(plan, tempo=tempo, origin=0.0, lean_ms=0.0, opens=None, closes=None)
    listener = Listener(steady, Settings())
    originals = {sound.seq: sound.seconds for sound in given}
    in_time = _InTime(onsets, listener.places, notes, aligned, own)
    for sound in heard:
        moved = in_time.seconds(sound)
        if moved is not None:
            listener.take(replace(sound, seconds=moved))
    last = listener.places.places[max(chosen)]
    listener.finish(None if last is listener.places.places[-1] else last.time / MICROSECONDS)
    assert listener.result is not None
    result = _untimed(listener.result, originals)
    told = {score.number for score in result.measures}
    detours = tuple(_detours(places, onsets, notes, aligned, own))
    kept_going = result.kept_going and all(detour.kind != "stopped" for detour in detours)
    return FreePass(
        replace(result, plan=replace(plan, tempo=tempo, lean_ms=0.0), kept_going=kept_going),
        tuple(tempo for span, tempo in zip(places.spans, tempos, strict=True) if span.measure.number in told),
        detours,
    )


def doubted(notes: Sequence[HeardNote]) -> list[Sounded]:
    """The notes for the alignment, with a doubt on those that are softer beside a note of their pitch, or an octave
    below, on the same string: they may well be no notes of the player's."""
    sounded = []
    since = until = 0
    for i, note in enumerate(notes):
        while notes[since].seconds < note.seconds - CLOSE:
            since += 1
        while until < len(notes) and notes[until].seconds <= note.seconds + CLOSE:
            until += 1
        doubtful = any(k != i and _outshines(notes[k], note, earlier=k < i) for k in range(since, until))
        sounded.append(Sounded(note.seconds, note.pitch, doubtful))
    return sounded


def _outshines(other: HeardNote, note: HeardNote, *, earlier: bool) -> bool:
    if None not in (other.string, note.string) and other.string != note.string:
        return False
    if note.pitch == other.pitch + OCTAVE:
        return other.velocity > note.velocity
    return note.pitch == other.pitch and (
        other.velocity > note.velocity or (other.velocity == note.velocity and earlier)
    )


def less_latency(sound: Sound, latency: Latency) -> Sound:
    """A sound with the stamp that it would have from an instrument that is heard at once."""
    ms = latency.of_sound(sound)
    return replace(sound, seconds=sound.seconds - ms / 1000) if ms else sound


def _positions(places: Places) -> list[float]:
    """Where each place is written, in quarters from the start of the pass."""
    return sorted({float(span.at + pluck.at) for span in places.spans for pluck in span.measure.plucks})


def _nothing_heard(plan: PassPlan) -> FreePass:
    listener = Listener(replace(plan, origin=0.0, opens=None, closes=None))
    listener.finish()
    assert listener.result is not None
    return FreePass(replace(listener.result, plan=plan), tuple(None for _ in listener.result.measures), ())


class _InTime:
    """Puts what was heard where it would lie if the player had kept one tempo.

    A note keeps its offset from the player's line, but is not put nearer to another place than to its own.
    """

    def __init__(
        self,
        onsets: Sequence[Onset],
        places: Places,
        notes: Sequence[HeardNote],
        aligned: Alignment,
        own: OwnTime,
    ) -> None:
        self._onsets = onsets
        self._places = places
        self._aligned = aligned
        self._own = own
        self._chosen = last_stretches(aligned)
        # Of the steps, by time: their seconds, place and stretch.
        self._steps = [
            (notes[step.note].seconds, step.onset, number)
            for number, stretch in enumerate(aligned.stretches)
            for step in stretch.steps
        ]
        self._by_seq = {
            notes[step.note].seq: (step.onset, number)
            for number, stretch in enumerate(aligned.stretches)
            for step in stretch.steps
        }

    def seconds(self, sound: Sound) -> float | None:
        """The new stamp of a sound; None where it is no part of what is judged."""
        known = self._by_seq.get(sound.seq) if isinstance(sound, HeardNote) else None
        place, stretch = known or self._nearest(sound.seconds)
        if self._chosen.get(place) != stretch:
            return None
        at = self._places.times[place] / MICROSECONDS
        early, late = self._sides(place)
        return at + max(-early, min(late, sound.seconds - self._own.line[place]))

    def _nearest(self, seconds: float) -> tuple[int, int]:
        """The place that the player was nearest to at a time, and the stretch; (-1, -1) before and after the pass."""
        index = bisect_left(self._steps, seconds, key=_when)
        if index == 0:
            first, place, stretch = self._steps[0]
            return (place, stretch) if seconds >= first - BEFORE_START else (-1, -1)
        before, a, stretch = self._steps[index - 1]
        if index == len(self._steps):
            over = before + self._aligned.quarters[-1]
            return (a, stretch) if seconds <= over else (-1, -1)
        after, b, following = self._steps[index]
        if following != stretch or b == a:
            return a, stretch
        share = (seconds - before) / (after - before) if after > before else 0.0
        at = self._onsets[a].at + share * (self._onsets[b].at - self._onsets[a].at)
        return min(range(a, b + 1), key=lambda place: abs(self._onsets[place].at - at)), stretch

    def _sides(self, place: int) -> tuple[float, float]:
        """How far before and after its place, in seconds, a note may be put."""
        times = self._places.times
        early = times[place] - times[place - 1] if place else 2 * MOST_SIDE
        late = times[place + 1] - times[place] if place + 1 < len(times) else 2 * MOST_SIDE
        return SIDE * min(early, 2 * MOST_SIDE) / MICROSECONDS, SIDE * min(late, 2 * MOST_SIDE) / MICROSECONDS


def _when(step: tuple[float, int, int]) -> float:
    return step[0]


def _untimed(result: PassResult, originals: dict[int, float]) -> PassResult:
    """A result without what only a click can tell, and with the stamps of dropped notes as they came."""
    notes = tuple(_without_time(note) for note in result.notes)
    measures = tuple(
        score_measure(
            score.number,
            score.pass_number,
            [note for note in notes if note.pluck.measure == score.number],
            [extra for extra in result.extras if extra.measure == score.number],
        )
        for score in result.measures
    )
    dropped = tuple(replace(each, seconds=originals[each.seq]) for each in result.dropped)
    clean = pass_is_clean(measures, whole=result.whole)
    passages = tuple(passage for passage in result.passages if passage.kind in OF_MANNER)
    return replace(result, notes=notes, measures=measures, dropped=dropped, clean=clean, passages=passages)


def _without_time(note: NoteVerdict) -> NoteVerdict:
    return replace(note, timing=None, verdict="on time" if note.verdict in ("early", "late") else note.verdict)


def _detours(
    places: Places, onsets: Sequence[Onset], notes: Sequence[HeardNote], aligned: Alignment, own: OwnTime
) -> list[Detour]:
    """Stops and jumps, by time."""
    chosen = last_stretches(aligned)
    slot = float(places.plan.arrangement.slot)
    found = [(own.heard[before], _detour(places, before, after, "stopped")) for before, after in own.stops]
    for one, two in pairwise(aligned.stretches):
        skipped = range(one.last + 1, two.first)
        when = notes[two.steps[0].note].seconds
        if two.first <= one.last:
            found.append((when, _detour(places, max(one.first, two.first), min(one.last, two.last), "played twice")))
        elif any(place in chosen for place in skipped):
            slots = round((onsets[two.first].at - onsets[one.last].at) / slot)
            found.append((when, _detour(places, two.first, two.last, "jumped", slots)))
        elif skipped:
            found.append((when, _detour(places, skipped[0], skipped[-1], "left out")))
    return [detour for _, detour in sorted(found, key=lambda entry: entry[0])]


def _detour(places: Places, first: int, last: int, kind: DetourKind, slots: int | None = None) -> Detour:
    return Detour(places.places[first].plucks[0], places.places[last].plucks[-1], kind, slots)
