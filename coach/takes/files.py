"""Takes as Standard MIDI Files.

Written with division 24000 on one track. A marker ``downbeat`` begins each pass, with the click's tempo at that tick
and a text ``measures 5-6`` where not all are played; a marker ``stop`` stands where the player stopped one, and a text
``dropped 67: octave ghost`` behind each note that did not count (for people: it is passed over when the take is read).
Other people's takes are read with any division and any number of tracks that run together.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator

import mido
from mido.midifiles.meta import KeySignatureError

from coach.errors import TakeError
from coach.takes.grid import DIVISION, USUAL, TickGrid, microseconds_a_quarter
from coach.takes.take import Message, Take, TakePass

__all__ = ["DOWNBEAT", "STOP", "read_take", "write_take"]

DOWNBEAT = "downbeat"
STOP = "stop"

_MEASURES = re.compile(r"measures?\s+(\d+)(?:\s*[-–]\s*(\d+))?")
_LARGEST = 20_000_000  # bytes; an hour of running sixteenths takes less than one million

_BEGIN = b"MThd"
_RECORD = "record the take as a .mid file"

# What the library lets through when bytes are no MIDI file: it does not name them itself.
_FOREIGN = (OSError, EOFError, ValueError, TypeError, LookupError, ArithmeticError, KeySignatureError)


def read_take(data: bytes, where: str = "") -> Take:
    """Read a take.

    Args:
        data: the bytes of the file.
        where: its name, for the errors.

    Raises:
        TakeError: when it is no Standard MIDI File that can be heard as one take.
    """
    if len(data) > _LARGEST:
        raise TakeError(f"the file has {len(data)} bytes, too many for a take", where=where, cure="check the file")
    if not data.startswith(_BEGIN):
        detail = f"it does not begin with {_BEGIN.decode()}" if data else "it is empty"
        raise TakeError(f"this is no Standard MIDI File ({detail})", where=where, cure=_RECORD)
    try:
        file = mido.MidiFile(file=io.BytesIO(data))
    except _FOREIGN as error:
        detail = str(error).strip().rstrip(".") or "it ends too early"
        raise TakeError(f"this is no Standard MIDI File ({detail})", where=where, cure=_RECORD) from error
    if file.type == 2:
        raise TakeError("the file holds separate songs (type 2)", where=where, cure="save the take as type 0 or type 1")
    if file.ticks_per_beat <= 0:
        raise TakeError("the file counts in film frames", where=where, cure="save the take with ticks a quarter note")
    return _take(file)


def _take(file: mido.MidiFile) -> Take:
    events = sorted(_timed(file), key=lambda event: event[0])
    grid = TickGrid(file.ticks_per_beat, USUAL)
    first_tempo = None
    for tick, event in events:
        if event.type == "set_tempo" and event.tempo:
            grid.change(tick, event.tempo)
            first_tempo = first_tempo or event.tempo
    messages = tuple(
        Message(tick, grid.seconds(tick), bytes(event.bytes()))
        for tick, event in events
        if not event.is_meta and 0x80 <= event.bytes()[0] < 0xF0
    )
    end = max((tick for tick, _ in events), default=0)
    return Take(
        messages=messages,
        passes=tuple(_passes(events, grid)),
        tempo=60_000_000 / (first_tempo or USUAL),
        end_tick=end,
        end=grid.seconds(end),
        division=file.ticks_per_beat,
    )


def _timed(file: mido.MidiFile) -> Iterator[tuple[int, mido.Message]]:
    """All events of all tracks, each with its tick."""
    for track in file.tracks:
        tick = 0
        for event in track:
            tick += event.time
            yield tick, event


def _passes(events: list[tuple[int, mido.Message]], grid: TickGrid) -> Iterator[TakePass]:
    """The passes that the downbeats begin."""
    marks = [(tick, event.text.strip().lower()) for tick, event in events if event.type == "marker"]
    texts: dict[int, re.Match[str]] = {}
    for tick, event in events:
        match = _MEASURES.fullmatch(event.text.strip().lower()) if event.type in ("text", "marker") else None
        if match:
            texts[tick] = match
    downbeats = sorted({tick for tick, text in marks if text == DOWNBEAT})
    stops = [tick for tick, text in marks if text == STOP]
    for tick, following in zip(downbeats, [*downbeats, None][1:], strict=True):
        match = texts.get(tick)
        stopped = next((stop for stop in stops if stop >= tick and (following is None or stop < following)), None)
        yield TakePass(
            tick=tick,
            seconds=grid.seconds(tick),
            tempo=grid.tempo(tick),
            first=int(match[1]) if match else None,
            last=int(match[2] or match[1]) if match else None,
            stopped=stopped,
            stopped_seconds=None if stopped is None else grid.seconds(stopped),
        )


def write_take(take: Take) -> bytes:
    """Write a take that has division 24000.

    Raises:
        ValueError: when it has another division; its stamps would move.
    """
    if take.division != DIVISION:
        raise ValueError(f"a take is written with division {DIVISION}, got {take.division}")
    events: list[tuple[int, int, mido.Message]] = [
        (0, 0, mido.MetaMessage("set_tempo", tempo=microseconds_a_quarter(take.tempo)))
    ]
    for mark in take.passes:
        quarter = microseconds_a_quarter(mark.tempo)
        events.append((mark.tick, 1, mido.MetaMessage("set_tempo", tempo=quarter)))
        events.append((mark.tick, 2, mido.MetaMessage("marker", text=DOWNBEAT)))
        if mark.first is not None or mark.last is not None:
            text = f"measures {mark.first}-{mark.last}"
            events.append((mark.tick, 2, mido.MetaMessage("text", text=text)))
        if mark.stopped is not None:
            events.append((mark.stopped, 5, mido.MetaMessage("marker", text=STOP)))
    events += [(message.tick, 3, mido.Message.from_bytes(list(message.data))) for message in take.messages]
    events += [
        (drop.tick, 4, mido.MetaMessage("text", text=f"dropped {drop.pitch}: {drop.reason}")) for drop in take.dropped
    ]
    track = mido.MidiTrack()
    now = 0
    for tick, _, event in sorted(events, key=lambda entry: entry[:2]):
        event.time = tick - now  # each is made above, and is nowhere else: a copy would be checked anew
        track.append(event)
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=max(0, take.end_tick - now)))
    file = mido.MidiFile(type=0, ticks_per_beat=DIVISION, charset="utf-8")
    file.tracks.append(track)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()
