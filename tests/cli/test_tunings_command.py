"""The tunings command, as a user runs it."""

import pytest
from click.testing import CliRunner

from coach.cli import main

ABC = "X:1\nT:Low\nM:4/4\nL:1/4\nK:G\nG A B d|A4|G4|]\n\nX:2\nT:Modal\nM:4/4\nL:1/4\nK:Ador\nA c e d|c B A2|G2 A2|]\n"


@pytest.fixture
def book(tmp_path):
    path = tmp_path / "book.abc"
    path.write_text(ABC, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["tunings", *map(str, words)])


def test_the_ways_to_set_a_tune_are_listed_best_first(book):
    done = run(book)
    lines = done.stdout.splitlines()

    assert done.exit_code == 0
    assert lines[0].split() == ["tuning", "think", "in", "capo", "sounds", "in", "frets", "0-5", "open", "why"]
    assert lines[1].startswith("open G    G major   0     G major")
    assert lines[1].rstrip().endswith("The drone is the key note.")
    assert "%" not in lines[1].partition("The drone")[2]


def test_six_ways_at_most_are_listed_each_in_a_line_with_a_reason(book):
    _, *rows = run(book).stdout.splitlines()

    assert len(rows) == 6
    assert all(row.rstrip().endswith(".") and row.count("%") == 2 for row in rows)


def test_a_numbered_tune_in_a_singers_key(book):
    done = run(book, "--number", 2, "--key", "Bm")

    assert done.stdout.splitlines()[1].startswith("G modal   G dorian  4     B dorian")


def test_a_key_of_the_other_kind_is_refused_in_a_line(book):
    done = run(book, "--key", "Gm")

    assert done.exit_code == 2
    assert done.stderr == "coach: --key: the tune is major, 'Gm' is minor; ask for a major key, such as G major.\n"
