"""Licks against the hard rules of the hands and the pitch classes of their chords.

Chord tones are those of ``music21.harmony.ChordSymbol``; what a lick may do is common practice, no source.
"""

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from music21 import harmony

from coach.arranging.arrangement import Pluck
from coach.arranging.licks import LICKS, licks_for, licks_in
from coach.arranging.rules import broken_rules
from coach.instrument.fretboard import pitch_at
from coach.instrument.rolls import named_roll
from coach.instrument.tuning import DOUBLE_C, DROP_C, G_MODAL, OPEN_D, OPEN_G, Tuning
from coach.tunes.chords import read_chord

SLOT = Fraction(1, 2)

each_lick = pytest.mark.parametrize("lick", LICKS, ids=lambda lick: lick.name)


def tones(lick):
    return {pitch.pitchClass for pitch in harmony.ChordSymbol(lick.chord.symbol).pitches}


def pitch(lick, step):
    return pitch_at(lick.tuning, step.string, step.fret)


def lengths(symbol, tuning=OPEN_G):
    chord = read_chord(symbol)
    return {lick.slots for lick in licks_for(chord.root_pc, chord.pitch_classes, tuning)}


def licks_over(symbol, tuning=OPEN_G):
    chord = read_chord(symbol)
    return licks_for(chord.root_pc, chord.pitch_classes, tuning)


def played(lick, solo):
    """A solo of this lick alone, over and over, for as long as a measure of its length lasts."""
    ends = [*sorted({step.at for step in lick.steps}), Fraction(lick.slots)]
    plucks = tuple(
        Pluck(
            f"m1e{count}",
            step.at * SLOT,
            (min(end for end in ends if end > step.at) - step.at) * SLOT,
            step.string,
            step.fret,
            pitch(lick, step),
            step.finger,
            "lick",
            step.technique,
            step.from_fret,
        )
        for count, step in enumerate(lick.steps, start=1)
    )
    arrangement = solo(" ".join(["-"] * lick.slots), tuning=lick.tuning)
    return replace(arrangement, measures=(replace(arrangement.measures[0], plucks=plucks),))


@each_lick
def test_a_lick_breaks_no_rule_of_the_hands(lick, solo):
    # Judged as intermediate: no stretch.
    assert broken_rules(played(lick, solo)) == ()


@each_lick
def test_a_lick_follows_a_named_roll(lick):
    assert named_roll(lick.fingers)


@each_lick
def test_a_lick_starts_with_a_pick_on_its_first_slot_and_has_a_slur(lick):
    assert lick.steps[0].at == 0
    assert lick.steps[0].finger
    assert any(step.technique != "pick" for step in lick.steps)
    assert all(0 <= step.at < lick.slots for step in lick.steps)


@each_lick
def test_a_lick_tells_its_chord(lick):
    own = tones(lick)
    settled = [
        step for step in lick.steps if pitch(lick, step) % 12 in own or pitch(lick, step) == lick.tuning.open_pitch(5)
    ]
    foreign = [step for step in lick.steps if step not in settled]

    # A foreign tone is one end of a slur; more than half of the notes belong to the chord, the last among them.
    slurred = {
        place
        for step in lick.steps
        if step.from_fret is not None
        for place in ((step.string, step.fret), (step.string, step.from_fret))
    }
    assert all((step.string, step.fret) in slurred for step in foreign)
    assert 2 * len(settled) > len(lick.steps)
    assert lick.steps[-1] in settled


@each_lick
def test_a_tag_comes_to_rest_on_the_root_and_others_move_on(lick):
    last = lick.steps[-1]
    if lick.tag:
        assert pitch(lick, last) % 12 == lick.chord.root_pc
    else:
        assert last.at >= lick.slots - 1
    assert last.at >= lick.slots - 3


@each_lick
def test_a_turnaround_stands_on_the_home_chord_and_does_not_rest_on_its_root(lick):
    if lick.use == "turnaround":
        assert lick.chord.symbol == "G"
        assert lick.steps[-1].at >= lick.slots - 1


