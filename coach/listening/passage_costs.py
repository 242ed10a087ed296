"""The costs by which passages are recognised: one table of whole numbers, each with its name and a sentence.

A path through a pass says for every slot where in the solo the player is; the path of least total cost is what was
played (:mod:`~coach.listening.shifts`). A cost of 100 is a missed pluck. The relations are ours (common practice, no
source); they are held by the simulated passes of ``tests/listening/test_passages_simulated.py``: a stumble over one or
two notes must stay cheaper than leaving the written place and coming back, four notes in a row must not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["PASSAGE_COSTS", "PassageCost", "cost_of"]


@dataclass(frozen=True, slots=True)
class PassageCost:
    """A cost: its name, its amount and what it is paid for."""

    name: str
    amount: int
    sentence: str


_TABLE = (
    PassageCost("missed", 100, "A pluck that is due in a slot is not heard; a silent slot counts as one."),
    PassageCost("extra", 100, "A note is heard in a slot where nothing explains it."),
    PassageCost("wrong", 150, "One missed pluck and one extra note in the same slot."),
    PassageCost("crowd", 20, "A slot in which another order of the roll is taken for what is heard."),
    PassageCost("near", 320, "Going one or two slots, or a beat, ahead of or behind the written place."),
    PassageCost("measures", 360, "Going some whole measures ahead or back."),
    PassageCost("far", 440, "Going anywhere else in the solo."),
    PassageCost("home", 150, "Coming back to the written place."),
    PassageCost("over", 50, "A slot after the end of the solo, for who has come there ahead of the click."),
    PassageCost("stop", 250, "Falling silent."),
    PassageCost("noise", 200, "A note that is heard while the player is taken to be silent."),
    PassageCost("rejoin", 50, "What coming in again after a silence is cheaper by."),
    PassageCost("line", 50, "What any change is cheaper by at the first slot of a measure."),
    PassageCost("order", 120, "Taking up another order of the roll, beside the price of the place."),
    PassageCost("plain", 120, "Taking up the plain melody without the roll, beside the price of the place."),
    PassageCost("margin", 50, "By how much a path must be cheaper than the one told, before it is told live."),
)

PASSAGE_COSTS: Mapping[str, PassageCost] = MappingProxyType({cost.name: cost for cost in _TABLE})


def cost_of(name: str) -> int:
    """The amount of a cost."""
    return PASSAGE_COSTS[name].amount
