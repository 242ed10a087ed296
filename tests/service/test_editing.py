"""A teacher's edits in a session: asked for by a page, tried, kept, taken back, and practised from the next pass."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from coach.arranging.edit_files import edits_from_json
from coach.arranging.edits import Addition, Edits, Lock, WrittenPluck
from coach.errors import ArrangeError, CoachError
from coach.service import protocol as wire
from coach.service.edit_desk import MOST_ASKED, EditDesk
from coach.service.edit_store import EditStore
from coach.service.jobs import Solo, mixed_of
from coach.service.pieces import Piece, measure_at


@pytest.fixture
def ready(world: Any) -> Any:
    world.ready()
    return world


@pytest.fixture
def page(ready: Any) -> Any:
    return ready.page()


def shown(page: Any) -> wire.State:
    return page.last(wire.State)  # type: ignore[no-any-return]


def edit(page: Any, does: Any = "lock", measure: int = 2, **fields: Any) -> None:
    """Ask for an edit of the solo that the page shows; what is written for it comes at once."""
    page.say(wire.Edit(shown(page).digest, measure, does, **fields))
    page.world.deliver()


def kept(world: Any) -> Edits:
    data: bytes = (world.root / "edits" / f"{world.tune.id}.json").read_bytes()
    return edits_from_json(data, "kept")


def last_pluck(solo: Solo, measure: int = 2) -> dict[str, Any]:
    """Where the last pluck of a measure is."""
    pluck = measure_at(solo.arrangement, measure).plucks[-1]
    return {"at": str(pluck.at), "string": pluck.string}


# ------------------------------------------------------------------------------------------ edits


def test_the_state_names_the_solos_of_all_tiers_and_what_can_be_done(page: Any, solos: Any) -> None:
    state = shown(page)
    assert state.solos == {tier: solos[tier].digest for tier in ("beginner", "intermediate", "advanced")}
    assert list(state.solos) == ["beginner", "intermediate", "advanced"]
    assert state.edits == wire.EditState()


def test_a_pluck_that_is_left_out_is_left_out_of_what_is_shown_and_kept(ready: Any, page: Any, solos: Any) -> None:
    edit(page, "leave out", **last_pluck(solos["beginner"]))

    state = shown(page)
    assert state.digest != solos["beginner"].digest
    assert state.solos == {tier: solos[tier].digest for tier in solos} | {"beginner": state.digest}
    assert (state.edits.edited, state.edits.locked, state.edits.undo, state.edits.redo) == ([2], [], True, False)
    assert (state.waiting, state.first, state.last) == ("", 1, 4)
    assert [each.source_measure for each in kept(ready).edits] == [2]
    assert not page.all(wire.Failure)


def test_what_was_chosen_stays_as_it_was(page: Any, solos: Any) -> None:
    page.say(wire.Settings(first=2, last=3, bounce=60, tempo=77.0))
    edit(page, "leave out", **last_pluck(solos["beginner"]))

    state = shown(page)
    assert (state.first, state.last, state.bounce, state.tempo) == (2, 3, 60, 77.0)


def test_a_way_is_taken_by_its_number_and_the_measure_freed_again(ready: Any, page: Any, solos: Any) -> None:
    page.say(wire.Settings(tier="intermediate"))
    ways = asyncio.run(ready.book.ways(solos["intermediate"].digest, 2))

    edit(page, "take", way=2)

    (lock,) = kept(ready).edits
    assert isinstance(lock, Lock)
    assert [(pluck.string, pluck.fret) for pluck in lock.plucks] == [
        (p.string, p.fret) for p in ways.measures[1].plucks
    ]
    assert shown(page).edits.locked == [2]

    edit(page, "free")
    assert shown(page).digest == solos["intermediate"].digest
    assert shown(page).edits == wire.EditState(undo=True, steps=2)
    assert kept(ready).edits == ()


def test_a_measure_that_is_locked_as_it_is_sounds_as_before(page: Any, solos: Any) -> None:
    edit(page, "lock", 3)

    assert shown(page).digest == solos["beginner"].digest
    assert shown(page).edits == wire.EditState(locked=[3], undo=True, steps=1)


def test_what_changes_nothing_is_refused(page: Any) -> None:
    edit(page, "lock", 3)
    edit(page, "lock", 2)
    edit(page, "lock", 3)

    failure = wire.Failure("measure 3: it stands like that already; leave it as it is.", "edit")
    assert page.last(wire.Failure) == failure
    assert shown(page).edits.steps == 2


def test_an_edit_of_one_tier_leaves_the_others(page: Any, solos: Any) -> None:
    edit(page, "leave out", **last_pluck(solos["beginner"]))
    page.say(wire.Settings(tier="advanced"))

    assert (shown(page).digest, shown(page).edits) == (solos["advanced"].digest, wire.EditState(undo=True, steps=1))


def test_a_broken_rule_of_the_hands_is_told_and_the_edit_holds(page: Any) -> None:
    edit(page, "add", at="1/2", pluck=wire.EditedPluck(4, 19, "T"))

    edits = shown(page).edits
    assert edits.edited == [2]
    assert any(remark.startswith("Measure 2 breaks a rule, as asked: ") for remark in edits.remarks)


# ------------------------------------------------------------------------------------------ back and forth


def seen_of(page: Any) -> tuple[str, list[int], list[int]]:
    """What is seen of a solo and its edits."""
    return shown(page).digest, shown(page).edits.locked, shown(page).edits.edited


@settings(max_examples=6)
@given(data=st.data())
def test_back_gives_the_older_solos_and_forth_the_newer_ones(
    make_world: Callable[[Path], Any], tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    world = make_world(tmp_path_factory.mktemp("edited"))
    with closing(world.session):
        world.ready()
        page = world.page()
        seen = [seen_of(page)]
        for _ in range(data.draw(st.integers(1, 4))):
            does = data.draw(st.sampled_from(["lock", "free", "add", "leave out"]))
            at, string = str(Fraction(data.draw(st.integers(0, 7)), 2)), data.draw(st.integers(1, 4))
            pluck = wire.EditedPluck(string, 2, "T")
            edit(page, does, data.draw(st.integers(1, 4)), at=at, string=string, pluck=pluck)
            if seen_of(page) != seen[-1]:
                seen.append(seen_of(page))
                assert kept(world) == world.desk.edits_of(world.tune.id) or not kept(world).edits

        def goes(message: Any) -> Any:
            page.say(message)
            world.deliver()
            return seen_of(page)

        assert [goes(wire.Undo()) for _ in seen[1:]] == seen[-2::-1]
        assert not shown(page).edits.undo
        assert [goes(wire.Redo()) for _ in seen[1:]] == seen[1:]
        assert not shown(page).edits.redo


def test_nothing_to_take_back_or_do_again_is_said(page: Any) -> None:
    page.say(wire.Undo())
    assert page.last(wire.Failure) == wire.Failure("there is no edit to take back; edit a measure first.", "edit")
    page.say(wire.Redo())
    assert page.last(wire.Failure).text == "no edit was taken back that could be done again; edit a measure."


def test_a_new_edit_ends_what_could_be_done_again(page: Any) -> None:
    edit(page, "lock", 1)
    page.say(wire.Undo())
    page.world.deliver()
    assert shown(page).edits.redo

    edit(page, "lock", 2)

    assert shown(page).edits == wire.EditState(locked=[2], undo=True, steps=1)


# ------------------------------------------------------------------------------------------ what is refused


def test_an_edit_of_another_solo_than_the_one_at_hand_is_refused(page: Any, solos: Any) -> None:
    page.say(wire.Edit(solos["advanced"].digest, 2, "lock"))

    assert page.last(wire.Failure) == wire.Failure(
        "the solo was written anew meanwhile; look at it, and edit it again.", "edit"
    )
    assert shown(page).edits == wire.EditState()


def test_an_edit_from_before_another_pages_is_refused(ready: Any, page: Any, solos: Any) -> None:
    """The notes are the same, and yet the edits are others."""
    page.say(wire.Edit(solos["beginner"].digest, 1, "lock"))
    page.say(wire.Edit(solos["beginner"].digest, 2, "lock"))  # the solos that were written for the first are on the way

    assert page.last(wire.Failure).about == "edit"
    ready.deliver()
    assert shown(page).edits.locked == [1]


def test_an_edit_that_cannot_be_written_changes_nothing(page: Any, solos: Any) -> None:
    edit(page, "add", at="1/16", pluck=wire.EditedPluck(1, 0, "T"))

    failure = page.last(wire.Failure)
    assert failure.about == "edit"
    assert "position 1/16 is no half of a slot" in failure.text
    assert (shown(page).digest, shown(page).edits) == (solos["beginner"].digest, wire.EditState())
    assert not (page.world.root / "edits").exists()


@pytest.mark.parametrize("name", ["../outside", "outside/../../within", "nul\x00"])
def test_nothing_is_read_or_written_for_a_tune_that_is_not_there(ready: Any, page: Any, name: str) -> None:
    """A page may name any; only the book's own are names of files."""
    page.say(wire.Settings(tune=name))
    assert shown(page).tune == name
    for message in (wire.Edit("", 1, "lock"), wire.Undo(), wire.Redo()):
        page.say(message)
        assert page.last(wire.Failure).about == "edit"

    assert len(page.all(wire.Failure)) == 3
    assert not (ready.root / "edits").exists()


