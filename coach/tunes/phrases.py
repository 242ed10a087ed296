"""Finding where phrases begin in a tune whose source does not mark them by its lines.

A phrase ends at a rest and at punctuation of the words once a full measure has gone by since it began, at a note of two
beats or more once two have, when it is no shorter than any other of its phrase; and always at a double bar and at the
sign of a repeat. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from coach.tunes.tune import Measure, Note

__all__ = ["mark_phrases"]

_PUNCTUATION = (",", ".", ";", ":", "!", "?", "…", "—")


def mark_phrases(measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """The same measures with ``phrase_start`` set on the notes that begin phrases; the first note always does."""
    marked: list[Measure] = []
    before: Note | None = None
    end = begun = start = longest = Fraction(0)
    breaks = True
    for measure in measures:
        breaks = breaks or measure.repeat_start
        notes: list[Note] = []
        for note in measure.notes:
            at = start + note.at
            lasted = (at - begun) / measure.meter.length
            clear = at > end or (before is not None and _punctuated(before))
            held = before is not None and before.length >= max(longest, 2 * measure.meter.beat)
            first = before is None or breaks or (clear and lasted >= 1) or (held and lasted >= 2)
            notes.append(replace(note, phrase_start=first))
            begun = at if first else begun
            longest = note.length if first else max(longest, note.length)
            before, end, breaks = note, at + note.length, False
        marked.append(replace(measure, notes=tuple(notes)))
        breaks = breaks or measure.double_bar or measure.repeat_end > 1
        start += measure.length
    return tuple(marked)


def _punctuated(note: Note) -> bool:
    return note.lyric is not None and note.lyric.endswith(_PUNCTUATION)
