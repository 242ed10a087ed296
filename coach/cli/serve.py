"""``coach serve`` and ``coach demo``: the practice page and its service on one port."""

from __future__ import annotations

import asyncio
import contextlib
import importlib.util
import ipaddress
import logging
import socket
import sys
import webbrowser
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from coach.cli.certificate import Certificate, certificate
from coach.cli.kept import data_folder
from coach.errors import CoachError, InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    import uvicorn

    from coach.takes.player import VirtualPlayer

__all__ = ["demo", "serve"]

_LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
_PROXIES = ("127.0.0.0/8", "::1")
"""Whose word on who calls is taken in any case: who is on this computer."""

_PING = 20.0
"""Seconds between looks whether a page is still there, and for which its answer is waited for."""


@dataclass(frozen=True, slots=True)
class Reached:
    """How browsers reach the service.

    Attributes:
        certificate: for https; None without.
        address: the public one; None where there is none.
        proxies: networks of reverse proxies on other computers.
    """

    certificate: Certificate | None = None
    address: str | None = None
    proxies: tuple[str, ...] = ()


_PLAINLY = Reached()

_tunes = click.argument("tunes", metavar="[TUNE]...", nargs=-1, type=click.Path(path_type=Path))
_host = click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen at.")
_port = click.option(
    "--port", default=8765, show_default=True, type=click.IntRange(0, 65535), help="Port; 0 takes any that is free."
)
_data = click.option(
    "--data",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for what is played; the platform's data folder where it is left out.",
)
_records = click.option(
    "--records",
    metavar="URL",
    help="Database for what is remembered, like sqlite:///records.db or postgresql+psycopg://…; records.db in the data"
    " folder where it is left out.",
)
_open = click.option("--open", "opens", is_flag=True, help="Open the page in the browser.")


@click.command(epilog="Example: coach serve songbook.abc --port 8765")
@_tunes
@_host
@_port
@_data
@_records
@_open
@click.option(
    "--certfile",
    type=click.Path(path_type=Path),
    help="Serve over https with this certificate (PEM): only so, or on this computer itself, does a browser let a page"
    " hear MIDI instruments.",
)
@click.option(
    "--keyfile",
    type=click.Path(path_type=Path),
    help="Key of the certificate (PEM); where left out, it is in the file of the certificate.",
)
@click.option(
    "--address",
    metavar="URL",
    help="Public address, like https://banjo.example, where the service stands behind a reverse proxy or has a name of"
    " its own; by other names than this and those of this computer it is not reached then.",
)
@click.option(
    "--proxy",
    "proxies",
    metavar="IP",
    multiple=True,
    help="IP address (or network, like 10.0.0.0/24) of a reverse proxy on another computer, whose word on who calls is"
    " taken; that of one on this computer is.",
)
@click.option(
    "--studio",
    "is_studio",
    is_flag=True,
    help="Serve the studios in the records, each for a teacher and students, who sign in; see coach studio. No MIDI"
    " ports of this computer are used then.",
)
def serve(
    tunes: tuple[Path, ...],
    host: str,
    port: int,
    data: Path | None,
    records: str | None,
    opens: bool,
    certfile: Path | None,
    keyfile: Path | None,
    address: str | None,
    proxies: tuple[str, ...],
    is_studio: bool,
) -> None:
    """Serve the practice page, for a player and an instrument.

    TUNE is a file to put into the tune book: ABC, MusicXML, MIDI, or a solo, which is an arrangement (.json) or
    MusicXML with a banjo tablature. The demo tunes are there in any case. What is played is remembered across days.
    End with Ctrl-C.
    """
    reached = Reached(certificate(certfile, keyfile), address, _networks(proxies))
    if is_studio:
        _check_studio(host, reached)
    _run(tunes, host, port, data, records, opens, None, reached, is_studio=is_studio)


@click.command(epilog="Example: coach demo --open")
@_tunes
@_host
@_port
@_data
@_records
@_open
@click.option(
    "--ability",
    type=click.FloatRange(20, 400),
    help="Tempo, in quarters a minute, at which the virtual player is half-way strained; a beginner's where left out.",
)
@click.option("--seed", default=1, show_default=True, help="The same seed plays the same passes.")
def demo(
    tunes: tuple[Path, ...],
    host: str,
    port: int,
    data: Path | None,
    records: str | None,
    opens: bool,
    ability: float | None,
    seed: int,
) -> None:
    """Serve the practice page with a virtual player: no instrument is needed.

    It plays each pass that is begun and errs as students do, the more the faster; it improves with practice. Without
    --data what it plays is kept apart, in the folder "demo" of the platform's data folder.
    """
    from coach.service.student import demo_player

    # What a virtual player can do says nothing of the one who practises here.
    _run(tunes, host, port, data or data_folder(None) / "demo", records, opens, demo_player(ability, seed))


