"""Reading Standard MIDI Files, written here with mido."""

from fractions import Fraction
from io import BytesIO

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.errors import TuneError
from coach.tunes.keys import Key
from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Meter, Tune

TICKS = 480


def track(
    *notes: tuple[float, float, int], channel: int = 0, name: str = "", meta: list[object] | None = None
) -> object:
    """A track of (start, length, pitch), in quarters."""
    events = [(0, mido.MetaMessage("track_name", name=name))] if name else []
    events += [(0, message) for message in meta or []]
    for start, length, pitch in notes:
        events.append((round(start * TICKS), mido.Message("note_on", channel=channel, note=pitch, velocity=80)))
        events.append((round((start + length) * TICKS), mido.Message("note_off", channel=channel, note=pitch)))
    events.sort(key=lambda event: (event[0], event[1].type != "note_off"))
    made, at = mido.MidiTrack(), 0
    for tick, message in events:
        made.append(message.copy(time=tick - at))
        at = tick
    return made


def save(*tracks: object, kind: int = 1, ticks: int = TICKS) -> bytes:
    file = mido.MidiFile(type=kind, ticks_per_beat=ticks)
    file.tracks.extend(tracks)
    buffer = BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def meter(count: int, unit: int) -> object:
    return mido.MetaMessage("time_signature", numerator=count, denominator=unit)


def key(name: str) -> object:
    return mido.MetaMessage("key_signature", key=name)


def notes(tune: Tune) -> list[tuple[Fraction, Fraction, int]]:
    return [(one.at, one.length, one.pitch) for measure in tune.measures for one in measure.notes]


SCALE = [(beat, 0.9, pitch) for beat, pitch in enumerate([67, 69, 71, 72, 74, 72, 71, 67])]


def read(*tracks: object, **options: object) -> Tune:
    return read_tune_bytes(save(*tracks), "song.mid", **options)


def test_notes_fall_into_measures_with_their_short_gaps_closed() -> None:
    tune = read(track(*SCALE, meta=[meter(4, 4), key("G")]))
    assert [measure.meter for measure in tune.measures] == [Meter(4, 4)] * 2
    assert notes(tune) == [(beat % 4, 1, pitch) for beat, _, pitch in SCALE]
    assert tune.key == Key("G")


def test_uneven_playing_is_put_on_the_grid_of_sixteenths() -> None:
    played = [(0.02, 0.4, 67), (0.47, 0.5, 69), (1.03, 0.7, 71), (1.76, 0.2, 72), (2.01, 1.9, 67)]
    assert [(at, length) for at, length, _ in notes(read(track(*played, meta=[meter(4, 4)])))] == [
        (0, Fraction(1, 2)),
        (Fraction(1, 2), Fraction(1, 2)),
        (1, Fraction(3, 4)),
        (Fraction(7, 4), Fraction(1, 4)),
        (2, 2),
    ]


def test_a_beat_played_in_three_is_put_on_triplets() -> None:
    played = [(0, 0.3, 67), (0.34, 0.3, 69), (0.66, 0.3, 71), (1, 1, 72), (2, 0.5, 71), (2.5, 0.5, 69), (3, 1, 67)]
    assert [at for at, _, _ in notes(read(track(*played, meta=[meter(4, 4)])))] == [
        0,
        Fraction(1, 3),
        Fraction(2, 3),
        1,
        2,
        Fraction(5, 2),
        3,
    ]


def test_a_note_over_the_barline_is_one_note() -> None:
    tune = read(track((0, 3, 67), (3, 3, 69), (6, 2, 67), meta=[meter(4, 4)]))
    assert notes(tune) == [(0, 3, 67), (3, 3, 69), (2, 2, 67)]
    assert [measure.length for measure in tune.measures] == [4, 4]


def test_empty_measures_before_the_melody_are_dropped_and_a_late_start_is_a_pickup() -> None:
    tune = read(track((11, 1, 62), (12, 2, 67), (14, 2, 67), meta=[meter(4, 4)]))
    assert [(measure.number, measure.length) for measure in tune.measures] == [(0, 1), (1, 4)]


def test_the_metre_may_change() -> None:
    first = track(meta=[meter(4, 4)])
    first.append(mido.MetaMessage("time_signature", numerator=3, denominator=4, time=4 * TICKS))
    tune = read(first, track((0, 4, 67), (4, 3, 69), (7, 3, 67)))
    assert [measure.meter for measure in tune.measures] == [Meter(4, 4), Meter(3, 4), Meter(3, 4)]


def test_without_a_time_signature_the_metre_is_four_four_and_said() -> None:
    assert "The source has no time signature: it is read in 4/4." in read(track(*SCALE)).remarks


CHORDS = [(beat, 2, pitch) for beat in (0, 2, 4, 6) for pitch in (55, 59, 62)]
BASS = [(beat, 1, 43) for beat in range(8)]
DRUMS = [(beat / 4, 0.1, 76) for beat in range(32)]


