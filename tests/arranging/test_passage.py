from fractions import Fraction

import pytest

from coach.arranging.passage import passage

ROW = "T30* - - - - - - -"


def test_positions_count_from_the_start_of_the_passage(solo):
    arrangement = solo("T30* -", ROW, ROW, first=0)

    assert [(start, measure.number) for start, measure in passage(arrangement)] == [(0, 0), (1, 1), (5, 2)]
    assert [(start, measure.number) for start, measure in passage(arrangement, first=1, last=2)] == [
        (Fraction(0), 1),
        (Fraction(4), 2),
    ]


@pytest.mark.parametrize(("first", "last"), [(0, 2), (1, 4), (3, 2)])
def test_a_passage_that_is_not_there_is_refused(solo, first, last):
    with pytest.raises(ValueError, match=r"no passage of a solo with measures 1\.\.3"):
        passage(solo(ROW, ROW, ROW), first=first, last=last)
