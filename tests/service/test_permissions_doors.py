"""Every address of the service, asked by everybody about a student: who may not is refused in a sentence, and it is
written to the log. An address without a rule makes this red."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import pytest
import pytest_asyncio
from sqlalchemy import insert
from starlette.applications import Starlette
from starlette.routing import Mount, Route, WebSocketRoute
from studio_people import BEGAN, ELM, REED, RUTH, TILDA, WREN, a_studio
from studio_service import Browser, StudioService

from coach.records.studio_tables import assignments, invitations, pins
from coach.records.tables import passes, tunes
from coach.service.app import create_app
from coach.service.brought import Brought
from coach.service.repertoire import Repertoire
from coach.service.service import Service
from coach.studio.members import add_person
from coach.studio.people import Person

pytestmark = pytest.mark.asyncio(loop_scope="module")

HEATH = Person("heath-1", "Heath", "teacher", ELM)
CALLERS: Mapping[str, Person | None] = {
    "nobody": None,
    "own": WREN,
    "other student": REED,
    "student of another studio": TILDA,
    "teacher": RUTH,
    "teacher of another studio": HEATH,
}
ALL = frozenset(CALLERS)
SIGNED_IN = ALL - {"nobody"}
OWN_OR_TEACHER = frozenset({"own", "teacher"})
TEACHER = frozenset({"teacher"})
TEACHERS = frozenset({"teacher", "teacher of another studio"})


@dataclass(frozen=True)
class Rule:
    """An address.

    Attributes:
        may: who may ask it about Wren, or about what is hers.
        path: as it is asked.
        body: that is sent.
        missing: the same about somebody or something that is not there: whoever is of another studio gets the same
            answer. Empty where nobody is named.
    """

    may: frozenset[str]
    path: str
    body: Any = None
    missing: str = ""
    missing_body: Any = None
    headers: Mapping[str, str] = field(default_factory=dict)


def about(may: frozenset[str], path: str, body: Any = None, missing_body: Any = None) -> Rule:
    """An address with somebody or something in it, as ``{}``; ``wren`` in its place is hers."""
    return Rule(may, path.replace("{}", "wren"), body, path.replace("{}", "not-there"), missing_body or body)


PRESS = {"tune": "mill", "tier": "beginner", "goal": 80.0}
PIN = {"tune": "mill", "measure": 1, "words": "softer"}
RULES: Mapping[str, Rule] = {
    "GET /healthz": Rule(ALL, "/healthz"),
    "GET /shapes.json": Rule(ALL, "/shapes.json"),
    "GET /sound/bank.json": Rule(ALL, "/sound/bank.json"),
    "GET /sound/{name}": Rule(ALL, "/sound/none.flac"),
    "GET /who.json": Rule(ALL, "/who.json"),
    "GET ": Rule(SIGNED_IN, "/week.html"),
    "WS /ws": Rule(SIGNED_IN, "/ws"),
    "GET /asyncapi.json": Rule(ALL, "/asyncapi.json"),
    # Ways in.
    "POST /people/sign-in": Rule(ALL, "/people/sign-in", []),
    "POST /people/sign-out": Rule(ALL, "/people/sign-out", []),
    "POST /people/invitation": Rule(ALL, "/people/invitation", []),
    "POST /people/join": Rule(ALL, "/people/join", []),
    "POST /people/passkey-sign-in-options": Rule(ALL, "/people/passkey-sign-in-options", []),
    "POST /people/passkey-sign-in": Rule(ALL, "/people/passkey-sign-in", []),
    # One's own access.
    "POST /people/password": Rule(SIGNED_IN, "/people/password", {"password": ""}),
    "POST /people/passkey-options": Rule(SIGNED_IN, "/people/passkey-options"),
    "POST /people/passkeys": Rule(SIGNED_IN, "/people/passkeys", {"credential": {}}),
    "POST /people/passkeys/{id}/remove": Rule(SIGNED_IN, "/people/passkeys/none/remove"),
    # Practice.
    "POST /tunes": Rule(SIGNED_IN, "/tunes"),
    "GET /tunes.json": Rule(SIGNED_IN, "/tunes.json"),
    "GET /licks.json": Rule(SIGNED_IN, "/licks.json"),
    "GET /sheets/{digest}.svg": about(OWN_OR_TEACHER, "/sheets/{}.svg"),
    "GET /arrangements/{digest}.explain.json": about(OWN_OR_TEACHER, "/arrangements/{}.explain.json"),
    "GET /arrangements/{digest}.ways.json": about(OWN_OR_TEACHER, "/arrangements/{}.ways.json?measure=1"),
    "GET /arrangements/{digest}.cues.json": about(OWN_OR_TEACHER, "/arrangements/{}.cues.json"),
    "GET /arrangements/{digest}.{suffix}": about(OWN_OR_TEACHER, "/arrangements/{}.musicxml"),
    "GET /takes/{session}/{number:int}.cues.json": about(OWN_OR_TEACHER, "/takes/{}/1.cues.json"),
    "GET /takes/{session}/{number:int}.{suffix}": about(OWN_OR_TEACHER, "/takes/{}/1.mid"),
    "GET /progress.json": about(OWN_OR_TEACHER, "/progress.json?session={}"),
    # What teachers leave, and what comes of it.
    "GET /assignments.json": about(OWN_OR_TEACHER, "/assignments.json?student={}"),
    "POST /assignments": Rule(
        TEACHER, "/assignments", PRESS | {"students": ["wren"]}, "/assignments", PRESS | {"students": ["not-there"]}
    ),
    "POST /assignments/{id}/end": about(TEACHER, "/assignments/{}/end"),
    "GET /pins.json": about(OWN_OR_TEACHER, "/pins.json?student={}"),
    "POST /pins": Rule(TEACHER, "/pins", PIN | {"student": "wren"}, "/pins", PIN | {"student": "not-there"}),
    "POST /pins/{id}/seen": about(frozenset({"own"}), "/pins/{}/seen"),
    "POST /pins/{id}/remove": about(TEACHER, "/pins/{}/remove"),
    "GET /week.json": about(OWN_OR_TEACHER, "/week.json?student={}&week=2026-W10"),
    "GET /week.csv": about(OWN_OR_TEACHER, "/week.csv?student={}&week=2026-W10"),
    "GET /kept/{folder}/{number:int}.cues.json": about(OWN_OR_TEACHER, "/kept/{}/1.cues.json"),
    "GET /kept/{folder}/{number:int}.{suffix}": about(OWN_OR_TEACHER, "/kept/{}/1.mid"),
    # The studio.
    "GET /studio.json": Rule(TEACHERS, "/studio.json"),
    "POST /studio/invitations": Rule(
        TEACHER, "/studio/invitations", {"person": "wren"}, "/studio/invitations", {"person": "not-there"}
    ),
    "POST /studio/invitations/{id}/withdraw": about(TEACHER, "/studio/invitations/{}/withdraw"),
    "POST /studio/people/{id}/sign-out": about(TEACHER, "/studio/people/{}/sign-out"),
    "POST /tunes/{id}/withdraw": about(OWN_OR_TEACHER, "/tunes/{}/withdraw"),
    "POST /tunes/{id}/share": about(TEACHER, "/tunes/{}/share"),
    "POST /licks": Rule(TEACHERS, "/licks", []),
    "POST /licks/{id}/withdraw": Rule(TEACHERS, "/licks/not-there/withdraw"),
    # Leaving; last, since she is gone then.
    "GET /people/{id}/export.zip": about(OWN_OR_TEACHER, "/people/{}/export.zip"),
    "POST /people/{id}/forget": about(OWN_OR_TEACHER, "/people/{}/forget", {"name": "not hers"}),
}


def addresses(app: Starlette) -> list[str]:
    """All addresses of an application."""
    found = []
    for route in app.routes:
        match route:
            case WebSocketRoute():
                found.append(f"WS {route.path}")
            case Mount():
                found.append(f"GET {route.path}")
            case Route():
                found += [f"{method} {route.path}" for method in sorted((route.methods or set()) - {"HEAD"})]
            case _:
                raise AssertionError(f"what is {route!r}?")
    return found


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def studio(tmp_path_factory: pytest.TempPathFactory, make_driver: Any) -> AsyncIterator[StudioService]:
    made = StudioService(tmp_path_factory.mktemp("data"), make_driver())

    def fill(connection: Any) -> None:
        a_studio(connection)
        add_person(connection, HEATH.id, HEATH.name, "teacher", ELM, BEGAN)
        connection.execute(
            insert(assignments).values(
                id="wren", student="wren", by="ruth-1", made=BEGAN, tune="mill", title="Mill", tier="beginner", mix=(),
                goal=80.0, words="",
            )
        )  # fmt: skip
        connection.execute(
            insert(pins).values(id="wren", student="wren", by="ruth-1", made=BEGAN, tune="mill", measure=1, words="x")
        )
        connection.execute(insert(tunes).values(id="mill", title="Mill", repeats={}))
        connection.execute(
            insert(passes).values(
                player="wren", tune="mill", digest="d", tier="beginner", mix=(), kind="whole", tempo=60.0, goal=80.0,
                first=1, last=4, began=BEGAN, day="2026-03-01", seconds=9.0, whole=True, clean=False, judged="heard",
                folder="wren", number=1, scoring=1,
            )
        )  # fmt: skip
        connection.execute(
            insert(invitations).values(
                id="wren", studio=WREN.studio.id, role="student", digest="d", made=BEGAN, expires="2099-01-01T00:00:00Z"
            )
        )

    await made.service.archive.change(fill)
    yield made
    await asyncio.to_thread(made.service.archive.close)
    await asyncio.to_thread(made.service.workers.close)


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def browsers(studio: StudioService) -> dict[str, Browser]:
    """The browsers of all callers."""
    return {
        caller: studio.browser() if person is None else await studio.signed_in(person)
        for caller, person in CALLERS.items()
    }


@pytest.fixture
def _her_tune(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tune ``wren`` was brought by Wren, and a solo of it has that digest."""

    async def nothing(*_: Any) -> bool:
        return False

    def is_for(_: Any, person: Person, what: str) -> bool:
        return what == "wren" and person.id in (WREN.id, RUTH.id)

    monkeypatch.setattr(Repertoire, "sees", is_for)
    monkeypatch.setattr(Brought, "is_for", is_for)
    monkeypatch.setattr(Brought, "owners", lambda *_: {"wren"})
    monkeypatch.setattr(Brought, "take_out", nothing)
    monkeypatch.setattr(Brought, "share", nothing)


