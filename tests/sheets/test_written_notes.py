"""Notes on the staves: ties over barlines, voices, beams."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from strategies import solos

from coach.arranging.arrangement import Arrangement
from coach.sheets.written_notes import struck_voices, sung_measures
from coach.tunes.tune import Meter

H = Fraction(1, 2)


def test_a_note_of_two_measures_is_tied_and_keeps_its_name(waltz: Arrangement) -> None:
    rows = [
        [
            (note.piece.length, sung.name, sung.tied_in, sung.tied_out)
            for note in measure
            if (sung := note.piece.what) is not None
        ]
        for measure in sung_measures(waltz)
    ]
    assert rows == [[(3, "m1n1", False, False)], [(3, "m2n1", False, True)], [(3, "m2n1", True, False)]]


def test_a_note_ends_where_the_next_begins(solo: Arrangement) -> None:
    first = solo.measures[1]
    long = replace(first, melody=(replace(first.melody[0], length=Fraction(4)), *first.melody[1:]))
    (_, notes, *_) = sung_measures(replace(solo, measures=(solo.measures[0], long, *solo.measures[2:])))
    assert sum(note.piece.length for note in notes if note.piece.what and note.piece.what.name == "m1n1") == Fraction(
        3, 2
    )


def beams(solo: Arrangement) -> list[tuple[str, ...]]:
    return [note.beams for note in struck_voices(solo.measures[0], solo.slot)[0]]


def test_eighths_are_beamed_in_fours_and_sixteenths_twice(build: Callable[..., Arrangement]) -> None:
    rows = [(str(k * H), 3 - k % 3, 0, "TIM"[k % 3], "fill") for k in range(8)]
    assert beams(build(Meter(4, 4), rows)) == [("begin",), ("continue",), ("continue",), ("end",)] * 2
    hooked = [("0", 3, 0, "T", "fill"), ("1/4", 3, 2, None, "fill", "hammer-on", 0), ("1/2", 2, 0, "I", "fill")]
    hooked += [("1", 1, 0, "M", "fill"), ("7/4", 5, 0, "T", "drone"), ("2", 3, 0, "T", "fill")]
    assert beams(build(Meter(4, 4), hooked)) == [
        ("begin", "begin"),
        ("continue", "end"),
        ("continue",),
        ("continue",),
        ("end", "backward hook"),
        (),
    ]


def test_one_voice_serves_where_nothing_overlaps_and_rings_apart_take_two(solo: Arrangement) -> None:
    measure = solo.measures[4]
    assert len(struck_voices(measure, solo.slot)) == 1
    *others, last = measure.plucks
    shorter = replace(measure, plucks=(*others, replace(last, length=H)))
    first, second = struck_voices(shorter, solo.slot)
    assert [len(note.piece.what.plucks) for note in first if note.piece.what] == [1, 1, 1, 1, 2]
    assert [(note.piece.at, note.piece.length) for note in second if note.piece.what] == [(3, H)]


def test_six_slots_of_three_quarters_are_beamed_together_and_groups_of_three_apart(
    waltz: Arrangement, jig: Arrangement
) -> None:
    def beams_begun(solo: Arrangement, number: int) -> list[int]:
        (voice,) = struck_voices(solo.measures[number], solo.slot)
        return [index for index, note in enumerate(voice) if "begin" in note.beams]

    assert beams_begun(waltz, 1) == [0]
    assert beams_begun(jig, 0) == [0, 3]


def test_a_measure_without_plucks_has_a_voice_of_rests(solo: Arrangement) -> None:
    (voice,) = struck_voices(replace(solo.measures[1], plucks=()), solo.slot)
    assert [(note.piece.what, note.piece.length) for note in voice] == [(None, 4)]


@settings(max_examples=25)
@given(solos())
def test_every_pluck_is_written_once_at_its_length(solo: Arrangement) -> None:
    for measure in solo.measures:
        written: dict[str, Fraction] = {}
        begun: list[str] = []
        for voice in struck_voices(measure, measure.slot or solo.slot):
            assert sum(note.piece.length for note in voice) == measure.length
            for note in voice:
                for pluck in note.piece.what.plucks if note.piece.what else ():
                    written[pluck.id] = written.get(pluck.id, Fraction(0)) + note.piece.length
                    begun += [pluck.id] * note.piece.first
        assert written == {pluck.id: pluck.length for pluck in measure.plucks}
        assert sorted(begun) == sorted(written)
