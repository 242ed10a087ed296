"""A short way to write solos in tests."""

import re
from fractions import Fraction
from functools import cache

import pytest

from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, MelodyNote, Pluck
from coach.instrument.fretboard import is_fret, pitch_at
from coach.instrument.tuning import OPEN_G
from coach.tunes.chords import read_chord
from coach.tunes.demo import demo_tune
from coach.tunes.tune import Meter

TECHNIQUES = {"h": "hammer-on", "p": "pull-off", "s": "slide"}
ROLES = {"": "fill", "*": "melody", "d": "drone", "l": "lick", "+": "pinch"}
NOTE = re.compile(r"([TIMhps])([1-5])(\d+)([*dl+]?)")


def _plucks(number, text, slot, length, tuning, capo):
    """Plucks of one measure; see :func:`solo`."""
    found = []
    for index, token in enumerate(text.split()):
        for half, together in enumerate(token.split(",")):
            at = index * slot + half * slot / 2
            found += [(at, *NOTE.fullmatch(note).groups()) for note in together.split("&") if note != "-"]
    found.sort(key=lambda each: (each[0], -int(each[2])))
    ends = sorted({each[0] for each in found} | {length})
    plucks, last = [], {}
    for count, (at, how, string, fret, role) in enumerate(found, start=1):
        string, fret = int(string), int(fret)
        slurred = how in TECHNIQUES
        pitch = pitch_at(tuning, string, fret, capo) if is_fret(string, fret, capo=capo) else 0
        plucks.append(
            Pluck(
                f"m{number}e{count}",
                at,
                min(end for end in ends if end > at) - at,
                string,
                fret,
                pitch,
                None if slurred else how,
                ROLES[role],
                TECHNIQUES.get(how, "pick"),
                last.get(string, 0) if slurred else None,
            )
        )
        last[string] = fret
    return tuple(plucks)


@pytest.fixture(scope="session")
def solo():
    """A factory of arrangements.

    Each measure is a row of slots: ``T30*`` is the thumb on string 3 open, carrying the melody; marks are ``*`` melody,
    ``d`` drone, ``l`` lick, ``+`` pinch, none fill. ``-`` holds, ``&`` joins what is struck together, ``h32`` hammers
    on to fret 2 of string 3 (``p`` pulls off, ``s`` slides), a comma puts it half a slot later. Each melody pluck gets
    a kept melody note as long as itself; ``extra`` adds notes (measure, at, length, pitch) that are not kept.
    """

    def make(*rows, meter=(4, 4), slot=Fraction(1, 2), tier="intermediate", chords=("G",), extra=(), **fields):
        tuning, capo = fields.get("tuning", OPEN_G), fields.get("capo", 0)
        first = fields.pop("first", 1)
        measures = []
        for number, row in enumerate(rows, start=first):
            length = len(row.split()) * slot
            plucks = _plucks(number, row, slot, length, tuning, capo)
            melody = [
                MelodyNote(pluck.at, pluck.length, pluck.pitch, kept=True, pluck=pluck.id)
                for pluck in plucks
                if pluck.role == "melody"
            ]
            melody += [MelodyNote(Fraction(at), Fraction(lasts), pitch) for m, at, lasts, pitch in extra if m == number]
            symbol = chords[(number - first) % len(chords)]
            measures.append(
                ArrangedMeasure(
                    number,
                    number,
                    Meter(*meter),
                    length,
                    tier,
                    (ChordAt(Fraction(0), read_chord(symbol)),),
                    tuple(sorted(melody, key=lambda note: note.at)),
                    plucks,
                )
            )
        plain = {
            "tune": "tune-00000000",
            "title": "Tune",
            "rights": "",
            "tier": tier,
            "key": "G major",
            "sounding_key": None,
            "capo": 0,
            "meter": Meter(*meter),
            "slot": slot,
            "source_scale": 1,
            "bounce": 50,
            "tuning": OPEN_G,
            "remarks": (),
            "measures": tuple(measures),
        }
        return Arrangement(**{**plain, **fields})

    return make


@pytest.fixture(scope="session")
def demo_solos():
    """The solos of a demo tune, by its name: a dictionary by tier, made once."""
    return cache(lambda name: arrange_all(demo_tune(name)))