def test_the_melody_is_the_single_line_that_is_no_bass_and_no_drums() -> None:
    tune = read(
        track(*CHORDS, channel=1),
        track(*BASS, channel=2),
        track(*DRUMS, channel=9),
        track(*SCALE, channel=3, meta=[meter(4, 4)]),
    )
    assert [pitch for _, _, pitch in notes(tune)] == [pitch for _, _, pitch in SCALE]
    assert "The melody is taken from track 4." in tune.remarks


def test_a_name_that_says_melody_decides() -> None:
    tune = read(track(*SCALE, channel=1), track(*BASS, channel=2, name="Melody"))
    assert {pitch for _, _, pitch in notes(tune)} == {43}
    assert "The melody is taken from track 2 (Melody)." in tune.remarks


@pytest.mark.parametrize("part", [2, "2", "low"])
def test_a_track_can_be_chosen(part: str | int) -> None:
    tune = read(track(*SCALE, channel=1), track(*BASS, channel=2, name="Low"), part=part)
    assert {pitch for _, _, pitch in notes(tune)} == {43}


def test_a_track_without_notes_cannot_be_chosen() -> None:
    with pytest.raises(TuneError, match=r"no notes in a track 9; choose one of 1 Tune, 2"):
        read(track(*SCALE, name="Tune"), track(*BASS, channel=2), part=9)


def test_the_top_line_of_a_track_with_chords_is_the_melody() -> None:
    assert [pitch for _, _, pitch in notes(read(track(*CHORDS)))] == [62, 62, 62, 62]


def test_chords_are_given_by_the_user() -> None:
    tune = read(track(*SCALE, meta=[meter(4, 4)]), chords="G D7 | G")
    found = [[(change.at, change.chord.symbol) for change in measure.chords] for measure in tune.measures]
    assert found == [[(0, "G"), (2, "D7")], [(0, "G")]]


def test_words_are_laid_under_the_notes_they_start_with() -> None:
    made = track(*SCALE, meta=[meter(4, 4)])
    words, at = mido.MidiTrack(), 0
    for beat, text in [(0, "One"), (1, "two-"), (3, "fold"), (3.6, "lost")]:
        words.append(mido.MetaMessage("lyrics", text=text, time=round(beat * TICKS) - at))
        at = round(beat * TICKS)
    assert [one.lyric for measure in read(made, words).measures for one in measure.notes] == [
        "One",
        "two-",
        None,
        "fold",
        *[None] * 4,
    ]


def test_title_and_rights_come_from_the_file() -> None:
    made = track(*SCALE, name="Evening", meta=[mido.MetaMessage("copyright", text="Free")])
    tune = read(made)
    assert (tune.title, tune.rights) == ("Evening", "Free")
    assert read(track(*SCALE)).title == "song"


@pytest.mark.parametrize(
    ("pitches", "told", "expected"),
    [
        ([62, 66, 69, 74, 73, 71, 69, 62], None, "D major"),
        ([62, 66, 69, 74, 73, 71, 69, 62], "C", "D major"),  # C is what programs write when nobody chose
        ([60, 64, 67, 72, 71, 69, 67, 60], "C", "C major"),
        ([69, 72, 76, 74, 71, 68, 71, 69], None, "A minor"),
        ([58, 62, 65, 70, 69, 67, 65, 58], None, "Bb major"),
        ([67, 71, 74, 72, 69, 66, 69, 67], "G", "G major"),
        ([64, 67, 71, 69, 66, 63, 66, 64], "Em", "E minor"),
    ],
)
def test_the_key_is_told_or_found(pitches: list[int], told: str | None, expected: str) -> None:
    meta = [key(told)] if told else []
    assert str(read(track(*[(beat, 1, pitch) for beat, pitch in enumerate(pitches)], meta=meta)).key) == expected


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"MThd\x00\x00", "song.mid: this is no MIDI file that can be read"),
        (save(track(*SCALE), kind=2), "song.mid: it holds several songs (type 2)"),
        (save(track(meta=[meter(4, 4)])), "song.mid: there is no melody in this file"),
        (save(track(*DRUMS, channel=9)), "song.mid: there is no melody in this file"),
        (save(track(*SCALE, meta=[meter(4, 64)])), "song.mid: its time signature cannot be used"),
        (save(track(*SCALE)).replace(b"\x01\xe0MTrk", b"\xe7\x28MTrk"), "song.mid: its time is counted in frames"),
    ],
)
def test_bad_files_get_one_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(TuneError) as caught:
        read_tune_bytes(data, "song.mid")
    assert str(caught.value).startswith(sentence)
    assert caught.value.cure


@settings(max_examples=50)
@given(st.lists(st.tuples(st.integers(0, 64), st.integers(1, 12), st.integers(40, 90)), min_size=1, max_size=24))
def test_any_notes_give_a_line_of_measures_that_are_filled(played: list[tuple[int, int, int]]) -> None:
    tune = read(track(*[(start / 4, length / 4, pitch) for start, length, pitch in played], meta=[meter(3, 4)]))
    at = Fraction(0)
    ends = Fraction(0)
    for measure in tune.measures:
        for one in measure.notes:
            assert at + one.at >= ends
            ends = at + one.at + one.length
        at += measure.length
    assert all(measure.length == 3 for measure in tune.measures[1:])
    assert ends <= at
