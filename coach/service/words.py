"""What the service says of a pass, in the sentences of the trade."""

from __future__ import annotations

from collections.abc import Sequence

from coach.listening.scores import MeasureScore, PassResult, summarise

__all__ = ["CAUTIONS", "sentences_on"]

CAUTIONS = [
    (
        "Pain, numbness or tingling means stop: warm up slowly, rest a few minutes in each half hour, raise the tempo"
        " little by little, and take persistent trouble to a clinician who knows musicians."
    ),
    "Keep headphones at a moderate level, and do not turn them up to drown a loud banjo.",
]

_STEADY_MS = 10.0
_LOOSE_MS = 30.0
_DRIFT_PERCENT = 0.5


def sentences_on(result: PassResult) -> list[str]:
    """A handful of sentences on a pass: how much was clean, what cost most and where, and how the time was."""
    if not any(measure.played for measure in result.measures):
        return ["Nothing was heard in this pass."]
    sentences = [_on_measures(result)]
    for what, counts in (
        ("missed", [measure.missed for measure in result.measures]),
        ("wrong", [measure.wrong for measure in result.measures]),
        ("early or late", [measure.off_time for measure in result.measures]),
    ):
        total = sum(counts)
        if total:
            notes = "note was" if total == 1 else "notes were"
            sentences.append(f"{total} {notes} {what}, {_where(result.measures, counts)}.")
    return sentences + _on_time(result)


def _on_measures(result: PassResult) -> str:
    unclean = [measure for measure in result.measures if not measure.clean]
    total = len(result.measures)
    if not result.whole:
        return f"The pass was not played to its end; {_count(total - len(unclean), total)}."
    if total == 1:
        return f"The measure is {'not ' if unclean else ''}clean."
    if not unclean:
        return "Every measure is clean."
    if len(unclean) == total:
        return f"None of the {total} measures is clean."
    return f"{_count(total - len(unclean), total)}; not {_numbers(unclean)}."


def _count(clean: int, total: int) -> str:
    return f"{clean} of {total} measures {'is' if clean == 1 else 'are'} clean"


def _where(measures: Sequence[MeasureScore], counts: Sequence[int]) -> str:
    """Where faults are: the measures, or the one that has more than half of them."""
    faulty = [measure for measure, count in zip(measures, counts, strict=True) if count]
    if len(faulty) == 1:
        return f"in measure {faulty[0].number}"
    most = max(counts)
    if 2 * most > sum(counts):
        return f"most of them in measure {measures[counts.index(most)].number}"
    return f"in measures {_numbers(faulty)}"


def _numbers(measures: Sequence[MeasureScore]) -> str:
    named = [str(measure.number) for measure in measures[:6]]
    if len(measures) > 6:
        return f"{', '.join(named)} and {len(measures) - 6} more"
    return " and ".join([", ".join(named[:-1]), named[-1]]) if len(named) > 1 else named[0]


def _on_time(result: PassResult) -> list[str]:
    summary = summarise([result])
    sentences = []
    if summary.mean_offset_ms is not None and abs(summary.mean_offset_ms) > _STEADY_MS:
        where = "ahead of" if summary.mean_offset_ms < 0 else "behind"
        sentences.append(f"On average you play {abs(summary.mean_offset_ms):.0f} ms {where} the click.")
    if summary.spread_ms is not None and summary.spread_ms > _LOOSE_MS:
        sentences.append(f"The notes scatter by {summary.spread_ms:.0f} ms: let the click carry you.")
    if summary.tempo_drift_percent is not None and abs(summary.tempo_drift_percent) > _DRIFT_PERCENT:
        which = "faster" if summary.tempo_drift_percent > 0 else "slower"
        sentences.append(f"You grow {which} than the click, by {abs(summary.tempo_drift_percent):.1f} %.")
    return sentences
