"""The one table of costs."""

import re
from pathlib import Path

import pytest

import coach.arranging
from coach.arranging.costs import COSTS, cost

SOURCES = [path.read_text("utf-8") for path in Path(coach.arranging.__file__).parent.glob("*.py")]


@pytest.mark.parametrize("name", COSTS)
def test_every_cost_is_charged_somewhere(name):
    assert any(f'cost("{name}")' in source for source in SOURCES)


def test_nothing_is_charged_that_the_table_does_not_have():
    charged = {name for source in SOURCES for name in re.findall(r'\bcost\("([^"]+)"\)', source)}

    assert charged <= set(COSTS)


@pytest.mark.parametrize("entry", COSTS.values(), ids=lambda entry: entry.name)
def test_every_cost_says_in_a_sentence_what_it_is_for(entry):
    assert entry.sentence[0].isupper()
    assert entry.sentence.endswith(".")
    assert cost(entry.name) == entry.price
    assert isinstance(entry.price, int)
