"""Three tiers for outside tunes in every metre, with metres that change, with triplets and with grace notes.

Source of the tunes: ``music21.corpus``; they are read where they lie and nothing of them is copied. Each was
drawn by chance among those of its kind with twenty measures and fewer.
"""

from pathlib import Path

import pytest

from coach.arranging.arrange import arrange_all
from coach.arranging.rules import broken_rules
from coach.tunes.read import read_tune

TUNES = [
    ("4/4", "essenFolksong/boehme10.abc", 109),
    ("2/2", "oneills1850/1376-1475.abc", 1407),
    ("2/4", "essenFolksong/kinder0.abc", 38),
    ("3/4", "essenFolksong/erk20.abc", 88),
    ("6/8", "essenFolksong/zuccal0.abc", 134),
    ("9/8", "oneills1850/1116-1135_ml.abc", 1129),
    ("12/8", "ryansMammoth/OffSheGoesJig.abc", 1),
    ("3/8", "essenFolksong/lot.abc", 221),
    ("6/4", "essenFolksong/altdeu20.abc", 74),
    ("3/2", "essenFolksong/altdeu20.abc", 209),
    ("4/2", "essenFolksong/altdeu10.abc", 109),
    ("4/1", "essenFolksong/altdeu20.abc", 190),
    ("5/4", "essenFolksong/erk10.abc", 395),
    ("changing", "oneills1850/0201-0300.abc", 264),
    ("changing", "ryansMammoth/RumAndOnionsJig.abc", 1),
    ("triplets", "oneills1850/1577-1624.abc", 1603),
    ("graces", "oneills1850/1476-1555.abc", 1529),
]


@pytest.mark.parametrize(("kind", "file", "number"), TUNES)
def test_three_tiers_come_out_and_break_no_rule(kind, file, number):
    import music21

    tune = read_tune(Path(music21.__file__).parent / "corpus" / file, number=number)
    notes = [note for measure in tune.measures for note in measure.notes]
    meters = {str(measure.meter) for measure in tune.measures}
    has = {
        "changing": len(meters) > 1,
        "triplets": any(note.length.denominator % 3 == 0 for note in notes),
        "graces": any(note.grace is not None for note in notes),
    }
    assert has.get(kind, kind in meters)

    for tier, solo in arrange_all(tune).items():
        assert [each.sentence for each in broken_rules(solo)] == [], tier
        assert solo.slot * 2 <= 1  # slots are eighths or shorter, whatever the notes of the source
        assert {measure.source_measure for measure in solo.measures} <= {measure.number for measure in tune.measures}
        for measure in solo.measures:
            # The first note of every measure, if it stands on the beat, is played there or not at all.
            for note in measure.melody:
                if note.at == 0 and note.kept and tier == "beginner":
                    assert note.moved is None
