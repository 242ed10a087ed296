import hashlib
import json
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, MelodyNote, Pluck
from coach.arranging.files import digest, from_json, to_json
from coach.errors import TuneError
from coach.instrument.fretboard import is_fret, pitch_at
from coach.instrument.tuning import OPEN_G, TUNINGS
from coach.tunes.chords import QUALITIES, Chord
from coach.tunes.tune import Meter

HALF = Fraction(1, 2)

SMALL = Arrangement(
    tune="mill-lane-1f3a9c20",
    title="Mill Lane",
    rights="own",
    tier="intermediate",
    key="G major",
    sounding_key=None,
    capo=0,
    meter=Meter(4, 4),
    slot=HALF,
    source_scale=1,
    bounce=50,
    tuning=OPEN_G,
    remarks=(),
    measures=(
        ArrangedMeasure(
            number=1,
            source_measure=1,
            meter=Meter(4, 4),
            length=Fraction(4),
            tier="intermediate",
            chords=(ChordAt(Fraction(0), Chord("G")),),
            melody=(MelodyNote(Fraction(0), Fraction(1), 55, "Rain", phrase_start=True, kept=True, pluck="m1e1"),),
            plucks=(
                Pluck("m1e1", Fraction(0), HALF, 3, 0, 55, "T", "melody"),
                Pluck("m1e2", HALF, HALF, 3, 2, 57, None, "fill", "hammer-on", 0),
            ),
        ),
    ),
)

EXPECTED = """{
 "format": "arrangement/1",
 "tune": "mill-lane-1f3a9c20",
 "digest": "DIGEST",
 "title": "Mill Lane",
 "rights": "own",
 "tier": "intermediate",
 "key": "G major",
 "capo": 0,
 "meter": "4/4",
 "slot": "1/2",
 "source_scale": "1",
 "bounce": 50,
 "tuning": {"name": "open G", "strings": {"1": 62, "2": 59, "3": 55, "4": 50, "5": 67}},
 "remarks": [],
 "measures": [
  {"number": 1, "source_measure": 1, "meter": "4/4", "length": "4", "tier": "intermediate", \
"chords": [{"at": "0", "symbol": "G"}],
   "melody": [{"at": "0", "length": "1", "pitch": 55, "lyric": "Rain", "phrase_start": true, "kept": true, \
"pluck": "m1e1"}],
   "plucks": [{"id": "m1e1", "at": "0", "length": "1/2", "string": 3, "fret": 0, "pitch": 55, "finger": "T", \
"role": "melody", "technique": "pick"},
    {"id": "m1e2", "at": "1/2", "length": "1/2", "string": 3, "fret": 2, "pitch": 57, "finger": null, \
"role": "fill", "technique": "hammer-on", "from_fret": 0}]}]}
"""


def edited(change):
    """The small file with a change made to its plain values, without digest."""
    raw = json.loads(to_json(SMALL))
    del raw["digest"]
    change(raw)
    return json.dumps(raw).encode()


def test_the_file_has_its_keys_in_the_order_of_the_format():
    assert to_json(SMALL).decode() == EXPECTED.replace("DIGEST", digest(SMALL))


def test_the_digest_is_the_sha256_of_the_json_without_it():
    raw = json.loads(to_json(SMALL))
    named = raw.pop("digest")

    plain = json.dumps(raw, separators=(",", ":"), ensure_ascii=False).encode()
    assert named == hashlib.sha256(plain).hexdigest() == digest(SMALL)


def test_the_digest_does_not_depend_on_the_layout_of_the_file():
    relaid = json.dumps(json.loads(to_json(SMALL)), indent=4).encode()

    assert from_json(relaid, "a.json") == SMALL


def test_another_arrangement_has_another_digest():
    assert digest(replace(SMALL, bounce=55)) != digest(SMALL)


def test_a_file_without_digest_is_accepted():
    assert from_json(edited(lambda raw: None), "a.json") == SMALL


