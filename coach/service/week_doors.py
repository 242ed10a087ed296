"""A week of somebody's practice, and takes of any day, by addresses.

``GET /week.json?student=ID&week=2026-W10`` answers with a week as :mod:`~coach.service.week_files` has it,
``/week.csv`` with the same as CSV; without ``student`` it is about whoever asks, without ``week`` about this one. ``GET
/kept/FOLDER/NUMBER.cues.json`` is a take as :mod:`~coach.service.cue_files` has it, by the name of its session folder,
``.json`` the report of the folder and ``.mid`` its take.
"""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from coach.errors import NotThereError
from coach.service.bodies import answer_json
from coach.service.cue_files import take_file
from coach.service.service import Service
from coach.service.signed_in import may_about, person_of, refused
from coach.service.week_files import week_csv, week_record
from coach.studio.people import Person

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.studio.weeks import WeekOfPractice

__all__ = ["routes"]

CUES = 20.0
"""Seconds in which a take has to be read."""

_FILES = {"json": ("report.json", "application/json"), "mid": ("take.mid", "audio/midi")}
_PACKED = (Middleware(GZipMiddleware, minimum_size=1000, compresslevel=6),)


def routes(service: Service) -> list[Route]:
    """The addresses; none without a studio."""
    if service.accounts is None:
        return []
    doors = _WeekDoors(service)
    return [
        Route("/week.json", doors.week, middleware=_PACKED),
        Route("/week.csv", doors.table),
        Route("/kept/{folder}/{number:int}.cues.json", doors.cues, middleware=_PACKED),
        Route("/kept/{folder}/{number:int}.{suffix}", doors.kept),
    ]


class _WeekDoors:
    """What is behind each."""

    def __init__(self, service: Service) -> None:
        assert service.accounts is not None
        self._service = service
        self._records = service.accounts.records

    async def week(self, request: Request) -> Response:
        """A week as JSON."""
        person, week = await self._asked(request)
        return answer_json(week_record(week, person))

    async def table(self, request: Request) -> Response:
        """A week as CSV."""
        person, week = await self._asked(request)
        name = quote(f"{person.name} {week.week.name}.csv")
        headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{name}", "Cache-Control": "no-store"}
        return Response(week_csv(week).encode(), media_type="text/csv; charset=utf-8", headers=headers)

    async def cues(self, request: Request) -> Response:
        """A take, to be played."""
        folder, number = await self._folder(request), request.path_params["number"]
        data = await self._service.workers.run(take_file, CUES, "reading the take", folder, number)
        return Response(data, media_type="application/json", headers={"Cache-Control": "no-store"})

    async def kept(self, request: Request) -> Response:
        """The report or the take of a folder."""
        folder = await self._folder(request)
        if request.path_params["suffix"] not in _FILES:
            raise HTTPException(404)
        name, kind = _FILES[request.path_params["suffix"]]
        try:
            data = await asyncio.to_thread((folder / name).read_bytes)
        except FileNotFoundError:
            raise HTTPException(404) from None
        return Response(data, media_type=kind, headers={"Cache-Control": "no-store"})

    async def _asked(self, request: Request) -> tuple[Person, WeekOfPractice]:
        from coach.studio.calendar_weeks import Week, read_week
        from coach.studio.weeks import week_of

        person, query = person_of(request), request.query_params
        them = await may_about(self._service, person, "see week", query.get("student") or person.id)
        asked = query.get("week")
        today = datetime.now().astimezone().date()
        week = read_week(asked) if asked else Week.of(today)
        found = await self._records.ask(partial(week_of, player=them.id, week=week, now=datetime.now(UTC)))
        return them, found

    async def _folder(self, request: Request) -> Path:
        """The session folder of an address, if whoever asks may hear what is in it; else it looks as if there were
        none."""
        person, folder = person_of(request), request.path_params["folder"]
        number = request.path_params["number"]
        player = await self._records.ask(partial(_player_of, folder=folder, number=number))
        if player is None:
            refused(person, "hear takes", folder)
            raise HTTPException(404)
        try:
            await may_about(self._service, person, "hear takes", player)
        except NotThereError:
            raise HTTPException(404) from None
        return self._service.takes_folder / str(folder)


def _player_of(connection: Connection, folder: str, number: int) -> str | None:
    """Whose a pass is, by its session folder and its number there; None where there is none."""
    from sqlalchemy import select

    from coach.records.tables import passes

    query = select(passes.c.player).where(passes.c.folder == folder, passes.c.number == min(number, 2**31 - 1))
    found: str | None = connection.execute(query).scalar()
    return found
