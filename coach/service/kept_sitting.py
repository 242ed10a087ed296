"""The sitting that is on, as plain values that are kept beside the settings: a service that is begun anew, or a page
that comes back, goes on with it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import msgspec

from coach.ladder.sitting import Sitting

__all__ = ["BACK_WITHIN", "SITTING", "read_sitting", "sitting_record"]

SITTING = "sitting"
"""The name under which it is kept."""

BACK_WITHIN = 10.0
"""Minutes from its last sign of life within which a sitting goes on: a pass and a deploy, and no meal."""

_MINUTES_A_DAY = 1440.0


@dataclass(frozen=True, slots=True)
class _Kept:
    seen: float
    sitting: Sitting


def sitting_record(sitting: Sitting, day: float) -> dict[str, Any]:
    """A sitting as it is kept; ``day`` is now, in days as the ladder counts them."""
    return {"seen": day, "sitting": asdict(sitting)}


def read_sitting(record: object, day: float) -> Sitting | None:
    """The sitting that was kept, where its last sign of life is less than ten minutes back; else None, as of what is no
    sitting at all."""
    if not isinstance(record, Mapping):
        return None
    try:
        kept = msgspec.convert(record, _Kept)
    except msgspec.ValidationError:
        return None
    sitting = kept.sitting
    if not 0 <= (day - kept.seen) * _MINUTES_A_DAY < BACK_WITHIN:
        return None
    numbers = [value for value in asdict(sitting).values() if isinstance(value, float)]
    is_planned = sitting.minutes is None or sitting.minutes > 0
    return sitting if is_planned and sitting.elapsed >= 0 and all(map(math.isfinite, numbers)) else None
