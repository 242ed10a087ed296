"""What is said of a measure is true of it, and is said in one or two sentences."""

import json
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrangement import MelodyNote
from coach.arranging.explain import explain, explain_json
from coach.arranging.files import digest
from coach.arranging.licks import licks_in
from coach.instrument.tuning import OPEN_G
from coach.tunes.demo import DEMO_TUNES

ROLL = "T30* I20 T50d M10 T40 I20 T50d M10"


def said(arrangement, number=1):
    """All that is said of a measure, as one text."""
    (measure,) = [each for each in explain(arrangement) if each.number == number]
    return " ".join(sentence.text for sentence in measure.sentences)


def with_melody(arrangement, *notes):
    """The first measure with these melody notes instead: (at, length, pitch, lyric or None, pluck or None)."""
    first, *rest = arrangement.measures
    melody = tuple(
        MelodyNote(Fraction(at), Fraction(length), pitch, lyric, kept=pluck is not None, pluck=pluck)
        for at, length, pitch, lyric, pluck in notes
    )
    return replace(arrangement, measures=(replace(first, melody=melody), *rest))


@pytest.mark.parametrize(
    ("row", "roll"),
    [
        (ROLL, "an alternating thumb roll"),
        ("T30* I20 M10 T50d I20 M10 T50d I20*", "a forward roll"),
        ("M10* I20 T30* M10 I20 T50d M10 I20", "a backward roll"),
        ("T30* I20 M10 T50d M10 I20 T30* M10", "a forward-reverse roll"),
    ],
)
def test_a_roll_is_called_by_its_name(solo, row, roll):
    assert roll in said(solo(row)).lower()


def test_fingers_that_follow_no_roll_are_not_called_one(solo):
    text = said(solo("T30* I20 M10 I20 T50d M10* T40 I20", "T30* - - -"))

    assert "thumb roll" not in text
    assert "forward" not in text
    assert "backward" not in text


def test_a_melody_with_nothing_beside_it_is_bare(solo):
    texts = [said(solo("T30* - T32* - I20* - T30* -", first=number), number) for number in range(1, 7)]

    assert all(any(word in text for word in ("as it is", "bare", "plain")) for text in texts)
    assert len(set(texts)) > 1  # neighbours are not told in the same words


@pytest.mark.parametrize(
    ("pitch", "why"),
    [(55, "“la”, a repeat, is left out"), (57, "“la”, a passing note, is left out"), (64, "no room")],
)
def test_what_is_left_out_is_named_with_its_reason(solo, pitch, why):
    arrangement = with_melody(
        solo("T30* I20 T50d M10 I20* T50d I20 M10"),
        (0, 1, 55, "Oh", "m1e1"),
        (1, 1, pitch, "la", None),
        (2, 2, 59, "day", "m1e5"),
    )

    assert why in said(arrangement)
    assert "two of its three notes" in said(arrangement)


def test_four_even_notes_turn_wooden(solo):
    arrangement = with_melody(
        solo("T30* I20 T30* M10 I20* T50d I20 M10"),
        (0, 1, 55, None, "m1e1"),
        (1, 1, 55, None, "m1e3"),
        (2, 1, 59, None, "m1e5"),
        (3, 1, 59, None, None),
    )

    assert "the note on beat 4, a repeat, is left out" in said(arrangement)
    assert "wooden" in said(arrangement)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("T32,s34* I20 T50d M10 T30 I20 T50d M10", ("fret 2", "scoops")),
        ("T40,h42* I20 T50d M10 T30 I20 T50d M10", ("hammer", "the open string")),
        ("T32,p30* I20 T50d M10 T40 I20 T50d M10", ("pull", "fret 2")),
    ],
)
def test_a_slur_is_told_with_where_it_comes_from(solo, row, words):
    assert all(word in said(solo(row)) for word in words)


