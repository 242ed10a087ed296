"""What teachers ask of their studio: who is there, letting people in; and what people take along when they leave."""

from __future__ import annotations

import asyncio
import secrets
import shutil
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from msgspec import Meta, Struct
from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from coach.errors import InputError, NotThereError
from coach.service.accounts import Accounts, new_id
from coach.service.bodies import Nothing, answer_json, read_body
from coach.service.forgetting import forget
from coach.service.leaving import session_folders, zipped
from coach.service.limits import Limit
from coach.service.service import Service
from coach.service.signed_in import may_about, origin_of, permit, person_of, refused
from coach.studio.names import folded
from coach.studio.people import Person
from coach.studio.tokens import TOKEN_BYTES

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.studio.invitations import Invitation

__all__ = ["routes"]

MOST_DAYS = 30
"""Days for which an invitation holds at most."""


class Inviting(Struct, forbid_unknown_fields=True):
    """An invitation to be made: for somebody new, or to give somebody access back."""

    role: Literal["teacher", "student"] = "student"
    person: Annotated[str, Meta(max_length=40)] | None = None
    days: Annotated[int, Meta(ge=1, le=MOST_DAYS)] = 7


class Forgetting(Struct, forbid_unknown_fields=True):
    """The name of the one who is to be forgotten, typed as a check."""

    name: Annotated[str, Meta(max_length=200)]


def routes(service: Service) -> list[Route]:
    """The addresses of a studio; none without one."""
    if service.accounts is None:
        return []
    doors = _StudioDoors(service, service.accounts)
    return [
        Route("/studio.json", doors.studio),
        Route("/studio/invitations", doors.invite, methods=["POST"]),
        Route("/studio/invitations/{id}/withdraw", doors.withdraw, methods=["POST"]),
        Route("/studio/people/{id}/sign-out", doors.sign_out, methods=["POST"]),
        Route("/people/{id}/export.zip", doors.export),
        Route("/people/{id}/forget", doors.forget, methods=["POST"]),
    ]


class _StudioDoors:
    """What is behind each."""

    def __init__(self, service: Service, accounts: Accounts) -> None:
        self._service = service
        self._accounts = accounts
        self._invites = Limit(60, 3600.0, service.now)
        self._exports = Limit(10, 600.0, service.now)

    async def studio(self, request: Request) -> Response:
        """Its people and its invitations."""
        person = person_of(request)
        permit(person, "see studio", None)
        told = await self._accounts.records.ask(partial(_studio, person=person))
        return answer_json({**told, "address": origin_of(request)})

    async def invite(self, request: Request) -> Response:
        """Make an invitation; its link is told once, and the token in it is nowhere else."""
        from coach.studio.invitations import invite

        person, asked = person_of(request), await read_body(request, Inviting)
        permit(person, "invite", None)
        them = None
        if asked.person is not None:
            them = await may_about(self._service, person, "give access back", asked.person)
        self._invites.take(person.id)
        token = secrets.token_urlsafe(TOKEN_BYTES)
        made = await self._accounts.records.change(
            partial(
                invite,
                studio=person.studio,
                role=asked.role,
                id=new_id(),
                token=token,
                when=self._accounts.wall(),
                days=asked.days,
                person=them,
                by=person,
            )
        )
        return answer_json({"id": made.id, "link": f"{origin_of(request)}/join.html#{token}", "expires": made.expires})

    async def withdraw(self, request: Request) -> Response:
        """Take an invitation back."""
        from coach.studio.invitations import withdraw

        person, id_ = person_of(request), request.path_params["id"]
        permit(person, "invite", None)
        await read_body(request, Nothing)
        if not await self._accounts.records.change(partial(withdraw, studio=person.studio.id, id=id_)):
            refused(person, "invite", id_)
            raise NotThereError("there is no such invitation, or it was taken", cure="look at the list again")
        return answer_json({})

    async def sign_out(self, request: Request) -> Response:
        """Sign a student out everywhere."""
        them = await may_about(self._service, person_of(request), "sign out", request.path_params["id"])
        await read_body(request, Nothing)
        await self._accounts.sign_out_everywhere(them.id)
        return answer_json({})

    async def export(self, request: Request) -> Response:
        """All that is kept of somebody, in open formats."""
        person = person_of(request)
        them = await may_about(self._service, person, "export", request.path_params["id"])
        self._exports.take(person.id)
        texts, owners = await self._accounts.records.ask(partial(_texts, player=them.id))
        root, own = self._service.takes_folder, self._service.folder_of(them)

        def pack() -> Path:
            return zipped(texts, session_folders(root, them.id, owners), [own] if own.is_dir() else [])

        path = await asyncio.to_thread(pack)
        return FileResponse(
            path,
            media_type="application/zip",
            filename=f"{them.name}.zip",
            headers={"Cache-Control": "no-store"},
            background=BackgroundTask(shutil.rmtree, path.parent, ignore_errors=True),
        )

    async def forget(self, request: Request) -> Response:
        """Delete all that is kept of somebody."""
        person = person_of(request)
        them = await may_about(self._service, person, "forget", request.path_params["id"])
        asked = await read_body(request, Forgetting)
        if folded(asked.name) != folded(them.name):
            raise InputError("the name is another one, so nothing was deleted", cure=f"type {them.name} to delete")
        await forget(self._service, them)
        return answer_json({})


def _studio(connection: Connection, person: Person) -> dict[str, Any]:
    from coach.studio.invitations import invitations_of
    from coach.studio.members import members_of

    return {
        "format": "studio/1",
        "studio": {"id": person.studio.id, "name": person.studio.name},
        "people": [
            {
                "id": each.person.id,
                "name": each.person.name,
                "role": each.person.role,
                "began": each.began,
                "practised": each.practised or "",
                "devices": each.devices,
                "has_password": each.has_password,
                "passkeys": each.passkeys,
            }
            for each in members_of(connection, person.studio.id)
        ],
        "invitations": [_told(each) for each in invitations_of(connection, person.studio)],
    }


def _told(invitation: Invitation) -> dict[str, Any]:
    return {
        "id": invitation.id,
        "role": invitation.role,
        "person": None if invitation.person is None else invitation.person.id,
        "by": invitation.by,
        "made": invitation.made,
        "expires": invitation.expires,
        "used": invitation.used,
    }


def _texts(connection: Connection, player: str) -> tuple[dict[str, str], dict[str, str]]:
    from coach.records.leaving import player_files, players_by_folder

    return player_files(connection, player), players_by_folder(connection)
