"""The ABC that the page writes of a draft, read by music21 and by the reader of tunes."""

from __future__ import annotations

import functools
import json
import subprocess
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Tune

SCRIPT = Path(__file__).parents[1] / "page_js" / "enter_drafts.mjs"
QUARTER = 48
COUNT = 60

Sounding = list[tuple[Fraction, Fraction, int]]


def written() -> list[dict[str, Any]]:
    """Drafts by chance with their ABC, the same ones in every run."""
    run = subprocess.run(["node", str(SCRIPT), str(COUNT)], capture_output=True, text=True, check=True)
    return [json.loads(line) for line in run.stdout.splitlines()]


WRITTEN = written()
each_draft = pytest.mark.parametrize("start", range(0, COUNT, 20))


@functools.cache
def read(abc: str) -> Tune:
    """What the reader of tunes makes of it."""
    return read_tune_bytes(abc.encode(), "draft.abc")


def notes_of(draft: dict[str, Any]) -> Sounding:
    """What a draft sounds: begin and length in quarters and pitch, ties joined."""
    notes: Sounding = []
    at, held = Fraction(0), False
    for note in draft["notes"]:
        length = Fraction(note["length"], QUARTER)
        if note["pitch"] is not None and held:
            begin, before, pitch = notes.pop()
            notes.append((begin, before + length, pitch))
        elif note["pitch"] is not None:
            notes.append((at, length, note["pitch"]))
        held = note["tied"]
        at += length
    return notes


def notes_of_tune(tune: Tune) -> Sounding:
    """The same of a tune that was read."""
    notes: Sounding = []
    at = Fraction(0)
    for measure in tune.measures:
        notes += [(at + note.at, note.length, note.pitch) for note in measure.notes]
        at += measure.length
    return notes


def notes_of_music21(abc: str) -> tuple[Sounding, int]:
    """What music21 reads: the notes, ties joined, and the sharps of the key signature."""
    from music21 import converter

    score = converter.parse(abc, format="abc")
    notes: Sounding = []
    held = False
    for note in score.recurse().notes:
        if not note.isNote:
            continue  # a chord name
        at = Fraction(note.getOffsetInHierarchy(score)).limit_denominator(QUARTER)
        length = Fraction(note.quarterLength).limit_denominator(QUARTER)
        if held:
            begin, before, pitch = notes.pop()
            assert (begin + before, pitch) == (at, note.pitch.midi)
            notes.append((begin, before + length, pitch))
        else:
            notes.append((at, length, note.pitch.midi))
        held = note.tie is not None and note.tie.type != "stop"
    signature = score.recurse().getElementsByClass("KeySignature").first()
    return notes, signature.sharps if signature else 0


@each_draft
def test_music21_hears_what_was_written(start: int) -> None:
    tidy = [each for each in WRITTEN[start : start + 20] if each["tidy"]]  # it knows no triplet that is broken off
    assert tidy

    for each in tidy:
        assert notes_of_music21(each["abc"]) == (notes_of(each["draft"]), each["sharps"]), each["abc"]


@each_draft
def test_the_reader_of_tunes_reads_what_was_written(start: int) -> None:
    for each in WRITTEN[start : start + 20]:
        draft = each["draft"]
        tune = read(each["abc"])

        assert notes_of_tune(tune) == notes_of(draft), each["abc"]
        assert (tune.key.tonic, tune.key.mode) == (draft["tonic"], draft["mode"])
        assert [part for word in tune.title.split() for part in word] == [
            letter for letter in draft["title"] if not letter.isspace() and letter not in "%\\"
        ]
        lengths = {measure.length for measure in tune.measures[1:-1]}
        assert lengths <= {tune.measures[0].meter.length}


def chord_names(tune: Tune) -> dict[Fraction, str]:
    names: dict[Fraction, str] = {}
    at = Fraction(0)
    for measure in tune.measures:
        names |= {at + change.at: change.chord.symbol for change in measure.chords}
        at += measure.length
    return names


@each_draft
def test_chords_stand_at_their_beats_also_within_held_notes(start: int) -> None:
    for each in WRITTEN[start : start + 20]:
        given = {Fraction(int(at), QUARTER): name for at, name in each["draft"]["chords"].items()}
        names = chord_names(read(each["abc"]))

        assert {at: name for at, name in names.items() if at in given} == given, each["abc"]


@each_draft
def test_every_measure_is_full_but_for_the_pickup_and_the_last(start: int) -> None:
    for each in WRITTEN[start : start + 20]:
        draft = each["draft"]
        count, unit = map(int, draft["meter"].split("/"))
        full, pickup = Fraction(4 * count, unit), Fraction(draft["pickup"], QUARTER)

        lengths = [measure.length for measure in read(each["abc"]).measures]

        assert lengths[0] == (pickup or full) or len(lengths) == 1
        assert lengths[-1] in {full, full - pickup, pickup}, each["abc"]


def test_words_lie_under_the_notes_they_were_written_for() -> None:
    laid = 0
    for each in WRITTEN:
        draft = each["draft"]
        if not draft["words"].startswith("Down"):
            continue
        tune = read(each["abc"])
        lyrics = [note.lyric for measure in tune.measures for note in measure.notes]
        words = ["Down", "by", "the", "ri-", "ver", None, "bends", "a", "slow", "wa-", "ter", "wheel"]

        assert lyrics == (words + [None] * len(lyrics))[: len(lyrics)], each["abc"]
        laid += len(lyrics)
    assert laid > 100


def test_drafts_by_chance_hold_what_can_go_wrong() -> None:
    drafts = [each["draft"] for each in WRITTEN]
    triplets = [[note["triplet"] for note in draft["notes"]] for draft in drafts]

    assert sum(draft["pickup"] > 0 for draft in drafts) > 10
    assert any(note["tied"] for draft in drafts for note in draft["notes"])
    assert any(left and not right for flags in triplets for left, right in pairwise(flags))
    assert sum("(3:2:" in each["abc"] for each in WRITTEN) > 5
    assert len({(draft["tonic"], draft["mode"]) for draft in drafts}) > 20
