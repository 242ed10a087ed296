"""What is to be played next, and what came of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from coach.ladder.rungs import Kind
from coach.listening.free_ear import FreeEar
from coach.listening.free_time import FreePass
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult
from coach.service.accompany import Levels, Played
from coach.service.jobs import Solo
from coach.service.midi_out import TimedMidi
from coach.service.pages import Page
from coach.service.passes import Ear
from coach.service.pieces import Piece
from coach.takes.sessions import Instrument

__all__ = ["Ended", "Order"]


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be played.

    Attributes:
        number: of the pass on the wire.
        solo, plan: what.
        tempo: as it was chosen; the plan's is the nearest that a take can hold.
        parts: what sounds along.
        levels: how loud each part is at first.
        lead: seconds of count-in before position 0.
        listen: gives the ear that hears it, for its plan in the take.
        tolerance_ms: what is on time; None for the usual share of the gap.
        is_kept: whether it goes into a session folder.
        free: in free time: nothing sounds along, and only its ear knows when it is over.
        piece: which solo of which tune it is; of no tune where the instrument is learned.
        use: what it is for.
        instrument: what is played on.
        self_marked: the player marks the pass; nobody listens.
        sounder: the page that sounds the click; None for the service.
        send: takes timed MIDI, where the service sounds the click on a port.
        out_delay: seconds between a message's leaving and its sound.
    """

    number: int
    solo: Solo
    plan: PassPlan
    tempo: float
    parts: Sequence[Played]
    levels: Levels
    lead: float
    listen: Callable[[PassPlan], Ear]
    tolerance_ms: float | None
    instrument: Instrument
    self_marked: bool
    sounder: Page | None
    send: Callable[[list[TimedMidi]], None] | None = None
    out_delay: float = 0.0
    is_kept: bool = True
    free: bool = False
    piece: Piece = field(default=Piece())
    use: Kind = "whole"


@dataclass(frozen=True, slots=True)
class Ended:
    """A pass is over.

    Attributes:
        order: what was to be played.
        ear: that heard it, and knows what came of it; None where it ended before its first measure.
        stopped: whether it was stopped before its end.
        end: until when its take goes on, in seconds of the take.
        stopped_at: where the player stopped it, in seconds of the take.
        sentence: why it ended, where the player did not ask for it; else empty.
        away: from when to when an instrument that was played on was away, in seconds from position 0.
    """

    order: Order
    ear: Ear | None
    stopped: bool
    end: float = 0.0
    stopped_at: float | None = None
    sentence: str = ""
    away: tuple[tuple[float, float], ...] = ()

    @property
    def played(self) -> PassResult | FreePass | None:
        """What came of the pass; None where it ended before its first measure, or was for no solo."""
        return self.ear.result if isinstance(self.ear, Listener | FreeEar) else None

    @property
    def result(self) -> PassResult | None:
        """What became of the plucks of the pass."""
        played = self.played
        return played.result if isinstance(played, FreePass) else played
