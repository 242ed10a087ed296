"""Fingers of the left hand: the trade's examples, the hard rule, and the best path against brute force."""

from dataclasses import replace
from itertools import groupby, pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.grips import Grip, Held, grip_price, left_cost
from coach.arranging.lefthand import ROLL_SLOTS, End, fingered, is_obvious, move_price, paths
from coach.arranging.rules import broken_rules
from coach.arranging.stops import Passage, Stop
from coach.instrument.fretboard import Place
from coach.tunes.demo import DEMO_TUNES


def fingers(arrangement):
    """The fingers of the stopped plucks in order, the obvious ones too."""
    return [
        pluck.fret if pluck.left is None else pluck.left for _, pluck in fingered(arrangement).plucks() if pluck.fret
    ]


@pytest.mark.parametrize(
    ("chord", "row", "expected"),
    [
        ("C", "T42* I21 M12 T50d M12 I21 T42 -", [2, 1, 3, 3, 1, 2]),
        ("D7", "T32* I21 T50d M10 T32 I21 - -", [2, 1, 2, 1]),
        ("G", "T32*,s33 I20 M10 T50d I20 M10 T30 -", [2, 2]),  # a slide: one finger
        ("G", "T32*,h33 I20 M10 T50d I20 M10 T30 -", [1, 2]),
        ("G", "T33*,p32 I20 M10 T50d I20 M10 T30 -", [2, 1]),
        ("D", "T40* I23 M14 T32 I23 M14 - -", [2, 3, 1, 2, 3]),
        ("G", "T40* h42* T50d M10 T30* I20 T50d M10", [2]),
        ("A", "T42* I32 M12 T50d I22 M12 - -", [1, 1, 1, 1, 1]),
    ],
)
def test_the_trades_examples(solo, chord, row, expected):
    assert fingers(solo(row, chords=(chord,))) == expected


def test_what_is_obvious_is_not_told(solo):
    (measure,) = fingered(solo("T42* I21 M12 T50d M12 I21 T42 -", chords=("C",))).measures

    assert [pluck.left for pluck in measure.plucks] == [None, None, 3, None, 3, None, None]
    assert [is_obvious(fret, fret) for fret in range(6)] == [False, True, True, True, True, False]


def test_the_hand_follows_a_melody_up_the_neck(solo):
    arrangement = solo("M15* - M17* - M15* T50d M17* -", "M12* - M10* - T30* - - -")

    assert fingers(arrangement)[:4] in ([1, 3, 1, 3], [2, 4, 2, 4])
    assert broken_rules(fingered(arrangement)) == ()


def test_a_repeated_measure_gets_its_fingers_again(solo):
    arrangement = solo("T33*,p32 I20 - -", "T32* I21 - -", "T33*,p32 I20 - -", "M15* - - -")
    first, second, third, fourth = arrangement.measures
    again = fingered(replace(arrangement, measures=(first, second, replace(third, same_as=1), fourth)))

    assert [p.left for p in again.measures[2].plucks] == [p.left for p in again.measures[0].plucks] == [2, 1, None]


def test_a_repeat_under_another_chord_gets_its_fingers_again(solo):
    first, second = solo("M12* T50d M12* T50d", "M12* T50d M12* T50d", chords=("C", "G")).measures
    again = fingered(replace(solo("M12*"), measures=(first, replace(second, same_as=1))))

    assert (
        [p.left for p in again.measures[1].plucks] == [p.left for p in again.measures[0].plucks] == [3, None, 3, None]
    )


def test_a_slur_over_the_barline_is_fingered_as_one(solo):
    assert fingers(solo("T30* - - T33*", "p32* - - -")) == [2, 1]
    assert fingers(solo("T30* - - T33*", "T32* - - -")) == [3, 2]


def test_what_no_hand_reaches_gets_fingers_in_the_order_of_its_frets(solo):
    impossible = fingered(solo("T41*&M19+ I27 T41 -"))

    assert [pluck.left for _, pluck in impossible.plucks()][:2] == [None, 2]
    assert {broken.rule for broken in broken_rules(impossible)} >= {"span"}


def test_a_slur_that_no_hand_spans_gets_no_fingers_and_what_is_around_it_does(solo):
    told = fingered(solo("T45* - I20 - T31* h312 - -", "T45* - I20 - T30* - - -"))

    assert [[pluck.left for pluck in measure.plucks if pluck.fret][-1] for measure in told.measures] == [None, 3]


def test_fingering_again_changes_nothing(solo):
    arrangement = fingered(solo("T33*,p32 I20 M12 T50d", "T42* I21 M12 -", chords=("G", "C")))

    assert fingered(arrangement) == arrangement


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_the_demo_tunes_have_fingers_by_the_rule_and_reach_each_slur(demo_solos, name):
    for done in demo_solos(name).values():
        assert [broken for broken in broken_rules(done) if broken.rule in ("left hand", "repeat")] == []
        assert all(pluck.left or pluck.fret <= 4 for _, pluck in done.plucks())
        assert all(pluck.left is None or not is_obvious(pluck.fret, pluck.left) for _, pluck in done.plucks())


# Random rows that keep the rule of reach, and fingers chosen for them.
LOW = st.sampled_from(["T30", "T32", "T33", "T42", "I20", "I21", "I23", "M10", "M12", "M14", "T50d", "-"])
ROWS = st.lists(LOW, min_size=8, max_size=8).filter(lambda row: any(token != "-" for token in row))


