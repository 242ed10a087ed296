"""The one door: formats, books, limits, errors."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.errors import TuneError
from coach.tunes.demo import DEMO_TUNES, demo_bytes
from coach.tunes.read import MOST_MEASURES, read_book, read_tune, read_tune_bytes
from coach.tunes.tune import Tune

Read = Callable[..., Tune]
Attempt = Callable[[bytes, str], Tune | TuneError]
HEAD = "X:1\nT:T\nM:4/4\nL:1/4\nK:C\n"


def test_a_file_is_read_by_its_path(tmp_path: Path) -> None:
    path = tmp_path / "small.abc"
    path.write_text(HEAD + "C4 |", encoding="utf-8")
    assert read_tune(path) == read_tune_bytes(path.read_bytes(), "other.abc")


def test_a_wrong_suffix_does_no_harm() -> None:
    assert read_tune_bytes((HEAD + "C4 |").encode(), "tune.txt").title == "T"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_texts_in_the_usual_encodings_are_read(encoding: str) -> None:
    data = HEAD.replace("T:T", "T:Bächlein") + "C4 |"
    assert read_tune_bytes(data.encode(encoding), "t.abc").title == "Bächlein"


def test_a_number_picks_a_tune_of_a_book() -> None:
    book = HEAD + "C4 |\n\n" + HEAD.replace("X:1", "X:7").replace("T:T", "T:Seven") + "D4 |\n"
    assert read_tune_bytes(book.encode(), "b.abc").title == "T"
    assert read_tune_bytes(book.encode(), "b.abc", number=7).title == "Seven"
    with pytest.raises(
        TuneError, match=r"^b\.abc: there is no tune number 3 in this book; its numbers run from 1 to 7"
    ):
        read_tune_bytes(book.encode(), "b.abc", number=3)


def test_one_bad_tune_leaves_the_others_of_a_book_readable(tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    bad = "X:2\nT:Bad\nM:4/4\nL:1/4\nK:?\nC4 |\n\n"
    path.write_text(HEAD + "C4 |\n\n" + bad + HEAD.replace("X:1", "X:3") + "D4 |\n", encoding="utf-8")
    entries = read_book(path)
    assert [(entry.number, entry.title, isinstance(entry.tune, Tune)) for entry in entries] == [
        (1, "T", True),
        (2, "Bad", False),
        (3, "T", True),
    ]
    assert str(entries[1].tune) == ("book.abc, tune 2, line 12: '?' is no key; write one such as K:G or K:Am.")


def test_a_missing_file_is_an_error_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(TuneError, match=r"gone\.abc: the file cannot be opened \(No such file or directory\); check"):
        read_tune(tmp_path / "gone.abc")


def test_a_folder_is_no_tune(tmp_path: Path) -> None:
    with pytest.raises(TuneError, match="cannot be opened"):
        read_tune(tmp_path)


@pytest.mark.parametrize("data", [b"", b" \n\t"])
def test_an_empty_file_is_refused(data: bytes) -> None:
    with pytest.raises(TuneError, match=r"^t\.abc: the file is empty; give a tune as ABC"):
        read_tune_bytes(data, "t.abc")


@pytest.mark.parametrize("data", [b"Dear reader, this is a letter.", b"\x89PNG\r\n\x1a\n\x00\x00", bytes(range(256))])
def test_what_is_no_tune_is_refused(data: bytes) -> None:
    with pytest.raises(TuneError, match="this is no tune file; give a tune as ABC"):
        read_tune_bytes(data, "letter.abc")


def test_a_file_of_five_megabytes_is_taken_and_one_byte_more_is_not(tmp_path: Path) -> None:
    path = tmp_path / "large.abc"
    start = (HEAD + "C4 |\n\n").encode()
    path.write_bytes(start + b"%" * (5_000_000 - len(start)))
    assert read_tune(path).title == "T"
    path.write_bytes(path.read_bytes() + b"%")
    with pytest.raises(TuneError, match=r"large\.abc: the file is larger than 5 MB"):
        read_tune(path)
    with pytest.raises(TuneError, match="larger than 5 MB"):
        read_tune_bytes(path.read_bytes(), "large.abc")


def test_five_hundred_measures_are_taken_and_one_more_is_not() -> None:
    assert len(read_tune_bytes((HEAD + "C4 |\n" * MOST_MEASURES).encode(), "t.abc").measures) == MOST_MEASURES
    with pytest.raises(TuneError, match=r"^t\.abc: the tune has more than 500 measures; give a part of it"):
        read_tune_bytes((HEAD + "C4 |\n" * (MOST_MEASURES + 1)).encode(), "t.abc")


def test_a_number_is_for_books_alone() -> None:
    with pytest.raises(TuneError, match="only an ABC book has numbered tunes"):
        read_tune_bytes(b"MThd", "t.mid", number=2)


def test_few_late_chord_names_are_strays(abc: Read) -> None:
    tune = abc('C4 | C4 | C4 | C4 | C4 | C4 | C4 | C4 | "F"F4 | C4 |')
    assert "The few chord names of the source are left out." in tune.remarks
    assert tune.measures[0].chords[0].chord.symbol == "C"


def test_one_chord_at_the_start_is_meant_for_the_whole_tune(abc: Read) -> None:
    tune = abc('"Am"A4 | A4 | G4 | G4 | G4 | A4 |', key="Am")
    assert [len(measure.chords) for measure in tune.measures] == [1, 0, 0, 0, 0, 0]


def test_measures_longer_than_the_metre_are_said(abc: Read) -> None:
    assert "Longer than the metre says: measure 2." in abc("C4 | C6 | C4 |").remarks


def test_the_same_file_gives_the_same_tune_and_id() -> None:
    first, second = (read_tune_bytes(demo_bytes("mill-lane"), "x.abc") for _ in range(2))
    assert first == second
    assert first.id == second.id


STARTS = st.sampled_from([b"", b"X:1\nK:G\n", b"MThd\0\0\0\6\0\1\0\1\1\xe0MTrk", b"PK\3\4", b"<score-partwise>"])
NAMES = st.sampled_from(["t.abc", "t.mid", "t.mxl", "t.musicxml", "t"])


def is_usable(outcome: Tune | TuneError) -> bool:
    if isinstance(outcome, TuneError):
        return bool(outcome.what and outcome.where and outcome.cure)
    return any(measure.notes for measure in outcome.measures)


@given(STARTS, st.binary(max_size=200), NAMES)
def test_random_bytes_give_a_tune_or_one_clear_error(attempt: Attempt, start: bytes, data: bytes, name: str) -> None:
    assert is_usable(attempt(start + data, name))


@settings(max_examples=50)
@given(
    st.sampled_from(sorted(DEMO_TUNES)),
    st.lists(st.tuples(st.integers(0, 700), st.integers(0, 3), st.binary(max_size=3)), max_size=12),
)
def test_a_damaged_tune_gives_a_tune_or_one_clear_error(
    attempt: Attempt, name: str, edits: list[tuple[int, int, bytes]]
) -> None:
    data = demo_bytes(name)
    for at, cut, put in edits:
        data = data[:at] + put + data[at + cut :]
    assert is_usable(attempt(data, "t.abc"))
