"""No one is called early or late for what nobody can hear.

Outside: Friberg & Sundberg 1995, J. Acoust. Soc. Am. 98(5) 2524-2531: the displacement of a tone in a monotone sequence
that is just noticed is 6 ms for intervals below 240 ms, 2.5 % of the interval above (SEEN: abstract; references A1).
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import pytest
from demo_solos import demo_solos

from coach.arranging.arrangement import TIERS, Arrangement
from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.places import places_of
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult

TEMPOS = (60.0, 80.0, 100.0, 120.0, 160.0, 200.0, 240.0, 280.0, 320.0)


def noticed(interval: float) -> float:
    """The displacement, in seconds, that is just noticed after an interval in seconds."""
    return max(0.006, 0.025 * interval)


def nearest_gaps(onsets: Iterable[float]) -> dict[float, float]:
    """By onset the interval to the nearer neighbour."""
    ordered = sorted(set(onsets))
    gaps = [after - before for before, after in pairwise(ordered)]
    return {onset: min(gaps[max(0, i - 1) : i + 1]) for i, onset in enumerate(ordered)}


def heard(solo: Arrangement, tempo: float, share: float, lean: float = 0.0) -> PassResult:
    """A pass in which every place is off by a share of what is just noticed, early and late by turns."""
    plan = PassPlan(solo, tempo, 1.0, lean_ms=1000 * lean)
    onsets = [
        (plan.tempo_map.seconds(start + pluck.at), pluck.pitch, pluck.string)
        for measure, start in plan.starts
        for pluck in measure.plucks
    ]
    gaps = nearest_gaps(onset for onset, _, _ in onsets)
    turn = {onset: 1 if i % 2 else -1 for i, onset in enumerate(sorted(gaps))}
    notes = [
        (onset + lean + turn[onset] * share * noticed(gaps[onset]), pitch, string) for onset, pitch, string in onsets
    ]
    listener = Listener(plan)
    for seq, (seconds, pitch, string) in enumerate(sorted(notes)):
        listener.hear(HeardNote(seconds, pitch, 80, string, string, seq))
    listener.finish()
    assert listener.result is not None
    return listener.result


@pytest.mark.parametrize("tempo", TEMPOS)
def test_what_is_just_not_noticed_is_no_fault_at_any_tempo(tempo: float) -> None:
    for tier in TIERS:
        result = heard(demo_solos("mill-lane")[tier], tempo, 0.999)

        assert {note.verdict for note in result.notes} == {"on time"}
        assert sum(measure.off_time for measure in result.measures) == 0
        assert result.clean


@pytest.mark.parametrize("lean", [-0.04, 0.04])
def test_nor_is_it_one_for_who_leans(lean: float) -> None:
    result = heard(demo_solos("lamps-on-the-water")["intermediate"], 200.0, 0.999, lean)

    assert {note.verdict for note in result.notes} == {"on time"}


@pytest.mark.parametrize("tempo", TEMPOS)
def test_the_tolerance_lies_above_what_is_just_noticed_wherever_notes_stand(tempo: float) -> None:
    for tier in TIERS:
        solo = demo_solos("hollow-hill-road")[tier]
        places = places_of(PassPlan(solo, tempo))
        gaps = nearest_gaps(place.time / 1e6 for place in places.places)

        assert all(place.tolerance / 1e6 > noticed(gaps[place.time / 1e6]) for place in places.places)


def test_a_displacement_far_above_it_is_told() -> None:
    """At 60, eighths are half a second apart: 12.5 ms is just noticed, 80 ms on time, 100 ms and 150 ms are not."""
    result = heard(demo_solos("mill-lane")["intermediate"], 60.0, 8.1)

    assert noticed(0.5) == pytest.approx(0.0125)
    assert {note.verdict for note in result.notes} == {"early", "late"}
