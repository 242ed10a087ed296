"""Endings: common practice, no source; chord tones by pitch arithmetic."""

from fractions import Fraction

import pytest

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt
from coach.arranging.chord_rolls import root_place
from coach.arranging.endings import ENDINGS, endings
from coach.arranging.rules import broken_rules
from coach.arranging.touches import written
from coach.instrument.tuning import OPEN_G, TUNINGS
from coach.tunes.chords import read_chord
from coach.tunes.tune import Meter

METERS = [(4, 4), (2, 2), (2, 4), (3, 4), (6, 8), (9, 8), (12, 8), (5, 4), (3, 8)]
HOMES = [("open G", s) for s in ("G", "C", "D", "Em", "Am", "Gm", "F", "B")]
HOMES += [("double C", "C"), ("drop C", "C"), ("open D", "D"), ("G modal", "Gm"), ("open D", "Bm")]


def played(pair, meter, tuning, home, tier):
    """The ending as a solo of its own."""
    length = Meter(*meter).length
    measures = tuple(
        ArrangedMeasure(
            number, number, Meter(*meter), length, tier, (ChordAt(Fraction(0), home),), (),
            written(number, touches, length, tuning, 0),
        )
        for number, touches in enumerate(pair, start=1)
    )  # fmt: skip
    slot = Fraction(1, 4) if meter == (3, 8) else Fraction(1, 2)
    return Arrangement("e", "E", "", tier, "G major", None, 0, Meter(*meter), slot, 1, 50, tuning, (), measures)


@pytest.mark.parametrize("tier", ["beginner", "advanced"])
@pytest.mark.parametrize(("name", "symbol"), HOMES)
@pytest.mark.parametrize("meter", METERS)
def test_every_ending_can_be_played_and_closes_on_the_home_chord(meter, name, symbol, tier):
    tuning, home = TUNINGS[name], read_chord(symbol)
    found = list(endings(Meter(*meter), tuning, home, tier))

    assert found
    for pair in found:
        solo = played(pair, meter, tuning, home, tier)
        assert broken_rules(solo) == ()
        last = max(pluck.at for pluck in solo.measures[1].plucks)
        close = [pluck for pluck in solo.measures[1].plucks if pluck.at == last]
        assert {pluck.role for pluck in close} == {"pinch"}
        assert {pluck.pitch % 12 for pluck in close} <= home.pitch_classes
        assert all(last + pluck.length == solo.measures[1].length for pluck in close)


@pytest.mark.parametrize(("name", "symbol"), HOMES)
def test_the_last_pinch_has_the_root_at_the_bottom(name, symbol):
    tuning, home = TUNINGS[name], read_chord(symbol)

    for _, second in endings(Meter(4, 4), tuning, home, "intermediate"):
        at = max(touch.at for touch in second)
        bottom = max((touch for touch in second if touch.at == at), key=lambda touch: touch.string)
        assert (tuning.open_pitch(bottom.string) + bottom.fret) % 12 == home.root_pc


@pytest.mark.parametrize(
    ("name", "symbol", "place"),
    [
        ("open G", "G", (3, 0)),
        ("open G", "C", (2, 1)),
        ("open G", "D", (4, 0)),
        ("open G", "Em", (4, 2)),
        ("G modal", "Gm", (3, 0)),  # its shape has no root on these strings: the open string
    ],
)
def test_the_root_lies_where_the_thumb_finds_it(name, symbol, place):
    assert root_place(read_chord(symbol), TUNINGS[name]) == place


def test_a_beginner_gets_beats_and_the_others_what_runs():
    home = read_chord("G")
    plain = next(endings(Meter(4, 4), OPEN_G, home, "beginner"))
    busy = next(endings(Meter(4, 4), OPEN_G, home, "advanced"))

    assert all(touch.at.denominator == 1 for touch in plain[0])
    assert {touch.technique for touch in busy[0]} == {"pick", "hammer-on", "pull-off"}
    assert len(plain[0]) < len(busy[0])


def test_a_row_fills_both_measures_of_its_metre():
    for ending in ENDINGS:
        for meter in ending.meters.split():
            count, unit = map(int, meter.split("/"))
            words = {len(row.split()) for row in (ending.first, ending.second)}
            assert words == {count if unit == 8 else 8 * count // unit}
