"""Whole solos: the demo tunes and random ones, against the hard rules and the trade."""

from fractions import Fraction
from itertools import groupby, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrange import arrange, arrange_all
from coach.arranging.arrangement import TIERS
from coach.arranging.files import to_json
from coach.arranging.rules import broken_rules
from coach.arranging.texture import texture
from coach.errors import ArrangeError
from coach.instrument.tuning import OPEN_D, TUNINGS
from coach.tunes.chords import read_chord
from coach.tunes.demo import DEMO_TUNES, demo_tune
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note, Tune

QUARTER = Fraction(1)


@pytest.fixture(scope="module")
def demos():
    return {name: (demo_tune(name), arrange_all(demo_tune(name))) for name in DEMO_TUNES}


def tune(*rows, meter="4/4", key="G", title="A Tune", phrase=4):
    """A tune from rows of measures: ``G: 55 57 59:2`` is the chord, then pitches with their length in quarters."""
    count, unit = map(int, meter.split("/"))
    measures = []
    for number, row in enumerate((row for line in rows for row in line.split("|")), start=1):
        symbol, _, words = row.strip().partition(":")
        at, notes = Fraction(0), []
        for word in words.split():
            pitch, _, length = word.partition(":")
            length = Fraction(length or 1)
            if pitch != "z":
                start = not notes and (number - 1) % phrase == 0
                notes.append(Note(at, length, int(pitch), phrase_start=start))
            at += length
        chords = (ChordChange(Fraction(0), read_chord(symbol)),) if symbol else ()
        measures.append(Measure(number, Meter(count, unit), Meter(count, unit).length, tuple(notes), chords))
    return Tune(title, "", Key(key), tuple(measures))


@st.composite
def tunes(draw):
    """Small random tunes: any metre in use, steps and leaps, rests, off-grid notes, pickups, repeats."""
    counts = [(4, 4), (2, 4), (3, 4), (6, 8), (2, 2), (3, 8), (9, 8), (12, 8), (4, 2)]
    meter = Meter(*draw(st.sampled_from(counts)))
    value = draw(st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(1, 2), Fraction(1, 4)]))
    lengths = st.sampled_from([value, value, value, 2 * value, value / 2, 3 * value / 2, Fraction(1, 3)])
    pickup = draw(st.booleans())
    measures, pitch = [], draw(st.integers(55, 75))
    for number in range(0 if pickup else 1, draw(st.integers(2, 5))):
        length = min(Fraction(1), meter.length / 2) if number == 0 else meter.length
        at, notes = Fraction(0), []
        while at < length:
            span = min(draw(lengths), length - at)
            pitch = max(50, min(80, pitch + draw(st.sampled_from([-7, -2, -1, 0, 0, 1, 2, 2, 5]))))
            if draw(st.integers(0, 8)):
                notes.append(Note(at, span, pitch, phrase_start=not notes and draw(st.booleans())))
            at += span
        chord = read_chord(draw(st.sampled_from(["G", "C", "D7", "Em", "A", "E7", "F", "Bb", "C#dim"])))
        repeat = 2 if number > 0 and draw(st.integers(0, 3)) == 0 else 1
        changes = (ChordChange(Fraction(0), chord),)
        measures.append(Measure(number, meter, length, tuple(notes), changes, repeat_end=repeat))
    return Tune("Random", "", Key(draw(st.sampled_from(["G", "D", "F", "C", "Eb"]))), tuple(measures))


@settings(max_examples=20)
@given(tunes(), st.sampled_from(TIERS))
def test_no_hard_rule_is_broken_whatever_the_tune(random_tune, tier):
    if not any(measure.notes for measure in random_tune.measures):
        with pytest.raises(ArrangeError, match="no melody"):
            arrange(random_tune, tier)
        return
    solo = arrange(random_tune, tier)

    assert broken_rules(solo) == ()
    assert all(note.kept for measure in solo.measures for note in measure.melody if note.phrase_start and note.at == 0)


