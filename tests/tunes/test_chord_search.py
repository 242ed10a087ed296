"""Chords that are found for a melody without any."""

import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.tunes import chord_costs
from coach.tunes.chord_search import beats_of, find_chords, price_of, roles_of
from coach.tunes.chords import QUALITIES
from coach.tunes.keys import MODES, Key, spell_near
from coach.tunes.tune import Measure, Meter, Note, Tune

Read = Callable[..., Tune]
METERS = [Meter(4, 4), Meter(3, 4), Meter(6, 8), Meter(2, 4), Meter(2, 2)]


def symbols(tune: Tune) -> list[list[tuple[object, str]]]:
    return [[(change.at, change.chord.symbol) for change in measure.chords] for measure in tune.measures]


def roots(measures: tuple[Measure, ...]) -> list[tuple[int, Fraction, int, str]]:
    return [
        (measure.number, change.at, change.chord.root_pc, change.chord.quality)
        for measure in measures
        for change in measure.chords
    ]


@st.composite
def melodies(draw: st.DrawFn, most: int = 6) -> tuple[Measure, ...]:
    """Measures of notes of a twelfth of a quarter and more, some held over the barline, some rests, some signs."""
    meter = draw(st.sampled_from(METERS))
    measures: list[Measure] = []
    for number in range(draw(st.integers(0, 1)), draw(st.integers(1, most)) + 1):
        length = meter.length if number else meter.beat
        at, notes = Fraction(0), []
        while at < length:
            note = draw(st.sampled_from([Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1), Fraction(2)]))
            if draw(st.integers(0, 5)):
                notes.append(Note(at, note, draw(st.integers(55, 76)), phrase_start=draw(st.integers(0, 7)) == 0))
            at += note
        double = draw(st.integers(0, 4)) == 0
        measures.append(Measure(number, meter, length, tuple(notes), double_bar=double))
    return tuple(measures)


KEYS = st.builds(Key, st.sampled_from(("C", "G", "D", "A", "F", "Bb", "E")), st.sampled_from(sorted(MODES)))


def test_the_three_chords_of_a_key_are_found_where_the_melody_spells_them(abc: Read) -> None:
    tune = abc("C E G E | F A F2 | D G2 B, | c4 |")
    assert symbols(tune) == [[(0, "C")], [(0, "F")], [(0, "G7")], [(0, "C")]]
    assert tune.remarks == ("The source has no chords: they were found from the melody, its accents and its phrases.",)


def test_minor_keys_have_minor_chords_and_a_dominant_with_its_leading_tone(abc: Read) -> None:
    tune = abc("A C E2 | D F A2 | E ^G B2 | A4 |", key="Am")
    assert symbols(tune) == [[(0, "Am")], [(0, "Dm")], [(0, "E7")], [(0, "Am")]]


@pytest.mark.parametrize(
    ("key", "music", "chords"),
    [
        ("Dmix", "D F A2 | C E G2 | D F A2 | D4 |", {"D", "C"}),
        ("Ddor", "D F A2 | C E G2 | D F A2 | D4 |", {"Dm", "C"}),
        ("Ephr", "E G B2 | F A c2 | E G B2 | E4 |", {"Em", "F"}),
        ("G", "G B d2 | A ^c e2 | D F A d | G4 |", {"G", "A", "A7", "D", "D7"}),
        ("C", "C E G2 | A ^F D2 | G B d2 | C4 |", {"C", "D7", "G", "D"}),
    ],
)
def test_modes_and_borrowed_tones_find_their_own_chords(abc: Read, key: str, music: str, chords: set[str]) -> None:
    found = {symbol for row in symbols(abc(music, key=key)) for _, symbol in row}
    assert found <= chords
    assert len(found) >= 2


def test_a_chord_may_change_in_the_middle_of_a_measure(abc: Read) -> None:
    tune = abc("C E G2 | F A B d | c2 z2 |")
    assert [len(row) for row in symbols(tune)] == [1, 2, 1]
    assert symbols(tune)[1][1][0] == 2


def test_a_run_of_passing_notes_keeps_the_chord(abc: Read) -> None:
    assert symbols(abc("C2 G2 | C/D/E/F/ G2 | c2 G2 | C4 |")) == [[(0, "C")], [], [], []]


def test_notes_held_over_the_barline_count_where_they_sound(abc: Read) -> None:
    held, struck = abc("C2 B2- | B4 | G4 | C4 |"), abc("C2 B2 | z4 | G4 | C4 |")
    silent, sounding = ([beat.prices for beat in beats_of(tune.measures, tune.key)][4] for tune in (struck, held))
    names = [name for name, _ in roles_of(held.key)]
    dearer = {name for name, before, after in zip(names, silent, sounding, strict=True) if after > before + 1000}
    assert {"I", "IV", "ii"} <= dearer
    assert not {"V", "V7", "iii"} & dearer


def test_the_tune_ends_on_the_home_chord(abc: Read) -> None:
    assert symbols(abc("C E G2 | F A F2 | A2 c2 |"))[-1] == [(2, "C")]
    assert symbols(abc("C E G2 | F A F2 | F4 | z4 |"))[-1] == [(0, "C")]


def test_no_chord_is_made_up_for_a_silent_measure(abc: Read) -> None:
    assert symbols(abc("C E G E | z4 | C E G2 | C4 |")) == [[(0, "C")], [], [], []]


def test_a_phrase_may_stop_on_the_dominant_and_the_tune_goes_home(abc: Read) -> None:
    tune = abc("C E G E | F A c A | G E D C | D4 |\nC E G E | F A c A | G E D B, | C4 |")
    rows = symbols(tune)
    assert rows[3][0][1] in {"G", "G7"}
    assert rows[-1] == [(0, "C")]


