"""The MIDI ports of this computer, as the session that they belong to uses them.

The driver's callback only stamps and hands over; notes come to the session on the event loop. One thread sends timed
MIDI, alive only while an output is open.
"""

from __future__ import annotations

from collections.abc import Callable

from coach.errors import PortError
from coach.listening.plan import PassPlan
from coach.service.clock import Now
from coach.service.midi_out import TimedMidi, TimedOut
from coach.service.passes import CapturedNote
from coach.service.ports import MidiDriver, Watched
from coach.service.protocol import Ports
from coach.service.student import STUDENT_NAME, STUDENT_SEAT, Student

__all__ = ["MIDI_SEAT", "HomePorts"]

MIDI_SEAT = "midi"
"""The seat of the service's own MIDI input."""


class HomePorts:
    """The ports.

    Args:
        driver: of the ports.
        now: the service's clock.
        hand_over: puts a call on the event loop, from any thread.
        say: told a sentence when something happens to a port.
        student: a virtual player that plays in place of an instrument; then no input is opened unasked.
    """

    def __init__(
        self,
        driver: MidiDriver,
        now: Now,
        hand_over: Callable[[Callable[[], None]], None],
        say: Callable[[str], None],
        student: Student | None = None,
    ) -> None:
        self.reserved = frozenset({MIDI_SEAT, STUDENT_SEAT})
        self._student = student
        self._driver = driver
        self._now = now
        self._hand_over = hand_over
        self._watched = Watched(driver, self._received, say, unasked=student is None)
        self._out: TimedOut | None = None
        self._sends: Callable[[bytes], None] | None = None
        self._seq = 0
        self.heard: Callable[[str, CapturedNote], None] = lambda _seat, _note: None

    def look(self) -> bool:
        """Read the port list; tells whether anything changed."""
        changed = self._watched.look()
        self._follow()
        return changed

    def ports(self) -> Ports:
        """As they are now; the virtual player is among the inputs, and is the one in use while no other is."""
        watched = self._watched
        students = [] if self._student is None else [STUDENT_NAME]
        played_on = watched.input or next(iter(students), None)
        inputs = [*students, *watched.list.inputs]
        return Ports(inputs, list(watched.list.outputs), played_on, watched.output, watched.list.missing)

    def choose(self, *, midi_in: str | None, midi_out: str | None) -> None:
        """Use other ports; None leaves one as it is, an empty name is none.

        Raises:
            PortError: when one is not there; it is taken up when it comes.
        """
        if midi_out is not None:
            self._end_sending()  # first, so that the notes of the old output end
        if self._student is not None and midi_in == STUDENT_NAME:
            midi_in = ""
        wrong: list[PortError] = []
        for name, want in ((midi_in, self._watched.want_input), (midi_out, self._watched.want_output)):
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
        return None if self._out is None else self._out.add

    def silence(self) -> None:
        """All that is queued is forgotten, all notes end."""
        if self._out is not None:
            self._out.stop()

    def close(self) -> None:
        """Let everything go."""
        self._end_sending()
        self._driver.close()

    def _received(self, stamp: float, data: bytes) -> None:
        """Called from the driver's thread."""
        self._hand_over(lambda: self._take(stamp, data))

    def _take(self, stamp: float, data: bytes) -> None:
        self._seq += 1
        self.heard(MIDI_SEAT, CapturedNote(self._seq, stamp, data))

    def _follow(self) -> None:
        """Keep a sending thread for the output that is open, and none otherwise."""
        if self._watched.send is self._sends:
            return
        self._end_sending()
        self._sends = self._watched.send
        if self._sends is not None:
            self._out = TimedOut(self._sends, self._now)

    def _end_sending(self) -> None:
        """End the sending thread, all notes off."""
        if self._out is not None:
            self._out.close()
        self._out = self._sends = None
