"""The clock filter against exchanges whose truth is known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.service.clock import STAGES, ClockFilter, ClockMap, FakeClock


def exchange(
    filter_: ClockFilter, *, at: float, theta: float, out: float, think: float, back: float
) -> ClockMap | None:
    """One exchange of a page whose clock is ``theta`` ahead, over a way of ``out`` and ``back`` seconds."""
    t2 = at + out + theta
    return filter_.add(at, t2, t2 + think, at + out + think + back)


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


def test_exchange_with_the_least_delay_is_believed() -> None:
    pages = ClockFilter()
    exchange(pages, at=0.0, theta=7.0, out=0.3, think=0.0, back=0.01)
    exchange(pages, at=1.0, theta=7.0, out=0.01, think=0.0, back=0.01)
    exchange(pages, at=2.0, theta=7.0, out=0.01, think=0.0, back=0.9)

    assert pages.best is not None
    assert pages.best.theta == pytest.approx(7.0)
    assert pages.best.delta == pytest.approx(0.02)


def test_an_exchange_leaves_after_eight_more() -> None:
    pages = ClockFilter()
    exchange(pages, at=0.0, theta=1.0, out=0.001, think=0.0, back=0.001)
    for number in range(STAGES - 1):
        exchange(pages, at=1.0 + number, theta=2.0, out=0.1, think=0.0, back=0.1)
    assert pages.best is not None
    assert pages.best.theta == pytest.approx(1.0)

    exchange(pages, at=9.0, theta=2.0, out=0.1, think=0.0, back=0.1)

    assert pages.best.theta == pytest.approx(2.0)


@pytest.mark.parametrize("stamps", [(0.0, 5.0, 4.9, 1.0), (0.0, 5.0, 7.0, 1.0), (1.0, 5.0, 5.0, 0.5)])
def test_stamps_that_contradict_each_other_are_refused(stamps: tuple[float, float, float, float]) -> None:
    pages = ClockFilter()

    assert pages.add(*stamps) is None
    assert pages.best is None


@given(theta=st.floats(-1e6, 1e6), at=st.floats(0, 1e6))
def test_mapping_there_and_back_is_the_identity(theta: float, at: float) -> None:
    mapping = ClockMap(theta, 0.0)

    assert mapping.to_service(mapping.to_page(at)) == pytest.approx(at, abs=1e-9)


def test_fake_clock_goes_forward_only() -> None:
    clock = FakeClock(3.0)
    clock.advance(0.5)

    assert clock() == 3.5
    with pytest.raises(ValueError, match="forward only"):
        clock.advance(-0.1)
