import io
from collections import defaultdict
from dataclasses import replace
from fractions import Fraction

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.accompaniment import accompaniment
from coach.arranging.arrangement import Arrangement
from coach.arranging.click import click
from coach.sheets.midi import DIVISION, tick, to_midi
from coach.takes.files import read_take
from coach.takes.replay import report_on
from coach.tunes.tune import Meter


def read_back(data: bytes) -> mido.MidiFile:
    return mido.MidiFile(file=io.BytesIO(data))


def stamped(track: mido.MidiTrack) -> list[tuple[int, mido.Message]]:
    now = 0
    return [(now := now + message.time, message) for message in track]


def solo_track(file: mido.MidiFile) -> list[tuple[int, mido.Message]]:
    return stamped(next(track for track in file.tracks if track.name == "solo"))


def note_ons(file: mido.MidiFile) -> list[tuple[int, int, int]]:
    return [(at, m.channel, m.note) for at, m in solo_track(file) if m.type == "note_on"]


def expected(solo: Arrangement) -> list[tuple[int, int, int]]:
    starts = solo.starts()
    return sorted(
        (int((starts[measure.number] + pluck.at) * 24000), pluck.string - 1, pluck.pitch)
        for measure, pluck in solo.plucks()
    )


@pytest.mark.parametrize("name", ["solo", "doubled", "waltz", "jig", "roll_study"])
def test_a_reader_finds_every_pluck_on_its_tick_and_its_string(name: str, request: pytest.FixtureRequest) -> None:
    arrangement = request.getfixturevalue(name)

    assert sorted(note_ons(read_back(to_midi(arrangement)))) == expected(arrangement)


def test_file_is_of_type_1_with_division_24000_and_named_tracks(solo: Arrangement) -> None:
    file = read_back(to_midi(solo))

    assert (file.type, file.ticks_per_beat) == (1, 24000)
    assert [track.name for track in file.tracks] == [solo.title, "solo", "bass", "chop", "click"]


def test_every_string_has_the_banjo_of_general_midi(solo: Arrangement) -> None:
    # General MIDI level 1: banjo is program 106 counted from 1.
    programs = {m.channel: m.program for _, m in solo_track(read_back(to_midi(solo))) if m.type == "program_change"}

    assert programs == dict.fromkeys(range(5), 105)


def test_downbeat_stands_where_the_pickup_starts_with_the_tempo_at_its_tick(solo: Arrangement) -> None:
    conductor = stamped(read_back(to_midi(solo, tempo=120)).tracks[0])

    # SMF 1.0: microseconds a quarter; 120 quarters a minute are 500000.
    assert [(at, m.tempo) for at, m in conductor if m.type == "set_tempo"] == [(0, 500000)]
    assert [(at, m.text) for at, m in conductor if m.type == "marker"] == [(0, "downbeat")]


def test_a_pickup_is_a_measure_of_its_own_length(solo: Arrangement) -> None:
    conductor = stamped(read_back(to_midi(solo)).tracks[0])
    signatures = [(at, m.numerator, m.denominator) for at, m in conductor if m.type == "time_signature"]

    assert signatures == [(0, 1, 4), (DIVISION, 4, 4)]


def test_key_signature_is_of_what_sounds(solo: Arrangement, doubled: Arrangement) -> None:
    keys = [
        next(m.key for m in read_back(to_midi(one)).tracks[0] if m.type == "key_signature") for one in (solo, doubled)
    ]

    assert keys == ["G", "A"]


def test_slurred_notes_are_softer_and_melody_is_louder_than_fill(solo: Arrangement) -> None:
    loud = {(at, m.channel): m.velocity for at, m in solo_track(read_back(to_midi(solo))) if m.type == "note_on"}
    starts = solo.starts()
    by_kind = defaultdict(list)
    for measure, pluck in solo.plucks():
        velocity = loud[tick(starts[measure.number] + pluck.at), pluck.string - 1]
        by_kind[pluck.role, pluck.technique == "pick"].append(velocity)

    assert min(by_kind["melody", True]) > max(by_kind["fill", True])
    assert max(by_kind["melody", False]) < min(by_kind["melody", True])


