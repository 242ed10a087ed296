"""What a session writes down and finds again, and that nothing of it holds up the practice."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from coach.errors import RecordsError
from coach.ladder.curve import begin
from coach.ladder.known import Kept, Known
from coach.service.clock import FakeClock
from coach.service.diary import PATIENCE, Diary
from coach.service.memory import KeptPass, Remembered

FULL = RecordsError("the disk is full")


class Slow:
    """A memory that answers when it is told to."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, Any, Callable[[Any], None]]] = []

    def recall(self, player: str, done: Callable[[Any], None]) -> None:
        self.asked.append(("recall", player, done))

    def keep_pass(self, kept: KeptPass, done: Callable[[Any], None]) -> None:
        self.asked.append(("pass", kept, done))

    def keep_settings(self, player: str, settings: Any, when: datetime, done: Callable[[Any], None]) -> None:
        self.asked.append(("settings", settings, done))

    def answer(self, result: object = None) -> Any:
        """Answer what was asked first; gives what that was."""
        _, what, done = self.asked.pop(0)
        done(result)
        return what


class Told:
    """A diary, and what came of it."""

    def __init__(self, *, recalls: bool = True) -> None:
        self.memory = Slow()
        self.clock = FakeClock(100.0)
        self.trouble: list[str] = []
        self.reports: list[int] = []
        self.opened = 0
        today = datetime(2026, 3, 1, tzinfo=UTC)
        self.diary = Diary("reed", self.memory, self.clock, lambda: today, self.trouble.append)
        if recalls:
            self.diary.recall(self._open)

    def _open(self) -> None:
        self.opened += 1

    def keep(self, number: int, known: Known | None = None) -> None:
        self.diary.keep(a_pass(standing={"tempo": number}), known, lambda: self.reports.append(number))


def a_pass(**changes: Any) -> KeptPass:
    fields: dict[str, Any] = dict.fromkeys(KeptPass.__slots__)
    return KeptPass(**{**fields, "tune": "lane", "curves": {}, **changes})


def known_of(*tempos: float) -> Known:
    return Known({"beginner": {number: Kept(begin(tempo), 1.0) for number, tempo in enumerate(tempos, 1)}})


@pytest.fixture
def told() -> Told:
    return Told()


@pytest.fixture
def open_(told: Told) -> Told:
    told.memory.answer(Remembered())
    return told


def test_nobody_waits_in_vain_who_has_not_asked() -> None:
    told = Told(recalls=False)
    told.clock.advance(PATIENCE + 1.0)
    told.diary.tick()

    assert (told.diary.is_open, told.trouble) == (False, [])


def test_it_is_open_when_the_player_is_recalled(told: Told) -> None:
    assert not told.diary.is_open

    told.memory.answer(Remembered(settings={"goal": 90.0}))

    assert (told.diary.is_open, told.opened) == (True, 1)
    assert told.diary.remembered.settings == {"goal": 90.0}


def test_a_report_is_told_when_its_pass_is_on_the_disk(open_: Told) -> None:
    open_.keep(1)
    assert (open_.diary.is_writing, open_.reports) == (True, [])

    open_.memory.answer()

    assert (open_.diary.is_writing, open_.reports, open_.trouble) == (False, [1], [])


def test_only_curves_that_have_changed_are_written(open_: Told) -> None:
    first = known_of(80.0, 90.0)
    open_.keep(1, first)
    assert set(open_.memory.answer().curves["beginner"]) == {1, 2}
    second = Known({"beginner": {**first.curves["beginner"], 2: Kept(begin(95.0), 2.0)}})
    open_.keep(2, second)
    assert set(open_.memory.answer().curves["beginner"]) == {2}


def test_curves_that_were_recalled_are_not_written_again(told: Told) -> None:
    known = known_of(80.0, 90.0)
    told.memory.answer(Remembered(known={"lane": known}))
    told.keep(1, Known({"beginner": {**known.curves["beginner"], 2: Kept(begin(95.0), 2.0)}}))

    assert set(told.memory.answer().curves["beginner"]) == {2}


def test_curves_that_could_not_be_written_come_with_the_next_pass(open_: Told) -> None:
    known = known_of(80.0, 90.0)
    open_.keep(1, known)
    open_.memory.answer(FULL)
    open_.keep(2, known)

    assert set(open_.memory.answer().curves["beginner"]) == {1, 2}


def test_trouble_is_said_once_until_it_is_over_and_reports_come_all_the_same(open_: Told) -> None:
    said = "the disk is full. The pass is in its session folder, and is written down with the next one that can be."
    for number, error in enumerate((FULL, FULL, None, FULL), 1):
        open_.keep(number)
        open_.memory.answer(error)

    assert open_.reports == [1, 2, 3, 4]
    assert open_.trouble == [said, said]


def test_records_that_do_not_answer_are_not_waited_for_for_ever(open_: Told) -> None:
    open_.keep(1)
    open_.clock.advance(PATIENCE)
    open_.diary.tick()
    assert open_.reports == []
    open_.clock.advance(0.1)
    open_.diary.tick()
    assert (open_.reports, open_.diary.is_writing) == ([1], False)
    assert open_.trouble == [
        (
            "the records do not answer; see that their database can be reached."
            " The pass is in its session folder, and is written down with the next one that can be."
        )
    ]

    open_.memory.answer()  # late

    assert open_.reports == [1]


def test_that_nothing_could_be_read_is_trouble_to_the_end(told: Told) -> None:
    told.memory.answer(FULL)
    unread = "the disk is full. What was played before is not known today, and stays as it was."
    assert told.diary.trouble == unread

    told.keep(1)
    told.memory.answer()

    assert (told.diary.trouble, told.trouble) == (unread, [unread])


@pytest.mark.parametrize("late", [False, True])
def test_what_could_not_be_read_is_not_written_over(told: Told, late: bool) -> None:
    if late:
        told.clock.advance(PATIENCE + 0.1)
        told.diary.tick()
        told.memory.answer(Remembered(settings={"goal": 90.0}))
    else:
        told.memory.answer(FULL)
    assert (told.opened, told.diary.remembered) == (1, Remembered())
    assert told.trouble[0].endswith(" What was played before is not known today, and stays as it was.")

    told.diary.keep_settings({"goal": 120.0})
    told.keep(1, known_of(80.0))
    ((kind, kept, _),) = told.memory.asked

    assert kind == "pass"
    assert (kept.standing, kept.curves) == (None, {})


def test_of_settings_that_change_while_some_are_written_the_last_are_written(open_: Told) -> None:
    for goal in (90.0, 95.0, 100.0):
        open_.diary.keep_settings({"goal": goal, "floor": 40.0})
    assert open_.memory.answer() == {"goal": 90.0, "floor": 40.0}
    assert open_.memory.answer() == {"goal": 100.0}
    assert open_.memory.asked == []

    open_.diary.keep_settings({"goal": 100.0, "floor": 40.0})

    assert open_.memory.asked == []


def test_settings_that_cannot_be_written_are_said_and_tried_with_the_next(open_: Told) -> None:
    open_.diary.keep_settings({"goal": 90.0})
    open_.memory.answer(FULL)
    assert open_.trouble == ["the disk is full."]

    open_.diary.keep_settings({"goal": 91.0})

    assert open_.memory.answer() == {"goal": 91.0}
