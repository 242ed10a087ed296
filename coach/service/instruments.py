"""What is known of each instrument, by the name of its input: kept in one file in the data folder.

The file (format ``instruments/1``) is written whole. One that cannot be read is put aside under another name, and
nothing of it is lost; what could not be written is still used until the service ends.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal, get_args

from coach.errors import InputError
from coach.listening.heard import Latency
from coach.service.port_names import found_again
from coach.service.whole_files import write_whole

__all__ = ["FILE", "FORMAT", "Channels", "Instruments", "KnownInstrument"]

FORMAT = "instruments/1"
FILE = "instruments.json"

Channels = Literal["auto", "off", "1-5", "11-15"]
"""How the player chose that strings are told, as in the settings."""

MOST_KNOWN = 500
"""Instruments that are kept: pages name theirs themselves, and may name what they like."""

_MOST_MS = 1000.0


@dataclass(frozen=True, slots=True)
class KnownInstrument:
    """What is known of an instrument.

    Attributes:
        name: of its input.
        latency: what is taken off its notes; None where nobody told and nothing was learned.
        spread_ms: of the notes that it was learned from; None where it was not.
        lean_ms: of the player, learned along with it.
        is_learned: whether the latency was learned from notes to the click and is to be trusted; if not, the player
            told it.
        string_channels: how strings are told.
        when: the time of the last change, RFC 3339 in UTC.
    """

    name: str
    latency: Latency | None = None
    spread_ms: float | None = None
    lean_ms: float = 0.0
    is_learned: bool = False
    string_channels: Channels = "auto"
    when: str = ""


class Instruments:
    """The instruments of a data folder.

    Args:
        path: of the file; it need not be there.
        time_of_day: gives the time, RFC 3339 in UTC.

    Attributes:
        trouble: what was wrong with the file, in a sentence; empty where nothing was.
    """

    def __init__(self, path: Path, time_of_day: Callable[[], str]) -> None:
        self.trouble = ""
        self._path = path
        self._time_of_day = time_of_day
        self._known: dict[str, KnownInstrument] = {}
        try:
            self._known = _read(path.read_text("utf-8"))
        except FileNotFoundError:
            pass
        except (OSError, ValueError) as error:
            self.trouble = self._put_aside(error)

    def find(self, name: str, there: Collection[str] = ()) -> KnownInstrument | None:
        """What is known of an instrument.

        Args:
            name: of its input now; the numbers in it may have changed since.
            there: the names of all inputs that are there now: an instrument that is there under its own name is no
                other one.
        """
        if name in self._known:
            return self._known[name]
        found = self._former(name, there)
        return None if found is None else replace(self._known[found], name=name)

    def keep(self, instrument: KnownInstrument, there: Collection[str] = ()) -> None:
        """Keep what is known of an instrument now, in place of what was known of it.

        Raises:
            InputError: when there is no room for another one; or when the file cannot be written, and then it is known
                all the same until the service ends.
        """
        if instrument.name not in self._known:
            former = self._former(instrument.name, there)
            if former is not None:
                del self._known[former]
            elif len(self._known) >= MOST_KNOWN:
                raise InputError(
                    f"{MOST_KNOWN} instruments are known already",
                    where=str(self._path),
                    cure="take out those that are gone while the coach does not run",
                )
        self._known[instrument.name] = replace(instrument, when=self._time_of_day())
        try:
            write_whole(self._path, _written(self._known).encode())
        except OSError as error:
            raise InputError(
                f"what is known of the instrument cannot be written ({error.strerror or error})",
                where=str(self._path),
                cure="make room there; until the coach ends it is used all the same",
            ) from error

    def _former(self, name: str, there: Collection[str]) -> str | None:
        """The name under which an instrument was known before the numbers in it changed."""
        return found_again(name, [other for other in self._known if other not in there])

    def _put_aside(self, error: OSError | ValueError) -> str:
        sentence = "What was known of instruments cannot be read ({why}): {what}; learn them again."
        why = error.strerror or str(error) if isinstance(error, OSError) else str(error)
        number = 1
        while (aside := self._path.with_name(f"{self._path.stem}-aside-{number}{self._path.suffix}")).exists():
            number += 1
        try:
            self._path.replace(aside)
        except OSError:
            return sentence.format(why=why, what=f"{self._path} is in the way")
        return sentence.format(why=why, what=f"the file is kept as {aside}")


def _read(text: str) -> dict[str, KnownInstrument]:
    """Read the file.

    Raises:
        ValueError: when it is none of this format.
    """
    try:
        data = json.loads(text)
        if data["format"] != FORMAT:
            raise ValueError(f"its format is {data['format']!r}, not {FORMAT!r}")
        return {made.name: made for made in map(_from_record, data["instruments"])}
    except json.JSONDecodeError as error:
        raise ValueError(f"line {error.lineno} is no JSON") from error
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"something is missing or of the wrong kind: {error!r}") from error


def _from_record(record: Mapping[str, Any]) -> KnownInstrument:
    channels, spread = record["string_channels"], record["spread_ms"]
    if channels not in get_args(Channels):
        raise ValueError(f"{channels!r} is no choice of channels")
    return KnownInstrument(
        name=str(record["name"]),
        latency=_latency(record["latency_ms"], record["latency_by_string_ms"]),
        spread_ms=None if spread is None else _ms(spread),
        lean_ms=_ms(record["lean_ms"]),
        is_learned=bool(record["is_learned"]),
        string_channels=channels,
        when=str(record["when"]),
    )


def _latency(whole: Any, by_string: Mapping[str, Any]) -> Latency | None:
    if whole is None:
        return None
    return Latency(_ms(whole), tuple((int(string), _ms(ms)) for string, ms in by_string.items()))


def _ms(value: Any) -> float:
    ms = float(value)
    if not abs(ms) <= _MOST_MS:
        raise ValueError(f"{value!r} is no number of milliseconds")
    return ms


def _written(known: Mapping[str, KnownInstrument]) -> str:
    records = [
        {
            "name": each.name,
            "latency_ms": None if each.latency is None else each.latency.ms,
            "latency_by_string_ms": {} if each.latency is None else {str(s): ms for s, ms in each.latency.by_string},
            "spread_ms": each.spread_ms,
            "lean_ms": each.lean_ms,
            "is_learned": each.is_learned,
            "string_channels": each.string_channels,
            "when": each.when,
        }
        for _, each in sorted(known.items())
    ]
    return json.dumps({"format": FORMAT, "instruments": records}, ensure_ascii=False, indent=1) + "\n"
