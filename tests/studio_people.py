"""A studio with its people, for tests of what teachers leave for students."""

from __future__ import annotations

from sqlalchemy import Connection

from coach.records.studio_tables import studios
from coach.studio.members import add_person
from coach.studio.people import Person, StudioName

__all__ = ["BEGAN", "ELM", "OAK", "REED", "RUTH", "TILDA", "WREN", "a_studio"]

BEGAN = "2026-03-01T09:00:00Z"
OAK = StudioName("oak-lane", "Oak Lane")
ELM = StudioName("elm-lane", "Elm Lane")
RUTH = Person("ruth-1", "Ruth", "teacher", OAK)
REED = Person("reed", "Reed", "student", OAK)
WREN = Person("wren", "Wren", "student", OAK)
TILDA = Person("tilda", "Tilda", "student", ELM)


def a_studio(connection: Connection) -> None:
    """Two studios: Ruth teaches Reed and Wren in one, Tilda is in the other."""
    for studio in (OAK, ELM):
        connection.execute(studios.insert().values(id=studio.id, name=studio.name, began=BEGAN))
    for each in (RUTH, REED, WREN, TILDA):
        assert each.role != "alone"
        add_person(connection, each.id, each.name, each.role, each.studio, BEGAN)
