"""Reading ABC tunes."""

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import TuneError
from coach.tunes.abc import split_book
from coach.tunes.keys import Key
from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Meter, Tune

Read = Callable[..., Tune]
Attempt = Callable[[bytes, str], Tune | TuneError]


def pitches(tune: Tune) -> list[int]:
    return [note.pitch for measure in tune.measures for note in measure.notes]


def lengths(tune: Tune) -> list[Fraction]:
    return [note.length for measure in tune.measures for note in measure.notes]


def words(tune: Tune) -> list[str | None]:
    return [note.lyric for measure in tune.measures for note in measure.notes]


def phrases(tune: Tune) -> list[int]:
    flags = [note.phrase_start for measure in tune.measures for note in measure.notes]
    return [index for index, flag in enumerate(flags) if flag]


def test_notes_and_measures_of_a_plain_tune(abc: Read) -> None:
    tune = abc("C D E F | G A B c | d2 z2 |]")
    assert pitches(tune) == [60, 62, 64, 65, 67, 69, 71, 72, 74]
    assert [measure.length for measure in tune.measures] == [4, 4, 4]
    assert [measure.number for measure in tune.measures] == [1, 2, 3]
    assert tune.measures[2].notes[0].length == 2


def test_the_key_signature_alters_notes(abc: Read) -> None:
    assert pitches(abc("F G c f |", key="D")) == [66, 67, 73, 78]


def test_an_accidental_holds_to_the_end_of_its_measure_for_its_own_octave_only(abc: Read) -> None:
    assert pitches(abc("^F F f F | F G A B |")) == [66, 66, 77, 66, 65, 67, 69, 71]


@pytest.mark.parametrize("header", ["%abc\n", "%abc-1.6\n", "%abc-2.1\n", ""])
def test_accidentals_hold_whatever_version_the_file_names(header: str) -> None:
    data = f"{header}X:1\nT:T\nM:4/4\nL:1/4\nK:C\n_B B B B|B4|\n".encode()
    assert pitches(read_tune_bytes(data, "t.abc")) == [70, 70, 70, 70, 71]


def test_accidentals_that_the_key_names_one_by_one_apply(abc: Read) -> None:
    assert pitches(abc("F f =F F | F4 |", key="D phr ^f")) == [66, 78, 65, 65, 66]


def test_a_tie_joins_notes_over_the_barline_even_where_an_accidental_ends(abc: Read) -> None:
    tune = abc("C D E ^F- | F2 G2 |")
    assert pitches(tune) == [60, 62, 64, 66, 67]
    assert tune.measures[0].notes[-1].length == 3
    assert tune.measures[1].notes[0].at == 2


def test_a_tie_to_another_pitch_joins_nothing(abc: Read) -> None:
    assert lengths(abc("C-D E2 |")) == [1, 1, 2]


def test_tied_chain_over_two_barlines(abc: Read) -> None:
    assert lengths(abc("C4- | C4- | C4 |")) == [12]


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ("A3/2 B/2 c2", ["3/2", "1/2", "2"]),
        ("A/ B/ A// B// A/2 c2", ["1/2", "1/2", "1/4", "1/4", "1/2", "2"]),
        ("A>B c<d", ["3/2", "1/2", "1/2", "3/2"]),
        ("A>>B c2", ["7/4", "1/4", "2"]),
        ("A >{g}B c2", ["3/2", "1/2", "2"]),
        ("(3ABc d2", ["2/3", "2/3", "2/3", "2"]),
        ("(3:2:4ABcA d", ["2/3", "2/3", "2/3", "2/3", "1"]),
        ("((3ABc) d2", ["2/3", "2/3", "2/3", "2"]),
        ("(5:4ABcde", ["4/5"] * 5),
        ("[CEG]2 [C2E2]", ["2", "2"]),
        ("[C3/2E]2 d", ["3", "1"]),
    ],
)
def test_lengths(abc: Read, music: str, expected: list[str]) -> None:
    assert lengths(abc(f"{music} |")) == [Fraction(length) for length in expected]


def test_duplets_of_a_compound_metre(abc: Read) -> None:
    assert lengths(abc("(2AB c3 |", fields="M:6/8\nL:1/8\n")) == [Fraction(3, 4), Fraction(3, 4), Fraction(3, 2)]


def test_a_tuplet_without_its_time_is_refused(abc: Read) -> None:
    with pytest.raises(TuneError, match=r"line 6: a tuplet \(11"):
        abc("(11ABc|")


