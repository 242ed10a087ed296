"""A simulated player who loses the place: plays a solo along a plan of shifts, with noise, and tells the truth of it.

The noise is independent from note to note (numbers of our own, common practice, no source): Gaussian jitter, missed
plucks, notes from nowhere, and one stumble over one or two notes. Which slot of the solo is played in which slot of
the click is told beforehand by a :class:`Lapse`; the truth is when each pluck was really meant.

This is the plain player of the tests of passages. :mod:`simulated_pass` has hands, an instrument and artefacts besides.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from coach.arranging.arrangement import Arrangement, Pluck
from coach.listening.heard import HeardNote
from coach.listening.plan import PassPlan

KINDS = ("ahead", "behind", "stopped", "jumped", "left out", "played twice", "other order", "plain melody")


@dataclass(frozen=True)
class Noise:
    """How a simulated player errs.

    Attributes:
        jitter: seconds, standard deviation.
        missed, extra: shares of the plucks.
        stumble: how many notes in a row are wrong, missed or hurried once in the pass, at most.
    """

    jitter: float = 0.015
    missed: float = 0.03
    extra: float = 0.03
    stumble: int = 2


@dataclass(frozen=True)
class Lapse:
    """Something that happens once in a pass.

    Attributes:
        kind: as in the report.
        begins, ends: the slots of the click from which it shows and before which it is over; None to the end.
        shift: how many slots ahead the player is in them.
        silent: for how many slots from ``begins`` on nothing is played.
    """

    kind: str
    begins: int
    ends: int | None
    shift: int = 0
    silent: int = 0


@dataclass
class Played:
    """A pass as it was played.

    Attributes:
        notes: what was heard.
        meant: by the id of a pluck the seconds at which it was meant; of what was played twice the first.
        missed: the ids of plucks that were not played.
    """

    notes: list[HeardNote] = field(default_factory=list)
    meant: dict[str, float] = field(default_factory=dict)
    missed: set[str] = field(default_factory=set)


def random_lapse(rng: random.Random, kind: str, solo: Arrangement) -> Lapse:
    """A lapse of a kind, somewhere in the solo."""
    slot = solo.slot
    starts = [int(start / slot) for start in solo.starts().values()]
    lengths = [int(measure.length / slot) for measure in solo.measures]
    beat = max(1, int(1 / slot))
    last = len(starts) - 1
    if kind in ("ahead", "behind"):
        measure = rng.randint(1, last - 4)
        begins = starts[measure] + rng.randrange(lengths[measure])
        ends = starts[measure + rng.randint(2, 4)] + rng.randrange(lengths[measure])
        return Lapse(kind, begins, ends, rng.choice([1, beat]) * (1 if kind == "ahead" else -1))
    if kind == "stopped":
        measure = rng.randint(1, last - 3)
        begins = starts[measure] + rng.randrange(lengths[measure])
        return Lapse(kind, begins, begins + rng.randint(lengths[measure], 2 * lengths[measure]))
    if kind in ("left out", "played twice"):
        measure = rng.randint(2, last - 3)
        shift = lengths[measure] if kind == "left out" else -lengths[measure - 1]
        return Lapse(kind, starts[measure], None, shift)
    if kind == "jumped":
        measure = rng.randint(2, last - 3)
        choices = [to for to in range(last - 2) if abs(to - measure) >= 2 and abs(starts[to] - starts[measure]) <= 128]
        return Lapse(kind, starts[measure], None, starts[rng.choice(choices)] - starts[measure])
    measure = rng.randint(1, last - 4)
    return Lapse(kind, starts[measure], starts[measure + rng.randint(2, 4)])


def random_restart(rng: random.Random, solo: Arrangement) -> Lapse:
    """The player stops somewhere in a measure, is silent for up to two measures, and begins again: with that measure,
    or with the one before, as many whole or half beats after the click as it happens to be.
    """
    slot = solo.slot
    starts = [int(start / slot) for start in solo.starts().values()]
    length = int(solo.measures[1].length / slot)
    measure = rng.randint(2, len(starts) - 5)
    begins = starts[measure] + rng.randrange(1, length)
    silent = rng.randint(2, 2 * length)
    again = starts[measure - rng.randint(0, 1)]
    return Lapse("restarted", begins, None, again - (begins + silent), silent)


def play(plan: PassPlan, rng: random.Random, lapse: Lapse | None, noise: Noise | None = None) -> Played:
    """Play a pass.

    Args:
        plan: what should be played.
        rng: of the noise.
        lapse: what happens once; None for nothing but noise.
        noise: how the player errs.
    """
    noise = noise or Noise()
    played = Played()
    strokes = list(strokes_due(plan, rng, lapse))
    stumbles: range = range(0)
    if noise.stumble and strokes:
        at = rng.randrange(len(strokes))
        stumbles = range(at, at + rng.randint(1, noise.stumble))
    sounds: list[tuple[float, int, int]] = []
    for number, (seconds, pluck) in enumerate(strokes):
        pitch = pluck.pitch
        played.meant.setdefault(pluck.id, seconds)
        if rng.random() < noise.missed or (number in stumbles and rng.random() < 0.4):
            played.missed.add(pluck.id)
            continue
        played.missed.discard(pluck.id)
        if number in stumbles:
            pitch += rng.choice([-2, 1, 2, 5])
            played.missed.add(pluck.id)
        sounds.append((seconds + rng.gauss(0, noise.jitter), pitch, pluck.string))
        if rng.random() < noise.extra:
            sounds.append((seconds + rng.uniform(0.02, 0.3), rng.choice([50, 55, 59, 62, 67]), rng.randint(1, 5)))
    played.notes = [
        HeardNote(seconds, pitch, 80, string, string, seq)
        for seq, (seconds, pitch, string) in enumerate(sorted(sounds))
    ]
    return played


def strokes_due(plan: PassPlan, rng: random.Random, lapse: Lapse | None) -> Iterator[tuple[float, Pluck]]:
    """All plucks that are meant, with their times, by the slots of the click: what is left out is not among them."""
    slot = plan.arrangement.slot
    written: dict[int, list[tuple[Fraction, Pluck, int, bool]]] = {}
    for measure, start in plan.starts:
        carriers = {note.pluck for note in measure.melody}
        for pluck in measure.plucks:
            at = start + pluck.at
            is_melody = pluck.role == "melody" or pluck.id in carriers
            written.setdefault(int(at / slot), []).append((at, pluck, measure.number, is_melody))
    count = int(plan.length / slot)
    orders: dict[int, dict[int, list[Pluck]]] = {}
    for click in range(count):
        inside = lapse is not None and lapse.begins <= click and (lapse.ends is None or click < lapse.ends)
        if inside and lapse is not None and (lapse.kind == "stopped" or click < lapse.begins + lapse.silent):
            continue
        shift = lapse.shift if inside and lapse is not None else 0
        for at, pluck, number, is_melody in written.get(click + shift, ()):
            if inside and lapse is not None and not is_melody and lapse.kind in ("plain melody", "other order"):
                if lapse.kind == "plain melody":
                    continue
                order = orders.setdefault(number, _another_order(written, number, rng))
                for other in order.get(click, ()):
                    yield plan.tempo_map.seconds(click * slot), other
                continue
            yield plan.tempo_map.seconds(at - shift * slot), pluck


def _another_order(
    written: dict[int, list[tuple[Fraction, Pluck, int, bool]]], number: int, rng: random.Random
) -> dict[int, list[Pluck]]:
    """The roll of a measure in another order: which plucks are played in which slot."""
    roll = [
        (slot, pluck)
        for slot, entries in written.items()
        for _, pluck, measure, is_melody in entries
        if measure == number and not is_melody
    ]
    slots, plucks = [slot for slot, _ in roll], [pluck for _, pluck in roll]
    mixed = list(plucks)
    for _ in range(20):
        rng.shuffle(mixed)
        if sum(a.pitch == b.pitch for a, b in zip(plucks, mixed, strict=True)) * 4 <= len(plucks):
            break
    order: dict[int, list[Pluck]] = {}
    for slot, pluck in zip(slots, mixed, strict=True):
        order.setdefault(slot, []).append(pluck)
    return order
