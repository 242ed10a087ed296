"""Tunings are proposed with shares that a recount agrees with, and with a reason."""

from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coach.arranging.arrange import arrange
from coach.arranging.layout import lay_out
from coach.arranging.proposals import better_than_open_g, proposals, propose
from coach.arranging.seating import seat
from coach.errors import ArrangeError
from coach.instrument.tuning import DOUBLE_C, G_MODAL, OPEN_G, TUNINGS
from coach.tunes.chords import read_chord
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note, Tune

FOUR = Meter(4, 4)


def tune(*pitches, key="G", mode="major", chord="G", phrase=None):
    """Quarters, four to a measure; a phrase begins every so many notes."""
    measures = []
    for start in range(0, len(pitches), 4):
        notes = tuple(
            Note(Fraction(k), Fraction(1), pitch, phrase_start=(start + k) % (phrase or len(pitches)) == 0)
            for k, pitch in enumerate(pitches[start : start + 4])
        )
        chords = (ChordChange(Fraction(0), read_chord(chord, where="x")),) if not start else ()
        measures.append(Measure(len(measures) + 1, FOUR, Fraction(4), notes, chords))
    return Tune("Test", "", Key(key, mode), tuple(measures))


SONG = (55, 59, 62, 59, 60, 57, 55, 55)
MODAL = (67, 65, 62, 60, 62, 58, 55, 55)


def test_the_best_for_a_song_in_g_is_open_g_without_a_capo():
    best = proposals(tune(*SONG))[0]

    assert (best.tuning, best.key, best.capo) == (OPEN_G, Key("G"), 0)
    assert best.reason == "All notes lie on frets 0 to 5 and 75 % on open strings; the drone is the key note."


def test_a_singers_key_is_given_by_the_capo():
    found = proposals(tune(*SONG), "A")

    assert all(each.sounding_key == Key("A") for each in found)
    assert (found[0].tuning, found[0].key, found[0].capo) == (OPEN_G, Key("G"), 2)


# Common practice, no source: the tuning that players take for a modal tune on G, for a low tune in C.
def test_a_modal_tune_on_g_goes_to_g_modal_and_the_reason_says_why():
    best = proposals(tune(*MODAL, mode="dorian", chord="Gm"))[0]

    assert (best.tuning, best.key, best.capo) == (G_MODAL, Key("G", "dorian"), 0)
    assert "no third" in best.reason


def test_a_tune_down_to_the_low_c_goes_to_double_c():
    low = tune(*(48, 52, 55, 60, 64, 67, 64, 60), key="C", chord="C")
    best = proposals(low)[0]

    assert (best.tuning, best.key, best.capo, best.low) == (DOUBLE_C, Key("C"), 0, 1)


def test_every_tuning_that_holds_the_tune_is_listed_best_first():
    found = proposals(tune(*SONG))

    assert {each.tuning for each in found} == set(TUNINGS.values())
    assert [each.price for each in found] == sorted(each.price for each in found)


def on_first_frets(pitch, strings):
    """Said again here: a long string has it on frets 0 to 5, or it is the short string."""
    return pitch in strings or any(0 <= pitch - low <= 5 for low in strings[:4])


@settings(max_examples=15)
@given(st.lists(st.integers(50, 72), min_size=4, max_size=12), st.sampled_from(["G", "A", "C", "D", "F"]))
def test_the_shares_are_what_a_recount_finds(pitches, key):
    whole = tune(*pitches, key=key)
    for each in proposals(whole):
        laid = lay_out(whole, key=str(each.sounding_key), capo=each.capo, tuning=each.tuning)
        played = [note.pitch + laid.setting.shift for part in laid.played for note in part.measure.notes]
        strings = each.tuning.strings
        assert laid.setting.key == each.key
        assert each.low == sum(on_first_frets(pitch, strings) for pitch in played) / len(played)
        assert each.open == sum(pitch in strings for pitch in played) / len(played)


def test_a_key_that_is_none_is_refused():
    with pytest.raises(ArrangeError, match="is no key"):
        proposals(tune(*SONG), "H")


