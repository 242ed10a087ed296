"""The search finds the least-cost path: against brute force, and by its own rules."""

from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.costs import cost
from coach.arranging.picks import NOWHERE, STATES, Option, layer, step
from coach.arranging.search import NoWayError, solve
from coach.arranging.ways import ANY_HAND, FREE, Joint, Lane, Offer, Way, lanes

EVERY_STATE = frozenset(range(len(STATES)))
CHANGE = cost("change of roll")


def picked(finger, string):
    return 6 * "TIM".index(finger) + string


def offer(*ways):
    ways = sorted(ways, key=lambda way: way.price)
    return Offer(ways, EVERY_STATE, CHANGE, frozenset(way.hand for way in ways))


@st.composite
def options(draw):
    states = draw(st.lists(st.sampled_from([2, 3, 4, 5, 8, 9, 13]), min_size=1, max_size=4, unique=True))
    return [Option(state, draw(st.integers(0, 6)), draw(st.integers(0, 3))) for state in states]


@st.composite
def ways(draw):
    slots = draw(st.lists(st.integers(0, 3), max_size=4, unique=True).map(sorted))
    layers = tuple(layer(slot, draw(options()), "fill") for slot in slots)
    hand = draw(st.sampled_from([1, 1, 1, 2]))
    return Way(draw(st.integers(0, 9)), layers, 4, hand, rolled=draw(st.booleans()), threes=draw(st.booleans()))


offers = st.lists(ways(), min_size=1, max_size=3).map(lambda found: offer(*found))


def courses(way):
    """Every lane and choice of options through a way, with its own price and what barlines see; by brute force."""
    if not way.layers:
        yield way.price, Joint(way.hand, FREE, NOWHERE, gap=True), Joint(way.hand, FREE, NOWHERE, gap=True)
        return
    for lane in lanes(tuple(7 for _ in way.layers)) if way.rolled else (Lane(FREE, (), FREE, threes=False),):
        choices = [
            [o for found in each.fingers for o in found if not lane.fingers or STATES[o.state][0][0] == lane.fingers[k]]
            for k, each in enumerate(way.layers)
        ]
        for chosen in product(*choices):
            price = way.price + sum(o.price for o in chosen)
            price += cost("no groups of three") if way.threes and way.rolled and not lane.threes else 0
            for k in range(1, len(chosen)):
                if way.layers[k].slot == way.layers[k - 1].slot + 1:
                    more = step(chosen[k - 1].state, chosen[k].state)
                    if more is None:
                        break
                    price += more
            else:
                enters = Joint(way.hand, lane.lane, chosen[0].state, gap=way.layers[0].slot > 0)
                gap = way.layers[-1].slot < way.size - 1
                yield price, enters, Joint(way.hand, lane.onward, chosen[-1].state, gap)


def between(leaves, enters):
    """What a barline costs, or None."""
    gap = leaves.gap or enters.gap
    if leaves.hand != enters.hand and not gap:
        return None
    price = cost("hand moves") * abs(leaves.hand - enters.hand)
    price += 0 if leaves.lane == enters.lane != FREE else CHANGE
    if not gap:
        more = step(leaves.state, enters.state)
        if more is None:
            return None
        price += more
    return price


def brute_force(measures):
    least = None
    ways_through = [[course for way in each.ways for course in courses(way)] for each in measures]
    for path in product(*ways_through):
        price = sum(each[0] for each in path)
        for before, after in pairwise(path):
            more = between(before[2], after[1])
            if more is None:
                break
            price += more
        else:
            least = price if least is None else min(least, price)
    return least


@given(st.lists(offers, min_size=1, max_size=2))
def test_the_cost_equals_that_of_brute_force(measures):
    expected = brute_force(measures)

    if expected is None:
        with pytest.raises(NoWayError):
            solve(measures)
    else:
        assert solve(measures)[0] == expected


