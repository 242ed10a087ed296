"""Playing a take again: from what was heard to the report, by the code that judged it live."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from coach.arranging.arrangement import Arrangement
from coach.errors import TakeError
from coach.listening.free_report import FreeReport, score_freely
from coach.listening.heard import StringChannels
from coach.listening.plan import PassPlan, Settings
from coach.listening.report import Report, Scored, make_report, score, score_passes, with_boundaries
from coach.listening.scores import PassResult
from coach.takes.sessions import SessionFolder
from coach.takes.take import Take, channels_used, heard_in, string_channels_of

__all__ = ["Hearing", "passes_of", "replay", "report_freely", "report_on", "report_text"]

_SAME_TEMPO = 0.01  # quarters a minute


@dataclass(frozen=True, slots=True)
class Hearing:
    """How a take is to be heard.

    Attributes:
        tempo: of the click where the take has no downbeat, in quarters a minute; None for its first tempo event.
        lean_ms: the player's lean; None for the median of the take.
        bounce: 50 .. 67; None for that of the solo.
        string_channels: the channels of strings 1 to 5; None to see by the take whether channels tell strings.
        settings: of the player and the instrument.
    """

    tempo: float | None = None
    lean_ms: float | None = None
    bounce: int | None = None
    string_channels: StringChannels | None = None
    settings: Settings = field(default=Settings())


def passes_of(take: Take, arrangement: Arrangement, hearing: Hearing) -> list[Scored]:
    """The passes of a take through one solo: one for each downbeat, or a whole one from time 0 where there is none.

    Raises:
        TakeError: when the tempo that is told is not the take's own, or a pass has measures that the solo has not.
    """
    bounce = arrangement.bounce if hearing.bounce is None else hearing.bounce
    if not take.passes:
        return [Scored(PassPlan(arrangement, hearing.tempo or take.tempo, bounce=bounce))]
    passes = []
    for number, mark in enumerate(take.passes, 1):
        if hearing.tempo is not None and abs(hearing.tempo - mark.tempo) > _SAME_TEMPO:
            raise TakeError(
                f"the click runs at {mark.tempo:g}, not at {hearing.tempo:g}",
                where=f"downbeat at {mark.seconds:.3f} s",
                cure="leave the tempo out: a take with downbeats has its own",
            )
        plan = PassPlan(arrangement, mark.tempo, mark.seconds, mark.first, mark.last, number=number, bounce=bounce)
        passes.append(Scored(plan, mark.stopped_seconds))
    return passes


def report_on(take: Take, arrangement: Arrangement, hearing: Hearing | None = None) -> Report:
    """Score a take against a solo.

    Raises:
        TakeError: see :func:`passes_of`; when the channels of the strings have no notes, and when latencies are told by
            string but the take does not tell strings.
    """
    hearing = hearing or Hearing()
    channels = _string_channels(take, hearing)
    return score(
        passes_of(take, arrangement, hearing),
        heard_in(take, channels),
        end=take.end,
        lean_ms=hearing.lean_ms,
        settings=hearing.settings,
    )


def report_freely(take: Take, arrangement: Arrangement, hearing: Hearing | None = None) -> FreeReport:
    """Score a take in free time: without a click, by the tempo that the player has.

    Downbeats begin the passes, where the take has any; its tempo, the lean and the tolerance of time are not used.

    Raises:
        TakeError: as :func:`report_on` does.
    """
    hearing = hearing or Hearing()
    return score_freely(
        passes_of(take, arrangement, hearing),
        heard_in(take, _string_channels(take, hearing)),
        marked=bool(take.passes),
        settings=hearing.settings,
    )


def _string_channels(take: Take, hearing: Hearing) -> StringChannels | None:
    """The channels of strings 1 to 5 in a take, None where channels do not tell strings."""
    channels = hearing.string_channels or string_channels_of(take)
    used = channels_used(take)
    if channels is not None and used and not used & set(channels):
        raise TakeError(
            f"the strings are on channels {', '.join(map(str, channels))}, but the take has notes only on"
            f" {', '.join(map(str, sorted(used)))}",
            cure="name the channels of strings 1 to 5, or none",
        )
    if channels is None and hearing.settings.latency.by_string:
        raise TakeError(
            "latencies are told by string, but the take has all notes on one channel",
            cure="give one latency for all strings, or name the channels of the strings",
        )
    return channels


def replay(folder: SessionFolder) -> list[Report]:
    """The reports on a recorded session: one for each of its solos, in order of their first pass.

    Passes that the player marked without an instrument have nothing to be heard and are left out.

    Raises:
        TakeError: when the session and its take do not fit.
    """
    session, take = folder.session, folder.take
    if len(session.passes) != len(take.passes):
        raise TakeError(
            f"the session has {len(session.passes)} passes, its take {len(take.passes)} downbeats",
            cure="the two files must come from one session",
        )
    scored = []
    for each, mark in zip(session.passes, take.passes, strict=True):
        plan = PassPlan(
            folder.arrangements[each.digest],
            mark.tempo,
            mark.seconds,
            mark.first,
            mark.last,
            number=each.number,
            bounce=each.bounce,
            lean_ms=each.lean_ms,
        )
        scored.append(Scored(plan, mark.stopped_seconds))
    bounded = with_boundaries(scored)
    heard = [entry for entry, each in zip(bounded, session.passes, strict=True) if each.self_marked is None]
    results = score_passes(
        heard,
        heard_in(take, session.instrument.string_channels),
        end=take.end,
        settings=Settings(session.instrument.latency, session.tolerance_ms),
    )
    return _by_solo(results)


def _by_solo(results: Sequence[PassResult]) -> list[Report]:
    solos: list[tuple[Arrangement, list[PassResult]]] = []
    for result in results:
        known = next((passes for solo, passes in solos if solo is result.plan.arrangement), None)
        if known is None:
            solos.append((result.plan.arrangement, [result]))
        else:
            known.append(result)
    return [make_report(passes) for _, passes in solos]


def report_text(reports: Sequence[Report]) -> str:
    """The text of ``report.json``: the report, or an array of them where several solos were played."""
    if len(reports) == 1:
        return reports[0].to_json()
    return "[" + ",\n".join(report.to_json().rstrip("\n") for report in reports) + "]\n"
