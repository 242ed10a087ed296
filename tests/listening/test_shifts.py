from __future__ import annotations

import itertools
from collections.abc import Sequence
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.listening.passage_costs import cost_of
from coach.listening.shifts import AS_WRITTEN, OTHER_ORDER, PLAIN, SILENT, ShiftSearch, State
from coach.listening.slot_costs import SlotCosts
from coach.listening.slots import Slots, WrittenSlot

Heard = Sequence[Sequence[tuple[int, int]]]


def slots(written: Sequence[WrittenSlot], measure: int = 4) -> Slots:
    """Written slots of an eighth, and the one for late notes behind them."""
    every = (*written, WrittenSlot())
    bounds = tuple(100_000 * each + 50_000 for each in range(len(every)))
    return Slots(Fraction(1, 2), 1, every, bounds, (), (), (measure,) * len(every))


def found(given_slots: Slots, heard: Heard) -> list[State]:
    search = ShiftSearch(given_slots)
    for notes in heard:
        search.extend(notes)
    return search.path(search.best)


# A second reading of the table of costs, one state and one change at a time.


def by_the_table(given_slots: Slots, heard: Heard, path: Sequence[State]) -> float:
    return sum(
        change(given_slots, at, path[at - 1] if at else State(), state) + slot_cost(given_slots, at, notes, state)
        for at, (notes, state) in enumerate(zip(heard, path, strict=True))
    )


def change(given_slots: Slots, at: int, before: State, after: State) -> float:
    if before == after:
        return 0
    if after.manner == SILENT:
        return cost_of("stop")
    to = at + after.shift
    if not 0 <= to < len(given_slots.written) - 1:
        return float("inf")
    if after.shift == 0:
        price = cost_of("home")
    elif abs(after.shift) <= 2:
        price = cost_of("near")
    else:
        price = cost_of("measures") if after.shift % given_slots.measures[0] == 0 else cost_of("far")
    price += {AS_WRITTEN: 0, OTHER_ORDER: cost_of("order"), PLAIN: cost_of("plain")}[after.manner]
    price -= cost_of("line") if given_slots.written[to].line else 0
    return price - (cost_of("rejoin") if before.manner == SILENT else 0)


def slot_cost(given_slots: Slots, at: int, notes: Sequence[tuple[int, int]], state: State) -> int:
    pitches = {pitch for pitch, _ in notes}
    if state.manner == SILENT:
        return cost_of("noise") * len(pitches)
    to, last = at + state.shift, len(given_slots.written) - 1
    slot = given_slots.written[to] if 0 <= to < last else WrittenSlot()
    fits = {*slot.due, *slot.slurred}
    if state.manner == OTHER_ORDER and not slot.melody:
        fits |= slot.roll
    if state.manner == PLAIN:
        fits = set(slot.melody)
    due = len(set(slot.melody if state.manner == PLAIN else slot.due))
    matched = len(pitches & fits)
    missing = max(0, due - matched) if pitches else min(1, due)
    ghosts = {p for p, v in notes if any(q == p - 12 and w > v for q, w in notes)} if len(pitches) > 1 else set()
    extra = max(0, len(pitches) - len(ghosts) - matched)
    both = min(missing, extra)
    cost = cost_of("wrong") * both + cost_of("missed") * (missing - both) + cost_of("extra") * (extra - both)
    if state.manner == OTHER_ORDER and slot.due:
        cost += cost_of("crowd")
    return cost + (cost_of("over") if to >= last else 0)


def states(given_slots: Slots) -> list[State]:
    most = len(given_slots.written)
    return [State(shift, manner) for manner in range(3) for shift in range(-most, most + 1)] + [State(0, SILENT)]


PITCHES = st.sampled_from([50, 55, 59, 62, 67])
VELOCITIES = st.sampled_from([30, 80])


@st.composite
def small_passes(draw: st.DrawFn, most: int) -> tuple[Slots, Heard]:
    count = draw(st.integers(1, most))
    written = []
    dues = [tuple(sorted(draw(st.sets(PITCHES, max_size=3)))) for _ in range(count)]
    roll = frozenset(pitch for due in dues for pitch in due[1:])
    for each, due in enumerate(dues):
        melody = due[:1] if draw(st.booleans()) else ()
        slurred = tuple(draw(st.sets(PITCHES, max_size=1)))
        written.append(WrittenSlot(due, melody, slurred, roll, each % 4 == 0))
    notes = st.lists(st.tuples(PITCHES, VELOCITIES), max_size=3, unique_by=lambda note: note[0])
    return slots(written), draw(st.lists(notes, min_size=count + 1, max_size=count + 1))


@settings(derandomize=True, deadline=None, max_examples=12)
@given(small=small_passes(2))
def test_the_path_is_the_cheapest_of_all_there_are(small: tuple[Slots, Heard]) -> None:
    given_slots, heard = small
    every = itertools.product(states(given_slots), repeat=len(heard))
    least = min(by_the_table(given_slots, heard, path) for path in every)

    assert by_the_table(given_slots, heard, found(given_slots, heard)) == least


