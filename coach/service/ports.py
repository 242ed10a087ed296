"""MIDI ports: python-rtmidi at the border, stamps in the callback, and words for what is missing.

The libraries' APIs are tried one by one (with ALSA absent its constructor raises although JACK works). One client a
direction lives as long as the service; its port list is read once a second by the service's own timer. A callback does
two things: it stamps, and it hands over to the event loop. What it raises is counted, never passed on to the driver.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import os
import re
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Protocol

from coach.errors import PortError
from coach.service.clock import Now, monotonic

__all__ = ["VIRTUAL_INPUT", "MidiDriver", "PortList", "Received", "RtMidiDriver"]

VIRTUAL_INPUT = "coach in"
"""The name of an input of our own, which an instrument can be connected to with the system's tools."""

CLIENT = "coach"

LET_OUT = 0.02
"""Seconds in which a callback that is under way has surely ended, the interpreter's lock being free."""

LOOKS_BEFORE_ANEW = 5
"""Looks in vain before the system's MIDI is asked for anew; asking takes milliseconds."""

# Ports that only lead back to where they came from: our own, and the system's loop.
_OURS = re.compile(rf"{CLIENT}(-out|-ports|-foot)?(-\d+)?:|Midi Through", re.IGNORECASE)

Received = Callable[[float, bytes], None]
"""Called with the stamp of capture and the bytes of a message, from a thread of the driver."""


@dataclass(frozen=True, slots=True)
class PortList:
    """The ports as they are now; ``missing`` is a sentence where something is not there, else empty."""

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    missing: str


class MidiDriver(Protocol):
    """What the service needs of a MIDI library; :class:`RtMidiDriver` is the real one."""

    def ports(self) -> PortList:
        """The ports as they are now."""
        ...

    def open_input(self, name: str, received: Received, place: str = "") -> None:
        """Open an input in place of the one that is open there; ``received`` is called from a thread of the driver.

        Args:
            name: of the input.
            received: takes what comes.
            place: what it is used for; one input can be open at each.

        Raises:
            PortError: when there is no such input.
        """
        ...

    def close_input(self, place: str = "") -> None:
        """Close the input that is open at a place, if any."""
        ...

    def open_output(self, name: str) -> Callable[[bytes], None]:
        """Open an output in place of the one that is open, and return what sends to it.

        Raises:
            PortError: when there is no such output.
        """
        ...

    def close_output(self) -> None:
        """Close the output that is open, if any."""
        ...

    def close(self) -> None:
        """Let go of the library."""
        ...


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Keep the C libraries' own complaints off stderr while a client is made; ``missing`` says the same in words."""
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


