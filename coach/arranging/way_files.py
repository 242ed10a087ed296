"""The other ways through a measure as JSON, format ``ways/1``, for a page that offers them.

::

    {"format": "ways/1", "measure": 5, "standing": {measure}, "ways": [
     {"number": 1, "extra": 3, "sentence": "…", "measure": {measure}}]}

Measures are those of ``arrangement/1``; the other fields are those of :class:`~coach.arranging.otherways.OtherWay`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from coach.arranging.arrangement import ArrangedMeasure
from coach.arranging.files import measure_values
from coach.arranging.otherways import OtherWay

__all__ = ["FORMAT", "ways_to_json"]

FORMAT = "ways/1"


def ways_to_json(standing: ArrangedMeasure, ways: Iterable[OtherWay]) -> bytes:
    """The file of a measure as it stands and the other ways through it, in their order: UTF-8."""
    told = [
        {
            "number": way.number,
            "extra": way.extra,
            "sentence": way.sentence,
            "measure": measure_values(way.measure),
        }
        for way in ways
    ]
    record = {"format": FORMAT, "measure": standing.number, "standing": measure_values(standing), "ways": told}
    return json.dumps(record, ensure_ascii=False).encode()
