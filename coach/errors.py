"""The one tree of errors.

::

    CoachError
    ├── InputError          what the user gave cannot be used: exit status 2
    │   ├── TuneError       a file is no tune, or a place in it cannot be read
    │   ├── ArrangeError    the tune is read, but no solo can be made of it as asked
    │   └── TakeError       a take or a session folder cannot be read
    ├── ForbiddenError      what was asked may not be done by the one who asks
    │   ├── NotSignedInError    … since it is not known who that is
    │   └── NotThereError       … and more is not said, since whom it is about belongs to others or is not there
    ├── RecordsError        the records cannot be reached, read or written
    ├── PortError           a MIDI port cannot be opened or has vanished
    └── ProtocolError       a message from a page breaks the rules of the wire

Every error is one sentence for people, made of three parts: what is wrong, where, and what to do.
"""

from __future__ import annotations

__all__ = [
    "ArrangeError",
    "CoachError",
    "ForbiddenError",
    "InputError",
    "NotSignedInError",
    "NotThereError",
    "PortError",
    "ProtocolError",
    "RecordsError",
    "TakeError",
    "TuneError",
]


class CoachError(Exception):
    """Something went wrong that can be said in a sentence.

    Args:
        what: what is wrong, without a full stop.
        where: the place (file, line, measure, field); empty when there is none.
        cure: what to do about it; empty when it is plain.
    """

    def __init__(self, what: str, *, where: str = "", cure: str = "") -> None:
        super().__init__(what, where, cure)
        self.what = what
        self.where = where
        self.cure = cure

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        cure = f"; {self.cure}" if self.cure else ""
        return f"{place}{self.what}{cure}."

    def __reduce__(self) -> tuple[object, ...]:
        # Errors cross process borders (the workers); keyword arguments need help to be pickled.
        return (_rebuild, (type(self), self.what, self.where, self.cure))


def _rebuild(kind: type[CoachError], what: str, where: str, cure: str) -> CoachError:
    return kind(what, where=where, cure=cure)


class InputError(CoachError):
    """What the user gave cannot be used."""


class TuneError(InputError):
    """A file is no tune, or a place in it cannot be read."""


class ArrangeError(InputError):
    """The tune is read, but no solo can be made of it as asked."""


class TakeError(InputError):
    """A take or a session folder cannot be read."""


class ForbiddenError(CoachError):
    """What was asked may not be done by the one who asks."""


class NotSignedInError(ForbiddenError):
    """Whoever asks has to sign in first."""


class NotThereError(ForbiddenError):
    """What it is about is not there for the one who asks, or not there at all: it is not told which."""


class RecordsError(CoachError):
    """The records cannot be reached, read or written."""


class PortError(CoachError):
    """A MIDI port cannot be opened or has vanished."""


class ProtocolError(CoachError):
    """A message from a page breaks the rules of the wire."""
