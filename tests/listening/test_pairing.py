from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.listening.pairing import Candidate, Wanted, cost_table, nearest, pair, unit

EARLY, LATE = 150_000, 250_000

wanted_lists = st.lists(
    st.builds(Wanted, pitch=st.integers(55, 57), string=st.integers(1, 5), silent=st.booleans()), max_size=4
)
candidate_lists = st.lists(
    st.builds(
        Candidate,
        offset=st.integers(-15, 25).map(lambda tens: tens * 10_000),
        pitch=st.integers(55, 57),
        string=st.one_of(st.none(), st.integers(1, 5)),
    ),
    max_size=4,
).map(lambda notes: sorted(notes, key=lambda note: note.offset))


def total(wanted: list[Wanted], notes: list[Candidate], pairs: tuple[int | None, ...]) -> int | None:
    """The cost of a pairing, None when it pairs what cannot be paired."""
    table = cost_table(wanted, notes, EARLY, LATE)
    one = unit(EARLY, LATE)
    cost = sum(one for k, pluck in enumerate(wanted) if k not in pairs and not pluck.silent)
    for i, k in enumerate(pairs):
        step = one if k is None else table[i][k]
        if step is None:
            return None
        cost += step
    return cost


def every_pairing(plucks: int, notes: int) -> set[tuple[int | None, ...]]:
    choices: list[int | None] = [*range(plucks), *[None] * notes]
    return set(permutations(choices, notes))


@settings(derandomize=True, deadline=None, max_examples=150)
@given(wanted=wanted_lists, notes=candidate_lists)
def test_the_pairing_costs_least_and_among_equals_the_earlier_note_takes_the_lower_id(
    wanted: list[Wanted], notes: list[Candidate]
) -> None:
    def order(pairs: tuple[int | None, ...]) -> tuple[int, ...]:
        return tuple(len(wanted) if k is None else k for k in pairs)

    possible = [
        (cost, order(pairs), pairs)
        for pairs in every_pairing(len(wanted), len(notes))
        if (cost := total(wanted, notes, pairs)) is not None
    ]

    assert pair(wanted, notes, EARLY, LATE) == min(possible, key=lambda entry: entry[:2])[2]


@pytest.mark.parametrize(
    ("offset", "pitch", "string", "cost"),
    [
        (0, 55, 3, 0.0),
        (-75_000, 55, 3, 0.25),  # half of the early window
        (125_000, 55, 3, 0.25),  # half of the late window
        (250_000, 55, None, 0.5),
        (0, 55, 4, 0.1),
        (125_000, 55, 4, 0.35),
        (0, 56, 3, 1.0),
        (250_000, 56, 4, 1.5),
    ],
)
def test_costs_are_those_of_the_contract(offset: int, pitch: int, string: int | None, cost: float) -> None:
    ((actual,),) = cost_table([Wanted(55, 3)], [Candidate(offset, pitch, string)], EARLY, LATE)

    assert actual is not None
    assert actual / unit(EARLY, LATE) == pytest.approx(cost)


def test_of_two_equally_near_notes_the_earlier_is_taken() -> None:
    notes = [Candidate(-60_000, 55), Candidate(60_000, 55)]

    assert pair([Wanted(55, 3)], notes, 200_000, 200_000) == (0, None)


def test_of_two_plucks_that_fit_alike_the_lower_id_takes_the_note() -> None:
    assert pair([Wanted(67, 5), Wanted(67, 1)], [Candidate(0, 67)], EARLY, LATE) == (0,)


def test_a_wrong_note_is_paired_rather_than_called_missed_and_extra() -> None:
    assert pair([Wanted(55, 3)], [Candidate(LATE, 57)], EARLY, LATE) == (0,)


def test_a_right_note_goes_before_a_nearer_wrong_one() -> None:
    assert pair([Wanted(55, 3)], [Candidate(0, 57), Candidate(200_000, 55)], EARLY, LATE) == (None, 0)


# t is 0.3 at most for a window of 250 ms when the note is 150 ms late; 0.1 of another string weighs 50 ms.
@pytest.mark.parametrize(("late", "pairs"), [(49_000, (None, 0)), (50_000, (0, None)), (51_000, (0, None))])
def test_another_string_weighs_a_fifth_of_the_window(late: int, pairs: tuple[int | None, ...]) -> None:
    notes = [Candidate(0, 55, 4), Candidate(late, 55, 3)]

    assert pair([Wanted(55, 3)], notes, 250_000, 250_000) == pairs


def test_a_pluck_that_may_be_silent_takes_none_but_its_own_note() -> None:
    silent = Wanted(55, 3, silent=True)

    assert pair([silent], [Candidate(0, 57)], EARLY, LATE) == (None,)
    assert pair([silent], [Candidate(0, 55, 4)], EARLY, LATE) == (None,)
    assert pair([silent], [Candidate(0, 55)], EARLY, LATE) == (0,)


def test_nothing_is_paired_with_nothing() -> None:
    assert pair([], [], EARLY, LATE) == ()
    assert pair([], [Candidate(0, 55)], EARLY, LATE) == (None,)
    assert pair([Wanted(55, 3)], [], EARLY, LATE) == ()


@settings(derandomize=True, deadline=None, max_examples=100)
@given(pitch=st.integers(55, 57), string=st.integers(1, 5), notes=candidate_lists.filter(bool))
def test_a_pluck_alone_takes_the_note_that_the_pairing_gives_it(
    pitch: int, string: int, notes: list[Candidate]
) -> None:
    heard = [(note.offset, note.pitch, note.string) for note in notes]
    pairs = pair([Wanted(pitch, string)], notes, EARLY, LATE)

    assert nearest(pitch, string, heard, EARLY, LATE) == pairs.index(0)
