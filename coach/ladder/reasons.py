"""Why a rung is offered, in one sentence from what was seen."""

from __future__ import annotations

from collections.abc import Sequence

from coach.ladder.here import Here
from coach.ladder.policies import ByCurve, FixedSteps, Transformed
from coach.ladder.spots import ready_whole
from coach.ladder.standing import EARNED, Past
from coach.ladder.thinking import FAR
from coach.ladder.wording import by_mark, evidence, faulty, held, measures, number, said, sentence

__all__ = ["why", "why_spot"]


def why(here: Here, tempo: float) -> str:
    """Why the whole, or the measures that the player chose, is played at a tempo next."""
    return sentence(f"{_why(here, tempo)}{held(here.is_held(here.free_tempo()))}")


def _why(here: Here, tempo: float) -> str:
    last = here.last
    if last is None:
        away = f" after {here.away} days" * bool(here.away)
        return f"{_what(here)} at {said(tempo)}, to begin with{away}"
    if last.kind not in ("whole", "part", "known"):
        return f"{_after_other(here, last)} at {said(tempo)}"
    again = f"{said(tempo)}{' again' * (not here.is_held(here.free_tempo()))}"
    if not last.whole:
        return f"the pass was not played to its end: {again}"
    if not last.counts:
        return f"the first pass lets the coach hear this instrument: {again}"
    return by_mark(f"{_result(here, last)}: {_move(here, last, tempo)}", last)


def why_spot(here: Here, numbers: Sequence[int], lead_in: int, tempo: float) -> str:
    """Why a trouble spot is looped next.

    Args:
        here: where the player is.
        numbers: of its measures, rising.
        lead_in: the number of the measure before them; of the first itself where there is none.
        tempo: that is wished for, in quarters a minute.
    """
    last, at = here.last, f"at {said(here.within(tempo))}{held(here.is_held(tempo))}"
    if last is not None and last.kind == "spot" and here.span(last) == (lead_in, numbers[-1]):
        came = (
            f"{measures(numbers)} came clean" if _is_clean(last, numbers) else faulty(last, numbers) or "not clean yet"
        )
        return sentence(f"{came}: once more, {at}")
    alike = [past for past in here.standing.passes if (past.tier, past.mix) == (here.standing.tier, here.standing.mix)]
    single = len(numbers) == 1
    holds = f"{measures(numbers)} {'holds' if single else 'hold'} the tempo back"
    alone = f"{'it' if single else 'they'} alone{', with a lead-in' * (lead_in < numbers[0])}"
    return sentence(f"{evidence(alike, numbers) or holds}: {alone}, {at}")


def _what(here: Here) -> str:
    if not here.standing.is_part:
        return "the whole"
    return measures(sorted(here.own()))


def _after_other(here: Here, last: Past) -> str:
    """What comes behind a pass that is no whole one."""
    if last.kind != "spot":
        return "the whole"
    if last.judged == "marked" or not last.whole:
        return "back into the whole"
    begins = here.course.tiers[0].measures[0].number
    first, end = here.span(last)
    spot = list(range(first + (first > begins), end + 1))  # without its lead-in
    done = f"{measures(spot)} came clean" if _is_clean(last, spot) else f"enough of {measures(spot)} for now"
    return f"{done}: back into the whole"


def _is_clean(last: Past, numbers: Sequence[int]) -> bool:
    return set(numbers) <= set(last.clean) if last.judged == "heard" else last.is_clean


def _result(here: Here, last: Past) -> str:
    """How the last pass came out."""
    if not last.is_clean:
        return faulty(last) or ("most of it was not clean" if here.is_lost else "not clean")
    if new := _missed(here, last):
        return f"clean but for {measures(new)}"
    return "clean at the goal tempo" if last.tempo >= here.goal else "clean"


def _missed(here: Here, last: Past) -> list[int]:
    """The measures that came in last and were not clean."""
    return [number for number, _ in last.faults if number in here.standing.new]


def _move(here: Here, last: Past, tempo: float) -> str:
    """Where the tempo goes."""
    free, at = here.free_tempo(), said(tempo)
    if here.is_held(free):
        return at
    if said(free) != at:
        return f"{at}, for today there are more minutes, so the tempo stays"
    if last.tempo > here.goal:
        return f"{said(last.tempo)} was played, which is above the goal now, so {at} is next"
    if last.tempo < here.standing.wishes.floor:
        return f"{said(last.tempo)} was played, which is below the slowest tempo now, so {at} is next"
    if at == said(last.tempo):
        return f"{at} again{_again(here, last)}"
    if tempo > last.tempo:
        return f"up to {at}{', the goal' * (tempo >= here.goal)}"
    return f"down to {at}"


def _again(here: Here, last: Past) -> str:
    """What is said behind a tempo that stays."""
    standing = here.standing
    if not last.is_clean or _missed(here, last):
        if standing.tempo <= standing.wishes.floor:
            return f", which is the slowest{_too_fast(here)}"
        rule = standing.policy
        return ", and down after another like it" * (isinstance(rule, FixedSteps) and rule.failed_in_a_row > 0)
    if last.tempo >= here.goal:
        return f", {number(EARNED - standing.won)} more to go" if 0 < standing.won < EARNED else ""
    match standing.policy:
        case Transformed(climbing=False) as rule:
            wanting = rule.clean_needed - rule.in_a_row
        case FixedSteps() as rule:
            wanting = rule.clean_needed - rule.clean_in_a_row
        case ByCurve():
            return ", to be sure of it"
        case _:
            return ""
    return f", {number(wanting)} more in a row to go up"


def _too_fast(here: Here) -> str:
    """What is said where even the slowest tempo that the player allows is above what is ready."""
    ready = ready_whole(here.own())
    return f", though about {said(ready)} would do" * (FAR * ready < here.standing.wishes.floor)
