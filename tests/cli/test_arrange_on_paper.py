"""Sheets by the arrange command: PDF, its paper, and comparisons."""

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from coach.cli import main
from coach.tunes.demo import demo_bytes

ABC = 'X:1\nT:Short\nM:4/4\nL:1/4\nK:G\n|:"G"G A B d|"D7"A4:|\n'


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "tune.abc"
    path.write_text(ABC, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["arrange", *map(str, words)])


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_a_pdf_is_written_on_the_paper_that_is_asked_for(tune, tmp_path, paper, size):
    out = tmp_path / "solo.pdf"

    assert run(tune, "--tier", "beginner", "-o", out, "--paper", paper).exit_code == 0
    box = PdfReader(out).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_mei_is_folded_and_svg_written_out(tmp_path):
    tune = tmp_path / "barrow.abc"
    tune.write_bytes(demo_bytes("turn-the-barrow"))
    for suffix in ("mei", "svg"):
        assert run(tune, "--tier", "beginner", "-o", tmp_path / f"solo.{suffix}").exit_code == 0

    mei = (tmp_path / "solo.mei").read_text()
    assert mei.count('left="rptstart"') == 1
    assert 'xml:id="m9"' not in mei
    assert 'id="m9"' in (tmp_path / "solo.svg").read_text()


@pytest.mark.parametrize(("suffix", "start"), [("pdf", b"%PDF"), ("svg", b"<svg")])
def test_a_comparison_is_one_file(tune, tmp_path, suffix, start):
    out = tmp_path / f"three.{suffix}"

    assert run(tune, "--tier", "all", "--compare", "-o", out).exit_code == 0
    assert out.read_bytes().startswith(start)


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["--tier", "beginner", "--compare", "-o", "three.pdf"], "all tiers"),
        (["--tier", "all", "--compare", "-o", "three.mid"], "a comparison is a sheet"),
        (["--tier", "all", "--compare", "-o", "three.{tier}.pdf"], "a comparison is one file"),
    ],
)
def test_what_cannot_be_compared_is_said(tune, tmp_path, monkeypatch, words, what):
    monkeypatch.chdir(tmp_path)
    done = run(tune, *words)

    assert done.exit_code == 2
    assert what in done.stderr
    assert not list(tmp_path.glob("three.*"))
