from __future__ import annotations

from fractions import Fraction

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.takes.grid import DIVISION, TickGrid, click_tempo, microseconds_a_quarter

tempos = st.floats(20.0, 400.0)
seconds = st.floats(0.0, 5000.0)


@pytest.fixture
def changing() -> TickGrid:
    grid = TickGrid()
    grid.change(48_000, 750_000)
    grid.change(100_001, microseconds_a_quarter(93.7))
    return grid


def test_a_take_begins_at_120_quarters_a_minute() -> None:
    grid = TickGrid()

    assert (grid.seconds(24_000), grid.tempo(0)) == (0.5, 120.0)


def test_ticks_are_at_most_a_twentieth_of_a_millisecond_apart_from_50_quarters_a_minute_on() -> None:
    assert TickGrid(quarter=microseconds_a_quarter(50.0)).seconds(1) <= 0.00005


@settings(derandomize=True, deadline=None)
@given(stamp=seconds)
def test_a_stamp_on_its_tick_stays_there(stamp: float, changing_grid: TickGrid) -> None:
    snapped = changing_grid.snap(stamp)

    assert changing_grid.snap(snapped) == snapped == changing_grid.snap_down(snapped)
    assert abs(snapped - stamp) <= 0.000017
    assert changing_grid.tick(snapped) == changing_grid.tick(stamp)


@settings(derandomize=True, deadline=None)
@given(watermark=seconds, later=st.floats(0.0, 1.0))
def test_no_stamp_after_a_watermark_is_put_before_it(watermark: float, later: float, changing_grid: TickGrid) -> None:
    assert changing_grid.snap(watermark + later) >= changing_grid.snap_down(watermark)
    assert changing_grid.snap_down(watermark) <= watermark + 1e-9


@pytest.fixture(scope="session")
def changing_grid() -> TickGrid:
    grid = TickGrid()
    grid.change(48_000, 750_000)
    grid.change(100_001, microseconds_a_quarter(93.7))
    return grid


@settings(derandomize=True, deadline=None)
@given(tick=st.integers(0, 10_000_000), tempo=tempos)
def test_the_seconds_of_a_tick_are_the_float_nearest_to_the_exact_time(tick: int, tempo: float) -> None:
    grid = TickGrid()
    quarter = microseconds_a_quarter(tempo)
    grid.change(7, quarter)
    exact = Fraction(500_000 * min(tick, 7) + quarter * max(0, tick - 7), DIVISION * 1_000_000)

    assert grid.seconds(tick) == float(exact)


@pytest.mark.parametrize("tick", [0, 1, 24_000, 1_234_567])
def test_one_tempo_gives_the_seconds_that_mido_gives(tick: int) -> None:
    quarter = microseconds_a_quarter(93.7)

    assert TickGrid(quarter=quarter).seconds(tick) == pytest.approx(
        mido.tick2second(tick, DIVISION, quarter), rel=1e-12
    )


def test_a_tempo_is_kept_to_the_microsecond_a_quarter() -> None:
    assert click_tempo(80.0) == 80.0
    assert click_tempo(93.7) == pytest.approx(93.7, abs=1e-4)
    assert click_tempo(click_tempo(93.7)) == click_tempo(93.7)


@pytest.mark.parametrize("tempo", [0.0, -80.0, 3.5, 1e9])
def test_a_tempo_that_no_file_holds_is_refused(tempo: float) -> None:
    with pytest.raises(ValueError, match="tempo"):
        microseconds_a_quarter(tempo)


def test_changes_come_in_order_and_the_last_may_be_taken_back(changing: TickGrid) -> None:
    before = TickGrid()
    before.change(48_000, 750_000)
    with pytest.raises(ValueError, match="in order"):
        changing.change(99_999, 500_000)
    with pytest.raises(ValueError, match="not at tick"):
        changing.take_back(48_000)
    changing.take_back(100_001)

    assert changing.seconds(200_000) == before.seconds(200_000)


def test_a_stamp_before_the_start_is_put_on_the_start() -> None:
    assert TickGrid().snap(-1.0) == TickGrid().snap_down(-0.1) == 0.0
