"""What hands cannot do in a solo that somebody else wrote, said in a few sentences. It is told, never refused.

What a tier may leave out of a tune, where it fills and how often it embellishes are the arranger's own rules; whoever
writes a solo decides that anew.
"""

from __future__ import annotations

from collections.abc import Sequence

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
    """What breaks the rules of the hands, a sentence for each measure and rule; empty for a solo that can be played.

    Args:
        arrangement: the solo.
        most: sentences to say, >= 1; how many more there are is told in one at the end.
    """
    broken = sorted(
        (each for each in broken_rules(arrangement) if each.rule in OF_HANDS), key=lambda each: each.measure
    )
    stretches: dict[tuple[int, str], list[str]] = {}
    for each in broken:
        stretches.setdefault((each.measure, each.rule), []).append(each.sentence)
    said = [_together(list(dict.fromkeys(sentences))) for sentences in stretches.values()]
    if len(said) <= most:
        return tuple(said)
    more = len(said) - most
    return (*said[:most], f"There {'is one' if more == 1 else f'are {more}'} more of the kind.")


def _together(sentences: Sequence[str]) -> str:
    """What breaks one rule in one measure: the first place, and how many more there are."""
    more = len(sentences) - 1
    if not more:
        return sentences[0]
    return f"{sentences[0].removesuffix('.')} and in {'one more place' if more == 1 else f'{more} more places'}."
