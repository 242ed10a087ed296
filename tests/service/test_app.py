"""The application over real sockets: uvicorn on a free port, a websocket client, an HTTP client."""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import io
import json
import re
import socket
import time
from collections.abc import AsyncIterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import httpx
import mido
import pytest
import pytest_asyncio
import websockets
from websockets.asyncio.client import ClientConnection

from coach.arranging.edit_files import edits_to_json
from coach.arranging.edits import Edits, Lock
from coach.cli.serve import _listen, _server
from coach.service.app import create_app
from coach.service.page import page_folder
from coach.service.protocol import LARGEST_MESSAGE
from coach.service.service import Service
from coach.service.talk import MOST_FAULTS
from coach.tunes.read import read_tune_bytes

pytestmark = pytest.mark.asyncio(loop_scope="module")

TUNE = "X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\nGABc|d2B2|cBAG|G4|]\n"


class Running:
    """A service that runs, and ways to reach it."""

    def __init__(self, service: Service, data: Path, port: int, client: httpx.AsyncClient) -> None:
        self.service, self.data, self.port, self.client = service, data, port, client

    async def connect(self, **options: Any) -> ClientConnection:
        options.setdefault("subprotocols", ["coach.1"])
        return await websockets.connect(f"ws://127.0.0.1:{self.port}/ws", **options)

    async def join(self, session: str = "home", seat: str = "pad") -> Talk:
        talk = Talk(await self.connect())
        await talk.say(kind="join", session=session, seat=seat)
        await talk.until("state")
        return talk


class Talk:
    """A page's end of the websocket; answers pings by itself."""

    def __init__(self, socket: ClientConnection) -> None:
        self.socket = socket
        self.heard: list[dict[str, Any]] = []

    async def say(self, **message: Any) -> None:
        await self.socket.send(json.dumps(message))

    async def next(self) -> dict[str, Any]:
        while True:
            message: dict[str, Any] = json.loads(await asyncio.wait_for(self.socket.recv(), 30))
            if message["kind"] != "ping":
                self.heard.append(message)
                return message
            now = time.monotonic()
            await self.say(kind="pong", id=message["id"], t1=message["t1"], t2=now, t3=now)

    async def until(self, kind: str, **fields: Any) -> dict[str, Any]:
        while True:
            message = await self.next()
            if message["kind"] == kind and all(message[name] == value for name, value in fields.items()):
                return message

    async def closed(self) -> int:
        """The code with which the service closed the connection, once it has."""
        with contextlib.suppress(websockets.ConnectionClosed):
            while True:
                await self.next()
        assert self.socket.close_code is not None
        return self.socket.close_code

    async def solo(self) -> str:
        """The digest of the solo, once it is there."""
        while True:
            shown = [message for message in self.heard if message["kind"] == "state" and message["digest"]]
            if shown:
                return str(shown[-1]["digest"])
            await self.next()


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def running(tmp_path_factory: pytest.TempPathFactory, make_driver: Any) -> AsyncIterator[Running]:
    data = tmp_path_factory.mktemp("data")
    service = Service(data, driver=make_driver(("banjo", "keys"), ()))
    listening = _listen("127.0.0.1", 0)
    port = listening.getsockname()[1]
    ready = asyncio.Event()
    app = create_app(service, hosts=frozenset({"127.0.0.1", "localhost"}))
    server = _server(app, service.given_read, ready.set)
    serving = asyncio.ensure_future(server.serve(sockets=[listening]))
    await asyncio.wait_for(ready.wait(), 30)
    async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}", timeout=60) as client:
        yield Running(service, data, port, client)
    server.should_exit = True
    await serving
    listening.close()


# ------------------------------------------------------------------------------------------ the page


async def test_chord_shapes_are_there_for_the_pad_and_a_tuning_of_four_strings_is_refused(running: Running) -> None:
    answer = await running.client.get("/shapes.json", params={"strings": "62,59,55,50,67", "chords": "C,F#m"})
    refused = await running.client.get("/shapes.json", params={"strings": "62,59,55,50"})

    assert [each["chord"] for each in answer.json()["shapes"]] == ["C", "F#m"]
    assert refused.status_code == 422
    assert "cannot be asked for" in refused.json()["text"]