def test_a_finger_of_the_left_hand_stands_last_and_only_where_it_is_told():
    told = edited(set_in(*SECOND, "left", 2))
    read = from_json(told, "a.json")

    assert [pluck.left for _, pluck in read.plucks()] == [None, 2]
    assert to_json(read).decode().count('"from_fret": 0, "left": 2}') == 1
    assert "left" not in to_json(SMALL).decode()


def test_a_wrong_digest_is_refused_with_a_cure():
    data = to_json(SMALL).replace(b'"bounce": 50', b'"bounce": 55')

    with pytest.raises(TuneError, match=r"a\.json: the digest does not fit.*take the line with the digest out"):
        from_json(data, "a.json")


def test_a_hand_made_file_may_leave_the_defaults_out():
    def change(raw):
        for key in ("rights", "capo", "source_scale", "bounce", "remarks"):
            del raw[key]
        del raw["measures"][0]["plucks"][0]["technique"]

    read = from_json(edited(change), "a.json")

    assert read.capo == 0
    assert read.bounce == 50
    assert read.measures[0].plucks == SMALL.measures[0].plucks


def set_in(*path):
    *steps, value = path

    def change(raw):
        for step in steps[:-1]:
            raw = raw[step]
        raw[steps[-1]] = value

    return change


FIRST = ("measures", 0, "plucks", 0)
SECOND = ("measures", 0, "plucks", 1)
NOTE = ("measures", 0, "melody", 0)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (set_in(*FIRST, "fret", "0"), r"a\.json, measure 1, pluck m1e1, fret: expected 'int', got 'str'; "),
        (set_in(*FIRST, "finger", "R"), r"a\.json, measure 1, pluck m1e1, finger: invalid enum value 'R'"),
        (set_in(*FIRST, "form_fret", 1), r"a\.json, measure 1, pluck m1e1: object contains unknown field 'form_fret'"),
        (set_in(*FIRST, "at", "0.5"), r"measure 1, pluck m1e1: '0\.5' is no position or length; write quarters like"),
        (set_in(*FIRST, "at", "1/0"), "'1/0' is no position or length"),
        (set_in(*FIRST, "at", "1" * 400), "is no position or length"),
        (set_in(*FIRST, "length", "0"), "measure 1, pluck m1e1: its length is nothing"),
        (set_in(*FIRST, "length", "5"), "measure 1, pluck m1e1: it lasts beyond the barline; shorten it"),
        (set_in(*FIRST, "at", "4"), "measure 1, pluck m1e1: 4 lies behind the measure's end; stay below 4"),
        (set_in(*FIRST, "at", "1"), "measure 1: the plucks are out of order"),
        (set_in(*FIRST, "id", "m1e9"), "measure 1: the pluck has the id 'm1e9'; call it m1e1"),
        (set_in(*FIRST, "string", 6), "measure 1, pluck m1e1: string 6 has no fret 0"),
        (set_in(*FIRST, "fret", 23), "string 3 has no fret 23"),
        (set_in(*FIRST, "pitch", 56), "string 3 fret 0 sounds 55, not 56; correct the fret or the pitch"),
        (set_in(*FIRST, "finger", None), "a picked note has a finger and no from_fret"),
        (set_in(*SECOND, "finger", "I"), "a picked note has a finger and no from_fret"),
        (set_in(*SECOND, "from_fret", None), "a picked note has a finger and no from_fret"),
        (set_in(*SECOND, "from_fret", 40), "string 3 has no fret 40"),
        (set_in(*SECOND, "left", 5), "pluck m1e2: the finger of the left hand is 5; choose from 1 to 4"),
        (set_in(*FIRST, "left", 1), "pluck m1e1: an open string has no finger of the left hand; take `left` out"),
        (set_in(*SECOND, "at", "0"), "measure 1: a string is struck twice at once"),
        (set_in(*NOTE, "pluck", "m1e7"), "melody note at 0: no pluck 'm1e7' sounds the pitch 55"),
        (set_in(*NOTE, "pluck", "m1e2"), "no pluck 'm1e2' sounds the pitch 55"),
        (set_in(*NOTE, "pluck", None), "a melody note is kept exactly when a pluck carries it"),
        (set_in(*NOTE, "kept", False), "a melody note is kept exactly when a pluck carries it"),
        (set_in(*NOTE, "pitch", 400), "the pitch is 400; choose from 24 to 108"),
        (set_in(*NOTE, "moved", "9"), "9 lies behind the measure's end"),
        (set_in("measures", 0, "number", 2), r"a\.json, measure 2: the pluck has the id"),
        (set_in("measures", 0, "same_as", 1), "measure 1: same_as names measure 1; name an earlier measure"),
        (set_in("measures", 0, "meter", "4/5"), "measure 1: '4/5' is no metre; write it like 4/4 or 6/8"),
        (set_in("measures", 0, "length", "0"), "measure 1: its length is nothing"),
        (set_in("measures", 0, "slot", "x"), "measure 1: 'x' is no position or length"),
        (set_in("measures", 0, "tier", "mixed"), "measure 1, tier: invalid enum value 'mixed'"),
        (set_in("measures", 0, "chords", 0, "symbol", "H"), "'H' is no chord name that is known"),
        (set_in("measures", 0, "plucks", []), "there is nothing to play|no pluck 'm1e1'"),
        (set_in("measures", 0, 5), r"measure 1 of the list: expected 'object', got 'int'"),
        (set_in("measures", []), "there is nothing to play"),
        (set_in("measures", {}), r"a\.json: expected 'array', got 'object'"),
        (set_in("title", "Mill\x01Lane"), "the title has a character that no sheet can hold"),
        (set_in("tune", "mill\ufffe"), "the tune has a character that no sheet can hold"),
        (set_in("remarks", ["\x1b[1m"]), "the remark has a character that no sheet can hold"),
        (set_in(*NOTE, "lyric", "la\x00"), "melody note at 0: the lyric has a character that no sheet can hold"),
        (set_in("capo", 12), "the capo is 12; choose from 0 to 11"),
        (set_in("bounce", 68), "the bounce is 68; choose from 50 to 67"),
        (set_in("key", "G"), "'G' is no key; write it like G major or E minor"),
        (set_in("key", "X major"), "'X major' is no key"),
        (set_in("tuning", "strings", "1", 200), "the pitch of string 1 is 200"),
        (set_in("tuning", "strings", {"1": 62}), "the tuning lacks a string"),
        (set_in("source_scale", "3"), "source_scale: invalid enum value '3'"),
        (set_in("slot", "0"), "the slot is nothing"),
        (set_in("format", "arrangement/2"), '"format" is not "arrangement/1"'),
    ],
)
def test_a_fault_is_told_with_its_place_and_cure(change, sentence):
    with pytest.raises(TuneError, match=sentence) as caught:
        from_json(edited(change), "a.json")

    assert str(caught.value).startswith("a.json")
    assert str(caught.value).endswith(".")


