"""Students who practise: each in a session of its own, pass after pass, with notes, watermarks and answers to pings.

A student plays a solo as written, by the file that the service gives out, with hands that spread 12 ms, 3 plucks in 100
left out, 2 at a wrong pitch, and now and then a roll that runs away: eight notes at twice the speed. Pinches come as
two messages at once. The page's own manner is kept: a message for each note, and a watermark every 100 ms while a pass
is played.
"""

from __future__ import annotations

import heapq
import json
import random
import urllib.request
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial
from time import monotonic
from typing import Any

from lines import Line

__all__ = ["Crowd", "Script", "Student", "Tallies", "Teacher", "read_script"]

TICK = 0.1
"""Seconds between watermarks, as the page sends them."""

SPREAD = 0.012
LEFT_OUT, WRONG, RUNS_AWAY = 0.03, 0.02, 0.02
RUN = 8
LOOK = 5.0
"""Seconds for which a teacher looks at one student."""

REST = 2.0
"""Seconds between the report on a pass and the next."""


@dataclass(frozen=True, slots=True)
class Script:
    """What a student plays.

    Attributes:
        digest: of the solo.
        plucks: quarters from the downbeat, string and pitch.
        quarters: of the whole solo.
    """

    digest: str
    plucks: list[tuple[float, int, int]]
    quarters: float

    def tempo(self, notes_a_second: float) -> float:
        """Quarters a minute at which so many notes come in a second."""
        return 60 * notes_a_second * self.quarters / len(self.plucks)


@dataclass(slots=True)
class Tallies:
    """What came back, of all students together.

    Attributes:
        waits: seconds from a note to its provisional mark, in order of their coming.
        sent, sent_octets: messages to the service, and their bytes.
        verdicts: how many of each.
        reports: passes that came to their end.
        cards: that teachers were shown.
        shown: seconds from a note to its mark at the desk of the teacher who looks on.
        failures: what the service complained of.
    """

    waits: list[float] = field(default_factory=list)
    sent: int = 0
    sent_octets: int = 0
    verdicts: Counter[str] = field(default_factory=Counter)
    reports: int = 0
    cards: int = 0
    shown: list[float] = field(default_factory=list)
    failures: Counter[str] = field(default_factory=Counter)


def read_script(base: str, digest: str, cookie: str) -> Script:
    """The solo of a digest, as the service gives it out."""
    asked = urllib.request.Request(f"{base}/arrangements/{digest}.json", headers={"Cookie": cookie})
    with urllib.request.urlopen(asked) as answer:
        solo = json.load(answer)
    plucks, at = [], Fraction(0)
    for measure in solo["measures"]:
        plucks += [(float(at + Fraction(each["at"])), each["string"], each["pitch"]) for each in measure["plucks"]]
        at += Fraction(measure["length"])
    return Script(digest, plucks, float(at))


class Crowd:
    """All students of a process, and when each of them does what.

    Args:
        host: of the service, with its port.
        tune, tier: what is played.
        rate: notes a second.
    """

    def __init__(self, host: str, tune: str, tier: str, rate: float) -> None:
        self.host, self.tune, self.tier, self.rate = host, tune, tier, rate
        self.tallies = Tallies()
        self.scripts: dict[str, Script] = {}
        self.students: list[Student] = []
        self._due: list[tuple[float, int, Callable[[], None]]] = []
        self._count = 0

    def later(self, at: float, call: Callable[[], None]) -> None:
        """Do something at a time."""
        self._count += 1
        heapq.heappush(self._due, (at, self._count, call))

    def run_due(self) -> None:
        """Do what is due."""
        now, due = monotonic(), self._due
        while due and due[0][0] <= now:
            heapq.heappop(due)[2]()

    def script(self, digest: str, cookie: str) -> Script:
        """The script of a solo, read once."""
        if digest not in self.scripts:
            self.scripts[digest] = read_script(f"http://{self.host}", digest, cookie)
        return self.scripts[digest]

    @property
    def frames(self) -> int:
        """Messages that came from the service."""
        return sum(student.frames for student in self.students)

    @property
    def octets(self) -> int:
        """Their bytes."""
        return sum(student.octets for student in self.students)


