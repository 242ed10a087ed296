"""What teachers leave for students: assignments and pinned words, as pages ask for them and change them.

``GET /assignments.json?student=ID`` answers with what is set now, the newest first; without ``student`` a student gets
their own, a teacher what is set in the studio::

    {"format": "assignments/1", "assignments": [{"id": "9f…", "tune": "mill-lane-1f3a9c20", "title": "Mill Lane",
      "tier": "beginner", "mix": [], "goal": 100.0, "until": "2026-03-08", "words": "", "by": "Ruth", "cap": 80.0,
      "cap_until": "2026-03-08", "rules": "Not above 80 this week.", "reached": 76.0, "student": "…",
      "student_name": "Reed", "policy": null, "step": null, "clean_needed": null, "tolerance_ms": null}]}

``POST /assignments`` sets something for some students, or for all (``students`` null), and answers with the ids;
``POST /assignments/ID/end`` ends it. ``GET /pins.json?student=ID&tune=ID`` answers with what is pinned, ``POST /pins``
pins words to a measure as it is played, ``POST /pins/ID/remove`` takes them away, and ``POST /pins/ID/seen`` says that
the student has read them. The fields are those of :class:`Assigning` and :class:`Pinning`.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from coach.arranging.arrangement import TIERS
from coach.errors import InputError, NotThereError
from coach.ladder.standing import PolicyName
from coach.service.bodies import Nothing, answer_json, read_body
from coach.service.jobs import GivenTune
from coach.service.kept_lesson import assigned_line
from coach.service.limits import Limit
from coach.service.looking import Reread, pack, to
from coach.service.service import Service
from coach.service.signed_in import may_about, permit, person_of, refused
from coach.studio.people import Person
from coach.studio.rules import Assignment, Setting, is_on
from coach.tunes.played import written_out
from coach.tunes.tune import Tune

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.studio.pins import Pinned

__all__ = ["Assigning", "Pinning", "read_setting", "routes"]

MOST_WORDS = 500
SLOWEST, FASTEST = 20.0, 400.0  # quarters a minute, as in the settings of a pass

Id = Annotated[str, Meta(max_length=80)]


class Assigning(Struct, forbid_unknown_fields=True):
    """Something to be set; the fields are those of :class:`~coach.studio.rules.Setting`, dates empty for none."""

    tune: Id
    tier: Literal["beginner", "intermediate", "advanced"]
    goal: float
    students: Annotated[list[Id], Meta(max_length=500)] | None = None
    mix: Annotated[list[int], Meta(max_length=2000)] = []
    until: Id = ""
    policy: PolicyName | None = None
    step: float | None = None
    clean_needed: int | None = None
    tolerance_ms: float | None = None
    cap: float | None = None
    cap_until: Id = ""
    words: Annotated[str, Meta(max_length=10_000)] = ""


class Pinning(Struct, forbid_unknown_fields=True):
    """Words to be pinned to a measure, by its number as played."""

    student: Id
    tune: Id
    measure: int
    words: Annotated[str, Meta(max_length=10_000)]


def routes(service: Service) -> list[Route]:
    """The addresses; none without a studio."""
    if service.accounts is None:
        return []
    doors = _AssignmentDoors(service)
    return [
        Route("/assignments.json", doors.assignments),
        Route("/assignments", doors.assign, methods=["POST"]),
        Route("/assignments/{id}/end", doors.end, methods=["POST"]),
        Route("/pins.json", doors.pins),
        Route("/pins", doors.pin, methods=["POST"]),
        Route("/pins/{id}/remove", doors.remove, methods=["POST"]),
        Route("/pins/{id}/seen", doors.seen, methods=["POST"]),
    ]


def read_setting(asked: Assigning, title: str, numbers: Collection[int], today: str) -> Setting:
    """What is to be set.

    Args:
        asked: as it came.
        title: of the tune.
        numbers: of its measures as played.
        today: the date at the players' place.

    Raises:
        InputError: when a field cannot be meant, with the reason and what to do.
    """

    def within(value: float | None, low: float, high: float, what: str) -> None:
        if value is not None and not low <= value <= high:
            raise InputError(f"{what} of {value:g} cannot be set", cure=f"choose one from {low:g} to {high:g}")

    within(asked.goal, SLOWEST, FASTEST, "a goal")
    within(asked.cap, SLOWEST, FASTEST, "a cap")
    within(asked.tolerance_ms, 10, 150, "a tolerance")
    within(asked.step, 1, 40, "a step")
    within(asked.clean_needed, 1, 10, "a number of clean passes")
    if asked.cap is not None and asked.cap > asked.goal:
        raise InputError(
            f"the cap of {asked.cap:g} lies above the goal of {asked.goal:g}",
            cure="set it below the goal, or leave it out",
        )
    steps = (asked.step, asked.clean_needed)
    if asked.policy != "steps" and steps != (None, None):
        raise InputError("a step is set, but the tempo does not move by steps", cure="choose steps, or leave it out")
    until, cap_until = _day(asked.until, "last day", today), _day(asked.cap_until, "last day of the cap", today)
    if cap_until is not None and asked.cap is None:
        raise InputError("the cap has a last day, but no tempo", cure="say how fast it is, or leave both out")
    if until is not None and cap_until is not None and cap_until > until:
        raise InputError(
            f"the cap would last until {cap_until}, longer than the assignment itself", cure=f"end it by {until}"
        )
    mix = tuple(sorted(set(asked.mix)))
    _see_measures(mix, numbers, title)
    if mix and asked.tier == TIERS[-1]:
        raise InputError("there is no tier behind the advanced one to mix in", cure="leave the measures out")
    return Setting(
        tune=asked.tune,
        title=title,
        tier=asked.tier,
        goal=asked.goal,
        mix=mix,
        until=until,
        policy=asked.policy,
        step=asked.step if asked.step is not None or asked.policy != "steps" else 4.0,
        clean_needed=asked.clean_needed if asked.clean_needed is not None or asked.policy != "steps" else 2,
        tolerance_ms=asked.tolerance_ms,
        cap=asked.cap,
        cap_until=cap_until,
        words=_words(asked.words, may_be_empty=True),
    )


class _AssignmentDoors:
    """What is behind each."""

    def __init__(self, service: Service) -> None:
        assert service.accounts is not None
        self._service = service
        self._records = service.accounts.records
        self._wall = service.accounts.wall
        self._sets = Limit(120, 3600.0, service.now)
        self._pins = Limit(300, 3600.0, service.now)

    async def assignments(self, request: Request) -> Response:
        """What is set now."""
        person, asked = person_of(request), request.query_params.get("student", "")
        if person.role == "teacher" and not asked:
            permit(person, "see studio", None)
            them = None
        else:
            them = await may_about(self._service, person, "see assignments", asked or person.id)
        told = await self._records.ask(partial(_assignments, of=them, studio=person.studio.id, today=_today()))
        return answer_json({"format": "assignments/1", "assignments": told})

    async def assign(self, request: Request) -> Response:
        """Set something for some students, or for all."""
        from coach.studio.assignments import assign

        person, asked = person_of(request), await read_body(request, Assigning)
        students = await self._students(person, asked.students)
        given = self._tune(person, asked.tune, students)
        setting = read_setting(asked, given.title, _numbers(given), _today())
        self._sets.take(person.id)
        ids = await self._records.change(
            partial(
                assign,
                setting=setting,
                students=[each.id for each in students],
                by=person.id,
                made=_moment(self._wall()),
            )
        )
        for each in students:
            self._tell(each.id)
        return answer_json({"ids": ids})

    async def end(self, request: Request) -> Response:
        """End what was set."""
        from coach.studio.assignments import assignment_of_id, end_assignment

        person, key = person_of(request), request.path_params["id"][:80]
        await read_body(request, Nothing)
        found = await self._records.ask(partial(assignment_of_id, id=key))
        student = await self._whose(person, "assign", key, None if found is None else found.student)
        await self._records.change(partial(end_assignment, id=key, when=_moment(self._wall())))
        self._tell(student)
        return answer_json({})

    async def pins(self, request: Request) -> Response:
        """What is pinned for a student."""
        from coach.studio.pins import pins_of

        person, query = person_of(request), request.query_params
        them = await may_about(self._service, person, "see pins", query.get("student", "") or person.id)
        found = await self._records.ask(partial(pins_of, student=them.id, tune=query.get("tune") or None))
        return answer_json({"format": "pins/1", "pins": [_pin(each) for each in found]})

    async def pin(self, request: Request) -> Response:
        """Pin words to a measure."""
        from coach.studio.pins import pin

        person, asked = person_of(request), await read_body(request, Pinning)
        them = await may_about(self._service, person, "pin", asked.student)
        given = self._tune(person, asked.tune, [them])
        _see_measures((asked.measure,), _numbers(given), given.title)
        words = _words(asked.words)
        self._pins.take(person.id)
        key = await self._records.change(
            partial(
                pin,
                student=them.id,
                tune=asked.tune,
                measure=asked.measure,
                words=words,
                by=person.id,
                made=_moment(self._wall()),
            )
        )
        self._tell(them.id)
        return answer_json({"id": key})

    async def remove(self, request: Request) -> Response:
        """Take words away."""
        from coach.studio.pins import pin_of_id, remove_pin

        person, key = person_of(request), request.path_params["id"][:80]
        await read_body(request, Nothing)
        found = await self._records.ask(partial(pin_of_id, id=key))
        student = await self._whose(person, "pin", key, None if found is None else found.student)
        await self._records.change(partial(remove_pin, id=key))
        self._tell(student)
        return answer_json({})

    async def seen(self, request: Request) -> Response:
        """The student has read words."""
        from coach.studio.pins import pin_of_id, see_pin

        person, key = person_of(request), request.path_params["id"][:80]
        await read_body(request, Nothing)
        found = await self._records.ask(partial(pin_of_id, id=key))
        if found is None or found.student != person.id:
            refused(person, "see pins", key)
            raise _no_such()
        permit(person, "see pins", person)
        await self._records.change(partial(see_pin, id=key, when=_moment(self._wall())))
        self._tell(person.id)
        return answer_json({})

    async def _students(self, person: Person, asked: list[str] | None) -> list[Person]:
        """The students that are named, or all."""
        from coach.studio.members import members_of

        if asked is not None:
            students = [await may_about(self._service, person, "assign", each) for each in dict.fromkeys(asked)]
        else:
            permit(person, "see studio", None)
            members = await self._records.ask(partial(members_of, studio=person.studio.id))
            students = [each.person for each in members if each.person.role == "student"]
            for each in students:
                permit(person, "assign", each)
        if not students:
            raise InputError("nobody is named to set it for", cure="choose one student or more")
        return students

    def _tune(self, person: Person, tune: str, students: list[Person]) -> GivenTune:
        """A tune that all of them see."""
        repertoire = self._service.repertoire_of(person)
        found = repertoire.book.found(tune)
        if found is None or not repertoire.sees_tune(person, tune):
            raise InputError("this tune is not in the studio's tune book", cure="choose one of the list")
        without = next((each for each in students if not repertoire.sees_tune(each, tune)), None)
        if without is not None:
            raise InputError(
                f"{without.name} does not have this tune", where=found.title, cure="share it with the studio first"
            )
        return found

    async def _whose(self, person: Person, action: Literal["assign", "pin"], key: str, student: str | None) -> str:
        """The student of what is named, where whoever asks teaches them; else it looks like nothing that is there."""
        if student is None:
            refused(person, action, key)
            raise _no_such()
        try:
            return (await may_about(self._service, person, action, student)).id
        except NotThereError:
            raise _no_such() from None

    def _tell(self, student: str) -> None:
        """Tell a student's session that it has changed."""
        self._service.bus.publish(to(student), pack(Reread()))


