from __future__ import annotations

import json
import random
import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from mir_eval.util import midi_to_hz

from coach.arranging.arrange import arrange
from coach.arranging.files import to_json
from coach.cli import main
from coach.listening.plan import PassPlan
from coach.sheets.midi import to_midi
from coach.takes.files import read_take, write_take
from coach.takes.player import VirtualPlayer
from coach.takes.recorder import Recorder
from coach.takes.take import Message, Take
from coach.tunes.demo import DEMO_TUNES, demo_tune
from coach.tunes.read import read_tune


@pytest.fixture(scope="module")
def tune(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tune") / "tune.abc"
    path.write_text(
        "X:1\nT:Study\nM:4/4\nL:1/4\nK:G\n"
        '"G" G B d B | "C" c e c2 | "D7" d c B A | "G" G2 z2 |\n"G" G B d B | "C" c e c2 | "D7" d c B A | "G" G4 |]\n',
        "utf-8",
    )
    return path


@pytest.fixture(scope="module")
def take(tune: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A perfect take of the intermediate solo: its own MIDI file."""
    path = tmp_path_factory.mktemp("take") / "take.mid"
    path.write_bytes(to_midi(arrange(read_tune(tune), "intermediate"), tempo=90.0))
    return path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["report", *map(str, words)])


def scored(*words: object) -> dict[str, object]:
    result = run(*words, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def edited(take: Path, where: Path, change: object) -> Path:
    """A copy of a take with its messages changed."""
    whole = read_take(take.read_bytes())
    messages = change(whole.messages)
    where.write_bytes(write_take(replace(whole, messages=tuple(messages), division=24000)))
    return where


@pytest.mark.parametrize("tier", ["beginner", "intermediate", "advanced"])
@pytest.mark.parametrize("name", sorted(DEMO_TUNES))
def test_the_midi_file_of_a_solo_is_a_perfect_take_of_it(tier: str, name: str, tmp_path: Path) -> None:
    solo = arrange(demo_tune(name), tier)
    arrangement, take = tmp_path / "solo.json", tmp_path / "solo.mid"
    arrangement.write_bytes(to_json(solo))
    take.write_bytes(to_midi(solo, tempo=96.0))
    report = scored(arrangement, take)

    assert report["summary"] == {
        "played_share": 1.0,
        "mean_offset_ms": 0.0,
        "spread_ms": 0.0,
        "tempo_drift_percent": 0.0,
    }
    assert report["passes"] == [
        {
            "pass": 1,
            "tempo": 96.0,
            "measures": f"{solo.measures[0].number}-{solo.measures[-1].number}",
            "whole": True,
            "clean": True,
            "kept_going": True,
        }
    ]
    assert report["extra"] == []
    assert {dropped["reason"] for dropped in report["dropped"]} <= {"other channel"}  # bass and chords


def test_a_tune_is_arranged_at_once(tune: Path, take: Path) -> None:
    report = scored(tune, "--tier", "intermediate", take)

    assert (report["tier"], report["title"], report["tempo"]) == ("intermediate", "Study", 90.0)
    assert {note["verdict"] for note in report["notes"]} == {"on time"}


def test_what_was_done_to_a_take_is_what_its_report_says(tune: Path, take: Path, tmp_path: Path) -> None:
    def spoil(messages: tuple[object, ...]) -> list[object]:
        ons = [m for m in messages if 0x90 <= m.data[0] <= 0x94]
        gone, wrong, late = ons[4], ons[9], ons[14]
        changed = [m for m in messages if m is not gone]
        changed[changed.index(wrong)] = replace(wrong, data=bytes([wrong.data[0], wrong.data[1] + 1, 80]))
        index = changed.index(late)
        changed[index] = replace(late, tick=late.tick + 24000 * 100 // 667)  # 100 ms
        return changed

    report = scored(tune, "--tier", "intermediate", edited(take, tmp_path / "spoilt.mid", spoil))
    wrong = {note["id"]: note["verdict"] for note in report["notes"] if note["verdict"] != "on time"}
    order = [note["id"] for note in report["notes"]]

    assert [(order.index(key), verdict) for key, verdict in wrong.items()] == [
        (4, "missed"),
        (9, "wrong note"),
        (14, "late"),
    ]
    assert next(note for note in report["notes"] if note["verdict"] == "late")["offset_ms"] == pytest.approx(100, abs=1)


def test_latency_and_lean_and_tolerance_are_taken_as_told(tune: Path, take: Path, tmp_path: Path) -> None:
    shift = round(24000 * 30 / 666.667)
    late = edited(take, tmp_path / "late.mid", lambda ms: [replace(m, tick=m.tick + shift) for m in ms])

    median = scored(tune, "--tier", "intermediate", late)
    told = scored(tune, "--tier", "intermediate", late, "--lean-ms", "0", "--tolerance-ms", "29")
    less = scored(tune, "--tier", "intermediate", late, "--latency-ms", "30")
    by_string = scored(tune, "--tier", "intermediate", late, "--latency-ms", "1=30,2=30,3=30,4=30,5=0")

    assert median["lean_ms"] == pytest.approx(30.0, abs=0.05)
    assert {note["verdict"] for note in told["notes"]} == {"late"}
    assert less["lean_ms"] == pytest.approx(0.0, abs=0.05)
    assert {round(note["offset_ms"]) for note in by_string["notes"] if note["string"] == 5} == {30}
    assert {round(note["offset_ms"]) for note in by_string["notes"] if note["string"] != 5} == {0}


def test_latency_by_vibrations_of_the_note_is_taken_off_beside_the_other(
    tune: Path, take: Path, tmp_path: Path
) -> None:
    # Of a pickup that needs two vibrations of 440 · 2^((n - 69) / 12) hertz and 5 ms more; mir_eval tells the hertz.
    def needed(message: Message) -> int:
        ms = 5 + 2000 / float(midi_to_hz(message.data[1]))
        return round(24000 * ms / 666.667)

    slow = edited(take, tmp_path / "slow.mid", lambda ms: [replace(m, tick=m.tick + needed(m)) for m in ms])
    blind = scored(tune, "--tier", "intermediate", slow, "--latency-ms", "5")
    told = scored(tune, "--tier", "intermediate", slow, "--latency-ms", "5", "--latency-periods", "2")

    low, high = min(blind["notes"], key=by_pitch), max(blind["notes"], key=by_pitch)
    assert low["offset_ms"] == pytest.approx(2000 / float(midi_to_hz(low["pitch"])), abs=0.1)
    assert high["offset_ms"] < low["offset_ms"]
    assert {abs(round(note["offset_ms"], 1)) for note in told["notes"]} == {0.0}


def by_pitch(note: dict[str, object]) -> int:
    return int(str(note["pitch"]))


def test_strings_may_lie_on_other_channels(tune: Path, take: Path, tmp_path: Path) -> None:
    def higher(messages: tuple[object, ...]) -> list[object]:
        return [replace(m, data=bytes([m.data[0] + 10]) + m.data[1:]) for m in messages if m.data[0] & 0x0F < 5]

    moved = edited(take, tmp_path / "moved.mid", higher)
    unknown = scored(tune, "--tier", "intermediate", moved)
    told = scored(tune, "--tier", "intermediate", moved, "--string-channels", "11-15")

    assert {note["string"] for note in unknown["notes"]} == {None}
    assert {note["string"] for note in told["notes"]} == {1, 2, 3, 4, 5}
    assert told["summary"]["played_share"] == 1.0


def test_the_table_is_readable_and_names_what_went_wrong(tune: Path, tmp_path: Path) -> None:
    solo = arrange(read_tune(tune), "intermediate")
    recorder = Recorder()
    mark = recorder.begin_pass(1.0, 90.0)
    plan = PassPlan(solo, mark.tempo, mark.seconds)
    for message in VirtualPlayer(ability=70.0, seed=3).play(plan):
        recorder.add(mark.seconds + message.seconds, message.data)
    path = tmp_path / "take.mid"
    path.write_bytes(write_take(recorder.take(60.0)))
    result = run(tune, "--tier", "intermediate", path)

    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == "Study, intermediate"
    assert lines[1].strip() == "Pass 1, measures 1-8, 90 quarters a minute (45 half notes): not clean"
    head = next(i for i, line in enumerate(lines) if line.split()[:2] == ["measure", "played"])
    assert all(line.startswith("  ") for line in lines[2:head])  # what a teacher would say comes first
    assert "".join(lines[2:head]).count(".") == 3
    assert [line.split()[0] for line in lines[head + 1 : head + 9]] == [str(number) for number in range(1, 9)]
    assert any(line.startswith("Measure ") for line in lines)
    assert any(line.startswith("Played: ") for line in lines)
    assert max(map(len, lines)) <= 80


def test_offsets_of_three_digits_leave_room_for_the_verdict(tune: Path, tmp_path: Path) -> None:
    slow = tmp_path / "slow.mid"
    slow.write_bytes(to_midi(arrange(read_tune(tune), "intermediate"), tempo=45.0))

    def every_other_late(messages: tuple[Message, ...]) -> list[Message]:
        ons = [m for m in messages if 0x90 <= m.data[0] <= 0x94 and m.data[2]]
        return [replace(m, tick=m.tick + 24000 * 280 // 1333 * (i % 2)) for i, m in enumerate(ons)]

    late = edited(slow, tmp_path / "late.mid", every_other_late)
    lines = run(tune, "--tier", "intermediate", late, "--lean-ms", "0").stdout.splitlines()
    rows = [line for line in lines if line.split()[0].isdigit()]

    assert any(re.search(r"[+-]\d{3} ms +\d{3} ms", row) for row in rows)
    assert {row.split()[-1] for row in rows} <= {"clean", "again"}
    assert max(map(len, lines)) <= 80


def test_no_line_ends_in_blanks_and_no_number_is_minus_zero(tune: Path, take: Path, tmp_path: Path) -> None:
    def a_little_early(messages: tuple[Message, ...]) -> list[Message]:
        return [replace(m, tick=max(0, m.tick - 10 * (i % 3))) for i, m in enumerate(messages)]

    moved = edited(take, tmp_path / "moved.mid", a_little_early)
    assert any(
        -0.5 < measure["mean_offset_ms"] < 0 for measure in scored(tune, moved, "--tier", "intermediate")["measures"]
    )
    for words in ([], ["--free"]):
        printed = run(tune, moved, "--tier", "intermediate", *words).stdout

        assert "measure  played" in printed
        assert not [line for line in printed.splitlines() if line != line.rstrip()]
        assert not re.search(r"-0(?:\.0)?(?![\d.])", printed)


def test_what_is_not_counted_is_told_in_the_plural(tune: Path, take: Path, tmp_path: Path) -> None:
    def with_ghosts(count: int) -> Path:
        def ghosts(messages: tuple[Message, ...]) -> list[Message]:
            first = [m for m in messages if 0x90 <= m.data[0] <= 0x94 and m.data[2]][:count]
            added = [
                replace(m, tick=m.tick + 200, data=bytes([m.data[0], m.data[1] + 12, m.data[2] // 3])) for m in first
            ]
            return sorted([*messages, *added], key=lambda m: m.tick)

        return edited(take, tmp_path / f"ghosts{count}.mid", ghosts)

    assert re.search(r"\b1 octave ghost\b", run(tune, with_ghosts(1), "--tier", "intermediate").stdout)
    assert re.search(r"\b3 octave ghosts\b", run(tune, with_ghosts(3), "--tier", "intermediate").stdout)


def test_of_an_empty_take_no_note_is_listed(tune: Path, take: Path, tmp_path: Path) -> None:
    empty = edited(take, tmp_path / "empty.mid", lambda _: [])
    clicked = run(tune, empty, "--tier", "intermediate").stdout
    free = run(tune, empty, "--tier", "intermediate", "--free").stdout

    for printed in (clicked, free):
        assert "Nothing was heard in this pass." in printed
        assert "missed," not in printed
        assert "of what you came to" not in printed


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["{tune}", "{take}"], "--tier: which solo was played is not said; choose beginner, intermediate, advanced."),
        (["{tune}", "nowhere.mid", "--tier", "beginner"], "nowhere.mid: the file cannot be opened"),
        (["nowhere.abc", "{take}", "--tier", "beginner"], "nowhere.abc"),
        (["{tune}", "{tune}", "--tier", "beginner"], "tune.abc: this is no Standard MIDI File"),
        (
            ["{tune}", "{take}", "--tier", "beginner", "--tempo", "70"],
            "s: the click runs at 90, not at 70",
        ),
        (["{tune}", "{take}", "--tier", "beginner", "--latency-ms", "soon"], "'soon' is no latency"),
        (["{tune}", "{take}", "--tier", "beginner", "--latency-ms", "nan"], "'nan' is no latency"),
        (["{tune}", "{take}", "--tier", "beginner", "--latency-periods", "-0.1"], "-0.1 is not in the range"),
        (["{tune}", "{take}", "--tier", "beginner", "--latency-periods", "20.1"], "20.1 is not in the range"),
        (["{tune}", "{take}", "--tier", "beginner", "--latency-periods", "nan"], "nan is no number"),
        (["{tune}", "{take}", "--tier", "beginner", "--latency-ms", "1=7,1=8"], "is no latency"),
        (["{tune}", "{take}", "--tier", "beginner", "--latency-ms", "6=7"], "is no latency"),
        (["{tune}", "{take}", "--tier", "beginner", "--string-channels", "1-9"], "channels of strings 1 to 5"),
        (["{tune}", "{take}", "--tier", "expert"], "expert"),
        (["{tune}", "{take}", "--tier", "beginner", "--bounce", "70"], "--bounce"),
        (["{tune}", "{take}", "--tier", "beginner", "--tempo", "nan"], "nan is no number"),
        (["{tune}", "{take}", "--tier", "beginner", "--lean-ms", "nan"], "nan is no number"),
        (["{tune}", "{take}", "--tier", "beginner", "--tolerance-ms", "nan"], "nan is no number"),
    ],
)
def test_bad_input_is_one_line_and_status_2(words: list[str], what: str, tune: Path, take: Path) -> None:
    result = run(*(word.format(tune=tune, take=take) for word in words))

    assert result.exit_code == 2
    assert what in result.stderr
    assert result.stderr.count("\n") == 1
    assert result.stdout == ""


def test_an_arrangement_has_its_own_tier(tune: Path, take: Path, tmp_path: Path) -> None:
    path = tmp_path / "solo.json"
    path.write_bytes(to_json(arrange(read_tune(tune), "intermediate")))

    assert scored(path, take) == scored(path, take, "--tier", "intermediate")
    result = run(path, take, "--tier", "beginner")
    assert result.exit_code == 2
    assert "the solo is intermediate, not beginner" in result.stderr


def test_any_stream_of_messages_gives_a_report(tune: Path, tmp_path: Path) -> None:
    rng = random.Random(11)
    path = tmp_path / "noise.mid"
    expected = None
    for _ in range(10):
        recorder = Recorder()
        recorder.begin_pass(1.0, rng.uniform(40.0, 300.0))
        for _ in range(rng.randint(0, 120)):
            status = rng.choice([0x80, 0x90, 0x90, 0x90, 0xB0, 0xE0]) | rng.randint(0, 6)
            recorder.add(rng.uniform(0.0, 30.0), bytes([status, rng.randint(0, 127), rng.randint(0, 127)]))
        whole: Take = recorder.take(60.0)
        path.write_bytes(write_take(whole))
        report = scored(tune, "--tier", "intermediate", path)
        ids = [note["id"] for note in report["notes"]]
        expected = expected or ids

        assert ids == expected


def test_a_take_of_measures_that_the_solo_has_not_is_named(tune: Path, tmp_path: Path) -> None:
    recorder = Recorder()
    recorder.begin_pass(1.0, 80.0, first=90, last=95)
    path = tmp_path / "elsewhere.mid"
    path.write_bytes(write_take(recorder.take(5.0)))

    result = run(tune, "--tier", "beginner", path)

    assert result.exit_code == 2
    assert "elsewhere.mid: the solo has no measures 90 to 95" in result.stderr


def test_a_measure_left_out_is_named_and_what_follows_is_judged_where_the_player_was(
    tune: Path, take: Path, tmp_path: Path
) -> None:
    def without_the_third(messages: tuple[Message, ...]) -> list[Message]:
        measure = round(messages[-1].tick / messages[-1].seconds * 4 * 60 / 90)
        kept = [message for message in messages if message.tick < 2 * measure or message.tick >= 3 * measure]
        return [
            replace(message, tick=message.tick - measure) if message.tick >= 3 * measure else message
            for message in kept
        ]

    short = edited(take, tmp_path / "short.mid", without_the_third)
    report = scored(tune, short, "--tier", "intermediate", "--tempo", "90")
    told = run(tune, short, "--tier", "intermediate", "--tempo", "90")
    third = [note["id"] for note in report["notes"] if note["measure"] == 3]

    assert report["passages"] == [{"pass": 1, "from": third[0], "to": third[-1], "kind": "left out", "slots": 8}]
    assert {note["id"] for note in report["notes"] if note["verdict"] == "missed"} == set(third)
    assert "Measure 3: left out." in told.output


def test_a_slur_that_was_picked_is_named(tmp_path: Path) -> None:
    solo = arrange(demo_tune("turn-the-barrow"), "advanced")
    slides = [pluck.id for _, pluck in solo.plucks() if pluck.technique == "slide"]
    path, played = tmp_path / "solo.json", tmp_path / "take.mid"
    path.write_bytes(to_json(solo))
    recorder = Recorder()
    mark = recorder.begin_pass(2.0, 70.0)
    plan = PassPlan(solo, mark.tempo, mark.seconds)
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            channel, seconds = pluck.string - 1, plan.tempo_map.seconds(start + pluck.at)
            bend = 8192 if pluck.id not in slides[:-1] else 8192 + 4096 * (pluck.fret - (pluck.from_fret or 0))
            recorder.add(seconds, bytes([0xE0 | channel, min(16383, bend) & 127, min(16383, bend) >> 7]))
            if bend == 8192:
                recorder.add(seconds, bytes([0x90 | channel, pluck.pitch, 80]))
    played.write_bytes(write_take(recorder.take()))

    assert len(slides) == 4
    report = scored(path, played)
    assert [entry["picked_not_slurred"] for entry in report["playing"]] == [slides[-1:]]
    assert f"Picked, not slurred: {slides[-1]}." in run(path, played).output
