"""Whole takes by a second reading of the rules of hearing: every rule written out again, plain and slow, and the
pairs of each place by scipy's optimal assignment. The rules are those of the report's contract; nothing of the
listener is used but its answers.
"""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import pairwise

import numpy as np
from scipy.optimize import linear_sum_assignment

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.instrument.tuning import OPEN_G
from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.tunes.tune import Meter

Heard = tuple[int, int, int | None]  # microseconds, pitch, string


def random_solo(rng: random.Random) -> Arrangement:
    """Four measures of picked notes and pinches on slots at random; half of the places carry melody."""
    made = []
    for number in range(1, 5):
        plucks: list[Pluck] = []
        for slot in sorted(rng.sample(range(8), rng.randint(2, 8))):
            strings = sorted(rng.sample(range(1, 6), rng.choice([1, 1, 1, 2, 3])), reverse=True)
            melody = rng.choice([None, *strings])
            for string in strings:
                fret = 0 if string == 5 else rng.randint(0, 4)
                role = "melody" if string == melody else "pinch" if len(strings) > 1 else "fill"
                plucks.append(
                    Pluck(
                        f"m{number}e{len(plucks) + 1}",
                        Fraction(slot, 2),
                        Fraction(1, 2),
                        string,
                        fret,
                        OPEN_G.open_pitch(string) + fret,
                        "T",
                        role,
                    )
                )
        made.append(ArrangedMeasure(number, number, Meter(4, 4), Fraction(4), "intermediate", (), (), tuple(plucks)))
    head = ("study-00000000", "Study", "", "intermediate", "G major", None, 0, Meter(4, 4), Fraction(1, 2), 1, 50)
    return Arrangement(*head, OPEN_G, (), tuple(made))


def random_notes(rng: random.Random, solo: Arrangement, tempo: float) -> list[Heard]:
    starts, quarter, strings = solo.starts(), 60_000_000 / tempo, rng.random() < 0.7
    notes: list[tuple[float, int, int | None]] = []
    for measure, pluck in solo.plucks():
        if rng.random() < 0.15:
            continue
        seconds = float(starts[measure.number] + pluck.at) * quarter + rng.gauss(0, 30_000)
        pitch = pluck.pitch + (rng.choice([1, 2]) if rng.random() < 0.1 else 0)
        string = pluck.string if rng.random() < 0.9 else rng.randint(1, 5)
        notes.append((round(seconds, -2), pitch, string if strings else None))
    notes += [
        (round(rng.uniform(0, 16 * quarter), -2), rng.randint(48, 70), rng.randint(1, 5))
        for _ in range(rng.randint(0, 4))
    ]
    return sorted((int(s), p, g if strings else None) for s, p, g in notes)


def by_the_rules(solo: Arrangement, tempo: float, notes: list[Heard], lean: int) -> tuple[dict[str, str], int]:
    """The verdicts by id, and the number of extras; all times in whole microseconds, so that limits are limits."""
    starts, quarter = solo.starts(), round(60_000_000 / tempo)
    at: dict[int, list[Pluck]] = {}
    for measure, pluck in solo.plucks():
        at.setdefault(int((starts[measure.number] + pluck.at) * quarter), []).append(pluck)
    times = sorted(at)
    gaps = [after - before for before, after in pairwise(times)]
    window = [(0.0, 0.0)] * len(times)
    for i in range(len(times)):
        early = min(300_000, max(60_000, gaps[i - 1] / 2)) if i else 300_000
        late = min(300_000, max(60_000, gaps[i] / 2)) if i < len(gaps) else 300_000
        window[i] = (early, late)
    belongs: dict[int, list[Heard]] = {}
    extras = 0
    for note in notes:
        inside = [i for i, time in enumerate(times) if -window[i][0] <= note[0] - time <= window[i][1]]
        if inside:
            belongs.setdefault(min(inside, key=lambda i: (abs(note[0] - times[i]), i)), []).append(note)
        elif 0 <= note[0] <= 16 * quarter:
            extras += 1
    verdicts = {}
    for i, time in enumerate(times):
        plucks, here = at[time], belongs.get(i, [])
        near = min(gaps[max(0, i - 1) : i + 1], default=900_000)
        tolerance = min(80_000, max(30_000, near / 5))
        size = len(plucks) + len(here)
        costs = np.zeros((size, size))
        costs[: len(plucks), len(here) :] = 1.0
        costs[len(plucks) :, : len(here)] = 1.0
        for k, pluck in enumerate(plucks):
            for j, (seconds, pitch, string) in enumerate(here):
                offset = seconds - time
                t = abs(offset) / (2 * window[i][offset >= 0])
                if pitch != pluck.pitch:
                    t += 1
                elif string is not None and string != pluck.string:
                    t += 0.1
                costs[k, j] = t + 1e-7 * j + 1e-9 * k * (len(here) - j)  # ties: the earlier note, the lower id
        rows, columns = linear_sum_assignment(costs)
        partner = {int(k): here[j] for k, j in zip(rows, columns, strict=True) if k < len(plucks) and j < len(here)}
        extras += len(here) - len(partner)
        played = {k: note for k, note in partner.items() if note[1] == plucks[k].pitch}
        leader = next((k for k in sorted(played) if plucks[k].role == "melody"), None)
        if leader is None and played:
            leader = min(played, key=lambda k: (played[k][0], k))
        for k, pluck in enumerate(plucks):
            if k not in partner:
                verdicts[pluck.id] = "missed"
                continue
            seconds, pitch, string = partner[k]
            if k in played and leader is not None:
                spread = abs(seconds - played[leader][0])
                if spread <= min(60_000, quarter / 4):
                    seconds = played[leader][0]
            off = seconds - time - lean
            timing = "early" if off < -tolerance else "late" if off > tolerance else "on time"
            wrong, other = pitch != pluck.pitch, string is not None and string != pluck.string
            verdicts[pluck.id] = "wrong note" if wrong else "other string" if other else timing
    return verdicts, extras


def test_the_listener_hears_whole_takes_as_a_second_reading_of_the_rules_does() -> None:
    rng = random.Random(2)
    compared = 0
    for _ in range(250):
        solo, tempo, lean = random_solo(rng), rng.choice([60.0, 100.0, 160.0, 250.0]), rng.choice([0, -13_000])
        notes = random_notes(rng, solo, tempo)
        listener = Listener(PassPlan(solo, tempo, origin=5.0, lean_ms=lean / 1000))
        for seq, (seconds, pitch, string) in enumerate(notes):
            listener.hear(HeardNote(5.0 + seconds / 1e6, pitch, 80, string or 1, string, seq))
        listener.finish()
        assert listener.result is not None
        dropped = {drop.seq for drop in listener.result.dropped}
        left = [note for seq, note in enumerate(notes) if seq not in dropped]
        verdicts, extras = by_the_rules(solo, tempo, left, lean)

        assert {note.pluck.id: note.verdict for note in listener.result.notes} == verdicts
        assert len(listener.result.extras) == extras
        compared += len(verdicts)
    assert compared > 5000
