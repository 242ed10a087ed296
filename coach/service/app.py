"""The ASGI application: the page, its files, uploads and downloads, and the websocket, on one port."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import mimetypes
import re
from collections.abc import AsyncIterator

import msgspec
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles
from starlette.types import Scope
from starlette.websockets import WebSocket, WebSocketState

from coach.errors import CoachError, ForbiddenError, InputError, NotSignedInError, NotThereError
from coach.service import assignment_doors, people_doors, repertoire_doors, studio_doors, week_doors
from coach.service import protocol as wire
from coach.service.address import read_address
from coach.service.book import LARGEST_FILE, Book
from coach.service.cue_files import cues_of_solo, read_question, take_file
from coach.service.described import described
from coach.service.frames import line_of
from coach.service.guard import Guard, failure
from coach.service.jobs import PAPERS, Paper, Solo
from coach.service.limits import Limit
from coach.service.progress import answer
from coach.service.progress import read_question as read_progress
from coach.service.service import HOME, Service
from coach.service.session import Session
from coach.service.shape_list import read_asked, shapes_json
from coach.service.signed_in import SignedIn, may_about, permit, person_of, refused
from coach.service.talk import Talk
from coach.studio.people import ALONE

__all__ = ["create_app"]

READ_AWAY = 6 * 1024 * 1024
"""Bytes of a request that is refused that are read all the same: a proxy that cannot hand it over hears no answer."""

LAST_WORD = 2.0
"""Seconds for which a page that is let go may take to read why."""

UPLOADS = 60
"""Files that somebody of a studio may bring in an hour: the workers that read them are everybody's."""

CUES = 20.0
"""Seconds in which what sounds has to be written."""

_FOREVER = "public, max-age=31536000, immutable"  # its digest is in its name
_PACKED = (Middleware(GZipMiddleware, minimum_size=1000, compresslevel=6),)
"""For text: a large sheet is packed in 2 ms, to an eighth; below 1,000 bytes nothing is gained."""

_TYPES = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".svg": "image/svg+xml",
    ".json": "application/json",
    ".mid": "audio/midi",
    ".musicxml": "application/vnd.recordare.musicxml+xml",
    ".pdf": "application/pdf",
    ".txt": "text/plain; charset=utf-8",
}
_STATUS: dict[type[Exception], int] = {NotSignedInError: 401, ForbiddenError: 403, NotThereError: 404}
_LAYOUTS: dict[str, Paper] = {"wide": "wide.svg", "narrow": "narrow.svg", "single": "single.svg"}
_PDFS: dict[str, Paper] = {"a4": "pdf", "letter": "letter.pdf"}

_log = logging.getLogger(__name__)


def create_app(service: Service, *, hosts: frozenset[str] | None = None, address: str | None = None) -> Starlette:
    """The application.

    Args:
        service: what pages reach; it runs as long as the application does.
        hosts: the host names by which it may be called, without port; None for any. A page of another name cannot
            reach a service on the loopback then, whatever its own name server says.
        address: by which it is reached over the internet, like ``https://banjo.example``; it is in ``state.address``,
            read. Its host is one of ``hosts`` then, and pages of its origin are the service's own, also where a proxy
            calls the service by another name.

    Raises:
        InputError: when the address is none.
    """
    public = None if address is None else read_address(address)
    for suffix, kind in _TYPES.items():
        mimetypes.add_type(kind.split(";")[0], suffix)

    @contextlib.asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        async with service.running():
            yield

    doors = _Doors(service)
    app = Starlette(
        routes=[
            Route("/healthz", doors.health),
            Route("/tunes", doors.upload, methods=["POST"]),
            Route("/sheets/{digest}.svg", doors.sheet, middleware=_PACKED),
            Route("/arrangements/{digest}.explain.json", doors.explanation, middleware=_PACKED),
            Route("/arrangements/{digest}.ways.json", doors.ways),
            Route("/arrangements/{digest}.cues.json", doors.solo_cues, middleware=_PACKED),
            Route("/arrangements/{digest}.{suffix}", doors.arrangement, middleware=_PACKED),
            Route("/takes/{session}/{number:int}.cues.json", doors.take_cues, middleware=_PACKED),
            Route("/takes/{session}/{number:int}.{suffix}", doors.take),
            *repertoire_doors.routes(service),
            Route("/progress.json", doors.progress, middleware=_PACKED),
            Route("/shapes.json", doors.shapes),
            Route("/asyncapi.json", doors.described, middleware=_PACKED),
            Route("/sound/bank.json", doors.sound_index),
            Route("/sound/{name}", doors.sound),
            *people_doors.routes(service),
            *studio_doors.routes(service),
            *assignment_doors.routes(service),
            *week_doors.routes(service),
            WebSocketRoute("/ws", doors.practice),
            Mount("/", _PageFiles(directory=service.page_folder, html=True), middleware=_PACKED),
        ],
        exception_handlers={CoachError: _refuse, HTTPException: _refuse},
        lifespan=lifespan,
    )
    app.state.address = public
    app.add_middleware(SignedIn, accounts=service.accounts)
    app.add_middleware(Guard, hosts=hosts, address=public)
    return app


