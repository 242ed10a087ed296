"""The report of a pass as pages get it, and the state of a session."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Literal

from coach.arranging.arrangement import TIERS, Tier
from coach.listening.free_time import FreePass
from coach.listening.free_words import detour_sentences, tempo_sentence
from coach.listening.passage_words import passage_sentence
from coach.listening.report import measure_record
from coach.listening.scores import PassResult, summarise
from coach.listening.told import Told
from coach.service.absences import absence_of, measures_away
from coach.service.jobs import Solo
from coach.service.orders import Ended
from coach.service.protocol import EditState, PracticeReport, Rung, SittingState, State
from coach.service.settings import Chosen, measures_of

__all__ = ["StateName", "practice_report", "state_of"]

StateName = Literal["ready", "counting in", "playing", "between passes", "paused"]

_ASKED = "Was this pass clean? Mark it yourself."
_KEPT_GOING = "You kept going to the end: in a jam that is what counts."
_FELL_SILENT = "You fell silent on the way: in a jam leave out what is hard, and come in again."
_MARKED = {True: "You marked this pass as clean.", False: "You marked this pass as not clean."}


def practice_report(
    session: str,
    ended: Ended,
    rung: Rung | None,
    told: Told | None = None,
    *,
    marked: bool | None = None,
    rest: str = "",
) -> PracticeReport:
    """The report on a pass that came to an end with a result.

    Args:
        session: the name of the session.
        ended: the pass.
        rung: what is offered next.
        told: what is told of it; None where the player marks it.
        marked: how the player marked it; None where they did not (yet).
        rest: the reminder of a rest, where one is due.
    """
    assert ended.result is not None
    result, self_marked = ended.result, ended.order.self_marked
    free = ended.played if isinstance(ended.played, FreePass) else None
    summary = summarise([] if self_marked else [result])
    file = f"takes/{session}/{ended.order.number}"
    asks = self_marked and marked is None and not ended.stopped
    return PracticeReport(
        number=ended.order.number,
        whole=not ended.stopped if self_marked else result.whole,
        clean=bool(marked) if self_marked else result.clean,
        self_marked=self_marked,
        measures=[] if self_marked else _measures(result, free),
        summary={
            "played_share": summary.played_share,
            "mean_offset_ms": None if free else summary.mean_offset_ms,
            "spread_ms": summary.spread_ms,
            "tempo_drift_percent": None if free else summary.tempo_drift_percent,
        }
        | ({} if free is None else {"tempo": free.tempo}),
        sentences=[
            *_of_absence(ended),
            *_of_jam(ended),
            *_of_marking(marked=marked, asks=asks),
            *_sentences(result, told, measures_away(ended)),
            *_of_free_time(free),
        ],
        rung=rung,
        take=f"{file}.mid",
        report="" if self_marked else f"{file}.json",
        free=free is not None,
        asks=asks,
        rest=rest,
        kept_going=None if self_marked else result.kept_going,
    )


def _measures(result: PassResult, free: FreePass | None) -> list[dict[str, float | int | bool | None]]:
    """The measures as the report has them."""
    records = [measure_record(score) for score in result.measures]
    if free is None:
        return records
    return [
        record | {"mean_offset_ms": None, "tempo": tempo} for record, tempo in zip(records, free.tempos, strict=True)
    ]


def _of_free_time(free: FreePass | None) -> Iterator[str]:
    """What is said of a pass in free time alone: where the player did not go on, and how the tempo went."""
    if free is not None:
        yield from detour_sentences(free.detours)
        tempo = tempo_sentence([free])
        if tempo is not None:
            yield tempo


def _of_absence(ended: Ended) -> Iterator[str]:
    """What is said before all else where the instrument was away."""
    if away := absence_of(ended):
        yield f"{away}, so this pass moves nothing."


def _of_jam(ended: Ended) -> Iterator[str]:
    """What is said of a run as in a jam before all else: whether it kept going is what counts."""
    if ended.order.use == "jam" and ended.result is not None and not ended.order.self_marked:
        yield _KEPT_GOING if ended.result.kept_going and not ended.stopped else _FELL_SILENT


def _of_marking(*, marked: bool | None, asks: bool) -> Iterator[str]:
    """What is said of a pass that the player marks."""
    if asks:
        yield _ASKED
    if marked is not None:
        yield _MARKED[marked]


def _sentences(result: PassResult, told: Told | None, away: Collection[int]) -> list[str]:
    """What is said of a pass, and its passages, each named once; of silence enough is said.

    Nothing is said of those measures alone in which the instrument was away.
    """
    if told is None:
        return []
    passages = result.reached_passages if any(measure.played for measure in result.measures) else ()
    said = [saying.text for saying in told.said if not away or not set(saying.measures) <= set(away)]
    named = [
        passage_sentence(passage, result.plan.arrangement)
        for passage in passages
        if not {passage.first.measure, passage.last.measure} <= set(away)
    ]
    return said + [sentence for sentence in named if sentence not in said]


def state_of(
    chosen: Chosen,
    *,
    name: StateName,
    number: int,
    solo: Solo | None,
    title: str,
    rung: Rung | None,
    waiting: str,
    instrument: str,
    is_learned: bool,
    learning: bool,
    foot: tuple[str, str],
    sitting: SittingState | None,
    thinks: str,
    solos: Mapping[Tier, Solo],
    edits: EditState,
) -> State:
    """The state of a session.

    Args:
        chosen: the settings, of the next pass while one runs.
        name: of the state.
        number: of the last pass on the wire, 0 before the first.
        solo: what is on the page; None while it is being written.
        title: of the tune that is chosen.
        rung: what is offered next.
        waiting: what is waited for, in words.
        instrument: what is played on.
        is_learned: whether its latency was learned.
        learning: whether it is being learned.
        foot: what the switch will do that is being set, and what the player is to do meanwhile.
        sitting: the one that was planned; None for none.
        thinks: what the coach thinks of what is chosen.
        solos: the tier's own ones of the tune that are written.
        edits: of the tune.
    """
    low, high = (0, 0) if solo is None else measures_of(solo.arrangement)
    return State(
        state=name,
        number=number,
        tune=chosen.tune,
        title=title if solo is None else solo.arrangement.title,
        digest="" if solo is None else solo.digest,
        tier=chosen.tier,
        tempo=chosen.tempo,
        goal=chosen.goal,
        floor=chosen.floor,
        first=low if chosen.first is None else chosen.first,
        last=high if chosen.last is None else chosen.last,
        measures=0 if solo is None else len(solo.arrangement.measures),
        bounce=chosen.bounce,
        solo_level=chosen.solo_level,
        backing_level=chosen.backing_level,
        click_level=chosen.click_level,
        keep_going=chosen.keep_going,
        sound=chosen.sound,
        self_marked=chosen.self_marked,
        foot_start=chosen.foot_start,
        foot_again=chosen.foot_again,
        foot_next=chosen.foot_next,
        latency_ms=chosen.latency_ms,
        latency_by_string={str(string): ms for string, ms in chosen.latency_by_string},
        out_delay_ms=chosen.out_delay_ms,
        tolerance_ms=chosen.tolerance_ms,
        string_channels=chosen.string_channels,
        rung=rung,
        waiting=waiting,
        instrument=instrument,
        is_learned=is_learned,
        learning=learning,
        learning_foot=foot[0],
        foot_words=foot[1],
        free_time=chosen.free_time,
        mix=list(chosen.mix),
        jam=chosen.jam,
        with_solo=chosen.with_solo,
        with_backing=chosen.with_backing,
        policy=chosen.policy,
        step=chosen.step,
        clean_needed=chosen.clean_needed,
        sitting=sitting,
        thinks=thinks,
        levels=chosen.levels.as_told(),
        solos={tier: solos[tier].digest for tier in TIERS if tier in solos},
        edits=edits,
    )
