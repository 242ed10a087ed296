"""A teacher's own licks: what they must keep to, how a measure becomes one, and their file.

They are rows in the notation of :mod:`coach.arranging.lick_table`, held to the rules that the tests hold the table to.

File form
    JSON, format ``licks/1``: ``{"format": "licks/1", "licks": [{"name": "long way home", "tuning": "open G", "chord":
    "G", "slots": "T32,s33 I20 M10 T50 I20 M10 T30 -", "use": "tag", "level": 1, "character": "bright"}]}``. ``tuning``
    is open G, ``use`` a fill, ``level`` 1 and ``character`` "own" where they are not said; an ``id``, by which a
    service names a lick, is passed over.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from typing import Annotated, Literal

import msgspec
from msgspec import Meta, Struct

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, Pluck
from coach.arranging.lick_table import ROWS, Row, Use
from coach.arranging.licks import Lick, licks_of
from coach.arranging.rules import broken_rules
from coach.errors import ArrangeError, CoachError
from coach.instrument.fretboard import is_fret, pitch_at
from coach.instrument.rolls import named_roll
from coach.instrument.tuning import TUNINGS
from coach.tunes.chords import Chord, read_chord
from coach.tunes.tune import Meter

__all__ = [
    "FORMAT",
    "MOST_LICKS",
    "LickWritten",
    "check_lick",
    "check_licks",
    "lick_of_measures",
    "licks_from_json",
    "licks_to_json",
]

FORMAT = "licks/1"
MOST_LICKS = 100

_WORD = re.compile(r"-|[TIM][1-5]\d{1,2}(?:,[hps][1-5]\d{1,2})?|[hps][1-5]\d{1,2}")
_FEWEST, _LONGEST = 2, 16  # slots
_HIGHEST = 5  # fret
_MOST_SLURS, _IN = 3, 8  # in so many slots
_LARGEST = 100_000  # bytes
_SLOT = Fraction(1, 2)
_LETTERS = {"hammer-on": "h", "pull-off": "p", "slide": "s"}


class LickWritten(Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """A lick as it is written in a file; see the module's text."""

    name: Annotated[str, Meta(min_length=1, max_length=40)]
    chord: Annotated[str, Meta(min_length=1, max_length=12)]
    slots: Annotated[str, Meta(min_length=1, max_length=200)]
    tuning: Annotated[str, Meta(max_length=20)] = "open G"
    use: Use = "fill"
    level: Annotated[int, Meta(ge=1, le=2)] = 1
    character: Annotated[str, Meta(min_length=1, max_length=20)] = "own"
    id: Annotated[str, Meta(max_length=40)] = ""

    @property
    def row(self) -> Row:
        """The same as a row."""
        name, character = " ".join(self.name.split()), " ".join(self.character.split())
        return Row(name, self.chord, " ".join(self.slots.split()), self.level, character, self.use, self.tuning)


class _File(Struct, frozen=True, forbid_unknown_fields=True):
    licks: Annotated[list[LickWritten], Meta(max_length=MOST_LICKS)]
    format: Literal["licks/1"] = "licks/1"


def licks_from_json(data: bytes, where: str) -> tuple[Row, ...]:
    """Read a file of licks.

    Args:
        data: its bytes.
        where: its name, for the errors.

    Raises:
        ArrangeError: when it is none, or a lick of it cannot be played.
    """
    if len(data) > _LARGEST:
        raise ArrangeError("the file is larger than licks need", where=where, cure="check the file")
    try:
        file = msgspec.json.decode(data, type=_File)
    except (msgspec.MsgspecError, RecursionError, UnicodeError) as error:
        raise ArrangeError(f"these are no licks ({error})", where=where, cure=f"write them as {FORMAT}") from error
    rows = tuple(each.row for each in file.licks)
    try:
        check_licks(rows)
    except ArrangeError as error:
        raise ArrangeError(error.what, where=f"{where}, {error.where}", cure=error.cure) from error
    return rows


def licks_to_json(rows: Iterable[Row]) -> bytes:
    """The file of licks: UTF-8, one line for each."""
    lines = ",\n".join(f" {msgspec.json.encode(written(row)).decode()}" for row in rows)
    return f'{{"format": "{FORMAT}", "licks": [\n{lines}]}}\n'.encode()


