"""What a player's progress looks like: the JSON that the pictures of the page are drawn from.

``GET /progress.json?session=NAME&tune=ID`` answers with :class:`Progress`; without ``tune`` it is about the tune that
was played last. A player who has played nothing yet gets empty lists, an empty ``tune`` and no ``goal``. Tempos are
quarters a minute of the solo's notation; days are dates at the player's place (``2026-03-01``), moments RFC 3339 in UTC.
"""

from __future__ import annotations

from msgspec import Struct

__all__ = ["ClimbLine", "DayLine", "PassLine", "Progress", "ReadyLine", "TunePlayed"]


class TunePlayed(Struct, frozen=True):
    """A tune that was played, or a roll study; the one that was played last comes first.

    Attributes:
        minutes: that were played of it in all.
        last: the day on which it was played last.
    """

    id: str
    title: str
    passes: int
    minutes: float
    last: str


class DayLine(Struct, frozen=True):
    """A day on which something was played; the oldest first. Days without practice are left out.

    Attributes:
        minutes: of all tunes.
        tunes: minutes by the id of the tune.
    """

    day: str
    minutes: float
    tunes: dict[str, float]


class ClimbLine(Struct, frozen=True):
    """Whole passes of a tier on a day, by day and then by tier, the easiest first.

    Attributes:
        tier: of the solo; of a mixed one the tier it came from.
        low, high: the slowest and fastest tempo.
        fastest_clean: the fastest that was clean; null for none.
        passes: how many.
    """

    day: str
    tier: str
    low: float
    high: float
    fastest_clean: float | None
    passes: int


class PassLine(Struct, frozen=True):
    """One of the last passes of the tune, the oldest first.

    Attributes:
        tier: of the solo; of a mixed one the tier it came from.
        mix: the measures that were of the next tier.
        kind: what it was for: whole, part, spot, warm-up, known, jam.
        clean: as the report has it, or by the player's own mark.
        whole: it was played to its end.
        measures: whether each was clean, by its number; one that is not there was not played, and none is there where
            the player marked the pass.
    """

    began: str
    tempo: float
    tier: str
    mix: list[int]
    kind: str
    clean: bool
    whole: bool
    measures: dict[int, bool]


class ReadyLine(Struct, frozen=True):
    """The ready tempo of a measure in a tier, by tier and then by measure.

    Attributes:
        tempo: at which four passes in five are clean.
        low, high: the interval that holds it with a probability of 0.9.
        passes: how many it rests on.
    """

    measure: int
    tier: str
    tempo: float
    low: float
    high: float
    passes: int


class Progress(Struct, frozen=True, tag_field="format", tag="progress/1"):
    """A player's progress.

    Attributes:
        player: the name of the session.
        tune, title: the tune that the rest is about; empty where nothing was played.
        goal: its goal at the last pass; null where nothing was played.
        tunes: all that were played.
        days: minutes, day by day.
        climb: the tempo of the tune, day by day.
        passes: of the tune, the last 60.
        measures: the numbers of all measures that these passes went through, in order.
        ready: where the tempo of each measure stands that was played.
    """

    player: str
    tune: str
    title: str
    goal: float | None
    tunes: list[TunePlayed]
    days: list[DayLine]
    climb: list[ClimbLine]
    passes: list[PassLine]
    measures: list[int]
    ready: list[ReadyLine]
