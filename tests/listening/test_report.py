from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import digest
from coach.listening.heard import Bend, HeardNote, Sound
from coach.listening.plan import PassPlan
from coach.listening.report import Report, Scored, boundary, make_report, score, score_passes, with_boundaries


@pytest.fixture
def report(mixed: Arrangement, play: Callable[..., list[HeardNote]], number: Callable[..., list[Sound]]) -> Report:
    """A take with one thing of each kind."""
    plan = PassPlan(mixed, 60.0, origin=2.0)
    notes = [replace(note, seconds=note.seconds - 0.004) for note in play(plan)]
    del notes[2]
    notes[10] = replace(notes[10], pitch=56)
    notes.append(HeardNote(2.01, 69, 30, 3, 3))  # the ghost of the first
    notes.append(HeardNote(3.45, 60, 80, 2, 2))
    return score([Scored(plan)], number(notes), end=20.0)


def test_the_json_has_the_keys_of_the_contract_in_their_order(report: Report) -> None:
    data = json.loads(report.to_json())

    assert list(data) == [
        "format",
        "scoring",
        "tune",
        "digest",
        "title",
        "tier",
        "tempo",
        "lean_ms",
        "bounce",
        "notes",
        "extra",
        "dropped",
        "passages",
        "measures",
        "passes",
        "summary",
        "playing",
        "said",
    ]
    assert list(data["notes"][0]) == ["id", "measure", "pass", "verdict", "offset_ms", "pitch", "string"]
    assert list(data["extra"][0]) == ["measure", "pass", "at", "pitch", "string", "fault"]
    assert list(data["dropped"][0]) == ["seconds", "pitch", "reason"]
    assert list(data["measures"][0]) == [
        "number",
        "pass",
        "expected",
        "played",
        "missed",
        "wrong",
        "extra",
        "off_time",
        "mean_offset_ms",
        "spread_ms",
        "melody_heard",
        "clean",
        "evenness_ms",
        "swing",
        "melody_db",
        "other_strings",
    ]
    assert list(data["passes"][0]) == ["pass", "tempo", "measures", "whole", "clean", "kept_going"]
    assert list(data["summary"]) == ["played_share", "mean_offset_ms", "spread_ms", "tempo_drift_percent"]


def test_the_json_says_what_was_heard(report: Report, mixed: Arrangement) -> None:
    data = json.loads(report.to_json())

    assert (data["format"], data["scoring"], data["digest"]) == ("report/1", 3, digest(mixed))
    assert (data["tempo"], data["lean_ms"], data["bounce"]) == (60.0, -4.0, 50)
    assert data["notes"][0] == {
        "id": "m1e1",
        "measure": 1,
        "pass": 1,
        "verdict": "on time",
        "offset_ms": -4.0,
        "pitch": 57,
        "string": 3,
    }
    assert data["notes"][2] == {
        "id": "m1e3",
        "measure": 1,
        "pass": 1,
        "verdict": "missed",
        "offset_ms": None,
        "pitch": None,
        "string": None,
    }
    assert data["extra"] == [{"measure": 1, "pass": 1, "at": "3/2", "pitch": 60, "string": 2, "fault": True}]
    assert data["dropped"] == [{"seconds": 2.01, "pitch": 69, "reason": "octave ghost"}]
    assert data["passes"] == [
        {"pass": 1, "tempo": 60.0, "measures": "1-3", "whole": True, "clean": False, "kept_going": True}
    ]


def test_equal_takes_give_equal_bytes(report: Report) -> None:
    assert report.to_json() == make_report(report.results).to_json()
    assert report.to_json().endswith("}\n")


