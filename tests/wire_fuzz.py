"""Messages that are made of the published schema of the wire, near misses of them, and what a service makes of them.

People of two studios and strangers to both say them. Each has a secret word, in the name, in the instrument's name and
in any text that is said; nobody who may not see them may ever be sent it. What cannot be read has to be answered.
"""

from __future__ import annotations

import asyncio
import json
import logging
import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, cast

import msgspec
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from hypothesis_jsonschema import from_schema

from coach.service import protocol as wire
from coach.service.clock import FakeClock
from coach.service.described import document
from coach.service.frames import FrameProtocol
from coach.service.service import Service
from coach.service.talk import Talk
from coach.studio.members import add_person, open_studio
from coach.studio.people import Person, StudioName

WHEN = "2026-11-26T08:00:00Z"
MILL, BARN = StudioName("the-mill", "The Mill"), StudioName("the-barn", "The Barn")
SECRETS = {"ruth": "quillwort", "ann": "samphire", "ben": "tormentil", "tom": "bistort", "cat": "sneezewort"}
PEOPLE = {
    "ruth": Person("ruth-1", f"Ruth {SECRETS['ruth']}", "teacher", MILL),
    "ann": Person("ann-1", f"Ann {SECRETS['ann']}", "student", MILL),
    "ben": Person("ben-1", f"Ben {SECRETS['ben']}", "student", MILL),
    "tom": Person("tom-1", f"Tom {SECRETS['tom']}", "teacher", BARN),
    "cat": Person("cat-1", f"Cat {SECRETS['cat']}", "student", BARN),
}
# Whose secrets somebody may be sent: a teacher those of their students, a student those of their teacher.
MAY_SEE = {
    "ruth": {"ruth", "ann", "ben"},
    "ann": {"ann", "ruth"},
    "ben": {"ben", "ruth"},
    "tom": {"tom", "cat"},
    "cat": {"cat", "tom"},
}
AT_ONCE = 8
"""Messages of one draw; hypothesis has room for some eight thousand bytes of choices in it. Each is said four times: by
somebody or other, and twice with something wrong in it."""

TICK = 5
"""Messages from one tick of the sessions to the next."""

BETWEEN = 0.02
"""Seconds between messages, on the service's clock: what is allowed in the long run, and some are let go for more."""


@dataclass(frozen=True, slots=True)
class Said:
    """A message of somebody."""

    who: str
    text: str


@dataclass(slots=True)
class Told:
    """What came of it.

    Attributes:
        kinds: how many messages of each kind were said that can be read.
        unread: how many could not be read.
        answers: how many messages came back, by kind.
        connections: how many there were.
        broken: exceptions that nobody had thought of, and their messages.
        unanswered: messages that could not be read and were not answered.
        leaks: who was sent whose secret.
    """

    kinds: Counter[str] = field(default_factory=Counter)
    unread: int = 0
    answers: Counter[str] = field(default_factory=Counter)
    connections: int = 0
    broken: list[str] = field(default_factory=list)
    unanswered: list[str] = field(default_factory=list)
    leaks: list[str] = field(default_factory=list)

    @property
    def said(self) -> int:
        """How many messages were said."""
        return self.kinds.total() + self.unread


def published() -> list[st.SearchStrategy[Any]]:
    """Messages of each kind that a page may send, as the published document describes them."""
    described = json.loads(document())
    schemas = described["components"]["schemas"]
    names = [each["$ref"].rpartition("/")[2] for each in described["operations"]["fromPage"]["messages"]]
    payloads = [described["components"]["messages"][name]["payload"]["$ref"].rpartition("/")[2] for name in names]
    return [of_schema(schemas[name], schemas) for name in payloads]


