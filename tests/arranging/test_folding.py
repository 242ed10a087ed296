"""A melody of a wide range is folded at the ends of its phrases, and nowhere else."""

from fractions import Fraction
from itertools import pairwise, product

from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.folding import Room, fold
from coach.arranging.layout import lay_out, seat
from coach.instrument.tuning import OPEN_G, TUNINGS
from coach.tunes.keys import Key
from coach.tunes.tune import Measure, Meter, Note, Tune

FOUR = Meter(4, 4)
# Open G at capo 0: from the open fourth string to fret 22 of the first.
OPEN = Room(50, 84, 62)


def paper(*phrases, graces=False):
    """Measures of four quarters; each phrase is a row of pitches and begins with a measure."""
    measures = []
    for phrase in phrases:
        for start in range(0, len(phrase), 4):
            notes = tuple(
                Note(
                    Fraction(k),
                    Fraction(1),
                    pitch,
                    phrase_start=start == k == 0,
                    grace=pitch - 2 if graces else None,
                )
                for k, pitch in enumerate(phrase[start : start + 4])
            )
            measures.append(Measure(len(measures) + 1, FOUR, Fraction(4), notes))
    return tuple(measures)


def pitches(measures):
    return [note.pitch for measure in measures for note in measure.notes]


LOW, HIGH = (50, 55, 57, 59) * 2, (74, 76, 79, 78) * 2


def test_a_melody_that_lies_on_low_frets_is_left_alone():
    measures = paper(LOW, (59, 62, 64, 67))

    assert fold(measures, OPEN).measures == measures
    assert fold(measures, OPEN).folds == ()


def test_a_phrase_far_up_the_neck_comes_down_and_the_fold_says_where():
    found = fold(paper(LOW, HIGH, LOW), OPEN)

    assert found.folds == ((3, -1),)
    assert pitches(found.measures) == [*LOW, *(pitch - 12 for pitch in HIGH), *LOW]


def test_a_phrase_below_the_banjo_comes_up():
    found = fold(paper((57, 59, 62, 64) * 3, (45, 47, 45, 47)), OPEN)

    assert found.folds == ((4, 1),)
    assert found.octave == 0


def test_the_octave_of_most_notes_is_the_tunes_own():
    found = fold(paper(HIGH, LOW, HIGH), OPEN)

    assert found.folds == ((3, 1),)
    assert found.octave == -1


def test_a_phrase_that_no_octave_brings_onto_the_neck_cannot_be_folded():
    assert fold(paper((50, 55, 98, 57)), OPEN) is None


def test_an_upbeat_goes_with_the_phrase_that_it_leads_to():
    upbeat = Measure(0, FOUR, Fraction(1), (Note(Fraction(0), Fraction(1), 74, phrase_start=True),))
    found = fold((upbeat, *paper(HIGH, LOW * 2)), OPEN)

    assert found.folds == ((0, -1),)
    assert pitches(found.measures)[:9] == [62, *(pitch - 12 for pitch in HIGH)]


def test_a_grace_goes_with_its_note():
    found = fold(paper(LOW, HIGH, graces=True), OPEN)

    assert all(note.grace == note.pitch - 2 for measure in found.measures for note in measure.notes)


phrase = st.lists(st.integers(-10, 10), min_size=4, max_size=4).map(tuple)
tunes = st.lists(st.tuples(phrase, st.integers(50, 80)), min_size=1, max_size=5).map(
    lambda rows: paper(*(tuple(base + step for step in steps) for steps, base in rows))
)


@given(tunes)
def test_only_whole_phrases_move_and_only_by_octaves(measures):
    found = fold(measures, OPEN)
    if found is None:
        return
    moves = [
        [b - a for a, b in zip(pitches([old]), pitches([new]), strict=True)]
        for old, new in zip(measures, found.measures, strict=True)
    ]

    assert all(len(set(move)) == 1 and move[0] % 12 == 0 for move in moves)  # here a phrase is a measure
    assert {each.measure: 12 * each.octaves for each in found.folds} == {
        number: move[0] for number, move in enumerate(moves, start=1) if move[0]
    }
    assert all(50 <= pitch + 12 * found.octave <= 84 for pitch in pitches(found.measures))


