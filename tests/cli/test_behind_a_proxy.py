"""Who calls, as ``coach serve`` takes it from a reverse proxy; the proxy itself is in tests/e2e/test_proxy.py."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.types import Receive, Scope, Send

from coach.cli import main
from coach.cli.serve import Reached, _server


async def seen(caller: str, reached: Reached, kind: str = "http", **headers: str) -> tuple[str, str]:
    """What the service sees of a call: who it is from, and its scheme."""
    found: list[Scope] = []

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        found.append(scope)

    config = _server(app, asyncio.Event(), lambda: None, reached).config
    config.load()
    scope: Any = {
        "type": kind,
        "asgi": {"version": "3.0"},
        "scheme": "http" if kind == "http" else "ws",
        "client": (caller, 50_000),
        "headers": [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()],
    }
    nothing: Any = None
    await config.loaded_app(scope, nothing, nothing)
    return found[0]["client"][0], found[0]["scheme"]


FORWARDED = {"x_forwarded_for": "192.0.2.7", "x_forwarded_proto": "https"}


@pytest.mark.parametrize("caller", ["127.0.0.1", "127.8.8.8", "::1"])
@pytest.mark.parametrize(("kind", "scheme"), [("http", "https"), ("websocket", "wss")])
async def test_a_proxy_on_this_computer_is_believed(caller: str, kind: str, scheme: str) -> None:
    assert await seen(caller, Reached(), kind, **FORWARDED) == ("192.0.2.7", scheme)


async def test_anybody_else_is_who_calls_whatever_they_say(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FORWARDED_ALLOW_IPS", "*")

    assert await seen("198.51.100.1", Reached(), **FORWARDED) == ("198.51.100.1", "http")


async def test_what_a_caller_says_of_itself_before_the_proxy_adds_who_it_was_counts_for_nothing() -> None:
    told = {**FORWARDED, "x_forwarded_for": "203.0.113.9, 192.0.2.7"}

    assert (await seen("127.0.0.1", Reached(), **told))[0] == "192.0.2.7"


@pytest.mark.parametrize(("caller", "who"), [("10.0.0.2", "192.0.2.7"), ("10.0.1.2", "10.0.1.2")])
async def test_a_proxy_that_was_named_is_believed(caller: str, who: str) -> None:
    assert (await seen(caller, Reached(proxies=("10.0.0.0/24",)), **FORWARDED))[0] == who


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--proxy", "proxy.example"), "--proxy: 'proxy.example' is no IP address"),
        (("--proxy", "10.0.0.1/24"), "--proxy: '10.0.0.1/24' is no IP address"),
        (("--address", "banjo.example"), "'banjo.example' is no address of a service"),
    ],
)
def test_what_names_no_proxy_or_no_address_is_refused(tmp_path: Path, words: tuple[str, ...], sentence: str) -> None:
    done = CliRunner().invoke(main, ("serve", "--data", str(tmp_path / "data"), *words), prog_name="coach")

    assert (done.exit_code, done.stdout) == (2, "")
    assert sentence in done.stderr