def written(row: Row, id: str = "") -> LickWritten:  # noqa: A002 - it is called so
    """A lick as it is written in a file."""
    return LickWritten(row.name, row.symbol, row.slots, row.tuning, row.use, row.level, row.character, id)


def check_licks(rows: tuple[Row, ...]) -> None:
    """See that licks can be played, and tell their chords; each has a name of its own, and none is there twice.

    Raises:
        ArrangeError: when one cannot; the sentence names it.
    """
    if len(rows) > MOST_LICKS:
        raise ArrangeError(f"there are more than {MOST_LICKS} licks", where="licks", cure="take some out")
    names = {row.name for row in ROWS}
    there = {(row.tuning, row.symbol, row.slots) for row in ROWS}
    for row in rows:
        where = f"lick “{row.name}”"
        if row.name in names:
            raise ArrangeError("there is a lick of this name already", where=where, cure="give it another one")
        if (row.tuning, row.symbol, row.slots) in there:
            raise ArrangeError("this lick is there already", where=where, cure="leave it out")
        names.add(row.name)
        there.add((row.tuning, row.symbol, row.slots))
        check_lick(row)


def lick_of_measures(solo: Arrangement, number: int, count: int, name: str, use: Use = "fill") -> Row:
    """A lick made from a measure of a solo, or from two.

    Args:
        solo: has it.
        number: of the first measure, as played.
        count: 1 or 2.
        name: of the lick.
        use: a fill, a tag or a turnaround.

    Raises:
        ArrangeError: when there is no such measure, or what is played there is no lick.
    """
    places = {measure.number: place for place, measure in enumerate(solo.measures)}
    where = f"measure {number}"
    if not {number, number + count - 1} <= places.keys():
        raise ArrangeError("it is not there", where=where, cure="choose a measure of the solo")
    if TUNINGS.get(solo.tuning.name) != solo.tuning:
        raise ArrangeError("the solo has a tuning of its own", where=where, cure="keep licks of a usual tuning")
    words: list[str] = []
    chords: list[Chord] = [change.chord for measure in solo.measures[: places[number]] for change in measure.chords][
        -1:
    ]
    for measure in solo.measures[places[number] : places[number] + count]:
        if measure.chords and not measure.chords[0].at:
            chords = chords if words else []
        chords += [change.chord for change in measure.chords]
        words += _words(measure, measure.slot or solo.slot)
    if len(set(chords)) != 1:
        raise ArrangeError("it has not one chord from start to end", where=where, cure="keep a measure over one chord")
    row = LickWritten(name, chords[0].symbol, " ".join(words), solo.tuning.name, use).row
    check_licks((row,))
    return row


def _words(measure: ArrangedMeasure, slot: Fraction) -> list[str]:
    where = f"measure {measure.number}"
    if measure.length % slot:
        raise ArrangeError("it is no whole number of slots", where=where, cure="keep another measure")
    words = ["-"] * int(measure.length / slot)
    for pluck in measure.plucks:
        place = pluck.at / slot
        index = int(place)
        word = f"{_letter(pluck)}{pluck.string}{pluck.fret}"
        if place == index and words[index] == "-":
            words[index] = word
        elif place == index + Fraction(1, 2) and pluck.finger is None and words[index] != "-":
            words[index] += f",{word}"
        else:
            what = "something is struck at once" if place == index else "a note lies off the slots"
            raise ArrangeError(f"it is no lick: {what}", where=where, cure="keep a measure of single notes")
    return words


def _letter(pluck: Pluck) -> str:
    return pluck.finger or _LETTERS[pluck.technique]


