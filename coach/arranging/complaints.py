"""What hands cannot do in a solo that somebody else wrote, said in a few sentences. It is told, never refused."""

from __future__ import annotations

from coach.arranging.arrangement import Arrangement
from coach.arranging.rules import broken_rules

__all__ = ["complaints"]


def complaints(arrangement: Arrangement, *, most: int = 12) -> tuple[str, ...]:
    """A sentence for each rule that a solo breaks, in order of the measures; empty for a sound solo.

    Args:
        arrangement: the solo.
        most: sentences to say, >= 1; how many more there are is told in one at the end.
    """
    broken = sorted(broken_rules(arrangement), key=lambda each: each.measure)
    said = list(dict.fromkeys(each.sentence for each in broken))
    if len(said) <= most:
        return tuple(said)
    return (*said[:most], f"There are {len(said) - most} more of the kind.")
