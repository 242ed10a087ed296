"""Back-up parts: common practice, no source; chord tones by ``music21.harmony.ChordSymbol``."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import harmony

from coach.arranging.arrangement import ChordAt
from coach.arranging.backup import back_up, vamp_shapes
from coach.arranging.files import from_json, to_json
from coach.arranging.rules import broken_rules
from coach.arranging.texture import finger_row
from coach.errors import ArrangeError
from coach.instrument.tuning import OPEN_G, TUNINGS
from coach.tunes.chords import read_chord
from coach.tunes.tune import Meter


def row(slots=8):
    return " ".join(["T30*"] + ["-"] * (slots - 1))


def pinches(part):
    """Position and frets of strings 3, 2, 1 of each pinch, counted from the first measure."""
    starts = part.starts()
    struck = {}
    for measure, pluck in part.plucks():
        struck.setdefault(starts[measure.number] + pluck.at, []).append(pluck)
    return [(at, tuple(pluck.fret for pluck in plucks)) for at, plucks in struck.items()]


@pytest.mark.parametrize(
    ("meter", "slots", "off_beats"),
    [
        ((4, 4), 8, [1, 3]),
        ((2, 2), 8, [1, 3]),
        ((2, 4), 4, [Fraction(1, 2), Fraction(3, 2)]),
        ((3, 4), 6, [1, 2]),
        ((6, 8), 6, [1, Fraction(5, 2)]),
        ((9, 8), 9, [1, Fraction(5, 2), 4]),
        ((12, 8), 12, [1, Fraction(5, 2), 4, Fraction(11, 2)]),
    ],
)
def test_the_vamp_stands_on_the_off_beats_and_is_choked(solo, meter, slots, off_beats):
    part = back_up(solo(row(slots), meter=meter), "vamp")

    assert [at for at, _ in pinches(part)] == off_beats
    assert all(pluck.length <= Fraction(1, 2) for _, pluck in part.plucks())
    assert broken_rules(part) == ()


def test_no_finger_of_the_vamp_plays_in_two_slots_in_a_row(solo):
    part = back_up(solo("T30* - -", meter=(3, 8)), "vamp")

    assert [at for at, _ in pinches(part)] == [Fraction(1, 2)]
    assert broken_rules(part) == ()


def test_a_pinch_of_the_vamp_is_thumb_index_and_middle_in_a_closed_shape(solo):
    part = back_up(solo(row()), "vamp")

    assert {(p.finger, p.string) for _, p in part.plucks()} == {("T", 3), ("I", 2), ("M", 1)}
    assert {pluck.role for _, pluck in part.plucks()} == {"pinch"}
    assert all(pluck.fret > 0 for _, pluck in part.plucks())
    assert all(measure.melody == () for measure in part.measures)


@pytest.mark.parametrize(
    ("symbol", "shapes"),
    [
        ("F", {(2, 1, 3), (5, 6, 7), (10, 10, 10)}),  # F form, D form, barre
        ("C", {(5, 5, 5), (9, 8, 10)}),
        ("D", {(2, 3, 4), (7, 7, 7)}),
    ],
)
def test_in_open_g_the_shapes_are_f_form_d_form_and_barre(symbol, shapes):
    assert set(vamp_shapes(read_chord(symbol), OPEN_G)) == shapes


@pytest.mark.parametrize("tuning", sorted(TUNINGS))
@pytest.mark.parametrize("symbol", ["G", "C", "Em", "F#m", "Caug", "Bdim", "D7", "Am7", "Csus4"])
def test_a_shape_has_tones_of_the_chord_alone_and_as_many_as_three_strings_can(tuning, symbol):
    strings = TUNINGS[tuning]
    tones = {pitch.pitchClass for pitch in harmony.ChordSymbol(symbol).pitches}

    for frets in vamp_shapes(read_chord(symbol), strings):
        sounding = {(strings.open_pitch(s) + f) % 12 for s, f in zip((3, 2, 1), frets, strict=True)}
        assert sounding <= tones
        assert len(sounding) == 3
        assert max(frets) - min(frets) <= 3


@pytest.mark.parametrize("chords", [("G", "C", "D7", "Em", "A"), ("D", "A", "D"), ("F", "Bb", "C7", "F")])
def test_the_hand_travels_as_little_as_it_can(solo, chords):
    part = back_up(solo(*[row()] * len(chords), chords=chords), "vamp")
    played = [min(frets) for _, frets in pinches(part)][::2]

    def price(lows):
        return sum(abs(low - 4) for low in lows) + 3 * sum(abs(b - a) for a, b in pairwise(lows))

    # Every way through the shapes, tried out.
    ways = product(*({min(frets) for frets in vamp_shapes(read_chord(symbol), OPEN_G)} for symbol in chords))
    assert price(played) == min(price(way) for way in ways)


def test_soft_rolls_go_over_the_usual_shapes_and_fit_the_metre(solo):
    four = back_up(solo(row(), row(), chords=("G", "C")), "rolls")
    six = back_up(solo(row(6), meter=(6, 8)), "rolls")

    assert [finger_row(measure, four.slot) for measure in four.measures] == ["TIMTMITM"] * 2
    assert finger_row(six.measures[0], six.slot) == "TIMTIM"
    assert {pluck.role for _, pluck in four.plucks()} == {"fill", "drone"}
    assert [p.fret for p in four.measures[1].plucks] == [0, 1, 2, 0, 2, 1, 0, 2]


def test_below_a_hundred_quarters_a_minute_rolls_are_played(solo):
    arrangement = solo(row())

    assert back_up(arrangement, tempo=99.9) == back_up(arrangement, "rolls")
    assert back_up(arrangement, tempo=100) == back_up(arrangement, "vamp") == back_up(arrangement)
    assert back_up(arrangement, "vamp", tempo=60) == back_up(arrangement, "vamp")


@pytest.mark.parametrize("style", ["vamp", "rolls"])
def test_a_pickup_stays_empty_and_a_chord_rings_over_barlines(solo, style):
    arrangement = solo(row(2), row(), row(), first=0, chords=("C", "C", "G"))
    bare = replace(
        arrangement, measures=tuple(replace(m, chords=m.chords if m.number != 1 else ()) for m in arrangement.measures)
    )
    part = back_up(bare, style)

    assert part.measures[0].plucks == ()
    assert part.measures[1].plucks == back_up(arrangement, style).measures[1].plucks != ()


def test_a_repeated_measure_is_told_where_it_is_one(solo):
    arrangement = solo(row(), row(), row(), chords=("G", "C", "G"))
    measures = arrangement.measures
    same = replace(arrangement, measures=(*measures[:2], replace(measures[2], same_as=1)))
    other = replace(arrangement, measures=(*measures[:2], replace(measures[2], same_as=2)))

    assert back_up(same, "vamp").measures[2].same_as == 1
    assert back_up(other, "vamp").measures[2].same_as is None


def test_a_part_is_written_and_read_like_any_solo(solo):
    part = back_up(solo(row(), row(), chords=("G", "D7")), "vamp")

    assert from_json(to_json(part), "part.json") == part
    assert part.title == "Tune (back-up)"


def test_without_chords_there_is_nothing_to_back_up(solo):
    arrangement = solo(row())
    bare = replace(arrangement, measures=(replace(arrangement.measures[0], chords=()),))

    with pytest.raises(ArrangeError, match="no chords to back up"):
        back_up(bare)


def test_a_chord_that_is_named_in_the_pickup_holds_for_the_tune(solo):
    arrangement = solo("- -", row(), first=0)
    pickup, measure = arrangement.measures
    part = back_up(replace(arrangement, measures=(pickup, replace(measure, chords=()))), "vamp")

    assert not part.measures[0].plucks
    assert {pluck.pitch % 12 for pluck in part.measures[1].plucks} <= {7, 11, 2}
    assert part.measures[1].plucks


METERS = [(2, 4), (3, 4), (4, 4), (5, 4), (2, 2), (3, 2), (6, 8), (9, 8), (12, 8), (6, 4)]
SYMBOLS = ("G", "C", "D7", "Em", "B7", "C#m", "Eb", "G/B", "Bb5", "Gdim")


@settings(max_examples=30)
@given(
    st.lists(
        st.tuples(st.sampled_from(METERS), st.lists(st.sampled_from(SYMBOLS), max_size=2)), min_size=1, max_size=5
    ).filter(lambda rows: any(symbols for _, symbols in rows)),
    st.sampled_from(["vamp", "rolls"]),
    st.sampled_from([Fraction(1, 2), Fraction(1, 4)]),
    st.sampled_from(["open G", "double C"]),
    st.integers(0, 11),
)
def test_no_part_breaks_a_rule_of_the_hands(solo, rows, style, slot, tuning, capo):
    plain = solo(row())
    measures = tuple(
        replace(
            plain.measures[0],
            number=number,
            meter=Meter(*meter),
            length=Meter(*meter).length,
            chords=tuple(ChordAt(Fraction(at), read_chord(symbol)) for at, symbol in enumerate(symbols)),
            melody=(),
            plucks=(),
        )
        for number, (meter, symbols) in enumerate(rows, start=1)
    )
    part = back_up(replace(plain, measures=measures, slot=slot, tuning=TUNINGS[tuning], capo=capo), style)

    assert broken_rules(part) == ()
