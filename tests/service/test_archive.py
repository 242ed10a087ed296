"""The memory in a database: what is kept comes back, in order, and trouble is a sentence."""

from __future__ import annotations

import asyncio
import shutil
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from one_pass import hear
from sqlalchemy import select

from coach.errors import CoachError, RecordsError
from coach.ladder.curve import after_pass, begin
from coach.ladder.known import Kept, Known
from coach.listening.findings import Finding
from coach.listening.saying import words_of
from coach.records.findings import findings_of_pass
from coach.records.leaving import forget
from coach.records.played import passes_of, players_in
from coach.records.store import Store, url_of
from coach.records.tables import tunes
from coach.service import archive
from coach.service.archive import Archive
from coach.service.memory import KeptPass, Remembered, SittingKept, days_of, time_of

EAST = timezone(timedelta(hours=2))
OVER = datetime(2026, 3, 2, 0, 10, 0, tzinfo=EAST)


class Asked:
    """An archive that is asked from a test, and waited for."""

    def __init__(self, folder: Path, url: str | None = None) -> None:
        self.archive = Archive(folder, url, lambda call: call())

    def _ask(self, ask: Callable[..., None], *words: object) -> Any:
        came = threading.Event()
        got: list[Any] = []

        def done(result: object) -> None:
            got.append(result)
            came.set()

        ask(*words, done)
        assert came.wait(30)
        return got[0]

    def recall(self, player: str = "reed") -> Remembered | CoachError:
        return self._ask(self.archive.recall, player)  # type: ignore[no-any-return]

    def keep(self, kept: KeptPass) -> CoachError | None:
        return self._ask(self.archive.keep_pass, kept)  # type: ignore[no-any-return]

    def keep_settings(self, settings: dict[str, Any]) -> CoachError | None:
        return self._ask(self.archive.keep_settings, "reed", settings, OVER)  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records with nothing in them, to be copied."""
    path = tmp_path_factory.mktemp("records") / archive.FILE
    Store(url_of(path)).close()
    return path


@pytest.fixture
def asked(tmp_path: Path, empty_file: Path) -> Iterator[Asked]:
    (tmp_path / "data").mkdir()
    shutil.copy(empty_file, tmp_path / "data")
    made = Asked(tmp_path / "data")
    yield made
    made.archive.close()


@pytest.fixture(scope="module")
def kept(solos: Any) -> KeptPass:
    solo = solos["beginner"]
    result = hear(solo.arrangement)
    return KeptPass(
        player="reed",
        tune="test-lane",
        title="Test Lane",
        digest=solo.digest,
        tier="beginner",
        mix=(2,),
        kind="spot",
        tempo=60.0,
        goal=120.0,
        result=replace(result, plan=replace(result.plan, number=3)),
        seconds=16.0,
        over=OVER,
        whole=True,
        clean=False,
        is_marked=False,
        is_free=False,
        folder="evening",
        standing={"tune": "test-lane", "tempo": 60.0},
        curves={"beginner": {2: Kept(after_pass(begin(80.0), 60.0, clean=False), days_of(OVER))}},
        sitting=SittingKept(OVER - timedelta(minutes=5), 20.0, 5.5, 60.0),
    )


def passes(asked: Asked) -> list[Any]:
    return asyncio.run(asked.archive.ask(lambda connection: passes_of(connection, "reed")))


def test_who_never_played_is_remembered_with_nothing(asked: Asked) -> None:
    assert asked.recall() == Remembered()


def test_a_pass_comes_back_with_all_that_it_left_behind(asked: Asked, kept: KeptPass) -> None:
    assert asked.keep(kept) is None
    assert asked.keep_settings({"tune": "test-lane", "mix": [2], "tolerance_ms": None}) is None

    found = asked.recall()

    assert isinstance(found, Remembered)
    assert found.settings == {"tune": "test-lane", "mix": [2], "tolerance_ms": None}
    assert found.standings == {"test-lane": {"tune": "test-lane", "tempo": 60.0}}
    assert found.sitting == kept.sitting
    curve = found.known["test-lane"].curves["beginner"][2]
    assert curve.day == pytest.approx(days_of(OVER))
    assert curve.curve.passes == 1
    assert curve.curve.weights == pytest.approx(kept.curves["beginner"][2].curve.weights, abs=1e-3)


def test_a_pass_is_told_by_the_day_at_the_players_place(asked: Asked, kept: KeptPass) -> None:
    asked.keep(kept)

    (played,) = passes(asked)
    # 16 seconds before ten past midnight at a place two hours east of Greenwich.
    assert (played.day, played.began) == ("2026-03-02", "2026-03-01T22:09:44Z")
    assert (played.kind, played.mix, played.folder, played.number) == ("spot", (2,), "evening", 3)
    assert (played.first, played.last, played.judged, played.kept_going) == (1, 4, "heard", kept.result.kept_going)
    assert [(each.number, each.clean) for each in played.measures] == [(1, False), (2, False), (3, False), (4, False)]


def test_of_a_pass_that_was_stopped_the_measures_are_kept_that_were_over(asked: Asked, kept: KeptPass) -> None:
    asked.keep(replace(kept, seconds=11.9))

    (played,) = passes(asked)
    assert [each.number for each in played.measures] == [1, 2]


def test_a_tune_is_kept_with_its_repeats_and_a_jam_run_tells_none(asked: Asked, kept: KeptPass) -> None:
    solo = kept.result.plan.arrangement
    twice = tuple(replace(each, source_measure=(each.number + 1) // 2) for each in solo.measures)
    plan = replace(kept.result.plan, arrangement=replace(solo, measures=twice))
    for kind, told in (("jam", {}), ("whole", {2: 1, 4: 3}), ("jam", {2: 1, 4: 3})):
        asked.keep(replace(kept, kind=kind, result=replace(kept.result, plan=plan)))

        found = asyncio.run(asked.archive.ask(lambda connection: connection.execute(select(tunes.c.repeats)).scalar()))
        assert found == told, kind


def test_a_marked_pass_tells_nothing_of_its_measures(asked: Asked, kept: KeptPass) -> None:
    asked.keep(replace(kept, is_marked=True))

    (played,) = passes(asked)
    assert (played.judged, played.measures, played.kept_going) == ("marked", (), None)


def test_a_pass_in_free_time_has_no_offsets_from_a_click(
    asked: Asked, kept: KeptPass, as_written: Any, solos: Any
) -> None:
    from coach.listening.heard import HeardNote

    notes = [
        HeardNote(seconds, data[1], data[2], (data[0] & 15) + 1, (data[0] & 15) + 1)
        for seconds, data in as_written(solos["beginner"], 60.0)
    ]
    result = hear(solos["beginner"].arrangement, *notes)
    assert [score.mean_offset_ms for score in result.measures] == [pytest.approx(0, abs=0.1)] * 4
    for is_free, offsets in ((False, 4), (True, 0)):
        asked.keep(replace(kept, result=result, is_free=is_free))

        (played,) = passes(asked)
        assert sum(measure.mean_offset_ms is not None for measure in played.measures) == offsets
        assert played.judged == ("freely" if is_free else "heard")


def test_a_pass_that_is_not_kept_whole_is_not_kept_at_all(asked: Asked, kept: KeptPass) -> None:
    assert isinstance(asked.keep(replace(kept, standing={"tempo": object()})), RecordsError)

    assert passes(asked) == []


def test_what_could_not_be_kept_is_kept_with_the_next_pass(
    tmp_path: Path, kept: KeptPass, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive, "AGAIN", 0.0)
    made = Asked(tmp_path, url_of(tmp_path / "later" / "records.db"))
    for folder, tempo in (("first", 60.0), ("second", 64.0)):
        assert isinstance(made.keep(replace(kept, folder=folder, standing={"tempo": tempo})), RecordsError)
    (tmp_path / "later").mkdir()

    assert made.keep(replace(kept, folder="third", standing={"tempo": 68.0})) is None
    assert made.keep(replace(kept, folder="fourth", standing=None)) is None

    found, remembered = passes(made), made.recall()
    made.archive.close()
    assert [each.folder for each in found] == ["first", "second", "third", "fourth"]
    assert isinstance(remembered, Remembered)
    assert remembered.standings == {"test-lane": {"tempo": 68.0}}


def test_a_pass_that_the_records_refuse_holds_no_other_up(asked: Asked, kept: KeptPass) -> None:
    assert isinstance(asked.keep(replace(kept, folder="first", tempo=-1.0)), RecordsError)

    assert asked.keep(replace(kept, folder="second")) is None
    assert [each.folder for each in passes(asked)] == ["second"]


async def test_one_question_is_answered_at_a_time_and_not_by_the_event_loop(asked: Asked) -> None:
    met = threading.Barrier(2)

    def meets(_: object) -> tuple[bool, bool]:
        try:
            met.wait(0.1)
        except threading.BrokenBarrierError:
            return False, threading.current_thread() is threading.main_thread()
        return True, False

    assert await asyncio.gather(*(asked.archive.ask(meets) for _ in range(2))) == [(False, False)] * 2


def test_a_short_look_sets_no_limit_to_the_next_sitting(asked: Asked, kept: KeptPass) -> None:
    asked.keep(replace(kept, folder="earlier", sitting=SittingKept(OVER - timedelta(days=1), None, 60.0, 110.0)))
    asked.keep(kept)
    later = SittingKept(OVER, None, 4.9, 90.0)
    asked.keep(replace(kept, folder="later", sitting=later))

    assert asked.recall().sitting == kept.sitting  # type: ignore[union-attr]


def test_a_curve_that_cannot_be_read_is_left_out(asked: Asked, kept: KeptPass, tmp_path: Path) -> None:
    asked.keep(kept)
    with sqlite3.connect(tmp_path / "data" / "records.db") as database:
        database.execute("UPDATE curves SET weights = x'00'")
    database.close()

    assert asked.recall().known == {"test-lane": Known()}  # type: ignore[union-attr]


def test_another_database_is_used_by_its_url(tmp_path: Path, kept: KeptPass) -> None:
    made = Asked(tmp_path / "data", url_of(tmp_path / "other.db"))
    assert made.keep(kept) is None
    made.archive.close()

    assert (tmp_path / "other.db").exists()
    assert not (tmp_path / "data").exists()


@pytest.mark.parametrize("url", ["sqlite:////nowhere/at/all/records.db", "nothing://here", "no address"])
def test_a_database_that_cannot_be_reached_is_said(tmp_path: Path, kept: KeptPass, url: str) -> None:
    made = Asked(tmp_path, url)

    for answer in (made.recall(), made.keep(kept), made.keep_settings({"goal": 90.0})):
        assert isinstance(answer, RecordsError)
        assert str(answer).endswith(".")
    made.archive.close()


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    made = Asked(tmp_path / "file" / "data")

    assert str(made.recall()) == (
        f"{tmp_path / 'file' / 'data'}: the records cannot be kept (Not a directory); serve with another --data."
    )
    made.archive.close()


def test_what_was_asked_for_is_done_before_it_closes(tmp_path: Path, kept: KeptPass) -> None:
    made = Asked(tmp_path)
    done: list[object] = []
    for number in range(5):
        made.archive.keep_pass(replace(kept, folder=f"evening-{number}"), done.append)
    made.archive.close()

    assert done == [None] * 5
    made.archive.recall("reed", done.append)  # nobody is there any more
    assert len(done) == 5


def test_the_libraries_of_the_database_are_not_loaded_before_it_is_asked() -> None:
    program = (
        "import sys; from pathlib import Path; from coach.service.archive import Archive;"
        " Archive(Path('data'), None, print).close(); print(*sys.modules)"
    )
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.split()

    assert "coach.service.archive" in told
    assert not {"sqlalchemy", "alembic"} & {*told}


def test_days_are_told_and_read_back() -> None:
    when = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)

    assert days_of(when) % 1 == 0.5
    assert time_of(days_of(when)) == when


def test_what_was_found_is_kept_in_the_words_of_the_report(asked: Asked, kept: KeptPass) -> None:
    late = Finding("change late", 31.0, 4, 6, (2, 4, 6, 8), 4.0)

    asked.keep(replace(kept, found=(late,)))

    number = kept.result.plan.number
    (found,) = asyncio.run(asked.archive.ask(lambda c: findings_of_pass(c, kept.folder, number)))
    assert (found.name, found.words, found.cost) == ("change late", words_of(late), 4.0)


def test_a_pass_that_waits_to_be_kept_is_forgotten_with_its_player(
    tmp_path: Path, kept: KeptPass, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive, "AGAIN", 0.0)
    made = Asked(tmp_path, url_of(tmp_path / "later" / "records.db"))
    for folder, player in (("hers", "sedge"), ("his", "reed")):
        assert isinstance(made.keep(replace(kept, player=player, folder=folder)), RecordsError)
    (tmp_path / "later").mkdir()

    asyncio.run(made.archive.forget("sedge", lambda connection: forget(connection, "sedge")))
    assert made.keep(replace(kept, folder="next")) is None

    players = asyncio.run(made.archive.ask(players_in))
    made.archive.close()
    assert players == ["reed"]


def test_who_is_forgotten_does_not_come_back_by_what_was_on_its_way(asked: Asked, kept: KeptPass) -> None:
    asked.keep(kept)
    asked.keep(replace(kept, player="sedge", folder="hers"))

    asyncio.run(asked.archive.forget("reed", lambda connection: forget(connection, "reed")))

    assert asked.keep(kept) is None
    assert asked.keep_settings({"tempo": 80}) is None
    assert asyncio.run(asked.archive.ask(players_in)) == ["sedge"]


def test_who_could_not_be_forgotten_is_kept_on(asked: Asked, kept: KeptPass) -> None:
    def fails(_: object) -> None:
        raise RecordsError("the records cannot be used (disk full)")

    with pytest.raises(RecordsError):
        asyncio.run(asked.archive.forget("reed", fails))

    assert asked.keep(kept) is None
    assert asyncio.run(asked.archive.ask(players_in)) == ["reed"]


def test_nothing_of_who_was_forgotten_can_be_read_in_the_files(asked: Asked, kept: KeptPass, tmp_path: Path) -> None:
    def inside() -> bool:
        return any(b"hers-and-no-one-elses" in path.read_bytes() for path in (tmp_path / "data").iterdir())

    asked.keep(replace(kept, player="sedge", folder="hers-and-no-one-elses"))
    assert inside()

    asyncio.run(asked.archive.forget("sedge", lambda connection: forget(connection, "sedge")))

    assert not inside()
