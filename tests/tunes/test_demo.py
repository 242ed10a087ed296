"""The demo tunes."""

from fractions import Fraction

import pytest

from coach.errors import TuneError
from coach.tunes.demo import DEMO_TUNES, demo_bytes, demo_tune
from coach.tunes.played import written_out
from coach.tunes.tune import Meter


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_each_has_chords_words_and_phrases_and_needs_no_remark(name: str) -> None:
    tune = demo_tune(name)
    notes = [note for measure in tune.measures for note in measure.notes]
    assert tune.title == DEMO_TUNES[name]
    assert tune.id.startswith(f"{name}-")
    assert "composed for this project" in tune.rights
    assert tune.remarks == ()
    assert all(note.lyric for note in notes)
    assert sum(note.phrase_start for note in notes) >= 4
    assert sum(bool(measure.chords) for measure in tune.measures) >= 8


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_each_fits_a_voice_and_fills_its_measures(name: str) -> None:
    tune = demo_tune(name)
    pitches = [note.pitch for measure in tune.measures for note in measure.notes]
    assert max(pitches) - min(pitches) <= 14
    full = tune.measures[1:-1]
    assert all(measure.length == measure.meter.length for measure in full)


def test_metres_keys_pickup_and_endings_are_shown_among_them() -> None:
    tunes = {name: demo_tune(name) for name in DEMO_TUNES}
    assert {tune.measures[0].meter for tune in tunes.values()} == {Meter(4, 4), Meter(2, 4), Meter(3, 4)}
    assert {str(tune.key) for tune in tunes.values()} == {"G major", "A major", "C major", "D major"}
    assert [name for name, tune in tunes.items() if tune.measures[0].number == 0] == ["lamps-on-the-water"]
    assert [name for name, tune in tunes.items() if any(m.endings for m in tune.measures)] == ["turn-the-barrow"]


def test_the_tune_with_endings_is_written_out() -> None:
    played = written_out(demo_tune("turn-the-barrow"))
    assert [one.source_measure for one in played] == [*range(1, 9), *range(1, 8), *range(9, 18)]
    assert sum((one.measure.length for one in played), Fraction(0)) == 48


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(TuneError, match="there is no demo tune 'x'; choose one of mill-lane"):
        demo_bytes("x")