def test_a_measure_out_of_count_is_told():
    def change(raw):
        raw["measures"].append({**raw["measures"][0], "number": 3, "plucks": [], "melody": []})

    with pytest.raises(TuneError, match="measure 3: measure 2 should stand here"):
        from_json(edited(change), "a.json")


@pytest.mark.parametrize("data", [b"", b"X:1", b"[]", b"{}", b"null", b"\xff\xfe", b"[" * 100_000, b'{"format": 1}'])
def test_what_is_no_arrangement_gets_a_sentence(data):
    with pytest.raises(TuneError, match=r"this is no"):
        from_json(data, "a.json")


def test_a_file_far_too_large_is_not_even_read():
    with pytest.raises(TuneError, match="more than any solo needs"):
        from_json(b" " * 5_000_001, "a.json")


@settings(max_examples=200)
@given(st.data())
def test_damaged_bytes_raise_nothing_but_the_documented_error(data):
    whole = bytearray(to_json(SMALL))
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(whole) - 1))
        whole[place : place + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
    try:
        outcome = from_json(bytes(whole), "a.json")
    except TuneError as error:
        outcome = str(error)

    # Harmless damage (white space) changes nothing; all else is told with the file's name.
    assert outcome == SMALL or outcome.startswith("a.json")


# Random arrangements that make sense as files; whether hands can play them does not matter here.
positions = st.builds(Fraction, st.integers(0, 31), st.sampled_from([8, 12])).filter(lambda at: at < 4)
lengths = st.builds(Fraction, st.integers(1, 24), st.sampled_from([4, 6]))
texts = st.text(st.characters(exclude_categories=["Cc", "Cs", "Cn"]), max_size=12)
chords = st.builds(Chord, st.sampled_from(["G", "C", "F#", "Bb"]), st.sampled_from(sorted(QUALITIES)))


@st.composite
def measures(draw, number, tuning, capo):
    spots = draw(st.lists(st.tuples(positions, st.integers(1, 5)), unique=True, min_size=1, max_size=6))
    spots.sort(key=lambda spot: (spot[0], -spot[1]))
    plucks, melody = [], []
    for count, (at, string) in enumerate(spots, start=1):
        frets = [fret for fret in range(23) if is_fret(string, fret, capo=capo)]
        fret = draw(st.sampled_from(frets))
        technique = draw(st.sampled_from(["pick", "slide", "hammer-on", "pull-off"]))
        picked = technique == "pick"
        plucks.append(
            Pluck(
                f"m{number}e{count}",
                at,
                min(draw(lengths), 4 - at),
                string,
                fret,
                pitch_at(tuning, string, fret, capo),
                draw(st.sampled_from(["T", "I", "M"])) if picked else None,
                draw(st.sampled_from(["melody", "fill", "drone", "pinch", "lick"])),
                technique,
                None if picked else draw(st.sampled_from(frets)),
                draw(st.none() | st.integers(1, 4)) if fret else None,
            )
        )
    for at in sorted(draw(st.sets(positions, max_size=3))):
        carrier = draw(st.none() | st.sampled_from(plucks))
        melody.append(
            MelodyNote(
                at,
                draw(lengths),
                carrier.pitch if carrier else draw(st.integers(30, 90)),
                draw(st.none() | texts),
                draw(st.booleans()),
                carrier is not None,
                carrier.id if carrier else None,
                draw(st.none() | positions),
            )
        )
    return ArrangedMeasure(
        number,
        draw(st.integers(0, 500)),
        draw(st.builds(Meter, st.integers(1, 12), st.sampled_from([2, 4, 8]))),
        Fraction(4),
        draw(st.sampled_from(["beginner", "intermediate", "advanced"])),
        tuple(ChordAt(at, draw(chords)) for at in sorted(draw(st.sets(positions, max_size=2)))),
        tuple(melody),
        tuple(plucks),
        draw(st.none() | st.integers(1, number - 1)) if number > 1 else None,
        draw(st.none() | lengths),
    )


@st.composite
def arrangements(draw):
    tuning = draw(st.sampled_from(sorted(TUNINGS.values(), key=lambda tuning: tuning.name)))
    capo = draw(st.integers(0, 7))
    first = draw(st.sampled_from([0, 1]))
    return Arrangement(
        tune=draw(texts),
        title=draw(texts),
        rights=draw(texts),
        tier=draw(st.sampled_from(["beginner", "intermediate", "advanced", "mixed"])),
        key=draw(st.sampled_from(["G major", "E minor", "Bb mixolydian"])),
        sounding_key=draw(st.none() | st.just("A major")),
        capo=capo,
        meter=Meter(4, 4),
        slot=draw(lengths),
        source_scale=draw(st.sampled_from([1, 2])),
        bounce=draw(st.integers(50, 67)),
        tuning=tuning,
        remarks=tuple(draw(st.lists(texts, max_size=2))),
        measures=tuple(
            draw(measures(number, tuning, capo)) for number in range(first, first + draw(st.integers(1, 3)))
        ),
    )


@settings(max_examples=15)
@given(arrangements())
def test_reading_what_was_written_gives_the_same_arrangement_and_the_same_bytes(arrangement):
    data = to_json(arrangement)
    read = from_json(data, "a.json")

    assert read == arrangement
    assert to_json(read) == data
    assert json.loads(data)["digest"] == digest(arrangement)
