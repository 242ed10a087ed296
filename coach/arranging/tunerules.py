"""Hard rules of the tune: the melody is there and nothing covers it. Checks yield (measure, pluck id or None, what)."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from coach.arranging.timeline import Sounding, Sung, Timeline, two_beats

__all__ = [
    "MOST_BEGINNER_PINCHES",
    "MOST_EMBELLISHMENTS",
    "beginner_fills_wait",
    "beginner_pinches_are_few",
    "drone_is_left_out",
    "embellishments_are_few",
    "licks_leave_the_tune_alone",
    "melody_is_carried",
    "melody_is_not_covered",
    "phrases_keep_their_start",
    "thinning_spares_the_weighty",
]

Fault = tuple[int, str | None, str]

MOST_BEGINNER_PINCHES = 2
MOST_EMBELLISHMENTS = 3
_EVEN = 4  # so many even melody notes, all struck, turn wooden in a roll
# Semitones from the pitch of the drone up to the roots over which it is left out: B and E, with their major third.
_CLASHING_ROOTS = (4, 9)
_MAJOR_THIRD = 4


def melody_is_carried(timeline: Timeline) -> Iterator[Fault]:
    """A kept melody note names a pluck of its pitch, at its place or at most a slot away, and no other note does.

    A note that is slurred into is at its place when its pick is. Where the place differs, ``moved`` says so.
    """
    by_id = {sounding.pluck.id: sounding for sounding in timeline.soundings}
    picks = _picks(timeline)
    uses = Counter(sung.note.pluck for sung in timeline.melody if sung.note.pluck)
    for sung in timeline.melody:
        note, number = sung.note, sung.measure.number
        if note.kept != (note.pluck is not None):
            yield (
                number,
                note.pluck,
                f"the melody note on {sung.counted} is kept without a pluck, or the reverse",
            )
            continue
        if note.pluck is None:
            continue
        carrier = by_id.get(note.pluck)
        if carrier is None or carrier.pluck.pitch != note.pitch:
            yield number, note.pluck, f"nothing sounds the melody note on {sung.counted}"
            continue
        if uses[note.pluck] > 1:
            yield number, note.pluck, f"one pluck, on {carrier.counted}, is said to carry more than one melody note"
        at_its_place = sung.when in {carrier.when, picks[note.pluck]}
        told = note.moved is None or note.moved in {
            place - timeline.starts[number] for place in (carrier.when, picks[note.pluck])
        }
        if not at_its_place and note.moved is None:
            yield (
                number,
                note.pluck,
                f"the melody note on {sung.counted} is shifted untold, to {carrier.counted}",
            )
        elif not told or min(abs(place - sung.when) for place in (carrier.when, picks[note.pluck])) > sung.slot:
            yield number, note.pluck, f"the melody note on {sung.counted} is shifted too far, to {carrier.counted}"


def melody_is_not_covered(timeline: Timeline) -> Iterator[Fault]:
    """Where a kept melody note is picked, all else that is picked is part of a pinch."""
    for moment in timeline.moments():
        if any(each.melodic for each in moment.soundings):
            for each in moment.soundings:
                if not each.melodic and each.pluck.role != "pinch":
                    what = f"the {each.pluck.role} on {each.counted} covers the melody"
                    yield each.measure.number, each.pluck.id, what


def licks_leave_the_tune_alone(timeline: Timeline) -> Iterator[Fault]:
    """No note of a lick sounds where a melody note begins, kept or not, unless it carries that note."""
    onsets = {sung.when for sung in timeline.melody}
    for sounding in timeline.soundings:
        if sounding.pluck.role == "lick" and sounding.when in onsets and not sounding.carries:
            what = f"the lick covers a note of the tune, on {sounding.counted}"
            yield sounding.measure.number, sounding.pluck.id, what


def beginner_pinches_are_few(timeline: Timeline) -> Iterator[Fault]:
    """At most two pinches in a measure of the beginner's."""
    pinches = Counter(
        moment.soundings[0].measure.number
        for moment in timeline.moments()
        if len(moment.soundings) > 1 and moment.soundings[0].measure.tier == "beginner"
    )
    for number, count in sorted(pinches.items()):
        if count > MOST_BEGINNER_PINCHES:
            yield number, None, f"{count} pinches are too many for a beginner"


