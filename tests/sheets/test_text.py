import re
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.arrangement import Arrangement
from coach.sheets.text import to_text
from coach.tunes.tune import Meter


def rows_of(text: str, name: str) -> list[str]:
    return [line for line in text.splitlines() if line.startswith(name)]


def string_rows(text: str) -> dict[int, list[str]]:
    """The lines of each string, by string; the letter of a name alone does not tell string 1 from 4."""
    lines = [line for line in text.splitlines() if re.match(r"[A-Ga-g][#b]? *\|", line)]
    return {string: lines[string - 1 :: 5] for string in (1, 2, 3, 4, 5)}


def test_a_measure_stands_as_written_by_hand(roll_study: Arrangement) -> None:
    # Worked by hand: alternating thumb over open strings, one column of three characters for each slot.
    expected = [
        "   1",
        "   G",
        "D|----------0-----------0--|",
        "B|----0-----------0--------|",
        "G|-0-----------------------|",
        "D|-------------0-----------|",
        "g|-------0-----------0-----|",
        "   T  I  T  M  T  I  T  M",
    ]

    assert "\n".join(expected) in to_text(roll_study)


def test_every_fret_of_every_string_can_be_read_back(solo: Arrangement) -> None:
    rows = string_rows(to_text(solo))

    for string, lines in rows.items():
        read = [int(number) for line in lines for number in re.findall(r"\d+", line)]
        assert read == [pluck.fret for _, pluck in solo.plucks() if pluck.string == string]


def test_slurs_are_letters_before_the_fret_they_lead_to(solo: Arrangement) -> None:
    third = "".join(string_rows(to_text(solo))[3])

    assert re.search(r"2-*h3", third)
    assert re.search(r"2-*p0", third)
    assert re.search(r"2-*s4", third)


def test_words_of_left_out_notes_stand_in_parentheses(solo: Arrangement) -> None:
    text = to_text(solo)

    assert "(low)" in text
    assert "(a-)" in text
    assert "(wil-)" not in text


def test_a_pinch_names_its_fingers_together(solo: Arrangement) -> None:
    fingers = next(line for line in to_text(solo).splitlines() if "TIM" in line)

    assert fingers.split()[-5:] == ["M", "I", "T", "M", "TIM"]


def test_chords_stand_over_the_column_they_begin_at(roll_study: Arrangement, solo: Arrangement) -> None:
    lines = to_text(solo).splitlines()
    chords = next(line for line in lines if "F#m7" in line)
    slide = next(line for line in lines if "s4" in line)

    assert chords.index("F#m7") == slide.index("2s4")


def test_heading_tells_tier_key_tuning_capo_and_where_the_fifth_string_goes(doubled: Arrangement) -> None:
    text = " ".join(to_text(doubled).split())

    assert "Intermediate solo in G major, sounds in A major" in text
    assert "open G, g D G B D from string 5 to 1" in text
    assert text.count("Capo at fret 2, fifth string under the spike at fret 7.") == 1
    assert "Written out at twice the length." in text


def test_tempo_is_told_in_quarters_and_in_the_beats_that_a_jam_counts(
    solo: Arrangement, waltz: Arrangement, jig: Arrangement
) -> None:
    # Two quarters are a half, three eighths a dotted quarter: arithmetic.
    assert "60 quarters (30 halves)" in to_text(solo)
    assert "60 quarters (40 dotted quarters)" in to_text(jig)
    assert "60 quarters a minute" in to_text(waltz)


def test_a_pickup_has_no_number_and_does_not_count_among_the_four(solo: Arrangement) -> None:
    numbers = [line.split() for line in to_text(solo).splitlines() if re.fullmatch(r"[ \d]+", line) and line.strip()]

    assert numbers == [["1", "2", "3", "4"]]


def test_lines_keep_to_the_width_where_a_measure_fits(solo: Arrangement) -> None:
    for width in (40, 60, 80, 100):
        text = to_text(solo, width=width)
        assert max(map(len, text.splitlines())) <= width
        assert len(string_rows(text)[1]) == len(string_rows(text)[5]) >= 100 // width - 1


def test_rows_of_a_system_end_together(solo: Arrangement) -> None:
    for lines in zip(*string_rows(to_text(solo, width=60)).values(), strict=True):
        assert len({len(line) for line in lines}) == 1
        assert len({line.count("|") for line in lines}) == 1


def test_a_fifth_fret_note_keeps_apart_from_its_neighbours(build) -> None:
    text = to_text(build(Meter(2, 4), [("0", 1, 12, "M", "melody"), ("1/2", 1, 10, "I", "melody")]))

    assert "-12-10-" in text.replace("--", "-")


@given(
    st.dictionaries(st.tuples(st.integers(0, 7), st.integers(1, 4)), st.integers(0, 17), min_size=1),
    st.lists(st.text("abcdefgh", min_size=1, max_size=12), min_size=8, max_size=8),
)
def test_any_plucks_and_words_can_be_read_back(build, plucks, words) -> None:
    rows = [(str(Fraction(at, 2)), string, fret, "T", "fill") for (at, string), fret in sorted(plucks.items())]
    sung = [(str(Fraction(at, 2)), "1/2", 55, word, True) for at, word in enumerate(words)]

    text = to_text(build(Meter(4, 4), rows, sung))

    for string, lines in string_rows(text).items():
        read = [int(number) for number in re.findall(r"\d+", "".join(lines))]
        assert read == [fret for (_, on), fret in sorted(plucks.items()) if on == string]
    assert next(line.split() for line in text.splitlines() if line.split() == words) == words
