"""The solos of the demo tunes, arranged once in a process of tests."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import Arrangement, Tier
from coach.tunes.demo import demo_tune

__all__ = ["demo_solos"]


@cache
def demo_solos(name: str) -> Mapping[Tier, Arrangement]:
    """The solos of a demo tune by tier."""
    return MappingProxyType(arrange_all(demo_tune(name)))