@settings(max_examples=60)
@given(rows=st.lists(ROWS, min_size=1, max_size=3), chord=st.sampled_from(["G", "C", "D7", "Em", "B7"]))
def test_whatever_a_hand_reaches_gets_fingers_by_the_rule(solo, rows, chord):
    done = fingered(solo(*(" ".join(row) for row in rows), chords=(chord,)))
    broken = {each.rule for each in broken_rules(done)}

    assert "span" in broken or "left hand" not in broken


# Brute force: every cut into stretches, every hand and every finger for each of them.
def all_stretches(stops):
    moments = [list(group) for _, group in groupby(range(len(stops)), key=lambda k: stops[k].moment)]
    for cuts in product([False, True], repeat=len(moments) - 1):
        parts = [list(moments[0])]
        for cut, moment in zip(cuts, moments[1:], strict=True):
            if cut:
                parts.append(list(moment))
            else:
                parts[-1] += moment
        yield parts


def allowed(stops, parts):
    """Slurs lie within a part, and no roll has two cuts."""
    where = {k: index for index, part in enumerate(parts) for k in part}
    whole = all(stop.origin < 0 or where[stop.origin] == where[k] for k, stop in enumerate(stops))
    cuts = [stops[part[0]] for part in parts[1:]]
    return whole and all(a.run != b.run or b.slot - a.slot >= ROLL_SLOTS for a, b in pairwise(cuts))


def every_grip(passage, part):
    """Every hand and fingers of a stretch, legal by a second reading of the rules, with the price of the table."""
    stops = [passage.stops[k] for k in part]
    places = sorted({stop.place for stop in stops}, key=lambda place: (place.fret, place.string))
    liked = tuple(max(stop.liked for stop in stops if stop.place == place) for place in places)
    pairs = frozenset(
        tuple(sorted((places.index(passage.stops[stop.origin].place), places.index(stop.place))))
        for stop in stops
        if stop.origin >= 0
    )
    opens = frozenset(s for at, s in passage.opens if stops[0].moment <= at <= stops[-1].moment)
    held = Held(
        tuple(places), opens, liked, pairs, frozenset(places.index(s.place) for s in stops if s.slides), passage.stretch
    )
    for hand in range(1, 9):
        for chosen in product(range(1, 5), repeat=len(places)):
            steps = [place.fret - hand for place in places]
            near = all(
                0 <= step <= finger - 1 + (passage.stretch and finger > 1)
                for step, finger in zip(steps, chosen, strict=True)
            )
            rows = [(place.fret, finger) for place, finger in zip(places, chosen, strict=True)]
            if near and all(f < g for a, f in rows for b, g in rows if a < b):
                yield Grip(hand, tuple(chosen[places.index(s.place)] for s in stops), grip_price(held, hand, chosen))


def brute(passage):
    """The least price for each pair of ends."""
    stops, found = passage.stops, {}
    for parts in all_stretches(stops):
        if not allowed(stops, parts):
            continue
        for chain in product(*(list(every_grip(passage, part)) for part in parts)):
            ends = [
                (End(g.hand, stops[p[0]].place, g.fingers[0]), End(g.hand, stops[p[-1]].place, g.fingers[-1]))
                for g, p in zip(chain, parts, strict=True)
            ]
            price = sum(grip.price for grip in chain) + left_cost("grip changes") * (len(parts) - 1)
            for one, other, part in zip(ends, ends[1:], parts[1:], strict=False):
                near = stops[part[0]].slot - stops[part[0] - 1].slot <= 1
                price += move_price(one[1], other[0], near=near)
            key = (ends[0][0], ends[-1][1])
            found[key] = min(price, found.get(key, price))
    return found


@st.composite
def passages(draw):
    stops, slot, run = [], 0, 0
    for k in range(draw(st.integers(1, 4))):
        gap = draw(st.integers(1, 4)) if k else 0
        run += draw(st.booleans()) and gap > 1
        slot += gap
        place = Place(draw(st.integers(1, 4)), draw(st.integers(1, 5)))
        slurred = bool(stops) and gap == 1 and stops[-1].place.string == place.string and stops[-1].place != place
        origin = k - 1 if slurred and draw(st.booleans()) else -1
        stops.append(Stop(2 * slot, slot, run, place, draw(st.integers(0, 3)), origin, draw(st.booleans())))
    opens = draw(st.lists(st.tuples(st.integers(0, 12), st.integers(1, 5)), max_size=3))
    return Passage(tuple(stops), tuple(opens), draw(st.booleans()))


@settings(max_examples=30, deadline=None)
@given(passages())
def test_the_best_path_is_the_one_that_brute_force_finds(passage):
    every = brute(passage)
    found = {(path.enters, path.leaves): path.price for path in paths(passage)}
    if not every:
        assert min(found.values()) >= left_cost("grip changes")
        return
    least = min(every.values())

    assert min(found.values()) == least
    assert {ends: every[ends] for ends in found} == found
    # What was dropped can never be better, wherever the hand comes from and goes to.
    others = [End(hand, Place(string, 2), finger) for hand in (1, 4) for string in (1, 3) for finger in (1, 2, 3)]
    for before, after in product(others, repeat=2):
        assert least_through(found, before, after) == least_through(every, before, after)


def least_through(known, before, after):
    return min(
        price + move_price(before, enters, near=True) + move_price(leaves, after, near=True)
        for (enters, leaves), price in known.items()
    )