def test_a_melody_that_no_banjo_holds_is_refused_in_a_sentence():
    with pytest.raises(ArrangeError, match="spans 50 semitones, more than the neck holds"):
        proposals(tune(50, 100, 60, 62))


def test_a_song_that_open_g_holds_is_left_there_without_a_word():
    laid = lay_out(tune(*SONG))

    assert laid.tuning == OPEN_G
    assert not any("--tuning" in remark for remark in laid.remarks)


def test_where_another_tuning_is_clearly_better_the_remark_proposes_it():
    laid = lay_out(tune(*MODAL, mode="dorian", chord="Gm"))

    assert laid.tuning == OPEN_G
    assert sum("--tuning 'G modal'" in remark for remark in laid.remarks) == 1


@settings(max_examples=15)
@given(
    st.lists(st.integers(48, 76), min_size=4, max_size=12),
    st.sampled_from(["G", "A", "C", "D", "F"]),
    st.sampled_from(["major", "minor", "dorian", "mixolydian"]),
    st.sampled_from([None, Key("A"), Key("Bb")]),
)
def test_what_is_given_up_unseen_would_not_have_been_better(pitches, tonic, mode, wanted):
    whole = tune(*pitches, key=tonic, mode=mode)
    key = None if wanted is None else Key(wanted.tonic, mode)
    try:
        here = propose(whole, OPEN_G, seat(whole, OPEN_G, key=key))
        others = [each for each in proposals(whole, None if key is None else str(key)) if each.tuning != OPEN_G]
    except ArrangeError:
        assume(False)

    assert better_than_open_g(whole, key) == others[0]
    assert better_than_open_g(whole, key, here) == (others[0] if others[0].price + 15 <= here.price else None)


@pytest.mark.parametrize(("capo", "how"), [(0, "without a capo"), (3, "with the capo at 3")])
def test_another_key_that_a_capo_brings_about_is_told(capo, how):
    laid = lay_out(tune(*(pitch + 1 for pitch in SONG), key="Ab", chord="Ab"), capo=capo)

    assert any(remark.endswith(f" here, {how}.") for remark in laid.remarks), laid.remarks


def test_who_names_a_tuning_or_a_capo_is_not_told_of_others():
    whole = tune(*MODAL, mode="dorian", chord="Gm")

    for wish in ({"tuning": OPEN_G}, {"capo": 3}):
        assert not any("--tuning" in remark for remark in lay_out(whole, **wish).remarks)


@pytest.mark.parametrize("tuning", TUNINGS.values(), ids=TUNINGS)
def test_what_is_proposed_can_be_arranged(tuning):
    whole = tune(*MODAL, mode="dorian", chord="Gm")
    best = next(each for each in proposals(whole) if each.tuning == tuning)
    solo = arrange(whole, "beginner", key=str(best.sounding_key), capo=best.capo, tuning=tuning)

    assert (solo.tuning, solo.capo, solo.key) == (tuning, best.capo, str(best.key))


@settings(max_examples=25)
@given(
    st.lists(st.integers(55, 72), min_size=4, max_size=12),
    st.sampled_from(["G", "A", "Bb", "C", "D", "Eb", "E", "F"]),
    st.sampled_from(["major", "minor", "dorian"]),
    st.sampled_from(list(TUNINGS.values())),
)
def test_an_arrangement_takes_what_is_proposed_first_in_its_tuning(pitches, tonic, mode, tuning):
    whole = tune(*pitches, key=tonic, mode=mode)
    taken = propose(whole, tuning, seat(whole, tuning))
    assume(not taken.folds)  # where phrases are folded that spares more than a capo costs

    assert taken.price == min(each.price for each in proposals(whole) if each.tuning == tuning and not each.folds)


def test_a_better_tuning_in_another_key_is_told_with_that_key():
    laid = lay_out(tune(*(pitch + 6 for pitch in MODAL), key="C#", mode="dorian", chord="C#m"), key="G")

    assert sum("In G modal, where it sounds in G dorian, all notes" in remark for remark in laid.remarks) == 1
