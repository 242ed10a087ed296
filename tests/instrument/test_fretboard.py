import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.instrument.fretboard import Place, fifth_string_place, is_fret, pitch_at, places
from coach.instrument.tuning import OPEN_G, TUNINGS

tunings = st.sampled_from(sorted(TUNINGS.values(), key=lambda tuning: tuning.name))


@pytest.mark.parametrize(
    ("one", "other"),
    # Letters SEEN in two published tuning pages, pitches DERIVED by equal temperament.
    [((4, 5), (3, 0)), ((3, 4), (2, 0)), ((2, 3), (1, 0)), ((1, 5), (5, 0))],
)
def test_same_pitch_in_two_places(one, other):
    assert pitch_at(OPEN_G, *one) == pitch_at(OPEN_G, *other)


@pytest.mark.parametrize(("fret", "pitch"), [(0, 67), (6, 68), (7, 69), (10, 72), (17, 79), (22, 84)])
def test_fifth_string_counts_from_its_own_nut_at_fret_five(fret, pitch):
    assert pitch_at(OPEN_G, 5, fret) == pitch


@pytest.mark.parametrize("fret", [1, 2, 3, 4, 5])
def test_fifth_string_has_no_frets_one_to_five(fret):
    assert not is_fret(5, fret)
    with pytest.raises(ValueError, match="string 5 has no fret"):
        pitch_at(OPEN_G, 5, fret)


@pytest.mark.parametrize(("capo", "fret", "there"), [(0, 22, True), (0, 23, False), (2, 20, True), (2, 21, False)])
def test_frets_run_to_twenty_two_from_the_nut(capo, fret, there):
    assert is_fret(1, fret, capo=capo) is there


@pytest.mark.parametrize("string", [0, 6, -1])
def test_there_are_five_strings(string):
    assert not is_fret(string, 0)


@pytest.mark.parametrize("string", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("fret", [0, 7])
def test_a_capo_raises_every_string(string, fret):
    assert pitch_at(OPEN_G, string, fret, capo=2) == pitch_at(OPEN_G, string, fret) + 2


def test_places_come_lowest_fret_first():
    assert places(OPEN_G, 67, highest_fret=12) == (Place(5, 0), Place(1, 5), Place(2, 8), Place(3, 12))


def test_places_of_a_pitch_below_the_lowest_string_are_none():
    assert places(OPEN_G, 49) == ()


def test_the_range_of_open_g_is_fifty_to_eighty_four():
    # with 22 frets the first string reaches 84 (DERIVED).
    assert [pitch for pitch in range(128) if places(OPEN_G, pitch)] == list(range(50, 85))


@given(tunings, st.integers(0, 127), st.integers(0, 11))
def test_every_place_of_a_pitch_sounds_it_and_none_is_left_out(tuning, pitch, capo):
    found = places(tuning, pitch, capo=capo)

    assert set(found) == {
        Place(string, fret)
        for string in range(1, 6)
        for fret in range(23)
        if is_fret(string, fret, capo=capo) and pitch_at(tuning, string, fret, capo) == pitch
    }


@pytest.mark.parametrize(
    ("capo", "sentence"),
    [
        (0, ""),
        (1, "Capo at fret 1, fifth string tuned up 1 semitone."),
        (2, "Capo at fret 2, fifth string under the spike at fret 7."),
        (3, "Capo at fret 3, fifth string under the spike at fret 7 and tuned up 1 semitone."),
        (4, "Capo at fret 4, fifth string under the spike at fret 9."),
        (7, "Capo at fret 7, fifth string under the spike at fret 10 and tuned up 2 semitones."),
    ],
)
def test_the_sheet_says_where_the_fifth_string_goes(capo, sentence):
    assert fifth_string_place(capo) == sentence
