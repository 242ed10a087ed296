"""Other ways through a measure: each the cheapest of all that differ from those before it."""

from fractions import Fraction

import pytest

from coach.arranging.arrange import Work, arrange
from coach.arranging.edits import Edits, Lock, WrittenPluck, lock
from coach.arranging.otherways import differ, other_ways
from coach.arranging.paths import contents, paths
from coach.arranging.rules import broken_rules
from coach.errors import ArrangeError
from coach.tunes.demo import demo_tune
from coach.tunes.read import read_tune_bytes


@pytest.fixture(scope="module")
def lane():
    return Work(demo_tune("mill-lane"))


def slots(measure, slot=Fraction(1, 2)):
    """Strings and frets by slot, read from the finished measure; a slurred note is with its pick."""
    found = [set() for _ in range(int(measure.length / slot))]
    last = {}
    for pluck in measure.plucks:
        place = int(pluck.at / slot) if pluck.finger else last[pluck.string]
        last[pluck.string] = place
        found[place].add((pluck.string, pluck.fret))
    return [tuple(sorted(each)) for each in found]


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ("aaaaaaaa", "aaaaaabb", True),  # 2 of 8
        ("aaaaaaaa", "aaaaaaab", False),
        ("aaaaaaaaaaaa", "aaaaaaaaaabb", False),  # 2 of 12 are no quarter
        ("aaaaaaaaaaaa", "aaaaaaaaabbb", True),
        ("aa", "ab", False),  # one slot is never enough
        ("aa", "bb", True),
    ],
)
def test_ways_differ_in_two_slots_and_a_quarter_of_them(one, other, expected):
    assert differ(one, other) is expected


@pytest.mark.parametrize("tier", ["beginner", "intermediate", "advanced"])
@pytest.mark.parametrize("number", [6, 16])
def test_every_way_obeys_the_rules_between_its_neighbours_and_differs_from_all_others(lane, tier, number):
    solo = lane.solo(tier)
    ways = other_ways(lane, tier, number)

    index = next(k for k, measure in enumerate(solo.measures) if measure.number == number)
    listed = [solo.measures[index], *(way.measure for way in ways)]
    for k, measure in enumerate(listed):
        assert all(differ(slots(measure), slots(other)) for other in listed[:k])
        around = [m for m in solo.measures if m.same_as is None or m.number == number]
        assert broken_rules_of(solo, [measure if m.number == number else m for m in around], number) == []
    assert [way.number for way in ways] == list(range(1, len(ways) + 1))
    assert [way.extra for way in ways] == sorted(way.extra for way in ways)
    assert all(way.sentence.endswith(".") for way in ways)


def broken_rules_of(solo, measures, number):
    from dataclasses import replace

    whole = replace(solo, measures=tuple(replace(m, same_as=None) for m in measures))
    return [b for b in broken_rules(whole) if b.measure == number and b.rule != "ids"]


@pytest.mark.parametrize(
    ("tier", "number"), [("intermediate", 1), ("intermediate", 8), ("advanced", 3), ("beginner", 8)]
)
def test_the_list_is_that_of_looking_at_every_path(lane, tier, number):
    """By the definition, with no path left out unseen: the cheapest that differs, and so on."""
    made = lane.made(tier)
    (place,) = lane.frame.parts[number - 1]
    assert lane.frame.played[number - 1].number == number
    chosen = made.solo.chosen
    before = chosen[place - 1].leaves if place else None
    offer = made.ways.of(place, made.solo.conceded[place])
    ways = other_ways(lane, tier, number, most=4)
    listed = [contents([chosen[place]])]
    expected = []
    for path in paths([offer], before, chosen[place + 1].enters, least=min(0, made.neck.lean)):
        sounding = contents(path.chosen)
        if all(differ(sounding, each) for each in listed):
            listed.append(sounding)
            expected.append(path.price)
            if len(expected) == 4:
                break

    assert ways
    assert [way.extra - ways[0].extra for way in ways] == [price - expected[0] for price in expected]
    assert [slots(way.measure) for way in ways] == listed[1:]


def test_a_way_that_is_taken_stands_and_is_not_listed_again(lane):
    tune = lane.frame.tune
    way = other_ways(lane, "intermediate", 6)[2]
    edits = Edits(tune.id, (lock(lane.solo("intermediate"), way.measure),))

    solo = arrange(tune, "intermediate", edits=edits)

    taken = next(measure for measure in solo.measures if measure.number == 6)
    assert slots(taken) == slots(way.measure)
    assert [p.finger for p in taken.plucks] == [p.finger for p in way.measure.plucks]
    assert taken.melody == way.measure.melody
    assert broken_rules(solo) == ()
    again = other_ways(Work(tune, edits=edits), "intermediate", 6)
    assert all(differ(slots(each.measure), slots(taken)) for each in again)


def test_a_teachers_own_measure_has_other_ways_and_so_has_its_neighbour():
    tune = demo_tune("mill-lane")
    row = tuple(WrittenPluck(Fraction(k, 2), 3, 0, "T") for k in range(8))
    work = Work(tune, edits=Edits(tune.id, (Lock("intermediate", 5, row),)))

    own, beside = (other_ways(work, "intermediate", number) for number in (5, 6))

    assert own[0].extra == 0
    assert beside
    for way in beside:
        assert way.measure.plucks[0].at > 0 or (way.measure.plucks[0].finger, way.measure.plucks[0].string) not in {
            ("T", 3),
            ("T", 4),
        }


def test_no_more_ways_are_listed_than_asked_for_and_a_single_slot_has_none():
    work = Work(demo_tune("lamps-on-the-water"))
    assert work.frame.played[0].number == 0

    assert len(other_ways(work, "intermediate", 3, most=2)) == 2
    assert all(len(slots(way.measure)) > 1 for way in other_ways(work, "intermediate", 0))


def test_a_long_measure_that_is_searched_in_parts_has_ways_that_differ_in_a_quarter_of_all_its_slots():
    row = "X:1\nT:Long\nM:12/8\nL:1/8\nK:G\n" + '"G"G3 B3 d3 B3|"C"c2e cde "D7"d2c A3|"G"G12|\n'
    work = Work(read_tune_bytes(row.encode(), "long.abc"))
    assert len(work.frame.parts[1]) == 2

    solo = work.solo("intermediate")
    ways = other_ways(work, "intermediate", 2)

    listed = [solo.measures[1], *(way.measure for way in ways)]
    assert len(slots(listed[0])) == 12
    assert len(listed) > 4
    for k, measure in enumerate(listed):
        assert all(differ(slots(measure), slots(other)) for other in listed[:k])
    assert [way.extra for way in ways] == sorted(way.extra for way in ways)


def test_a_measure_that_is_not_there_is_refused(lane):
    with pytest.raises(ArrangeError, match="there is no measure 40 as played; choose from 1 to 16"):
        other_ways(lane, "beginner", 40)