@each_lick
def test_a_lick_stays_on_the_first_frets(lick):
    assert max(step.fret for step in lick.steps) <= 5


@each_lick
def test_a_lick_crowds_no_measure_with_slurs(lick):
    assert all(lick.slurs(start, start + 8) <= 3 for start in range(lick.slots))


def test_names_are_unique_and_no_lick_stands_twice():
    assert len({lick.name for lick in LICKS}) == len(LICKS)
    assert len({(lick.tuning, lick.chord, lick.steps) for lick in LICKS}) == len(LICKS)


def test_there_are_licks_enough():
    assert len(licks_in(OPEN_G)) >= 40
    assert {lick.use for lick in LICKS} == {"fill", "tag", "turnaround"}
    assert {lick.level for lick in LICKS} == {1, 2}


@pytest.mark.parametrize("symbol", ["G", "C", "D", "D7", "Em", "Am", "A", "F"])
def test_the_chords_of_g_have_licks_for_every_metre(symbol):
    # Beats of two slots leave 2, 4 and 6 slots in a gap, those of three 3 and 6.
    assert lengths(symbol) >= {2, 3, 4, 6}


@pytest.mark.parametrize("symbol", ["G", "C", "D7", "Em", "Am"])
def test_the_chords_of_g_have_a_lick_of_a_measure(symbol):
    assert 8 in lengths(symbol)


def test_some_licks_are_longer_than_a_measure():
    assert {10, 12, 16} <= lengths("G")
    assert 10 in lengths("C")
    assert 10 in lengths("D7")


@pytest.mark.parametrize("symbol", ["G", "C", "D"])
@pytest.mark.parametrize("slots", [4, 6, 8])
def test_every_home_chord_has_a_tag(symbol, slots):
    assert any(lick.tag for lick in licks_over(symbol) if lick.slots == slots)


@pytest.mark.parametrize(
    ("tuning", "home", "other"),
    [(DOUBLE_C, "C", "G"), (DROP_C, "C", "G"), (G_MODAL, "G", "C"), (OPEN_D, "D", "A")],
)
def test_other_tunings_have_licks_for_their_home_chord_and_one_more(tuning, home, other):
    assert {2, 3, 4} <= lengths(home, tuning)
    assert any(lick.tag for lick in licks_over(home, tuning))
    assert lengths(other, tuning)


def test_licks_are_not_taken_from_another_tuning():
    assert all(lick.tuning == DOUBLE_C for lick in licks_over("C", DOUBLE_C))
    assert licks_in(Tuning("of one's own", (62, 59, 55, 45, 67))) == ()


def test_a_plain_lick_serves_the_seventh_chord_but_not_the_other_way_round():
    assert {lick.chord.symbol for lick in licks_over("D7")} == {"D", "D7"}
    assert {lick.chord.symbol for lick in licks_over("D")} == {"D"}
    assert {lick.chord.symbol for lick in licks_over("G7")} == {"G"}


def test_minor_is_not_major():
    assert {lick.chord.symbol for lick in licks_over("Am")} == {"Am"}
    assert {lick.chord.symbol for lick in licks_over("A")} == {"A"}


def test_the_entry_is_what_is_heard_on_the_first_beat():
    by_name = {lick.name: lick for lick in LICKS}

    assert by_name["apple basket"].entry == OPEN_G.open_pitch(3)
    assert by_name["sill"].entry == OPEN_G.open_pitch(2)  # slid to at once
    assert by_name["porch step"].entry is None  # hammered a slot later


def test_the_fingers_of_a_lick_are_shown_by_slot():
    by_name = {lick.name: lick for lick in LICKS}

    assert by_name["gate latch"].fingers == "TITMT-I-"


def test_licks_differ_in_character():
    assert len(Counter(lick.character for lick in LICKS)) >= 4
