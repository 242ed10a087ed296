"""What a listener says, as messages of the wire."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from coach.arranging.arrangement import Arrangement
from coach.instrument.fretboard import places
from coach.instrument.tuning import Tuning
from coach.listening.events import Amended, Event, ExtraNote, Heard, MeasureDone, PlayerAt, VerdictGiven
from coach.listening.report import measure_record
from coach.listening.verdicts import NoteVerdict
from coach.service.protocol import Amend, HeardMark, MeasureScored, Place, VerdictMark

__all__ = ["Told", "told"]

Told = HeardMark | Place | VerdictMark | Amend | MeasureScored

_WHY = {
    "slur": "the instrument has shown a slur now, so this note is judged by what was heard",
    "passage": "this note is judged by where in the solo you were",
}


def told(event: Event, number: int, arrangement: Arrangement, names: Mapping[int, tuple[str, int]]) -> Told | None:
    """The message that tells an event, None for one that pages are not told.

    Args:
        event: of the listener.
        number: of the pass on the wire.
        arrangement: what is played.
        names: by the number of a message in the pass its seat and its number there.
    """
    if isinstance(event, Heard):
        seat, seq = names[event.seq]
        return HeardMark(number, seat, seq, event.pitch, event.string, event.pluck, event.mark, event.offset_ms)
    if isinstance(event, PlayerAt):
        return Place(number, event.measure, event.tempo)
    if isinstance(event, VerdictGiven):
        return _verdict(event.note, number, arrangement)
    if isinstance(event, Amended):
        note = event.note
        return Amend(number, note.pluck.measure, note.pluck.id, note.verdict, note.offset_ms, _WHY[event.since])
    if isinstance(event, ExtraNote):
        extra = event.extra
        return VerdictMark(
            number,
            extra.measure,
            None,
            "extra",
            None,
            extra.pitch,
            extra.string,
            _fret(arrangement, extra.string, extra.pitch),
            str(extra.at),
            extra.fault,
        )
    if isinstance(event, MeasureDone):
        return MeasureScored(number, measure_record(event.score))
    return None


def _verdict(note: NoteVerdict, number: int, arrangement: Arrangement) -> VerdictMark:
    return VerdictMark(
        number,
        note.pluck.measure,
        note.pluck.id,
        note.verdict,
        note.offset_ms,
        note.pitch,
        note.string,
        None if note.pitch is None else _fret(arrangement, note.string or note.pluck.string, note.pitch),
        None,
        note.verdict != "on time",
    )


def _fret(arrangement: Arrangement, string: int | None, pitch: int) -> int | None:
    """The fret that sounds a pitch on a string, as tab has it (from the capo); None where there is none."""
    return None if string is None else _fret_on(arrangement.tuning, arrangement.capo, string, pitch)


@lru_cache(maxsize=1024)
def _fret_on(tuning: Tuning, capo: int, string: int, pitch: int) -> int | None:
    found = places(tuning, pitch, capo=capo)
    return next((place.fret for place in found if place.string == string), None)
