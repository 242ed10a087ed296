"""The public address of a service: by which name, and from which pages, it is reached over the internet.

Reference:
    RFC 6454, section 4: an origin is scheme, host and port, the port left out where it is the scheme's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

from coach.errors import InputError

__all__ = ["PublicAddress", "read_address"]

_PORTS = {"http": 80, "https": 443}


@dataclass(frozen=True, slots=True)
class PublicAddress:
    """Where browsers find the service.

    Attributes:
        host: its name, in small letters, without port.
        origin: of its pages, as browsers tell it: ``https://banjo.example``.
    """

    host: str
    origin: str

    @property
    def is_secure(self) -> bool:
        """Whether it is reached over https, so that cookies may be kept to that."""
        return self.origin.startswith("https:")


def read_address(text: str) -> PublicAddress:
    """Read an address like ``https://banjo.example`` or ``https://banjo.example:8443/``.

    Raises:
        InputError: when it is none, or has more than scheme, host and port.
    """
    try:
        parts = urlsplit(text)
        host, port = parts.hostname, parts.port
    except ValueError:
        host = port = None
    if not host or parts.scheme not in _PORTS or parts.username is not None or not host.isascii():
        raise InputError(f"{text!r} is no address of a service", cure="write it like https://banjo.example")
    if parts.path not in ("", "/") or parts.query or parts.fragment:
        raise InputError(
            f"{text!r} has more than a host, and a service is at the top of its own", cure=f"name {host} alone"
        )
    shown = f"[{host}]" if ":" in host else host
    return PublicAddress(
        host, f"{parts.scheme}://{shown}" + (f":{port}" if port not in (None, _PORTS[parts.scheme]) else "")
    )
