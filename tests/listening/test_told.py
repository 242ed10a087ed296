from __future__ import annotations

import json

from habit_takes import Moved, habit_study, plain

from coach.arranging.arrangement import ArrangedMeasure, Pluck
from coach.listening.plan import PassPlan
from coach.listening.report import make_report
from coach.listening.scores import PassResult
from coach.listening.told import MOST_PASSES, tell, tell_last

STUDY = habit_study(1)


def early_until(last: int) -> Moved:
    def moved(pluck: Pluck, _: ArrangedMeasure, plan: PassPlan) -> float:
        return -0.05 if pluck.string == 5 and plan.number <= last else 0.0

    return moved


def results(passes: int, moved: Moved) -> list[PassResult]:
    return [heard.result for heard in plain(STUDY, 1, passes=passes, moved=moved)]


def test_each_pass_is_told_in_the_light_of_those_before_it() -> None:
    told = tell(results(2, early_until(2)))

    assert [each.playing.pass_number for each in told] == [1, 2]
    assert any("as in the pass before" in saying.text for saying in told[1].said)
    assert not any("as in the pass before" in saying.text for saying in told[0].said)


def test_the_last_pass_is_told_the_same_whether_alone_or_in_a_report() -> None:
    heard = results(MOST_PASSES + 2, early_until(4))

    for end in range(1, len(heard) + 1):
        assert tell_last(heard[:end]) == tell(heard)[end - 1]


def test_a_report_carries_the_numbers_and_the_sentences_as_its_last_keys() -> None:
    report = json.loads(make_report(results(2, early_until(2))).to_json())

    assert list(report)[-2:] == ["playing", "said"]
    assert [entry["pass"] for entry in report["playing"]] == [1, 2]
    assert list(report["measures"][0])[-5:] == ["clean", "evenness_ms", "swing", "melody_db", "other_strings"]
    assert {entry["pass"] for entry in report["said"]} == {1, 2}
    assert all(1 <= sum(entry["pass"] == number for entry in report["said"]) <= 3 for number in (1, 2))
    assert all(set(entry["measures"]) <= set(range(1, 9)) for entry in report["said"])
    assert list(report["said"][0]) == ["pass", "text", "measures"]
    assert report["playing"][0]["positions"][0]["slot"] == 1


def test_what_was_told_when_a_pass_was_over_makes_the_same_report() -> None:
    heard = results(MOST_PASSES + 2, early_until(4))
    told = [tell_last(heard[:end]) for end in range(1, len(heard) + 1)]

    assert make_report(heard, told).to_json() == make_report(heard).to_json()
    assert make_report(heard, told[::-1]).to_json() != make_report(heard).to_json()
