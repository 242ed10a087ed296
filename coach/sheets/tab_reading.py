"""Reading the teacher's own tab: a MusicXML file with a banjo tablature becomes an arrangement.

Conventions
    A file holds a tab where a staff with a TAB clef and five lines has notes with strings and frets
    (:func:`holds_tab`); a score with a tablature of other lines beside a melody is a tune as any other. Strings and
    frets are the truth: the pitches follow from the tuning and the capo, whatever the file writes. Repeats and endings
    are written out. A tune on another staff becomes the melody (see :mod:`coach.sheets.tab_score`), carried where the
    tablature has its pitch. What the file does not tell: open G is the tuning, ``advanced`` the tier (the hand may
    stretch furthest there, and no rule asks for little), and the right hand's fingers are found.
    What hands cannot do is kept; :mod:`coach.arranging.rules` lists it.
    A grace note that is slurred into its note is picked in the note's place, and the note follows half a slot later.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import PurePath

from coach.arranging.arrangement import TIERS, ArrangedMeasure, Arrangement, ChordAt, MelodyNote, Pluck, Tier
from coach.arranging.files import from_json, to_json
from coach.errors import TuneError
from coach.instrument.fretboard import STRINGS, fifth_string_place
from coach.sheets.tab_score import TabScore, read_tab_score, tab_lines
from coach.sheets.tab_solo import Fretted, PlayedBar, carried, clef_shift, grids, plucked
from coach.sheets.tab_strings import TabStrings
from coach.tunes.keys import MODES, Key, spell
from coach.tunes.phrases import mark_phrases
from coach.tunes.plain_text import plain_text
from coach.tunes.played import PlayedMeasure, written_out
from coach.tunes.score_file import score_tree, unpacked
from coach.tunes.tune import ChordChange, Measure, Note, Tune

__all__ = ["holds_tab", "read_tab"]

_MOST_BYTES = 5_000_000
_PACKED = b"PK"
_SCALES = ("1", "2", "1/2", "1/4")
_LEFT_OUT = {
    "cues": "Cue notes and notes without pitch are left out.",
    "muted": "Muted notes (a cross for a head) are left out.",
}

_Record = Fretted | MelodyNote


def holds_tab(data: bytes) -> bool:
    """Whether a file is MusicXML, plain or compressed, with a banjo tablature; any bytes may be asked about."""
    if len(data) > _MOST_BYTES:
        return False
    try:
        plain = unpacked(data, "") if data.startswith(_PACKED) else data
        if not any("TAB".encode(encoding) in plain for encoding in ("utf-8", "utf-16-le", "utf-16-be")):
            return False
        return tab_lines(score_tree(plain, "")) is not None
    except TuneError:
        return False


def read_tab(data: bytes, where: str) -> Arrangement:
    """Read a tablature.

    Args:
        data: the bytes of a MusicXML file, plain or compressed.
        where: its name, for the errors, and for the title where there is none.

    Raises:
        TuneError: when it is no banjo tablature, or a note in it makes no sense; the sentence names the measure.
    """
    if len(data) > _MOST_BYTES:
        raise TuneError("the file is larger than 5 MB", where=where, cure="give a file with the solo alone")
    root = score_tree(unpacked(data, where) if data.startswith(_PACKED) else data, where)
    lines = tab_lines(root)
    if lines is not None and lines != len(STRINGS):
        raise TuneError(
            f"the tablature has {lines} lines", where=where, cure="give one of five lines, for the five-string banjo"
        )
    solo = _Reading(read_tab_score(root, where), where, hashlib.sha256(data).hexdigest()).arrangement()
    # The border of arrangement files is the border here too: what passes can be kept with takes and read again.
    return from_json(to_json(solo), where)


class _Reading:
    """Makes an arrangement of one score."""

    def __init__(self, score: TabScore, where: str, digest: str) -> None:
        self.score = score
        self.where = where
        self.digest = digest
        self.strings = TabStrings(score.tab, score.bars, where)
        self.told_slot = _slot(score.fields.get("slot", ""))
        self.remarks = [
            "A teacher's tablature: strings, frets and slurs are as written.",
            *self.strings.remarks,
            *(sentence for name, sentence in _LEFT_OUT.items() if name in score.tab.left_out),
        ]
        if self.strings.capo:
            self.remarks.append(fifth_string_place(self.strings.capo))

    def arrangement(self) -> Arrangement:
        fields = self.score.fields
        tune, records = self._tune()
        played = written_out(tune)
        notes = [
            [replace(records[note.pitch], at=note.at, length=note.length) for note in each.measure.notes]
            for each in played
        ]
        slot, measures = self._measures(played, notes)
        told = fields.get("tune", "")
        return Arrangement(
            tune=told if re.fullmatch(r"[a-z0-9-]{1,60}", told) else f"{tune.id[:-8]}{self.digest[:8]}",
            title=tune.title,
            rights=tune.rights,
            tier=self._tier(),
            key=str(tune.key),
            sounding_key=str(_moved(tune.key, self.strings.capo)) if self.strings.capo else None,
            capo=self.strings.capo,
            meter=measures[0].meter,
            slot=slot,
            source_scale=Fraction(fields["source-scale"] if fields.get("source-scale") in _SCALES else 1),
            bounce=int(fields["bounce"]) if re.fullmatch(r"5\d|6[0-7]", fields.get("bounce", "")) else 50,
            tuning=self.strings.tuning,
            remarks=tuple(plain_text(remark) for remark in dict.fromkeys(self.remarks)),
            measures=tuple(measures),
        )

    def _tune(self) -> tuple[Tune, list[_Record]]:
        """The measures on paper, and what their notes stand for: the pitch of each is its place in that list.

        So tablature and tune are written out together, and by the same rules as any tune.
        """
        score = self.score
        _, slots = grids(self.strings.fretted, self.told_slot)
        fretted = [
            _with_graces(notes, graces, slot)
            for notes, graces, slot in zip(self.strings.fretted, self.strings.graces, slots, strict=True)
        ]
        sung = self._sung()
        chords = self._chords()
        records: list[_Record] = []
        measures = []
        pickup = len(score.bars) > 1 and score.bars[0].length < score.bars[0].meter.length
        for index, bar in enumerate(score.bars):
            here: list[_Record] = sorted([*fretted[index], *sung[index]], key=lambda each: each.at)
            measures.append(
                Measure(
                    number=index if pickup else index + 1,
                    meter=bar.meter,
                    length=bar.length,
                    notes=tuple(Note(each.at, each.length, k) for k, each in enumerate(here, len(records))),
                    chords=chords[index],
                    repeat_start=bar.repeat_start,
                    repeat_end=bar.repeat_end,
                    endings=bar.endings,
                    double_bar=bar.double_bar,
                )
            )
            records += here
        title = plain_text(score.title) or PurePath(self.where).stem
        return Tune(title, plain_text(score.rights), self._key(), tuple(measures)), records

    def _measures(
        self, played: Sequence[PlayedMeasure], notes: Sequence[Sequence[_Record]]
    ) -> tuple[Fraction, list[ArrangedMeasure]]:
        """The slot of the solo, and its measures."""
        struck = [
            sorted((note for note in here if isinstance(note, Fretted)), key=lambda note: (note.at, -note.string))
            for here in notes
        ]
        slot, slots = grids(struck, self.told_slot)
        bars = []
        start = Fraction(0)
        for each, here, own in zip(played, struck, slots, strict=True):
            bars.append(PlayedBar(each.number, start, own, tuple(here)))
            start += each.measure.length
        plucks, loose = plucked(bars, self.strings.tuning, self.strings.capo)
        if loose:
            self.remarks.append("A slur that comes from no note is picked.")
        told = "tier" in self.score.fields or any(
            isinstance(note, MelodyNote) and not note.kept for here in notes for note in here
        )
        measures: list[ArrangedMeasure] = []
        for each, sounding, row, own in zip(played, notes, plucks, slots, strict=True):
            melody, row = carried([note for note in sounding if isinstance(note, MelodyNote)], row, own, told=told)
            measures.append(
                ArrangedMeasure(
                    number=each.number,
                    source_measure=each.source_measure,
                    meter=each.measure.meter,
                    length=each.measure.length,
                    tier=self._tier(),
                    chords=tuple(ChordAt(change.at, change.chord) for change in each.measure.chords),
                    melody=melody,
                    plucks=row,
                    same_as=_repeated(each, row, measures),
                    slot=None if own == slot else own,
                )
            )
        return slot, measures

    def _tier(self) -> Tier:
        told = self.score.fields.get("tier", "")
        return next((tier for tier in TIERS if tier == told), "advanced")

    def _key(self) -> Key:
        """The key of the shape."""
        staff = self.score.tab
        mode = staff.mode if staff.mode in MODES else "major"
        if abs(staff.fifths) > 7:
            raise TuneError("no key has so many signs", where=self.where, cure="correct the key signature")
        written = Key(spell(staff.fifths * 7 + MODES[mode], staff.fifths), mode)
        return _moved(written, self.strings.to_shape)

    def _chords(self) -> list[tuple[ChordChange, ...]]:
        """The chords of the shape by measure, from the staff that has any."""
        staves = [staff for staff in (self.score.tune, self.score.tab) if staff is not None]
        staff = next((staff for staff in staves if any(staff.chords)), self.score.tab)
        shift = self.strings.sounding(staff) - self.strings.capo
        fifths = self._key().fifths
        found = []
        for index, bar in enumerate(self.score.bars):
            here = {
                at: chord if shift % 12 == 0 else chord.transposed(shift, fifths)
                for at, chord in (staff.chords[index] if index < len(staff.chords) else ())
                if at < bar.length
            }
            found.append(tuple(ChordChange(at, chord) for at, chord in here.items()))
        return found

    def _sung(self) -> list[list[MelodyNote]]:
        """The notes of the tune by measure, as they sound; of several at once the highest, and ties are joined."""
        staff = self.score.tune
        bars = self.score.bars
        if staff is None:
            return [[] for _ in bars]
        starts = [sum((bar.length for bar in bars[:index]), Fraction(0)) for index in range(len(bars))]
        shift = self.strings.sounding(staff)
        found: list[list[MelodyNote]] = [[] for _ in bars]
        last: tuple[int, int] | None = None  # where the note before stands: measure, place in it
        for index, notes in enumerate(staff.notes[: len(bars)]):
            top = {}
            for note in sorted(notes, key=lambda note: (note.at, note.pitch or 0)):
                if note.pitch is not None and not note.grace and note.length > 0 and note.at < bars[index].length:
                    top[note.at] = note
            for note in top.values():
                assert note.pitch is not None
                before = found[last[0]][last[1]] if last else None
                if before is not None and last is not None:
                    gap = starts[index] + note.at - (starts[last[0]] + before.at)
                    if note.tied_in and before.pitch == note.pitch + shift and gap == before.length:
                        found[last[0]][last[1]] = replace(before, length=before.length + note.length)
                        continue
                    found[last[0]][last[1]] = replace(before, length=min(before.length, gap))
                lyric = plain_text(note.lyric) or None if note.lyric else None
                found[index].append(MelodyNote(note.at, note.length, note.pitch + shift, lyric, kept=note.kept))
                last = index, len(found[index]) - 1
        return self._phrased(self._in_octave(found, starts))

    def _in_octave(self, sung: list[list[MelodyNote]], starts: Sequence[Fraction]) -> list[list[MelodyNote]]:
        """The tune where the tablature has it: many a staff is written an octave above sound without a sign for it."""
        tuning, capo = self.strings.tuning, self.strings.capo
        struck = {
            (start + note.at, tuning.open_pitch(note.string) + capo + note.fret)
            for start, notes in zip(starts, self.strings.fretted, strict=True)
            for note in notes
            if note.string < len(STRINGS)
        }
        melody = [(start + note.at, note.pitch) for start, notes in zip(starts, sung, strict=True) for note in notes]
        shift = clef_shift(melody, struck)
        return [[replace(note, pitch=note.pitch + shift) for note in notes] for notes in sung]

    def _phrased(self, sung: list[list[MelodyNote]]) -> list[list[MelodyNote]]:
        paper = tuple(
            Measure(
                number=index,
                meter=bar.meter,
                length=bar.length,
                notes=tuple(Note(note.at, note.length, note.pitch, note.lyric) for note in notes),
                repeat_start=bar.repeat_start,
                repeat_end=bar.repeat_end,
                double_bar=bar.double_bar,
            )
            for index, (bar, notes) in enumerate(zip(self.score.bars, sung, strict=True))
        )
        return [
            [replace(note, phrase_start=marked.phrase_start) for note, marked in zip(notes, measure.notes, strict=True)]
            for notes, measure in zip(sung, mark_phrases(paper), strict=True)
        ]


def _slot(text: str) -> Fraction | None:
    match = re.fullmatch(r"(\d)(?:/([1-9]\d?))?", text)
    slot = Fraction(int(match[1]), int(match[2] or 1)) if match else Fraction(0)
    return slot if slot > 0 else None


def _moved(key: Key, semitones: int) -> Key:
    """A key moved by semitones."""
    if semitones % 12 == 0:
        return key
    major = (key.fifths * 7 + semitones) % 12
    fifths = (major * 7) % 12
    return Key(spell(major + MODES[key.mode], fifths - 12 if fifths > 6 else fifths), key.mode)


def _with_graces(notes: Sequence[Fretted], graces: Sequence[Fretted], slot: Fraction) -> list[Fretted]:
    """The notes, each grace picked in the place of its note, which follows half a slot later."""
    into = {(grace.at, grace.string): grace for grace in graces}
    found: list[Fretted] = []
    for note in notes:
        grace = into.get((note.at, note.string))
        if grace is None or note.length <= slot / 2:
            found.append(note)
            continue
        finger = grace.finger or note.finger
        found.append(replace(grace, length=slot / 2, finger=finger))
        found.append(replace(note, at=note.at + slot / 2, length=note.length - slot / 2, ends=note.ends | grace.begins))
    return sorted(found, key=lambda note: (note.at, -note.string))


def _repeated(played: PlayedMeasure, plucks: Sequence[Pluck], before: Sequence[ArrangedMeasure]) -> int | None:
    """The measure that this one repeats, where its plucks came out the same (a slur or a finger at a seam may not)."""
    first = next((measure for measure in before if measure.number == played.same_as), None)
    if first is None:
        return None

    def content(row: Sequence[Pluck]) -> list[Pluck]:
        return [replace(pluck, id="") for pluck in row]

    return first.number if content(first.plucks) == content(plucks) else None
