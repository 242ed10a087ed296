"""A number on the command line, within limits."""

from __future__ import annotations

import math
from typing import Any

import click

__all__ = ["Amount"]


class Amount(click.FloatRange):
    """A range of floats that has no room for ``nan``, which compares with no limit."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read a number; fails as click's own types do."""
        number = float(super().convert(value, param, ctx))
        if math.isnan(number):
            self.fail(f"{value} is no number.", param, ctx)
        return number
