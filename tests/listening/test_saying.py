"""The sentences on constructed takes, each with its measures."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from habit_takes import Moved, faultless, habit_study, plain

from coach.arranging.arrangement import ArrangedMeasure, Pluck
from coach.listening.heard import HeardNote
from coach.listening.plan import PassPlan
from coach.listening.report import Scored, score
from coach.listening.saying import Saying, named_measures, say
from coach.listening.scores import PassResult
from coach.listening.strokes import PassStrokes, strokes_of

STUDY = habit_study(2)
EVERYWHERE = tuple(range(1, 17))


def planted(moved: Moved, **more: object) -> list[PassStrokes]:
    return plain(STUDY, 1, jitter=0.0, left_out=0.0, moved=moved, **more)  # type: ignore[arg-type]


def texts(passes: list[PassStrokes]) -> list[str]:
    return [saying.text for saying in say(passes)]


def test_a_pass_in_which_all_is_well_hears_so() -> None:
    assert say(faultless(STUDY)) == (
        Saying("Every measure is clean.", EVERYWHERE),
        Saying("The time is even: the notes scatter by only 0 ms.", EVERYWHERE),
        Saying("The melody stands out well, 3 dB above the fill.", EVERYWHERE),
    )


def test_silence_is_said_and_nothing_else() -> None:
    assert say(planted(lambda *_: None)) == (Saying("Nothing was heard in this pass.", EVERYWHERE),)


def test_the_fifth_string() -> None:
    def early(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return -0.018 if pluck.string == 5 else 0.0

    said = say(planted(early))

    assert said[0].text == "Every measure is clean."
    assert said[1].text == "The fifth string comes early, by 18 ms, in 12 of 12 measures."
    assert said[1].measures == tuple(m.number for m in STUDY.measures if any(p.string == 5 for p in m.plucks))


def test_a_habit_of_two_passes() -> None:
    def late(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return 0.06 if pluck.string == 5 else 0.0

    said = texts(planted(late, passes=2))

    assert "The fifth string comes late, by 60 ms, in 12 of 12 measures, as in the pass before." in said


def test_chord_changes() -> None:
    changes = {(m.number, c.at) for m in STUDY.measures for c in m.chords if m.number > 1}

    def late(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float:
        return 0.1 if (measure.number, pluck.at) in changes else 0.0

    said = say(planted(late))

    assert (
        Saying(
            "Chord changes come late, by 100 ms, in 11 of 11 measures: let the left hand go first.",
            tuple(number for number, _ in sorted(changes)),
        )
        in said
    )


def test_notes_that_follow_a_slur() -> None:
    def swallowed(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float | None:
        return None if measure.number in (4, 7, 12) and pluck.at == 1 else 0.0

    said = say(planted(swallowed))

    assert Saying("The note after a slur is swallowed, 3 of 8 times, in measures 4, 7 and 12.", (4, 7, 12)) in said


def test_a_fill_cut_short() -> None:
    def cut(pluck: Pluck, measure: ArrangedMeasure, plan: PassPlan) -> float | None:
        if measure.number == 2 and pluck.at >= 2:
            return None
        return -4 * plan.tempo_map.quarter / 2 if pluck.id == "m3e1" else 0.0

    said = say(planted(cut))

    assert said[0] == Saying(
        "The fill is cut short, in measure 2, so that the melody comes back two quarters early:"
        " let the roll run its length.",
        (2,),
    )


def test_plain_faults_are_counted_with_their_place_and_what_is_clean_is_said_too() -> None:
    def lost(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float | None:
        return None if measure.number == 6 and pluck.at > 2 else 0.0

    assert say(planted(lost)) == (
        Saying("3 notes were missed, in measure 6.", (6,)),
        Saying("Measures 1 to 5 and 7 to 16 are clean, and you kept going.", (*range(1, 6), *range(7, 17))),
    )


def test_notes_that_are_not_written_are_counted_where_they_are_faults() -> None:
    plan, starts = PassPlan(STUDY, 80.0), STUDY.starts()

    def with_more(*more: tuple[Fraction, int]) -> PassResult:
        struck = [
            (starts[measure.number] + pluck.at, 0.0, pluck.pitch, pluck.string) for measure, pluck in STUDY.plucks()
        ]
        struck += [(at, 0.09, pitch, 4) for at, pitch in more]
        notes = [
            HeardNote(plan.tempo_map.seconds(at) + late, pitch, 80, string, string, seq)
            for seq, (at, late, pitch, string) in enumerate(struck)
        ]
        return score([Scored(plan)], notes).results[0]

    one, two = with_more((starts[6], 49)), with_more((starts[6], 49), (starts[6] + 1, 49))
    harmless = replace(two, extras=(replace(two.extras[0], fault=False), two.extras[1]))

    assert "1 note was heard that is not written, in measure 6." in texts([strokes_of(one)])
    assert "1 note was heard that is not written, in measure 6." in texts([strokes_of(harmless)])
    assert say([strokes_of(two)])[0] == Saying("2 notes were heard that are not written, in measure 6.", (6,))


def test_where_most_faults_are() -> None:
    def lost(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float | None:
        most = measure.number == 6 and pluck.at > 2
        return None if most or (measure.number in (9, 13) and pluck.at == 3) else 0.0

    assert texts(planted(lost))[0] == "5 notes were missed, most of them in measure 6."


def test_a_passage_is_said_before_what_costs_less() -> None:
    def ahead(pluck: Pluck, measure: ArrangedMeasure, plan: PassPlan) -> float | None:
        if measure.number == 13 and pluck.at == 3:
            return None
        # An eighth ahead through four measures; the eighth before them gives way.
        if measure.number == 5 and pluck.at == Fraction(7, 2):
            return None
        return -plan.tempo_map.quarter / 2 if 6 <= measure.number <= 9 else 0.0

    said = say(planted(ahead))

    assert said[0].text.startswith("Measures 6 to ")
    assert said[0].text.endswith(": an eighth ahead.")
    assert set(said[0].measures) >= {6, 7, 8}
    praised = next(saying for saying in said if "clean" in saying.text)
    assert praised.measures
    assert set(praised.measures).isdisjoint(said[0].measures)


def test_where_a_pass_was_broken_off_comes_first() -> None:
    def until(_: Pluck, measure: ArrangedMeasure, __: PassPlan) -> float | None:
        return 0.0 if measure.number <= 5 else None

    said = say(planted(until))

    assert said[0] == Saying(
        "The pass was not played to its end; measure 5 is the last in which something was heard.", (5,)
    )
    assert "Measures 1 to 5 are clean." in [saying.text for saying in said]


def test_what_the_stop_cut_off_is_not_held_against_the_player() -> None:
    """In the middle of measure 6 nothing is played any more; the player stops at once, or only two measures later."""
    plan = PassPlan(STUDY, 80.0)
    middle = plan.starts[5][1] + 2
    heard = [
        HeardNote(plan.tempo_map.seconds(start + pluck.at), pluck.pitch, 80, pluck.string, pluck.string, index)
        for index, (start, pluck) in enumerate(
            (start, pluck) for measure, start in plan.starts for pluck in measure.plucks if start + pluck.at < middle
        )
    ]
    for quarters in (0, 8):
        stopped = plan.tempo_map.seconds(middle + quarters)
        said = say([strokes_of(score([Scored(plan, stopped)], heard).results[0])])
        texts = [saying.text for saying in said]

        assert texts[0].endswith("measure 6 is the last in which something was heard.")
        assert not any("missed" in text or "stopped" in text for text in texts)


def test_a_wrong_note_before_the_stop_was_heard_too() -> None:
    """In measure 6 nothing but its first pluck is struck, a wrong note; then the player stops."""
    plan = PassPlan(STUDY, 80.0)
    written = [
        (start + pluck.at, pluck, measure.number)
        for measure, start in plan.starts
        for pluck in measure.plucks
        if measure.number < 6 or (measure.number == 6 and pluck.at == 0)
    ]
    heard = [
        HeardNote(plan.tempo_map.seconds(at), pluck.pitch + (number == 6), 80, pluck.string, pluck.string, index)
        for index, (at, pluck, number) in enumerate(written)
    ]
    said = say([strokes_of(score([Scored(plan, plan.tempo_map.seconds(plan.starts[5][1] + 2))], heard).results[0])])

    assert said[0].text.endswith("measure 6 is the last in which something was heard.")
    assert Saying("1 note was wrong, in measure 6.", (6,)) in said


def test_a_note_that_was_missed_before_the_stop_is_said() -> None:
    def until(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float | None:
        missed = measure.number == 2 and pluck.id.endswith(("e1", "e4"))
        return None if missed or measure.number > 5 else 0.0

    assert "2 notes were missed, in measure 2." in texts(planted(until))


def test_there_are_never_more_than_three() -> None:
    def everything(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float | None:
        if measure.number % 3 == 0 and pluck.finger == "M":
            return None
        return (-0.05 if pluck.string == 5 else 0.0) + (0.1 if pluck.at == 0 else 0.0)

    said = texts(planted(everything, loudness=lambda _: 75.0))

    assert len(said) == 3
    assert all(text.endswith(".") and len(text) < 160 for text in said)


def test_measures_are_named_in_runs_and_not_at_all_when_too_many() -> None:
    assert named_measures((5,)) == "measure 5"
    assert named_measures((5, 6)) == "measures 5 and 6"
    assert named_measures((2, 5, 6, 7)) == "measures 2 and 5 to 7"
    assert named_measures((0, 2, 9)) == "measures 0, 2 and 9"
    assert named_measures((1, 3, 5, 7)) is None
    assert named_measures(()) is None


def test_without_a_click_nothing_is_said_of_one() -> None:
    def behind(_: Pluck, measure: ArrangedMeasure, __: PassPlan) -> float:
        return 0.012 * measure.number

    passes = planted(behind)

    assert any("behind the click" in saying.text for saying in say(passes))
    assert not any("click" in saying.text for saying in say(passes, to_click=False))
