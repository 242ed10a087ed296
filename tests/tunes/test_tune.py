"""The types of a tune."""

from dataclasses import replace
from fractions import Fraction

import pytest

from coach.tunes.keys import Key
from coach.tunes.tune import Measure, Meter, Note, Tune


@pytest.mark.parametrize(
    ("meter", "length", "beat", "compound"),
    # Common practice, no source: the beat of a compound metre is a dotted value.
    [
        (Meter(4, 4), 4, 1, False),
        (Meter(2, 2), 4, 2, False),
        (Meter(3, 4), 3, 1, False),
        (Meter(3, 8), Fraction(3, 2), Fraction(1, 2), False),
        (Meter(6, 8), 3, Fraction(3, 2), True),
        (Meter(12, 8), 6, Fraction(3, 2), True),
        (Meter(6, 4), 6, 1, False),
    ],
)
def test_metres_know_length_and_beat(meter: Meter, length: Fraction, beat: Fraction, compound: bool) -> None:
    assert (meter.length, meter.beat, meter.compound) == (length, beat, compound)


TUNE = Tune("Mill Lane", "", Key("G"), (Measure(1, Meter(4, 4), Fraction(4), (Note(Fraction(0), Fraction(4), 67),)),))


@pytest.mark.parametrize(
    ("title", "slug"),
    [("Mill Lane", "mill-lane"), ("Übers Wasser!", "ubers-wasser"), ("", "tune"), ("山", "tune"), ("a" * 60, "a" * 40)],
)
def test_an_id_begins_with_a_slug_of_the_title(title: str, slug: str) -> None:
    name, _, digest = replace(TUNE, title=title).id.rpartition("-")
    assert name == slug
    assert len(digest) == 8
    assert int(digest, 16) >= 0


def test_an_id_changes_with_the_music_alone_or_the_words_about_it() -> None:
    louder = replace(TUNE, measures=(replace(TUNE.measures[0], notes=(Note(Fraction(0), Fraction(4), 69),)),))
    assert len({TUNE.id, louder.id, replace(TUNE, rights="Free").id}) == 3
    assert replace(TUNE).id == TUNE.id


def test_a_grace_is_part_of_the_name_and_its_lack_is_not() -> None:
    note = TUNE.measures[0].notes[0]
    graced = replace(TUNE, measures=(replace(TUNE.measures[0], notes=(replace(note, grace=62),)),))

    assert TUNE.id == "mill-lane-2dbb9c86"  # as it was before notes could have graces
    assert graced.id != TUNE.id
