"""What the sentences are put together from."""

from __future__ import annotations

import pytest

from coach.ladder.standing import Past
from coach.ladder.wording import by_mark, evidence, faulty, measures, number, said, sentence


def a_pass(clean: tuple[int, ...] = (), late: tuple[int, ...] = (), fault: str = "late") -> Past:
    """A pass in which some measures came clean and some did not."""
    return Past("whole", "beginner", 80.0, 1.0, is_clean=not late, clean=clean, faults=tuple((n, fault) for n in late))


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ([6], "measure 6"),
        ([5, 6], "measures 5 and 6"),
        ([5, 6, 7], "measures 5 to 7"),
        ([2, 6, 9], "measures 2, 6 and 9"),
        ([0, 1, 3], "measures 0, 1 and 3"),
    ],
)
def test_measures_are_named_as_a_teacher_names_them(numbers: list[int], words: str) -> None:
    assert measures(numbers) == words


def test_small_numbers_are_words_and_tempos_are_whole() -> None:
    assert [number(count) for count in (0, 1, 3, 10, 11)] == ["no", "one", "three", "ten", "11"]
    assert [said(tempo) for tempo in (83.5, 83.49, 120.0)] == ["84", "83", "120"]


def test_a_sentence_begins_large_and_ends() -> None:
    assert sentence("measure 6 was late: down to 72") == "Measure 6 was late: down to 72."


def test_what_the_player_marked_is_told_as_that() -> None:
    heard = a_pass()
    marked = Past("whole", "beginner", 80.0, 1.0, is_clean=True, judged="marked")

    assert by_mark("clean: up to 84", heard) == "clean: up to 84"
    assert by_mark("clean: up to 84", marked) == "clean: up to 84 (by your own mark)"


def test_evidence_counts_the_passes_in_which_a_measure_was_played() -> None:
    passes = [a_pass((1, 2, 6)), a_pass((1, 2), (6,)), a_pass((1,), (2, 6)), a_pass((), (6,)), a_pass((1, 2))]

    assert evidence(passes, [6]) == "measure 6 was late in 3 of 4 passes"
    assert evidence(passes, [2]) == "measure 2 was late in 1 of 4 passes"
    assert evidence(passes[1:2], [6]) == "measure 6 was late"
    assert evidence(passes[2:4], [2, 6]) == "measures 2 and 6 were late in 2 of 2 passes"


def test_what_goes_wrong_seldom_or_never_is_no_evidence() -> None:
    clean = a_pass((1, 2))

    assert evidence([], [1]) == evidence([clean], [1]) == evidence([clean], [9]) == ""
    assert evidence([a_pass((), (1,)), *[clean] * 3], [1]) == "measure 1 was late in 1 of 4 passes"
    assert evidence([a_pass((), (1,)), *[clean] * 4], [1]) == ""


@pytest.mark.parametrize(
    ("fault", "one", "more"),
    [
        ("late", "was late", "were late"),
        ("early", "was early", "were early"),
        ("a wrong note", "had a wrong note", "had wrong notes"),
        ("an extra note", "had an extra note", "had extra notes"),
        ("missed", "had a note missing", "had notes missing"),
        ("", "was not clean", "were not clean"),
        ("something else", "was not clean", "were not clean"),
    ],
)
def test_each_fault_has_its_words(fault: str, one: str, more: str) -> None:
    assert faulty(a_pass(late=(3,), fault=fault)) == f"measure 3 {one}"
    assert faulty(a_pass(late=(3, 4), fault=fault)) == f"measures 3 and 4 {more}"


def test_a_fault_is_named_where_more_than_half_are_of_its_kind() -> None:
    two = Past("whole", "beginner", 80.0, 1.0, is_clean=False, faults=((1, "late"), (2, "early"), (3, "late")))
    even = Past("whole", "beginner", 80.0, 1.0, is_clean=False, faults=((1, "late"), (2, "early")))

    assert faulty(two) == "measures 1 to 3 were late"
    assert faulty(even) == "measures 1 and 2 were not clean"


def test_too_many_faulty_measures_are_not_named_and_only_those_that_are_asked_for() -> None:
    assert faulty(a_pass(late=(1, 2, 3, 4))) == ""
    assert faulty(a_pass()) == ""
    assert faulty(a_pass(late=(1, 2, 3, 4)), [2, 9]) == "measure 2 was late"
    assert faulty(a_pass(late=(1,)), [2]) == ""
