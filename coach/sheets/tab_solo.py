"""What a tablature says, made whole: which note is slurred and how, which finger picks it, what it is there for.

A tablature tells strings, frets and slurs. The right hand's fingers are often left out, and what a pluck is there for
always is: both follow from the notes around it, and from the tune where one stands beside.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.arranging.arrangement import MelodyNote, Pluck, Role, Technique
from coach.arranging.righthand import Picked, fingers_for
from coach.instrument.fretboard import pitch_at
from coach.instrument.hands import Finger
from coach.instrument.tuning import Tuning

__all__ = ["Fretted", "PlayedBar", "carried", "clef_shift", "grids", "plucked"]

# The slot of a solo in rolls (common practice, no source: eighths), and the finer grids that a measure may need.
_SLOT = Fraction(1, 2)
_FINER = tuple(Fraction(1, parts) for parts in (4, 3, 6, 8, 12, 16, 24, 32))


@dataclass(frozen=True, slots=True)
class Fretted:
    """A note of a tablature.

    Attributes:
        at, length: in quarters, from the start of its measure.
        string: 1..5.
        fret: counted from the capo, on the fifth string too.
        finger: of the right hand where the tablature tells it.
        left: of the left hand, 1..4, where it tells it.
        begins, ends: the slurs that begin and end here: techniques, or ``slur`` where the kind is left open.
    """

    at: Fraction
    length: Fraction
    string: int
    fret: int
    finger: Finger | None = None
    left: int | None = None
    begins: frozenset[str] = frozenset()
    ends: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """A measure as played: its number, where it starts, its grid, and the notes of the tablature in it, in order."""

    number: int
    start: Fraction
    slot: Fraction
    notes: tuple[Fretted, ...]


def grids(bars: Sequence[Sequence[Fretted]], told: Fraction | None) -> tuple[Fraction, list[Fraction]]:
    """The slot of a solo, and for each measure its own: the coarsest grid, up to eighths, that its notes lie on.

    Args:
        bars: the notes of each measure.
        told: the slot of the solo where the file tells it; else it is the one that most measures need.
    """
    needed = [_grid(notes, (_SLOT, *_FINER)) or _SLOT for notes in bars]
    count = Counter(each for each, notes in zip(needed, bars, strict=True) if notes)
    slot = told or max(count, key=lambda each: (count[each], each), default=_SLOT)
    return slot, [_grid(notes, (slot, _SLOT, *_FINER)) or slot for notes in bars]


def _grid(notes: Iterable[Fretted], choices: Iterable[Fraction]) -> Fraction | None:
    """The first grid on which all that is picked lies, and all that is slurred at half of it."""
    here = list(notes)
    for grid in choices:
        if all((note.at / (grid / 2 if note.ends else grid)).denominator == 1 for note in here):
            return grid
    return None


def plucked(bars: Sequence[PlayedBar], tuning: Tuning, capo: int) -> tuple[list[tuple[Pluck, ...]], bool]:
    """The plucks of each measure, without regard to the tune; and whether a slur was left out that begins nowhere.

    Where fingers are missing, they are found for the whole (:func:`coach.arranging.righthand.fingers_for`).
    """
    techniques, loose = _techniques(bars)
    moments: dict[Fraction, dict[int, Finger | None]] = {}
    slots: dict[Fraction, Fraction] = {}
    for bar in bars:
        for note in bar.notes:
            if techniques[bar.number, note.at, note.string][0] == "pick":
                moments.setdefault(bar.start + note.at, {})[note.string] = note.finger
                slots[bar.start + note.at] = bar.slot
    row = [Picked(when, slots[when], strings) for when, strings in moments.items()]
    fingers = dict(zip(moments, fingers_for(row), strict=True))
    made = []
    roles: dict[int, Role] = {}  # of the last pick of each string
    for bar in bars:
        places = [*sorted({note.at for note in bar.notes})]
        plucks = []
        for count, note in enumerate(bar.notes, 1):
            technique, from_fret = techniques[bar.number, note.at, note.string]
            picked = fingers.get(bar.start + note.at, {})
            if technique == "pick":
                roles[note.string] = "pinch" if len(picked) > 1 else "drone" if note.string == 5 else "fill"
            following = next((at for at in places if at > note.at), note.at + note.length)
            plucks.append(
                Pluck(
                    id=f"m{bar.number}e{count}",
                    at=note.at,
                    length=min(note.length, following - note.at),
                    string=note.string,
                    fret=note.fret,
                    pitch=pitch_at(tuning, note.string, note.fret, capo),
                    finger=picked[note.string] if technique == "pick" else None,
                    role=roles[note.string],
                    technique=technique,
                    from_fret=from_fret,
                    left=note.left if note.fret else None,
                )
            )
        made.append(tuple(plucks))
    return made, loose


_Key = tuple[int, Fraction, int]


def _techniques(bars: Sequence[PlayedBar]) -> tuple[dict[_Key, tuple[Technique, int | None]], bool]:
    """How each note is sounded and where it comes from, by measure, position and string."""
    found: dict[_Key, tuple[Technique, int | None]] = {}
    before: dict[int, Fretted] = {}
    loose = False
    # The notes of the position before, and those of the position in hand: a slur without a kind joins neighbours only.
    latest: list[Fretted] = []
    here: list[Fretted] = []
    when = Fraction(-1)
    for bar in bars:
        for note in bar.notes:
            if bar.start + note.at > when:
                latest, here, when = here, [], bar.start + note.at
            here.append(note)
            last = before.get(note.string)
            technique = _technique(note, last, slurred=last is not None and last in latest and "slur" in last.begins)
            if technique != "pick" and last is None:
                technique, loose = "pick", True
            found[bar.number, note.at, note.string] = (
                technique,
                last.fret if last is not None and technique != "pick" else None,
            )
            before[note.string] = note
    return found, loose


def _technique(note: Fretted, last: Fretted | None, *, slurred: bool) -> Technique:
    told: tuple[Technique, ...] = ("hammer-on", "pull-off", "slide")
    for technique in told:
        if technique in note.ends:
            return technique
    if slurred and "slur" in note.ends and last is not None and last.fret != note.fret:
        return "hammer-on" if note.fret > last.fret else "pull-off"
    return "pick"


def carried(
    melody: Sequence[MelodyNote], plucks: Sequence[Pluck], slot: Fraction, *, told: bool
) -> tuple[tuple[MelodyNote, ...], tuple[Pluck, ...]]:
    """The tune of a measure with the plucks that carry it, and the plucks with what they are there for.

    A note is carried by a pluck of its pitch at its place (or by one slurred from a pick at its place), else by one at
    most a slot away in the same measure. Notes that come as not kept stay so.

    Args:
        melody: in order; ``kept`` is False where the file says so.
        plucks: in order, with ids.
        slot: the grid of the measure.
        told: whether the file tells which notes are left out. Where it does not, the drone beside a note of its pitch
            is no more than the drone.
    """
    picks = {name: pick.at for name, pick in _picks(plucks).items()}
    owner: dict[str, int] = {}
    for reach in (Fraction(0), slot):
        for index, note in enumerate(melody):
            if not note.kept or index in owner.values():
                continue
            fitting = [
                pluck
                for pluck in plucks
                if pluck.pitch == note.pitch
                and pluck.id not in owner
                and min(abs(pluck.at - note.at), abs(picks[pluck.id] - note.at)) <= reach
                and (reach == 0 or told or pluck.string < 5)
            ]
            best = min(fitting, key=lambda pluck: (abs(pluck.at - note.at), pluck.at, pluck.string == 5), default=None)
            if best is not None:
                owner[best.id] = index
    carrier = {index: name for name, index in owner.items()}
    by_name = {pluck.id: pluck for pluck in plucks}
    sung = []
    for index, note in enumerate(melody):
        pluck = by_name.get(carrier.get(index, ""))
        at_place = pluck is None or note.at in {pluck.at, picks[pluck.id]}
        moved = None if at_place or pluck is None else pluck.at
        sung.append(replace(note, kept=pluck is not None, pluck=pluck.id if pluck else None, moved=moved))
    return tuple(sung), tuple(_with_roles(plucks, set(owner)))


def _picks(plucks: Sequence[Pluck]) -> dict[str, Pluck]:
    """For each pluck the pick that it is slurred from in the same measure, else itself."""
    picks: dict[str, Pluck] = {}
    last: dict[int, Pluck] = {}
    for pluck in plucks:
        if pluck.technique == "pick":
            last[pluck.string] = pluck
        picks[pluck.id] = last.get(pluck.string, pluck)
    return picks


def _with_roles(plucks: Sequence[Pluck], carriers: set[str]) -> Iterable[Pluck]:
    """The plucks, those that carry the tune and the picks that they are slurred from for the melody."""
    picks = _picks(plucks)
    sung = carriers | {picks[name].id for name in carriers}
    for pluck in plucks:
        yield replace(pluck, role="melody") if pluck.id in sung else pluck


def clef_shift(melody: Iterable[tuple[Fraction, int]], struck: set[tuple[Fraction, int]]) -> int:
    """By how many semitones a tune must move (an octave at most) to lie where the most of it is struck.

    Args:
        melody: position and pitch of its notes.
        struck: position and pitch of the plucks.
    """
    notes = list(melody)
    return max((0, -12, 12), key=lambda shift: sum((at, pitch + shift) in struck for at, pitch in notes))
