"""The addresses of the repertoire: whose its tunes are, which are withdrawn and shared; the licks of its teachers.

Who asks is answered from the repertoire of their own studio, and only with what they may see there.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Literal

import msgspec
from msgspec import Meta
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from coach.arranging.lick_table import Row
from coach.arranging.own_licks import FORMAT, LickWritten, lick_of_measures, written
from coach.errors import NotThereError
from coach.service.bodies import answer_json, read_body
from coach.service.lick_shelf import lick_id
from coach.service.repertoire import Repertoire
from coach.service.service import Service
from coach.service.signed_in import permit, person_of, refused
from coach.studio.people import Person

__all__ = ["routes"]


class _LickAsked(LickWritten, frozen=True, kw_only=True):
    """A lick to be kept: as it is written, or made of one measure or two of a solo.

    Attributes:
        digest: of the solo; empty for one that is written.
        measure: the first one, as played.
        measures: how many.
    """

    chord: Annotated[str, Meta(max_length=12)] = ""
    slots: Annotated[str, Meta(max_length=200)] = ""
    digest: Annotated[str, Meta(max_length=64)] = ""
    measure: Annotated[int, Meta(ge=0, le=2000)] | None = None
    measures: Literal[1, 2] = 1


def routes(service: Service) -> list[Route]:
    """The addresses of a service's repertoires."""
    doors = _Doors(service)
    return [
        Route("/tunes.json", doors.tunes),
        Route("/tunes/{id}/withdraw", doors.withdraw, methods=["POST"]),
        Route("/tunes/{id}/share", doors.share, methods=["POST"]),
        Route("/licks.json", doors.licks),
        Route("/licks", doors.keep_lick, methods=["POST"]),
        Route("/licks/{id}/withdraw", doors.withdraw_lick, methods=["POST"]),
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
        told = [{**msgspec.to_builtins(line), **_whose(repertoire, person, line.id)} for line in lines]
        return JSONResponse({"format": "tunes/1", "tunes": told}, headers={"Cache-Control": "no-cache"})

    async def withdraw(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        if person.role == "student":
            permit(person, "bring tunes", person)
        else:
            permit(person, "share tunes", None)
        with _written_down(person, request.path_params["id"]):
            await repertoire.withdraw(person, request.path_params["id"])
        return Response(status_code=204)

    async def share(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        permit(person, "share tunes", None)
        with _written_down(person, request.path_params["id"]):
            await repertoire.share(person, request.path_params["id"])
        return Response(status_code=204)

    async def licks(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        permit(person, "practise", person)
        return answer_json({"format": FORMAT, "licks": [written(row, lick_id(row)) for row in repertoire.licks.rows]})

    async def keep_lick(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        permit(person, "share licks", None)
        asked = await read_body(request, _LickAsked)
        return answer_json({"id": await repertoire.keep_lick(await _row(person, repertoire, asked))})

    async def withdraw_lick(self, request: Request) -> Response:
        person, repertoire = self._asked(request)
        permit(person, "share licks", None)
        await repertoire.withdraw_lick(request.path_params["id"])
        return Response(status_code=204)


async def _row(person: Person, repertoire: Repertoire, asked: _LickAsked) -> Row:
    """The lick that is asked to be kept."""
    if not asked.digest:
        return LickWritten(
            asked.name, asked.chord, asked.slots, asked.tuning, asked.use, asked.level, asked.character
        ).row
    solo = await repertoire.book.solo(asked.digest) if repertoire.sees(person, asked.digest) else None
    if solo is None or asked.measure is None:
        raise NotThereError("there is no such measure to be kept as a lick", cure="choose one on the sheet")
    row = lick_of_measures(solo.arrangement, asked.measure, asked.measures, asked.name, asked.use)
    return row._replace(level=asked.level, character=asked.character)


@contextmanager
def _written_down(person: Person, tune: str) -> Iterator[None]:
    """Write down that a tune was asked for which is not there for the one who asks."""
    try:
        yield
    except NotThereError:
        refused(person, "share tunes", tune)
        raise


def _whose(repertoire: Repertoire, person: Person, tune: str) -> dict[str, object]:
    """Whose a tune is: common to all studios, the studio's, or some students' by their ids, of which a student is told
    their own."""
    owners = repertoire.whose(tune)
    return {
        "common": owners is None,
        "shared": owners is None or "" in owners,
        "students": sorted(
            owner for owner in owners or () if owner and (person.role == "teacher" or owner == person.id)
        ),
    }
