"""What teachers set and pin by addresses: taken as it is meant, refused in words, told to the student's session."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest
from asked_studio import Studio, in_studio
from studio_people import REED, RUTH, TILDA, WREN

from coach.errors import InputError
from coach.service import protocol as wire
from coach.service.assignment_doors import Assigning, read_setting
from coach.service.looking import Reread, pack
from coach.studio.rules import Setting

__all__ = ["in_studio"]

TODAY = "2026-03-04"
NUMBERS = [0, 1, 2, 3, 4]

# ------------------------------------------------------------------------------------------ what can be meant


def asked(**changes: Any) -> Assigning:
    return Assigning(**{"tune": "mill", "tier": "beginner", "goal": 100.0, **changes})


def read(**changes: Any) -> Setting:
    return read_setting(asked(**changes), "Mill Lane", NUMBERS, TODAY)


def test_all_fields_are_taken() -> None:
    found = read(
        mix=[3, 1, 3],
        until="2026-03-08",
        policy="steps",
        step=5.0,
        clean_needed=3,
        tolerance_ms=40.0,
        cap=80.0,
        cap_until="2026-03-04",
        words=" Slowly.\n\x07Loose wrist. ",
    )

    assert found == Setting(
        *("mill", "Mill Lane", "beginner", 100.0, (1, 3), "2026-03-08", "steps", 5.0, 3, 40.0, 80.0, "2026-03-04"),
        "Slowly.\nLoose wrist.",
    )
    assert read(policy="steps") == Setting(
        "mill", "Mill Lane", "beginner", 100.0, policy="steps", step=4.0, clean_needed=2
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"goal": 19.9}, "a goal of 19.9 cannot be set; choose one from 20 to 400."),
        ({"goal": 400.5}, "a goal of 400.5 cannot be set"),
        ({"goal": float("nan")}, "a goal of nan cannot be set"),
        ({"cap": 10.0}, "a cap of 10 cannot be set"),
        ({"cap": 100.5}, "the cap of 100.5 lies above the goal of 100; set it below the goal, or leave it out."),
        ({"tolerance_ms": 5.0}, "a tolerance of 5 cannot be set; choose one from 10 to 150."),
        ({"policy": "steps", "step": 0.5}, "a step of 0.5 cannot be set; choose one from 1 to 40."),
        ({"policy": "steps", "clean_needed": 0}, "a number of clean passes of 0 cannot be set"),
        ({"policy": "coach", "step": 5.0}, "a step is set, but the tempo does not move by steps"),
        ({"until": "8 March"}, "the last day cannot be read ('8 March'); write it like 2026-03-08."),
        ({"until": "2026-03-03"}, "the last day 2026-03-03 is over; choose today or a later one."),
        ({"cap": 80.0, "cap_until": "2026-02-30"}, "the last day of the cap cannot be read"),
        ({"cap_until": "2026-03-08"}, "the cap has a last day, but no tempo"),
        ({"cap": 80.0, "until": "2026-03-05", "cap_until": "2026-03-06"}, "the cap would last until 2026-03-06"),
        ({"mix": [5]}, "Mill Lane: there is no measure 5; choose from 0 to 4."),
        ({"mix": [1], "tier": "advanced"}, "there is no tier behind the advanced one to mix in"),
        ({"words": "a" * 501}, "the words have 501 characters; use at most 500."),
    ],
)
def test_what_cannot_be_meant_is_said(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError) as caught:
        read(**changes)

    assert str(caught.value).startswith(words)


@pytest.mark.parametrize(
    "changes", [{"goal": 20.0}, {"goal": 400.0}, {"cap": 100.0}, {"until": TODAY}, {"words": "a" * 500}]
)
def test_limits_can_be_meant(changes: dict[str, Any]) -> None:
    assert read(**changes).title == "Mill Lane"


# ------------------------------------------------------------------------------------------ by addresses


def test_an_assignment_is_set_seen_and_ended(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        key = await studio.set(cap=80.0, words="Slowly.")

        assert studio.told == [(REED.id, pack(Reread()))]
        for person, path in (
            (REED, "/assignments.json"),
            (RUTH, "/assignments.json"),
            (RUTH, f"/assignments.json?student={REED.id}"),
        ):
            (found,) = (await studio.get(person, path)).json()["assignments"]
            assert (found["id"], found["student_name"], found["title"], found["by"]) == (
                key,
                "Reed",
                "Test Lane",
                "Ruth",
            )
            assert (found["cap"], found["rules"], found["reached"]) == (80.0, "Not above 80 for now.", None)
        assert (await studio.get(WREN, "/assignments.json")).json()["assignments"] == []

        assert (await studio.post(RUTH, f"/assignments/{key}/end")).status_code == 200
        assert (await studio.get(REED, "/assignments.json")).json()["assignments"] == []
        assert len(studio.told) == 2

    in_studio(test)


def test_words_are_pinned_read_and_taken_away(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        key = (await studio.pin()).json()["id"]

        (found,) = (await studio.get(REED, "/pins.json?tune=test-lane")).json()["pins"]
        assert (found["measure"], found["words"], found["by"], found["seen"]) == (2, "Let it ring.", "Ruth", False)
        assert (await studio.post(REED, f"/pins/{key}/seen")).status_code == 200
        (found,) = (await studio.get(RUTH, f"/pins.json?student={REED.id}")).json()["pins"]
        assert found["seen"] is True
        assert (await studio.get(RUTH, f"/pins.json?student={REED.id}&tune=other")).json()["pins"] == []
        assert (await studio.post(RUTH, f"/pins/{key}/remove")).status_code == 200
        assert (await studio.get(REED, "/pins.json")).json()["pins"] == []
        assert studio.told == [(REED.id, pack(Reread()))] * 3

    in_studio(test)


def test_what_is_wrong_is_said(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        body = {"students": [REED.id], "tune": "test-lane", "tier": "beginner", "goal": 100.0}
        for changes, status, words in (
            ({"tune": "none"}, 422, "not in the studio's tune book"),
            ({"students": []}, 422, "nobody is named"),
            ({"students": None}, 422, "Wren does not have this tune"),
            ({"students": [TILDA.id]}, 404, "no such student"),
            ({"students": ["nobody"]}, 404, "no such student"),
            ({"tier": "master"}, 422, "cannot be read"),
            ({"colour": "blue"}, 422, "cannot be read"),
            ({"mix": [9]}, 422, "there is no measure 9"),
        ):
            answer = await studio.post(RUTH, "/assignments", body | changes)
            assert (answer.status_code, words in answer.json()["text"]) == (status, True), answer.text
        for pinned, status, words in (
            ({"measure": 9}, 422, "there is no measure 9"),
            ({"words": "  "}, 422, "no words to pin"),
            ({"tune": "none"}, 422, "not in the studio's tune book"),
            ({"student": WREN.id}, 422, "Wren does not have this tune"),
        ):
            answer = await studio.pin(**pinned)
            assert (answer.status_code, words in answer.json()["text"]) == (status, True), answer.text
        assert studio.told == []

    in_studio(test)


def test_nobody_does_what_is_not_theirs(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        key, pinned = await studio.set(), (await studio.pin()).json()["id"]
        body = {"students": [REED.id], "tune": "test-lane", "tier": "beginner", "goal": 100.0}
        for person, path, sent, status in (
            (REED, "/assignments", body, 403),
            (REED, f"/assignments/{key}/end", {}, 403),
            (TILDA, f"/assignments/{key}/end", {}, 404),
            (RUTH, "/assignments/none/end", {}, 404),
            (REED, "/pins", {"student": REED.id, "tune": "test-lane", "measure": 2, "words": "x"}, 403),
            (REED, f"/pins/{pinned}/remove", {}, 403),
            (RUTH, f"/pins/{pinned}/seen", {}, 404),
            (WREN, f"/pins/{pinned}/seen", {}, 404),
            (TILDA, f"/pins/{pinned}/seen", {}, 404),
        ):
            assert (await studio.post(person, path, sent)).status_code == status, (person.id, path)
        for person, path, status in (
            (WREN, f"/assignments.json?student={REED.id}", 403),
            (TILDA, f"/assignments.json?student={REED.id}", 404),
            (WREN, f"/pins.json?student={REED.id}", 403),
            (RUTH, f"/pins.json?student={TILDA.id}", 404),
        ):
            assert (await studio.get(person, path)).status_code == status, (person.id, path)
        (found,) = (await studio.get(REED, "/pins.json")).json()["pins"]
        assert found["seen"] is False

    in_studio(test)


def test_a_session_tells_its_pages_and_holds_to_it(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        session = studio.service.session(REED.id, REED)
        await settled(studio)
        session._choice.put(tune="test-lane", goal=120.0, tempo=110.0)
        page = Told()
        session.join("pad", page)
        await studio.set(cap=80.0)
        await studio.pin()
        await settled(studio)

        (one,) = page.last(wire.Assigned).assignments
        assert (one.title, one.cap, one.rules, one.by) == ("Test Lane", 80.0, "Not above 80 for now.", "Ruth")
        (words,) = page.last(wire.Pins).pins
        assert (words.measure, words.words, words.seen) == (2, "Let it ring.", False)
        later = Told()
        session.join("other", later)
        assert later.last(wire.Assigned) == page.last(wire.Assigned)
        assert later.last(wire.Pins) == page.last(wire.Pins)

        rules = session.lesson.rules_of("test-lane")
        assert rules is not None
        assert rules.cap == 80.0
        assert (session.chosen.tempo, session.chosen.goal) == (80.0, 100.0)

    in_studio(test)


class Told:
    """A page that keeps what it is told."""

    def __init__(self) -> None:
        self.messages: list[Any] = []

    def send(self, message: Any) -> None:
        self.messages.append(message)

    def last(self, kind: type) -> Any:
        return [each for each in self.messages if isinstance(each, kind)][-1]


async def settled(studio: Studio) -> None:
    """What was begun of lessons has been done."""
    for _ in range(200):
        await asyncio.sleep(0)
        await studio.service.archive.ask(lambda _: None)
        if not any("_read" in str(task.get_coro()) for task in asyncio.all_tasks()):
            break
