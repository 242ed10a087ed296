"""Ways in which a student may play what the virtual player would: early, late, lost, an eighth ahead, or on a pickup
that hears too much.

Each way takes the messages of a pass, with their seconds from its downbeat, and gives others. Sizes and rates are
numbers of our own (common practice, no source).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from fractions import Fraction

from coach.listening.plan import PassPlan
from coach.takes.player import Played

Way = Callable[[PassPlan, tuple[Played, ...]], list[Played]]

DRIFT = 0.075  # seconds by which who rushes is early at the end, and who drags late
GHOST, DOUBLE, BLEED, GLITCH = 0.15, 0.1, 0.05, 0.05  # shares of the notes that the pickup adds something to
OWN_TEMPOS = (1.0, 0.8, 1.15, 0.9)  # of the plan's tempo, measure by measure
THINKS = 2.5  # seconds
STRAY = 61  # C sharp, in no chord of the demo tunes in G


def steadily(plan: PassPlan, played: tuple[Played, ...]) -> list[Played]:
    """As the virtual player plays."""
    return list(played)


def rushing(plan: PassPlan, played: tuple[Played, ...]) -> list[Played]:
    """Ever earlier."""
    return _drifting(plan, played, -DRIFT)


def dragging(plan: PassPlan, played: tuple[Played, ...]) -> list[Played]:
    """Ever later."""
    return _drifting(plan, played, DRIFT)


def lost(first: int, last: int) -> Way:
    """Silent from the middle of a measure to the end of another, and back with the next."""

    def way(plan: PassPlan, played: tuple[Played, ...]) -> list[Played]:
        since, until = _middle(plan, first), _end(plan, last)
        return [each for each in played if not _begins_in(each, since, until)]

    return way


def a_slot_ahead(first: int, last: int) -> Way:
    """A slot is left out in the middle of a measure, and waited for at the end of another."""

    def way(plan: PassPlan, played: tuple[Played, ...]) -> list[Played]:
        slot = float(plan.arrangement.slot) * 60 / plan.tempo
        since, until = _middle(plan, first), _end(plan, last)
        moved = []
        for each in played:
            if _begins_in(each, since, since + slot):
                continue
            ahead = since + slot / 2 <= each.seconds < until - slot / 2
            moved.append(Played(each.seconds - slot, each.data) if ahead else each)
        return sorted(moved, key=lambda each: each.seconds)

    return way


def in_own_time(plan: PassPlan, played: tuple[Played, ...]) -> list[Played]:
    """Without a click: each measure at a tempo of its own, and one stop to think."""
    starts = [plan.tempo_map_from(0.0).seconds(start) for _, start in plan.starts]
    stop = starts[len(starts) // 2] - 0.05
    begun, at = [0.0], 0
    for number, start in enumerate(starts[1:], 1):
        begun.append(begun[-1] + (start - starts[number - 1]) / OWN_TEMPOS[(number - 1) % len(OWN_TEMPOS)])
    moved = []
    for each in played:
        while at + 1 < len(starts) and each.seconds >= starts[at + 1] - 0.05:
            at += 1
        seconds = begun[at] + (each.seconds - starts[at]) / OWN_TEMPOS[at % len(OWN_TEMPOS)]
        moved.append(Played(seconds + (THINKS if each.seconds >= stop else 0.0), each.data))
    return sorted(moved, key=lambda each: each.seconds)


def noisily(seed: int) -> Way:
    """On a pickup that adds octaves, doubles, neighbours' strings and clicks, and a clock that nobody asked for."""

    def way(plan: PassPlan, played: tuple[Played, ...]) -> list[Played]:
        rng = random.Random(f"{seed} {plan.number}")
        noisy = list(played)
        for each in played:
            if not _is_note_on(each):
                continue
            status, pitch, velocity = each.data
            string = (status & 0x0F) + 1
            neighbour = 0x90 | ((string - 2) if string > 1 else 1)
            quiet = max(1, velocity // 3)
            for share, added in (
                (GHOST, [(rng.uniform(0.004, 0.03), (status, pitch + 12, quiet))]),
                (DOUBLE, [(rng.uniform(0.008, 0.03), (status, pitch, quiet))]),
                (BLEED, [(rng.uniform(0.002, 0.02), (neighbour, pitch, quiet))]),
                (GLITCH, [(-0.01, (status, STRAY, velocity)), (-0.003, (status & 0x8F, STRAY, 0))]),
            ):
                if rng.random() < share:
                    noisy += [Played(each.seconds + after, bytes(data)) for after, data in added]
        pulse = plan.tempo_map.quarter / 24  # MIDI 1.0: 24 clock bytes a quarter
        noisy += [Played(count * pulse, b"\xf8") for count in range(int(_length(plan) / pulse))]
        noisy += [Played(count * 0.3, b"\xfe") for count in range(int(_length(plan) / 0.3))]
        return sorted(noisy, key=lambda each: each.seconds)

    return way


def _drifting(plan: PassPlan, played: Iterable[Played], by: float) -> list[Played]:
    length = _length(plan)
    return [Played(each.seconds + by * max(0.0, min(1.0, each.seconds / length)), each.data) for each in played]


def _is_note_on(each: Played) -> bool:
    return each.data[0] & 0xF0 == 0x90 and each.data[2] > 0


def _begins_in(each: Played, since: float, until: float) -> bool:
    """Whether a message is no note's end and lies between two times, a little before them counted in."""
    slack = 0.05
    return each.data[0] & 0xF0 != 0x80 and since - slack <= each.seconds < until - slack


def _length(plan: PassPlan) -> float:
    return plan.tempo_map_from(0.0).seconds(plan.length)


def _middle(plan: PassPlan, number: int) -> float:
    measure, start = next((measure, start) for measure, start in plan.starts if measure.number == number)
    slots = measure.length / plan.arrangement.slot
    return plan.tempo_map_from(0.0).seconds(
        start + Fraction(slots.numerator // (2 * slots.denominator)) * plan.arrangement.slot
    )


def _end(plan: PassPlan, number: int) -> float:
    measure, start = next((measure, start) for measure, start in plan.starts if measure.number == number)
    return plan.tempo_map_from(0.0).seconds(start + measure.length)
