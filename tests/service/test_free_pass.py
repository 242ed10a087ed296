"""A pass in free time, from Start to report, with pages in memory and a clock that stands still."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from msgspec import structs

from coach.errors import InputError
from coach.listening.free_ear import AFTER_LAST
from coach.service import protocol as wire
from coach.service.passes import CapturedNote
from coach.service.runner import AT_EASE, UNHEARD
from coach.service.settings import Chosen, changed
from coach.takes.replay import replay, report_text
from coach.takes.sessions import mend, read_session

TEMPO = 120.0
PAUSE = 5.0

Written = Callable[..., list[tuple[float, bytes]]]


@pytest.fixture
def free(world: Any) -> Any:
    """A page on which the tune is chosen, to be played in free time."""
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=TEMPO, free_time=True))
    return page


def state(page: Any) -> str:
    return str(page.last(wire.State).state)


def slowly(notes: list[tuple[float, bytes]], stop_after: int | None = None) -> list[tuple[float, bytes]]:
    """The notes at two thirds of their tempo, a second after Start, with a stop to think after some."""
    return [
        (1.0 + seconds * 1.5 + (PAUSE if stop_after is not None and index >= stop_after else 0.0), data)
        for index, (seconds, data) in enumerate(notes)
    ]


def play(world: Any, page: Any, notes: list[tuple[float, bytes]], more: float = 0.2) -> None:
    """Start a pass and play it on the pad, and go on for some seconds."""
    page.say(wire.Start())
    origin = page.now()
    world.play(page, notes, until=max((seconds for seconds, _ in notes), default=0.0) + more, origin=origin)


def folder(world: Any) -> Path:
    (found,) = world.root.iterdir()
    return Path(found)


def check_replay(world: Any) -> Any:
    """The folder is whole and replays to its own bytes; gives its report."""
    found = read_session(folder(world))
    assert not (folder(world) / "journal.jsonl").exists()
    assert found.report == report_text(replay(found))
    return json.loads(found.report or "")


def test_it_begins_at_once_and_nothing_sounds(world: Any, free: Any) -> None:
    free.say(wire.Start())
    begin = free.last(wire.Begin)

    assert state(free) == "playing"
    assert (begin.free, begin.sounds, begin.cues, begin.lead) == (True, False, [], 0.0)
    assert begin.origin == pytest.approx(free.now())


def test_marks_and_the_place_come_while_it_is_played(world: Any, free: Any, solos: Any, as_written: Written) -> None:
    notes = slowly(as_written(solos["beginner"], TEMPO))
    notes[3] = (notes[3][0], bytes((0x90, 40, 90)))
    play(world, free, notes[:10])
    plucks = [pluck for _, pluck in solos["beginner"].arrangement.plucks()]

    heard = free.all(wire.HeardMark)
    assert [(mark.id, mark.mark) for mark in heard[:4]] == [
        *((pluck.id, "on time") for pluck in plucks[:3]),
        (plucks[3].id, "wrong note"),
    ]
    assert {mark.offset_ms for mark in heard} == {None}
    assert free.last(wire.Place).measure == int(plucks[9].id[1 : plucks[9].id.index("e")])
    assert free.last(wire.Place).tempo == pytest.approx(TEMPO / 1.5, abs=2.0)
    assert free.all(wire.VerdictMark) == []
    assert state(free) == "playing"


def test_a_page_that_comes_meanwhile_is_told_of_the_pass_but_not_of_where_the_player_was(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    play(world, free, slowly(as_written(solos["beginner"], TEMPO))[:10])
    assert free.all(wire.Place)
    other = world.page("other")

    assert other.last(wire.Begin).free
    assert other.all(wire.Place) == other.all(wire.HeardMark) == []


def test_the_last_place_and_silence_end_it_with_the_report(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    play(world, free, slowly(as_written(solos["beginner"], TEMPO), stop_after=6), more=AFTER_LAST - 0.1)
    assert state(free) == "playing"
    world.run(0.5, marks=(free,))

    assert state(free) == "paused"
    report = free.last(wire.PracticeReport)
    assert (report.free, report.whole, report.clean, report.rung) == (True, True, True, None)
    assert [measure["tempo"] for measure in report.measures] == pytest.approx([TEMPO / 1.5] * 4, abs=2.0)
    assert {measure["mean_offset_ms"] for measure in report.measures} == {None}
    assert report.summary["tempo"] == pytest.approx(TEMPO / 1.5, abs=1.0)
    assert report.summary["mean_offset_ms"] is report.summary["tempo_drift_percent"] is None
    assert report.sentences[0] == "Every measure is clean."
    assert any(sentence.endswith("stopped and went on.") for sentence in report.sentences)
    assert not any("click" in sentence for sentence in report.sentences)
    verdicts = free.all(wire.VerdictMark)
    assert {(verdict.verdict, verdict.offset_ms) for verdict in verdicts} == {("on time", None)}
    told = check_replay(world)
    take = read_session(folder(world)).take
    assert take.end - take.messages[-1].seconds == pytest.approx(AFTER_LAST, abs=0.03)
    assert told["free"] is True
    assert told["tempo"] == report.summary["tempo"]
    assert json.loads((folder(world) / "session.json").read_text("utf-8"))["passes"][0]["free"] is True


def test_stop_ends_it_and_what_was_not_come_to_is_not_expected(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    notes = slowly(as_written(solos["beginner"], TEMPO))
    play(world, free, notes[:9])
    free.say(wire.Stop())
    world.run(0.5, marks=(free,))

    report = free.last(wire.PracticeReport)
    assert not report.whole
    assert sum(int(measure["expected"] or 0) for measure in report.measures) == 9
    assert check_replay(world)["summary"]["played_share"] == 1.0


def test_the_ladder_does_not_climb_on_it_and_the_lean_stays(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    notes = as_written(solos["beginner"], TEMPO)
    free.say(wire.Settings(free_time=False))
    free.say(wire.Start())
    world.play(free, [(seconds + 0.02, data) for seconds, data in notes], until=9.0, origin=free.now() + 2.2)
    rung = free.last(wire.State).rung
    assert rung is not None
    ladder = read_session(folder(world)).session.ladder

    free.say(wire.Settings(tempo=TEMPO, free_time=True, keep_going=True))
    play(world, free, slowly(notes), more=AFTER_LAST + 60.0)

    without = "Without a click the ladder stays where it is."  # in place of words on a pass that is not the last
    assert free.last(wire.State).rung == structs.replace(rung, why=without)
    assert read_session(folder(world)).session.ladder == ladder
    assert (state(free), free.last(wire.State).number) == ("paused", 2)
    free.say(wire.Settings(free_time=False))
    free.say(wire.Start())
    assert read_session(folder(world)).session.passes[-1].lean_ms == pytest.approx(20.0, abs=0.1)


def test_passes_with_a_click_and_without_replay_from_one_folder(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    notes = as_written(solos["beginner"], TEMPO)
    play(world, free, slowly(notes)[:-2], more=0.2)
    free.say(wire.Stop())
    world.run(0.5, marks=(free,))
    free.say(wire.Settings(free_time=False))
    free.say(wire.Start())
    # Stopped early, so that the take runs on beyond what comes next.
    world.play(free, notes[:5], until=3.0, origin=free.now() + 2.2)
    free.say(wire.Stop())
    world.run(0.5, marks=(free,))
    free.say(wire.Settings(free_time=True))
    play(world, free, slowly(notes), more=AFTER_LAST + 0.5)
    free.say(wire.Settings(free_time=False))
    free.say(wire.Start())
    # Notes in the count-in belong to nothing that was played before.
    early = [(-1.9 + 0.1 * k, bytes((0x90, 62, 90))) for k in range(5)]
    world.play(free, [*early, *notes], until=9.0, origin=free.now() + 2.2)

    reports = check_replay(world)
    assert [[each["pass"] for each in report["passes"]] for report in reports] == [[1, 3], [2, 4]]
    assert [report.get("free", False) for report in reports] == [True, False]
    assert [each["clean"] for each in reports[0]["passes"]] == [False, True]
    assert reports[0]["extra"] == []
    assert [each["clean"] for each in reports[1]["passes"]] == [False, True]


def test_it_is_there_after_a_kill(world: Any, free: Any, solos: Any, as_written: Written) -> None:
    notes = slowly(as_written(solos["beginner"], TEMPO))
    play(world, free, notes[:9], more=1.5)
    mend(folder(world))  # as the next service does

    found = read_session(folder(world))
    (report,) = replay(found)
    told = json.loads(report.to_json())
    assert told["free"] is True
    assert sum(note["verdict"] == "on time" for note in told["notes"]) == len(told["notes"]) == 9


def test_closing_the_service_keeps_it(world: Any, free: Any, solos: Any, as_written: Written) -> None:
    play(world, free, slowly(as_written(solos["beginner"], TEMPO))[:9])
    world.session.close()

    assert check_replay(world)["summary"]["played_share"] == 1.0


def test_a_pass_in_which_no_input_says_a_word_ends_by_itself(world: Any, free: Any) -> None:
    free.say(wire.Start())
    world.run(UNHEARD + 3.0, beat=0.5)

    assert state(free) == "paused"
    assert free.last(wire.Failure).text == "Nothing has come from an instrument for a minute, so the pass was ended."
    assert free.last(wire.PracticeReport).sentences == ["Nothing was heard in this pass."]


def test_stamps_from_days_to_come_are_no_part_of_it(world: Any, free: Any, solos: Any, as_written: Written) -> None:
    notes = slowly(as_written(solos["beginner"], TEMPO))
    free.say(wire.Start())
    origin = free.now()
    world.play(free, notes[:9], until=notes[8][0] + 0.2, origin=origin)
    free.pluck(bytes((0x90, 62, 90)), free.now() + 1e6)
    free.mark(free.now() + 1e6)
    assert state(free) == "playing"
    free.say(wire.Stop())
    world.run(2.5)

    report = check_replay(world)
    assert (len(report["notes"]), report["extra"]) == (9, [])
    assert read_session(folder(world)).take.end < 60.0


def test_a_page_that_goes_away_is_waited_for_and_then_the_pass_is_ended(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    watching = world.page("other")
    play(world, free, slowly(as_written(solos["beginner"], TEMPO))[:9])
    free.go()
    world.run(UNHEARD + 3.0, beat=0.5)

    assert state(watching) == "paused"
    assert watching.last(wire.PracticeReport).free
    check_replay(world)


def test_an_instrument_of_the_service_is_followed_too(world: Any, free: Any, solos: Any, as_written: Written) -> None:
    world.midi.open = True
    free.say(wire.Settings(sound="midi"))  # no output is open: none is needed
    free.say(wire.Start())
    origin = world.clock()
    for number, (seconds, data) in enumerate(slowly(as_written(solos["beginner"], TEMPO)), 1):
        world.run(origin + seconds - world.clock(), beat=0.01)
        world.session.midi_in("midi", CapturedNote(number, origin + seconds, data))
    world.run(AFTER_LAST + 0.5)

    assert free.last(wire.PracticeReport).clean
    check_replay(world)


def test_who_plays_for_an_instrument_begins_a_moment_after_start(
    world: Any, free: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[float] = []
    monkeypatch.setattr(world.midi, "pass_begins", lambda _plan, origin: begun.append(origin))
    free.say(wire.Start())

    assert begun == [world.clock() + AT_EASE]


def test_the_next_rung_is_played_to_a_click(world: Any, free: Any, solos: Any, as_written: Written) -> None:
    free.say(wire.Settings(free_time=False))
    free.say(wire.Start())
    world.play(free, as_written(solos["beginner"], TEMPO), until=9.0, origin=free.now() + 2.2)
    free.say(wire.Settings(free_time=True))
    free.say(wire.NextRung())

    assert not free.last(wire.Begin).free
    assert not free.last(wire.State).free_time


def test_free_time_that_is_chosen_in_a_pass_is_not_undone_by_going_on(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    free.say(wire.Settings(free_time=False, keep_going=True))
    free.say(wire.Start())
    origin = free.now() + 2.2
    free.say(wire.Settings(free_time=True))
    world.play(free, as_written(solos["beginner"], TEMPO), until=15.0, origin=origin)

    assert (state(free), free.last(wire.State).free_time) == ("paused", True)
    assert free.last(wire.State).number == 1


def test_free_time_that_is_chosen_between_passes_is_not_undone_by_going_on(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    free.say(wire.Settings(free_time=False, keep_going=True))
    free.say(wire.Start())
    world.play(free, as_written(solos["beginner"], TEMPO), until=9.0, origin=free.now() + 2.2)
    assert state(free) == "between passes"
    free.say(wire.Settings(free_time=True))
    world.run(5.0, marks=(free,))

    assert (state(free), free.last(wire.State).free_time) == ("paused", True)
    assert free.last(wire.State).number == 1


def test_a_page_that_is_loaded_anew_plays_on_by_its_new_clock(
    world: Any, free: Any, solos: Any, as_written: Written
) -> None:
    notes = slowly(as_written(solos["beginner"], TEMPO))
    free.say(wire.Start())
    begun = world.clock()
    world.play(free, notes[:6], until=notes[6][0] - 0.3, origin=free.now())
    free.go()
    free.theta = -world.clock()  # its clock begins at 0 again
    free.come()
    assert free.last(wire.Begin).origin == pytest.approx(begun + free.theta)
    world.play(free, notes[6:], until=notes[-1][0] + AFTER_LAST + 0.5, origin=begun + free.theta)

    report = free.last(wire.PracticeReport)
    assert (report.whole, report.clean) == (True, True)
    check_replay(world)


def test_free_time_and_marking_passes_oneself_exclude_each_other() -> None:
    marked = changed(Chosen(), wire.Settings(self_marked=True))
    freed = changed(marked, wire.Settings(free_time=True))

    assert (freed.self_marked, freed.free_time) == (False, True)
    again = changed(freed, wire.Settings(self_marked=True))
    assert (again.self_marked, again.free_time) == (True, False)
    with pytest.raises(InputError, match="cannot be marked by the player"):
        changed(Chosen(), wire.Settings(self_marked=True, free_time=True))