class RtMidiDriver:
    """The ports of this machine, by python-rtmidi.

    Args:
        now: the clock of the stamps.
        module: the library; imported when it is left out. None of it installed is fine.
    """

    def __init__(self, now: Now = monotonic, module: Any = None) -> None:
        self._now = now
        self._library: Any = module
        self._why_not = ""
        if module is None:
            try:
                self._library = importlib.import_module("rtmidi")
            except ImportError:
                self._why_not = (
                    "python-rtmidi is not installed, so MIDI ports cannot be read: pip install 'banjo-practice-coach"
                    "[midi]'; the pad works without it."
                )
        self._api: Any = None
        self._api_name = ""
        self._lists: list[Any] = []
        self._inputs: dict[str, tuple[Any, object]] = {}  # by place: the client, and what its callback hangs on
        self._output: Any = None
        self._sending = threading.Lock()  # a client that is let go while another thread sends ends the program
        self._empty_looks = 0
        self._looks_off = 0
        self.callback_failures = 0

    def ports(self) -> PortList:
        """The ports as they are now; tries to reach the system's MIDI again where that failed before."""
        if not self._reach():
            return PortList((), (), self._why_not)
        try:
            inputs, outputs = (
                tuple(name for name in client.get_ports() if not _OURS.match(name)) for client in self._lists
            )
        except Exception as error:  # noqa: BLE001 - each API raises errors of its own
            self.close()
            self._why_not = f"The MIDI system ({self._api_name}) has gone away: {error}."
            return PortList((), (), self._why_not)
        # A client of a JACK server that ended shows no ports, for ever and without an error: make it anew at times.
        self._empty_looks = 0 if inputs or outputs else self._empty_looks + 1
        if self._empty_looks > LOOKS_BEFORE_ANEW:
            self._empty_looks = 0
            self._drop_lists()
            if not self._reach():
                self.close()
                return PortList((), (), self._why_not)
        silent = [f"no MIDI {what}" for what, names in (("input", inputs), ("output", outputs)) if not names]
        missing = f"{self._api_name} shows {' and '.join(silent)}." if silent else ""
        return PortList((*inputs, VIRTUAL_INPUT) if self._takes_virtual else inputs, outputs, missing)

    def open_input(self, name: str, received: Received, place: str = "") -> None:
        """Open an input in place of the one that is open there; ``received`` is called from the library's thread.

        Args:
            name: of the input.
            received: takes what comes.
            place: what it is used for; one input can be open at each.

        Raises:
            PortError: when there is no such input.
        """
        self.close_input(place)
        if not self._reach():
            raise PortError(self._why_not.rstrip("."))
        try:
            port = self._client(self._library.MidiIn, f"{CLIENT}-{place}" if place else CLIENT)
            self._inputs[place] = port, None
            port.ignore_types(sysex=True, timing=True, active_sense=True)
            self._inputs[place] = port, _set_callback(port, self._callback(received))
            if name == VIRTUAL_INPUT:
                port.open_virtual_port("in")
            else:
                port.open_port(self._lists[0].get_ports().index(name), "in")
        except Exception as error:
            self.close_input(place)
            raise PortError(
                f"MIDI input {name!r} cannot be opened", cure="connect it, or choose another one"
            ) from error

    def close_input(self, place: str = "") -> None:
        """Close the input that is open at a place, if any.

        JACK ends its thread at once, wherever it is. One that is in Python takes the interpreter's lock with it, and
        the process hangs or crashes: so calls are ended first, and one that is under way is let out.
        """
        if place in self._inputs:
            port, _held = self._inputs.pop(place)
            port.cancel_callback()
            time.sleep(LET_OUT)
            _close(port)

    def open_output(self, name: str) -> Callable[[bytes], None]:
        """Open an output in place of the one that is open, and return what sends to it.

        Raises:
            PortError: when there is no such output.
        """
        self.close_output()
        if not self._reach():
            raise PortError(self._why_not.rstrip("."))
        try:
            port = self._client(self._library.MidiOut, f"{CLIENT}-out")
            port.open_port(self._lists[1].get_ports().index(name), "out")
        except Exception as error:
            raise _cannot_open("output", name) from error
        self._output = port

        def send(data: bytes) -> None:
            with self._sending:
                if self._output is not port:
                    raise PortError(f"MIDI output {name!r} is closed")
                port.send_message(data)

        return send

    def close_output(self) -> None:
        """Close the output that is open, if any; what sent to it raises a PortError from then on."""
        with self._sending:
            _close(self._output)
            self._output = None

    def close(self) -> None:
        """Let go of the library's clients."""
        for place in tuple(self._inputs):
            self.close_input(place)
        self.close_output()
        self._drop_lists()

    def _drop_lists(self) -> None:
        for client in self._lists:
            _close(client)
        self._lists = []

    def _client(self, kind: Any, name: str) -> Any:
        with _quiet():
            return kind(rtapi=self._api, name=name)

    def _callback(self, received: Received) -> Callable[[tuple[list[int], float], object], None]:
        def callback(event: tuple[list[int], float], data: object = None) -> None:  # noqa: ARG001
            stamp = self._now()
            try:
                received(stamp, bytes(event[0]))
            except Exception:  # noqa: BLE001 - nothing may pass into the driver's thread
                self.callback_failures += 1

        return callback

    def _reach(self) -> bool:
        """Make the two clients that list ports where there are none, by the first API that answers."""
        if self._lists:
            return True
        if self._library is None or self._looks_off > 0:
            self._looks_off -= 1
            return False
        tried = []
        for api in self._library.get_compiled_api():
            self._api, self._api_name = api, self._library.get_api_display_name(api)
            tried.append(self._api_name)
            try:
                self._lists.append(self._client(self._library.MidiIn, f"{CLIENT}-ports"))
                self._lists.append(self._client(self._library.MidiOut, f"{CLIENT}-ports"))
            except Exception:  # noqa: BLE001 - the next API may work
                self._drop_lists()
                continue
            self._why_not = ""
            return True
        self._looks_off = LOOKS_BEFORE_ANEW
        self._why_not = (
            f"No MIDI answers ({' and '.join(tried) or 'none'} tried): connect an instrument and load its driver,"
            " or start a JACK server; the pad works without it."
        )
        return False

    @property
    def _takes_virtual(self) -> bool:
        return not self._api_name.startswith("Windows")


def _cannot_open(what: str, name: str) -> PortError:
    return PortError(f"MIDI {what} {name!r} cannot be opened", cure="connect it, or choose another one")


def _set_callback(port: Any, callback: Callable[[tuple[list[int], float], object], None]) -> object:
    """Let a port call back; what is returned must be kept until the port is closed.

    The library calls through a pair (callback, data) that it lets go of when the calls are ended, also under a call
    that waits for the interpreter's lock at that moment. It does not show the pair; the collector knows it.
    """
    port.set_callback(callback)
    return [pair for pair in gc.get_referrers(callback) if type(pair) is tuple and pair[:1] == (callback,)]


def _close(client: Any) -> None:
    """Close a client of the library, whatever state it is in."""
    if client is not None:
        with contextlib.suppress(Exception):
            client.close_port()
        client.delete()