class Student(Line):
    """One student and their page.

    Args:
        crowd: that they belong to.
        name: of their session.
        cookie: of their device; empty where they are at home.

    Attributes:
        shown: when notes were sent, by number, for the desk of the teacher who looks on; None while none does.
    """

    def __init__(self, crowd: Crowd, name: str, cookie: str = "") -> None:
        super().__init__(crowd.host, "/ws", "coach.1", cookie)
        self.shown: dict[int, float] | None = None
        self._crowd = crowd
        self._cookie = cookie
        self._name = name
        self._chance = random.Random(name)
        self._sent: dict[int, float] = {}
        self._seq = 0
        self._pass = 0
        self._digest = ""
        self._wanted = False
        self._is_playing = False
        self._is_leaving = False

    def join(self) -> None:
        """Come in, and choose what to play."""
        self._tell({"kind": "join", "session": "home" if self._cookie else self._name, "seat": "pad"})
        self._tell({"kind": "settings", "tune": self._crowd.tune, "tier": self._crowd.tier, "keep_going": False})

    def leave(self) -> None:
        """Stop, and go."""
        self._is_leaving = True
        self._tell({"kind": "stop"})
        self.hang_up()

    def take(self, text: bytes) -> None:
        if text.startswith(b'{"kind":"heard"'):
            at = text.index(b'"seq":') + 6
            sent = self._sent.pop(int(text[at : text.index(b",", at)]), None)
            if sent is not None:
                self._crowd.tallies.waits.append(monotonic() - sent)
        elif text.startswith(b'{"kind":"verdict"'):
            at = text.index(b'"verdict":"') + 11
            self._crowd.tallies.verdicts[text[at : text.index(b'"', at)].decode()] += 1
        elif not text.startswith((b'{"kind":"ack"', b'{"kind":"measure"')):
            self._react(json.loads(text))

    def _react(self, message: dict[str, Any]) -> None:
        now, kind = monotonic(), message["kind"]
        if kind == "ping":
            self._tell({"kind": "pong", "id": message["id"], "t1": message["t1"], "t2": now, "t3": now})
        elif kind == "state":
            self._stand(message, now)
        elif kind == "begin" and message["sounds"] and message["origin"] is None:
            self._begin(message, now)
        elif kind == "report":
            self._crowd.tallies.reports += 1
            self._is_playing = False
            self._want(now + REST)
        elif kind == "failure":
            self._crowd.tallies.failures[message["text"]] += 1

    def _stand(self, state: dict[str, Any], now: float) -> None:
        """Set the tempo by the solo, once it is there, and begin some time within the length of a pass."""
        if (
            self._digest
            or not state["digest"]
            or (state["tune"], state["tier"]) != (self._crowd.tune, self._crowd.tier)
        ):
            return
        self._digest = state["digest"]
        script = self._crowd.script(self._digest, self._cookie)
        tempo = round(script.tempo(self._crowd.rate) * self._chance.uniform(0.95, 1.05))
        self._tell({"kind": "settings", "tempo": tempo})
        self._want(now + 1 + self._chance.uniform(0, script.quarters * 60 / tempo))

    def _want(self, at: float) -> None:
        if not self._is_leaving:
            self._crowd.later(at, lambda: self._tell({"kind": "start", "sounds": True}))

    def _begin(self, begin: dict[str, Any], now: float) -> None:
        """Sound the click, and play."""
        origin = now + 0.2 + begin["lead"]
        self._pass = begin["number"]
        self._is_playing = True
        self._sent.clear()
        self._tell({"kind": "sounding", "number": self._pass, "origin": origin})
        chance, script = self._chance, self._crowd.script(begin["digest"], self._cookie)
        run, begun = 0, 0.0
        for at, string, pitch in script.plucks:
            if run == 0 and chance.random() < RUNS_AWAY:
                run, begun = RUN, at
            if run:
                run -= 1
                at = begun + (at - begun) / 2
            if chance.random() < LEFT_OUT:
                continue
            if chance.random() < WRONG:
                pitch += 1
            seconds = at * 60 / begin["tempo"] + chance.gauss(0, SPREAD)
            data = f"[{143 + string},{pitch},90]"  # as the pad has it: strings on channels of their own
            self._crowd.later(origin + seconds, partial(self._pluck, data, origin + seconds))
        self._crowd.later(now + TICK, lambda: self._mark(self._pass, now))

    def _pluck(self, data: str, stamp: float) -> None:
        if self._is_leaving or not self._is_playing:
            return
        self._seq += 1
        self._sent[self._seq] = monotonic()
        if self.shown is not None:
            self.shown[self._seq] = self._sent[self._seq]
        item = f'{{"seq":{self._seq},"stamp":{stamp!r},"data":{data}}}'
        self._send(f'{{"kind":"notes","seat":"pad","items":[{item}]}}'.encode())

    def _mark(self, number: int, last: float) -> None:
        if self._is_leaving or not self._is_playing or number != self._pass:
            return
        now = monotonic()
        self._send(f'{{"kind":"notes","seat":"pad","items":[],"watermark":{last!r}}}'.encode())
        self._crowd.later(now + TICK, lambda: self._mark(number, now))

    def _tell(self, message: dict[str, Any]) -> None:
        self._send(json.dumps(message).encode())

    def _send(self, text: bytes) -> None:
        self._crowd.tallies.sent += 1
        self._crowd.tallies.sent_octets += len(text)
        self.say(text)


