"""The ports in use: opened by name, let go when they vanish, taken up when they are back, whatever their number is."""

from __future__ import annotations

from collections.abc import Callable

from coach.errors import PortError
from coach.service.port_names import found_again
from coach.service.ports import VIRTUAL_INPUT, MidiDriver, PortList, Received

__all__ = ["Watched"]


class _Port:
    """One port that is wanted.

    Attributes:
        wanted: its name, None for none.
        name: the same while it is open; None while it is not.
        fate: what the player is told of it: that it has vanished, or is back; empty where there is nothing to tell.
    """

    def __init__(
        self, what: str, open_port: Callable[[str], None], close: Callable[[], None], say: Callable[[str], None]
    ) -> None:
        self.wanted: str | None = None
        self.name: str | None = None
        self.fate = ""
        self._what = what
        self._open = open_port
        self._close = close
        self._say = say
        self._others: frozenset[str] = frozenset()  # that were there beside it: they are other instruments

    def want(self, name: str | None) -> None:
        """Use this port from now on, None for none.

        Raises:
            PortError: when it is not there now; it is taken up when it comes.
        """
        self.wanted, self.name, self._others, self.fate = name, None, frozenset(), ""
        self._close()
        if name is not None:
            self._open(name)
            self.name = name

    def look(self, names: tuple[str, ...]) -> bool:
        """Let go of it when it is not among the ports that are there, take it up when it is.

        Returns:
            whether it has vanished since the look before, be it back already.
        """
        vanished = self.name is not None and self.name not in names
        if vanished:
            self.fate = f"MIDI {self._what} {self.name!r} has vanished; it is taken up again when it is back."
            self._say(self.fate)
            self.name = None
            self._close()
        if self.name is None and self.wanted is not None:
            self._take_up(found_again(self.wanted, [name for name in names if name not in self._others]))
        if self.name is not None:
            self._others = frozenset(names) - {self.name}
        return vanished

    def _take_up(self, name: str | None) -> None:
        if name is None:
            return
        try:
            self._open(name)
        except PortError as error:
            self._say(str(error))
            return
        self.wanted = self.name = name
        self._say(f"MIDI {self._what} {name!r} is in use.")
        if self.fate:
            self.fate = f"MIDI {self._what} {name!r} is back."


class Watched:
    """The input of the instrument, that of a foot switch that has its own, and the output.

    Args:
        driver: the ports.
        received: called from the driver's thread for each message of the instrument.
        say: called with a sentence when something happens to a port.
        unasked: whether the only input that is there is used without asking.
        foot_received: called in the same way for the input of the foot switch.
    """

    def __init__(
        self,
        driver: MidiDriver,
        received: Received,
        say: Callable[[str], None],
        *,
        unasked: bool = True,
        foot_received: Received = lambda _stamp, _data: None,
    ) -> None:
        self._driver = driver
        self._unasked = unasked
        self.list = PortList((), (), "")
        self.send: Callable[[bytes], None] | None = None
        self._input = _Port("input", lambda name: driver.open_input(name, received), driver.close_input, say)
        self._foot = _Port(
            "input of the foot switch",
            lambda name: driver.open_input(name, foot_received, "foot"),
            lambda: driver.close_input("foot"),
            say,
        )
        self._output = _Port("output", self._open_output, self._close_output, say)
        self._ports = (self._input, self._foot, self._output)

    @property
    def input(self) -> str | None:
        """The input that is open."""
        return self._input.name

    @property
    def notice(self) -> str:
        """What the player is told of ports that have vanished or are back, all together; empty for nothing."""
        return " ".join(port.fate for port in self._ports if port.fate)

    @property
    def wanted_input(self) -> str | None:
        """The input that is used when it is there."""
        return self._input.wanted

    @property
    def foot(self) -> str | None:
        """The input of the foot switch that is open."""
        return self._foot.name

    @property
    def output(self) -> str | None:
        """The output that is open."""
        return self._output.name

    def want_input(self, name: str | None) -> None:
        """Use this input from now on, None for none.

        Raises:
            PortError: when it is not there now (it is taken up when it comes), or is the foot switch's own.
        """
        self._refuse_both(name, self._foot)
        self._unasked = False
        self._input.want(name)

    def want_foot(self, name: str | None) -> None:
        """Hear foot switches from this input too, None for none but the instrument's.

        Raises:
            PortError: when it is not there now (it is taken up when it comes), or is the instrument's.
        """
        self._refuse_both(name, self._input)
        self._foot.want(name)

    def want_output(self, name: str | None) -> None:
        """Use this output from now on, None for none.

        Raises:
            PortError: when it is not there now; it is taken up when it comes.
        """
        self._output.want(name)

    def look(self, lost_input: Callable[[], None] = lambda: None, lost_foot: Callable[[], None] = lambda: None) -> bool:
        """Read the port list; open what is wanted and there, let go of what vanished.

        Args:
            lost_input: called when the input has vanished, be it back already.
            lost_foot: called when that of the foot switch has.

        Returns:
            whether anything changed.
        """
        before = (self.list, self.input, self.foot, self.output)
        self.list = self._driver.ports()
        if self._input.wanted is None and self._unasked:
            real = [name for name in self.list.inputs if name not in (VIRTUAL_INPUT, self._foot.wanted)]
            self._input.wanted = real[0] if len(real) == 1 else None
        names = (self.list.inputs, self.list.inputs, self.list.outputs)
        vanished = [port.look(there) for port, there in zip(self._ports, names, strict=True)]
        for port, has_vanished, tell in zip(self._ports, vanished, (lost_input, lost_foot, None), strict=True):
            if has_vanished and tell is not None:
                tell()
            elif any(vanished) and port.name is not None and not has_vanished:
                port.fate = ""  # that it is back was told before
        return before != (self.list, self.input, self.foot, self.output)

    def _refuse_both(self, name: str | None, other: _Port) -> None:
        if name is not None and name == other.wanted:
            raise PortError(
                f"MIDI input {name!r} cannot be the instrument's and the foot switch's own",
                cure="a switch that sends on the instrument's input is heard there; leave its own input empty",
            )

    def _open_output(self, name: str) -> None:
        self.send = self._driver.open_output(name)

    def _close_output(self) -> None:
        self.send = None
        self._driver.close_output()
