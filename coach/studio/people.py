"""People of studios, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["ALONE", "Person", "Role", "StudioName"]

Role = Literal["alone", "teacher", "student"]


@dataclass(frozen=True, slots=True)
class StudioName:
    """A studio: its id (a slug, as people type it when they come back) and its name."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who uses the service.

    Attributes:
        id: of the person, which is the name of their practice session and of the player in the records too.
        name: of their choice, unlike those of others in the studio.
        role: ``alone`` for the player of a service without a studio, who needs no account.
        studio: to which they belong; its id is empty for ``alone``.
    """

    id: str
    name: str
    role: Role
    studio: StudioName


ALONE = Person("home", "", "alone", StudioName("", ""))
"""The player of a service without a studio."""