@settings(max_examples=6)
@given(tunes(), st.sampled_from(sorted(TUNINGS)))
def test_every_tuning_gives_sound_solos(random_tune, name):
    if any(measure.notes for measure in random_tune.measures):
        for solo in arrange_all(random_tune, tuning=TUNINGS[name]).values():
            assert broken_rules(solo) == ()


@pytest.mark.parametrize("name", DEMO_TUNES)
@pytest.mark.parametrize("tier", TIERS)
def test_a_demo_tune_breaks_no_hard_rule(demos, name, tier):
    assert broken_rules(demos[name][1][tier]) == ()


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_one_tier_alone_is_the_same_as_among_three(demos, name):
    read, solos = demos[name]

    for tier in TIERS:
        assert to_json(arrange(read, tier)) == to_json(solos[tier])


@pytest.mark.parametrize("name", DEMO_TUNES)
@pytest.mark.parametrize("tier", ["intermediate", "advanced"])
def test_the_melody_of_a_demo_tune_is_told(demos, name, tier):
    shares = texture(demos[name][1][tier])

    assert shares.phrase_starts.value == 1
    assert shares.downbeats.value >= 0.95
    assert shares.kept.value >= 0.8
    assert shares.kept_measures.value == 1
    assert shares.thinned_even.value >= 0.5


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_intermediate_rolls_from_start_to_end(demos, name):
    shares = texture(demos[name][1]["intermediate"])

    assert shares.filled_rolls.value >= 0.85
    assert shares.chordal_fills.value >= 0.9
    assert 0.1 <= shares.drone.value <= 0.3


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_advanced_has_a_slur_or_lick_in_most_measures(demos, name):
    assert texture(demos[name][1]["advanced"]).embellished.value > 0.8


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_beginner_plays_all_but_repeated_notes(demos, name):
    assert texture(demos[name][1]["beginner"]).kept_but_repeats.value == 1


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_tiers_grow_busier(demos, name):
    counts = [sum(1 for _ in demos[name][1][tier].plucks()) for tier in TIERS]

    assert counts == sorted(counts)
    assert counts[0] < counts[1]


def test_measures_from_the_same_place_on_paper_get_the_same_plucks(demos):
    solo = demos["turn-the-barrow"][1]["advanced"]
    repeated = [measure for measure in solo.measures if measure.same_as is not None]

    assert len(repeated) >= 6
    for measure in repeated:
        first = next(each for each in solo.measures if each.number == measure.same_as)
        assert [(p.at, p.string, p.fret, p.finger) for p in measure.plucks] == [
            (p.at, p.string, p.fret, p.finger) for p in first.plucks
        ]


def test_a_doubled_tune_looks_and_plays_like_one_in_common_time():
    row = "G: 55 59 62 59 | C: 60 64 60:2 | D7: 62 60 59 57 | G: 55:4"
    halved = "G: 55:1/2 59:1/2 62:1/2 59:1/2 | C: 60:1/2 64:1/2 60:1 | D7: 62:1/2 60:1/2 59:1/2 57:1/2 | G: 55:2"
    for tier in TIERS:
        whole, half = arrange(tune(row), tier), arrange(tune(halved, meter="2/4"), tier)

        assert (half.source_scale, str(half.meter), half.slot) == (2, "2/2", whole.slot)
        assert any("twice" in remark for remark in half.remarks)
        for one, other in zip(whole.measures, half.measures, strict=True):
            assert one.plucks == other.plucks
            assert one.length == other.length


def test_a_melody_that_is_too_dense_keeps_its_strong_notes_and_says_so():
    run = "G: " + " ".join(f"{pitch}:1/4" for pitch in (55, 57, 59, 60, 62, 60, 59, 57))
    solo = arrange(tune(f"{run} | {run} | {run} | {run}", meter="2/4"), "intermediate")

    assert any("too dense" in remark for remark in solo.remarks)
    assert all(note.kept for measure in solo.measures for note in measure.melody if note.at == 0)
    assert broken_rules(solo) == ()


