"""Solos at random: what could be played on five strings, whether hands can play it or not."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from coach.arranging.arrangement import (
    TIERS,
    ArrangedMeasure,
    Arrangement,
    ChordAt,
    Finger,
    MelodyNote,
    Pluck,
    Technique,
)
from coach.instrument.fretboard import STRINGS, is_fret, pitch_at
from coach.instrument.tuning import TUNINGS
from coach.tunes.chords import QUALITIES, Chord
from coach.tunes.keys import Key, spell
from coach.tunes.plain_text import plain_text
from coach.tunes.tune import Meter

METERS = [Meter(4, 4), Meter(2, 2), Meter(3, 4), Meter(2, 4), Meter(6, 8), Meter(9, 8), Meter(12, 8), Meter(5, 4)]
KEYS = ["G major", "C major", "D major", "E minor", "A dorian", "F major", "Bb major", "D mixolydian"]
FINGERS: list[Finger] = ["T", "I", "M"]

texts = st.text(max_size=24).map(plain_text).map(str.strip)
words = st.from_regex(r"[^\W\d_]{1,6}[,.!?']?-?", fullmatch=True)


@st.composite
def chords(draw: st.DrawFn, length: Fraction, step: Fraction) -> tuple[ChordAt, ...]:
    places = draw(st.lists(st.integers(0, int(length / step) - 1), max_size=2, unique=True))
    roots = st.sampled_from(["G", "C", "D", "F#", "Bb", "Eb", "A"])
    return tuple(
        ChordAt(
            place * step,
            Chord(draw(roots), draw(st.sampled_from(sorted(QUALITIES))), draw(st.sampled_from(["", "", "B"]))),
        )
        for place in sorted(places)
    )


@st.composite
def plucks(
    draw: st.DrawFn, number: int, length: Fraction, step: Fraction, tuning: str, capo: int, last: dict[int, int]
) -> tuple[Pluck, ...]:
    """The plucks of a measure; ``last`` has the last fret of each string and is carried on."""
    count = int(length / step)
    places = sorted(draw(st.lists(st.integers(0, count - 1), max_size=8, unique=True)))
    found: list[Pluck] = []
    for index, place in enumerate(places):
        room = (places[index + 1] if index + 1 < len(places) else count) - place
        strings = sorted(draw(st.sets(st.sampled_from(STRINGS), min_size=1, max_size=3)), reverse=True)
        for string in strings:
            frets = [fret for fret in range(13) if is_fret(string, fret, capo=capo)]
            fret = draw(st.sampled_from(frets))
            technique: Technique = "pick"
            before = last.get(string)
            if before is not None and before != fret and draw(st.booleans()):
                up: Technique = "hammer-on" if fret > before else "pull-off"
                technique = draw(st.sampled_from([up, "slide" if before and fret else up]))
            picked = technique == "pick"
            last[string] = fret
            found.append(
                Pluck(
                    id=f"m{number}e{len(found) + 1}",
                    at=place * step,
                    length=draw(st.integers(1, room)) * step,
                    string=string,
                    fret=fret,
                    pitch=pitch_at(TUNINGS[tuning], string, fret, capo),
                    finger=draw(st.sampled_from(FINGERS)) if picked else None,
                    role="fill",
                    technique=technique,
                    from_fret=None if picked else before,
                    left=draw(st.sampled_from([None, 1, 2, 3, 4])) if fret else None,
                )
            )
    return tuple(found)


@st.composite
def solos(draw: st.DrawFn) -> Arrangement:
    """A solo of up to five measures, perhaps with a pickup, a tune, a capo, changing metres and triplets."""
    tuning = draw(st.sampled_from(sorted(TUNINGS)))
    capo = draw(st.sampled_from([0, 0, 2, 5, 7]))
    key = draw(st.sampled_from(KEYS))
    sung = draw(st.booleans())
    slot = draw(st.sampled_from([Fraction(1, 2), Fraction(1, 4), Fraction(1, 3)]))
    meter = draw(st.sampled_from(METERS))
    first = meter
    pickup = draw(st.booleans())
    last: dict[int, int] = {}
    measures: list[ArrangedMeasure] = []
    free = Fraction(0)  # where, in the measure to come, the tune's last note ends
    for number in range(0 if pickup else 1, draw(st.integers(1, 4)) + 1):
        if number > 1 and draw(st.integers(0, 3)) == 0:
            meter = draw(st.sampled_from(METERS))
        length = Fraction(1) if number == 0 else meter.length
        melody: list[MelodyNote] = []
        while sung and free < length:
            lasting = draw(st.integers(1, 7)) * slot
            if draw(st.integers(0, 4)):
                lyric = draw(st.none() | words)
                pitch = draw(st.integers(48, 76)) + capo
                melody.append(MelodyNote(free, lasting, pitch, lyric))
            free += lasting
        free = max(Fraction(0), free - length)
        measures.append(
            ArrangedMeasure(
                number=number,
                source_measure=number,
                meter=meter,
                length=length,
                tier="advanced",
                chords=draw(chords(length, Fraction(1, 2))),
                melody=tuple(melody),
                plucks=draw(plucks(number, length, slot, tuning, capo, last)),
            )
        )
    tonic, mode = key.split()
    moved = Key(tonic, mode)
    return Arrangement(
        tune="at-random-0a1b2c3d",
        title=draw(texts) or "At random",
        rights=draw(texts),
        tier=draw(st.sampled_from(TIERS)),
        key=key,
        sounding_key=f"{spell(moved.tonic_pc + capo, 1)} {mode}" if capo else None,
        capo=capo,
        meter=first,
        slot=slot,
        source_scale=Fraction(1),
        bounce=draw(st.integers(50, 67)),
        tuning=TUNINGS[tuning],
        remarks=(),
        measures=tuple(measures),
    )
