"""What is said of a pass in free time beside its notes: where the player did not go on, and how the tempo went."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from coach.listening.free_time import Detour, FreePass

__all__ = ["detour_sentence", "tempo_sentence"]

# Less is not heard as another tempo: 3 % over six intervals (Drake & Botte 1993, Percept. Psychophys. 54(3)).
_HEARD_CHANGE = 0.03


def detour_sentence(detour: Detour) -> str:
    """What a detour was and where: ``Measures 5 to 6: played twice.``"""
    first, last = detour.first.measure, detour.last.measure
    where = f"Measure {first}" if first == last else f"Measures {first} to {last}"
    return f"{where}: {'stopped and went on' if detour.kind == 'stopped' else detour.kind}."


def tempo_sentence(passes: Sequence[FreePass]) -> str | None:
    """Where passes were slowest and fastest; None where the tempo stayed, as far as ears can tell."""
    told = list(_tempos(passes))
    if not told:
        return None
    slowest, fastest = min(told), max(told, key=lambda each: each[0])
    if fastest[0] <= slowest[0] * (1 + _HEARD_CHANGE):
        return None
    return (
        f"Slowest in measure {slowest[1]} ({slowest[0]:.0f} quarters a minute),"
        f" fastest in measure {fastest[1]} ({fastest[0]:.0f})."
    )


def _tempos(passes: Sequence[FreePass]) -> Iterable[tuple[float, int]]:
    """The tempos that are known, each with the number of its measure."""
    for each in passes:
        for score, tempo in zip(each.result.measures, each.tempos, strict=True):
            if tempo is not None:
                yield tempo, score.number
