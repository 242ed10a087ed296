from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from habit_takes import faultless, habit_study, plain

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.listening.fills import cut_fills
from coach.listening.heard import HeardNote
from coach.listening.plan import PassPlan
from coach.listening.report import Scored, score
from coach.listening.strokes import PassStrokes, strokes_of

STUDY = habit_study(1)

# Measure 2 is one melody note and seven of fill; the melody comes back in measure 3.


def cut_to(kept: int, *, back: bool = True) -> PassStrokes:
    def moved(pluck: Pluck, measure: ArrangedMeasure, plan: PassPlan) -> float | None:
        if measure.number == 2 and pluck.at * 2 > kept:
            return None
        if pluck.id == "m3e1":
            # To where the first pluck of the fill is that was left out.
            return -(8 - kept - 1) * plan.tempo_map.quarter / 2 if back else None
        return 0.0

    return plain(STUDY, 1, jitter=0.0, left_out=0.0, moved=moved)[0]


def test_a_fill_that_is_cut_short_is_found_with_what_it_lost() -> None:
    cut = cut_fills(cut_to(3))

    assert [stroke.pluck.id for stroke in cut[0].lost] == ["m2e5", "m2e6", "m2e7", "m2e8", "m3e1"]
    assert cut[0].early == 4
    assert len(cut) == 1


def test_notes_left_out_without_the_melody_coming_back_are_no_cut() -> None:
    assert cut_fills(cut_to(3, back=False)) == ()


@pytest.mark.parametrize(
    ("strings", "lost", "found"),
    [((1, 5, 1, 2, 5), ("m1e6", "m1e7"), 0), ((1, 5, 2, 1, 5), ("m1e5", "m1e6", "m1e7"), 1)],
)
def test_a_fill_pluck_of_the_melodys_own_pitch_is_no_sign_unless_more_is_lost(
    solo: Callable[..., Arrangement], strings: tuple[int, ...], lost: tuple[str, ...], found: int
) -> None:
    # The open second string sounds like the melody note that follows the fill, the fourth fret of the third.
    fill = [(f"{k}/2", string, 0) for k, string in enumerate(strings, 1)]
    melody = {"role": "melody"}
    short = solo([("0", 3, 0, melody), *fill, ("3", 3, 4, melody), ("7/2", 1, 0)])

    def left_out(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float | None:
        return None if pluck.id in lost else 0.0

    heard = plain(short, 1, jitter=0.0, left_out=0.0, moved=left_out)[0]

    assert len(cut_fills(heard)) == found


@pytest.mark.parametrize(("string", "found"), [(2, 0), (1, 1)])
def test_a_neighbouring_string_caught_before_a_missed_note_is_no_sign(
    solo: Callable[..., Arrangement], play: Callable[..., list[HeardNote]], string: int, found: int
) -> None:
    fill = [(f"{k}/2", each, 0) for k, each in enumerate((1, 5, 1, 5, string, 1), 1)]
    short = solo([("0", 3, 0, {"role": "melody"}), *fill, ("7/2", 3, 2, {"role": "melody"})])
    plan = PassPlan(short, 80.0)
    notes = play(plan)[:6]
    notes[5] = replace(notes[5], pitch=57, string=3, channel=3)
    heard = strokes_of(score([Scored(plan)], notes).results[0])

    assert [stroke.note.verdict for stroke in heard.strokes[5:]] == ["wrong note", "missed", "missed"]
    assert len(cut_fills(heard)) == found


def test_a_pass_without_a_fault_has_none() -> None:
    assert cut_fills(faultless(STUDY)[0]) == ()


def test_notes_left_out_at_random_are_none() -> None:
    assert not any(cut_fills(plain(STUDY, seed, left_out=0.1)[0]) for seed in range(10))