def test_the_unit_length_follows_the_metre_where_it_is_not_given(abc: Read) -> None:
    assert lengths(abc("A4 |", fields="M:2/4\n")) == [1]
    assert lengths(abc("A8 |", fields="M:4/4\n")) == [4]


def test_metre_key_and_unit_change_inside_the_music(abc: Read) -> None:
    tune = abc("F G A B | [M:3/4][K:D] F G A | [L:1/8] F2 G2 A2 | [M:2/4] F4 |")
    assert [measure.meter for measure in tune.measures] == [Meter(4, 4), Meter(3, 4), Meter(3, 4), Meter(2, 4)]
    assert [measure.key for measure in tune.measures] == [None, Key("D"), None, None]
    assert pitches(tune) == [65, 67, 69, 71, 66, 67, 69, 66, 67, 69, 66]
    assert [measure.length for measure in tune.measures] == [4, 3, 3, 2]


def test_fields_on_lines_of_their_own_change_too(abc: Read) -> None:
    tune = abc("F4 |\nM:3/4\nK:G\nF3 |")
    assert (tune.measures[1].meter, tune.measures[1].key) == (Meter(3, 4), Key("G"))
    assert pitches(tune) == [65, 66]


def test_words_are_laid_under_the_notes(abc: Read) -> None:
    tune = abc('"C"C D z E | F2 G-G |\nw: Rain on the riv-er_\nC4 |\nw: now.')
    assert words(tune) == ["Rain", "on", "the", "riv-", "er", "now."]


def test_a_held_tie_takes_two_syllable_places(abc: Read) -> None:
    assert words(abc("C2- C2 | D4 |\nw: long * short")) == ["long", "short"]


def test_graces_take_no_syllable(abc: Read) -> None:
    tune = abc("{ag}C2 D2 |\nw: one two")
    assert words(tune) == ["one", "two"]
    assert "Grace notes become slurs where the hand allows it; the others are left out." in tune.remarks


def graces(tune: Tune) -> list[int | None]:
    return [note.grace for measure in tune.measures for note in measure.notes]


def test_a_grace_is_carried_by_the_note_behind_it_and_takes_no_time(abc: Read) -> None:
    tune = abc("{ag}C {^f}D {/B}E2 | z4 | F {c}z {d}[GB]2 |")
    assert graces(tune) == [79, 78, 71, None, 74]
    assert lengths(tune) == [1, 1, 2, 1, 2]
    assert [measure.length for measure in tune.measures] == [4, 4, 4]


def test_the_accidental_of_a_grace_holds_to_the_end_of_its_measure(abc: Read) -> None:
    tune = abc("{^f}g f2 {f}g | {f}g4 |")
    assert (graces(tune), pitches(tune)) == ([78, None, 78, 77], [79, 78, 79, 79])


def test_a_grace_stands_in_the_key(abc: Read) -> None:
    assert graces(abc("{f}g4 | [K:F]{b}a4 |", key="D")) == [78, 82]


def test_a_grace_within_a_broken_rhythm_or_a_tuplet_changes_no_length(abc: Read) -> None:
    tune = abc("A>{g}B A<{g}B | (3{g}A{g}B{g}c d2 |")
    assert lengths(tune) == [Fraction(3, 2), Fraction(1, 2), Fraction(1, 2), Fraction(3, 2), *[Fraction(2, 3)] * 3, 2]


def test_broken_rhythms_halve_again_with_each_sign_and_reach_over_chords_and_bars(abc: Read) -> None:
    assert lengths(abc('A>>B A<<<B | A>"G"B z<A | A2 A> | B A2 |'))[:6] == [
        *(Fraction(7, 4), Fraction(1, 4), Fraction(1, 8), Fraction(15, 8)),
        *(Fraction(3, 2), Fraction(1, 2)),
    ]
    assert lengths(abc("A2 A> | B A2 |")) == [2, Fraction(3, 2), Fraction(1, 2), 2]


def test_a_trill_is_an_ornament_and_no_grace(abc: Read) -> None:
    tune = abc("!trill!C2 D2 |")
    assert graces(tune) == [None, None]
    assert tune.remarks[0] == "Ornaments (trills, turns and the like) are left out."


def test_further_verses_are_kept(abc: Read) -> None:
    tune = abc("C2 D2 |\nw: one two\nw: three four")
    assert [note.verses for note in tune.measures[0].notes] == [("three",), ("four",)]


def test_words_skip_to_the_next_measure_at_a_bar(abc: Read) -> None:
    assert words(abc("C C C C | D4 |\nw: one | two")) == ["one", None, None, None, "two"]


