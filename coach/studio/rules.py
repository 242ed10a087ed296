"""What a teacher has set, and what of it holds on a day: plain values.

An assignment is on from when it is set to its last day, that day included, by the date at the player's place, unless a
teacher ends it before. Of those of one tune that are on the one that was set last holds. A cap has a last day of its
own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from coach.ladder.standing import PolicyName

__all__ = ["Assignment", "Rules", "Setting", "cap_words", "day_words", "is_on", "rules_of", "rules_words"]

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


@dataclass(frozen=True, slots=True)
class Setting:
    """What is set.

    Attributes:
        tune, title: of the tune.
        tier: of the solo; of a mixed one the tier it comes from.
        mix: the measures, as played, that are of the next tier, rising.
        goal: quarters a minute.
        until: the last day, ``2026-03-31``; None where there is none.
        policy: how the tempo moves; None where it is for the student to choose.
        step, clean_needed: of fixed steps; None where they are the student's own.
        tolerance_ms: what is on time; None where it is for the student to choose.
        cap: the tempo that nothing is to go above; None where there is none.
        cap_until: its last day; None where it lasts as long as the assignment.
        words: of the teacher; may be empty.
    """

    tune: str
    title: str
    tier: str
    goal: float
    mix: tuple[int, ...] = ()
    until: str | None = None
    policy: PolicyName | None = None
    step: float | None = None
    clean_needed: int | None = None
    tolerance_ms: float | None = None
    cap: float | None = None
    cap_until: str | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Assignment:
    """What a teacher has set for a student.

    Attributes:
        id: of it.
        student, student_name: for whom.
        by: the name of the teacher; empty where they have left.
        made: when, RFC 3339 in UTC.
        ended: when a teacher ended it, RFC 3339 in UTC; None where none has.
        setting: what is set.
    """

    id: str
    student: str
    student_name: str
    by: str
    made: str
    ended: str | None
    setting: Setting


@dataclass(frozen=True, slots=True)
class Rules:
    """What holds for a tune as long as an assignment is on: the student cannot change it.

    Attributes:
        by: the name of the teacher; empty where they have left.
        goal: quarters a minute.
        policy, step, clean_needed, tolerance_ms: None where it is the student's own.
        cap: None where there is none today.
        cap_words: of the cap, ``not above 80 this week``; empty where there is none.
    """

    by: str
    goal: float
    policy: PolicyName | None = None
    step: float | None = None
    clean_needed: int | None = None
    tolerance_ms: float | None = None
    cap: float | None = None
    cap_words: str = ""


def is_on(assignment: Assignment, day: str) -> bool:
    """Whether it holds on a day, the date at the player's place."""
    until = assignment.setting.until
    return assignment.ended is None and (until is None or day <= until)


def rules_of(given: Iterable[Assignment], tune: str, day: str) -> Rules | None:
    """What holds for a tune on a day; None where nothing is set.

    Args:
        given: assignments of one student, the newest first.
        tune: its id.
        day: the date at the player's place.
    """
    for each in given:
        setting = each.setting
        if setting.tune != tune or not is_on(each, day):
            continue
        capped = setting.cap is not None and (setting.cap_until is None or day <= setting.cap_until)
        return Rules(
            by=each.by,
            goal=setting.goal,
            policy=setting.policy,
            step=setting.step,
            clean_needed=setting.clean_needed,
            tolerance_ms=setting.tolerance_ms,
            cap=setting.cap if capped else None,
            cap_words=cap_words(setting, day) if capped else "",
        )
    return None


def cap_words(setting: Setting, day: str) -> str:
    """A cap in words, as of a day: ``not above 80 this week``."""
    until = setting.cap_until or setting.until
    return f"not above {setting.cap:g} {'for now' if until is None else _until(until, day)}"


def rules_words(setting: Setting, day: str) -> str:
    """What holds of the ladder besides the goal, in a sentence, as of a day; empty where all is the student's own."""
    said = []
    if setting.policy is not None:
        said.append(_POLICIES[setting.policy])
    if setting.policy == "steps" and setting.step is not None and setting.clean_needed is not None:
        often = "a clean pass" if setting.clean_needed == 1 else f"{setting.clean_needed} clean passes in a row"
        said[-1] = f"the tempo goes up by {setting.step:g} after {often}"
    if setting.tolerance_ms is not None:
        said.append(f"on time is within {setting.tolerance_ms:g} ms")
    if setting.cap is not None and (setting.cap_until is None or day <= setting.cap_until):
        said.append(cap_words(setting, day))
    if not said:
        return ""
    text = said[0] if len(said) == 1 else f"{', '.join(said[:-1])}, and {said[-1]}"
    return f"{text[0].upper()}{text[1:]}."


def day_words(day: str) -> str:
    """A date as it is said: ``29 November``."""
    when = date.fromisoformat(day)
    return f"{when.day} {_MONTHS[when.month - 1]}"


_POLICIES: dict[PolicyName, str] = {
    "coach": "the coach finds the tempo",
    "three clean": "the tempo goes up after three clean passes",
    "every pass": "the tempo moves after every pass",
    "steps": "the tempo goes up by fixed steps",
}


def _until(last: str, day: str) -> str:
    """Until when, as of a day: ``this week`` where it is a day of the same ISO 8601 week."""
    same = date.fromisoformat(last).isocalendar()[:2] == date.fromisoformat(day).isocalendar()[:2]
    return "this week" if same else f"until {day_words(last)}"