def check_lick(row: Row) -> None:
    """See that a lick can be played, and tells its chord.

    Raises:
        ArrangeError: when it cannot; the sentence names it.
    """
    where = f"lick “{row.name}”"

    def need(*, holds: bool, what: str, cure: str) -> None:
        if not holds:
            raise ArrangeError(what, where=where, cure=cure)

    words = row.slots.split(" ")
    strange = next((word for word in words if not _WORD.fullmatch(word)), None)
    need(
        holds=strange is None,
        what=f"{strange!r} is no note of a lick",
        cure="write a slot like T32 (finger, string, fret), T32,s33 with a slur, or - for a held one",
    )
    need(holds=_FEWEST <= len(words) <= _LONGEST, what=f"it has {len(words)} slots", cure="write 2 to 16")
    need(holds=row.tuning in TUNINGS, what=f"there is no tuning {row.tuning!r}", cure=f"name {', '.join(TUNINGS)}")
    try:
        read_chord(row.symbol)
    except CoachError as error:
        raise ArrangeError(f"{row.symbol!r} is no chord", where=where, cure="write one like G, D7 or Em") from error
    _check_slurs(words, where)
    lick = licks_of((row,))[0]
    need(
        holds=bool(lick.steps) and lick.steps[0].at == 0 and lick.steps[0].finger is not None,
        what="it does not start with a pick on its first slot",
        cure="begin it with T, I or M",
    )
    high = next((step for step in lick.steps if step.fret > _HIGHEST or not is_fret(step.string, step.fret)), None)
    need(
        holds=high is None,
        what="it goes where licks do not lie",
        cure="stay on frets 0 to 5, and leave the fifth string open",
    )
    need(
        holds=bool(named_roll(lick.fingers)),
        what=f"its fingers {lick.fingers} follow no named roll",
        cure="finger it along a roll",
    )
    need(
        holds=all(lick.slurs(start, start + _IN) <= _MOST_SLURS for start in range(lick.slots)),
        what="it has more than three slurs in a measure",
        cure="pick some of them",
    )
    _check_chord(lick, where)
    broken = broken_rules(_played(lick))
    if broken:
        raise ArrangeError(broken[0].sentence.rstrip("."), where=where, cure="change it so that hands can play it")


def _check_slurs(words: list[str], where: str) -> None:
    """A slur comes from the fret where its string sounded before."""
    last: set[str] = set()
    for word in words:
        for note in word.split(","):
            if note[0] in "hps" and note[1] not in last:
                raise ArrangeError(f"{note} is slurred from nothing", where=where, cure="pick its string before it")
            if note != "-":
                last.add(note[1])


def _check_chord(lick: Lick, where: str) -> None:
    """A foreign tone is one end of a slur; more than half of the notes belong to the chord, the last among them."""
    drone = lick.tuning.open_pitch(5)
    own = [
        step
        for step in lick.steps
        if (pitch := pitch_at(lick.tuning, step.string, step.fret)) % 12 in lick.chord.pitch_classes or pitch == drone
    ]
    slurred = {
        place
        for step in lick.steps
        if step.from_fret is not None
        for place in ((step.string, step.fret), (step.string, step.from_fret))
    }
    foreign = any(step not in own and (step.string, step.fret) not in slurred for step in lick.steps)
    last = lick.steps[-1]
    if foreign or 2 * len(own) <= len(lick.steps) or last not in own:
        raise ArrangeError(
            f"it does not tell {lick.chord.symbol}",
            where=where,
            cure="end it on a tone of the chord, take most others from it, and slur into or out of the rest",
        )
    if lick.tag and pitch_at(lick.tuning, last.string, last.fret) % 12 != lick.chord.root_pc:
        raise ArrangeError("a tag comes to rest on the root", where=where, cure="end it there, or call it a fill")
    if not lick.tag and last.at < lick.slots - 1:
        raise ArrangeError("it stops before its end", where=where, cure="end it with a note, or call it a tag")
    if last.at < lick.slots - 3:
        raise ArrangeError("it rests for more than two slots", where=where, cure="take off slots at its end")


def _played(lick: Lick) -> Arrangement:
    """A solo of this lick alone, as an intermediate one: no stretch is allowed."""
    ends = [*sorted({step.at for step in lick.steps}), Fraction(lick.slots)]
    plucks = tuple(
        Pluck(
            f"m1e{count}",
            step.at * _SLOT,
            (min(end for end in ends if end > step.at) - step.at) * _SLOT,
            step.string,
            step.fret,
            pitch_at(lick.tuning, step.string, step.fret),
            step.finger,
            "lick",
            step.technique,
            step.from_fret,
        )
        for count, step in enumerate(lick.steps, start=1)
    )
    meter, chords = Meter(4, 4), (ChordAt(Fraction(0), lick.chord),)  # a longer one may have as many more slurs
    measure = ArrangedMeasure(1, 1, meter, lick.slots * _SLOT, "intermediate", chords, (), plucks)
    key = f"{lick.chord.symbol} major"
    return Arrangement(
        "lick", lick.name, "", "intermediate", key, None, 0, meter, _SLOT, Fraction(1), 50, lick.tuning, (), (measure,)
    )
