"""The solo a teacher would write: variety, embellishments, the same pitch in two places; from finished solos.

What is asked for is common practice, no source.
"""

from fractions import Fraction
from itertools import pairwise

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.rules import broken_rules
from coach.arranging.tastes import taste
from coach.arranging.texture import texture
from coach.tunes.chords import read_chord
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note, Tune

SONG = (
    "G: 55 59 62:2 | C: 64:2 62:2 | G: 59 62 59 55 | D7: 57:3 50 | G: 55 59 62:2 | C: 64:2 67:2 | D7: 66 64 62 60 |"
    " G: 59:2 55:2 | C: 64:2 60 64 | G: 62 59 55:2 | Am: 57 59 60 57 | D7: 54:2 62:2 | C: 64 64 60 64 |"
    " G: 62 59 55 57 | D7: 59 57 54 50 | G: 55:4"
)


def tune(row, meter="4/4", phrase=4):
    count, unit = map(int, meter.split("/"))
    measures = []
    for number, words in enumerate(row.split("|"), start=1):
        symbol, _, words = words.strip().partition(":")
        at, notes = Fraction(0), []
        for word in words.split():
            pitch, _, length = word.partition(":")
            notes.append(
                Note(at, Fraction(length or 1), int(pitch), phrase_start=not notes and (number - 1) % phrase == 0)
            )
            at += Fraction(length or 1)
        chords = (ChordChange(Fraction(0), read_chord(symbol)),)
        measures.append(Measure(number, Meter(count, unit), Meter(count, unit).length, tuple(notes), chords))
    return Tune("A Tune", "", Key("G"), tuple(measures))


def places(solo):
    return [
        [(pluck.string, pluck.fret, pluck.technique) for pluck in measure.plucks if pluck.role == "melody"]
        for measure in solo.measures
    ]


def content(solo):
    return [[(p.at, p.string, p.fret, p.finger, p.technique) for p in measure.plucks] for measure in solo.measures]


@pytest.mark.parametrize("variation", [1, 2, 7])
@pytest.mark.parametrize("tier", ["intermediate", "advanced"])
def test_another_variation_is_another_sound_solo_that_keeps_the_tune(tier, variation):
    plain = arrange(tune(SONG), tier)
    other = arrange(tune(SONG), tier, variation=variation)

    differing = sum(a != b for a, b in zip(content(plain), content(other), strict=True))
    assert differing >= 4
    assert broken_rules(other) == ()
    assert texture(other).downbeats.value == 1
    assert texture(other).kept.value >= texture(plain).kept.value - 0.1


def test_the_same_variation_is_the_same_solo():
    assert arrange(tune(SONG), "advanced", variation=3) == arrange(tune(SONG), "advanced", variation=3)


def test_the_plain_solo_has_no_tastes():
    assert {taste(0, about, 9) for about in range(50)} == {0}
    assert {taste(1, about, 3) for about in range(50)} == {0, 1, 2, 3}


def test_the_same_lick_does_not_sound_twice_in_a_row():
    # The same gap again and again, but never the same passage of two measures.
    rows = [f"G: 60:2 {pitch}:2" for pitch in (59, 62, 57, 64, 55, 62, 60, 59)]
    found = texture(arrange(tune(" | ".join(rows)), "advanced"))

    assert found.licked_gaps.value >= 0.5
    assert found.repeated_licks.part == 0
    assert found.repeated_licks.whole >= 6


def test_every_two_measures_have_an_embellishment_and_none_has_more_than_three():
    found = texture(arrange(tune(SONG), "advanced"))

    assert found.embellished_pairs.value == 1
    assert found.crowded_embellishments.part == 0
    assert found.bent.value == 1


def test_a_repeated_pitch_takes_both_its_places_to_keep_the_roll_going():
    # D4 is string 1 open and string 2 fret 3; one string would be picked twice in running slots.
    solo = arrange(tune("G: 62:1/2 62:1/2 62 59 62 | G: 55:4"), "intermediate")

    assert {(1, 0, "pick"), (2, 3, "pick")} <= set(places(solo)[0])
    assert texture(solo).filled_rolls.value == 1


@pytest.mark.parametrize(("melody", "string", "fret"), [("59", 3, 4), ("55", 4, 5)])
def test_a_long_note_is_slid_into_where_the_next_string_rings_open_at_its_pitch(melody, string, fret):
    solos = [
        arrange(tune(f"G: {melody}:2 62 {melody} | G: {melody} 57 {melody} 62 | G: 60:4"), "advanced", variation=number)
        for number in range(6)
    ]

    slid = [solo for solo in solos if any((string, fret, "slide") in measure for measure in places(solo))]
    assert slid
    assert all(texture(solo).ringing_slides.part >= 1 for solo in slid)


def test_a_grace_note_of_the_tune_is_slurred():
    plain = tune("G: 62 59 62 59 | C: 64 60 64 60 | G: 62 59 62 59 | G: 55:4")
    graced = Tune(
        plain.title,
        plain.rights,
        plain.key,
        (
            *plain.measures[:2],
            Measure(
                3,
                plain.measures[2].meter,
                plain.measures[2].length,
                tuple(
                    Note(note.at, note.length, note.pitch, grace=57 if note.at == 3 else None)
                    for note in plain.measures[2].notes
                ),
                plain.measures[2].chords,
            ),
            plain.measures[3],
        ),
    )
    solo = arrange(graced, "advanced")

    note = next(note for note in solo.measures[2].melody if note.at == 3)
    carrier = next(pluck for pluck in solo.measures[2].plucks if pluck.id == note.pluck)
    assert carrier.technique != "pick"


def test_licks_fill_gaps_in_every_metre():
    waltz = texture(arrange(tune("G: 60:2 59 | C: 62:2 60 | D7: 64:2 57 | G: 55:3", "3/4"), "advanced"))
    jig = texture(arrange(tune("G: 60:3/2 59:1 57:1/2 | G: 60:3 | C: 62:3/2 60:1 59:1/2 | G: 60:3", "6/8"), "advanced"))

    assert waltz.licked_gaps.value >= 0.5
    assert jig.licked_gaps.value >= 0.5


def test_a_lick_crosses_the_barline_where_the_melody_waits_that_long():
    # From the third beat on the melody waits until the third beat of the next measure.
    plain = tune("G: 62 59 60:2 | G: 55:4 | G: 60 59 60 62 | G: 55:4")
    second = plain.measures[1]
    late = (Note(Fraction(2), Fraction(2), 55),)
    measures = (plain.measures[0], Measure(2, second.meter, second.length, late, second.chords), *plain.measures[2:])
    waiting = Tune(plain.title, "", plain.key, measures)
    crossing = 0
    for number in range(8):
        solo = arrange(waiting, "advanced", variation=number)
        assert broken_rules(solo) == ()
        before, after = (measure.plucks for measure in solo.measures[:2])
        crossing += before[-1].role == after[0].role == "lick"
    assert crossing


def test_neighbouring_measures_of_a_variation_join_without_a_finger_played_twice():
    for number in range(3):
        solo = arrange(tune(SONG), "advanced", variation=number)
        for before, after in pairwise(solo.measures):
            picked = [p for p in before.plucks if p.finger]
            ends = picked[-1].at + Fraction(1, 2) >= before.length
            if ends and after.plucks and after.plucks[0].at == 0:
                assert picked[-1].finger != after.plucks[0].finger