async def test_text_goes_out_packed_to_those_who_take_it(running: Running) -> None:
    for address, kind in (("/", "text/html"), ("/main.js", "text/javascript"), ("/app.css", "text/css")):
        packed = await running.client.get(address, headers={"accept-encoding": "gzip"})
        plain = await running.client.get(address, headers={"accept-encoding": "identity"})

        assert packed.headers["content-encoding"] == "gzip"
        assert packed.headers["content-type"].startswith(kind)
        assert int(packed.headers["content-length"]) < len(plain.content) / 2
        assert packed.content == plain.content  # the client unpacks it
        assert "content-encoding" not in plain.headers


async def test_the_page_comes_with_its_headers(running: Running) -> None:
    page = await running.client.get("/")

    assert page.status_code == 200
    assert page.headers["content-type"].startswith("text/html")
    assert page.headers["content-security-policy"].startswith("default-src 'self';")
    assert "unsafe" not in page.headers["content-security-policy"]
    assert page.headers["x-content-type-options"] == "nosniff"
    assert page.headers["cache-control"] == "no-cache"


async def test_modules_have_their_type_and_are_not_sent_twice(running: Running) -> None:
    module = await running.client.get("/main.js")
    again = await running.client.get("/main.js", headers={"If-None-Match": module.headers["etag"]})

    assert module.headers["content-type"].startswith("text/javascript")
    assert module.content == (page_folder() / "main.js").read_bytes()
    assert again.status_code == 304
    assert again.content == b""


async def test_what_is_not_there_is_said_in_words(running: Running) -> None:
    for path in (
        "/nothing.js",
        "/sheets/00.svg",
        "/arrangements/00.json",
        "/arrangements/00.exe",
        "/sound/bank.mp3",
        "/sound/bank-0000000000000000.flac",
        "/takes/home/99.cues.json",
        "/takes/home/99.mid",
        "/takes/nobody/1.json",
        "/../pyproject.toml",
        "/%2e%2e/pyproject.toml",
    ):
        answer = await running.client.get(path)
        assert answer.status_code == 404, path
        assert answer.json() == {"text": "There is nothing here; load the page anew."}


async def test_health_tells_the_page_digest(running: Running) -> None:
    answer = await running.client.get("/healthz")

    assert answer.json()["status"] == "ok"
    assert answer.json()["page"] == running.service.page_digest


async def test_another_name_is_refused(running: Running) -> None:
    answer = await running.client.get("/healthz", headers={"Host": f"evil.example:{running.port}"})

    assert (answer.status_code, answer.json()["text"]) == (403, "This service is not called 'evil.example'.")


@pytest.mark.parametrize("host", ["[::1", "[x]", "[]"])
async def test_a_name_that_cannot_be_read_is_refused(running: Running, host: str) -> None:
    answer = await running.client.get("/healthz", headers={"Host": host})

    assert answer.status_code == 403
    assert answer.json()["text"].endswith(".")


@pytest.mark.parametrize("origin", ["http://[::1", "null", "", "127.0.0.1"])
async def test_an_origin_that_is_no_address_is_another_site(running: Running, origin: str) -> None:
    answer = await running.client.post("/tunes", files={"file": ("a.abc", TUNE)}, headers={"Origin": origin})

    assert answer.status_code == 403


async def test_a_page_of_another_site_may_neither_upload_nor_connect(running: Running) -> None:
    answer = await running.client.post(
        "/tunes", files={"file": ("a.abc", TUNE)}, headers={"Origin": "http://evil.example"}
    )
    assert answer.status_code == 403
    with pytest.raises(websockets.InvalidStatus) as refused:
        await running.connect(origin="http://evil.example")
    assert refused.value.response.status_code == 403

    socket = await running.connect(origin=f"http://127.0.0.1:{running.port}")
    await socket.close()


# ------------------------------------------------------------------------------------------ tunes and papers


