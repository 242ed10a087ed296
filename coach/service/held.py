"""Settings that a teacher has set for a tune: they hold as long as the assignment is on, over the player's own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from msgspec import structs

from coach.errors import InputError
from coach.service.protocol import Settings
from coach.service.settings import Chosen
from coach.studio.rules import Rules

__all__ = ["Aside", "clamped", "own_of", "refuse", "ruled"]

Aside = Mapping[str, Any]
"""The player's own settings that rules have put aside, by their names."""

_CALLED = {
    "goal": "goal",
    "policy": "way in which the tempo moves",
    "step": "step of the tempo",
    "clean_needed": "number of clean passes before a step",
    "tolerance_ms": "tolerance",
}


def ruled(own: Chosen, rules: Rules | None) -> tuple[Chosen, Aside]:
    """Settings as the rules have them, and what of the player's own these have put aside; tempo and floor lie within
    what they allow.

    Args:
        own: the player's own settings.
        rules: that hold for the tune; None for none.
    """
    if rules is None:
        return own, {}
    most = _most(rules)
    told = {**_held(rules), "floor": min(own.floor, most)}
    aside = {name: getattr(own, name) for name in told}
    held = replace(own, **told)
    return replace(held, tempo=max(held.floor, min(most, held.tempo))), aside


def own_of(chosen: Chosen, aside: Aside) -> Chosen:
    """The player's own settings, of :func:`ruled` ones; the tempo is one of floor to goal."""
    own = replace(chosen, **aside)
    return replace(own, floor=min(own.floor, own.tempo), goal=max(own.goal, own.tempo)) if aside else own


def refuse(message: Settings, rules: Rules | None) -> None:
    """See that a message changes nothing that a teacher has set.

    Raises:
        InputError: when it would.
    """
    if rules is None:
        return
    for name, value in _held(rules).items():
        asked = getattr(message, name)
        if asked is not None and asked != value:
            raise InputError(
                f"the {_CALLED[name]} is set by {rules.by or 'your teacher'} for this tune",
                cure=f"leave it at {value if isinstance(value, str) else format(value, 'g')}, or ask your teacher",
            )


def clamped(message: Settings, rules: Rules | None) -> tuple[Settings, str]:
    """A message with a tempo that is none too fast, and a sentence about what was too fast; else an empty one."""
    if rules is None or message.tempo is None or message.tempo <= _most(rules):
        return message, ""
    if rules.cap is not None and rules.cap <= rules.goal:
        text = f"{rules.cap_words[0].upper()}{rules.cap_words[1:]}, says {rules.by or 'your teacher'}."
    else:
        text = f"The goal of this tune is {rules.goal:g}, says {rules.by or 'your teacher'}: no faster than that."
    return structs.replace(message, tempo=_most(rules)), text


def _held(rules: Rules) -> dict[str, Any]:
    told = {name: getattr(rules, name) for name in _CALLED}
    return {name: value for name, value in told.items() if value is not None}


def _most(rules: Rules) -> float:
    return rules.goal if rules.cap is None else min(rules.cap, rules.goal)
