"""The prices by which chords are found for a melody: which chords a key offers, how a tone sits in a chord, which
chord follows which, where chords change, and how phrases and parts of a tune close.

All are integers; ten mean that a choice is about 2.7 times (e times) as unlikely. The order of things is common
practice, no source. The numbers were fitted to two thirds of a set of folk dances with chords, so that the right root
sounds on as many beats as possible, and rounded; nothing was fitted to the other third, but its shares were looked at
meanwhile, so it is no blind test. ``tests/bench/measure_chords.py`` measures both.
"""

from __future__ import annotations

__all__ = [
    "CHANGE",
    "LENGTH",
    "METRE",
    "OTHER",
    "OTHER_STEP",
    "PLACES",
    "ROLES",
    "SECOND_OF_A_PAIR",
    "SILENT",
    "STEPS",
    "STRUCK",
    "TONES",
    "FUNCTIONS",
]

_MAJOR_ROLES = {
    "I": (0, ""),
    "V7": (7, "7"),
    "IV": (5, ""),
    "V": (7, ""),
    "ii": (2, "m"),
    "vi": (9, "m"),
    "II7": (2, "7"),
    "II": (2, ""),
    "iii": (4, "m"),
    "I7": (0, "7"),
    "III7": (4, "7"),
    "VI7": (9, "7"),
    "iv": (5, "m"),
    "bVII": (10, ""),
}
_MINOR_ROLES = {
    "i": (0, "m"),
    "V7": (7, "7"),
    "iv": (5, "m"),
    "bVII": (10, ""),
    "bIII": (3, ""),
    "v": (7, "m"),
    "IV": (5, ""),
    "bVI": (8, ""),
}

# For each mode its chords: semitones of the root above the tonic, and quality. Of chords that cost the same the first
# is taken.
ROLES: dict[str, dict[str, tuple[int, str]]] = {
    "major": _MAJOR_ROLES,
    "lydian": _MAJOR_ROLES,
    "mixolydian": {**_MAJOR_ROLES, "v": (7, "m")},
    "minor": _MINOR_ROLES,
    "dorian": {**_MINOR_ROLES, "ii": (2, "m")},
    "phrygian": {**_MINOR_ROLES, "bII": (1, "")},
    "locrian": {**_MINOR_ROLES, "bII": (1, "")},
}

# What a chord does where a phrase or a part of the tune closes.
FUNCTIONS: dict[str, str] = {
    "I": "home",
    "i": "home",
    "V": "dominant",
    "V7": "dominant",
    "IV": "fourth",
    "iv": "fourth",
}

# The price of a tone, for a whole beat, by semitones above the root: chord tones first of all, then those that lie a
# tone above one.
#      1  b2   2  b3   3   4  b5   5  b6   6  b7   7
TONES: dict[str, tuple[int, ...]] = {
    "": (0, 23, 20, 20, 0, 22, 23, 2, 25, 19, 12, 22),
    "m": (2, 26, 16, 4, 20, 17, 21, 4, 23, 18, 16, 20),
    "7": (3, 32, 17, 23, 0, 21, 17, 2, 16, 16, 9, 18),
}

# A note weighs, in percent, by how long it sounds within the beat and by being struck in it; and by where it begins.
# So short notes off the beat, most passing notes among them, weigh little; to make passing notes lighter still was
# tried, and found fewer right chords.
LENGTH = 100
STRUCK = 50
METRE: dict[str, int] = {"downbeat": 130, "half": 120, "beat": 100, "off": 80}

# To change the chord, by where in the measure; the second of two measures, counted back from the end of its part,
# more often goes on with the chord of the first.
CHANGE: dict[str, int] = {"downbeat": 13, "half": 40, "beat": 75, "off": 90}
SECOND_OF_A_PAIR = 10
# More for a change in a measure in which the melody is silent.
SILENT = 60

# To go from one chord to another, beside what the change costs: negative where the one leads to the other; what is not
# named costs OTHER_STEP.
OTHER_STEP = 5
STEPS: dict[tuple[str, str], int] = {
    ("V7", "I"): -40,
    ("II", "V"): -30,
    ("ii", "V"): -25,
    ("V", "I"): -20,
    ("I", "IV"): -20,
    ("IV", "I"): -20,
    ("ii", "V7"): -20,
    ("II7", "V"): -20,
    ("II7", "V7"): -20,
    ("I7", "IV"): -20,
    ("III7", "vi"): -20,
    ("I", "V"): -15,
    ("V", "vi"): -15,
    ("vi", "ii"): -15,
    ("vi", "iii"): -15,
    ("vi", "III7"): -15,
    ("I", "ii"): -10,
    ("I", "vi"): -10,
    ("IV", "V"): -10,
    ("IV", "V7"): -10,
    ("IV", "ii"): -10,
    ("V", "IV"): -10,
    ("V", "II"): -10,
    ("V7", "vi"): -10,
    ("iii", "vi"): -10,
    ("vi", "IV"): -10,
    ("vi", "II7"): -10,
    ("VI7", "II"): -10,
    ("VI7", "II7"): -10,
    ("III7", "VI7"): -10,
    ("I", "V7"): -5,
    ("I", "I7"): -5,
    ("I", "bVII"): -5,
    ("V", "ii"): -5,
    ("VI7", "ii"): -5,
    ("IV", "iv"): -5,
    ("iv", "I"): -5,
    ("bVII", "I"): -5,
    ("v", "I"): -5,
    ("V7", "i"): -35,
    ("i", "iv"): -20,
    ("v", "i"): -20,
    ("bIII", "bVII"): -20,
    ("i", "v"): -15,
    ("i", "bVII"): -15,
    ("bVII", "i"): -15,
    ("bVII", "bIII"): -15,
    ("i", "V7"): -10,
    ("iv", "i"): -10,
    ("iv", "V7"): -10,
    ("iv", "bVII"): -10,
    ("IV", "bVII"): -10,
    ("IV", "i"): -10,
    ("bVII", "V7"): -10,
    ("bVII", "IV"): -10,
    ("bIII", "bVI"): -10,
    ("bVI", "bVII"): -10,
    ("bVI", "V7"): -10,
    ("i", "bIII"): -5,
    ("i", "IV"): -5,
    ("i", "bVI"): -5,
    ("bVI", "bIII"): -5,
    ("bII", "i"): -15,
    ("i", "bII"): -10,
    ("ii", "i"): -5,
}

# What a chord costs by its function at a place; "other" is any function that is not named. "Approach" is the last
# measure of a part before its last beat, where the dominant leads home; a part ends at a double bar or a repeat sign.
OTHER = "other"
PLACES: dict[str, dict[str, int]] = {
    "opening": {"home": 0, "fourth": 15, OTHER: 25},
    "downbeat": {"home": 0, "fourth": 8, OTHER: 13, "dominant": 18},
    "phrase end": {"home": 0, "dominant": 0, OTHER: 5},
    "approach": {"dominant": 0, OTHER: 13, "home": 18},
    "part end": {"home": 0, "dominant": 16, OTHER: 25},
    "final": {"home": 0, OTHER: 40},
}
