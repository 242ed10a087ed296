from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import digest
from coach.errors import TakeError
from coach.listening.heard import Decoder, Latency
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan, Settings
from coach.listening.report import make_report
from coach.listening.scores import PassResult, following, lean_of
from coach.takes.files import read_take, write_take
from coach.takes.player import VirtualPlayer
from coach.takes.recorder import Recorder
from coach.takes.replay import Hearing, passes_of, replay, report_on, report_text
from coach.takes.sessions import (
    Instrument,
    JournalWriter,
    Session,
    SessionPass,
    mend,
    read_session,
    save_arrangement,
    save_session,
)
from coach.takes.take import Take


def played(solo: Arrangement, *starts: float, tempo: float = 80.0, seed: int = 1) -> Recorder:
    """A virtual player's passes from the given downbeats on."""
    recorder = Recorder()
    for number, start in enumerate(starts, 1):
        mark = recorder.begin_pass(start, tempo)
        plan = PassPlan(solo, mark.tempo, mark.seconds, number=number)
        for message in VirtualPlayer(seed=seed).play(plan):
            recorder.add(mark.seconds + message.seconds, message.data)
    return recorder


def unmarked(take: Take) -> Take:
    return replace(take, passes=())


def test_a_take_without_a_downbeat_is_a_whole_pass_from_time_0(roll: Arrangement) -> None:
    take = unmarked(played(roll, 0.0, tempo=120.0).take(30.0))
    (told,) = passes_of(take, roll, Hearing(tempo=70.0))
    (own,) = passes_of(replace(take, tempo=66.0), roll, Hearing())

    assert (told.plan.origin, told.plan.tempo, told.plan.span) == (0.0, 70.0, "1-2")
    assert own.plan.tempo == 66.0
    assert passes_of(take, roll, Hearing())[0].plan.tempo == 120.0


def test_each_downbeat_is_a_pass(roll: Arrangement) -> None:
    recorder = Recorder()
    recorder.begin_pass(1.0, 80.0)
    recorder.stop_pass(3.0)
    recorder.begin_pass(8.0, 60.0, first=2, last=2)
    first, second = passes_of(recorder.take(), roll, Hearing(bounce=55))

    assert (first.plan.number, first.plan.tempo, first.plan.bounce, first.stopped) == (1, 80.0, 55, 3.0)
    assert (second.plan.origin, second.plan.tempo, second.plan.span) == (8.0, 60.0, "2-2")


def test_a_told_tempo_must_be_the_takes_own(roll: Arrangement) -> None:
    take = played(roll, 1.0).take(20.0)

    assert report_on(take, roll, Hearing(tempo=80.0)).results[0].plan.tempo == 80.0
    with pytest.raises(TakeError, match=r"downbeat at 1.000 s: the click runs at 80, not at 81; leave the tempo out"):
        report_on(take, roll, Hearing(tempo=81.0))


def test_a_pass_through_measures_that_the_solo_has_not_is_refused(roll: Arrangement) -> None:
    recorder = Recorder()
    recorder.begin_pass(1.0, 80.0, first=5, last=6)

    with pytest.raises(Exception, match="no measures 5 to 6; it has 1 to 2"):
        report_on(recorder.take(), roll)


def test_latencies_by_string_need_a_take_that_tells_strings(roll: Arrangement) -> None:
    hearing = Hearing(settings=Settings(Latency(by_string=((1, 7.0),))))
    single = Recorder()
    single.add(0.0, bytes([0x90, 55, 80]))

    with pytest.raises(TakeError, match="one channel"):
        report_on(single.take(), roll, hearing)
    assert report_on(played(roll, 1.0).take(20.0), roll, hearing).summary.played_share is not None


def test_channels_of_strings_that_have_no_notes_are_refused(roll: Arrangement) -> None:
    take = played(roll, 1.0).take(20.0)

    with pytest.raises(TakeError, match=r"channels 11, 12, 13, 14, 15, but the take has notes only on 1, 2, 3, 4, 5"):
        report_on(take, roll, Hearing(string_channels=(11, 12, 13, 14, 15)))
    assert report_on(Recorder().take(20.0), roll, Hearing(string_channels=(11, 12, 13, 14, 15))).results


def test_the_bounce_of_the_solo_holds_unless_another_is_told(roll: Arrangement) -> None:
    take = unmarked(Recorder().take(10.0))
    bouncing = replace(roll, bounce=58)

    assert passes_of(take, bouncing, Hearing())[0].plan.bounce == 58
    assert passes_of(take, bouncing, Hearing(bounce=50))[0].plan.bounce == 50


