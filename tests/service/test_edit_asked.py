"""What a page asks of a measure: what is seen with that one change comes of it, whatever was edited before."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from coach.arranging.arrangement import TIERS, ArrangedMeasure
from coach.arranging.edits import Addition, Edits, LeaveOut, Lock, Replacement
from coach.errors import InputError
from coach.service import protocol as wire
from coach.service.edit_asked import edit_state, edits_asked
from coach.service.jobs import Solo, mixed_of, solo_of, ways_of
from coach.service.pieces import measure_at
from coach.tunes.tune import Tune

Sound = tuple[Fraction, int, int]


def edit(solo: Solo, measure: int = 1, does: Any = "lock", **fields: Any) -> wire.Edit:
    return wire.Edit(solo.digest, measure, does, **fields)


def pick(string: int, fret: int, finger: Any = "T") -> wire.EditedPluck:
    return wire.EditedPluck(string, fret, finger)


def sounds(measure: ArrangedMeasure) -> list[Sound]:
    return [(pluck.at, pluck.string, pluck.fret) for pluck in measure.plucks]


def without(measure: ArrangedMeasure, at: Fraction, string: int) -> list[Sound]:
    """What sounds in a measure without a pluck, and without what is slurred from it."""
    own = sorted((pluck for pluck in measure.plucks if pluck.string == string and pluck.at >= at), key=lambda p: p.at)
    gone = {own[0].id}
    for pluck in own[1:]:
        if pluck.technique == "pick":
            break
        gone.add(pluck.id)
    return [(pluck.at, pluck.string, pluck.fret) for pluck in measure.plucks if pluck.id not in gone]


def in_order(found: list[Sound]) -> list[Sound]:
    return sorted(found, key=lambda sound: (sound[0], -sound[1]))


# ------------------------------------------------------------------------------------------ what is seen comes of it


@settings(max_examples=15)
@given(st.data())
def test_single_plucks_are_edited_as_they_are_seen(tune: Tune, data: st.DataObject) -> None:
    tune, tier = replace(tune, measures=tune.measures[:2]), data.draw(st.sampled_from(TIERS))
    edits, solo = None, solo_of(tune, tier)
    for _ in range(4):
        measure = data.draw(st.sampled_from(solo.arrangement.measures))
        does: Any = data.draw(st.sampled_from(["add", "leave out", "replace"]))
        taken = {(at, string) for at, string, _ in sounds(measure)}
        slots = [Fraction(k, 2) for k in range(8)]
        free = [(at, string) for at in slots for string in (1, 2, 3, 4) if (at, string) not in taken]
        picked = [pluck for pluck in measure.plucks if pluck.technique == "pick"]
        if does != "add" and not picked:
            continue
        if does == "add":
            at, string = data.draw(st.sampled_from(free))
            message = edit(solo, measure.number, does, at=str(at), pluck=pick(string, 3))
            expected = [*sounds(measure), (at, string, 3)]
        else:
            pluck = data.draw(st.sampled_from(picked))
            at, string = pluck.at, pluck.string
            expected = without(measure, at, string)
            message = edit(solo, measure.number, does, at=str(at), string=string)
            if does == "replace":
                to = data.draw(st.sampled_from([each for where, each in free if where == at]))
                message = edit(solo, measure.number, does, at=str(at), string=string, pluck=pick(to, 2))
                expected.append((at, to, 2))

        edits = edits_asked(message, solo.arrangement, edits)
        solo = solo_of(tune, tier, edits)

        assert sounds(measure_at(solo.arrangement, measure.number)) == in_order(expected)
    assert solo_of(tune, tier, edits).digest == solo.digest


def test_beside_an_edited_measure_a_pluck_is_edited_as_it_is_seen_too(tune: Tune) -> None:
    first = solo_of(tune, "advanced")
    edits = edits_asked(edit(first, 1, "leave out", at="7/2", string=1), first.arrangement, None)
    solo = solo_of(tune, "advanced", edits)
    edits = edits_asked(edit(solo, 1, "add", at="2", pluck=pick(3, 3)), solo.arrangement, edits)
    solo = solo_of(tune, "advanced", edits)
    seen = measure_at(solo.arrangement, 2)
    assert sounds(seen) != sounds(measure_at(first.arrangement, 2))  # it was written anew beside the first

    at, string, _ = sounds(seen)[-1]
    edits = edits_asked(edit(solo, 2, "leave out", at=str(at), string=string), solo.arrangement, edits)

    assert sounds(measure_at(solo_of(tune, "advanced", edits).arrangement, 2)) == without(seen, at, string)


def test_a_pluck_that_was_edited_can_be_edited_again(tune: Tune) -> None:
    edits: Edits | None = None
    solo = solo_of(tune, "beginner")
    first = measure_at(solo.arrangement, 1).plucks[0]
    at = str(first.at)
    for message in (
        edit(solo, 1, "add", at=at, pluck=pick(1, 0, "M")),
        edit(solo, 1, "replace", at=at, string=first.string, pluck=pick(4, 5)),
        edit(solo, 1, "replace", at=at, string=4, pluck=pick(2, 1, "I")),
        edit(solo, 1, "leave out", at=at, string=1),
    ):
        edits = edits_asked(message, solo.arrangement, edits)
        solo = solo_of(tune, "beginner", edits)

    there = [sound for sound in sounds(measure_at(solo.arrangement, 1)) if sound[0] == first.at]
    assert there == [(first.at, 2, 1)]


def test_positions_go_into_the_tunes_own_time(solos: dict[Any, Solo]) -> None:
    solo = replace(solos["beginner"].arrangement, source_scale=Fraction(2))
    pluck = solo.measures[0].plucks[1]
    asked = wire.Edit("", 1, "leave out", at=str(pluck.at), string=pluck.string)

    (made,) = edits_asked(asked, solo, None).edits

    assert made == LeaveOut("beginner", 1, pluck.at / 2, pluck.string)


def test_each_kind_is_the_edit_of_its_name(solos: dict[Any, Solo]) -> None:
    solo = solos["beginner"]
    first = solo.arrangement.measures[0].plucks[0]
    at, other = str(first.at), next(string for string in (1, 2, 3, 4) if string != first.string)

    def made(does: Any, **fields: Any) -> Any:
        found = edits_asked(edit(solo, 1, does, **fields), solo.arrangement, None)
        assert (found.tune, found.tuning, found.position) == (solo.arrangement.tune, "open G", "G major")
        return found.edits[-1]

    assert isinstance(made("lock"), Lock)
    assert isinstance(made("replace", at=at, string=first.string, pluck=pick(other, 0)), Replacement)
    assert isinstance(made("add", at="1/2", pluck=pick(1, 0)), Addition)
    assert isinstance(made("leave out", at=at, string=first.string), LeaveOut)


def test_a_way_that_is_taken_is_what_stands(tune: Tune, solos: dict[Any, Solo]) -> None:
    solo = solos["intermediate"]
    ways = ways_of(tune, solo.arrangement, 2).measures
    message = edit(solo, 2, "take", way=2)

    edits = edits_asked(message, solo.arrangement, None, ways)

    taken = measure_at(solo_of(tune, "intermediate", edits).arrangement, 2)
    assert sounds(taken) == sounds(ways[1])
    assert sounds(taken) != sounds(measure_at(solo.arrangement, 2))


def test_a_measure_that_is_freed_is_as_the_search_had_it(tune: Tune, solos: dict[Any, Solo]) -> None:
    solo = solos["intermediate"]
    ways = ways_of(tune, solo.arrangement, 2).measures
    edits = edits_asked(edit(solo, 2, "take", way=1), solo.arrangement, None, ways)
    edits = edits_asked(edit(solo, 3, "lock"), solo.arrangement, edits)
    edited = solo_of(tune, "intermediate", edits)

    freed = edits_asked(edit(edited, 2, "free"), edited.arrangement, edits)

    assert [each.source_measure for each in freed.edits] == [3]
    assert solo_of(tune, "intermediate", freed).digest == solo.digest


def test_a_measure_of_a_mixed_solo_is_edited_in_its_own_tier(tune: Tune) -> None:
    solo = mixed_of(tune, "beginner", (2,))
    at, string, _ = sounds(measure_at(solo.arrangement, 2))[-1]

    edits = edits_asked(edit(solo, 2, "leave out", at=str(at), string=string), solo.arrangement, None)

    assert [type(each) for each in edits.edits] == [Lock, LeaveOut]
    assert {each.tier for each in edits.edits} == {"intermediate"}
    after = mixed_of(tune, "beginner", (2,), edits)
    expected = without(measure_at(solo.arrangement, 2), at, string)
    assert sounds(measure_at(after.arrangement, 2)) == expected


# ------------------------------------------------------------------------------------------ what cannot be asked


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"measure": 9}, "there is no measure 9 as played; choose from 1 to 4"),
        ({"does": "take"}, "which way to take is not said"),
        ({"does": "take", "way": 1}, "measure 1 has 0 other ways, not 1"),
        ({"does": "free"}, "measure 1: it stands like that already"),
        ({"does": "add"}, "measure 1: where in the measure is not said"),
        ({"does": "add", "at": "4"}, "measure 1: position 4 lies behind its end; stay below 4 quarters"),
        ({"does": "add", "at": "7/2"}, "measure 1, position 7/2: which pluck to write is not said"),
        ({"does": "add", "at": "1/2", "pluck": pick(5, 3)}, "string 5 has no fret 3"),
        (
            {"does": "add", "at": "1/2", "pluck": wire.EditedPluck(3, 2, "T", "hammer-on", 0)},
            "a picked note has a finger and no from_fret",
        ),
        ({"does": "leave out", "at": "0"}, "whose pluck is not said"),
        ({"does": "leave out", "at": "1/4", "string": 1}, "string 1 is not sounded there"),
        ({"does": "replace", "at": "1/4", "string": 1, "pluck": pick(1, 0)}, "string 1 is not sounded there"),
    ],
)
def test_what_is_not_there_or_lacks_something_is_said(solos: Any, fields: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        edits_asked(edit(solos["beginner"], **fields), solos["beginner"].arrangement, None)


def test_two_plucks_of_a_string_at_once_are_refused(solos: Any) -> None:
    solo = solos["beginner"]
    pluck = solo.arrangement.measures[0].plucks[0]
    at, same = str(pluck.at), pick(pluck.string, 2)
    with pytest.raises(InputError, match=f"string {pluck.string} is sounded there already; replace that pluck"):
        edits_asked(edit(solo, 1, "add", at=at, pluck=same), solo.arrangement, None)
    other = next(string for string in (1, 2, 3, 4) if string != pluck.string)
    two = solo_of_two(solo, at, other)
    with pytest.raises(InputError, match=f"string {other} is sounded there already"):
        edits_asked(edit(solo, 1, "replace", at=at, string=pluck.string, pluck=pick(other, 0)), two, None)


def solo_of_two(solo: Solo, at: str, string: int) -> Any:
    """A solo with one more pluck in its first measure."""
    first, *others = solo.arrangement.measures
    more = replace(first.plucks[0], id="m1e99", at=Fraction(at), string=string, fret=0)
    return replace(solo.arrangement, measures=(replace(first, plucks=(*first.plucks, more)), *others))


# ------------------------------------------------------------------------------------------ what pages are told


def test_pages_are_told_which_measures_are_edited_and_what_hands_make_of_it(tune: Tune, solos: Any) -> None:
    solo = solos["beginner"]
    edits = edits_asked(edit(solo, 2, "add", at="1/2", pluck=pick(4, 19)), solo.arrangement, None)
    edits = edits_asked(edit(solo, 3, "lock"), solo.arrangement, edits)
    edited = solo_of(tune, "beginner", edits)

    told = edit_state(edits, edited.arrangement, undo=True, redo=False, steps=1, why_not="")

    assert (told.locked, told.edited, told.undo, told.redo, told.why_not) == ([3], [2], True, False, "")
    assert told.remarks == [remark for remark in edited.arrangement.remarks if "breaks a rule, as asked" in remark]
    assert told.remarks
    other = edit_state(edits, solos["advanced"].arrangement, undo=True, redo=False, steps=1, why_not="")
    assert (other.locked, other.edited) == ([], [])
    assert edit_state(edits, edited.arrangement, undo=False, redo=False, steps=0, why_not="No.").locked == []
