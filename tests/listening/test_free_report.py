from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.free_report import FreeReport, score_freely
from coach.listening.heard import HeardNote
from coach.listening.plan import PassPlan
from coach.listening.report import Scored, score
from coach.listening.told import tell

Play = Callable[[PassPlan], list[HeardNote]]


def told(report: FreeReport) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(report.to_json())
    return data


def renumbered(solo: Arrangement) -> Arrangement:
    """The same with the ids of its plucks by measure."""
    return replace(
        solo,
        measures=tuple(
            replace(
                measure,
                plucks=tuple(replace(p, id=f"m{measure.number}e{k}") for k, p in enumerate(measure.plucks, 1)),
                melody=(),
            )
            for measure in solo.measures
        ),
    )


def test_the_keys_are_those_of_a_report_with_more_at_the_end(roll: Arrangement, play: Play) -> None:
    plan = PassPlan(roll, 90.0)
    notes = play(plan)
    with_click = json.loads(score([Scored(plan)], notes).to_json())
    free = told(score_freely([Scored(plan)], notes))

    assert list(free) == [*with_click, "free"]
    assert free["free"] is True
    for key in ("notes", "passes"):
        assert [list(entry) for entry in free[key]] == [list(entry) for entry in with_click[key]]
    assert [list(entry) for entry in free["measures"]] == [[*entry, "tempo"] for entry in with_click["measures"]]


def test_nothing_is_told_of_a_click(roll: Arrangement, play: Play) -> None:
    plan = PassPlan(roll, 90.0)
    free = told(score_freely([Scored(plan)], play(plan)))

    assert {note["offset_ms"] for note in free["notes"]} == {None}
    assert {note["verdict"] for note in free["notes"]} == {"on time"}
    assert {measure["mean_offset_ms"] for measure in free["measures"]} == {None}
    assert free["summary"]["mean_offset_ms"] is None
    assert free["summary"]["tempo_drift_percent"] is None
    assert free["summary"]["played_share"] == 1.0
    assert free["lean_ms"] == 0.0
    assert [(each["mean_offset_ms"], each["tempo_drift_percent"]) for each in free["playing"]] == [(None, None)]


def test_scattered_notes_are_told_without_a_word_of_a_click(roll: Arrangement, play: Play) -> None:
    solo = replace(roll, measures=tuple(replace(roll.measures[0], number=n) for n in range(1, 9)))
    plan = PassPlan(renumbered(solo), 60.0)
    rng = random.Random(5)
    notes = [replace(note, seconds=note.seconds + rng.gauss(0.0, 0.08)) for note in play(plan)]
    report = score_freely([Scored(plan)], notes)

    by_a_click = tell([each.result for each in report.passes])
    assert any("click" in saying.text for saying in by_a_click[0].said)
    assert not any("click" in entry["text"] for entry in told(report)["said"])
    assert told(report)["said"]


def test_tempo_is_the_players(roll: Arrangement, play: Play) -> None:
    slow = [replace(note, seconds=2 * note.seconds) for note in play(PassPlan(roll, 90.0))]
    free = told(score_freely([Scored(PassPlan(roll, 90.0))], slow))

    assert free["tempo"] == free["passes"][0]["tempo"] == pytest.approx(45.0, abs=0.01)
    assert [measure["tempo"] for measure in free["measures"]] == pytest.approx([45.0, 45.0], abs=0.01)


def test_passes_begin_at_their_downbeats_and_end_where_they_were_stopped(roll: Arrangement, play: Play) -> None:
    first, second = PassPlan(roll, 90.0), PassPlan(roll, 90.0, origin=20.0, number=2)
    notes = [*play(first), *play(second)]
    notes = [replace(note, seq=seq) for seq, note in enumerate(notes, 1)]
    free = told(score_freely([Scored(first, stopped=3.0), Scored(second)], notes))

    assert [(each["pass"], each["whole"]) for each in free["passes"]] == [(1, False), (2, True)]
    assert sum(note["pass"] == 1 for note in free["notes"]) == 9
    assert sum(note["pass"] == 2 for note in free["notes"]) == 16


def test_without_downbeats_all_of_the_take_is_one_pass(roll: Arrangement, play: Play) -> None:
    plan = PassPlan(roll, 90.0)
    early = [replace(note, seconds=note.seconds - 60.0) for note in play(plan)]

    assert told(score_freely([Scored(plan)], early, marked=False))["summary"]["played_share"] == 1.0
    assert told(score_freely([Scored(plan)], early))["summary"]["played_share"] == 0.0


def test_a_stop_and_a_measure_played_twice_are_passages(mixed: Arrangement, play: Play) -> None:
    plan = PassPlan(mixed, 90.0)
    notes = play(plan)
    later = [replace(note, seconds=note.seconds + 30.0) for note in notes if note.seconds >= 8 / 1.5]
    all_notes = [replace(note, seq=seq) for seq, note in enumerate([*notes, *later], 1)]
    free = told(score_freely([Scored(plan)], all_notes))

    assert free["passages"] == [{"pass": 1, "from": "m3e1", "to": "m3e11", "kind": "played twice", "slots": None}]


def test_an_entry_of_a_list_stands_on_a_line_and_the_same_take_gives_the_same_bytes(
    roll: Arrangement, play: Play
) -> None:
    plan = PassPlan(roll, 90.0)
    text = score_freely([Scored(plan)], play(plan)).to_json()

    assert text == score_freely([Scored(plan)], play(plan)).to_json()
    assert text.endswith('\n "free": true\n}\n')
    assert sum(line.startswith('  {"id": ') for line in text.splitlines()) == 16


def test_a_report_needs_a_pass() -> None:
    with pytest.raises(ValueError, match="a report needs at least one pass"):
        score_freely([], [])
