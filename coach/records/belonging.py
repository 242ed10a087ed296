"""What a studio has of somebody, in an open format: how they come in, what they agreed to, what teachers left."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Select, Table, select

from coach.records.studio_tables import (
    assignments,
    consents,
    devices,
    findings,
    invitations,
    passkeys,
    passwords,
    people,
    pins,
    studios,
)
from coach.records.tables import passes

__all__ = ["FORMAT", "studio_json"]

FORMAT = "person/1"


def studio_json(connection: Connection, person: str) -> str | None:
    """All that a studio has of somebody as JSON text, without secrets; None for a player who is in none.

    Names of others are told where they are part of it: who set something, or wrote it.
    """
    who = people.join(studios, people.c.studio == studios.c.id)
    query = select(people.c.name, people.c.role, people.c.began, studios.c.name.label("studio")).select_from(who)
    found = connection.execute(query.where(people.c.id == person)).mappings().one_or_none()
    if found is None:
        return None
    hidden = select(passwords.c.changed).where(passwords.c.person == person)
    whole = {
        "format": FORMAT,
        "person": person,
        **found,
        "consents": _rows(connection, _of(consents, "person", person, "given", "person")),
        "devices": _rows(connection, _of(devices, "person", person, "began", "person", "digest")),
        "password_changed": connection.execute(hidden).scalar_one_or_none(),
        "passkeys": _rows(connection, _of(passkeys, "person", person, "added", "person", "credential", "public_key")),
        "invitations": _rows(connection, _of(invitations, "person", person, "made", "digest", "person", "studio")),
        "assignments": _rows(connection, _by(assignments, person)),
        "pins": _rows(connection, _by(pins, person)),
        "findings": _rows(connection, _findings(person)),
    }
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def _of(table: Table, whose: str, person: str, by: str, *hidden: str) -> Select[Any]:
    """Rows of somebody, in the order of a column, without those that are hidden."""
    shown = [column for column in table.columns if column.name not in hidden]
    return select(*shown).where(table.c[whose] == person).order_by(table.c[by], *table.primary_key)


def _by(table: Table, person: str) -> Select[Any]:
    """What teachers left for a student, with the name of each."""
    shown = [column for column in table.columns if column.name not in ("student", "by")]
    beside = table.outerjoin(people, table.c.by == people.c.id)
    query = select(*shown, people.c.name.label("by")).select_from(beside)
    return query.where(table.c.student == person).order_by(table.c.made, table.c.id)


def _findings(person: str) -> Select[Any]:
    beside = findings.join(passes, passes.c.id == findings.c["pass"])
    shown = (passes.c.folder, passes.c.number, findings.c.name, findings.c.words, findings.c.cost)
    query = select(*shown).select_from(beside).where(passes.c.player == person)
    return query.order_by(passes.c.folder, passes.c.number, findings.c.place)


def _rows(connection: Connection, query: Select[Any]) -> list[Mapping[str, Any]]:
    return [dict(row) for row in connection.execute(query).mappings()]