def test_a_moved_note_is_told_with_how_far(solo):
    arrangement = solo("T30* I20 T50d M10 T40 I20* T50d M10")
    moved = with_melody(arrangement, (0, 2, 55, "Oh", "m1e1"), (2, 2, 59, "day", "m1e6"))
    first, last = moved.measures[0].melody
    measure = replace(moved.measures[0], melody=(first, replace(last, moved=Fraction(5, 2))))

    assert "“day” comes an eighth late" in said(replace(moved, measures=(measure,)))


def test_pinches_are_counted(solo):
    assert "pinch " in said(solo("T30* - T50+&M10+ - - - - -"))
    assert "Two pinches" in said(solo("T30* - T50+&M10+ - T50+&M10+ - - -"))


def test_a_pitch_in_two_places_is_told(solo):
    text = said(solo("T34* I20 T50d M10 T40 I20 T50d M10"))

    assert "string 3 fret 4 and string 2 open" in text


@pytest.mark.parametrize(("chord", "told"), [("B7", True), ("E", True), ("Em", False), ("D7", False)])
def test_the_drone_left_out_is_told_where_it_would_grate(solo, chord, told):
    assert ("drone is left out" in said(solo("T30* I20 M10 I20 T40 I20 M10 I20", chords=(chord,)))) is False
    assert ("drone is left out" in said(solo("T30* I20 T40 M10 T30 I20 T40 M10", chords=(chord,)))) is told


def test_a_shape_is_told_when_all_stopped_notes_are_of_it(solo):
    assert "holds the C shape" in said(solo("T42* I21 T50d M12 T42 I21 T50d M12", chords=("C",)))
    assert "shape" not in said(solo("T42* I21 T50d M14 T42 I21 T50d M12", chords=("C",)))


def test_the_hand_is_told_where_it_goes_and_comes_back(solo):
    arrangement = solo(ROLL, "M17* - M19* - M17* - - -", "M12* - M10* - T30* - - -")

    assert "goes up to fret 7" in said(arrangement, 2)
    assert "comes back" in said(arrangement, 3)
    assert "comes back" not in said(arrangement, 1)


LETTERS = {"hammer-on": "h", "pull-off": "p", "slide": "s"}


def row_of(lick, mark="l", upto=None):
    """A lick as a row of slots, or as many of its notes, the first with a mark of its own."""
    slots = [["-"] for _ in range(max(lick.slots, 8))]
    for count, step in enumerate(lick.steps[:upto]):
        note = f"{step.finger or LETTERS[step.technique]}{step.string}{step.fret}{mark if count == 0 else 'l'}"
        where = slots[int(step.at)]
        slots[int(step.at)] = [*([] if where == ["-"] and step.at.denominator == 1 else where), note]
    return " ".join(",".join(slot) for slot in slots)


def test_each_lick_is_called_by_its_name_and_character(solo):
    licks = licks_in(OPEN_G)
    rows = [row for lick in licks for row in ("T30* - - - - - - -", row_of(lick))]
    found = solo(*rows, chords=[chord for lick in licks for chord in ("G", lick.chord.symbol)])
    texts = [" ".join(sentence.text for sentence in each.sentences) for each in explain(found)][1::2]

    for lick, text in zip(licks, texts, strict=True):
        assert f"{lick.character} lick, “{lick.name}”" in text


@pytest.mark.parametrize(("name", "tag"), [("gate latch", True), ("kettle lid", False)])
def test_a_tag_is_one_at_the_end_of_a_phrase(solo, name, tag):
    (lick,) = [each for each in licks_in(OPEN_G) if each.name == name]

    assert ("is the tag" in said(solo("T30* - - - - - - -", row_of(lick)), 2)) is tag
    assert "is the tag" not in said(solo("T30* - - - - - - -", row_of(lick), "T30*"), 2)


