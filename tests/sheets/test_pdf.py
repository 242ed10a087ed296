"""PDF, read by another library: what is on the pages, in which fonts."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from demo_solos import demo_solos
from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import Arrangement
from coach.arranging.files import to_json
from coach.sheets.pdf import to_pdf
from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Meter

LETTERS = "GABcdBAG"


def tune(measures: int, words: str = "") -> bytes:
    """A tune of quarters in which no passage comes again."""
    music = "|".join("".join(f"{LETTERS[(m * m // 5 + k * (m % 3)) % 8]}2" for k in range(4)) for m in range(measures))
    return f"X:1\nT:Long Meadow\nM:4/4\nL:1/8\nK:G\n{music}|]\n{words}".encode()


@pytest.fixture(scope="module")
def barrow() -> bytes:
    """A solo with a capo, a repeat with two endings, and remarks."""
    return to_pdf(demo_solos("turn-the-barrow")["intermediate"])


def read(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def fonts(resources: DictionaryObject) -> Iterator[str]:
    """The fonts of a page, of the drawings in it too, without the mark of a subset."""
    for font in (resources.get("/Font") or {}).values():
        yield font.get_object()["/BaseFont"].partition("+")[2]
    for drawing in (resources.get("/XObject") or {}).values():
        if "/Resources" in drawing.get_object():
            yield from fonts(drawing.get_object()["/Resources"])


def words_outside(page: PageObject) -> list[str]:
    """What is written outside a page."""
    found = []

    def look(text: str, matrix: list[float], text_matrix: list[float], *_: object) -> None:
        x = text_matrix[4] * matrix[0] + text_matrix[5] * matrix[2] + matrix[4]
        y = text_matrix[4] * matrix[1] + text_matrix[5] * matrix[3] + matrix[5]
        if text.strip() and not (0 < x < page.mediabox.width and 0 < y < page.mediabox.height):
            found.append(text)

    page.extract_text(visitor_text=look)
    return found


@pytest.mark.parametrize(("measures", "pages"), [(1, 1), (16, 1), (32, 2)])
@pytest.mark.parametrize("tier", ["beginner", "advanced"])
def test_one_page_for_sixteen_measures_and_two_for_thirty_two(measures: int, pages: int, tier) -> None:
    words = "w:" + " ".join(["stone"] * 4 * measures) + "\n"
    pdf = read(to_pdf(arrange(read_tune_bytes(tune(measures, words), "long.abc"), tier)))

    assert len(pdf.pages) == pages
    assert [words_outside(page) for page in pdf.pages] == [[]] * pages


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_pages_have_the_size_of_the_paper(solo: Arrangement, paper, size: tuple[float, float]) -> None:
    box = read(to_pdf(solo, paper)).pages[0].mediabox

    # 1 pt is 1/72 inch.
    assert (box.width, box.height) == pytest.approx([millimetres / 25.4 * 72 for millimetres in size], abs=0.1)


def test_a_page_tells_all_that_the_player_has_to_know(barrow: bytes) -> None:
    pdf = read(barrow)
    told = pdf.pages[0].extract_text()

    for words in (
        "Turn the Barrow",
        "Words and tune composed for this project; MIT licence",
        "Intermediate solo in G major, sounds in A major",
        "open G, g D G B D from string 5 to 1",
        "Capo at fret 2, fifth string under the spike at fret 7",
        "60 quarters (30 halves)",
        "Written out at twice the length",
        "Page 1 of",
    ):
        assert words in told
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Turn the Barrow"


def test_repeats_are_drawn_with_both_endings_and_the_numbers_of_the_first_time(barrow: bytes) -> None:
    told = " ".join(page.extract_text() for page in read(barrow).pages).split()

    assert "1." in told
    assert "2." in told
    assert "16" in told
    assert "9" not in told  # measures 9 to 14 are those of the first time


def test_only_the_fonts_of_the_package_are_used(barrow: bytes) -> None:
    used = {font for page in read(barrow).pages for font in fonts(page["/Resources"])}

    assert used == {"LiberationSerif", "LiberationSerif-Bold", "LiberationSerif-Italic"}
    assert b"/FontFile2" in barrow


def test_signs_of_chords_are_found_in_a_font_of_the_typesetter(solo: Arrangement) -> None:
    pdf = read(to_pdf(solo))
    used = {font for page in pdf.pages for font in fonts(page["/Resources"])}

    assert "DejaVuSansMono" in used
    assert "♭" in pdf.pages[0].extract_text()


def test_the_fonts_come_with_their_licence() -> None:
    folder = files("coach.sheets") / "fonts"

    assert "SIL OPEN FONT LICENSE Version 1.1" in (folder / "LICENSE-OFL.txt").read_text(encoding="utf-8")
    assert {file.name for file in folder.iterdir() if file.name.endswith(".ttf")} == {
        f"LiberationSerif-{style}.ttf" for style in ("Regular", "Bold", "Italic")
    }


def test_no_font_of_the_system_steps_in(solo: Arrangement, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # The system of the tests has Liberation Serif too; with the package's own taken away it must not be found.
    (tmp_path / "fonts").mkdir()
    (tmp_path / "sheet.typ").write_bytes((files("coach.sheets") / "sheet.typ").read_bytes())
    monkeypatch.setattr("coach.sheets.pdf.files", lambda _: tmp_path)
    pdf = read(to_pdf(solo))

    used = {font for page in pdf.pages for font in fonts(page["/Resources"])}
    assert used
    assert not [font for font in used if font.startswith("Liberation")]


def test_the_same_bytes_come_out_in_another_process_at_another_place(solo: Arrangement, tmp_path: Path) -> None:
    (tmp_path / "solo.json").write_bytes(to_json(solo))
    script = (
        "import hashlib, pathlib, sys\n"
        "from coach.arranging.files import from_json\n"
        "from coach.sheets.pdf import to_pdf\n"
        "print(hashlib.sha256(to_pdf(from_json(pathlib.Path(sys.argv[1]).read_bytes(), 'solo'))).hexdigest())\n"
    )
    told = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "solo.json")],
        env=os.environ | {"HOME": str(tmp_path), "TZ": "Asia/Tokyo", "PYTHONHASHSEED": "7"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    )

    assert told.stdout.strip() == hashlib.sha256(to_pdf(solo)).hexdigest()


def test_titles_and_words_are_text_and_never_markup(build) -> None:
    one = build(Meter(2, 4), [], [("0", "2", 55, "#pagebreak()", True)], title='$x$ *bold* #emph[a] "q" \\ <b>')
    told = read(to_pdf(one)).pages[0].extract_text()

    assert '$x$ *bold* #emph[a] "q" \\ <b>' in told
    assert "#pagebreak()" in told


def test_letters_that_the_font_has_not_are_told_on_the_sheet(build) -> None:
    words = [("0", "1", 55, "日本", True), ("1", "1", 55, "шёл", True)]
    told = read(to_pdf(build(Meter(2, 4), [], words))).pages[0].extract_text()

    assert "U+65E5, U+672C" in told
    assert "шёл" in told
    assert "U+0448" not in told
    assert "U+" not in read(to_pdf(build(Meter(2, 4), [], words[1:]))).pages[0].extract_text()
