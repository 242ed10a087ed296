"""The bus of one process: order, no calls into one another, and nobody hurt by another's trouble."""

from __future__ import annotations

import logging
from collections.abc import Callable

import pytest

from coach.service.bus import LocalBus


def test_what_is_said_comes_to_all_who_subscribed_in_their_order() -> None:
    bus, heard = LocalBus(), list[tuple[str, bytes]]()
    bus.subscribe("a", lambda data: heard.append(("first", data)))
    bus.subscribe("a", lambda data: heard.append(("second", data)))
    bus.subscribe("b", lambda data: heard.append(("other", data)))

    bus.publish("a", b"1")
    bus.publish("a", b"2")

    assert heard == [("first", b"1"), ("second", b"1"), ("first", b"2"), ("second", b"2")]


def test_nothing_is_kept_for_those_who_come_later() -> None:
    bus, heard = LocalBus(), list[bytes]()
    bus.publish("a", b"early")
    bus.subscribe("a", heard.append)

    bus.publish("a", b"late")

    assert heard == [b"late"]


def test_who_has_ended_takes_nothing_more_and_may_end_again() -> None:
    bus, heard = LocalBus(), list[bytes]()
    end = bus.subscribe("a", heard.append)
    stays: list[bytes] = []
    bus.subscribe("a", stays.append)

    end()
    end()
    bus.publish("a", b"1")

    assert (heard, stays) == ([], [b"1"])


def test_one_who_subscribed_twice_can_end_one_of_the_two() -> None:
    bus, heard = LocalBus(), list[bytes]()
    end = bus.subscribe("a", heard.append)
    bus.subscribe("a", heard.append)

    end()
    end()
    bus.publish("a", b"1")

    assert heard == [b"1"]


def test_a_topic_is_wanted_as_long_as_somebody_takes_it() -> None:
    bus = LocalBus()
    assert not bus.is_wanted("a")

    end = bus.subscribe("a", lambda _: None)
    assert bus.is_wanted("a")
    assert not bus.is_wanted("b")

    end()
    assert not bus.is_wanted("a")


def test_one_who_stumbles_hurts_nobody(caplog: pytest.LogCaptureFixture) -> None:
    bus, heard = LocalBus(), list[bytes]()

    def stumble(_: bytes) -> None:
        raise RuntimeError("no")

    bus.subscribe("a", stumble)
    bus.subscribe("a", heard.append)

    with caplog.at_level(logging.ERROR):
        bus.publish("a", b"1")
    bus.publish("a", b"2")

    assert heard == [b"1", b"2"]
    assert "What was said of a could not be taken" in caplog.text


def test_an_answer_comes_after_what_was_said_before_it() -> None:
    bus, order = LocalBus(), list[str]()

    def answers(data: bytes) -> None:
        order.append(f"first {data.decode()}")
        if data == b"question":
            bus.publish("a", b"answer")
        order.append(f"first done {data.decode()}")

    bus.subscribe("a", answers)
    bus.subscribe("a", lambda data: order.append(f"second {data.decode()}"))

    bus.publish("a", b"question")

    assert order == [
        *("first question", "first done question", "second question"),
        *("first answer", "first done answer", "second answer"),
    ]


def test_one_who_is_ended_by_another_at_the_same_word_is_not_called() -> None:
    bus, heard = LocalBus(), list[bytes]()
    ends: list[Callable[[], None]] = []
    bus.subscribe("a", lambda _: ends[0]())
    ends.append(bus.subscribe("a", heard.append))

    bus.publish("a", b"1")

    assert heard == []


def test_one_who_comes_while_something_is_said_hears_the_next() -> None:
    bus, heard = LocalBus(), list[bytes]()

    def bring(data: bytes) -> None:
        if data == b"1":
            bus.subscribe("a", heard.append)

    bus.subscribe("a", bring)

    bus.publish("a", b"1")
    bus.publish("a", b"2")

    assert heard == [b"2"]
