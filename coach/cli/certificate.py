"""The certificate by which a page is served over https: checked before anything is begun, wrong files get words."""

from __future__ import annotations

import ssl
from dataclasses import dataclass
from pathlib import Path

from coach.errors import InputError

__all__ = ["Certificate", "certificate"]

_CURE = "give a certificate and its key as PEM files, by --certfile and --keyfile"

_WEAK = ("_KEY_TOO_SMALL", "_MD_TOO_WEAK")
"""How OpenSSL names certificates below its security level: EE_KEY_TOO_SMALL, CA_MD_TOO_WEAK and the like."""


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate and its key, which fit.

    Attributes:
        certfile: the certificate with those that vouch for it, PEM.
        keyfile: the key, PEM; the file of the certificate where that holds it too.
    """

    certfile: Path
    keyfile: Path


def certificate(certfile: Path | None, keyfile: Path | None) -> Certificate | None:
    """The certificate that was named; None where none was.

    Raises:
        InputError: when a file is missing or is no PEM, the key is of another certificate or locked by a passphrase,
            or the certificate is too weak.
    """
    if certfile is None:
        if keyfile is not None:
            raise InputError("a key says nothing without its certificate", where="--keyfile", cure="add --certfile")
        return None
    made = Certificate(certfile, keyfile or certfile)
    for path in (made.certfile, made.keyfile):
        _read(path)
    _check(made)
    return made


def _read(path: Path) -> None:
    try:
        path.read_bytes()
    except OSError as error:
        raise InputError(
            f"the file cannot be opened ({error.strerror or error})", where=str(path), cure="check its name and place"
        ) from error


def _check(made: Certificate) -> None:
    """Load both, as the server will."""
    asked = False

    def passphrase() -> str:
        nonlocal asked
        asked = True  # else the terminal would be asked, in the middle of the start
        return ""

    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(made.certfile, made.keyfile, passphrase)
    except (ssl.SSLError, OSError) as error:
        raise _wrong(made, error, locked=asked) from error


def _wrong(made: Certificate, error: OSError, *, locked: bool) -> InputError:
    if locked:
        cure = "give one that is not, and let nobody else read the file"
        return InputError("the key is locked by a passphrase", where=str(made.keyfile), cure=cure)
    if getattr(error, "reason", None) == "KEY_VALUES_MISMATCH":
        return InputError(
            f"the key is not that of the certificate {made.certfile}", where=str(made.keyfile), cure=_CURE
        )
    if str(getattr(error, "reason", "")).endswith(_WEAK):
        cure = "make one with an RSA key of 2048 bits or more, or an elliptic one, and SHA-256"
        return InputError("the certificate is weaker than is allowed here", where=str(made.certfile), cure=cure)
    if not _holds_certificate(made.certfile):
        return InputError("there is no certificate in it that can be read", where=str(made.certfile), cure=_CURE)
    return InputError("there is no key in it that can be read", where=str(made.keyfile), cure=_CURE)


def _holds_certificate(path: Path) -> bool:
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT).load_verify_locations(path)
    except (ssl.SSLError, OSError):
        return False
    return True
