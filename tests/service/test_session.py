"""A session from start to report, with pages in memory and a clock that stands still."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from coach.errors import CoachError, InputError
from coach.service import protocol as wire
from coach.service.pages import MOST_PAGES
from coach.service.passes import CapturedNote
from coach.service.session import DESERTED, UNHURRIED
from coach.takes.replay import replay, report_text
from coach.takes.sessions import read_session

TEMPO = 120.0
STEPS: dict[str, Any] = {"policy": "steps", "step": 4.0, "clean_needed": 1}


def begun(world: Any, page: Any, **settings: Any) -> float:
    """Start a pass; returns where position 0 is heard, on the page's clock."""
    page.say(wire.Settings(tempo=TEMPO, **settings))
    page.say(wire.Start())
    return float(page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead)


def state(page: Any) -> str:
    return str(page.last(wire.State).state)


def test_a_page_is_told_where_things_stand_when_it_comes(world: Any) -> None:
    page = world.page()

    kinds = [type(message).__name__ for message in page.messages if not isinstance(message, wire.Ping)]
    assert kinds == ["Hello", "Tunes", "Ports", "State"]
    assert page.last(wire.Hello).acknowledged == 0
    assert state(page) == "ready"


def test_solos_are_waited_for_in_words_and_then_shown(world: Any, solos: Any) -> None:
    page = world.page()
    world.begin()
    assert page.last(wire.State).digest == ""
    assert page.last(wire.State).waiting == "Writing the solos …"
    with pytest.raises(InputError, match="Writing the solos"):
        page.say(wire.Start())

    world.deliver()

    shown = page.last(wire.State)
    assert (shown.digest, shown.title, shown.waiting) == (solos["beginner"].digest, "Test Lane", "")
    assert (shown.first, shown.last, shown.measures) == (1, 4, 4)


def test_a_tune_that_cannot_be_arranged_is_said(world: Any) -> None:
    page = world.page()
    world.begin()
    _, done = world.fetched.pop()
    done(CoachError("no room on the grid"))

    assert page.last(wire.Failure).text == "no room on the grid."
    assert page.last(wire.State).waiting == "no room on the grid."