def test_a_lick_is_known_when_it_begins_on_the_melody_or_is_cut_short(solo):
    (lick,) = [each for each in licks_in(OPEN_G) if each.name == "gate latch"]

    assert "“gate latch”" in said(solo(row_of(lick, mark="*")))
    assert "“gate latch”" in said(solo("T30*", row_of(lick, upto=len(lick.steps) - 1)), 2)
    assert "“gate latch”" not in said(solo("T30*", row_of(lick, upto=2)), 2)


def test_a_lick_of_ones_own_has_no_name(solo):
    text = said(solo("T30* - - - - - - -", "T32l I22l M13l T50l I22l M13l T32l -"), 2)

    assert "a lick" in text
    assert "“" not in text


def test_a_measure_without_melody_or_plucks_is_told_too(solo):
    arrangement = solo("T30* - - - - - - -", "- - - - - - - -", "T30 I20 M10 T50d I20 M10 T50d I20")

    assert "rests" in said(arrangement, 2)
    assert "a forward roll" in said(arrangement, 3)


def test_a_repeat_is_named_and_no_more(solo):
    first, second = solo(ROLL, ROLL).measures
    arrangement = replace(solo(ROLL), measures=(first, replace(second, same_as=1)))

    assert said(arrangement, 2) == "As measure 1."


def test_a_mixed_solo_tells_where_the_tier_changes(solo):
    first, second, third = solo(ROLL, ROLL, ROLL).measures
    mixed = replace(
        solo(ROLL), tier="mixed", measures=(first, replace(second, tier="advanced"), replace(third, tier="advanced"))
    )

    assert "From here on the solo is that of the advanced tier" in said(mixed, 2)
    assert "tier" not in said(mixed, 1) + said(mixed, 3)


def test_every_sentence_points_to_its_plucks(solo):
    (measure,) = explain(solo("T32,s34* I20 T50d M10 T30 I20 T50d M10"))
    carried, slurred = measure.sentences

    assert carried.plucks == ("m1e2",)
    assert slurred.plucks[0] == "m1e2"


def test_the_json_form(solo):
    arrangement = solo(ROLL, "M17* - - - - - - -")
    raw = json.loads(explain_json(arrangement))

    assert list(raw) == ["format", "digest", "measures"]
    assert (raw["format"], raw["digest"]) == ("explain/1", digest(arrangement))
    assert [list(each) for each in raw["measures"]] == [["number", "sentences", "difficulty", "largest"]] * 2
    assert raw["measures"][1]["largest"] == "left-hand travel"
    assert raw["measures"][0]["sentences"][0] == {
        "text": explain(arrangement)[0].sentences[0].text,
        "plucks": ["m1e1"],
    }


def is_sound(arrangement):
    ids = {pluck.id for _, pluck in arrangement.plucks()}
    explained = explain(arrangement)
    assert [each.number for each in explained] == [measure.number for measure in arrangement.measures]
    for each in explained:
        assert 1 <= len(each.sentences) <= 2
        for sentence in each.sentences:
            assert sentence.text[0] == "“" or sentence.text[0].isupper()
            assert sentence.text.endswith(".")
            assert not any(mark in sentence.text for mark in ("..", "  ", ",,", ", ;", "None"))
            assert set(sentence.plucks) <= ids


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_demo_tunes_are_explained(demo_solos, name):
    for arrangement in demo_solos(name).values():
        is_sound(arrangement)
        assert explain(arrangement) == explain(arrangement)


TOKENS = st.sampled_from(
    [
        "T30*",
        "T32",
        "T42*",
        "T50d",
        "I20*",
        "I21",
        "I22l",
        "M10",
        "M12*",
        "M17*",
        "T50+&M10+",
        "T32*,h33",
        "T30l",
        "-",
        "-",
    ]
)


@settings(max_examples=60)
@given(
    rows=st.lists(st.lists(TOKENS, min_size=8, max_size=8), min_size=1, max_size=3), chord=st.sampled_from(["G", "B7"])
)
def test_anything_can_be_explained(solo, rows, chord):
    is_sound(solo(*(" ".join(row) for row in rows), chords=(chord,), extra=[(1, 3, 1, 60)]))
