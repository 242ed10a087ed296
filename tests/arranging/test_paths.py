"""Paths come out in order of their price, all of them: against brute force."""

from itertools import islice, pairwise, product

from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.costs import cost
from coach.arranging.paths import contents, paths
from coach.arranging.picks import NOWHERE, STATES, Option, layer, step
from coach.arranging.search import NoWayError, solve
from coach.arranging.ways import FREE, NO_LANE, Joint, Offer, Way, lanes

CHANGE = cost("change of roll")
EVERY_STATE = frozenset(range(len(STATES)))


@st.composite
def ways(draw):
    layers = []
    for slot in draw(st.lists(st.integers(0, 3), max_size=3, unique=True).map(sorted)):
        states = draw(st.lists(st.sampled_from([2, 3, 5, 8, 13]), min_size=1, max_size=3, unique=True))
        found = [Option(state, draw(st.integers(-1, 4)), draw(st.integers(0, 2))) for state in states]
        layers.append(layer(slot, found, "fill", together=draw(st.booleans())))
    price, hand = draw(st.integers(-3, 6)), draw(st.sampled_from([1, 1, 2]))
    return Way(price, tuple(layers), 4, hand, rolled=draw(st.booleans()), threes=draw(st.booleans()))


@st.composite
def offers(draw):
    found = sorted(draw(st.lists(ways(), min_size=1, max_size=3)), key=lambda way: way.price)
    marks = [found[-1].price] if draw(st.booleans()) else []
    return Offer([*found, *marks], EVERY_STATE, CHANGE, frozenset(way.hand for way in found), small=True)


joints = st.none() | st.builds(
    Joint,
    hand=st.sampled_from([1, 2]),
    lane=st.integers(FREE, 20),
    state=st.sampled_from([2, 3, 8, 13]),
    gap=st.booleans(),
)


def courses(way):
    """Price, what barlines see, and options of every course through a way, by brute force."""
    row = lanes(tuple(each.mask for each in way.layers)) if way.rolled and way.layers else (NO_LANE,)
    for lane in row:
        for chosen in product(*(sum(each.fingers, ()) for each in way.layers)):
            if lane.fingers and any(STATES[o.state][0][0] != f for o, f in zip(chosen, lane.fingers, strict=True)):
                continue
            price = way.price + sum(o.price for o in chosen)
            price += cost("no groups of three") if way.threes and way.rolled and chosen and not lane.threes else 0
            steps = [
                step(a.state, b.state, together=there.together) if there.slot == here.slot + 1 else 0
                for (a, b), (here, there) in zip(pairwise(chosen), pairwise(way.layers), strict=True)
            ]
            if None in steps:
                continue
            states = [o.state for o in chosen] or [NOWHERE]
            enters = Joint(way.hand, lane.lane, states[0], not way.layers or way.layers[0].slot > 0)
            leaves = Joint(way.hand, lane.onward, states[-1], not way.layers or way.layers[-1].slot < way.size - 1)
            yield price + sum(steps), enters, leaves, chosen


def barline(leaves, enters, change):
    if leaves is None or enters is None:
        return 0
    rest = leaves.gap or enters.gap
    if leaves.hand != enters.hand and not rest:
        return None
    more = 0 if rest else step(leaves.state, enters.state)
    if more is None:
        return None
    return (
        more
        + cost("hand moves") * abs(leaves.hand - enters.hand)
        + (0 if leaves.lane == enters.lane != FREE else change)
    )


def brute_force(measures, before, after):
    through = [[c for way in each.ways if isinstance(way, Way) for c in courses(way)] for each in measures]
    for path in product(*through):
        joined = [barline(before, path[0][1], CHANGE)]
        joined += [barline(a[2], b[1], CHANGE) for a, b in pairwise(path)]
        joined.append(barline(path[-1][2], after, 0))
        if None not in joined:
            yield sum(joined) + sum(each[0] for each in path), tuple(each[3] for each in path)


@settings(max_examples=25)
@given(st.lists(offers(), min_size=1, max_size=2), joints, joints)
def test_every_path_comes_out_once_and_in_order(measures, before, after):
    expected = sorted(price for price, _ in brute_force(measures, before, after))

    found = list(paths(measures, before, after, least=-1))

    assert [path.price for path in found] == expected
    every = sorted((price, chosen) for price, chosen in brute_force(measures, before, after))
    assert sorted((p.price, tuple(each.options for each in p.chosen)) for p in found) == every


@settings(max_examples=25)
@given(st.lists(offers(), min_size=1, max_size=3), joints, joints)
def test_the_first_path_costs_what_the_search_finds(measures, before, after):
    first = next(paths(measures, before, after, least=-1), None)
    try:
        price, _ = solve(measures, before, after)
    except NoWayError:
        assert first is None
        return

    assert first is not None
    assert first.price == price


@settings(max_examples=40)
@given(offers(), joints, joints, st.integers(1, 3))
def test_what_is_of_no_use_is_left_out_and_nothing_else(measure, before, after, wanted):
    def useful(slots):
        return sum(1 for slot in slots if slot) + 4 - len(slots) >= wanted

    every = [path for path in paths([measure], before, after, least=-1) if useful(contents(path.chosen))]

    pruned = list(paths([measure], before, after, least=-1, useful=useful))

    assert sorted(pruned) == sorted(every)


def test_paths_are_worked_out_as_they_are_asked_for():
    seen = []

    def offered():
        for price in (0, 50, 100):
            seen.append(price)
            yield Way(price, (layer(0, [Option(3, 0, 0)], "fill"),), 1, 1, rolled=False)

    class Lazy:
        def __iter__(self):
            return offered()

    first = next(paths([Offer(Lazy(), EVERY_STATE, CHANGE, frozenset({1}))], None, None))

    assert first.price == 0
    assert 100 not in seen
    assert len(list(islice(paths([Offer(Lazy(), EVERY_STATE, CHANGE, frozenset({1}))], None, None), 9))) == 3


def test_a_slurred_note_counts_with_its_pick():
    slurred = Option(3, 0, 2, "slide", 4)
    way = Way(0, (layer(1, [slurred], "melody"),), 3, 1, rolled=False)

    (found,) = paths([Offer([way], EVERY_STATE, CHANGE, frozenset({1}))], None, None)

    assert contents(found.chosen) == [(), ((3, 2), (3, 4)), ()]