def live_session(folder: Path, solos: Sequence[Arrangement], rng: random.Random) -> tuple[str, Recorder]:
    """A session as a service runs it: watermarks, late and shuffled notes, a stop, a lean learned from pass to pass.

    Returns the text of its report as it was when live.
    """
    settings = Settings(Latency(3.0))
    session = Session(solos[0].tune, instrument=Instrument("virtual", (1, 2, 3, 4, 5), settings.latency))
    results: dict[str, list[object]] = {}
    before: PassResult | None = None
    lean, now = 0.0, 0.5
    with JournalWriter(folder) as journal:
        recorder = Recorder(journal.write)
        journal.session(session)
        for number, solo in enumerate(solos, 1):
            save_arrangement(folder, solo)
            mark = recorder.begin_pass(now + 3.0, rng.choice([71.3, 80.0, 120.0]))
            plan = following(PassPlan(solo, mark.tempo, mark.seconds, number=number, lean_ms=lean), before)
            session = session.with_pass(
                SessionPass(number, solo.tier, digest(solo), plan.tempo, plan.span, plan.lean_ms, plan.bounce)
            )
            journal.session(session)
            listener, decoder = Listener(plan, settings), Decoder((1, 2, 3, 4, 5))
            length = plan.tempo_map.seconds(plan.length) - mark.seconds
            stop = mark.seconds + length * 0.6 if number == 2 else None
            messages = sorted(
                (
                    (mark.seconds + m.seconds + rng.choice([0, 0.2]), k, m)
                    for k, m in enumerate(VirtualPlayer(ability=75.0, seed=number).play(plan))
                )
            )
            for arrival, seq, message in messages:
                if stop is not None and arrival > stop:
                    break
                stamped = recorder.add(mark.seconds + message.seconds, message.data)
                sound = decoder.feed(stamped.seconds, stamped.data, seq)
                if sound is not None:
                    listener.take(sound)
                listener.watermark(recorder.grid.snap_down(arrival - 0.25))
            if stop is not None:
                listener.stop(recorder.grid.snap(stop))
                recorder.stop_pass(listener.stopped_at or 0.0)
            now = mark.seconds + length + 1.0
            recorder.now(now)
            listener.watermark(recorder.grid.snap_down(now))
            listener.finish()
            assert listener.result is not None
            results.setdefault(digest(solo), []).append(listener.result)
            before, lean = listener.result, lean_of([listener.result])
    return report_text([make_report(passes) for passes in results.values()]), recorder


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_recorded_session_gives_the_report_it_gave_when_it_was_live(
    seed: int, tmp_path: Path, solo: Callable[..., Arrangement]
) -> None:
    other = solo(3, "beginner")
    report, recorder = live_session(tmp_path, [solo(4), solo(4), other, solo(4)], random.Random(seed))
    from_journal = report_text(replay(read_session(tmp_path)))
    mend(tmp_path)
    from_folder = report_text(replay(read_session(tmp_path)))

    assert from_journal == from_folder == report
    assert read_session(tmp_path).take == recorder.take()
    assert report.startswith("[{")


def test_a_session_of_one_solo_gives_the_report_that_the_take_alone_gives_with_the_same_lean(
    tmp_path: Path, roll: Arrangement
) -> None:
    take = played(roll, 1.0).take(30.0)
    session = Session(roll.tune, instrument=Instrument(string_channels=(1, 2, 3, 4, 5))).with_pass(
        SessionPass(1, roll.tier, digest(roll), 80.0, "1-2", -7.0)
    )
    save_arrangement(tmp_path, roll)
    save_session(tmp_path, session, take)
    alone = report_on(read_take(write_take(take)), roll, Hearing(lean_ms=-7.0))

    assert report_text(replay(read_session(tmp_path))) == alone.to_json()


def test_self_marked_passes_are_left_out_of_a_replay(tmp_path: Path, roll: Arrangement) -> None:
    first = SessionPass(1, roll.tier, digest(roll), 80.0, "1-2")
    session = Session(roll.tune, instrument=Instrument(string_channels=(1, 2, 3, 4, 5)))
    session = session.with_pass(first).with_pass(replace(first, number=2, self_marked=True))
    save_arrangement(tmp_path, roll)
    save_session(tmp_path, session, played(roll, 1.0, 12.0).take(30.0))
    (report,) = replay(read_session(tmp_path))

    assert [result.plan.number for result in report.results] == [1]


def test_a_session_and_a_take_that_do_not_fit_are_refused(tmp_path: Path, roll: Arrangement) -> None:
    save_session(tmp_path, Session(roll.tune), played(roll, 1.0).take())

    with pytest.raises(TakeError, match="0 passes, its take 1 downbeats"):
        replay(read_session(tmp_path))
