"""What a listener says, in the order in which it becomes known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coach.listening.passages import Passage
from coach.listening.scores import Dropped, MeasureScore, PassResult
from coach.listening.verdicts import Extra, NoteVerdict, Verdict

__all__ = [
    "Amended",
    "DroppedNote",
    "Event",
    "ExtraNote",
    "Heard",
    "MeasureDone",
    "PassDone",
    "PassageSeen",
    "PlayerAt",
    "VerdictGiven",
]


@dataclass(frozen=True, slots=True)
class Heard:
    """At once for each note: what it seems to be. A pencil mark, not yet a verdict.

    Attributes:
        seq: of its message.
        pluck: the id of the pluck it seems to be, None for none.
        mark: the verdict it would give, ``extra``, ``dropped`` (a ghost and the like), or ``outside`` when it is no
            part of the pass (the count-in).
        offset_ms: from the place of the pluck; None without one.
        pitch, string: what was heard.
    """

    seq: int
    pluck: str | None
    mark: Verdict | Literal["extra", "dropped", "outside"]
    offset_ms: float | None
    pitch: int
    string: int | None


@dataclass(frozen=True, slots=True)
class PlayerAt:
    """Where a player without a click is: in which measure, and how fast, in quarters a minute."""

    measure: int
    tempo: float


@dataclass(frozen=True, slots=True)
class VerdictGiven:
    """Final: the place of this pluck has been passed."""

    note: NoteVerdict


@dataclass(frozen=True, slots=True)
class Amended:
    """A verdict that was given is replaced, since something learned later in the pass bears on it.

    Attributes:
        note: the new verdict.
        since: what was learned: that the instrument shows slurs, or where the player was.
        explained: the ``seq`` of the note where it was called an extra and is now what was heard for the pluck.
    """

    note: NoteVerdict
    since: Literal["slur", "passage"]
    explained: int | None = None


@dataclass(frozen=True, slots=True)
class ExtraNote:
    """Final, unless an :class:`Amended` explains it: a note that nothing expected explains."""

    extra: Extra


@dataclass(frozen=True, slots=True)
class DroppedNote:
    """Final: a note that was no note of the player's."""

    dropped: Dropped


@dataclass(frozen=True, slots=True)
class PassageSeen:
    """The passages of the pass, as they are seen now: another was recognised, or one is seen otherwise.

    The amended verdicts follow. The last passage may still go on.
    """

    passages: tuple[Passage, ...]


@dataclass(frozen=True, slots=True)
class MeasureDone:
    """The score of a measure; comes again when one of its verdicts is amended."""

    score: MeasureScore


@dataclass(frozen=True, slots=True)
class PassDone:
    """The end of the pass: all that came of it."""

    result: PassResult


Event = Heard | PlayerAt | VerdictGiven | Amended | ExtraNote | DroppedNote | PassageSeen | MeasureDone | PassDone
