"""Clicks and count-ins: common practice, no source."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from coach.arranging.click import click, count_in, count_in_length


def row(slots):
    return " ".join(["T30*"] + ["-"] * (slots - 1))


def told(clicks):
    return [(str(each.at), each.weight) for each in clicks]


def test_a_click_on_every_beat_and_an_accent_on_the_first(solo):
    clicks = click(solo(row(8), row(8)))

    assert [each.at for each in clicks] == list(range(8))
    assert [each.weight for each in clicks] == ["accent", "beat", "beat", "beat"] * 2


@pytest.mark.parametrize(
    ("meter", "slots", "expected"),
    [
        ((3, 4), 6, [("0", "accent"), ("1", "beat"), ("2", "beat")]),
        ((2, 4), 4, [("0", "accent"), ("1", "beat")]),
        ((6, 8), 6, [("0", "accent"), ("3/2", "beat")]),
        ((9, 8), 9, [("0", "accent"), ("3/2", "beat"), ("3", "beat")]),
        ((3, 8), 3, [("0", "accent"), ("1/2", "beat"), ("1", "beat")]),
        ((2, 2), 8, [("0", "accent"), ("1", "light"), ("2", "beat"), ("3", "light")]),
        ((5, 8), 5, [("0", "accent"), ("1/2", "light"), ("1", "beat"), ("3/2", "light"), ("2", "light")]),
        (
            (6, 4),
            12,
            [("0", "accent"), ("1", "light"), ("2", "light"), ("3", "beat"), ("4", "light"), ("5", "light")],
        ),
    ],
)
def test_beats_follow_the_metre(solo, meter, slots, expected):
    assert told(click(solo(row(slots), meter=meter))) == expected


@pytest.mark.parametrize("meter", [(6, 8), (9, 8), (12, 8)])
def test_the_eighths_of_a_compound_metre_are_clicked_lightly_below_a_hundred_quarters(solo, meter):
    arrangement = solo(row(meter[0]), meter=meter)
    slow, fast = ([each.weight for each in click(arrangement, tempo=tempo)] for tempo in (99.9, 100))

    assert slow == ["accent", "light", "light"] + ["beat", "light", "light"] * (meter[0] // 3 - 1)
    assert fast == ["accent"] + ["beat"] * (meter[0] // 3 - 1)
    assert [each.weight for each in count_in(arrangement, tempo=99.9)][: len(slow)] == slow


def test_clicks_follow_a_metre_that_changes(solo):
    duple, triple = solo(row(8)), solo(row(6), meter=(3, 4), first=2)
    clicks = click(replace(duple, measures=duple.measures + triple.measures))

    assert [str(each.at) for each in clicks if each.weight == "accent"] == ["0", "4"]
    assert len(clicks) == 7


@pytest.mark.parametrize(
    ("slots", "expected"),
    [
        (2, [("0", "beat"), ("1", "accent")]),  # a quarter of pickup is beat 4
        (1, [("1/2", "accent")]),  # half a beat: no click on the off-beat
        (3, [("1/2", "beat"), ("3/2", "accent")]),
    ],
)
def test_clicks_of_a_pickup_stand_on_its_beats(solo, slots, expected):
    assert told(click(solo(row(slots), row(8), first=0)))[: len(expected)] == expected


def test_a_short_last_measure_begins_on_its_first_beat(solo):
    assert told(click(solo(row(8), row(6)), first=2)) == [("0", "accent"), ("1", "beat"), ("2", "beat")]


def test_without_pickup_one_measure_is_counted_in(solo):
    assert told(count_in(solo(row(8)))) == [("-4", "accent"), ("-3", "beat"), ("-2", "beat"), ("-1", "beat")]


def test_a_pickup_of_a_quarter_falls_on_four(solo):
    clicks = count_in(solo(row(2), row(8), first=0))

    assert [each.at for each in clicks] == [-7, -6, -5, -4, -3, -2, -1]
    assert [each.weight for each in clicks] == ["accent", "beat", "beat", "beat", "accent", "beat", "beat"]


def test_a_pickup_on_the_off_beat_comes_after_its_beat(solo):
    clicks = count_in(solo(row(1), row(8), first=0))

    assert clicks[-1].at == Fraction(-1, 2)
    assert len(clicks) == 8


def test_from_a_later_measure_the_pickup_does_not_count(solo):
    assert count_in_length(solo(row(2), row(8), first=0), first=1) == 4


@pytest.mark.parametrize(
    ("meter", "slots", "length"), [((2, 4), 4, 4), ((2, 2), 8, 8), ((6, 8), 6, 6), ((3, 4), 6, 3), ((4, 4), 8, 4)]
)
def test_few_beats_are_counted_in_over_two_measures(solo, meter, slots, length):
    assert count_in_length(solo(row(slots), meter=meter)) == length


@pytest.mark.parametrize("meter", [(4, 4), (3, 4), (2, 2), (6, 8), (2, 4)])
def test_a_count_in_runs_into_the_click_without_a_seam(solo, meter):
    slots = 8 * meter[0] // meter[1]
    arrangement = solo(row(slots), meter=meter)
    clicks = [*count_in(arrangement), *click(arrangement)]
    gaps = {after.at - before.at for before, after in pairwise(clicks)}

    assert len(gaps) == 1
