from __future__ import annotations

import random
from math import inf

import pytest

from coach.listening.contrasts import weigh

BLOCKS = [i // 8 for i in range(160)]
FIFTH = [float(i % 4 == 2) for i in range(160)]
CHANGE = [float(i % 16 == 0) for i in range(160)]


def noise(seed: int) -> list[float]:
    rng = random.Random(seed)
    return [rng.gauss(0.0, 15.0) for _ in range(160)]


def test_two_causes_are_told_apart_whatever_each_block_does() -> None:
    wander = [20.0 * (block % 3) for block in BLOCKS]
    values = [w - 30 * f + 60 * c for w, f, c in zip(wander, FIFTH, CHANGE, strict=True)]
    weighed = weigh(values, BLOCKS, {"fifth": FIFTH, "change": CHANGE})

    assert weighed is not None
    assert weighed.contrasts["fifth"].effect == pytest.approx(-30)
    assert weighed.contrasts["change"].effect == pytest.approx(60)
    assert max(map(abs, weighed.rests)) < 1e-6


def test_the_error_is_what_effects_scatter_by() -> None:
    weighed = [weigh(noise(seed), BLOCKS, {"fifth": FIFTH, "change": CHANGE}) for seed in range(200)]
    effects = [each.contrasts["fifth"].effect for each in weighed if each is not None]
    errors = [each.contrasts["fifth"].error for each in weighed if each is not None]
    scatter = (sum(effect**2 for effect in effects) / len(effects)) ** 0.5

    assert sum(errors) / len(errors) == pytest.approx(scatter, rel=0.15)


def test_a_few_wild_notes_do_not_move_an_effect() -> None:
    values = [x - 30 * f for x, f in zip(noise(1), FIFTH, strict=True)]
    wild = [value + (200 if i in (2, 42, 80) else 0) for i, value in enumerate(values)]
    tame, shaken = weigh(values, BLOCKS, {"fifth": FIFTH}), weigh(wild, BLOCKS, {"fifth": FIFTH})

    assert tame is not None
    assert shaken is not None
    assert shaken.contrasts["fifth"].effect == pytest.approx(tame.contrasts["fifth"].effect, abs=5)


def test_causes_that_always_come_together_are_not_sure() -> None:
    values = [x - 40 * f for x, f in zip(noise(2), FIFTH, strict=True)]
    weighed = weigh(values, BLOCKS, {"fifth": FIFTH, "third slot": FIFTH})

    assert weighed is not None
    assert {contrast.error for contrast in weighed.contrasts.values()} == {inf}


def test_a_cause_that_touches_a_whole_block_alike_cannot_be_told() -> None:
    weighed = weigh(noise(3), BLOCKS, {"easy": [float(block % 2) for block in BLOCKS], "fifth": FIFTH})

    assert weighed is not None
    assert set(weighed.contrasts) == {"fifth"}


def test_too_few_values_tell_nothing() -> None:
    assert weigh([], [], {}) is None
    assert weigh([1.0, 2.0], [1, 2], {"fifth": [0.0, 1.0]}) is None


def test_the_scale_is_that_of_the_noise() -> None:
    weighed = weigh(noise(4), BLOCKS, {})

    assert weighed is not None
    assert weighed.scale == pytest.approx(15, rel=0.2)