def test_a_line_without_words_has_none_between_lines_that_have(abc: Read) -> None:
    assert words(abc("C4 |\nw: a\nD4 |\nE4 |\nw: b")) == ["a", None, "b"]


def test_words_reach_over_a_continued_line(abc: Read) -> None:
    assert words(abc("C2 D2 | \\\nE4 |\nw: a b c")) == ["a", "b", "c"]


def test_a_plus_field_goes_on_with_the_words(abc: Read) -> None:
    assert words(abc("C2 D2 | E4 |\nw: a b\n+: c")) == ["a", "b", "c"]


def test_chords_stand_where_they_are_written(abc: Read) -> None:
    tune = abc('"G"G A "Am7"B2 | "D7/F#"d2 "C"z2 |')
    found = [[(change.at, change.chord.symbol) for change in measure.chords] for measure in tune.measures]
    assert found == [[(0, "G"), (2, "Am7")], [(0, "D7/F#"), (2, "C")]]
    assert tune.remarks == ()


def test_a_name_that_is_no_chord_is_left_out_and_told_with_its_measures(abc: Read) -> None:
    tune = abc('"G"G4 | "Qm7"A2 "Qm7"A2 | "N.C."G4 | "Qm7"G4 |', key="G")
    assert [change.chord.symbol for measure in tune.measures for change in measure.chords] == ["G"]
    assert tune.remarks == (
        "Measure 2, 4: 'Qm7' is no chord name that can be read, and is left out.",
        "Measure 3: 'N.C.' is no chord name that can be read, and is left out.",
    )


def test_a_root_with_an_unknown_rest_is_read_as_the_nearest_chord(abc: Read) -> None:
    tune = abc('C | "Gsus4/X"C4 | "Cmaj13#"C4 |')
    symbols = [[change.chord.symbol for change in measure.chords] for measure in tune.measures]
    assert symbols == [[], ["Gsus4"], ["Cmaj7"]]
    assert tune.remarks == (
        "Measure 1: 'Gsus4/X' is no chord name that is known, and is read as Gsus4.",
        "Measure 2: 'Cmaj13#' is no chord name that is known, and is read as Cmaj7.",
    )


@pytest.mark.parametrize("text", ["^slow", "_pp", "D.C.", "Fine", "4", "tr", "f", "SEGUE"])
def test_text_over_the_staff_is_no_chord(abc: Read, text: str) -> None:
    tune = abc(f'"C"C4 | "{text}"D4 |')
    assert [change.chord.symbol for measure in tune.measures for change in measure.chords] == ["C"]
    assert f"Text over the staff that is no chord is left out: {text!r} in measure 2." in tune.remarks


def test_of_much_text_over_the_staff_the_first_is_named(abc: Read) -> None:
    tune = abc("C | " + "".join(f'"^n{k}"C4 | ' for k in range(8)))
    (said,) = (remark for remark in tune.remarks if remark.startswith("Text over the staff"))
    assert said.endswith(
        ": '^n0' in measure 1, " + ", ".join(f"'^n{k}' in measure {k + 1}" for k in range(1, 6)) + " …."
    )


def test_repeats_and_endings_are_kept(abc: Read) -> None:
    tune = abc("|: C4 | D4 |1 E4 :|2 F4 |: G4 ::[1,3 A4 :|[2 B4 ||")
    signs = [(m.repeat_start, m.repeat_end, m.endings, m.double_bar) for m in tune.measures]
    assert signs == [
        (True, 1, (), False),
        (False, 1, (), False),
        (False, 2, (1,), False),
        (False, 1, (2,), False),
        (True, 2, (), False),
        (True, 2, (1, 3), False),
        (False, 1, (2,), True),
    ]


def test_colons_alone_end_and_begin_a_repeat(abc: Read) -> None:
    for sign in ("::", ":::", ":|:", ":||:", ":| |:"):
        tune = abc(f"C4 {sign} D4 |")
        assert [(m.repeat_start, m.repeat_end) for m in tune.measures] == [(False, 2), (True, 1)]


def test_a_triple_repeat_and_a_range_of_endings(abc: Read) -> None:
    tune = abc("|:: C4 |[1-2 D4 ::|[3 E4 |]")
    assert [measure.repeat_end for measure in tune.measures] == [1, 3, 1]
    assert [measure.endings for measure in tune.measures] == [(), (1, 2), (3,)]


def test_lines_mark_phrases_and_line_ends(abc: Read) -> None:
    tune = abc("C D E F | G4 |\nA A A A | B2\nc2 | c4 |")
    assert phrases(tune) == [0, 5, 10]
    assert [measure.line_end for measure in tune.measures] == [False, True, False, True, True]