def _assignments(connection: Connection, of: Person | None, studio: str, today: str) -> list[dict[str, Any]]:
    from coach.studio.assignments import assignments_in, assignments_of, reached

    found = assignments_in(connection, studio) if of is None else assignments_of(connection, of.id)
    return [
        _assignment(each, reached(connection, each.student, each.setting), today)
        for each in found
        if is_on(each, today)
    ]


def _assignment(each: Assignment, best: float | None, today: str) -> dict[str, Any]:
    setting = each.setting
    told: dict[str, Any] = msgspec.to_builtins(assigned_line(each, best, today))
    return told | {
        "student": each.student,
        "student_name": each.student_name,
        "policy": setting.policy,
        "step": setting.step,
        "clean_needed": setting.clean_needed,
        "tolerance_ms": setting.tolerance_ms,
    }


def _pin(each: Pinned) -> dict[str, Any]:
    return {
        "id": each.id,
        "student": each.student,
        "tune": each.tune,
        "measure": each.measure,
        "words": each.words,
        "by": each.by,
        "made": each.made,
        "seen": each.seen is not None,
        "read": each.seen or "",
    }


def _numbers(given: GivenTune) -> list[int]:
    """The numbers of a tune's measures as played."""
    source = given.source
    if isinstance(source, Tune):
        return [measure.number for measure in written_out(source)]
    return [measure.number for measure in source.arrangement.measures]


