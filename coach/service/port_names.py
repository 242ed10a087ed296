"""The names of MIDI ports, and what of them changes when an instrument is plugged in again.

Systems number what they name: ALSA appends client and port ("Banjo:out 20:0"), its bridge to JACK puts the client in
brackets ("a2j:Banjo [20] (capture): out"), and JACK numbers programs of one name ("banjo-01:out"). The numbers are
given anew each time.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["found_again", "unnumbered"]

_NUMBERS = re.compile(r" \d+:\d+$| \[\d+\]|-\d\d(?=:)")


def unnumbered(name: str) -> str:
    """The name without the numbers that the system gave."""
    return _NUMBERS.sub("", name)


def found_again(name: str, there: Iterable[str]) -> str | None:
    """A port by its name, or the only one that differs in nothing but its numbers.

    Args:
        name: under which it was known.
        there: the names of the ports that it could be.

    Returns:
        the name that it has now; None where none is like it, or more than one.
    """
    names = list(there)
    if name in names:
        return name
    alike = [other for other in names if unnumbered(other) == unnumbered(name)]
    return alike[0] if len(alike) == 1 else None