@given(tunes, st.integers(0, 4))
def test_a_phrase_that_comes_again_is_folded_as_it_was(measures, which):
    again = measures[min(which, len(measures) - 1)]
    found = fold((*measures, Measure(len(measures) + 1, FOUR, Fraction(4), again.notes)), OPEN)
    if found is not None:
        assert pitches(found.measures[-1:]) == pitches([found.measures[measures.index(again)]])


@given(tunes.filter(lambda measures: len(measures) <= 3))
def test_no_other_choice_of_octaves_is_cheaper(measures):
    """Against brute force, with the prices of the module said again: frets above 5, 7 and 12, changes and leaps."""

    def price(octaves):
        rows = [
            [pitch + 12 * octave for pitch in pitches([each])] for each, octave in zip(measures, octaves, strict=True)
        ]
        if any(not 50 <= pitch <= 84 for row in rows for pitch in row):
            return None
        frets = [pitch - 62 for row in rows for pitch in row]
        total = sum(max(0, fret - 5) + 3 * (fret > 7) + 9 * (fret > 12) for fret in frets)
        old = [pitches([each]) for each in measures]
        for k, (one, other) in enumerate(pairwise(octaves)):
            if one != other:
                leaps = (rows[k + 1][0] - rows[k][-1], old[k + 1][0] - old[k][-1])
                total += 8 * abs(one - other) + max(0, abs(leaps[0]) - abs(leaps[1]))
        return total

    # Alike phrases must be folded alike.
    contents = [tuple(pitches([each])) for each in measures]
    prices = [
        price(octaves)
        for octaves in product(range(-3, 3), repeat=len(measures))
        if len(dict(zip(contents, octaves, strict=True))) == len(set(zip(contents, octaves, strict=True)))
    ]
    best = min((each for each in prices if each is not None), default=None)
    found = fold(measures, OPEN)

    assert (found is None) == (best is None)
    assert found is None or found.price == 100 * best // (4 * len(measures))


def tune(*phrases, key="G"):
    return Tune("Test", "", Key(key), paper(*phrases))


def test_a_tune_within_the_good_frets_is_seated_as_it_is():
    whole = tune(LOW, (59, 62, 64, 69))  # fret 7 at the highest

    assert seat(whole, OPEN_G).folded.measures == whole.measures


def test_a_wide_tune_is_laid_out_folded_and_the_remark_says_where():
    laid = lay_out(tune(LOW * 2, HIGH, LOW * 2, HIGH, LOW))

    assert "Phrases from measures 5 and 11 are played an octave lower." in laid.remarks
    assert max(note.pitch for measure in laid.grid.measures for note in measure.notes) <= 69


def test_measures_are_named_as_they_are_played():
    first = paper(LOW, LOW)
    repeated = (*first[:-1], Measure(4, FOUR, Fraction(4), first[-1].notes, repeat_end=2))
    high = [Measure(each.number + 4, FOUR, Fraction(4), each.notes) for each in paper(HIGH)]
    laid = lay_out(Tune("Test", "", Key("G"), (*repeated, *high)))

    assert "Phrase from measure 9 is played an octave lower." in laid.remarks


def test_folds_are_told_in_the_order_of_their_measures_and_what_stays_far_up_the_neck_is_told():
    wide = (50, 59, 71, 83)  # no octave brings this phrase down
    laid = lay_out(tune((43, 45, 43, 45), (57, 59, 62, 59) * 4, (79, 81, 79, 81), wide))
    told = [remark for remark in laid.remarks if "played an octave" in remark or "up to fret" in remark]

    assert told == [
        "Phrase from measure 1 is played an octave higher.",
        "Phrase from measure 6 is played an octave lower.",
        "Measure 7 lies up to fret 21.",
    ]


def test_every_tuning_folds():
    for tuning in TUNINGS.values():
        assert len(seat(tune(LOW * 2, HIGH, LOW * 2), tuning).folded.folds) == 1