async def test_an_uploaded_tune_is_in_every_pages_book_and_on_paper(running: Running) -> None:
    first, second = await running.join(seat="one"), await running.join("other", "two")
    answer = await running.client.post("/tunes", files={"file": ("gate.abc", TUNE)})
    told = answer.json()
    assert (told["title"], told["complaints"]) == ("Gate", [])
    for talk in (first, second):
        while told["id"] not in [tune["id"] for tune in (await talk.until("tunes"))["tunes"]]:
            pass

    await second.say(kind="settings", tune=told["id"], tier="intermediate")
    digest = (await second.until("state", title="Gate", tune=told["id"], waiting=""))["digest"]
    solo = await running.client.get(f"/arrangements/{digest}.json")
    assert (solo.json()["digest"], solo.json()["tier"]) == (digest, "intermediate")
    assert "immutable" in solo.headers["cache-control"]
    wide = await running.client.get(f"/sheets/{digest}.svg?layout=wide")
    narrow = await running.client.get(f"/sheets/{digest}.svg?layout=narrow")
    text = await running.client.get(f"/arrangements/{digest}.txt")
    midi = await running.client.get(f"/arrangements/{digest}.mid")
    reasons = await running.client.get(f"/arrangements/{digest}.explain.json")
    assert wide.headers["content-type"].startswith("image/svg+xml")
    assert 'id="m1e1"' in wide.text
    assert 'id="m1e1"' in narrow.text
    single = await running.client.get(f"/sheets/{digest}.svg?layout=single")
    assert len({wide.text, narrow.text, single.text}) == 3
    assert single.text.count('class="system"') == single.text.count('class="measure"') > 1
    assert (await running.client.get(f"/sheets/{digest}.svg?layout=round")).status_code == 404
    assert "<style" not in wide.text
    paper = await running.client.get(f"/arrangements/{digest}.pdf")
    score = await running.client.get(f"/arrangements/{digest}.musicxml")
    assert (paper.headers["content-type"], paper.content[:5]) == ("application/pdf", b"%PDF-")
    letter = await running.client.get(f"/arrangements/{digest}.pdf?paper=letter")
    sizes = [re.search(rb"/MediaBox ?\[([^]]*)\]", answer.content) for answer in (paper, letter)]
    # In points, ISO 216 A4 and ANSI/ASME Y14.1 A.
    assert [[round(float(side)) for side in found[1].split()[2:]] for found in sizes if found] == [
        [595, 842],
        [612, 792],
    ]
    assert (await running.client.get(f"/arrangements/{digest}.pdf?paper=a5")).status_code == 404
    assert b"<score-partwise" in score.content
    assert text.text.startswith("Gate")
    assert len(mido.MidiFile(file=io.BytesIO(midi.content)).tracks) >= 4
    assert (reasons.json()["format"], reasons.json()["digest"]) == ("explain/1", digest)
    assert reasons.json()["measures"][0]["sentences"][0]["text"].endswith(".")
    await first.socket.close()
    await second.socket.close()


async def test_one_bad_tune_leaves_the_others_of_a_book(running: Running) -> None:
    book = TUNE + "\nX:2\nT:Broken\nM:4/4\nL:1/4\nK:G\n|]\n" + TUNE.replace("X:1", "X:3").replace("Gate", "Stile")
    answer = (await running.client.post("/tunes", files={"file": ("book.abc", book)})).json()

    assert [tune["title"] for tune in answer["tunes"]] == ["Gate", "Stile"]
    assert len(answer["complaints"]) == 1
    assert answer["complaints"][0].startswith("Tune 2, Broken: ")


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("empty.abc", b""),
        ("noise.mid", bytes(range(256)) * 9),
        ("x.json", b"{"),
        ("x.mxl", b"PK\x03\x04"),
        ("x.xml", b"<a/>"),
    ],
)
async def test_what_is_no_tune_gets_one_sentence(running: Running, name: str, data: bytes) -> None:
    answer = await running.client.post("/tunes", files={"file": (name, data)})

    assert answer.status_code == 422
    text = answer.json()["text"]
    assert text.endswith(".")
    assert name in text
    assert "Traceback" not in text