@settings(derandomize=True, deadline=None, max_examples=20)
@given(small=small_passes(8))
def test_longer_paths_are_as_cheap_as_all_changes_between_all_states_allow(small: tuple[Slots, Heard]) -> None:
    given_slots, heard = small

    assert by_the_table(given_slots, heard, found(given_slots, heard)) == least_of_all(given_slots, heard)


def least_of_all(given_slots: Slots, heard: Heard) -> float:
    """The least cost of any path, by every change from every state to every other."""
    every = states(given_slots)
    costs = {State(): 0.0}
    for at, notes in enumerate(heard):
        costs = {
            state: min(cost + change(given_slots, at, before, state) for before, cost in costs.items())
            + slot_cost(given_slots, at, notes, state)
            for state in every
        }
    return min(costs.values())


@settings(derandomize=True, deadline=None, max_examples=25)
@given(small=small_passes(8))
def test_the_path_to_every_state_costs_what_the_search_says(small: tuple[Slots, Heard]) -> None:
    given_slots, heard = small
    search = ShiftSearch(given_slots)
    for notes in heard:
        search.extend(notes)
    least = by_the_table(given_slots, heard, search.path(search.best))
    for state in states(given_slots):
        cost = by_the_table(given_slots, heard, search.path(state))
        if cost < 100_000:
            assert cost - least == search.cost(state)


def played(*pitches: int) -> Heard:
    return [[(pitch, 80)] if pitch else [] for pitch in pitches]


TUNE = (55, 59, 67, 62, 50, 62, 59, 50, 67, 55, 62, 67, 59, 50, 55, 62)


@pytest.fixture
def tune() -> Slots:
    """Sixteen slots with one pluck in each."""
    return slots([WrittenSlot((pitch,), roll=frozenset(TUNE), line=k % 8 == 0) for k, pitch in enumerate(TUNE)], 8)


def test_who_plays_what_is_written_is_at_home_all_the_time(tune: Slots) -> None:
    assert found(tune, played(*TUNE, 0)) == [State()] * 17


def test_an_eighth_ahead_for_eight_slots_is_a_shift_of_one(tune: Slots) -> None:
    heard = [*TUNE[:4], *TUNE[5:13], *TUNE[12:], 0]

    assert [state.shift for state in found(tune, played(*heard))] == [0] * 4 + [1] * 8 + [0] * 5


@pytest.mark.parametrize("elsewhere", [0, -5])
def test_who_joins_in_again_after_a_silence_does_so_at_the_lower_price(elsewhere: int, tune: Slots) -> None:
    heard = played(*TUNE[:5], *[0] * 5, *TUNE[10 + elsewhere : 16 + elsewhere], 0)
    path = found(tune, heard)

    assert [state.manner for state in path[5:10]] == [SILENT] * 5
    assert by_the_table(tune, heard, path) == least_of_all(tune, heard)


@pytest.mark.parametrize(("silent", "stops"), [(3, False), (4, True)])
def test_silence_over_four_slots_is_a_stop_and_over_three_is_none(silent: int, stops: bool, tune: Slots) -> None:
    heard = [*TUNE[:5], *[0] * silent, *TUNE[5 + silent :], 0]

    assert any(state.manner == SILENT for state in found(tune, played(*heard))) == stops


def test_a_stumble_over_two_notes_is_no_passage_wherever_it_is(tune: Slots) -> None:
    for at, (first, second) in itertools.product(range(15), itertools.product({*TUNE, 57}, repeat=2)):
        heard = [*TUNE[:at], first, second, *TUNE[at + 2 :], 0]
        assert found(tune, played(*heard)) == [State()] * 17


def test_the_memory_of_what_was_heard_is_bounded() -> None:
    long = slots([WrittenSlot((55,))] * 700)
    costs = SlotCosts(long, 128)
    for at in range(600):
        costs.of([(at % 128, 80), (at // 5 % 128, 80)], at)

    assert 0 < len(costs._known) <= 256


@pytest.mark.parametrize("manner", [OTHER_ORDER, PLAIN])
def test_a_tie_goes_to_the_written_place(manner: int, tune: Slots) -> None:
    search = ShiftSearch(tune)
    for notes in played(*TUNE, 0):
        search.extend(notes)

    assert search.best == State()
    assert search.cost(State(0, manner)) > 0


def test_a_slot_finer_than_the_solos_keeps_shifts_in_slots_of_the_solo() -> None:
    fine = [WrittenSlot((pitch,)) for pitch in TUNE]
    given_slots = Slots(Fraction(1, 4), 2, (*fine, WrittenSlot()), tuple(range(17)), (), (), (16,) * 17)
    heard = played(*TUNE[:2], *TUNE[4:], 0, 0, 0)

    assert [state.shift for state in found(given_slots, heard)][3:12] == [1] * 9