async def test_every_address_has_its_rule(studio: StudioService) -> None:
    there = addresses(studio.app)
    assert sorted(set(there) - set(RULES)) == []
    assert len(there) == len(set(there))


async def call(browser: Browser, name: str, path: str, body: Any) -> httpx.Response:
    if name.startswith("GET"):
        return await browser.get(path)
    if name == "POST /tunes":
        return await browser.client.post(path, files={"file": ("x.abc", b"")}, headers=browser.origin)
    return await browser.post(path, body)


def refusals(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [record.getMessage() for record in caplog.records if record.name == "coach.refused"]


@pytest.mark.usefixtures("_her_tune")
@pytest.mark.parametrize("name", [name for name in RULES if not name.startswith("WS")])
async def test_who_may_not_is_refused_and_written_down(
    studio: StudioService, browsers: dict[str, Browser], name: str, caplog: pytest.LogCaptureFixture
) -> None:
    assert name in addresses(studio.app), "there is no such address any more"
    caplog.set_level(logging.WARNING)
    # Who may not asks first: what the others do is not undone.
    for caller in sorted(CALLERS, key=lambda caller: caller in RULES[name].may):
        caplog.clear()
        studio.clock.advance(3600)
        await ask(browsers[caller], RULES[name], name, caller, caplog)
    if "sign-out" in name:
        browsers["own"] = await studio.signed_in(WREN)


async def ask(browser: Browser, rule: Rule, name: str, caller: str, caplog: pytest.LogCaptureFixture) -> None:
    """Ask an address as somebody, and see that the answer is due to them."""
    person = CALLERS[caller]

    answer = await call(browser, name, rule.path, rule.body)

    if caller in rule.may:
        assert refusals(caplog) == [], caller
        assert answer.status_code < 500
        assert answer.status_code not in (401, 403), answer.text
        return
    if person is None and name == "GET ":
        assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in.html")
        return
    assert answer.status_code in (401, 403, 404), (caller, answer.text)
    assert answer.json()["text"].endswith(".")
    who = "nobody" if person is None else f"{person.id} ({person.role})"
    assert [each.startswith(f"refused: {who} ") for each in refusals(caplog)] == [True], caller
    # Of the one who is not in the studio it is not even told that they are there.
    if caller.endswith("another studio") and rule.missing:
        missing = await call(browser, name, rule.missing, rule.missing_body)
        assert (missing.status_code, missing.text.replace("not-there", "wren")) == (answer.status_code, answer.text)


async def test_a_service_without_a_studio_has_nothing_that_is_not_in_one(
    studio: StudioService, tmp_path: Path, make_driver: Any
) -> None:
    alone = addresses(create_app(Service(tmp_path, driver=make_driver())))
    assert set(alone) < set(addresses(studio.app))
    assert not [each for each in alone if "/people" in each or "/studio" in each or "assign" in each or "pins" in each]


async def test_the_player_alone_is_refused_nothing(
    tmp_path: Path, make_driver: Any, caplog: pytest.LogCaptureFixture
) -> None:
    service = Service(tmp_path, driver=make_driver())
    app = create_app(service, hosts=frozenset({"localhost"}))
    browser = Browser(app, address="http://localhost")
    caplog.set_level(logging.WARNING)
    for name in addresses(app):
        if not name.startswith(("WS", "GET /sound", "POST /tunes/", "POST /licks")):
            answer = await call(browser, name, RULES[name].path, RULES[name].body)
            assert answer.status_code not in (401, 403), name
    assert refusals(caplog) == []
    await asyncio.to_thread(service.archive.close)
    await asyncio.to_thread(service.workers.close)
