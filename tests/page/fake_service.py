"""A service for the page's tests: it speaks the wire, and does what the test says."""

from __future__ import annotations

import asyncio
import io
import json
import math
import struct
import threading
import time
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles
from starlette.websockets import WebSocket, WebSocketDisconnect

from coach.arranging.files import from_json
from coach.errors import CoachError
from coach.listening.report import SCORING
from coach.service import protocol
from coach.service.cue_files import cues_of_solo, read_question
from coach.service.shape_list import read_asked, shapes_json

PAGE = Path(__file__).parents[2] / "web_client"
POLICY = {"content-security-policy": "default-src 'self'", "x-content-type-options": "nosniff"}
JSON = "application/json"
KEPT = {"cache-control": "max-age=3600"}
TEMPO = 240.0
COUNT_IN = 4
PATIENCE = 30
"""Seconds after which something that ought to come is not waited for any more; a busy machine takes some."""

Message = dict[str, Any]

_TOLD = ("who", "studio", "tunes", "assignments", "pins", "licks")
_POSTED = ("studio/", "people/", "pins", "assignments", "tunes/", "licks")
"""Where a desk posts to."""


class Address:
    """An address, in a thread of its own, at which one service after another is served.

    Of an address that stays, a browser keeps the files of the page, and does not fetch and read them for every test.

    Attributes:
        app: what is served.
        ways: the other ways through every measure; a sentence where they cannot be told.
        url: of the page.
    """

    def __init__(self) -> None:
        self.app: Any = None
        config = uvicorn.Config(self, port=0, log_level="error", lifespan="off", ws="websockets-sansio")
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        while not self._server.started:
            time.sleep(0.005)
        self.url = f"http://127.0.0.1:{self._server.servers[0].sockets[0].getsockname()[1]}/"

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        await self.app(scope, receive, send)

    def end(self) -> None:
        """Stop serving."""
        self._server.should_exit = True
        self._thread.join(PATIENCE)


