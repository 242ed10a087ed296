from __future__ import annotations

from collections.abc import Callable

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.evidence import Evidence, Heard, evidence_of
from coach.listening.places import places_of
from coach.listening.plan import PassPlan
from coach.listening.shifts import AS_WRITTEN, OTHER_ORDER, PLAIN, State
from coach.listening.slots import Slots, slots_of

# Pitches 55 59 67 62 50 59 67 62, the tune on the first and the fifth.
ROLL = [
    (f"{k}/2", string, 0, {"role": "melody" if k in (0, 4) else "fill"})
    for k, string in enumerate((3, 2, 5, 1, 4, 2, 5, 1))
]


@pytest.fixture(scope="module")
def slots(solo: Callable[..., Arrangement]) -> Slots:
    return slots_of(places_of(PassPlan(solo(ROLL, ROLL), 60.0)))


def heard_in(*pitches: int, since: int = 0) -> Heard:
    return {since + at: [(pitch, 80)] if pitch else [] for at, pitch in enumerate(pitches)}


@pytest.mark.parametrize(
    ("manner", "pitches", "found"),
    [
        (AS_WRITTEN, (55, 59, 67, 62, 50, 59, 67, 62), (8, 8, 8, (0, 7))),
        (AS_WRITTEN, (0, 67, 67, 62, 0, 59, 67, 0), (8, 5, 4, (2, 6))),
        (OTHER_ORDER, (55, 62, 59, 67, 50, 62, 67, 59), (8, 8, 8, (0, 7))),
        # Each note of the roll counts once: it has two of 62, and here there are five.
        (OTHER_ORDER, (55, 62, 62, 62, 50, 62, 62, 59), (8, 8, 5, (0, 7))),
        # Where the tune is due nothing of the roll is right.
        (OTHER_ORDER, (62, 59, 67, 62, 59, 59, 67, 62), (8, 8, 6, (1, 7))),
        (PLAIN, (55, 0, 0, 0, 50, 0, 0, 0), (2, 2, 2, (0, 7))),
        (PLAIN, (55, 59, 0, 0, 62, 0, 0, 57), (2, 4, 1, (0, 6))),
    ],
)
def test_what_speaks_for_a_manner(
    manner: int, pitches: tuple[int, ...], found: tuple[int, int, int, tuple[int, int]], slots: Slots
) -> None:
    evidence = evidence_of(State(0, manner), 0, 7, slots, heard_in(*pitches))

    assert (evidence.expected, evidence.heard, evidence.right, evidence.span) == found


def test_it_is_looked_for_where_the_player_is(slots: Slots) -> None:
    heard = heard_in(62, 59, 67, 50, 62, 67, 59, since=2)

    assert evidence_of(State(7, OTHER_ORDER), 2, 8, slots, heard).right == 7
    assert evidence_of(State(7, OTHER_ORDER), 0, 16, slots, heard).span == (2, 8)  # nothing is written farther on


@pytest.mark.parametrize(
    ("manner", "expected", "heard", "right", "is_enough"),
    [
        (PLAIN, 6, 6, 4, True),
        (PLAIN, 6, 6, 3, False),
        (PLAIN, 4, 6, 4, True),
        (PLAIN, 4, 7, 4, False),
        (PLAIN, 0, 0, 0, False),
        (OTHER_ORDER, 4, 4, 4, True),
        (OTHER_ORDER, 3, 3, 3, False),
        (OTHER_ORDER, 8, 8, 7, True),
        (OTHER_ORDER, 8, 8, 6, False),
        (OTHER_ORDER, 16, 16, 13, True),
        (OTHER_ORDER, 13, 17, 13, False),
    ],
)
def test_a_manner_counts_with_enough_evidence(
    manner: int, expected: int, heard: int, right: int, is_enough: bool
) -> None:
    assert Evidence(manner, expected, heard, right, None).is_enough == is_enough
