"""Reading MusicXML. The scores are written out here; a real one is read in tests/outside."""

import zipfile
from collections.abc import Callable
from fractions import Fraction
from io import BytesIO

import pytest

from coach.errors import TuneError
from coach.tunes.keys import Key
from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Meter, Tune

ATTRIBUTES = (
    "<attributes><divisions>2</divisions><key><fifths>1</fifths><mode>major</mode></key>"
    "<time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
)


def note(step: str, duration: int, *, octave: int = 4, extra: str = "", words: tuple[tuple[str, str], ...] = ()) -> str:
    lyrics = "".join(
        f'<lyric number="{number}"><syllabic>{kind}</syllabic><text>{text}</text></lyric>'
        for number, (kind, text) in enumerate(words, start=1)
    )
    alter = "<alter>1</alter>" if "#" in step else ""
    pitch = f"<pitch><step>{step[0]}</step>{alter}<octave>{octave}</octave></pitch>"
    return f"<note>{pitch}<duration>{duration}</duration>{extra}{lyrics}</note>"


def rest(duration: int) -> str:
    return f"<note><rest/><duration>{duration}</duration></note>"


def score(*measures: str, more: str = "", head: str = "") -> bytes:
    body = "".join(f'<measure number="{number}">{measure}</measure>' for number, measure in enumerate(measures, 1))
    more_list = '<score-part id="P2"><part-name>Bass</part-name></score-part>' if more else ""
    text = (
        f'<?xml version="1.0"?><score-partwise version="4.0">{head}<part-list>'
        f'<score-part id="P1"><part-name>Voice</part-name></score-part>{more_list}</part-list>'
        f'<part id="P1">{body}</part>{more}</score-partwise>'
    )
    return text.encode()


def packed(data: bytes, *, name: str = "music/score.xml", container: bool = True) -> bytes:
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        if container:
            archive.writestr(
                "META-INF/container.xml",
                f'<container><rootfiles><rootfile full-path="{name}"/></rootfiles></container>',
            )
        archive.writestr(name, data)
    return buffer.getvalue()


def read(*measures: str, **options: str) -> Tune:
    return read_tune_bytes(score(*measures, **options), "song.musicxml")


def notes(tune: Tune) -> list[tuple[Fraction, Fraction, int]]:
    return [(one.at, one.length, one.pitch) for measure in tune.measures for one in measure.notes]


def test_notes_metre_key_and_title_are_read() -> None:
    head = "<work><work-title>A Song</work-title></work><identification><rights>Free to sing</rights></identification>"
    tune = read(ATTRIBUTES + note("G", 2) + note("B", 1) + rest(1) + note("F#", 2), note("G", 6), head=head)
    assert (tune.title, tune.rights, tune.key) == ("A Song", "Free to sing", Key("G"))
    assert tune.measures[0].meter == Meter(3, 4)
    assert notes(tune) == [(0, 1, 67), (1, Fraction(1, 2), 71), (2, 1, 66), (0, 3, 67)]


def test_the_file_s_name_is_the_title_where_there_is_none() -> None:
    assert read(ATTRIBUTES + note("G", 6)).title == "song"


def test_words_and_verses_are_read() -> None:
    tune = read(
        ATTRIBUTES
        + note("G", 2, words=(("begin", "Riv"), ("single", "And")))
        + note("A", 2, words=(("end", "er"), ("single", "then")))
        + note("B", 2)
    )
    assert [(one.lyric, one.verses) for one in tune.measures[0].notes] == [
        ("Riv-", ("And",)),
        ("er", ("then",)),
        (None, ()),
    ]


def test_chord_symbols_are_read_with_quality_and_bass() -> None:
    def harmony(step: str, kind: str, bass: str = "") -> str:
        under = f"<bass><bass-step>{bass}</bass-step></bass>" if bass else ""
        return f"<harmony><root><root-step>{step}</root-step></root><kind>{kind}</kind>{under}</harmony>"

    tune = read(
        ATTRIBUTES + harmony("G", "major") + note("G", 2) + harmony("A", "minor-seventh") + note("A", 4),
        harmony("D", "dominant", "A") + note("A", 6),
        harmony("G", "none") + note("G", 6),
    )
    found = [[(change.at, change.chord.symbol) for change in measure.chords] for measure in tune.measures]
    assert found == [[(0, "G"), (1, "Am7")], [(0, "D7/A")], []]


def test_a_chord_symbol_of_an_unknown_kind_is_read_as_the_nearest_chord() -> None:
    odd = '<harmony><root><root-step>G</root-step></root><kind text="7alt">other</kind></harmony>'
    tune = read(ATTRIBUTES + note("G", 6), odd + note("A", 6))
    assert [[change.chord.symbol for change in measure.chords] for measure in tune.measures] == [[], ["G7"]]
    assert "Measure 2: 'G7alt' is no chord name that is known, and is read as G7." in tune.remarks


def test_ties_are_joined_over_the_barline() -> None:
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    tune = read(ATTRIBUTES + note("G", 6, extra=start), note("G", 2, extra=stop) + note("A", 4))
    assert notes(tune) == [(0, 4, 67), (1, 2, 69)]


def test_a_pickup_is_number_0() -> None:
    tune = read(ATTRIBUTES + note("D", 2), note("G", 6), note("G", 4))
    assert [(measure.number, measure.length) for measure in tune.measures] == [(0, 1), (1, 3), (2, 2)]


