"""The search finds the least-cost path: against brute force, and by its own rules."""

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.costs import cost
from coach.arranging.picks import NOWHERE, STATES, Option, layer, step
from coach.arranging.search import NoWayError, solve
from coach.arranging.ways import ANY_HAND, FREE, LINKED, Joint, Lane, Offer, Way, lanes

EVERY_STATE = frozenset(range(len(STATES)))
CHANGE = cost("change of roll")


def picked(finger, string):
    return 6 * "TIM".index(finger) + string


def offer(*ways, small=True):
    ways = sorted(ways, key=lambda way: way.price)
    links = {
        (way.link_out, option.state)
        for way in ways
        if way.link_out != FREE
        for options in way.layers[-1].fingers
        for option in options
    }
    hands = frozenset(way.hand for way in ways)
    return Offer(ways, EVERY_STATE, CHANGE, hands, small or linked(ways) or apart(ways), frozenset(links))


def linked(ways):
    return any(way.link_in != FREE or way.link_out != FREE for way in ways)


def apart(ways):
    """Whether the prices of the ways lie so far apart that a search may give a joint up unseen."""
    options = [[o.price for found in each.fingers for o in found] for way in ways for each in way.layers]
    dearest = max(way.price for way in ways) + 4 * max((max(prices) for prices in options), default=0)
    cheapest = min(way.price for way in ways) + 4 * min((min(prices) for prices in options), default=0)
    return dearest - cheapest > 16


@st.composite
def options(draw, *, slurs=True):
    states = draw(st.lists(st.sampled_from([2, 3, 4, 5, 8, 9, 13]), min_size=1, max_size=4, unique=True))
    found = [Option(state, draw(st.integers(-3, 6)), draw(st.integers(0, 3))) for state in states]
    if slurs and draw(st.integers(0, 4)) == 0:
        # A note slurred a slot later takes the slot behind the pick.
        found = [option._replace(technique="hammer-on", to_fret=option.fret + 2, slow=True) for option in found]
    return found


@st.composite
def ways(draw):
    """A way with fills, slurs, and parts of licks, whose options are few and cost nothing."""
    slots = draw(st.lists(st.integers(0, 3), max_size=4, unique=True).map(sorted))
    layers = tuple(
        layer(slot, draw(options(slurs=slot + 1 not in slots and slot < 3)), draw(st.sampled_from(["fill", "lick"])))
        for slot in slots
    )
    links = st.sampled_from([FREE, FREE, LINKED, LINKED + 1]) if layers else st.just(FREE)
    return Way(
        draw(st.integers(-6, 9)),
        layers,
        4,
        draw(st.sampled_from([1, 1, 1, 2])),
        rolled=draw(st.booleans()),
        threes=draw(st.booleans()),
        link_in=draw(links),
        link_out=draw(links),
        rolls=draw(st.sampled_from([(), (), (0, 1, 2, 3)])),
    )


offers = st.builds(
    lambda found, small: offer(*found, small=small), st.lists(ways(), min_size=1, max_size=3), st.booleans()
)


def along(way, lane):
    """What a lane costs besides its picks, and the lanes that barlines see."""
    price = 0
    if way.rolled:
        price += cost("no groups of three") if way.threes and not lane.threes else 0
        price += way.rolls[lane.roll] if way.rolls else 0
    enters = way.link_in if way.link_in != FREE else lane.lane
    return price, enters, way.link_out if way.link_out != FREE else lane.onward


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
            more, enters_by, leaves_by = along(way, lane)
            price = way.price + sum(o.price for o in chosen) + more
            for k in range(1, len(chosen)):
                if way.layers[k].slot == way.layers[k - 1].slot + 1:
                    more = step(chosen[k - 1].state, chosen[k].state)
                    if more is None:
                        break
                    price += more
            else:
                enters = Joint(way.hand, enters_by, chosen[0].state, gap=way.layers[0].slot > 0)
                gap = way.layers[-1].slot + chosen[-1].slow < way.size - 1
                yield price, enters, Joint(way.hand, leaves_by, chosen[-1].state, gap)


def between(leaves, enters):
    """What a barline costs, or None."""
    gap = leaves.gap or enters.gap
    if max(leaves.lane, enters.lane) >= LINKED and leaves.lane != enters.lane:
        return None
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
        if path[0][1].lane >= LINKED or path[-1][2].lane >= LINKED:
            continue  # half a lick at an end of the tune
        for before, after in pairwise(path):
            more = between(before[2], after[1])
            if more is None:
                break
            price += more
        else:
            least = price if least is None else min(least, price)
    return least


@settings(max_examples=40)
@given(st.lists(offers, min_size=1, max_size=2))
def test_the_cost_equals_that_of_brute_force(measures):
    expected = brute_force(measures)

    if expected is None:
        with pytest.raises(NoWayError):
            solve(measures)
    else:
        assert solve(measures)[0] == expected


def cheapest_lane(chosen):
    """What the lane of a chosen way costs; of several that its fingers and its barlines fit, the cheapest."""
    way = chosen.way
    if not way.rolled or not way.layers:
        return 0
    fingers = tuple(STATES[option.state][0][0] for option in chosen.options)
    found = []
    for lane in lanes(tuple(1 << finger for finger in fingers)):
        price, enters, leaves = along(way, lane)
        if (enters, leaves) == (chosen.enters.lane, chosen.leaves.lane):
            found.append(price)
    return min(found)


@settings(max_examples=40)
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
        total += cheapest_lane(each)
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


def test_the_second_part_of_a_lick_goes_on_from_its_first_alone():
    here = [Option(picked("T", 3), 0, 0)]
    there = [Option(picked("I", 2), 0, 0)]
    first = Way(0, (layer(0, here, "lick"),), 1, 1, rolled=False, link_out=LINKED)
    second = Way(-20, (layer(0, there, "lick"),), 1, 1, rolled=False, link_in=LINKED)
    other = Way(-20, (layer(0, there, "lick"),), 1, 1, rolled=False, link_in=LINKED + 1)
    plain = [Way(5, (layer(0, each, "fill"),), 1, 1, rolled=False) for each in (here, there)]

    price, chosen = solve([offer(first, plain[0]), offer(second, other, plain[1])])
    assert [each.way for each in chosen] == [first, second]
    assert price == -20
    assert chosen[0].leaves.lane == chosen[1].enters.lane == LINKED

    _, chosen = solve([offer(first, plain[0]), offer(other, plain[1])])
    assert [each.way for each in chosen] == plain


def test_half_a_lick_neither_begins_nor_ends_a_tune():
    half = Way(-20, (layer(0, [Option(picked("T", 3), 0, 0)], "lick"),), 1, 1, rolled=False)

    for way in (half._replace(link_in=LINKED), half._replace(link_out=LINKED)):
        with pytest.raises(NoWayError):
            solve([offer(way)])


def test_a_reward_does_not_make_an_impossible_step_possible():
    here = Way(0, (layer(0, [Option(picked("T", 3), 0, 0)], "fill"),), 1, 1, rolled=False)
    rewarded = here._replace(price=-100)

    with pytest.raises(NoWayError):
        solve([offer(here), offer(rewarded)])
