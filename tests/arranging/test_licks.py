"""Licks against the hard rules of the hands and the pitch classes of their chords.

Chord tones are those of ``music21.harmony.ChordSymbol``; what a lick may do is common practice, no source.
"""

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from music21 import harmony

from coach.arranging.arrangement import Pluck
from coach.arranging.licks import LICKS, licks_for
from coach.arranging.rules import broken_rules
from coach.instrument.fretboard import pitch_at
from coach.instrument.rolls import named_roll
from coach.instrument.tuning import DOUBLE_C, OPEN_G
from coach.tunes.chords import read_chord

SLOT = Fraction(1, 2)
DRONE = OPEN_G.open_pitch(5)

each_lick = pytest.mark.parametrize("lick", LICKS, ids=lambda lick: lick.name)


def tones(lick):
    return {pitch.pitchClass for pitch in harmony.ChordSymbol(lick.chord.symbol).pitches}


def pitch(step):
    return pitch_at(OPEN_G, step.string, step.fret)


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
            pitch(step),
            step.finger,
            "lick",
            step.technique,
            step.from_fret,
        )
        for count, step in enumerate(lick.steps, start=1)
    )
    arrangement = solo(" ".join(["-"] * lick.slots))
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
    settled = [step for step in lick.steps if pitch(step) % 12 in own or pitch(step) == DRONE]
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
        assert pitch(last) % 12 == lick.chord.root_pc
    assert last.at >= lick.slots - 3


@each_lick
def test_a_lick_stays_on_the_first_frets(lick):
    assert max(step.fret for step in lick.steps) <= 5


def test_names_are_unique_and_no_lick_stands_twice():
    assert len({lick.name for lick in LICKS}) == len(LICKS)
    assert len({(lick.chord, lick.steps) for lick in LICKS}) == len(LICKS)


@pytest.mark.parametrize("symbol", ["G", "C", "D7", "Em", "Am"])
@pytest.mark.parametrize("slots", [4, 6, 8])
def test_the_chords_of_g_have_a_lick_of_each_length(symbol, slots):
    assert licks_for(read_chord(symbol), slots)


@pytest.mark.parametrize("symbol", ["G", "C", "D"])
@pytest.mark.parametrize("slots", [6, 8])
def test_every_home_chord_has_a_tag(symbol, slots):
    assert any(lick.tag for lick in licks_for(read_chord(symbol), slots))


def test_a_plain_lick_serves_the_seventh_chord_but_not_the_other_way_round():
    seventh = {lick.chord.symbol for lick in licks_for(read_chord("D7"), 8)}
    plain = {lick.chord.symbol for lick in licks_for(read_chord("D"), 8)}

    assert seventh == {"D", "D7"}
    assert plain == {"D"}


def test_minor_is_not_major():
    assert {lick.chord.symbol for lick in licks_for(read_chord("Am"), 4)} == {"Am"}
    assert licks_for(read_chord("A"), 4) == ()


def test_other_tunings_have_no_licks_of_the_table():
    assert licks_for(read_chord("C"), 8, DOUBLE_C) == ()


def test_the_fingers_of_a_lick_are_shown_by_slot():
    by_name = {lick.name: lick for lick in LICKS}

    assert by_name["gate latch"].fingers == "TITMT-I-"


def test_licks_differ_in_character():
    assert len(Counter(lick.character for lick in LICKS)) >= 4