def test_a_clean_pass_from_count_in_to_report(world: Any, solos: Any, as_written: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    begin = page.last(wire.Begin)
    assert state(page) == "counting in"
    assert begin.cues[0].at == pytest.approx(-begin.lead) == pytest.approx(-2.0)
    assert begin.positions == [(1, 0.0), (2, 2.0), (3, 4.0), (4, 6.0)]

    world.play(page, as_written(solos["beginner"], TEMPO), until=9.0, origin=origin)

    assert state(page) == "between passes"
    report = page.last(wire.PracticeReport)
    assert (report.number, report.whole, report.clean) == (1, True, True)
    assert report.sentences[0] == "Every measure is clean."
    verdicts = page.all(wire.VerdictMark)
    assert {verdict.verdict for verdict in verdicts} == {"on time"}
    assert [verdict.id for verdict in verdicts] == [
        pluck.id for measure in solos["beginner"].arrangement.measures for pluck in measure.plucks
    ]
    assert all(abs(verdict.offset_ms or 0) < 0.1 for verdict in verdicts)
    assert len(page.all(wire.HeardMark)) == len(verdicts)
    assert [scored.score["number"] for scored in page.all(wire.MeasureScored)] == [1, 2, 3, 4]


def test_the_state_goes_from_count_in_to_playing_at_position_0(world: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    world.run(origin - page.now() - 0.06)
    assert state(page) == "counting in"
    world.run(0.15)

    assert state(page) == "playing"


def test_what_is_kept_replays_to_the_same_report(world: Any, solos: Any, as_written: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    for passed, tier in enumerate(("beginner", "advanced", "beginner"), 1):
        origin = begun(world, page, tier=tier, first=2, last=3) if passed == 3 else begun(world, page, tier=tier)
        notes = as_written(solos[tier], TEMPO, *((2, 3) if passed == 3 else ()))
        late = [(seconds + 0.03 * (index % 4), data) for index, (seconds, data) in enumerate(notes) if index % 5]
        world.play(page, late, until=9.0, origin=origin)

    folder = tmp_path / "folder-1"
    read = read_session(folder)
    assert [each.tier for each in read.session.passes] == ["beginner", "advanced", "beginner"]
    assert [each.measures for each in read.session.passes] == ["1-4", "1-4", "2-3"]
    assert read.session.passes[1].lean_ms != 0
    assert report_text(replay(read)) == (folder / "report.json").read_text("utf-8")
    assert not (folder / "journal.jsonl").exists()


def test_the_journal_has_every_message_while_a_pass_runs(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    notes = as_written(solos["beginner"], TEMPO)[:6]
    world.play(page, notes, until=3.5, origin=origin)  # the last of them is a second old then

    lines = [json.loads(line) for line in (tmp_path / "folder-1" / "journal.jsonl").read_text("utf-8").splitlines()]
    assert [line["data"] for line in lines if line["kind"] == "midi"] == [data.hex() for _, data in notes]
    assert sum(line["kind"] == "now" for line in lines) >= 3  # one a second, count-in included


def test_a_killed_service_leaves_the_take_up_to_the_last_second(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    world.play(page, as_written(solos["beginner"], TEMPO), until=5.1, origin=origin)

    read = read_session(tmp_path / "folder-1")

    kept, played = len(read.take.messages), [at for at, _ in as_written(solos["beginner"], TEMPO)]
    assert len([at for at in played if at < 4.1]) <= kept <= len([at for at in played if at < 5.1])
    (report,) = replay(read)
    assert {note.verdict for note in report.results[0].notes} == {"on time"}


def test_a_service_that_ends_in_mid_pass_writes_the_session(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    world.play(page, as_written(solos["beginner"], TEMPO), until=5.0, origin=origin)
    world.session.close()

    folder = tmp_path / "folder-1"
    read = read_session(folder)
    assert not (folder / "journal.jsonl").exists()
    assert read.report == report_text(replay(read))
    assert (
        0 < len(json.loads(read.report)["notes"]) < sum(len(m.plucks) for m in solos["beginner"].arrangement.measures)
    )


def test_changes_during_a_pass_take_effect_at_the_next(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    page.say(wire.Settings(tier="advanced", tempo=90.0, solo_level=1.0))
    during = page.last(wire.State)
    assert (during.digest, during.tier, during.tempo) == (solos["beginner"].digest, "advanced", 90.0)
    world.play(page, as_written(solos["beginner"], TEMPO), until=9.0, origin=origin)
    assert page.last(wire.PracticeReport).clean

    page.say(wire.Start())

    begin = page.last(wire.Begin)
    assert (begin.digest, begin.tempo) == (solos["advanced"].digest, pytest.approx(90.0))
    assert any(cue.voice == "banjo" for cue in begin.cues)


def test_stop_in_mid_pass_misses_the_rest_and_moves_nothing(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    world.play(page, as_written(solos["beginner"], TEMPO), until=4.6, origin=origin)
    page.say(wire.Stop())
    world.run(0.2, marks=(page,))

    report = page.last(wire.PracticeReport)
    assert state(page) == "paused"
    assert not report.whole
    assert [measure["missed"] for measure in report.measures][:2] == [0, 0]
    assert report.measures[3]["played"] == 0
    assert report.rung is not None
    assert report.rung.tempo == pytest.approx(TEMPO)
    assert world.midi.silenced == 1


def test_stop_in_the_count_in_leaves_no_pass(world: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    begun(world, page)
    world.run(0.5, marks=(page,))
    page.say(wire.Stop())

    assert state(page) == "ready"
    assert page.all(wire.PracticeReport) == []
    assert not (tmp_path / "folder-1" / "session.json").exists()


def test_a_silence_is_told_as_a_passage(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page, tier="advanced")
    notes = as_written(solos["advanced"], TEMPO)
    world.play(page, [(at, data) for at, data in notes if not 1.9 < at < 5.9], until=9.0, origin=origin)

    report = page.last(wire.PracticeReport)
    assert report.sentences[0] == "Measures 2 to 3: stopped."


def test_a_pass_with_nothing_heard_moves_nothing(world: Any) -> None:
    world.ready()
    page = world.page()
    begun(world, page)
    world.run(12.0, marks=(page,))

    report = page.last(wire.PracticeReport)
    assert report.sentences == ["Nothing was heard in this pass."]
    assert report.rung is None
    assert state(page) == "between passes"


def test_the_ladder_goes_up_after_the_second_clean_pass_on_a_new_instrument(
    world: Any, solos: Any, as_written: Any
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(goal=200.0, **STEPS))
    rungs = []
    for _ in range(2):
        origin = begun(world, page)
        world.play(page, as_written(solos["beginner"], TEMPO), until=9.0, origin=origin)
        rungs.append(page.last(wire.PracticeReport).rung)
    assert [rung.tempo for rung in rungs] == [pytest.approx(TEMPO), pytest.approx(TEMPO + 4)]

    page.say(wire.NextRung())

    assert page.last(wire.Begin).tempo == pytest.approx(TEMPO + 4, rel=1e-4)


def test_again_plays_the_last_rung_whatever_was_chosen_since(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    with pytest.raises(InputError, match="nothing has been played yet"):
        page.say(wire.Again())
    origin = begun(world, page, first=2, last=3)
    world.play(page, as_written(solos["beginner"], TEMPO, 2, 3), until=5.0, origin=origin)
    page.say(wire.Settings(tempo=60.0, tier="advanced", whole=True))

    page.say(wire.Again())

    begin = page.last(wire.Begin)
    assert (begin.digest, begin.tempo) == (solos["beginner"].digest, pytest.approx(TEMPO))
    assert (begin.first, begin.last, begin.number) == (2, 3, 2)


def test_keep_going_begins_the_next_pass_by_itself_after_a_measure(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page, keep_going=True)
    world.play(page, as_written(solos["beginner"], TEMPO), until=8.6, origin=origin)
    assert state(page) == "between passes"
    assert page.last(wire.Begin).number == 1
    world.run(2.1)

    assert page.last(wire.Begin).number == 2
    assert state(page) == "counting in"


def test_stop_between_passes_pauses_what_keeps_going(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page, keep_going=True)
    world.play(page, as_written(solos["beginner"], TEMPO), until=8.6, origin=origin)
    page.say(wire.Stop())
    world.run(5.0)

    assert state(page) == "paused"
    assert page.last(wire.Begin).number == 1


def test_a_self_marked_pass_runs_and_waits_for_the_mark(world: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(goal=200.0, **STEPS))
    begun(world, page, self_marked=True)
    world.run(12.0, marks=(page,))
    asked = page.last(wire.PracticeReport)
    assert (asked.self_marked, asked.asks, asked.rung, asked.measures) == (True, True, None, [])
    assert world.page("other").last(wire.PracticeReport).asks
    assert page.all(wire.VerdictMark) == []

    page.say(wire.Mark(clean=True))

    told = page.last(wire.PracticeReport)
    assert (told.clean, told.asks, told.sentences) == (True, False, ["You marked this pass as clean."])
    assert told.rung is not None
    assert told.rung.tempo == pytest.approx(TEMPO + 4)
    assert "by your own mark" in told.rung.why
    assert read_session(tmp_path / "folder-1").session.passes[0].self_marked is True
    with pytest.raises(InputError, match="no pass to mark"):
        page.say(wire.Mark(clean=True))


def test_a_self_marked_pass_that_was_stopped_is_not_asked_for(world: Any) -> None:
    world.ready()
    page = world.page()
    begun(world, page, self_marked=True)
    world.run(4.0, marks=(page,))
    page.say(wire.Stop())

    told = page.last(wire.PracticeReport)
    assert (told.self_marked, told.asks, told.whole, told.sentences) == (True, False, False, [])


# ------------------------------------------------------------------------------------------ clocks and links


def test_no_mapping_enters_where_one_page_sounds_and_captures(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    page.theta += 0.013  # the service's view of the page's clock is wrong from here on
    world.play(page, as_written(solos["beginner"], TEMPO), until=9.0, origin=origin)

    assert {verdict.offset_ms for verdict in page.all(wire.VerdictMark)} <= {
        0.0,
        *(-0.021 + 0.001 * k for k in range(43)),
    }
    assert max(abs(verdict.offset_ms) for verdict in page.all(wire.VerdictMark)) < 0.05


def test_notes_of_another_page_are_mapped_by_both_clocks(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    sounding = world.page("desk", theta=-300.0)
    playing = world.page("phone", theta=7000.0)
    origin = begun(world, sounding)
    on_phone = origin + 300.0 + 7000.0
    assert playing.last(wire.Begin).origin == pytest.approx(on_phone)
    assert not playing.last(wire.Begin).sounds
    notes = as_written(solos["beginner"], TEMPO)
    for _ in range(1100):
        world.clock.advance(0.01)
        while notes and on_phone + notes[0][0] <= playing.now():
            playing.pluck(notes[0][1], on_phone + notes.pop(0)[0])
        sounding.mark()
        playing.mark()
        world.session.tick()
        world.settle()

    assert sounding.last(wire.PracticeReport).clean
    assert all(abs(verdict.offset_ms) < 0.1 for verdict in sounding.all(wire.VerdictMark))


def test_midi_notes_are_mapped_to_the_page_that_sounds(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    world.midi.open = True
    page = world.page()
    origin = begun(world, page, string_channels="1-5") - page.theta
    notes = as_written(solos["beginner"], TEMPO)
    for seq in range(1, 1200):
        world.clock.advance(0.01)
        while notes and origin + notes[0][0] <= world.clock():
            world.session.midi_in("midi", CapturedNote(seq, origin + notes[0][0], notes.pop(0)[1]))
        page.mark()
        world.session.tick()
        world.settle()

    assert page.last(wire.PracticeReport).clean
    assert {verdict.verdict for verdict in page.all(wire.VerdictMark)} == {"on time"}


def test_the_click_of_a_midi_output_is_heard_after_its_delay(world: Any) -> None:
    world.ready()
    world.midi.out = []
    page = world.page()
    page.say(wire.Settings(tempo=TEMPO, sound="midi", out_delay_ms=40.0))
    page.say(wire.Start(sounds=False))
    begin = page.last(wire.Begin)
    clicks = [message.seconds for message in world.midi.out if message.data[0] == 0x99]
    heard = clicks[4] + 0.04  # the count-in has four

    assert not begin.sounds
    assert begin.origin == pytest.approx(heard + page.theta)


def test_no_midi_output_is_said(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(sound="midi"))
    with pytest.raises(InputError, match="no MIDI output is open"):
        page.say(wire.Start(sounds=False))


def test_a_start_waits_for_the_first_exchange_of_clocks(world: Any) -> None:
    world.ready()
    page = world.page()
    page.page.come(page, world.clock())  # as after a reconnect: nothing is known of its clock
    page.messages.clear()
    world.session.take(page.page, wire.Start())
    assert page.all(wire.Begin) == []

    world.run(0.05)

    assert page.last(wire.Begin).origin is None
    assert page.last(wire.Begin).sounds


class Bad:
    """A link that delays, repeats, and breaks off: the page of a test is driven through it."""

    def __init__(self, world: Any, page: Any, delays: list[int], breaks: list[int]) -> None:
        self.world, self.page, self.delays, self.breaks = world, page, delays, breaks
        self.queue: list[tuple[int, wire.Notes]] = []

    def play(self, notes: list[tuple[float, bytes]], origin: float, until: float) -> None:
        step, page = 0, self.page
        pending: list[wire.InputNote] = []
        notes = list(notes)
        while page.now() < origin + until:
            self.world.clock.advance(0.01)
            step += 1
            while notes and origin + notes[0][0] <= page.now():
                seconds, data = notes.pop(0)
                page.seq += 1
                pending.append(wire.InputNote(page.seq, origin + seconds, list(data)))
                self._send(step, wire.Notes(page.seat, pending[-1:]))
            self._send(step, wire.Notes(page.seat, [], page.now()))
            if step in self.breaks:
                self.queue.clear()
                page.go()
                page.come()
                taken = page.last(wire.Hello).acknowledged
                again = [note for note in pending if note.seq > taken]
                self._send(step, wire.Notes(page.seat, again))
                self._send(step, wire.Notes(page.seat, again))
            while self.queue and self.queue[0][0] <= step:
                page.say(self.queue.pop(0)[1])
            self.world.session.tick()
            self.world.settle()

    def _send(self, step: int, message: wire.Notes) -> None:
        due = step + self.delays[step % len(self.delays)]
        due = max(due, self.queue[-1][0] if self.queue else 0)  # what is sent later never overtakes
        self.queue.append((due, message))
        if step % 7 == 0:
            self.queue.append((due, message))


@pytest.mark.parametrize(
    ("delays", "breaks"),
    [([30, 2, 0, 55], []), ([0], [40, 300, 301, 700]), ([25, 80, 3], [333, 700, 1000])],
    ids=["late", "broken off", "both"],
)
def test_a_bad_link_gets_the_same_verdicts(
    world: Any, new_world: Any, solos: Any, as_written: Any, delays: list[int], breaks: list[int]
) -> None:
    notes = [
        (seconds + (-0.05, 0.0, 0.07, 0.02)[index % 4], data)
        for index, (seconds, data) in enumerate(as_written(solos["intermediate"], TEMPO))
        if index % 6
    ]
    world.ready()
    page = world.page()
    origin = begun(world, page, tier="intermediate")
    world.play(page, notes, until=9.0, origin=origin)
    perfect = page.all(wire.VerdictMark), page.last(wire.PracticeReport)

    other = new_world()
    other.ready()
    bad_page = other.page()
    origin = begun(other, bad_page, tier="intermediate")
    Bad(other, bad_page, delays, breaks).play(notes, origin, until=11.0)

    bad = last_told(bad_page), bad_page.last(wire.PracticeReport)
    assert {verdict.id: verdict for verdict in bad[0]} == {verdict.id: verdict for verdict in perfect[0]}
    assert bad[1] == perfect[1]


def last_told(page: Any) -> list[wire.VerdictMark]:
    """The verdicts, each once: those told again after a reconnect are the same."""
    told: dict[tuple[Any, ...], wire.VerdictMark] = {}
    for verdict in page.all(wire.VerdictMark):
        key = (verdict.id, verdict.measure, verdict.at, verdict.pitch)
        assert told.setdefault(key, verdict) == verdict
    return list(told.values())


def test_a_page_that_comes_back_in_mid_pass_is_told_all_so_far(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    notes = as_written(solos["beginner"], TEMPO)
    world.play(page, notes[:8], until=4.0, origin=origin)
    before = page.all(wire.VerdictMark)
    page.go()
    world.run(0.3)
    page.messages.clear()
    page.come()

    assert page.last(wire.Hello).acknowledged == 8
    begin = page.last(wire.Begin)
    assert begin.sounds
    assert begin.origin == pytest.approx(origin)
    assert page.all(wire.VerdictMark) == before
    kinds = [type(message).__name__ for message in page.messages]
    assert kinds.index("State") < kinds.index("Begin") < kinds.index("VerdictMark")


def test_a_page_that_stays_away_ends_the_pass_that_it_sounds(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page, other = world.page(), world.page("other", 0.0)
    origin = begun(world, page)
    world.play(page, as_written(solos["beginner"], TEMPO), until=3.0, origin=origin)
    page.go()
    world.run(25.0)

    assert "The page that sounded the click is gone" in other.last(wire.Failure).text
    assert not other.last(wire.PracticeReport).whole


def test_a_page_that_is_loaded_anew_ends_the_pass_that_it_sounds(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    world.play(page, as_written(solos["beginner"], TEMPO), until=3.0, origin=origin)
    page.go()
    page.theta = -world.clock()  # its clock begins at 0 again
    page.come()
    world.run(3.0)

    assert state(page) == "paused"
    assert "is gone" in page.last(wire.Failure).text


def test_a_page_that_comes_in_mid_pass_is_told_when_it_began_as_soon_as_its_clock_is_known(world: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    other = world.page("other", theta=-300.0)

    begins = other.all(wire.Begin)
    assert begins[0].origin is None
    assert begins[-1].origin == pytest.approx(origin - page.theta + other.theta)


def test_a_page_that_stays_away_is_forgotten_and_begins_anew(world: Any) -> None:
    page = world.page()
    page.pluck(b"\x90\x3c\x40")
    page.go()
    world.run(590.0, beat=5.0)
    page.come()
    assert page.last(wire.Hello).acknowledged == 1
    page.go()
    world.run(610.0, beat=5.0)
    page.come()

    assert page.last(wire.Hello).acknowledged == 0


def test_a_session_has_room_for_so_many_pages(world: Any) -> None:
    for number in range(MOST_PAGES):
        world.page(f"p{number}")
    with pytest.raises(InputError, match="pages already"):
        world.page("one-more")


def test_a_page_that_never_sounds_the_click_is_not_waited_for_for_ever(world: Any) -> None:
    world.ready()
    page = world.page()
    page.sounds_at = None
    page.say(wire.Start())
    assert page.last(wire.State).waiting == "Waiting for the page to sound the click."
    world.run(31.0)

    assert state(page) == "ready"
    assert "turn its sound on" in page.last(wire.Failure).text


def test_an_origin_far_from_now_is_refused(world: Any) -> None:
    world.ready()
    page = world.page()
    page.sounds_at = 5000.0
    page.say(wire.Start())

    assert state(page) == "ready"
    assert "far from now" in page.last(wire.Failure).text


def test_a_seat_of_the_services_own_is_refused(world: Any) -> None:
    with pytest.raises(InputError, match="the service's own"):
        world.page("midi")


def test_notes_under_another_seat_are_refused(world: Any) -> None:
    page = world.page()
    with pytest.raises(InputError, match="not this page's"):
        page.say(wire.Notes("other", [wire.InputNote(1, 0.0, [0x90, 60, 60])]))


def test_every_note_is_acknowledged_between_passes_too(world: Any) -> None:
    page = world.page()
    page.pluck(b"\x90\x3c\x40")
    page.pluck(b"\x90\x3c\x40")

    assert [ack.seq for ack in page.all(wire.Ack)] == [1, 2]


def test_a_bend_range_told_before_a_pass_counts_in_it_and_in_its_replay(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    for data in (b"\xb0\x65\x00", b"\xb0\x64\x00", b"\xb0\x06\x0c"):
        page.pluck(data)
    origin = begun(world, page, tier="advanced")
    notes = []
    for seconds, data in as_written(solos["advanced"], TEMPO):
        notes.append((seconds, data))
        # A bend by 2 of 12 semitones: read with the usual range of two it would be a third of one.
        notes.append((seconds + 0.1, bytes((0xE0 | data[0] & 0x0F, 0x55, 0x4A))))
    world.play(page, notes, until=9.0, origin=origin)

    folder = tmp_path / "folder-1"
    read = read_session(folder)
    assert [message.data for message in read.take.messages[:3]] == [b"\xb0\x65\x00", b"\xb0\x64\x00", b"\xb0\x06\x0c"]
    assert report_text(replay(read)) == (folder / "report.json").read_text("utf-8")


def test_what_is_no_whole_message_is_neither_judged_nor_kept(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    world.midi.open = True
    page = world.page()
    origin = begun(world, page) - page.theta
    world.run(3.0, marks=(page,))
    for data in (b"", b"\x90", b"\xf8", b"\x90\x3e", b"\x90\x3e\xff", b"\x99\x4c\x7f", bytes(range(200))):
        world.session.midi_in("midi", CapturedNote(1, world.clock(), data))
    world.run(9.0, marks=(page,))

    assert page.all(wire.HeardMark) == []
    assert read_session(tmp_path / "folder-1").take.messages == ()
    assert origin < world.clock()


# ------------------------------------------------------------------------------------------ the foot


def foot(world: Any, data: bytes) -> None:
    world.session.midi_in("midi", CapturedNote(1, world.clock(), data))
    world.settle()


def test_the_foot_starts_stops_repeats_and_goes_on(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=TEMPO, foot_start="cc 64", foot_again="PC 1", foot_next="note 36"))
    foot(world, b"\xb0\x40\x7f")
    assert page.last(wire.Foot) == wire.Foot("CC 64", "start and stop")
    assert page.last(wire.Begin).sounds
    foot(world, b"\xb0\x40\x00")
    foot(world, b"\xb0\x40\x7f")
    assert state(page) == "ready"
    foot(world, b"\x99\x24\x7f")
    assert page.last(wire.Failure).text == "no next rung is offered yet; play a pass first."

    origin = begun(world, page)
    world.play(page, as_written(solos["beginner"], TEMPO), until=9.0, origin=origin)
    number = page.last(wire.Begin).number
    foot(world, b"\xc0\x01")
    assert page.last(wire.Begin).number == number + 1
    page.say(wire.Stop())
    foot(world, b"\x99\x24\x00")
    foot(world, b"\x99\x24\x7f")

    assert page.last(wire.Begin).number == number + 2
    assert page.last(wire.Foot).did == "next rung"


def test_a_foot_switch_is_no_note(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(foot_next="note 36"))
    begun(world, page)
    world.run(2.5, marks=(page,))
    heard = len(page.all(wire.HeardMark))
    page.pluck(b"\x90\x24\x7f")

    assert len(page.all(wire.HeardMark)) == heard


# ------------------------------------------------------------------------------------------ settings


@pytest.mark.parametrize(
    ("message", "sentence"),
    [
        (
            wire.Settings(floor=150.0, goal=100.0),
            "the floor of 150 lies above the goal of 100; set the floor below the goal",
        ),
        (wire.Settings(first=3, last=2), "measures 3 to 2 run backwards; name the first one first"),
        (wire.Settings(foot_start="pedal"), "'pedal' is no foot switch; name it like CC 64, PC 1 or note 36"),
        (wire.Settings(foot_start="CC 1", foot_next="cc 1"), "two foot switches have one name; give each its own"),
    ],
)
def test_settings_that_make_no_sense_are_refused_and_change_nothing(world: Any, message: Any, sentence: str) -> None:
    world.ready()
    page = world.page()
    before = page.last(wire.State)
    with pytest.raises(InputError) as refused:
        page.say(message)

    assert str(refused.value) == f"{sentence}."
    assert page.last(wire.State) == before


@pytest.mark.parametrize(
    ("message", "floor", "tempo", "goal"),
    [
        (wire.Settings(tempo=150.0), 40.0, 150.0, 150.0),
        (wire.Settings(tempo=30.0), 30.0, 30.0, 120.0),
        (wire.Settings(goal=50.0), 40.0, 50.0, 50.0),
        (wire.Settings(floor=70.0), 70.0, 70.0, 120.0),
        (wire.Settings(tempo=150.0, goal=100.0), 40.0, 150.0, 150.0),
        (wire.Settings(tempo=100.0), 40.0, 100.0, 120.0),
    ],
)
def test_a_tempo_takes_floor_and_goal_along_and_they_take_along_the_tempo(
    world: Any, message: wire.Settings, floor: float, tempo: float, goal: float
) -> None:
    world.ready()
    page = world.page()
    page.say(message)
    told = page.last(wire.State)

    assert (told.floor, told.tempo, told.goal) == (floor, tempo, goal)


def test_a_pass_above_the_old_goal_is_offered_again_at_its_own_tempo(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=150.0))
    page.say(wire.Start(sounds=True))
    begin = page.last(wire.Begin)
    origin = page.now() + page.sounds_at + begin.lead
    world.play(page, as_written(solos["beginner"], begin.tempo), until=7.5, origin=origin)
    rung = page.last(wire.PracticeReport).rung

    assert rung.tempo == 150.0
    assert rung.why == "The first pass lets the coach hear this instrument: 150 again."


def test_a_goal_set_below_what_is_offered_changes_the_offer(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page)
    world.play(page, as_written(solos["beginner"], TEMPO), until=9.0, origin=origin)
    page.say(wire.Settings(goal=100.0))
    offered = page.last(wire.State).rung
    page.say(wire.NextRung())

    assert offered.tempo == 100.0
    assert page.last(wire.Begin).tempo == pytest.approx(100.0, rel=1e-4)
    assert page.last(wire.State).goal == 100.0


def test_measures_beyond_the_solo_are_brought_within_it(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(first=3, last=99))
    assert (page.last(wire.State).first, page.last(wire.State).last) == (3, 4)
    page.say(wire.Settings(first=50, last=99))
    assert (page.last(wire.State).first, page.last(wire.State).last) == (4, 4)
    page.say(wire.Settings(whole=True))

    assert (page.last(wire.State).first, page.last(wire.State).last) == (1, 4)


def test_latency_is_taken_off_what_is_heard(world: Any, solos: Any, as_written: Any) -> None:
    world.ready()
    page = world.page()
    origin = begun(world, page, latency_ms=30.0)
    notes = [(seconds + 0.03, data) for seconds, data in as_written(solos["beginner"], TEMPO)]
    world.play(page, notes, until=9.0, origin=origin)

    assert all(abs(verdict.offset_ms) < 0.1 for verdict in page.all(wire.VerdictMark))


def test_another_latency_begins_another_folder(world: Any, solos: Any, as_written: Any, tmp_path: Path) -> None:
    world.ready()
    page = world.page()
    for latency in (0.0, 0.0, 12.0):
        origin = begun(world, page, latency_ms=latency)
        world.play(page, as_written(solos["beginner"], TEMPO), until=9.0, origin=origin)

    assert [len(read_session(folder).session.passes) for folder in sorted(tmp_path.glob("folder-*"))] == [2, 1]
    assert world.session.folder_of(3) == tmp_path / "folder-2"


def test_a_session_is_looked_at_often_only_while_something_goes_by_the_clock(world: Any) -> None:
    world.ready()
    session, clock = world.session, world.clock
    session._midi.reserved = frozenset()  # with ports of its own it is always looked at

    def rest() -> float:
        session.tick()
        world.settle()
        return float(session.tick_at - clock())

    assert rest() == DESERTED
    page = world.page()
    assert rest() == 0.0  # its clock is being learned
    world.run(2.0)
    assert rest() == UNHURRIED

    page.say(wire.Start())
    assert session.tick_at == 0.0
    assert rest() == 0.0  # the count-in ends by the clock
    world.run(page.last(wire.Begin).lead + 0.5)
    assert page.last(wire.State).state == "playing"
    assert rest() == UNHURRIED

    page.mark()
    assert session.tick_at > clock()  # notes and watermarks need no tick
    page.say(wire.Stop())
    assert session.tick_at == 0.0
