"""The fewest measures to search again: against brute force."""

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.fewest import fewest_runs


def runs_of(changed):
    runs, inside = [], None
    for index in sorted(changed):
        if inside == index:
            runs[-1] = (runs[-1][0], index + 1)
        else:
            runs.append((index, index + 1))
        inside = index + 1
    return runs


def brute_force(count, broken, price):
    """The least (measures, price) over every set of measures that touches all broken seams."""
    best = None
    for size in range(count + 1):
        for changed in combinations(range(count), size):
            if not all({seam, seam + 1} & set(changed) for seam in broken):
                continue
            prices = [price(*run) for run in runs_of(changed)]
            if None not in prices and (best is None or (size, sum(prices)) < best):
                best = (size, sum(prices))
    return best


@st.composite
def cases(draw):
    count = draw(st.integers(2, 7))
    broken = sorted(draw(st.sets(st.integers(0, count - 2), max_size=5)))
    prices = {
        (start, stop): draw(st.none() | st.integers(-2, 9))
        for start in range(count)
        for stop in range(start + 1, count + 1)
    }
    return count, broken, prices


@settings(max_examples=60)
@given(cases())
def test_the_runs_are_the_fewest_and_cheapest_that_mend_every_seam(case):
    count, broken, prices = case
    asked = []

    def price(start, stop):
        asked.append((start, stop))
        return prices[start, stop]

    found = fewest_runs(count, broken, price)

    best = brute_force(count, broken, lambda *run: prices[run])
    if best is None:
        assert found is None
    else:
        assert found is not None
        assert (sum(b - a for a, b in found), sum(prices[run] for run in found)) == best
        assert all({seam, seam + 1} & {i for a, b in found for i in range(a, b)} for seam in broken)
    assert len(asked) == len(set(asked))


def test_nothing_is_searched_again_where_no_seam_is_broken():
    def price(start, stop):
        raise AssertionError(f"{start} to {stop} needs no search")

    assert fewest_runs(5, [], price) == []


def test_seams_far_apart_are_mended_by_one_measure_each_and_longer_runs_are_not_even_tried():
    asked = []

    def price(start, stop):
        asked.append(stop - start)
        return 1

    assert fewest_runs(20, [2, 9, 15], price) == [(2, 3), (9, 10), (15, 16)]
    assert set(asked) == {1}


def test_of_as_few_measures_the_cheaper_ones_are_taken():
    prices = {(0, 1): 3, (1, 2): 4, (2, 3): 2, (3, 4): 5, (1, 3): 6}

    assert fewest_runs(4, [0, 2], lambda *run: prices.get(run)) == [(0, 1), (2, 3)]
    assert fewest_runs(4, [0, 2], lambda *run: {**prices, (1, 3): 4}.get(run)) == [(1, 3)]


def test_fewer_measures_go_before_a_lower_price():
    prices = {(0, 1): None, (1, 2): 50, (0, 2): 0, (1, 3): 0}

    assert fewest_runs(3, [0, 1], lambda *run: prices.get(run)) == [(1, 2)]