def beginner_fills_wait(timeline: Timeline) -> Iterator[Fault]:
    """A beginner's fill notes stand where the melody holds or rests for two beats or more, not on its notes."""
    onsets = sorted({sung.when for sung in timeline.melody})
    end = sum((measure.length for measure in timeline.arrangement.measures), Fraction(0))
    for sounding in timeline.soundings:
        if sounding.measure.tier != "beginner" or sounding.melodic or sounding.pluck.role == "pinch" or not onsets:
            continue
        index = bisect_right(onsets, sounding.when)
        since = onsets[index - 1] if index else Fraction(0)
        until = onsets[index] if index < len(onsets) else end
        if until - since < two_beats(sounding.measure, sounding.slot, timeline.arrangement.source_scale):
            what = f"the {sounding.pluck.role} on {sounding.counted} is too busy for a beginner"
            yield sounding.measure.number, sounding.pluck.id, what


def phrases_keep_their_start(timeline: Timeline) -> Iterator[Fault]:
    """The first note of a phrase sounds."""
    for sung in timeline.melody:
        if sung.note.phrase_start and not sung.note.kept:
            yield sung.measure.number, None, f"the phrase that begins on {sung.counted} has lost its first note"


def thinning_spares_the_weighty(timeline: Timeline) -> Iterator[Fault]:
    """Of four even melody notes of a full measure a roll leaves none out that has weight.

    Weight has what falls on a strong beat (the first and the third of the four), what begins or ends a phrase, and its
    highest note; of several highest ones the first.
    """
    for phrase in _phrases(timeline):
        highest = max(range(len(phrase)), key=lambda k: (phrase[k].note.pitch, -k))
        for k, sung in enumerate(phrase):
            measure, note = sung.measure, sung.note
            quarter = measure.length / _EVEN
            full = measure.length == measure.meter.length
            even = full and [each.at for each in measure.melody] == [count * quarter for count in range(_EVEN)]
            weighty = k in {0, highest, len(phrase) - 1} or note.at % (2 * quarter) == 0
            if even and weighty and not note.kept and measure.tier != "beginner":
                yield measure.number, None, f"the melody note on {sung.counted} is too weighty to be left out"


def drone_is_left_out(timeline: Timeline) -> Iterator[Fault]:
    """The drone does not sound over E, E7, B and B7 in the key of G, nor over their like above another drone.

    A melody note may lie on the fifth string, and a lick is a phrase of its own.
    """
    drone = timeline.arrangement.tuning.open_pitch(5)
    for sounding in timeline.soundings:
        pluck = sounding.pluck
        chord = timeline.chord_at(sounding.when)
        if pluck.string != 5 or pluck.fret or sounding.melodic or pluck.role == "lick" or chord is None:
            continue
        major = (chord.root_pc + _MAJOR_THIRD) % 12 in chord.pitch_classes
        if major and (chord.root_pc - drone) % 12 in _CLASHING_ROOTS:
            yield sounding.measure.number, pluck.id, f"the drone sounds over {chord.symbol}, on {sounding.counted}"


def embellishments_are_few(timeline: Timeline) -> Iterator[Fault]:
    """At most three slurs in a measure; one that is longer than its metre says may have as many more."""
    for measure in timeline.arrangement.measures:
        count = sum(pluck.technique != "pick" for pluck in measure.plucks)
        if count > MOST_EMBELLISHMENTS * max(1, -(-measure.length // measure.meter.length)):
            yield measure.number, None, f"{count} slurs are too many for a measure"


def _phrases(timeline: Timeline) -> Iterator[list[Sung]]:
    phrase: list[Sung] = []
    for sung in timeline.melody:
        if sung.note.phrase_start and phrase:
            yield phrase
            phrase = []
        phrase.append(sung)
    if phrase:
        yield phrase


def _picks(timeline: Timeline) -> dict[str, Fraction]:
    """Where the pick lies that begins each pluck: its own position, or that of the note it is slurred from."""
    last: dict[int, Sounding] = {}
    picks: dict[str, Fraction] = {}
    for sounding in timeline.soundings:
        before = last.get(sounding.pluck.string)
        picks[sounding.pluck.id] = sounding.when if sounding.picked or before is None else picks[before.pluck.id]
        last[sounding.pluck.string] = sounding
    return picks
