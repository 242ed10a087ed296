"""The strings of a tablature: its tuning and capo, and the place of each note, checked in words.

Strings and frets are the truth of a tablature. The pitches that a file writes besides are looked at for two things
only: whether it counts the frets of the fifth string from that string's own nut, and whether its key and chords are
those of the shape or those that sound.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from coach.errors import TuneError
from coach.instrument.fretboard import STRINGS, is_fret
from coach.instrument.hands import Finger
from coach.instrument.tuning import OPEN_G, TUNINGS, Tuning
from coach.sheets.heading import string_letters
from coach.sheets.staff_reading import Bar, Staff, StaffNote
from coach.sheets.tab_solo import Fretted

__all__ = ["TabStrings"]

_MOST_CAPO = 11
_FIFTH_NUT = 5  # the fret of the neck at which the fifth string has its nut
# The fourth string is taken for written an octave above sound from here on.
_HIGH_FOURTH = 57

# Right-hand fingers as they are written: T I M, or p i m as on the guitar.
_FINGERS: dict[str, Finger] = {"t": "T", "p": "T", "i": "I", "m": "M"}


class TabStrings:
    """The strings of one tablature.

    Args:
        staff: the tablature.
        bars: the measures, for the sentences.
        where: the name of the file.

    Attributes:
        tuning: of the open strings without capo.
        capo: its fret.
        remarks: what was assumed, one sentence each.
        fretted: the notes of each measure, in order of position and then from string 5 to string 1; ties are joined
            within a measure, and what is only tied on from the measure before is left out.
        graces: in the same form, by measure, the grace notes that are slurred into a note; ``at`` is that note's.
        to_shape: semitones from the key and the chords of the tablature's part, as written, to those of the shape.

    Raises:
        TuneError: when it has not five strings, or a note has no place on them.
    """

    def __init__(self, staff: Staff, bars: list[Bar], where: str) -> None:
        self.remarks: list[str] = []
        self._staff = staff
        self._bars = bars
        self._where = where
        self.capo = staff.capo
        if not 0 <= self.capo <= _MOST_CAPO:
            raise TuneError(f"the capo is at fret {self.capo}", where=where, cure=f"choose from 0 to {_MOST_CAPO}")
        self.tuning = self._tuning()
        self._agreed = self._agreement()
        self.to_shape = staff.transpose + self._agreed - self.capo
        self.fretted: list[list[Fretted]] = []
        self.graces: list[list[Fretted]] = []
        sounding: dict[int, int] = {}  # the last fret of each string
        for index in range(len(bars)):
            self._read(index, sounding)

    def sounding(self, staff: Staff) -> int:
        """Semitones from what another staff writes to what sounds."""
        return staff.transpose + self._agreed

    def _tuning(self) -> Tuning:
        told = self._staff.tuning
        if not told:
            self.remarks.append("The tablature does not tell its tuning: open G is taken.")
            return OPEN_G
        if set(told) != set(STRINGS):
            raise TuneError(
                f"the tuning is told for {len(told)} strings", where=self._where, cure="tell it for lines 1 to 5"
            )
        first, second, third, fourth, fifth = (told[len(STRINGS) + 1 - string] for string in STRINGS)
        down = 0
        while fourth - down >= _HIGH_FOURTH:
            down += 12
        if down:
            self.remarks.append("The tuning was written above what sounds: it is taken down by octaves.")
        pitches = (first - down, second - down, third - down, fourth - down, fifth - down)
        if pitches[4] <= pitches[3]:
            raise TuneError(
                "the lowest line is tuned no higher than the next one",
                where=self._where,
                cure="give a tablature of the five-string banjo, whose fifth string is the short high one",
            )
        named = next((tuning for tuning in TUNINGS.values() if tuning.strings == pitches), None)
        return named or Tuning(string_letters(Tuning("", pitches)), pitches)

    def _read(self, index: int, sounding: dict[int, int]) -> None:
        """Read a measure."""
        here: dict[tuple[object, int], Fretted] = {}
        graces: list[Fretted] = []
        notes = self._staff.notes[index] if index < len(self._staff.notes) else []
        for note in sorted(notes, key=lambda note: (note.at, not note.grace)):
            if note.tied_in and (note.string is None or sounding.get(note.string) == self._fret(note, note.string)):
                self._prolong(here, note)
                continue
            fretted = self._place(note, index)
            if note.grace:
                graces.append(fretted)
                continue
            key = (note.at, fretted.string)
            double = here.get(key)
            if double is not None and double.fret != fretted.fret:
                raise TuneError(
                    f"string {fretted.string} has two frets at once, {double.fret} and {fretted.fret}",
                    where=self._here(index),
                    cure="take one of the two notes out",
                )
            if double is None or fretted.length > double.length:
                here[key] = fretted
            sounding[fretted.string] = fretted.fret
        self.fretted.append(sorted(here.values(), key=lambda note: (note.at, -note.string)))
        self.graces.append([grace for grace in graces if (grace.at, grace.string) in here and grace.begins])
        if len(self.graces[-1]) < len(graces):
            self.remarks.append("Grace notes that lead into no note on their string are left out.")

    def _prolong(self, here: dict[tuple[object, int], Fretted], note: StaffNote) -> None:
        """Let the note that is tied on last longer; one of the measure before rings on by itself."""
        for key, before in here.items():
            if before.string == note.string and before.at + before.length == note.at:
                here[key] = replace(before, length=before.length + note.length)

    def _here(self, index: int) -> str:
        return f"{self._where}, measure {self._bars[index].label}"

    def _place(self, note: StaffNote, index: int) -> Fretted:
        if note.string is None or note.fret is None:
            lacks = "string" if note.string is None else "fret"
            raise TuneError(
                f"a note of the tablature has no {lacks}",
                where=self._here(index),
                cure="give every note its string and fret",
            )
        if note.string not in STRINGS:
            raise TuneError(
                f"there is a note on string {note.string}",
                where=self._here(index),
                cure="give a tablature of five strings, counted from 1 on the top line",
            )
        fret = self._fret(note, note.string)
        assert fret is not None
        if not is_fret(note.string, fret, capo=self.capo):
            raise TuneError(
                f"string {note.string} has no fret {fret}",
                where=self._here(index),
                cure="frets are 0 to 22 less the capo, and string 5 has none from 1 to 5",
            )
        finger = _FINGERS.get(note.finger.lower())
        if note.finger and finger is None:
            self.remarks.append("Where a finger is none of T, I and M (or p, i and m), another was found.")
        left = int(note.left) if note.left in {"1", "2", "3", "4"} else None
        return Fretted(note.at, note.length, note.string, fret, finger, left, note.begins, note.ends)

    def _fret(self, note: StaffNote, string: int) -> int | None:
        """The fret, on the fifth string counted from the neck's nut (frets 1 to 5 can only mean its own)."""
        if string != len(STRINGS) or not note.fret:
            return note.fret
        from_own_nut = self.tuning.open_pitch(string) + self.capo + note.fret
        if note.pitch is None or (from_own_nut - note.pitch - self.sounding(self._staff)) % 12:
            return note.fret
        self.remarks.append("Frets of the fifth string were counted from its own nut: they are five higher here.")
        return note.fret + _FIFTH_NUT

    def _agreement(self) -> int:
        """Semitones by which the pitches sound higher than written: the capo where the file leaves it out, else 0."""
        differences: Counter[int] = Counter()
        for _, note in self._staff.every():
            if note.pitch is not None and note.string in STRINGS and note.fret is not None and note.string < 5:
                sounds = self.tuning.open_pitch(note.string) + self.capo + note.fret
                differences[(sounds - note.pitch - self._staff.transpose) % 12] += 1
        if not differences:
            return 0
        usual, count = max(differences.items(), key=lambda each: (each[1], -each[0]))
        if usual not in {0, self.capo % 12} or count < sum(differences.values()):
            self.remarks.append("The file's pitches do not fit its strings and frets: strings and frets are followed.")
        return usual if usual in {0, self.capo % 12} else 0
