"""The pairing of a place beside scipy's optimal assignment; pairs of whole takes beside mir_eval's note matching."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import mir_eval.transcription
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.instrument.tuning import OPEN_G
from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.pairing import Candidate, Wanted, cost_table, pair, unit
from coach.listening.plan import PassPlan
from coach.tunes.tune import Meter

EARLY, LATE = 180_000, 230_000


def least_by_scipy(wanted: list[Wanted], notes: list[Candidate]) -> float:
    """The least total cost by scipy, in a square table with a row for each note and one for each missed pluck."""
    table = cost_table(wanted, notes, EARLY, LATE)
    one = float(unit(EARLY, LATE))
    never = 1e6 * one
    size = len(wanted) + len(notes)
    costs = np.zeros((size, size))
    for i, row in enumerate(table):
        costs[i, : len(wanted)] = [never if cost is None else cost for cost in row]
    costs[: len(notes), len(wanted) :] = one  # an extra note
    costs[len(notes) :, : len(wanted)] = [0.0 if pluck.silent else one for pluck in wanted]  # a missed pluck
    rows, columns = linear_sum_assignment(costs)
    return float(costs[rows, columns].sum())


@settings(derandomize=True, deadline=None, max_examples=200)
@given(
    wanted=st.lists(
        st.builds(Wanted, pitch=st.integers(55, 58), string=st.integers(1, 5), silent=st.booleans()), max_size=5
    ),
    notes=st.lists(
        st.builds(
            Candidate,
            offset=st.integers(-EARLY, LATE),
            pitch=st.integers(55, 58),
            string=st.one_of(st.none(), st.integers(1, 5)),
        ),
        max_size=7,
    ),
)
def test_the_pairing_of_a_place_costs_what_scipys_optimal_assignment_costs(
    wanted: list[Wanted], notes: list[Candidate]
) -> None:
    notes.sort(key=lambda note: note.offset)
    table = cost_table(wanted, notes, EARLY, LATE)
    one = unit(EARLY, LATE)
    pairs = pair(wanted, notes, EARLY, LATE)
    ours = sum(one for k, pluck in enumerate(wanted) if k not in pairs and not pluck.silent)
    for i, k in enumerate(pairs):
        cost = one if k is None else table[i][k]
        assert cost is not None
        ours += cost

    assert ours == least_by_scipy(wanted, notes)


def roll_of(rng: random.Random, measures: int) -> Arrangement:
    """Running eighths on strings and frets at random, no string twice in a row."""
    made = []
    string = 3
    for number in range(1, measures + 1):
        plucks = []
        for k in range(8):
            string = rng.choice([each for each in range(1, 6) if each != string])
            fret = 0 if string == 5 else rng.randint(0, 4)
            pitch = OPEN_G.open_pitch(string) + fret
            at = Fraction(k, 2)
            plucks.append(Pluck(f"m{number}e{k + 1}", at, Fraction(1, 2), string, fret, pitch, "T", "fill"))
        made.append(ArrangedMeasure(number, number, Meter(4, 4), Fraction(4), "intermediate", (), (), tuple(plucks)))
    return Arrangement(
        "study-00000000",
        "Study",
        "",
        "intermediate",
        "G major",
        None,
        0,
        Meter(4, 4),
        Fraction(1, 2),
        1,
        50,
        OPEN_G,
        (),
        tuple(made),
    )


def ambiguous(times: list[float], heard: list[HeardNote], pitches: list[int], tolerance: float) -> set[int]:
    """The plucks that more than one note, or a note that more than one pluck, could be matched with."""

    def close(k: int, note: HeardNote) -> bool:
        return note.pitch == pitches[k] and abs(note.seconds - times[k]) <= tolerance + 1e-6

    unclear = set()
    for k in range(len(times)):
        rivals = [note for note in heard if close(k, note)]
        others = {j for note in rivals for j in range(len(times)) if close(j, note)}
        if len(rivals) > 1 or len(others) > 1:
            unclear.add(k)
    return unclear


# Raffel et al. 2014, "mir_eval"; match_notes with 50 ms and 50 cents, offsets left out (SEEN in the installed package).
def test_on_plain_takes_the_pairs_are_those_of_mir_evals_match_notes() -> None:
    rng = random.Random(50)
    compared = 0
    for _ in range(40):
        tempo = rng.choice([60.0, 90.0, 120.0, 140.0])
        solo = roll_of(rng, 4)
        plan = PassPlan(solo, tempo, origin=1.0)
        times = [plan.tempo_map.seconds(start + p.at) for measure, start in plan.starts for p in measure.plucks]
        pitches = [pluck.pitch for _, pluck in solo.plucks()]
        heard = [
            HeardNote(round(seconds + rng.gauss(0, 0.015), 4), pitch + (rng.random() < 0.03), 80)
            for seconds, pitch in zip(times, pitches, strict=True)
            if rng.random() > 0.03
        ]
        heard += [HeardNote(round(rng.uniform(1.0, times[-1]), 4), rng.randint(50, 70), 80) for _ in range(2)]
        heard = [replace(note, seq=seq) for seq, note in enumerate(sorted(heard, key=lambda note: note.seconds))]
        assert all(after > before for before, after in pairwise(times))

        listener = Listener(plan)
        for note in heard:
            listener.hear(note)
        listener.finish()
        assert listener.result is not None
        dropped = {drop.seq for drop in listener.result.dropped}
        ours = {
            (k, note.seq)
            for k, note in enumerate(listener.result.notes)
            if note.played and note.offset is not None and abs(note.offset) <= 50_000
        }

        estimated = [note for note in heard if note.seq not in dropped]
        theirs = mir_eval.transcription.match_notes(
            np.array([[seconds, seconds + 0.1] for seconds in times]),
            mir_eval.util.midi_to_hz(np.array(pitches, dtype=float)),
            np.array([[note.seconds, note.seconds + 0.1] for note in estimated]),
            mir_eval.util.midi_to_hz(np.array([note.pitch for note in estimated], dtype=float)),
            onset_tolerance=0.05,
            pitch_tolerance=50.0,
            offset_ratio=None,
        )
        unclear = ambiguous(times, estimated, pitches, 0.05)
        theirs_clear = {(k, estimated[j].seq) for k, j in theirs if k not in unclear}
        ours_clear = {(k, seq) for k, seq in ours if k not in unclear}

        assert ours_clear == theirs_clear
        compared += len(theirs_clear)
    assert compared > 1000
