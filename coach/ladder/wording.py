"""What the sentences of the ladder are put together from: tempos, measures, and what went wrong in them.

Tempos are said as whole quarters a minute.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence

from coach.ladder.standing import Past

__all__ = ["by_mark", "evidence", "faulty", "held", "measures", "number", "said", "sentence"]

_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

# What was wrong with a measure, said of one and of several.
_FAULTS = {
    "late": ("was late", "were late"),
    "early": ("was early", "were early"),
    "a wrong note": ("had a wrong note", "had wrong notes"),
    "an extra note": ("had an extra note", "had extra notes"),
    "missed": ("had a note missing", "had notes missing"),
    "": ("was not clean", "were not clean"),
}
_MOST_NAMED = 3
SELDOM = 4  # what goes wrong in fewer than one pass in so many goes wrong seldom


def said(tempo: float) -> str:
    """A tempo as it is said."""
    return f"{tempo:.0f}"


def number(count: int) -> str:
    """A small number as it is said."""
    return _WORDS[count] if count < len(_WORDS) else str(count)


def measures(numbers: Sequence[int]) -> str:
    """Measures by their numbers, which rise: "measure 6", "measures 5 to 7", "measures 2, 6 and 9"."""
    if len(numbers) == 1:
        return f"measure {numbers[0]}"
    first, last = numbers[0], numbers[-1]
    if len(numbers) > 2 and list(numbers) == list(range(first, last + 1)):
        return f"measures {first} to {last}"
    return f"measures {', '.join(map(str, numbers[:-1]))} and {last}"


def sentence(text: str) -> str:
    """A sentence with its capital and its full stop."""
    return f"{text[0].upper()}{text[1:]}."


def held(is_held: bool) -> str:  # noqa: FBT001 - it is all that there is to say
    """What is said behind a tempo that is as low as it is because of a cap; else nothing."""
    return ", not above that for now, says your teacher" * is_held


def by_mark(text: str, past: Past) -> str:
    """What is said of a pass, with a word where nobody but the player judged it."""
    return f"{text} (by your own mark)" if past.judged == "marked" else text


def evidence(passes: Sequence[Past], numbers: Sequence[int]) -> str:
    """What went wrong in some measures, and how often: "measure 6 was late in 3 of 4 passes".

    Args:
        passes: in which they may have been played, in the same tier.
        numbers: of the measures, rising.

    Returns:
        the clause; empty where they went wrong too seldom to be worth a word.
    """
    played = [past for past in passes if not set(numbers).isdisjoint((*past.clean, *_unclean(past)))]
    wrong = [past for past in played if not set(numbers).isdisjoint(_unclean(past))]
    if SELDOM * len(wrong) < len(played) or not wrong:
        return ""
    what = _most([fault for past in wrong for number, fault in past.faults if number in numbers])
    said = f"{measures(numbers)} {_verb(what, len(numbers))}"
    return said if len(played) == 1 else f"{said} in {len(wrong)} of {len(played)} passes"


def faulty(past: Past, among: Collection[int] | None = None) -> str:
    """What went wrong in a pass, where it went wrong in few measures: "measures 5 and 6 were late".

    Args:
        past: the pass.
        among: only these measures; None for all.

    Returns:
        the clause; empty where nothing is known of measures, or too many went wrong.
    """
    wrong = [(number, fault) for number, fault in past.faults if among is None or number in among]
    if not 0 < len(wrong) <= _MOST_NAMED:
        return ""
    return f"{measures([number for number, _ in wrong])} {_verb(_most([fault for _, fault in wrong]), len(wrong))}"


def _unclean(past: Past) -> list[int]:
    return [number for number, _ in past.faults]


def _most(faults: Sequence[str]) -> str:
    """What was wrong in more than half of the cases; empty where nothing was."""
    fault, count = Counter(faults).most_common(1)[0]
    return fault if 2 * count > len(faults) else ""


def _verb(fault: str, count: int) -> str:
    return _FAULTS.get(fault, _FAULTS[""])[count > 1]
