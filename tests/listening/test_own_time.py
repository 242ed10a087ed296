from __future__ import annotations

import pytest

from coach.listening.alignment import align
from coach.listening.own_time import OwnTime, last_stretches, own_time
from coach.listening.path import Onset, Sounded

# Three measures of four quarters, every pitch once.
SCALE = tuple(Onset(float(k), (60 + k,), entry=k % 4 == 0) for k in range(12))
MEASURES = tuple(1 + k // 4 for k in range(12))


def told(*notes: tuple[float, int]) -> OwnTime:
    sounded = [Sounded(seconds, 60 + place) for seconds, place in notes]
    return own_time(SCALE, MEASURES, sounded, align(SCALE, sounded))


def steady(quarter: float = 0.5) -> list[tuple[float, int]]:
    return [(place * quarter, place) for place in range(12)]


def test_each_measure_has_its_own_tempo() -> None:
    notes = [(k * 0.5, k) for k in range(4)] + [(2.0 + k * 1.0, 4 + k) for k in range(4)]
    notes += [(6.0 + k * 0.75, 8 + k) for k in range(4)]

    assert told(*notes).tempos == {1: pytest.approx(120.0), 2: pytest.approx(60.0), 3: pytest.approx(80.0)}


def test_a_note_out_of_time_lies_beside_the_line() -> None:
    notes = steady()
    notes[5] = (2.6, 5)
    own = told(*notes)

    # Least squares through (4, 2.0) (5, 2.6) (6, 3.0) (7, 3.5) (8, 4.0): slope 0.49, height 3.02 at 6.
    assert own.tempos[2] == pytest.approx(60 / 0.49, abs=0.001)
    assert own.heard[5] - own.line[5] == pytest.approx(2.6 - (3.02 - 0.49))


def test_a_stop_parts_the_line_and_leaves_the_tempo_alone() -> None:
    notes = [(seconds + (5.0 if place >= 6 else 0.0), place) for seconds, place in steady()]
    own = told(*notes)

    assert own.stops == ((5, 6),)
    assert own.tempos[2] == pytest.approx(120.0)
    assert all(own.heard[place] == pytest.approx(own.line[place]) for place in range(12))


@pytest.mark.parametrize(("longer", "stops"), [(0.69, ()), (0.71, ((5, 6),))])
def test_what_is_a_stop(longer: float, stops: tuple[tuple[int, int], ...]) -> None:
    notes = [(seconds + (longer if place >= 6 else 0.0), place) for seconds, place in steady()]

    assert told(*notes).stops == stops


def test_a_place_that_was_passed_over_lies_on_the_line() -> None:
    own = told(*(note for note in steady() if note[1] != 5))

    assert 5 not in own.heard
    assert own.line[5] == pytest.approx(2.5)


def test_what_was_played_last_counts() -> None:
    again = [*range(8), *range(4, 12)]
    own = told(*((k * 0.5, place) for k, place in enumerate(again)))

    assert own.heard[4] == pytest.approx(8 * 0.5)
    assert own.heard[3] == pytest.approx(3 * 0.5)
    assert set(own.tempos) == {1, 2, 3}


def test_the_stretch_of_each_place_is_the_last_that_came_by() -> None:
    again = [*range(8), *range(4, 12)]
    aligned = align(SCALE, [Sounded(k * 0.5, 60 + place) for k, place in enumerate(again)])

    assert last_stretches(aligned) == {place: int(place >= 4) for place in range(12)}


def test_two_onsets_tell_no_tempo() -> None:
    own = told((0.0, 0), (0.5, 1))

    assert own.tempos == {}
    assert own.line == {0: 0.0, 1: 0.5}


def test_a_place_passed_over_and_played_later_lies_where_it_was_played() -> None:
    order = [0, 1, 2, 3, 5, 6, 7, *range(4, 12)]
    times = [0.0, 0.5, 1.0, 1.5, 2.5, 3.0, 3.5, *(4.0 + 0.5 * k for k in range(8))]
    own = told(*zip(times, order, strict=True))

    assert own.heard[4] == 4.0
    assert own.line[4] == pytest.approx(4.0)