def of_schema(schema: dict[str, Any], schemas: dict[str, Any]) -> st.SearchStrategy[Any]:
    """What a schema allows. What is put together of parts is put together here: hypothesis-jsonschema does that by
    parts of hypothesis that newer ones do not have."""
    if "$ref" in schema:
        return of_schema(schemas[schema["$ref"].rpartition("/")[2]], schemas)
    if "anyOf" in schema:
        return st.one_of([of_schema(each, schemas) for each in schema["anyOf"]])
    items = schema.get("items")
    if isinstance(items, list):
        return st.tuples(*(of_schema(each, schemas) for each in items)).map(list)
    if isinstance(items, dict):
        least, most = schema.get("minItems", 0), min(schema.get("maxItems", 6), 6)
        return st.lists(of_schema(items, schemas), min_size=least, max_size=max(least, most))
    if "properties" in schema:
        parts = {name: of_schema(each, schemas) for name, each in schema["properties"].items()}
        needed = {name: parts[name] for name in (*schema.get("required", ()), "kind") if name in parts}
        return st.fixed_dictionaries(needed, optional={name: parts[name] for name in parts if name not in needed})
    if schema.get("type") == "object":
        values = schema.get("additionalProperties", True)
        return st.dictionaries(
            st.text(max_size=8), of_schema(values, schemas) if isinstance(values, dict) else st.none()
        )
    return from_schema(schema)


WRONG = [None, True, -1, 10**30, 1e308, "", "x" * 5000, [], {}, [[[[]]]], "\ud83d\ude00", "\x00", "../../etc"]


def spoiled(message: dict[str, Any], rng: random.Random) -> str:
    """A near miss: the message with one thing wrong in it."""
    what = rng.randrange(7)
    spoiled = dict(message)
    name = rng.choice(sorted(spoiled))
    if what == 0:
        del spoiled[name]
    elif what == 1:
        spoiled[name] = rng.choice(WRONG)
    elif what == 2:
        spoiled[rng.choice(["student", "session", "seat", "kind"])] = rng.choice(WRONG)
    elif what == 3:
        text = json.dumps(spoiled)
        return text[: rng.randrange(len(text))]
    elif what == 4:
        return json.dumps([spoiled])
    elif what == 5:
        return json.dumps(spoiled)[:-1] + ',"x":' + "[" * 2000 + "]" * 2000 + "}"
    else:
        spoiled["kind"] = rng.choice(["hello", "card", "report", "live", "", "JOIN"])
    return json.dumps(spoiled)


def personal(message: dict[str, Any], who: str, rng: random.Random) -> dict[str, Any]:
    """The message as somebody says it who knows whom there is: of themselves and of others, with their secret in it."""
    said = dict(message)
    for name, value in message.items():
        if name in ("student", "session") and rng.random() < 0.8:
            said[name] = rng.choice([*(person.id for person in PEOPLE.values()), "home"])
        elif name != "kind" and isinstance(value, str) and rng.random() < 0.1:
            said[name] = SECRETS[who]
    return said


@st.composite
def sayings(draw: st.DrawFn, kinds: Sequence[st.SearchStrategy[Any]]) -> list[Said]:
    """Some messages in a row."""
    rng = draw(st.randoms(use_true_random=False))
    found = []
    for strategy in draw(st.lists(st.sampled_from(kinds), min_size=AT_ONCE, max_size=AT_ONCE)):
        message = draw(strategy)
        for near in (False, False, True, True):
            who = rng.choice(sorted(PEOPLE))
            said = personal(message, who, rng)
            found.append(Said(who, spoiled(said, rng) if near else json.dumps(said)))
    return found


class Line:
    """A page's end of a connection in memory."""

    is_free = True
    take = freed = None

    def __init__(self) -> None:
        self.got: list[bytes] = []

    def write(self, messages: Sequence[bytes]) -> None:
        self.got += messages


class Errors(logging.Handler):
    """What is written to the log as an error."""

    def __init__(self, told: Told) -> None:
        super().__init__(logging.ERROR)
        self.told = told

    def emit(self, record: logging.LogRecord) -> None:
        self.told.broken.append(self.format(record)[-600:])


