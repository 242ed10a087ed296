"""What hands cannot do in a solo that somebody else wrote, said in a few sentences. It is told, never refused.

What a tier may leave out of a tune, where it fills and how often it embellishes are the arranger's own rules; whoever
writes a solo decides that anew.
"""

from __future__ import annotations

from coach.arranging.arrangement import Arrangement
from coach.arranging.rules import broken_rules

__all__ = ["OF_HANDS", "complaints"]

# The names, in coach.arranging.rules.RULES, of what holds for any solo on this instrument.
OF_HANDS = frozenset(
    {
        "grid",
        "filled",
        "one a string",
        "finger",
        "pinch",
        "finger twice",
        "string twice",
        "span",
        "slur",
        "left hand",
    }
)


def complaints(arrangement: Arrangement, *, most: int = 12) -> tuple[str, ...]:
    """A sentence for each breach of a rule of the hands, in order of the measures; empty for a solo that can be played.

    Args:
        arrangement: the solo.
        most: sentences to say, >= 1; how many more there are is told in one at the end.
    """
    broken = sorted(
        (each for each in broken_rules(arrangement) if each.rule in OF_HANDS), key=lambda each: each.measure
    )
    said = list(dict.fromkeys(each.sentence for each in broken))
    if len(said) <= most:
        return tuple(said)
    more = len(said) - most
    return (*said[:most], f"There {'is one' if more == 1 else f'are {more}'} more of the kind.")
