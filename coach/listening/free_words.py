"""What is said of a pass in free time beside its notes: where the player did not go on, and how the tempo went."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from coach.listening.free_time import Detour, DetourKind, FreePass
from coach.listening.saying import named_measures

__all__ = ["detour_sentence", "detour_sentences", "tempo_sentence"]

# Less is not heard as another tempo: 3 % over six intervals (Drake & Botte 1993, Percept. Psychophys. 54(3)).
_HEARD_CHANGE = 0.03


def detour_sentence(detour: Detour) -> str:
    """What a detour was and where: ``Measures 5 to 6: played twice.``"""
    first, last = detour.first.measure, detour.last.measure
    where = f"Measure {first}" if first == last else f"Measures {first} to {last}"
    return f"{where}: {'stopped and went on' if detour.kind == 'stopped' else detour.kind}."


def detour_sentences(detours: Sequence[Detour]) -> Iterator[str]:
    """What detours of a pass were and where, a sentence for each kind; the kinds in order of their first."""
    by_kind: dict[DetourKind, list[Detour]] = {}
    for detour in detours:
        by_kind.setdefault(detour.kind, []).append(detour)
    for kind, alike in by_kind.items():
        if len(alike) == 1:
            yield detour_sentence(alike[0])
            continue
        numbers = sorted({number for each in alike for number in range(each.first.measure, each.last.measure + 1)})
        where = named_measures(numbers) or f"{len(numbers)} measures"
        times = "twice" if len(alike) == 2 else f"{len(alike)} times"
        yield f"{_SEVERAL[kind]} {times}, in {where}."


_SEVERAL: dict[DetourKind, str] = {
    "stopped": "You stopped and went on",
    "played twice": "You began again",
    "left out": "You left something out",
    "jumped": "You jumped",
}


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
