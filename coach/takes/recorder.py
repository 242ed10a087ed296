"""Recording a take while it is played: every stamp is put on its tick before it is judged.

The recorder does no input or output. Each thing that happens is also handed, as a plain dictionary, to a journal; the
same dictionaries bring a recorder back to where it was (:meth:`Recorder.apply`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from coach.errors import TakeError
from coach.takes.grid import DIVISION, TickGrid, microseconds_a_quarter
from coach.takes.take import Message, Take, TakeDrop, TakePass, is_channel_message

__all__ = ["Recorder"]

Entry = dict[str, Any]


class Recorder:
    """Records one take.

    Args:
        journal: is given an entry for all that happens, in order.
    """

    def __init__(self, journal: Callable[[Entry], None] | None = None) -> None:
        self.grid = TickGrid()
        self.passes: list[TakePass] = []
        self._messages: list[Message] = []
        self._dropped: list[TakeDrop] = []
        self._end = 0
        self._journal = journal or (lambda _: None)

    def begin_pass(
        self, seconds: float, tempo: float, *, first: int | None = None, last: int | None = None
    ) -> TakePass:
        """Plan a pass.

        Args:
            seconds: its downbeat; may lie ahead, but not before an earlier one.
            tempo: of the click, in quarters a minute.
            first, last: its measures; None for the whole solo.

        Returns:
            The mark with the seconds and the tempo that the take can hold. Play and judge the pass by these.
        """
        entry = {
            "kind": "pass",
            "tick": self.grid.tick(seconds),
            "quarter": microseconds_a_quarter(tempo),
            "first": first,
            "last": last,
        }
        self._note(entry)
        return self.passes[-1]

    def cancel_pass(self) -> None:
        """Take back the last pass, whose downbeat has not come yet (and lies after the start of the take)."""
        self._note({"kind": "cancelled"})

    def add(self, seconds: float, data: bytes) -> Message:
        """Record a message; returns it with its stamp on its tick.

        What is no whole channel message (clock bytes, noise) has no place in a take and is not kept.
        """
        tick = self.grid.tick(seconds)
        message = Message(tick, self.grid.seconds(tick), data)
        if is_channel_message(data):
            self._keep(message)
            self._journal({"kind": "midi", "tick": tick, "data": data.hex()})
        return message

    def stop_pass(self, seconds: float) -> TakePass:
        """Mark where the player stopped the running pass, as ``Listener.stopped_at`` has it; returns its mark.

        Give the listener a stop that is on its tick (:meth:`TickGrid.snap`) and watermarks that are
        (:meth:`TickGrid.snap_down`), then its ``stopped_at`` is on a tick too.
        """
        self._note({"kind": "stop", "tick": self.grid.tick(seconds)})
        return self.passes[-1]

    def drop(self, seconds: float, pitch: int, reason: str) -> None:
        """Keep with a note of the take, at the stamp that it was given, why it did not count."""
        self._note({"kind": "dropped", "tick": self.grid.tick(seconds), "pitch": pitch, "reason": reason})

    def now(self, seconds: float) -> None:
        """Say that the take goes on until at least ``seconds``."""
        self._note({"kind": "now", "tick": self.grid.tick(seconds)})

    def take(self, end: float | None = None) -> Take:
        """The take so far.

        Args:
            end: its end in seconds, where later than all that was recorded.
        """
        end_tick = max(self._end, 0 if end is None else self.grid.tick(end))
        messages = sorted(self._messages, key=lambda message: message.tick)
        dropped = sorted(self._dropped, key=lambda drop: drop.tick)
        end_seconds = self.grid.seconds(end_tick)
        return Take(tuple(messages), tuple(self.passes), 120.0, end_tick, end_seconds, DIVISION, dropped=tuple(dropped))

    def apply(self, entry: Mapping[str, Any]) -> None:
        """Let an entry of a journal happen again; entries of other kinds are passed over.

        Raises:
            TakeError: when the entry is none that a recorder writes.
        """
        try:
            self._happen(entry)
        except (KeyError, ValueError, TypeError, IndexError) as error:
            raise TakeError(f"the journal has an entry that cannot be read ({entry!r})") from error

    def _note(self, entry: Entry) -> None:
        self._happen(entry)
        self._journal(entry)

    def _keep(self, message: Message) -> None:
        self._messages.append(message)
        self._end = max(self._end, message.tick)

    def _happen(self, entry: Mapping[str, Any]) -> None:
        kind = entry["kind"]
        if kind == "midi":
            tick, data = entry["tick"], bytes.fromhex(entry["data"])
            if not is_channel_message(data):
                raise ValueError(data)
            self._keep(Message(tick, self.grid.seconds(tick), data))
        elif kind == "pass":
            tick = entry["tick"]
            self.grid.change(tick, entry["quarter"])
            mark = TakePass(tick, self.grid.seconds(tick), self.grid.tempo(tick), entry["first"], entry["last"])
            self.passes.append(mark)
        elif kind == "cancelled":
            self.grid.take_back(self.passes.pop().tick)
        elif kind == "stop":
            mark = self.passes[-1]
            tick = max(entry["tick"], mark.tick)
            self.passes[-1] = TakePass(
                mark.tick, mark.seconds, mark.tempo, mark.first, mark.last, tick, self.grid.seconds(tick)
            )
            self._end = max(self._end, tick)
        elif kind == "dropped":
            self._dropped.append(TakeDrop(int(entry["tick"]), int(entry["pitch"]), str(entry["reason"])))
        elif kind == "now":
            self._end = max(self._end, entry["tick"])