def test_a_line_that_ends_with_a_full_measure_ends_it_without_a_bar(abc: Read) -> None:
    tune = abc("^F F F F\nF F F F |\nw: a b c d | e")
    assert [measure.length for measure in tune.measures] == [4, 4]
    assert pitches(tune)[3:5] == [66, 65]


def test_a_continued_line_ends_no_phrase(abc: Read) -> None:
    assert phrases(abc("C4 | \\\nD4 |\nE4 |\nF4 |")) == [0, 2, 3]


def test_the_first_of_several_voices_is_the_melody(abc: Read) -> None:
    tune = abc("V:1\nc4 | d4 |\nw: one two\nV:2\nC4 | D4 |\nw: low low\nV:1\ne4 |\nw: three")
    assert pitches(tune) == [72, 74, 76]
    assert words(tune) == ["one", "two", "three"]
    assert "Of several voices the first is the melody." in tune.remarks


def test_a_voice_can_be_chosen(abc: Read) -> None:
    assert pitches(abc("[V:1] c4 |\n[V:2] C4 |", part="2")) == [60]
    assert pitches(abc("[V:high] c4 |\n[V:low] C4 |", part="low")) == [60]


def test_of_a_chosen_voice_it_is_not_said_that_the_first_was_taken(abc: Read) -> None:
    music = "[V:1] c4 |\n[V:2] C4 |"

    assert "Of several voices the first is the melody." in abc(music).remarks
    assert not any("voice" in remark for remark in abc(music, part="2").remarks)


def test_a_voice_with_another_name_can_be_counted(abc: Read) -> None:
    assert pitches(abc("[V:high] c4 |\n[V:low] C4 |", part="2")) == [60]
    assert pitches(abc("V:2\nc4 |\nV:1\nC4 |", part="1")) == [60]


@pytest.mark.parametrize("part", ["alto", "2"])
def test_a_tune_without_voices_has_none_to_name(abc: Read, part: str) -> None:
    assert pitches(abc("c4 |", part="1")) == [72]
    with pytest.raises(TuneError, match="the tune has only one"):
        abc("c4 |", part=part)


def test_a_voice_that_is_not_there_is_refused(abc: Read) -> None:
    with pytest.raises(TuneError, match="there is no music in a voice 'alto'"):
        abc("[V:1] c4 |", part="alto")


def test_too_many_tunes_and_too_long_a_tune_are_refused() -> None:
    with pytest.raises(TuneError, match=r"^b\.abc: the book has more than 20000 tunes"):
        read_tune_bytes(b"X:1\n" * 20_001, "b.abc")
    with pytest.raises(TuneError, match=r"^b\.abc, line 4: the tune is far too long"):
        read_tune_bytes(b"X:1\nM:4/4\nK:C\n" + b"C" * 40_000, "b.abc")


def test_the_top_note_of_a_chord_is_the_melody(abc: Read) -> None:
    tune = abc("[CEG]2 [g,B]2 & C4 | c4 |")
    assert pitches(tune) == [67, 71, 72]
    assert "Where several notes stand together, the highest is the melody." in tune.remarks


def test_measures_of_rest_are_counted(abc: Read) -> None:
    tune = abc("C4 | Z2 | D4 |")
    assert [(measure.length, len(measure.notes)) for measure in tune.measures] == [(4, 1), (4, 0), (4, 0), (4, 1)]


def test_a_short_first_measure_is_a_pickup(abc: Read) -> None:
    tune = abc("C | D4 | E4 |")
    assert [measure.number for measure in tune.measures] == [0, 1, 2]


def test_signs_that_send_elsewhere_are_said(abc: Read) -> None:
    assert any("not followed" in remark for remark in abc("C4 !D.C.! |").remarks)


def test_comments_and_directives_are_no_music(abc: Read) -> None:
    assert pitches(abc("%%staffwidth 500\nC4 | % D4 |\n% G4 |\nE4 |")) == [60, 64]


def test_rights_come_from_the_copyright_field_else_from_composer_and_source() -> None:
    base = "X:1\nT:T\n{}M:4/4\nK:C\nC8|\n"
    told = read_tune_bytes(base.format("Z:abc-copyright All may sing it\n").encode(), "t.abc")
    composed = read_tune_bytes(base.format("C:Trad.\nS:A book\n").encode(), "t.abc")
    assert (told.rights, composed.rights) == ("All may sing it", "Trad.; A book")


