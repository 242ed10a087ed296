"""A tune is laid out on its grid, and what was decided is said in a sentence each."""

from fractions import Fraction

import pytest

from coach.arranging.arrange import arrange, arrange_all
from coach.arranging.layout import lay_out
from coach.arranging.rules import broken_rules
from coach.errors import ArrangeError
from coach.tunes.keys import Key
from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Tune

HALF, QUARTER = Fraction(1, 2), Fraction(1, 4)


def tune(music, *, meter="4/4", unit="1/4", key="G"):
    """An ABC tune."""
    return read_tune_bytes(f"X:1\nT:Test\nM:{meter}\nL:{unit}\nK:{key}\n{music}\n".encode(), "test.abc")


def says(laid, start):
    return [remark for remark in laid.remarks if remark.startswith(start)]


def test_a_song_in_quarters_needs_no_word_about_its_grid():
    laid = lay_out(tune("G A B d | d2 B2 | A G A B | G4 |]"))

    assert set(laid.grid.slots) == {HALF}
    assert not any(says(laid, start) for start in ("Written", "The melody", "One melody", "Phrase", "Filled", "In "))


@pytest.mark.parametrize(
    ("music", "meter", "remark", "notated"),
    [
        ("GABd|dBAG|", "2/4", "Written out at twice the length: the tune's eighths are quarters here.", "2/2"),
        ("G4A4B4d4|d8G8|", "4/2", "Written out at half the length: the tune's half notes are quarters here.", "4/4"),
        (
            "G8A8B8d8|d16G16|",
            "4/1",
            "Written out at a quarter of the length: the tune's whole notes are quarters here.",
            "4/4",
        ),
    ],
)
def test_another_length_of_notes_is_said(music, meter, remark, notated):
    laid = lay_out(tune(music, meter=meter, unit="1/8"))

    assert remark in laid.remarks
    assert {str(each) for each in laid.grid.meters} == {notated}
    assert set(laid.grid.slots) == {HALF}


def test_notes_between_the_slots_are_counted_in_one_sentence():
    laid = lay_out(tune("G A B d | G A B d | (3GAB d2 | G A B d | d (3BAG A2 | G4 |]"))

    assert says(laid, "4 melody notes") == [
        "4 melody notes lie between the slots and go to the slots nearest by ear, the first in measure 3."
    ]


def test_a_single_note_between_the_slots_is_said_with_its_measure():
    laid = lay_out(tune("G A B d | " * 4 + "d3/4B/4 d B G | G4 |]"))

    assert says(laid, "One melody note lies") == [
        "One melody note lies between the slots and goes to the slot nearest by ear, in measure 5."
    ]


def test_another_grid_in_a_part_of_the_tune_is_said():
    laid = lay_out(tune("G A B d | " * 8 + "[M:3/4] G/A/B/d/B/A/ | " * 3 + "G/A/B/d/B/A/ |]"))

    assert says(laid, "The melody moves") == [
        "The melody moves in other notes in measures 9 to 12: so do the rolls there."
    ]
    assert laid.grid.slots == (HALF,) * 8 + (QUARTER,) * 4


def test_where_the_melody_is_too_dense_is_said():
    laid = lay_out(tune("G4 B4 | " * 7 + "G4 B4 || " + "GABd dBAG | " * 12, meter="2/2", unit="1/8"))

    assert says(laid, "The melody is too dense") == [
        "The melody is too dense for rolls in measures 9 to 20: the solo keeps its strong notes there."
    ]


def test_a_measure_with_a_torn_tuplet_is_filled_up_to_a_slot():
    laid = lay_out(tune("G A B d | d B (3GAB- | B A B c | d4 |]"))

    assert "Filled up to a whole number of slots: measure 2." not in laid.remarks  # 4 quarters: the triplet is whole
    torn = lay_out(tune("G A B d | d B (3:2:2GA | G A B c | d4 |]"))
    assert "Filled up to a whole number of slots: measure 2." in torn.remarks
    assert torn.played[1].measure.length == Fraction(7, 2)
    assert set(torn.grid.slots) == {HALF}


