from __future__ import annotations

from collections.abc import Callable

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.passage_words import passage_sentence
from coach.listening.passages import Passage, PassageKind
from coach.listening.places import places_of
from coach.listening.plan import PassPlan


@pytest.mark.parametrize(
    ("kind", "slots", "first", "last", "sentence"),
    [
        ("ahead", 1, 5, 6, "Measures 5 to 6: an eighth ahead."),
        ("behind", 2, 2, 2, "Measure 2: a quarter behind."),
        ("behind", 3, 2, 2, "Measure 2: 3 eighths behind."),
        ("ahead", 6, 2, 3, "Measures 2 to 3: 3 quarters ahead."),
        ("behind", 8, 2, 6, "Measures 2 to 6: a measure behind."),
        ("stopped", None, 3, 4, "Measures 3 to 4: stopped."),
        ("jumped", 16, 4, 6, "Measures 4 to 6: a jump ahead over 2 measures."),
        ("jumped", -12, 4, 6, "Measures 4 to 6: a jump back over 6 quarters."),
        ("left out", 8, 3, 3, "Measure 3: left out."),
        ("played twice", 8, 3, 4, "Measures 3 to 4: a measure played twice."),
        ("other order", None, 1, 2, "Measures 1 to 2: the roll in another order."),
        ("plain melody", None, 1, 1, "Measure 1: the plain melody without the roll."),
    ],
)
def test_a_passage_is_said_in_a_sentence(
    kind: PassageKind, slots: int | None, first: int, last: int, sentence: str, solo: Callable[..., Arrangement]
) -> None:
    made = solo(*[[("0", 3, 0)]] * 6)
    expected = places_of(PassPlan(made, 60.0)).expected

    assert passage_sentence(Passage(1, expected[first - 1], expected[last - 1], kind, slots), made) == sentence


def test_small_slots_are_sixteenths(solo: Callable[..., Arrangement]) -> None:
    made = solo([("0", 3, 0)], slot="1/4")
    (pluck,) = places_of(PassPlan(made, 60.0)).expected

    assert passage_sentence(Passage(1, pluck, pluck, "ahead", 1), made) == "Measure 1: a sixteenth ahead."
    assert passage_sentence(Passage(1, pluck, pluck, "ahead", 3), made) == "Measure 1: 3 sixteenths ahead."
