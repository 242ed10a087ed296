"""What the service says by itself, in the sentences of the trade. What is said of a pass is the listener's matter."""

from __future__ import annotations

__all__ = ["CAUTIONS"]

CAUTIONS = [
    (
        "Pain, numbness or tingling means stop: warm up slowly, rest a few minutes in each half hour, raise the tempo"
        " little by little, and take persistent trouble to a clinician who knows musicians."
    ),
    "Keep headphones at a moderate level, and do not turn them up to drown a loud banjo.",
]