def test_a_pickup_has_no_chord(abc: Read) -> None:
    assert symbols(abc("G | C4 | C4 |")) == [[], [(0, "C")], []]


def test_the_first_full_measure_has_a_chord_even_where_it_is_silent(abc: Read) -> None:
    assert symbols(abc("z4 | C4 | C4 |"))[0] == [(0, "C")]


def test_the_key_in_force_chooses_the_chords(abc: Read) -> None:
    tune = abc("C E G E | C E C2 | [K:D] D F A F | D4 |")
    assert symbols(tune) == [[(0, "C")], [], [(0, "D")], []]


def test_finding_chords_drops_those_that_were_there(abc: Read) -> None:
    tune = abc('"Am"C4 | "G"C4 |')
    assert symbols(Tune("", "", tune.key, find_chords(tune.measures, tune.key))) == [[(0, "C")], []]


def test_no_measures_have_no_chords() -> None:
    assert find_chords((), Key("C")) == ()


def test_the_second_part_of_a_split_measure_is_no_downbeat(abc: Read) -> None:
    tune = abc("C E G E | C E :: G E | C4 |")
    places = [(beat.measure, beat.at, beat.place) for beat in beats_of(tune.measures, tune.key)]
    assert (2, 0, "half") in places
    assert (3, 0, "downbeat") in places


@settings(max_examples=50)
@given(melodies(), KEYS)
def test_every_change_lies_on_a_beat_and_is_a_change(measures: tuple[Measure, ...], key: Key) -> None:
    found = find_chords(measures, key)
    chords = [change for measure in found for change in measure.chords]
    assert all(change.at % measure.meter.beat == 0 for measure in found for change in measure.chords)
    assert all(before.chord != after.chord for before, after in pairwise(chords))
    assert all(not measure.chords for measure in found if measure.number == 0)
    full = [measure for measure in found if measure.number]
    assert not full or full[0].chords[0].at == 0
    assert tuple(replace(measure, chords=()) for measure in found) == measures


@settings(max_examples=50)
@given(melodies(), KEYS, st.integers(-6, 6))
def test_moving_tune_and_key_moves_the_chords(measures: tuple[Measure, ...], key: Key, semitones: int) -> None:
    moved = tuple(
        replace(measure, notes=tuple(replace(note, pitch=note.pitch + semitones) for note in measure.notes))
        for measure in measures
    )
    new_key = Key(spell_near(key.tonic_pc + semitones, 0), key.mode)
    expected = [(n, at, (pc + semitones) % 12, quality) for n, at, pc, quality in roots(find_chords(measures, key))]
    assert roots(find_chords(moved, new_key)) == expected


@settings(max_examples=40)
@given(melodies(most=2), KEYS)
def test_no_row_of_chords_costs_less_than_the_one_found(measures: tuple[Measure, ...], key: Key) -> None:
    # All rows are tried over the first beats; a row of more is found the same way.
    beats = beats_of(measures, key)[:3]
    names = [chord for _, chord in roles_of(key)]
    found = find_row(beats)
    every = product(range(len(names)), repeat=len(beats))
    assert price_of(beats, found) == min(price_of(beats, row) for row in every)


def find_row(beats: tuple[object, ...]) -> list[int]:
    from coach.tunes import chord_search

    return chord_search._cheapest(beats)


def test_a_change_of_key_is_searched_exactly_too(abc: Read) -> None:
    tune = abc("C2 E2 | [K:Am] A2 E2 |", fields="M:2/2\nL:1/4\n")
    beats = beats_of(tune.measures, tune.key)
    sizes = [range(len(roles_of(beat.key))) for beat in beats]
    assert {beat.key for beat in beats} == {Key("C"), Key("A", "minor")}
    assert price_of(beats, find_row(beats)) == min(price_of(beats, row) for row in product(*sizes))


def test_every_row_of_the_table_names_chords_of_a_mode() -> None:
    named = {name for roles in chord_costs.ROLES.values() for name in roles}
    assert set(chord_costs.ROLES) == set(MODES)
    assert {name for step in chord_costs.STEPS for name in step} <= named
    assert {quality for roles in chord_costs.ROLES.values() for _, quality in roles.values()} <= set(chord_costs.TONES)
    assert all(len(prices) == 12 for prices in chord_costs.TONES.values())


@pytest.mark.parametrize("quality", sorted(chord_costs.TONES))
def test_the_tones_of_a_chord_cost_less_than_others(quality: str) -> None:
    prices = chord_costs.TONES[quality]
    own = QUALITIES[quality][0]
    assert max(prices[step] for step in own) < min(price for step, price in enumerate(prices) if step not in own)


def test_each_mode_s_home_chord_stands_first() -> None:
    for mode in MODES:
        name, chord = roles_of(Key("G", mode))[0]
        assert (name, chord.symbol) == (("i", "Gm") if Key("G", mode).minor else ("I", "G"))


def test_steps_that_are_named_cost_no_more_than_the_others() -> None:
    # The search tries a step without a price of its own from the cheapest chord alone.
    assert max(chord_costs.STEPS.values()) <= chord_costs.OTHER_STEP


def test_thirty_two_measures_take_a_few_milliseconds(abc: Read) -> None:
    tune = abc("C/D/E/F/ G/A/B/c/ | " * 32, fields="M:2/4\nL:1/4\n")
    begun = time.process_time()
    find_chords(tune.measures, tune.key)
    # Ten times what it takes on a slow machine.
    assert time.process_time() - begun < 0.1
