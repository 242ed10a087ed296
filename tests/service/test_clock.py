"""The clock filter against exchanges whose truth is known."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.service.clock import EVIDENCE, FASTEST, WINDOW, ClockFilter, ClockMap, Exchange, FakeClock

SOON, SLOWLY = 0.15, 3.0
PASS = 120.0


def exchange(
    filter_: ClockFilter, *, at: float, theta: float, out: float, think: float, back: float
) -> Exchange | None:
    """One exchange of a page whose clock is ``theta`` ahead, over a way of ``out`` and ``back`` seconds."""
    t2 = at + out + theta
    return filter_.add(at, t2, t2 + think, at + out + think + back)


class Link:
    """A page whose clock drifts, and the way to it.

    Args:
        drift: of its clock, as a share.
        out, back: the least seconds of the way there and back.
        jitter: seconds that may be added to either.
        stalls: how often a way stalls for 200 to 600 ms, as a share.
    """

    def __init__(self, *, drift: float, out: float, back: float, jitter: float, stalls: float, seed: int) -> None:
        self.filter = ClockFilter()
        self._rate, self._out, self._back = drift, out, back
        self._jitter, self._stalls = jitter, stalls
        self._random = random.Random(seed)

    def page(self, seconds: float) -> float:
        """The page's clock, in truth."""
        return 5000.0 + seconds * (1.0 + self._rate)

    def exchanges(self, seconds: float) -> Iterator[float]:
        """Exchanges for so long, quickly at first; tells when each was over."""
        at, count = 1000.0, 0
        while at < 1000.0 + seconds:
            out, back = self._way(self._out), self._way(self._back)
            came = self.page(at + out)
            assert self.filter.add(at, came, came, at + out + back) is not None
            yield at + out + back
            count += 1
            at += SOON if count < 8 else SLOWLY

    def error(self, mapping: ClockMap, seconds: float) -> float:
        """By how much a mapping is wrong at a time, in seconds."""
        return abs(mapping.to_service(self.page(seconds)) - seconds)

    def _way(self, least: float) -> float:
        stall = self._random.uniform(0.2, 0.6) if self._random.random() < self._stalls else 0.0
        return least + self._random.uniform(0.0, self._jitter) + stall


def test_worked_example_of_the_four_stamps() -> None:
    # RFC 5905, section 8, by hand: t1=10, t2=110.3, t3=110.4, t4=10.5: theta = (100.3 + 99.9) / 2, delta = 0.5 - 0.1.
    found = ClockFilter().add(10.0, 110.3, 110.4, 10.5)

    assert found is not None
    assert found.theta == pytest.approx(100.1)
    assert found.delta == pytest.approx(0.4)


@given(
    theta=st.floats(-1e6, 1e6),
    out=st.floats(0, 2),
    back=st.floats(0, 2),
    think=st.floats(0, 1),
)
def test_error_is_at_most_half_the_delay(theta: float, out: float, back: float, think: float) -> None:
    found = exchange(ClockFilter(), at=5.0, theta=theta, out=out, think=think, back=back)

    if found is not None:  # rounding may make a delay of zero negative, which is refused
        assert abs(found.theta - theta) <= found.delta / 2 + 1e-6


def test_least_way_there_and_least_way_back_are_believed() -> None:
    pages = ClockFilter()
    exchange(pages, at=0.0, theta=7.0, out=0.3, think=0.0, back=0.01)
    exchange(pages, at=0.1, theta=7.0, out=0.01, think=0.0, back=0.5)

    assert pages.best is not None
    assert pages.best.theta == pytest.approx(7.0, abs=1e-3)
    assert pages.best.delta == pytest.approx(0.02, abs=1e-3)


@settings(max_examples=40)
@given(
    drift=st.floats(-200e-6, 200e-6),
    out=st.floats(0.0005, 0.3),
    back=st.floats(0.0005, 0.3),
    jitter=st.floats(0, 0.08),
    stalls=st.floats(0, 0.2),
    seed=st.integers(0, 2**32),
)
def test_a_drifting_clock_is_never_further_off_than_is_told(
    drift: float, out: float, back: float, jitter: float, stalls: float, seed: int
) -> None:
    link = Link(drift=drift, out=out, back=back, jitter=jitter, stalls=stalls, seed=seed)
    for count, now in enumerate(link.exchanges(400.0)):
        if count % 40 == 7:
            best = link.filter.best
            assert best is not None
            assert link.error(best, now) <= best.delta / 2 + 0.001
            assert link.error(best, now + PASS) <= best.error(now + PASS)