class FakeService:
    """One session.

    Attributes:
        received: every message of the pages, in order.
        acknowledging: whether notes are acknowledged.
        refusing: whether new connections are closed at once.
        acknowledged: the last note taken, by seat.
        solos: what is served, by digest; all look like the first one on the sheet.
        tunes: the tune book.
        takes: what is served of takes: the report of pass 1 as ``1.json``, what sounds in it as ``1.cues.json``.
        upload: what is answered to a file that is brought: status and JSON; ``uploads`` by the name of the file.
        greets: further fields of the greeting: who is signed in, and where.
        cards: that a desk is told at first.
        told: what is served of a studio, by address: ``studio.json``.
        answers: to what a desk posts, by address: status and JSON; what it posts is ``received`` as ``(post)``.
        modules: of the test's own, by name, served as ``tests/NAME``.
        url: of the page, once it is served.
    """

    def __init__(self, arrangement: Message, sheets: dict[str, str]) -> None:
        self.arrangement = arrangement
        self.sheets = sheets
        self.solos = {arrangement["digest"]: arrangement}
        self.received: list[Message] = []
        self.modules: dict[str, str] = {}
        self.acknowledging = True
        self.refusing = False
        self.acknowledged: dict[str, int] = {}
        self.state = first_state(arrangement)
        self.tunes = first_tunes(self.state)
        self.upload: tuple[int, Message] = (
            200,
            {
                "id": "mill-lane-00000000",
                "title": "Mill Lane",
                "complaints": [],
            },
        )
        self.uploads: dict[str, tuple[int, Message]] = {}
        self.takes: dict[str, Message] = {}
        self.ways: list[Message] | str = []
        self.page_digest = "page"
        self.cards: list[protocol.Card] = []
        self.told: Message = {}
        self.answers: dict[str, tuple[int, Message]] = {}
        self.greets: Message = {}
        self._changed = threading.Condition()
        self._sockets: set[WebSocket] = set()
        self._loop: asyncio.AbstractEventLoop | None = None

    def serve_at(self, address: Address) -> None:
        """Be what is served at an address, in place of what was served there before."""
        address.app = self._app()
        self.url = address.url

    def send(self, message: Any) -> None:
        """Send a message of the service to every page."""
        text = protocol.encode(message).decode()
        if isinstance(message, protocol.State):
            self.state = message
        self._run(lambda: [asyncio.ensure_future(socket.send_text(text)) for socket in self._sockets])

    def change(self, **fields: Any) -> None:
        """Change the state and tell it."""
        self.send(changed(self.state, **fields))

    def begin(self, number: int = 1, **fields: Any) -> protocol.Begin:
        """Begin a pass as the service does: its state, then its cues."""
        begin = first_begin(self.arrangement, number, **fields)
        self.change(state="counting in", number=number)
        self.send(begin)
        return begin

    def begin_of(self, number: int, **fields: Any) -> protocol.Begin:
        """A pass over the whole solo, as a desk that looks on sees it."""
        return first_begin(self.arrangement, number, **({"sounds": False} | fields))

    def drop(self) -> None:
        """Lose every connection."""
        self._run(lambda: [asyncio.ensure_future(socket.close(1012)) for socket in self._sockets])

    def wait_for(self, wanted: Callable[[Message], bool], count: int = 1) -> list[Message]:
        """Wait until so many messages that fit have come; returns them."""
        with self._changed:
            done = self._changed.wait_for(lambda: len(list(filter(wanted, self.received))) >= count, PATIENCE)
            found = list(filter(wanted, self.received))
        assert done, f"{len(found)} of {count} came; received: {self.received[-12:]}"
        return found

    def wait_for_kind(self, kind: str, count: int = 1) -> list[Message]:
        """Wait until so many messages of a kind have come; returns them."""
        return self.wait_for(lambda message: message["kind"] == kind, count)

    def notes(self) -> list[Message]:
        """Every note that has come, repeated ones too, in order."""
        with self._changed:
            return [note for message in self.received if message["kind"] == "notes" for note in message["items"]]

    def wait_for_notes(self, count: int) -> list[Message]:
        """Wait until so many notes have come; returns them."""
        with self._changed:
            done = self._changed.wait_for(lambda: len(self.notes()) >= count, PATIENCE)
        assert done, f"received: {self.received[-12:]}"
        return self.notes()

    # ------------------------------------------------------------------------------------------------- serving

    def _run(self, what: Callable[[], Any]) -> None:
        assert self._loop is not None
        self._loop.call_soon_threadsafe(what)

    def _app(self) -> Starlette:
        routes = [
            WebSocketRoute("/ws", self._talk),
            Route("/tunes", self._upload, methods=["POST"]),
            Route("/sheets/{digest}.svg", self._sheet),
            Route("/arrangements/{digest}.explain.json", self._explained),
            Route("/arrangements/{digest}.ways.json", self._other_ways),
            Route("/arrangements/{digest}.cues.json", self._cues),
            Route("/arrangements/{digest}.json", self._solo),
            Route(
                "/shapes.json", lambda request: Response(shapes_json(read_asked(request.query_params)), media_type=JSON)
            ),
            Route("/takes/{session}/{name}", self._take),
            Route("/sound/bank.json", lambda _: JSONResponse(BANK)),
            Route("/sound/bank-0.wav", lambda _: Response(bank_wav(), media_type="audio/wav")),
            Route(
                "/tests/{name}",
                lambda request: Response(self.modules[request.path_params["name"]], media_type="text/javascript"),
            ),
            *(Route(f"/{name}.json", self._tell) for name in _TOLD),
            *(Route(f"/{room}{{rest:path}}", self._post, methods=["POST"]) for room in _POSTED),
            Mount("/", WithPolicy(StaticFiles(directory=PAGE, html=True))),
        ]
        return Starlette(routes=routes)

    async def _sheet(self, request: Request) -> Response:
        return Response(self.sheets[request.query_params["layout"]], media_type="image/svg+xml")

    async def _solo(self, request: Request) -> Response:
        return JSONResponse(self.solos[request.path_params["digest"]])

    async def _cues(self, request: Request) -> Response:
        """What sounds in a solo, by the code of the service."""
        digest, asked = request.path_params["digest"], dict(request.query_params)
        self._keep({"kind": "(cues)", "digest": digest, **asked})
        try:
            arrangement = from_json(json.dumps(self.solos[digest]).encode(), "solo")
            return Response(cues_of_solo(arrangement, digest, read_question(asked)), media_type=JSON)
        except CoachError as error:
            return JSONResponse({"text": str(error)}, 422)

    async def _explained(self, request: Request) -> Response:
        rows = [
            {
                "number": measure["number"],
                "sentences": [
                    {"text": f"Measure {measure['number']} has a roll.", "plucks": []},
                    {"text": "The thumb begins it.", "plucks": [measure["plucks"][0]["id"]]},
                ],
                "difficulty": 2.25,
                "largest": "string crossings",
            }
            for measure in self.arrangement["measures"]
        ]
        return JSONResponse({"format": "explain/1", "digest": request.path_params["digest"], "measures": rows})

    async def _other_ways(self, request: Request) -> Response:
        number = int(request.query_params["measure"])
        self._keep({"kind": "(ways)", "digest": request.path_params["digest"], "measure": number})
        if isinstance(self.ways, str):
            return JSONResponse({"text": self.ways}, 422)
        standing = next(one for one in self.arrangement["measures"] if one["number"] == number)
        return JSONResponse({"format": "ways/1", "measure": number, "standing": standing, "ways": self.ways})

    async def _take(self, request: Request) -> Response:
        return JSONResponse(self.takes.get(request.path_params["name"], []))

    async def _tell(self, request: Request) -> Response:
        name = request.url.path[1:]
        return JSONResponse(self.told[name]) if name in self.told else JSONResponse({"text": f"no {name}"}, 404)

    async def _post(self, request: Request) -> Response:
        path = request.url.path[1:]
        self._keep({"kind": "(post)", "path": path, "body": await request.json()})
        status, told = self.answers.get(path, (200, {}))
        return JSONResponse(told, status)

    async def _upload(self, request: Request) -> Response:
        form = await request.form()
        upload: Any = form["file"]
        content = await upload.read()
        self._keep({"kind": "(upload)", "name": upload.filename, "size": len(content)})
        await form.close()
        status, told = self.uploads.get(upload.filename, self.upload)
        return JSONResponse(told, status)

    def _keep(self, message: Message) -> None:
        with self._changed:
            self.received.append(message)
            self._changed.notify_all()

    async def _talk(self, socket: WebSocket) -> None:
        self._loop = asyncio.get_running_loop()
        if self.refusing:
            await socket.close(1013)
            return
        await socket.accept(protocol.SUBPROTOCOL)
        try:
            while True:
                text = await socket.receive_text()
                protocol.decode_from_page(text)  # the page must keep to the wire
                await self._answer(socket, json.loads(text))
        except WebSocketDisconnect:
            pass
        finally:
            self._sockets.discard(socket)

    async def _answer(self, socket: WebSocket, message: Message) -> None:
        self._keep(message)
        if message["kind"] == "join":
            seat = message["seat"]
            hello = protocol.Hello(
                version="0",
                scoring=SCORING,
                page_digest=self.page_digest,
                session=message["session"],
                seat=seat,
                acknowledged=self.acknowledged.get(seat, 0),
                cautions=["Pain means stop.", "Keep the sound moderate."],
                instrument_acknowledged=self.acknowledged.get(f"{seat}-midi", 0),
                **self.greets,
            )
            ports = protocol.Ports(inputs=[], outputs=[], input=None, output=None, missing="No MIDI port is there.")
            for answer in (hello, protocol.Tunes(self.tunes), ports, self.state):
                await socket.send_text(protocol.encode(answer).decode())
            self._sockets.add(socket)
        elif message["kind"] == "desk":
            greeting = protocol.DeskHello("0", self.page_digest, person="Ruth", studio="Reed Bank Studio")
            await socket.send_text(protocol.encode(greeting).decode())
            for card in self.cards:
                await socket.send_text(protocol.encode(card).decode())
            self._sockets.add(socket)
        elif message["kind"] == "notes" and message["items"] and self.acknowledging:
            seat, seq = message["seat"], message["items"][-1]["seq"]
            self.acknowledged[seat] = seq
            await socket.send_text(protocol.encode(protocol.Ack(seat=seat, seq=seq)).decode())


