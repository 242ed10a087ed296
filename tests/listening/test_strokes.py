from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from habit_takes import faultless, habit_study, plain

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.listening.heard import HeardNote
from coach.listening.plan import PassPlan
from coach.listening.report import Scored, score
from coach.listening.strokes import strokes_of
from coach.tunes.tune import Meter

STUDY = habit_study(1)


def test_a_stroke_knows_its_slot_and_its_half() -> None:
    strokes = faultless(STUDY)[0].strokes

    assert [stroke.slot for stroke in strokes[:9]] == [0, 1, 2, 3, 4, 5, 6, 7, 0]
    assert [stroke.half for stroke in strokes[:4]] == [0, 1, 0, 1]
    assert [stroke.step for stroke in strokes[6:10]] == [6, 7, 8, 9]
    assert {stroke.gap_ms for stroke in strokes} == {375.0}


def test_a_pickup_has_no_slots_and_does_not_upset_the_halves(solo: Callable[..., Arrangement]) -> None:
    picked_up = solo([("0", 3, 0)], [("0", 3, 0), ("1/2", 2, 0)], first=0, lengths={0: "1/2"})
    strokes = faultless(picked_up)[0].strokes

    assert [(stroke.slot, stroke.half) for stroke in strokes] == [(None, 1), (0, 0), (1, 1)]


def test_what_a_stop_cut_off_is_no_stroke() -> None:
    plan = PassPlan(STUDY, 80.0)
    first = STUDY.measures[0].plucks
    struck = [
        HeardNote(plan.tempo_map.seconds(pluck.at), pluck.pitch, 80, pluck.string, pluck.string) for pluck in first
    ]
    heard = [note for index, note in enumerate(struck) if index not in {2, 6, 7}]

    result = score([Scored(plan, stopped=plan.tempo_map.seconds(first[7].at))], heard).results[0]

    assert [stroke.pluck.id for stroke in strokes_of(result).strokes] == [pluck.id for pluck in first[:6]]
    assert [note.verdict for note in result.reached] == ["on time"] * 2 + ["missed"] + ["on time"] * 3
    assert len(result.notes) == sum(len(measure.plucks) for measure in STUDY.measures)


def test_a_slur_between_two_slots_has_none(mixed: Arrangement) -> None:
    by_id = {stroke.pluck.id: stroke for stroke in faultless(mixed)[0].strokes}

    assert (by_id["m1e2"].slot, by_id["m1e2"].step, by_id["m1e2"].half) == (None, None, None)
    assert (by_id["m1e3"].slot, by_id["m1e3"].half) == (2, 0)


def test_a_compound_metre_has_no_halves(solo: Callable[..., Arrangement]) -> None:
    jig = solo([("0", 3, 0), ("1/2", 2, 0)], meter=Meter(6, 8), length="3")

    assert {stroke.half for stroke in faultless(jig)[0].strokes} == {None}


def test_a_stroke_knows_what_is_around_it() -> None:
    strokes = {stroke.pluck.id: stroke for stroke in faultless(STUDY)[0].strokes}

    # Measures 1 and 2 are over G, 3 over C, 4 over D7 with a hammer-on, 7 with a slide and a pull-off.
    assert [strokes[f"m3e{k}"].since_change for k in (1, 2, 3, 4)] == [0, 1, 2, None]
    assert strokes["m1e1"].since_change is None
    assert strokes["m2e1"].since_change is None
    assert [strokes[f"m7e{k}"].since_slide for k in (1, 2, 3, 4, 5)] == [None, 0, 1, 2, None]
    assert [k for k in range(1, 9) if strokes[f"m7e{k}"].after_slur] == [3, 7]
    assert {stroke.measure for stroke in strokes.values() if stroke.open_roll} == {1, 2, 5, 6}


def test_what_was_missed_is_left_out_unless_a_note_astray_could_have_been_meant_for_it() -> None:
    def without(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float | None:
        return None if pluck.id in ("m1e3", "m2e4") else 0.0

    heard = plain(STUDY, 1, jitter=0.0, left_out=0.0, moved=without)[0]
    left_out = {stroke.pluck.id for stroke in heard.strokes if stroke.left_out}

    plan = heard.result.plan
    lost = next(stroke.note.pluck for stroke in heard.strokes if stroke.pluck.id == "m1e3")
    notes = [
        HeardNote(plan.origin + stroke.note.pluck.time / 1e6, stroke.pluck.pitch, 80, 1, None, k)
        for k, stroke in enumerate(heard.strokes)
        if stroke.pluck.id != "m1e3"
    ]
    # The third note comes 200 ms late, at the place of the fourth.
    astray = replace(notes[0], seconds=plan.origin + lost.time / 1e6 + 0.2, pitch=lost.pitch, seq=1000)
    found = strokes_of(score([Scored(plan)], [*notes, astray], lean_ms=0.0).results[0])

    assert left_out == {"m1e3", "m2e4"}
    assert [stroke.note.verdict for stroke in found.strokes if stroke.pluck.id == "m1e3"] == ["missed"]
    assert not any(stroke.left_out for stroke in found.strokes)


def test_the_melody_note_leads_a_pinch(mixed: Arrangement) -> None:
    onsets = faultless(mixed)[0].onsets
    at_three = [stroke for stroke in onsets if stroke.pluck.id.startswith("m1") and stroke.pluck.at == 3]

    assert [stroke.note.pluck.melody for stroke in at_three] == [True]
    assert [stroke.place for stroke in onsets] == sorted({stroke.place for stroke in onsets})
