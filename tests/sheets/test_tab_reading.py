"""A teacher's tablature becomes an arrangement: our own files come back as they were, those of others make sense."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from fractions import Fraction
from io import BytesIO

import pytest
from demo_solos import demo_solos
from hypothesis import assume, given, settings
from strategies import solos
from tab_files import LINES, ROLL, H, attributes, fretted, harmony, part, read, rest, rows, score, sung, tuning

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import to_json
from coach.arranging.rules import broken_rules
from coach.errors import TuneError
from coach.instrument.tuning import OPEN_G, Tuning
from coach.sheets.musicxml import to_musicxml
from coach.sheets.tab_reading import holds_tab, read_tab
from coach.tunes.demo import DEMO_TUNES

# ------------------------------------------------------------------------------------------ our own files


def bare(solo: Arrangement) -> list[tuple[object, ...]]:
    return [(measure.number, measure.meter, measure.length, measure.chords) for measure in solo.measures] + [
        (replace(pluck, role="fill"),) for _, pluck in solo.plucks()
    ]


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_a_demo_solo_comes_back_with_the_same_plucks_and_breaks_no_rule(name: str) -> None:
    for solo in demo_solos(name).values():
        back = read_tab(to_musicxml(solo).encode(), "solo.musicxml")
        assert bare(back) == bare(solo)
        assert (back.tune, back.tier, back.title, back.rights) == (solo.tune, solo.tier, solo.title, solo.rights)
        assert (back.key, back.sounding_key, back.capo, back.slot) == (
            solo.key, solo.sounding_key, solo.capo, solo.slot
        )  # fmt: skip
        assert (back.tuning, back.bounce, back.source_scale) == (solo.tuning, solo.bounce, solo.source_scale)
        assert broken_rules(back) == ()
        tunes = zip(back.measures, solo.measures, strict=True)
        assert all(
            [replace(note, phrase_start=False) for note in one.melody]
            == [replace(note, phrase_start=False) for note in other.melody]
            for one, other in tunes
        )


@settings(max_examples=25)
@given(solos())
def test_any_solo_comes_back_with_the_same_plucks(solo: Arrangement) -> None:
    assume(any(measure.plucks for measure in solo.measures))
    back = read_tab(to_musicxml(solo).encode(), "solo.musicxml")
    assert bare(back) == bare(solo)
    assert (back.title, back.key, back.capo, back.tuning) == (solo.title, solo.key, solo.capo, solo.tuning)


@settings(max_examples=10)
@given(solos())
def test_the_same_file_gives_the_same_bytes_and_what_is_read_writes_them_again(solo: Arrangement) -> None:
    assume(any(measure.plucks for measure in solo.measures))
    data = to_musicxml(solo).encode()
    once, twice = read_tab(data, "a.musicxml"), read_tab(data, "a.musicxml")
    assert to_json(once) == to_json(twice)
    assert read_tab(to_musicxml(once).encode(), "a.musicxml").measures == once.measures


# ------------------------------------------------------------------------------------------ files of others


def test_a_bare_tablature_is_read_and_gets_its_fingers() -> None:
    solo = read(ROLL)
    assert "".join(str(pluck.finger) for _, pluck in solo.plucks()) == "TIMTIMTI"
    assert [row[:5] for row in rows(solo)] == [
        (1, k * H, H, string, 0) for k, string in enumerate((3, 2, 1, 5, 2, 1, 5, 2))
    ]
    assert (solo.tier, solo.key, solo.slot, solo.tuning) == ("advanced", "G major", H, OPEN_G)
    assert (solo.title, solo.measures[0].melody) == ("lick", ())
    assert [pluck.role for _, pluck in solo.plucks()] == [
        "fill",
        "fill",
        "fill",
        "drone",
        "fill",
        "fill",
        "drone",
        "fill",
    ]
    assert broken_rules(solo) == ()


@pytest.mark.parametrize(
    ("written", "finger"), [("T", "T"), ("p", "T"), ("i", "I"), ("I", "I"), ("m", "M"), ("M", "M"), ("t", "T")]
)
def test_fingers_of_the_right_hand_are_kept(written: str, finger: str) -> None:
    solo = read(fretted(2, 1, technical=f"<pluck>{written}</pluck><fingering>1</fingering>"))
    (pluck,) = (pluck for _, pluck in solo.plucks())
    assert (pluck.finger, pluck.left) == (finger, 1)


def test_another_finger_is_found_anew_and_said() -> None:
    solo = read(fretted(1, 0, technical="<pluck>a</pluck>"))
    assert [pluck.finger for _, pluck in solo.plucks()] == ["M"]
    assert any("none of T, I and M" in remark for remark in solo.remarks)


def test_what_hands_cannot_do_is_kept_and_listed() -> None:
    twice = fretted(3, 0, technical="<pluck>T</pluck>") + fretted(4, 0, technical="<pluck>T</pluck>")
    solo = read(twice + fretted(2, 9) + fretted(1, 0))
    assert [pluck.finger for _, pluck in solo.plucks()][:2] == ["T", "T"]
    assert {each.rule for each in broken_rules(solo)} == {"finger twice"}


def test_notes_struck_together_are_a_pinch_and_four_of_them_break_a_rule() -> None:
    pinch = read(fretted(1, 0) + fretted(5, 0, chord=True) + fretted(2, 0))
    assert [(pluck.string, pluck.finger, pluck.role) for _, pluck in pinch.plucks()] == [
        (5, "T", "pinch"),
        (1, "M", "pinch"),
        (2, "I", "fill"),
    ]
    strum = read(fretted(1, 0) + "".join(fretted(string, 0, chord=True) for string in (2, 3, 4)))
    assert [pluck.finger for _, pluck in strum.plucks()] == ["T", "T", "I", "M"]
    assert {each.rule for each in broken_rules(strum)} == {"pinch"}


def test_two_voices_are_one_solo() -> None:
    held = fretted(4, 2, 24, voice=2)
    solo = read(fretted(1, 0, 12) + fretted(1, 2, 12) + "<backup><duration>24</duration></backup>" + held)
    assert [row[:5] for row in rows(solo)] == [(1, 0, 1, 4, 2), (1, 0, 1, 1, 0), (1, 1, 1, 1, 2)]


def test_a_tie_lasts_on_within_a_measure_and_is_no_pluck_behind_the_barline() -> None:
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    solo = read(
        fretted(3, 2, 12, tie=start) + fretted(3, 2, 12, tie=stop + start) + rest(24),
        fretted(3, 2, 12, tie=stop) + fretted(2, 0, 36),
    )
    assert [row[:5] for row in rows(solo)] == [(1, 0, 2, 3, 2), (2, 1, 3, 2, 0)]


def slur(kind: str, end: str) -> str:
    return f'<{kind} type="{end}" number="1"/>'


@pytest.mark.parametrize(
    ("kind", "technical", "frets", "technique"),
    [
        ("hammer-on", True, (0, 2), "hammer-on"),
        ("pull-off", True, (2, 0), "pull-off"),
        ("slide", False, (2, 4), "slide"),
        ("glissando", False, (4, 2), "slide"),
        ("slur", False, (2, 3), "hammer-on"),
        ("slur", False, (3, 2), "pull-off"),
        ("slur", False, (3, 3), "pick"),
    ],
)
def test_slurs_are_read(kind: str, technical: bool, frets: tuple[int, int], technique: str) -> None:
    where = "technical" if technical else "more"
    first, second = (
        fretted(3, fret, 3, **{where: slur(kind, end)})  # type: ignore[arg-type]
        for fret, end in zip(frets, ("start", "stop"), strict=True)
    )
    *_, last = (pluck for _, pluck in read(first + second).plucks())
    assert (last.technique, last.from_fret) == (technique, None if technique == "pick" else frets[0])
    assert (last.finger is None) == (technique != "pick")


def test_a_slur_over_several_strings_is_a_phrase_and_no_technique() -> None:
    solo = read(fretted(3, 0, more=slur("slur", "start")) + fretted(2, 0) + fretted(1, 0, more=slur("slur", "stop")))
    assert {pluck.technique for _, pluck in solo.plucks()} == {"pick"}


def test_a_slur_joins_neighbours_on_one_string_only() -> None:
    begun = fretted(2, 0, more=slur("slur", "start"))
    elsewhere = read(fretted(3, 0) + begun + fretted(3, 2, more=slur("slur", "stop")))
    between = read(fretted(3, 0, more=slur("slur", "start")) + fretted(2, 0) + fretted(3, 2, more=slur("slur", "stop")))
    assert {pluck.technique for solo in (elsewhere, between) for _, pluck in solo.plucks()} == {"pick"}


def test_a_hammer_on_from_nowhere_is_picked_and_said() -> None:
    solo = read(fretted(3, 2, technical=slur("hammer-on", "stop")))
    assert [pluck.technique for _, pluck in solo.plucks()] == ["pick"]
    assert any("comes from no note" in remark for remark in solo.remarks)


def test_a_grace_note_is_picked_in_the_place_of_its_note() -> None:
    grace = fretted(3, 2, grace=True, more=slur("slide", "start"), technical="<pluck>T</pluck>")
    solo = read(fretted(2, 0) + grace + fretted(3, 4, more=slur("slide", "stop")) + fretted(1, 0))
    quarter = Fraction(1, 4)
    assert rows(solo)[1:3] == [
        (1, H, quarter, 3, 2, "T", "pick"),
        (1, H + quarter, quarter, 3, 4, None, "slide"),
    ]
    assert broken_rules(solo) == ()


def test_a_grace_note_that_leads_nowhere_is_left_out_and_said() -> None:
    solo = read(fretted(4, 2, grace=True) + fretted(3, 4))
    assert [row[3] for row in rows(solo)] == [3]
    assert any("Grace notes" in remark for remark in solo.remarks)


def test_triplets_and_finer_notes_get_a_grid_of_their_own() -> None:
    triplet = "".join(fretted(string, 0, 4) for string in (3, 2, 1)) * 4
    solo = read(ROLL, triplet, ROLL)
    assert (solo.slot, [measure.slot for measure in solo.measures]) == (H, [None, Fraction(1, 3), None])
    assert "grid" not in {each.rule for each in broken_rules(solo)}


def test_repeats_and_endings_are_written_out() -> None:
    def bar(sign: str, side: str = "right") -> str:
        return f'<barline location="{side}">{sign}</barline>'

    solo = read(
        bar('<repeat direction="forward"/>', "left") + ROLL,
        bar('<ending number="1" type="start"/>', "left")
        + fretted(3, 0, 48)
        + bar('<ending number="1" type="stop"/><repeat direction="backward"/>'),
        bar('<ending number="2" type="start"/>', "left")
        + fretted(4, 0, 48)
        + bar('<ending number="2" type="discontinue"/>'),
    )
    assert [(measure.number, measure.source_measure, measure.same_as) for measure in solo.measures] == [
        (1, 1, None),
        (2, 2, None),
        (3, 1, 1),
        (4, 3, None),
    ]
    assert broken_rules(solo) == ()


def test_an_ending_ends_where_it_says() -> None:
    def sign(side: str, inside: str) -> str:
        return f'<barline location="{side}">{inside}</barline>'

    solo = read(
        ROLL,
        sign("left", '<ending number="1" type="start"/>')
        + fretted(3, 0, 48)
        + sign("right", '<ending number="1" type="stop"/><repeat direction="backward"/>'),
        sign("left", '<ending number="2" type="start"/>')
        + fretted(4, 0, 48)
        + sign("right", '<ending number="2" type="stop"/>'),
        sign("left", '<repeat direction="forward"/>') + ROLL + sign("right", '<repeat direction="backward"/>'),
    )
    assert [measure.source_measure for measure in solo.measures] == [1, 2, 1, 3, 4, 4]


def test_a_short_first_measure_is_a_pickup() -> None:
    solo = read(fretted(3, 0), ROLL)
    assert [(measure.number, measure.length) for measure in solo.measures] == [(0, H), (1, 4)]


def test_a_fifth_string_counted_from_its_own_nut_is_moved_up() -> None:
    own = fretted(5, 2, pitch="A4")
    neck = fretted(5, 7, pitch="A4")
    assert [(p.fret, p.pitch) for _, p in read(own).plucks()] == [(7, 69)]
    assert [(p.fret, p.pitch) for _, p in read(neck).plucks()] == [(7, 69)]


def test_no_tuning_is_open_g_with_a_word_and_another_is_kept() -> None:
    untold = read(ROLL, start=attributes(tuned=""))
    assert untold.tuning == OPEN_G
    assert any("open G is taken" in remark for remark in untold.remarks)
    own = read(ROLL, start=attributes(tuned=tuning(LINES | {3: "A3"})))
    assert own.tuning == Tuning("g D A B D", (62, 59, 57, 50, 67))
    high = read(ROLL, start=attributes(tuned=tuning({line: f"{n[0]}{int(n[1]) + 1}" for line, n in LINES.items()})))
    assert high.tuning == OPEN_G
    assert any("octaves" in remark for remark in high.remarks)


@pytest.mark.parametrize(("chromatic", "step"), [(2, "G"), (None, "A"), (None, "G")])
def test_with_a_capo_key_and_chords_are_those_of_the_shape(chromatic: int | None, step: str) -> None:
    """Written in the shape with a transposition, as it sounds, or in the shape without a word: G position all three."""
    transpose = "" if chromatic is None else f"<transpose><chromatic>{chromatic}</chromatic></transpose>"
    start = attributes(more="<capo>2</capo>").replace("</attributes>", f"{transpose}</attributes>")
    start = start.replace("<fifths>1</fifths>", f"<fifths>{3 if step == 'A' else 1}</fifths>")
    solo = read(harmony(step) + fretted(3, 0, pitch=f"{step}3") + fretted(1, 0), start=start)
    assert (solo.key, solo.sounding_key, solo.capo) == ("G major", "A major", 2)
    assert solo.measures[0].chords[0].chord.symbol == "G"
    assert [pluck.pitch for _, pluck in solo.plucks()] == [57, 64]
    assert "Capo at fret 2, fifth string under the spike at fret 7." in solo.remarks


def test_a_tune_on_another_part_is_the_melody_at_the_octave_of_the_tab() -> None:
    """Written without a clef of its own an octave above sound, as banjo music is."""
    start = (
        "<attributes><divisions>12</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
        "<clef><sign>G</sign></clef></attributes>"
    )
    tune = part(
        start + harmony("C", "dominant") + sung("G", 4, 12, "Rain") + sung("B", 4, 12, "on") + sung("F", 4, 24, "roofs")
    )
    solo = read_tab(score(tune, part(attributes() + ROLL, name="P2")), "rain.musicxml")
    (measure,) = solo.measures
    assert [(note.at, note.pitch, note.lyric, note.kept, note.pluck) for note in measure.melody] == [
        (0, 55, "Rain", True, "m1e1"),
        (1, 59, "on", True, "m1e2"),
        (2, 53, "roofs", False, None),
    ]
    assert (measure.melody[1].moved, measure.melody[0].phrase_start) == (H, True)
    assert [pluck.role for pluck in measure.plucks[:3]] == ["melody", "melody", "fill"]
    assert measure.chords[0].chord.symbol == "C7"
    assert broken_rules(solo) == ()


def two_staves(words: str) -> bytes:
    """One part with the solo in notes over its tablature, as score programs write it."""
    start = attributes().replace("<clef>", '<staves>2</staves><clef number="1"><sign>G</sign></clef><clef number="2">')
    start = start.replace("<staff-details>", '<staff-details number="2">')
    notes = "".join(sung(step, octave, 6, words) for step, octave in (("G", 3), ("B", 3), ("D", 4), ("G", 4)))
    tab = "".join(
        fretted(string, 0, pitch=pitch).replace("</voice>", "</voice><staff>2</staff>")
        for string, pitch in ((3, "G3"), (2, "B3"), (1, "D4"), (5, "G4"))
    )
    return score(part(start + notes + "<backup><duration>24</duration></backup>" + tab))


def test_the_solo_once_more_in_notes_is_no_melody_unless_it_has_words() -> None:
    assert read_tab(two_staves(""), "a.musicxml").measures[0].melody == ()
    assert len(read_tab(two_staves("la"), "a.musicxml").measures[0].melody) == 4


def test_a_compressed_file_is_read() -> None:
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("score.xml", score(part(attributes() + ROLL)))
    assert holds_tab(buffer.getvalue())
    assert len(list(read_tab(buffer.getvalue(), "a.mxl").plucks())) == 8


def test_title_and_words_lose_what_no_sheet_can_hold() -> None:
    head = "<work><work-title>A\u0085B &amp; Ü ♯</work-title></work>"
    solo = read_tab(score(part(attributes() + ROLL), head=head), "a.musicxml")
    assert solo.title == "AB & Ü ♯"


# ------------------------------------------------------------------------------------------ what is a tab


def guitar(*more: str) -> bytes:
    tab = part(attributes(staff_lines="<staff-lines>6</staff-lines>", tuned="") + ROLL, name="P2")
    return score(*more, tab)


def test_what_counts_as_a_tab() -> None:
    tune = part("<attributes><divisions>12</divisions></attributes>" + sung("G", 4, 48))
    assert holds_tab(score(part(attributes() + ROLL)))
    assert holds_tab(score(tune, part(attributes() + ROLL)))
    assert holds_tab(score(part(attributes(staff_lines="", tuned="") + ROLL)))  # string 5 is the last
    assert holds_tab(guitar())  # to be refused in a sentence
    assert not holds_tab(guitar(tune))  # a song with a guitar
    assert not holds_tab(score(tune))
    assert not holds_tab(score(part(attributes() + sung("G", 4, 48))))  # a TAB clef and no string
    assert not holds_tab(b"X:1\nT:TAB\nK:G\nG4|\n")
    assert not holds_tab(b"PK\x03\x04 TAB")


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (guitar(), "the tablature has 6 lines"),
        (score(part(attributes(staff_lines="<staff-lines>4</staff-lines>", tuned="") + fretted(4, 0))), "has 4 lines"),
        (score(part(attributes() + ROLL, fretted(3, 0) + fretted(2, None))), "measure 2: a note of the tablature ha"),
        (score(part(attributes() + fretted(3, 0) + fretted(None, 2))), "a note of the tablature has no string"),
        (score(part(attributes() + fretted(6, 0) + ROLL)), "measure 1: there is a note on string 6"),
        (score(part(attributes() + fretted(5, 3) + ROLL)), "measure 1: string 5 has no fret 3"),
        (score(part(attributes() + fretted(1, 23))), "string 1 has no fret 23"),
        (score(part(attributes() + fretted(3, 0) + fretted(3, 2, chord=True))), "string 3 has two frets at once"),
        (score(part(attributes(more="<capo>15</capo>") + ROLL)), "the capo is at fret 15"),
        (score(part(attributes(tuned=tuning({1: "G4", 2: "D3"})) + ROLL)), "the tuning is told for 2 strings"),
        (score(part(attributes(tuned=tuning(LINES | {1: "B2"})) + ROLL)), "tuned no higher than the next one"),
        (score(part(attributes(time="4/5") + ROLL)), "measure 1: 4/5 is no metre"),
        (score(part(attributes().replace(">12<", ">0<") + ROLL)), "the divisions are not above 0"),
        (score(part(attributes() + fretted(3, 0, 10**7 - 1))), "lasts more than 64 quarters"),
        (score(part(attributes().replace(">12<", ">9999991<") + fretted(3, 0, 1))), "is no position or length"),
        (score(part(attributes() + fretted(3, 0).replace(">6<", ">six<"))), "'six' is no number for a duration"),
        (score(part(attributes().replace("<time>", "<tempo>").replace("</time>", "</tempo>") + ROLL)), "has no metre"),
        (score(part(attributes().replace(">1</fifths>", ">99</fifths>") + ROLL)), "no key has so many signs"),
        (score(part(attributes() + harmony("H") + ROLL)), "a chord has no root that is known"),
        (b"<score-timewise>TAB</score-timewise>", "a score was wanted"),
        (b'<!DOCTYPE x [<!ENTITY a "TAB">]><score-partwise>&a;</score-partwise>', "entities of its own"),
        (b"<score-partwise>TAB", "no XML that can be read"),
        (score(part(attributes().replace("TAB", "G") + ROLL)), "there is no tablature"),
    ],
)  # fmt: skip
def test_a_file_that_makes_no_sense_is_refused_in_a_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(TuneError) as caught:
        read_tab(data, "lick.musicxml")
    assert str(caught.value).startswith("lick.musicxml")
    assert sentence in str(caught.value)
    assert str(caught.value).count(". ") == 0


@pytest.fixture(scope="module")
def whole() -> bytes:
    return to_musicxml(demo_solos("mill-lane")["advanced"]).encode()


@pytest.mark.parametrize("seed", range(40))
def test_any_damage_gives_a_solo_or_a_sentence(whole: bytes, seed: int) -> None:
    """A piece is taken out; sometimes a whole element goes, so that the rest is still XML."""
    places = [found.start() for found in re.finditer(rb"<note" if seed % 2 else rb"<", whole)]
    at = places[seed * 7919 % len(places)]
    end = whole.index(b">", whole.index(b"</", at)) + 1 if seed % 2 else at + 1 + seed
    try:
        solo = read_tab(whole[:at] + whole[end:], "a.musicxml")
    except TuneError as error:
        said = str(error)
    else:
        said = f"a.musicxml, {sum(1 for _ in solo.plucks())} plucks"
    assert said.startswith("a.musicxml")
    assert not said.endswith(" 0 plucks")
