"""Who may do what about whom: one table, asked at the border for every message and every address.

A permission goes by the role of the one who asks and by how the one whom it is about stands to them. What is not in the
table is forbidden.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

from coach.errors import ForbiddenError, NotThereError
from coach.studio.people import Person, Role

__all__ = ["ACTIONS", "Action", "Relation", "allow", "may", "no_such_student", "relation"]

Relation = Literal["own", "student", "studio", "other"]
"""How somebody stands to the one who asks: themselves, a student of their studio (the asker teaches there), somebody
else of the same studio or the studio as a whole, anybody else."""

_Practice = Literal[
    # Messages of a page, by their kinds, and what is asked by addresses.
    "join",
    "pong",
    "settings",
    "sitting",
    "start",
    "stop",
    "again",
    "next_rung",
    "calibrate",
    "learn_foot",
    "mark",
    "sounding",
    "notes",
    "input",
    "enter",
    "answer",
    "practise",
    "bring tunes",
]
_Edits = Literal["edit", "undo", "redo"]
_Seen = Literal["see progress", "hear takes", "see assignments", "see pins", "see week", "export"]

Action = Literal[
    _Practice,
    _Edits,
    _Seen,
    # Messages of a teacher's desk, by their kinds.
    "desk",
    "look_on",
    "steer",
    # What is asked by addresses.
    "forget",
    "manage own access",
    "see studio",
    "invite",
    "give access back",
    "sign out",
    "assign",
    "pin",
    "share tunes",
    "share licks",
]

_OWN = frozenset[Relation]({"own"})
_OWN_OR_STUDENT = frozenset[Relation]({"own", "student"})
_STUDENT = frozenset[Relation]({"student"})
_STUDIO = frozenset[Relation]({"studio"})

_PRACTICE: tuple[Action, ...] = get_args(_Practice)
_EDITS: tuple[Action, ...] = get_args(_Edits)
_SEEN: tuple[Action, ...] = get_args(_Seen)

_MAY: Mapping[Role, Mapping[Action, frozenset[Relation]]] = {
    # Nobody else is there: all that concerns practice, nothing that needs a studio. Sessions have names of their own.
    "alone": {
        **dict.fromkeys((*_PRACTICE, *_EDITS), frozenset[Relation]({"own", "other"})),
        **dict.fromkeys(("see progress", "hear takes"), frozenset[Relation]({"own", "other"})),
    },
    "student": {
        **dict.fromkeys((*_PRACTICE, *_SEEN, "forget", "manage own access"), _OWN),
    },
    "teacher": {
        **dict.fromkeys((*_PRACTICE, *_EDITS, "manage own access"), _OWN),
        **dict.fromkeys((*_SEEN, "forget"), _OWN_OR_STUDENT),
        **dict.fromkeys(("look_on", "steer", "give access back", "sign out", "assign", "pin"), _STUDENT),
        **dict.fromkeys(("desk", "see studio", "invite", "share tunes", "share licks"), _STUDIO),
    },
}

ACTIONS: tuple[Action, ...] = get_args(Action)
"""All of them."""


def relation(person: Person, about: Person | None) -> Relation:
    """How somebody stands to the one who asks; None is the asker's own studio as a whole."""
    if about is None:
        return "studio"
    if about.id == person.id:
        return "own"
    if about.studio.id != person.studio.id or not person.studio.id:
        return "other"
    return "student" if person.role == "teacher" and about.role == "student" else "studio"


def may(person: Person, action: Action, about: Person | None) -> bool:
    """Whether somebody may do something.

    Args:
        person: who asks.
        action: what is asked.
        about: whom it is about; None for the asker's studio as a whole.
    """
    return relation(person, about) in _MAY[person.role].get(action, frozenset())


def allow(person: Person, action: Action, about: Person | None) -> None:
    """Let something pass.

    Raises:
        NotThereError: when it is about somebody of another studio.
        ForbiddenError: when it may not be done.
    """
    if not may(person, action, about):
        if about is not None and relation(person, about) == "other":
            raise no_such_student()
        raise ForbiddenError(f"{_SAID[person.role]} may not do this ({action})", cure="ask your teacher")


def no_such_student() -> NotThereError:
    """What is said of somebody of another studio, and of somebody who is not there at all."""
    return NotThereError("there is no such student in your studio", cure="choose one of the list")


_SAID: Mapping[Role, str] = {
    "alone": "a player without a studio",
    "student": "a student",
    "teacher": "a teacher",
}