def _run(
    tunes: tuple[Path, ...],
    host: str,
    port: int,
    data: Path | None,
    records: str | None,
    opens: bool,
    player: VirtualPlayer | None,
    reached: Reached = _PLAINLY,
    *,
    is_studio: bool = False,
) -> None:
    from coach.service.address import read_address
    from coach.service.app import create_app
    from coach.service.service import MOST_SESSIONS, STUDIO_SESSIONS, Service
    from coach.service.undisturbed import leave_undisturbed

    logging.basicConfig(level=logging.WARNING, format="coach: %(message)s", stream=sys.stderr)
    _check(tunes)
    _check_records(records)
    folder = data_folder(data)
    _check_folder(folder)
    public = None if reached.address is None else read_address(reached.address)
    listening = _listen(host, port)
    wrong: list[CoachError] = []

    def failed(error: CoachError) -> None:
        wrong.append(error)
        server.should_exit = True

    most = STUDIO_SESSIONS if is_studio else MOST_SESSIONS
    service = Service(
        folder, records=records, given=tunes, player=player, failed=failed, studio=is_studio, most_sessions=most
    )
    app = create_app(
        service, hosts=_LOOPBACK if host in _LOOPBACK or public is not None else None, address=reached.address
    )
    # The links into a studio name it so too, and browsers keep passkeys for a name, not for a number.
    named = "localhost" if is_studio and host == "127.0.0.1" else host
    address = _address("http" if reached.certificate is None else "https", named, listening)

    def ready() -> None:
        leave_undisturbed(service.is_played)
        if public is None:
            click.echo(f"Open {address} in a browser; end with Ctrl-C.")
        else:
            click.echo(f"Open {public.origin}/ in a browser, which is reached here at {address}; end with Ctrl-C.")
        if opens:
            webbrowser.open(address)

    server = _server(app, service.given_read, ready, reached)
    with contextlib.closing(listening), contextlib.suppress(KeyboardInterrupt):
        asyncio.run(server.serve(sockets=[listening]))
    if wrong:
        raise wrong[0]


def _check_folder(folder: Path) -> None:
    """Refuse a folder in which nothing can be kept."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"nothing can be kept there ({error.strerror or error})", where=str(folder), cure="name another --data"
        ) from error


def _check_studio(host: str, reached: Reached) -> None:
    """Refuse a studio that cannot be kept safe: without its libraries, or open to a network that listens."""
    missing = [name for name in ("argon2", "webauthn") if importlib.util.find_spec(name) is None]
    if missing:
        raise InputError(
            f"a studio needs Python packages that are not installed ({', '.join(missing)})",
            where="--studio",
            cure="install them: pip install 'banjo-practice-coach[studio]'",
        )
    if host not in _LOOPBACK and reached.certificate is None and reached.address is None:
        raise InputError(
            "what is typed in a studio that other computers reach without https can be read on the way",
            where="--studio",
            cure="add --certfile, or stand it behind a reverse proxy and add --address",
        )


def _networks(proxies: tuple[str, ...]) -> tuple[str, ...]:
    """Refuse what is neither an IP address nor a network of such: a name would be looked up by nobody."""
    for proxy in proxies:
        try:
            ipaddress.ip_network(proxy)
        except ValueError as error:
            raise InputError(
                f"{proxy!r} is no IP address ({error})", where="--proxy", cure="write it like 10.0.0.2 or 10.0.0.0/24"
            ) from error
    return proxies


def _server(
    app: object, given_read: asyncio.Event, ready: Callable[[], None], reached: Reached = _PLAINLY
) -> uvicorn.Server:
    import uvicorn

    from coach.service.frames import FrameProtocol

    secured = reached.certificate

    class Server(uvicorn.Server):
        """Says when it is ready: no page is opened for files that cannot be read."""

        saying: asyncio.Task[None] | None = None

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                # Without given files the address is out before any worker is started.
                if given_read.is_set():
                    ready()
                else:
                    self.saying = asyncio.create_task(self.say())

        async def say(self) -> None:
            await given_read.wait()
            ready()

    config = uvicorn.Config(
        app,  # type: ignore[arg-type]
        log_level="warning",
        log_config=None,
        access_log=False,
        lifespan="on",
        ws=FrameProtocol,
        ws_max_size=_largest_message(),
        ws_per_message_deflate=False,  # frames are small: packing them costs more than it saves
        # Often enough for proxies, which take a line of a minute's silence for dead.
        ws_ping_interval=_PING,
        ws_ping_timeout=_PING,
        timeout_graceful_shutdown=3,
        # Who calls, and whether over https, is told by the proxy, and believed of no one else.
        proxy_headers=True,
        forwarded_allow_ips=[*_PROXIES, *reached.proxies],
        ssl_certfile=None if secured is None else secured.certfile,
        ssl_keyfile=None if secured is None else secured.keyfile,
    )
    return Server(config)


def _largest_message() -> int:
    from coach.service.protocol import LARGEST_MESSAGE

    return LARGEST_MESSAGE


def _check(tunes: tuple[Path, ...]) -> None:
    """Refuse files that are not there before anything is begun."""
    for path in tunes:
        if not path.is_file():
            raise InputError("there is no such file", where=str(path), cure="check its name and place")


def _check_records(records: str | None) -> None:
    """Refuse what is no URL; whether its database can be reached is seen when the page is served already."""
    if records is not None and not all(records.partition("://")[::2]):
        raise InputError(
            f"{records!r} is no address of a database", where="--records", cure="write it like sqlite:///records.db"
        )


def _listen(host: str, port: int) -> socket.socket:
    """A socket that listens.

    Raises:
        InputError: when the port is taken or the address is none of this machine.
    """
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        # With the protocol named, asyncio turns Nagle's algorithm off; else a mark waits for the page's next packet.
        listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    except OSError as error:
        raise InputError(f"the address {host!r} is unknown ({error.strerror})", cure="try --host 127.0.0.1") from error
    try:
        if sys.platform != "win32":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
        listening.listen(128)
    except OSError as error:
        listening.close()
        raise InputError(
            f"port {port} of {host} cannot be used ({error.strerror})", cure="give another one by --port, or 0 for any"
        ) from error
    listening.setblocking(False)
    return listening


def _address(scheme: str, host: str, listening: socket.socket) -> str:
    port = listening.getsockname()[1]
    anywhere = host in ("0.0.0.0", "::", "")  # noqa: S104 - compared, not bound to # nosec B104
    shown = "127.0.0.1" if anywhere else f"[{host}]" if ":" in host else host
    return f"{scheme}://{shown}:{port}/"