def test_a_grace_reaches_the_grid_at_the_pitch_of_the_neck():
    laid = lay_out(tune("{c}B A {A}G2 | B A G2 | G4 |]", key="G"))
    notes = [note for measure in laid.grid.measures for note in measure.notes]

    assert [note.grace and note.grace - note.pitch for note in notes] == [1, None, 2, *[None] * 4]


def test_an_anticipation_may_not_be_moved_to_the_beat():
    laid = lay_out(tune("G A B d/e/- | e d B2 | G A B d | G4 |]"))
    held = laid.grid.measures[0].notes[-1]

    assert (held.slot, held.exact) == (7, False)
    for solo in arrange_all(tune("G A B d/e/- | e d B2 | G A B d | G4 |]")).values():
        assert solo.measures[0].melody[-1].moved is None


def test_a_tune_without_notes_is_refused():
    with pytest.raises(ArrangeError, match="there is no melody"):
        lay_out(Tune("Test", "", Key("G"), tune("G4|").measures[:0]))


@pytest.mark.parametrize(
    ("music", "meter", "unit"),
    [
        ("G/|]", "4/4", "1/4"),  # one short note
        ("G|G|G|]", "1/4", "1/4"),
        ("G" * 32 + "|" + "A" * 32 + "|]", "32/4", "1/4"),
        ("GABdGA|G A B d|G4|]", "4/4", "1/4"),  # an upbeat longer than a measure
        ("GAB|GABde|G|GABd|]", "4/4", "1/4"),  # measures of any length
        ("(5GABcd e2|(7GABcdef g2|G4|]", "4/4", "1/4"),
        ("(3GAB- (3Bcd- (3dBA- A|G4|]", "4/4", "1/4"),
        ("G2A2B3d4|d2B2A3G4|G11|]", "11/8", "1/8"),
        ("G2ABz2cd3|d3B3A3|G9|]", "9/16", "1/16"),
        (
            "GAB|G2A|GAB|G3|[M:6/8]G/A/B/ d/B/A/|G/A/B/ d/B/A/|G3/A3/|G3|[M:2/4]GA|Bd|[M:9/8]G3/A3/B3/|G3 z3/|]",
            "3/4",
            "1/4",
        ),
        ("[Q:1/4=9999]GABd|[Q:1/4=1]G4|]", "4/4", "1/4"),
        ("GABcdedB|" * 8, "4/4", "1/16"),  # no place to breathe
        ("G32|]", "4/4", "1/4"),
        ("GABc defg gfed cBAG|ABc def gfe dcB|G12|]", "12/8", "1/8"),
    ],
)
def test_the_unusual_becomes_three_tiers_that_break_no_rule_of_hand_or_paper(music, meter, unit):
    for tier, solo in arrange_all(tune(music, meter=meter, unit=unit)).items():
        wrong = [each.sentence for each in broken_rules(solo)]
        assert not wrong, (tier, wrong)
        assert any(measure.plucks for measure in solo.measures)


def test_no_roll_of_the_beginners_runs_up_to_a_note_for_which_the_hand_leaves_its_place():
    high = 'A8-d16-E1b7|"D/F#"(3a2g2G2d16A2B4f4A2|"A7"f6a1f1(3G2f2A2d3c2E4D2A4E4-c1|]'
    solo = arrange(tune(high, meter="4/2", unit="1/16", key="D"), "beginner")

    assert broken_rules(solo) == ()


@pytest.mark.parametrize(
    ("bars", "verses", "said"),
    [
        ("GABc|d4|", 1, None),
        ("GABc|d4|", 2, "Verse 2 is not on the sheet: no repeat comes round to it."),
        ("GABc|d4|", 3, "Verses 2 and 3 are not on the sheet: no repeat comes round to them."),
        ("|:GABc|d4:|", 2, None),
        ("|:GABc|d4:|", 3, "Verse 3 is not on the sheet: no repeat comes round to it."),
    ],
)
def test_a_verse_that_no_time_through_shows_is_named(bars, verses, said):
    words = "".join("w: one two three four five\n" for _ in range(verses))
    tune = read_tune_bytes(f'X:1\nT:Words\nM:4/4\nL:1/4\nK:G\n"G"{bars}\n{words}'.encode(), "words.abc")

    found = [remark for remark in lay_out(tune).remarks if remark.startswith("Verse")]

    assert found == ([said] if said else [])
