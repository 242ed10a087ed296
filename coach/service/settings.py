"""What a player has chosen: what the next pass will be, and how the instrument is heard."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Literal

from coach.arranging.arrangement import Arrangement, Tier
from coach.errors import InputError
from coach.ladder.standing import PolicyName
from coach.listening.heard import Latency, StringChannels, read_string_channels
from coach.listening.plan import Settings as ListenerSettings
from coach.service.accompany import Levels
from coach.service.foot import Switch, read_switch
from coach.service.pieces import Piece
from coach.service.protocol import Settings

__all__ = ["BY_EAR", "Chosen", "changed", "fitted", "measures_of"]

BY_EAR = 0.4
"""How loud a solo is at least that sounds along to be learned by ear, 0 to 1."""

_FEET = ("foot_start", "foot_again", "foot_next")


@dataclass(frozen=True, slots=True)
class Chosen:
    """The settings of a session; the fields are those of the wire's ``settings`` and ``state``.

    ``first`` and ``last`` are None for the solo's own; ``mix`` rises.
    """

    tune: str = ""
    tier: Tier = "beginner"
    tempo: float = 60.0
    goal: float = 120.0
    floor: float = 40.0
    first: int | None = None
    last: int | None = None
    bounce: int = 50
    solo_level: float = 0.0
    backing_level: float = 0.5
    click_level: float = 0.7
    keep_going: bool = False
    sound: Literal["page", "midi"] = "page"
    out_delay_ms: float = 0.0
    latency_ms: float = 0.0
    latency_by_string: tuple[tuple[int, float], ...] = ()
    tolerance_ms: float | None = None
    string_channels: Literal["auto", "off", "1-5", "11-15"] = "auto"
    foot_start: str = ""
    foot_again: str = ""
    foot_next: str = ""
    self_marked: bool = False
    free_time: bool = False
    mix: tuple[int, ...] = ()
    jam: bool = False
    with_solo: bool = False
    with_backing: bool = True
    policy: PolicyName = "coach"
    step: float = 4.0
    clean_needed: int = 2

    @property
    def piece(self) -> Piece:
        """Which solo of which tune."""
        return Piece(self.tune, self.tier, self.mix, self.jam)

    @property
    def levels(self) -> Levels:
        """How loud each part is."""
        solo = max(self.solo_level, BY_EAR) if self.with_solo else self.solo_level
        return Levels(self.click_level, self.backing_level if self.with_backing else 0.0, solo)

    def latency(self, channels: StringChannels | None) -> Latency:
        """What is taken off the notes; by string only where channels tell strings."""
        return Latency(self.latency_ms, () if channels is None else self.latency_by_string)

    def listening(self, channels: StringChannels | None) -> ListenerSettings:
        """What the listener needs to know of the instrument, whose strings are on these channels."""
        return ListenerSettings(self.latency(channels), self.tolerance_ms)

    @property
    def told_channels(self) -> StringChannels | None:
        """The channels of the strings where the player named them; None where not, or where channels tell nothing."""
        named = self.string_channels not in ("auto", "off")
        return read_string_channels(self.string_channels) if named else None

    @property
    def switches(self) -> dict[str, Switch | None]:
        """The foot switches by what they do."""
        return {
            "start": read_switch(self.foot_start),
            "again": read_switch(self.foot_again),
            "next": read_switch(self.foot_next),
        }


# Fields of the message that are taken over as they are.
_PLAIN = tuple(field.name for field in fields(Chosen) if field.name not in (*_FEET, "latency_by_string", "mix"))


def changed(chosen: Chosen, message: Settings) -> Chosen:
    """The settings after a message; a field that it leaves out stays as it is, with these exceptions. The tempo is
    always one of floor to goal: a tempo beyond them takes them along, and they take along a tempo that they leave out.
    A pass in free time has to be heard: to choose one ends that the player marks passes, and the other way round.
    Measures belong to the solo that they were chosen in: another tune, or a jam where none was, has all its own, and
    those that are mixed in are gone with another tune or tier.

    Raises:
        InputError: when fields contradict each other, or name no foot switch.
    """
    told = {name: getattr(message, name) for name in _PLAIN if getattr(message, name) is not None}
    for name in _FEET:
        text = getattr(message, name)
        if text is not None:
            switch = read_switch(text)
            told[name] = switch.name if switch is not None else ""
    if message.latency_ms is not None:
        told["latency_by_string"] = ()
    after = replace(chosen, **told)
    is_other = after.tune != chosen.tune
    if message.whole:
        after = replace(after, first=None, last=None)
    elif is_other or after.jam != chosen.jam:
        after = replace(after, first=told.get("first"), last=told.get("last"))
    if message.mix is not None:
        after = replace(after, mix=tuple(sorted(set(message.mix))))
    elif is_other or after.tier != chosen.tier:
        after = replace(after, mix=())
    if told.get("self_marked") and told.get("free_time"):
        raise InputError(
            "a pass in free time cannot be marked by the player: it has to be heard to be followed",
            cure="choose one of the two",
        )
    if after.self_marked and after.free_time:
        after = replace(after, self_marked=not told.get("free_time"), free_time=bool(told.get("free_time")))
    if after.floor > after.goal:
        raise InputError(
            f"the floor of {after.floor:g} lies above the goal of {after.goal:g}", cure="set the floor below the goal"
        )
    after = _in_range(after, tempo_told="tempo" in told)
    if after.first is not None and after.last is not None and after.first > after.last:
        raise InputError(f"measures {after.first} to {after.last} run backwards", cure="name the first one first")
    named = [name for name in (after.foot_start, after.foot_again, after.foot_next) if name]
    if len(set(named)) < len(named):
        raise InputError("two foot switches have one name", cure="give each its own")
    return after


def _in_range(chosen: Chosen, *, tempo_told: bool) -> Chosen:
    """The settings with a tempo that lies between floor and goal."""
    if tempo_told:
        return replace(chosen, floor=min(chosen.floor, chosen.tempo), goal=max(chosen.goal, chosen.tempo))
    return replace(chosen, tempo=max(chosen.floor, min(chosen.goal, chosen.tempo)))


def measures_of(arrangement: Arrangement) -> tuple[int, int]:
    """The numbers of the first and last measure of a solo."""
    return arrangement.measures[0].number, arrangement.measures[-1].number


def fitted(chosen: Chosen, arrangement: Arrangement) -> Chosen:
    """The settings made to fit a solo: measures that it has."""
    low, high = measures_of(arrangement)
    first = None if chosen.first is None or chosen.first <= low else min(chosen.first, high)
    last = None if chosen.last is None or chosen.last >= high else max(chosen.last, low)
    if first is not None and last is not None and first > last:
        first = last = None
    return replace(chosen, first=first, last=last)