async def test_a_file_that_is_too_large_is_refused_before_it_is_read(running: Running) -> None:
    answer = await running.client.post("/tunes", files={"file": ("big.abc", b"x" * 5_100_000)})

    assert (answer.status_code, answer.json()["text"][:31]) == (413, "The file is larger than 5 MB; g")


async def test_an_upload_without_a_file_is_refused(running: Running) -> None:
    answer = await running.client.post("/tunes", data={"file": "text"})

    assert answer.status_code == 400


async def test_the_sounds_come_with_their_index(running: Running) -> None:
    index = await running.client.get("/sound/bank.json")
    name = index.json()["file"]
    sounds = await running.client.get(f"/sound/{name}")

    assert "click-accent" in index.json()["sounds"]
    assert index.headers["cache-control"] == "no-cache"
    assert (sounds.headers["content-type"], sounds.content[:4]) == ("audio/flac", b"fLaC")
    assert hashlib.sha256(sounds.content).hexdigest()[:16] in name
    # Who has it never asks again: what sounds otherwise has another name.
    assert "immutable" in sounds.headers["cache-control"]


async def test_a_solo_sounds_as_it_is_asked_for(running: Running) -> None:
    talk = await running.join("listener")
    digest = await talk.solo()

    answer = await running.client.get(f"/arrangements/{digest}.cues.json?tempo=90&first=2&last=3&bounce=60")
    wrong = await running.client.get(f"/arrangements/{digest}.cues.json?tempo=9")
    nowhere = await running.client.get(f"/arrangements/{digest}.cues.json?first=3000")
    unknown = await running.client.get("/arrangements/00.cues.json")

    told = answer.json()
    assert answer.status_code == 200, told
    assert (told["format"], told["digest"]) == ("cues/1", digest)
    assert (told["tempo"], told["bounce"], told["first"], told["last"]) == (90, 60, 2, 3)
    assert [measure for measure, _ in told["positions"]] == [2, 3]
    assert "immutable" in answer.headers["cache-control"]
    assert wrong.status_code == 422
    assert wrong.json()["text"] == (
        "the solo cannot sound like this: Expected `float` >= 20.0 - at `$.tempo`; choose a tempo from 20 to 400, a "
        "bounce from 50 to 67, and measures by their numbers."
    )
    assert nowhere.status_code == 422
    assert "the solo has no measures 3000 to" in nowhere.json()["text"]
    assert unknown.status_code == 404
    await talk.socket.close()


# ------------------------------------------------------------------------------------------ the websocket


async def test_a_page_that_does_not_speak_the_subprotocol_is_refused(running: Running) -> None:
    with pytest.raises(websockets.InvalidStatus):
        await running.connect(subprotocols=["coach.9"])


async def test_nothing_is_done_before_a_join(running: Running) -> None:
    talk = Talk(await running.connect())
    await talk.say(kind="start")

    assert (await talk.next()) == {"kind": "failure", "text": "the first message must be a join.", "about": ""}
    await talk.socket.close()


@pytest.mark.parametrize(
    "message",
    [
        '{"kind":"dance"}',
        "{",
        "[]",
        "null",
        '"x"',
        '{"kind":"notes","seat":"pad","items":[{"seq":-1,"stamp":0,"data":[1]}]}',
        '{"kind":"settings","tempo":1e999}',
        '{"kind":"join"}',
        "[" * 20000,
        b"\x00\xff\xfe",
    ],
)
async def test_what_cannot_be_read_gets_a_failure_and_the_page_stays(running: Running, message: str | bytes) -> None:
    talk = await running.join("fuzz", "f")
    await talk.socket.send(message)
    assert (await talk.until("failure"))["text"].endswith(".")
    await talk.say(kind="settings", tempo=77)

    assert (await talk.until("state", tempo=77))["tempo"] == 77
    await talk.socket.close()


async def test_unknown_fields_are_ignored(running: Running) -> None:
    talk = await running.join("fuzz", "f")
    await talk.say(kind="settings", tempo=78, colour="blue")

    assert (await talk.until("state", tempo=78))["tempo"] == 78
    await talk.socket.close()