def test_a_string_is_stopped_before_it_sounds_again(solo: Arrangement) -> None:
    sounding: set[int] = set()
    for _, message in solo_track(read_back(to_midi(solo))):
        if message.type == "note_on":
            assert message.channel not in sounding
            sounding.add(message.channel)
        elif message.type == "note_off":
            sounding.remove(message.channel)
    assert not sounding


def test_tracks_end_with_the_last_measure(solo: Arrangement) -> None:
    # Four measures of 4/4 and a pickup of one quarter.
    file = read_back(to_midi(solo))

    assert {stamped(track)[-1][0] for track in file.tracks} == {17 * DIVISION}


def test_a_player_of_the_file_hears_the_notes_at_the_tempo(waltz: Arrangement) -> None:
    now, heard = 0.0, []
    for message in read_back(to_midi(waltz, tempo=90)):
        now += message.time
        if message.type == "note_on" and message.channel < 5:
            heard.append(now)

    # 90 quarters a minute: two thirds of a second each. The last pinch is on the first beat of measure 3.
    assert heard[0] == pytest.approx(0)
    assert heard[-1] == pytest.approx(6 * 2 / 3, abs=1e-5)


def test_accompaniment_and_click_have_tracks_and_channels_of_their_own(solo: Arrangement) -> None:
    file = read_back(to_midi(solo))
    sounding = {
        track.name: [(Fraction(at, DIVISION), m.channel, m.note) for at, m in stamped(track) if m.type == "note_on"]
        for track in file.tracks
    }
    backing = accompaniment(solo, tempo=80)  # the tempo of a file where none is told

    for part, channel in (("bass", 5), ("chop", 6)):
        assert sounding[part] == [(b.at, channel, pitch) for b in backing if b.part == part for pitch in b.pitches]
        assert sounding[part]
    assert [at for at, _, _ in sounding["click"]] == [each.at for each in click(solo)]
    # General MIDI percussion sounds on channel 10 counted from 1; 76 and 77 are the high and low wood block.
    assert {(channel, note) for _, channel, note in sounding["click"]} == {(9, 76), (9, 77)}
    assert {channel for name in ("bass", "chop", "click") for _, channel, _ in sounding[name]}.isdisjoint(range(5))


@pytest.mark.parametrize("name", ["solo", "doubled", "waltz", "jig", "roll_study"])
@pytest.mark.parametrize("bounce", [50, 58])
def test_the_file_is_a_perfect_take_of_itself(name: str, bounce: int, request: pytest.FixtureRequest) -> None:
    arrangement = replace(request.getfixturevalue(name), bounce=bounce)

    report = report_on(read_take(to_midi(arrangement, tempo=93)), arrangement)

    judged = [note for result in report.results for note in result.notes]
    assert len(judged) == len(list(arrangement.plucks()))
    assert {note.verdict for note in judged} == {"on time"}
    assert max(abs(note.offset_ms) for note in judged) < 0.1
    assert not any(result.extras for result in report.results)
    # What sounds along is on channels of no string.
    assert {dropped.reason for result in report.results for dropped in result.dropped} <= {"other channel"}


@pytest.mark.parametrize("tempo", [0.0, -60.0, 3.5, float("nan"), 1e9])
def test_a_tempo_that_the_format_cannot_hold_is_refused(solo: Arrangement, tempo: float) -> None:
    with pytest.raises(ValueError, match="quarters a minute"):
        to_midi(solo, tempo=tempo)


def test_same_solo_gives_same_bytes(solo: Arrangement) -> None:
    assert to_midi(solo) == to_midi(solo)


@given(st.sets(st.tuples(st.integers(0, 11), st.integers(1, 5)), min_size=1), st.sampled_from(["1/4", "1/3", "1/6"]))
def test_any_plucks_come_back_exactly(build, plucks, step) -> None:
    rows = [(str(at * Fraction(step)), string, 0, "T", "fill") for at, string in plucks]
    one = build(Meter(4, 4), rows)

    assert sorted(note_ons(read_back(to_midi(one)))) == expected(one)