def test_what_goes_wrong_in_the_service_is_answered_too(
    ready: Any, page: Any, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def stumble(_: Edits) -> None:
        raise ValueError("a slip")

    monkeypatch.setattr(EditStore, "write", lambda _, edits: stumble(edits))
    edit(page)

    assert page.last(wire.Failure) == wire.Failure(
        "something went wrong in the service; its log has the details.", "edit"
    )
    assert "a slip" in caplog.text


def test_who_asks_for_too_much_at_once_is_refused(tmp_path: Path, tune: Any, solos: Any, ready: Any) -> None:
    asked: list[Any] = []
    told: list[CoachError | None] = []
    desk = EditDesk(ready.book, EditStore(tmp_path), asked.append, lambda _: None)
    for _ in range(MOST_ASKED + 1):
        desk.ask(wire.Undo(), Piece(tune.id), solos["beginner"], told.append)
    assert [str(each) for each in told] == ["too many edits are asked for at once; wait for those that are being made."]

    for each in asked:
        asyncio.run(each)
    desk.ask(wire.Undo(), Piece(tune.id), solos["beginner"], told.append)
    asyncio.run(asked.pop())

    assert len(told) == MOST_ASKED + 2
    assert str(told[-1]) == "there is no edit to take back; edit a measure first."


def test_during_a_pass_nothing_is_edited(ready: Any, page: Any, solos: Any) -> None:
    page.say(wire.Start())
    for message in (wire.Edit(solos["beginner"].digest, 2, "lock"), wire.Undo(), wire.Redo()):
        page.say(message)
        assert page.last(wire.Failure) == wire.Failure("a pass is being played; stop it first.", "edit")
    assert not ready.fetched


def test_a_solo_that_cannot_be_edited_says_why(ready: Any, page: Any) -> None:
    ready.book.why = "A roll study is not edited: it goes over its roll as it is."
    edit(page)

    assert page.last(wire.Failure) == wire.Failure(ready.book.why, "edit")
    page.say(wire.Settings(tempo=71.0))
    assert shown(page).edits == wire.EditState(why_not=ready.book.why)


def test_a_failure_is_told_to_the_page_that_asked(ready: Any, page: Any) -> None:
    other = ready.page("other")
    page.say(wire.Undo())

    assert len(page.all(wire.Failure)) == 1
    assert not other.all(wire.Failure)


def test_a_seam_that_no_hand_can_play_is_refused(ready: Any, page: Any, tune: Any, solos: Any) -> None:
    page.say(wire.Settings(mix=[2, 3]))
    ready.made.pop()[1](mixed_of(tune, "beginner", (2, 3)))
    ready.settle()
    ready.book.fails = ArrangeError("no hand can join the tiers")
    ready.book.failing = lambda piece: bool(piece.mix)
    edit(page, "lock", 2)

    assert page.last(wire.Failure) == wire.Failure("no hand can join the tiers.", "edit")
    assert shown(page).mix == [2, 3]
    assert not shown(page).edits.undo


# ------------------------------------------------------------------------------------------ mixed solos and passes


def test_a_mixed_solo_is_made_anew_with_the_edits_of_its_tiers(ready: Any, page: Any, tune: Any) -> None:
    mixed = mixed_of(tune, "beginner", (2, 3))
    page.say(wire.Settings(mix=[2, 3]))
    ready.made.pop()[1](mixed)
    ready.settle()
    edit(page, "leave out", **last_pluck(mixed))

    piece, done = ready.made.pop()
    assert {each.tier for each in piece.edits.edits} == {"intermediate"}
    assert shown(page).digest == mixed.digest  # until the new one is there
    again = mixed_of(tune, "beginner", (2, 3), piece.edits)
    done(again)
    ready.settle()
    assert (shown(page).digest, shown(page).mix) == (again.digest, [2, 3])
    assert (shown(page).edits.locked, shown(page).edits.edited) == ([2], [2])


def test_another_sessions_edit_during_a_pass_counts_from_the_next(
    ready: Any, page: Any, solos: Any, as_written: Any
) -> None:
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = float(begin.origin or page.now() + 0.2 + begin.lead)
    asked = wire.Edit(solos["beginner"].digest, 2, "leave out", **last_pluck(solos["beginner"]))
    session = ready.session
    ready.desk.ask(asked, session._choice.piece, session._choice.solo, lambda error: None)
    ready.deliver()
    assert shown(page).digest == solos["beginner"].digest
    assert (shown(page).edits.edited, shown(page).edits.undo) == ([], True)  # of the solo that is played none is

    ready.play(page, as_written(solos["beginner"], 120.0), until=8.6, origin=origin)
    assert page.last(wire.PracticeReport).clean
    assert shown(page).digest != solos["beginner"].digest
    assert shown(page).edits.edited == [2]
    page.say(wire.Start())
    assert page.last(wire.Begin).digest == shown(page).digest


def test_during_a_pass_the_edits_are_those_of_its_tune(ready: Any, page: Any) -> None:
    edit(page, "lock", 3)
    page.say(wire.Start())
    page.say(wire.Settings(tune="another"))

    assert shown(page).tune == "another"
    assert shown(page).edits.locked == [3]


def test_a_pass_waits_for_the_solos_that_an_edit_changes(ready: Any, page: Any, solos: Any) -> None:
    page.say(wire.Edit(solos["beginner"].digest, 2, "leave out", **last_pluck(solos["beginner"])))
    page.say(wire.Start())
    assert not page.all(wire.Begin)

    ready.deliver()

    assert page.last(wire.Begin).digest == shown(page).digest != solos["beginner"].digest


# ------------------------------------------------------------------------------------------ another day


@pytest.fixture
def another_day(new_world: Callable[[], Any]) -> Callable[[Any], Any]:
    """Makes a world in whose data folder these edits are kept; its tune has come into the book."""

    def begin(edits: Edits | bytes) -> Any:
        world = new_world()
        store = EditStore(world.root / "edits")
        if isinstance(edits, bytes):
            store.path(world.tune.id).parent.mkdir()
            store.path(world.tune.id).write_bytes(edits)
        else:
            store.write(replace(edits, tune=world.tune.id))
        asyncio.run(world.desk.meet([world.tune.id]))
        return world

    return begin


def test_edits_hold_again_another_day_and_can_be_taken_back_one_by_one(
    another_day: Any, ready: Any, page: Any, solos: Any
) -> None:
    edit(page, "leave out", **last_pluck(solos["beginner"]))
    first = shown(page).digest
    edit(page, "lock", 3)
    second = shown(page)

    world = another_day(kept(ready))
    world.ready()
    other = world.page()
    assert (shown(other).digest, shown(other).edits) == (second.digest, second.edits)
    other.say(wire.Undo())
    world.deliver()
    assert (shown(other).digest, shown(other).edits.locked) == (first, [])
    other.say(wire.Undo())
    world.deliver()
    assert (shown(other).digest, shown(other).edits) == (solos["beginner"].digest, wire.EditState(redo=True))


def test_a_file_that_cannot_be_read_is_left_alone_and_said(another_day: Any, solos: Any) -> None:
    world = another_day(b"{}")
    world.ready()
    page = world.page()

    why_not = shown(page).edits.why_not
    assert "The edits that were kept of this tune are not used" in why_not
    assert '"format" is not "edits/1"' in why_not
    assert why_not.count(str(world.root)) == 1  # where the file is
    assert shown(page).digest == solos["beginner"].digest
    edit(page)
    assert page.last(wire.Failure).text == why_not
    assert (world.root / "edits" / f"{world.tune.id}.json").read_bytes() == b"{}"


def test_kept_edits_that_do_not_fit_are_set_aside_and_the_solo_is_there(another_day: Any, solos: Any) -> None:
    far = Addition("beginner", 9, WrittenPluck(Fraction(0), 1, 0, "T"))
    world = another_day(Edits("", (far,)))
    world.begin()
    assert world.edits[world.tune.id] is not None

    edits, error = world.edits[world.tune.id], ArrangeError("the tune has no measure 9 on paper")
    world.fetched.clear()
    world.desk.set_aside(world.tune.id, edits, error)
    assert world.edits[world.tune.id] is None
    assert len(world.fetched) == 1
    world.desk.set_aside(world.tune.id, edits, error)  # another session had asked for them too
    assert len(world.fetched) == 1
    world.deliver()

    page = world.page()
    assert shown(page).digest == solos["beginner"].digest
    assert "the tune has no measure 9 on paper" in shown(page).edits.why_not


def test_a_file_that_comes_once_more_does_not_bring_back_what_was_kept_before(another_day: Any, solos: Any) -> None:
    world = another_day(Edits("", ()))
    world.ready()
    page = world.page()
    edit(page, "lock", 3)
    EditStore(world.root / "edits").write(Edits(world.tune.id))  # as if the edit were still on its way to the disk
    asyncio.run(world.desk.meet([world.tune.id]))
    page.say(wire.Settings(tempo=71.0))

    assert shown(page).edits.undo
    assert world.desk.edits_of(world.tune.id) is not None


def test_edits_that_cannot_be_kept_hold_and_that_is_said(ready: Any, page: Any) -> None:
    (ready.root / "edits").write_text("in the way")
    edit(page, "lock", 3)

    assert "the edits cannot be kept" in page.last(wire.Failure).text
    assert page.last(wire.Failure).about == "edit"
    assert shown(page).edits.locked == [3]


def test_a_worker_that_dies_leaves_the_edits_as_they_were(ready: Any, page: Any, solos: Any) -> None:
    ready.book.fails = CoachError("arranging 'Test Lane' was ended")
    edit(page, "leave out", **last_pluck(solos["beginner"]))

    assert page.last(wire.Failure) == wire.Failure("arranging 'Test Lane' was ended.", "edit")
    assert shown(page).edits == wire.EditState()