async def test_a_page_that_talks_nonsense_is_let_go_and_the_others_stay(running: Running) -> None:
    other = await running.join("calm", "c")
    talk = await running.join("fuzz", "f")
    for _ in range(MOST_FAULTS):
        await talk.socket.send(b"\x00")

    assert await talk.closed() == 1008

    await other.say(kind="settings", tempo=66)
    assert await other.until("state", tempo=66)
    await other.socket.close()


async def test_a_message_that_is_too_large_closes_the_connection(running: Running) -> None:
    talk = await running.join("fuzz", "f")
    await talk.socket.send("x" * (LARGEST_MESSAGE + 1))

    assert await talk.closed() == 1009


async def test_a_flood_is_let_go(running: Running) -> None:
    talk = await running.join("flood", "f")
    with contextlib.suppress(websockets.ConnectionClosed):
        for _ in range(5000):
            await talk.say(kind="stop")

    assert await talk.closed() == 1008


async def test_sessions_do_not_hear_each_other(running: Running) -> None:
    one, two = await running.join("one", "a"), await running.join("two", "a")
    await one.say(kind="settings", tempo=91)
    await one.until("state", tempo=91)
    await two.say(kind="settings", tempo=92)
    await two.until("state", tempo=92)

    assert not any(message.get("tempo") == 91 for message in two.heard)
    await one.socket.close()
    await two.socket.close()


async def test_a_page_loaded_anew_is_told_what_it_heard_before_and_can_let_it_go(running: Running) -> None:
    before = await running.join("anew", "p")
    await before.say(kind="input", name="Cedar Five")
    await before.until("state", instrument="Cedar Five in a browser")
    await before.socket.close()

    page = await running.join("anew", "p")
    assert [message["instrument"] for message in page.heard if message["kind"] == "hello"] == ["Cedar Five"]
    await page.say(kind="input", name="")
    await page.until("state", instrument="the pad of anew")
    await page.socket.close()


async def test_ports_belong_to_home(running: Running) -> None:
    home, other = await running.join(seat="p"), await running.join("other", "p")
    assert [message["inputs"] for message in home.heard if message["kind"] == "ports"] == [["banjo", "keys"]]
    assert [message["inputs"] for message in other.heard if message["kind"] == "ports"] == [[]]
    await home.say(kind="settings", midi_in="keys")
    assert (await home.until("ports"))["input"] == "keys"
    await home.say(kind="settings", midi_in="flute")
    assert "flute" in (await home.until("failure"))["text"]
    await home.say(kind="settings", midi_in="")
    assert (await home.until("ports", input=None))["input"] is None
    await home.socket.close()
    await other.socket.close()


async def test_a_pass_over_the_wire_and_its_files(running: Running) -> None:
    talk = await running.join("wire", "pad")
    digest = await talk.solo()
    await talk.say(kind="settings", tempo=400, goal=400, first=1, last=1)
    await talk.say(kind="start", sounds=True)
    begin = await talk.until("begin")
    origin = time.monotonic() + begin["lead"]
    await talk.say(kind="sounding", number=begin["number"], origin=origin)
    solo = (await running.client.get(f"/arrangements/{digest}.json")).json()
    measure = next(measure for measure in solo["measures"] if measure["number"] == begin["first"])
    # The page may send ahead of time: its stamps and its watermark are what counts.
    for seq, pluck in enumerate(measure["plucks"], 1):
        at = float(Fraction(pluck["at"])) * 60 / 400
        note = {"seq": seq, "stamp": origin + at, "data": [0x8F + pluck["string"], pluck["pitch"], 80]}
        await talk.say(kind="notes", seat="pad", items=[note])
    await talk.say(kind="notes", seat="pad", items=[], watermark=origin + 60)
    report = await talk.until("report")

    assert report["clean"]
    assert (await running.client.get(f"/{report['report']}")).json()["passes"][0]["clean"]
    take = mido.MidiFile(file=io.BytesIO((await running.client.get(f"/{report['take']}")).content))
    assert sum(message.type == "note_on" for message in take) == len(measure["plucks"])
    sounds = (await running.client.get(f"/takes/wire/{begin['number']}.cues.json")).json()
    assert [pitch for _, _, pitch, _, _ in sounds["cues"]] == [pluck["pitch"] for pluck in measure["plucks"]]
    assert (sounds["digest"], sounds["first"], sounds["last"]) == (digest, 1, 1)
    await talk.socket.close()


