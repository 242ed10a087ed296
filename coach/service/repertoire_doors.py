"""The addresses of the repertoire: whose its tunes are; they are withdrawn and shared.

Who asks is answered from the repertoire of their own studio, and only with what they may see there.
"""

from __future__ import annotations

import msgspec
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from coach.service.repertoire import Repertoire
from coach.service.service import Service
from coach.service.signed_in import permit, person_of
from coach.studio.people import Person

__all__ = ["routes"]


def routes(service: Service) -> list[Route]:
    """The addresses of a service's repertoires."""
    doors = _Doors(service)
    return [
        Route("/tunes.json", doors.tunes),
        Route("/tunes/{id}/withdraw", doors.withdraw, methods=["POST"]),
        Route("/tunes/{id}/share", doors.share, methods=["POST"]),
    ]


class _Doors:
    """What is behind each address."""

    def __init__(self, service: Service) -> None:
        self._service = service

    def _asked(self, request: Request) -> tuple[Person, Repertoire]:
        person = person_of(request)
        return person, self._service.repertoire_of(person)

    async def tunes(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        permit(person, "practise", person)
        lines = repertoire.lines_for(person)
        told = [{**msgspec.to_builtins(line), **_whose(repertoire, line.id)} for line in lines]
        return JSONResponse({"format": "tunes/1", "tunes": told}, headers={"Cache-Control": "no-cache"})

    async def withdraw(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        if person.role == "student":
            permit(person, "bring tunes", person)
        else:
            permit(person, "share tunes", None)
        await repertoire.withdraw(person, request.path_params["id"])
        return Response(status_code=204)

    async def share(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        permit(person, "share tunes", None)
        await repertoire.share(person, request.path_params["id"])
        return Response(status_code=204)


def _whose(repertoire: Repertoire, tune: str) -> dict[str, object]:
    """Whose a tune is: common to all studios, the studio's, or some students' by their ids."""
    owners = repertoire.whose(tune)
    return {
        "common": owners is None,
        "shared": owners is None or "" in owners,
        "students": sorted(owner for owner in owners or () if owner),
    }
