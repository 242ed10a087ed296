"""The MIDI ports of this computer, as the session that they belong to uses them.

The driver's callback only stamps and hands over; notes come to the session on the event loop. One thread sends timed
MIDI, alive only while an output is open.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from coach.errors import PortError
from coach.listening.plan import PassPlan
from coach.service.clock import Now
from coach.service.foot import FOOT_SEAT
from coach.service.midi_out import ALL_NOTES_OFF, TimedMidi, TimedOut
from coach.service.passes import CapturedNote
from coach.service.ports import VIRTUAL_INPUT, MidiDriver
from coach.service.protocol import Ports
from coach.service.student import STUDENT_NAME, STUDENT_SEAT, Student
from coach.service.watched import Watched

__all__ = ["MIDI_SEAT", "HomePorts"]

MIDI_SEAT = "midi"
"""The seat of the service's own MIDI input."""

_PROGRAM_CHANGE = 0xC0


class HomePorts:
    """The ports.

    Args:
        driver: of the ports.
        now: the service's clock.
        hand_over: puts a call on the event loop, from any thread.
        say: told a sentence when something happens to a port.
        student: a virtual player that plays in place of an instrument; then no input is opened unasked.

    Attributes:
        heard: takes what an input sends, by its seat.
        lost: told the seat of an input that has vanished.
    """

    def __init__(
        self,
        driver: MidiDriver,
        now: Now,
        hand_over: Callable[[Callable[[], None]], None],
        say: Callable[[str], None],
        student: Student | None = None,
    ) -> None:
        self.reserved = frozenset({MIDI_SEAT, FOOT_SEAT, STUDENT_SEAT})
        self._student = student
        self._driver = driver
        self._now = now
        self._hand_over = hand_over
        self._watched = Watched(
            driver,
            partial(self._received, MIDI_SEAT),
            say,
            unasked=student is None,
            foot_received=partial(self._received, FOOT_SEAT),
        )
        self._out: TimedOut | None = None
        self._sends: Callable[[bytes], None] | None = None
        self._sounding: list[TimedMidi] = []  # what sounds along with the pass
        self._seq = 0
        self.heard: Callable[[str, CapturedNote], None] = lambda _seat, _note: None
        self.lost: Callable[[str], None] = lambda _seat: None

    def look(self) -> bool:
        """Read the port list; tells whether anything changed."""
        changed = self._watched.look(lambda: self.lost(MIDI_SEAT), lambda: self.lost(FOOT_SEAT))
        self._follow()
        return changed

    @property
    def notice(self) -> str:
        """What the player is told of ports that have vanished or are back; empty for nothing."""
        return self._watched.notice

    def ports(self) -> Ports:
        """As they are now; the virtual player is among the inputs, and is the one in use while no other is."""
        watched = self._watched
        students = [] if self._student is None else [STUDENT_NAME]
        played_on = watched.input or next(iter(students), None)
        inputs = [*students, *watched.list.inputs]
        return Ports(
            inputs,
            list(watched.list.outputs),
            played_on,
            watched.output,
            watched.list.missing,
            watched.foot,
            VIRTUAL_INPUT if VIRTUAL_INPUT in inputs else "",
        )

    @property
    def instrument(self) -> str:
        """The input that is played on, also while it has vanished; empty where there is none."""
        return self.ports().input or self._watched.wanted_input or ""

    def choose(self, *, midi_in: str | None, midi_out: str | None, midi_foot: str | None = None) -> None:
        """Use other ports; None leaves one as it is, an empty name is none.

        Raises:
            PortError: when one is not there; it is taken up when it comes.
        """
        if midi_out is not None:
            self._end_sending()  # first, so that the notes of the old output end
        if self._student is not None and midi_in == STUDENT_NAME:
            midi_in = ""
        wrong: list[PortError] = []
        for name, want in (
            (midi_in, self._watched.want_input),
            (midi_out, self._watched.want_output),
            (midi_foot, self._watched.want_foot),
        ):
            if name is not None:
                try:
                    want(name or None)
                except PortError as error:
                    wrong.append(error)
        self._follow()
        if wrong:
            raise wrong[0]

    def seats(self) -> tuple[str, ...]:
        """The seats of the inputs that are open."""
        midi = (MIDI_SEAT,) if self._watched.input is not None else ()
        return midi if self._student is None else (*midi, STUDENT_SEAT)

    def tells_strings(self, seat: str) -> bool:
        """Whether an input is known to have each string on a channel of its own: the virtual player has."""
        return seat == STUDENT_SEAT

    def due(self) -> list[tuple[str, CapturedNote]]:
        """What the virtual player has played by now."""
        return [] if self._student is None else [(STUDENT_SEAT, note) for note in self._student.due()]

    def pass_begins(self, plan: PassPlan, origin: float) -> None:
        """The virtual player plays along."""
        if self._student is not None:
            self._student.pass_begins(plan, origin)

    def pass_ends(self) -> None:
        """The virtual player stops."""
        if self._student is not None:
            self._student.pass_ends()

    def sender(self) -> Callable[[list[TimedMidi]], None] | None:
        """What takes timed MIDI; None while no output is open."""
        return None if self._out is None else self._sound

    def silence(self) -> None:
        """All that is queued is forgotten, all notes end."""
        self._sounding = []
        if self._out is not None:
            self._out.stop()

    def close(self) -> None:
        """Let everything go."""
        self._end_sending()
        self._driver.close()

    def _sound(self, messages: list[TimedMidi]) -> None:
        self._sounding = messages
        if self._out is not None:
            self._out.add(messages)

    def _received(self, seat: str, stamp: float, data: bytes) -> None:
        """Called from the driver's thread."""
        self._hand_over(lambda: self._take(seat, stamp, data))

    def _take(self, seat: str, stamp: float, data: bytes) -> None:
        self._seq += 1
        self.heard(seat, CapturedNote(self._seq, stamp, data))

    def _follow(self) -> None:
        """Keep a sending thread for the output that is open, and none otherwise."""
        if self._watched.send is self._sends:
            return
        self._end_sending()
        self._sends = self._watched.send
        if self._sends is not None:
            self._out = TimedOut(self._sends, self._now)
            self._out.add(self._taken_up())

    def _taken_up(self) -> list[TimedMidi]:
        """What an output is sent first: the end of notes that it may still sound from before it vanished; and in
        mid-pass its programs anew, and what is still to sound."""
        now = self._now()
        programs = {each.data for each in self._sounding if each.data[0] & 0xF0 == _PROGRAM_CHANGE}
        return [
            *(TimedMidi(now, data) for data in (*ALL_NOTES_OFF, *sorted(programs))),
            *(each for each in self._sounding if each.seconds > now),
        ]

    def _end_sending(self) -> None:
        """End the sending thread, all notes off."""
        if self._out is not None:
            self._out.close()
        self._out = self._sends = None