class Teacher(Line):
    """A teacher at the desk, who sees the cards of all students of the studio and looks at one after the other.

    Args:
        crowd: of the students.
        cookie: of the teacher's device.
        students: by the ids of their persons.
    """

    def __init__(self, crowd: Crowd, cookie: str, students: dict[str, Student]) -> None:
        super().__init__(crowd.host, "/ws", "coach.1", cookie)
        self._crowd = crowd
        self._students = students
        self._turns = 0
        self._looked_at: Student | None = None

    def sit_down(self) -> None:
        """Open the desk."""
        self.say(b'{"kind":"desk"}')
        self._turn()

    def take(self, text: bytes) -> None:
        tallies = self._crowd.tallies
        if text.startswith(b'{"kind":"card"'):
            tallies.cards += 1
        elif text.startswith(b'{"kind":"live"'):
            shown = None if self._looked_at is None else self._looked_at.shown
            at = text.find(b'"seq":') if b'"kind":"heard"' in text else -1
            if shown is not None and at > 0:
                sent = shown.pop(int(text[at + 6 : text.index(b",", at)]), None)
                if sent is not None:
                    tallies.shown.append(monotonic() - sent)
        elif text.startswith(b'{"kind":"ping"'):
            ping, now = json.loads(text), monotonic()
            pong = {"kind": "pong", "id": ping["id"], "t1": ping["t1"], "t2": now, "t3": now}
            self.say(json.dumps(pong).encode())
        elif text.startswith(b'{"kind":"failure"'):
            tallies.failures[json.loads(text)["text"]] += 1

    def _turn(self) -> None:
        """Look at the next student for a while."""
        if self._looked_at is not None:
            self._looked_at.shown = None
        student = list(self._students)[self._turns % len(self._students)]
        self._turns += 1
        self._looked_at = self._students[student]
        self._looked_at.shown = {}
        self.say(json.dumps({"kind": "look_on", "student": student}).encode())
        self._crowd.later(monotonic() + LOOK, self._turn)
