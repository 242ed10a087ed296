"""The bridge between written and heard time."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.tempo import TempoMap


def test_a_quarter_at_60_lasts_a_second() -> None:
    assert TempoMap(60).seconds(Fraction(7, 2)) == 3.5


def test_bounce_moves_only_the_off_beat() -> None:
    swung = TempoMap(60, bounce=60)

    assert swung.seconds(Fraction(3)) == 3.0
    assert swung.seconds(Fraction(7, 2)) == pytest.approx(3.6)


def test_bounce_counts_pairs_from_the_end_of_a_pickup() -> None:
    swung = TempoMap(60, bounce=60, phase=Fraction(1, 2))

    assert swung.seconds(Fraction(1, 2)) == pytest.approx(0.5)
    assert swung.seconds(Fraction(1)) == pytest.approx(1.1)
    assert swung.seconds(Fraction(0)) == pytest.approx(0.1)


@given(
    tempo=st.floats(20, 400),
    origin=st.floats(-100, 1e4),
    bounce=st.integers(50, 67),
    phase=st.fractions(0, 1, max_denominator=8),
    at=st.fractions(-8, 500, max_denominator=48),
)
def test_there_and_back_is_the_identity(
    tempo: float, origin: float, bounce: int, phase: Fraction, at: Fraction
) -> None:
    tempo_map = TempoMap(tempo, origin, bounce, phase=phase)

    assert tempo_map.written(tempo_map.seconds(at)) == pytest.approx(float(at), abs=1e-6)


@pytest.mark.parametrize("fields", [{"tempo": 0}, {"tempo": 60, "bounce": 49}, {"tempo": 60, "pair": Fraction(0)}])
def test_fields_out_of_range_are_refused(fields: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="must be"):
        TempoMap(**fields)