def _see_measures(asked: Collection[int], numbers: Collection[int], title: str) -> None:
    missing = next((number for number in asked if number not in numbers), None)
    if missing is not None:
        raise InputError(
            f"there is no measure {missing}", where=title, cure=f"choose from {min(numbers)} to {max(numbers)}"
        )


def _words(text: str, *, may_be_empty: bool = False) -> str:
    """Words of a teacher, without what no page shows."""
    words = "\n".join("".join(sign for sign in line if sign.isprintable()).strip() for line in text.splitlines())
    words = words.strip()
    if not words and not may_be_empty:
        raise InputError("there are no words to pin", cure="write some")
    if len(words) > MOST_WORDS:
        raise InputError(f"the words have {len(words)} characters", cure=f"use at most {MOST_WORDS}")
    return words


def _day(text: str, what: str, today: str) -> str | None:
    """A date that is not over yet; None where there is none."""
    if not text:
        return None
    try:
        day = date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise InputError(f"the {what} cannot be read ({text[:20]!r})", cure="write it like 2026-03-08") from error
    if day < today:
        raise InputError(f"the {what} {day} is over", cure="choose today or a later one")
    return day


def _moment(when: datetime) -> str:
    from coach.records.played import moment

    return moment(when)


def _today() -> str:
    """The date at the players' place, as the records have it."""
    return datetime.now().astimezone().date().isoformat()


def _no_such() -> NotThereError:
    return NotThereError("there is nothing of this kind, or it was taken away", cure="load the page anew")