def test_repeats_and_endings_are_kept() -> None:
    def bar(side: str, inner: str) -> str:
        return f'<barline location="{side}">{inner}</barline>'

    tune = read(
        ATTRIBUTES + bar("left", '<repeat direction="forward"/>') + note("G", 6),
        bar("left", '<ending number="1" type="start"/>')
        + note("A", 6)
        + bar("right", '<ending number="1" type="stop"/><repeat direction="backward"/>'),
        bar("left", '<ending number="2" type="start"/>')
        + note("B", 6)
        + bar("right", '<bar-style>light-light</bar-style><ending number="2" type="discontinue"/>'),
        note("G", 6),
    )
    assert [(m.repeat_start, m.repeat_end, m.endings, m.double_bar) for m in tune.measures] == [
        (True, 1, (), False),
        (False, 2, (1,), False),
        (False, 1, (2,), True),
        (False, 1, (), False),
    ]


def test_grace_notes_are_carried_and_the_top_of_double_notes_is_kept() -> None:
    grace = "<note><grace/><pitch><step>A</step><octave>4</octave></pitch></note>"
    tune = read(
        ATTRIBUTES + grace + note("G", 6) + note("B", 6, extra="", octave=4).replace("<note>", "<note><chord/>")
    )
    assert notes(tune) == [(0, 3, 71)]
    assert [note.grace for measure in tune.measures for note in measure.notes] == [69]
    assert tune.remarks[:2] == (
        "Grace notes become slurs where the hand allows it; the others are left out.",
        "Where several notes stand together, the highest is the melody.",
    )


def test_the_first_of_several_voices_is_the_melody() -> None:
    voice = "<voice>{}</voice>"
    tune = read(
        ATTRIBUTES
        + note("B", 6, extra=voice.format(1))
        + "<backup><duration>6</duration></backup>"
        + note("G", 6, extra=voice.format(2))
    )
    assert notes(tune) == [(0, 3, 71)]
    assert "Of several voices the first is the melody." in tune.remarks


@pytest.mark.parametrize(("part", "pitch"), [(None, 67), (1, 67), (2, 50), ("Bass", 50), ("voice", 67)])
def test_a_part_can_be_chosen_by_number_or_name(part: str | int | None, pitch: int) -> None:
    low = f'<part id="P2"><measure number="1">{ATTRIBUTES}{note("D", 6, octave=3)}</measure></part>'
    data = score(ATTRIBUTES + note("G", 6), more=low)
    assert notes(read_tune_bytes(data, "song.xml", part=part)) == [(0, 3, pitch)]


def test_an_unknown_part_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(TuneError, match="there is no part 'Alto'; choose one of Voice"):
        read_tune_bytes(score(ATTRIBUTES + note("G", 6)), "song.xml", part="Alto")


def test_a_transposing_part_is_read_as_it_sounds() -> None:
    down = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>"
    tune = read(ATTRIBUTES.replace("</attributes>", down) + note("A", 6))
    assert notes(tune) == [(0, 3, 67)]
    assert tune.key == Key("F")


def test_metre_and_key_may_change() -> None:
    change = (
        "<attributes><key><fifths>2</fifths></key><time><beats>2</beats><beat-type>4</beat-type></time></attributes>"
    )
    tune = read(ATTRIBUTES + note("G", 6), change + note("D", 4))
    assert (tune.measures[1].meter, tune.measures[1].key) == (Meter(2, 4), Key("D"))


def test_the_key_is_where_the_tune_comes_home() -> None:
    tune = read(ATTRIBUTES + note("E", 2) + note("G", 2) + note("B", 2), note("E", 6))
    assert tune.key == Key("E", "minor")
    assert "The key signature is that of G major, but the tune comes home in E minor." in tune.remarks


def test_the_compressed_form_is_read() -> None:
    data = score(ATTRIBUTES + note("G", 6))
    plain = read_tune_bytes(data, "song.musicxml")
    assert read_tune_bytes(packed(data), "song.mxl") == plain
    assert read_tune_bytes(packed(data, name="other.xml", container=False), "song.mxl") == plain


@pytest.fixture(scope="module")
def bomb() -> bytes:
    return packed(b" " * 50_000_000)


def test_an_archive_that_unpacks_too_large_is_refused(bomb: bytes) -> None:
    with pytest.raises(TuneError, match="larger than 20 MB"):
        read_tune_bytes(bomb, "song.mxl")


ENTITIES = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaa"><!ENTITY b "&a;&a;&a;">]><score-partwise>&b;'


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (ENTITIES, "song.mxl: the file defines entities of its own"),
        (b"<score-partwise>", "song.mxl: this is no XML that can be read"),
        (b"<html></html>", "song.mxl: a score was wanted, this is a <html>"),
        (b"<score-partwise></score-partwise>", "song.mxl: there is no melody in this tune"),
        (score(note("G", 6)), "song.mxl: the tune has no metre; give it a time signature"),
        (score(ATTRIBUTES + rest(6)), "song.mxl: there is no melody in this tune"),
        (packed(b"", name="readme.txt", container=False), "song.mxl: there is no score in this archive"),
        (packed(b"<x/>")[:-30], "song.mxl: the archive is damaged"),
    ],
)
def test_bad_scores_get_one_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(TuneError) as caught:
        read_tune_bytes(data, "song.mxl")
    assert str(caught.value).startswith(sentence)
    assert caught.value.cure


@pytest.mark.parametrize("cut", range(100, 1000, 90))
def test_a_score_with_a_piece_missing_gives_a_tune_or_one_error(
    attempt: Callable[[bytes, str], Tune | TuneError], cut: int
) -> None:
    data = score(ATTRIBUTES + note("G", 2, words=(("single", "A"),)) + note("A", 4), note("G", 6))
    outcome = attempt(data[:cut] + data[cut + 40 :], "song.xml")
    assert isinstance(outcome, Tune) or outcome.cure
