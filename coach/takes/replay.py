"""Playing a take again: from what was heard to the report, by the code that judged it live."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from coach.arranging.arrangement import Arrangement
from coach.errors import TakeError
from coach.listening.free_ear import FreeEar
from coach.listening.free_report import FreeReport, score_freely
from coach.listening.free_time import FreePass
from coach.listening.heard import Sound, StringChannels
from coach.listening.plan import PassPlan, Settings
from coach.listening.report import Report, Scored, make_report, score, score_passes, with_boundaries
from coach.listening.scores import PassResult, following
from coach.listening.told import Told
from coach.takes.sessions import SessionFolder
from coach.takes.take import Take, channels_used, heard_in, string_channels_of

__all__ = [
    "AnyPass",
    "AnyReport",
    "Hearing",
    "make_reports",
    "passes_of",
    "replay",
    "report_freely",
    "report_on",
    "report_text",
]

AnyPass = PassResult | FreePass
"""What came of a pass, played to a click or in free time."""

AnyReport = Report | FreeReport

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


def replay(folder: SessionFolder) -> list[AnyReport]:
    """The reports on a recorded session, as :func:`make_reports` parts them.

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
    # A pass in free time begins and ends by itself: what it gives way to is no matter of when its places would lie.
    bounded = iter(
        with_boundaries([entry for entry, each in zip(scored, session.passes, strict=True) if not each.free])
    )
    sounds = heard_in(take, session.instrument.string_channels)
    settings = Settings(session.instrument.latency, session.tolerance_ms)
    heard: list[tuple[str, AnyPass]] = []
    before: PassResult | None = None
    for each, entry in zip(session.passes, scored, strict=True):
        entry = entry if each.free else next(bounded)
        if each.self_marked is not None:
            continue
        entry = replace(entry, plan=following(entry.plan, before))
        if each.free:
            free = _hear_again(entry, sounds, settings)
            heard.append((each.digest, free))
            before = free.result
        else:
            (before,) = score_passes([entry], sounds, end=take.end, settings=settings)
            heard.append((each.digest, before))
    return make_reports(heard)


def _hear_again(entry: Scored, sounds: Sequence[Sound], settings: Settings) -> FreePass:
    """Hear a pass in free time as it was heard live: it ends where that did."""
    ear = FreeEar(entry.plan, settings)
    if entry.stopped is not None:
        ear.stop(entry.stopped)
    for sound in sounds:
        ear.take(sound)
    ear.finish()
    assert ear.result is not None
    return ear.result


def make_reports(passes: Sequence[tuple[str, AnyPass]], told: Sequence[Told] | None = None) -> list[AnyReport]:
    """The reports on the passes of a session: one for each solo, and one more for what of it was played in free time.

    Args:
        passes: each with the digest of its solo, in order.
        told: what is told of each, where that is known already.

    Returns:
        The reports in order of their first pass.
    """
    parts: dict[tuple[str, bool], list[int]] = {}
    for index, (solo, each) in enumerate(passes):
        parts.setdefault((solo, isinstance(each, FreePass)), []).append(index)
    return [
        _report([passes[index][1] for index in part], None if told is None else [told[index] for index in part])
        for part in parts.values()
    ]


def _report(passes: Sequence[AnyPass], told: Sequence[Told] | None) -> AnyReport:
    """The report on passes through one solo, all of them to a click or all in free time."""
    free = tuple(each for each in passes if isinstance(each, FreePass))
    if free:
        return FreeReport(free, None if told is None else tuple(told))
    return make_report([each for each in passes if isinstance(each, PassResult)], told)


def report_text(reports: Sequence[AnyReport]) -> str:
    """The text of ``report.json``: the report, or an array of them where there are several."""
    if len(reports) == 1:
        return reports[0].to_json()
    return "[" + ",\n".join(report.to_json().rstrip("\n") for report in reports) + "]\n"