# A teacher's tablature: a roll, and a hammer-on; nothing but strings, frets, and one finger too often.
TAB = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0"><work><work-title>Larder Roll</work-title></work>
<part-list><score-part id="P1"><part-name>Banjo</part-name></score-part></part-list>
<part id="P1"><measure number="1">
<attributes><divisions>4</divisions><key><fifths>1</fifths></key><time><beats>2</beats><beat-type>4</beat-type></time>
<clef><sign>TAB</sign><line>5</line></clef><staff-details><staff-lines>5</staff-lines></staff-details></attributes>
{notes}</measure></part></score-partwise>
"""
SLUR = '<hammer-on type="{end}" number="1"/>'


async def test_a_measure_is_edited_over_the_wire_and_the_edit_is_kept(running: Running) -> None:
    talk = await running.join("teacher", "pad")
    other = await running.join("pupil", "pad")
    (tune,) = (
        await running.client.post("/tunes", files={"file": ("stile.abc", TUNE.replace("Gate", "Stile"))})
    ).json()["tunes"]
    for page in (talk, other):
        await page.say(kind="settings", tune=tune["id"], tier="intermediate")
    state = await talk.until("state", waiting="", tune=tune["id"])
    await other.until("state", waiting="", tune=tune["id"])
    told = [message for message in talk.heard if message["kind"] == "state" and message["tune"] == tune["id"]]
    assert [len(message["solos"]) for message in told] == sorted(len(message["solos"]) for message in told)
    assert list(told[-1]["solos"]) == ["beginner", "intermediate", "advanced"]

    address = f"/arrangements/{state['digest']}.ways.json"
    answer = await running.client.get(address, params={"measure": "2"})
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/json")
    ways = answer.json()
    assert (ways["format"], ways["measure"], ways["standing"]["number"]) == ("ways/1", 2, 2)
    await talk.say(kind="edit", digest=state["digest"], measure=2, does="take", way=1)
    after = await talk.until("state")
    assert after["digest"] not in ("", state["digest"])
    assert after["edits"] == {
        "locked": [2],
        "edited": [],
        "undo": True,
        "redo": False,
        "why_not": "",
        "remarks": [],
        "steps": 1,
    }
    assert (await other.until("state", digest=after["digest"]))["edits"]["locked"] == [2]
    solo = (await running.client.get(f"/arrangements/{after['digest']}.json")).json()
    taken = next(measure for measure in solo["measures"] if measure["number"] == 2)
    assert taken["plucks"] == ways["ways"][0]["measure"]["plucks"]
    assert (await running.client.get(f"/arrangements/{state['digest']}.json")).status_code == 200

    await talk.say(kind="undo")
    assert (await talk.until("state", digest=state["digest"]))["edits"]["redo"]
    await talk.say(kind="undo")
    failure = await talk.until("failure", about="edit")
    assert failure["text"] == "there is no edit to take back; edit a measure first."
    await talk.socket.close()
    await other.socket.close()


async def test_kept_edits_that_do_not_fit_their_tune_are_said_and_left_alone(running: Running) -> None:
    text = TUNE.replace("Gate", "Ford").encode()
    tune = read_tune_bytes(text, "ford.abc").id
    kept = edits_to_json(Edits(tune, (Lock("beginner", 9, ()),)))
    (running.data / "edits").mkdir(exist_ok=True)
    (running.data / "edits" / f"{tune}.json").write_bytes(kept)
    await running.client.post("/tunes", files={"file": ("ford.abc", text)})

    talk = await running.join("ford", "pad")
    await talk.say(kind="settings", tune=tune)
    state = await talk.until("state", tune=tune, waiting="")
    assert "the tune has no measure 9 on paper" in state["edits"]["why_not"]
    assert (len(state["solos"]), state["edits"]["undo"]) == (3, False)
    assert (running.data / "edits" / f"{tune}.json").read_bytes() == kept
    await talk.socket.close()


@pytest.mark.parametrize("measure", ["", "x", "-1", "12345"])
async def test_ways_need_a_measure_that_is_a_number(running: Running, measure: str) -> None:
    talk = await running.join("ways", "pad")
    digest = await talk.solo()
    answer = await running.client.get(f"/arrangements/{digest}.ways.json", params={"measure": measure})
    assert answer.status_code == 422
    assert answer.json()["text"] == "which measure is asked for is not said; add ?measure= and its number as played."
    answer = await running.client.get(f"/arrangements/{digest}.ways.json", params={"measure": "999"})
    assert answer.status_code == 422
    assert "there is no measure 999 as played" in answer.json()["text"]
    assert (await running.client.get("/arrangements/abc.ways.json", params={"measure": "1"})).status_code == 404
    await talk.socket.close()


def fretted(string: int, fret: int, duration: int = 2, technical: str = "") -> str:
    return (
        f"<note><duration>{duration}</duration><notations><technical><string>{string}</string><fret>{fret}</fret>"
        f"{technical}</technical></notations></note>"
    )


async def test_a_teachers_tablature_is_uploaded_played_and_reported(running: Running) -> None:
    thumb = "<pluck>T</pluck>"
    notes = fretted(3, 2, 1, thumb + SLUR.format(end="start")) + fretted(3, 3, 1, SLUR.format(end="stop"))
    notes += fretted(5, 0, 2, thumb) + fretted(2, 0) + fretted(1, 0)
    talk = await running.join("tab", "pad")
    answer = await running.client.post("/tunes", files={"file": ("larder.musicxml", TAB.format(notes=notes))})
    told = answer.json()
    assert told["title"] == "Larder Roll"
    assert told["complaints"] == ["Larder Roll: Measure 1: T plays twice in a row, on the and of beat 1."]

    await talk.say(kind="settings", tune=told["id"])
    digest = (await talk.until("state", title="Larder Roll", waiting=""))["digest"]
    solo = (await running.client.get(f"/arrangements/{digest}.json")).json()
    plucks = solo["measures"][0]["plucks"]
    assert [pluck["finger"] for pluck in plucks] == ["T", None, "T", "I", "M"]
    assert 'id="m1e5"' in (await running.client.get(f"/sheets/{digest}.svg?layout=wide")).text

    await talk.say(kind="settings", tempo=400, goal=400, first=1, last=1)
    await talk.say(kind="start", sounds=True)
    begin = await talk.until("begin")
    assert (begin["digest"], begin["last"]) == (digest, 1)
    origin = time.monotonic() + begin["lead"]
    await talk.say(kind="sounding", number=begin["number"], origin=origin)
    for seq, pluck in enumerate(plucks[:-1], 1):
        at = float(Fraction(pluck["at"])) * 60 / 400
        note = {"seq": seq, "stamp": origin + at, "data": [0x8F + pluck["string"], pluck["pitch"], 80]}
        await talk.say(kind="notes", seat="pad", items=[note])
    await talk.say(kind="notes", seat="pad", items=[], watermark=origin + 60)
    report = await talk.until("report")

    written = (await running.client.get(f"/{report['report']}")).json()
    assert (written["title"], written["tier"], written["digest"]) == ("Larder Roll", "advanced", digest)
    assert [(note["id"], note["verdict"]) for note in written["notes"]] == [
        ("m1e1", "on time"),
        ("m1e2", "on time"),
        ("m1e3", "on time"),
        ("m1e4", "on time"),
        ("m1e5", "missed"),
    ]
    await talk.socket.close()


async def test_a_mark_does_not_wait_for_the_next_packet_of_the_page() -> None:
    listening = _listen("127.0.0.1", 0)
    delay_is_off = asyncio.get_running_loop().create_future()

    async def accepted(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        delay_is_off.set_result(writer.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
        writer.close()

    async with await asyncio.start_server(accepted, sock=listening):
        _, writer = await asyncio.open_connection(*listening.getsockname())
        assert await delay_is_off
        writer.close()
        await writer.wait_closed()
