"""A week and takes of any day by addresses: for whom they are, and for nobody else."""

from __future__ import annotations

import csv
import io
import logging
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from asked_studio import Studio, in_studio
from played_passes import a_pass
from studio_people import REED, RUTH, TILDA, WREN

from coach.records.entry import Entry, keep_entry

__all__ = ["in_studio"]

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
SAMPLE = min(path for path in SAMPLES.iterdir() if (path / "take.mid").exists() and (path / "report.json").exists())


async def run_here(work: Callable[..., bytes], _seconds: float, _what: str, *words: object) -> bytes:
    """What a worker does, done at once."""
    return work(*words)


async def played(studio: Studio, **changes: object) -> None:
    one = a_pass(1, clean=True, day="2026-03-03", folder=SAMPLE.name, **changes)
    await studio.service.archive.change(lambda c: keep_entry(c, Entry(one)))
    shutil.copytree(SAMPLE, studio.service.takes_folder / SAMPLE.name)


def test_a_week_is_told_to_the_student_and_their_teacher(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        await played(studio)
        for person, query in ((REED, "week=2026-W10"), (RUTH, f"student={REED.id}&week=2026-W10")):
            told = (await studio.get(person, f"/week.json?{query}")).json()
            assert (told["format"], told["name"], told["week"], told["minutes"]) == ("week/1", "Reed", "2026-W10", 0.1)
            assert [each["number"] for each in told["takes"]] == [1]

            table = await studio.get(person, f"/week.csv?{query}")
            assert table.headers["content-type"] == "text/csv; charset=utf-8"
            assert table.headers["content-disposition"] == "attachment; filename*=UTF-8''Reed%202026-W10.csv"
            rows = list(csv.DictReader(io.StringIO(table.text, newline="")))
            assert rows[0]["what"] == "minutes"
            assert float(rows[0]["amount"]) == told["days"][1]["minutes"]

    in_studio(test)


def test_a_week_is_this_one_where_none_is_named(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        told = (await studio.get(REED, "/week.json")).json()
        assert told["minutes"] == 0
        for week in ("2026-W60", "yesterday"):
            answer = await studio.get(REED, f"/week.json?week={week}")
            assert (answer.status_code, "no such week" in answer.json()["text"]) == (422, True)

    in_studio(test)


@pytest.mark.parametrize("path", ["/week.json", "/week.csv"])
def test_a_week_is_nobody_elses(in_studio: Any, path: str, caplog: pytest.LogCaptureFixture) -> None:
    async def test(studio: Studio) -> None:
        for person, about, status in ((WREN, REED, 403), (REED, RUTH, 403), (TILDA, REED, 404), (RUTH, TILDA, 404)):
            assert (await studio.get(person, f"{path}?student={about.id}")).status_code == status

    with caplog.at_level(logging.WARNING, "coach.refused"):
        in_studio(test)
    assert len(caplog.records) == 4


def test_a_take_of_any_day_is_heard_by_the_player_and_their_teacher(
    in_studio: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def test(studio: Studio) -> None:
        await played(studio)
        monkeypatch.setattr(studio.service.workers, "run", run_here)
        for person in (REED, RUTH):
            take = await studio.get(person, f"/kept/{SAMPLE.name}/1.cues.json")
            assert take.json()["format"] == "cues/1"
            assert (await studio.get(person, f"/kept/{SAMPLE.name}/1.mid")).content == (
                SAMPLE / "take.mid"
            ).read_bytes()
            report = await studio.get(person, f"/kept/{SAMPLE.name}/1.json")
            assert report.content == (SAMPLE / "report.json").read_bytes()

    in_studio(test)


@pytest.mark.parametrize("suffix", ["cues.json", "json", "mid"])
def test_a_take_is_nobody_elses(in_studio: Any, suffix: str) -> None:
    async def test(studio: Studio) -> None:
        await played(studio)
        for person, path, status in (
            (WREN, f"{SAMPLE.name}/1", 403),
            (TILDA, f"{SAMPLE.name}/1", 404),
            (RUTH, f"{SAMPLE.name}/9", 404),
            (RUTH, "nowhere/1", 404),
            (RUTH, "../1", 404),
            (RUTH, "%2e%2e/1", 404),
            (RUTH, f"{SAMPLE.name}/99999999999", 404),
        ):
            assert (await studio.get(person, f"/kept/{path}.{suffix}")).status_code == status, path

    in_studio(test)


def test_what_is_no_file_of_a_take_is_not_there(in_studio: Any) -> None:
    async def test(studio: Studio) -> None:
        await played(studio)
        assert (await studio.get(REED, f"/kept/{SAMPLE.name}/1.txt")).status_code == 404
        (studio.service.takes_folder / SAMPLE.name / "take.mid").unlink()
        assert (await studio.get(REED, f"/kept/{SAMPLE.name}/1.mid")).status_code == 404

    in_studio(test)
