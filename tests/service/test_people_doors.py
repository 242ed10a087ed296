"""People come in, come back, go, and take all of theirs along, by what pages ask."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import io
import json
import logging
import shutil
import threading
import zipfile
from collections.abc import AsyncIterator, Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
import pytest_asyncio
from cbor2 import dumps
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from sqlalchemy import func, select
from starlette.types import Message
from studio_people import OAK, REED, RUTH, TILDA, WREN, a_studio
from studio_service import ADDRESS, Browser, StudioService

from coach.errors import InputError
from coach.records.played import players_in
from coach.records.studio_tables import metadata
from coach.studio.devices import devices_of
from coach.studio.members import members_of

pytestmark = pytest.mark.asyncio(loop_scope="function")

PASSWORD = "mill lane at dusk"


@pytest_asyncio.fixture
async def studio(tmp_path: Path, make_driver: Any, empty_file: Path) -> AsyncIterator[StudioService]:
    shutil.copy(empty_file, tmp_path / "records.db")
    made = StudioService(tmp_path, make_driver())
    await made.service.archive.change(a_studio)
    yield made
    await asyncio.to_thread(made.service.archive.close)
    await asyncio.to_thread(made.service.workers.close)


async def joined(studio: StudioService, name: str, **more: Any) -> tuple[Browser, httpx.Response]:
    browser = studio.browser()
    token = await studio.invited()
    return browser, await browser.post("/people/join", {"token": token, "name": name, "agrees": True, **more})


def says(answer: httpx.Response, status: int, words: str) -> None:
    assert (answer.status_code, words in answer.json()["text"]) == (status, True), answer.text


# ------------------------------------------------------------------------------------------ who


async def test_nobody_is_nobody_and_is_led_to_where_people_sign_in(studio: StudioService) -> None:
    browser = studio.browser()

    who = (await browser.get("/who.json")).json()
    page = await browser.get("/")
    about = await browser.get("/progress.json")

    assert (who["format"], who["studio"], who["person"]) == ("who/1", True, None)
    assert (page.status_code, page.headers["location"]) == (303, "/sign-in.html")
    says(about, 401, "sign in first")
    for path in ("/sign-in.html", "/join.html", "/app.css", "/main.js", "/icon.svg", "/healthz"):
        assert (await browser.get(path)).status_code == 200


# ------------------------------------------------------------------------------------------ coming in


async def test_an_invitation_tells_what_it_is_for_and_is_taken_once(studio: StudioService) -> None:
    browser, token = studio.browser(), await studio.invited("teacher")

    told = (await browser.post("/people/invitation", {"token": token})).json()
    came = await browser.post("/people/join", {"token": token, "name": "Alder", "agrees": True, "guardian": True})
    again = await studio.browser().post("/people/join", {"token": token, "name": "Elm", "agrees": True})

    assert (told["studio"], told["role"], told["person"], told["by"]) == ("Oak Lane", "teacher", "", "")
    assert len(told["consent"]["words"]) >= 5
    who = came.json()
    assert (who["person"]["name"], who["person"]["role"]) == ("Alder", "teacher")
    assert who["person"]["studio"] == {"id": "oak-lane", "name": "Oak Lane"}
    assert who["consent"] == {"version": told["consent"]["version"], "given": "2026-03-02T10:00:01Z", "guardian": True}
    assert [(each["name"], each["here"]) for each in who["devices"]] == [("Firefox on Linux", True)]
    assert (await browser.get("/who.json")).json()["person"] == who["person"]
    says(again, 422, "was used")


async def test_the_cookie_is_kept_from_scripts_other_sites_and_other_hosts(studio: StudioService) -> None:
    _, came = await joined(studio, "Alder")
    name, *rest = came.headers["set-cookie"].split("; ")

    assert name.startswith("__Host-coach=")
    assert set(rest) == {"Max-Age=34560000", "Path=/", "HttpOnly", "SameSite=Strict", "Secure"}
    assert came.headers["cache-control"] == "no-store"


async def test_without_https_the_cookie_has_a_plain_name(tmp_path: Path, make_driver: Any) -> None:
    studio = StudioService(tmp_path, make_driver(), address=None)
    await studio.service.archive.change(a_studio)
    browser = Browser(studio.app, address="http://localhost:8765")
    came = await browser.post("/people/join", {"token": await studio.invited(), "name": "Alder", "agrees": True})
    await asyncio.to_thread(studio.service.archive.close)

    assert came.headers["set-cookie"].startswith("coach=")
    assert "Secure" not in came.headers["set-cookie"]


async def test_who_does_not_agree_does_not_come_in(studio: StudioService) -> None:
    token = await studio.invited()
    answer = await studio.browser().post("/people/join", {"token": token, "name": "Alder", "agrees": False})
    says(answer, 422, "does not agree")
    assert len(await studio.service.archive.ask(lambda c: members_of(c, OAK.id))) == 3


async def test_a_name_of_another_is_refused_and_the_link_still_holds(studio: StudioService) -> None:
    browser, token = studio.browser(), await studio.invited()
    says(await browser.post("/people/join", {"token": token, "name": "wren", "agrees": True}), 422, "is called wren")
    answer = await browser.post("/people/join", {"token": token, "name": "Wren Hill", "agrees": True})
    assert answer.status_code == 200


# ------------------------------------------------------------------------------------------ coming back


async def test_a_password_brings_somebody_back_on_another_device(studio: StudioService) -> None:
    first = await studio.signed_in(WREN)
    says(await first.post("/people/password", {"password": "wren"}), 422, "8 to 200")
    assert (await first.post("/people/password", {"password": PASSWORD})).json()["has_password"]

    other = studio.browser()
    asked = {"studio": "Oak Lane", "name": " WREN", "password": PASSWORD}
    came = await other.post("/people/sign-in", asked)

    assert came.json()["person"]["id"] == "wren"
    assert len(came.json()["devices"]) == 2
    assert (await first.post("/people/password", {"password": ""})).json()["has_password"] is False
    says(await studio.browser().post("/people/sign-in", asked), 403, "No such studio, name and password")


@pytest.mark.parametrize(
    "wrong",
    [
        {"studio": "elm-lane"},
        {"name": "Tilda"},
        {"name": "Reed"},
        {"name": "nobody"},
        {"password": "mill lane at dawn"},
    ],
)
async def test_what_is_wrong_of_a_sign_in_is_not_told(studio: StudioService, wrong: dict[str, str]) -> None:
    await (await studio.signed_in(WREN)).post("/people/password", {"password": PASSWORD})
    asked = {"studio": "oak-lane", "name": "Wren", "password": PASSWORD} | wrong

    answer = await studio.browser().post("/people/sign-in", asked)

    says(answer, 403, "No such studio, name and password; try again, or ask your teacher to let you in.")
    assert "set-cookie" not in answer.headers


async def test_an_unknown_name_is_asked_for_its_hash_like_a_known_one(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    monkeypatch.setattr("coach.studio.passwords.is_right", lambda kept, text: bool(asked.append(kept)))

    await studio.browser().post("/people/sign-in", {"studio": "x", "name": "y", "password": PASSWORD})

    assert [each.startswith("$argon2id$") for each in asked] == [True]


async def test_who_knew_the_password_of_before_is_not_signed_in_while_access_is_given_back(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = {"studio": "oak-lane", "name": "Wren", "password": PASSWORD}
    wren, token = await studio.signed_in(WREN), await studio.invited(person=WREN)
    await wren.post("/people/password", {"password": PASSWORD})
    checked, go = asyncio.Event(), asyncio.Event()
    sign_in = studio.accounts.sign_in

    async def later(*given: Any, **more: Any) -> Any:
        checked.set()
        await go.wait()
        return await sign_in(*given, **more)

    monkeypatch.setattr(studio.accounts, "sign_in", later)
    thief = asyncio.ensure_future(studio.browser().post("/people/sign-in", asked))
    await asyncio.wait_for(checked.wait(), 20)
    monkeypatch.setattr(studio.accounts, "sign_in", sign_in)
    came = await studio.browser().post("/people/join", {"token": token, "name": "", "agrees": True})
    go.set()

    says(await thief, 401, "what you signed in by holds no more")
    assert (came.status_code, len(came.json()["devices"])) == (200, 1)
    assert len(await studio.service.archive.ask(lambda c: devices_of(c, "wren"))) == 1


async def test_sign_in_is_slowed_down_by_account_and_by_caller(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coach.studio.passwords.is_right", lambda *_: False)

    def asked(name: str) -> dict[str, str]:
        return {"studio": "oak-lane", "name": name, "password": "x"}

    for number, written in enumerate(("oak-lane", "Oak Lane", "OAK.LANE", " oak_lane!", "oak  lane")):
        told = asked("Wren") | {"studio": written}  # from everywhere, to one account
        answer = await studio.browser(f"198.51.100.{number}").post("/people/sign-in", told)
        assert answer.status_code == 403
    refused = await studio.browser("198.51.100.9").post("/people/sign-in", asked("WREN"))
    says(refused, 429, "wait 12 seconds")
    assert refused.headers["retry-after"] == "12"

    for number in range(10):  # from one household, to any
        answer = await studio.browser(f"2001:db8::{number}").post("/people/sign-in", asked(f"n{number}"))
        assert answer.status_code == 403
    says(await studio.browser("2001:db8::ff").post("/people/sign-in", asked("other")), 429, "wait 6 seconds")
    assert (await studio.browser("2001:db8:1::").post("/people/sign-in", asked("other"))).status_code == 403

    studio.clock.advance(12)
    assert (await studio.browser("198.51.100.9").post("/people/sign-in", asked("Wren"))).status_code == 403


async def test_looks_at_invitations_are_slowed_down(studio: StudioService) -> None:
    browser = studio.browser()
    told = [(await browser.post("/people/invitation", {"token": f"{number}"})).status_code for number in range(21)]
    assert told == [422] * 20 + [429]


# ------------------------------------------------------------------------------------------ devices


async def test_signing_out_here_leaves_the_other_device(studio: StudioService) -> None:
    here, there = await studio.signed_in(WREN), await studio.signed_in(WREN)

    answer = await here.post("/people/sign-out", {})

    assert "Max-Age=0" in answer.headers["set-cookie"]
    assert (await here.get("/")).status_code == 303
    assert (await there.get("/")).status_code == 200


async def test_signing_out_everywhere_leaves_none(studio: StudioService) -> None:
    here, there, other = await studio.signed_in(WREN), await studio.signed_in(WREN), await studio.signed_in(REED)
    await here.post("/people/sign-out", {"everywhere": True})
    assert [(await each.get("/")).status_code for each in (here, there, other)] == [303, 303, 200]


async def test_a_device_is_seen_once_a_day_and_forgotten_after_ninety(studio: StudioService) -> None:
    browser = await studio.signed_in(WREN)

    async def days_later(days: float) -> tuple[int, bool, str]:
        studio.today += timedelta(days=days)
        answer = await browser.get("/tunes.json")
        (device, *_) = await studio.service.archive.ask(lambda c: devices_of(c, "wren"))
        return answer.status_code, "set-cookie" in answer.headers, device.seen[:10]

    assert await days_later(0.9) == (200, False, "2026-03-02")
    assert await days_later(0.1) == (200, True, "2026-03-03")
    assert await days_later(90) == (200, True, "2026-06-01")
    assert (await days_later(90.1))[0] == 401


@pytest.mark.parametrize("value", ["", "x", "x" * 43, "é" * 43, "x" * 4000])
async def test_another_cookie_is_nobodys(studio: StudioService, value: str) -> None:
    browser = studio.browser()
    await studio.signed_in(WREN)
    browser.client.headers = httpx.Headers([(b"cookie", f"__Host-coach={value}".encode())])
    assert (await browser.get("/progress.json")).status_code == 401


# ------------------------------------------------------------------------------------------ live connections


class Socket:
    """A websocket to the service, without a network."""

    def __init__(self, studio: StudioService, browser: Browser) -> None:
        self.told: asyncio.Queue[Message] = asyncio.Queue()
        self.said: asyncio.Queue[Message] = asyncio.Queue()
        self.said.put_nowait({"type": "websocket.connect"})
        cookie = browser.client.headers.get("cookie", "")
        scope = {
            "type": "websocket",
            "path": "/ws",
            "raw_path": b"/ws",
            "root_path": "",
            "query_string": b"",
            "scheme": "wss",
            "headers": [
                (b"host", b"banjo.example"),
                (b"origin", ADDRESS.encode()),
                (b"cookie", cookie.encode()),
            ],
            "subprotocols": ["coach.1"],
            "client": ("198.51.100.7", 50_000),
            "extensions": {},
            "state": {},
        }
        self.task = asyncio.create_task(studio.app(scope, self.said.get, self.told.put))

    async def opened(self) -> Socket:
        assert (await asyncio.wait_for(self.told.get(), 20))["type"] == "websocket.accept"
        return self

    async def closed(self) -> tuple[int, str]:
        while True:
            message = await asyncio.wait_for(self.told.get(), 20)
            if message["type"] == "websocket.close":
                await asyncio.wait_for(self.task, 20)
                return message["code"], message["reason"]

    def is_open(self) -> bool:
        return not self.task.done()

    async def end(self) -> None:
        self.said.put_nowait({"type": "websocket.disconnect", "code": 1000})
        await asyncio.wait_for(self.task, 20)


async def test_whoever_is_signed_out_is_let_go_at_once(studio: StudioService) -> None:
    here, there, teacher = await studio.signed_in(WREN), await studio.signed_in(WREN), await studio.signed_in(RUTH)
    sockets = [await Socket(studio, each).opened() for each in (here, there, teacher)]

    await here.post("/people/sign-out", {})
    assert await sockets[0].closed() == (1008, "signed out")
    assert sockets[1].is_open()

    await teacher.post("/studio/people/wren/sign-out")
    assert await sockets[1].closed() == (1008, "signed out")
    assert sockets[2].is_open()
    await sockets[2].end()


async def test_nobody_holds_more_lines_than_pages_may_be(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coach.service.signed_in.MOST_LINES", 3)
    here, there, other = await studio.signed_in(WREN), await studio.signed_in(WREN), await studio.signed_in(REED)
    sockets = [await Socket(studio, each).opened() for each in (here, there, here)]

    assert await (await Socket(studio, there).opened()).closed() == (1013, "too many pages are open")

    assert all(each.is_open() for each in sockets)
    sockets.append(await Socket(studio, other).opened())
    await sockets.pop(0).end()
    sockets.append(await Socket(studio, there).opened())
    for each in sockets:
        await each.end()


async def test_nobody_has_a_line_and_is_told_why(studio: StudioService) -> None:
    socket = await Socket(studio, studio.browser()).opened()
    assert await socket.closed() == (1008, "signed out")


async def test_access_given_back_ends_the_lines_of_before(studio: StudioService) -> None:
    before = await studio.signed_in(WREN)
    socket = await Socket(studio, before).opened()
    token = await studio.invited(person=WREN)

    came = await studio.browser().post("/people/join", {"token": token, "name": "", "agrees": True})

    assert came.json()["person"]["id"] == "wren"
    assert await socket.closed() == (1008, "signed out")
    assert (await before.get("/")).status_code == 303


# ------------------------------------------------------------------------------------------ what is sent


async def test_a_change_is_taken_of_the_services_own_pages_alone(studio: StudioService) -> None:
    browser = await studio.signed_in(WREN)
    browser.origin = {}
    says(await browser.post("/people/password", {"password": PASSWORD}), 403, "not sent by a page of this service")
    says(await browser.post("/people/sign-in", {}), 403, "not sent by a page of this service")
    for site in ("cross-site", "same-site", "none"):
        answer = await browser.post("/people/password", {"password": PASSWORD}, **{"Sec-Fetch-Site": site})
        assert answer.status_code == 403
    for headers in ({"Origin": "https://other.example"}, {"Origin": "null"}, {"Origin": "http://banjo.example"}):
        assert (await browser.post("/people/password", {"password": PASSWORD}, **headers)).status_code == 403
    own = {"Sec-Fetch-Site": "same-origin"}
    assert (await browser.post("/people/password", {"password": PASSWORD}, **own)).status_code == 200


async def test_bodies_are_json_of_their_kind_and_not_large(studio: StudioService) -> None:
    browser = await studio.signed_in(WREN)
    path = "/people/password"
    says(await browser.post(path, {}, **{"Content-Type": "text/plain"}), 415, "JSON")
    says(await browser.post(path, {"password": "x" * 70_000}), 413, "64 kB")
    for body in ({}, {"password": 1}, {"password": "x" * 1001}, {"password": PASSWORD, "more": 1}, [], "x"):
        says(await browser.post(path, body), 422, "cannot be read")


# ------------------------------------------------------------------------------------------ passkeys


def b64(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


class Authenticator:
    """A passkey of our own making, by Web Authentication Level 2, sections 6.1, 6.5 and 7, with ES256."""

    def __init__(self, credential: bytes = b"credential-1", host: str = "banjo.example", origin: str = ADDRESS) -> None:
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.credential, self.host, self.origin, self.count = credential, host, origin, 0

    def _client(self, kind: str, challenge: str) -> bytes:
        return json.dumps({"type": kind, "challenge": challenge, "origin": self.origin, "crossOrigin": False}).encode()

    def _data(self, flags: int, more: bytes = b"") -> bytes:
        self.count += 1
        return hashlib.sha256(self.host.encode()).digest() + bytes([flags]) + self.count.to_bytes(4, "big") + more

    def _written(self, response: dict[str, bytes]) -> dict[str, Any]:
        return {
            "id": b64(self.credential),
            "rawId": b64(self.credential),
            "type": "public-key",
            "response": {name: b64(data) for name, data in response.items()},
            "clientExtensionResults": {},
        }

    def create(self, options: dict[str, Any]) -> dict[str, Any]:
        point = self.key.public_key().public_numbers()
        cose = dumps({1: 2, 3: -7, -1: 1, -2: point.x.to_bytes(32, "big"), -3: point.y.to_bytes(32, "big")})
        attested = bytes(16) + len(self.credential).to_bytes(2, "big") + self.credential + cose
        data = self._data(0x45, attested)
        return self._written(
            {
                "clientDataJSON": self._client("webauthn.create", options["challenge"]),
                "attestationObject": dumps({"fmt": "none", "attStmt": {}, "authData": data}),
            }
        )

    def get(self, options: dict[str, Any]) -> dict[str, Any]:
        client, data = self._client("webauthn.get", options["challenge"]), self._data(0x05)
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(hashes.SHA256()))
        return self._written({"clientDataJSON": client, "authenticatorData": data, "signature": signature})


async def with_passkey(studio: StudioService, key: Authenticator) -> Browser:
    browser = await studio.signed_in(WREN)
    await with_passkey_of(browser, key)
    return browser


async def with_passkey_of(browser: Browser, key: Authenticator) -> None:
    options = (await browser.post("/people/passkey-options", {})).json()
    assert (options["rp"]["id"], options["authenticatorSelection"]["residentKey"]) == ("banjo.example", "required")
    kept = await browser.post("/people/passkeys", {"credential": key.create(options), "name": "my phone"})
    assert [each["name"] for each in kept.json()["passkeys"]] == ["my phone"]


async def test_a_passkey_brings_somebody_back_without_a_name(studio: StudioService) -> None:
    key = Authenticator()
    await with_passkey(studio, key)
    other = studio.browser()

    options = (await other.post("/people/passkey-sign-in-options", {})).json()
    credential = key.get(options)
    came = await other.post("/people/passkey-sign-in", {"credential": credential})

    assert came.json()["person"]["id"] == "wren"
    says(await studio.browser().post("/people/passkey-sign-in", {"credential": credential}), 422, "took too long")


async def test_a_passkey_that_is_not_right_opens_nothing(studio: StudioService) -> None:
    key = Authenticator()
    browser = await with_passkey(studio, key)
    other = studio.browser()

    async def tried(credential: Callable[[dict[str, Any]], dict[str, Any]]) -> httpx.Response:
        options = (await other.post("/people/passkey-sign-in-options", {})).json()
        return await other.post("/people/passkey-sign-in", {"credential": credential(options)})

    def late(options: dict[str, Any]) -> dict[str, Any]:
        studio.clock.advance(301)
        return key.get(options)

    stranger = Authenticator()  # another key, of the same id
    elsewhere = Authenticator(origin="https://other.example")
    elsewhere.key = key.key
    says(await tried(stranger.get), 422, "does not open anything")
    says(await tried(elsewhere.get), 422, "does not open anything")
    says(await tried(Authenticator(b"unknown").get), 403, "not known here")
    says(await tried(late), 422, "took too long")
    studio.clock.advance(60)  # sign-in is slowed down
    says(await tried(lambda _: {"rawId": 1, "response": "x"}), 422, "took too long")
    key.count = 0  # a copy that was made of it before
    says(await tried(key.get), 422, "does not open anything")
    assert "set-cookie" not in (await tried(stranger.get)).headers

    own = (await browser.get("/who.json")).json()["passkeys"][0]["id"]
    says(await (await studio.signed_in(REED)).post(f"/people/passkeys/{own}/remove"), 422, "no such passkey")
    assert (await browser.post(f"/people/passkeys/{own}/remove")).json()["passkeys"] == []


async def test_a_challenge_is_of_one_person_and_one_purpose(studio: StudioService) -> None:
    wren, reed = await studio.signed_in(WREN), await studio.signed_in(REED)
    key = Authenticator()
    options = (await wren.post("/people/passkey-options", {})).json()
    says(await reed.post("/people/passkeys", {"credential": key.create(options)}), 422, "took too long")
    options = (await wren.post("/people/passkey-sign-in-options", {})).json()
    says(await wren.post("/people/passkeys", {"credential": key.create(options)}), 422, "took too long")


# ------------------------------------------------------------------------------------------ the studio


async def test_a_teacher_lets_people_in_and_the_link_is_told_once(studio: StudioService, caplog: Any) -> None:
    caplog.set_level(logging.DEBUG)
    teacher = await studio.signed_in(RUTH)

    made = (await teacher.post("/studio/invitations", {"role": "student", "person": None, "days": 3})).json()
    told = (await teacher.get("/studio.json")).json()

    start, token = made["link"].split("#")
    assert start == f"{ADDRESS}/join.html"
    assert token not in json.dumps(told) + caplog.text
    assert [(each["id"], each["role"], each["by"], each["used"]) for each in told["invitations"]] == [
        (made["id"], "student", "Ruth", None)
    ]
    assert [each["id"] for each in told["people"]] == ["ruth-1", "reed", "wren"]
    assert told["address"] == ADDRESS
    assert (await teacher.post(f"/studio/invitations/{made['id']}/withdraw")).status_code == 200
    says(await teacher.post(f"/studio/invitations/{made['id']}/withdraw"), 404, "no such invitation")
    says(await studio.browser().post("/people/invitation", {"token": token}), 422, "withdrawn")


async def test_nobody_keeps_the_workers_of_all_busy_with_files(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def none(*_: object) -> None:
        raise InputError("no tune is in it")

    monkeypatch.setattr("coach.service.repertoire.Repertoire.add_file", none)
    wren, ruth = await studio.signed_in(WREN), await studio.signed_in(RUTH)

    async def brings(browser: Browser) -> int:
        file = {"file": ("a.abc", b"X:1")}
        return (await browser.client.post("/tunes", files=file, headers=browser.origin)).status_code

    assert {await brings(wren) for _ in range(60)} == {422}
    assert (await brings(wren), await brings(ruth)) == (429, 422)


async def test_no_more_invitations_an_hour_than_may(studio: StudioService) -> None:
    teacher = await studio.signed_in(RUTH)
    told = [(await teacher.post("/studio/invitations", {})).status_code for _ in range(61)]
    assert told == [200] * 60 + [429]


# ------------------------------------------------------------------------------------------ leaving


def fill(studio: StudioService, person: str, session: str) -> Path:
    folder = studio.service.takes_folder / session
    folder.mkdir(parents=True)
    (folder / "take.mid").write_bytes(b"MThd")
    own = studio.service.folder_of(WREN).parent / person
    own.mkdir(parents=True, exist_ok=True)
    (own / "instruments.json").write_text('{"format": "instruments/1", "instruments": []}')
    return folder


async def test_all_of_somebody_goes_out_in_open_formats(studio: StudioService) -> None:
    fill(studio, "wren", "20260302T100000-wren")
    fill(studio, "reed", "20260302T100000-reed")
    browser = await studio.signed_in(WREN)
    await browser.post("/people/password", {"password": PASSWORD})

    answer = await browser.get("/people/wren/export.zip")

    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        names = set(packed.namelist())
        access = json.loads(packed.read("studio.json"))
        text = b"".join(packed.read(name) for name in names).decode(errors="replace")
    assert {"player.json", "passes.csv", "sessions/20260302T100000-wren/take.mid", "files/instruments.json"} <= names
    assert not any("reed" in name for name in names)
    assert (access["name"], access["studio"], access["role"]) == ("Wren", "Oak Lane", "student")
    assert [each["name"] for each in access["devices"]] == ["Firefox on Linux"]
    assert access["password_changed"] == "2026-03-02T10:00:00Z"
    assert "$argon2" not in text


async def test_who_is_forgotten_leaves_nothing(studio: StudioService) -> None:
    kept, gone = fill(studio, "reed", "20260302T100000-reed"), fill(studio, "wren", "20260302T100000-wren")
    browser, teacher = await studio.signed_in(WREN), await studio.signed_in(RUTH)
    socket = await Socket(studio, browser).opened()
    says(await browser.post("/people/wren/forget", {"name": "Reed"}), 422, "nothing was deleted")

    assert (await browser.post("/people/wren/forget", {"name": "wren"})).status_code == 200

    assert await socket.closed() == (1008, "signed out")
    assert (gone.exists(), kept.exists()) == (False, True)
    assert not studio.service.folder_of(WREN).exists()
    assert studio.service.folder_of(REED).exists()
    assert (await browser.get("/")).status_code == 303
    assert await studio.service.archive.ask(players_in) == ["reed", "ruth-1", "tilda"]
    assert [each["id"] for each in (await teacher.get("/studio.json")).json()["people"]] == ["ruth-1", "reed"]


async def test_a_pass_that_is_cut_off_goes_too(studio: StudioService, monkeypatch: pytest.MonkeyPatch) -> None:
    folder, go = studio.service.takes_folder / "20260302T100000-wren", threading.Event()

    def write() -> None:
        assert go.wait(30)
        folder.mkdir(parents=True)

    class Session:
        def close(self) -> None:
            """As a session does: what was played is written aside."""
            studio.service._writer.do(write, lambda _: None)
            asyncio.get_running_loop().call_later(0.05, go.set)

    monkeypatch.setitem(studio.service.sessions, "wren", Session())  # type: ignore[arg-type]

    await (await studio.signed_in(RUTH)).post("/people/wren/forget", {"name": "Wren"})

    await studio.service.written()
    assert (go.is_set(), folder.exists()) == (True, False)


async def test_a_pass_goes_too_whose_session_gave_way_before(studio: StudioService) -> None:
    folder, go = studio.service.takes_folder / "20260302T100000-wren", threading.Event()

    def write() -> None:
        assert go.wait(30)
        folder.mkdir(parents=True)

    studio.service._writer.do(write, lambda _: None)
    asyncio.get_running_loop().call_later(0.05, go.set)

    await (await studio.signed_in(RUTH)).post("/people/wren/forget", {"name": "Wren"})

    await studio.service.written()
    assert (go.is_set(), folder.exists()) == (True, False)


async def test_a_teacher_deletes_a_student_and_the_name_is_free_again(studio: StudioService) -> None:
    teacher = await studio.signed_in(RUTH)
    assert (await teacher.post("/people/wren/forget", {"name": "Wren"})).status_code == 200
    _, came = await joined(studio, "Wren")
    assert came.json()["person"]["name"] == "Wren"
    assert came.json()["person"]["id"] != "wren"


async def test_takes_that_cannot_be_deleted_leave_the_records(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(studio, "wren", "20260302T100000-wren")
    teacher = await studio.signed_in(RUTH)

    def stuck(path: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("coach.service.leaving.shutil.rmtree", stuck)
    says(
        await teacher.post("/people/wren/forget", {"name": "Wren"}),
        422,
        "what was played cannot be taken away (Permission denied)",
    )
    assert "wren" in await studio.service.archive.ask(players_in)
    assert TILDA.id in await studio.service.archive.ask(players_in)


# ------------------------------------------------------------------------------------------ in either database


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
async def test_a_stay_in_a_studio_from_the_link_to_the_last_row(
    kind: str, tmp_path: Path, make_driver: Any, request: pytest.FixtureRequest
) -> None:
    records = None if kind == "sqlite" else request.getfixturevalue("on_server")
    studio = StudioService(tmp_path, make_driver(), records)
    await studio.service.archive.change(a_studio)
    teacher = await studio.signed_in(RUTH)
    link = (await teacher.post("/studio/invitations", {})).json()["link"]

    browser, other = studio.browser(), studio.browser()
    asked = {"token": link.partition("#")[2], "name": "Alder", "agrees": True}
    came = await asyncio.gather(browser.post("/people/join", asked), other.post("/people/join", asked))
    assert sorted(each.status_code for each in came) == [200, 422]
    browser = browser if came[0].status_code == 200 else other
    who = (await browser.post("/people/password", {"password": PASSWORD})).json()["person"]
    back = await studio.browser().post("/people/sign-in", {"studio": "oak-lane", "name": "alder", "password": PASSWORD})
    assert len(back.json()["devices"]) == 2
    await with_passkey_of(browser, Authenticator())
    assert [each["passkeys"] for each in (await teacher.get("/studio.json")).json()["people"]] == [0, 1, 0, 0]
    assert (await browser.get(f"/people/{who['id']}/export.zip")).status_code == 200
    assert (await teacher.post(f"/people/{who['id']}/forget", {"name": "Alder"})).status_code == 200

    def rows(connection: Any) -> dict[str, int]:
        return {
            table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in metadata.sorted_tables
        }

    left = await studio.service.archive.ask(rows)
    assert {name: count for name, count in left.items() if count} == {
        "studios": 2,
        "people": 4,
        "players": 4,
        "devices": 1,
        "invitations": 1,
    }
    await asyncio.to_thread(studio.service.archive.close)
    await asyncio.to_thread(studio.service.workers.close)