class WithPolicy:
    """Serves with the content security policy of the service; a browser may keep what it got for all tests."""

    def __init__(self, app: Any) -> None:
        self.app = app

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        async def sending(message: Any) -> None:
            if message["type"] == "http.response.start":
                extra = [(name.encode(), value.encode()) for name, value in (POLICY | KEPT).items()]
                message["headers"] = [*message["headers"], *extra]
            await send(message)

        await self.app(scope, receive, sending)


def changed(before: protocol.State, **fields: Any) -> protocol.State:
    """The state with other fields."""
    own = {name: getattr(before, name) for name in before.__struct_fields__}
    return protocol.State(**(own | fields))


def first_state(arrangement: Message) -> protocol.State:
    """The state of a session that has just begun."""
    count = len(arrangement["measures"])
    return protocol.State(
        state="ready",
        number=0,
        tune="reed-bank-0",
        title=arrangement["title"],
        digest=arrangement["digest"],
        tier="intermediate",
        tempo=84.0,
        goal=160.0,
        floor=50.0,
        first=1,
        last=count,
        measures=count,
        bounce=50,
        solo_level=0.0,
        backing_level=0.5,
        click_level=0.7,
        keep_going=False,
        sound="page",
        self_marked=False,
        foot_start="CC 64",
        foot_again="",
        foot_next="",
        latency_ms=0.0,
        out_delay_ms=0.0,
        tolerance_ms=None,
        string_channels="auto",
        rung=None,
    )