class Everybody:
    """All people, each with a connection, in a service of two studios.

    Args:
        service: a studio's, on ``clock``.
        clock: goes on with each message.
    """

    def __init__(self, service: Service, clock: FakeClock) -> None:
        self.service = service
        self.clock = clock
        self.told = Told()
        self._talks: dict[str, tuple[Talk, Line]] = {}
        self._errors = Errors(self.told)
        logging.getLogger("coach").addHandler(self._errors)

    async def come(self) -> None:
        """The people are written down, and all are there."""

        def fill(connection: Any) -> None:
            for studio in (MILL, BARN):
                open_studio(connection, studio.name, WHEN)
            for person in PEOPLE.values():
                add_person(connection, person.id, person.name, cast(Any, person.role), person.studio, WHEN)

        await self.service.archive.change(fill)
        for who in PEOPLE:
            await self._connect(who)

    async def hear(self, said: Said) -> None:
        """Somebody says something."""
        talk, line = self._talks[said.who]
        try:
            message = wire.decode_from_page(said.text)
            self.told.kinds[str(message.__struct_config__.tag)] += 1
            is_read = True
        except (msgspec.MsgspecError, RecursionError, UnicodeError):
            self.told.unread += 1
            is_read = False
        before = len(line.got)
        talk.hear(said.text)
        await asyncio.sleep(0)
        if not is_read and not talk._over.done() and not any(b'"failure"' in each for each in line.got[before:]):
            self.told.unanswered.append(said.text[:200])
        self.clock.advance(BETWEEN)
        if self.told.said % TICK == 0:
            for session in tuple(self.service.sessions.values()):
                session.tick()
            await asyncio.sleep(0)
        for who in PEOPLE:
            await self._look(who)

    async def leave(self) -> None:
        """All go."""
        for who in PEOPLE:
            await self._talks[who][0].leave()
        logging.getLogger("coach").removeHandler(self._errors)

    async def _connect(self, who: str) -> None:
        line = Line()
        talk = Talk(self.service, PEOPLE[who], cast(FrameProtocol, line))
        self._talks[who] = talk, line
        self.told.connections += 1
        if PEOPLE[who].role == "teacher":
            talk.hear('{"kind":"desk"}')
            for student in PEOPLE.values():
                talk.hear(json.dumps({"kind": "look_on", "student": student.id}))
        else:
            talk.hear('{"kind":"join"}')
            talk.hear(json.dumps({"kind": "input", "name": SECRETS[who]}))
        await asyncio.sleep(0)

    async def _look(self, who: str) -> None:
        """Look through what somebody was sent; who was let go comes back."""
        talk, line = self._talks[who]
        for data in line.got:
            text = data.decode()
            self.told.answers[text.partition('"kind":"')[2].partition('"')[0]] += 1
            self.told.leaks += [
                f"{who} was sent the secret of {other}: {text[:200]}"
                for other, secret in SECRETS.items()
                if secret in text and other not in MAY_SEE[who]
            ]
        line.got.clear()
        if talk._over.done():
            await talk.leave()
            await self._connect(who)


def rows_of(count: int, number: int = 1) -> Iterator[list[Said]]:
    """So many messages, some more or less, in rows; of one number they are the same each time."""
    rows: list[list[Said]] = []
    kinds = published()

    @seed(number)
    @settings(
        max_examples=max(1, count // AT_ONCE // 4),
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(sayings(kinds))
    def collect(row: list[Said]) -> None:
        rows.append(row)

    collect()
    yield from rows


async def close(service: Service) -> None:
    """End a service that was not run."""
    for session in service.sessions.values():
        session.close()
    await asyncio.sleep(0)
    for task in tuple(service._tasks):
        task.cancel()
    await asyncio.gather(*service._tasks, return_exceptions=True)
    for repertoire in service.repertoires.values():
        await repertoire.close()
    await asyncio.to_thread(service.workers.close)
    await asyncio.to_thread(service.archive.close)