@pytest.mark.parametrize("drift", [-200e-6, 0.0, 200e-6])
@pytest.mark.parametrize(
    ("way", "most"),
    [
        ({"out": 0.001, "back": 0.001, "jitter": 0.001, "stalls": 0.0}, 0.0015),
        ({"out": 0.15, "back": 0.15, "jitter": 0.08, "stalls": 0.02}, 0.025),
    ],
)
def test_over_an_hour_a_pass_stays_on_the_clock_of_the_page(drift: float, way: dict[str, float], most: float) -> None:
    link = Link(drift=drift, seed=1, **way)
    worst = told = 0.0
    for count, now in enumerate(link.exchanges(3600.0)):
        if count % 50 == 49 and now > 1000.0 + WINDOW:
            best = link.filter.best
            assert best is not None
            worst = max(worst, link.error(best, now), link.error(best, now + PASS))
            told = max(told, best.delta / 2)
            assert link.error(best, now) < best.delta / 2 + 0.001

    # Without the drift two minutes would cost 24 ms, and each minute between two good exchanges 12 ms.
    assert worst < most
    assert told < way["out"] + way["jitter"] / 2 + 0.001


def test_nothing_is_said_of_a_drift_before_there_is_evidence() -> None:
    link = Link(drift=100e-6, out=0.001, back=0.001, jitter=0.0, stalls=0.0, seed=1)
    for now in link.exchanges(EVIDENCE + 10.0):
        best = link.filter.best
        assert best is not None
        if now < 1000.0 + EVIDENCE:
            assert (best.rate, best.doubt) == (0.0, FASTEST)

    best = link.filter.best
    assert best is not None
    assert best.rate == pytest.approx(100e-6, abs=1e-6)
    assert best.doubt < FASTEST


def test_where_ways_differ_too_much_to_tell_no_drift_is_believed() -> None:
    link = Link(drift=0.0, out=0.1, back=0.1, jitter=0.5, stalls=0.0, seed=3)
    for _ in link.exchanges(EVIDENCE + 10.0):
        pass

    assert link.filter.best is not None
    assert link.filter.best.rate == 0.0


def test_a_clock_that_stood_still_is_met_anew() -> None:
    pages = ClockFilter()
    for count in range(50):
        exchange(pages, at=3.0 * count, theta=9.0, out=0.01, think=0.0, back=0.01)
    exchange(pages, at=200.0, theta=-40.0, out=0.01, think=0.0, back=0.01)  # the machine slept for a while

    assert pages.best is not None
    assert pages.best.theta == pytest.approx(-40.0)


def test_the_mapping_is_worked_out_once_for_each_exchange() -> None:
    """It is asked for with each note that is told to pages."""
    link = Link(drift=80e-6, out=0.01, back=0.01, jitter=0.005, stalls=0.0, seed=1)
    for over in link.exchanges(300.0):
        mapping = link.filter.best
        assert mapping is not None
        assert mapping.at == over
        assert link.filter.best is mapping


def test_old_exchanges_are_forgotten() -> None:
    pages = ClockFilter()
    exchange(pages, at=0.0, theta=1.1, out=0.01, think=0.0, back=0.01)
    exchange(pages, at=WINDOW - 3.0, theta=1.1, out=0.01, think=0.0, back=2.0)
    assert pages.best is not None
    assert pages.best.delta < 1.0  # what is ten minutes old says something still

    exchange(pages, at=WINDOW + 3.0, theta=1.1, out=0.01, think=0.0, back=2.0)

    assert pages.best.delta > 1.9


@pytest.mark.parametrize("stamps", [(0.0, 5.0, 4.9, 1.0), (0.0, 5.0, 7.0, 1.0), (1.0, 5.0, 5.0, 0.5)])
def test_stamps_that_contradict_each_other_are_refused(stamps: tuple[float, float, float, float]) -> None:
    pages = ClockFilter()

    assert pages.add(*stamps) is None
    assert pages.best is None
    assert pages.is_empty
    assert pages.latest is None


@given(theta=st.floats(-1e6, 1e6), at=st.floats(0, 1e6), rate=st.floats(-500e-6, 500e-6), made=st.floats(0, 1e6))
def test_mapping_there_and_back_is_the_identity(theta: float, at: float, rate: float, made: float) -> None:
    mapping = ClockMap(theta, 0.0, made, rate)

    assert mapping.to_service(mapping.to_page(at)) == pytest.approx(at, abs=1e-9)


def test_fake_clock_goes_forward_only() -> None:
    clock = FakeClock(3.0)
    clock.advance(0.5)

    assert clock() == 3.5
    with pytest.raises(ValueError, match="forward only"):
        clock.advance(-0.1)