def first_tunes(state: protocol.State) -> list[protocol.TuneLine]:
    """The tune book: two tunes of one name."""
    return [
        protocol.TuneLine(id=state.tune, title=state.title, key="G major", meter="4/4", measures=state.measures),
        protocol.TuneLine("reed-bank-1", "Reed Bank", "C major", "3/4", 24),
    ]


def first_begin(arrangement: Message, number: int, *, sounds: bool = True, **fields: Any) -> protocol.Begin:
    """A pass over the whole solo: four clicks of count-in, then a click a beat and a bass note a measure."""
    tempo = fields.get("tempo", TEMPO)
    beat = 60 / tempo
    count = len(arrangement["measures"])
    lead = COUNT_IN * beat
    clicks = [
        protocol.Cue(at=index * beat, voice="accent" if index % 4 == 0 else "click", pitch=76, length=0.03, level=0.7)
        for index in range(-COUNT_IN, 4 * count)
    ]
    bass = [protocol.Cue(4 * index * beat, "bass", 43, beat, 0.5) for index in range(count)]
    fixed: Message = {
        "number": number,
        "digest": arrangement["digest"],
        "tempo": tempo,
        "first": 1,
        "last": count,
        "sounds": sounds,
        "origin": None,
        "lead": lead,
        "length": 4 * count * beat,
        "positions": [(measure["number"], 4 * index * beat) for index, measure in enumerate(arrangement["measures"])],
        "cues": [*clicks, *bass],
    }
    return protocol.Begin(**(fixed | fields))


_RATE = 32000
_SOUNDS = {"click-beat": None, "click-accent": None, "bass-43": 43, "chop-59": 59, "banjo-55": 55, "banjo-67": 67}
BANK = {
    "format": "sounds/1",
    "file": "bank-0.wav",
    "sample_rate": _RATE,
    "sounds": {
        name: {"start": _RATE // 4 * index, "length": _RATE // 5, "pitch": pitch}
        for index, (name, pitch) in enumerate(_SOUNDS.items())
    },
}


def bank_wav() -> bytes:
    """Decaying tones, one for each sound of the bank."""
    frames: list[int] = []
    for pitch in _SOUNDS.values():
        frequency = 440 * 2 ** (((pitch or 84) - 69) / 12)
        frames += [
            int(12000 * math.exp(-index / 2000) * math.sin(2 * math.pi * frequency * index / _RATE))
            for index in range(_RATE // 4)
        ]
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(_RATE)
        file.writeframes(struct.pack(f"<{len(frames)}h", *frames))
    return out.getvalue()