def test_the_lean_is_the_takes_median_unless_it_is_told(
    roll: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(roll, 60.0)
    late = [replace(note, seconds=note.seconds + 0.03) for note in play(plan)]

    assert score([Scored(plan)], late).lean_ms == 30.0
    assert score([Scored(plan)], late, lean_ms=-5.0).lean_ms == -5.0
    assert score([Scored(plan)], late, lean_ms=-50.0).lean_ms == -40.0


def test_what_all_passes_show_of_the_player_is_known_from_the_first_note(
    roll: Arrangement, play: Callable[..., list[HeardNote]], number: Callable[..., list[Sound]]
) -> None:
    # 16 plucks a pass, fewer than tell how softly the player plays; two passes do.
    first, second = PassPlan(roll, 60.0), PassPlan(roll, 60.0, origin=12.0, number=2)
    brushed = HeardNote(1.2, 51, 20, 4, 4)
    sounds = number([*play(first), *play(second), brushed])
    passes = [Scored(first), Scored(second)]
    a_pass_at_a_time = score_passes(with_boundaries(passes), sounds)

    assert [len(result.extras) for result in a_pass_at_a_time] == [1, 0]
    for lean_ms in (None, 5.0):
        heard = score(passes, sounds, lean_ms=lean_ms).results
        assert [len(result.extras) for result in heard] == [0, 0]
        assert [drop.reason for result in heard for drop in result.dropped] == ["below the gate"]


def test_the_report_says_when_slurs_were_taken_on_trust(
    mixed: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(mixed, 60.0)
    slurred = {pluck.id for _, pluck in mixed.plucks() if pluck.technique != "pick"}
    picked = [note for note, (_, pluck) in zip(play(plan), mixed.plucks(), strict=True) if pluck.id not in slurred]
    trusting = score([Scored(plan)], picked)

    assert trusting.remarks == (
        "The instrument has shown no slurs: 6 slurred notes were counted as played with the pick before.",
    )
    assert json.loads(trusting.to_json())["remarks"] == list(trusting.remarks)
    assert trusting.summary.played_share == 1.0
    assert score([Scored(plan)], play(plan)).remarks == ()


def test_a_slur_shown_in_one_pass_holds_for_the_next(
    solo: Callable[..., Arrangement], number: Callable[..., list[Sound]]
) -> None:
    hammered = solo([("0", 3, 2), ("1", 3, 3, {"technique": "hammer-on", "from_fret": 2})])
    first, second = PassPlan(hammered, 60.0), PassPlan(hammered, 60.0, origin=8.0, number=2)
    picks = [HeardNote(0.0, 57, 80), HeardNote(8.0, 57, 80)]

    def last_verdicts(*more: Sound) -> list[str]:
        report = score([Scored(first), Scored(second)], number([*picks, *more]))
        return [result.notes[1].verdict for result in report.results]

    assert last_verdicts() == ["on time", "on time"]
    assert last_verdicts(Bend(1.0, 100.0)) == ["on time", "missed"]
    assert last_verdicts(Bend(9.0, 100.0)) == ["on time", "on time"]


def test_passes_that_follow_closely_share_the_time_between_them(
    roll: Arrangement, play: Callable[..., list[HeardNote]], number: Callable[..., list[Sound]]
) -> None:
    # A loop without a count-in: the second downbeat is one slot after the last pluck of the first pass.
    first, second = PassPlan(roll, 60.0), PassPlan(roll, 60.0, origin=8.0, number=2)
    notes = [*play(first), *play(second)]
    report = score([Scored(first), Scored(second)], number(notes))

    assert boundary(first, second) == 7.75
    assert [note.verdict for result in report.results for note in result.notes] == ["on time"] * 32
    assert report.summary.played_share == 1.0


@pytest.mark.parametrize(
    ("origin", "stopped", "opens"),
    [
        (12.0, None, 11.7),
        (4.4, None, 4.2),  # half-way from the place at 4.0
        (4.4, 3.9, 4.1),  # the place at 4.0 lies after the stop; the one before it is far
        (4.4, 4.1, 4.2),
    ],
)
def test_a_pass_begins_to_hear_300_ms_ahead_or_half_way_from_the_last_place_before_it(
    origin: float, stopped: float | None, opens: float, roll: Arrangement
) -> None:
    first, second = PassPlan(roll, 60.0), PassPlan(roll, 60.0, origin=origin, number=2)

    assert boundary(first, second, stopped) == pytest.approx(opens)


def test_a_pass_that_is_begun_again_was_not_played_to_its_end(
    roll: Arrangement, play: Callable[..., list[HeardNote]], number: Callable[..., list[Sound]]
) -> None:
    first, second = PassPlan(roll, 60.0), PassPlan(roll, 60.0, origin=5.0, number=2)
    notes = [*play(first)[:6], *play(second)]
    report = score([Scored(first, stopped=3.2), Scored(second)], number(notes))
    broken, whole = report.results

    assert [note.verdict for note in broken.notes] == ["on time"] * 6 + ["missed"] * 10
    assert (broken.whole, whole.whole, whole.clean) == (False, True, True)
    assert [result.plan.number for result in report.results] == [1, 2]


def test_a_report_needs_a_pass() -> None:
    with pytest.raises(ValueError, match="at least one pass"):
        make_report([])