def test_the_drone_is_left_out_over_e_and_b_sevenths():
    solo = arrange(tune("E7: 64 62 59 56 | E7: 59:4 | B7: 59 63 59 63 | B7: 59:4"), "intermediate")

    assert not any(pluck.role == "drone" for _, pluck in solo.plucks())


def test_a_dropped_note_is_never_the_first_last_or_highest_of_its_phrase_nor_on_a_strong_beat(demos):
    for read, solos in demos.values():
        assert read.measures
        solo = solos["intermediate"]
        notes = [(measure, note) for measure in solo.measures for note in measure.melody]
        starts = [k for k, (_, note) in enumerate(notes) if note.phrase_start] + [len(notes)]
        for a, b in pairwise(starts):
            phrase = notes[a:b]
            top = max(note.pitch for _, note in phrase)
            for measure, note in phrase:
                if not note.kept:
                    assert note is not phrase[0][1]
                    assert note is not phrase[-1][1]
                    assert note.at not in (0, measure.length / 2)
                    assert note.pitch < top or sum(n.pitch == top for _, n in phrase) > 1


def test_a_beginner_pinches_after_a_half_note_and_waltzes_with_two():
    half = arrange(tune("G: 55:2 59:2 | G: 62:4"), "beginner").measures[0]
    waltz = arrange(tune("G: 55:3 | C: 60:3 | G: 59:3", meter="3/4"), "beginner").measures[0]

    assert [(at, len(list(group))) for at, group in groupby(pluck.at for pluck in half.plucks)] == [
        (0, 1),
        (1, 2),
        (2, 1),
        (3, 2),
    ]
    assert [(at, len(list(group))) for at, group in groupby(pluck.at for pluck in waltz.plucks)] == [
        (0, 1),
        (1, 2),
        (2, 2),
    ]


def test_a_phrase_that_ends_on_the_home_chord_gets_a_tag():
    solo = arrange(tune("G: 55 57 59 62 | D7: 57:4 | G: 62 60 59 57 | G: 55:4"), "advanced")

    assert any(pluck.role == "lick" for pluck in solo.measures[3].plucks)


def test_slurs_are_for_the_advanced_only(demos):
    for _, solos in demos.values():
        for tier in ("beginner", "intermediate"):
            assert all(pluck.technique == "pick" for _, pluck in solos[tier].plucks())


def test_a_tuning_has_licks_of_its_own():
    solo = arrange(tune("D: 62 66 69 66 | D: 62:4", key="D"), "advanced", tuning=OPEN_D)

    assert any(pluck.role == "lick" for _, pluck in solo.plucks())


def test_the_wanted_key_sounds_in_every_melody_note():
    read = tune("G: 55 57 59 62 | D7: 57:4")
    plain, up = arrange(read, "beginner"), arrange(read, "beginner", key="A")

    assert (up.key, up.sounding_key, up.capo) == ("G major", "A major", 2)
    assert [note.pitch for m in up.measures for note in m.melody] == [
        note.pitch + 2 for m in plain.measures for note in m.melody
    ]
    assert all(pluck.pitch == up.tuning.open_pitch(pluck.string) + pluck.fret + 2 for _, pluck in up.plucks())


def test_a_tune_of_rests_is_refused_in_a_sentence():
    with pytest.raises(ArrangeError, match="there is no melody"):
        arrange(tune("G: z:4"), "beginner")


@pytest.mark.parametrize("meter", ["4/4", "2/4", "3/4", "6/8", "9/8", "12/8", "2/2", "3/2", "3/8", "5/4", "7/8", "6/4"])
def test_every_metre_is_filled_exactly(meter):
    count, unit = map(int, meter.split("/"))
    beat = Fraction(4, unit)
    row = "G: " + " ".join(f"{55 + 2 * (k % 3)}:{beat}" for k in range(count))
    for solo in arrange_all(tune(f"{row} | {row.replace('G:', 'C:')}", meter=meter)).values():
        assert broken_rules(solo) == ()
        assert [measure.length for measure in solo.measures] == [count * beat * solo.source_scale] * 2
