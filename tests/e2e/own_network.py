"""A network namespace with nothing but a loopback of its own, as a computer far off has; Linux, and as root.

No line leads into it: browsers let everything go that they load when an interface comes or goes anywhere on their
computer. Who wants to reach what listens in it enters it, by one thread.
"""

from __future__ import annotations

import ctypes
import os
import subprocess
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

__all__ = ["OwnNetwork", "own_network"]

_NETWORK = 0x40000000  # CLONE_NEWNET of setns(2)


@dataclass(frozen=True, slots=True)
class OwnNetwork:
    """A network.

    Attributes:
        name: of its namespace.
    """

    name: str

    @property
    def inside(self) -> tuple[str, ...]:
        """The words behind which a command runs in it."""
        return "ip", "netns", "exec", self.name

    def enter(self) -> None:
        """From now on this thread makes its sockets there."""
        file = os.open(f"/run/netns/{self.name}", os.O_RDONLY)
        try:
            if ctypes.CDLL(None, use_errno=True).setns(file, _NETWORK) != 0:
                raise OSError(ctypes.get_errno(), "the network cannot be entered")
        finally:
            os.close(file)


@contextmanager
def own_network() -> Iterator[OwnNetwork | None]:
    """Make one, and take it away at the end; None where none can be made."""
    name = f"coach-{uuid.uuid4().hex[:8]}"
    try:
        made = _done(f"ip netns add {name}") and _done(f"ip -n {name} link set lo up")
        yield OwnNetwork(name) if made else None
    finally:
        _done(f"ip netns del {name}")


def _done(step: str) -> bool:
    try:
        return subprocess.run(step.split(), capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        return False