class _PageFiles(StaticFiles):
    """The files of the page: kept by the browser, but asked for again each time (the answer is mostly "unchanged")."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = "no-cache"
        return response


class _Doors:
    """What is behind each address."""

    def __init__(self, service: Service) -> None:
        self._service = service
        self._uploads = Limit(UPLOADS, 3600.0, service.now)

    async def health(self, _: Request) -> Response:
        tunes = self._service.repertoire_of(ALONE).lines_for(ALONE)
        return JSONResponse({"status": "ok", "page": self._service.page_digest, "tunes": len(tunes)})

    async def upload(self, request: Request) -> Response:
        person = person_of(request)
        permit(person, "bring tunes", person)
        if self._service.accounts is not None:
            self._uploads.take(person.id)
        length = request.headers.get("content-length", "")
        if not length.isdecimal():
            return failure("The request does not say how long it is; send the file by the page.", 411)
        if int(length) > LARGEST_FILE + 10_000:
            if int(length) <= READ_AWAY:
                async for _ in request.stream():
                    pass
            return failure("The file is larger than 5 MB; give a file with the tune alone.", 413)
        async with request.form(max_files=1, max_fields=4, max_part_size=64 * 1024) as form:
            file = form.get("file")
            if file is None or isinstance(file, str):
                return failure("No file came with the request; choose one and send it again.", 400)
            data = await file.read()
            name = file.filename or "tune"
        lines, complaints = await self._service.repertoire_of(person).add_file(person, data, name[-80:])
        first = lines[0]
        return JSONResponse(
            {
                "id": first.id,
                "title": first.title,
                "tunes": msgspec.to_builtins(lines),
                "complaints": list(complaints),
            }
        )

    async def sheet(self, request: Request) -> Response:
        paper = _LAYOUTS.get(request.query_params.get("layout", "wide"))
        if paper is None:
            raise HTTPException(404)
        return await self._paper(request, paper, "image/svg+xml")

    async def arrangement(self, request: Request) -> Response:
        suffix = request.path_params["suffix"]
        if suffix == "json":
            return self._lasting((await self._solo(request)).file, "application/json")
        paper = next((paper for paper in PAPERS if paper == suffix), None)
        if paper == "pdf":
            paper = _PDFS.get(request.query_params.get("paper", "a4"))
        if paper is None:
            raise HTTPException(404)
        return await self._paper(request, paper, _TYPES[f".{suffix}"])

    async def explanation(self, request: Request) -> Response:
        return await self._paper(request, "explain.json", "application/json")

    async def ways(self, request: Request) -> Response:
        solo, number = await self._solo(request), request.query_params.get("measure", "")
        if not re.fullmatch(r"[0-9]{1,4}", number):
            raise InputError("which measure is asked for is not said", cure="add ?measure= and its number as played")
        ways = await self._book(request).ways(solo.digest, int(number))
        return Response(ways.file, media_type="application/json", headers={"Cache-Control": "no-cache"})

    async def _paper(self, request: Request, paper: Paper, kind: str) -> Response:
        return self._lasting(await self._book(request).paper(await self._solo(request), paper), kind)

    async def take(self, request: Request) -> Response:
        folder = (await self._session(request)).folder_of(request.path_params["number"])
        name = {"mid": "take.mid", "json": "report.json"}.get(request.path_params["suffix"])
        if folder is None or name is None:
            raise HTTPException(404)
        try:
            # Read at once: the next pass may put another file in its place while this one is on its way.
            data = await asyncio.to_thread((folder / name).read_bytes)
        except FileNotFoundError:
            raise HTTPException(404) from None
        kind = _TYPES[f".{request.path_params['suffix']}"]
        return Response(data, media_type=kind, headers={"Cache-Control": "no-cache"})

    async def solo_cues(self, request: Request) -> Response:
        asked = read_question(request.query_params)
        solo = await self._solo(request)
        data = await self._service.workers.run(
            cues_of_solo, CUES, f"playing {solo.arrangement.title!r}", solo.arrangement, solo.digest, asked
        )
        return self._lasting(data, "application/json")

    async def take_cues(self, request: Request) -> Response:
        place = (await self._session(request)).place_of(request.path_params["number"])
        if place is None:
            raise HTTPException(404)
        data = await self._service.workers.run(take_file, CUES, "reading the take", *place)
        return Response(data, media_type="application/json", headers={"Cache-Control": "no-cache"})

    async def _solo(self, request: Request) -> Solo:
        """The solo of an address, if it is one of a tune that whoever asks may see."""
        person, digest = person_of(request), request.path_params["digest"]
        if self._service.accounts is not None and not self._service.repertoire_of(person).sees(person, digest):
            refused(person, "see solo", digest)
            raise HTTPException(404)
        solo = await self._book(request).solo(digest)
        if solo is None:
            raise HTTPException(404)
        return solo

    def _book(self, request: Request) -> Book:
        return self._service.repertoire_of(person_of(request)).book

    def _lasting(self, data: bytes, kind: str) -> Response:
        """What never changes; of a studio only the browser keeps it that asked for it."""
        kept = _FOREVER if self._service.accounts is None else _FOREVER.replace("public", "private")
        return Response(data, media_type=kind, headers={"Cache-Control": kept})

    async def _session(self, request: Request) -> Session:
        """The session of an address, if whoever asks may hear what is played there."""
        name = request.path_params["session"]
        await may_about(self._service, person_of(request), "hear takes", name)
        if name not in self._service.sessions:
            raise HTTPException(404)
        return self._service.sessions[name]

    async def progress(self, request: Request) -> Response:
        person, asked = person_of(request), read_progress(request.query_params)
        if self._service.accounts is not None and asked.session == HOME:
            asked = msgspec.structs.replace(asked, session=person.id)
        await may_about(self._service, person, "see progress", asked.session)
        data = await self._service.archive.ask(lambda connection: answer(connection, asked))
        return Response(data, media_type="application/json", headers={"Cache-Control": "no-cache"})

    async def shapes(self, request: Request) -> Response:
        data = shapes_json(read_asked(request.query_params))
        return Response(data, media_type="application/json", headers={"Cache-Control": "no-cache"})

    async def described(self, _: Request) -> Response:
        return Response(described(), media_type="application/json", headers={"Cache-Control": "no-cache"})

    async def sound_index(self, _: Request) -> Response:
        return Response(
            (await self._service.sound_bank())[2], media_type="application/json", headers={"Cache-Control": "no-cache"}
        )

    async def sound(self, request: Request) -> Response:
        name, data, _ = await self._service.sound_bank()
        if request.path_params["name"] != name:
            raise HTTPException(404)
        return Response(data, media_type="audio/flac", headers={"Cache-Control": _FOREVER})

    async def practice(self, websocket: WebSocket) -> None:
        """One page's websocket."""
        if wire.SUBPROTOCOL not in websocket.scope["subprotocols"]:
            await websocket.close(code=1002, reason=f"speak {wire.SUBPROTOCOL}")
            return
        await websocket.accept(subprotocol=wire.SUBPROTOCOL)
        talk = Talk(self._service, person_of(websocket), line_of(websocket.scope))
        try:
            code, reason = await talk.until_the_end(websocket)
        finally:
            await talk.leave()
        if websocket.client_state is WebSocketState.CONNECTED:
            with contextlib.suppress(RuntimeError, TimeoutError):
                async with asyncio.timeout(LAST_WORD):
                    await websocket.close(code=code, reason=reason)


async def _refuse(_: Request, error: Exception) -> Response:
    """Errors in words."""
    if isinstance(error, HTTPException):
        text = error.detail if error.status_code != 404 else "There is nothing here; load the page anew."
        answer = failure(text, error.status_code)
        answer.headers.update(error.headers or {})
        return answer
    return failure(str(error), _STATUS.get(type(error), 422))