@given(st.lists(offers, min_size=1, max_size=3))
def test_the_path_is_what_it_is_said_to_cost_and_obeys_the_hands(measures):
    try:
        price, chosen = solve(measures)
    except NoWayError:
        return
    total = sum(each.way.price + sum(o.price for o in each.options) for each in chosen)
    for each in chosen:
        for k in range(1, len(each.options)):
            if each.way.layers[k].slot == each.way.layers[k - 1].slot + 1:
                more = step(each.options[k - 1].state, each.options[k].state)
                assert more is not None
                total += more
        lane = each.enters.lane
        total += cost("no groups of three") if each.way.threes and lane != FREE and not 4 <= lane < 10 else 0
    for before, after in pairwise(chosen):
        more = between(before.leaves, after.enters)
        assert more is not None
        total += more

    assert total == price


def test_of_equal_paths_the_lexicographically_smallest_is_found():
    same = [Option(picked("T", 3), 0, 0), Option(picked("I", 2), 0, 0), Option(picked("M", 1), 0, 0)]
    way = Way(0, (layer(0, same, "fill"), layer(1, same, "fill")), 2, 1, rolled=False)

    _, (chosen,) = solve([offer(way)])

    assert [option.state for option in chosen.options] == [picked("T", 3), picked("I", 2)]


def test_a_roll_that_runs_across_the_barline_costs_no_change():
    every = [Option(picked("T", 3), 0, 0), Option(picked("I", 2), 0, 0), Option(picked("M", 1), 0, 0)]
    three = tuple(layer(slot, every, "fill") for slot in range(4))
    way = Way(0, three, 4, 1, rolled=True)

    price, chosen = solve([offer(way), offer(way)])

    assert price == 0
    assert chosen[1].enters.lane == chosen[0].leaves.lane


@pytest.mark.parametrize(
    ("before", "after", "allowed"),
    [
        (("T", 3), ("I", 2), True),
        (("T", 3), ("T", 4), False),
        (("T", 3), ("I", 3), False),
        (("M", 1), ("T", 5), True),
        (("I", 2), ("M", 2), False),
    ],
)
def test_no_finger_and_no_string_twice_in_running_slots(before, after, allowed):
    assert (step(picked(*before), picked(*after)) is not None) == allowed


@pytest.mark.parametrize(
    ("before", "after", "allowed"),
    [
        (("T", 4), ("I", 4), True),
        (("I", 1), ("M", 1), True),
        (("T", 1), ("M", 1), False),  # thumb and middle do not alternate on one string
        (("T", 4), ("T", 4), False),
        (("M", 3), ("T", 4), False),  # only in a run on one string does a finger leave its own strings
    ],
)
def test_a_melody_runs_on_one_string_with_thumb_and_index_or_index_and_middle(before, after, allowed):
    assert (step(picked(*before), picked(*after), together=True) is not None) == allowed


def test_a_pinch_uses_both_its_fingers_and_strings():
    pinch = next(state for state, parts in enumerate(STATES) if len(parts) > 1 and parts[0][1] == 5)

    assert step(pinch, picked("M", 2)) is None
    assert step(pinch, picked("T", 3)) is None
    assert step(pinch, picked("I", 2)) is not None


def test_an_impossible_measure_is_named():
    stuck = Way(0, (layer(0, [Option(picked("T", 3), 0, 0)], "fill"),), 1, 1, rolled=False)

    with pytest.raises(NoWayError) as error:
        solve([offer(stuck), offer(stuck)])

    assert error.value.measure == 0


def test_a_known_pluck_before_the_first_barline_is_respected():
    either = [Option(picked("T", 3), 0, 0), Option(picked("I", 2), 3, 0)]
    way = Way(0, (layer(0, either, "fill"),), 1, 1, rolled=False)

    _, (chosen,) = solve([offer(way)], before=Joint(1, FREE, picked("T", 5), gap=False))

    assert chosen.options[0].state == picked("I", 2)
    assert ANY_HAND not in (chosen.enters.hand, chosen.leaves.hand)