def test_a_book_is_split_by_its_numbers_with_the_head_of_the_file_for_all() -> None:
    book = "M:3/4\nL:1/4\n\nX:4\nT:One\nK:C\nC3|\n\nX:9\nT:Two\nK:G\nG3|\nfree text\n"
    tunes = split_book(book)
    assert [(tune.number, tune.title) for tune in tunes] == [(4, "One"), (9, "Two")]
    assert read_tune_bytes(book.encode(), "b.abc", number=9).measures[0].meter == Meter(3, 4)


def test_what_stands_behind_the_blank_line_that_ends_a_tune_is_no_music() -> None:
    data = b"X:1\nT:T\nM:4/4\nL:1/4\nK:C\nC4|\n\nBe glad and dance a bag of deeds\n"
    assert pitches(read_tune_bytes(data, "t.abc")) == [60]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("X:1\nT:T\nM:4/4\nC4|", "t.abc: the tune has no key; add a line such as K:G before its music."),
        (
            "X:1\nT:T\nL:1/4\nK:C\nC4|",
            "t.abc: the tune has no metre; add a line such as M:4/4 before the line with K:.",
        ),
        (
            "X:1\nM:none\nK:C\nC4|",
            "t.abc, line 2: the tune has no metre (M:none); give it one, such as M:4/4, and barlines to suit.",
        ),
        ("X:1\nM:4/4\nK:C\nz4|", "t.abc: there is no melody in this tune; check that it has notes."),
        (
            "X:1\nM:4/4\nK:C\nA0|",
            "t.abc, line 4: a note cannot have the length '0'; write A2, A/2 or A3/2.",
        ),
    ],
)
def test_bad_tunes_get_one_sentence_with_place_and_cure(text: str, sentence: str) -> None:
    with pytest.raises(TuneError) as caught:
        read_tune_bytes(text.encode(), "t.abc")
    assert str(caught.value) == sentence


MUSIC = st.text(alphabet="CDEFGABcdefgz|:[]()-^_=,'0123456789/<>{}\"&~ \n\\!.wKMLV", max_size=80)


@given(MUSIC)
def test_any_music_gives_a_tune_or_one_clear_error(attempt: Attempt, music: str) -> None:
    tune = attempt(f"X:1\nT:T\nM:4/4\nL:1/8\nK:G\n{music}\n".encode(), "t.abc")
    if isinstance(tune, TuneError):
        assert tune.cure
        return
    flat = [note for measure in tune.measures for note in measure.notes]
    assert flat[0].phrase_start
    assert all(note.length > 0 for note in flat)
    assert all(0 <= note.at < measure.length for measure in tune.measures for note in measure.notes)


@given(st.lists(st.tuples(st.sampled_from("CDEFGABcdefg"), st.sampled_from(["", "2", "3", "/2", "3/2"])), min_size=1))
def test_the_lengths_of_the_notes_add_up_to_the_lengths_of_the_measures(notes: list[tuple[str, str]]) -> None:
    units = {"": Fraction(1), "2": Fraction(2), "3": Fraction(3), "/2": Fraction(1, 2), "3/2": Fraction(3, 2)}
    music = " ".join(letter + length for letter, length in notes)
    tune = read_tune_bytes(f"X:1\nT:T\nM:4/4\nL:1/4\nK:C\n{music} |\n".encode(), "t.abc")
    total = sum(units[length] for _, length in notes)
    assert sum(measure.length for measure in tune.measures) == total == sum(lengths(tune))


# Common practice, no source: the key that a tune comes home in, by what its key field says.
@pytest.mark.parametrize(
    ("field", "music", "key"),
    [
        ("G", "G B d B | d2 B2 | A2 G2 |", "G major"),
        ("G", "e B e g | B2 e2 | f2 e2 |", "E minor"),  # a bare signature, and at home on E
        ("G", "e d B d | G2 d2 | d2 e2 |", "G major"),  # ends on E, but lies in the chord of G
        ("Gmaj", "e B e g | B2 e2 | f2 e2 |", "G major"),
        ("Gm", "G B d B | d2 B2 | A2 G2 |", "G minor"),
        ("Ador", "A c e c | e2 c2 | B2 A2 |", "A dorian"),
        ("Emix", "e g b g | b2 g2 | f2 e2 |", "E mixolydian"),
        ("HP", "a c e c | e2 c2 | b2 a2 |", "A mixolydian"),
    ],
)
def test_the_key_is_told_by_its_field_or_by_where_the_tune_comes_home(
    abc: Read, field: str, music: str, key: str
) -> None:
    tune = abc(music, key=field)
    told = any("comes home" in remark for remark in tune.remarks)
    assert (str(tune.key), told) == (key, not field[1:] and key != "G major")
