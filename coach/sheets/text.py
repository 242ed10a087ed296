"""The text tab: a solo in plain characters, readable in any fixed-width font.

Each system has, from top to bottom, measure numbers, chords, the five strings (string 1 on top), the fingers of the
right hand, and the words; a word whose note is left out stands in parentheses. A slurred note is told by ``h``
(hammer-on), ``p`` (pull-off) or ``s`` (slide) before its fret. Time runs evenly from column to column on the grid of
the solo, but a column is widened where a word or chord needs the room.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck, Technique
from coach.instrument.fretboard import STRINGS
from coach.sheets.heading import further_remarks, heading_lines, letter

__all__ = ["SLUR_LETTERS", "to_tab", "to_text"]

SLUR_LETTERS: dict[Technique, str] = {"slide": "s", "hammer-on": "h", "pull-off": "p"}

_MEASURES = 4  # a system holds at most so many, as phrases do
_ROOMY, _TIGHT = 3, 2  # the least width of a column
_ROWS = ("number", "chord", *STRINGS, "finger", "word")
_Row = str | int


def to_text(arrangement: Arrangement, *, width: int = 100) -> str:
    """Write a solo as a text tab.

    Args:
        arrangement: the solo.
        width: characters in a line; a single measure that needs more stands in a line of its own and overruns.

    Returns:
        Lines without trailing blanks, the last one ended by a newline.
    """
    layouts = [_systems(arrangement, least, width) for least in (_ROOMY, _TIGHT)]
    systems = min(layouts, key=len)
    lines = [arrangement.title, "=" * len(arrangement.title)]
    for line in heading_lines(arrangement):
        lines += textwrap.wrap(line, width)
    for system in systems:
        lines += ["", *_printed(system, arrangement)]
    lines.append("")
    for remark in further_remarks(arrangement):
        lines += textwrap.wrap(remark, width)
    if arrangement.rights:
        lines += textwrap.wrap(arrangement.rights, width)
    return "\n".join(line.rstrip() for line in lines).rstrip("\n") + "\n"


def to_tab(arrangement: Arrangement, *, width: int = 100) -> str:
    """Write the measures of a solo as tab alone, without heading, remarks and rights; see :func:`to_text`."""
    lines = [line for system in _systems(arrangement, _ROOMY, width) for line in ("", *_printed(system, arrangement))]
    return "\n".join(line.rstrip() for line in lines[1:]) + "\n"


@dataclass(frozen=True, slots=True)
class _Block:
    """A measure laid out: every row has the same width."""

    number: int
    rows: Mapping[_Row, str]

    @property
    def width(self) -> int:
        return len(self.rows["number"])


def _systems(arrangement: Arrangement, least: int, width: int) -> list[list[_Block]]:
    """The measures, laid out with columns of a least width, dealt to lines."""
    room = width - _name_width(arrangement) - 1
    systems: list[list[_Block]] = []
    used = counted = 0
    for measure in arrangement.measures:
        block = _block(measure, measure.slot or arrangement.slot, least)
        if not systems or counted == _MEASURES or used + block.width + 1 > room:
            systems.append([])
            used = counted = 0
        systems[-1].append(block)
        used += block.width + 1
        counted += measure.number > 0
    return systems


def _name_width(arrangement: Arrangement) -> int:
    return max(len(letter(arrangement.tuning, string)) for string in STRINGS)


def _block(measure: ArrangedMeasure, slot: Fraction, least: int) -> _Block:
    cells = _cells(measure)
    slots = -(-measure.length // slot)
    at = sorted({k * slot for k in range(slots)}.union(*(row.keys() for row in cells.values())))
    widths = _widths(at, cells, least)
    rows = {row: _filled(at, widths, cells.get(row, {}), "-" if isinstance(row, int) else " ") for row in _ROWS}
    return _Block(measure.number, rows)


def _cells(measure: ArrangedMeasure) -> dict[_Row, dict[Fraction, str]]:
    """What stands where: for each row the text at each position, its first character being the column's first."""
    cells: dict[_Row, dict[Fraction, str]] = {row: {} for row in _ROWS}
    if measure.number > 0:
        cells["number"][Fraction(0)] = f" {measure.number}"
    for chord in measure.chords:
        cells["chord"][chord.at] = f" {chord.chord.symbol}"
    for pluck in measure.plucks:
        cells[pluck.string][pluck.at] = f"{SLUR_LETTERS.get(pluck.technique, '-')}{pluck.fret}"
    for at in {pluck.at for pluck in measure.plucks}:
        cells["finger"][at] = f" {_fingers([pluck for pluck in measure.plucks if pluck.at == at])}"
    for note in measure.melody:
        if note.lyric:
            at = note.at if note.moved is None else note.moved
            word = note.lyric if note.kept else f"({note.lyric})"
            before = cells["word"].get(at)
            cells["word"][at] = f"{before} {word}" if before else f" {word}"
    return cells


def _fingers(plucks: Sequence[Pluck]) -> str:
    return "".join(finger for finger in "TIM" if any(pluck.finger == finger for pluck in plucks))


def _widths(at: Sequence[Fraction], cells: Mapping[_Row, Mapping[Fraction, str]], least: int) -> list[int]:
    """The width of each column: a text needs its length, and may run on into columns that are empty in its row."""
    widths = [least] * len(at)
    for row in _ROWS:
        starts = [index for index, position in enumerate(at) if position in cells[row]]
        for index, following in zip(starts, [*starts[1:], len(at)], strict=False):
            # On a string the next column's own dash keeps numbers apart; other texts bring a blank of their own.
            end = index + 1 if isinstance(row, int) else following
            missing = len(cells[row][at[index]]) - sum(widths[index:end])
            for extra in range(max(0, missing)):
                widths[index + extra % (end - index)] += 1
    return widths


def _filled(at: Sequence[Fraction], widths: Sequence[int], cells: Mapping[Fraction, str], blank: str) -> str:
    line = ""
    start = 0
    for position, width in zip(at, widths, strict=True):
        if position in cells:
            line = line.ljust(start, blank) + cells[position]
        start += width
    # One more at the end, so that nothing touches the barline.
    return line.ljust(start + 1, blank)


def _printed(system: Sequence[_Block], arrangement: Arrangement) -> list[str]:
    names = _name_width(arrangement)
    lines = []
    for row in _ROWS:
        if isinstance(row, int):
            start, bar = letter(arrangement.tuning, row).ljust(names) + "|", "|"
        else:
            start, bar = " " * (names + 1), " "
        line = start + "".join(block.rows[row] + bar for block in system)
        if line.strip():
            lines.append(line)
    return lines
